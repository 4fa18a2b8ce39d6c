"""The open journal of one room: look up, check, record.

All that is noted goes through `Book.note`, whoever notes it. Who notes something keeps others from
the folder from before the book is opened until it is noted.
"""

from __future__ import annotations

import math
import shlex
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from attrs import define, evolve, field, frozen

from cultures.errors import LivefoodError, RangeError, UnknownNameError
from cultures.foods.kinds import WormKind
from cultures.journal.entries import Entry, Journal, append, journal_path, read_journal, undo_of
from cultures.journal.events import LEAVING, OF_LARVAE, begins, check_entry, counts_none
from cultures.needs.need import BroodCourse, Round, rounds_between
from cultures.record.carried_out import as_entry, steps_of, taken_as_done
from cultures.record.file_edits import of_edits
from cultures.record.history import remember, with_earlier
from cultures.record.known import Known
from cultures.record.numbering import Numbering, keep_numbering, read_numbering, shown_numbers
from cultures.record.present import ASKED_FOR, Present, ahead_words, noted_ahead, present
from cultures.record.store import Record, read_record, record_path
from cultures.replay.replay import replay
from cultures.replay.stocks import stock_names
from cultures.room.room import Brood, Room
from cultures.tasks.task import HarvestWorms, Split, Start, feeding_id
from cultures.tasks.told import ToldTask
from cultures.words.grouped import by_key
from cultures.words.moments import day_text, hours, when
from cultures.words.numbers import whole_number
from cultures.words.quantities import in_units
from cultures.words.text import listed, plain

_DAY = timedelta(days=1)
#: Events that show that a culture was there.
_SHOWS_CULTURE = frozenset({"harvest", "split", "count", "discard", "failed"})

#: What bears a name that an entry may mean.
NAMED = ("culture", "vessel", "brood", "stock", "room")
#: Events that add up, and within how long one that says the same may be the same said twice: a
#: round's harvest within the round, purchases while two people note what they did, and losses
#: until each has seen the tank and said when that was (assumption).
_AGAIN_IN = {
    "harvest": timedelta(hours=1),
    **dict.fromkeys(LEAVING, timedelta(hours=3)),
    **dict.fromkeys(("bought", "ordered", "used"), timedelta(minutes=10)),
}
#: Events of broods that are there already.
_OF_BROODS = frozenset({*OF_LARVAE, "free_swimming", "count", "length", "merge", "move", *LEAVING,
                         "leftover", "wetted", "lid", "sorted"})  # fmt: skip


class DoubtError(RangeError):
    """An entry says what cannot be by all that is known; its message is the reason."""


@frozen(eq=False)
class Noted:
    """What was noted.

    Attributes:
        first: how many entries the journal had before. count: how many were noted.
        before: the room without them, None where bad lines keep it from being known.
        torn: the torn end that was set aside, or "". edits: what is to be said of an edit of the
            room file, of which nothing was told yet.
    """

    first: int
    count: int
    before: Present | None
    torn: str
    edits: tuple[str, ...] = ()


