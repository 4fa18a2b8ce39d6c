"""What an entry changed in the plan, in a few plain lines."""

from __future__ import annotations

import re
import shlex
from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from attrs import evolve, frozen

from cli.progress import settled_outlook
from cli.screens.entry import amount_text, typed_numbers
from cli.screens.orders import order_words
from cli.screens.signs import says_mould, signs
from cli.screens.text import block, bullets, wrapped
from cultures.foods.kinds import WormKind
from cultures.journal.entries import Entry
from cultures.journal.events import DATED, LEAVING, counts_none
from cultures.needs.company import unequal_company
from cultures.needs.need import first_food_of
from cultures.planning.gaps import ANY
from cultures.planning.leaving import is_last_harvest, takes_nothing
from cultures.planning.notes import endangered, overdue_first_food, starving_broods
from cultures.planning.outlook import Outlook, beside
from cultures.planning.plan import plan_of
from cultures.planning.shortfalls import short_of
from cultures.planning.telling import record_telling, tellings
from cultures.planning.tin import poor_hatch
from cultures.record.book import Book, portions_of
from cultures.record.fates import Fate
from cultures.record.file_edits import degrees_of
from cultures.record.present import Present
from cultures.record.store import ANSWER
from cultures.replay.cultures import came_dead
from cultures.replay.doubts import MISCOUNT
from cultures.replay.hatches import CHECK_HATCH, TOO_OLD
from cultures.room.room import Brood, Room
from cultures.tasks.plan import OfCounting, OfStop, OfWarmth, OfWater, Plan, Remark
from cultures.tasks.task import (
    Buy,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Sort,
    Split,
    Start,
    Task,
    Wet,
)
from cultures.tasks.told import ToldTask
from cultures.words.grouped import names
from cultures.words.moments import (
    WEEKDAYS,
    clock_text,
    day_text,
    moments_in,
    spoken_day,
    when,
)
from cultures.words.quantities import food_words, in_units, many, number, percent
from cultures.words.tasks import brief_text, task_text
from cultures.words.text import capital, listed, same_but_figures
from cultures.words.tools import Tools

_SHOWN = 4
_AHEAD = timedelta(days=7)
_WHATS = (SetHatch, Split, Start, Retire, FirstFood, Wet, Buy, Sort)
_OF_A_DAY = (FirstFood, Wet, Sort)
_MOVED = timedelta(minutes=10)
#: Entries that say what came of a hatch.
_OF_HATCHES = ("hatched", "count", "failed")
#: A temperature for which another is noted so soon was a slip (common practice, no source).
_A_SLIP = timedelta(hours=1)
#: What is to be done so soon `today` has shown.
_SHOWN_AHEAD = timedelta(days=1)
#: Amounts within a remark; no days, clocks, names or temperatures, which tell by themselves.
_FIGURE = re.compile(
    r"(?<![\w.,:-])\d[\d,]*(?:\.\d+)?(?=%| (?:times|of it|mg|g|mL|L|mm)\b)", re.ASCII
)
#: Two remarks are the same but for figures this much apart at most.
_SAME_FIGURE = 0.1
#: Words by which a keeper notes that the power failed.
_POWER_CUT = re.compile(
    r"\b(power|current|electricity|mains)\b.*\b(cut|off|out|failed|failure|gone|outage)\b"
    r"|\b(blackout|outage)\b",
    re.IGNORECASE,
)
_MOULDY = (
    "Noted as failed, so nothing more is asked of it: leave it closed, take no starter of it, and"
    " bin it closed. If it is no mould: livefood journal undo."
)
#: What is to be set so soon is urgent.
_SOON = timedelta(hours=2)


@frozen
class _Change:
    """A line; and the id of a told task that it shows otherwise, or to be done no longer.

    What is new is told by a look: an entry may be taken back, and what it brought with it.
    """

    text: str
    retold: str = ""
    gone: str = ""


@frozen
class Effect:
    """What an entry changed.

    Attributes:
        text: a few lines. told: what they show otherwise than it was told. gone: ids of what they
            say is told no longer. changes: what of the plan is other, a line each.
    """

    text: str
    told: Sequence[ToldTask] = ()
    gone: frozenset[str] = frozenset()
    changes: Sequence[str] = ()

    def tell(self, room_path: Path, after: Present) -> None:
        """Puts into the record what was shown: who reads it does that, and no more the other.

        Raises:
            FileProblemError: the record cannot be written.
        """
        if self.told or self.gone:
            record_telling(room_path, after, ANSWER, self.told, lambda t: t.task.id in self.gone)


