"""Telling: what of a plan a person is shown as theirs to do, put into the record; and what of a
printed sheet or a written calendar the plan has changed since.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence, Set
from datetime import date, datetime, time, timedelta
from itertools import groupby
from pathlib import Path

from attrs import evolve, frozen

from cultures.foods.food import DRY
from cultures.journal.absences import read_away
from cultures.journal.entries import journal_path, read_journal
from cultures.needs.need import BroodNeed, rounds_between
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.portions import FELT, felt_rounds
from cultures.planning.preparation import as_sieved, draws_at
from cultures.record.bare import still_bare
from cultures.record.history import helper_left, remember
from cultures.record.present import Present, present, told_to_set
from cultures.record.store import (
    ANSWER,
    HELPERS_SHEET,
    Advised,
    Printed,
    Written,
    append_telling,
    as_told,
    read_record,
    record_path,
    same,
)
from cultures.room.room import Room, Told
from cultures.tasks.plan import Advice
from cultures.tasks.task import (
    HELPERS_WORK,
    Count,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Reminder,
    SetHatch,
    Soak,
    Sort,
    Split,
    Start,
    Task,
    Work,
)
from cultures.tasks.told import CALENDAR, WEIGHED, Bare, ToldTask
from cultures.words.tasks import wet_ml
from cultures.words.tools import Tools

_DAY = timedelta(days=1)
#: What a helper looks at: the printed sheet, and the page of that key.
HELPERS_PAGE = "helper's page"
_HELPERS = (HELPERS_SHEET, HELPERS_PAGE)


def tellings(outlook: Outlook, tasks: Iterable[Task], at: datetime) -> list[ToldTask]:
    """Tasks of an outlook as they are told at a moment; what is in hand was told before, or is told
    with what has ``begun``.
    """
    begun = {t.task.id: t for t in outlook.begun}
    in_hand = {t.task.id for t in outlook.room.in_hand} - begun.keys()
    paper = {t.task.id: t for t in outlook.room.by_paper}
    lines = dict(outlook.rows())
    last = max(lines, default=at) + _DAY
    rounds = [r.at for r in rounds_between(outlook.room, min([at, *lines]) - 2 * _DAY, last)]
    harvests = {
        t.id.partition("/")[2]: t.at for t in tasks_of(outlook) if isinstance(t, HarvestHatch)
    }
    kinds = {
        stage.culture.name: kind
        for kind, plan in outlook.feeding.worms.items()
        for stage in plan.stages
    }
    return [
        begun.get(task.id) or paper.get(task.id)
        or as_told(
            task, rounds, at,
            lines=[x for x in lines.get(task.at, ()) if x.amount > 0 or x.skipped_g]
            if isinstance(task, Feed) else (),
            draws=[as_sieved(draw, outlook.room.tools) for draw in draws_at(outlook, task.at)]
            if isinstance(task, Feed) else (),
            kind=kinds.get(task.other if isinstance(task, Start) else task.subject, ""),
            harvest_at=harvests.get(task.id.partition("/")[2])
            if isinstance(task, SetHatch) else None,
            fry=_of_broods(outlook, task, lambda need: need.count),
            needs_j=_of_broods(outlook, task, lambda need: need.energy_j),
        )
        for task in tasks
        if task.id not in in_hand
    ]  # fmt: skip


def _of_broods(
    outlook: Outlook, task: Task, value: Callable[[BroodNeed], float]
) -> dict[str, float] | None:
    """What a planned round is told for, brood by brood, in three digits."""
    feeding = next((r for r in outlook.feedings if r.at == task.at), None)
    if not isinstance(task, Feed) or feeding is None:
        return None
    return {need.brood.name: float(f"{value(need):.3g}") for need in outlook.needs[feeding.index]}


def record_telling(
    room_path: Path, known: Present, by: str, told: Sequence[ToldTask],
    covers: Callable[[ToldTask], bool], asked: Iterable[ToldTask] = (),
    printed: tuple[date, date] | None = None, advice: Sequence[Advice] | None = None,
    bare: Sequence[Bare] | None = None, shown: Iterable[Task] = (), written: Written | None = None,
    drafted: Sequence[Told] | None = None,
) -> None:  # fmt: skip
    """Records what is told for the first time, otherwise than before, or no longer.

    Args:
        told: all that is shown. covers: whether a task told before would have been shown, so
            that it is told no longer if it is not among these. asked: what was asked about.
            printed: first and last day of the sheet or calendar that tells it; written: what is
            known of the calendar. advice: all that is shown to help against what falls short;
            None of a screen that shows none. bare: all rounds ahead for which there is nothing,
            where they are others than it was told. shown: all tasks on a screen that somebody
            looked at, those in hand among them. drafted: the settings of the plan, of which those
            that are not told are recorded with what is, where they are others than they were; None
            of what is told without a plan.

    Raises:
        FileProblemError: the record cannot be written; nothing is recorded.
    """
    fresh, gone = _news(known, told, covers, by)
    seen = _first_seen(known, shown, by) - {t.task.id for t in fresh}
    questions = [t.task.id for t in asked]
    advised = None if advice is None else _advised(known, advice)
    redrafted = _redrafted(known, fresh, drafted)
    if printed and not fresh and not gone and _stands(known, printed, written):
        printed = written = None
    news = fresh or gone or seen or questions or printed or advised or bare is not None
    if news or _drops(redrafted):
        append_telling(
            record_path(room_path),
            known.now,
            by,
            fresh,
            gone,
            questions,
            printed,
            advised,
            bare,
            known.record.line,
            seen,
            written,
            drafted=redrafted,
        )
        remember(room_path, known.now)


def drafts(outlook: Outlook) -> tuple[Told, ...]:
    """The settings of an outlook that lie ahead, as far as the room looks; none where nauplii are
    short: next to what is missing they weigh nothing, and what was told could move for them.
    """
    if outlook.feeding.hatches.is_short:
        return ()
    tasks, until = tasks_of(outlook), outlook.now + timedelta(days=outlook.room.horizon_days)
    harvests = {t.id.partition("/")[2]: t.at for t in tasks if isinstance(t, HarvestHatch)}
    found = (
        Told(t.subject, t.at, harvests.get(t.id.partition("/")[2])) for t in tasks
        if isinstance(t, SetHatch) and outlook.now < t.at < until
    )  # fmt: skip
    return tuple(x for x in found if x.harvest_at is not None)


def _redrafted(
    known: Present, fresh: Sequence[ToldTask], drafted: Sequence[Told] | None
) -> Sequence[Told] | None:
    """What a plan has besides what is told; None where that is so by the record already.

    Args:
        fresh: what is told of it. drafted: the settings that it has.
    """
    if drafted is None:
        return None
    told = {(t.task.subject, t.task.at) for t in fresh} | told_to_set(known.record)
    before, now = (
        [x for x in of if (x.name, x.at) not in told] for of in (known.room.drafted, drafted)
    )
    return None if set(now) == set(before) else now


def _drops(redrafted: Sequence[Told] | None) -> bool:
    """Whether a draft is dropped: where nauplii became short, the next plan is one without it."""
    return redrafted is not None and not redrafted


def _stands(known: Present, days: tuple[date, date], written: Written | None) -> bool:
    """Whether a calendar that is written again is the one on record: nothing was told since."""
    return written is not None and any(
        (p.at, p.first, p.last, p.written) == (known.record.last, *days, written)
        for p in known.record.printed
    )


def _first_seen(known: Present, shown: Iterable[Task], by: str) -> set[str]:
    """Ids of what stands on a screen and only a calendar had told."""
    told = known.record.tasks
    return {t.id for t in shown if by != CALENDAR and t.id in told and told[t.id].by == CALENDAR}


def bare_needs(outlook: Outlook) -> list[BroodNeed]:
    """The needs of the planned rounds for which there is nothing at all, by time."""
    return [
        gap.need for gap in outlook.gaps
        if gap.feeding.fed and not gap.rounded and gap.short_j >= gap.need.energy_j > 0.0
    ]  # fmt: skip


def bare_news(known: Present, outlook: Outlook) -> list[Bare] | None:
    """The rounds that are shown for which there is nothing; None where that was told so."""
    before = still_bare(known.record, known.entries, known.fates, known.room)
    shown = [r.at for r in outlook.feedings if r.at < outlook.until]
    told = {(x.brood, at) for x in before for at in shown if x.first <= at <= x.last}
    now = {(need.brood.name, need.at) for need in bare_needs(outlook) if need.at < outlook.until}
    if now == told:
        return None
    return [
        Bare(known.now, brood, first, last)
        for brood in sorted({brood for brood, _ in now})
        for first, last in _in_a_row(shown, {at for name, at in now if name == brood})
    ]


def _in_a_row(
    rounds: Sequence[datetime], chosen: Set[datetime]
) -> Iterator[tuple[datetime, datetime]]:
    """The first and the last of those chosen that follow one another among all rounds."""
    for among, row in groupby(rounds, lambda at: at in chosen):
        if among:
            times = list(row)
            yield times[0], times[-1]


def _advised(known: Present, advice: Sequence[Advice]) -> Advised | None:
    """Advice as it is told; None where the same was told last."""
    before = known.record.advised
    if tuple(advice) == (before.advice if before is not None else ()):
        return None
    return Advised(known.now, max((e.line for e in known.entries), default=0), tuple(advice))


def as_if_told(
    known: Present, told: Sequence[ToldTask], covers: Callable[[ToldTask], bool],
    drafted: Sequence[Told] | None = None,
) -> Present | None:  # fmt: skip
    """What is once something is told; None where that is what was told already.

    A plan takes account of what was told. One that is put up to stand is planned anew in the light
    of its own telling, until it stays.

    Args:
        told, covers, drafted: as `record_telling` has them.
    """
    fresh, gone = _news(known, told, covers, by="")
    redrafted = _redrafted(known, fresh, drafted)
    if not fresh and not gone and not _drops(redrafted):
        return None
    tasks = {key: t for key, t in known.record.tasks.items() if key not in gone}
    for each in fresh:
        before = tasks.get(each.task.id)
        if before is None or before.may_change(known.now) or isinstance(each.task, Reminder):
            tasks[each.task.id] = each.after(before)
    record = evolve(known.record, tasks=tasks, last=known.now)
    if redrafted is not None:
        record = evolve(record, drafted=tuple(redrafted))
    return present(known.stated, known.entries, record, known.now)


def begun_since(before: Present, after: Present) -> tuple[ToldTask, ...]:
    """What is in hand by what was told in between, as it was told: a round whose first step is
    past is in hand once it is told.
    """
    known = {told.task.id for told in before.in_hand}
    return tuple(
        after.record.tasks[told.task.id] for told in after.in_hand if told.task.id not in known
    )


def keeps_told(outlook: Outlook) -> bool:
    """Whether a plan sets every hatch that was told as it was told."""
    sets = (t for t in tasks_of(outlook) if isinstance(t, SetHatch))
    planned = {(t.subject, t.at, t.cysts_g) for t in sets}
    return planned.issuperset((t.name, t.at, t.grams) for t in outlook.room.told if t.harvest_at)


def _news(
    found: Present, told: Sequence[ToldTask], covers: Callable[[ToldTask], bool], by: str
) -> tuple[list[ToldTask], list[str]]:
    """What is told for the first time or otherwise, and what is told no longer.

    What a helper has on paper only a screen of the helper's tells otherwise.
    """
    known, now = found.record.tasks, found.now
    told = [t for t in told if by in _HELPERS or not _on_paper(t, found)]
    stays = {t.task.id for t in (*told, *found.in_hand)}
    fresh = [
        t for t in told if t.task.id not in known or not same(known[t.task.id], t)
        or (by != ANSWER and (known[t.task.id].looked is not None or known[t.task.id].void))
    ]  # fmt: skip
    gone = [
        key for key, t in known.items()
        if (t.task.at > now or (t.round_at in found.reopened and t.may_change(now)))
        and key not in stays and key not in found.fates.answer and covers(t)
        and (by in _HELPERS or not _on_paper(t, found)) and not _is_put_off(t)
    ]  # fmt: skip
    return fresh, gone


def _is_put_off(told: ToldTask) -> bool:
    """Whether its time had come and it is only told for a later day: of these a few a day are
    asked for, and each until it is noted.
    """
    return told.came_at is not None and isinstance(told.task, Count | Sort)


def _on_paper(told: ToldTask, found: Present) -> bool:
    """Whether a helper does it, on a day away of which there is a helper's sheet."""
    day = told.due_at.date()
    return (
        isinstance(told.task, HELPERS_WORK)
        and any(p.by == HELPERS_SHEET and p.first <= day <= p.last for p in found.record.printed)
        and found.room.helped_at(told.due_at)
    )


