"""A year of daily looks in a room where cultures crash and yields are what they are.

Every morning the room file is put right to what the keeper can see (stocks, hatches standing, what
is held, counts) and the day's tasks are told; they are carried out in a world with yields of its
own. Run::

    python -m tests.studies.year_of_luck --years 5

It prints the share of brood-rounds that were fed, the share of hungry ones that a plan made at
least three days before had warned of, and the tasks a week.
"""

from __future__ import annotations

import argparse
import math
import random
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from attrs import define, evolve, field

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import WormKind
from cultures.foods.worms import CultureState
from cultures.fry.classes import shipped_class
from cultures.needs.need import BroodCourse
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of, tasks_of
from cultures.planning.telling import tellings
from cultures.planning.worm_course import culture_clock
from cultures.record.present import present
from cultures.record.store import Record
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Culture, CultureMark, HeldNauplii, Room, RunningHatch
from cultures.tasks.task import (
    Buy,
    Count,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Soak,
    Split,
    Task,
)
from cultures.words.moments import hours

_ZONE = ZoneInfo("Europe/Lisbon")
_START = datetime(2027, 1, 4, 6, tzinfo=_ZONE)
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "livebearer")
_LEAD = timedelta(days=3)
_FED_FROM = 0.9
_ROOM = """
[room]
name = "Study"
timezone = "Europe/Lisbon"
temperature_by_month_c = [20, 20, 21, 22, 23, 25, 26, 26, 25, 23, 21, 20]
as_of = 2027-01-03
fridge_c = 5
horizon_days = 14
[cysts]
grams = 200
"""


@define
class World:
    """What is really there.

    Attributes:
        stocks: true state of each culture at a time [h since the epoch].
        level: true over believed capacity of each culture.
        in_vessel: hatches that stand. held: harvests still to be fed, true. record: what was
            told.
    """

    rng: random.Random
    room: Room
    stocks: dict[str, tuple[float, CultureState]] = field(factory=dict)
    level: dict[str, float] = field(factory=dict)
    in_vessel: dict[str, RunningHatch] = field(factory=dict)
    held: list[HeldNauplii] = field(factory=list)
    record: Record = field(factory=lambda: Record({}))
    grams: float = 200.0
    spawned: int = 0

    def begin(self, culture: Culture, at_h: float, stock_mg: float, age: float = 0.0) -> None:
        """A culture starts, with a level of its own."""
        spread = culture.kind.values["yield_spread"] / 2
        self.level[culture.name] = math.exp(self.rng.gauss(-spread * spread / 2, spread))
        self.stocks[culture.name] = (at_h, CultureState(stock_mg, age))
        names = {c.name for c in self.room.cultures}
        if culture.name not in names:
            self.room = evolve(self.room, cultures=(*self.room.cultures, culture))

    def advance(self, name: str, to_h: float) -> float:
        """Lets a culture grow; the most that can be taken from it now [mg]."""
        culture = self.room.culture(name)
        at_h, state = self.stocks[name]
        clock = culture_clock(self.room, culture, ())
        model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
        model = evolve(model, capacity_mg=model.capacity_mg * self.level[name])
        state = state.later(model, max(0.0, clock.days(at_h, to_h)), clock.pace(at_h, to_h))
        self.stocks[name] = (to_h, state)
        return model.climbing(state.stock_mg, state.age)

    def drop(self, name: str) -> None:
        """A culture is gone."""
        self.stocks.pop(name, None)
        kept = tuple(c for c in self.room.cultures if c.name != name)
        self.room = evolve(self.room, cultures=kept)

    def seen(self, now: datetime) -> Room:
        """The room as its keeper sees it in the morning and puts its file right.

        Of what was told before only the ids and what lies ahead still count: the keeper sees what
        stands, what is held and what is in the tin.
        """
        now_h = hours(now)
        cultures = []
        for culture in self.room.cultures:
            self.advance(culture.name, now_h)
            _, state = self.stocks[culture.name]
            mark = CultureMark(at_h=now_h, age=state.age, stock_mg=state.stock_mg)
            cultures.append(evolve(culture, mark=mark))
        hatches = tuple(hatch for _, hatch in sorted(self.in_vessel.items()))
        cysts = self.room.cysts
        assert cysts is not None
        stated = evolve(
            self.room, as_of=now.date(), stated_at=now, cultures=tuple(cultures), hatches=hatches,
            cysts=evolve(cysts, grams=self.grams),
        )  # fmt: skip
        room = present(stated, (), self.record, now).room
        return evolve(
            room, cultures=stated.cultures, hatches=hatches, cysts=stated.cysts,
            held=tuple(self.held),
        )  # fmt: skip