def effect_of(before: Present, after: Present, *, urgent: bool = False) -> Effect:
    """How what `today` shows next differs between two states of the room at one moment.

    Args:
        urgent: say too what is to be set soon and stays as it was: who reads of changes alone
            would take it for gone.
    """
    before, outlook = evolve(before, now=after.now), settled_outlook(after)
    was = beside(outlook, after.room, before.room) or settled_outlook(before)
    old, new = plan_of(was, remedies=False), plan_of(outlook, remedies=False)
    return effect_between(before, old, after, outlook, new, urgent=urgent)


def effect_between(
    before: Present, old: Plan, after: Present, outlook: Outlook, new: Plan, *,
    urgent: bool = False, most: int | None = _SHOWN,
) -> Effect:  # fmt: skip
    """The same of plans that are made already, both with what helps or both without.

    Args:
        old, new: the plans of both states. outlook: what the new one was made from. urgent: as
            `effect_of` has it. most: of the changes so many are shown; None for all.
    """
    moment, tools, units = after.now, after.room.tools, after.room.units
    old = _to_do(old, after)
    told = {key: t.task for key, t in before.record.tasks.items()}
    care = bullets(newly_unequal(before.room, after.room, moment), "  ! ")
    starving = [*starving_broods(after.room, moment)]
    overdue = [*overdue_first_food(outlook)]
    doubt, known = after.room.tin_doubt, {note.text for note in old.notes}
    # That a hatch gave nothing is answered at its entry, with what the plan makes of it.
    nothing = [*poor_hatch(outlook)] if doubt is not None and doubt.share <= 0.0 else []
    said = [*starving, *overdue, *nothing]
    changes = [
        *map(_Change, _unfed(old, new, units)),
        *map(_Change, _last_harvests(before.room, after.room, new)),
        *map(_Change, _danger(before.room, after.room, moment, starving)),
        *(_Change(in_units(text, units)) for text in overdue if text not in known),
        *_mistaken(before, after, new, tools),
        *_tasks(old, new, told, tools),
        *map(_Change, _shortfalls(old, new, units)),
        *map(
            _Change,
            _notes(old, new, said, _touched(before.room, after.room), units),
        ),
    ]
    since = [*_since_told(new, told, tools, changes)]
    still = [*_still(new, tools, [*changes, *since])] if urgent else []
    if not changes and not since:
        same = wrapped(_same(old, new, tools))
        return Effect("\n".join([*care, same, *bullets(still)]))
    title = "The plan changes:" if changes else "Nothing changes by this. Since it was told:"
    changes += since
    shown = changes[:most]
    lines = [change.text for change in shown]
    if len(changes) > len(shown):
        more = many(len(changes) - len(shown), "more change")
        lines.append(f"and {more}: see 'livefood plan'")
    lines += still
    retold = {change.retold for change in shown}
    return Effect(
        "\n".join([*care, block(title, bullets(lines))]),
        tellings(outlook, [t for t in new.tasks if t.id in retold], moment),
        frozenset(change.gone for change in shown if change.gone),
        lines,
    )


def _to_do(plan: Plan, found: Present) -> Plan:
    """A plan without what is noted as done: it is not gone from the plan, it is done."""
    of = found.fates.of
    return evolve(plan, tasks=tuple(t for t in plan.tasks if of.get(t.id) is not Fate.DONE))


def _same(old: Plan, new: Plan, tools: Tools) -> str:
    """In how far two plans in which nobody has to do anything else are the same."""
    moment, until = new.start, new.start + _AHEAD
    was, now = (
        {(x.at, x.brood, x.food): x.amount for x in plan.lines if moment <= x.at < until}
        for plan in (old, new)
    )
    if was.keys() != now.keys() or any(_differs(was[key], now[key]) for key in was):
        return (
            "What is to be set, split and bought in the coming week stays the same; doses change."
        )
    old_tasks, new_tasks = (
        {(t.id, task_text(t, tools)) for t in plan.tasks if moment < t.at <= until
         and isinstance(t, _WHATS)}
        for plan in (old, new)
    )  # fmt: skip
    if old_tasks != new_tasks:
        return "The plan for the coming week stays the same; amounts move by less than a twentieth."
    return "The plan for the coming week stays the same."


