"""What broods were given by the record, and what it made of them, by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.foods.vessels import Vessel
from cultures.fry.bioenergetics import WELL_FED, Condition, fed
from cultures.journal.entries import Entry
from cultures.needs.meals import hunger_words, past_saving, starving
from cultures.needs.need import BroodCourse
from cultures.record.present import Present, present
from cultures.room.file import read_room
from cultures.room.room import Brood, Room, RunningHatch
from cultures.tasks.told import Draw, FeedLine, ToldTask
from cultures.words.moments import hours
from tests.unit.recorded import lines, record_of, told_task

ZONE = ZoneInfo("Europe/Lisbon")
NOW = datetime(2027, 1, 20, 6, 30, tzinfo=ZONE)
ROOM = read_room(
    """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 24
rounds = ["07:00", "19:00"]
awake = ["06:30", "22:30"]
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[tank]]
name = "A2"
litres = 40
temperature_c = 26
[[brood]]
name = "one"
tank = "A1"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-08
[[brood]]
name = "two"
tank = "A2"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-08
""",
    name="room.toml",
    today=date(2027, 1, 8),
)
#: The rounds of ten days up to now.
ROUNDS = [
    datetime(2027, 1, day, hour, tzinfo=ZONE) for day in range(10, 20) for hour in (7, 19)
]  # fmt: skip


def _feed(at: datetime, shares: dict[str, float]) -> ToldTask:
    """A told round that gives each brood so much of its need, of two foods."""
    tanks = {"one": "A1", "two": "A2"}
    mine = [
        FeedLine(at, tanks[brood], brood, food, 50.0, 50.0 * share, 10.0 * share, "mL")
        for brood, share in shares.items() for food in ("microworm", "vinegar_eel")
    ]  # fmt: skip
    task = told_task("feed", at, f"{at:%H:%M}", {"tanks": 2.0}, key=f"feed/{at:%d-%H}",
                     rounds=ROUNDS)  # fmt: skip
    return evolve(task, lines=tuple(mine))


def told_rounds(one: Sequence[float], two: Sequence[float] | None = None) -> list[ToldTask]:
    other = two or [1.0] * len(ROUNDS)
    return [_feed(at, {"one": a, "two": b}) for at, a, b in zip(ROUNDS, one, other, strict=True)]


def _at(told: Sequence[ToldTask], *entries: Entry, room: Room = ROOM) -> Present:
    return present(room, lines(*entries), record_of(told), NOW)


def brood_by(told: Sequence[ToldTask], *entries: Entry, name: str = "one") -> Brood:
    return _at(told, *entries).room.brood(name)


def skips_of(told: Sequence[ToldTask], tank: str | None = None) -> Iterator[Entry]:
    for each in told:
        at = each.task.at + timedelta(minutes=20)
        yield Entry(at, "skip", tank or each.task.subject, each.task.id)


def _by_hand(shares: Sequence[float]) -> Condition:
    """Meal after meal from the first of the rounds on, as the model has it."""
    first_h, at_h = (hours(datetime(2027, 1, day, hour, tzinfo=ZONE)) for day, hour in
                     ((8, 0), (10, 7)))  # fmt: skip
    at = Condition((at_h - first_h) / 24.0)
    days = [0.5] * (len(shares) - 1) + [(hours(NOW) - hours(ROUNDS[-1])) / 24.0]
    for share, part in zip(shares, days, strict=True):
        at = fed(ROOM.broods[0].fry_class, at, 26.0, share, part).after
    return at


def grown_by(brood: Brood) -> float:
    return BroodCourse.of(ROOM, brood).growth_days(hours(NOW))


def test_a_brood_fed_as_told_is_as_it_was() -> None:
    for brood in _at(told_rounds([1.0] * 20)).room.broods:
        assert brood.fed is WELL_FED
        assert grown_by(brood) == pytest.approx(12 + 6.5 / 24)


def test_what_is_rounded_up_here_and_down_there_is_no_hunger() -> None:
    assert brood_by(told_rounds([0.6, 1.4] * 10)).fed is WELL_FED
    assert brood_by(told_rounds([0.93] * 20)).fed is WELL_FED


def test_of_a_time_of_which_nothing_was_told_nothing_follows() -> None:
    assert brood_by([]).fed is WELL_FED
    assert brood_by(told_rounds([1.0] * 20)[:2]).fed is WELL_FED


@pytest.mark.parametrize("share", [0.7, 0.4, 0.1])
def test_a_brood_that_was_told_too_little_is_as_small_as_the_model_says(share: float) -> None:
    brood = brood_by(told_rounds([share] * 20))
    by_hand = _by_hand([share] * 20)
    assert grown_by(brood) == pytest.approx(by_hand.growth_days)
    assert brood.fed.reserve == pytest.approx(by_hand.reserve)
    assert brood.fed.share == pytest.approx(share)
    course = BroodCourse.of(ROOM, brood)
    full = ROOM.broods[0].fry_class.length_mm(12 + 6.5 / 24)
    now_mm = course.length_mm(hours(NOW))
    assert course.behind_mm(hours(NOW)) == pytest.approx(full - now_mm)
    words = hunger_words(course, hours(NOW))
    assert f"fed {share:.0%} of its need over the last 7 days" in words
    assert f"about {full - now_mm:.1f} mm behind its class" in words


def test_what_was_told_for_fewer_fish_than_there_were_is_less_for_each() -> None:
    """Told by a count of half of them, which was taken back: each was given half of its need."""
    alive = ROOM.broods[0].alive
    there = [(t, alive(t.task.at.date())) for t in told_rounds([1.0] * 20)]
    told = [evolve(t, fry={"one": fry / 2.0, "two": fry * 2.0}) for t, fry in there]
    brood, by_hand = brood_by(told), _by_hand([0.5] * 20)
    assert grown_by(brood) == pytest.approx(by_hand.growth_days)
    assert brood.fed.reserve == pytest.approx(by_hand.reserve)
    assert brood_by(told, name="two").fed is WELL_FED


def test_more_fish_than_were_known_of_shared_what_was_told_since_the_last_count() -> None:
    told, alive = told_rounds([1.0] * 20), ROOM.broods[0].alive
    twice = Entry(datetime(2027, 1, 20, 6, 0, tzinfo=ZONE), "count", "one", "", 200.0, "fry")
    by_hand = _by_hand([alive(each.task.at.date()) / 200.0 for each in told])
    brood = brood_by(told, twice)
    assert grown_by(brood) == pytest.approx(by_hand.growth_days)
    assert brood.fed.reserve == pytest.approx(by_hand.reserve)
    known = Entry(datetime(2027, 1, 15, 12, 0, tzinfo=ZONE), "count", "one", "", 100.0, "fry")
    later = _by_hand([1.0] * 10 + [0.5] * 10)  # the count is of a day, whose rounds it holds for
    assert grown_by(brood_by(told, known, twice)) == pytest.approx(later.growth_days, abs=0.1)
    few_more = twice._replace(amount=1.2 * alive(date(2027, 1, 20)))
    assert brood_by(told, few_more).fed is WELL_FED  # so much who counts errs by


def test_skipped_evenings_count_as_no_food_and_only_for_who_was_skipped() -> None:
    told = told_rounds([1.0] * 20)
    evenings = [*skips_of(told[1::2], "A1")]
    brood = brood_by(told, *evenings)
    by_hand = _by_hand([1.0, 0.0] * 10)
    assert grown_by(brood) == pytest.approx(by_hand.growth_days)
    assert brood.fed.reserve == pytest.approx(by_hand.reserve)
    assert brood_by(told, *evenings, name="two").fed is WELL_FED


def test_a_round_that_was_skipped_whole_was_no_food_for_anybody() -> None:
    told = told_rounds([1.0] * 20)
    here = _at(told, *skips_of(told[1::2])).room
    assert here.brood("one").fed == here.brood("two").fed
    assert here.brood("one").fed.lag_days > 1.0


def test_a_round_that_is_noted_tank_by_tank_was_fed_once() -> None:
    """Nothing is said of the second tank, and nobody lacked anything."""
    told = told_rounds([1.0] * 20)
    fed = [Entry(t.task.at, "fed", tank, "") for t in told for tank in ("A1", "A2")]
    here = _at(told, *fed)
    assert here.room.notes == _at(told).room.notes == ()
    assert here.room.brood("two").fed is WELL_FED


def test_another_dose_counts_as_what_it_was() -> None:
    """A third of one of two foods: two thirds of the need."""
    told = told_rounds([1.0] * 20)
    doses = [Entry(t.task.at, "fed", "A1", "microworm", 10 / 3, "mL") for t in told]
    brood = brood_by(told, *doses)
    assert grown_by(brood) == pytest.approx(_by_hand([2 / 3] * 20).growth_days)


def test_who_left_food_had_enough() -> None:
    told = told_rounds([0.4] * 20)
    left = [Entry(t.task.at + timedelta(hours=3), "leftover", "one", "some") for t in told]
    assert brood_by(told, *left).fed is WELL_FED
    none = [entry._replace(other="none") for entry in left]
    assert brood_by(told, *none).fed.lag_days > 1.0


def test_its_need_and_its_mouth_are_those_of_the_fish_it_became() -> None:
    short, full = (
        BroodCourse.of(ROOM, brood_by(told_rounds([share] * 20))) for share in (0.3, 1.0)
    )  # fmt: skip
    at_h = hours(NOW)
    assert short.length_mm(at_h) < full.length_mm(at_h)
    fry = full.fry_class
    assert fry.gape_um(short.length_mm(at_h)) < fry.gape_um(full.length_mm(at_h))
    # From its next meal on, at seven, it grows on from there, as fast as a class as long.
    meal_h = at_h + 0.5
    same = fry.length_mm(fry.growth_days(short.length_mm(meal_h)) + 10.0)
    assert short.length_mm(meal_h + 24 * 10) == pytest.approx(same)


def test_how_large_it_is_at_its_next_meal_is_decided_by_the_last_one() -> None:
    """Whoever looks in between, at whatever hour, finds it as large then; and as by hand now."""
    told, next_h = told_rounds([0.3] * 20), hours(NOW.replace(hour=7, minute=0))
    last = ROUNDS[-1]
    later = [timedelta(minutes=5), timedelta(hours=3), timedelta(hours=11.5)]
    looks = [present(ROOM, [], record_of(told), last + by).room.brood("one") for by in later]
    courses = [BroodCourse.of(ROOM, brood) for brood in looks]
    grown = [course.growth_days(next_h) for course in courses]
    assert grown == pytest.approx([grown[0]] * 3, rel=1e-12)
    for course, by in zip(courses, later, strict=True):
        before = courses[0].growth_days(hours(last))
        now = course.growth_days(hours(last + by))
        part = (by / timedelta(hours=12)) * (grown[0] - before)
        assert now == pytest.approx(before + part, abs=5e-3)  # all but evenly
        since = course.behind_mm(hours(last + by))
        assert 0.0 < since < course.behind_mm(next_h)


@pytest.mark.parametrize(("before", "last", "danger"), [(0.1, 0.0, True), (0.05, 1.0, True),
                                                        (0.115, 0.6, False)])  # fmt: skip
def test_who_comes_first_and_by_when_changes_at_a_meal_and_not_with_the_hour(
    before: float, last: float, danger: bool
) -> None:
    """A meal that fills it is filled by then: it ends the alarm at once, or not at all."""
    told, until = told_rounds([before] * 19 + [last]), ROUNDS[-1]
    later = [timedelta(minutes=5), timedelta(hours=3), timedelta(hours=11.9)]
    looks = [(present(ROOM, [], record_of(told), until + by).room.brood("one"), until + by)
             for by in later]  # fmt: skip
    found = {
        (starving(course, hours(at)), past_saving(course, hours(at)))
        for brood, at in looks for course in [BroodCourse.of(ROOM, brood)]
    }  # fmt: skip
    assert [now for now, _ in found] == [danger], found


def test_a_measurement_ends_it_and_hunger_teaches_no_slow_growth() -> None:
    told = told_rounds([0.3] * 20)
    noon = datetime(2027, 1, 19, 12, tzinfo=ZONE)
    at_h = hours(noon)
    hungry = present(ROOM, [], record_of(told), noon).room.brood("one")
    length = BroodCourse.of(ROOM, hungry).length_mm(at_h)
    here = _at(told, Entry(noon, "length", "one", "5 fish", length, "mm"))
    brood = here.room.brood("one")
    assert brood.anchor == "length"
    assert brood.length_mm == pytest.approx(length, rel=1e-3)
    assert hungry.fed.lag_days > 5.0
    assert brood.fed.lag_days < 1.27  # of the day since
    assert brood.fed.days < 1.27
    (seen,) = here.learned.replayed.seen.lengths
    assert seen.grown_days == pytest.approx(seen.expected_days, rel=1e-3)


def test_those_that_were_moved_keep_what_they_lacked() -> None:
    told = told_rounds([0.3] * 20)
    moved = Entry(datetime(2027, 1, 19, 21, tzinfo=ZONE), "move", "one", "A2", 40.0, "fry")
    here = _at(told, moved).room
    parent, part = here.brood("one"), here.brood("one (A2)")
    assert part.fed.lag_days == pytest.approx(parent.fed.lag_days, rel=0.1)


def test_nobody_feeds_while_nobody_is_there() -> None:
    away = read_room(
        """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 24
