"""The open journal of one command: look up, check, record, and say what changed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

import click
from attrs import define

from cli.options import MOMENT, load_file, localise
from cli.text import in_units, when
from cultures.beliefs import Beliefs
from cultures.errors import RangeError, UnknownNameError
from cultures.journal import Entry, Journal, append, journal_path, read_journal
from cultures.journal_due import LONGEST, DueTask, due_tasks, tells_of
from cultures.learning import learn
from cultures.room import Room
from cultures.state import replay, room_at
from cultures.state_times import counts_at, is_work, worth_replaying

_F = TypeVar("_F", bound=Callable[..., Any])
_SURE = "livefood.sure"
_NEGATIVE = re.compile(r"^-[\d.]")


def entry_options(function: _F) -> _F:
    """``--at``, ``--note``, ``--room`` and ``--now`` of every event."""
    from cli.options import now_option, room_option

    function = click.option("--note", default="", help="A note of your own.")(function)
    function = click.option(
        "--at", type=MOMENT, metavar="TIME", help="When it was done, if not just now."
    )(function)
    return room_option(now_option(function))


def sure_option(function: _F) -> _F:
    """``--sure``, which :meth:`Book.record` asks for when an entry says what cannot be."""

    def keep(context: click.Context, _: click.Parameter, value: bool) -> None:
        context.meta[_SURE] = value

    return click.option(
        "--sure", is_flag=True, expose_value=False, callback=keep,
        help="Note it although it cannot be by all that is known.",
    )(function)  # fmt: skip


class EventCommand(click.Command):
    """Takes no amount for an option: ``-3 swipes`` is told to be wrong as such."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        given = list(args)  # click uses the list up
        try:
            return super().parse_args(ctx, args)
        except click.NoSuchOption as error:
            wrong = next((arg for arg in given if _NEGATIVE.match(arg)), None)
            if wrong is None or not _NEGATIVE.match(error.option_name):
                raise
            raise RangeError(f"'{wrong}' is below 0; what is noted is 0 or more") from None


def event_command(name: str) -> Callable[[Callable[..., Any]], EventCommand]:
    """A command of the journal."""
    return click.command(name, cls=EventCommand)