#: No clock on paper is read closer. What a helper has on paper stands for less than a quarter, for
#: half a swipe or draw, and for a mark of the syringe: another sheet on the eve does more harm
#: (common practice, no source).
_MOVED = timedelta(minutes=5)
_HELPER_FELT, _HALF = 0.25, 0.5
#: Somebody looks within a week, and what is further away may change again.
_A_WEEK = timedelta(days=7)


@frozen(eq=False)
class Stale:
    """What of a sheet or calendar is to be done otherwise than it says, or no longer, or is missing
    on it.

    Attributes:
        rounds: of which a step or a dose is another. tasks: those that belong to no round.
        shown, ahead: what it shows of what lies ahead, and what is planned now, by id.
        void: it is a helper's, of an absence that was taken back.
    """

    printed: Printed
    rounds: tuple[datetime, ...]
    tasks: tuple[Task, ...]
    shown: Mapping[str, ToldTask]
    ahead: Mapping[str, ToldTask]
    void: bool = False


def stale_sheets(outlook: Outlook, present: Present, room_path: Path) -> list[Stale]:
    """The sheets and calendars whose days are not over and that no longer hold; of a calendar,
    which may reach far, for the week ahead. A helper's of an absence that was taken back is among
    them on the day of that, unless another was made since.

    Raises:
        FileProblemError: the record cannot be read.
    """
    found: list[Stale] = []
    lasting = [
        p for p in present.record.printed
        if p.last >= outlook.now.date() and _is_kept(p, room_path)
    ]  # fmt: skip
    planned = tellings(outlook, tasks_of(outlook), outlook.now) if lasting else []
    week = outlook.now + _A_WEEK
    for printed in lasting:
        if (taken_back := _taken_back(printed, outlook.room, room_path, outlook.now)) is not None:
            newer = any(p.by == HELPERS_SHEET and p.at > printed.at for p in lasting)
            if not newer and taken_back.astimezone(outlook.now.tzinfo).date() == outlook.now.date():
                found.append(Stale(printed, (), (), {}, {}, void=True))
            continue
        until = outlook.until if printed.written is None else min(week, outlook.until)
        record = read_record(record_path(room_path), outlook.room.timezone, printed.at)
        shown = _on_sheet(printed, record.tasks.values(), present, until)
        ahead = _with_its_helper(printed, outlook) or planned
        now = _on_sheet(printed, ahead, present, until)
        if printed.by == HELPERS_SHEET:
            shown, now = _of_helper(printed, shown, now, outlook.room)
            changed = _changed(shown, now, outlook.room.tools)
        else:
            changed = _changed(shown, now, there=_cultures(outlook, now.values()))
        if changed:
            rounds = sorted({t.round_at for t in changed if t.round_at is not None})
            others = (t.task for t in changed if t.round_at is None)
            tasks = tuple(sorted(others, key=lambda t: t.at))
            found.append(Stale(printed, tuple(rounds), tasks, shown, now))
    return found


