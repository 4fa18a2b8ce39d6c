"""What is: the room as stated, noted, and told and not contradicted, at a moment.

The past is never planned again. A told task that is over and that no entry tells of is taken as
done as it was told; one that has begun and is not over is in hand: the room is planned on as if
it were done, and it stands on every screen as it was told.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from operator import itemgetter
from pathlib import Path

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.journal.absences import read_away
from cultures.journal.entries import Entry, journal_path, read_journal
from cultures.journal.events import LEAVING
from cultures.learning.learn import Learned, learn
from cultures.record.advice import open_advice
from cultures.record.bare import bare_spans, still_bare
from cultures.record.fates import Fate, Fates, fates, is_no_harvest, subjects_of
from cultures.record.left_file import with_earlier
from cultures.record.overtaken import hatched_otherwise, overtaken, untouched, worth_a_word
from cultures.record.store import Record, read_record, record_path
from cultures.replay.replay import Replayed, Step, noted_steps
from cultures.room.room import Room, RunningHatch, Told
from cultures.tasks.task import (
    HELPERS_WORK,
    OF_ROUND,
    Arrival,
    Buy,
    Count,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Lid,
    MoveOn,
    Retire,
    SetHatch,
    Sort,
    Split,
    Start,
    Work,
    rank_of,
)
from cultures.tasks.told import EARLY as EARLY
from cultures.tasks.told import LATE, SOAKED, FeedLine, ToldTask, Way
from cultures.words.moments import spoken_day
from cultures.words.tasks import thinner

#: No round is begun so long before its time.
_SOONEST = timedelta(hours=3)
#: Answers to these tell that a round was begun before its time.
_BEGINS_ROUND = (HarvestWorms, Feed)
#: What is told again until it is done.
_OF_BROODS = (Count, Sort, Lid, MoveOn)
_RETOLD = (Buy, Arrival, *_OF_BROODS)
#: Of what is over is asked for so long.
ASKED_FOR = timedelta(days=14)
#: Entries among which those of a round in hand are.
_RECENT = 200
#: A hatch that gave less than this share of what was told of it is said to have given few.
_FEW = 0.25
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
        stated: the room of the file alone.
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

    def open_questions(self) -> list[tuple[int, ToldTask]]:
        """What is taken as done and of which nobody was asked yet, with its number in `due`."""
        mine = {t.task.id for t in self.unnoted()} - self.record.asked
        due = self.due()
        return [(n, t) for n, t in enumerate(due, start=1) if t.task.id in mine]

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

        Of what is on order that is, until all of it is there.
        """
        mine = {
            t.task.id.partition("#")[0] if isinstance(t.task, Arrival) else key: t
            for key, t in self.record.tasks.items()
            if isinstance(t.task, _RETOLD)
            and (key not in self.fates.answer or isinstance(t.task, Arrival))
            and self.now - ASKED_FOR < t.task.at
            and _asked_from(t) <= self.now + EARLY
        }
        still = (_still_asked(t, self.room) for t in mine.values())
        return sorted((t for t in still if t is not None), key=lambda t: t.order)

    def asked_of_broods(self) -> list[ToldTask]:
        """What was told to be done with broods and is asked for until it is noted, of a later day
        too.
        """
        mine = (
            _still_asked(t, self.room) for key, t in self.record.tasks.items()
            if key not in self.fates.answer and isinstance(t.task, _OF_BROODS)
            and self.now - ASKED_FOR < t.task.at
        )  # fmt: skip
        return [t for t in mine if t is not None]

    def about(self, event: str, subject: str) -> list[ToldTask]:
        """What was told of a subject and an entry of an event is about now, by time."""
        mine = (t for t in self.record.tasks.values()
                if event in t.task.answered_by and subject in subjects_of(t)
                and t.opens <= self.now < t.closes)  # fmt: skip
        return sorted(mine, key=lambda t: t.task.at)

    def feedings(self, when: datetime) -> list[ToldTask]:
        """Told feedings that an entry of a moment may be about, the nearest first."""
        mine = (t for t in self.record.tasks.values()
                if isinstance(t.task, Feed) and t.opens <= when < t.closes)  # fmt: skip
        return sorted(mine, key=lambda t: abs(t.task.at - when))

    def _may_be(self, told: ToldTask) -> bool:
        """Whether a told task that is not over can be done as told, by what is known now."""
        task = told.task
        if task.id in self.contradicted or not _somebody_there(self.room, told):
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
    if journal.torn:
        notes.append(
            f"{journal.path.name} ends in a torn line, not used and set aside at the next entry:"
            f" '{journal.torn[:60]}'. Note it again if it matters."
        )
    if record.damaged:
        lines = "1 line" if record.damaged == 1 else f"{record.damaged} lines"
        notes.append(
            f"{lines} of {record_path(room_path).name} cannot be read and"
            f" {'is' if record.damaged == 1 else 'are'} left out: what was told then and not noted"
            " does not count as done."
        )
    known = evolve(found.room, notes=(*notes, *found.room.notes))
    return evolve(found, room=known)


