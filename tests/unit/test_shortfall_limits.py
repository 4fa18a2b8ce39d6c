"""What counts as short, and what limits it, exactly: rounds twelve hours apart, two small tanks."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import Vessel
from cultures.fry.diet import suitability
from cultures.fry.feeding import takable
from cultures.journal.absences import Away
from cultures.needs.need import BroodNeed
from cultures.planning.carry import Lift, lifts_of
from cultures.planning.gaps import ANY, Gap, find_gaps, missing_food
from cultures.planning.harvests import Batch, HatchPlan
from cultures.planning.lots import Lot, Option
from cultures.planning.outlook import Outlook
from cultures.planning.servings import Serving
from cultures.planning.shortfalls import Lack, Limits, Toll, find_lacks, join
from cultures.planning.split_plan import WormPlan
from cultures.planning.worm_course import run_course
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Cysts, Room
from cultures.tasks.plan import Act, Remedy
from cultures.tasks.told import FeedLine
from cultures.words.moments import spoken_day
from tests.unit.test_planning_by_hand import _START, _rounds, _stage

_ROUNDS = _rounds(12)
#: A round is fed of what was hatched for it or one of the two before.
_OLDEST = tuple(max(0, index - 2) for index in range(12))
_TEXT = """
[room]
timezone = "UTC"
temperature_c = 23
rounds = ["07:30", "19:30"]
awake = ["06:30", "22:30"]
as_of = 2027-01-05
[[tank]]
name = "B"
litres = 40
temperature_c = 26
[[tank]]
name = "A"
litres = 40
temperature_c = 26
[[brood]]
name = "one"
tank = "A"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-01
[[brood]]
name = "two"
tank = "B"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-01
[[vessel]]
name = "V1"
litres = 1
temperature_c = 27
[cysts]
grams = 30
"""


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=date(2027, 1, 5))


def _need(brood: Brood, energy_j: float = 100.0, **foods: float) -> BroodNeed:
    return BroodNeed(brood, _START, 6.0, 10, energy_j, foods)


def _line(brood: Brood, given_j: float, food: str = "worm") -> FeedLine:
    return FeedLine(at=_START, tank=brood.tank, brood=brood.name, food=food, need_j=100.0,
                    given_j=given_j, amount=1.0, unit="mL")  # fmt: skip


# --- what is short


def _short(
    room: Room, served_j: float, *lines_j: float, fed: bool = True, other_j: float = 50.0
) -> list[float]:
    """What the first brood, which needs 100 J, goes short at one round."""
    one, two = room.broods
    need = _need(one, worm=100.0)
    plan: Any = SimpleNamespace(servings=[[Serving(need, need.foods, {"worm": served_j})]])
    lines = [[*(_line(one, j) for j in lines_j), _line(two, other_j)]]
    feedings = _rounds(1, away=() if fed else (0,))
    return [gap.short_j for gap in find_gaps(feedings, [[need]], plan, lines)]


def test_more_than_three_hundredths_of_a_need_is_short(room: Room) -> None:
    assert _short(room, 97.0, 97.0) == []
    assert _short(room, 96.9, 96.9) == [pytest.approx(3.1)]
    assert _short(room, 60.0, 30.0, 30.0) == [pytest.approx(40.0)]
    assert _short(room, 0.0) == [100.0]


def test_what_a_syringe_rounds_away_is_no_lack_of_food(room: Room) -> None:
    """The plan gives it all and the lines 10 J less; or the lines give all that the plan lacks."""
    assert _short(room, 100.0, 90.0) == []
    assert _short(room, 90.0, 100.0) == []
    assert _short(room, 90.0, 80.0) == [pytest.approx(20.0)]


def test_a_dose_that_is_left_out_once_and_given_in_its_turn_is_no_lack(room: Room) -> None:
    """Of two rounds a day one is left out: at half of the day's need it is told, at a fifth not."""
    one, _ = room.broods
    need = _need(one, worm=100.0)
    plan: Any = SimpleNamespace(servings=[[Serving(need, need.foods, {"worm": 100.0})]] * 6)
    for given_j, told in ((100.0, [0, 4]), (160.0, [])):
        lines = [[_line(one, j)] for j in (0.0, given_j, 100.0, 100.0, 0.0, given_j)]
        gaps = find_gaps(_rounds(6), [[need]] * 6, plan, lines)
        assert [g.feeding.index for g in gaps] == told
        assert all(g.rounded for g in gaps)