def _still(plan: Plan, tools: Tools, changes: Sequence[_Change]) -> Iterable[str]:
    """What is to be set soon, and is not among the changes."""
    for task in plan.tasks:
        if isinstance(task, SetHatch) and plan.start <= task.at <= plan.start + _SOON:
            text = _said(task, tools)
            if not any(text in change.text for change in changes):
                yield f"still to do: {text}"


def _mistaken(before: Present, after: Present, new: Plan, tools: Tools) -> Iterable[_Change]:
    """What was in hand and was told on nothing but an entry that is taken back; and what is in hand
    again, since days away are taken back for which it was not to be done.
    """
    for told in after.in_hand:
        if told.task.id in before.record.withdrawn - after.record.withdrawn:
            yield _Change(f"still to do: {_said(told.task, tools)}")
    planned = {t.id for t in new.tasks}
    for told in before.in_hand:
        if told.task.id in after.record.withdrawn - before.record.withdrawn - planned:
            text = f"no longer: {_said(told.task, tools)}"
            if isinstance(told.task, SetHatch):
                name = shlex.quote(told.task.subject)
                text += f"; if it is set: livefood journal set {name} {told.task.cysts_g:g} g"
            yield _Change(text)


def _tasks(old: Plan, new: Plan, told: Mapping[str, Task], tools: Tools) -> Iterable[_Change]:
    """The tasks of a week that are new, otherwise or gone; what is in hand is neither.

    What reads the same in both plans stays, whatever it is called in them. How it was, and that it
    is gone, is said of what was told and of the coming day, which an earlier answer may have named.
    """
    was, now = _of_week(old), _of_week(new)
    said, says = ({key: _said(t, tools) for key, t in tasks.items()} for tasks in (was, now))
    stays = set(said.values()) & set(says.values())
    held = {t.id: t for t in old.tasks if said.get(t.id) not in stays}
    # What is to be done this minute is done, not gone; nor is what slid to a round of today.
    slid = {t.id for t in new.tasks if isinstance(t, _OF_A_DAY)} - now.keys()
    left = [k for k, t in was.items() if said[k] not in stays and t.at > new.start
            and k not in slid and (k not in now or says[k] in stays)]  # fmt: skip
    gone = {_said(told.get(key, was[key]), tools): key for key in left}
    soon = new.start + _SHOWN_AHEAD
    found = list[tuple[datetime, _Change]]()
    for key, task in now.items():
        text = says[key]
        if text in stays or text in gone:
            continue  # what changed since it was told, the entry has no part in
        before = told.get(key, held.get(key))
        how = "" if before is None else _otherwise(before, task, tools)
        known = key if key in told else ""
        if before is None or (how and key not in held):
            found.append((task.at, _Change(f"new: {text}", retold=known)))
        elif how:
            shown = known or min(before.at, task.at) <= soon
            found.append((task.at, _Change(f"{text} ({how})" if shown else text, retold=known)))
    for text, key in gone.items():
        if (key in told or was[key].at <= soon) and text not in says.values():
            # A purchase may be ticked off on a phone too, by the one who noted it here.
            known = key if key in told and not isinstance(was[key], Buy) else ""
            found.append((was[key].at, _Change(f"no longer: {text}", gone=known)))
    return [change for _, change in sorted(found, key=lambda each: each[0])]


def _of_week(plan: Plan) -> dict[str, Task]:
    """What is to be set, split, started, bought, or begins, in the coming week."""
    moment = plan.start
    return {
        t.id: t
        for t in plan.tasks
        if isinstance(t, _WHATS)
        and moment <= t.at <= moment + _AHEAD
        # A day's own tasks only slide to its next round.
        and not (isinstance(t, _OF_A_DAY) and t.at.date() == moment.date())
    }


def _said(task: Task, tools: Tools) -> str:
    return f"{when(task.at, tools.units)} {task_text(task, tools)}"


def _since_told(
    new: Plan, told: Mapping[str, Task], tools: Tools, changes: Iterable[_Change]
) -> Iterable[_Change]:
    """What of the coming day is not as it was told, without the entry: time has passed since.

    Of later days the next `today`, or the calendar, tells what is new.
    """
    known = {change.retold for change in changes}
    for task in new.tasks:
        before = told.get(task.id)
        if before is None or task.id in known or not isinstance(task, SetHatch | Split | Start):
            continue
        ahead = new.start < min(before.at, task.at) and before.at <= new.start + _SHOWN_AHEAD
        if ahead and (how := _otherwise(before, task, tools)):
            yield _Change(f"{_said(task, tools)} ({how})", retold=task.id)


