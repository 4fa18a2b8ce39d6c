"""What entries and days make of a room, worked out by hand, and the limits exactly.

The fry are of a class with round numbers: 4 mm at first food towards 64 mm, half of the rise (on a
logarithm) done in ten days at 26 °C; eggs swim after six days and hatch after three.
"""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta

import pytest
from attrs import evolve

from cultures.foods.worms import CultureState, through
from cultures.journal.entries import Entry
from cultures.learning.estimates import poor_cultures
from cultures.needs.dates import brood_dates
from cultures.needs.food_units import natural_amount
from cultures.needs.need import BroodCourse, food_needs_at, rounds_between
from cultures.replay.broods import counted
from cultures.replay.doubts import brood_doubt, hatch_doubt, most_nauplii, worms_doubt
from cultures.replay.observations import Observations, YieldObserved
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, noted_steps
from cultures.replay.stocks import Stocks, stock_names
from cultures.replay.worms import Life
from cultures.room.file import read_room
from cultures.room.room import Cysts, Room, RunningHatch
from cultures.words.moments import hours
from tests.unit.recorded import replay

_TEXT = """
[room]
name = "loft"
timezone = "UTC"
as_of = 2027-01-05
temperature_c = 24
rounds = ["08:00", "20:00"]
awake = ["07:00", "22:00"]

[[fry_class]]
name = "paper_fish"
like = "egg_scatterer"
[fry_class.parameters]
length_first_food_mm = 4.0
length_limit_mm = 64.0
growth_rate_per_day = { value = 0.0693147, range = [0.0346574, 0.1386294] }
growth_q10 = 2.0
hatch_days = 3
first_food_days = 6
starve_days = 5
t_ref_c = 26
development_t0_c = 10
lid_mm = 8
move_on_mm = 16
fry_until_mm = 32
sort_ratio = 1.5
crowd_mm_per_litre = 100
gape_share = 0.05

[[tank]]
name = "A"
litres = 10
temperature_c = 26
[[tank]]
name = "B"
litres = 20
temperature_c = 26

[[brood]]
name = "eggs"
tank = "A"
class = "paper_fish"
count = 100
spawned = 2027-01-05
survival_per_day = 1.0

[[brood]]
name = "fry"
tank = "B"
class = "paper_fish"
count = 100
free_swimming = 2027-01-05
survival_per_day = 1.0

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = 150
surface_cm2 = 200
starter_g = 15

[[vessel]]
name = "bottle"
litres = 1
temperature_c = 27
salinity_g_per_l = 25

[cysts]
grams = 50

[supplies]
salt_g = 500
dry_g = 100
medium_g = 1000
"""


def _room(text: str = _TEXT) -> Room:
    return read_room(text, today=date(2027, 1, 5))


ROOM = _room()


def _at(day: int, hour: int = 12, minute: int = 0) -> datetime:
    return datetime(2027, 1, day, hour, minute, tzinfo=ROOM.timezone)


def _replayed(*rows: tuple[object, ...], now: datetime, room: Room = ROOM) -> Replayed:
    entries = [Entry(*row)._replace(line=i + 2) for i, row in enumerate(rows)]  # type: ignore[arg-type]
    return replay(room, entries, now, OwnValues())


# --- the dates of a brood


def test_the_dates_of_eggs() -> None:
    """Spawned at noon of the 5th: hatched on the 8th, fed on the 11th, 5 days to live without."""
    course = BroodCourse.of(ROOM, ROOM.brood("eggs"))
    dates = {d.what: d for d in brood_dates(course, date(2027, 1, 5), date(2027, 3, 1))}
    assert dates["hatching"].day == date(2027, 1, 8)
    assert dates["hatching"].why == "3.0 days from spawning at 26 °C."
    first = dates["first_food"]
    assert first.day == date(2027, 1, 11)
    assert first.why == (
        "6.0 days from being spawned at 26 °C; without food they live about 5 more days."
    )
    assert first.early == first.late == first.day


