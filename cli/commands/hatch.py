"""``livefood hatch``: size a hatch for a number of nauplii or for the room's need."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any

import click
from attrs import evolve

from cli.options import (
    MOMENT,
    UsageProblemError,
    Whole,
    clock,
    json_option,
    load,
    localise,
    now_option,
    optional_room,
    print_json,
    room_option,
)
from cli.quantities import CELSIUS, LITRES, MILLILITRES, NAUPLII, NAUPLII_PER_GRAM, SALINITY
from cli.screens.hatch import Job
from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.hatch_range import hatch_interval
from cultures.foods.hatch_request import HatchNotPossibleError, HatchRequest
from cultures.foods.hatch_sizing import SizedHatch, size_hatch
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, shipped_kind
from cultures.foods.vessels import Vessel
from cultures.needs.need import food_need_at, room_needs, rounds_between
from cultures.room.jars import holding_of
from cultures.room.room import Room
from cultures.words.moments import hours
from cultures.words.quantities import in_units, when

#: Without a room: somebody is up between these times.
_AWAKE = (time(6, 30), time(22, 30))
#: Without a room: as many vessels as are needed, up to this many.
_MOST_VESSELS = 20
#: A round to size a hatch for is looked for so far ahead.
_AHEAD = timedelta(days=5)


@click.command()
@room_option
@click.option("--nauplii", type=NAUPLII, help="How many; without it the room's own need.")
@click.option(
    "--at", "at", type=MOMENT, metavar="TIME",
    help="The round at which they are fed, else the next in reach.",
)  # fmt: skip
@now_option
@click.option("--litres", type=LITRES, help="Vessel of this size instead of the room's.")
@click.option("--temperature-c", type=CELSIUS, help="Its water temperature (27).")
@click.option("--salinity", type=SALINITY, help="Its salt, in g/L (25).")
@click.option("--vessels", type=Whole(1, _MOST_VESSELS), help="How many of them.")
@click.option("--strain", help="Strain of the cysts (see 'kinds brine_shrimp').")
@click.option("--per-gram", type=NAUPLII_PER_GRAM, help="Nauplii per gram that you counted.")
@click.option("--wettings", type=Whole(0, 20), default=0,
              help="Times the cysts got damp and dried.")  # fmt: skip
@click.option("--makeup-ml", type=MILLILITRES, help="Rinsed harvest made up to (the room's; 200).")
@click.option("--range", "with_range", is_flag=True, help="Add what nine of ten cases stay within.")
@json_option
def command(
    room_path: Path,
    nauplii: float | None,
    at: datetime | None,
    now: datetime | None,
    with_range: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Size a brine shrimp hatch: cysts, spoons, salt, water, when to set and harvest.

    Without --nauplii it meets the room's own need at the round --at, without --at that of
    the next round that a hatch set now can reach. A QUANTITY is a number in the unit of
    the option, or has its own: "78 F", "1 qt".

    \b
    Examples:
      livefood hatch --nauplii 100000 --at 2027-01-06T07:30
      livefood hatch
      livefood hatch --at 2027-01-06T07:30 --range
    """
    room = load(room_path, now).room if nauplii is None else optional_room(room_path, now)
    units = room.units if room else "metric"
    kind = _kind(room, options["strain"])
    try:
        if at is None:
            request, sized = _next_in_reach(kind, room, nauplii, now, options)
        else:
            asked = _moment(at, room)
            starting = _starting(now, asked, room)
            request = _request(kind, room, asked, nauplii, starting, options)
            sized = size_hatch(request)
    except HatchNotPossibleError as error:
        raise HatchNotPossibleError(in_units(str(error), units)) from None
    moment = request.at
    if room is not None:
        sized = evolve(sized, notes=(*sized.notes, *_taken_by_plan(room, sized, now)))
    interval = hatch_interval(request, sized) if with_range else {}
    fed_ml = request.makeup_ml * min(1.0, request.need / request.served(sized.given))
    tanks = _tanks(room, moment, fed_ml) if room and nauplii is None else ()
    job = Job(
        kind=kind, request=request, sized=sized, tanks=tanks, interval=interval, chosen=at is None
    )  # fmt: skip
    if as_json:
        print_json(_json(job))
    else:
        from cli.screens.hatch import report

        click.echo(report(job, units))