@define
class Book:
    """A room file, its journal and its record at one moment.

    Attributes:
        mends: bad lines of the journal are passed over. tells: what is shown of the plan counts
            as told.
    """

    room: Room
    room_path: Path
    journal: Journal
    now: datetime
    mends: bool = False
    tells: bool = False
    _records: dict[tuple[datetime, int], Record] = field(factory=dict, init=False, repr=False)
    #: By moment, as it is written, journal and what is pending: an entry asks several times.
    _presents: dict[tuple[str, int, bool], Present] = field(factory=dict, init=False, repr=False)

    @classmethod
    def open(
        cls, room: Room, room_path: Path, now: datetime, *, mends: bool = False, tells: bool = False
    ) -> Book:  # fmt: skip
        """Reads the journal of a room.

        Raises:
            LivefoodError: it cannot be read or is wrong.
        """
        journal = read_journal(journal_path(room_path), room.timezone, strict=not mends)
        room = with_earlier(room, room_path, journal.effective(), now)
        return cls(room, room_path, journal, now, mends, tells)

    @property
    def path(self) -> Path:
        """The journal's file."""
        return self.journal.path

    def present(self, at: datetime, *, pending: bool = False) -> Present:
        """The room and the fates of what was told, as known at a moment.

        Args:
            pending: take what is in hand as done, as a plan does.
        """
        key = at.isoformat(), self.journal.last_line, pending
        if key not in self._presents:
            entries, record = self.journal.effective(), self._record(at)
            self._presents[key] = present(self.room, entries, record, at, pending=pending)
        return self._presents[key]

    def _record(self, at: datetime) -> Record:
        known = at, self.journal.last_line
        if known not in self._records:  # a command of the journal tells at its end, if at all
            path = record_path(self.room_path)
            self._records[known] = read_record(path, self.room.timezone, at, self.journal)
        return self._records[known]

    def numbering(self, due: Sequence[ToldTask]) -> Numbering:
        """The numbers of all that is due, as a list of it has them now."""
        return read_numbering(self.room_path, self.now).with_due(due, self.now)

    def shown_numbers(self, due: Sequence[ToldTask]) -> Mapping[str, int]:
        """The numbers of all that is due, by id, where a list of it is shown."""
        return shown_numbers(self.room_path, due, self.now, keep=self.tells)

    def state(self, at: datetime) -> Room:
        """The room as known at a moment; what is in hand is not done yet."""
        return self.present(at).room

    def due(self, event: str, subject: str, when: datetime, other: str = "") -> ToldTask | None:
        """The told task that an entry of an event about a subject would be about, or None.

        Args:
            other: what it makes besides, where only such a task is meant.
        """
        found = self.present(when)
        return next(
            (t for t in found.about(event, subject)
             if t.task.id not in found.fates.answer and other in ("", t.task.other)),
            None,
        )  # fmt: skip

    def ticked(self, told: ToldTask, room: Room, when: datetime | None = None) -> Entry:
        """The entry that ticks a told task off, in the unit in which a keeper measures."""
        entry = as_entry(told, when or min(told.task.at, self.now))
        kind = room.kinds.get(told.kind)
        if not isinstance(told.task, HarvestWorms) or not isinstance(kind, WormKind):
            return entry
        unit = "swipes" if kind.medium == "solid" else "draws"
        return entry._replace(amount=portions_of(told.task, kind), unit=unit)

    def skipped(self, told: ToldTask, when: datetime, tank: str = "") -> Entry:
        """The entry that says that a told task was not done; of what lies ahead, that it is now.

        Args:
            tank: of a feeding, that only this tank was not fed.
        """
        at = min(max(when, told.task.at), self.now)
        return Entry(at, "skip", tank or told.task.subject, told.task.id)

    def feeding(self, tank: str, when: datetime) -> ToldTask:
        """The told feeding of the round at a moment, of which a tank is one.

        Raises:
            RangeError: nothing was told for the tank.
        """
        found = self.told_feeding(tank, when)
        if found is None:
            raise RangeError(f"no food was told for tank {tank} at this time; see 'livefood today'")
        return found

    def told_feeding(self, tank: str, when: datetime) -> ToldTask | None:
        """The same; None where nothing was told for the tank."""
        return next((t for t in self.present(when).feedings(when) if tank in t.tanks), None)

    def untold(self, when: datetime) -> Round | None:
        """The round nearest to a moment if it is over and nobody was told what to feed at it.

        Also where by now it is known that nobody was to be there.
        """
        if self.present(self.now).feedings(when):
            return None
        near = rounds_between(self.state(self.now), when - _DAY, when + _DAY)
        found = min(near, key=lambda r: abs(r.at_h - hours(when)), default=None)
        return found if found is not None and found.at <= self.now else None

    def unfed(self, feeding: Round, tank: str = "") -> Entry:
        """The entry that says that nobody fed at a round that was not told.

        Args:
            tank: that only this one got nothing.

        Raises:
            RangeError: no fry were there that eat, or it is noted already.
        """
        if not self._eaten(feeding.at, tank):
            raise RangeError(f"the fry {_place(tank)} did not eat yet at the {feeding.name}")
        entry = Entry(feeding.at, "skip", tank or feeding.name, feeding_id(feeding.at))
        known = (e for e in self.journal.effective()
                 if e.event == "skip" and e.other == entry.other)  # fmt: skip
        noted = next((e for e in known if e.subject in (entry.subject, feeding.name)), None)
        if noted is not None:
            raise RangeError(
                f"that nobody fed then is noted already, in line {noted.line}; if that is wrong:"
                f" livefood journal undo --line {noted.line}"
            )
        return entry

    def visit(self, tank: str, when: datetime) -> datetime | None:
        """The round that is meant where a tank was fed and nothing was told for it; else None.

        None too where its fry did not eat yet.

        Raises:
            RangeError: no fry were there.
        """
        untold = self.untold(when)
        bare = self.without(tank, when)
        at = untold.at if untold is not None else bare.at if bare is not None else None
        return at if at is not None and self._eaten(at, tank) else None

    def without(self, tank: str, when: datetime) -> Round | None:
        """The told round nearest to a moment that has begun and had nothing for a tank, or None."""
        told = (t.task.at for t in self.present(self.now).feedings(when)
                if tank not in t.tanks and t.task.at <= self.now)  # fmt: skip
        at = next(told, None)
        if at is None:
            return None
        near = rounds_between(self.state(self.now), when - _DAY, when + _DAY)
        return next((r for r in near if r.at == at), None)

    def unnoted_tanks(self, when: datetime) -> list[str]:
        """The tanks of the told round of a moment, or those in which fry eat, of which it is not
        noted what they got.

        Raises:
            RangeError: there are none.
        """
        found = self.present(self.now)
        told = next(iter(found.feedings(when)), None)
        if told is not None:
            noted = found.fates.tanks.get(told.task.id, {})
            whole = told.task.id in found.fates.answer
            tanks = [] if whole else [tank for tank in told.tanks if tank not in noted]
        else:
            there = dict.fromkeys(brood.tank for brood in self.state(when).broods)
            tanks = [tank for tank in there if self._eaten(when, tank)]
        if not tanks:
            raise RangeError("of every tank of that round it is noted already, or no fry ate at it")
        return tanks

    def _eaten(self, at: datetime, tank: str) -> bool:
        """Whether fry in a tank, or in any, ate at a round.

        Raises:
            RangeError: none were there.
        """
        room = self.state(at)
        broods = [brood for brood in room.broods if tank in ("", brood.tank)]
        if not broods:
            raise RangeError(f"there were no fry {_place(tank)} on {when(at, self.room.units)}")
        per_day = len(room.rounds_on(at.astimezone(room.timezone).date()))
        feeding = Round(0, at, hours(at), per_day, fed=True, keeper=True)
        return any(BroodCourse.of(room, brood).eats_at(feeding) for brood in broods)

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
        known = names_of(room, *things)
        if "brood" in things and "tank" not in things and name not in known:
            lone = Counter(brood.tank for brood in room.every_brood)
            words = words.replace("brood", "brood or tank")
            known += [tank for tank, broods in lone.items() if broods == 1]
        if "culture" in things and name not in known:
            _refuse_coming(room, name)
        self.must_know(words, name, known)
        return name

    def must_know(self, what: str, name: str, known: Sequence[str]) -> None:
        """Refuses a name that is not there.

        Raises:
            UnknownNameError: it is not. RangeError: it is not there any more.
        """
        if name in known:
            return
        stated = name in names_of(self.room, "brood")  # the last of which have left
        ends = (
            e for e in reversed(self.journal.effective()) if e.subject == name
            and (e.event in ("discard", "failed", "merge") or counts_none(e)
                 or (e.event in LEAVING and (stated or e.other == "all")))
        )  # fmt: skip
        # Of what is gone the last entry took the rest; an earlier one may be noted later.
        gone = max(ends, key=lambda e: e.when, default=None)
        if gone is not None:
            verb = {
                "discard": "discarded",
                "died": "noted as dead",
                "count": "counted as 0",
                "merge": f"noted as one with {gone.other}",
            }.get(gone.event, f"noted as {gone.event}")
            on = when(gone.when.astimezone(self.room.timezone), self.room.units)
            raise RangeError(
                f"{name} was {verb} on {on}"
                f" (line {gone.line}); if that was a mistake: journal undo --line {gone.line}"
            )
        raise UnknownNameError(what, name, known)

    def free_label(self, kind: WormKind, room: Room) -> str:
        """A free name for a new culture of a kind, as the planner would name it."""
        used = set(names_of(room, "culture"))
        used |= {name for e in self.journal.entries for name in (e.subject, e.other)}
        prefix = f"{kind.prefix}-"
        ends = (name.removeprefix(prefix) for name in used if name.startswith(prefix))
        return f"{prefix}{max([0, *(whole_number(end) or 0 for end in ends)]) + 1}"

    def meant(self, entry: Entry) -> Entry:
        """An entry of a brood that names the tank which holds it alone, under the brood's name.

        What is counted of a brood without a unit is fry.

        Raises:
            RangeError: the tank holds several broods, or none.
        """
        if entry.event not in _OF_BROODS:
            return entry
        known, name = names_of(self.room, "brood"), entry.subject
        if name not in known and name in names_of(self.room, "tank"):
            name = brood_of(name, self.state(entry.when))
        counts = entry.event == "count" and not entry.unit and entry.amount is not None
        fry = counts and (name in known or name != entry.subject)
        return entry._replace(subject=name, unit="fry" if fry else entry.unit)

    def note(
        self, entries: Sequence[Entry], *, sure: bool = False,
        ahead: Callable[[tuple[Entry, ...]], object] = lambda _: None,
    ) -> Noted:  # fmt: skip
        """Records entries; the folder must be kept from others.

        Args:
            sure: note also what cannot be by all that is known.
            ahead: what is to be done with all that is noted once it is known that it can be, and
                before it is.

        Raises:
            DoubtError: it cannot be. LivefoodError: something else is wrong. In either case
                nothing was recorded.
        """
        before = self._before()
        if before is not None:
            entries = [*made_before(entries, before), *entries]
            if not sure:
                self._check(entries, before)
            entries = [*self._set_anew(entries), *entries]
        ahead(tuple(entries))
        if before is not None and entries:
            self._keep_numbers(before)
        torn = append(self.path, entries) if entries else ""
        edits = of_edits(before, self.room_path, entries) if before else ()
        remember(self.room_path, self.now)
        return Noted(len(self.journal.entries), len(entries), before, torn, edits)

    def _keep_numbers(self, before: Present) -> None:
        """Keeps the numbers of what was due, so that what is noted now moves none of the others."""
        due = before.due()
        numbering, told = self.numbering(due), before.record.tasks
        if not due:
            return
        since = self.now - ASKED_FOR
        of = {
            key: number for key, number in numbering.of.items()
            if key in told and told[key].task.at >= since
        }  # fmt: skip
        keep_numbering(self.room_path, evolve(numbering, of=of), self.now)

    def _set_anew(self, entries: Sequence[Entry]) -> list[Entry]:
        """Takes back the settings in the place of which entries stand: nobody sets one vessel
        twice at one moment.
        """
        anew = {(e.subject, e.when) for e in entries if e.event == "set"}
        return [
            undo_of(e, self.now) for e in (self._standing_beside(entries) if anew else ())
            if e.event == "set" and (e.subject, e.when) in anew
        ]  # fmt: skip

    def _standing_beside(self, entries: Sequence[Entry]) -> list[Entry]:
        """What holds of the journal once entries are noted: those that they take back do not."""
        gone = {e.subject for e in entries if e.event == "undo"}
        return [e for e in self.journal.effective() if str(e.line) not in gone]

    def written(self, noted: Noted) -> tuple[Entry, ...]:
        """What was noted, with its lines, from the journal read anew.

        Raises:
            LivefoodError: it cannot be read any more.
        """
        self.journal = read_journal(self.path, self.room.timezone, strict=False)
        # Others may have written after these.
        return self.journal.entries[noted.first : noted.first + noted.count]

    def _before(self) -> Present | None:
        try:
            return self.present(self.now, pending=True)
        except LivefoodError:
            if self.mends:
                return None
            raise

    def _check(self, entries: Sequence[Entry], before: Present) -> None:
        """Refuses what cannot be.

        Raises:
            RangeError: an entry could not stand in any journal.
            DoubtError: an entry says what cannot be by all that is known.
        """
        for entry in entries:
            check_entry(entry)
        new = [e._replace(line=0) for e in entries if e.event not in ("undo", "learn")]
        if not new:
            return
        standing = self._standing_beside(entries)
        merged = sorted([*standing, *new], key=lambda e: e.when)
        known = Known.of(self.room, merged, before.record, self.now)
        steps = steps_of(merged, known.fates, taken_as_done(known), self.now)
        played = replay(self.room, steps, self.now, before.learned.own_values)
        doubts, doubted = played.doubts, {entry.subject for entry, _ in played.doubts}
        again = [
            *_noted_before(new, standing),
            *_noted_ahead(new, standing, self.now, self.room),
            *(x for x in self._none_left(new, standing, before.room, played.room)
              if x[0].subject not in doubted),
        ]  # fmt: skip
        if not doubts and not again:
            return
        units = self.room.units  # doses are measured in mL in every room
        texts = [
            (text if e.event == "fed" else in_units(text, units)) + _or_mistaken(e, standing)
            for e, text in doubts
        ]
        texts = [*(text for _, text in again), *texts]
        if len(new) > 1:
            zone = self.room.timezone
            moments = [when(e.when.astimezone(zone), units) for e, _ in (*again, *doubts)]
            texts = [f"{at}: {text}" for at, text in zip(moments, texts, strict=True)]
        more = f"; and {len(texts) - 3} more" if len(texts) > 3 else ""
        raise DoubtError("; ".join(texts[:3]) + more)

    def _none_left(
        self, new: Sequence[Entry], standing: Sequence[Entry], before: Room, after: Room
    ) -> Iterator[tuple[Entry, str]]:
        """Entries by which what is noted of later takes all that is left of a brood that lives."""
        there, left = names_of(before, "brood"), names_of(after, "brood")
        for entry in new:
            name = entry.subject
            lives = entry.event in _OF_BROODS and entry.amount and entry.other != "all"
            if not lives or name not in there or name in left:
                continue
            later = [e for e in standing if e.subject == name and e.event in LEAVING
                     and e.when > entry.when]  # fmt: skip
            if later:
                yield entry, self._taken_later(name, later)

    def _taken_later(self, name: str, later: Sequence[Entry]) -> str:
        """That no fish of a brood are left by the lines noted of later, and how one is undone."""
        zone, units = self.room.timezone, self.room.units
        lines = listed([
            f"line {e.line} ({e.event} {'all' if e.amount is None else f'{e.amount:,.0f}'} on"
            f" {when(e.when.astimezone(zone), units)})"
            for e in sorted(later, key=lambda e: e.when)
        ])  # fmt: skip
        fits, one = ("fits", "it") if not later[1:] else ("fit", "one of them")
        undo = f"journal undo --line {max(e.line for e in later)}"
        return (
            f"none of {name} would be left: later {lines} would take them all, and no longer"
            f" {fits}; if {one} is the mistake: {undo} first"
        )