def test_where_nobody_feeds_all_is_missing(room: Room) -> None:
    one, two = room.broods
    needs = [[_need(one, 70.0), _need(two, 30.0)]] * 2
    plan: Any = SimpleNamespace(servings=[[], []])
    gaps = find_gaps(_rounds(2, away=(0,)), needs, plan, [[], []])
    assert [(g.need.brood.name, g.food, g.short_j) for g in gaps] == [
        ("one", ANY, 70.0), ("two", ANY, 30.0)
    ]  # fmt: skip


def test_the_food_that_is_furthest_behind_is_what_is_missing(room: Room) -> None:
    need = _need(room.broods[0], a=60.0, b=40.0)
    for given, missing in (({"a": 30.0}, "b"), ({"a": 10.0}, "a"), ({"a": 50.0, "b": 35.0}, "a"),
                           ({}, "a"), ({"a": 20.0}, "b")):  # fmt: skip
        assert missing_food(Serving(need, need.foods, given)) == missing
    assert missing_food(Serving(_need(room.broods[0]), {}, {})) == ANY
    # 50 J are missing, of which there would be so much dry food if there were any.
    for dry_j, missing in ((25.0, DRY), (24.9, "b"), (0.0, "b")):
        serving = Serving(need, need.foods, {"a": 50.0})
        serving.dry_out_j = dry_j
        assert missing_food(serving) == missing


def test_gaps_of_the_shown_time_alone_are_told(room: Room) -> None:
    """From the very round at which it is now up to the one at which the time is over."""
    need = _need(room.broods[0], worm=100.0)
    servings = [[Serving(need, need.foods, {})] for _ in _ROUNDS]
    feeding: Any = SimpleNamespace(servings=servings)
    outlook = Outlook(
        room, _ROUNDS[2].at, _ROUNDS[5].at, tuple(_ROUNDS), [[need]] * 12, feeding, [[]] * 12, {}
    )
    limits: Any = SimpleNamespace(of=lambda _: "thin")
    (lack,) = find_lacks(outlook, limits)
    assert [gap.feeding.index for gap in lack.gaps] == [2, 3, 4]


# --- what belongs together


def _gap(brood: Brood, index: int, food: str = "worm", short_j: float = 4.0) -> Gap:
    return Gap(_ROUNDS[index], _need(brood), food, short_j)


@pytest.mark.parametrize(
    ("limit", "lacks"),
    [("thin", 1), ("away", 1), ("learning", 1), ("mouth", 2), ("meagre", 2)],
)
def test_broods_go_short_together_but_for_mouths_of_their_own(
    room: Room, limit: str, lacks: int
) -> None:
    one, two = room.broods
    limits: Any = SimpleNamespace(of=lambda _: limit)
    found = join([_gap(one, 0), _gap(two, 0), _gap(one, 1), _gap(two, 1)], limits)
    assert [lack.limit for lack in found] == [limit] * lacks
    assert sum(len(lack.gaps) for lack in found) == 4


@pytest.mark.parametrize(("limit", "later_h", "lacks"), [
    ("thin", 24.0, 1), ("thin", 168.0, 1), ("thin", 169.5, 1), ("thin", 169.6, 2),
    ("away", 24.0, 1), ("away", 24.5, 1), ("away", 24.6, 2), ("given", 24.6, 2),
])  # fmt: skip
def test_a_week_of_one_cause_belongs_together_and_a_day_of_an_absence(
    room: Room, limit: str, later_h: float, lacks: int
) -> None:
    """What comes back within a week, the hour of summer time with it, is told once."""
    first = _gap(room.broods[0], 0)
    at = first.feeding.at + timedelta(hours=later_h)
    later = Gap(evolve(first.feeding, index=5, at=at, at_h=first.feeding.at_h + later_h),
                first.need, "worm", 4.0)  # fmt: skip
    limits: Any = SimpleNamespace(of=lambda _: limit)
    assert len(join([first, later], limits)) == lacks
    # Each from the one before it, not from the first of all.
    last = Gap(evolve(later.feeding, index=9, at_h=first.feeding.at_h + 2 * later_h), first.need,
               "worm", 4.0)  # fmt: skip
    assert len(join([first, later, last], limits)) == (1 if lacks == 1 else 3)


