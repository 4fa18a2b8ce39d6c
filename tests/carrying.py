"""Whether a brood is fed in a room, by planning that room anew and carrying the plan out."""

from __future__ import annotations

import random
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from attrs import evolve, frozen

from cultures.planning.build import build_tasks
from cultures.planning.carry import Carried, Carry
from cultures.planning.gaps import find_gaps
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.servings import SHORT_SHARE
from cultures.planning.what_if import settings_and_splits
from cultures.room.file import read_room
from cultures.room.room import Brood, Room
from tests.simulation import simulate


@frozen
class Fed:
    """What adding a brood to the room and planning it gives.

    Attributes:
        own: rounds at which the brood goes short. taken_j: by how much more the others do [J].
        bearable_j: what of that is called nothing. broken: rules that the tasks break, and rounds
            that they feed with less than is promised.
    """

    own: int
    taken_j: float
    bearable_j: float
    broken: int

    @property
    def well(self) -> bool:
        """Whether the brood is fed, and nobody pays for it."""
        return not self.own and not self.broken and self.taken_j <= self.bearable_j


def fed(room: Room, now: datetime, brood: Brood, until: datetime) -> Fed:
    """Plans a room with and without a brood, as a keeper would, and carries out the first."""
    return Beside.of(room, now, until).fed(brood)


@frozen(eq=False)
class Beside:
    """A room planned as it is once, to plan it anew with broods that are looked at until a time.

    Attributes:
        missing_j: what the broods that are there miss anyway, of what more food would mend [J].
    """

    room: Room
    now: datetime
    until: datetime
    missing_j: float

    @classmethod
    def of(cls, room: Room, now: datetime, until: datetime) -> Beside:
        """Plans the room; what it plans within its horizon counts as told."""
        plan = plan_of(make_outlook(room, now=now), remedies=False)
        room = evolve(room, told=settings_and_splits(plan, room.told))
        alone = make_outlook(room, now=now, days=_days(now, until))
        return cls(room, now, until, sum(_missing(alone, until).values()))

    def fed(self, brood: Brood, *, carried_out: bool = True) -> Fed:
        """Plans it with a brood, and carries that out too unless told otherwise."""
        room = evolve(self.room, broods=(*self.room.broods, brood))
        outlook = make_outlook(room, now=self.now, days=_days(self.now, self.until))
        after = _missing(outlook, self.until)
        own = [key for key in after if key[1] == brood.name]
        others_j = sum(short_j for key, short_j in after.items() if key not in own)
        eaten_j = sum(
            need.energy_j for row in outlook.needs for need in row
            if need.brood.name == brood.name and need.at < self.until
        )  # fmt: skip
        return Fed(
            own=len(own),
            taken_j=others_j - self.missing_j,
            bearable_j=SHORT_SHARE * max(self.missing_j, eaten_j),
            broken=_broken(outlook) if carried_out else 0,
        )

    def of_sizes(self, brood: Brood, counts: Iterable[int]) -> dict[int, bool]:
        """Whether it is fed in each of some sizes, all of them planned one by one."""
        return {n: self.fed(evolve(brood, count=n), carried_out=False).well for n in counts}


def _days(now: datetime, until: datetime) -> int:
    return max(1, (until.date() - now.date()).days)


def _missing(outlook: Outlook, until: datetime) -> dict[tuple[datetime, str], float]:
    """What each brood misses at each round that more food would mend [J]; a new one at any."""
    known = {brood.name for brood in outlook.room.broods if not brood.name.startswith("supposed ")}
    gaps = find_gaps(outlook.feedings, outlook.needs, outlook.feeding, outlook.lines)
    return {
        (gap.feeding.at, gap.need.brood.name): gap.short_j for gap in gaps
        if gap.feeding.at < until
        and (gap.need.brood.name not in known or (gap.feeding.fed and gap.need.foods))
    }  # fmt: skip


def _broken(outlook: Outlook) -> int:
    lines = [line for row in outlook.lines for line in row]
    outcome = simulate(outlook.room, build_tasks(outlook), lines)
    less = [
        line for line in lines
        if outcome.given_j.get((line.at, line.brood, line.food), 0.0)
        < line.given_j * (1.0 - 1e-6) - 1e-6
    ]  # fmt: skip
    return len(outcome.violations) + len(less)


#: Of small rooms: the day they are of, what is asked for in them, and what stands there.
TODAY = date(2027, 1, 5)
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "livebearer", "goldfish",
            "annual_killifish", "mouthbrooder", "rainbowfish")  # fmt: skip
_KINDS = ("microworm", "vinegar_eel", "banana_worm", "grindal_worm")


@frozen
class Asked:
    """A small room, and what is asked of it: how many of a class that spawn on a day, in "free".

    Attributes:
        text: its file.
    """

    text: str
    room: Room
    now: datetime
    name: str
    day: date


def small_room(seed: int) -> Asked:
    """One or two broods, one or two cultures and mostly a bottle, drawn; a day of three weeks."""
    rng = random.Random(seed)
    text = (
        f'[room]\nname = "Pebble shelf"\ntimezone = "Europe/Lisbon"\nas_of = {TODAY}\n'
        f"temperature_c = {rng.choice((21, 23, 25))}\nhorizon_days = 3\n"
        f"rounds = {rng.choice((['08:00'], ['08:00', '19:00']))}\n"
        f'[[tank]]\nname = "free"\nlitres = 40\ntemperature_c = {rng.choice((24, 26, 28))}\n'
    )
    for number in range(rng.choice((1, 2))):
        text += (
            f'[[tank]]\nname = "T{number}"\nlitres = 40\ntemperature_c = {rng.choice((24, 26))}\n'
            f'[[brood]]\nname = "b{number}"\ntank = "T{number}"\nclass = "{rng.choice(_CLASSES)}"\n'
            f"count = {rng.choice((5, 20, 60))}\n"
            f"spawned = {TODAY - timedelta(days=rng.randrange(2, 15))}\n"
        )
    for number in range(rng.choice((1, 2))):
        text += (
            f'[[culture]]\nname = "C{number}"\nkind = "{rng.choice(_KINDS)}"\n'
            f"started = {TODAY - timedelta(days=rng.randrange(6, 25))}\n"
            f"medium_g = {rng.choice((20, 60, 150))}\nstarter_g = {rng.choice((1, 2))}\n"
            f"surface_cm2 = {rng.choice((20, 60, 180))}\n"
        )
    if rng.random() < 0.8:
        text += (
            f'[[vessel]]\nname = "cone"\nlitres = {rng.choice((0.1, 0.5, 1))}\n'
            f"temperature_c = 27\n[cysts]\ngrams = {rng.choice((0.5, 2, 6, 15, 60))}\n"
        )
    room = read_room(text, today=TODAY)
    name, weeks = rng.choice(_CLASSES), rng.randrange(3)
    now = datetime(2027, 1, 5, 7, tzinfo=room.timezone)
    return Asked(text, room, now, name, TODAY + timedelta(weeks=weeks))


def carried_in(seed: int) -> Carried:
    """The answer of ``carry`` to what is asked in a small room."""
    asked = small_room(seed)
    (found,) = Carry(asked.room, asked.now, [asked.day]).by_day(asked.name, "free")
    return found
