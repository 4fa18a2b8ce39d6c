"""The year of a room: stages, loads, and what the room can give, each against what is known."""

from __future__ import annotations

import math
from datetime import date, datetime, time, timedelta
from itertools import pairwise

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from cli.commands.demo_room import demo_text
from cli.screens.year import besides
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import BroodCourse, Round, room_needs, rounds_between
from cultures.planning.giving import Giving, Substitution, culture_j_per_day, vessel_j_per_day
from cultures.planning.year import STAGES, Year, away_in, year_of
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.moments import hours

_TODAY = date(2027, 1, 5)


def _planned(name: str, tank: str, day: str, count: int = 200) -> str:
    return (
        f'\n[[brood]]\nname = "{name}"\ntank = "{tank}"\nclass = "egg_scatterer"\ncount = {count}\n'
        f"planned = {day}\n"
    )


def _room(more: str = "", head: str = "") -> Room:
    text = demo_text(_TODAY).replace("[room]\n", f"[room]\n{head}\n", 1)
    return read_room(text + more, today=_TODAY)


def _year(room: Room, weeks: int = 30) -> Year:
    return year_of(room, datetime(2027, 1, 5, 7, tzinfo=room.timezone), weeks)


def _loads(year: Year, food: str) -> list[float]:
    return [load.share for one in year.foods if one.food == food for load in one.loads]


def test_the_weeks_begin_on_this_monday_and_follow_each_other() -> None:
    year = _year(_room(), 52)
    assert year.weeks[0] == date(2027, 1, 4)
    assert {(b - a).days for a, b in pairwise(year.weeks)} == {7}
    assert year.end == date(2028, 1, 3)


def test_each_brood_lives_through_its_stages_in_order_and_without_a_gap() -> None:
    year = _year(_room(_planned("danio 9", "A2", "2027-03-01")), 52)
    assert [b.start for b in year.broods] == sorted(b.start for b in year.broods)
    for brood in year.broods:
        order = [STAGES.index(span.stage) for span in brood.spans]
        assert order == sorted(set(order))
        for before, after in pairwise(brood.spans):
            assert after.start == before.end + timedelta(days=1)
    planned = next(b for b in year.broods if b.name == "danio 9")
    assert planned.planned
    assert planned.start == date(2027, 3, 1)
    course = BroodCourse.of(_room(_planned("danio 9", "A2", "2027-03-01")), planned.course.brood)
    eggs, first, *_ = planned.spans
    assert (eggs.stage, first.start) == ("eggs", course.first_food_day())
    grown = next(span for span in planned.spans if span.stage == "grow_out")
    at = course.reaches(course.fry_class.values["move_on_mm"])
    assert abs((grown.start - course.room.at_hour(at).date()).days) <= 1


def test_a_brood_leaves_the_page_on_the_day_on_which_it_can_go() -> None:
    room = _room(_planned("danio 9", "A2", "2027-03-01"), 'sell_at = "8 weeks"')
    brood = next(b for b in _year(room, 52).broods if b.name == "danio 9")
    first_food = brood.spans[1].start
    assert brood.end == first_food + timedelta(weeks=8)
    assert brood.spans[-1].stage == "can_go"


def test_a_load_is_what_the_rounds_of_its_day_ask_for() -> None:
    room = _room(_planned("danio 9", "A2", "2027-03-01"))
    foods = _year(room).foods
    room = evolve(room, broods=room.every_brood)  # as if it were certain
    for one in foods:
        for load in one.loads:
            begin = datetime.combine(load.day, datetime.min.time(), room.timezone)
            rounds = rounds_between(room, begin, begin + timedelta(days=1))
            asked = [
                sum(need.foods.get(one.food, 0.0) for need in row)
                for row in room_needs(room, rounds)
            ]
            # The year looks at noon, between the rounds of 07:30 and 18:30.
            low, high = (len(rounds) * ends(asked) for ends in (min, max))
            assert 0.97 * low - 1.0 <= load.need_j <= 1.03 * high + 1.0
            assert load.need_j == pytest.approx(sum(load.by.values()))


