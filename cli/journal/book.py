"""The open journal of one command: look up, check, record, and say what changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from datetime import datetime, timedelta
from pathlib import Path

import click
from attrs import define, field

from cli.files import give_up_screen
from cli.option_types import Spoken
from cli.options import Where, localise
from cli.screens.text import WIDTH, wrapped
from cultures import files
from cultures.errors import BadFileError, LivefoodError, RangeError, UnknownNameError
from cultures.foods.kinds import WormKind
from cultures.journal.entries import Entry, Journal, append, journal_path, read_journal
from cultures.record.fates import Fate, answering, fates, subjects_of
from cultures.record.present import Present, as_entry, present, steps_of
from cultures.record.store import Record, read_record, record_path
from cultures.replay.replay import replay
from cultures.replay.stocks import stock_names
from cultures.room.room import Room
from cultures.tasks.task import HarvestWorms, Work
from cultures.tasks.told import ToldTask
from cultures.words.quantities import in_units, many, when
from cultures.words.text import plain

#: Where a command keeps that an entry is to be noted although it cannot be.
SURE = "livefood.sure"


@define
class Book:
    """A room file, its journal and its record at the moment of a command.

    Attributes:
        sure: what cannot be is noted all the same. mends: bad lines of the journal are passed over.
    """

    room: Room
    room_path: Path
    journal: Journal
    now: datetime
    sure: bool = False
    mends: bool = False
    _lock: ExitStack = field(factory=ExitStack, init=False, repr=False)
    _records: dict[datetime, Record] = field(factory=dict, init=False, repr=False)

    @classmethod
    def open(cls, where: Where, *, mends: bool = False) -> Book:
        """Reads the files.

        Raises:
            LivefoodError: one cannot be read or is wrong.
        """
        setting = where.load_file()
        journal = read_journal(
            journal_path(where.path), setting.room.timezone, strict=not mends
        )  # fmt: skip
        sure = bool(click.get_current_context().meta.get(SURE))
        return cls(setting.room, where.path, journal, setting.now, sure, mends)

    @classmethod
    @contextmanager
    def writing(cls, where: Where, *, mends: bool = False) -> Iterator[Book]:
        """Reads the files for one who will note something: nobody else does until it is noted.

        Raises:
            LivefoodError: as `open`, or the folder cannot be kept from others.
        """
        if files.read(where.path) is None:  # a folder without a room is not made
            where.load_file()
        with ExitStack() as lock:
            lock.enter_context(files.locked(where.path.absolute().parent))
            book = cls.open(where, mends=mends)
            book._lock = lock.pop_all()
            with book._lock:
                yield book

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
        moment = at.at(self.now) if isinstance(at, Spoken) else localise(at, self.room.timezone)
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

    def known(self, name: str, things: Sequence[str], room: Room) -> str:
        """The name of one of some kinds of things in a room; a tank's stands for its one brood.

        Raises:
            UnknownNameError: there is no such thing. RangeError: not any more; several broods.
        """
        name = plain(name)
        if "brood" in things and "tank" not in things:
            name = brood_of(name, room)
        *others, last = things
        words = f"{', '.join(others)} or {last}" if others else last
        self.must_know(words, name, names_of(room, *things))
        return name

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

    def record(self, entries: Sequence[Entry], *, quiet: bool = False, more: str = "") -> None:
        """Appends entries; prints what was noted (unless ``quiet``), what it changes, and ``more``.

        Raises:
            LivefoodError: nothing was recorded.
        """
        before = self._before()
        if not self.sure and before is not None:
            self._check(entries, before)
        torn = append(self.path, entries)
        with noted(self.path, len(entries)):
            self.journal = read_journal(self.path, self.room.timezone, strict=False)
            self._lock.close()
            self._say(entries, before, torn, quiet=quiet)
            click.echo(more, nl=bool(more))

    def _before(self) -> Present | None:
        """The room before an entry; None where bad lines keep it from being known."""
        try:
            return self.present(self.now, pending=True)
        except LivefoodError:
            if self.mends:
                return None
            raise

    def _say(
        self, entries: Sequence[Entry], before: Present | None, torn: str, *, quiet: bool
    ) -> None:
        from cli.journal.effect import effect_of, related
        from cli.screens.entry import line_of

        if torn:
            click.echo(
                f"A torn line from an earlier power cut was set aside in {self.path.name}.torn:"
                f" '{torn[:60]}'. Note it again if it matters.",
                err=True,
            )
        written = () if quiet else self.journal.entries[-len(entries) :]
        for entry in written:
            said = f"Noted, line {entry.line}: {line_of(entry, self.room)}"
            click.echo(wrapped(said, 2) if len(said) > WIDTH else said)
        if bad := self.journal.standing_bad():
            raise BadFileError([line.problem for line in bad])
        after = self.present(self.now, pending=True)
        for entry in written:
            click.echo(related(entry, after, self.room), nl=False)
        if before is not None:
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


@contextmanager
def noted(path: Path, count: int) -> Iterator[None]:
    """What was noted is said to be noted, and ends well, whatever becomes of the screen."""
    try:
        yield
    except (OSError, LivefoodError) as error:
        wrong = str(error)
        if isinstance(error, OSError):
            wrong = error.strerror or wrong
            give_up_screen()
        with suppress(OSError):
            click.echo(
                f"{many(count, 'line')} noted in {path.name}, whole and on the disk. What changed"
                f" cannot be shown: {wrong}", err=True,
            )  # fmt: skip


def names_of(room: Room, *things: str) -> list[str]:
    """The names of some kinds of things in a room, also of broods that rest or are only planned."""
    named: dict[str, Iterable[str]] = {
        "room": ["room"],
        "tank": [tank.name for tank in room.tanks],
        "brood": [brood.name for brood in (*room.broods, *room.waiting)],
        "culture": [culture.name for culture in room.cultures],
        "vessel": [vessel.name for vessel in room.vessels],
        "stock": stock_names(room),
    }
    return [name for thing in things for name in named[thing]]


def refuse_known(room: Room, new: str) -> None:
    """Refuses a name that something of the room has, since an entry could mean either.

    Raises:
        RangeError: what has it.
    """
    for what in ("culture", "vessel", "brood", "stock", "room"):
        if new in names_of(room, what):
            raise RangeError(f"there is a {what} {new} already; name the new one otherwise")


def brood_of(name: str, room: Room) -> str:
    """A brood by its name, or by that of the tank that holds it alone.

    Raises:
        RangeError: the tank holds several broods, or none.
    """
    if name in names_of(room, "brood") or name not in names_of(room, "tank"):
        return name
    there = [b.name for b in (*room.broods, *room.waiting) if b.tank == name]
    if len(there) == 1:
        return there[0]
    which = f"holds {' and '.join(there)}: say which" if there else "holds no brood"
    raise RangeError(f"tank {name} {which}")
