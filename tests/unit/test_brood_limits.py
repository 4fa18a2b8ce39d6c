"""What entries make of broods, at the limits of each rule.

The room is that of `test_replay_by_hand`: 100 fry that swim on 5 January, none of which dies, and
eggs of that day; a class that rises from 4 to 64 mm.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

import pytest
from attrs import evolve

from cultures.needs.need import BroodCourse
from cultures.replay.broods import counted, growth_sd
from cultures.replay.own_values import OwnValues, grown, with_own_values
from cultures.replay.replay import Replayed
from cultures.room.room import Brood, HowSure, Room
from cultures.words.moments import hours
from tests.unit.test_replay_by_hand import ROOM, _at, _replayed


def _room(**changes: Any) -> Room:
    broods = (ROOM.brood("eggs"), evolve(ROOM.brood("fry"), **changes))
    return evolve(ROOM, broods=broods)


#: Of whom one in a hundred dies each day.
_DYING = _room(survival_per_day=0.99)


def _after(*rows: tuple[object, ...], day: int = 20, room: Room = ROOM) -> Replayed:
    return _replayed(*rows, now=_at(day), room=room)


def _brood(*rows: tuple[object, ...], name: str = "fry", day: int = 20, room: Room = ROOM) -> Brood:
    return next(b for b in _after(*rows, day=day, room=room).room.every_brood if b.name == name)


def _gone(*rows: tuple[object, ...], room: Room = ROOM) -> bool:
    return all(b.name != "fry" for b in _after(*rows, room=room).room.every_brood)


# --- counts, sales and losses


@pytest.mark.parametrize(("left", "gone"), [(0.5, False), (0.4, True), (0.0, True), (-50, True)])
@pytest.mark.parametrize("event", ["sold", "died", "lost"])
def test_a_brood_of_less_than_half_a_fish_is_gone(event: str, left: float, gone: bool) -> None:
    assert _gone((_at(8), event, "fry", "", 100 - left, "fry")) is gone
    assert _gone((_at(8), event, "fry", "all", 1, "fry"))


def test_who_sells_some_sees_the_rest_and_who_finds_dead_ones_does_not() -> None:
    """After 70 days at 0.99 about 49.5 of 100 are thought to live."""
    day = date(2027, 3, 16)
    at = ROOM.local(day, _at(5).time())
    thought = 100 * 0.99**70
    assert thought < 51
    sold = _replayed((at, "sold", "fry", "", 51, "fry"), now=at, room=_DYING).room.broods
    assert any(b.name == "fry" for b in sold)
    found = _replayed((at, "lost", "fry", "", 51, "fry"), now=at, room=_DYING).room.broods
    assert all(b.name != "fry" for b in found)
    few = _replayed((at, "lost", "fry", "", 20, "fry"), now=at, room=_DYING).room.brood("fry")
    assert few.alive(day) == pytest.approx(thought - 20)
    assert few.counted_on == date(2027, 1, 5)  # nobody counted


@pytest.mark.parametrize(
    ("counts", "survival_from"),
    [
        ((90, 80), (90, 80)),  # each fewer: the second is one since the first
        ((40, 80), (100, 80)),  # more than before: the one in the middle was wrong
        ((120, 80), (100, 80)),
        ((120, 110), (120, 110)),  # more again than there were: so it was at first
    ],
)
def test_of_three_counts_the_one_in_the_middle_may_be_wrong(
    counts: tuple[float, float], survival_from: tuple[float, float]
) -> None:
    """Survival is drawn towards what a count says of the time since the one that it is held to."""
    first, second = ((_at(10), counts[0]), (_at(15), counts[1]))
    got = _brood(*((at, "count", "fry", "", n, "fry") for at, n in (first, second)))
    assert got.count == counts[1]
    start = evolve(ROOM.brood("fry"), count=survival_from[0])
    if survival_from[0] == counts[0]:
        start = counted(evolve(start, count=100.0), counts[0], date(2027, 1, 10))
    assert got.survival_per_day == pytest.approx(
        counted(start, survival_from[1], date(2027, 1, 15)).survival_per_day
    )


def test_a_second_count_of_a_day_stands_for_the_first() -> None:
    twice = _brood((_at(10, 8), "count", "fry", "", 50, "fry"),
                   (_at(10, 9), "count", "fry", "", 80, "fry"))  # fmt: skip
    once = _brood((_at(10, 9), "count", "fry", "", 80, "fry"))
    assert (twice.count, twice.survival_per_day) == (80, once.survival_per_day)


def test_a_count_of_none_ends_a_brood_and_one_before_the_last_is_old_news() -> None:
    assert _gone((_at(10), "count", "fry", "", 0, "fry"))
    old = _brood((_at(10), "count", "fry", "", 80, "fry"), (_at(9), "count", "fry", "", 60, "fry"))
    assert old.count == 80
    assert counted(ROOM.brood("fry"), 1e-9, date(2027, 1, 5)).count == 1e-9


# --- moves


@pytest.mark.parametrize("amount", [None, 100.0, 150.0])
def test_all_that_there_are_move_as_one(amount: float | None) -> None:
    got = _after((_at(8), "move", "fry", "A", amount, "fry" if amount else ""))
    moved = got.room.brood("fry")
    assert (moved.tank, moved.count) == ("A", 100)
    assert [b.name for b in got.room.broods if b.name.startswith("fry")] == ["fry"]
    assert moved.temperature_log == ((0.0, 26.0), (hours(_at(8)), 26.0))


def test_some_that_move_are_a_brood_of_their_own_with_the_rest_left() -> None:
    got = _after(
        (_at(8), "move", "fry", "A", 99.0, "fry"), (_at(9), "move", "fry", "A", 0.25, "fry")
    )
    parent, part = got.room.brood("fry"), got.room.brood("fry (A)")
    assert (parent.tank, parent.count) == ("B", 0.75)
    assert (part.tank, part.count) == ("A", 99.25)
    dying = _after((_at(15), "move", "fry", "A", 30.0, "fry"), room=_DYING)
    left = 100 * 0.99**10 - 30
    assert dying.room.brood("fry").count == pytest.approx(left)
    assert dying.room.brood("fry (A)").count == pytest.approx(30)


def test_a_move_to_where_it_is_or_to_nowhere_changes_nothing() -> None:
    assert _brood((_at(8), "move", "fry", "B", 30.0, "fry")) == _brood()
    got = _after((_at(8), "move", "fry", "Q", 30.0, "fry"))
    assert got.room.brood("fry").count == 100
    assert any("there is no tank 'Q'" in note for note in got.room.notes)


# --- beginnings


def test_a_spawning_of_which_nobody_counted_is_taken_as_a_hundred() -> None:
    got = _after((_at(8), "spawn", "new", "A paper_fish", None, ""))
    brood = got.room.brood("new")
    assert (brood.count, brood.anchor, brood.anchor_date) == (100, "spawned", date(2027, 1, 8))
    assert any("taken as 100 fry" in note for note in got.room.notes)
    # Nothing was learned of its growth.
    assert got.room.brood("new").fry_class.values == ROOM.brood("fry").fry_class.values
    known = _after((_at(8), "spawn", "new", "A paper_fish", 7, "fry"))
    assert known.room.brood("new").count == 7
    assert not any("taken as 100 fry" in note for note in known.room.notes)
    assert brood.chance == 1.0


@pytest.mark.parametrize(
    ("place", "told"),
    [("Q paper_fish", "is not a tank"), ("A zebra_fish", "there is no fry class")],
)
def test_a_spawning_nowhere_or_of_no_class_is_told_and_not_planned_for(
    place: str, told: str
) -> None:
    got = _after((_at(8), "spawn", "new", place, 7, "fry"))
    assert all(b.name != "new" for b in got.room.every_brood)
    assert any(told in note for note in got.room.notes)


def test_a_planned_spawning_has_seven_chances_in_ten_unless_it_is_said() -> None:
    """docs/room-file.md: `chance`, 0.7 if left out; once it is spawned it is there."""
    where = "A paper_fish on 2027-02-01"
    plain = (_at(8), "planned", "new", where, 9, "fry")
    said = (_at(9), "planned", "new", f"{where} chance 0.2", 9, "fry")
    again = (_at(10), "planned", "new", where.replace("02-01", "02-03"), 9, "fry")
    assert _brood(plain, name="new").chance == 0.7
    assert _brood(plain, said, name="new").chance == 0.2
    later = _brood(plain, said, again, name="new")
    assert (later.chance, later.anchor_date) == (0.2, date(2027, 2, 3))
    spawned = _brood(plain, said, (_at(11), "spawn", "new", "", None, ""), name="new")
    assert (spawned.chance, spawned.anchor_date) == (1.0, date(2027, 1, 11))
    assert spawned.counted_on == date(2027, 1, 11)
    got = _after(plain, (_at(9), "drop", "new", "", None, ""))
    assert all(b.name != "new" for b in got.room.every_brood)
    kept = _after((_at(9), "drop", "fry", "", None, ""))
    assert kept.room.brood("fry").count == 100
    assert any("only a planned spawning is dropped" in note for note in kept.room.notes)


def test_eggs_that_swim_are_counted_then_or_as_before() -> None:
    swim = _brood((_at(11), "free_swimming", "eggs", "", 60, "fry"), name="eggs")
    assert (swim.anchor, swim.anchor_date, swim.count) == ("free_swimming", date(2027, 1, 11), 60)
    assert swim.counted_on == date(2027, 1, 11)
    uncounted = _brood((_at(11), "free_swimming", "eggs", "", None, ""), name="eggs")
    assert (uncounted.count, uncounted.counted_on) == (100, date(2027, 1, 5))
    # Who swims is counted anew, and what was lost of the eggs before is no fry's death: 90 of 100
    # eggs say nothing of it, 70 of 60 fry that none died since, 30 of 60 that half did in 4 days.
    # Two weeks weigh as much as what was known before, which is that all live.
    rows = ((8, "count", 90), (11, "free_swimming", 60))
    for last, seen in ((70, 0.0), (30, math.log(0.5))):
        known = (
            (_at(day), event, "eggs", "", n, "fry")
            for day, event, n in (*rows, (15, "count", last))
        )
        again = _brood(*known, name="eggs")
        assert math.log(again.survival_per_day) == pytest.approx(seen / 18)
    early = _brood((_at(4), "free_swimming", "eggs", "", 60, "fry"), name="eggs")
    assert early.anchor == "spawned"  # it is known since the 5th


# --- lengths


def _expected(day: int) -> float:
    return BroodCourse.of(ROOM, ROOM.brood("fry")).length_mm(hours(_at(day)))


@pytest.mark.parametrize(
    ("words", "fish"), [("", 5), ("8 fish", 8), ("1 fish", 1), ("-3 fish", 1), ("many", 5)]
)
def test_a_length_is_that_of_five_fish_where_nobody_says(words: str, fish: int) -> None:
    length = 1.1 * _expected(15)
    got = _brood((_at(15), "length", "fry", words, length, "mm")).length_mm
    said = _brood((_at(15), "length", "fry", f"{fish} fish", length, "mm")).length_mm
    other = _brood((_at(15), "length", "fry", f"{fish + 1} fish", length, "mm")).length_mm
    assert got == said != other


@pytest.mark.parametrize(
    ("sds", "used"), [(3.98, True), (4.02, False), (-3.98, True), (-4.02, False)]
)
def test_a_length_four_standard_deviations_off_the_curve_is_not_the_broods(
    sds: float, used: bool
) -> None:
    """Ruler 5 % and curve 8 %, each with the spread of fish: over one, and over four."""
    expected, fry = _expected(15), ROOM.brood("fry").fry_class
    length = expected
    for _ in range(60):  # the spread is that of the longer of both
        spread = fry.length_spread(max(expected, length))
        sd = math.sqrt(0.05**2 + spread**2 + 0.08**2 + spread**2 / 4)
        length = expected * math.exp(sds * sd)
    got = _after((_at(15), "length", "fry", "1 fish", length, "mm"))
    assert (got.room.brood("fry").anchor == "length") is used
    assert any("is too far off to be used" in note for note in got.room.notes) is not used
    assert len(got.seen.set_aside) == (not used)


def test_before_its_first_food_no_length_is_taken() -> None:
    """The eggs eat from noon of the 11th; peat holds nothing to measure."""
    for day, anchor in ((10, "spawned"), (11, "length")):
        got = _brood((_at(day), "length", "eggs", "8 fish", 4.0, "mm"), name="eggs")
        assert got.anchor == anchor
    peat = evolve(ROOM, broods=(evolve(ROOM.brood("eggs"), anchor="collected"),))
    notes = _after((_at(12), "length", "eggs", "8 fish", 4.0, "mm"), room=peat).room.notes
    assert any("there are no fry to measure" in note for note in notes)


def test_a_length_near_the_end_of_the_curve_says_nothing_of_growth() -> None:
    """Where a ruler's error and the spread of fish would make it longer than the curve goes."""
    fry = ROOM.brood("fry").fry_class
    told = [growth_sd(fry, length, 0.0, 5) for length in (8.0, 16.0, 32.0, 62.0, 63.9)]
    assert told[-1] is None
    for length, sd in zip((8.0, 16.0, 32.0), told, strict=False):
        ruler = math.sqrt(0.05**2 + fry.length_spread(length) ** 2 / 5)
        days, longer = (fry.growth_days(x) for x in (length, length * math.exp(ruler)))
        assert sd == pytest.approx((longer - days) / days)
    started = growth_sd(fry, 16.0, 2.0, 5)
    days = fry.growth_days(16.0)
    assert started == pytest.approx((told[1] or 0) * days / (days - 2.0))


