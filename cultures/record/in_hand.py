"""A round that has begun: what was told for it, as it can still be done."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.journal.entries import Entry
from cultures.journal.events import LEAVING
from cultures.needs.need import first_food_of
from cultures.record.carried_out import somebody_there
from cultures.record.fates import Fate, Fates
from cultures.record.known import Known
from cultures.record.store import Record
from cultures.replay.replay import Replayed
from cultures.room.room import Room
from cultures.tasks.task import (
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
    Sort,
)
from cultures.tasks.told import CALENDAR, EARLY, LATE, FeedLine, ToldTask

#: No round is begun so long before its time.
_SOONEST = timedelta(hours=3)
#: Answers to these tell that a round was begun before its time.
_BEGINS_ROUND = (HarvestWorms, Feed)
#: What is told again until it is done.
OF_BROODS = (Count, Sort, Lid, MoveOn)
#: Entries among which those of a round in hand are.
_RECENT = 200
#: A hatch that gave less than this share of what was told of it is said to have given few.
_FEW = 0.25


def uprooted(in_hand: Iterable[ToldTask], known: Known, room: Room) -> set[datetime]:
    """Rounds ahead told before a brood of theirs was moved, or was gone from a room."""
    here = {brood.name for brood in room.broods}
    return {
        t.round_at for t in in_hand
        if t.round_at is not None and t.round_at > known.now and isinstance(t.task, Feed)
        and not {line.brood for line in t.lines} <= here - _moved_since(t, known.entries)
    }  # fmt: skip


def _moved_since(told: ToldTask, entries: Iterable[Entry]) -> set[str]:
    """Broods that were moved after something was told."""
    return {e.subject for e in entries if e.event == "move" and e.when > told.told_at}


def begun_rounds(known: Known) -> frozenset[datetime]:
    """Told rounds that have begun and are not over: by the time of their first step, or since
    some of it is noted.

    A hatch that was counted, or failed, before the round itself opens it again: what the fry
    get is then planned from what is really there.
    """
    now, fates = known.now, known.fates
    open_, noted, stepped, counted = (set[datetime | None]() for _ in range(4))
    for key, told in known.tasks.items():
        task, at, answer = told.task, told.round_at, fates.answer.get(key)
        if not isinstance(task, OF_ROUND):
            continue
        if isinstance(task, Feed) and told.over_at > now:
            open_.add(at)
        answered = answer is not None or key in fates.tanks
        if fates.of[key] is Fate.SKIPPED or (answered and isinstance(task, _BEGINS_ROUND)):
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


def tasks_in_hand(known: Known, begun: frozenset[datetime]) -> list[ToldTask]:
    """What was told, is not over, and somebody is there to do: of rounds that have begun, and what
    belongs to none.
    """
    found = []
    now, answer, rounds = known.now, known.fates.answer, known.record.fed_rounds
    for key, told in known.tasks.items():
        if told.over_at <= now or not somebody_there(known.room, told):
            continue
        with_feeding = isinstance(told.task, OF_ROUND) and told.round_at in rounds
        if with_feeding and told.round_at in begun:
            if not _drawn_before(told, answer.get(key)):
                found.append(told)
        elif with_feeding and not isinstance(told.task, HarvestHatch):
            continue  # it is planned anew; a vessel is drawn off when it was told
        elif (told.task.at <= now or told.task.at in begun) and key not in answer:
            found.append(told)  # what is to be done after a round goes with it
    return sorted(found, key=lambda t: t.order)


def _drawn_before(told: ToldTask, answer: Entry | None) -> bool:
    """Whether a hatch was drawn off long before it was told, and so for another round."""
    early = answer is not None and answer.when < told.task.at - EARLY
    return early and isinstance(told.task, HarvestHatch)


def fed_until(known: Known, begun: frozenset[datetime], room: Room) -> datetime | None:
    """The last round that needs no plan: told and over or in hand, or fed by what was noted.

    Args:
        room: as it stands.
    """
    done = [
        t.round_at for t in known.tasks.values()
        if isinstance(t.task, Feed) and t.round_at is not None and t.over_at <= known.now
    ]  # fmt: skip
    done += begun
    cultures = {c.name for c in room.cultures}
    for entry in (e for e in known.entries if e.when > known.now - LATE):
        # Worms taken after a round's time that nobody told of were for that round.
        if entry.event == "harvest" and entry.subject in cultures:
            day = entry.when.astimezone(room.timezone).date()
            done += [m for at in room.rounds_on(day) if (m := room.local(day, at)) <= entry.when]
        elif entry.event == "fed" and entry not in known.fates.told:
            done.append(entry.when)
    return max(done, default=None)


def fed_today(known: Known, in_hand: Iterable[ToldTask]) -> Iterator[FeedLine]:
    """What the rounds of a day gave that are over or in hand, tank by tank.

    The first line of a brood has what it needed of foods that it was told none of besides.
    """
    begun = {t.task.id: t for t in in_hand}
    day = known.now.astimezone(known.room.timezone).date()
    for key, told in known.tasks.items():
        fate = known.fates.of[key]
        fed = fate in (Fate.DONE, Fate.PRESUMED) or (key in begun and fate is not Fate.SKIPPED)
        of_today = isinstance(told.task, Feed) and told.task.at.date() == day
        if of_today and fed and somebody_there(known.room, told):
            said = known.fates.tanks.get(key, {})
            unfed = {tank for tank, es in said.items() if es[-1].event == "skip"}
            more_j = {brood: need_j for brood, (need_j, _) in told.plates.items()}
            for line in told.lines:
                more_j[line.brood] -= line.need_j
            for line in begun.get(key, told).lines:
                if line.tank not in unfed:
                    yield evolve(line, need_j=line.need_j + more_j.pop(line.brood, 0.0))


def lost_foods(
    in_hand: Sequence[ToldTask], known: Known, state: Replayed
) -> dict[datetime, tuple[str, ...]]:
    """The foods of rounds in hand that did not come: a failed hatch, worms skipped or gone.

    Worms that were taken of another culture of the kind, besides what was told, did come.
    """
    kinds = {c.name: c.kind.name for c in state.room.cultures}
    besides = [
        (kinds[e.subject], e.when) for e in known.entries[-_RECENT:]
        if e.event == "harvest" and e.subject in kinds and e not in known.fates.told
    ]  # fmt: skip
    failed = {e.subject: e.when for e in known.entries if e.event == "failed"}
    found: dict[datetime, tuple[str, ...]] = {}
    for feed in (t for t in in_hand if isinstance(t.task, Feed)):
        # Of a jar that turned out to be no food when the round had begun nothing more is fed.
        bad = (d.vessel in failed and failed[d.vessel] >= feed.task.at for d in feed.draws)
        late = bool(feed.draws) and all(bad) and feed.task.id not in known.fates.answer
        lost = [BRINE_SHRIMP] if late or feed.task.id in state.unfed else []
        harvests: dict[str, list[bool]] = {}
        for told in in_hand:
            if isinstance(told.task, HarvestWorms) and told.round_at == feed.task.at:
                key = told.task.id
                gone = key in state.contradicted or known.fates.of[key] is Fate.SKIPPED
                gone = gone and not any(
                    kind == told.kind and told.opens <= when < told.closes for kind, when in besides
                )
                harvests.setdefault(told.kind, []).append(gone)
        lost += [kind for kind, gone in harvests.items() if all(gone)]
        if lost:
            found[feed.task.at] = tuple(lost)
    return found


def few_hatched(known: Known) -> Iterator[tuple[str, float]]:
    """Harvests to be fed that gave nothing, or far fewer nauplii than told; with what was told."""
    for key, entry in known.fates.answer.items():
        told = known.tasks[key].task
        if not isinstance(told, HarvestHatch) or told.fed_nauplii <= 0.0:
            continue
        if entry.event in ("hatched", "failed") and (entry.amount or 0.0) < _FEW * told.nauplii:
            yield key, told.nauplii


def as_hatched(told: ToldTask, hatched: Mapping[datetime, Mapping[str, float]]) -> ToldTask:
    """A hatch in hand with what it is known to give."""
    task = told.task
    if not isinstance(task, HarvestHatch) or told.round_at is None:
        return told
    nauplii = hatched.get(told.round_at, {}).get(task.subject, task.nauplii)
    return evolve(told, task=evolve(task, nauplii=nauplii))


def as_it_is(
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


def asked_from(told: ToldTask) -> datetime:
    """From when on something is asked for; of a brood though it was put off since."""
    put_off = told.came_at if isinstance(told.task, OF_BROODS) else None
    return put_off or told.task.at


def waiting(record: Record, known: Fates, room: Room, since: datetime) -> frozenset[str]:
    """Ids of counts and sortings that a calendar alone told and that wait for those asked for on a
    day before: a few a day are asked for, and the same ones until they are done. A calendar reckons
    with those of each day to be done by the next.

    Args:
        since: of what was told for before nothing is asked any more.
    """
    open_ = [
        t for key, t in record.tasks.items()
        if isinstance(t.task, Count | Sort) and key not in known.answer and t.task.at > since
        and still_asked(t, room) is not None
    ]  # fmt: skip
    first: dict[str, date] = {}
    for told in open_:
        day, what = asked_from(told).date(), told.task.what
        first[what] = min(day, first.get(what, day))
    return frozenset(
        t.task.id for t in open_
        if t.by == CALENDAR and t.came_at is None and first[t.task.what] < t.task.at.date()
    )  # fmt: skip


def still_asked(told: ToldTask, room: Room) -> ToldTask | None:
    """What was told of a supply or a brood as it is to be done still; None where it is not.

    A purchase stands until something is noted of its stock: from then on it is planned anew. Of
    what was to arrive that is asked for which is still on order, and a brood in its tank of now.
    First food is no more for fry that are known to eat later.
    """
    task = told.task
    if isinstance(task, FirstFood):
        brood = next((b for b in room.broods if b.name == task.subject), None)
        first = first_food_of(room, brood, task.at.date()) if brood is not None else None
        return None if first is not None and first > task.at.date() else told
    if isinstance(task, OF_BROODS):
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


def without_foods(told: ToldTask, foods: Sequence[str]) -> ToldTask:
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