def _noted_before(new: Sequence[Entry], standing: Sequence[Entry]) -> list[tuple[Entry, str]]:
    """Entries that add up and were noted just before, maybe by another person, and that line."""
    adding = [entry for entry in new if entry.event in _AGAIN_IN]
    known, found = by_key(standing if adding else (), _as_said), []
    for entry in adding:
        within = _AGAIN_IN[entry.event]
        mine = known.get(_as_said(entry), ())
        same = [e.line for e in mine if abs(e.when - entry.when) < within]
        if same:
            said = f"line {max(same)} says the same, and a second time would count twice"
            found.append((entry, said))
    return found


def _noted_ahead(
    new: Sequence[Entry], standing: Sequence[Entry], now: datetime, room: Room
) -> list[tuple[Entry, str]]:
    """Entries that a line says too which lies ahead, as of a clock that is fast, and that line."""
    found = []
    for line in noted_ahead(standing, now):
        said = ahead_words([line], now, room)
        found += [
            (entry, f"it is noted already: {said}") for entry in new
            if entry.event in (*_AGAIN_IN, "set") and _as_said(entry) == _as_said(line)
            and abs(line.when - entry.when) >= _AGAIN_IN.get(entry.event, timedelta(0))
        ]  # fmt: skip
    return found


def _as_said(entry: Entry) -> tuple[object, ...]:
    """What an entry says, whenever it was and whatever was remarked."""
    return entry.event, entry.subject, entry.other, entry.amount, entry.unit