def test_the_dates_of_growth() -> None:
    """Swimming at midnight of the 5th: 8 mm, a quarter of the rise, after 10 log2(4/3) days, and
    16 mm after ten; half and twice as fast by the ends of the range.
    """
    course = BroodCourse.of(ROOM, ROOM.brood("fry"))
    dates = {d.what: d for d in brood_dates(course, date(2027, 1, 5), date(2027, 3, 1))}
    lid, move = dates["lid"], dates["move_on"]
    assert 10 * math.log2(4 / 3) == pytest.approx(4.15, abs=0.01)
    assert (lid.day, lid.early, lid.late) == (
        date(2027, 1, 9), date(2027, 1, 7), date(2027, 1, 13),  # 4.15, 2.08 and 8.30 days
    )  # fmt: skip
    assert abs(move.day - date(2027, 1, 15)) <= timedelta(days=1)  # ten days to the minute
    assert move.early == date(2027, 1, 9) or move.early == date(2027, 1, 10)
    assert (lid.length_mm, move.length_mm) == (8, 16)
    assert dates["past_fry_age"].day in (date(2027, 1, 24), date(2027, 1, 25))  # 32 mm: 20 days


def test_sorting_again_and_again() -> None:
    """Each time when it has grown by 1.5^(1 / 0.44): 4, 10.05, 25.3 mm; 63 mm is past fry age."""
    course = BroodCourse.of(ROOM, ROOM.brood("fry"))
    sorts = [d for d in brood_dates(course, date(2027, 1, 5), date(2027, 6, 1)) if d.what == "sort"]
    factor = 1.5 ** (1 / 0.44)
    assert [d.length_mm for d in sorts] == pytest.approx([4 * factor, 4 * factor**2])


def test_crowded_from_the_day_that_a_tank_bears_no_more() -> None:
    """100 fry in 20 L, 100 mm a litre: 2000 mm, so above 20 mm each.

    20 mm is ln 5 / ln 16 = 0.58 of the rise, reached after 10 log2(1 / 0.4195) = 12.5 days, on the
    17th at 13:00; at noon of the 18th they are over it.
    """
    course = BroodCourse.of(ROOM, ROOM.brood("fry"))
    found = [d for d in brood_dates(course, date(2027, 1, 5), date(2027, 3, 1))
             if d.what == "crowded"]  # fmt: skip
    assert [d.day for d in found] == [date(2027, 1, 18)]


def test_a_course_by_hand() -> None:
    course = BroodCourse.of(ROOM, ROOM.brood("fry"))
    assert course.length_mm(hours(_at(15, 0))) == pytest.approx(16, rel=1e-5)
    assert course.reaches(16.0) == pytest.approx(hours(_at(15, 0)), abs=0.01)
    assert course.reaches(63.99) == math.inf
    assert course.length_mm(hours(_at(4, 0))) == pytest.approx(4)
    eggs = BroodCourse.of(ROOM, ROOM.brood("eggs"))
    assert eggs.first_food_h == pytest.approx(hours(_at(11)))
    # From twelve hours before it on the same day, if that is a round.
    rounds = rounds_between(ROOM, _at(10, 8), _at(12, 0))
    assert [eggs.eats_at(r) for r in rounds] == [False, False, True, True]
    assert [r.at.hour for r in rounds] == [8, 20, 8, 20]


def test_rounds_of_a_time_without_its_end() -> None:
    assert len(rounds_between(ROOM, _at(5, 8), _at(6, 8))) == 2
    assert len(rounds_between(ROOM, _at(5, 8, 1), _at(6, 8, 1))) == 2
    assert [r.index for r in rounds_between(ROOM, _at(5, 0), _at(6, 23))] == [0, 1, 2, 3]
    assert all(r.per_day == 2 and r.fed and r.keeper for r in rounds_between(ROOM, _at(5), _at(7)))