def _taken_back(
    printed: Printed, room: Room, room_path: Path, now: datetime
) -> datetime | None:  # fmt: skip
    """When the absence that a helper's sheet was made for was taken back, or deleted in the room
    file; None where it was not, or a helper feeds on some of its days all the same.
    """
    if printed.by != HELPERS_SHEET or _helps(room, printed.first, printed.last):
        return None
    journal = read_journal(journal_path(room_path), room.timezone)
    undos = {e.subject: e.when for e in journal.takings_back() if e.when > printed.at}
    mine = [
        undos[f"{e.line}"] for e in journal.entries
        if e.event == "away" and f"{e.line}" in undos and e.when <= printed.at
        and (away := read_away(e.other)).helper and away.spans(printed.first, printed.last)
    ]  # fmt: skip
    if mine:
        return max(mine)
    return helper_left(room_path, (printed.first, printed.last), printed.at, now)


def _helps(room: Room, first: date, last: date) -> bool:
    """Whether a helper feeds at any round of some days."""
    rounds = rounds_between(room, room.local(first, time.min), room.local(last, time.max))
    return any(room.helped_at(feeding.at) for feeding in rounds)


def _of_helper(
    printed: Printed, shown: Mapping[str, ToldTask], now: Mapping[str, ToldTask], room: Room
) -> tuple[dict[str, ToldTask], dict[str, ToldTask]]:  # fmt: skip
    """What of the days of a helper's sheet the helper does: at its rounds, and at those at which
    there is a helper by now. At the other rounds of its first and last day the keeper feeds.
    """
    if not room.helped(printed.first, printed.last):
        room = room.with_helper(printed.first, printed.last)
    rounds = {t.round_at for t in shown.values() if t.by == HELPERS_SHEET}
    shown, now = (
        {key: t for key, t in found.items() if t.round_at in rounds or room.helped_at(t.due_at)}
        for found in (shown, now)
    )
    return shown, now


