"""``livefood hatch``: size a hatch for a number of nauplii or for the room's need."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import evolve, frozen

from cli.option_types import (
    CELSIUS,
    LITRES,
    MILLILITRES,
    MOMENT,
    NAUPLII,
    NAUPLII_PER_GRAM,
    SALINITY,
    Whole,
)
from cli.options import (
    UsageProblemError,
    Where,
    answer,
    clock,
    json_option,
    localise,
    now_option,
    room_option,
)
from cli.screens.as_json import ranges
from cli.screens.hatch import Job, report
from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.hatch_request import HatchNotPossibleError, HatchRequest
from cultures.foods.hatch_sizing import Setting, SizedHatch, hatch_interval, size_hatch
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, shipped_kind
from cultures.foods.vessels import Vessel
from cultures.needs.need import food_needs_at, rounds_between
from cultures.room.room import Room
from cultures.room.tools import usual_tools
from cultures.words.moments import clock_text, hours, when, year_when
from cultures.words.quantities import in_units
from cultures.words.text import listed

if TYPE_CHECKING:
    from cultures.planning.harvests import Batch

#: Without a room: somebody is up between these times.
_AWAKE = (time(6, 30), time(22, 30))
#: Without a room: as many vessels as are needed, up to this many.
_MOST_VESSELS = 20
#: Without a room: volume to which the rinsed harvest is made up [mL].
_MAKEUP_ML = 200.0
#: A round to size a hatch for is looked for so far ahead.
_AHEAD = timedelta(days=5)
#: The plan's hatch that is harvested so near to a round is that of the round [h].
_SAME_ROUND_H = 0.5


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
@click.option("--vessels", type=Whole(1, _MOST_VESSELS), help="Set at most so many of them.")
@click.option("--strain", help="Strain of the cysts (see 'kinds brine_shrimp').")
@click.option("--per-gram", type=NAUPLII_PER_GRAM, help="Nauplii per gram, as you counted them.")
@click.option("--wettings", type=Whole(0, 20), default=0,
              help="How often the cysts got damp and dried.")  # fmt: skip
@click.option("--makeup-ml", type=MILLILITRES, help="Rinsed harvest made up to (the room's; 200).")
@click.option(
    "--range", "with_range", is_flag=True, help="Add what eight of ten cases stay within."
)
@json_option
def command(
    room_path: Path, nauplii: float | None, at: datetime | None, now: datetime | None,
    with_range: bool, as_json: bool, **options: Any,
) -> None:  # fmt: skip
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
    where = Where(room_path, now)
    room = where.load().room if nauplii is None else where.load_if_there()
    units = room.units if room else "metric"
    kind = _kind(room, options["strain"])
    planned = _planned(room, where.moment(room)) if room is not None else ()
    asked = _Asked(kind, room, nauplii, where, planned, options)
    try:
        request, sized = asked.next_in_reach() if at is None else asked.for_round(at)
    except HatchNotPossibleError as error:
        raise HatchNotPossibleError(in_units(str(error), units)) from None
    tanks: tuple[tuple[str, float], ...] = ()
    if room is not None:
        said = (*_nobody_feeds(room, request), *_taken_by_plan(room, sized, planned))
        sized = evolve(sized, notes=(*sized.notes, *said))
        if nauplii is None:
            tanks = tuple(_tanks(room, request, sized))
    interval = hatch_interval(request, sized) if with_range else {}
    of_round = room is None or request.at.time() in room.rounds_on(request.at.date())
    job = Job(kind, request, sized, tanks, interval, chosen=at is None, at_round=of_round)
    tools = room.tools if room else usual_tools(kind)
    answer(as_json, lambda: _json(job), lambda: report(job, tools))


@frozen
class _Asked:
    """What the command was asked for, and the room that it is for, if any."""

    kind: HatchKind
    room: Room | None
    nauplii: float | None
    where: Where
    planned: Sequence[Batch]
    options: Mapping[str, Any]

    def next_in_reach(self) -> tuple[HatchRequest, SizedHatch]:
        """The next round of the room that a hatch set from now on can be fed at."""
        if self.room is None:
            raise UsageProblemError(
                "there is no room file whose rounds could be meant: say --at 2027-01-06T07:30"
            )
        start = self.where.moment(self.room)
        refused: HatchNotPossibleError | None = None
        for feeding in rounds_between(self.room, start, _end(self.room, start)):
            needs = self.nauplii or food_needs_at(self.room, BRINE_SHRIMP, feeding.at)
            if not feeding.fed or not needs:
                continue
            request = self._request(feeding.at, start)
            try:
                return request, _in_free_vessels(request, self.planned)
            except HatchNotPossibleError as error:
                refused = error
        raise refused or UsageProblemError(
            f"no tank needs brine shrimp in the next {_AHEAD.days} days; give --nauplii instead"
        )

    def for_round(self, at: datetime) -> tuple[HatchRequest, SizedHatch]:
        """The round at a time; nothing can be set before now, unless it has already been."""
        asked, set_clock = self._local(at), self.where.now or clock()
        now: datetime | None = datetime.now(UTC).astimezone(asked.tzinfo)
        if set_clock is not None:
            now = self._local(set_clock)
        elif now is not None and now >= asked:
            now = None
        room = self.room
        fed = room.rounds_on(asked.date()) if room is not None else ()
        if room is not None and self.nauplii is None and asked.time() not in fed:
            rounds = listed([clock_text(at, room.units) for at in fed])
            raise UsageProblemError(
                f"the room is not fed at {clock_text(asked, room.units)}: name one of its rounds,"
                f" {rounds}; or say how many with --nauplii"
            )
        request = self._request(asked, now)
        return request, _in_free_vessels(request, self.planned)

    def _local(self, moment: datetime) -> datetime:
        zone = None if self.room is None else self.room.timezone
        return moment.astimezone() if zone is None else localise(moment, zone)

    def _request(self, moment: datetime, now: datetime | None) -> HatchRequest:
        """What is asked of the hatch: with what the room has, or what is usual."""
        kind, room, own = self.kind, self.room, self.options
        energy_j = None
        if self.nauplii is None and room is not None:
            energy_j = sum(food_needs_at(room, BRINE_SHRIMP, moment).values())
            if energy_j <= 0:
                said = year_when(moment, room.units)
                over = " (that is over)" if now is not None and moment < now else ""
                raise UsageProblemError(
                    f"no tank needs brine shrimp at {said}{over}; give --nauplii instead"
                )
        request = HatchRequest(
            at=moment, vessels=self._vessels(), awake=_AWAKE, nauplii=self.nauplii,
            energy_j=energy_j, now=now, nauplii_per_gram=own["per_gram"],
            wettings=own["wettings"],
            holding=Holding(kind, None, lambda _: kind.values["loss_ref_c"]),
            makeup_ml=own["makeup_ml"] or _MAKEUP_ML,
            later=tuple(moment + timedelta(hours=12 * n) for n in range(1, 5)),
        )  # fmt: skip
        if room is None:
            return request
        rounds = rounds_between(room, moment + timedelta(minutes=1), moment + timedelta(days=3))
        cysts = room.cysts
        return evolve(
            request, awake=room.awake, tools=room.tools,
            holding=evolve(room.holding, kind=kind),
            busy=tuple(  # until a hatch that stands is drawn off and the vessel clean
                (b.vessel.name, room.at_hour(b.harvest_h + kind.values["handling_h"]))
                for b in self.planned if b.standing
            ),
            away=room.away_at if room.away else None,
            makeup_ml=own["makeup_ml"] or room.makeup_ml,
            later=tuple(feeding.at for feeding in rounds if feeding.fed),
            nauplii_per_gram=own["per_gram"] or (None if cysts is None else cysts.nauplii_per_gram),
            cysts_g=None if cysts is None else cysts.grams,
        )  # fmt: skip

    def _vessels(self) -> tuple[Vessel, ...]:
        own = [self.options[key] for key in ("litres", "temperature_c", "salinity", "vessels")]
        if self.room is not None and self.room.vessels and all(value is None for value in own):
            return self.room.vessels
        litres, temperature_c, salinity, count = own
        warm_c = self.kind.values["t_ref_c"] if temperature_c is None else temperature_c
        return tuple(
            Vessel(
                name=f"vessel {number}", litres=litres or 1.0, temperature_c=warm_c,
                salinity_g_per_l=25.0 if salinity is None else salinity,
            )
            for number in range(1, (count or _MOST_VESSELS) + 1)
        )  # fmt: skip


def _end(room: Room, start: datetime) -> datetime:
    """Until when a round is looked for: so many days on which the keeper is there."""
    end = start + _AHEAD
    for away in sorted(room.away, key=lambda a: a.start):
        if not away.in_part and start.date() <= away.end and away.start <= end.date():
            end += away.end - max(away.start, start.date()) + timedelta(days=1)
    return end


def _in_free_vessels(request: HatchRequest, planned: Sequence[Batch]) -> SizedHatch:
    """The hatch in vessels that the plan leaves free at that time, where these do.

    The plan's own hatch for the round is no other one where the room's need is asked for.

    Raises:
        HatchNotPossibleError: no hatch can meet the request in any vessels.
    """
    others = [
        batch for batch in planned
        if request.energy_j is None or abs(batch.harvest_h - request.ready_h) > _SAME_ROUND_H
    ]  # fmt: skip
    first = sized = size_hatch(request)
    vessels = request.vessels
    while clash := {setting.vessel for setting, _ in _overlaps(sized, others)}:
        vessels = tuple(vessel for vessel in vessels if vessel.name not in clash)
        if not vessels:
            return first
        try:
            sized = size_hatch(evolve(request, vessels=vessels))
        except HatchNotPossibleError:
            return first
    return sized


def _kind(room: Room | None, strain: str | None) -> HatchKind:
    if room is not None and strain is None:
        return room.hatch_kind
    kind = shipped_kind(BRINE_SHRIMP, strain)
    assert isinstance(kind, HatchKind)
    return kind


def _planned(room: Room, now: datetime) -> Sequence[Batch]:
    """The hatches of the room's plan, those that stand among them."""
    from cultures.planning.outlook import make_outlook

    return [b for b in make_outlook(room, now=now).feeding.hatches.batches if not b.held]