def _next_in_reach(
    kind: HatchKind, room: Room | None, nauplii: float | None, now: datetime | None,
    options: dict[str, Any],
) -> tuple[HatchRequest, SizedHatch]:  # fmt: skip
    """The next round of the room that a hatch set from now on can be fed at."""
    if room is None:
        raise UsageProblemError(
            "there is no room file whose rounds could be meant: say --at 2027-01-06T07:30"
        )
    start = _now(now, room)
    refused: HatchNotPossibleError | None = None
    for feeding in rounds_between(room, start, start + _AHEAD):
        if not feeding.fed:
            continue
        if nauplii is None and food_need_at(room, BRINE_SHRIMP, feeding.at) <= 0:
            continue
        request = _request(kind, room, feeding.at, nauplii, start, options)
        try:
            return request, size_hatch(request)
        except HatchNotPossibleError as error:
            refused = error
    if refused is not None:
        raise refused
    raise UsageProblemError(
        f"no tank needs brine shrimp in the next {_AHEAD.days} days; give --nauplii instead"
    )


def _now(now: datetime | None, room: Room) -> datetime:
    now = now or clock()
    return datetime.now(room.timezone) if now is None else localise(now, room)


def _moment(at: datetime, room: Room | None) -> datetime:
    if room is not None:
        return localise(at, room)
    return at.astimezone()


def _starting(now: datetime | None, moment: datetime, room: Room | None) -> datetime | None:
    """The time before which nothing can be set; None for a round that has already been."""
    now = now or clock()
    if now is not None:
        return _moment(now, room)
    this_moment = datetime.now(UTC).astimezone(moment.tzinfo)
    return this_moment if this_moment < moment else None


def _kind(room: Room | None, strain: str | None) -> HatchKind:
    if room is not None and strain is None:
        return room.hatch_kind
    kind = shipped_kind(BRINE_SHRIMP, strain)
    assert isinstance(kind, HatchKind)
    return kind


def _request(
    kind: HatchKind,
    room: Room | None,
    moment: datetime,
    nauplii: float | None,
    now: datetime | None,
    options: dict[str, Any],
) -> HatchRequest:
    per_gram = options["per_gram"]
    if per_gram is None and room is not None and room.cysts is not None:
        per_gram = room.cysts.nauplii_per_gram
    energy_j = None
    if nauplii is None and room is not None:
        energy_j = food_need_at(room, BRINE_SHRIMP, moment)
        if energy_j <= 0:
            raise UsageProblemError(
                f"no tank needs brine shrimp at {moment:%Y-%m-%d %H:%M}; give --nauplii instead"
            )
    return HatchRequest(
        at=moment,
        vessels=_vessels(kind, room, options),
        awake=room.awake if room else _AWAKE,
        nauplii=nauplii,
        energy_j=energy_j,
        now=now,
        nauplii_per_gram=per_gram,
        wettings=options["wettings"],
        holding=_holding(kind, room),
        cysts_g=room.cysts.grams if room is not None and room.cysts is not None else None,
        busy=_busy(kind, room),
        makeup_ml=_makeup_ml(options["makeup_ml"], room),
        later=_later_rounds(room, moment),
    )


def _holding(kind: HatchKind, room: Room | None) -> Holding:
    if room is None:
        return Holding(kind, None, lambda _: kind.values["loss_ref_c"])
    return evolve(holding_of(room), kind=kind)


def _makeup_ml(asked: float | None, room: Room | None) -> float:
    if asked is not None:
        return asked
    return room.makeup_ml if room is not None else 200.0


def _vessels(kind: HatchKind, room: Room | None, options: dict[str, Any]) -> tuple[Vessel, ...]:
    own = [options[key] for key in ("litres", "temperature_c", "salinity", "vessels")]
    if room is not None and room.vessels and all(value is None for value in own):
        return room.vessels
    litres, temperature_c, salinity, count = own
    return tuple(
        Vessel(
            name=f"vessel {number}",
            litres=1.0 if litres is None else litres,
            temperature_c=kind.values["t_ref_c"] if temperature_c is None else temperature_c,
            salinity_g_per_l=25.0 if salinity is None else salinity,
        )
        for number in range(1, (count or _MOST_VESSELS) + 1)
    )