def present(
    room: Room, entries: Sequence[Entry], record: Record, now: datetime, *, pending: bool = True
) -> Present:
    """The room of a file with entries and a record, at ``now``.

    Args:
        entries: standing ones by time, as ``Journal.effective`` gives them.
    """
    standing = [e for e in entries if e.when <= now]
    read = _by_their_tanks(record, standing, room)
    record, known = _without_mistakes(read, fates(read, standing, now), standing, now)
    mistakes = read.tasks.keys() - record.tasks.keys()
    stated = room
    room = with_absences(room, standing)
    room = evolve(room, bare=bare_spans(still_bare(record, standing, known, room), now))
    over = taken_as_done(record, known, room)

    def carried_out(begun: frozenset[datetime]) -> tuple[list[ToldTask], Learned]:
        """What is in hand where these rounds have begun, and the room once it is done."""
        mine = [t for t in _in_hand(record, known, begun, now) if _somebody_there(room, t)]
        open_ = [t for t in mine if isinstance(t.task, Work) and t.task.id not in known.answer]
        taken = [*over, *open_] if pending else over
        return mine, learn(room, steps_of(standing, known, taken, now), now)

    begun = _begun_rounds(record, known, now)
    in_hand, learned = carried_out(begun)
    cannot = learned.replayed.contradicted | learned.replayed.unfed | learned.replayed.missed
    reopened = {
        t.round_at for t in in_hand
        if t.task.id in cannot and t.round_at is not None and t.round_at > now
    }  # fmt: skip
    reopened |= _uprooted(in_hand, standing, learned.replayed.room, now)
    changed = overtaken(in_hand, known, learned.replayed.room)
    hatched = hatched_otherwise(in_hand, known, learned.replayed.room.held)
    reopened |= (changed.keys() | hatched.keys()) & untouched(in_hand, known, room, now)
    if reopened:  # what was told for a round cannot be any more, and there is time to plan it anew
        begun -= reopened
        in_hand, learned = carried_out(begun)
    state, to_buy = learned.replayed, _to_buy(record, known, standing, now)
    not_done = state.contradicted | _of_nothing((*over, *in_hand), state.unfed)
    presumed = sorted((t for t in over if t.task.id not in not_done), key=lambda t: t.task.at)
    lost = _lost_foods(in_hand, known, state, standing)
    in_hand = [
        _without(
            _as_it_is(_as_hatched(t, hatched), state, standing, known.tanks.get(t.task.id, ())),
            lost.get(t.task.at, ()),
        )
        for t in in_hand
        if t.task.id not in state.contradicted
    ]  # fmt: skip
    purchases = {item: buy for item, (buy, _) in to_buy.items()}
    supplied = evolve(state.room, to_buy=purchases)
    in_hand = [each for t in in_hand if (each := _still_asked(t, supplied)) is not None]
    dry_way, dry_thin = _dry_way(record, room, now)
    found = evolve(
        state.room,
        hatches=tuple(_told_harvest(h, record, known, now) for h in state.room.hatches),
        not_before=_not_before(state.room, in_hand, known),
        in_hand=tuple(in_hand),
        lost_foods=lost,
        overtaken={at: worth_a_word(of) for at, of in changed.items() if at not in reopened},
        answered=known.answer,
        few_hatched=dict(_few_hatched(record, known)),
        fed_tanks=known.tanks,
        fed_today=tuple(_fed_today(record, known, in_hand, room, now)),
        fed_until=_fed_until(record, standing, known, begun, state.room, now),
        dry_way=dry_way,
        dry_thin=dry_thin,
        settled=_settled(record, known, in_hand, reopened, now) | mistakes,
        unanswered=_unanswered(record, known, now),
        put_off={key: t.came_at for key, t in record.tasks.items() if t.came_at is not None},
        to_buy=purchases,
        to_buy_since={item: since for item, (_, since) in to_buy.items()},
        advised=open_advice(record, standing, state.room),
        told=_still_told(record, known, state.room, now),
        told_rounds=tuple(
            t
            for key, t in record.tasks.items()
            if isinstance(t.task, Feed) and t.task.at > now and key not in known.answer
        ),
        notes=(*state.room.notes, *_quiet(room, standing, record, now)),
    )
    return Present(
        found, now, record, known, tuple(standing), learned, tuple(presumed), tuple(in_hand),
        not_done, frozenset(reopened), stated,
    )  # fmt: skip