def _otherwise(before: Task, task: Task, tools: Tools) -> str:
    """In how far a task is not as it was; "" where it is."""
    was, old = task_text(before, tools), before.amounts
    if abs(before.at - task.at) > _MOVED:
        units = tools.units
        return f"was {when(before.at, units)} {moments_in(before.subject, units)}"
    if before.subject != task.subject:
        return f"in place of: {was}"
    much = any(_differs(old.get(key, 0.0), value) for key, value in task.amounts.items())
    return f"was: {was}" if much and was != task_text(task, tools) else ""


def _differs(a: float, b: float) -> bool:
    return abs(a - b) > 0.05 * max(abs(a), abs(b))


def _shortfalls(old: Plan, new: Plan, units: str) -> Iterable[str]:
    """When anybody first goes short and how much is missing in all, where either changes; but for
    those for whom a helper has nothing, which is said of itself.
    """
    was, now = (
        short_of(evolve(p, shortfalls=tuple(s for s in p.shortfalls if not takes_nothing(s))))
        for p in (old, new)
    )
    if now is None:
        if was is not None:
            yield f"no longer short: {_foods(was.every)}"
        return
    moved, share = was is None or was.at != now.at, percent(now.share)
    if was is not None and not moved and share == percent(was.share):
        return
    at, until = when(now.at, units), day_text(new.end, units)
    earlier = f" (was {when(was.at, units)})" if was is not None and moved else ""
    before = (
        f" (was {percent(was.share)})" if was is not None and share != percent(was.share) else ""
    )
    yield (
        f"{_foods(now.foods)} will be short from {at}{earlier}: {share} of all food until"
        f" {until}{before}"
    )


def _unfed(old: Plan, new: Plan, units: str) -> Iterable[str]:
    """At which rounds nobody is there to feed any more, or whoever is has nothing for some."""
    was = {(s.at, s.until, s.tanks) for s in old.shortfalls if takes_nothing(s)}
    was |= {(s.at, s.until, ()) for s in old.shortfalls if s.limit == "away"}
    for s in new.shortfalls:
        span = " to ".join(dict.fromkeys(when(at, units) for at in (s.at, s.until)))
        rounds = many(s.rounds, "round")
        if s.limit == "away" and (s.at, s.until, ()) not in was:
            tanks = many(len(s.tanks), "tank")
            yield f"nobody feeds {tanks} for {rounds}, {span}: see 'livefood shortfalls'"
        elif takes_nothing(s) and (s.at, s.until, s.tanks) not in was:
            starve = ""
            if s.starves_at is not None:
                day = day_text(s.starves_at, units)
                starve = f" The fry in {names(s.starving)} would starve from {day}."
            yield (
                f"nothing, or hardly anything, for {names(s.tanks)} for {rounds}, {span}:"
                f" {s.cause}.{starve}"
            )


def _last_harvests(before: Room, after: Room, new: Plan) -> Iterable[str]:
    """What a keeper who is newly said to be away draws off for the helper on that morning."""
    days = {a.start for a in after.away if a not in before.away and a.helper}
    for task in new.tasks:
        mine = isinstance(task, HarvestHatch) and task.nauplii >= 1 and task.at.date() in days
        if mine and is_last_harvest(after, task):
            eve = WEEKDAYS[task.at.weekday() - 1].lower()
            yield (
                f"{when(task.at, after.units)}, before you leave: harvest {task.subject}, from"
                f" which the helper feeds. If you are gone by then, take this back (livefood"
                f" journal undo) and say since when, as in 'away {eve} 20:00 to ...'"
            )


def _foods(foods: Sequence[str]) -> str:
    return listed(["food" if food == ANY else food_words(food) for food in foods])


def newly_unequal(before: Room, after: Room, moment: datetime) -> Iterable[str]:
    """Broods that are put together with much larger ones, and were not before."""
    was = {(each.brood, name) for each in unequal_company(before, moment) for name in each.larger}
    for each in unequal_company(after, moment):
        if not was.issuperset((each.brood, name) for name in each.larger):
            yield in_units(each.text, after.units)


def _danger(
    before: Room, after: Room, moment: datetime, starving: Iterable[str]
) -> Iterable[str]:  # fmt: skip
    """What is said of ``starving`` broods, where some of them were not in danger before."""
    was, now = ({c.brood.name for c in endangered(r, moment)} for r in (before, after))
    if now - was:
        yield from (in_units(text, after.units) for text in starving)