def test_gaps_that_something_else_limits_are_told_apart(room: Room) -> None:
    (one, _), said = room.broods, iter(["thin", "unripe", "thin"])
    limits: Any = SimpleNamespace(of=lambda _: next(said))
    found = join([_gap(one, 0), _gap(one, 1), _gap(one, 2)], limits)
    assert [[g.feeding.index for g in lack.gaps] for lack in found] == [[0, 2], [1]]


def test_a_shortfall_adds_up_its_gaps(room: Room) -> None:
    """Two broods at two rounds; tanks in the order of the room file."""
    one, two = room.broods
    lack = Lack("worm", "away", [_gap(one, 1, short_j=4.0), _gap(two, 1, short_j=5.0),
                                 _gap(one, 3, short_j=7.0)])  # fmt: skip
    limits, starves = _limits(room), _START + timedelta(days=3)
    hunger: Any = SimpleNamespace(toll=lambda gaps: Toll(float(len(gaps)), starves))
    told = lack.shortfall(room, limits, (), hunger)
    assert (told.at, told.until, told.rounds) == (_ROUNDS[1].at, _ROUNDS[3].at, 2)
    assert (told.need_j, told.short_j, told.tanks) == (300.0, 16.0, ("B", "A"))
    assert (told.behind_days, told.starves_at) == (3.0, starves)
    alone = Lack("worm", "mouth", [_gap(two, 1), _gap(one, 3)]).shortfall(room, limits)
    assert (alone.at, alone.until) == (_ROUNDS[1].at, _ROUNDS[3].at)
    assert alone.cause.startswith("no food that is kept here fits the mouth of two")
    plain = lack.shortfall(room, limits)
    assert (plain.behind_days, plain.starves_at, plain.cause) == (
        0.0,
        None,
        "nobody is there to feed",
    )


# --- what limits


@pytest.mark.parametrize(
    ("now", "by", "there"),
    [
        ("05T07:30", "06T19:30", "06T19:30"),  # before the days away
        ("05T07:30", "07T07:30", "06T19:30"), ("05T07:30", "08T19:30", "06T19:30"),
        ("06T19:00", "07T07:30", "06T19:30"),
        ("06T20:00", "07T07:30", "06T22:30"),  # the last round is over, the keeper is still up
        ("06T23:00", "07T07:30", "06T23:00"), ("07T06:00", "07T19:30", "07T19:30"),
    ],
)  # fmt: skip
def test_what_helps_is_to_be_done_while_somebody_is_there(
    room: Room, now: str, by: str, there: str
) -> None:
    """Rounds at half past seven, nobody there on the 7th and the 8th."""

    def at(text: str) -> datetime:
        return datetime.fromisoformat(f"2027-01-{text}").replace(tzinfo=UTC)

    gone = evolve(room, away=(Away(date(2027, 1, 7), date(2027, 1, 8)),))
    plan: Any = SimpleNamespace(
        feedings=_rounds(12, away=(4, 5, 6, 7)), hatches=_limits(room).plan.hatches
    )
    limits = Limits(gone, plan, at(now))
    lack = Lack("worm", "away", [_gap(room.broods[0], 4)])
    some = Remedy("get some", at(by), 1.0, act=Act.FETCH)
    (told,) = lack.shortfall(gone, limits, (some,)).remedies
    assert told.by == at(there)


def _limits(
    room: Room, *, options: tuple[Option, ...] = (), lots: tuple[Lot, ...] = (),
    batches: tuple[Batch, ...] = (), rationed: Any = (), tin_short: Any = (),
    oldest: tuple[int, ...] = _OLDEST, worms: Any = None, given_j: Any = (0.0,) * 9,
    now: datetime = _START, parcels: Any = (),
) -> Limits:  # fmt: skip
    named = list(room.vessels)
    if lots:
        named = [named[0], evolve(named[0], name="another")]
        room = evolve(room, vessels=tuple(named))
    batches = (*batches, *(
        Batch(named[lot.option.vessel], lot.option.at_index, 0.0, 24.0, lot.grams, 0.0, 0.0)
        for lot in lots
    ))  # fmt: skip
    problem: Any = SimpleNamespace(options=options, oldest=oldest)
    hatches = HatchPlan([*batches], [], [*given_j], [], [*rationed, *tin_short], problem, lots,
                        rationed=rationed, parcels=parcels)  # fmt: skip
    plan: Any = SimpleNamespace(
        hatches=hatches, feedings=_ROUNDS, worms=worms or {}, servings=[[] for _ in _ROUNDS]
    )
    return Limits(room, plan, now)