def _with_its_helper(printed: Printed, outlook: Outlook) -> Sequence[ToldTask]:
    """What a helper is told now, of days on which the room file has none; () where it has."""
    now = outlook.now
    first = max(printed.first, now.date())
    if printed.by != HELPERS_SHEET or outlook.room.helped(first, printed.last):
        return ()
    days = max(outlook.room.horizon_days, (printed.last - now.date()).days + 2)
    other = make_outlook(outlook.room.with_helper(first, printed.last), now=now, days=days)
    return tellings(other, tasks_of(other), now)


def calendars_again(present: Present, room_path: Path) -> list[str]:
    """What writes the calendars again that were written, are kept and reach past today, after
    ``livefood``.
    """
    return [
        p.written.again for p in present.record.printed
        if p.written is not None and p.written.again and p.last >= present.now.date()
        and _is_kept(p, room_path)
    ]  # fmt: skip


def _is_kept(printed: Printed, room_path: Path) -> bool:
    """Whether it is still kept up: a calendar whose notes were deleted is not."""
    return printed.written is None or (room_path.resolve().parent / printed.written.kept).exists()


def _on_sheet(
    printed: Printed, told: Iterable[ToldTask], present: Present, until: datetime
) -> dict[str, ToldTask]:
    """Work that lies ahead, of the days of a sheet or calendar, and that nobody has noted yet.

    A helper works by the helper's sheet, and as far as that goes by nothing else.

    Args:
        until: it is held against the plan so far ahead.
    """
    done = present.fates.answer.keys() | {t.task.id for t in present.in_hand}
    mine = [
        t for t in told
        if t.task.at > present.now and t.task.id not in done
        and printed.first <= t.due_at.date() <= printed.last
    ]  # fmt: skip
    if printed.by == HELPERS_SHEET:
        return {t.task.id: t for t in mine if isinstance(t.task, HELPERS_WORK)}
    kinds = printed.written.kinds if printed.written is not None else None
    return {
        t.task.id: t for t in mine
        if isinstance(t.task, Work | Soak) and (kinds is None or t.task.what in kinds)
        and t.task.at < until and not _on_paper(t, present)
    }  # fmt: skip


