"""An absence that begins soon: what is still to be prepared for it, for whom, and who gets nothing
though somebody feeds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from itertools import groupby

from attrs import evolve, frozen

from cultures.journal.absences import Away
from cultures.needs.need import rounds_between
from cultures.planning.matching import HARDLY
from cultures.planning.shortfalls import GIVEN, OUT
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.tasks.plan import Plan, Remedy, Shortfall
from cultures.tasks.task import (
    Buy,
    HarvestHatch,
    Lid,
    MoveOn,
    SetHatch,
    Soak,
    Sort,
    Split,
    Start,
    Task,
)
from cultures.tasks.told import totals_j
from cultures.words.moments import hours

#: It is spoken of so long before it begins.
_SOON = timedelta(days=2)
_A_SHEET = timedelta(days=13)
#: So much of a hatch is out that drawing it off is worth the jar (common practice, no source).
_MOSTLY = 0.5
#: What is prepared before leaving.
_PREPARES = (SetHatch, HarvestHatch, Split, Start, Buy, MoveOn, Sort, Lid)


@frozen
class Unfed:
    """Tanks whose fry get nothing, or hardly anything, for a day or longer of an absence.

    Attributes:
        first, last: the first and the last round of that. helps: what still helps against it, and
            is to be done before leaving.
    """

    tanks: tuple[str, ...]
    first: datetime
    last: datetime
    helps: tuple[Remedy, ...] = ()


@frozen
class Spoilt:
    """A hatch that gets ripe while nobody draws it off, and is no food any more afterwards.

    Attributes:
        ripe: when it would give most. out: whether most of it has hatched before leaving.
    """

    vessel: str
    ripe: datetime
    out: bool


@frozen
class Absence:
    """Days away that begin soon.

    Attributes:
        tasks: still to be done before. helper: the absence, or the part of it, in which a helper
            feeds. envelopes: of dry food that are to be filled for them. dry_out: the first round
            for which there is too little of it. unfed: who gets nothing though somebody feeds.
            spoilt: hatches that stand until they are no food any more. cold: there is a fridge.
            calendars: the commands that write again what calendars there are.
    """

    away: Away
    tasks: tuple[Task, ...]
    helper: Away | None = None
    envelopes: int = 0
    dry_out: datetime | None = None
    unfed: tuple[Unfed, ...] = ()
    spoilt: tuple[Spoilt, ...] = ()
    cold: bool = False
    calendars: tuple[str, ...] = ()


def sheet_until(away: Away, first: date) -> date:
    """The last day of a helper's sheet from a day on: of an absence of some rounds or days, which
    may last for years, that of a fortnight.
    """
    return min(away.end, first + _A_SHEET) if away.in_part else away.end


def is_last_harvest(room: Room, task: Task) -> bool:
    """Whether a hatch is drawn off on the morning on which the keeper leaves."""
    return isinstance(task, HarvestHatch) and room.leaves(task.at)


def next_absence(
    room: Room, plan: Plan, now: datetime, calendars: Sequence[str] = ()
) -> Absence | None:
    """The absence that begins within two days, or None; where somebody is there between rounds
    that are missed, one with a helper alone, for whom something is to be prepared.

    Args:
        calendars: the commands that write again what calendars there are.
    """
    coming = (
        a for a in room.away
        if now < room.local(a.start, a.since) and a.start <= (now + _SOON).date()
        and (a.helper or not a.in_part)
    )  # fmt: skip
    away = min(coming, key=lambda a: (a.start, a.in_part), default=None)
    if away is None:
        return None
    leaving = room.leaving(away.start)
    tasks = () if away.in_part else tuple(
        t for t in plan.tasks
        if isinstance(t, _PREPARES) and t.id not in room.answered
        and (t.at < leaving or is_last_harvest(room, t))
    )  # fmt: skip
    helped = [a for a in room.away if a.helper and a.spans(away.start, away.end)]
    unfed = tuple(_unfed(room, plan, away, leaving))
    absence = Absence(
        away, tasks, unfed=unfed, calendars=tuple(calendars), cold=room.holding.cold,
        spoilt=() if away.in_part else spoilt_hatches(room, plan, leaving, away.end),
    )  # fmt: skip
    if not helped:
        return absence
    helper = away if away.helper else helped[0]
    soaks = (t.until for t in plan.tasks if isinstance(t, Soak))
    outs = [
        max(s.at, leaving) for s in plan.shortfalls
        if s.limit == OUT and s.at.date() <= away.end and s.until >= leaving
    ]  # fmt: skip
    until = sheet_until(helper, max(helper.start, away.start))
    envelopes = sum(at.date() <= until and helper.covers(at.date(), at.time()) for at in soaks)
    return evolve(absence, helper=helper, envelopes=envelopes, dry_out=min(outs, default=None))


def spoilt_hatches(
    room: Room, plan: Plan, leaving: datetime, last: date
) -> tuple[Spoilt, ...]:  # fmt: skip
    """The hatches that stand and are ripe during an absence, unless the plan has them drawn off
    before it, or while they are still food.

    Args:
        last: the last day of it.
    """
    back = room.local(last + timedelta(days=1), time.min)
    first: dict[str, HarvestHatch] = {}
    for task in plan.tasks:
        if isinstance(task, HarvestHatch):
            first.setdefault(task.subject, task)
    drawn = {
        name for name, t in first.items()
        if t.nauplii >= 1 or t.at < leaving or is_last_harvest(room, t)
    }  # fmt: skip
    found = []
    for hatch in (h for h in room.hatches if h.vessel not in drawn):
        model = vessel_model(room, room.vessel(hatch.vessel))
        if model.rate <= 0.0:  # it stands still, and so does not spoil
            continue
        begun_h = hatch.begun_h(model.rate)
        ripe = room.at_hour(begun_h + model.best_hours())
        if ripe < back:
            out = model.is_out(hours(leaving) - begun_h, _MOSTLY)
            found.append(Spoilt(hatch.vessel, ripe, out))
    return tuple(found)


def _fed_by_helper(room: Room, away: Away) -> list[datetime]:
    """The rounds of an absence at which somebody feeds."""
    first = room.local(away.start, time.min)
    end = room.local(away.end + timedelta(days=1), time.min)
    rounds = (r for r in rounds_between(room, first, end) if r.fed)
    return [r.at for r in rounds if away.covers(r.at.date(), r.at.time())]


def _of_day(room: Room, at: datetime) -> int:
    """How many rounds the day of a moment has."""
    return len(room.rounds_on(at.date()))


def takes_nothing(short: Shortfall) -> bool:
    """Whether those of a shortfall can take nothing, or hardly anything, of what a helper gives."""
    return short.limit == GIVEN and short.short_j >= (1.0 - HARDLY) * short.need_j


def _unfed(room: Room, plan: Plan, away: Away, leaving: datetime) -> Iterator[Unfed]:
    """Who gets nothing or hardly anything for a day of an absence at which somebody feeds."""
    times = sorted({x.at for x in plan.lines if away.covers(x.at.date(), x.at.time())})
    fed = totals_j(plan.lines, lambda line: (line.tank, line.at))
    bare = {each for each, (need_j, given_j) in fed.items() if given_j < HARDLY * need_j}
    bare -= {(line.tank, line.at) for line in plan.lines if line.skipped_g}  # it has its turn
    spells: dict[tuple[datetime, datetime], list[str]] = {}
    for tank in dict.fromkeys(tank for tank, _ in fed):
        for is_bare, run in groupby([(tank, at) for at in times], bare.__contains__):
            row = [at for _, at in run]
            if is_bare and len(row) >= min(_of_day(room, row[0]), len(times)):
                spells.setdefault((row[0], row[-1]), []).append(tank)
    helped = _fed_by_helper(room, away)
    for short in plan.shortfalls:  # who can take nothing of what is given has no line
        if takes_nothing(short):
            within = [at for at in helped if short.at <= at <= short.until]
            if within and len(within) >= min(_of_day(room, within[0]), len(times) or len(within)):
                tanks = spells.setdefault((within[0], within[-1]), [])
                tanks += [tank for tank in short.tanks if tank not in tanks]
    for (first, last), tanks in sorted(spells.items()):
        helps = (
            remedy for short in plan.shortfalls
            if short.certain and short.at <= last and short.until >= first
            and not {*tanks}.isdisjoint(short.tanks)
            for remedy in short.remedies
            if remedy.by < leaving and (remedy.helps_from or short.at) <= last
        )  # fmt: skip
        once = {remedy.what: remedy for remedy in helps}
        yield Unfed(tuple(tanks), first, last, tuple(sorted(once.values(), key=lambda r: r.by)))
