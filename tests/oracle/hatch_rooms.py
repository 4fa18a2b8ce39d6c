"""Random rooms with bottles, drawn over the whole range that keepers have, and their programme.

Every test of a plan against an optimum draws here, so that a range is widened in one place.
The programme is written from what a keeper may do, not from what the planner offers itself: a
hatch may be set at every half hour at which somebody is awake and there.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from attrs import evolve, frozen

from cultures.needs.need import BroodNeed, Round, room_needs, rounds_between
from cultures.planning.hatch_options import CLEANING_H, harvest_time
from cultures.planning.lots import LotProblem, Option
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.words.moments import hours

_FIRST = date(2027, 3, 1)
#: Feeding times and waking hours.
_ROUNDS = [
    (["07:30", "18:30"], ["06:30", "22:30"]),
    (["08:00", "20:00"], ["07:30", "20:30"]),
    (["07:00", "13:00", "19:30"], ["06:30", "22:00"]),
    (["06:45", "17:00"], ["06:45", "17:00"]),
    (["09:00"], ["08:00", "23:00"]),
]
_CLASSES = ["egg_scatterer", "bubble_nest", "substrate_spawner", "rainbowfish", "tiny_scatterer",
            "annual_killifish"]  # fmt: skip
#: A usual culture of a kind: medium [g], surface [cm2], 0 for a liquid, and greatest age [d].
_STARTED = {
    "microworm": (150, 180, 33),
    "banana_worm": (150, 180, 33),
    "grindal_worm": (300, 250, 90),
    "vinegar_eel": (1500, 0, 120),
}
#: A setting between rounds costs so much of one at a round, and a hatch is one from so much on.
_EXTRA_WAY = 1.25
_LEAST_VALUE = 0.5
#: Rooms of the collection: seeds that once were planned badly.
COLLECTION: tuple[int, ...] = (0, 1)


@frozen(eq=False)
class HatchRoom:
    """A room, its rounds, and the nauplii that are wanted at each [J]."""

    room: Room
    feedings: Sequence[Round]
    demand_j: list[float]
    start: datetime


@frozen(eq=False)
class JointRoom:
    """A room of all foods, its rounds, and what each brood needs at each; nothing after the end,
    and no cultures for then.

    Attributes:
        rounds: how many of the feedings count; the others let the plan look ahead.
    """

    room: Room
    feedings: Sequence[Round]
    needs: list[list[BroodNeed]]
    start: datetime
    rounds: int


def hatch_room(seed: int, *, tin: bool = True) -> HatchRoom:
    """A room of one to six bottles; about a third have more need than bottles or cysts."""
    rng = random.Random(seed)
    rounds, awake = rng.choice(_ROUNDS)
    air_c: float = rng.choice([12, 16, 18, 20, 22, 24, 27, 30])
    vessels = rng.choice([1, 1, 2, 2, 3, 4, 5, 6])
    text = _head(rng, rounds, awake, air_c) + _bottles(rng, vessels, air_c)
    days = rng.choice([8, 10, 12]) if vessels < 4 else 7
    text += _absences(rng, days) + "[cysts]\ngrams = 100000\n"
    room = read_room(text, today=_FIRST)
    start = room.local(_FIRST, room.awake[0])
    feedings = rounds_between(room, start, start + timedelta(days=days))
    level = rng.choice([0.02, 0.1, 0.3, 0.6, 0.9, 1.3]) * _hatched_j(room) / len(rounds)
    trend, gaps = rng.uniform(0.97, 1.06), rng.choice([0.0, 0.0, 0.15, 0.5])
    demand = []
    for feeding in feedings:
        level *= trend
        empty = rng.random() < gaps or not feeding.fed
        demand.append(0.0 if empty else level * rng.uniform(0.9, 1.1))
    if tin and rng.random() < 0.3:
        wanted_g = sum(demand) / 6000.0
        room = _with_tin(room, round(wanted_g * rng.choice([0.0, 0.3, 0.7, 1.0]), 1))
    return HatchRoom(room, feedings, demand, start)


def joint_room(seed: int) -> JointRoom:
    """A small room of worms, bottles and dry food; about a third have more need than food."""
    rng = random.Random(seed)
    rounds, awake = rng.choice(_ROUNDS)
    air_c: float = rng.choice([16, 18, 20, 22, 24, 27])
    days, vessels = rng.choice([4, 5, 6, 8]), rng.choice([0, 1, 1, 2])
    text = _head(rng, rounds, awake, air_c) + _bottles(rng, vessels, air_c)
    text += _absences(rng, days) + "[cysts]\ngrams = 100000\n"
    kinds = rng.sample(sorted(_STARTED), rng.choice([1, 1, 2]))
    for number in range(rng.choice([1, 2, 3])):
        kind = kinds[number % len(kinds)]
        grams, surface, oldest = _STARTED[kind]
        size = rng.choice([0.3, 1, 1, 3])
        text += (
            f'[[culture]]\nname = "C{number}"\nkind = "{kind}"\n'
            f"started = {_FIRST - timedelta(days=rng.randrange(2, oldest))}\n"
            f"medium_g = {grams * size}\nstarter_g = {grams * size / 10}\n"
        )
        text += f"surface_cm2 = {surface * size}\n" if surface else ""
    foods = [*kinds, *(["brine_shrimp"] if vessels else []), "dry"]
    for number in range(rng.choice([2, 3, 4])):
        listed = [] if rng.random() < 0.3 else rng.sample(foods, rng.randrange(1, len(foods) + 1))
        text += (
            f'[[tank]]\nname = "T{number}"\nlitres = 60\n'
            f"temperature_c = {rng.choice([22, 25, 27])}\n"
            f'[[brood]]\nname = "b{number}"\ntank = "T{number}"\nclass = "{rng.choice(_CLASSES)}"\n'
            f"count = {rng.choice([2000, 5000, 10000])}\n"
            f"free_swimming = {_FIRST - timedelta(days=rng.choice([0, 2, 4, 8, 14, 25]))}\n"
        )
        text += f"foods = {listed}\n".replace("'", '"') if listed else ""
    room = read_room(text, today=_FIRST)
    start = room.local(_FIRST, room.awake[0])
    end, view = (start + timedelta(days=d) for d in (days, days + 36))
    feedings = rounds_between(room, start, view)
    counted = sum(1 for r in feedings if r.at < end)
    wanted_j = sum(n.energy_j for row in room_needs(room, feedings[:counted]) for n in row) / days
    level = rng.choice([0.05, 0.2, 0.5, 0.8, 1.2]) * (_hatched_j(room) + _worms_j(room)) / wanted_j
    room = evolve(room, spare_cultures=0, broods=tuple(
        evolve(b, count=max(5, round(b.count * level))) for b in room.broods
    ))  # fmt: skip
    needs = room_needs(room, feedings)
    if rng.random() < 0.3:
        wanted_g = sum(n.foods.get("brine_shrimp", 0.0) for row in needs for n in row) / 6000.0
        share = rng.choice([0.1, 0.3, 0.7]) * counted / len(feedings)
        room = _with_tin(room, round(wanted_g * share, 1))
    needs = [row if i < counted else [] for i, row in enumerate(needs)]
    return JointRoom(room, feedings, needs, start, counted)


def _head(rng: random.Random, rounds: list[str], awake: list[str], air_c: float) -> str:
    text = (
        f'[room]\nname = "Drawn"\ntimezone = "Europe/Lisbon"\nas_of = {_FIRST}\n'
        f"temperature_c = {air_c}\nrounds = {rounds}\nawake = {awake}\nhatch_margin = 0\n"
        f"effort_g = {rng.choice([0.5, 1, 3, 3, 10])}\n"
    ).replace("'", '"')
    return text + ("fridge_c = 5\n" if rng.random() < 0.5 else "")


def _bottles(rng: random.Random, count: int, air_c: float) -> str:
    text, alike = "", rng.random() < 0.3
    litres, warm = rng.choice([0.3, 0.5, 1.0, 1.5, 2.0, 4.0]), rng.choice([air_c, 24, 26, 28])
    for number in range(count):
        if number and not alike:
            litres, warm = (
                rng.choice([0.3, 0.5, 1.0, 2.0, 4.0]),
                rng.choice([air_c, 22, 24, 25.5, 28]),
            )
        text += (
            f'[[vessel]]\nname = "V{number}"\nlitres = {litres}\n'
            f"temperature_c = {max(warm, air_c, 16)}\n"
        )
    return text


def _absences(rng: random.Random, days: int) -> str:
    text = ""
    for _ in range(rng.choice([0, 0, 0, 1])):
        first = _FIRST + timedelta(days=rng.randrange(1, days))
        last = first + timedelta(days=rng.choice([0, 1, 3]))
        helper = rng.choice(["true", "false"])
        text += f"[[away]]\nfrom = {first}\nto = {last}\nhelper = {helper}\n"
    return text


def _hatched_j(room: Room) -> float:
    """What the bottles of a room give in a day at most [J]."""
    return sum(
        room.hatch_kind.most_grams(v.litres) * m.energy(m.best_hours()) * 24 / (m.best_hours() + 2)
        for v in room.vessels
        if (m := vessel_model(room, v)).rate > 0
    )


def _worms_j(room: Room) -> float:
    """What half-full cultures of a room give in a day at most [J]."""
    total = 0.0
    for culture in room.cultures:
        model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
        taken_mg = model.harvestable(model.capacity_mg / 2.0, len(room.rounds)) * len(room.rounds)
        total += taken_mg * culture.kind.values["energy_j_per_mg"]
    return total


def _with_tin(room: Room, grams: float) -> Room:
    assert room.cysts is not None
    return evolve(room, cysts=evolve(room.cysts, grams=grams))


def every_half_hour(drawn: HatchRoom, problem: LotProblem) -> LotProblem:
    """The problem with a batch for every half hour at which it may be set.

    Of two with the same vessel and round, one that starts no earlier, brings no less and is no more
    work makes the other needless.
    """
    room, holding, options = drawn.room, drawn.room.holding, []
    for number, vessel in enumerate(room.vessels):
        model = vessel_model(room, vessel)
        if model.rate <= 0:
            continue
        most = room.hatch_kind.most_grams(vessel.litres)
        # Once out they keep no longer than in a jar as warm.
        longest_h = model.best_hours() + room.hatch_kind.values["warm_hold_h"]
        for feeding in drawn.feedings:
            harvest_h = harvest_time(room, feeding)
            if feeding.keeper:
                share = holding.share(harvest_h, feeding.at_h)
                found = [
                    Option(number, feeding.index, at_h, harvest_h + CLEANING_H,
                           model.energy(harvest_h - at_h) * share, most, effort)
                    for at_h, effort in _moments(drawn, harvest_h)
                    if harvest_h - at_h <= longest_h + 1e-9
                    and model.energy(harvest_h - at_h)
                    >= _LEAST_VALUE * model.energy(model.best_hours())
                ]  # fmt: skip
                options += _undominated(found)
    return evolve(problem, options=tuple(options))


def _moments(drawn: HatchRoom, harvest_h: float) -> list[tuple[float, float]]:
    """(time, work) of the settings that a keeper could make before a harvest, five days back."""
    room, found = drawn.room, []
    rounds = {r.at_h for r in drawn.feedings if r.keeper}
    for back in range(6):
        day = room.at_hour(harvest_h).date() - timedelta(days=back)
        if room.away_on(day) is not None:
            continue
        low, high = (hours(room.local(day, at)) for at in room.awake)
        times = {low + 0.5 * k for k in range(int((high - low) * 2) + 1)} | {
            hours(room.local(day, at)) for at in room.rounds
        }
        found += [
            (at_h, 1.0 if at_h in rounds else _EXTRA_WAY)
            for at_h in times
            if hours(drawn.start) <= at_h < harvest_h and low <= at_h <= high
        ]
    return found


def _undominated(options: list[Option]) -> list[Option]:
    kept: list[Option] = []
    for one in sorted(options, key=lambda o: (-o.start_h, o.effort, -o.energy_per_g)):
        if not any(k.energy_per_g >= one.energy_per_g and k.effort <= one.effort for k in kept):
            kept.append(one)
    return kept
