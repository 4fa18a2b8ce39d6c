"""Reads ``room.toml``: every mistake at once, with its line and what would be right."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, time, timedelta
from functools import partial
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo, available_timezones

from cultures import files
from cultures.errors import (
    BadFileError,
    FileProblemError,
    LivefoodError,
    Problem,
    UnitError,
    closest,
    decoded,
    hint,
    nearest,
)
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import HatchKind, Kind, WormKind, kinds_with, read_kind, shipped_kind
from cultures.foods.parameters import ParameterError
from cultures.foods.vessels import Vessel
from cultures.fry.classes import FryClass, class_names, read_class, shipped_class
from cultures.fry.feeding import feeding_values
from cultures.fry.species import read_species
from cultures.journal.absences import Away
from cultures.limits import cysts_slip, depth_slip, most_bytes, salinity_slip, too_many
from cultures.room.keys import ANCHORS, DAYS, KEYS, MEANT_TABLES, RESERVED, SINGLE
from cultures.room.room import (
    Brood,
    Culture,
    Cysts,
    Room,
    RunningHatch,
    SellAt,
    Tank,
    by_certainty,
    rounds_of,
)
from cultures.room.table import File, Table, date_of, moment_of
from cultures.room.tools import tools_of, usual_g_per_ml, usual_tools
from cultures.words.moments import in_zone
from cultures.words.text import check_line, plain, short
from cultures.words.tools import CYSTS

_T = TypeVar("_T")

#: Keys of ``[room]`` that a room takes as they are.
_PLAIN = ("name", "horizon_days", "fridge_c", "effort_g", "move_g", "makeup_ml", "spare_cultures",
          "shelf", "units", "hatch_margin", "variety")  # fmt: skip
#: What the TOML parser says, and what would be right.
_TOML_WORDS = (
    ("Illegal character '\\n'", "a closing quote is missing"),
    ("Unclosed", "a bracket or quote is not closed"),
    (
        "Expected newline or end of document",
        "text needs quotes, 1.5 a point, a date is written 2027-01-31, and one line holds one key",
    ),
    ("Cannot overwrite a value", "the same key stands twice; each of several is a [[table]]"),
    ("Invalid value", "after = comes a number, a date, a list, or text in quotes"),
    ("Expected '=' after a key", "write key = value"),
    ("Cannot declare", "this table stands twice; several are written [[like this]]"),
)


def load_room(path: Path, *, today: date, now: datetime | None = None) -> Room:
    """The room of a file.

    Args:
        path: the file. today: the day it is read on, for dates that must be past. now: the
            moment, where it is known, for times that must; of the room's zone if it is naive.

    Raises:
        FileProblemError: it cannot be read.
        BadFileError: it is not TOML, or says something impossible; lists every mistake.
    """
    raw = files.read(path, most_bytes("room_file"))
    if raw is None:
        raise FileProblemError(
            f"there is no room file {path}; start one with 'livefood new',"
            " or name yours with --room"
        )
    return read_room(decoded(path, raw), name=str(path), today=today, now=now)


def read_room(
    text: str, *, name: str = "room.toml", today: date, now: datetime | None = None
) -> Room:
    """The room of a TOML text; ``name`` is the file name used in messages.

    Raises:
        BadFileError: as :func:`load_room`.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        line, words = _toml_words(text, error)
        raise BadFileError([Problem(name, line, "", words)]) from None
    file = File(name, text, data, today, now)
    room = _room(file) if _tables_fit(file) else None
    if file.problems or room is None:
        raise BadFileError(file.problems)
    return room


def _toml_words(text: str, error: ValueError | RecursionError) -> tuple[int | None, str]:
    """Where the parser stopped and why, in words that help; the rest is read once that is right."""
    message, lines = str(error), text.split("\n")
    if isinstance(error, RecursionError):
        deepest = max(range(len(lines)), key=lambda n: lines[n].count("[") + lines[n].count("{"))
        return deepest + 1, "brackets are nested too deep; a list holds values, not lists of lists"
    if not isinstance(error, tomllib.TOMLDecodeError):  # Python's limit of digits
        longest = max(range(len(lines)), key=lambda n: len(lines[n]))
        return longest + 1, "a number has more digits than anything of a fish room"
    found = re.search(r"line (\d+)", message)
    line = int(found[1]) if found else len(lines)  # else it is "at end of document"
    for said, words in _TOML_WORDS:
        if said in message:
            return line, f"{words} ({message}); the rest is checked once this is right"
    return line, f"not TOML: {message}; the rest is checked once this is right"


