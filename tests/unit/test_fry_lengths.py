"""What is kept of fry by their length is that of their class, under the laws that hold."""

from __future__ import annotations

from datetime import date, time
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.fry import lengths
from cultures.fry.classes import shipped_class
from cultures.fry.feeding import feeding_values
from cultures.fry.lengths import ByLength, Fry
from cultures.needs.need import room_needs, rounds_between
from cultures.room.file import read_room


def test_a_length_is_worked_out_once_and_few_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []

    def doubled(length_mm: float) -> float:
        asked.append(length_mm)
        return 2.0 * length_mm

    monkeypatch.setattr(lengths, "_MOST", 3)
    by_length = ByLength(doubled)
    assert [by_length[mm] for mm in (4.0, 5.0, 4.0)] == [8.0, 10.0, 8.0]
    assert asked == [4.0, 5.0]
    assert [by_length[mm] for mm in (6.0, 7.0)] == [12.0, 14.0]
    assert len(by_length) == 1  # room for others was made
    assert by_length[4.0] == 8.0


def test_a_class_is_the_same_as_itself_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    fry_class = shipped_class("rainbowfish")
    fry = Fry(fry_class)
    assert fry == Fry(fry_class)
    assert hash(fry) == hash(Fry(fry_class))
    assert fry != Fry(evolve(fry_class))
    assert fry != fry_class
    monkeypatch.setattr(lengths, "feeding_values", lambda: dict(feeding_values()))
    assert fry != Fry(fry_class)


def test_a_class_of_a_name_that_was_planned_with_other_numbers_needs_what_its_own_ask() -> None:
    """Twice the weight at each length asks for more food, whatever was worked out before."""
    room = read_room(demo_text(date(2027, 1, 5)), name="room.toml", today=date(2027, 1, 5))
    start = room.local(date(2027, 1, 5), time(0))
    feedings = rounds_between(room, start, room.local(date(2027, 1, 7), time(0)))
    before = room_needs(room, feedings)
    broods = tuple(
        evolve(b, fry_class=evolve(b.fry_class, values={
            **b.fry_class.values, "weight_a_mg": 2.0 * b.fry_class.values["weight_a_mg"]
        }))
        for b in room.broods
    )  # fmt: skip
    after = room_needs(evolve(room, broods=broods), feedings)
    pairs = [(a, b) for old, new in zip(before, after, strict=True)
             for a, b in zip(old, new, strict=True)]  # fmt: skip
    assert pairs
    assert all(a.length_mm == b.length_mm and a.energy_j < b.energy_j for a, b in pairs)
    again = room_needs(room, feedings)
    assert [[n.foods for n in row] for row in again] == [[n.foods for n in row] for row in before]


def test_the_second_of_an_hour_that_comes_twice_stays_the_second() -> None:
    """On 31 October 2027 it is 2:30 in Berlin at 0:30 and at 1:30 UTC; Python calls them fold 0
    and 1, and holds such times for equal.
    """
    room = read_room(demo_text(date(2027, 1, 5)), name="room.toml", today=date(2027, 1, 5))
    room = evolve(room, timezone=ZoneInfo("Europe/Berlin"))
    day, at = date(2027, 10, 31), time(2, 30)
    for _ in range(2):
        first, second = room.local(day, at), room.local(day, at.replace(fold=1))
        assert first.timestamp() + 3600.0 == second.timestamp()