# --- temperatures


def test_a_tank_that_is_warmer_from_now_on_has_its_broods_in_it() -> None:
    got = _after(
        (_at(10), "temperature", "B", "", 28.0, "C"), (_at(12), "temperature", "B", "", 24.0, "C")
    )
    assert got.room.tank("B").temperature_c == 24.0
    assert got.room.tank("A").temperature_c == 26.0
    log = got.room.brood("fry").temperature_log
    assert log == ((0.0, 26.0), (hours(_at(10)), 28.0), (hours(_at(12)), 24.0))
    twice = _after(
        (_at(10), "temperature", "B", "", 28.0, "C"), (_at(10), "temperature", "B", "", 25.0, "C")
    )
    assert twice.room.brood("fry").temperature_log == ((0.0, 26.0), (hours(_at(10)), 25.0))
    assert got.room.brood("eggs").temperature_log == ()


# --- own values


def test_without_own_values_the_room_is_the_same() -> None:
    assert with_own_values(ROOM, OwnValues()) is ROOM
    assert OwnValues().hatch_time == 1.0
    kind, fry = ROOM.culture("MW-1").kind, ROOM.brood("fry").fry_class
    got = with_own_values(ROOM, OwnValues(nauplii_per_gram=9e4))
    assert (got.culture("MW-1").kind, got.hatch_kind) == (kind, ROOM.hatch_kind)
    assert got.brood("fry").fry_class is fry
    assert grown(fry, 1.0) is fry