def with_absences(room: Room, entries: Sequence[Entry]) -> Room:
    """The same with what entries say of days away, which goes before the file; the last first."""
    noted = [read_away(e.other) for e in reversed(entries) if e.event == "away"]
    return evolve(room, away=(*noted, *room.away))


def _by_their_tanks(record: Record, entries: Iterable[Entry], room: Room) -> Record:
    """What was told of a tank that the file has no more, of the one in which it has its brood.

    But for rounds of which something was noted under the old name: they stay as they were told.
    """
    tanks, homes = {tank.name for tank in room.tanks}, {b.name: b.tank for b in room.every_brood}
    noted = [e for e in entries if e.event in ("fed", "skip") and e.subject not in tanks]

    def home(line: FeedLine, told: ToldTask) -> str:
        if line.tank in tanks or any(
            e.subject == line.tank and told.opens <= e.when < told.closes for e in noted
        ):
            return line.tank
        return homes.get(line.brood, line.tank)

    moved = {
        key: evolve(told, lines=tuple(evolve(x, tank=home(x, told)) for x in told.lines))
        for key, told in record.tasks.items()
        if any(home(x, told) != x.tank for x in told.lines)
    }
    return evolve(record, tasks={**record.tasks, **moved}) if moved else record


def _without_mistakes(
    record: Record, known: Fates, entries: Sequence[Entry], now: datetime
) -> tuple[Record, Fates]:
    """Record and fates without what was told on a mistake that was taken back while it was in hand.

    It is as a look had told it before; what was told on nothing else, and is not noted, is not to
    be done.
    """
    mine = {key: t for key, t in record.tasks.items() if t.mistaken and key not in known.answer}
    if not mine:
        return record, known
    before = {key: t.looked for key, t in mine.items() if t.looked is not None}
    tasks = {key: t for key, t in record.tasks.items() if key not in mine}
    gone = record.withdrawn | (mine.keys() - before.keys())
    record = evolve(record, tasks={**tasks, **before}, withdrawn=gone)
    return record, fates(record, entries, now)


def _of_nothing(told: Iterable[ToldTask], unfed: Container[str]) -> frozenset[str]:
    """Ids of feedings told of nauplii alone that were not there: nobody fed them as told."""
    return frozenset(
        t.task.id for t in told
        if t.task.id in unfed and {x.food for x in t.lines if x.amount > 0} == {BRINE_SHRIMP}
    )  # fmt: skip


def _uprooted(
    in_hand: Iterable[ToldTask], entries: Iterable[Entry], room: Room, now: datetime
) -> set[datetime]:
    """Rounds ahead told before a brood of theirs was moved, or was gone."""
    here = {brood.name for brood in room.broods}
    return {
        t.round_at for t in in_hand
        if t.round_at is not None and t.round_at > now and isinstance(t.task, Feed)
        and not {line.brood for line in t.lines} <= here - _moved_since(t, entries)
    }  # fmt: skip