def _tables_fit(file: File) -> bool:
    """Whether each table is of the right form; a table of an unknown name is only noted."""
    fit = True
    for key, value in file.data.items():
        if key not in KEYS:
            meant = MEANT_TABLES.get(key.lower().removesuffix("s")) or closest(key, KEYS)
            message = f"unknown table; {hint(meant, KEYS)}"
        elif key in SINGLE and not isinstance(value, dict):
            again = isinstance(value, list)
            known = f"stands once: write [{key}] for all that is planned with"
            message, fit = known if again else f"must be a table: write [{key}]", False
        elif key not in SINGLE and not (
            isinstance(value, list) and all(isinstance(entry, dict) for entry in value)
        ):
            message, fit = f"can stand several times: write [[{key}]]", False
        elif key not in SINGLE and (wrong := too_many(key, len(value), f"[[{key}]]")) is not None:
            message, fit = wrong, False
        else:
            continue
        file.fail((key, 0, ""), key, message)
    return fit


def _room(file: File) -> Room | None:
    """The room, or None where something is wrong, which is noted."""
    head = _single(file, "room")
    if "room" not in file.data:
        file.fail(("room", 0, ""), "[room]", "the table is missing; see 'livefood new'")
    zone, temperatures = _timezone(head), _temperatures(head)
    kinds = kinds_with(_each(file, "kind", _kind))
    own = _each(file, "fry_class", partial(_of_data, read_class))
    classes = {fry_class.name: fry_class for fry_class in own}
    file.known |= {
        "kinds": [name for name in kinds if name != BRINE_SHRIMP],
        "foods": [*kinds, DRY],
        "classes": sorted({*class_names(), *classes}),
        "tanks": file.names("tank"),
        "vessels": file.names("vessel"),
    }
    tanks = _each(file, "tank", _tank)
    cultures = _each(file, "culture", lambda t: _culture(t, kinds, temperatures))
    tools = _single(file, "tools")
    weighed = tools["teaspoon_g"] or {}
    hatch_kind, cysts = _cysts(file, kinds, weighed.get(CYSTS))
    g_per_ml = usual_g_per_ml(hatch_kind) | weighed
    file.densities |= g_per_ml
    vessels = _each(file, "vessel", lambda t: _vessel(t, hatch_kind))
    sell_at = head["sell_at"]
    broods = _each(file, "brood", lambda t: _brood(t, classes, tanks, sell_at))
    hatches = _each(file, "hatch", lambda t: _hatch(t, zone, vessels))
    _check_unique(file)
    awake = _awake(head)
    rounds, weekend_rounds = (
        _feeding_times(head, key, head[key] or (), awake) for key in ("rounds", "weekend_rounds")
    )
    by_weekday = {
        day: _feeding_times(head, "rounds_on", times, awake, f"{DAYS[day]}: ")
        for day, times in (head["rounds_on"] or {}).items()
    }

    def fed(day: date) -> tuple[time, ...]:
        return rounds_of(day, rounds, weekend_rounds, by_weekday)

    away = _each(file, "away", lambda t: _away(t, zone, fed))
    plain = {key: head[key] for key in _PLAIN}
    as_of = head["as_of"] or _latest_date(file)
    weekdays = head["split_days"] or ()
    supplies, alarms_min = _single(file, "supplies").given(), _single(file, "alarms").given()
    stock_g, fetch_days = (
        {key.removesuffix(unit): held for key, held in supplies.items() if key.endswith(unit)}
        for unit in ("_g", "_days")
    )
    own_tools = (
        tools_of(tools, g_per_ml, head["units"]) if "tools" in file.data
        else usual_tools(hatch_kind, head["units"])
    )  # fmt: skip
    a_day = max(map(len, (rounds, weekend_rounds, *by_weekday.values())))
    feedings = a_day * (head["horizon_days"] or 1) * (len(broods) + len(cultures))
    head.check("horizon_days", too_many("feedings", feedings, "rounds of all broods and cultures"))
    if file.problems or zone is None:
        return None
    certain, hoped, waiting = by_certainty(broods, file.today)
    return Room(
        **plain, timezone=zone, as_of=as_of, as_of_stated="as_of" in head,
        stated_at=_since(head, zone), temperatures_c=temperatures, rounds=rounds,
        weekend_rounds=weekend_rounds, weekday_rounds=by_weekday, awake=awake,
        split_weekdays=tuple(sorted(DAYS.index(day) for day in weekdays)),
        tanks=tuple(tanks),
        broods=certain, hoped=hoped, waiting=waiting,
        cultures=tuple(c for c in cultures if not c.planned),
        coming=tuple(c for c in cultures if c.planned),
        vessels=tuple(vessels), cysts=cysts, hatch_kind=hatch_kind, kinds=kinds,
        fry_classes=classes, away=tuple(sorted(away, key=lambda a: not a.in_part)),
        hatches=tuple(hatches),
        stock_g=stock_g, fetch_days=fetch_days, alarms_min=alarms_min, sell_at=sell_at,
        tools=own_tools,
    )  # fmt: skip


