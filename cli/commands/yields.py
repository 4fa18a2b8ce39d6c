"""``livefood yield``: what a culture gives, day by day."""

from __future__ import annotations

from datetime import time, timedelta
from typing import Any

import click

from cli.completion import culture_names
from cli.journal.names import NamedCommand
from cli.option_types import CELSIUS, GRAMS, SQUARE_CM, Whole
from cli.options import Setting, UsageProblemError, Where, answer, json_option, where_options
from cli.screens.as_json import as_kept_json, ranges
from cli.screens.yields import Case, report
from cultures.errors import RangeError, UnknownNameError
from cultures.foods.kinds import Kind, WormKind, kind_names, shipped_kind
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, Upkeep, daily_yield, yield_interval
from cultures.room.room import Culture, Room
from cultures.words.moments import hours, when
from cultures.words.quantities import celsius
from cultures.words.text import key_named

#: Temperatures that fit side by side on the screen.
_MOST_TEMPERATURES = 5
#: A starter weighs this share of the medium unless it is given.
_USUAL_STARTER = 0.1


@click.command("yield", cls=NamedCommand)
@click.argument("name", required=False, shell_complete=culture_names)
@where_options
@click.option("--kind", metavar="KIND", help="Kind of worm, instead of a NAME ('kinds').")
@click.option("--medium-g", type=GRAMS, help="Medium in grams (1 mL of a liquid is 1 g).")
@click.option("--medium", metavar="NAME", help="What it is kept on ('livefood kinds KIND').")
@click.option("--harvest", metavar="NAME", help="How it is harvested ('livefood kinds KIND').")
@click.option("--surface-cm2", type=SQUARE_CM, help="Surface of the medium.")
@click.option("--starter-g", type=GRAMS, help="Starter carried over (a tenth of the medium).")
@click.option(
    "--temperature-c", "temperatures_c", type=CELSIUS, multiple=True,
    help="Where it stands; give it again to compare.",
)  # fmt: skip
@click.option("--take", type=float, metavar="SHARE", help="Share taken a day (the best; 0: none).")
@click.option("--days", type=Whole(1, 2000), help="Days to show (until it is spent).")
@click.option("--topup-g", type=GRAMS, help="Fresh medium mixed in at a top-up.")
@click.option("--topup-every", type=Whole(1, 1000), help="Days between two top-ups.")
@click.option("--split-day", type=Whole(1, 2000), help="Take a starter out on this day.")
@click.option(
    "--range", "with_range", is_flag=True, help="Add what eight of ten cases stay within."
)
@json_option
def command(
    name: str | None, where: Where, kind: str | None, with_range: bool, as_json: bool,
    **options: Any,
) -> None:  # fmt: skip
    """What a worm culture gives: first harvest, best share to take, day by day.

    NAME is a culture of the room, shown on its own dates with what was taken of it; with
    one of the options, or with --kind, it is one started anew, by days of age. A QUANTITY
    is a number in the unit of the option, or has its own: "5 oz", "78 F".

    \b
    Examples:
      livefood yield MW-1
      livefood yield --kind microworm --medium-g 150 --surface-cm2 180 \\
          --temperature-c 20 --temperature-c 26 --range
    """
    plain = not with_range and all(value in (None, ()) for value in options.values())
    if (name is None) == (kind is None):
        asked = "either a culture of the room or --kind, not both"
        if name is None:
            asked = "a culture of the room, or --kind with --medium-g and --temperature-c"
        raise UsageProblemError(f"say which: {asked}")
    room = where.load_if_there() if kind is not None else None
    if kind is not None:
        units = room.units if room else "metric"
        setup = _setup(_worms(_find_kind(room, kind), options), options)
        courses = _constant(options["temperatures_c"] or (setup.kind.values["t_ref_c"],), units)
    else:
        setting = where.load(pending=False)
        _refuse_gone(setting, str(name))
        if plain:
            from cli.screens.culture import course_json, course_screen, look_at

            found = look_at(setting.present, str(name))
            answer(as_json, lambda: course_json(found), lambda: course_screen(found))
            return
        units = setting.room.units
        culture = setting.room.culture(str(name))
        setup = _setup(_as_kept(setting.room, culture, options), options, culture)
        courses = _courses(setting.room, culture, options["temperatures_c"])
    if len(courses) > _MOST_TEMPERATURES:
        raise UsageProblemError(f"compare at most {_MOST_TEMPERATURES} temperatures at a time")
    cases = [_case(*course, setup, options, with_range) for course in courses]
    answer(as_json, lambda: _json(cases), lambda: report(cases, units))


def _refuse_gone(setting: Setting, name: str) -> None:
    """Refuses a culture that stood and was discarded or crashed, with when.

    Raises:
        RangeError: it is gone.
    """
    end = next((e for e in reversed(setting.present.entries) if e.subject == name
                and e.event in ("discard", "failed")), None)  # fmt: skip
    if end is not None and all(c.name != name for c in setting.room.cultures):
        how = "crashed" if end.event == "failed" or end.other else "was discarded"
        at = when(end.when.astimezone(setting.room.timezone), setting.room.units)
        raise RangeError(f"{name} {how}: noted for {at}, line {end.line} of the journal")