def _moved_since(told: ToldTask, entries: Iterable[Entry]) -> set[str]:
    """Broods that were moved after something was told."""
    return {e.subject for e in entries if e.event == "move" and e.when > told.told_at}


def taken_as_done(record: Record, known: Fates, room: Room) -> list[ToldTask]:
    """Told work that is over, that no entry tells of, and that somebody was there to do."""
    return [
        t for key, t in record.tasks.items()
        if known.of[key] is Fate.PRESUMED and isinstance(t.task, Work) and _somebody_there(room, t)
    ]  # fmt: skip


def steps_of(
    entries: Iterable[Entry], known: Fates, presumed: Iterable[ToldTask], now: datetime
) -> list[Step]:
    """What was done in the order of time: entries, and told tasks that are taken as done."""
    presumed, entries = list(presumed), list(entries)
    # Of two harvests told for one moment the one that was noted was made; and what is drawn off
    # and set anew at one moment was drawn off first.
    doubled = {(t.task.at, t.task.subject) for t in presumed if isinstance(t.task, HarvestHatch)}
    doubled |= {(e.when, e.subject) for e in entries if e.event == "set"}
    drawn: dict[str, list[ToldTask]] = {}
    for entry, harvest in known.told.items():
        if entry.event == "harvest":
            drawn.setdefault(entry.subject, []).append(harvest)
    rows: list[tuple[datetime, int, int, Step]] = []
    for step in noted_steps(entries, now):
        entry, when, first = step.entry, step.entry.when, False
        if entry.line and entry.line in known.amended:
            continue
        if known.told:  # an entry is looked up by all that it says, which takes its time
            told, when = known.told.get(entry), known.moved.get(entry, when)
            if told is not None and _drawn_for_its_round(told, when):
                when = told.task.at
            elif told is None and entry.event == "hatched":  # counted once it was drawn off
                of = (t for t in drawn.get(entry.subject, ()) if _drawn_for_its_round(t, when))
                when = next((t.task.at for t in of), when)
            made = told is not None and entry.event in ("harvest", "hatched")
            first = made and (when, entry.subject) in doubled
            step = Step(entry._replace(when=when) if when != entry.when else entry, told)
        rows.append((when, -2 if first else 0, 0, step))
    for told in presumed:
        # At one moment: what is taken out first, then what was noted, then what is made.
        first = isinstance(told.task, HarvestHatch | HarvestWorms | Feed)
        place = rank_of(told.task)
        rows.append((told.task.at, -1 if first else 1, place, Step(as_entry(told), told, True)))
    rows.sort(key=itemgetter(0, 1, 2))
    return [row[3] for row in rows]


def _drawn_for_its_round(told: ToldTask, when: datetime) -> bool:
    """Whether a hatch noted while its round was in hand was drawn off in time for it.

    Counted in peace after feeding, it is noted later than it was done.
    """
    return (
        isinstance(told.task, HarvestHatch) and told.round_at is not None
        and told.task.at < when < told.round_at + LATE
    )  # fmt: skip


def as_entry(told: ToldTask, when: datetime | None = None) -> Entry:
    """The entry that says that a task was done as told, at its time unless another is given."""
    task, at = told.task, when or told.task.at
    match task:
        case SetHatch():
            return Entry(at, "set", task.subject, "", task.cysts_g, "g")
        case HarvestHatch():
            return Entry(at, "harvest", task.subject)
        case HarvestWorms():
            return Entry(at, "harvest", task.subject, "", task.mg, "mg")
        case Split():
            return Entry(at, "split", task.subject, task.other, task.starter_g, "g")
        case Start():
            return Entry(at, "start", task.other or task.subject, told.kind, task.starter_g, "g")
        case Feed():
            used_g = task.dry_used_g
            return Entry(at, "fed", task.subject, "", used_g or None, "g" if used_g else "")
        case Retire():
            return Entry(at, "discard", task.subject)
        case _:
            raise ValueError(f"{task.id} changes nothing that an entry would say")


