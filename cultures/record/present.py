"""What is: the room as stated, noted, and told and not contradicted, at a moment.

The past is never planned again. A told task that is over and that no entry tells of is taken as
done as it was told; one that has begun and is not over is in hand: the room is planned on as if
it were done, and it stands on every screen as it was told.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from attrs import evolve, frozen

from cultures.journal.absences import read_away
from cultures.journal.entries import Entry, Journal, journal_path, read_journal
from cultures.learning.learn import Learned, learn
from cultures.needs.need import Round, round_after
from cultures.record.advice import open_advice
from cultures.record.bare import bare_spans, still_bare
from cultures.record.carried_out import (
    by_their_tanks,
    of_nothing,
    somebody_there,
    steps_of,
    taken_as_done,
    without_mistakes,
)
from cultures.record.fates import Fate, Fates, fates, is_no_harvest, subjects_of
from cultures.record.in_hand import (
    OF_BROODS,
    as_hatched,
    as_it_is,
    asked_from,
    begun_rounds,
    fed_today,
    fed_until,
    few_hatched,
    lost_foods,
    still_asked,
    tasks_in_hand,
    uprooted,
    waiting,
    without_foods,
)
from cultures.record.left_file import with_earlier
from cultures.record.overtaken import hatched_otherwise, overtaken, untouched, worth_a_word
from cultures.record.paper import by_paper
from cultures.record.silence import silence_text, silent_rounds
from cultures.record.store import Record, read_record, record_path
from cultures.room.room import Room, RunningHatch, Told
from cultures.tasks.task import (
    Arrival,
    Buy,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Split,
    SwitchFood,
    Work,
)
from cultures.tasks.told import EARLY, LATE, SOAKED, ToldTask, Way
from cultures.words.moments import hours, spoken_day, spoken_when
from cultures.words.tasks import strength
from cultures.words.text import listed

_RETOLD = (Buy, Arrival, *OF_BROODS)
#: Of what is over is asked for so long.
ASKED_FOR = timedelta(days=14)
#: Two clocks that show the same time are no further apart (assumption).
_SAME_CLOCK = timedelta(minutes=2)
#: A clock that is set wrongly, or to another zone, is no further off (assumption).
_WRONG_CLOCK = timedelta(hours=24)
#: So many lines that are to come are named.
_MOST_AHEAD = 3
#: Longer than this without a word is said.
_QUIET = timedelta(hours=36)


@frozen(eq=False)
class Present:
    """A room at a moment, and the fates behind it.

    Attributes:
        room: as planned from: what is in hand counts as done. entries: standing ones up to now.
        learned: what was learned from the entries, with all that was done to each culture.
        presumed: told tasks that are over, that no entry tells of, and that can have been done, by
            time.
        in_hand: begun and not over, answered ones of a round among them.
        contradicted: ids of told tasks that cannot have been done as told.
        reopened: rounds that had begun and are planned anew.
        stated: the room of the file alone. torn: that the journal ends in a torn line, or "".
    """

    room: Room
    now: datetime
    record: Record
    fates: Fates
    entries: tuple[Entry, ...]
    learned: Learned
    presumed: tuple[ToldTask, ...]
    in_hand: tuple[ToldTask, ...]
    contradicted: frozenset[str]
    reopened: frozenset[datetime]
    stated: Room
    torn: str = ""

    @property
    def undone(self) -> frozenset[str]:
        """Told tasks that were not done as they stood: told no longer or noted as not done, not to
        be done any more by what was noted, done on a day before, or harvests of what failed.
        """
        answer, of = self.fates.answer, self.fates.of
        earlier = {
            key for key, t in self.record.tasks.items()
            if key in answer and not isinstance(t.task, Feed)
            and (is_no_harvest(t.task, answer[key])
                 or answer[key].when.astimezone(self.room.timezone).date() < t.task.at.date())
        }  # fmt: skip
        failed = {key for key, fate in of.items() if fate in (Fate.SKIPPED, Fate.LAPSED)}
        return self.record.withdrawn | self.contradicted | failed | earlier

    def open_questions(self, *, on_paper: bool = False) -> list[ToldTask]:
        """What is taken as done and of which nobody was asked yet, in the order of `due`.

        Args:
            on_paper: also that of which only a sheet of this day asked, which is printed again.
        """
        asked = self.record.asked
        if on_paper:
            today = self.now.date()
            asked -= {key for key, at in self.record.on_paper.items() if at.date() == today}
        mine = {t.task.id for t in self.unnoted()} - asked
        return [t for t in self.due() if t.task.id in mine]

    def just_asked(self) -> list[ToldTask]:
        """What is taken as done and was asked about on a screen, until it is answered or the round
        after it is over.

        Who glances, feeds, and sits down to answer finds how. Not of what a sheet asks, which has
        boxes for it.
        """
        gone = self.record.left | self.record.on_paper.keys()
        return [
            t for t in self.unnoted()
            if t.task.id in self.record.asked and t.task.id not in gone
            and self.now < round_after(self.room, hours(t.due_at)).at + LATE
        ]  # fmt: skip

    def unanswered(self) -> list[ToldTask]:
        """What is taken as done, of which the page asks until it is answered or left at that."""
        return [t for t in self.unnoted() if t.task.id not in self.record.left]

    def unnoted(self) -> list[ToldTask]:
        """Work of the last two weeks that is taken as done because it was told, by time."""
        since = self.now - ASKED_FOR
        return [t for t in self.presumed if t.task.at >= since]

    def due(self) -> list[ToldTask]:
        """Told work that may be ticked off: taken as done, or begun or soon, and not answered.

        What can no longer be done, since something else was noted, is not among it.
        """
        ready = [
            t for t in self.record.tasks.values()
            if t.task.at <= self.now + EARLY and t.over_at > self.now and isinstance(t.task, Work)
            and t.task.id not in self.fates.answer and self._may_be(t)
        ]  # fmt: skip
        found = [*self.unnoted(), *ready]
        return sorted(found, key=lambda t: t.order)

    def reminders(self) -> list[ToldTask]:
        """What was told and is asked for until it is noted in its own word, once its time comes,
        though it was told for a later day since.

        Of what is on order that is, until all of it is there; of counts and sortings not those that
        wait for others.
        """
        mine = {
            t.task.id.partition("#")[0] if isinstance(t.task, Arrival) else key: t
            for key, t in self.record.tasks.items()
            if isinstance(t.task, _RETOLD)
            and (key not in self.fates.answer or isinstance(t.task, Arrival))
            and self.now - ASKED_FOR < t.task.at
            and asked_from(t) <= self.now + EARLY
        }
        waits = waiting(self.record, self.fates, self.room, self.now - ASKED_FOR)
        still = (still_asked(t, self.room) for t in mine.values() if t.task.id not in waits)
        return sorted((t for t in still if t is not None), key=lambda t: t.order)

    def asked_of_broods(self) -> list[ToldTask]:
        """What was told to be done with broods and is asked for until it is noted, of a later day
        too.
        """
        mine = (
            still_asked(t, self.room) for key, t in self.record.tasks.items()
            if key not in self.fates.answer and isinstance(t.task, OF_BROODS)
            and self.now - ASKED_FOR < t.task.at
        )  # fmt: skip
        return [t for t in mine if t is not None]

    def about(self, event: str, subject: str) -> list[ToldTask]:
        """What was told of a subject and an entry of an event is about now, by time."""
        mine = (t for t in self.record.tasks.values()
                if event in t.task.answered_by and subject in subjects_of(t)
                and t.opens <= self.now < t.closes)  # fmt: skip
        return sorted(mine, key=lambda t: t.task.at)

    def silent(self) -> list[Round]:
        """The rounds over, two in a row or more, of which nothing was told or noted."""
        return silent_rounds(self.room, self.entries, self.record, self.now)

    def feedings(self, when: datetime) -> list[ToldTask]:
        """Told feedings that an entry of a moment may be about, the nearest first."""
        mine = (t for t in self.record.tasks.values()
                if isinstance(t.task, Feed) and t.opens <= when < t.closes)  # fmt: skip
        return sorted(mine, key=lambda t: abs(t.task.at - when))

    def _may_be(self, told: ToldTask) -> bool:
        """Whether a told task that is not over can be done as told, by what is known now."""
        task = told.task
        if task.id in self.contradicted or not somebody_there(self.room, told):
            return False
        if any(t.task.id == task.id for t in self.in_hand):
            return True
        if isinstance(task, HarvestHatch):
            return any(h.vessel == task.subject and h.is_of(told) for h in self.room.hatches)
        if isinstance(task, HarvestWorms | Split | Retire):
            return any(c.name == task.subject for c in self.room.cultures)
        return True


def present_of(room: Room, room_path: Path, now: datetime, *, pending: bool = True) -> Present:
    """The room of a file with journal and record beside it, at ``now``.

    Args:
        pending: take what is in hand as done, as a plan does; else only what is over.

    Raises:
        FileProblemError: a file cannot be read.
        BadFileError: lines of the journal cannot be understood.
    """
    journal = read_journal(journal_path(room_path), room.timezone)
    record = read_record(record_path(room_path), room.timezone, now, journal)
    entries = journal.effective()
    room = with_earlier(room, room_path, entries, now)
    found = present(room, entries, record, now, pending=pending)
    notes = []
    if record.damaged:
        lines = "1 line" if record.damaged == 1 else f"{record.damaged} lines"
        notes.append(
            f"{lines} of {record_path(room_path).name} cannot be read and"
            f" {'is' if record.damaged == 1 else 'are'} left out: what was told then and not noted"
            " does not count as done."
        )
    said = ahead_words(noted_ahead(entries, now), now, room)
    ahead = (f"Noted for later than now: {said}.",) if said else ()
    known = evolve(found.room, notes=(*notes, *ahead, *found.room.notes), noted_ahead=ahead)
    return evolve(found, room=known, torn=torn_words(journal))


def torn_words(journal: Journal) -> str:
    """That a journal ends in a torn line, said wherever it is read; "" where it does not."""
    if not journal.torn:
        return ""
    return (
        f"{journal.path.name} ends in a torn line, not used and set aside at the next entry:"
        f" '{journal.torn[:60]}'. Note it again if it matters."
    )


def noted_ahead(entries: Sequence[Entry], now: datetime) -> list[Entry]:
    """Lines that are noted for a time to come, as somebody notes them whose clock is fast."""
    return [e for e in entries if now + _SAME_CLOCK < e.when < now + _WRONG_CLOCK]


def ahead_words(lines: Sequence[Entry], now: datetime, room: Room) -> str:
    """Which lines do not count yet as their time is to come, and what to do; "" without any."""
    if not lines:
        return ""
    named = listed([
        f"line {e.line} ({e.event} {e.subject}) for"
        f" {spoken_when(e.when.astimezone(room.timezone), now.astimezone(room.timezone))}"
        for e in lines[:_MOST_AHEAD]
    ])  # fmt: skip
    named += f" and {len(lines) - _MOST_AHEAD} more" if lines[_MOST_AHEAD:] else ""
    them, undo = ("it", str(lines[0].line)) if not lines[1:] else ("each", "LINE")
    return (
        f"{named}, which is to come, so {them} does not count yet: set the clock of who noted it"
        f" right, and livefood journal undo --line {undo}, or wait"
    )


def present(
    room: Room, entries: Sequence[Entry], record: Record, now: datetime, *, pending: bool = True
) -> Present:
    """The room of a file with entries and a record, at ``now``.

    Args:
        entries: standing ones by time, as ``Journal.effective`` gives them.
    """
    standing = [e for e in entries if e.when <= now]
    read = by_their_tanks(record, standing, room)
    stated = room
    room = with_absences(room, standing)
    record, known = without_mistakes(read, fates(read, standing, now), standing, room, now)
    mistakes = read.tasks.keys() - record.tasks.keys()
    room = evolve(room, bare=bare_spans(still_bare(record, standing, known, room), now))
    over = taken_as_done(record, known, room)

    def carried_out(begun: frozenset[datetime]) -> tuple[list[ToldTask], Learned]:
        """What is in hand where these rounds have begun, and the room once it is done."""
        mine = [t for t in tasks_in_hand(record, known, begun, now) if somebody_there(room, t)]
        open_ = [t for t in mine if isinstance(t.task, Work) and t.task.id not in known.answer]
        taken = [*over, *open_] if pending else over
        return mine, learn(room, steps_of(standing, known, taken, now), now)

    begun = begun_rounds(record, known, now)
    in_hand, learned = carried_out(begun)
    cannot = learned.replayed.contradicted | learned.replayed.unfed | learned.replayed.missed
    reopened = {
        t.round_at for t in in_hand
        if t.task.id in cannot and t.round_at is not None and t.round_at > now
    }  # fmt: skip
    reopened |= uprooted(in_hand, standing, learned.replayed.room, now)
    changed = overtaken(in_hand, known, learned.replayed.room)
    hatched = hatched_otherwise(in_hand, known, learned.replayed.room.held)
    reopened |= (changed.keys() | hatched.keys()) & untouched(in_hand, known, room, now)
    if reopened:  # what was told for a round cannot be any more, and there is time to plan it anew
        begun -= reopened
        in_hand, learned = carried_out(begun)
    state, to_buy = learned.replayed, _to_buy(record, known, standing, now)
    not_done = state.contradicted | of_nothing((*over, *in_hand), state.unfed)
    presumed = sorted((t for t in over if t.task.id not in not_done), key=lambda t: t.task.at)
    lost = lost_foods(in_hand, known, state, standing)
    in_hand = [
        without_foods(
            as_it_is(as_hatched(t, hatched), state, standing, known.tanks.get(t.task.id, ())),
            lost.get(t.task.at, ()),
        )
        for t in in_hand
        if t.task.id not in state.contradicted
    ]  # fmt: skip
    purchases = {item: buy for item, (buy, _) in to_buy.items()}
    supplied = evolve(state.room, to_buy=purchases)
    waits = waiting(record, known, state.room, now - ASKED_FOR)
    in_hand = [
        each for t in in_hand
        if t.task.id not in waits and (each := still_asked(t, supplied)) is not None
    ]  # fmt: skip
    dry_way, dry_strength = _dry_way(record, room, now)
    silent = silent_rounds(state.room, standing, record, now)
    unspoken = (silence_text(silent, now),) if silent else ()
    found = evolve(
        state.room,
        hatches=tuple(_told_harvest(h, record, known, now) for h in state.room.hatches),
        not_before=_not_before(state.room, in_hand, known),
        in_hand=tuple(in_hand),
        lost_foods=lost,
        overtaken={at: worth_a_word(of) for at, of in changed.items() if at not in reopened},
        answered=known.answer,
        few_hatched=dict(few_hatched(record, known)),
        fed_tanks=known.tanks,
        fed_today=tuple(fed_today(record, known, in_hand, room, now)),
        fed_until=fed_until(record, standing, known, begun, state.room, now),
        unfed=_unfed(record, known, now),
        dry_way=dry_way,
        dry_strength=dry_strength,
        settled=_settled(record, known, in_hand, reopened, now) | mistakes,
        unanswered=_unanswered(record, known, waits, now),
        put_off={key: t.came_at for key, t in record.tasks.items() if t.came_at is not None},
        put_to={key: to for key, to in record.put_to.items() if to > now},
        to_buy=purchases,
        to_buy_since={item: since for item, (_, since) in to_buy.items()},
        advised=open_advice(record, standing, state.room),
        told=_still_told(record, known, state.room, now),
        told_rounds=tuple(
            t
            for key, t in record.tasks.items()
            if isinstance(t.task, Feed) and t.task.at > now and key not in known.answer
        ),
        by_paper=by_paper(record, known, state, room, begun, now),
        notes=(*state.room.notes, *(unspoken or _quiet(room, standing, record, now))),
        unspoken=unspoken,
    )
    return Present(
        found, now, record, known, tuple(standing), learned, tuple(presumed), tuple(in_hand),
        not_done, frozenset(reopened), stated,
    )  # fmt: skip


def with_absences(room: Room, entries: Sequence[Entry]) -> Room:
    """The same with what entries say of days away, which goes before the file; the last first."""
    noted = [read_away(e.other) for e in reversed(entries) if e.event == "away"]
    return evolve(room, away=(*noted, *room.away))


def _dry_way(record: Record, room: Room, now: datetime) -> tuple[Way | None, float | None]:
    """How dry food was told to be measured at the keeper's last round that has come, and how many
    times as strong as usual it was told to be soaked last.
    """
    come = [
        (told.task.at, line.way, strength(line)) for told in record.tasks.values()
        if isinstance(told.task, Feed) and told.task.at <= now
        and room.away_at(told.task.at) is None
        for line in told.lines if line.way is not None and line.amount > 0
    ]  # fmt: skip
    soaked = [(at, strong) for at, way, strong in come if way == SOAKED]
    return max(come)[1] if come else None, max(soaked)[1] if soaked else None


def _unfed(record: Record, known: Fates, now: datetime) -> frozenset[datetime]:
    """Rounds that were told, are not over, and of which it is noted that nobody feeds: they are not
    planned anew.
    """
    return frozenset(
        told.task.at for key, told in record.tasks.items()
        if isinstance(told.task, Feed) and told.over_at > now and known.of[key] is Fate.SKIPPED
    )  # fmt: skip


def _settled(
    record: Record, known: Fates, in_hand: Iterable[ToldTask], reopened: Container[datetime | None],
    now: datetime,
) -> frozenset[str]:  # fmt: skip
    """Ids not given to another task any more: answered, over, or of work whose time has come."""
    mine = {t.task.id for t in in_hand}
    return frozenset(
        key for key, told in record.tasks.items()
        if key not in mine
        and (
            key in known.answer
            or (told.task.at <= now and isinstance(told.task, Work)
                and not (told.round_at in reopened and told.may_change(now)))
            or (told.over_at <= now and not isinstance(told.task, _RETOLD))
        )
    )  # fmt: skip


def _unanswered(
    record: Record, known: Fates, waits: Container[str], now: datetime
) -> dict[str, datetime]:
    """For when first and main foods, counts, sortings, lids and moves were told, unless noted.

    What waits for others is planned as if it had not been told.
    """
    return {
        key: told.task.at for key, told in record.tasks.items()
        if isinstance(told.task, (FirstFood, SwitchFood, *OF_BROODS)) and key not in known.answer
        and now < told.task.at + ASKED_FOR and key not in waits
    }  # fmt: skip


def _was_known(entry: Entry, told: ToldTask) -> bool:
    """Whether something was told after an entry was noted, for whatever time; by that time where
    its line is not known.
    """
    if told.line is None or entry.line == 0:
        return entry.when < told.told_at
    return entry.line <= told.line


def _to_buy(
    record: Record, known: Fates, entries: Sequence[Entry], now: datetime
) -> dict[str, tuple[Buy, date]]:
    """Purchases that were told and the day since when, by item; what was noted of a stock since
    makes them anew.
    """
    noted: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.event in ("bought", "ordered", "used", "count"):
            noted.setdefault(entry.subject, []).append(entry)
    found = {}
    for key, told in sorted(record.tasks.items(), key=lambda row: row[1].told_at):
        if (
            isinstance(told.task, Buy) and key not in known.answer and not told.void
            and now < told.task.at + ASKED_FOR
        ):  # fmt: skip
            of_stock = [entry for x in subjects_of(told) for entry in noted.get(x, ())]
            stocks, by = [entry.when for entry in of_stock], told.task.by
            first = max([told.first_at or told.told_at, *stocks]).date()
            if all(_was_known(entry, told) for entry in of_stock):
                found[told.task.item] = told.task, by if by < now.date() else first
    return found


def _still_told(record: Record, known: Fates, room: Room, now: datetime) -> tuple[Told, ...]:
    """Settings and splits that lie ahead, as the price of moving one counts them.

    A split for a spawning that is not to come any more is none of them.
    """
    found = []
    hoped, certain = {b.name for b in room.hoped}, {b.name for b in room.broods}
    for key, last in record.tasks.items():
        told = last.looked or last
        task = told.task
        if task.at <= now or key in known.answer or last.void:
            continue
        if isinstance(task, SetHatch) and told.harvest_at is not None:
            found.append(Told(task.subject, task.at, told.harvest_at, grams=task.cysts_g))
        elif isinstance(task, Split) and told.kind in room.kinds:
            spawns = {name for name, _ in task.spawns}
            if not spawns or spawns & (hoped | certain):
                found.append(Told(told.kind, task.at, hoped=bool(spawns & hoped)))
    return tuple(sorted(found, key=lambda t: (t.at, t.name)))


def _not_before(room: Room, in_hand: Iterable[ToldTask], known: Fates) -> dict[str, datetime]:
    """When vessels may be set at the soonest: after the draw-off that is in hand, too."""
    found = dict(room.not_before)
    for told in in_hand:
        task = told.task
        if isinstance(task, HarvestHatch) and task.id not in known.answer:
            found[task.subject] = max(task.until, found.get(task.subject, task.until))
    return found


def _told_harvest(hatch: RunningHatch, record: Record, known: Fates, now: datetime) -> RunningHatch:
    """A hatch with the time at which it was last told to be drawn off."""
    told = (
        t.task.at for key, t in record.tasks.items()
        if isinstance(t.task, HarvestHatch) and t.task.subject == hatch.vessel
        and t.task.at > now and key not in known.answer and not t.void and hatch.is_of(t)
    )  # fmt: skip
    at = next(told, None)
    if at is None:
        return hatch
    return evolve(hatch, harvest_at=at, told_today=at.date() == now.astimezone(at.tzinfo).date())


def _quiet(room: Room, entries: Sequence[Entry], record: Record, now: datetime) -> Iterable[str]:
    """One line where nothing was told or noted for longer than a day, or nothing told at all."""
    if entries and record.last is None and not record.damaged:
        yield (
            "There is no record of what was told before: only what the journal notes counts as"
            " done. Note hatches that stand, and weigh cysts, salt and dry food. From now on"
            " what you are shown counts too."
        )
    moments = [e.when for e in entries[-1:]] + ([record.last] if record.last else [])
    moments += [t.task.at for t in record.tasks.values() if t.task.at <= now]
    last = max(moments, default=room.stated_at or room.local(room.as_of, room.awake[0]))
    if now - last < _QUIET:
        return
    day = spoken_day(last.astimezone(room.timezone), now)
    of_file = "" if moments else ", the day of the room file"
    yield (
        f"Nothing was told or noted since {day}{of_file}: cultures are taken to have been left"
        " alone, bottles and stocks to be as they were. Note what was done, or set as_of and the"
        " counts in the room file."
    )
