"""``livefood yield``: what a culture gives, day by day."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from pathlib import Path

import click
from attrs import evolve

from cli.completion import culture_names
from cli.journal.names import NamedCommand
from cli.options import (
    Setting,
    UsageProblemError,
    Whole,
    json_option,
    load,
    now_option,
    optional_room,
    print_json,
    room_option,
)
from cli.quantities import CELSIUS, GRAMS, SQUARE_CM
from cli.screens.yields import Case
from cultures.errors import UnknownNameError
from cultures.foods.kinds import Kind, WormKind, kind_names, shipped_kind
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, Upkeep, daily_yield, yield_interval
from cultures.room.room import Culture, Room
from cultures.words.moments import hours
from cultures.words.quantities import celsius

#: Temperatures that fit side by side on the screen.
_MOST_TEMPERATURES = 5
#: A starter weighs this share of the medium unless it is given.
_USUAL_STARTER = 0.1


@click.command("yield", cls=NamedCommand)
@click.argument("name", required=False, shell_complete=culture_names)
@room_option
@now_option
@click.option("--kind", metavar="KIND", help="Kind of worm, instead of a NAME ('kinds').")
@click.option("--medium-g", type=GRAMS, help="Medium in grams (1 mL of a liquid is 1 g).")
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
@click.option("--range", "with_range", is_flag=True, help="Add what nine of ten cases stay within.")
@json_option
def command(
    name: str | None,
    room_path: Path,
    now: datetime | None,
    kind: str | None,
    medium_g: float | None,
    surface_cm2: float | None,
    starter_g: float | None,
    temperatures_c: tuple[float, ...],
    take: float | None,
    days: int | None,
    topup_g: float | None,
    topup_every: int | None,
    split_day: int | None,
    with_range: bool,
    as_json: bool,
) -> None:
    """What a worm culture gives: first harvest, best share to take, day by day.

    NAME is a culture of the room, shown on its own dates with what was taken of it; with
    one of the options, or with --kind, it is one started anew, by days of age. A QUANTITY
    is a number in the unit of the option, or has its own: "5 oz", "78 F".

    \b
    Examples:
      livefood yield MW-1
      livefood yield --kind microworm --medium-g 150 --surface-cm2 180
          --temperature-c 20 --temperature-c 26 --range
    """
    described = (medium_g, surface_cm2, starter_g, take, days, topup_g, topup_every, split_day)
    plain = not (with_range or temperatures_c or any(value is not None for value in described))
    if name is not None and kind is None and plain:
        _show_own(load(room_path, now), name, as_json=as_json)
        return
    if name is not None and kind is None:
        room = load(room_path, now).room
        units = room.units
        setup, culture = _of_room(room, name, medium_g, surface_cm2, starter_g)
        courses = _courses(room, culture, temperatures_c)
    elif kind is not None and name is None:
        own = optional_room(room_path, now)
        units = own.units if own else "metric"
        setup = _of_kind(_find_kind(own, kind), medium_g, surface_cm2, starter_g)
        courses = _constant(temperatures_c or (setup.kind.values["t_ref_c"],), units)
    else:
        asked = "either a culture of the room or --kind, not both"
        if name is None:
            asked = "a culture of the room, or --kind with --medium-g and --temperature-c"
        raise UsageProblemError(f"say which: {asked}")
    if len(courses) > _MOST_TEMPERATURES:
        raise UsageProblemError(f"compare at most {_MOST_TEMPERATURES} temperatures at a time")
    taken_mg = setup.starter_mg if split_day else 0.0
    setup = evolve(setup, upkeep=Upkeep(topup_g or 0.0, topup_every or 0, split_day, taken_mg))
    cases = [_case(label, setup, *course, take, days, with_range) for label, course in courses]
    if as_json:
        print_json(_json(cases))
    else:
        from cli.screens.yields import report

        click.echo(report(cases, units))


def _show_own(setting: Setting, name: str, *, as_json: bool) -> None:
    """A culture of the room on its own dates."""
    from cli.screens.culture import course_json, course_screen, look_at

    assert setting.present is not None
    found = look_at(setting.present, name)
    if as_json:
        print_json(course_json(found))
    else:
        click.echo(course_screen(found))


_Course = tuple[TemperatureSeries, float]


def _of_room(
    room: Room, name: str, medium_g: float | None, surface_cm2: float | None,
    starter_g: float | None,
) -> tuple[Setup, Culture]:  # fmt: skip
    """A culture of the room, but for what is said otherwise."""
    culture = room.culture(name)
    return (
        Setup(
            kind=culture.kind,
            medium_g=culture.medium_g if medium_g is None else medium_g,
            surface_cm2=culture.surface_cm2 if surface_cm2 is None else surface_cm2,
            starter_mg=_starter_mg(
                culture.kind, culture.starter_g if starter_g is None else starter_g
            ),
        ),
        culture,
    )


def _courses(
    room: Room, culture: Culture, temperatures_c: tuple[float, ...]
) -> list[tuple[str, _Course]]:
    """The courses of temperature to look at: the room's own unless others are asked for."""
    if temperatures_c:
        return _constant(temperatures_c, room.units)
    last_day = culture.started + timedelta(days=730)
    series = room.series(culture.temperature_c, culture.started, last_day)
    start_h = hours(room.local(culture.started, time(12)))
    constant = len(series.values_c) == 1
    label = "the room's monthly temperature"
    if constant:
        label = celsius(series.values_c[0], room.units)
    return [(label, (series, start_h))]