def _cultures(outlook: Outlook, ahead: Iterable[ToldTask]) -> set[str]:
    """The cultures that stand, or are to be made."""
    made = {t.task.other for t in ahead if isinstance(t.task, Split | Start)}
    return {culture.name for culture in outlook.room.cultures} | made


def _changed(
    shown: Mapping[str, ToldTask], now: Mapping[str, ToldTask], helpers: Tools | None = None,
    there: Container[str] = (),
) -> list[ToldTask]:  # fmt: skip
    """Tasks that are otherwise than shown, shown no longer asked for, or not shown.

    Args:
        helpers: with which a helper measures, to whom each step is told; None for the keeper, to
            whom a round is another where a brood would feel it. there: cultures that stand then.
    """
    others = [t for key, t in now.items() if key not in shown or _differs(shown[key], t, helpers)]
    others += [t for key, t in shown.items() if key not in now]
    if helpers is not None:
        return others
    felt = felt_rounds(shown.values(), now.values(), there)
    feeds = (t for t in {**shown, **now}.values() if isinstance(t.task, Feed) and t.task.at in felt)
    return [*(t for t in others if not isinstance(t.task, Feed | HarvestWorms | Soak)), *feeds]


def _differs(one: ToldTask, other: ToldTask, helpers: Tools | None = None) -> bool:
    if abs(one.task.at - other.task.at) > _MOVED or one.task.subject != other.task.subject:
        return True
    before, after = _amounts(one), _amounts(other)
    if before.keys() != after.keys():
        return True
    if helpers is None:
        return any(
            abs(before[key] - after[key]) > FELT * max(before[key], after[key]) for key in before
        )
    if isinstance(one.task, HarvestWorms):
        taken = [found.get("swipes", found.get("draws", 0.0)) for found in (before, after)]
        if abs(taken[0] - taken[1]) <= _HALF:
            return False
    return any(_matters(key, before[key], after[key], helpers) for key in before)


