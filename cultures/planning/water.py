"""What a plan's feeding means for the water of each tank, day by day."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from attrs import frozen

from cultures.fry.nitrogen import TankLoad, TooMuch, tank_load
from cultures.room.room import Room
from cultures.tasks.told import WEIGHED, FeedLine
from cultures.words.tasks import PINCH_G


@frozen(eq=False)
class WaterWarning:
    """A day on which a tank is fed more than it bears, and in how far."""

    day: date
    tank: str
    load: TankLoad
    too_much: tuple[TooMuch, ...]


def tank_loads(room: Room, lines: Iterable[FeedLine]) -> dict[tuple[date, str], TankLoad]:
    """The load of each tank on each day that it is fed, all its broods together."""
    given: dict[tuple[date, str], dict[str, float]] = {}
    needed: dict[tuple[date, str], float] = {}
    others_j: dict[tuple[date, str], float] = {}
    for line in lines:
        key = line.at.date(), line.tank
        foods = given.setdefault(key, {})
        foods[line.food] = foods.get(line.food, 0.0) + line.given_j
        needed[key] = needed.get(key, 0.0) + line.need_j
        # A pinch that came in its turn is for the rounds before, at which there was none.
        pinch = line.way == WEIGHED and line.amount <= PINCH_G + 1e-9
        others_j[key] = others_j.get(key, 0.0) + (0.0 if pinch else line.given_j)
    loads = {}
    for (day, name), foods in given.items():
        need_j, in_turn = needed[day, name], others_j[day, name] <= needed[day, name]
        tank = room.tank(name)
        loads[day, name] = tank_load(
            tank=name,
            litres=tank.litres,
            temperature_c=tank.temperature_c,
            given_j=foods,
            need_j=None if in_turn and sum(foods.values()) > need_j else need_j or None,
        )
    return loads


def water_warnings(room: Room, lines: Iterable[FeedLine]) -> list[WaterWarning]:
    """The first day of each run of days on which a tank is fed too much for its water."""
    found: list[WaterWarning] = []
    last: dict[str, date] = {}
    for (day, tank), load in sorted(tank_loads(room, lines).items(), key=lambda item: item[0]):
        too_much = load.warnings()
        if too_much:
            if tank not in last or (day - last[tank]).days > 1:
                found.append(WaterWarning(day, tank, load, tuple(too_much)))
            last[tank] = day
    return found