def _single(file: File, name: str) -> Table:
    return Table(file, name, 0, KEYS[name], single=True)


def _each(file: File, name: str, read: Callable[[Table], _T | None]) -> list[_T]:
    results = []
    for index in range(len(file.raw(name))):
        table = Table(file, name, index, KEYS[name])
        found = read(table)
        if table.ok and found is not None:
            results.append(found)
    return results


def _check_unique(file: File) -> None:
    """One name, one thing, among those that the journal calls by their name alone."""
    taken: dict[str, str] = dict.fromkeys(RESERVED, "word of the journal")
    tanks: dict[str, str] = {}
    for what, names in (
        ("tank", tanks), ("brood", taken), ("culture", taken), ("vessel", taken)
    ):  # fmt: skip
        for index, raw in enumerate(file.raw(what)):
            name = plain(raw["name"]) if isinstance(raw.get("name"), str) else ""
            if name in names:
                also = names[name]
                wrong = f"there are two {what}s" if also == what else f"there is a {also}"
                file.fail(
                    (what, index, "name"), f"[[{what}]] {name} name",
                    f"{wrong} of this name; names must differ",
                )  # fmt: skip
            elif name:
                names[name] = what


def _timezone(head: Table) -> ZoneInfo | None:
    name = head["timezone"]
    try:
        return ZoneInfo(name) if name else None
    except (LookupError, ValueError, OSError):
        meant = closest(name, (zone for zone in available_timezones() if "/" in zone))
        right = "write a continent and a large city with your clock, such as America/Chicago"
        right = f"did you mean '{meant}'?" if meant else right
        head.fail("timezone", f"'{name}' is not an IANA time zone; {right}")
        return None


def _since(head: Table, zone: ZoneInfo) -> datetime | None:
    """The moment of ``as_of``, where it names a time of day and not only the day."""
    moment = moment_of(head.raw.get("as_of"))
    return None if moment is None else _in_zone(head, "as_of", moment, zone)


def _in_zone(table: Table, key: str, moment: datetime, zone: ZoneInfo) -> datetime | None:
    """A moment in the room's zone; None where there is no such time, which is noted."""
    try:
        return in_zone(moment, zone)
    except UnitError as error:
        table.fail(key, str(error))
        return None


def _temperatures(head: Table) -> tuple[float, ...]:
    if "temperature_by_month_c" in head:
        if "temperature_c" in head:
            head.fail(
                "temperature_c", "give either temperature_c or temperature_by_month_c, not both"
            )
        return head["temperature_by_month_c"] or ()
    known = head["temperature_c"]
    return () if known is None else (known,)


def _awake(head: Table) -> tuple[time, time]:
    """From when to when tasks may be done."""
    awake: tuple[time, ...] = head["awake"] or ()
    if len(awake) != 2:
        return time.min, time.max
    low, high = awake
    if low >= high:
        head.fail("awake", "the first time must be earlier than the second")
    return low, high


def _feeding_times(
    head: Table, key: str, rounds: tuple[time, ...], awake: tuple[time, time], of: str = ""
) -> tuple[time, ...]:
    """The feeding times under a key, looked at; ``of``: which of several, in a message."""
    low, high = awake
    if list(rounds) != sorted(set(rounds)):
        head.fail(key, f"{of}must ascend, each time once")
    for moment in rounds:
        if not low <= moment <= high:
            head.fail(key, f"{of}{moment:%H:%M} lies outside awake ({low:%H:%M} to {high:%H:%M})")
    return rounds