def _place(tank: str) -> str:
    return f"in tank {tank}" if tank else "in the room"


def _or_mistaken(entry: Entry, known: Sequence[Entry]) -> str:
    """How to take back the count that an entry does not fit to, where one was noted; or a loss, of
    so many that it may be why a count does not fit.
    """
    if entry.event not in ("count", *LEAVING, "move", "free_swimming"):
        return ""
    counted = [e for e in known if (e.event, e.subject) == ("count", entry.subject)]
    since = counted[-1].when if counted else datetime.min.replace(tzinfo=UTC)
    losses = [e for e in known if e.event in LEAVING and e.subject == entry.subject
              and e.when >= since]  # fmt: skip
    most = max(losses, key=lambda e: e.amount or 0.0, default=None)
    many = most is not None and (most.amount or 0.0) >= (entry.amount or 0.0) / 2
    if most is not None and many and entry.event in ("count", "free_swimming"):
        lost = f"{most.event} {most.amount or 0.0:,.0f}"
        return f"; if '{lost}' is the mistake: journal undo --line {most.line}"
    if not counted:
        return ""
    return f"; if that count is the mistake: journal undo --line {counted[-1].line}"


def portions_of(task: HarvestWorms, kind: WormKind) -> float:
    """How many swipes or draws a harvest was told as.

    Who has counted a swipe since takes as many as were told, though they are reckoned to be more.
    """
    told, digits = (task.draws, 1) if task.swipes is None else (task.swipes, 2)
    now = round(task.mg / kind.values["portion_mg"], 4)
    return now if told is None or round(now, digits) == told else told


