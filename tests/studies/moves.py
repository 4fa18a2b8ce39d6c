"""How many tasks a small change moves, with and without what the keeper was told.

Run: python -m tests.studies.moves [rooms]

Random rooms of the year study are planned and all of it is told; then one thing changes: a brood is
counted a tenth smaller, a culture is lost, or it is 19 degrees in the room for two days. Settings
and splits of the next two weeks that stood in the first plan and are not in the second at the same
time are counted. A spawning that was planned for a week ahead is confirmed. Last, of plans of which
nobody was told anything, trifles move settings with and without the last plan's as a draft.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta

from attrs import evolve

from cultures.planning.changes import with_tank
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import make_plan, tasks_of
from cultures.planning.telling import drafts, tellings
from cultures.planning.what_if import settings_and_splits, suppose
from cultures.record.present import present
from cultures.record.store import Record
from cultures.room.room import Room, Told
from cultures.tasks.plan import Plan
from tests.studies.year import random_room

_LOOK = timedelta(days=14)


def _starts(plan: Plan) -> Counter[tuple[object, ...]]:
    told = settings_and_splits(plan)
    return Counter((t.name, t.at, t.harvest_at) for t in told if t.at < plan.start + _LOOK)


def _told(room: Room, now: datetime) -> tuple[Told, ...]:
    """What a record holds of the time ahead once the whole plan was told."""
    outlook = make_outlook(room, now=now)
    told = tellings(outlook, [t for t in tasks_of(outlook) if t.at < outlook.until], now)
    record = Record({t.task.id: t for t in told}, last=now)
    return present(room, (), record, now).room.told


def changes(room: Room, now: datetime) -> Iterator[str]:
    """Small changes to a room, as suppositions."""
    if room.broods:
        brood = room.broods[0]
        yield f"count '{brood.name}' {max(1, round(brood.count * 0.9))}"
    if len(room.cultures) > 1:
        yield f"lose '{room.cultures[0].name}'"
    first = now.date() + timedelta(days=3)
    yield f"temperature 19 from {first} to {first + timedelta(days=1)}"


def confirmed(room: Room, now: datetime) -> Counter[str]:
    """What of a told plan moves once a spawning that was planned is said to come as planned."""
    day = now.date() + timedelta(days=7)
    room, tank = with_tank(room, 25.0)
    sure = suppose(room, f"spawn egg_scatterer 150 in '{tank}' on {day}", now)
    brood = sure.broods[-1]
    hoped = evolve(brood, anchor="planned", chance=0.7)
    hoping = evolve(room, hoped=(*room.hoped, hoped))
    stood = _starts(make_plan(hoping, now=now, remedies=False))
    told = _told(hoping, now)
    after = _starts(make_plan(evolve(sure, told=told), now=now, remedies=False))
    moved = stood - after
    return Counter({
        "confirmed: settings and splits": stood.total(), "confirmed: moved": moved.total(),
        "confirmed: rooms": 1, "confirmed: rooms where any moved": int(bool(moved)),
    })  # fmt: skip


def trifles(room: Room) -> Iterator[tuple[str, Room]]:
    """Changes by which no keeper expects anything to move, with the room after each."""
    largest = max(room.broods, key=lambda brood: brood.count)

    def sold(count: float) -> Room:
        rest = evolve(largest, count=largest.count - count)
        return evolve(room, broods=tuple(rest if b is largest else b for b in room.broods))

    fewer = tuple(evolve(b, count=b.count * 0.98) for b in room.broods)
    warmer = tuple(evolve(t, temperature_c=t.temperature_c + 0.3) for t in room.tanks)
    yield "counts 2 % lower", evolve(room, broods=fewer)
    yield "1 % of a brood sold", sold(round(largest.count / 100.0) or 1)
    yield "12 fish sold", sold(12)
    yield "tanks 0.3 °C warmer", evolve(room, tanks=warmer)


def drafted(room: Room, now: datetime) -> Counter[str]:
    """What trifles move of settings that nobody was told, and what that costs."""
    before = make_outlook(room, now=now)
    stood, sums = set(drafts(before)), Counter[str]()
    for what, changed in trifles(room):
        for name, last in (("not known", ()), ("drafted", tuple(stood))):
            after = make_outlook(evolve(changed, drafted=last), now=now)
            batches = [b for b in after.feeding.hatches.batches if not b.standing]
            sums[f"{what}, {name}: moved"] += len(stood - {*drafts(after)})
            sums[f"{what}, {name}: hatches"] += len(batches)
            sums[f"{what}, {name}: cysts [0.1 g]"] += round(sum(b.cysts_g for b in batches) * 10)
            sums[f"{what}, {name}: missing [J]"] += round(sum(g.short_j for g in after.gaps))
    sums["drafted settings"] += len(stood)
    return sums


def main(rooms: int) -> None:
    """Prints the counts."""
    sums: Counter[str] = Counter()
    for seed in range(rooms):
        with_spawn = random_room(random.Random(seed))
        sums += confirmed(with_spawn, with_spawn.local(with_spawn.as_of, with_spawn.awake[0]))
        room = random_room(random.Random(seed))
        now = room.local(room.as_of, room.awake[0])
        sums += drafted(room, now)
        before = make_plan(room, now=now, remedies=False)
        told = _told(room, now)
        stood = _starts(before)
        again = make_plan(evolve(room, told=told), now=now, remedies=False)
        sums["moved without any change"] += (stood - _starts(again)).total()
        for text in changes(room, now):
            changed = suppose(room, text, now)
            sums["changes"] += 1
            sums["settings and splits"] += stood.total()
            for name, known in (("not told", ()), ("told", told)):
                after = make_plan(evolve(changed, told=known), now=now, remedies=False)
                sums[f"{name}: moved"] += (stood - _starts(after)).total()
                sums[f"{name}: missing [J]"] += round(sum(s.short_j for s in after.shortfalls))
                sums[f"{name}: cysts [g]"] += round(after.cost["cysts_g"])
                sums[f"{name}: settings and splits"] += int(
                    after.cost["hatches"] + after.cost["splits"]
                )
    for key, value in sums.items():
        print(f"{key:44} {value:8}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
