"""A year of a keeper who looks every morning and does what is told, with crashes.

Run it: ``python -m tests.studies.year [SEED] [DAYS]``. Every morning the room is what the file
states, what is noted, and what was told; the tasks of the day are told, and noted as done at their
time. Each culture may crash in any night, with
the hazard of its kind's data; a kind of which nothing is left is begun again from a bought
starter three days later. Broods leave their tank at nine weeks and a new spawning follows.
"""

from __future__ import annotations

import random
import sys
from datetime import date, datetime, time, timedelta
from time import perf_counter

from attrs import define, evolve, field

from cultures.journal.entries import Entry
from cultures.planning.gaps import find_gaps
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.telling import tellings
from cultures.record.carried_out import as_entry
from cultures.record.present import Present, present
from cultures.record.store import Record
from cultures.room.file import read_room
from cultures.room.room import Brood, Culture, Room
from cultures.tasks.task import Count, HarvestWorms, Soak, Work

START = date(2027, 1, 4)
#: A brood is short at a round when more than this share of its need is missing.
SHORT_FROM = 0.05
AHEAD = 3
_LEAVES_AFTER = timedelta(days=63)
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "livebearer")


def random_room(rng: random.Random) -> Room:
    """A room of eight tanks, two kinds of worms and two vessels, all started at random."""
    text = (
        '[room]\nname = "Year"\ntimezone = "Europe/Lisbon"\nas_of = 2027-01-04\nfridge_c = 5\n'
        "temperature_by_month_c = [20, 20, 21, 22, 23, 25, 26, 26, 25, 23, 21, 20]\n"
        "horizon_days = 21\n"
    )
    for i in range(8):
        degrees = rng.choice([25, 26, 27])
        text += f'[[tank]]\nname = "T{i}"\nlitres = 40\ntemperature_c = {degrees}\n'
        text += (
            f'[[brood]]\nname = "b{i}.0"\ntank = "T{i}"\nclass = "{rng.choice(_CLASSES)}"\n'
            f"count = {rng.randint(40, 200)}\n"
            f"spawned = {START - timedelta(days=rng.randint(0, 50))}\n"
        )
    for kind, name, medium, oldest in (
        ("microworm", "MW", 150, 20), ("vinegar_eel", "VE", 1500, 150),
    ):  # fmt: skip
        for i in range(3):
            born = START - timedelta(days=rng.randint(4, oldest))
            surface = "surface_cm2 = 180\n" if kind == "microworm" else ""
            text += (
                f'[[culture]]\nname = "{name}-{i + 1}"\nkind = "{kind}"\nstarted = {born}\n'
                f"medium_g = {medium}\n{surface}starter_g = {medium / 10:g}\n"
            )
    for i in range(2):
        text += f'[[vessel]]\nname = "bottle {i + 1}"\nlitres = 1\ntemperature_c = 27\n'
    return read_room(text + "[cysts]\ngrams = 20000\n", today=START)