def made_before(entries: Sequence[Entry], found: Present) -> list[Entry]:
    """The splits and starts, told and not noted, that entries show to have been made.

    Worms are taken only of a culture that was set up. Its beginning is noted with what is noted
    of it, and so neither a lost record nor a later skip leaves a line about what never was.
    """
    begun = [
        as_entry(t) for t in (*found.presumed, *found.in_hand)
        if isinstance(t.task, Split | Start) and t.task.id not in found.fates.answer
    ]  # fmt: skip
    told = {begins(e): e for e in begun}
    noted = {(e.event, e.subject, e.other) for e in entries}
    made: list[Entry] = []
    shown = [e for e in entries if e.event in _SHOWS_CULTURE]
    while shown:
        entry = shown.pop()
        mine = told.pop(entry.subject, None)
        if (
            mine is not None and mine.when <= entry.when
            and (mine.event, mine.subject, mine.other) not in noted
        ):  # fmt: skip
            made.insert(0, mine)
            shown.append(mine)
    return made


def names_of(room: Room, *things: str) -> list[str]:
    """The names of some kinds of things in a room, also of broods that rest or are only planned."""
    named: dict[str, Iterable[str]] = {
        "room": ["room"],
        "tank": [tank.name for tank in room.tanks],
        "brood": [brood.name for brood in room.every_brood],
        "culture": [culture.name for culture in room.cultures],
        "vessel": [vessel.name for vessel in room.vessels],
        "stock": stock_names(room),
    }
    return [name for thing in things for name in named[thing]]


