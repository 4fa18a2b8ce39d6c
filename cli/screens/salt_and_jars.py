"""What goes with a round besides its steps: salt for a new jar, and what is left in jars."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterator, Sequence
from datetime import datetime

from cultures.planning.food_tasks import why_waits
from cultures.planning.harvests import jar_ml
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import (
    Step,
    as_sieved,
    draws_at,
    in_order,
    jar_label,
    jar_step,
    steps_of,
    twins,
)
from cultures.room.jars import CRUMB
from cultures.tasks.task import Task
from cultures.tasks.told import Draw
from cultures.words.moments import hours, when
from cultures.words.quantities import millilitres


def all_steps(outlook: Outlook, tasks: Sequence[Task], at: datetime) -> list[Step]:
    """The steps of a round with the water for each new jar mixed ahead."""
    jars = [step for t in tasks if t.until == at for step in jar_step(t, outlook.room)]
    # The jar is ready before it is filled.
    return in_order([*jars, *steps_of(outlook, tasks, at)])


def jars_left(outlook: Outlook, at: datetime) -> list[str]:
    """What is left in each jar that a round draws from and does not empty."""
    alike = twins(outlook)
    after = _planned_after if outlook.told_round(at) is None else _held_after
    left = [_left(outlook, draw, alike, ml, later=later) for draw, ml, later in after(outlook, at)]
    return [*left, *_kept_whole(outlook, at, alike)]


def _jar(draw: Draw) -> tuple[str, datetime]:
    """Which jar it is of."""
    return draw.vessel, draw.harvested


def _planned_after(outlook: Outlook, at: datetime) -> Iterator[tuple[Draw, float, bool]]:
    """The jars that a planned round leaves something in: how much [mL], and whether a later round
    takes more of it.
    """
    taken, later = defaultdict[tuple[str, datetime], float](float), set[tuple[str, datetime]]()
    longest = _last_round(outlook, at)
    for each in outlook.round_times():
        if each > longest or outlook.told_round(each) is not None:
            continue  # of one in hand what is held is what it leaves
        for draw in draws_at(outlook, each):
            if each <= at:
                taken[_jar(draw)] += as_sieved(draw, outlook.room.tools).take_ml
            else:
                later.add(_jar(draw))
    held_ml = {jar: ml for jar, _, ml in _held(outlook)}
    for draw in draws_at(outlook, at):
        # What a helper has on paper was reckoned before the rounds that were fed since.
        jar, full_ml = _jar(draw), held_ml.get(_jar(draw), draw.jar_ml)
        if full_ml is not None and full_ml - taken[jar] > CRUMB * full_ml:
            yield draw, full_ml - taken[jar], jar in later


def _held(outlook: Outlook) -> Iterator[tuple[tuple[str, datetime], int, float]]:
    """The jars that are there when the plan begins: which, its number in it, and how much [mL]."""
    hatches = outlook.feeding.hatches
    for number, batch in enumerate(hatches.batches):
        left_ml = jar_ml(outlook.room, hatches, number) if batch.held else None
        if left_ml is not None:
            yield (batch.vessel.name, outlook.room.at_hour(batch.harvest_h)), number, left_ml


def _held_after(outlook: Outlook, at: datetime) -> Iterator[tuple[Draw, float, bool]]:
    """The same of a round in hand, after which the plan begins with what is held."""
    hatches = outlook.feeding.hatches
    drawn = {_jar(draw): draw for draw in draws_at(outlook, at)}
    for jar, number, left_ml in _held(outlook):
        if jar in drawn and hatches.batches[number].share > CRUMB:
            later = any(p.batch == number for row in hatches.portions for p in row)
            yield drawn[jar], left_ml, later


def _kept_whole(outlook: Outlook, at: datetime, alike: Container[datetime]) -> Iterator[str]:
    """The jars that are there at a round of which nothing is fed before a later one, and why."""
    room, hatches, drawn = outlook.room, outlook.feeding.hatches, draws_at(outlook, at)
    since = next((r.index for r in outlook.feedings if r.at >= at), 0)
    for number, batch in enumerate(hatches.batches):
        harvested = room.at_hour(batch.harvest_h)
        if harvested > at or (batch.vessel.name, harvested) in map(_jar, drawn):
            continue
        jar = Draw(batch.vessel.name, harvested, None, 0.0)
        of = f"the jar of {jar_label(jar, alike, room.units)}"
        fed = (r for r, row in zip(outlook.feedings, hatches.portions, strict=True)
               if any(p.batch == number for p in row))  # fmt: skip
        first = next(fed, None)
        if first is not None and first.at > at:
            why = why_waits(outlook, since, first.index, others=bool(drawn))
            cold = ", in the fridge now," if room.holding.stood_warm(hours(harvested)) else ""
            yield f"{of} is kept whole{cold} until {when(first.at, room.units)}: {why}"
        elif first is None and batch.held and batch.share == 1.0 and batch.nauplii > 0.0:
            yield f"no round needs {of}; pour it out"


def _left(
    outlook: Outlook, draw: Draw, alike: Container[datetime], left_ml: float, *, later: bool
) -> str:
    """How much is left, and how long it keeps; ``later``: a planned round takes more of it."""
    room, units = outlook.room, outlook.room.units
    left = millilitres(left_ml, units)
    if left.endswith(" mL"):  # a syringe measures it
        left = room.tools.poured(left_ml).text
    until = when(_kept_until(outlook, draw), units)
    how = "left" if later else "to spare"
    of = f"{left} {how} in the jar of {jar_label(draw, alike, units)}"
    if room.holding.stood_warm(hours(draw.harvested)):
        return f"{of}: put it in the fridge, where it keeps until {until}"
    return f"{of}, keeps until {until}"


def _kept_until(outlook: Outlook, draw: Draw) -> datetime:
    """How long a harvest keeps, in hours that pass, whatever the clocks do; or the round for which
    it does after that.
    """
    from_h = hours(draw.harvested)
    keeps = outlook.room.at_hour(from_h + outlook.room.holding.longest_h(from_h))
    late = _last_round(outlook, draw.harvested)
    fed = (
        at for at in outlook.round_times()
        if keeps < at <= late and _jar(draw) in map(_jar, draws_at(outlook, at))
    )  # fmt: skip
    return max(fed, default=keeps)


def _last_round(outlook: Outlook, harvested: datetime) -> datetime:
    """When the last round may begin that is fed of a harvest."""
    return outlook.room.at_hour(outlook.room.holding.last_h(hours(harvested)))