@define
class Year:
    """The keeper's year so far, and what is counted of it.

    Attributes:
        room: the room file, edited when broods come and go. entries: the journal. record: what
            was told.
        foreseen: by day, the (round, brood) that the plan of three days before called short.
        short, rounded: brood-rounds that got less than their need, for want of food and because
            of what can be measured.
    """

    room: Room
    rng: random.Random
    entries: list[Entry] = field(factory=list)
    record: Record = field(factory=lambda: Record({}))
    foreseen: dict[date, set[tuple[datetime, str]]] = field(factory=dict)
    lost_on: dict[str, date] = field(factory=dict)
    need_j: float = 0.0
    fed_j: float = 0.0
    rounds: int = 0
    short: int = 0
    rounded: int = 0
    short_foreseen: int = 0
    tasks: int = 0
    crashes: int = 0
    slowest_s: float = 0.0

    def live(self, day: date) -> None:
        """A day: crashes in the night, a look in the morning, and what is told is done."""
        zone = self.room.timezone
        self._broods(day)
        now = datetime.combine(day, time(6), zone)
        room = self._crash(self._present(now), now)
        begun = perf_counter()
        outlook = make_outlook(room, now=now)
        self.slowest_s = max(self.slowest_s, perf_counter() - begun)
        self._count(outlook, day)
        evening = datetime.combine(day, time(23, 59), zone)
        mine = [task for task in tasks_of(outlook) if now <= task.at <= evening]
        new = [task for task in mine if task.id not in self.record.tasks]
        self.tasks += sum(not isinstance(t, HarvestWorms | Soak | Count) for t in new)
        told = tellings(outlook, mine, now)
        tasks = {**self.record.tasks, **{t.task.id: t for t in told}}
        self.record = Record(tasks, last=now)
        self._note(*(as_entry(t) for t in told if isinstance(t.task, Work)))

    def _note(self, *entries: Entry) -> None:
        numbered = [e._replace(line=len(self.entries) + 2 + i) for i, e in enumerate(entries)]
        self.entries = sorted([*self.entries, *numbered], key=lambda e: e.when)

    def _present(self, now: datetime) -> Present:
        return present(self.room, self.entries, self.record, now)

    def _crash(self, found: Present, now: datetime) -> Room:
        for culture in found.room.cultures:
            # The hazard of the data: that of the room sinks as the journal tells of no crash.
            hazard = self.room.kinds[culture.kind.name].parameters["crash_per_day"].value
            if self.rng.random() < hazard:
                self.crashes += 1
                self._note(Entry(now - timedelta(minutes=30), "failed", culture.name))
        room = self._present(now).room
        for pattern in {c.kind.name: c for c in self.room.cultures}.values():
            kind = pattern.kind.name
            if any(c.kind.name == kind for c in room.cultures):
                self.lost_on.pop(kind, None)
            elif now.date() >= self.lost_on.setdefault(kind, now.date()) + timedelta(days=3):
                self._bring(pattern, now.date())
                room = self._present(now).room
        return room

    def _bring(self, pattern: Culture, day: date) -> None:
        fresh = evolve(pattern, name=f"{pattern.kind.prefix}-9{day:%m%d}", started=day)
        self.room = evolve(self.room, cultures=(*self.room.cultures, fresh))

    def _broods(self, day: date) -> None:
        kept: list[Brood] = []
        for brood in self.room.broods:
            if day - brood.anchor_date < _LEAVES_AFTER:
                kept.append(brood)
                continue
            stem, _, number = brood.name.partition(".")
            kept.append(
                evolve(
                    brood, name=f"{stem}.{int(number) + 1}", anchor="spawned", anchor_date=day,
                    counted_on=day, count=float(self.rng.randint(40, 200)),
                )
            )  # fmt: skip
        self.room = evolve(self.room, broods=tuple(kept))

    def _count(self, outlook: Outlook, day: date) -> None:
        later = day + timedelta(days=AHEAD)
        gaps = find_gaps(outlook.feedings, outlook.needs, outlook.feeding, outlook.lines)
        lack = {(gap.feeding.at, gap.need.brood.name) for gap in gaps}
        called = self.foreseen.setdefault(later, set())
        for feeding, needs, lines in zip(
            outlook.feedings, outlook.needs, outlook.lines, strict=True
        ):
            on = feeding.at.date()
            if on not in (day, later):
                continue
            for need in needs:
                given = sum(x.given_j for x in lines if x.brood == need.brood.name)
                key = feeding.at, need.brood.name
                is_less = need.energy_j - given > SHORT_FROM * need.energy_j
                is_short = is_less and key in lack
                if on == later:
                    called |= {key} if is_short else set()
                    continue
                self.rounds += 1
                self.need_j += need.energy_j
                self.fed_j += min(given, need.energy_j)
                self.short += is_short
                self.rounded += is_less and not is_short
                self.short_foreseen += is_short and key in self.foreseen.get(day, set())


def run(seed: int, days: int) -> Year:
    """A keeper's year."""
    rng = random.Random(seed)
    year = Year(random_room(rng), rng)
    for number in range(days):
        year.live(START + timedelta(days=number))
    return year


def report(year: Year, days: int) -> str:
    """The figures in words."""
    foreseen = f"{year.short_foreseen / year.short:.0%}" if year.short else "none to foresee"
    return (
        f"{days} days, {year.rounds} brood-rounds, {year.crashes} crashes\n"
        f"fed share of the energy needed: {year.fed_j / year.need_j:.2%}\n"
        f"brood-rounds short by more than {SHORT_FROM:.0%}: {year.short}"
        f" ({year.short / max(1, year.rounds):.2%}); foreseen {AHEAD} days ahead: {foreseen}\n"
        f"less by that because of the marks of syringe and scale: {year.rounded}"
        f" ({year.rounded / max(1, year.rounds):.2%})\n"
        f"tasks a week: {7 * year.tasks / days:.0f} (rounds, hatches set and harvested, splits,"
        f" ends, moves)\n"
        f"slowest plan: {year.slowest_s:.2f} s"
    )


if __name__ == "__main__":
    SEED = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    DAYS = int(sys.argv[2]) if len(sys.argv) > 2 else 365
    print(report(run(SEED, DAYS), DAYS))