def _kind(t: Table) -> Kind | None:
    kind = _of_data(read_kind, t)
    if kind is not None and kind.name == BRINE_SHRIMP and not isinstance(kind, HatchKind):
        t.fail("name", f"{BRINE_SHRIMP} is hatched; give a worm another name")
    return kind


def _of_data(read: Callable[[Mapping[str, Any]], _T], table: Table) -> _T | None:
    """What a table that has the form of shipped data says."""
    try:
        for key, value in table.raw.items():
            for text in value if isinstance(value, list) else (value,):
                if isinstance(text, str):
                    _check_text(key, text)
        return read(table.raw)
    except ParameterError as error:
        place = (f"{table.name}.parameters", table.index, error.key)
        if place in table.file.lines:
            table.ok = False
            table.file.fail(place, f"{table.label} {error.key}", error.detail)
        else:
            table.fail(error.key, error.detail)
    except LivefoodError as error:
        table.fail("like", str(error))
    return None


def _check_text(key: str, text: str) -> None:
    try:
        check_line(" ".join(text.splitlines()), 5000)
    except UnitError as error:
        raise ParameterError(key, str(error)) from None


def _tank(t: Table) -> Tank:
    return Tank(t["name"], t["litres"], t["temperature_c"])


def _culture(t: Table, kinds: Mapping[str, Kind], room_c: tuple[float, ...]) -> Culture | None:
    kind, planned = kinds.get(t["kind"]), t["planned"]
    if planned is not None and "started" in t:
        t.fail("planned", "goes without started: it is for a culture that is still to be bought")
    started = planned if planned is not None and "started" not in t else _started(t, kind)
    usual = kind.usual_size if isinstance(kind, WormKind) else None
    temperature = t["temperature_c"]
    medium = _grams_of(t, "medium_g", usual.medium_g if usual else None)
    starter = _grams_of(t, "starter_g", usual.starter_g if usual else None)
    surface, name = t["surface_cm2"], t["name"]
    if kind is not None and not isinstance(kind, WormKind):
        t.fail("kind", f"{kind.name} is hatched, not kept as a culture; use a [[vessel]]")
        return None
    if kind is None or started is None:
        return None
    own = "temperature_c" in t
    for degrees in (temperature,) if own else room_c:
        wrong = None if degrees is None else kind.check_temperature(degrees)
        if wrong is not None:
            where = "" if own else "the air of the room, "
            t.fail("temperature_c" if own else "name", f"{where}{degrees:g} °C: {wrong}")
            break
    at_surface = kind.values["capacity_mg_per_cm2"] > 0 and kind.medium == "solid"
    if at_surface and "surface_cm2" not in t:
        usual_cm2 = kind.usual_size.surface_cm2
        t.fail(
            "surface_cm2",
            "is missing: the worms of this kind live at the surface (in cm2; a usual box has"
            f" {usual_cm2:g})",
        )
    if t.ok and at_surface:
        t.check("surface_cm2", depth_slip(medium, surface))
    if t.ok and starter > medium:
        t.fail("starter_g", f"{starter:g} g is more than the medium itself ({medium:g} g)")
    kind = _as_kept(t, kind)
    return Culture(
        name=name, kind=kind, started=started, medium_g=medium, surface_cm2=surface,
        starter_g=starter, temperature_c=temperature, planned=planned is not None,
    )  # fmt: skip


def _started(t: Table, kind: Kind | None) -> date | None:
    """The day on which a culture was set up; where it is left out, what to write of one of unknown
    age is said.
    """
    if "started" in t or "started" in t.meant or not isinstance(kind, WormKind):
        day: date | None = t["started"]
        return day
    days = round(kind.values["renew_days"])
    t.fail(
        "started",
        f"is missing; write the day it was set up, like 2027-01-31. If nobody knows its age and it"
        f" is in full swing: {t.file.today - timedelta(days=days)}, since a {kind.label} culture is"
        f" split every {days} days (livefood help age)",
    )
    return None