def _touched(before: Room, after: Room) -> Container[str] | None:
    """The tanks of which an entry tells anything: broods, or how warm they are; None where it is
    about something else, which may change what any tank is fed.
    """
    tanks = {*before.tanks} ^ {*after.tanks}
    was, now = ({brood.name: brood for brood in room.every_brood} for room in (before, after))
    broods = [
        brood for name in was.keys() | now.keys() if was.get(name) != now.get(name)
        for brood in (was.get(name), now.get(name)) if brood is not None
    ]  # fmt: skip
    return {*(tank.name for tank in tanks), *(brood.tank for brood in broods)} or None


def _notes(
    old: Plan, new: Plan, said: Container[str], touched: Container[str] | None, units: str
) -> Iterable[str]:
    """Remarks that are new but for those that are ``said`` and that counts are due; of a food that
    stops how much there is of it is no news, nor is a figure that moved by a tenth or less, nor the
    water of a tank that is none of those ``touched``.
    """
    known = [*map(_without_amounts, old.notes)]
    for note in new.notes:
        text = _without_amounts(note)
        untouched = isinstance(note, OfWater) and touched is not None and note.tank not in touched
        if untouched or isinstance(note, OfCounting) or note.text in said:
            continue
        if isinstance(note, OfWarmth) and _is_said_of_more(note, old.notes):
            continue
        if not any(same_but_figures(text, before, _FIGURE, _SAME_FIGURE) for before in known):
            yield in_units(note.text, units)


def _is_said_of_more(note: OfWarmth, before: Iterable[Remark]) -> bool:
    """Whether a remark about how warm tanks are was the same of more tanks, or others."""
    return any(
        isinstance(was, OfWarmth) and was.says == note.says and len(was.tanks) > len(note.tanks)
        for was in before
    )


def _without_amounts(note: Remark) -> str:
    """A remark; of a food that stops, which and from when to when."""
    if not isinstance(note, OfStop):
        return note.text
    return note.text.replace(note.stop.grows, "", 1).partition(" (")[0]


def related(entry: Entry, before: Room | None, after: Present, book: Book) -> str:
    """What an entry does to what was told or known: another amount, day, or earlier entry.

    Args:
        before: the room without it, where that is known.
    """
    told, text, kind = after.fates.told.get(entry), "", after.room.kinds.get(entry.subject)
    if _is_older(entry, book.room):
        text = (
            f"It changes nothing: the file is newer (as_of = {book.room.as_of}), and"
            f" {entry.subject} is as it says there."
        )
    elif entry.event == "bought" and isinstance(kind, WormKind):
        text = _to_start(entry, kind, after, book)
    elif entry.event in ("bought", "ordered"):
        text = _of_orders(entry, before, after.room)
    elif said := nothing_hatched(entry, after):
        text = said
    elif entry.event == "failed" and says_mould(entry.note):
        text = _MOULDY
    elif entry.event == "failed" and before is not None:
        text = _dead_when_it_came(entry, before, book)
    elif entry.event == "skip" and told is not None and isinstance(told.task, Start):
        text = _another_day(entry.subject, book)
    elif told is not None and entry.event == "skip" and entry.subject == told.task.subject:
        text = _told_besides(told, after, book)
    elif entry.event == "skip" and (said := _if_larvae(entry, after)):
        text = said
    elif entry.event in DATED and before is not None:
        text = _first_food(entry, before, after)
    elif entry.event == "temperature" and before is not None:
        text = _until_warm(entry, before, after, book)
    elif entry.event == "note" and _POWER_CUT.search(entry.note):
        text = _after_a_cut(after.room)
    elif entry.event == "note":
        of = (c for c in after.room.cultures if c.name == entry.subject)
        text = next((signs(culture, entry.note) for culture in of), "")
    elif entry.event == "merge":
        text = _as_one(entry, after)
    elif entry.event == "move" and entry.amount is not None and before is not None:
        text = _called(entry, before, after)
    elif (entry.event in LEAVING or counts_none(entry)) and entry.other != "all" and before:
        text = _left(entry, before, after)
    elif entry.event == "count" and entry.unit == "fry" and before is not None:
        text = _far_fewer(entry, before, after)
    elif told is not None and entry in after.fates.replaced:
        text = _replaces(after.fates.replaced[entry], told, after)
    elif told is not None and entry.event in ("harvest", "set") and entry.amount is not None:
        asked = _asked(told, entry, after.room)
        if asked is not None and _differs(asked, entry.amount):
            as_asked = amount_text(entry._replace(amount=asked), after.room)
            text = f"You were told {as_asked}; what you noted counts."
    return f"{wrapped(text, 2)}\n" if text else ""