def _of(room: Room, length_mm: float, foods: tuple[str, ...] | None, **wanted: float) -> str:
    brood = evolve(room.broods[0], foods=foods)
    need = BroodNeed(brood, _START, length_mm, 10, 100.0, wanted)
    food = max(wanted, default=ANY)
    return _limits(room).of(Gap(_ROUNDS[1], need, food, 10.0))


def test_a_mouth_is_too_small_where_less_than_half_of_it_takes_the_food(room: Room) -> None:
    fry, width = room.broods[0].fry_class, room.food(BRINE_SHRIMP).width_um
    low, high = 2.0, 40.0
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if takable(width, fry.gape_um(middle)) < 0.5 else (low, middle)
    only = (BRINE_SHRIMP, DRY)
    assert [_of(room, low + by, only) for by in (-0.01, 0.01)] == ["mouth", "meagre"]
    # One food that fits is enough; dry food has no width.
    assert _of(room, low - 0.01, ("microworm", BRINE_SHRIMP)) == "meagre"
    assert _of(room, low - 0.01, (DRY,)) == "learning"
    assert _of(room, 6.0, only, dry=50.0) == "learning"
    away = Gap(_rounds(2, away=(1,))[1], _need(room.broods[0]), ANY, 10.0)
    assert _limits(room).of(away) == "away"


def _worms(*stages: Any, ripe: dict[str, int], wanted: float = 10.0, given: float = 4.0) -> Any:
    course = SimpleNamespace(usable_from=ripe, given_mg=lambda _: given)
    return {
        "microworm": SimpleNamespace(
            stages=stages, course=course, wanted_mg=[wanted] * 12, prices=[0.0] * 12
        )
    }


def test_worms_are_none_unripe_or_thin(room: Room) -> None:
    """One stands in rounds 1 to 5 and is ripe from 3 on; a second that is never ripe until 7."""
    first, second = (
        evolve(stage, ages=[0.0] * 12) for stage in (
            _stage("MW-1", 800, first=1, spent=6, rounds=12),
            _stage("MW-2", 800, first=4, spent=8, rounds=12),
        )
    )  # fmt: skip
    limits = _limits(room, worms=_worms(first, second, ripe={"MW-1": 3}))
    found = [limits.of_food("microworm", index) for index in range(10)]
    assert found == ["none", "unripe", "unripe", "thin", "thin", "thin", "unripe", "unripe",
                     "none", "none"]  # fmt: skip
    assert limits.of_food(DRY, 0) == "learning"


def test_worms_of_a_poor_starter_are_ripe_when_they_can_be_harvested(room: Room) -> None:
    """Begun at round 2; a good starter of it would be harvested after a day, and this one can be at
    round 7: so long no culture is ripe, as its split says.
    """
    ages = [index / 2.0 for index in range(10)]
    young = evolve(_stage("MW-1", 50, first=2, spent=12, rounds=12), ages=ages)
    limits = _limits(room, worms=_worms(young, ripe={"MW-1": 7}))
    found = [limits.of_food("microworm", index) for index in range(2, 10)]
    assert found == [*["unripe"] * 5, *["thin"] * 3]


def test_old_worms_that_are_drawn_down_are_thin_and_not_unripe(room: Room) -> None:
    """A starter of 15 g at 20 mg/g is 300 mg, more than the 200 mg from which they climb: a day
    old it was ripe, and is drawn down where nothing climbs. From 0.2 mg it never was.
    """
    old = evolve(_stage("MW-1", 50, rounds=12), ages=[1.0] * 12)
    small = evolve(old, culture=evolve(old.culture, starter_g=0.01))
    for stage, limit in ((old, "thin"), (small, "unripe")):
        assert _limits(room, worms=_worms(stage, ripe={})).of_food("microworm", 5) == limit


def _option(
    at: int, start_h: float, end_h: float, *, vessel: int = 0, most_g: float = 4.0
) -> Option:
    return Option(vessel, at, start_h, end_h, 10.0, most_g)