def test_the_need_of_a_round_is_half_of_a_days() -> None:
    course = BroodCourse.of(ROOM, ROOM.brood("fry"))
    rounds = rounds_between(ROOM, _at(15, 0), _at(16, 0))
    need = course.need(rounds[0])
    assert need is not None
    # A killifish this large eats what its growth and upkeep cost, over 0.684 that is kept of it.
    fry = course.fry_class
    weight = fry.weight_mg(need.length_mm)
    next_day = fry.growth_days(need.length_mm) + fry.growth(26)
    grown = 3.0 * (fry.weight_mg(fry.length_mm(next_day)) - weight)
    upkeep = weight * 0.35 * (weight / 5) ** -0.2 * 2.06**0.6
    assert need.energy_j == pytest.approx(100 * (grown + upkeep) / 0.684 / 2)
    assert sum(need.foods.values()) == pytest.approx(need.energy_j)
    # The round nearest to a moment counts.
    total = sum(
        n.foods.get("brine_shrimp", 0.0)
        for b in ROOM.broods
        if (n := BroodCourse.of(ROOM, b).need(rounds[1])) is not None
    )
    assert total > 0
    got = food_needs_at(ROOM, "brine_shrimp", _at(15, 15))
    assert sum(got.values()) == pytest.approx(total)


def test_energy_in_what_is_counted() -> None:
    assert natural_amount(ROOM, "dry", 13_500).value == pytest.approx(1)
    assert natural_amount(ROOM, "brine_shrimp", 38.7).value == pytest.approx(1000)
    assert natural_amount(ROOM, "microworm", 54).value == pytest.approx(10)


# --- broods counted and measured


def test_a_count_and_the_survival_that_follows() -> None:
    """100 at 0.99 a day; 80 after 14 days weigh as much as the 14 of the class."""
    brood = evolve(ROOM.brood("fry"), survival_per_day=0.99)
    got = counted(brood, 80, date(2027, 1, 19))
    daily = (14 * math.log(0.99) + math.log(0.8)) / 28
    assert got.survival_per_day == pytest.approx(math.exp(daily))
    more = counted(brood, 130, date(2027, 1, 19))  # a miscount: nobody was born
    assert more.survival_per_day == pytest.approx(math.exp(14 * math.log(0.99) / 28))
    same_day = counted(brood, 80, date(2027, 1, 5))
    assert same_day.survival_per_day == 0.99


def test_a_length_is_believed_by_its_error() -> None:
    """Ruler 5 % and the spread over 8 fish against 8 % of the curve and a quarter of the spread."""
    noon = hours(_at(15))
    expected = BroodCourse.of(ROOM, ROOM.brood("fry")).length_mm(noon)
    got = _replayed((_at(15, 9), "length", "fry", "8 fish", 1.1 * expected, "mm"), now=_at(15))
    spread = 0.11 * math.log(1.1 * expected / 4)
    ruler, curve = 0.05**2 + spread**2 / 8, 0.08**2 + spread**2 / 4
    length = expected * 1.1 ** (curve / (curve + ruler))
    assert got.room.brood("fry").length_mm == pytest.approx(length)
    (seen,) = got.seen.lengths
    # Growth days of the curve by hand: 10 log2(1 / (1 - ln(L / 4) / ln 16)).

    def days(length_mm: float) -> float:
        return -10 * math.log2(1 - math.log(length_mm / 4) / math.log(16))

    assert seen.grown_days == pytest.approx(days(1.1 * expected), rel=1e-5)
    assert seen.expected_days == pytest.approx(10.5, rel=1e-5)  # from the first midnight to noon
    longer = days(1.1 * expected * math.exp(math.sqrt(ruler)))
    assert seen.sd == pytest.approx((longer - seen.grown_days) / seen.grown_days, rel=1e-4)
    assert seen.start_sd == pytest.approx(0.7 / 10.5, rel=1e-4)


@pytest.mark.parametrize(("day", "taught"), [(7, 0), (8, 1)])
def test_growth_is_learned_from_the_third_day_on(day: int, taught: int) -> None:
    """At noon of the 7th two days and a half have passed, at noon of the 8th three and a half."""
    length = BroodCourse.of(ROOM, ROOM.brood("fry")).length_mm(hours(_at(day)))
    got = _replayed((_at(day, 9), "length", "fry", "8 fish", length, "mm"), now=_at(day))
    assert len(got.seen.lengths) == taught


# --- stocks