def _overlaps(sized: SizedHatch, planned: Iterable[Batch]) -> Iterator[tuple[Setting, Batch]]:
    """Settings in vessels in which the plan has a hatch of its own at that time."""
    own = [batch for batch in planned if not batch.standing]
    for setting in sized.settings:
        set_h, harvest_h = hours(setting.set_at), hours(setting.harvest_at)
        for batch in own:
            mine = batch.vessel.name == setting.vessel
            if mine and batch.set_h < harvest_h and set_h < batch.harvest_h:
                yield setting, batch


def _taken_by_plan(room: Room, sized: SizedHatch, planned: Sequence[Batch]) -> Iterator[str]:
    for setting, batch in _overlaps(sized, planned):
        since, until = when(room.at_hour(batch.set_h)), when(room.at_hour(batch.harvest_h))
        yield f"by the plan {setting.vessel} is taken from {since} to {until}"


def _nobody_feeds(room: Room, request: HatchRequest) -> Iterator[str]:
    away = room.away_at(request.at)
    if away is not None and not away.helper:
        yield "by the room file nobody is there to feed them at that round"


def _tanks(room: Room, request: HatchRequest, sized: SizedHatch) -> Iterator[tuple[str, float]]:
    """mL of the rinsed harvest for each tank, by its share of the need."""
    fed_ml = request.makeup_ml * min(1.0, request.need / request.served(sized.given))
    for tank, energy_j in food_needs_at(room, BRINE_SHRIMP, request.at).items():
        yield tank, fed_ml * energy_j / request.need


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
        result["range"] = ranges(job.interval, 2)
    return result


def _minute(moment: datetime) -> str:
    return moment.replace(second=0, microsecond=0).isoformat()