def _grams_of(t: Table, key: str, usual_g: float | None) -> float:
    """A size of a culture [g]; where it is left out, what is usual of its kind is said."""
    if usual_g is None or key in t or key in t.meant:
        grams: float = t[key]
        return grams
    t.fail(key, f"is missing (in g; {usual_g:g} is usual)")
    return usual_g


def _as_kept(t: Table, kind: WormKind) -> WormKind:
    """The kind on the medium of a culture, harvested as that is."""
    said = {}
    for key, known in (("medium", kind.media), ("harvest", kind.harvests)):
        word = said[key] = t[key]
        if word is None or word in known:
            continue
        may = nearest(word, known) if known else "leave it out: no other is known of this kind"
        t.fail(key, f"there is no '{short(word)}' for {kind.name}; {may}")
    return kind.kept(**said) if t.ok else kind


def _cysts(
    file: File, kinds: Mapping[str, Kind], spoon_g_per_ml: float | None
) -> tuple[HatchKind, Cysts | None]:
    kind = kinds[BRINE_SHRIMP]
    cysts = None
    if "cysts" in file.data:
        t = _single(file, "cysts")
        strain = t["strain"]
        if strain is not None:
            try:
                kind = shipped_kind(BRINE_SHRIMP, strain)
            except LivefoodError as error:
                t.fail("strain", str(error))
    assert isinstance(kind, HatchKind)
    if spoon_g_per_ml is not None:
        kind = kind.with_spoon(spoon_g_per_ml)
    file.densities["cysts"] = kind.values["bulk_density_g_per_ml"]
    if "cysts" in file.data:
        t["opened"]  # which only dates the file, by `_latest_date`
        cysts = Cysts(t["grams"], t["nauplii_per_gram"], strain)
    return kind, cysts


def _vessel(t: Table, kind: HatchKind) -> Vessel:
    litres, temperature, salinity = t["litres"], t["temperature_c"], t["salinity_g_per_l"]
    if temperature is not None and t.ok:
        t.check("temperature_c", kind.check_temperature(temperature), f"{temperature:g} °C: ")
    if salinity is not None:
        wrong = salinity_slip(salinity)
        if wrong is None and kind.salinity_share(salinity) <= 0.05:
            wrong = f"{salinity:g} g/L: next to nothing hatches; use 20 to 35 g/L"
        t.check("salinity_g_per_l", wrong)
    return Vessel(t["name"], litres, temperature, salinity)


def _hatch(t: Table, zone: ZoneInfo | None, vessels: Iterable[Vessel]) -> RunningHatch | None:
    name, grams, moment = t["vessel"], t["cysts_g"], t["set_at"]
    vessel = next((v for v in vessels if v.name == name), None)
    if t.raw.get("vessel") in [raw.get("vessel") for raw in t.file.raw("hatch")[: t.index]]:
        t.fail("vessel", "holds a hatch already; a vessel holds one at a time")
    if vessel is not None and grams is not None:
        t.check("cysts_g", cysts_slip(grams, vessel.litres))
    if moment is None:
        return None
    if zone is not None and (moment := _in_zone(t, "set_at", moment, zone)) is None:
        return None
    now = t.file.now
    if now is not None and now.tzinfo is None:
        now = now.replace(tzinfo=zone)
    if moment.date() > t.file.today or (now is not None and zone is not None and moment > now):
        t.fail("set_at", "lies in the future; the file names hatches that stand already")
    return RunningHatch(name, moment, grams)