def test_own_values_stand_in_the_place_of_the_datas() -> None:
    sure = HowSure({("hatch_time", "brine_shrimp"): (0.9, 1.2)})
    own = OwnValues(
        nauplii_per_gram=9e4, hatch_time=1.25, yields={"microworm": 2.0},
        portions_mg={"microworm": 33.0}, crashes={"microworm": 0.02}, growth={"fry": 1.5},
        sure=sure,
    )  # fmt: skip
    got, kind = with_own_values(ROOM, own), ROOM.culture("MW-1").kind
    mine = got.culture("MW-1").kind
    for name, factor in (("capacity_mg_per_cm2", 2.0), ("capacity_mg_per_g", 2.0),
                         ("souring_width_days", 1.0)):  # fmt: skip
        if name in kind.values:
            assert mine.values[name] == pytest.approx(factor * kind.values[name]), name
    assert (mine.values["portion_mg"], mine.values["crash_per_day"]) == (33.0, 0.02)
    assert got.kinds["microworm"].values["portion_mg"] == 33.0
    times = {name: 1.25 * ROOM.hatch_kind.values[name] for name in ("t10_h", "t90_h")}
    assert {name: got.hatch_kind.values[name] for name in times} == pytest.approx(times)
    for name, time in times.items():
        known = got.hatch_kind.parameters[name]
        assert (known.value, known.low, known.high) == pytest.approx((time, 0.9 * time, 1.2 * time))
    assert got.cysts is not None
    assert (got.cysts.nauplii_per_gram, got.cysts.grams) == (9e4, 50)
    rate = ROOM.brood("fry").fry_class.values["growth_rate_per_day"]
    assert got.brood("fry").fry_class.values["growth_rate_per_day"] == pytest.approx(1.5 * rate)
    assert got.brood("eggs").fry_class.values["growth_rate_per_day"] == rate
    alone = with_own_values(evolve(ROOM, cysts=None), OwnValues(nauplii_per_gram=9e4)).cysts
    assert alone is not None
    assert (alone.grams, alone.nauplii_per_gram) == (0.0, 9e4)
    known = with_own_values(ROOM, OwnValues(hatch_time=2.0)).hatch_kind.parameters["t10_h"]
    assert known.low == known.value == known.high


def test_half_a_fish_is_what_is_left_at_least() -> None:
    """Of a brood that is not gone; what it is counted as back then follows from its survival."""
    got = _brood((_at(15), "lost", "fry", "", 100 * 0.99**10 - 0.6, "fry"), room=_DYING)
    assert got.alive(date(2027, 1, 15)) == pytest.approx(0.6)
    assert got.counted_on + timedelta(days=10) == date(2027, 1, 15)


def test_eggs_are_wetted_once_that_is_noted_and_not_while_a_day_is_named() -> None:
    peat = evolve(ROOM, broods=(evolve(ROOM.brood("eggs"), anchor="collected"),))
    assert not ROOM.brood("eggs").seen
    for other, seen, day in (("", True, 9), ("2027-01-12", False, 12)):
        got = _brood((_at(9), "wetted", "eggs", other, None, ""), name="eggs", day=15, room=peat)
        assert (got.anchor, got.seen, got.anchor_date) == ("wetted", seen, date(2027, 1, day))
        assert got.counted_on == date(2027, 1, day)  # nothing dies in peat
