"""The open journal of one command: look up, check, record, and say what changed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

import click
from attrs import define, field

from cli.options import SPOKEN, Spoken, load_file, localise
from cli.screens.text import WIDTH, wrapped
from cultures.errors import RangeError, UnknownNameError
from cultures.foods.kinds import WormKind
from cultures.journal.entries import Entry, Journal, append, journal_path, read_journal
from cultures.record.fates import INSTEAD, Fate, answering, fates, subjects_of
from cultures.record.present import Present, as_entry, present, steps_of
from cultures.record.store import Record, read_record, record_path
from cultures.replay.replay import replay
from cultures.room.room import Room
from cultures.tasks.task import HarvestWorms, Work
from cultures.tasks.told import ToldTask
from cultures.words.quantities import in_units, when

_F = TypeVar("_F", bound=Callable[..., Any])
_SURE = "livefood.sure"
_NEGATIVE = re.compile(r"^-[\d.]")


def entry_options(function: _F) -> _F:
    """``--at``, ``--note``, ``--room`` and ``--now`` of every event."""
    from cli.options import now_option, room_option

    function = click.option("--note", default="", help="A note of your own.")(function)
    function = click.option(
        "--at",
        type=SPOKEN,
        metavar="TIME",
        help="When it was done, if not just now: 07:50, yesterday 18:30.",
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


def instead_option(function: _F) -> _F:
    """``--instead-of``: what was told and is not done because this was."""
    return click.option(
        "--instead-of", metavar="NAME",
        help="What was told to be used for it, and was not.",
    )(function)  # fmt: skip


class EventCommand(click.Command):
    """Takes no amount for an option, and names of several words without quotes."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        from cli.journal.names import joined

        given = list(args)  # click uses the list up
        try:
            return super().parse_args(ctx, joined(args))
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
    """A room file, its journal and its record at the moment of a command."""

    room: Room
    room_path: Path
    journal: Journal
    now: datetime
    sure: bool = False
    _records: dict[datetime, Record] = field(factory=dict, init=False, repr=False)

    @classmethod
    def open(cls, room_path: Path, now: datetime | None) -> Book:
        """Reads the files.

        Raises:
            LivefoodError: one cannot be read or is wrong.
        """
        setting = load_file(room_path, now)
        journal = read_journal(journal_path(room_path), setting.room.timezone)
        sure = bool(click.get_current_context().meta.get(_SURE))
        return cls(setting.room, room_path, journal, setting.now, sure)

    @property
    def path(self) -> Path:
        """The journal's file."""
        return self.journal.path

    def when(self, at: datetime | Spoken | None) -> datetime:
        """The time of an entry: ``--at``, or now.

        Raises:
            RangeError: it lies in the future.
        """
        if at is None:
            return self.now
        moment = at.at(self.now) if isinstance(at, Spoken) else localise(at, self.room)
        if moment > self.now + timedelta(minutes=5):
            raise RangeError(f"{moment:%Y-%m-%d %H:%M} lies in the future; note it when it is done")
        return moment

    def present(self, at: datetime, *, pending: bool = False) -> Present:
        """The room and the fates of what was told, as known at a moment.

        Args:
            pending: take what is in hand as done, as a plan does.
        """
        if at not in self._records:  # no command of the journal tells, so one reading does
            path = record_path(self.room_path)
            self._records[at] = read_record(path, self.room.timezone, at)
        return present(self.room, self.journal.effective(), self._records[at], at, pending=pending)

    def state(self, at: datetime) -> Room:
        """The room as known at a moment; what is in hand is not done yet."""
        return self.present(at).room

    def due(self, event: str, subject: str, when: datetime) -> ToldTask | None:
        """The told task that an entry of an event about a subject would be about, or None."""
        found = self.present(when)
        return next(
            (t for t in sorted(found.record.tasks.values(), key=lambda t: t.task.at)
             if event in answering(t.task) and subject in subjects_of(t)
             and t.opens <= when < t.closes and t.task.id not in found.fates.answer),
            None,
        )  # fmt: skip

    def ticked(self, told: ToldTask, room: Room, when: datetime | None = None) -> Entry:
        """The entry that ticks a told task off, in the unit in which a keeper measures."""
        entry = as_entry(told, when or min(told.task.at, self.now))
        kind = room.kinds.get(told.kind)
        if not isinstance(told.task, HarvestWorms) or not isinstance(kind, WormKind):
            return entry
        unit = "swipes" if kind.medium == "solid" else "draws"
        amount = round(told.task.mg / kind.values["portion_mg"], 4)
        return entry._replace(amount=amount, unit=unit)

    def must_know(self, what: str, name: str, known: Sequence[str]) -> None:
        """Refuses a name that is not there.

        Raises:
            UnknownNameError: it is not. RangeError: it is not there any more.
        """
        if name in known:
            return
        gone = next(
            (e for e in reversed(self.journal.effective()) if e.subject == name
             and (e.event in ("discard", "failed") or (e.event, e.other) == ("lost", "all"))),
            None,
        )  # fmt: skip
        if gone is not None:
            verb = {"discard": "discarded", "failed": "noted as failed"}.get(
                gone.event, "noted as lost"
            )
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
        from cli.journal.effect import effect_of, related
        from cli.screens.entry import line_of

        before = self.present(self.now, pending=True)
        if not self.sure:
            self._check(entries, before)
        torn = append(self.path, entries)
        if torn:
            click.echo(
                f"A torn line from an earlier power cut was set aside in {self.path.name}.torn:"
                f" '{torn[:60]}'. Note it again if it matters.",
                err=True,
            )
        self.journal = read_journal(self.path, self.room.timezone)
        after = self.present(self.now, pending=True)
        for entry in () if quiet else self.journal.entries[-len(entries) :]:
            said = f"Noted, line {entry.line}: {line_of(entry, self.room)}"
            click.echo(wrapped(said, 2) if len(said) > WIDTH else said)
            click.echo(related(entry, after, self.room), nl=False)
        click.echo(effect_of(before, after))

    def _check(self, entries: Sequence[Entry], before: Present) -> None:
        """Refuses what cannot be.

        Raises:
            RangeError: an entry says what cannot be by all that is known.
        """
        new = [e._replace(line=0) for e in entries if e.event not in ("undo", "learn")]
        if not new:
            return
        merged = sorted([*self.journal.effective(), *new], key=lambda e: e.when)
        known = fates(before.record, merged, self.now)
        over = [t for k, t in before.record.tasks.items() if known.of[k] is Fate.PRESUMED]
        steps = steps_of(merged, known, [t for t in over if isinstance(t.task, Work)], self.now)
        doubts = replay(self.room, steps, self.now, before.learned.own_values).doubts
        if not doubts:
            return
        texts = [text for _, text in doubts]
        if len(new) > 1:
            zone = self.room.timezone
            texts = [f"{when(e.when.astimezone(zone))}: {text}" for e, text in doubts]
        more = f"; and {len(texts) - 3} more" if len(texts) > 3 else ""
        told = in_units("; ".join(texts[:3]) + more, self.room.units)
        raise RangeError(f"{told}; if it is so all the same, add --sure. Nothing was noted.")