def _matters(key: object, one: float, other: float, tools: Tools) -> bool:
    """Whether a helper is to hear of an amount that is another than the sheet says."""
    off, most = abs(one - other), max(one, other)
    by_syringe = isinstance(key, tuple) and WEIGHED not in key
    mark = tools.mark_ml(most) if by_syringe and most > 0.0 else 0.0
    return off > max(mark, _HELPER_FELT * most - 1e-6) + 1e-9


#: What is said of a task, and is not measured: it follows from what is.
_SAID = frozenset({"spoons", "nauplii", "energy_j", "fed_nauplii", "left_over", "late_h"})


def _amounts(told: ToldTask) -> dict[object, float]:
    """What is measured for a task: of a feeding the doses, and what is taken from each jar."""
    found: dict[object, float] = {}
    if not isinstance(told.task, Feed):
        found.update((key, much) for key, much in told.task.amounts.items() if key not in _SAID)
    if isinstance(told.task, HarvestHatch) and told.task.nauplii < 1:
        found["poured out"] = 1.0
    if isinstance(told.task, HarvestWorms) and len(found) > 1:
        del found["mg"]  # they are taken in swipes, or in draws
    for x in told.lines:
        if x.amount > 0:
            water_ml = wet_ml(x, told.lines) if x.food == DRY else None
            # Another way is another dose, however much it is.
            way = (WEIGHED,) if x.food == DRY and water_ml is None else ()
            found[(x.tank, x.brood, x.food, *way)] = water_ml or x.amount
    for draw in told.draws:
        found[draw.vessel, draw.harvested] = draw.take_ml
    return found