def _refuse_coming(room: Room, name: str) -> None:
    """Refuses the name of a culture that is still to be bought.

    Raises:
        RangeError: it is.
    """
    for culture in room.coming:
        if culture.name == name:
            day, said = day_text(culture.started, room.units), shlex.quote(name)
            raise RangeError(
                f"{name} is not there yet: it is to come on {day}. For another day: livefood change"
                f" culture {said} planned=DAY; once it is on its medium: livefood journal start"
                f" {said} {culture.kind.name}"
            )


def refuse_known(room: Room, new: str) -> None:
    """Refuses a name that something of the room has, since an entry could mean either.

    Raises:
        RangeError: what has it.
    """
    if new == "room":
        raise RangeError("'room' is the room itself in the journal; name the new one otherwise")
    for what in NAMED:
        if new in names_of(room, what):
            raise RangeError(f"there is a {what} {new} already; name the new one otherwise")


def tank_of(name: str, room: Room) -> str:
    """A tank by its name, or by that of the brood that it holds alone.

    Raises:
        RangeError: it holds others besides.
    """
    tank = next((b.tank for b in room.every_brood if b.name == name), name)
    if name in names_of(room, "tank") or tank == name:
        return name
    there = [b.name for b in room.every_brood if b.tank == tank]
    if there == [name]:
        return tank
    raise RangeError(f"{name} is in {tank} with others, which this is noted of as a whole: {tank}")


