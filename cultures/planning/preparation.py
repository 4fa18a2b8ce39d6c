"""What comes before the first tank of a round, with clock times counted back from it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import Round
from cultures.planning.harvests import Portion, draw_of
from cultures.planning.outlook import Outlook
from cultures.room.jars import CRUMB
from cultures.room.room import Room
from cultures.tasks.task import Feed, FirstFood, HarvestHatch, HarvestWorms, Soak, Task
from cultures.tasks.told import Draw, FeedLine
from cultures.words.moments import clock_text
from cultures.words.quantities import food_name, millilitres, number
from cultures.words.tasks import (
    ONLY,
    THE_REST,
    Figure,
    Part,
    Phrase,
    Words,
    figure,
    line_figure,
    plain,
    soak,
    stood,
    twist,
    wet_ml,
    why_text,
    worms,
)
from cultures.words.text import listed
from cultures.words.tools import SALT, USUAL, Tools

#: Air off to draw off: shells float and nauplii gather at the light in 10-15 min (common practice).
_SETTLE = timedelta(minutes=15)
_WORMS_BEFORE = timedelta(minutes=10)
_CUPS_BEFORE = timedelta(minutes=5)


@frozen(eq=False)
class Step:
    """One thing to do before a round.

    Attributes:
        at: counted back from the round. before_min: minutes before the round, for steps that
            have no time of their own in the plan. task: the plan's task that it carries out,
            if it is the step that completes one.
    """

    at: datetime
    text: Phrase
    task: Task | None = None
    before_min: int | None = None


def steps_of(outlook: Outlook, tasks: Sequence[Task], at: datetime) -> list[Step]:
    """The steps of one round in the order of doing."""
    own = [
        task for task in tasks
        if (isinstance(task, HarvestHatch | Soak) and task.until == at)
        or (isinstance(task, HarvestWorms | FirstFood | Feed) and task.at == at)
    ]  # fmt: skip
    return steps_before(own, at, draws_at(outlook, at), outlook.room.tools, twins(outlook))


def steps_before(
    tasks: Iterable[Task],
    at: datetime,
    draws: Sequence[Draw],
    tools: Tools = USUAL,
    alike: Container[datetime] = (),
) -> list[Step]:
    """The steps that a round's own tasks ask for, in the order of doing.

    Args:
        at: of the round. draws: where its nauplii come from. alike: as :func:`twins` gives them.
    """
    steps: list[Step] = []
    for task in tasks:
        if isinstance(task, HarvestHatch):
            steps += hatch_steps(task, tools.units)
        elif isinstance(task, Soak):
            steps.append(Step(task.at, soak(task, tools), task))
        elif isinstance(task, HarvestWorms):
            steps.append(_before(at, _WORMS_BEFORE, worms(task, tools), task))
        elif isinstance(task, FirstFood):
            text = ("first food today for ", Words(task.subject), " in ", Words(task.other), ". ")
            steps.append(Step(at, (*text, Words(why_text(task, tools.units))), task))
        elif isinstance(task, Feed):
            steps += [_before(at, _CUPS_BEFORE, text) for text in _cups(task, draws, tools, alike)]
    return in_order(steps)


def in_order(steps: Iterable[Step]) -> list[Step]:
    """Steps by time; those of one time stay in the order of doing."""
    return sorted(steps, key=lambda step: step.at)


def jar_step(task: Task, room: Room) -> Iterator[Step]:
    """The salt water for the jar of a hatch, mixed before the hatch is drawn off."""
    if not isinstance(task, HarvestHatch) or task.jar_ml is None:
        return
    vessel = next((v for v in room.vessels if v.name == task.subject), None)
    if vessel is None:  # told of one that is no more
        return
    salt_g = task.jar_ml / 1000 * vessel.salinity_g_per_l
    text: Phrase = (
        "clean jar for ", Words(task.subject), ": ",
        Figure(millilitres(task.jar_ml, room.tools.units), task.jar_ml, f"{task.id}#jar_ml"),
        " water, ", Figure(room.tools.one(salt_g, SALT).text, salt_g, f"{task.id}#jar_salt_g"),
        " salt",
    )  # fmt: skip
    yield Step(task.at, text)


def draws_at(outlook: Outlook, at: datetime) -> Sequence[Draw]:
    """From which harvests the nauplii of a round come, planned or as it was told."""
    on_paper = (t for t in outlook.room.by_paper if isinstance(t.task, Feed) and t.task.at == at)
    told = outlook.told_round(at) or next(on_paper, None)
    if told is not None:
        return told.draws
    feeding = next((r for r in outlook.feedings if r.at == at), None)
    if feeding is None:
        return []
    portions = outlook.feeding.hatches.portions[feeding.index]
    return [d for portion in portions for d in _drawn_for(outlook, feeding, portion)]


def _drawn_for(outlook: Outlook, feeding: Round, portion: Portion) -> Iterator[Draw]:
    """What a harvest gives to a round: of a jar no more than the rounds before leave in it, at
    which so much is sieved as the marks of a measure show.
    """
    room, hatches = outlook.room, outlook.feeding.hatches
    draw = draw_of(room, hatches, feeding, portion)
    if draw.jar_ml is None or draw.take_ml <= 0.0:
        yield draw
        return
    left_ml = draw.jar_ml
    for before in outlook.feedings[hatches.batches[portion.batch].at_index : feeding.index]:
        for given in hatches.portions[before.index]:
            if given.batch == portion.batch:
                taken = _of_left(draw_of(room, hatches, before, given), left_ml)
                left_ml -= as_sieved(taken, room.tools).take_ml
    if left_ml > 0.0:
        yield _of_left(draw, left_ml)


def _of_left(draw: Draw, left_ml: float) -> Draw:
    """A draw out of a jar in which so much is left [mL]."""
    if draw.take_ml <= left_ml:
        return draw
    take_ml = max(0.0, left_ml)
    return evolve(draw, take_ml=take_ml, part=draw.part * take_ml / draw.take_ml)


def as_sieved(draw: Draw, tools: Tools) -> Draw:
    """What is taken out of a jar as the tools measure it; with a crumb left, all of it."""
    if draw.jar_ml is None or draw.take_ml <= 0.0:
        return draw
    take_ml = min(draw.jar_ml, tools.poured(draw.take_ml).amount)
    if draw.jar_ml - take_ml <= CRUMB * draw.jar_ml:
        take_ml = draw.jar_ml
    return evolve(draw, take_ml=take_ml, part=draw.part * take_ml / draw.take_ml)


def _before(at: datetime, lead: timedelta, text: Phrase, task: Task | None = None) -> Step:
    return Step(at - lead, text, task, before_min=round(lead.total_seconds() / 60))


def hatch_steps(task: HarvestHatch, units: str = "metric") -> Iterable[Step]:
    """Drawing off one hatch."""
    vessel = Words(task.subject)
    if task.nauplii < 1:
        yield Step(task.at, (vessel, ": ", Words(why_text(task, units))), task)
        return
    yield Step(task.at, (vessel, ": air off, light at the base, let it settle"))
    drawn: Phrase = (
        vessel, ": draw off the nauplii below the shells, sieve, rinse in fresh water (about ",
        figure(task, "nauplii", number(task.nauplii, 2)), *stood(task), ")",
    )  # fmt: skip
    if task.jar_ml is not None:
        kept = figure(task, "jar_ml", millilitres(task.jar_ml, units))
        drawn = (*drawn, "; put them in a jar of ", kept, " of clean salt water")
    # Who rises late lets it settle for less: it is drawn off before a cup is filled from it.
    yield Step(
        max(task.at, min(task.at + _SETTLE, task.until - _CUPS_BEFORE)),
        (*drawn, ". ", Words(why_text(task, units))),
        task,
    )


def _cups(
    feed: Feed, draws: Sequence[Draw], tools: Tools, alike: Container[datetime]
) -> Iterable[Phrase]:
    """Making up the cups: worms in one step, nauplii with where they come from."""
    worms: list[tuple[str, Phrase]] = []
    for food, volume_ml in sorted(feed.cups_ml.items()):
        volume: Phrase = (figure(feed, f"{food}_ml", millilitres(volume_ml)),)
        fed = tools.poured(feed.fed_ml.get(food, volume_ml)).text
        if fed != tools.poured(volume_ml).text:
            volume = (*volume, ONLY, figure(feed, f"{food}_fed_ml", fed), THE_REST)
        if food != BRINE_SHRIMP:
            worms.append((food_name(food), volume))
            continue
        parts: Phrase = ()
        for draw in draws:
            parts = (*parts, " and " if parts else "", *_drawn(draw, feed, tools, alike))
        yield ("nauplii: ", *parts, ", " if parts else "", "fill to ", *volume)
    if worms:
        yield ("top up cups with tank water: ", *_made_up(worms))


def _made_up(cups: Sequence[tuple[str, Phrase]]) -> Iterator[Part]:
    """Which cups to how much; those that hold the same are told as one."""
    for place, (_, group) in enumerate(groupby(cups, lambda cup: plain(cup[1]))):
        names, volumes = zip(*group, strict=True)
        each = " each" if len(names) > 1 else ""
        yield f"{', ' if place else ''}{listed(names)}{each} to "
        yield from volumes[0]


def twins(outlook: Outlook) -> frozenset[datetime]:
    """Times at which two vessels are drawn off, those of jars that a round in hand empties too."""
    room = outlook.room
    jars = {(b.vessel.name, round(b.harvest_h * 3600)) for b in outlook.feeding.hatches.batches}
    jars |= {
        (draw.vessel, round(draw.harvested.timestamp()))
        for told in room.in_hand for draw in told.draws
    }  # fmt: skip
    count = Counter(at_s for _, at_s in jars)
    return frozenset(room.at_hour(at_s / 3600) for at_s, of in count.items() if of > 1)


def jar_label(draw: Draw, alike: Container[datetime], units: str) -> str:
    """How a jar is called: by its harvest, and by its vessel where two have one time."""
    label = f"{draw.harvested:%a} {clock_text(draw.harvested, units)}"
    return f"{label} from {draw.vessel}" if draw.harvested in alike else label


def _drawn(draw: Draw, feed: Feed, tools: Tools, alike: Container[datetime]) -> Phrase:
    if draw.jar_ml is None:
        return ("all that was drawn off ", Words(draw.vessel))
    label, sieved = Words(jar_label(draw, alike, tools.units)), as_sieved(draw, tools)
    if sieved.take_ml == draw.jar_ml:
        return ("sieve and rinse the whole jar of ", label)
    taken = Figure(tools.poured(draw.take_ml).text, draw.take_ml, f"{feed.id}#jar_ml")
    return ("stir the jar of ", label, ", sieve ", taken, ", rinse")


def live_foods(lines: Sequence[FeedLine]) -> list[str]:
    """The foods of feeding lines, in the order of the columns: small before large, dry last."""
    first = (
        "paramecium", "vinegar_eel", "microworm", "banana_worm", "rotifer", BRINE_SHRIMP,
        "grindal_worm",
    )  # fmt: skip
    present = {line.food for line in lines if line.amount > 0}
    known = [food for food in first if food in present]
    rest = sorted(present - {*first, "dry"})
    return [*known, *rest, *(["dry"] if "dry" in present else [])]


def dose_phrase(line: FeedLine, lines: Sequence[FeedLine], tools: Tools = USUAL) -> Phrase:
    """One line of the feeding table as measured, among the ``lines`` of its round."""
    if line.food != DRY:
        return (line_figure(line, tools.poured(line.amount).text),)
    water = wet_ml(line, lines)
    if water is None:
        return (twist(line, tools),)
    of = f"{line.at.isoformat()}/{line.brood}/{DRY}#soaked_ml"
    return (Figure(tools.poured(water).text, water, of),)


def line_dose(line: FeedLine, lines: Sequence[FeedLine], tools: Tools = USUAL) -> str:
    """The same as running text."""
    return plain(dose_phrase(line, lines, tools))