def _somebody_there(room: Room, told: ToldTask) -> bool:
    """Whether somebody was there to do a task, by the absences that the room file states.

    A hatch is drawn off before leaving, where that was told and not taken back.
    """
    away = room.away_at(told.due_at)
    if away is None or (away.helper and isinstance(told.task, HELPERS_WORK)):
        return True
    return isinstance(told.task, HarvestHatch) and room.leaves(told.task.at)


def _begun_rounds(record: Record, known: Fates, now: datetime) -> frozenset[datetime]:
    """Told rounds that have begun and are not over: by the time of their first step, or since
    some of it is noted.

    A hatch that was counted, or failed, before the round itself opens it again: what the fry
    get is then planned from what is really there.
    """
    open_, noted, stepped, counted = (set[datetime | None]() for _ in range(4))
    for key, told in record.tasks.items():
        task, at, answer = told.task, told.round_at, known.answer.get(key)
        if not isinstance(task, OF_ROUND):
            continue
        if isinstance(task, Feed) and told.over_at > now:
            open_.add(at)
        answered = answer is not None or key in known.tanks
        if known.of[key] is Fate.SKIPPED or (answered and isinstance(task, _BEGINS_ROUND)):
            noted.add(at)
        if task.at <= now:
            stepped.add(at)
        if isinstance(task, HarvestHatch) and answer and answer.event in ("hatched", "failed"):
            counted.add(at)
    begun = noted | (stepped - counted)
    return frozenset(
        r for r in open_
        if r is not None and r <= now + _SOONEST and (r <= now or r in begun)
    )  # fmt: skip


def _in_hand(
    record: Record, known: Fates, begun: frozenset[datetime], now: datetime
) -> list[ToldTask]:
    found = []
    rounds = record.fed_rounds
    for key, told in record.tasks.items():
        if told.over_at <= now:
            continue
        with_feeding = isinstance(told.task, OF_ROUND) and told.round_at in rounds
        if with_feeding and told.round_at in begun:
            if not _drawn_before(told, known.answer.get(key)):
                found.append(told)
        elif with_feeding and not isinstance(told.task, HarvestHatch):
            continue  # it is planned anew; a vessel is drawn off when it was told
        elif (told.task.at <= now or told.task.at in begun) and key not in known.answer:
            found.append(told)  # what is to be done after a round goes with it
    return sorted(found, key=lambda t: t.order)


def _drawn_before(told: ToldTask, answer: Entry | None) -> bool:
    """Whether a hatch was drawn off long before it was told, and so for another round."""
    early = answer is not None and answer.when < told.task.at - EARLY
    return early and isinstance(told.task, HarvestHatch)


def _fed_until(
    record: Record, entries: Iterable[Entry], known: Fates, begun: frozenset[datetime],
    room: Room, now: datetime,
) -> datetime | None:  # fmt: skip
    """The last round that needs no plan: told and over or in hand, or fed by what was noted."""
    done = [
        t.round_at for t in record.tasks.values()
        if isinstance(t.task, Feed) and t.round_at is not None and t.over_at <= now
    ]  # fmt: skip
    done += begun
    cultures = {c.name for c in room.cultures}
    for entry in entries:
        # Worms taken after a round's time that nobody told of were for that round.
        if entry.event == "harvest" and entry.when > now - LATE and entry.subject in cultures:
            day = entry.when.astimezone(room.timezone).date()
            done += [m for at in room.rounds_on(day) if (m := room.local(day, at)) <= entry.when]
        elif entry.event == "fed" and entry not in known.told and entry.when > now - LATE:
            done.append(entry.when)
    return max((at for at in done if at is not None), default=None)