def test_hatches_that_are_as_large_as_may_be_are_limited_by_their_vessels(room: Room) -> None:
    """Within a tenth of a gram, the step of a setting."""
    option = _option(3, 0.0, 24.0)
    for grams, limit in ((4.0, "vessels"), (3.95, "vessels"), (3.9, "vessels"), (3.89, "uneven")):
        limits = _limits(room, options=(option,), lots=(Lot(option, grams),))
        assert limits.of_food(BRINE_SHRIMP, 3) == limit, grams


def test_a_vessel_that_is_taken_meanwhile_is_at_its_limit(room: Room) -> None:
    """Set from 0 to 24 h; of another that would stand at the same time nothing can be had."""
    chosen = _option(3, 0.0, 24.0)
    for start_h, end_h, vessel, limit in (
        (23.9, 40.0, 0, "vessels"), (24.0, 40.0, 0, "uneven"), (-20.0, 0.0, 0, "uneven"),
        (-20.0, 0.1, 0, "vessels"), (5.0, 10.0, 0, "vessels"), (5.0, 10.0, 1, "uneven"),
    ):  # fmt: skip
        other = _option(4, start_h, end_h, vessel=vessel)
        limits = _limits(room, options=(chosen, other), lots=(Lot(chosen, 4.0),))
        assert limits.of_food(BRINE_SHRIMP, 4) == limit, (start_h, end_h, vessel)
    beside = _option(3, 0.0, 24.0, vessel=1)
    other = _option(4, 5.0, 10.0)
    both = (Lot(beside, 4.0), Lot(chosen, 4.0))
    limits = _limits(room, options=(chosen, beside, other), lots=both)
    assert limits.of_food(BRINE_SHRIMP, 4) == "vessels"


def test_hatches_that_cannot_be_fed_any_more_or_not_yet_do_not_count(room: Room) -> None:
    """A round takes what was hatched for it or one of the two before."""
    full, small = _option(2, 0.0, 24.0), _option(5, 50.0, 70.0)
    limits = _limits(room, options=(full, small), lots=(Lot(full, 4.0), Lot(small, 1.0)))
    assert [limits.of_food(BRINE_SHRIMP, i) for i in (2, 3, 4)] == ["vessels"] * 3
    assert [limits.of_food(BRINE_SHRIMP, i) for i in (5, 6, 7)] == ["uneven"] * 3
    assert limits.of_food(BRINE_SHRIMP, 8) == "absent"


def test_a_tin_limits_once_it_is_short_and_from_the_start_where_it_is_shared(room: Room) -> None:
    option = _option(3, 0.0, 24.0)
    lots, by_h = (Lot(option, 1.0),), _ROUNDS[3].at_h - 0.5  # drawn off half an hour before
    for at_h, limit in ((by_h - 1.0, "tin"), (by_h, "tin"), (by_h + 0.1, "uneven")):
        limits = _limits(room, options=(option,), lots=lots, tin_short=[(at_h, 2.0)])
        assert limits.of_food(BRINE_SHRIMP, 3) == limit
    shared = _limits(room, options=(option,), lots=lots, rationed=((by_h + 50.0, 2.0),))
    assert shared.of_food(BRINE_SHRIMP, 3) == "tin"


def test_a_tin_no_longer_limits_a_day_after_a_parcel(room: Room) -> None:
    """It lacks cysts an hour before the parcel; a hatch of that is drawn off a day later."""
    option = _option(3, 0.0, 24.0)
    lots, by_h = (Lot(option, 1.0),), _ROUNDS[3].at_h - 0.5
    for there_h, limit in ((by_h - 24.0, "uneven"), (by_h - 23.9, "tin")):
        lacks: Any = ((there_h - 1.0, 2.0),)
        plain = partial(_limits, room, options=(option,), lots=lots, parcels=((there_h, 50.0),))
        for limits in (plain(tin_short=lacks), plain(rationed=lacks)):
            assert limits.of_food(BRINE_SHRIMP, 3) == limit
    later = by_h - 30.0
    again = _limits(room, options=(option,), lots=lots, parcels=((later, 50.0),),
                    tin_short=[(later - 1.0, 2.0), (later + 1.0, 2.0)])  # fmt: skip
    assert again.of_food(BRINE_SHRIMP, 3) == "tin"


