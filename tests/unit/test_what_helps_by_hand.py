"""Remedies, lifts and suppositions by hand, and from when on something counts."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.needs.need import BroodNeed
from cultures.planning.carry import lifts_of
from cultures.planning.changes import bought_culture, usual_culture, with_food
from cultures.planning.gaps import Gap
from cultures.planning.offers import Offers
from cultures.planning.outlook import make_outlook
from cultures.planning.ready import readiness, supposed
from cultures.planning.supplies import Use, purchase
from cultures.planning.what_if import SuppositionError, _ends, suppose
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.plan import Shortfall
from cultures.tasks.told import FeedLine
from tests.unit.test_planning_by_hand import _START, _rounds, _stage

_TODAY = date(2027, 1, 5)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(demo_text(_TODAY), today=_TODAY)


@pytest.fixture(scope="module")
def now(room: Room) -> datetime:
    return datetime(2027, 1, 5, 7, tzinfo=room.timezone)


# --- one culture more


def _full(shelf: int | None, index: int) -> bool:
    """Whether a shelf is full that holds one culture in rounds 0 to 3 and one in 2 to 5."""
    stages = [_stage("MW-1", 800, spent=4), _stage("MW-2", 800, first=2, spent=6, rounds=8)]
    offers: Any = SimpleNamespace(
        room=SimpleNamespace(shelf=shelf),
        outlook=SimpleNamespace(
            feeding=SimpleNamespace(
                worms={s.culture.name: SimpleNamespace(stages=[s]) for s in stages}
            )
        ),
    )
    return Offers._shelf_full(offers, index)


def test_a_shelf_is_full_while_as_many_stand_as_it_holds() -> None:
    assert [_full(2, index) for index in range(7)] == [False, False, True, True, *[False] * 3]
    assert [_full(1, index) for index in range(7)] == [True] * 6 + [False]
    assert not any(_full(shelf, 3) for shelf in (3, None))


def test_a_culture_of_usual_size(room: Room) -> None:
    """150 g of medium in a box of 180 cm², a bottle of 1.5 L, a tenth of it starter (common
    practice, no source); where the room has one, as that is.
    """
    sizes = {}
    bare = evolve(room, cultures=())
    for kind in room.kinds.values():
        if isinstance(kind, WormKind):
            usual = usual_culture(bare, kind)
            sizes[kind.medium] = usual.medium_g, usual.surface_cm2, usual.starter_g
    assert sizes == {"solid": (150.0, 180.0, 15.0), "liquid": (1500.0, None, 150.0)}
    mine = evolve(room.cultures[0], medium_g=77.0, lost_h=1.0)
    like = usual_culture(evolve(room, cultures=(mine,)), mine.kind)
    assert (like.medium_g, like.lost_h) == (77.0, None)
    twice = bought_culture(evolve(room, cultures=(mine,)), mine.kind, _TODAY, mine.name)
    assert (twice.name, twice.started) == (f"{mine.name} 2", _TODAY)


def test_a_food_is_added_for_those_whose_list_leaves_it_out(room: Room) -> None:
    every, listed, has, other = (
        evolve(room.broods[0], name=name, foods=foods)
        for name, foods in (("a", None), ("b", ("x",)), ("c", ("y", "x")), ("d", ("x",)))
    )
    found = with_food(evolve(room, broods=(every, listed, has, other)), "y", ["a", "b", "c"])
    assert [b.foods for b in found.broods] == [None, ("x", "y"), ("y", "x"), ("x",)]


# --- what lifts a limit


def _lifted(room: Room, now: datetime, limit: str, foods: tuple[str, ...] | None) -> list[str]:
    brood = evolve(room.broods[0], foods=foods)
    feeding = _rounds(1)[0]
    gap = Gap(feeding, BroodNeed(brood, feeding.at, 6.0, 10, 100.0, {}), BRINE_SHRIMP, 10.0)
    return [lift.what for lift in lifts_of(room, now, gap, limit)]


def test_dry_food_is_a_lift_where_other_food_is_meagre_and_it_is_left_out(
    room: Room, now: datetime
) -> None:
    assert _lifted(room, now, "meagre", (BRINE_SHRIMP,)) == ["food"]
    assert _lifted(room, now, "meagre", (BRINE_SHRIMP, DRY)) == []
    assert _lifted(room, now, "meagre", None) == []
    assert _lifted(room, now, "awake", (BRINE_SHRIMP,)) == []
    for limit, lifts in (
        ("vessels", ["vessel", "cysts"]), ("uneven", ["vessel", "cysts"]),
        ("no vessel", ["vessel"]), ("tin", ["cysts"]),
    ):  # fmt: skip
        assert _lifted(room, now, limit, (BRINE_SHRIMP,)) == lifts
    assert _lifted(evolve(room, cysts=None), now, "tin", None) == []


# --- suppositions


@pytest.mark.parametrize("degrees", ["-0.1", "45.1", "60"])
def test_no_water_of_fry_is_below_freezing_or_above_45_degrees(
    room: Room, now: datetime, degrees: str
) -> None:
    tank = room.broods[0].tank
    text = f"temperature {{}} of {tank} from 2027-01-06 to 2027-01-07"
    for fine in ("0", "45"):
        (brood,) = (b for b in suppose(room, text.format(fine), now).broods
                    if b.name == room.broods[0].name)  # fmt: skip
        assert float(fine) in {at_c for _, at_c in brood.temperature_log}
    with pytest.raises(SuppositionError):
        suppose(room, text.format(degrees), now)


def _line(day: int, tank: str, need: float, given: float) -> FeedLine:
    at = _START + timedelta(days=day)
    return FeedLine(at=at, tank=tank, brood="b", food="worm", need_j=need, given_j=given,
                    amount=given, unit="mL")  # fmt: skip


def test_a_tank_is_short_from_the_first_round_at_which_three_hundredths_are_missing() -> None:
    """97 of 100 J are enough; what another tank lacks, or a day outside, is no matter."""
    lines = [
        _line(0, "A", 100.0, 10.0), _line(1, "A", 100.0, 97.0), _line(1, "B", 100.0, 0.0),
        _line(2, "A", 60.0, 60.0), _line(2, "A", 40.0, 36.9), _line(3, "A", 100.0, 0.0),
        _line(2, "B", 100.0, 98.0), _line(3, "B", 100.0, 99.0),
    ]  # fmt: skip
    at, until = _START + timedelta(days=1), _START + timedelta(days=3)
    short = Shortfall(at=at, until=until, rounds=3, food="worm", need_j=1.0, short_j=1.0,
                      tanks=("A",), cause="")  # fmt: skip
    thin = evolve(short, thin=True, food="other")
    plan: Any = SimpleNamespace(start=_START, lines=lines, supplies=(), shortfalls=(short, thin))
    day = (_START + timedelta(days=2)).date()
    # Nothing is given to A at the last round alone, which is less than a day after the one before.
    assert _ends(plan)["short", "worm", "A"] == day
    assert ("short", "other", "A") not in _ends(plan)
    assert ("short", "worm", "B") not in _ends(plan)
    enough: Any = SimpleNamespace(start=_START, lines=lines[1:2], supplies=(), shortfalls=(short,))
    assert _ends(enough)["short", "worm", "A"] == at.date()


# --- ready


def test_how_many_fry_one_may_ask_about(room: Room) -> None:
    for count in (1, 120, 1_000_000):
        assert supposed(room, f"betta {count}", _TODAY)[1].count == count
    for text in ("betta 0", "betta 1000001", "betta", "120", "betta 1.5"):
        with pytest.raises(RangeError, match="how many"):
            supposed(room, text, _TODAY)


def test_eggs_hatch_on_a_day_and_fry_that_are_born_do_not(room: Room, now: datetime) -> None:
    """Half a day is the least that is worth a day of its own."""
    reference_c = room.fry_class("bubble_nest").values["t_ref_c"]
    with_tank, brood = supposed(room, "bubble_nest 50", _TODAY, temperature_c=reference_c)
    days = {}
    for hatch_days in (0.49, 0.5, 1.4, 1.6):
        fry = evolve(brood.fry_class, values={**brood.fry_class.values, "hatch_days": hatch_days})
        days[hatch_days] = readiness(with_tank, evolve(brood, fry_class=fry), now).hatching
    # Spawned at noon: 1.4 days later it is the evening of the next day, 1.6 the night after.
    noon = timedelta(hours=12)
    assert days[0.49] is None
    for hatch_days in (0.5, 1.4, 1.6):
        hatched = datetime.combine(_TODAY, datetime.min.time()) + noon + timedelta(days=hatch_days)
        assert days[hatch_days] == hatched.date()
    born_in, born = supposed(room, "livebearer 50", _TODAY)
    assert readiness(born_in, born, now).hatching is None


# --- what is bought, what a plan tells of cultures and foods


def test_what_is_had_at_once_is_bought_at_the_very_round_at_which_it_runs_out() -> None:
    daily = [Use("salt", _START + timedelta(days=i), 2.0) for i in range(30)]
    found = purchase(daily, 5.0, _rounds(30), _START, timedelta(0))
    assert found is not None
    assert found.out == found.at == _START + timedelta(days=2)
    hour = purchase(daily, 5.0, _rounds(30), _START, timedelta(hours=1))
    assert hour is not None
    assert hour.at == _START + timedelta(days=1, hours=12)


def test_need_and_supply_are_told_of_the_shown_days_alone(now: datetime) -> None:
    away = read_room(
        demo_text(_TODAY) + "\n[[away]]\nfrom = 2027-01-06\nto = 2027-01-06\n", today=_TODAY
    )
    outlook = make_outlook(away, now=now, days=3)
    told = {(s.day, s.food): (s.need_j, s.given_j) for s in outlook.supply()}
    assert outlook.supply() is outlook.supply()  # added up once, for the plan and its remarks
    assert {day for day, _ in told} == {f"2027-01-{day:02}" for day in (5, 6, 7)}
    for (day, food), (need_j, given_j) in told.items():
        rounds = [r for r in outlook.feedings if f"{r.at:%Y-%m-%d}" == day and r.at < outlook.until]
        lines = [x for r in rounds for x in outlook.lines[r.index] if x.food == food]
        if day == "2027-01-06":  # nobody feeds, and all of the need is missing
            wanted = [n.foods.get(food, 0.0) for r in rounds for n in outlook.needs[r.index]]
            assert (need_j, given_j) == pytest.approx((sum(wanted), 0.0))
        else:
            assert need_j == pytest.approx(sum(x.need_j for x in lines))
            assert given_j == pytest.approx(sum(x.given_j for x in lines))


def test_the_end_of_a_culture_is_told_where_it_is_less_than_a_year_off(
    room: Room, now: datetime
) -> None:
    """A year, of 366 days, after the last round that is planned."""
    eels = next(c for c in room.cultures if c.kind.name == "vinegar_eel")
    cool = evolve(eels, temperature_c=eels.kind.values["t_min_c"] + 2.0, started=_TODAY)
    outlook = make_outlook(evolve(room, cultures=(cool,)), now=now)
    last_h = outlook.feedings[-1].at_h
    for days, told in ((365.9, True), (366.1, False)):
        lost = evolve(cool, lost_h=last_h + 24.0 * days)
        found = make_outlook(evolve(room, cultures=(lost,)), now=now)
        (span,) = (s for s in found.cultures() if s.name == eels.name)
        assert (span.spent_on is not None) is told