def _brood(name: str, room: Room) -> Brood | None:
    """A brood of a room, hoped for or there; None where there is none of that name."""
    return next((b for b in room.every_brood if b.name == name), None)


def _as_one(entry: Entry, after: Present) -> str:
    """What is taken for true of a brood that another is one with from now on."""
    one = _brood(entry.other, after.room)
    if one is None:
        return ""
    fry = one.alive(after.now.date())
    return (
        f"{one.name} holds both, about {fry:,.0f} fry, as old and as large as it was: the younger"
        " or smaller of the two, so that its food fits all mouths."
    )


def _left(entry: Entry, before: Room, after: Present) -> str:
    """How many of a brood are left by now."""
    was, now = (_brood(entry.subject, room) for room in (before, after.room))
    if was is not None and now is None:
        return f"None of {entry.subject} are left."
    if now is None or entry.event not in LEAVING:
        return ""
    alive = now.alive(after.now.astimezone(after.room.timezone).date())
    return f"About {alive:,.0f} of {entry.subject} are left."


def _far_fewer(entry: Entry, before: Room, after: Present) -> str:
    """That far fewer fry were counted than were reckoned to live; "" where it is a usual count."""
    was = next((b for b in before.broods if b.name == entry.subject), None)
    if was is None or entry.amount is None or entry.when < after.now - _SHOWN_AHEAD:
        return ""
    alive = was.alive(after.now.astimezone(after.room.timezone).date())
    if entry.amount >= alive / MISCOUNT:
        return ""
    return (
        f"About {alive:,.0f} were reckoned to live; from now on {entry.amount:,.0f} are fed. If"
        f" some were not seen: livefood journal undo --line {entry.line}"
    )


def _after_a_cut(room: Room) -> str:
    """How what a power cut did to bottles and room is noted, of which a note alone says nothing."""
    hatches = " ".join(shlex.quote(h.vessel) for h in room.hatches)
    looked = (
        f" Without air nauplii suffocate: look whether they swim, else livefood journal failed"
        f" {shlex.quote(room.hatches[0].vessel)}."
        if hatches else ""
    )  # fmt: skip
    return (
        "A note changes no plan. Note how cold it got, and from when, and the same once it is warm"
        f" again: livefood journal temperature room {f'{hatches} ' if hatches else ''}DEGREES --at"
        f" TIME.{looked} All of it: livefood help power cut"
    )


def _told_besides(skipped: ToldTask, after: Present, book: Book) -> str:
    """What was told for a round that was skipped and is no part of its feeding, or of a culture
    besides its harvest: who did not feed may have set a hatch all the same, and who took no worms
    may have split.
    """
    due, at = after.due(), skipped.task.at
    mine = [t for t in due if at in (t.task.at, t.due_at)]
    if isinstance(skipped.task, HarvestWorms):
        culture = skipped.task.subject
        mine = [t for t in mine
                if isinstance(t.task, Split | Retire) and t.task.subject == culture]  # fmt: skip
    elif not isinstance(skipped.task, Feed):
        return ""
    if not mine:
        return ""
    numbers, tools = book.numbering(due).of, after.room.tools
    typed = typed_numbers(after.room, [numbers[t.task.id] for t in mine], numbers.values())
    over = all(t.over_at <= after.now for t in mine)
    said = "and taken as done" if over else "and still to be done"
    return (
        f"Told for {clock_text(at, tools.units)} too, {said}:"
        f" {listed([brief_text(t.task, tools) for t in mine])}. Not done"
        f" either: livefood journal skip {typed}."
    )


def _of_orders(entry: Entry, before: Room | None, room: Room) -> str:
    """What of a stock is on its way after some was ordered or came."""
    had = before is not None and any(o.item == entry.subject for o in before.orders)
    mine = [order for order in room.orders if order.item == entry.subject]
    if entry.event == "bought":
        if not had:
            return ""
        if not mine:
            return "Nothing more of it is on order."
        return f"Still on order: {order_words(mine, room)}."
    if not entry.amount:
        return ""
    counted = "" if entry.other else " The plan counts on it once it is noted as bought."
    also = f" In all on order: {order_words(mine, room)}." if mine[1:] else ""
    noted = f"Once it is there: livefood journal bought {entry.subject} {entry.amount:g} g"
    return f"{noted}.{counted}{also}"