def test_a_vessel_gives_a_full_hatch_a_day_where_a_day_is_long_enough() -> None:
    room = _room()
    vessel, kind = room.vessels[0], room.hatch_kind
    v = kind.values
    # Nearly all of 5 g in a litre hatches in 23.5 h at 27 °C, and none holds more than at birth.
    at_birth = v["crowding_small_g_per_l"] * vessel.litres * v["nauplii_per_gram"] * v["energy_j"]
    assert 0.6 * at_birth < vessel_j_per_day(room, vessel) < at_birth
    giving = Giving(room)
    both = sum(vessel_j_per_day(room, one) for one in room.vessels)
    assert giving.j_per_day(BRINE_SHRIMP, _TODAY) == pytest.approx(both)


def test_a_culture_gives_no_more_than_the_largest_sustainable_yield() -> None:
    """At most r K0 / 4 a physiological day (Schaefer 1954), since a medium only sours."""
    room = _room()
    for culture in room.cultures:
        model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
        speed, energy = culture.kind.rate(23.5), culture.kind.values["energy_j_per_mg"]
        most = model.growth_rate * model.capacity_mg / 4.0 * speed * energy
        assert 0.05 * most < culture_j_per_day(culture, 23.5) <= most
    assert culture_j_per_day(room.cultures[0], 2.0) == 0.0


def test_a_culture_that_is_to_come_gives_from_the_day_on_which_it_is_ripe() -> None:
    more = (
        '\n[[culture]]\nname = "MW-9"\nkind = "microworm"\nplanned = 2027-02-01\nmedium_g = 150\n'
        "surface_cm2 = 180\nstarter_g = 10\n"
    )
    giving = Giving(_room(more))
    before, begun, after = (
        giving.j_per_day("microworm", date(2027, *day)) for day in ((1, 20), (2, 1), (3, 1))
    )
    assert begun == before
    assert after == pytest.approx(1.5 * before)  # a third box like the two that stand


def test_spawns_too_many_are_seen_and_whose_absence_would_help() -> None:
    more = "".join(_planned(f"danio {i}", f"A{i}", "2027-03-01", 4000) for i in (2, 4, 5))
    year = _year(_room(more))
    one = next(one for one in year.foods if one.food == BRINE_SHRIMP)
    ((*run,),) = one.too_much()
    worst = max(run, key=lambda load: load.share)
    assert worst.share > 1
    assert date(2027, 3, 1) <= worst.week <= date(2027, 4, 30)
    eaten = worst.by["danio 2"]
    assert worst.without("danio 2") == pytest.approx((worst.need_j - eaten) / worst.gives_j)
    assert year.planned == {"danio 2", "danio 4", "danio 5"}


def test_what_nothing_gives_is_asked_without_end() -> None:
    text = demo_text(_TODAY).replace('kind = "vinegar_eel"', 'kind = "microworm"')
    text = text.replace("medium_g = 1500", "medium_g = 150\nsurface_cm2 = 180")
    text += _planned("danio 9", "A2", "2027-03-01").replace(
        "planned", 'foods = ["vinegar_eel", "microworm", "dry"]\nplanned'
    )
    loads = _loads(_year(read_room(text, today=_TODAY)), "vinegar_eel")
    assert math.inf in loads
    assert loads[0] == 0


def test_a_spawning_that_nobody_confirmed_is_not_reckoned() -> None:
    room = read_room(
        demo_text(_TODAY) + _planned("danio 9", "A2", "2027-01-02"), today=_TODAY
    )  # fmt: skip
    assert "danio 9" not in {b.name for b in _year(room).broods}


def test_absences_are_known_by_who_is_there() -> None:
    room = _room(
        "\n[[away]]\nfrom = 2027-02-01\nto = 2027-02-03\nhelper = true\n"
        "\n[[away]]\nfrom = 2027-03-06\nto = 2027-03-08\n"
    )
    found = [away_in(room, monday, monday + timedelta(days=7)) for monday in _year(room, 12).weeks]
    assert found == ["", "", "", "", "helper", "", "", "", "away", "away", "", ""]