def _as_kept(room: Room, culture: Culture, options: dict[str, Any]) -> WormKind:
    """The kind of a culture of the room, kept as it is but for what is said otherwise."""
    kind, usual = culture.kind, room.kinds[culture.kind.name]
    if not isinstance(usual, WormKind) or not (options["medium"] or options["harvest"]):
        return kind
    medium, harvest = kind.as_kept
    return usual.kept(options["medium"] or medium or None, options["harvest"] or harvest or None)


def _worms(kind: Kind, options: dict[str, Any]) -> WormKind:
    """A kind of worms, kept as it is said."""
    if not isinstance(kind, WormKind):
        raise UsageProblemError(f"{kind.name} is hatched, not cultured: use 'livefood hatch'")
    if options["medium_g"] is None:
        raise UsageProblemError(
            f"say how much medium a culture of {kind.name} stands on: --medium-g"
        )
    return kind.kept(options["medium"], options["harvest"])


def _setup(kind: WormKind, options: dict[str, Any], of: Culture | None = None) -> Setup:
    """A culture as it is described, for the rest like one of the room."""
    medium_g = options["medium_g"] or (of.medium_g if of else 0.0)
    surface_cm2 = options["surface_cm2"] or (of.surface_cm2 if of else None)
    starter_g = options["starter_g"] or (of.starter_g if of else _USUAL_STARTER * medium_g)
    starter_mg = starter_g * kind.values["starter_mg_per_g"]
    split_day = options["split_day"]
    upkeep = Upkeep(
        options["topup_g"] or 0.0, options["topup_every"] or 0, split_day,
        starter_mg if split_day else 0.0,
    )  # fmt: skip
    return Setup(kind, medium_g, surface_cm2, starter_mg, upkeep=upkeep)


#: How a course of temperature is called, the course, and when it begins [h since the epoch].
_Course = tuple[str, TemperatureSeries, float]


def _courses(room: Room, culture: Culture, temperatures_c: tuple[float, ...]) -> list[_Course]:
    """The courses of temperature to look at: the room's own unless others are asked for."""
    if temperatures_c:
        return _constant(temperatures_c, room.units)
    last_day = culture.started + timedelta(days=730)
    series = room.series(culture.temperature_c, culture.started, last_day)
    label = "the room's monthly temperature"
    if len(series.values_c) == 1:
        label = celsius(series.values_c[0], room.units)
    return [(label, series, hours(room.local(culture.started, time(12))))]


def _constant(temperatures_c: tuple[float, ...], units: str) -> list[_Course]:
    return [(celsius(t, units), TemperatureSeries.constant(t), 0.0) for t in temperatures_c]


def _find_kind(room: Room | None, name: str) -> Kind:
    """A shipped kind, or one that the room file defines.

    Raises:
        UnknownNameError: neither has it.
    """
    known = dict(room.kinds) if room is not None else {}
    known |= {each: shipped_kind(each) for each in kind_names()}
    name = key_named(name, known)
    if name not in known:
        raise UnknownNameError("kind of live food", name, known)
    return known[name]


def _case(
    label: str, series: TemperatureSeries, start_h: float, setup: Setup, options: dict[str, Any],
    with_range: bool,
) -> Case:  # fmt: skip
    curve = daily_yield(
        setup, series=series, start_h=start_h, fraction=options["take"], days=options["days"]
    )
    interval = {}
    if with_range:
        interval = yield_interval(setup, series=series, start_h=start_h, fraction=curve.fraction)
    return Case(label=label, setup=setup, series=series, curve=curve, interval=interval)


def _json(cases: list[Case]) -> dict[str, object]:
    if len(cases) == 1:
        return _case_json(cases[0])
    kind = cases[0].setup.kind
    return {"kind": kind.name, **as_kept_json(kind), "temperatures": [_case_json(c) for c in cases]}


def _case_json(case: Case) -> dict[str, object]:
    curve = case.curve
    steady = len(case.series.values_c) == 1
    result: dict[str, object] = {
        "kind": case.setup.kind.name,
        **as_kept_json(case.setup.kind),
        "temperature_c": round(case.series.values_c[0], 2) if steady else None,
        "unit": "mg wet",
        "first_harvest_day": curve.first_harvest_day,
        "days": [
            {
                "day": day.day, "stock": round(day.stock_mg, 3),
                "harvest": round(day.harvest_mg, 3), "energy_j": round(day.energy_j, 3),
            }
            for day in curve.days
        ],
        "best_fraction": round(curve.fraction, 4),
        "daily": round(curve.daily_mg, 3),
        "total": round(curve.total_mg, 3),
        "total_energy_j": round(curve.total_j, 3),
        "last_useful_day": curve.last_useful_day,
    }  # fmt: skip
    if case.interval:
        result["range"] = ranges(case.interval, 3)
    return result