def _replaces(before: Entry, told: ToldTask, after: Present) -> str:
    """Which line an entry takes the place of: a tick, or another amount that was noted."""
    asked = _asked(told, before, after.room)
    as_told = asked is None or before.amount is None or not _differs(asked, before.amount)
    what = "ticked off as told" if as_told else amount_text(before, after.room)
    return f"It replaces line {before.line}, {what}."


def _until_warm(entry: Entry, before: Room, after: Present, book: Book) -> str:
    """How to note that a temperature ended, where it was not so before and was not noted yet."""
    name, rooms = entry.subject, (before, after.room, book.room)
    was, now, stated = (degrees_of(room).get(name) for room in rooms)
    earlier = [e for e in after.entries if e.event == "temperature" and e.subject == name
               and e.line < entry.line]  # fmt: skip
    lasting = [e.amount for e in earlier if entry.when - e.when >= _A_SLIP]
    if len(lasting) < len(earlier):  # one that another was noted for at once was a slip
        was = lasting[-1] if lasting else stated
    if was is None or was == now or entry.amount in (stated, *(e.amount for e in earlier)):
        return ""
    return in_units(
        f"It counts from then on. Once it is {was:.3g} °C again: livefood journal temperature"
        f" {shlex.quote(name)} {was:.3g} °C --at TIME",
        after.room.units,
    )


def _is_older(entry: Entry, stated: Room) -> bool:
    """Whether an entry is about a brood that the file states, and of before it was true."""
    of_brood = entry.subject in {brood.name for brood in stated.broods} and entry.event != "length"
    before = stated.as_of_stated and entry.when < stated.true_at
    return of_brood and before and entry.event != "note"


def _called(entry: Entry, before: Room, after: Present) -> str:
    """What a part of a brood is called that moved by itself."""
    known = {b.name for b in before.every_brood}
    new = [b.name for b in after.room.every_brood if b.name not in known and b.tank == entry.other]
    return f"Those in {entry.other} are called {new[0]}." if new else ""


def _to_start(entry: Entry, kind: WormKind, after: Present, book: Book) -> str:
    """How to note that a bought starter was set up, which is not asked for by itself."""
    if any(culture.kind.name == kind.name for culture in after.room.coming):
        return ""  # as the file has it; then it is
    told = [
        t.task.other for key, t in after.record.tasks.items()
        if isinstance(t.task, Start) and t.kind == kind.name and key not in after.fates.answer
    ]  # fmt: skip
    label = next(filter(None, told), "") or book.free_label(kind, after.room)
    return (
        f"Once it is on its medium: livefood journal start {label} {kind.name}"
        f" --starter '{amount_text(entry, after.room)}'"
    )


def _dead_when_it_came(entry: Entry, before: Room, book: Book) -> str:
    """That a culture which failed so soon teaches no crash, and how to plan the next one."""
    culture = next((c for c in before.cultures if c.name == entry.subject), None)
    day = entry.when.astimezone(book.room.timezone).date()
    if culture is None or not came_dead(culture, day):
        return ""
    told = (
        f"{entry.subject} was begun so lately that it is taken as dead when it came, which is no"
        " crash that the plan learns from."
    )
    another = _another_day(entry.subject, book) or (
        "When another one is on its medium: livefood journal start"
        f" {book.free_label(culture.kind, before)} {culture.kind.name}"
    )
    return f"{told} {another}"


def _another_day(name: str, book: Book) -> str:
    """How to say that a culture which the file plans comes later; "" of another culture."""
    if all(culture.name != name for culture in book.room.coming):
        return ""
    return f"If another one comes: livefood change culture {shlex.quote(name)} planned=DAY"


def _first_food(entry: Entry, before: Room, after: Present) -> str:
    """The new day of first food of a brood that was known, and the old one."""
    now = after.now
    was, new = (
        first_food_of(room, brood, now.date())
        if (brood := _brood(entry.subject, room)) is not None else None
        for room in (before, after.room)
    )  # fmt: skip
    if was is None or was == new:
        return ""
    then = "No day of first food" if new is None else f"First food on {spoken_day(new, now)}"
    return in_units(f"{then} (was {spoken_day(was, now)}).", after.room.units)