def test_stocks_rise_and_fall() -> None:
    stocks = Stocks.of(ROOM, 100.0)
    stocks.use("salt", 120, 100.0)
    stocks.use("salt", 77, 99.9)  # counted in what is stated
    stocks.use("microworm_medium", 150, 101)  # out of the common one
    stocks.buy("dry", 50, 100.0)
    stocks.buy("dry", 7, 99.9)
    stocks.buy("gravel", 9, 101)
    assert dict(stocks.stated()) == {"salt": 380, "dry": 150, "medium": 850}
    assert not stocks.bought
    stocks.buy("microworm_medium", 200, 101)
    stocks.use("microworm_medium", 150, 102)  # it has its own now
    stocks.stand("salt", 33, 103)
    stocks.use("dry", 999, 104)
    assert dict(stocks.stated()) == {"salt": 33, "dry": 0, "medium": 850, "microworm_medium": 50}
    stocks.buy("cysts", 25, 104)
    assert stocks.bought
    assert stocks.grams["cysts"] == 75
    assert "cysts" not in stocks.stated()
    assert stocks.knows("banana_worm_medium")
    assert not stocks.knows("gravel")
    assert "microworm_medium" in stock_names(ROOM)


# --- what cannot be


@pytest.mark.parametrize(
    ("event", "amount", "doubted"),
    [
        ("move", 100.5, False), ("lost", 100.6, True), ("move", 100.6, True),
        ("lost", 90, False), ("lost", 91, True),
        ("count", 150.5, False), ("count", 150.6, True), ("free_swimming", 151, True),
        ("length", 999, False),
    ],
)  # fmt: skip
def test_more_fry_than_there_are(event: str, amount: float, doubted: bool) -> None:
    """A count may be off by half, half a fry is no fry, and a tenth of a hundred are ten."""
    entry = Entry(_at(6), event, "fry", "", amount, "fry")
    assert (brood_doubt(entry, ROOM.brood("fry"), _at(6)) is not None) is doubted
    assert brood_doubt(entry, ROOM.brood("fry"), _at(4)) is None  # before it was counted


def test_more_nauplii_than_the_best_cysts_give() -> None:
    kind = ROOM.hatch_kind
    best = kind.parameters["nauplii_per_gram"].high
    assert most_nauplii(kind, None, 2.0) == pytest.approx(3 * best)
    assert most_nauplii(kind, Cysts(9, nauplii_per_gram=best + 1000), 2.0) == pytest.approx(
        3 * (best + 1000)
    )
    hatch = RunningHatch("bottle", _at(5), 2.0)
    for amount, doubted in ((3 * best, False), (3 * best + 1, True)):
        entry = Entry(_at(6), "hatched", "bottle", "", amount, "nauplii")
        assert (hatch_doubt(entry, hatch, _at(6), kind, None) is not None) is doubted
    said = hatch_doubt(Entry(_at(6), "set", "bottle", "", 1, "g"), hatch, _at(6), kind, None)
    assert "holds a hatch of 2 g, set on Tue 5 Jan 12:00" in (said or "")


def _life(stock_mg: float) -> Life:
    return Life.begin(
        ROOM, ROOM.culture("MW-1"), begun_h=hours(_at(5)), until=date(2027, 1, 5), stock_mg=stock_mg
    )


def test_more_worms_than_stand_there() -> None:
    life = _life(1500)
    harvest = Entry(_at(6), "harvest", "MW-1", "", 1, "mg")
    assert worms_doubt(harvest, life, 1500, 0.0012) is None
    said = worms_doubt(harvest, life, 2100, 0.0012) or ""
    assert "2.1 g of worms cannot be taken from MW-1: about 1.5 g stand in it" in said
    small = worms_doubt(harvest, _life(90), 999, 0.0012) or ""
    assert "1,000 mg of worms" in small
    assert "about 90 mg stand" in small
    swipe = Entry(_at(6), "count", "MW-1", "swipe", 2e6, "worms")
    assert "about 1,200,000 stand" in (worms_doubt(swipe, _life(1440), 2400, 0.0012) or "")
    for starter, doubted in ((150, False), (151, True)):
        split = Entry(_at(6), "split", "MW-1", "MW-2", starter, "g")
        assert (worms_doubt(split, life, 0, 0.0012) is not None) is doubted


