"""Tasks from the dates of the broods: count, sort, lid, move on, and when they can go.

Counts and sortings are asked for a few a day and once a day, so that nobody is nagged.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta

from cultures.journal.entries import Entry
from cultures.needs.dates import BroodDate, crowded_on, growth_dates, sale_date
from cultures.needs.need import BroodCourse, Round
from cultures.planning.outlook import Outlook, rounds_there
from cultures.planning.unknowns import efforts
from cultures.tasks.task import Lid, MoveOn, Sell, Sort, Task
from cultures.words.moments import month_day
from cultures.words.text import capital

_LAST = timedelta(minutes=30)
#: A brood that reached a length longer ago than this is taken to have been moved, or covered.
_LOOK_BACK = timedelta(days=45)
#: Who skipped to move a crowded brood is asked again after as long as for a count (common practice,
#: no source).
_CROWDED_AGAIN = timedelta(days=14)
_Form = type[Sort] | type[Lid] | type[MoveOn] | type[Sell]
_TASKS: dict[str, _Form] = {"sort": Sort, "lid": Lid, "move_on": MoveOn, "crowded": MoveOn}
_CAUTION: dict[_Form, str] = {
    Sort: "Net gently, into water of the same tank and warmth; never release fish outdoors.",
    MoveOn: "Match temperature and let them in slowly; never release fish outdoors.",
    Sell: "Pack them with air and warmth for the way; never release fish outdoors.",
    Lid: "Keep lamps and leads clear of splashes; let every lead hang in a drip loop.",
}


#: A tank that bears so many times the brood once it is grown is a grow-out tank already: a
#: crowded one of fry has six to ten times the centimetre of fish a litre that keepers of grown fish
#: go by (common practice, no source).
_ROOMY = 8.0


def brood_date_tasks(
    courses: Iterable[BroodCourse], there: Sequence[Round], start: date, end: date
) -> Iterator[Task]:
    """A task for each sorting, lid, moving and sale in [start, end), at rounds with the keeper.

    Each falls on the first round of its day at which the keeper is there, or the next such
    round; all but a sale is told again until it is noted, and stays on the day that was told while
    that is as likely as any. A brood that is crowded before its time moves on once, on the earlier
    day, and at once where it is crowded already, told or not; for its length alone it does not
    where it has the largest tank of the room already, or one that holds them grown; one whose move
    was told and noted is asked to move again only where it is crowded there, and one whose move was
    skipped is asked for again two weeks later. That fish can go is told once, also where the day is
    over.
    The id names the brood and the length, so a date that shifts is still the same task.

    Args:
        there: the rounds at which the keeper is there.
    """
    for course in courses:
        crowded, answer = _crowded_at(course, start), _answer(course)
        there_on = course.room.day_there
        moved = answer is not None and answer.event == "move"
        if crowded is not None:
            yield from _from_day(course, crowded, MoveOn, there_on(start), there)
        moving = crowded is not None
        since = max(start - _LOOK_BACK, min(start, course.first_food_day()))
        for each in growth_dates(course, since, end):
            form = _TASKS.get(each.what)
            if form is None or (form is MoveOn and moving):
                continue
            if each.what == "move_on" and (moved or _in_largest(course) or _holds_grown(course)):
                continue
            if each.what == "crowded" and each.day < start:
                continue  # it is so no longer, or nobody is to be asked
            moving = moving or form is MoveOn
            day = there_on(each.day)
            told = course.room.unanswered.get(_id(course.brood.key, each, form))
            stands = told and each.early <= told.date() == there_on(told.date()) <= each.late
            if told and (day < start or stands):
                day = max(start, told.date())
            if day >= start:
                yield from _from_day(course, each, form, day, there)
        sale = sale_date(course)
        if sale is not None and sale.day < end:
            day = there_on(max(sale.day, start))
            yield from _from_day(course, sale, Sell, day, there)


def _in_largest(course: BroodCourse) -> bool:
    """Whether no tank of the room is larger than that of a brood, and some are smaller."""
    litres = {tank.name: tank.litres for tank in course.room.tanks}
    mine = litres.get(course.brood.tank, 0.0)
    return mine == max(litres.values()) > min(litres.values())


def _holds_grown(course: BroodCourse) -> bool:
    """Whether the tank of a brood bears so many times as many when their fry age ends."""
    grown_mm = course.fry_class.values["fry_until_mm"]
    return _ROOMY * course.brood.count <= course.fry_class.crowded_count(grown_mm, _litres(course))


def _litres(course: BroodCourse) -> float:
    return course.room.tank(course.brood.tank).litres


def _roomier(course: BroodCourse) -> str:
    """The smallest larger tank without fry that holds them grown, or else the largest such tank,
    as a sentence; "" where none larger is free.
    """
    room, fry_class = course.room, course.fry_class
    taken = {brood.tank for brood in (*room.broods, *room.hoped)}
    free = sorted(
        (tank for tank in room.tanks if tank.name not in taken and tank.litres > _litres(course)
         and fry_class.warn_temperature(tank.temperature_c) is None),
        key=lambda tank: tank.litres,
    )  # fmt: skip
    grown_mm, count = fry_class.values["fry_until_mm"], course.brood.count
    holds = (t for t in free if count <= fry_class.crowded_count(grown_mm, t.litres))
    tank = next(holds, free[-1] if free else None)
    return f" {tank.name}, {tank.litres:g} L, is free." if tank is not None else ""


def _crowded_at(course: BroodCourse, day: date) -> BroodDate | None:
    """That it is crowded on a day; None where it is not, or it was skipped of late to move it."""
    answer = _answer(course)
    if answer is not None and answer.event == "skip":
        asked = answer.when.astimezone(course.room.timezone).date() + _CROWDED_AGAIN
        if day < asked:
            return None
    return crowded_on(course, day)


def _answer(course: BroodCourse) -> Entry | None:
    """What was noted of its last move that was told and answered; None of none."""
    first, answered = f"{MoveOn.what}/{course.brood.key}", course.room.answered
    last, key, number = None, first, 1
    while key in answered:
        last, number = answered[key], number + 1
        key = f"{first}#{number}"
    return last


def _from_day(
    course: BroodCourse, each: BroodDate, form: _Form, day: date, there: Sequence[Round]
) -> Iterator[Task]:
    """Its task at the first of some rounds from a day on; none where there is no such round."""
    feeding = next((f for f in there if f.at.date() >= day), None)
    if feeding is not None:
        yield _task(course, each, form, feeding)


def _id(brood: str, each: BroodDate, form: _Form) -> str:
    mark = f"/{each.length_mm:.0f}mm" if form is Sort and each.length_mm else ""
    return f"{form.what}/{brood}{mark}"


def _noted(each: BroodDate, form: _Form) -> str:
    """How it is noted, where nothing else shows that it was done."""
    word = form.answered_by[0] if form in (Lid, Sort) else ""
    return f" Asked for until it is noted: journal {word} '{each.brood}'." if word else ""


def _by_now(each: BroodDate, form: _Form, feeding: Round, length_mm: float) -> str:
    """How long those are by now that should have been moved at a length."""
    passed = each.length_mm is not None and round(length_mm) > round(each.length_mm)
    late = form is MoveOn and feeding.at.date() > each.day
    return f" They are {length_mm:.0f} mm by now." if late and passed else ""


def _task(course: BroodCourse, each: BroodDate, form: _Form, feeding: Round) -> Task:
    length = course.length_mm(feeding.at_h)
    free, by_now = (
        (_roomier(course) if form is MoveOn else ""),
        _by_now(each, form, feeding, length),
    )
    span = ""
    if each.early != each.late:
        early, late = map(month_day, (each.early, each.late))
        span = f" Fish of a class vary, so any day from {early} to {late} is likely; measure a few."
    return form(
        id=_id(course.brood.key, each, form),
        at=feeding.at,
        until=feeding.at + _LAST,
        subject=each.brood,
        other=each.tank,
        fry=round(course.brood.alive(feeding.at.date())),
        length_mm=round(length, 1),
        why=f"{capital(each.why)}{by_now}{free}{span}{_noted(each, form)}",
        caution=_CAUTION[form],
    )


#: A brood is to be counted again so long after it was counted last, or began to eat.
_COUNT_AGAIN = timedelta(days=14)


def count_due(course: BroodCourse) -> date:
    """From when on a brood is to be counted again."""
    brood, since = course.brood, course.brood.counted_on
    if brood.anchor != "length":  # such a one eats already, whenever it was measured
        since = max(since, course.first_food_day())
    return since + _COUNT_AGAIN


def most_a_day(what: str, broods: int) -> int:
    """How many broods are asked for on a day; as many as it takes to get through all of them.

    Args:
        what: ``counted`` or ``sorted``.
    """
    return max(round(efforts()[f"{what}_a_day"].value), -(-broods // _COUNT_AGAIN.days))


def asked_at(
    outlook: Outlook,
    due: Sequence[tuple[str, date]],
    most: int,
    *,
    done: int = 0,
    spread: int | None = None,
) -> dict[str, Round]:
    """The rounds at which things of one kind are asked for, by their ids.

    Each at the first round of its day, or of the next one that has room for it. Today is over for
    all once some were told for a round of it that is over, but not on the eve of days away. What
    was told goes before, what is due longest first: so who looks again, or on the next day, is
    asked for the same until it is noted.

    Args:
        due: ids, each with the day from which on it is asked for; of what was told for one day, or
            for days that are over, what comes first here goes first. done: how many were done
            today.
        spread: as many a day of those that were not asked for on a day before; None for ``most``.
    """
    told, today, found = outlook.room.unanswered, outlook.now.date(), dict[str, Round]()
    rounds = [*_rounds(outlook, [told[key] for key, _ in due if key in told])]
    taken, fresh = Counter({today: done}), Counter({today: done})
    places = {key: _place(outlook, key, day) for key, day in due}
    for key, day in sorted(due, key=lambda one: places[one[0]]):
        most_new = most if spread is None or key in told else spread
        for feeding in rounds:
            at = feeding.at.date()
            if at >= day and taken[at] < most and fresh[at] < most_new:
                taken[at] += 1
                fresh[at] += not _is_carried_over(outlook, key)
                found[key] = feeding
                break
    return found


def _is_carried_over(outlook: Outlook, key: str) -> bool:
    """Whether something was asked for on a day before, by its id."""
    room = outlook.room
    since = room.put_off.get(key, room.unanswered.get(key))
    return since is not None and since.date() < outlook.now.date()


def _place(outlook: Outlook, key: str, day: date) -> tuple[bool, bool, date]:
    """What was told comes first, and ahead of all what was asked for on a day before; it keeps its
    place when it is told again for a later day.
    """
    if key not in outlook.room.unanswered:
        return True, True, day
    return False, not _is_carried_over(outlook, key), max(day, outlook.now.date())


def _rounds(outlook: Outlook, told: Sequence[datetime]) -> Iterator[Round]:
    """A round of each day, the first at which the keeper is there."""
    today, last = outlook.now.date(), None
    leaves = outlook.room.away_on(today + timedelta(days=1)) is not None
    for feeding in rounds_there(outlook):
        day = feeding.at.date()
        asked = day == today and any(at.date() == day and at < feeding.at for at in told)
        if day != last and (leaves or not asked):
            yield feeding
        last = day
