"""What the commands of the journal print besides a confirmation."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, NoReturn

from cli.screens.entry import NUMBER_WORD, TANK_WORD, besides, line_of, number_words, typed_tank
from cli.screens.text import TIED, block, bullets, joined, wrapped
from cultures.errors import RangeError, closest
from cultures.journal.entries import Entry, Journal
from cultures.record.book import Book, names_of
from cultures.tasks.task import ASKS, Arrival, Buy, Split, Start, Task
from cultures.tasks.told import ToldTask
from cultures.words.grouped import group_text, together
from cultures.words.moments import when
from cultures.words.tasks import brief_text

#: Numbers of the list from one to another.
_SEVERAL = re.compile(r"(\d{1,4})-(\d{1,4})", re.ASCII)
#: An answer so old is not what is meant by a name.
_LATELY = timedelta(days=1)


def reminders_text(book: Book) -> str:
    """What is asked for until it is noted, with the word that notes it; "" for nothing."""
    found = [t.task for t in book.present(book.now, pending=True).reminders()]
    groups = together(found, lambda t: t.id if isinstance(t, Buy | Arrival) else t.what)
    return block("Not ticked off, asked for until it is noted:", bullets(
        f"{group_text(group, book.room.tools)}: livefood journal {_noted_by(group)}"
        for group in groups
    ))  # fmt: skip


def _noted_by(tasks: Sequence[Task]) -> str:
    """The words that note a reminder, or each of several of a kind."""
    first = tasks[0]
    if isinstance(first, Buy | Arrival):
        return f"bought {first.item} {first.grams:g} g"
    name = "BROOD" if tasks[1:] else shlex.quote(first.subject).replace(" ", TIED)
    word = next(iter(first.answered_by))
    return " ".join(filter(None, (word, name, ASKS.get(word))))


def due_text(due: Sequence[ToldTask], book: Book, numbers: Mapping[str, int]) -> str:
    """Told tasks that are not noted, numbered: over and taken as done, or still to be done.

    What only reminds has no number, and stands behind them.

    Args:
        numbers: of all that is due, by id.
    """
    reminders = reminders_text(book)
    if not due and reminders:
        return joined(["Nothing is waiting to be noted as it was told.", reminders])
    if not due:
        return wrapped(
            "Nothing is waiting to be noted: it is all noted, or nobody has looked at"
            " 'livefood today' yet."
        )
    parts, state = [], book.state(book.now)
    for title, over in (
        ("Told, over, and taken as done:", True), ("Told, and not noted yet:", False),
    ):  # fmt: skip
        mine = [(numbers[t.task.id], t.task) for t in due if (t.over_at <= book.now) == over]
        parts.append(block(title, [
            wrapped(f"{when(t.at, book.room.units)}  {brief_text(t, book.room.tools)}"
                    f"{besides(state, t.id)}", 6, f"  {i:>2}")
            for i, t in mine
        ]))  # fmt: skip
    ahead = all(t.task.at > book.now for t in due)
    skip = f"livefood journal skip {number_words(book.room, [numbers[t.task.id] for t in due])}"
    parts.append(wrapped(
        f"Done already: livefood journal done NUMBER. Not to be done: {skip}."
        if ahead else f"All done as told: livefood journal done. One not done: {skip}."
    ))  # fmt: skip
    return joined([*parts, reminders])


def due_json(due: Sequence[ToldTask], book: Book) -> list[dict[str, Any]]:
    """The same for other programs."""
    return [
        {**t.task.to_json(), "told_at": t.told_at.isoformat(),
         "fate": "presumed" if t.over_at <= book.now else "open"}
        for t in due
    ]  # fmt: skip


def with_ids(
    names: Sequence[str], due: Sequence[ToldTask], book: Book, numbers: Mapping[str, int]
) -> list[str]:
    """Names of tasks with ``number 5`` as the id of the task that has it, and ``tank 5`` as one;
    ``1-6`` as those of all that have these numbers, and ``all`` as those of all that is taken as
    done, or has begun where nothing is.

    Raises:
        RangeError: no task of that number is due, or a number of several is a tank's name too.
    """
    found: list[str] = []
    called = {name for t in due for name in called_of(t)}
    called |= {name.lower() for name in names_of(book.state(book.now), "tank", "brood")}
    rest = [
        each for name in names
        for each in ([name] if name.lower() in called else _of_several(name, due, book, numbers))
    ]  # fmt: skip
    while rest:
        word = rest.pop(0)
        if word.lower() in (NUMBER_WORD, TANK_WORD) and rest:
            word = f"{word.lower()} {rest.pop(0)}"
        head, _, name = word.partition(" ")
        if head.lower() == NUMBER_WORD and name.isdecimal():
            word = next((t.task.id for t in due if numbers[t.task.id] == int(name)), "")
            if not word:
                raise RangeError(_not_due(name, due, book, numbers))
        found.append(word)
    return found


def _of_several(
    name: str, due: Sequence[ToldTask], book: Book, numbers: Mapping[str, int]
) -> list[str]:
    """The ids that ``1-6`` or ``all`` stands for; another name by itself."""
    if name.lower() == "all":
        over = [t.task.id for t in due if t.over_at <= book.now]
        return over or [t.task.id for t in due if t.task.at <= book.now] or [name]
    match = _SEVERAL.fullmatch(name)
    if match is None:
        return [name]
    first, last = int(match[1]), int(match[2])
    mine = [t.task.id for t in due if first <= numbers[t.task.id] <= last]
    tanks = {int(tank) for tank in names_of(book.state(book.now), "tank") if tank.isdecimal()}
    if any(first <= tank <= last for tank in tanks):
        raise RangeError(
            f"'{name}' may be numbers of the list or tanks: give each one,"
            f" '{NUMBER_WORD} {first}' or '{TANK_WORD} {first}'. Nothing was noted."
        )
    if not mine:
        raise RangeError(_not_due(name, due, book, numbers))
    return mine


def refuse_either(name: str, told: ToldTask, other: str, typed: str, book: Book) -> NoReturn:
    """Asks back where a name is a number of the list and something else besides.

    Args:
        told: what has the number. other: what else is meant, and typed: how that is said.

    Raises:
        RangeError: always.
    """
    units, tools = book.room.units, book.room.tools
    raise RangeError(
        f"'{name}' may be number {name} of the list ({when(told.task.at, units)}"
        f" {brief_text(told.task, tools)}) or {other}: say '{NUMBER_WORD} {name}' or '{typed}'."
        " Nothing was noted."
    )


def choose(
    due: Sequence[ToldTask], names: Sequence[str], book: Book, numbers: Mapping[str, int], *,
    ahead: Sequence[ToldTask] = (), latest: bool = False, until: datetime | None = None,
    but: bool = False,
) -> list[ToldTask]:  # fmt: skip
    """The told tasks that are meant by numbers, ids or subjects; all when none is named.

    Args:
        numbers: of all that is due, by id. ahead: more, that are meant by id or subject alone.
        latest: of several tasks of one subject only those that began last, or come next.
        until: by subject only what an entry of this moment, or of one before, may be about.
        but: these are to be left out of what is ticked off.

    Raises:
        RangeError: nothing of that name is due, or it is both a number and a name.
    """
    if not names:
        return list(due)
    wanted: set[str] = set()
    known = [*due, *ahead]
    for name in names:
        found = [t for t in due if name == str(numbers[t.task.id])]
        for t in known if found else ():
            if name in called_of(t) and t not in found:
                refuse_either(name, found[0], brief_text(t.task, book.room.tools), t.task.id, book)
        found += [t for t in known if name == t.task.id]
        if not found:
            mine = [t for t in known if name.lower() in called_of(t)
                    and (until is None or t.opens <= until)]  # fmt: skip
            begun = [t for t in mine if t.task.at <= book.now]
            found = begun or mine
            if latest and found:
                which = max if begun else min  # the last that began, else the next
                meant = which(t.due_at for t in found)
                found = [t for t in found if t.due_at == meant]
        if not found:
            raise RangeError(_not_due(name, due, book, numbers, until, but=but))
        wanted.update(t.task.id for t in found)
    return [t for t in known if t.task.id in wanted]


def _not_due(
    name: str, due: Sequence[ToldTask], book: Book, numbers: Mapping[str, int],
    until: datetime | None = None, *, but: bool = False,
) -> str:  # fmt: skip
    """Why nothing of a name is to be ticked off, or left out of that, and what can be done."""
    found = book.present(book.now, pending=True)
    noted = [
        answer for key, answer in found.fates.answer.items()
        if answer.line and (
            name == str(numbers.get(key))
            or (name.lower() in called_of(found.record.tasks[key])
                and abs((until or book.now) - answer.when) < _LATELY
                and (until is None or found.record.tasks[key].opens <= until))
        )
    ]  # fmt: skip
    if noted:
        last = max(noted, key=lambda entry: entry.line)
        return (
            f"what was told of '{name}' is noted already ({line_of(last, book.room)}); if that is"
            f" wrong: livefood journal undo --line {last.line}"
        )
    room = book.state(book.now)
    if (tank := name.removeprefix(f"{TANK_WORD} ")) != name and tank in names_of(room, "tank"):
        return _not_by_tank(tank, tank, but=but)
    if name in names_of(room, "brood", "tank"):
        tank = next((b.tank for b in room.every_brood if b.name == name), name)
        return _not_by_tank(name, tank, but=but)
    if name in names_of(room, "stock"):
        return f"what was bought is noted with its amount: livefood journal bought {name} 50 g"
    shown = "'livefood journal due' lists them"
    listed = f"{_numbers_due(due, numbers)}: {shown}" if due else "nothing is"
    others = [t.task.subject for t in due] + names_of(room, "brood", "tank")
    meant = closest(name, [other for other in others if other.lower() != name.lower()])
    hint = f"; did you mean '{meant}'?" if meant else ""
    told = "" if until is None else f" told for {when(until, book.room.units)} or before"
    return f"no task '{name}'{told} is due; {listed}{hint}"


def _numbers_due(due: Sequence[ToldTask], numbers: Mapping[str, int]) -> str:
    """Which numbers are due, as words."""
    mine = sorted(numbers[t.task.id] for t in due)
    if len(mine) == 1:
        return f"only {mine[0]} is"
    noted = "" if mine[-1] - mine[0] < len(mine) else ", but for those that are noted,"
    return f"{mine[0]} to {mine[-1]}{noted} are"


def _not_by_tank(name: str, tank: str, *, but: bool) -> str:
    """How to say what a tank or brood got, or what was done with it.

    Args:
        tank: that it is, or is in. but: it was to be left out of what is ticked off.
    """
    if but:
        return (
            f"a round is ticked off as a whole, and what is noted of a tank before holds for it"
            f" alone: first 'livefood journal fed {shlex.quote(tank)} FOOD AMOUNT' for what {name}"
            f" got, or 'livefood journal skip {typed_tank(tank)}' where that is nothing, then"
            " 'livefood journal done'"
        )
    return (
        f"nothing is ticked off by the name '{name}': what was done with its fish is noted with"
        " 'journal count', 'move', 'sorted', 'lid', 'lost' or 'wetted'; that it was not fed, by its"
        f" tank: livefood journal skip {typed_tank(tank)}"
    )


def called_of(told: ToldTask) -> set[str]:
    """How a keeper may name a told task."""
    names = {told.task.subject, told.task.subject.removesuffix(" round")}
    if isinstance(told.task, Split | Start):
        names.add(told.task.other)
    return {name.lower() for name in names}


def chosen_entries(
    journal: Journal, *, event: str | None, subject: str | None, start: datetime | None,
    end: datetime, last: int | None, undone: bool,
) -> list[Entry]:  # fmt: skip
    """Entries that pass all filters, by time; of them only so many that were noted ``last``."""
    entries = sorted(journal.entries, key=lambda e: e.when) if undone else journal.effective()
    found = [
        e for e in entries
        if (event is None or e.event == event)
        and (subject is None or subject in (e.subject, e.other))
        and (start is None or e.when >= start) and e.when <= end
    ]  # fmt: skip
    if last is None:
        return found
    noted = set(sorted(e.line for e in found)[-last:])
    return [e for e in found if e.line in noted]


def entry_lines(entries: Sequence[Entry], book: Book) -> str:
    """Entries with their line numbers, and what is wrong with the file."""
    undone = book.journal.undone()
    rows = [
        wrapped(f"{line_of(e, book.room)}{' [taken back]' if e.line in undone else ''}", 8,
                f"  {e.line:>5} ")
        for e in entries
    ]  # fmt: skip
    if not rows:
        empty = not book.journal.entries
        rows = ["The journal is empty." if empty else "The journal holds nothing of that."]
    return "\n".join(rows)


def entries_json(entries: Sequence[Entry], book: Book) -> dict[str, Any]:
    """The same for other programs."""
    undone = book.journal.undone()
    return {
        "entries": [
            {"line": e.line, **e._asdict(), "undone": e.line in undone,
             "when": e.when.astimezone(book.room.timezone).isoformat()}
            for e in entries
        ],
        "torn": book.journal.torn,
    }  # fmt: skip


def import_summary(found: Sequence[Entry], fresh: Sequence[Entry], *, dry_run: bool) -> str:
    """How many rows there were and what becomes of them."""
    text = f"{len(found)} rows are fine"
    if len(fresh) < len(found):
        text += f", {len(found) - len(fresh)} of them are in the journal already"
    if dry_run:
        return f"{text}. Nothing was noted (--dry-run)."
    return f"{text}; noting {len(fresh)}." if fresh else f"{text}. Nothing was noted."