def mixed_in(name: str, room: Room) -> list[Brood]:
    """The broods of one kind that share a tank of this name: who looks into it cannot tell them
    apart. None where there is one alone, or others that look otherwise.
    """
    if name in names_of(room, "brood"):
        return []
    there = [brood for brood in room.broods if brood.tank == name and brood.count > 0]
    alike = len({brood.fry_class.name for brood in there}) == 1
    return there if alike and len(there) > 1 else []


def of_each(entry: Entry, broods: Sequence[Brood]) -> list[Entry]:
    """What was noted of several broods together, of each its part by number: whole fish, none left
    over.
    """
    if entry.amount is None:
        return [entry._replace(subject=brood.name) for brood in broods]
    total = sum(brood.count for brood in broods)
    exact = [entry.amount * brood.count / total for brood in broods]
    parts = [math.floor(part + 1e-9) for part in exact]
    rest = sorted(range(len(parts)), key=lambda i: parts[i] - exact[i])
    for i in rest[: round(entry.amount) - sum(parts)]:
        parts[i] += 1
    return [
        entry._replace(subject=brood.name, amount=float(part))
        for brood, part in zip(broods, parts, strict=True)
        if part or entry.event not in LEAVING
    ]  # fmt: skip


def brood_of(name: str, room: Room) -> str:
    """A brood by its name, or by that of the tank that holds it alone.

    Raises:
        RangeError: the tank holds several broods, or none.
    """
    if name in names_of(room, "brood") or name not in names_of(room, "tank"):
        return name
    there = [b.name for b in room.every_brood if b.tank == name]
    if len(there) == 1:
        return there[0]
    if not there:
        raise RangeError(f"tank {name} holds no brood")
    raise RangeError(f"tank {name} holds {' and '.join(there)}: say which")
