"""What going short costs, by hand: days of growth, and the day from which fry starve."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cultures.fry.bioenergetics import Fed, days_to_no_return
from cultures.needs.need import BroodCourse
from cultures.planning.notes import starving_broods
from cultures.planning.plan import make_plan
from cultures.room.file import read_room
from cultures.tasks.plan import Shortfall
from cultures.words.moments import hours
from tests.cli.invented import run, run_json

_TODAY = date(2027, 3, 1)
_ROOM = """
[room]
name = "loft"
timezone = "Europe/Lisbon"
as_of = 2027-03-01
temperature_c = 24
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
horizon_days = {days}
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
"""
_BROOD = """
[[brood]]
name = "b"
tank = "A1"
class = "egg_scatterer"
count = 100
free_swimming = {day}
foods = [{foods}]
"""
_AWAY = "[[away]]\nfrom = 2027-03-{first}\nto = 2027-03-{last}\n"
_DRY = _BROOD.format(day="2027-01-10", foods='"dry"')
_HUNGRY = _BROOD.format(day="2027-03-01", foods='"microworm"')


def _short(text: str, *, days: int = 14) -> tuple[Shortfall, ...]:
    room = read_room(_ROOM.format(days=days) + text, today=_TODAY)
    now = datetime(2027, 3, 1, 6, 0, tzinfo=room.timezone)
    return make_plan(room, now=now, remedies=False).shortfalls


def test_who_is_not_fed_for_some_days_is_so_many_behind() -> None:
    (gap,) = _short(_DRY + _AWAY.format(first="04", last="06"))
    assert gap.rounds == 6
    assert gap.behind_days == pytest.approx(3.0, abs=0.1)
    assert gap.starves_at is None


def test_a_fry_without_food_starves_when_its_reserves_are_gone() -> None:
    (gap,) = _short(_HUNGRY)
    assert gap.food == "microworm"
    room = read_room(_ROOM.format(days=14) + _HUNGRY, today=_TODAY)
    course = BroodCourse.of(room, room.broods[0])
    days = days_to_no_return(course.fry_class, course.length_mm(hours(gap.at)), 26.0)
    assert gap.starves_at is not None
    assert gap.starves_at - gap.at == pytest.approx(timedelta(days=days), abs=timedelta(minutes=5))


def test_an_absence_short_enough_costs_growth_and_a_longer_one_lives() -> None:
    """At 30 mm, 800 times its first weight, one lives 4.8 d x 800^0.25 = 26 days."""
    short, long = (
        _short(_DRY + _AWAY.format(first="02", last=last), days=42)[0] for last in ("22", "31")
    )  # fmt: skip
    assert short.starves_at is None
    assert long.starves_at is not None
    assert long.behind_days > short.behind_days


def test_what_falls_short_by_little_costs_little() -> None:
    """One round of two weeks."""
    text = _DRY + _AWAY.format(first="04", last="04")
    (gap,) = _short(text)
    assert 0.5 < gap.behind_days < 1.1


def test_screens_say_what_it_costs(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(_ROOM.format(days=14) + _DRY + _AWAY.format(first="04", last="06"), "utf-8")
    now = "2027-03-01T06:00"
    told = " ".join(run(room, "shortfalls", now=now).output.split())
    assert "nobody is there to feed. The fry would be 3 days behind." in told
    (listed,) = run_json(room, "shortfalls", now=now)
    assert listed["behind_days"] == pytest.approx(3.0, abs=0.1)
    assert "starves_at" not in listed
    room.write_text(_ROOM.format(days=14) + _HUNGRY, "utf-8")
    told = " ".join(run(room, "shortfalls", now=now).output.split())
    assert "The fry would starve from Sat 6 Mar." in told
    today = " ".join(run(room, "today", now=now).output.split())
    assert "and the fry in A1 starve from Sat 6 Mar" in today


_LARVAE = """
[[tank]]
name = "A{n}"
litres = 40
temperature_c = 26
[[brood]]
name = "larvae {n}"
tank = "A{n}"
class = "bubble_nest"
count = 100
free_swimming = 2027-03-01
foods = ["microworm"]
"""


@pytest.mark.parametrize(("left_days", "named"), [(2.6, False), (2.4, True)])
def test_larvae_that_are_lean_and_have_two_days_left_are_named(
    left_days: float, *, named: bool
) -> None:
    """However much of their reserves that is: they live three or four days on all of them."""
    cool = _LARVAE.format(n=2).replace("= 26", "= 20.5")
    room = read_room(_ROOM.format(days=14) + cool, today=_TODAY)
    course = BroodCourse.of(room, room.broods[0])
    now = room.at_hour(course.first_food_h)
    reserve = left_days / days_to_no_return(course.fry_class, course.length_mm(hours(now)), 20.5)
    assert 0.5 < reserve < 0.95
    brood = evolve(room.broods[0], fed=Fed(0.0, reserve, 0.5, 1.0))
    told = [*starving_broods(evolve(room, broods=(brood,)), now)]
    assert bool(told) is named
    assert all("larvae 2 in A2" in text for text in told)


def test_the_tanks_that_starve_are_named_where_others_live_on(tmp_path: Path) -> None:
    """Four days without anybody: larvae cannot wait so long, young fish can."""
    text = _DRY + "".join(_LARVAE.format(n=n) for n in (2, 3, 4, 5)) + _AWAY.format(
        first="02", last="06"
    )  # fmt: skip
    (away,) = (s for s in _short(text) if s.food == "any")
    assert away.tanks == ("A1", "A2", "A3", "A4", "A5")
    assert away.starving == ("A2", "A3", "A4", "A5")
    room = tmp_path / "room.toml"
    room.write_text(_ROOM.format(days=14) + text, "utf-8")
    told = " ".join(run(room, "today", now="2027-03-01T06:00").output.split())
    assert "and the fry in A2, A3, A4, A5 starve from" in told
    told = " ".join(run(room, "shortfalls", now="2027-03-01T06:00").output.split())
    assert "The fry in A2, A3, A4, A5 would starve from" in told