def test_without_a_vessel_or_in_cold_ones_nothing_hatches(room: Room) -> None:
    warm = room.vessels[0]
    cold = evolve(warm, name="V2", temperature_c=1.0)
    assert vessel_model(room, cold).rate <= 0.0
    found = {
        names: _limits(evolve(room, vessels=vessels)).of_food(BRINE_SHRIMP, 0)
        for names, vessels in (("none", ()), ("cold", (cold,)), ("both", (cold, warm)))
    }
    assert found == {"none": "no vessel", "cold": "cold", "both": "early"}


def _standing(vessel: Vessel, harvest_h: float, **more: Any) -> Batch:
    return Batch(vessel, 0, harvest_h - 20, harvest_h, 2.0, 1.0, 1.0, standing=True, **more)


def test_no_hatch_in_reach_is_early_taken_or_for_want_of_somebody(room: Room) -> None:
    """A hatch is worth waiting for from half of its best on; it is drawn off half an hour before
    its round, and a vessel that stands is free half an hour after its own harvest.
    """
    vessel = room.vessels[0]
    ripe_h = vessel_model(room, vessel).window(0.5)[0]
    by_h = [r.at_h - 0.5 for r in _ROUNDS]
    index = next(i for i, at_h in enumerate(by_h) if _ROUNDS[0].at_h + ripe_h < at_h)
    assert index > 0
    found = [_limits(room).of_food(BRINE_SHRIMP, i) for i in (index - 1, index)]
    assert found == ["early", "absent"]
    # A minute too late, and a minute in time.
    for minutes, limit in ((-1, "absent"), (1, "early")):
        at = _ROUNDS[4].at - timedelta(hours=0.5 + ripe_h) + timedelta(minutes=minutes)
        assert _limits(room, now=at).of_food(BRINE_SHRIMP, 4) == limit
    slow = evolve(room, vessels=(evolve(vessel, name="V2", temperature_c=20.0), vessel))
    assert _limits(slow).of_food(BRINE_SHRIMP, index) == "absent"
    last_h = by_h[8] - ripe_h - 0.5  # clean in time for round 8
    for harvest_h, limit in ((last_h - 0.01, "absent"), (last_h + 0.01, "vessels")):
        taken = _limits(room, batches=(_standing(vessel, harvest_h),))
        assert taken.of_food(BRINE_SHRIMP, 8) == limit
    held = _limits(room, batches=(_standing(vessel, last_h + 5.0, held=True),))
    assert held.of_food(BRINE_SHRIMP, 8) == "absent"
    planned = _limits(room, batches=(evolve(_standing(vessel, last_h + 5.0), standing=False),))
    assert planned.of_food(BRINE_SHRIMP, 8) == "absent"
    two = evolve(room, vessels=(vessel, evolve(vessel, name="V2")))
    one_free = _limits(two, batches=(_standing(vessel, last_h + 5.0),))
    assert one_free.of_food(BRINE_SHRIMP, 8) == "absent"
    cold = evolve(room, vessels=(vessel, evolve(vessel, name="V2", temperature_c=1.0)))
    both = _limits(cold, batches=(_standing(vessel, last_h + 5.0),))
    assert both.of_food(BRINE_SHRIMP, 8) == "vessels"


# --- how it is said


def test_what_limits_is_said_with_its_figures(room: Room) -> None:
    need = BroodNeed(room.broods[0], _START, 6.04, 10, 100.0, {})
    gape = f"{need.brood.fry_class.gape_um(6.04):.0f} µm"
    limits = _limits(room, tin_short=[(_ROUNDS[4].at_h, 2.0), (_ROUNDS[8].at_h, 2.0)])
    mouth, meagre = (limits.words(x, ANY, [0], need) for x in ("mouth", "meagre"))
    assert "no food that is kept here fits the mouth of one (6.0 mm long" in mouth
    picky = evolve(need, brood=evolve(need.brood, foods=("dry",)))
    words = limits.words("mouth", ANY, [0], picky)
    assert words.startswith("none of the foods of one fits its mouth (6.0 mm long")
    assert "all foods of one are too small to live on (6.0 mm long" in meagre
    assert gape in mouth
    assert limits.words("tin", BRINE_SHRIMP, [0]).startswith("the cysts run out on")
    assert "7 Jan" in limits.words("tin", BRINE_SHRIMP, [0])
    shared = _limits(room, rationed=((1.0, 1.0),))
    assert shared.words("tin", BRINE_SHRIMP, [0]).endswith("shared out")
    empty = _limits(evolve(room, cysts=Cysts(0.0)), rationed=((1.0, 1.0),))
    assert empty.words("tin", BRINE_SHRIMP, [0]) == "there are no cysts for a hatch"
    assert "vessel to hatch in" in limits.words("no vessel", BRINE_SHRIMP, [0])
    assert limits.words("early", BRINE_SHRIMP, [0, 1]) == "no hatch can be ripe by then"
    some = _limits(room, given_j=(0.0, 5.0))
    assert some.words("early", BRINE_SHRIMP, [0, 1]) == "no other hatch can be ripe by then"


