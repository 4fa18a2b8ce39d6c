"""What a keeper can do with worms, and who gets them when they are scarce.

Limits are common practice, no source; the rooms are made up for the purpose.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, timedelta
from itertools import pairwise

import pytest

from cultures.foods.kinds import WormKind, shipped_kind
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, daily_yield
from cultures.journal.entries import Entry
from cultures.planning.build import build_tasks
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.prices import asked_at, harm_of, price_for, shares_of, want_of
from cultures.room.file import read_room
from cultures.tasks.task import HarvestWorms, SetHatch, Split
from tests.simulation import simulate
from tests.unit.recorded import lines, room_at

_TODAY = date(2027, 3, 1)
_ROOM = """
[room]
name = "Bench by the stove"
timezone = "Europe/Lisbon"
as_of = 2027-03-01
temperature_c = {celsius}
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
horizon_days = 28
"""
_VESSEL = """
[[vessel]]
name = "bottle 1"
litres = 1.5
temperature_c = 27

[cysts]
grams = 200
nauplii_per_gram = 200000
opened = 2027-01-01
"""


def _brood(name: str, fry_class: str, count: int, days: int, foods: str = "") -> str:
    free = _TODAY - timedelta(days)
    return (
        f'\n[[tank]]\nname = "T {name}"\nlitres = 60\ntemperature_c = 25\n[[brood]]\n'
        f'name = "{name}"\ntank = "T {name}"\nclass = "{fry_class}"\ncount = {count}\n'
        f"free_swimming = {free}\n" + (f"foods = {foods}\n" if foods else "")
    )


def _culture(name: str, kind: str, days: int, medium: int, surface: int, starter: int) -> str:
    return (
        f'\n[[culture]]\nname = "{name}"\nkind = "{kind}"\nstarted = {_TODAY - timedelta(days)}\n'
        f"medium_g = {medium}\nstarter_g = {starter}\n"
        + (f"surface_cm2 = {surface}\n" if surface else "")
    )


def _outlook(*parts: str, celsius: float = 21) -> Outlook:
    room = read_room(_ROOM.format(celsius=celsius) + "".join(parts), today=_TODAY)
    return make_outlook(room, now=datetime(2027, 3, 1, 6, tzinfo=room.timezone))


def _kind(name: str) -> WormKind:
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    return kind


_HUNGRY = (
    _brood("angels", "substrate_spawner", 300, 25),
    _brood("cories", "armoured_catfish", 200, 20),
    _VESSEL,
)


@pytest.mark.parametrize(
    "box", [_culture("GW-1", "grindal_worm", 70, 400, 300, 15),
            _culture("GW-1", "grindal_worm", 70, 150, 180, 15)],
)  # fmt: skip
def test_a_slow_box_is_split_as_often_as_it_stands(box: str) -> None:
    """From a box of 400 g were to be split 12 in one morning, from one of 150 g 7 in a minute."""
    outlook = _outlook(*_HUNGRY, box)
    plan = outlook.feeding.worms["grindal_worm"]
    assert len(plan.splits) >= 1
    at = {s.culture.name: outlook.feedings[s.at_index].at for s in plan.splits}
    for split in plan.splits:
        since = at[split.culture.name] - timedelta(days=18)  # 21 days at 20 °C, the room has 21
        near = [s for s in plan.splits if s.parent == split.parent
                and since < at[s.culture.name] <= at[split.culture.name]]  # fmt: skip
        assert len(near) <= 2
        assert plan.course.usable_from[split.culture.name] < len(outlook.feedings)


def test_many_new_boxes_are_spread_over_days() -> None:
    boxes = [_culture(f"MW-{i}", "microworm", 9, 150, 180, 12) for i in range(1, 7)]
    brood = _brood("danios", "egg_scatterer", 6000, 3, '["microworm"]')
    outlook = _outlook(brood, *boxes, celsius=24)
    splits = [t for t in build_tasks(outlook) if isinstance(t, Split)]
    assert len(splits) > 6
    assert max(Counter(t.at.date() for t in splits).values()) <= 6


def test_a_good_parent_is_split_before_it_is_old() -> None:
    """The next box is begun when the last is 7 to 14 days old, not from one of 23 days."""
    boxes = [_culture("MW-1", "microworm", 8, 150, 180, 12)]
    brood = _brood("danios", "egg_scatterer", 60, 3, '["microworm"]')
    outlook = _outlook(brood, *boxes, celsius=24)
    plan = outlook.feeding.worms["microworm"]
    ages = [
        (split.culture.started - stage.culture.started).days
        for split in plan.splits
        for stage in plan.stages
        if stage.culture.name == split.parent
    ]
    assert len(ages) >= 2
    assert all(6 <= age <= 14 for age in ages)


def test_what_was_split_this_morning_is_not_split_again_tonight() -> None:
    """The record knows what a parent gave."""
    text = _ROOM.format(celsius=20) + "".join(
        [*_HUNGRY, _culture("GW-1", "grindal_worm", 70, 400, 300, 40)]
    )
    room = read_room(text, today=_TODAY)
    entries = [
        Entry(datetime(2027, 3, 1, 8, minute, tzinfo=room.timezone), "split", "GW-1", name, 40, "g")
        for minute, name in enumerate(("GW-2", "GW-3"))
    ]
    now = datetime(2027, 3, 2, 6, tzinfo=room.timezone)
    later = make_outlook(room_at(room, lines(*entries), now), now=now)
    splits = [t for t in build_tasks(later) if isinstance(t, Split)]
    assert all(t.subject != "GW-1" or t.at.date() >= date(2027, 3, 21) for t in splits)


def test_a_box_just_begun_makes_no_hatch_larger() -> None:
    broods = (_brood("angels", "substrate_spawner", 150, 25), _VESSEL)

    def grams(*more: str) -> list[float]:
        tasks = build_tasks(_outlook(*broods, *more))
        return [t.cysts_g for t in tasks if isinstance(t, SetHatch)][:10]

    assert grams() == grams(_culture("GW-1", "grindal_worm", 0, 400, 300, 15))
    assert grams() != grams(_culture("GW-1", "grindal_worm", 70, 400, 300, 15))


@pytest.mark.parametrize("litres", [0.5, 1.5])
def test_a_bottle_is_drawn_by_a_tenth_at_most(litres: float) -> None:
    """Of 1.5 L were to be taken 212 to 424 mL at one round; 10 mL are a draw."""
    bottle = _culture("VE-1", "vinegar_eel", 90, int(1000 * litres), 0, int(100 * litres))
    outlook = _outlook(_brood("gouramis", "bubble_nest", 500, 0), bottle, celsius=22)
    days: dict[date, float] = {}
    for task in build_tasks(outlook):
        if isinstance(task, HarvestWorms) and task.subject == "VE-1":
            assert task.draws is not None
            assert task.draws * 10 <= 100 * litres + 0.5
            days[task.at.date()] = days.get(task.at.date(), 0.0) + task.draws * 10
    assert 0 < max(days.values()) <= 150 * litres + 1
    tasks, lines_ = build_tasks(outlook), [x for row in outlook.lines for x in row]
    assert simulate(outlook.room, tasks, lines_).violations == []


def test_the_yield_of_a_bottle_keeps_the_same_limit() -> None:
    kind = _kind("vinegar_eel")
    setup = Setup(kind, medium_g=1500, surface_cm2=None, starter_mg=150)
    curve = daily_yield(setup, series=TemperatureSeries.constant(22), days=120)
    assert max(d.harvest_mg for d in curve.days) <= kind.values["portion_mg"] * 150 / 10 + 1e-9
    model = setup.model()
    assert model.harvestable(1e6, 2) == pytest.approx(0.075 * 1500 / 10 * kind.values["portion_mg"])


_EELS = (
    _brood("gouramis", "bubble_nest", 300, 0),
    _brood("danios", "egg_scatterer", 300, 5),
    _culture("VE-1", "vinegar_eel", 90, 1500, 0, 150),
    _VESSEL,
)


def _given(outlook: Outlook, brood: str, food: str, days: int) -> list[float]:
    end = outlook.now + timedelta(days)
    return [
        sum(x.given_j for x in row if (x.brood, x.food) == (brood, food))
        for feeding, row in zip(outlook.feedings, outlook.lines, strict=True)
        if feeding.at < end
    ]


def test_scarce_eels_go_to_those_who_can_eat_nothing_else() -> None:
    """Gouramis just swimming take no nauplii yet, danios of a week do."""
    outlook = _outlook(*_EELS, celsius=22)
    gouramis = _given(outlook, "gouramis", "vinegar_eel", 6)
    danios = _given(outlook, "danios", "vinegar_eel", 6)
    assert sum(danios) < 0.1 * sum(gouramis)
    assert min(gouramis) > 0


def test_amounts_move_smoothly_from_round_to_round_and_with_the_count() -> None:
    """It was 28, 0 and 49 mL in successive rounds; what share of its need a brood gets of a food
    moves by a fifth at most, also where the first nauplii come and who eats them leaves the worms.
    """
    outlook = _outlook(*_EELS, celsius=22)
    whole = [
        need.energy_j for row in outlook.needs for need in row if need.brood.name == "gouramis"
    ]
    for food in ("vinegar_eel", "brine_shrimp"):
        given = _given(outlook, "gouramis", food, 14)
        shares = [part / need for part, need in zip(given, whole, strict=False)]
        assert all(abs(after - before) <= 0.2 for before, after in pairwise(shares))
    fewer = _outlook(*(p.replace("count = 300", "count = 294") for p in _EELS), celsius=22)
    for one, other, need in zip(_given(outlook, "gouramis", "vinegar_eel", 14),
                                _given(fewer, "gouramis", "vinegar_eel", 14), whole,
                                strict=False):  # fmt: skip
        assert abs(one - other) <= 0.06 * need


def test_a_shortage_is_rationed_over_the_days_before_it() -> None:
    """A box that two rounds of full meals would empty is eaten over the days to come: at full meals
    the third round would get a quarter, and all from the fourth on less than a tenth.
    """
    box = _culture("GW-1", "grindal_worm", 70, 400, 300, 15)
    brood = _brood("angels", "substrate_spawner", 200, 25, '["grindal_worm"]')
    given = _given(_outlook(brood, box), "angels", "grindal_worm", 5)
    assert min(given) >= 0.5 * max(given)


# --- the price, against arithmetic by hand


def test_the_price_is_that_at_which_as_much_is_asked_as_there_is() -> None:
    wants = [want_of(100.0, 1.0), want_of(50.0, 0.05)]
    assert price_for(wants, 150) == 0
    # 100 (1 - p) + 50 (1 - 0.05 p) = 99 at p = 51 / 102.5.
    assert price_for(wants, 99) == pytest.approx(51 / 102.5)
    # At 1 and more the first asks for nothing: 50 (1 - 0.05 p) = 40 at p = 4.
    assert price_for(wants, 40) == pytest.approx(4)
    assert shares_of(wants, 40) == pytest.approx([0, 40])
    assert shares_of(wants, 300) == pytest.approx([200, 100])
    assert asked_at(wants, 4) == pytest.approx(40)


def test_no_other_division_does_less_harm() -> None:
    """Against all divisions in steps of one; harm as it is defined at the head of the module."""
    wants = [want_of(30.0, 0.9), want_of(20.0, 0.3), want_of(25.0, 0.05)]

    def harm(parts: tuple[float, ...]) -> float:
        return sum(
            (most - part) ** 2 / (2 * slope)
            for (most, _, slope), part in zip(wants, parts, strict=True)
        )

    for given in (0, 10, 33, 60, 75):
        tried = [
            harm((a, b, given - a - b))
            for a in range(31)
            for b in range(21)
            if 0 <= given - a - b <= 25
        ]
        ours = harm(tuple(shares_of(wants, given)))
        assert ours <= min(tried) + 1e-9
        assert ours == pytest.approx(harm_of(wants, given))
