"""Turns the plan's numbers into dated tasks, each with its reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta

from attrs import evolve

from cultures.foods.food import DRY
from cultures.needs.dates import BroodDate, food_dates, past_fry_dates
from cultures.needs.need import BroodCourse, Round
from cultures.planning.brood_tasks import asked_at, brood_date_tasks, count_due, most_a_day
from cultures.planning.food_tasks import hatch_tasks, round_tasks, worm_tasks
from cultures.planning.harvests import jar_ml
from cultures.planning.outlook import Outlook, rounds_there
from cultures.planning.supplies import arrival_tasks, supply_tasks
from cultures.planning.task_ids import FEED, SHORT, natural
from cultures.record.fates import is_no_harvest
from cultures.room.room import Brood
from cultures.tasks.task import (
    Count,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Lid,
    Sell,
    Soak,
    Sort,
    SwitchFood,
    Task,
    Wet,
    rank_of,
)
from cultures.tasks.told import FeedLine
from cultures.words.moments import spoken_day
from cultures.words.quantities import many

#: What was done to a brood on the day that dates it, where its anchor is another word.
_DONE = {"planned": "spawned"}
#: Tasks that announce a day, and are not announced again.
_ONCE = (FirstFood, SwitchFood, Wet, Sell, Lid, Sort)
#: A food that was told to be the main one from a round on still is with so much of what is given
#: most of there (common practice, no source).
_NEARLY = 0.5


def build_tasks(outlook: Outlook) -> tuple[Task, ...]:
    """All tasks of an outlook by time, and in the order of doing at one time."""
    courses = [BroodCourse.of(outlook.room, brood) for brood in outlook.room.broods]
    hoped = list(outlook.hopes.courses) if outlook.hopes is not None else []
    start, end = outlook.now.date(), outlook.until.date() + timedelta(days=1)
    tasks = [
        *hatch_tasks(outlook),
        *worm_tasks(outlook),
        *round_tasks(outlook),
        *_wettings(outlook),
        *_first_foods(outlook, [*courses, *hoped]),
        *_switches(outlook, courses, end),
        *_counts(outlook, courses),
        *_dated(outlook, courses, start, end),
        *supply_tasks(outlook),
        *arrival_tasks(outlook),
    ]
    tasks = _by_paper(outlook, tasks)
    answered = outlook.room.answered
    in_hand = [t.task for t in outlook.room.in_hand]
    told = [
        _with_jar(outlook, task)
        for task in in_hand if not is_no_harvest(task, answered.get(task.id))
    ]  # fmt: skip
    skipped = {
        key for key, entry in answered.items()
        if entry.event == "skip" and key.startswith("harvest_hatch/")
    }  # fmt: skip
    fresh = _fresh(tasks, {t.id for t in told} - skipped, outlook.room.settled | skipped)
    return tuple(sorted([*told, *fresh], key=lambda t: (t.at, rank_of(t), natural(t.id))))


def _by_paper(outlook: Outlook, tasks: Sequence[Task]) -> list[Task]:
    """Tasks with those that a helper does by a sheet as they stand there."""
    told = [t.task for t in outlook.room.by_paper]
    rounds = {task.at for task in told if isinstance(task, Feed)}
    return [
        *told,
        *(
            task for task in tasks
            if not (isinstance(task, Feed | HarvestWorms) and task.at in rounds)
            and not (isinstance(task, Soak) and task.until in rounds)
        ),
    ]  # fmt: skip


def _with_jar(outlook: Outlook, task: Task) -> Task:
    """A harvest that was told for one round, with a jar where more rounds take of it by now."""
    if not isinstance(task, HarvestHatch) or task.jar_ml is not None:
        return task
    room, hatches = outlook.room, outlook.feeding.hatches
    used = {portion.batch for row in hatches.portions for portion in row}
    kept = (
        jar_ml(room, hatches, number)
        for number in used
        if (batch := hatches.batches[number]).held and batch.vessel.name == task.subject
        and task.at <= room.at_hour(batch.harvest_h) <= task.until
    )  # fmt: skip
    return evolve(task, jar_ml=next(kept, None))


def _fresh(tasks: Iterable[Task], in_hand: set[str], settled: frozenset[str]) -> Iterator[Task]:
    """Tasks that are not in hand, none under the id of one that is over or answered."""
    for task in tasks:
        if isinstance(task, _ONCE) and task.id in settled:
            continue
        number, key = 1, task.id
        while key in settled:
            number += 1
            key = f"{task.id}#{number}"
        if key in in_hand:
            continue
        yield task if number == 1 else evolve(task, id=key)


def _attended(outlook: Outlook, course: BroodCourse, day: date) -> Round | None:
    """The first round of a day at which a brood eats, or the next at which somebody feeds."""
    if day < outlook.now.date():
        return None  # it is over
    return next(
        (r for r in outlook.feedings if r.fed and r.at.date() >= day and course.eats_at(r)), None
    )


def _wettings(outlook: Outlook) -> Iterator[Task]:
    """Eggs in peat that were said to be put in water on a day ahead."""
    for brood in outlook.room.broods:
        day = brood.anchor_date
        if brood.anchor != "wetted" or brood.seen or day < outlook.now.date():
            continue
        feeding = next((r for r in outlook.feedings if r.keeper and r.at.date() >= day), None)
        if feeding is not None:
            yield Wet(
                id=f"wet/{brood.name}/{day}",
                at=feeding.at,
                until=feeding.at + SHORT,
                subject=brood.name,
                other=brood.tank,
                fry=round(brood.count),
                why=(
                    f"You planned to put them in water on {spoken_day(day, outlook.now.date())};"
                    f" for another day: journal wetted '{brood.name}' --on DAY."
                ),
            )


def _first_foods(outlook: Outlook, courses: list[BroodCourse]) -> Iterator[Task]:
    for course in courses:
        brood, day, key = course.brood, course.first_food_day(), f"first_food/{course.brood.key}"
        due, told = day, outlook.room.unanswered.get(key)
        if told is not None and told.date() < day:
            key = f"{key}/{day}"  # they were found to be later since
        elif told is not None and day < outlook.now.date():
            due = told.date()  # that day had no round left, and it was told for the next one
        feeding = _attended(outlook, course, due)
        if feeding is None or brood.anchor not in ("spawned", "hatched", "wetted", "planned"):
            continue
        foods = [f.name.replace("_", " ") for f in course.foods if f.name != DRY]
        yield FirstFood(
            id=key,
            at=feeding.at,
            until=feeding.at + FEED,
            subject=brood.name,
            other=brood.tank,
            fry=round(course.brood.alive(day)),
            why=_not_yet(brood, day)
            or (
                f"By the figures for {brood.fry_class.label} they start to eat"
                f" {many((day - brood.anchor_date).days, 'day')} after being"
                f" {_DONE.get(brood.anchor, brood.anchor)} at {course.temperature_c:.3g} °C; look"
                " for free-swimming fry from the day before."
                f" Kept here: {', '.join(foods) or 'none'}."
            ),
            spawns=((brood.name, brood.tank),) if brood.anchor == "planned" else (),
        )


def _not_yet(brood: Brood, day: date) -> str:
    """Why fry that did not swim when one looked are to be looked at again; "" of others."""
    if brood.not_before != day:
        return ""
    before = spoken_day(day - timedelta(days=1), day)
    return f"On {before} they did not swim yet: look again, and feed them only if they do."


def _switches(outlook: Outlook, courses: list[BroodCourse], end: date) -> Iterator[Task]:
    """The rounds from which on another food is the main one of a brood, and dry food the only one;
    none of what is not given.
    """
    for course in courses:
        for each in food_dates(course, outlook.now.date(), end):
            if each.what != "main_food":
                continue
            key = f"switch_food/{each.brood}/{each.food}"
            feeding = _first_as_main(outlook, course, each, key)
            if feeding is None:
                continue
            yield SwitchFood(
                id=key,
                at=feeding.at,
                until=feeding.at + FEED,
                subject=each.brood,
                other=each.food,
                length_mm=round(course.length_mm(feeding.at_h), 1),
                why=each.why,
            )
        yield from _weaned(outlook, course, end)


def _weaned(outlook: Outlook, course: BroodCourse, end: date) -> Iterator[Task]:
    """The round from which on a brood gets nothing but dry food, since it is past fry age."""
    for each in past_fry_dates(course, outlook.now.date(), end):
        key = f"switch_food/{each.brood}/{DRY}/alone"
        feeding = _first_as_main(outlook, course, evolve(each, food=DRY), key, alone=True)
        if feeding is not None:
            yield SwitchFood(
                id=key,
                at=feeding.at,
                until=feeding.at + FEED,
                subject=each.brood,
                other=DRY,
                length_mm=round(course.length_mm(feeding.at_h), 1),
                alone=1.0,
                why=f"{each.why} In the days before live food gets less from round to round.",
            )


def _first_as_main(
    outlook: Outlook, course: BroodCourse, each: BroodDate, key: str, *, alone: bool = False
) -> Round | None:
    """The first round from a day on at which a brood gets more of a food than of any other; the one
    that was told for this task while the brood gets little less of it there than of another.

    Args:
        alone: and nothing of any other.
    """
    first, told = _attended(outlook, course, each.day), outlook.room.unanswered.get(key)
    if first is None:
        return None

    def is_main(row: Iterable[FeedLine], least: float) -> bool:
        given = {x.food: x.given_j for x in row if x.brood == each.brood and x.given_j > 0.0}
        if not given or (alone and len(given) > 1):
            return False
        return given.get(each.food, 0.0) >= least * max(given.values())

    rows = [*zip(outlook.feedings, outlook.lines, strict=True)]
    as_told = (r for r, row in rows if r.at == told and is_main(row, _NEARLY))
    anew = (r for r, row in rows if r.at >= first.at and is_main(row, 1.0))
    return next(as_told, None) or next(anew, None)


def _dated(outlook: Outlook, courses: list[BroodCourse], start: date, end: date) -> Iterator[Task]:
    """What comes with the size of broods; only a few are to be sorted on one day."""
    found = [*brood_date_tasks(courses, rounds_there(outlook), start, end)]
    due = [(t.id, _due(outlook, t)) for t in found if isinstance(t, Sort)]
    asked = asked_at(outlook, due, most_a_day("sorted", len(courses)))
    for task in found:
        if not isinstance(task, Sort):
            yield task
        elif task.id in asked:
            at = asked[task.id].at
            yield evolve(task, at=at, until=at + (task.until - task.at))


def _due(outlook: Outlook, task: Task) -> date:
    """From which day on a sorting is asked for: one that was put off until tomorrow stays there,
    though by its fish it would be due at a round of today that is left.
    """
    told, tomorrow = outlook.room.unanswered.get(task.id), outlook.now.date() + timedelta(days=1)
    put_off = told is not None and told.date() == tomorrow
    stays = put_off and outlook.room.away_on(tomorrow) is None
    return max(task.at.date(), tomorrow) if stays else task.at.date()


def _counts(outlook: Outlook, courses: list[BroodCourse]) -> Iterator[Task]:
    """The next count of each brood that eats; what is not counted drifts.

    Many broods are spread over a week, so that they do not all fall on one morning; what was told
    and is not counted stands until it is, a few a day.
    """
    most = most_a_day("counted", len(courses))
    spread = min(most, -(-len(courses) // 7)) if len(courses) > most else most
    due: dict[str, tuple[BroodCourse, date]] = {}
    for course in sorted(courses, key=count_due):
        key = f"count/{course.brood.name}/{course.brood.counted_on}"
        told = outlook.room.unanswered.get(key)
        due[key] = course, count_due(course) if told is None else told.date()
    today, as_of = outlook.now.date(), outlook.room.as_of
    broods = [course.brood for course in courses]  # counted by what was noted, not by the file
    done = sum(b.counted_on == today and max(as_of, b.anchor_date) < today for b in broods)
    days = [(key, day) for key, (_, day) in due.items()]
    asked = asked_at(outlook, days, most, done=done, spread=spread)
    for key, (course, _) in due.items():
        feeding = asked.get(key)
        if feeding is None:
            continue
        yield Count(
            id=key,
            at=feeding.at,
            until=feeding.at + SHORT,
            subject=course.brood.name,
            other=course.brood.tank,
            fry=round(course.brood.alive(feeding.at.date())),
            why=(
                f"Last counted on {spoken_day(course.brood.counted_on, outlook.now.date())},"
                " and the plan now reckons with"
                f" {course.brood.alive(feeding.at.date()):.0f} fry of"
                f" {course.length_mm(feeding.at_h):.1f} mm. Measure a few too."
            ),
        )