rounds = ["07:00", "19:00"]
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[brood]]
name = "one"
tank = "A1"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-08
[[away]]
from = 2027-01-14
to = 2027-01-16
""",
        name="room.toml",
        today=date(2027, 1, 8),
    )
    told = [t for t in told_rounds([1.0] * 20) if not 14 <= t.task.at.day <= 16]
    brood = present(away, [], record_of(told), NOW).room.brood("one")
    assert brood.fed.lag_days == pytest.approx(3.5, abs=0.6)
    # So it is where nothing was told or noted at all, once the absence has begun.
    alone = present(away, [], record_of([]), NOW).room.brood("one")
    assert alone.fed.lag_days == pytest.approx(3.5, abs=0.6)
    before = datetime(2027, 1, 13, 23, tzinfo=ZONE)
    assert present(away, [], record_of([]), before).room.brood("one").fed is WELL_FED


def test_of_nauplii_no_more_was_fed_than_hatched() -> None:
    """Told for 10,000; 4,000 were counted: two fifths of what was told."""
    room = evolve(ROOM, broods=ROOM.broods[:1])
    bottle = read_room(
        """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 24
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 27
[[hatch]]
vessel = "bottle"
set_at = 2027-01-17T20:00:00
cysts_g = 1
""",
        name="room.toml",
        today=date(2027, 1, 17),
    )
    room = evolve(room, vessels=bottle.vessels, hatches=bottle.hatches, rounds=ROOM.rounds[:1])
    at = datetime(2027, 1, 19, 7, tzinfo=ZONE)
    drawn = at - timedelta(minutes=15)
    harvest = told_task("harvest_hatch", drawn, "bottle", {"nauplii": 10000.0}, until=at,
                        rounds=[at])  # fmt: skip
    feed = told_task("feed", at, "07:00", {"tanks": 1.0, "nauplii": 10000.0}, rounds=[at])
    line = FeedLine(at, "A1", "one", "brine_shrimp", 100.0, 100.0, 50.0, "mL")
    feed = evolve(feed, lines=(line,), draws=(Draw("bottle", drawn, None, 100.0),))
    counted = Entry(drawn, "hatched", "bottle", "", 4000.0, "nauplii")
    whole = present(room, [], record_of([harvest, feed]), NOW).room.brood("one")
    brood = present(room, lines(counted), record_of([harvest, feed]), NOW).room.brood("one")
    assert whole.fed is WELL_FED
    assert brood.fed.share == pytest.approx(0.4, abs=0.01)


def test_a_jar_gives_no_more_than_is_left_in_it() -> None:
    """Told at two times, the morning takes 273 mL of 500 and the evening 260: 227 are left."""
    morning, evening = (datetime(2027, 1, 19, hour, tzinfo=ZONE) for hour in (7, 19))
    drawn = morning - timedelta(minutes=30)
    room = evolve(
        ROOM, vessels=(Vessel("bottle", 1.0, 27.0, 25.0),),
        hatches=(RunningHatch("bottle", drawn - timedelta(hours=24), 1.0),), fridge_c=5.0,
    )  # fmt: skip
    told = [told_task("harvest_hatch", drawn, "bottle", {"nauplii": 1e5, "jar_ml": 500.0},
                      until=morning, rounds=[morning, evening])]  # fmt: skip
    for at, take_ml in ((morning, 273.0), (evening, 260.0)):
        feed = told_task("feed", at, f"{at:%H:%M} round", {"tanks": 1.0, "nauplii": 5e4},
                         key=f"feed/{at:%H}", rounds=[morning, evening])  # fmt: skip
        line = FeedLine(at, "A1", "one", "brine_shrimp", 100.0, 100.0, 50.0, "mL")
        draw = Draw("bottle", drawn, 500.0, take_ml, take_ml / 500.0)
        told.append(evolve(feed, lines=(line,), draws=(draw,)))
    found = present(room, [], record_of(told), evening + timedelta(minutes=1))
    ((taken,),) = (t.draws for t in found.in_hand if t.task.what == "feed")
    assert (taken.jar_ml, taken.take_ml, taken.part) == pytest.approx((227.0, 227.0, 227 / 500))
    assert found.room.held == ()