def instead(book: Book, event: str, name: str | None, when: datetime) -> list[Entry]:
    """The entry that says that what was told of another subject was not done.

    Raises:
        RangeError: nothing of the kind was told of it.
    """
    if name is None:
        return []
    told = book.due(event, name, when)
    if told is None:
        raise RangeError(f"--instead-of: nothing of {name} was told for this time")
    return [Entry(when, "skip", name, told.task.id)]


def stands_for(name: str | None) -> str:
    """What the column ``other`` says of an entry that stands for another's task."""
    return f"{INSTEAD}{name}" if name else ""


def culture_names_of(room: Room) -> list[str]:
    """The names of the cultures of a room."""
    return [culture.name for culture in room.cultures]


def brood_names_of(room: Room) -> list[str]:
    """The names of the broods of a room, those that rest or are only planned among them."""
    return [brood.name for brood in (*room.broods, *room.waiting)]


def brood_of(name: str, room: Room) -> str:
    """A brood by its name, or by that of the tank that holds it alone.

    Raises:
        RangeError: the tank holds several broods, or none.
    """
    known = brood_names_of(room)
    if name in known or name not in [tank.name for tank in room.tanks]:
        return name
    there = [b.name for b in (*room.broods, *room.waiting) if b.tank == name]
    if len(there) == 1:
        return there[0]
    which = f"holds {' and '.join(there)}: say which" if there else "holds no brood"
    raise RangeError(f"tank {name} {which}")


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