def _dry_way(record: Record, room: Room, now: datetime) -> tuple[Way | None, int | None]:
    """How dry food was told to be measured at the keeper's last round that has come, and how many
    times thinner than usual it was told to be soaked last.
    """
    come = [
        (told.task.at, line.way, thinner(line)) for told in record.tasks.values()
        if isinstance(told.task, Feed) and told.task.at <= now
        and room.away_at(told.task.at) is None
        for line in told.lines if line.way is not None and line.amount > 0
    ]  # fmt: skip
    soaked = [(at, thin) for at, way, thin in come if way == SOAKED]
    return max(come)[1] if come else None, max(soaked)[1] if soaked else None


def _fed_today(
    record: Record, known: Fates, in_hand: Iterable[ToldTask], room: Room, now: datetime
) -> Iterator[FeedLine]:
    """What the rounds of a day gave that are over or in hand, tank by tank.

    The first line of a brood has what it needed of foods that it was told none of besides.
    """
    begun = {t.task.id: t for t in in_hand}
    day = now.astimezone(room.timezone).date()
    for key, told in record.tasks.items():
        fed = key in begun or known.of[key] in (Fate.DONE, Fate.PRESUMED)
        of_today = isinstance(told.task, Feed) and told.task.at.date() == day
        if of_today and fed and known.of[key] is not Fate.SKIPPED and _somebody_there(room, told):
            said = known.tanks.get(key, {})
            unfed = {tank for tank, es in said.items() if es[-1].event == "skip"}
            more_j = {brood: need_j for brood, (need_j, _) in told.plates.items()}
            for line in told.lines:
                more_j[line.brood] -= line.need_j
            for line in begun.get(key, told).lines:
                if line.tank not in unfed:
                    yield evolve(line, need_j=line.need_j + more_j.pop(line.brood, 0.0))


def _lost_foods(
    in_hand: Iterable[ToldTask], known: Fates, state: Replayed, entries: Sequence[Entry]
) -> dict[datetime, tuple[str, ...]]:
    """The foods of rounds in hand that did not come: a failed hatch, worms skipped or gone.

    Worms that were taken of another culture of the kind, besides what was told, did come.
    """
    kinds = {c.name: c.kind.name for c in state.room.cultures}
    besides = [
        (kinds[e.subject], e.when) for e in entries[-_RECENT:]
        if e.event == "harvest" and e.subject in kinds and e not in known.told
    ]  # fmt: skip
    failed = {e.subject: e.when for e in entries if e.event == "failed"}
    found: dict[datetime, tuple[str, ...]] = {}
    in_hand = list(in_hand)
    for feed in (t for t in in_hand if isinstance(t.task, Feed)):
        # Of a jar that turned out to be no food when the round had begun nothing more is fed.
        bad = (d.vessel in failed and failed[d.vessel] >= feed.task.at for d in feed.draws)
        late = bool(feed.draws) and all(bad) and feed.task.id not in known.answer
        lost = [BRINE_SHRIMP] if late or feed.task.id in state.unfed else []
        harvests: dict[str, list[bool]] = {}
        for told in in_hand:
            if isinstance(told.task, HarvestWorms) and told.round_at == feed.task.at:
                key = told.task.id
                gone = key in state.contradicted or known.of[key] is Fate.SKIPPED
                gone = gone and not any(
                    kind == told.kind and told.opens <= when < told.closes for kind, when in besides
                )
                harvests.setdefault(told.kind, []).append(gone)
        lost += [kind for kind, gone in harvests.items() if all(gone)]
        if lost:
            found[feed.task.at] = tuple(lost)
    return found


def _few_hatched(record: Record, known: Fates) -> Iterator[tuple[str, float]]:
    """Harvests to be fed that gave nothing, or far fewer nauplii than told; with what was told."""
    for key, entry in known.answer.items():
        told = record.tasks[key].task
        if not isinstance(told, HarvestHatch) or told.fed_nauplii <= 0.0:
            continue
        if entry.event in ("hatched", "failed") and (entry.amount or 0.0) < _FEW * told.nauplii:
            yield key, told.nauplii


def _as_hatched(told: ToldTask, hatched: Mapping[datetime, Mapping[str, float]]) -> ToldTask:
    """A hatch in hand with what it is known to give."""
    task = told.task
    if not isinstance(task, HarvestHatch) or told.round_at is None:
        return told
    nauplii = hatched.get(told.round_at, {}).get(task.subject, task.nauplii)
    return evolve(told, task=evolve(task, nauplii=nauplii))