def _brood(
    t: Table, classes: dict[str, FryClass], tanks: Iterable[Tank], sell_at: SellAt | None
) -> Brood | None:
    fry_class, tank = _class_of(t, classes), t["tank"]
    anchor = _anchor(t)
    home = next((one for one in tanks if one.name == tank), None)
    if fry_class is not None and home is not None and anchor in ("spawned", "planned"):
        wrong = fry_class.check_eggs(home.temperature_c)
        t.check("tank", wrong, f"[[tank]] {tank} temperature_c: ")
    count = t["count"]
    length = t["length_mm"] if anchor == "length_mm" else None
    day = None if anchor is None else t["measured_on" if anchor == "length_mm" else anchor]
    if anchor != "length_mm" and "measured_on" in t:
        t.fail("measured_on", "goes with length_mm only")
    counted = t["counted_on"] or day
    if day is not None and counted is not None and anchor in ("wetted", "planned"):
        counted = max(counted, day)  # nothing is lost of eggs that rest
    name, foods, survival, chance = t["name"], t["foods"], t["survival_per_day"], t["chance"]
    if chance is not None and anchor != "planned":
        t.fail("chance", "goes with planned only")
    if anchor == "planned":
        chance = chance or feeding_values()["spawn_chance"]
    own = t["sell_at"]
    if fry_class is None or anchor is None or day is None or counted is None:
        return None
    longest = fry_class.values["length_limit_mm"]
    if own is not None and own.length_mm is not None and not fry_class.reaches(own.length_mm):
        t.fail(
            "sell_at", f"{own.length_mm:g} mm is never reached: {fry_class.label} grow to about"
            f" {longest:g} mm here"
        )  # fmt: skip
    return Brood(
        name=name, tank=tank, fry_class=fry_class, count=count, counted_on=counted,
        anchor="length" if length is not None else anchor, anchor_date=day, length_mm=length,
        survival_per_day=survival or fry_class.values["survival_per_day"], foods=foods,
        chance=chance or 1.0, sell_at=own or sell_at,
    )  # fmt: skip


def _class_of(t: Table, classes: dict[str, FryClass]) -> FryClass | None:
    """The species of a brood, or its class where it names none; it comes to those of the room."""
    species, of = t["species"], t["class"]
    if "species" not in t and "class" not in t:
        t.fail("class", 'is missing; or give its species, like species = "Betta splendens"')
    known = None if species is None else read_species(species)
    if known is not None and of is not None and of != known.of:
        t.fail("class", f"'{of}' does not go with species: {known.scientific} is of the class"
               f" '{known.of}'; leave class out")  # fmt: skip
    name = species if "species" in t else of
    if name is not None and name not in classes:
        classes[name] = shipped_class(name)
    return classes.get(name)


def _anchor(t: Table) -> str | None:
    """The key that says how old a brood is; the first, where several do, which is noted."""
    found = [key for key in ANCHORS if key in t]
    if t["wetted"] is not None:
        if found in ([], ["collected"]):
            if found:
                t["collected"]
            return "wetted"
        t.fail("wetted", "goes alone or with collected")
    if len(found) != 1:
        t.fail(
            found[1] if found else "name",
            f"give exactly one of {', '.join((*ANCHORS, 'wetted'))};"
            f" found {' and '.join(found) or 'none'}",
        )
    return found[0] if found else None


def _away(t: Table, zone: ZoneInfo | None, fed: Callable[[date], tuple[time, ...]]) -> Away | None:
    """An absence; ``fed``: the feeding times of a day."""
    start, end, helper, rounds, days, foods = (
        t[key] for key in ("from", "to", "helper", "rounds", "days", "foods")
    )
    if foods and not helper:
        t.fail("foods", "goes with helper = true: it is what a helper gives")
    ends = {"from": start, "to": end}
    for key, said in ends.items():
        if isinstance(said, datetime) and zone is not None:
            ends[key] = _in_zone(t, key, said, zone)
    if not t.ok:
        return None
    (first, since), (last, until) = (
        (said.date(), said.time()) if isinstance(said, datetime) else (said, clock)
        for said, clock in zip(ends.values(), (time.min, time.max), strict=True)
    )
    if (last, until) < (first, since):
        t.fail("to", f"{_as_written(end)} is before from ({_as_written(start)})")
        return None
    weekdays = tuple(sorted(map(DAYS.index, days)))
    found = Away(first, last, helper, rounds, weekdays, since, until, foods)
    slip = found.slip(fed) if fed(found.start) else None
    t.check("rounds" if rounds else "from", slip)
    return found


def _as_written(said: date | datetime) -> str:
    return f"{said:%Y-%m-%d %H:%M}" if isinstance(said, datetime) else f"{said}"


def _latest_date(file: File) -> date:
    """The latest past day that the file speaks of: the day it is true at."""
    values = [v for table in ("brood", "culture", "hatch") for r in file.raw(table)
              for v in r.values()]  # fmt: skip
    values.append(file.data.get("cysts", {}).get("opened"))
    days = (date_of(value) for value in values)
    return max((day for day in days if day is not None and day <= file.today), default=file.today)
