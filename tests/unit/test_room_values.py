"""What a room answers about itself; it is that of `test_replay_by_hand`."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.errors import UnknownNameError
from cultures.room.room import Brood, HowSure, Spell, Told, by_certainty
from cultures.words.moments import hours
from tests.unit.test_replay_by_hand import ROOM, _at

_LISBON = evolve(ROOM, timezone=ZoneInfo("Europe/Lisbon"))
#: One temperature a month: 1 °C in January, 12 in December.
_YEAR = evolve(ROOM, temperatures_c=tuple(float(month) for month in range(1, 13)))


def test_things_are_found_by_name_or_told_as_unknown() -> None:
    assert ROOM.tank("B").litres == 20
    assert ROOM.vessel("bottle").litres == 1
    assert ROOM.culture("MW-1").starter_g == 15
    for ask, what in (
        (ROOM.tank, "tank"), (ROOM.vessel, "vessel"), (ROOM.culture, "culture"),
        (ROOM.brood, "brood"), (ROOM.food, "food"), (ROOM.fry_class, "fry class"),
    ):  # fmt: skip
        with pytest.raises(UnknownNameError, match=f"there is no {what} named 'Q'"):
            ask("Q")
    hoped = evolve(ROOM, hoped=(evolve(ROOM.broods[0], name="later"),))
    assert hoped.brood("later").name == "later"
    assert len(hoped.every_brood) == 3
    assert ROOM.fry_class("paper_fish") is ROOM.fry_classes["paper_fish"]
    assert ROOM.fry_class("livebearer").name == "livebearer"


def test_a_clock_change_moves_what_it_skips_and_takes_the_first_of_what_it_repeats() -> None:
    """Portugal, 28 March and 31 October 2027 (RFC 5545, section 3.3.5)."""
    spring = _LISBON.local(date(2027, 3, 28), time(1, 30))
    assert (spring.hour, spring.minute, spring.utcoffset()) == (2, 30, timedelta(hours=1))
    autumn = _LISBON.local(date(2027, 10, 31), time(1, 30))
    assert (autumn.hour, autumn.utcoffset()) == (1, timedelta(hours=1))
    assert _LISBON.at_hour(hours(autumn)) == autumn


def test_the_air_of_a_day_is_that_of_its_month_or_of_a_spell_at_noon() -> None:
    assert [_YEAR.room_temperature_c(date(2027, month, 31)) for month in (1, 12)] == [1.0, 12.0]
    assert ROOM.room_temperature_c(date(2027, 7, 1)) == 24.0
    noon = hours(_at(10, 12))
    for start, end, spelled in ((0, 1, True), (1, 2, False), (-2, 0, False), (-2, 1, True)):
        hot = evolve(_YEAR, spells=(Spell(noon + start, noon + end, 40.0),))
        assert hot.room_temperature_c(date(2027, 1, 10)) == (40.0 if spelled else 1.0)
    later = (Spell(noon - 5, noon + 5, 40.0), Spell(noon - 1, noon + 1, 10.0))
    assert evolve(_YEAR, spells=later).room_temperature_c(date(2027, 1, 10)) == 10.0


def test_a_series_changes_with_the_months_and_spells_but_not_for_what_has_its_own() -> None:
    series = _YEAR.series(None, date(2027, 1, 31), date(2027, 3, 1))
    first = [hours(ROOM.local(date(2027, month, 1), time(0))) for month in (1, 2, 3)]
    assert series.starts == tuple(first)
    assert series.values_c == (1.0, 2.0, 3.0)
    assert _YEAR.series(None, date(2027, 1, 1), date(2027, 2, 28)).values_c == (1.0, 2.0)
    assert _YEAR.series(None, date(2027, 12, 31), date(2028, 1, 1)).values_c == (12.0, 1.0)
    assert _YEAR.series(7.0, date(2027, 1, 1), date(2027, 3, 1)).values_c == (7.0,)
    assert ROOM.series(None, date(2027, 1, 1), date(2027, 3, 1)).values_c == (24.0,)
    hot = evolve(ROOM, spells=(Spell(hours(_at(6)), hours(_at(7)), 40.0),))
    spelled = hot.series(None, date(2027, 1, 1), date(2027, 2, 1))
    assert [spelled.at(hours(_at(day))) for day in (5, 6, 7)] == [24.0, 40.0, 24.0]
    assert hot.series(7.0, date(2027, 1, 1), date(2027, 2, 1)).values_c == (7.0,)


def test_what_is_fetched_takes_two_days_and_a_starter_one_unless_it_is_said() -> None:
    """docs/room-file.md, section [supplies]."""
    assert ROOM.fetched_in("salt") == timedelta(days=2)
    assert ROOM.fetched_in("starter") == timedelta(days=1)
    said = evolve(ROOM, fetch_days={"salt": 0, "starter": 9})
    assert (said.fetched_in("salt").days, said.fetched_in("starter").days) == (0, 9)


def test_foods_are_those_of_the_brood_or_all_that_the_room_keeps() -> None:
    fry = ROOM.brood("fry")
    assert [f.name for f in ROOM.foods_of(fry)] == ["microworm", "brine_shrimp", "dry"]
    assert [f.name for f in evolve(ROOM, vessels=()).foods_of(fry)] == ["microworm", "dry"]
    own = evolve(fry, foods=("dry", "vinegar_eel"))
    assert [f.name for f in ROOM.foods_of(own)] == ["dry", "vinegar_eel"]
    coming = evolve(ROOM, cultures=(), coming=ROOM.cultures)
    assert [f.name for f in coming.foods_of(fry)] == ["microworm", "brine_shrimp", "dry"]
    asking = evolve(ROOM, broods=(own,))
    assert [k.name for k in asking.worm_kinds()] == ["microworm", "vinegar_eel"]
    assert [k.name for k in evolve(asking, broods=()).worm_kinds()] == ["microworm"]


def test_a_medium_comes_out_of_the_common_one_unless_its_kind_has_its_own() -> None:
    assert ROOM.medium_of("microworm") == "medium"
    own = evolve(ROOM, stock_g={"microworm_medium": 5.0})
    assert own.medium_of("microworm") == "microworm_medium"
    assert own.medium_of("banana_worm") == "medium"


def _as(anchor: str, day: int) -> Brood:
    return evolve(ROOM.broods[0], name=f"{anchor} {day}", anchor=anchor,
                  anchor_date=date(2027, 1, day))  # fmt: skip


def test_broods_are_certain_hoped_for_or_waiting() -> None:
    """Eggs in peat wait; a spawning that is planned until its day is over."""
    broods = [_as("spawned", 1), _as("planned", 5), _as("planned", 4), _as("collected", 9)]
    certain, hoped, waiting = by_certainty(broods, date(2027, 1, 5))
    assert [b.name for b in certain] == ["spawned 1"]
    assert [b.name for b in hoped] == ["planned 5"]
    assert [b.name for b in waiting] == ["planned 4", "collected 9"]


def test_a_brood_dies_by_the_day_since_it_was_counted_and_not_before() -> None:
    dying = evolve(ROOM.brood("fry"), survival_per_day=0.9)
    alive = [dying.alive(date(2027, 1, day)) for day in (4, 5, 6, 7)]
    assert alive == pytest.approx([100, 100, 90, 81])
    assert (dying.chance, dying.seen, dying.gone_on) == (1.0, False, None)


def test_defaults_of_values_that_are_seldom_given() -> None:
    told = Told("bottle", datetime(2027, 1, 5, tzinfo=ROOM.timezone))
    assert (told.hoped, told.harvest_at) == (False, None)
    assert HowSure().counted_h is None
    assert ROOM.culture("MW-1").planned is False