def _busy(kind: HatchKind, room: Room | None) -> tuple[tuple[str, datetime], ...]:
    """Until when each hatch that stands in the room keeps its vessel."""
    if room is None:
        return ()
    busy = []
    for hatch in room.hatches:
        model = kind.model(temperature_c=room.vessel(hatch.vessel).temperature_c)
        hours_left = model.best_hours() + kind.values["handling_h"]
        busy.append((hatch.vessel, hatch.set_at + timedelta(hours=hours_left)))
    return tuple(busy)


def _taken_by_plan(room: Room, sized: SizedHatch, now: datetime | None) -> Iterator[str]:
    """Vessels of the room in which the plan has a hatch of its own at that time."""
    from cultures.planning.outlook import make_outlook

    own = {vessel.name for vessel in room.vessels}
    if not any(setting.vessel in own for setting in sized.settings):
        return
    batches = make_outlook(room, now=_now(now, room)).feeding.hatches.batches
    for setting in sized.settings:
        set_h = hours(setting.set_at)
        for batch in batches:
            mine = batch.vessel.name == setting.vessel and not (batch.held or batch.standing)
            if mine and batch.set_h < set_h < batch.harvest_h:
                since, until = when(room.at_hour(batch.set_h)), when(room.at_hour(batch.harvest_h))
                yield f"by the plan {setting.vessel} is taken from {since} to {until}"


def _later_rounds(room: Room | None, moment: datetime) -> tuple[datetime, ...]:
    if room is None:
        return tuple(moment + timedelta(hours=12 * n) for n in range(1, 5))
    rounds = rounds_between(room, moment + timedelta(minutes=1), moment + timedelta(days=3))
    return tuple(feeding.at for feeding in rounds)


def _tanks(room: Room, moment: datetime, fed_ml: float) -> tuple[tuple[str, float], ...]:
    """mL of the rinsed harvest for each tank, by its share of the need."""
    feedings = rounds_between(room, moment - timedelta(days=1), moment + timedelta(days=1))
    nearest = min(feedings, key=lambda r: abs(r.at_h - hours(moment)))
    (needs,) = room_needs(room, [nearest])
    by_tank: dict[str, float] = {}
    for need in needs:
        energy = need.foods.get(BRINE_SHRIMP, 0.0)
        if energy > 0:
            by_tank[need.brood.tank] = by_tank.get(need.brood.tank, 0.0) + energy
    total = sum(by_tank.values())
    return tuple((tank, fed_ml * energy / total) for tank, energy in by_tank.items())


def _json(job: Job) -> dict[str, object]:
    sized = job.sized
    first = sized.settings[0]
    result: dict[str, object] = {
        "set_at": min(s.set_at for s in sized.settings).isoformat(),
        "harvest_at": max(s.harvest_at for s in sized.settings).isoformat(),
        "window": {"from": _minute(first.window[0]), "to": _minute(first.window[1])},
        "cysts_g": round(sized.cysts_g, 2),
        "water_l": round(sum(s.water_l for s in sized.settings), 3),
        "salt_g": round(sum(s.salt_g for s in sized.settings), 1),
        "vessels": len(sized.settings),
        "nauplii": round(sized.nauplii),
        "energy_j": round(sized.energy_j, 1),
        "spoons": round(sized.spoons, 3),
        "left_over": round(sized.left_over),
        "left_over_j": round(sized.left_over_j, 1),
        "settings": [
            {
                "vessel": s.vessel, "set_at": s.set_at.isoformat(),
                "harvest_at": s.harvest_at.isoformat(), "cysts_g": s.cysts_g,
                "water_l": s.water_l, "salt_g": round(s.salt_g, 1),
            }
            for s in sized.settings
        ],
        "rinse_ml": job.request.makeup_ml,
        "nauplii_per_ml": round(sized.per_ml, 1),
        "tanks": [{"tank": tank, "ml": round(ml, 1)} for tank, ml in job.tanks],
        "later": [
            {"at": at.isoformat(), "energy_share": round(share, 3)} for at, share in sized.later
        ],
        "notes": list(sized.notes),
        "cautions": list(job.kind.cautions),
    }  # fmt: skip
    if job.interval:
        result["range"] = {
            key: [round(low, 2), round(high, 2)] for key, (low, high) in job.interval.items()
        }
    return result


def _minute(moment: datetime) -> str:
    return moment.replace(second=0, microsecond=0).isoformat()