# --- cultures


def test_a_starter_takes_its_share_and_a_harvest_what_climbs() -> None:
    life = _life(1000)
    assert life.give_starter(15, "MW-2") == pytest.approx(100)
    assert life.state.stock_mg == pytest.approx(900)
    life.take(100)
    assert life.state.stock_mg == pytest.approx(800)
    life.take(500)  # at most 15 % climb
    assert life.state.stock_mg == pytest.approx(680)
    life.stand(1e9)
    assert life.state.stock_mg == pytest.approx(life.model.capacity_mg)
    assert life.give_starter(999, "MW-3") == pytest.approx(life.model.capacity_mg)  # all of it
    life.stand(-1)
    assert life.state.stock_mg == 0
    assert life.sour_gave == []
    # Its medium begins to sour the width of souring before half of it is spent.
    life.state = CultureState(500.0, life.model.half_spent_age - life.model.souring_width)
    life.give_starter(15, "MW-4")
    mark = life.marked().mark
    assert mark is not None
    assert (len(mark.gave), mark.sour_gave) == (3, ("MW-4",))


def test_a_bought_starter_brings_what_is_usual() -> None:
    """15 g at 20 mg a gram, or what the medium carries if that is less."""
    life = Life.begin(ROOM, ROOM.culture("MW-1"), begun_h=0.0, until=date(2027, 1, 5))
    assert life.state.stock_mg == 300


def test_a_culture_is_ripe_until_a_width_before_its_half() -> None:
    life = _life(1000)
    for age, ripe in ((24.9, True), (25.0, False)):  # 28 less 3
        life.state = evolve(life.state, age=age)
        assert life.ripe() is ripe


def test_a_trace_of_worms_fills_the_medium() -> None:
    """1/N' = a/N + c where both terms are too small to be told from nothing."""
    assert through((0.0, 1e-3), 5e-324) == pytest.approx(1000)
    assert through((0.5, 1e-3), 200) == pytest.approx(200 / 0.7)
    assert through((1.0, math.inf), 200) == 0
    assert through((0.5, 1e-3), 0) == 0


def test_worms_in_a_swipe_a_draw_and_a_millilitre() -> None:
    """A swipe holds 20 mg; the draw of a bottle 3 mg in 10 mL."""
    for amount, unit, mg in ((2, "swipes", 40), (25, "mg", 25)):
        got = _replayed((_at(6), "harvest", "MW-1", "", amount, unit), now=_at(6))
        none = _replayed((_at(6), "harvest", "MW-1", "", 0, "mg"), now=_at(6))
        left, whole = (x.room.culture("MW-1").mark for x in (got, none))
        assert left is not None
        assert whole is not None
        assert whole.stock_mg - left.stock_mg == pytest.approx(mg)


def _harvest(taken: float, at: datetime, *, at_least: bool = False) -> YieldObserved:
    kind, culture = "microworm", "MW-1"
    return YieldObserved(kind, culture, hours(at), taken, 100.0, True, at_least, False)


@pytest.mark.parametrize(
    ("harvests", "flagged"),
    [
        # ln mean + 1.2816 x 0.3 / sqrt n below ln 0.7: of two below 53.3, of three below 56.1.
        ([_harvest(53, _at(6)), _harvest(53, _at(7))], True),
        ([_harvest(54, _at(6)), _harvest(54, _at(7))], False),
        ([_harvest(56, _at(5)), _harvest(56, _at(6)), _harvest(56, _at(7))], True),
        ([_harvest(57, _at(5)), _harvest(57, _at(6)), _harvest(57, _at(7))], False),
        ([_harvest(20, _at(7))], False),
        ([_harvest(999, _at(4)), *[_harvest(50, _at(d)) for d in (5, 6, 7)]], True),  # the last 3
        ([_harvest(20, _at(6), at_least=True), _harvest(20, _at(7))], False),
        ([_harvest(0, _at(6)), _harvest(100, _at(7))], True),  # a thousandth and all: 3 %
        ([_harvest(0, _at(6)), _harvest(28_000, _at(7))], True),  # and 280 times all: 52.9 %
        ([_harvest(0, _at(6)), _harvest(29_000, _at(7))], False),  # and 290 times all: 53.9 %
    ],
)
def test_a_culture_that_gives_too_little(harvests: list[YieldObserved], flagged: bool) -> None:
    found = Replayed(ROOM, Observations(yields=harvests))
    assert any(poor_cultures(found, _at(8))) is flagged
    # Ten days are looked back, and no more.
    first = min(h.at_h for h in harvests)
    late = datetime.fromtimestamp((first + 240.1) * 3600, ROOM.timezone)
    if len(harvests) == 2:
        assert [*poor_cultures(found, late)] == []
        assert any(poor_cultures(found, late - timedelta(hours=0.2))) is flagged