@define
class Book:
    """A room file and its journal at the moment of a command."""

    room: Room
    path: Path
    journal: Journal
    now: datetime
    sure: bool = False

    @classmethod
    def open(cls, room_path: Path, now: datetime | None) -> Book:
        """Reads both files.

        Raises:
            LivefoodError: one cannot be read or is wrong.
        """
        setting = load_file(room_path, now)
        path = journal_path(room_path)
        journal = read_journal(path, setting.room.timezone)
        sure = bool(click.get_current_context().meta.get(_SURE))
        return cls(setting.room, path, journal, setting.now, sure)

    def when(self, at: datetime | None) -> datetime:
        """The time of an entry: ``--at``, or now.

        Raises:
            RangeError: it lies in the future.
        """
        if at is None:
            return self.now
        moment = localise(at, self.room)
        if moment > self.now + timedelta(minutes=5):
            raise RangeError(f"{moment:%Y-%m-%d %H:%M} lies in the future; note it when it is done")
        return moment

    def state(self, at: datetime) -> Room:
        """The room as known at a moment."""
        return room_at(self.room, self.journal.effective(), at)

    def settled(self) -> datetime:
        """Now, or when the entries made until now count for the plan."""
        late = self.now - timedelta(hours=3)
        recent = [e for e in self.journal.effective() if late < e.when <= self.now]
        return max([self.now, *(counts_at(self.room, e) for e in recent)])

    def due(self, event: str, subject: str, when: datetime) -> Entry | None:
        """The entry that ticks off what is due with a culture or vessel, or None."""
        for each in self.due_tasks(when):
            if each.entry.event == event and each.entry.subject == subject:
                return each.entry
        return None

    def due_tasks(self, when: datetime, since: datetime | None = None) -> list[DueTask]:
        """Planned tasks from ``since`` (else the last work noted) to a moment, not noted yet.

        A count changes what is planned from then on, not what was planned before it.
        """
        from cultures.planning.plan import make_outlook

        entries = self.journal.effective()
        known = [e for e in entries if since is None or e.when <= since]
        room = room_at(self.room, known, when)
        outlook = make_outlook(room, now=when)
        start = max(since or outlook.start, when - LONGEST)
        tasks = outlook.tasks()
        counted = [e.when for e in known if start < e.when <= when]
        if counted:
            before = room_at(self.room, [e for e in known if e.when <= start], when)
            earlier = make_outlook(before, now=when).tasks()
            last = max(counted)
            tasks = (*(t for t in earlier if t.at < last), *(t for t in tasks if t.at >= last))
        return due_tasks(room, tasks, entries, since=start, now=when)

    def must_know(self, what: str, name: str, known: Sequence[str]) -> None:
        """Refuses a name that is not there.

        Raises:
            UnknownNameError: it is not. RangeError: it is not there any more.
        """
        if name in known:
            return
        gone = next(
            (e for e in reversed(self.journal.effective()) if e.subject == name
             and (e.event == "discard" or (e.event, e.other) == ("lost", "all"))), None,
        )  # fmt: skip
        if gone is not None:
            verb = "discarded" if gone.event == "discard" else "noted as lost"
            raise RangeError(
                f"{name} was {verb} on {when(gone.when.astimezone(self.room.timezone))}"
                f" (line {gone.line}); if that was a mistake: journal undo --line {gone.line}"
            )
        raise UnknownNameError(what, name, known)

    def record(self, entries: Sequence[Entry], *, quiet: bool = False) -> None:
        """Appends entries and prints what was noted (unless ``quiet``) and what it changes.

        Raises:
            LivefoodError: nothing was recorded.
        """
        from cli.journal_effect import effect_of, line_of, missed

        moment = max([self.now, *(counts_at(self.room, e) for e in entries)])
        known = learn(self.room, self.journal.effective(), moment)
        if not self.sure:
            self._check(entries, known.beliefs, moment)
        before, missing = known.replayed.room, self._left_out(entries)
        torn = append(self.path, entries)
        if torn:
            click.echo(
                f"A torn line from an earlier power cut was set aside in {self.path.name}.torn:"
                f" '{torn[:60]}'. Note it again if it matters.",
                err=True,
            )
        self.journal = read_journal(self.path, self.room.timezone)
        for entry in () if quiet else self.journal.entries[-len(entries) :]:
            click.echo(f"Noted, line {entry.line}: {line_of(entry, self.room)}")
        if missing:
            click.echo(missed(missing, self.room))
        click.echo(effect_of(before, self.state(moment), moment))

    def _check(self, entries: Sequence[Entry], beliefs: Beliefs, moment: datetime) -> None:
        """Refuses what cannot be.

        Raises:
            RangeError: an entry says what cannot be by all that is known.
        """
        new = [e._replace(line=0) for e in entries if e.event not in ("undo", "learn")]
        if not new:
            return
        merged = sorted([*self.journal.effective(), *new], key=lambda e: e.when)
        doubts = replay(self.room, worth_replaying(merged, moment), moment, beliefs).doubts
        if not doubts:
            return
        texts = [text for _, text in doubts]
        if len(new) > 1:
            zone = self.room.timezone
            texts = [f"{when(e.when.astimezone(zone))}: {text}" for e, text in doubts]
        more = f"; and {len(texts) - 3} more" if len(texts) > 3 else ""
        told = in_units("; ".join(texts[:3]) + more, self.room.units)
        raise RangeError(f"{told}; if it is so all the same, add --sure. Nothing was noted.")

    def _left_out(self, entries: Sequence[Entry]) -> list[DueTask]:
        """Tasks due before these entries that nothing tells of: the plan will not count them."""
        work = [e for e in entries if is_work(self.room, e)]
        if not work:
            return []
        latest = max(e.when for e in work)
        return [
            each for each in self.due_tasks(latest)
            if each.task.at <= latest
            and not any(tells_of(e, each.entry, each.task) for e in entries)
        ]  # fmt: skip


def culture_names_of(room: Room) -> list[str]:
    """The names of the cultures of a room."""
    return [culture.name for culture in room.cultures]


def brood_names_of(room: Room) -> list[str]:
    """The names of the broods of a room."""
    return [brood.name for brood in room.broods]


def next_name(book: Book, parent: str, room: Room) -> str:
    """A free name for the child of a culture, as the planner would name it."""
    prefix = room.culture(parent).kind.prefix
    used = {c.name for c in room.cultures} | {e.other for e in book.journal.entries}
    used |= {e.subject for e in book.journal.entries}
    number = 1
    while f"{prefix}-{number}" in used:
        number += 1
    taken = [int(n.removeprefix(f"{prefix}-")) for n in used
             if n.startswith(f"{prefix}-") and n.removeprefix(f"{prefix}-").isdigit()]  # fmt: skip
    return f"{prefix}-{max(taken, default=number - 1) + 1}"
