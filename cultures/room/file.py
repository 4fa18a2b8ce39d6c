"""Reads ``room.toml``: every mistake at once, with its line and what would be right."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from cultures.errors import (
    BadFileError,
    FileProblemError,
    LivefoodError,
    Problem,
    UnitError,
    closest,
    hint,
    nearest,
)
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import HatchKind, Kind, KindTable, WormKind, read_kind, shipped_kind
from cultures.foods.parameters import ParameterError
from cultures.foods.vessels import Vessel
from cultures.fry.classes import FryClass, class_names, read_class, shipped_class
from cultures.room.room import Away, Brood, Culture, Cysts, Room, RunningHatch, Tank
from cultures.room.table import (
    ANCHORS,
    KEYS,
    MEANT_TABLES,
    SINGLE,
    Table,
    date_of,
    moment_of,
)
from cultures.room.toml_lines import key_lines
from cultures.words.units import parse_quantity

#: Anchors that may lie ahead.
AHEAD = (["wetted"], ["planned"])
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

__all__ = ["KEYS", "load_room", "read_kind_strain", "read_room"]


def load_room(path: Path, *, today: date) -> Room:
    """The room of a file.

    Args:
        path: the file. today: the day it is read on, for dates that must be past.

    Raises:
        FileProblemError: it cannot be read.
        BadFileError: it is not TOML, or says something impossible; lists every mistake.
    """
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise FileProblemError(
            f"there is no room file {path}; start one with 'livefood new',"
            " or name yours with --room"
        ) from None
    except OSError as error:
        raise FileProblemError(f"cannot read {path}: {error.strerror or error}") from None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise BadFileError(
            [Problem(str(path), line, "", "is not UTF-8 text; save it as UTF-8")]
        ) from None
    return read_room(text, name=str(path), today=today)


def read_room(text: str, *, name: str = "room.toml", today: date) -> Room:
    """The room of a TOML text; ``name`` is the file name used in messages.

    Raises:
        BadFileError: as :func:`load_room`.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None) or _line_in(str(error))
        raise BadFileError([Problem(name, line, "", _toml_words(error))]) from None
    reader = _Reader(name, text, data, today)
    room = reader.room()
    if reader.problems or room is None:
        raise BadFileError(reader.problems)
    return room


def _toml_words(error: tomllib.TOMLDecodeError) -> str:
    """What the parser found, in words that help; the rest is read once this is right."""
    message = str(error)
    for found, words in (
        ("Illegal character '\\n'", "a closing quote is missing"),
        ("Unclosed", "a bracket or quote is not closed"),
        (
            "Expected newline or end of document",
            "text needs quotes, a date is written 2027-01-31, and one line holds one key",
        ),
        ("Cannot overwrite a value", "the same key stands twice"),
        ("Invalid value", "after = comes a number, a date, a list, or text in quotes"),
        ("Expected '=' after a key", "write key = value"),
        ("Cannot declare", "this table stands twice; several are written [[like this]]"),
    ):
        if found in message:
            return f"{words} ({message}); the rest is checked once this is right"
    return f"not TOML: {message}; the rest is checked once this is right"


def _line_in(message: str) -> int | None:
    """The line number in tomllib's message, which has no attribute for it before 3.14."""
    words = message.replace(",", " ").replace(")", " ").split()
    return int(words[words.index("line") + 1]) if "line" in words else None