# --- hatches


def test_harvests_of_400_days_ago_teach_nothing() -> None:
    now = _at(10)
    rows = [
        Entry(now - timedelta(days=d), event, "MW-1")
        for d, event in ((401, "harvest"), (399, "harvest"), (401, "split"), (-1, "split"))
    ]
    assert [s.entry.event for s in noted_steps(rows, now)] == ["harvest", "split"]
    assert noted_steps([Entry(now, "split", "MW-1")], now)


def test_a_count_tells_once_a_quarter_should_have_hatched() -> None:
    """F = 1 / (1 + (t50 / t)^b) is a quarter at t50 / 3^(1 / b): 18.33 hours at 27 °C."""
    shape = 2 * math.log(9) / math.log(23 / 17)
    quarter = math.sqrt(17 * 23) / 3 ** (1 / shape)
    assert quarter == pytest.approx(18.33, abs=0.01)
    for minutes, told in ((math.floor(60 * quarter), False), (math.ceil(60 * quarter), True)):
        then = _at(6, 0) + timedelta(minutes=minutes)
        got = _replayed(
            (_at(6, 0), "set", "bottle", "", 2.0, "g"),
            (then, "count", "bottle", "", 1000, "nauplii"),
            now=then,
        )
        assert any("too early to tell" in n for n in got.room.notes) is not told
        assert (got.room.hatches[0].share != 1) is told


@pytest.mark.parametrize(("minutes", "said"), [(50, False), (12 * 60, True)])
def test_a_count_of_what_cannot_have_hatched_is_said_to_be_of_the_jar(
    minutes: int, said: bool
) -> None:
    """It is counted as it is drawn off and set anew; hours later a keeper may mean either."""
    then = _at(7, 6) + timedelta(minutes=minutes)
    got = _replayed(
        (_at(6, 0), "set", "bottle", "", 2.0, "g"),
        (_at(7, 6), "harvest", "bottle"),
        (_at(7, 6), "set", "bottle", "", 2.0, "g"),
        (then, "hatched", "bottle", "", 0, "nauplii"),
        now=then,
    )
    assert [h.nauplii for h in got.room.held] in ([], [0])
    assert [h.share for h in got.room.hatches] == [1]
    notes = [n for n in got.room.notes if n.startswith("Journal line 5:")]
    assert bool(notes) is said
    if said:
        assert "taken for the jar of Thu 7 Jan 06:00" in notes[0]


def test_a_hatch_takes_cysts_and_salt() -> None:
    """A litre at 25 g/L."""
    got = _replayed((_at(6), "set", "bottle", "", 2.5, "g"), now=_at(7)).room
    assert got.cysts is not None
    assert got.cysts.grams == pytest.approx(47.5)
    assert got.stock_g["salt"] == pytest.approx(475)


def test_a_count_of_a_hatch_by_hand() -> None:
    """200,000 of 2 g, 24 hours after they were wet; a bare total is known to 25 %."""
    got = _replayed(
        (_at(6), "set", "bottle", "", 2.0, "g"),
        (_at(7), "hatched", "bottle", "", 200_000, "nauplii"),
        now=_at(8),
    )
    (seen,) = got.seen.hatches
    assert seen.hours == pytest.approx(24)
    assert seen.rate == pytest.approx(1)
    assert seen.per_gram == pytest.approx(100_000)
    assert seen.relative_sd == 0.25