def _as_it_is(
    told: ToldTask, state: Replayed, entries: Sequence[Entry], noted: Container[str]
) -> ToldTask:
    """A feeding in hand out of the jars that are there, and in the tanks that its broods are in.

    A brood of which none are left gets nothing, but in a tank that is ``noted`` already.
    """
    task = told.task
    if not isinstance(task, Feed):
        return told
    here = {b.name: b.tank for b in state.room.broods}
    gone = {e.subject for e in entries if e.event in LEAVING} - here.keys()
    moved = _moved_since(told, entries) & here.keys()
    lines = [
        evolve(x, tank=here[x.brood] if x.brood in moved else x.tank)
        for x in state.few.get(task.id, told.lines)
    ]  # fmt: skip
    if moved:
        walk = [tank.name for tank in state.room.tanks]
        lines.sort(key=lambda x: walk.index(x.tank) if x.tank in walk else len(walk))
    fed = [x for x in lines if x.brood not in gone or x.tank in noted]
    if 0 < len(fed) < len(lines):
        lines = [x if x in fed else evolve(x, given_j=0.0, amount=0.0) for x in lines]
        task = evolve(task, fed_ml={**task.fed_ml, **_fed_ml(fed, task.cups_ml)})
    draws = state.drawn.get(task.id, told.draws)
    return evolve(told, task=task, draws=draws, lines=tuple(lines))


def _fed_ml(lines: Iterable[FeedLine], cups: Iterable[str]) -> dict[str, float]:
    """How much of each cup some lines take [mL]."""
    fed = dict.fromkeys(cups, 0.0)
    for line in lines:
        if line.food in fed:
            fed[line.food] += line.amount
    return fed


def _asked_from(told: ToldTask) -> datetime:
    """From when on something is asked for; of a brood though it was put off since."""
    put_off = told.came_at if isinstance(told.task, _OF_BROODS) else None
    return put_off or told.task.at


def _still_asked(told: ToldTask, room: Room) -> ToldTask | None:
    """What was told of a supply or a brood as it is to be done still; None where it is not.

    A purchase stands until something is noted of its stock: from then on it is planned anew. Of
    what was to arrive that is asked for which is still on order, and a brood in its tank of now.
    """
    task = told.task
    if isinstance(task, _OF_BROODS):
        tank = next((brood.tank for brood in room.broods if brood.name == task.subject), None)
        return None if tank is None else evolve(told, task=evolve(task, other=tank))
    if isinstance(task, Buy):
        return told if task == room.to_buy.get(task.item) else None
    if isinstance(task, Arrival):
        key = task.id.partition("#")[0]
        order = next((order for order in room.orders if order.key == key), None)
        if order is None:
            return None
        return evolve(told, task=evolve(task, grams=order.grams, why=order.how_noted))
    return told


def _without(told: ToldTask, foods: Sequence[str]) -> ToldTask:
    """A feeding in hand without the foods that did not come."""
    task = told.task
    if not isinstance(task, Feed) or not foods:
        return told
    lines = tuple(line for line in told.lines if line.food not in foods)
    cups, fed = (
        {food: volume for food, volume in each.items() if food not in foods}
        for each in (task.cups_ml, task.fed_ml)
    )
    task = evolve(task, cups_ml=cups, fed_ml=fed)
    if BRINE_SHRIMP not in foods:
        return evolve(told, task=task, lines=lines)
    return evolve(told, task=evolve(task, nauplii=None, jar_ml=None), lines=lines, draws=())


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


def _unanswered(record: Record, known: Fates, now: datetime) -> dict[str, datetime]:
    """For when first foods, counts, sortings, lids and moves were told that nobody noted, by id."""
    return {
        key: told.task.at for key, told in record.tasks.items()
        if isinstance(told.task, (FirstFood, *_OF_BROODS)) and key not in known.answer
        and now < told.task.at + ASKED_FOR
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