def random_world(seed: int) -> World:
    """A room of three to eight tanks with two cultures of each worm and one or two bottles."""
    rng = random.Random(seed)
    text = _ROOM
    for i in range(rng.randint(3, 8)):
        text += (
            f'[[tank]]\nname = "T{i}"\nlitres = 40\ntemperature_c = {rng.choice([25, 26, 27])}\n'
        )
    for i in range(rng.randint(1, 2)):
        text += f'[[vessel]]\nname = "V{i}"\nlitres = 1\ntemperature_c = 27\n'
    for i, days in enumerate((16, 6)):
        text += (
            f'[[culture]]\nname = "MW-{i}"\nkind = "microworm"\n'
            f"started = {(_START - timedelta(days=days)).date()}\n"
            "medium_g = 150\nsurface_cm2 = 180\nstarter_g = 10\n"
        )
    for i, days in enumerate((120, 50)):
        text += (
            f'[[culture]]\nname = "VE-{i}"\nkind = "vinegar_eel"\n'
            f"started = {(_START - timedelta(days=days)).date()}\n"
            "medium_g = 1500\nstarter_g = 150\n"
        )
    world = World(rng, read_room(text, today=_START.date()))
    for culture in world.room.cultures:
        begun = hours(world.room.local(culture.started, time(12)))
        starter = culture.starter_g * culture.kind.values["starter_mg_per_g"]
        world.begin(culture, begun, starter)
    return world


def spawn(world: World, now: datetime) -> None:
    """Grown broods leave; into a free tank a new one is spawned now and then."""
    kept = []
    for brood in world.room.broods:
        course = BroodCourse.of(world.room, brood)
        if course.length_mm(hours(now)) < brood.fry_class.values["wean_mm"] * 1.6:
            kept.append(brood)
    taken = {b.tank for b in kept}
    free = [t.name for t in world.room.tanks if t.name not in taken]
    if free and world.rng.random() < 0.12:
        fry_class = shipped_class(world.rng.choice(_CLASSES))
        world.spawned += 1
        kept.append(
            Brood(
                name=f"brood {world.spawned}", tank=free[0], fry_class=fry_class,
                count=float(world.rng.randint(40, 160)), counted_on=now.date(), anchor="spawned",
                anchor_date=now.date(), survival_per_day=fry_class.values["survival_per_day"],
            )
        )  # fmt: skip
    world.room = evolve(world.room, broods=tuple(kept))


@define
class Tally:
    """What a year came to."""

    fed: int = 0
    hungry: int = 0
    foreseen: int = 0
    tasks: int = 0
    crashes: int = 0


def live(seed: int, days: int) -> Tally:
    """One room for so many days."""
    world, tally = random_world(seed), Tally()
    warned: dict[datetime, datetime] = {}
    for day in range(days):
        now = (_START.replace(tzinfo=None) + timedelta(days=day)).replace(tzinfo=_ZONE)
        for culture in list(world.room.cultures):
            if world.rng.random() < culture.kind.values["crash_per_day"]:
                world.drop(culture.name)
                tally.crashes += 1
        spawn(world, now)
        outlook = make_outlook(world.seen(now), now=now)
        for shortfall in plan_of(outlook, remedies=False, risk=True).shortfalls:
            for feeding in outlook.feedings:
                if shortfall.at <= feeding.at <= shortfall.until:
                    warned.setdefault(feeding.at, now)
        carry_out(world, outlook, now, tally, warned)
    return tally


def carry_out(
    world: World, outlook: Outlook, now: datetime, tally: Tally, warned: dict[datetime, datetime]
) -> None:
    """Does a day's tasks in the true world and counts who was fed."""
    until = now + timedelta(days=1)
    told = tellings(outlook, [t for t in tasks_of(outlook) if now <= t.at < until], now)
    tasks = {**world.record.tasks, **{t.task.id: t for t in told}}
    world.record = Record(tasks, last=now)
    worms: dict[str, list[float]] = {}
    for task in (t.task for t in told):
        if not isinstance(task, Feed | Soak | HarvestWorms | Count | FirstFood):
            tally.tasks += 1
        if isinstance(task, HarvestWorms):
            kind = world.room.culture(task.subject).kind.name
            climbs = world.advance(task.subject, hours(task.at))
            taken = min(task.amounts["mg"], climbs)
            at_h, state = world.stocks[task.subject]
            world.stocks[task.subject] = (at_h, state.without(taken))
            pair = worms.setdefault(kind, [0.0, 0.0])
            pair[0] += taken
            pair[1] += task.amounts["mg"]
        elif isinstance(task, Feed):
            _feed(world, outlook, task, worms, tally, warned)
            worms = {}
        else:
            _other(world, outlook, task)