def test_worms_are_said_to_be_gone_or_never_there_unripe_or_too_few(room: Room) -> None:
    """Of 10 mg wanted at each of three rounds 4 are given."""
    stage = _stage("MW-1", 800, first=2, spent=4, rounds=12)
    limits = _limits(room, worms=_worms(stage, ripe={}))
    said = [limits.words("none", "microworm", [index]) for index in (1, 2, 5)]
    label = room.kinds["microworm"].label
    assert said == [
        f"there is no {label} culture" + more for more in ("", " any more", " any more")
    ]
    later = _stage("MW-2", 800, first=8, rounds=12)
    both = _limits(room, worms=_worms(later, stage, ripe={}))
    assert both.words("none", "microworm", [5]).endswith("any more")
    assert limits.words("unripe", "microworm", [2]) == f"no {label} culture is ripe then"
    assert "give 40% of what is needed" in limits.words("thin", "microworm", [3, 4, 6])


def _at_a_price(stock_mg: float, asked_mg: float, priced: int) -> WormPlan:
    """A tray of which 400 mg are wanted at the first round, asked for less at a price of so many
    rounds, and 40 mg at each of the others.
    """
    stage, later = _stage("MW-1", stock_mg, rounds=12), [40.0] * 11
    kind, demand = stage.culture.kind, [asked_mg, *later]
    return WormPlan(
        kind, [stage], [], run_course([stage], [], demand), demand, [400.0, *later],
        [1.0] * priced + [0.0] * (12 - priced),
    )  # fmt: skip


def test_worms_that_are_kept_for_later_rounds_are_said_to_be_spared(room: Room) -> None:
    """Half of 800 mg could be had, and a quarter of that is given, since six rounds have a price.

    Of 260 mg no more than 60 climb, so that hardly more could be given than is; and without a
    price nothing is kept.
    """
    label = room.kinds["microworm"].label
    until = spoken_day(_ROUNDS[5].at, _START)

    def said(plan: WormPlan, food: str = "microworm", need: BroodNeed | None = None) -> str:
        eels = SimpleNamespace(
            stages=(), course=SimpleNamespace(given_mg=lambda _: 4.0), wanted_mg=[10.0] * 12,
            prices=[0.0] * 12, kind=room.kinds["vinegar_eel"],
        )  # fmt: skip
        limits = _limits(room, worms={"microworm": plan, "vinegar_eel": eels})
        return limits.words("thin", food, [0], need)

    spared = said(_at_a_price(800, 100, 6))
    assert spared.startswith(f"the {label} cultures could give 100% of what is needed and give 25%")
    assert f"the rest is spared for the rounds up to {until}, which" in spared
    assert said(_at_a_price(260, 40, 6)).endswith("can give 10% of what is needed")
    assert said(_at_a_price(800, 100, 0)).endswith("can give 25% of what is needed")
    # What is said of another food names the worms that the mouth takes besides.
    need = _need(room.broods[0], microworm=10.0, vinegar_eel=10.0)
    other = said(_at_a_price(800, 100, 6), "vinegar_eel", need)
    assert "can give 40% of what is needed, and the microworm cultures are spared for" in other
    assert "spared" not in said(_at_a_price(800, 100, 0), "vinegar_eel", need)
    assert "spared" not in said(
        _at_a_price(800, 100, 6), "vinegar_eel", _need(room.broods[0], dry=10.0)
    )


# --- what lifts it


def _lifts(room: Room, limit: str, gap: Gap, now: datetime = _START) -> list[Lift]:
    return list(lifts_of(room, now, gap, limit))


