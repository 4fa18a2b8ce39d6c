"""Whether the broods that ``carry`` names are fed once they are added and planned.

Run: python -m tests.studies.carry [rooms] [--seed N]

Random rooms of the properties, a class drawn for each and a week of the next eight: the named brood
is added, the room is planned as a keeper's would be and the plan carried out; then one of the next
larger size. Prints how many held, and each that did not.
"""

from __future__ import annotations

import argparse
from collections import Counter
from datetime import timedelta
from time import process_time

from attrs import evolve
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from cultures.errors import LivefoodError
from cultures.planning.carry import Carried, Carry, sizes
from tests.carrying import fed
from tests.strategies import CLASSES, RoomCase, room_cases


def main(rooms: int, number: int) -> None:
    """Prints the counts."""
    held: Counter[str] = Counter()
    began = process_time()

    @seed(number)
    @settings(
        max_examples=rooms, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=room_cases(most_broods=3), name=st.sampled_from(CLASSES), weeks=st.integers(1, 8))
    def draw(case: RoomCase, name: str, weeks: int) -> None:
        held["rooms"] += 1
        room, now = case.room(), case.now()
        tank = room.tanks[0].name if room.tanks else None
        try:
            day = now.date() + timedelta(weeks=weeks - 1)
            (week,) = Carry(room, now, [day]).by_day(name, tank)
        except LivefoodError:
            held["no tank, or too cold for eggs"] += 1
            return
        _look(case, week, held)

    draw()
    held["seconds of the processor"] = round(process_time() - began)
    for what, count in held.items():
        print(f"{count:6}  {what}")


def _look(case: RoomCase, week: Carried, held: Counter[str]) -> None:
    room, now, gap = case.room(), case.now(), week.gap
    kind = "none is fed" if not week.largest else "up to a size" if gap else "nothing limits"
    held[kind] += 1
    if week.largest:
        named = fed(room, now, week.brood, week.until)
        held["named and fed" if named.well else "named and NOT fed"] += 1
        if not named.well:
            print("NOT fed", week.to_json(), named, case.text, sep="\n", flush=True)
    if gap is not None:
        count = next(size for size in sizes() if size > week.largest)
        larger = fed(room, now, evolve(week.brood, count=count), week.until)
        held["the next not fed" if not larger.well else "the next FED"] += 1
        if larger.well:
            print("FED", week.to_json(), larger, case.text, sep="\n", flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", type=int, nargs="?", default=100)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    main(arguments.rooms, arguments.seed)