def _if_larvae(entry: Entry, after: Present) -> str:
    """What to note where a tank was not fed since the fry in it do not swim yet, on the day of
    their first food or while they have had nothing; "" of any other.
    """
    room, today = after.room, after.now.date()
    mine = [
        b.name for b in room.broods
        if b.tank == entry.subject and b.anchor not in ("length", "free_swimming")
        and (b.fed.never or first_food_of(room, b, today) == today)
    ]  # fmt: skip
    if not mine:
        return ""
    named = listed([f"livefood journal not_swimming {shlex.quote(name)}" for name in mine])
    hatched = f"livefood journal eggs_hatched {shlex.quote(mine[0])} --at TIME"
    return (
        f"If they do not swim yet: {named}; if their eggs hatched on another day than was reckoned:"
        f" {hatched}. Else they go hungry from now on."
    )


def nothing_hatched(entry: Entry, after: Present) -> str:
    """What to look at where nothing came of a hatch that had its time; "" of another entry."""
    learned = after.learned
    if all(each.line != entry.line for each in learned.replayed.seen.empty):
        return ""
    level = next(e for e in learned.estimates if e.quantity == "nauplii_per_gram")
    return (
        f"Nothing came of this hatch: {CHECK_HATCH} The plan still counts on"
        f" {number(level.used, 2)} nauplii a gram, and what it sets is as much as that asks for:"
        " have other food ready until a hatch is counted."
    )


def tin_doubted(entry: Entry, after: Present) -> str:
    """That a hatch is the last of several poor ones, which put the tin in doubt; "" where not."""
    doubt = after.room.tin_doubt
    if doubt is None or not doubt.serious or entry.event not in _OF_HATCHES:
        return ""
    seen, last = after.learned.replayed.seen, doubt.hatches[-1]
    at_h = {row.at_h for row in seen.empty if row.line == entry.line}
    at_h |= {row.at_h for row in seen.hatches if row.line == entry.line}
    if entry.subject != last.vessel or last.at_h not in at_h:
        return ""
    return (
        f"The last {len(doubt.hatches)} hatches gave nothing, or far too little: the tin of cysts"
        " is in doubt; see 'livefood today'."
    )


def unusual_hatch(entry: Entry, after: Present) -> str:
    """How a count far from what cysts usually give is kept out of what the plan learns, or that it
    is, since the hatch stood too long.
    """
    if entry.event == "hatched" and stood_too_long(entry, after):
        return f"{wrapped(f'{capital(TOO_OLD)}.', 2)}\n"
    how = (
        f"keep it out of what the plan learns: journal undo --line {entry.line}, then note it again"
        " with --apart."
    )
    said = unusual_yield(entry, after, how)
    return f"{wrapped(said, 2)}\n" if said else ""


def stood_too_long(entry: Entry, after: Present) -> bool:
    """Whether a count teaches nothing, as its hatch stood too long past its best."""
    aside = after.learned.replayed.seen.set_aside
    return any(line == entry.line and why == TOO_OLD for line, _, why in aside)


def unusual_yield(entry: Entry, after: Present, apart: str) -> str:
    """That a count is far from what the tin gives, or, before that is known, from what cysts
    usually do, and what to do then; "" where it is not.

    Args:
        apart: how it is kept out of what the plan learns.
    """
    if entry.event != "hatched":
        return ""
    seen, kind = after.learned.replayed.seen.hatches, after.room.hatch_kind
    found = next((s for s in seen if s.line == entry.line), None)
    if found is None or found.hours * found.rate < kind.values["t90_h"]:
        return ""
    of_tin = next(e for e in after.learned.estimates if e.quantity == "nauplii_per_gram")
    usual = of_tin.of_one(kind.values["yield_spread"]) if of_tin.learned else of_tin.prior[1:]
    if usual[0] <= found.per_gram <= usual[1]:
        return ""
    given, low, high = (number(value, 3) for value in (found.per_gram, *usual))
    whose = " of this tin" if of_tin.learned else ""
    return (
        f"That is {given} a gram of cysts; {low} to {high} are usual{whose}. If something went"
        f" wrong with this hatch (no air, no heat, or it stood too long), {apart}"
    )


def _asked(told: ToldTask, entry: Entry, room: Room) -> float | None:
    """The amount that was told, in the unit of an entry."""
    task, kind = told.task, room.kinds.get(told.kind)
    if isinstance(task, SetHatch):
        return task.cysts_g
    if not isinstance(task, HarvestWorms) or not isinstance(kind, WormKind):
        return None
    if entry.unit in ("swipes", "draws"):
        return portions_of(task, kind)
    return task.mg if entry.unit == "mg" else None