def _constant(temperatures_c: tuple[float, ...], units: str) -> list[tuple[str, _Course]]:
    return [(celsius(t, units), (TemperatureSeries.constant(t), 0.0)) for t in temperatures_c]


def _of_kind(
    kind: Kind, medium_g: float | None, surface_cm2: float | None, starter_g: float | None
) -> Setup:
    if not isinstance(kind, WormKind):
        raise UsageProblemError(f"{kind.name} is hatched, not cultured: use 'livefood hatch'")
    if medium_g is None:
        raise UsageProblemError(
            f"say how much medium a culture of {kind.name} stands on: --medium-g"
        )
    return Setup(
        kind=kind,
        medium_g=medium_g,
        surface_cm2=surface_cm2,
        starter_mg=_starter_mg(kind, _USUAL_STARTER * medium_g if starter_g is None else starter_g),
    )


def _starter_mg(kind: WormKind, starter_g: float) -> float:
    return starter_g * kind.values["starter_mg_per_g"]


def _find_kind(room: Room | None, name: str) -> Kind:
    """A shipped kind, or one that the room file defines.

    Raises:
        UnknownNameError: neither has it.
    """
    if name in kind_names():
        return shipped_kind(name)
    known = room.kinds if room is not None else {}
    if name in known:
        return known[name]
    raise UnknownNameError("kind of live food", name, {*kind_names(), *known})


def _case(
    label: str,
    setup: Setup,
    series: TemperatureSeries,
    start_h: float,
    take: float | None,
    days: int | None,
    with_range: bool,
) -> Case:
    curve = daily_yield(setup, series=series, start_h=start_h, fraction=take, days=days)
    interval = {}
    if with_range:
        interval = yield_interval(setup, series=series, start_h=start_h, fraction=curve.fraction)
    return Case(label=label, setup=setup, series=series, curve=curve, interval=interval)


def _json(cases: list[Case]) -> dict[str, object]:
    if len(cases) == 1:
        return _case_json(cases[0])
    return {"kind": cases[0].setup.kind.name, "temperatures": [_case_json(c) for c in cases]}


def _case_json(case: Case) -> dict[str, object]:
    curve = case.curve
    steady = len(case.series.values_c) == 1
    result: dict[str, object] = {
        "kind": case.setup.kind.name,
        "temperature_c": round(case.series.values_c[0], 2) if steady else None,
        "unit": "mg wet",
        "first_harvest_day": curve.first_harvest_day,
        "days": [
            {
                "day": day.day,
                "stock": round(day.stock_mg, 3),
                "harvest": round(day.harvest_mg, 3),
                "energy_j": round(day.energy_j, 3),
            }
            for day in curve.days
        ],
        "best_fraction": round(curve.fraction, 4),
        "daily": round(curve.daily_mg, 3),
        "total": round(curve.total_mg, 3),
        "total_energy_j": round(curve.total_j, 3),
        "last_useful_day": curve.last_useful_day,
    }
    if case.interval:
        result["range"] = {
            key: [round(v, 3) if v == v else None for v in pair]
            for key, pair in case.interval.items()
        }
    return result