@settings(max_examples=8, deadline=None)
@given(
    count=st.integers(400, 3000), day=st.integers(0, 100), times=st.integers(2, 5),
)  # fmt: skip
def test_more_fry_weigh_more_and_in_proportion(count: int, day: int, times: int) -> None:
    planned = (_TODAY + timedelta(days=1 + day)).isoformat()
    bare = _year(_room(), 20)
    one, many = (_year(_room(_planned("d", "A2", planned, n)), 20) for n in (count, count * times))
    for food in {f.food for f in many.foods}:
        at = [_loads(year, food) for year in (bare, one, many)]
        assert all(a <= b + 1e-9 <= c + 2e-9 for a, b, c in zip(*at, strict=True))
        for load in next(f for f in many.foods if f.food == food).loads:
            once = next(
                x for f in one.foods if f.food == food for x in f.loads if x.week == load.week
            )
            if once.day == load.day:
                assert load.by.get("d", 0) == pytest.approx(times * once.by.get("d", 0), rel=0.02)


def test_dry_food_of_the_days_that_a_plan_covers_is_the_plans_where_no_brood_goes() -> None:
    """The needs of every round of those days, as a plan takes them, against the year's noons."""
    goes, stays = (
        evolve(_room(head=head), horizon_days=28) for head in ('sell_at = "16 mm"', "")
    )  # fmt: skip
    start, until = (goes.local(_TODAY + timedelta(days=n), time(0)) for n in (0, 28))
    rounds = rounds_between(goes, start, until)
    planned_j = sum(
        need.foods.get(DRY, 0.0) for needs in room_needs(goes, rounds) for need in needs
    )
    assert planned_j > 0
    year = _year(goes)
    assert year.planned_to == date(2027, 2, 2)
    assert year.dry_kept_j == pytest.approx(planned_j, rel=0.02)
    assert year.dry_soon_j < 0.8 * planned_j
    (said,) = (text for text in besides(year) if text.startswith("Dry food"))
    assert "with each brood gone on its day; if none goes" in said
    assert "up to Mon 1 Feb alone" in said
    (said,) = (text for text in besides(_year(stays)) if text.startswith("Dry food"))
    assert "if none goes" not in said
    assert said.endswith("What live food lacks comes on top.")


_FED = """
[[brood]]
name = "acaras"
tank = "B1"
class = "substrate_spawner"
count = 100
free_swimming = 2027-01-01
foods = [{}]
"""


def _missing(foods: str, **gives: float) -> dict[str, float]:
    """What acaras of two weeks miss of a day, where the room gives a part of their need of each."""
    room = _room(_FED.format(foods))
    room = evolve(room, broods=(room.brood("acaras"),), hoped=())
    noon = room.local(date(2027, 1, 15), time(12))
    a_day = Round(0, noon, hours(noon), per_day=1, fed=True, keeper=True)
    need = BroodCourse.of(room, room.brood("acaras")).need(a_day)
    assert need is not None
    by = {food: part * need.energy_j for food, part in gives.items()}
    return dict(Substitution(room).missing([need], lambda food: by.get(food, 0.0)))


def test_who_goes_short_on_a_day_is_judged_as_in_a_plan() -> None:
    """Less than 3 % missing of all foods is not called short."""
    alone = '"brine_shrimp"'
    assert _missing(alone) == {"acaras": 1.0}
    assert _missing(alone, brine_shrimp=0.5) == {"acaras": pytest.approx(0.5)}
    assert _missing(alone, brine_shrimp=0.96) == {"acaras": pytest.approx(0.04)}
    assert _missing(alone, brine_shrimp=0.98) == {}
    # Of two foods that its mouth takes either does for all of it.
    both = '"brine_shrimp", "microworm"'
    assert _missing(both, brine_shrimp=1.1) == {}
    assert _missing(both, microworm=1.1) == {}
    assert _missing(both, microworm=0.5, brine_shrimp=0.2) == {"acaras": pytest.approx(0.3)}


def test_who_would_miss_what_of_too_much_is_told_of_those_that_ask_for_it() -> None:
    more = "".join(_planned(f"danio {i}", f"A{i}", "2027-03-01", 4000) for i in (2, 4, 5))
    year = _year(_room(more.replace("planned", 'foods = ["brine_shrimp"]\nplanned')))
    one = next(one for one in year.foods if one.food == BRINE_SHRIMP)
    ((*run,),) = one.too_much()
    worst = max(run, key=lambda load: load.share)
    missing = year.missing(run)
    assert {"danio 2", "danio 4", "danio 5"} <= missing.keys() <= worst.by.keys()
    assert all(0.03 < share <= 1.0 for share in missing.values())
    light = [load for load in one.loads if 0.0 < load.share < 0.5]
    assert light
    assert year.missing(light) == {}