class _Reader:
    """Reads all tables of one file."""

    def __init__(self, file: str, text: str, data: Mapping[str, Any], today: date) -> None:
        self.file, self.data, self.today = file, data, today
        self.lines = key_lines(text)
        self.problems: list[Problem] = []

    def fail(self, table: str, index: int, key: str, label: str, message: str) -> None:
        line = self.lines.get((table, index, key)) or self.lines.get((table, index, ""))
        self.problems.append(Problem(self.file, line, label, message))

    def room(self) -> Room | None:
        """The room, or None where its own table is too broken to go on."""
        if not self._tables_fit():
            return None
        head = Table(self, "room", 0, self.data.get("room", {}))
        if "room" not in self.data:
            self.fail("room", 0, "", "[room]", "the table is missing; see 'livefood new'")
        zone = self._timezone(head)
        temperatures = self._temperatures(head)
        kinds = self._kinds()
        classes = self._classes()
        tanks = self._each("tank", self._tank)
        cultures = self._each("culture", lambda t: self._culture(t, kinds, temperatures))
        hatch_kind, cysts = self._cysts(kinds)
        vessels = self._each("vessel", lambda t: self._vessel(t, hatch_kind))
        foods = [*kinds, DRY]
        broods = self._each("brood", lambda t: self._brood(t, classes, foods))
        away = self._each("away", self._away)
        hatches = self._each("hatch", lambda t: self._hatch(t, zone, hatch_kind))
        for what in ("tank", "culture", "vessel", "brood"):
            self._check_unique(what)
        rounds, awake = self._hours(head)
        horizon = int(head.number("horizon_days", 1, 400, 28))
        as_of = head.day("as_of", required=False) or self._latest_date()
        settings = {
            "stated_at": self._since(head, zone),
            "fridge_c": head.optional("fridge_c", "temperature", "c", 0.5, 15),
            "effort_g": head.number("effort_g", 0, 1000, 3.0),
            "move_g": head.number("move_g", 0, 1000, 1.0),
            "makeup_ml": head.quantity("makeup_ml", "volume", "ml", 5, 20000, 100.0),
            "spare_cultures": int(head.number("spare_cultures", 1, 10, 2)),
            "shelf": int(head.number("shelf", 1, 1000)) if "shelf" in head.raw else None,
            "split_weekdays": self._weekdays(head),
            "units": head.choice("units", ("metric", "us"), "metric"),
            "hatch_margin": head.number("hatch_margin", 0, 2, 0.15),
            "variety": int(head.number("variety", 1, 4, 1)),
            "stock_g": self._supplies(),
            "alarms_min": self._alarms(),
            "as_of_stated": "as_of" in head.raw,
        }
        title = head.text("name", "fish room")
        if self.problems or zone is None:
            return None
        return Room(
            name=title, timezone=zone, as_of=as_of, temperatures_c=temperatures, rounds=rounds,
            awake=awake, horizon_days=horizon, tanks=tuple(tanks),
            broods=tuple(b for b in broods if not b.waits(self.today)),
            waiting=tuple(b for b in broods if b.waits(self.today)),
            cultures=tuple(c for c in cultures if not c.planned),
            coming=tuple(c for c in cultures if c.planned),
            vessels=tuple(vessels), cysts=cysts, hatch_kind=hatch_kind,
            kinds=kinds, fry_classes=classes, away=tuple(away), hatches=tuple(hatches),
            **settings,  # type: ignore[arg-type]
        )  # fmt: skip

    def _tables_fit(self) -> bool:
        """Whether each table is of the right form; a table of an unknown name is only noted."""
        fit = True
        for key, value in self.data.items():
            if key not in KEYS:
                meant = MEANT_TABLES.get(key.lower().removesuffix("s")) or closest(key, KEYS)
                self.fail(key, 0, "", key, f"unknown table; {hint(meant, KEYS)}")
            elif key in SINGLE and not isinstance(value, dict):
                self.fail(key, 0, "", key, f"must be a table: write [{key}]")
                fit = False
            elif key not in SINGLE and not (
                isinstance(value, list) and all(isinstance(entry, dict) for entry in value)
            ):
                self.fail(key, 0, "", key, f"can stand several times: write [[{key}]]")
                fit = False
        return fit

    def _each(self, name: str, read: Callable[[Table], Any]) -> list[Any]:
        results = []
        for index, raw in enumerate(self.data.get(name, [])):
            table = Table(self, name, index, raw)
            found = read(table)
            if table.ok and found is not None:
                results.append(found)
        return results

    def _check_unique(self, what: str) -> None:
        for index, raw in enumerate(self.data.get(what, [])):
            name = raw.get("name")
            if name in [other.get("name") for other in self.data[what][:index]]:
                self.fail(
                    what,
                    index,
                    "name",
                    f"[[{what}]] {name} name",
                    f"there are two {what}s of this name",
                )

    def _timezone(self, head: Table) -> ZoneInfo | None:
        name = head.text("timezone")
        if not name:
            return None
        try:
            return ZoneInfo(name)
        except (LookupError, ValueError, OSError):
            head.fail(
                "timezone",
                f"'{name}' is not an IANA time zone; {nearest(name, available_timezones())}",
            )
            return None

    def _since(self, head: Table, zone: ZoneInfo | None) -> datetime | None:
        """The moment of ``as_of``, where it names a time of day and not only the day."""
        moment = moment_of(head.raw.get("as_of"))
        if moment is None or zone is None:
            return None
        return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)

    def _temperatures(self, head: Table) -> tuple[float, ...]:
        monthly = head.raw.get("temperature_by_month_c")
        if monthly is None:
            known = head.quantity("temperature_c", "temperature", "c", 0, 45)
            return (known,) if head.ok else ()
        if "temperature_c" in head.raw:
            head.fail(
                "temperature_c", "give either temperature_c or temperature_by_month_c, not both"
            )
        if not isinstance(monthly, list) or len(monthly) != 12:
            head.fail("temperature_by_month_c", "must list 12 temperatures, January first")
            return ()
        values = []
        for value in monthly:
            try:
                values.append(parse_quantity(value, "temperature", "c"))
            except UnitError as error:
                head.fail("temperature_by_month_c", str(error))
                return ()
        if not all(0 <= v <= 45 for v in values):
            head.fail("temperature_by_month_c", "each must be from 0 to 45 °C")
        return tuple(values)

    def _hours(self, head: Table) -> tuple[tuple[time, ...], tuple[time, time]]:
        raw = head.raw.get("rounds", ["07:30", "18:30"])
        times: list[time] = []
        if not isinstance(raw, list) or not 1 <= len(raw) <= 8:
            head.fail("rounds", 'must list 1 to 8 feeding times, like ["07:30", "18:30"]')
        else:
            times = [t for t in (head.clock("rounds", value) for value in raw) if t is not None]
            if times != sorted(set(times)):
                head.fail("rounds", "must ascend, each time once")
        raw = head.raw.get("awake", ["06:30", "22:30"])
        if not isinstance(raw, list) or len(raw) != 2:
            head.fail("awake", 'must be two times, like ["06:30", "22:30"]')
            return tuple(times), (time(6, 30), time(22, 30))
        low, high = (head.clock("awake", value) for value in raw)
        if low is None or high is None:
            return tuple(times), (time(6, 30), time(22, 30))
        if low >= high:
            head.fail("awake", "the first time must be earlier than the second")
        for moment in times:
            if not low <= moment <= high:
                head.fail(
                    "rounds", f"{moment:%H:%M} lies outside awake ({low:%H:%M} to {high:%H:%M})"
                )
        return tuple(times), (low, high)

    def _weekdays(self, head: Table) -> tuple[int, ...]:
        words = head.texts("split_days", _WEEKDAYS)
        return tuple(sorted(_WEEKDAYS.index(w) for w in words or () if w in _WEEKDAYS))

    def _supplies(self) -> dict[str, float]:
        table = Table(self, "supplies", 0, self.data.get("supplies", {}))
        stock = {
            key.removesuffix("_g"): table.optional(key, "mass", "g", 0, 1e6, density=1.0)
            for key in table.raw
            if key in KEYS["supplies"]
        }
        return {name: grams for name, grams in stock.items() if grams is not None}

    def _alarms(self) -> dict[str, int]:
        table = Table(self, "alarms", 0, self.data.get("alarms", {}))
        return {
            key: int(table.number(key, 0, 7 * 24 * 60))
            for key in table.raw
            if key in KEYS["alarms"]
        }

    def _kinds(self) -> KindTable:
        own = self._each("kind", lambda t: self._parsed(t, read_kind))
        return KindTable({kind.name: kind for kind in own})

    def _classes(self) -> dict[str, FryClass]:
        wanted = {str(raw.get("class")) for raw in self.data.get("brood", [])}
        classes = {name: shipped_class(name) for name in class_names() if name in wanted}
        for own in self._each("fry_class", lambda t: self._parsed(t, read_class)):
            classes[own.name] = own
        return classes

    def _parsed(self, table: Table, read: Callable[[Mapping[str, Any]], Any]) -> Any:
        try:
            return read(table.raw)
        except ParameterError as error:
            place = (f"{table.name}.parameters", table.index, error.key)
            if place in self.lines:
                self.fail(*place, f"{table.label} {error.key}", error.detail)
                table.ok = False
            else:
                table.fail(error.key, error.detail)
        except LivefoodError as error:
            table.fail("like", str(error))
        return None

    def _tank(self, t: Table) -> Tank:
        return Tank(
            name=t.text("name"),
            litres=t.quantity("litres", "volume", "l", 0.05, 100000),
            temperature_c=t.quantity("temperature_c", "temperature", "c", 2, 42),
        )

    def _culture(
        self, t: Table, kinds: Mapping[str, Kind], room_c: tuple[float, ...]
    ) -> Culture | None:
        kind = kinds.get(t.choice("kind", [name for name in kinds if name != BRINE_SHRIMP]))
        planned = t.day("planned", past=False, required=False)
        if planned is not None and "started" in t.raw:
            t.fail(
                "planned", "goes without started: it is for a culture that is still to be bought"
            )
        started = t.day("started", required=planned is None) or planned
        temperature = t.optional("temperature_c", "temperature", "c", -20, 60)
        medium = t.quantity("medium_g", "mass", "g", 1, 100000, density=1.0)
        starter = t.quantity("starter_g", "mass", "g", 0.01, 100000, density=1.0)
        surface = t.optional("surface_cm2", "area", "cm2", 0.5, 100000)
        name = t.text("name")
        if kind is not None and not isinstance(kind, WormKind):
            t.fail("kind", f"{kind.name} is hatched, not kept as a culture; use a [[vessel]]")
            return None
        if kind is None or started is None:
            return None
        own = "temperature_c" in t.raw
        degrees_here = ([temperature] if temperature is not None else []) if own else room_c
        for degrees in degrees_here:
            wrong = kind.check_temperature(degrees)
            if wrong is not None:
                where = "" if own else "the air of the room, "
                t.fail("temperature_c" if own else "name", f"{where}{degrees:g} °C: {wrong}")
                break
        if (
            kind.values["capacity_mg_per_cm2"] > 0
            and kind.medium == "solid"
            and "surface_cm2" not in t.raw
        ):
            t.fail("surface_cm2", "is missing: the worms of this kind live at the surface (in cm2)")
        if starter > medium and t.ok:
            t.fail("starter_g", f"{starter:g} g is more than the medium itself ({medium:g} g)")
        return Culture(
            name=name, kind=kind, started=started, medium_g=medium, surface_cm2=surface,
            starter_g=starter, temperature_c=temperature, planned=planned is not None,
        )  # fmt: skip

    def _cysts(self, kinds: Mapping[str, Kind]) -> tuple[HatchKind, Cysts | None]:
        base = kinds[BRINE_SHRIMP]
        assert isinstance(base, HatchKind)
        if "cysts" not in self.data:
            return base, None
        t = Table(self, "cysts", 0, self.data["cysts"])
        strain = t.text("strain") if "strain" in t.raw else None
        if strain is not None:
            try:
                base = read_kind_strain(strain)
            except LivefoodError as error:
                t.fail("strain", str(error))
        density = base.values["bulk_density_g_per_ml"]
        cysts = Cysts(
            grams=t.quantity("grams", "mass", "g", 0, 100000, density=density),
            nauplii_per_gram=(
                t.number("nauplii_per_gram", 1000, 400000) if "nauplii_per_gram" in t.raw else None
            ),
            strain=strain,
            opened=t.day("opened", required=False),
        )
        return base, cysts

    def _vessel(self, t: Table, kind: HatchKind) -> Vessel:
        litres = t.quantity("litres", "volume", "l", 0.05, 2000)
        temperature = t.quantity("temperature_c", "temperature", "c", -20, 60)
        salinity = t.quantity("salinity_g_per_l", "salinity", "g/l", 0, 150, 25.0)
        if "temperature_c" in t.raw and t.ok:
            wrong = kind.check_temperature(temperature)
            if wrong is not None:
                t.fail("temperature_c", f"{temperature:g} °C: {wrong}")
        if kind.salinity_share(salinity) <= 0.05:
            t.fail(
                "salinity_g_per_l", f"{salinity:g} g/L: next to nothing hatches; use 20 to 35 g/L"
            )
        return Vessel(t.text("name"), litres, temperature, salinity)

    def _hatch(self, t: Table, zone: ZoneInfo | None, kind: HatchKind) -> RunningHatch | None:
        # One that is wrong in itself is still the vessel that is meant.
        written = [raw.get("name") for raw in self.data.get("vessel", [])]
        vessel = t.choice("vessel", [name for name in written if isinstance(name, str)])
        grams = t.quantity(
            "cysts_g", "mass", "g", 0.01, 10000, density=kind.values["bulk_density_g_per_ml"]
        )
        raw = moment_of(t.raw.get("set_at"))
        if raw is None:
            t.fail("set_at", "must be a date and time like 2027-01-31T07:30:00")
            return None
        moment = raw if raw.tzinfo else raw.replace(tzinfo=zone)
        if moment.date() > self.today:
            t.fail("set_at", "lies in the future; the file names hatches that stand already")
        return RunningHatch(vessel, moment, grams)

    def _brood(self, t: Table, classes: Mapping[str, FryClass], foods: list[str]) -> Brood | None:
        names = sorted({*class_names(), *classes})
        fry_class = classes.get(t.choice("class", names))
        tank_names = [raw.get("name") for raw in self.data.get("tank", [])]
        tank = t.choice("tank", [name for name in tank_names if isinstance(name, str)])
        anchors = [key for key in ANCHORS if key in t.raw]
        wet = t.day("wetted", past=False, required=False)
        if anchors in ([], ["collected"]) and wet is not None:
            if anchors:
                t.day("collected")
            anchors = ["wetted"]
        elif wet is not None:
            t.fail("wetted", "goes alone or with collected")
        if len(anchors) != 1:
            given = " and ".join(anchors) if anchors else "none"
            t.fail(anchors[1] if anchors else "name",
                   f"give exactly one of {', '.join((*ANCHORS, 'wetted'))};"
                   f" found {given}")  # fmt: skip
        count = t.number("count", 1, 1e6)
        length = None
        if anchors[:1] == ["length_mm"]:
            length = t.optional("length_mm", "length", "mm", 1, 500)
            anchor_day = t.day("measured_on")
        else:
            ahead = anchors[:1] in (["wetted"], ["planned"])
            anchor_day = t.day(anchors[0], past=not ahead) if anchors else None
            if "measured_on" in t.raw:
                t.fail("measured_on", "goes with length_mm only")
        counted = t.day("counted_on", required=False) or anchor_day
        if anchor_day is not None and counted is not None and anchors[:1] in AHEAD:
            counted = max(counted, anchor_day)  # nothing is lost of eggs that rest
        name = t.text("name")
        eaten = t.texts("foods", foods)
        if fry_class is None or anchor_day is None or counted is None:
            return None
        return Brood(
            name=name, tank=tank, fry_class=fry_class, count=count, counted_on=counted,
            anchor="length" if length is not None else anchors[0], anchor_date=anchor_day,
            length_mm=length,
            survival_per_day=t.number(
                "survival_per_day", 0.5, 1, fry_class.values["survival_per_day"]
            ),
            foods=eaten,
        )  # fmt: skip

    def _away(self, t: Table) -> Away | None:
        start, end = t.day("from", past=False), t.day("to", past=False)
        helper = t.raw.get("helper", False)
        if not isinstance(helper, bool):
            t.fail("helper", "must be true or false")
            return None
        if start is None or end is None:
            return None
        if end < start:
            t.fail("to", f"{end} is before from ({start})")
        return Away(start, end, helper)

    def _latest_date(self) -> date:
        """The latest past day that the file speaks of: the day it is true at."""
        days = [
            day
            for table in ("brood", "culture", "hatch")
            for raw in self.data.get(table, [])
            for day in map(date_of, raw.values())
            if day is not None and day <= self.today
        ]
        opened = date_of(self.data.get("cysts", {}).get("opened"))
        if opened is not None and opened <= self.today:
            days.append(opened)
        return max(days, default=self.today)


def read_kind_strain(strain: str) -> HatchKind:
    """The shipped brine shrimp as one of its strains.

    Raises:
        UnknownNameError: no such strain.
    """
    kind = shipped_kind(BRINE_SHRIMP, strain)
    assert isinstance(kind, HatchKind)
    return kind