def _other(world: World, outlook: Outlook, task: Task) -> None:
    at_h = hours(task.at)
    if isinstance(task, SetHatch) and world.grams >= task.amounts["cysts_g"]:
        grams, key = task.amounts["cysts_g"], task.id.partition("/")[2]
        world.in_vessel[task.subject] = RunningHatch(task.subject, task.at, grams, key)
        world.grams -= grams
    elif isinstance(task, HarvestHatch) and task.subject in world.in_vessel:
        hatch = world.in_vessel.pop(task.subject)
        model = vessel_model(outlook.room, outlook.room.vessel(task.subject))
        waited = round(at_h - hours(hatch.set_at), 6)
        spread = outlook.room.hatch_kind.values["yield_spread"]
        luck = math.exp(world.rng.gauss(-spread * spread / 2, spread)) * hatch.cysts_g
        world.held.append(
            HeldNauplii(
                task.subject, task.at, luck * model.nauplii(waited), luck * model.energy(waited)
            )
        )
    elif isinstance(task, Split) and task.subject in world.stocks:
        world.advance(task.subject, at_h)
        parent = world.room.culture(task.subject)
        _, state = world.stocks[task.subject]
        given = state.stock_mg * min(1.0, task.amounts["starter_g"] / parent.medium_g)
        world.stocks[task.subject] = (at_h, state.without(given))
        child = evolve(parent, name=task.other, started=task.at.date(), mark=None)
        world.begin(child, at_h, given)
    elif isinstance(task, Retire):
        world.drop(task.subject)
    elif isinstance(task, Buy) and "cysts_g" in task.amounts:
        world.grams += max(100.0, task.amounts["cysts_g"])
    for kind in ("microworm", "vinegar_eel"):  # a keeper who has lost all gets a new one
        if not any(c.kind.name == kind for c in world.room.cultures):
            _buy(world, kind, at_h)


def _buy(world: World, kind_name: str, at_h: float) -> None:
    kind = world.room.kinds[kind_name]
    assert isinstance(kind, WormKind)
    solid = kind.medium == "solid"
    number = sum(1 for name in world.level if name.startswith(kind.prefix))
    culture = Culture(
        name=f"{kind.prefix}-b{number}", kind=kind, started=world.room.at_hour(at_h).date(),
        medium_g=150.0 if solid else 1500.0, surface_cm2=180.0 if solid else None,
        starter_g=10.0 if solid else 150.0,
    )  # fmt: skip
    world.begin(culture, at_h, culture.starter_g * kind.values["starter_mg_per_g"])


def _feed(
    world: World, outlook: Outlook, task: Task, worms: dict[str, list[float]], tally: Tally,
    warned: dict[datetime, datetime],
) -> None:  # fmt: skip
    feeding = next(r for r in outlook.feedings if r.at == task.at)
    ratio = {kind: real / planned if planned else 1.0 for kind, (real, planned) in worms.items()}
    planned = outlook.feeding.hatches.given_j[feeding.index]
    if planned > 0:
        ratio[BRINE_SHRIMP] = _from_held(world, outlook, feeding.at_h, planned) / planned
    given: dict[str, float] = {}
    for line in outlook.lines[feeding.index]:
        given[line.brood] = given.get(line.brood, 0.0) + line.given_j * ratio.get(line.food, 1.0)
    for need in outlook.needs[feeding.index]:
        if given.get(need.brood.name, 0.0) >= _FED_FROM * need.energy_j:
            tally.fed += 1
        else:
            tally.hungry += 1
            told = warned.get(feeding.at)
            tally.foreseen += told is not None and told <= feeding.at - _LEAD


def _from_held(world: World, outlook: Outlook, at_h: float, wanted_j: float) -> float:
    """Takes energy out of the true jars, oldest first [J]."""
    holding, got = outlook.room.holding, 0.0
    left: list[HeldNauplii] = []
    for held in sorted(world.held, key=lambda h: not holding.keeps(hours(h.harvested_at), at_h)):
        harvested_h = hours(held.harvested_at)
        if not holding.still_feeds(harvested_h, at_h):
            continue
        share = holding.share(harvested_h, at_h)
        used = min(wanted_j - got, held.energy_j * share)
        got += used
        rest = held.energy_j - used / share
        if rest > 1.0:
            nauplii = held.nauplii * rest / held.energy_j
            left.append(evolve(held, energy_j=rest, nauplii=nauplii))
    world.held = left
    return got


def study(years: int, days: int = 365, first: int = 0) -> Tally:
    """Several rooms, one after another; prints what each and all came to."""
    whole = Tally()
    for seed in range(first, first + years):
        tally = live(seed, days)
        for name in ("fed", "hungry", "foreseen", "tasks", "crashes"):
            setattr(whole, name, getattr(whole, name) + getattr(tally, name))
        print(_line(f"room {seed}", tally, days))
    print(_line("all", whole, days * years))
    return whole


def _line(name: str, t: Tally, days: int) -> str:
    rounds = max(1, t.fed + t.hungry)
    foreseen = f"{t.foreseen / t.hungry:.0%}" if t.hungry else "-"
    return (
        f"{name:8} brood-rounds fed {t.fed / rounds:.1%} of {rounds}, hungry {t.hungry}, of these"
        f" foreseen 3 days ahead {foreseen}, crashes {t.crashes}, tasks a week"
        f" {7 * t.tasks / days:.1f}"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=5)
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--first", type=int, default=0)
    options = parser.parse_args()
    study(options.years, options.days, options.first)