def test_one_more_vessel_is_as_large_as_the_largest_or_of_a_litre(room: Room) -> None:
    gap = _gap(room.broods[0], 2, BRINE_SHRIMP)
    more = (*room.vessels, evolve(room.vessels[0], name="V2", litres=2.5))
    (lift, cysts) = _lifts(evolve(room, vessels=more), "vessels", gap)
    assert (lift.text, lift.supposition, lift.food) == (
        "a 2.5 L vessel",
        "vessel 2.5",
        BRINE_SHRIMP,
    )
    assert cysts.supposition == "buy 100000 cysts"
    for limit in ("no vessel", "learning"):  # most fry eat nothing better than nauplii
        lift, *_ = _lifts(evolve(room, vessels=()), limit, gap)
        assert lift.text == "a 1 L vessel"
    assert all(lift.what != "vessel" for lift in _lifts(room, "learning", gap))


def test_the_largest_cool_vessel_stands_in_warm_water_first(room: Room) -> None:
    gap, warm = _gap(room.broods[0], 2, BRINE_SHRIMP), evolve(room.vessels[0], temperature_c=27.0)
    cool = [
        evolve(warm, name=name, litres=litres, temperature_c=20.0)
        for name, litres in (("small", 0.5), ("large one", 1.0))
    ]
    here = evolve(room, vessels=(warm, *cool))
    for limit in ("vessels", "cold", "early", "absent", "uneven"):
        lift, *_ = _lifts(here, limit, gap)
        assert (lift.text, lift.supposition) == ("large one in warm water", "warm 'large one'")
    assert "warm" not in {x.what for x in _lifts(here, "tin", gap)}
    assert "warm" not in {x.what for x in _lifts(evolve(here, vessels=(warm,)), "vessels", gap)}


def test_a_starter_is_there_after_the_days_that_it_takes_to_fetch(room: Room) -> None:
    """Usually one; of no kind that a mouth cannot use."""
    gap = _gap(room.broods[0], 2, "microworm")
    for days, day in ((None, 6), (0, 5), (4, 9)):
        here = evolve(room, fetch_days={} if days is None else {"starter": days})
        for limit in ("none", "unripe", "thin"):
            (lift,) = _lifts(here, limit, gap)
            assert lift.supposition == f"buy microworm on 2027-01-{day:02}"
    tiny = Gap(gap.feeding, evolve(gap.need, length_mm=2.0), "grindal_worm", 4.0)
    assert _lifts(room, "thin", tiny) == []


def test_a_mouth_that_no_food_fits_gets_worms_that_suit_it_best(room: Room) -> None:
    """Of all kinds: for fry of 4 mm not the wide ones, for fry of 20 mm not the smallest."""
    for length_mm in (4.0, 20.0):
        gap = _gap(room.broods[0], 2)
        gap = Gap(gap.feeding, evolve(gap.need, length_mm=length_mm), ANY, 4.0)
        kinds = [name for name, kind in room.kinds.items() if isinstance(kind, WormKind)]
        fry = gap.need.brood.fry_class
        best = max(kinds, key=lambda name: suitability(room.food(name), fry, length_mm))
        for limit in ("mouth", "learning"):
            (lift,) = _lifts(room, limit, gap)
            assert lift.food == best


def test_a_helper_comes_for_what_is_left_of_an_absence(room: Room) -> None:
    over, ahead = Away(date(2027, 1, 1), date(2027, 1, 2)), Away(date(2027, 1, 6), date(2027, 1, 8))
    here = evolve(room, away=(over, ahead))
    for index in (2, 7):
        (lift,) = _lifts(here, "away", _gap(room.broods[0], index))
        assert lift.supposition == "away from 2027-01-06 to 2027-01-08 with helper"
    gap = _gap(room.broods[0], 6)
    (lift,) = _lifts(here, "away", gap, datetime(2027, 1, 7, 9, tzinfo=UTC))
    assert lift.supposition == "away from 2027-01-07 to 2027-01-08 with helper"


def test_a_lift_gives_its_food_to_who_has_it_not(room: Room) -> None:
    brood, lift = room.broods[0], Lift("food", "dry food", food=DRY)
    assert lift.given_to(brood) is brood  # gets all there is
    listed = evolve(brood, foods=("microworm",))
    assert lift.given_to(listed).foods == ("microworm", DRY)
    has = evolve(brood, foods=(DRY, "microworm"))
    assert lift.given_to(has) is has
    assert Lift("helper", "").given_to(listed) is listed
    assert lift.room(room, _START) is room
