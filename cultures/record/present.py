"""What is: the room as stated, noted, and told and not contradicted, at a moment.

The past is never planned again. A told task that is over and that no entry tells of is taken as
done as it was told; one that has begun and is not over is in hand: the room is planned on as if
it were done, and it stands on every screen as it was told.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence, Set
from datetime import date, datetime, timedelta
from pathlib import Path

from attrs import evolve, frozen

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
    without_called_off,
)
from cultures.record.fates import Fate, Fates, is_no_harvest, subjects_of
from cultures.record.history import with_earlier
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
from cultures.record.known import Known
from cultures.record.overtaken import hatched_otherwise, overtaken, untouched, worth_a_word
from cultures.record.paper import by_paper
from cultures.record.silence import silence_text, silent_rounds
from cultures.record.store import Record, read_record, record_path
from cultures.replay.replay import Replayed
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
from cultures.words.grouped import by_key
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
    first = Known.of(room, standing, by_their_tanks(record, standing, room), now)
    known = without_called_off(first)
    bare = bare_spans(still_bare(known.record, standing, known.fates, known.room), now)
    known = evolve(known, room=evolve(known.room, bare=bare))
    over = taken_as_done(known)

    def carried_out(begun: frozenset[datetime]) -> tuple[list[ToldTask], Learned]:
        """What is in hand where these rounds have begun, and the room once it is done."""
        mine, answer = tasks_in_hand(known, begun), known.fates.answer
        open_ = [t for t in mine if isinstance(t.task, Work) and t.task.id not in answer]
        taken = [*over, *open_] if pending else over
        return mine, learn(known.room, steps_of(standing, known.fates, taken, now), now)

    begun = begun_rounds(known)
    in_hand, learned = carried_out(begun)
    changed = overtaken(in_hand, known, learned.replayed.room)
    hatched = hatched_otherwise(in_hand, known, learned.replayed.room.held)
    reopened = _reopened(known, in_hand, learned.replayed, changed.keys() | hatched.keys())
    if reopened:  # what was told for a round cannot be any more, and there is time to plan it anew
        begun -= reopened
        in_hand, learned = carried_out(begun)
    state = learned.replayed
    not_done = state.contradicted | of_nothing((*over, *in_hand), state.unfed)
    presumed = sorted((t for t in over if t.task.id not in not_done), key=lambda t: t.task.at)
    lost, to_buy = lost_foods(in_hand, known, state), _to_buy(known)
    in_hand = [
        without_foods(
            as_it_is(as_hatched(t, hatched), state, standing, known.fates.tanks.get(t.task.id, ())),
            lost.get(t.task.at, ()),
        )
        for t in in_hand
        if t.task.id not in state.contradicted
    ]  # fmt: skip
    purchases = {item: buy for item, (buy, _) in to_buy.items()}
    supplied = evolve(state.room, to_buy=purchases)
    waits = waiting(known.record, known.fates, state.room, now - ASKED_FOR)
    in_hand = [
        each for t in in_hand
        if t.task.id not in waits and (each := still_asked(t, supplied)) is not None
    ]  # fmt: skip
    found = evolve(
        _with_told(supplied, known, in_hand, waits),
        lost_foods=lost,
        overtaken={at: worth_a_word(of) for at, of in changed.items() if at not in reopened},
        fed_until=fed_until(known, begun, state.room),
        settled=_settled(known, in_hand, reopened) | (first.tasks.keys() - known.tasks.keys()),
        to_buy_since={item: since for item, (_, since) in to_buy.items()},
        by_paper=by_paper(known, state, begun),
    )
    return Present(
        found, now, known.record, known.fates, tuple(standing), learned, tuple(presumed),
        tuple(in_hand), not_done, frozenset(reopened), room,
    )  # fmt: skip


def _reopened(
    known: Known, in_hand: Sequence[ToldTask], state: Replayed, otherwise: Set[datetime]
) -> set[datetime]:
    """Rounds that had begun and are planned anew.

    Args:
        otherwise: those for which more or less is needed, or there, than was told.
    """
    cannot = state.contradicted | state.unfed | state.missed
    found = {
        t.round_at for t in in_hand
        if t.task.id in cannot and t.round_at is not None and t.round_at > known.now
    }  # fmt: skip
    found |= uprooted(in_hand, known, state.room)
    return found | (otherwise & untouched(in_hand, known))


def _with_told(
    room: Room, known: Known, in_hand: Sequence[ToldTask], waits: Container[str]
) -> Room:  # fmt: skip
    """A room as it stands, with what was told of it and what became of that."""
    now, record, answer = known.now, known.record, known.fates.answer
    dry_way, dry_strength = _dry_way(known)
    silent = silent_rounds(room, known.entries, record, now)
    unspoken = (silence_text(silent, now),) if silent else ()
    return evolve(
        room,
        hatches=tuple(_told_harvest(h, known) for h in room.hatches),
        not_before=_not_before(room, in_hand, known),
        in_hand=tuple(in_hand),
        answered=answer,
        few_hatched=dict(few_hatched(known)),
        fed_tanks=known.fates.tanks,
        fed_today=tuple(fed_today(known, in_hand)),
        unfed=_unfed(known),
        dry_way=dry_way,
        dry_strength=dry_strength,
        unanswered=_unanswered(known, waits),
        put_off={key: t.came_at for key, t in known.tasks.items() if t.came_at is not None},
        put_to={key: to for key, to in record.put_to.items() if to > now},
        advised=open_advice(record, known.entries, room),
        told=_still_told(known, room),
        drafted=_still_drafted(known),
        told_rounds=tuple(t for t in known.unanswered(Feed) if t.task.at > now),
        notes=(*room.notes, *(unspoken or _quiet(known))),
        unspoken=unspoken,
    )


def _dry_way(known: Known) -> tuple[Way | None, float | None]:
    """How dry food was told to be measured at the keeper's last round that has come, and how many
    times as strong as usual it was told to be soaked last.
    """
    come = [
        (told.task.at, line.way, strength(line)) for told in known.tasks.values()
        if isinstance(told.task, Feed) and told.task.at <= known.now
        and known.room.away_at(told.task.at) is None
        for line in told.lines if line.way is not None and line.amount > 0
    ]  # fmt: skip
    soaked = [(at, strong) for at, way, strong in come if way == SOAKED]
    return max(come)[1] if come else None, max(soaked)[1] if soaked else None


def _unfed(known: Known) -> frozenset[datetime]:
    """Rounds that were told, are not over, and of which it is noted that nobody feeds: they are not
    planned anew.
    """
    return frozenset(
        told.task.at for key, told in known.tasks.items() if isinstance(told.task, Feed)
        and told.over_at > known.now and known.fates.of[key] is Fate.SKIPPED
    )  # fmt: skip


def _settled(
    known: Known, in_hand: Iterable[ToldTask], reopened: Container[datetime | None]
) -> frozenset[str]:  # fmt: skip
    """Ids not given to another task any more: answered, over, or of work whose time has come."""
    mine, now = {t.task.id for t in in_hand}, known.now
    return frozenset(
        key for key, told in known.tasks.items()
        if key not in mine
        and (
            key in known.fates.answer
            or (told.task.at <= now and isinstance(told.task, Work)
                and not (told.round_at in reopened and told.may_change(now)))
            or (told.over_at <= now and not isinstance(told.task, _RETOLD))
        )
    )  # fmt: skip


def _unanswered(known: Known, waits: Container[str]) -> dict[str, datetime]:
    """For when first and main foods, counts, sortings, lids and moves were told, unless noted.

    What waits for others is planned as if it had not been told.
    """
    return {
        t.task.id: t.task.at for t in known.unanswered(FirstFood, SwitchFood, *OF_BROODS)
        if known.now < t.task.at + ASKED_FOR and t.task.id not in waits
    }  # fmt: skip


def _was_known(entry: Entry, told: ToldTask) -> bool:
    """Whether something was told after an entry was noted, for whatever time; by that time where
    its line is not known.
    """
    if told.line is None or entry.line == 0:
        return entry.when < told.told_at
    return entry.line <= told.line


def _to_buy(known: Known) -> dict[str, tuple[Buy, date]]:
    """Purchases that were told and the day since when, by item; what was noted of a stock since
    makes them anew.
    """
    changes = [e for e in known.entries if e.event in ("bought", "ordered", "used", "count")]
    noted, found = by_key(changes, lambda e: e.subject), {}
    for told in sorted(known.unanswered(Buy), key=lambda t: t.told_at):
        task = told.task
        if isinstance(task, Buy) and not told.void and known.now < task.at + ASKED_FOR:
            of_stock = [entry for x in subjects_of(told) for entry in noted.get(x, ())]
            first = max([told.first_at or told.told_at, *(e.when for e in of_stock)]).date()
            if all(_was_known(entry, told) for entry in of_stock):
                found[task.item] = task, task.by if task.by < known.now.date() else first
    return found


def _still_told(known: Known, room: Room) -> tuple[Told, ...]:
    """Settings and splits that lie ahead, as the price of moving one counts them.

    A split for a spawning that is not to come any more is none of them.
    """
    found = []
    hoped, certain = {b.name for b in room.hoped}, {b.name for b in room.broods}
    for last in known.unanswered(object):
        told = last.looked or last
        task = told.task
        if task.at <= known.now or last.void:
            continue
        if isinstance(task, SetHatch) and told.harvest_at is not None:
            found.append(Told(task.subject, task.at, told.harvest_at, grams=task.cysts_g))
        elif isinstance(task, Split) and told.kind in room.kinds:
            spawns = {name for name, _ in task.spawns}
            if not spawns or spawns & (hoped | certain):
                found.append(Told(told.kind, task.at, hoped=bool(spawns & hoped)))
    return tuple(sorted(found, key=lambda t: (t.at, t.name)))


def _still_drafted(known: Known) -> tuple[Told, ...]:
    """Settings of the last plan that lie ahead and of which nobody was told: a starting point of
    the next one, and nothing else. What was told of a setting goes before.
    """
    told = told_to_set(known.record)
    return tuple(x for x in known.record.drafted if x.at > known.now and (x.name, x.at) not in told)


def told_to_set(record: Record) -> set[tuple[str, datetime]]:
    """The vessels that were told to be set, and when."""
    return {
        (t.task.subject, t.task.at) for t in record.tasks.values()
        if isinstance(t.task, SetHatch) and not t.void
    }  # fmt: skip


def _not_before(room: Room, in_hand: Iterable[ToldTask], known: Known) -> dict[str, datetime]:
    """When vessels may be set at the soonest: after the draw-off that is in hand, too."""
    found = dict(room.not_before)
    for told in in_hand:
        task = told.task
        if isinstance(task, HarvestHatch) and task.id not in known.fates.answer:
            found[task.subject] = max(task.until, found.get(task.subject, task.until))
    return found


def _told_harvest(hatch: RunningHatch, known: Known) -> RunningHatch:
    """A hatch with the time at which it was last told to be drawn off."""
    told = (
        t.task.at for t in known.unanswered(HarvestHatch)
        if t.task.subject == hatch.vessel and t.task.at > known.now and not t.void
        and hatch.is_of(t)
    )  # fmt: skip
    at = next(told, None)
    if at is None:
        return hatch
    today = known.now.astimezone(at.tzinfo).date()
    return evolve(hatch, harvest_at=at, told_today=at.date() == today)


def _quiet(known: Known) -> Iterable[str]:
    """One line where nothing was told or noted for longer than a day, or nothing told at all."""
    room, entries, record, now = known.room, known.entries, known.record, known.now
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
