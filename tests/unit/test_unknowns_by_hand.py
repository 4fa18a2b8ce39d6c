"""What is not known of a room, worked out by hand from docs/models.md, section "Ranges"."""

from __future__ import annotations

import math
import random
from datetime import UTC, date, datetime, timedelta
from statistics import NormalDist
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.parameters import Parameter
from cultures.fry.feeding import feeding_parameters
from cultures.needs.need import Round, room_needs
from cultures.planning import unknowns
from cultures.planning.harvests import Batch
from cultures.planning.unknowns import (
    _NODES,
    Guess,
    Hatches,
    Law,
    Needs,
    _at,
    _counted,
    _log_over,
    drawn,
    efforts,
    law_of,
    laws_of,
    need_laws,
    need_ranges,
)
from cultures.replay.own_values import grown
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import HowSure, Room
from cultures.words.moments import hours

_TODAY = date(2027, 1, 5)
_TEXT = """
[room]
timezone = "UTC"
temperature_c = 23
rounds = ["07:30", "19:30"]
as_of = 2027-01-05
[[tank]]
name = "A"
litres = 40
temperature_c = 26
[[brood]]
name = "one"
tank = "A"
class = "egg_scatterer"
count = 100
length_mm = 6
measured_on = 2027-01-03
[[vessel]]
name = "V1"
litres = 1
temperature_c = 27
[cysts]
grams = 30
"""
_TENTH = NormalDist().inv_cdf(0.9)
_TIME = ("hatch_time", BRINE_SHRIMP)
_LEVEL = ("nauplii_per_gram", BRINE_SHRIMP)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _parameter(value: float, low: float, high: float) -> Parameter:
    return Parameter(value, low, high, "g", (), "practice", "")


# --- laws


def test_half_lie_on_either_side_and_a_tenth_beyond_each_end() -> None:
    law = law_of(_parameter(10.0, 5.0, 40.0))
    assert (law.low, law.high) == (0.5, 4.0)
    assert math.exp(law.log(_TENTH)) == pytest.approx(4.0)
    assert math.exp(law.log(-_TENTH)) == pytest.approx(0.5)
    assert math.exp(law.log(2 * _TENTH)) == pytest.approx(16.0)
    assert math.exp(law.log(_TENTH / 2)) == pytest.approx(2.0)
    assert law.log(0.0) == 0.0
    # From the lower to the upper end, twofold and fourfold, are two times 1.28 s.d.
    assert law.sd == pytest.approx(math.log(8.0) / (2 * _TENTH))


def test_what_has_no_range_is_taken_as_known() -> None:
    assert law_of(_parameter(3.0, 3.0, 3.0)) == Law(1.0, 1.0)
    assert law_of(_parameter(0.0, 0.0, 2.0)) == Law(1.0, 1.0)
    assert law_of(_parameter(0.5, 0.25, 0.5)) == Law(0.5, 1.0)
    assert law_of(_parameter(0.5, 0.5, 1.0)) == Law(1.0, 2.0)


def test_a_range_from_nothing_on_is_taken_as_a_tenth() -> None:
    """A relative s.d. of 0.1, of the logarithm, to either side."""
    law = law_of(_parameter(2.0, 0.0, 5.0))
    assert law.sd == pytest.approx(0.1)
    assert math.log(law.high) == pytest.approx(0.1 * _TENTH)
    assert law.low == pytest.approx(1 / law.high)
    assert law_of(_parameter(2.0, 0.001, 5.0)).low == pytest.approx(0.0005)


def _bare(room: Room, *kinds: str) -> Any:
    plans = {name: SimpleNamespace(kind=room.kinds[name]) for name in kinds}
    return SimpleNamespace(room=room, feeding=SimpleNamespace(worms=plans))


def test_what_is_not_known_is_listed_with_the_law_of_its_data(room: Room) -> None:
    spoons = evolve(room, tools=evolve(room.tools, scale_g=None))
    laws = laws_of(_bare(spoons, "microworm"))
    worm, shrimp = room.kinds["microworm"].parameters, room.hatch_kind.parameters
    fry, effort = room.broods[0].fry_class.parameters, efforts()
    data = {
        ("yield", "microworm"): worm["capacity_mg_per_cm2"],
        ("swipe", "microworm"): worm["portion_mg"],
        _LEVEL: shrimp["nauplii_per_gram"], _TIME: shrimp["t10_h"],
        ("spoon", ""): shrimp["bulk_density_g_per_ml"], ("tin", ""): effort["tin_share"],
        ("ration", ""): feeding_parameters()["ration_at_1mg"],
        ("growth", "one"): fry["growth_rate_per_day"], ("survival", "one"): fry["survival_per_day"],
        ("count", "one"): effort["counted_share"],
    }  # fmt: skip
    assert set(laws) == set(data)
    for key, parameter in data.items():
        low, high = parameter.low / parameter.value, parameter.high / parameter.value
        assert (laws[key].low, laws[key].high) == pytest.approx((low, high)), key
    scale = evolve(room, tools=evolve(room.tools, scale_g=0.1))
    assert set(laws) - set(laws_of(_bare(scale, "microworm"))) == {("spoon", "")}


def test_the_keepers_own_law_takes_the_place_of_the_data(room: Room) -> None:
    own = {_LEVEL: (0.9, 1.2), ("count", "one"): (0.8, 1.3), ("ration", "x"): (0.1, 9.0)}
    laws = laws_of(_bare(evolve(room, sure=HowSure(own))))
    assert (laws[_LEVEL], laws["count", "one"]) == (Law(0.9, 1.2), Law(0.8, 1.3))
    assert laws["ration", ""] == law_of(feeding_parameters()["ration_at_1mg"])


def test_fry_that_were_counted_before_they_ate_are_guessed(room: Room) -> None:
    """Measured on 3 January, and so taken to eat from then on."""
    effort = efforts()
    for day, said in ((2, "guessed_share"), (3, "counted_share"), (4, "counted_share")):
        brood = evolve(room.broods[0], counted_on=date(2027, 1, day))
        laws = need_laws(evolve(room, broods=(brood,)))
        assert laws["count", "one"] == law_of(effort[said]), day


# --- draws


def test_each_number_is_drawn_on_its_own_from_a_normal_law() -> None:
    laws = {("a", ""): Law(0.5, 2.0), ("b", ""): Law(1.0, 3.0)}
    rng = random.Random(1)
    guesses = [drawn(laws, rng) for _ in range(2000)]
    for key, law in laws.items():
        sds = [g.sds[key] for g in guesses]
        assert sum(sds) / 2000 == pytest.approx(0.0, abs=4 / math.sqrt(2000))
        assert sum(x * x for x in sds) / 2000 == pytest.approx(1.0, abs=4 * math.sqrt(2 / 2000))
        assert all(g.logs[key] == law.log(g.sds[key]) for g in guesses)
    both = sum(g.sds["a", ""] * g.sds["b", ""] for g in guesses) / 2000
    assert both == pytest.approx(0.0, abs=4 / math.sqrt(2000))


def test_one_number_is_moved_and_no_other() -> None:
    laws = {("a", ""): Law(0.5, 2.0), ("b", ""): Law(0.1, 3.0)}
    guess = Guess({("a", ""): 0.3, ("b", ""): 0.4}, {("a", ""): 7.0, ("b", ""): 8.0})
    moved = guess.moved(laws, ("b", ""), -_TENTH)
    assert moved.sds == {("a", ""): 0.3, ("b", ""): -_TENTH}
    assert moved.logs == {("a", ""): 7.0, ("b", ""): pytest.approx(math.log(0.1))}


# --- hatches


def test_a_row_is_read_between_its_nodes() -> None:
    """Nodes from -3.5 to 3.5, a quarter apart: the squares of them, and no farther out."""
    squares = [node * node for node in _NODES]
    assert (_NODES[0], _NODES[-1], len(_NODES)) == (-3.5, 3.5, 29)
    for node in (-3.5, -1.25, 0.0, 0.25, 3.25, 3.5):
        assert _at(squares, node) == pytest.approx(node * node)
    # A third of the way from 1 to 1.5625, and from 12.25 to 10.5625.
    assert _at(squares, 1.0 + 0.25 / 3) == pytest.approx(1.0 + 0.5625 / 3)
    assert _at(squares, -3.5 + 0.25 / 3) == pytest.approx(12.25 - 1.6875 / 3)
    assert _at(squares, 3.5 - 0.25 / 3) == pytest.approx(12.25 - 1.6875 / 3)
    assert _at(squares, 9.0) == _at(squares, -9.0) == pytest.approx(12.25)


def _guess(sds: float, level: float = 0.0, tin: float = 0.0, spoon: float | None = None) -> Guess:
    logs = {_TIME: 0.0, _LEVEL: level, ("tin", ""): tin}
    if spoon is not None:
        logs["spoon", ""] = spoon
    return Guess({_TIME: sds}, logs)


def test_a_batch_gives_by_its_level_its_spoon_and_its_time() -> None:
    """A row that is twice the node: at 0.5 s.d. it is 1; the counts read 0.2 more there."""
    row, seen = [2 * node for node in _NODES], [0.4 * node for node in _NODES]
    hatches = Hatches([row, [0.0] * 29], seen, [(0, 4.0)], 100.0, [False, True])
    assert hatches.level(_guess(0.5, level=0.7)) == pytest.approx(0.7 - 0.2)
    found = hatches.factors(_guess(0.5, level=0.7, spoon=0.3))
    assert found == [pytest.approx(math.exp(0.7 - 0.2 + 0.3 + 1.0)), 1.0]
    assert hatches.factors(_guess(0.5, level=0.7))[0] == pytest.approx(math.exp(0.7 - 0.2 + 1.0))


def test_a_tin_with_less_in_it_is_used_up_in_the_order_of_setting() -> None:
    """Of 10 g, 4, 4 and 4 g are set: of half of them the second gets one and the third nothing."""
    flat = [0.0] * 29
    hatches = Hatches([flat] * 4, flat, [(2, 4.0), (0, 4.0), (1, 4.0)], 10.0, [False] * 4)
    assert hatches.factors(_guess(0.0)) == pytest.approx([1.0, 0.5, 1.0, 1.0])
    half = hatches.factors(_guess(0.0, tin=math.log(0.5)))
    assert half == pytest.approx([0.25, 0.0, 1.0, 1.0])
    # By a spoon that holds half as much again: 6 g, then 4 of 6 g, and nothing for the third.
    heavy = hatches.factors(_guess(0.0, spoon=math.log(1.5)))
    assert heavy == pytest.approx([1.5 * 4 / 6, 0.0, 1.5, 1.5])
    # 4 g, and 4 g more by the third that is set: what a packet holds is known, the tin is not.
    comes = Hatches([flat] * 3, flat, [(2, 4.0), (0, 4.0), (1, 4.0)], 4.0, [False] * 3, [(2, 4.0)])
    assert comes.factors(_guess(0.0)) == pytest.approx([0.0, 1.0, 1.0])
    assert comes.factors(_guess(0.0, tin=math.log(0.5))) == pytest.approx([0.0, 1.0, 0.5])
    none = Hatches([flat], flat, [(0, 0.0)], 10.0, [False])
    assert none.factors(_guess(0.0)) == [1.0]
    little = Hatches([flat], flat, [(0, 0.5)], 0.25, [False])
    assert little.factors(_guess(0.0)) == pytest.approx([0.5])


def _batch(room: Room, set_h: float, cysts_g: float, **more: Any) -> Batch:
    return Batch(room.vessels[0], 0, set_h, set_h + 24.0, cysts_g, 1.0, 1.0, **more)


def test_what_a_plan_sets_is_told_in_the_order_of_setting(room: Room) -> None:
    batches = [
        _batch(room, 30.0, 3.0), _batch(room, 10.0, 1.0),
        _batch(room, 0.0, 5.0, standing=True), _batch(room, 0.0, 6.0, standing=True, held=True),
        _batch(room, 20.0, 2.0),
    ]  # fmt: skip
    law = Law(1 / 1.5, 1.5)

    def of(place: Room) -> Hatches:
        feeding = SimpleNamespace(hatches=SimpleNamespace(batches=batches))
        outlook: Any = SimpleNamespace(room=place, feeding=feeding)
        return Hatches.of(outlook, law)

    found = of(room)
    assert found.planned_g == [(1, 1.0), (4, 2.0), (0, 3.0)]
    assert (found.tin_g, found.fixed) == (30.0, [False, False, False, True, False])
    assert of(evolve(room, cysts=None)).tin_g == math.inf
    assert list(found.seen) == [0.0] * 29
    assert list(found.by_time[3]) == [0.0] * 29
    # T50 later by the law: 1.25 s.d. of a law whose tenth is 1.5 times as late.
    model = vessel_model(room, room.vessels[0])
    for node in (-2.0, 0.0, 1.25):
        late = evolve(model, t50_h=model.t50_h * 1.5 ** (node / _TENTH))
        expected = math.log(late.energy(24.0) / model.energy(24.0))
        assert found.by_time[0][_NODES.index(node)] == pytest.approx(expected, abs=1e-9)
    assert found.by_time[0] == found.by_time[2]


def test_a_hatch_that_has_not_begun_counts_as_a_billionth(room: Room) -> None:
    law = Law(1 / 9.0, 9.0)
    feeding = SimpleNamespace(hatches=SimpleNamespace(batches=[_batch(room, 0.0, 1.0)]))
    outlook: Any = SimpleNamespace(room=room, feeding=feeding)
    assert Hatches.of(outlook, law).by_time[0][-1] == pytest.approx(math.log(1e-9))


def test_counts_of_another_time_would_have_read_otherwise(room: Room) -> None:
    """Log-logistic, F = 1 / (1 + (T50 / t)^b): at T50 a half, at 1.2 and a third of it by hand."""
    model = room.hatch_kind.model(temperature_c=room.hatch_kind.values["t_ref_c"])
    sure = evolve(room, sure=HowSure(counted_h=model.t50_h))
    bare: Any = SimpleNamespace(room=sure)
    found = _counted(bare, [1.0, 1.2, 1 / 3])
    assert found == pytest.approx(
        [0.0] + [math.log(2 / (1 + factor**model.shape)) for factor in (1.2, 1 / 3)]
    )
    assert _counted(bare, [1e9]) == [pytest.approx(math.log(1e-9))]
    never: Any = SimpleNamespace(room=room)
    assert _counted(never, [1.0, 2.0]) == [0.0, 0.0]


# --- needs


def test_a_need_follows_appetite_number_survival_and_growth() -> None:
    """Four days since it was counted; two tenth-points fast, half of one, one slow."""
    needs = Needs({(3, "b"): (-0.2, 0.3)}, {(3, "b"): 4.0})
    logs = {("ration", ""): 0.5, ("count", "b"): -0.1, ("survival", "b"): 0.02}
    for sds, more in ((2 * _TENTH, 0.6), (_TENTH / 2, 0.15), (-_TENTH, -0.2), (0.0, 0.0)):
        guess = Guess({("growth", "b"): sds}, logs)
        assert needs.factor(3, "b", guess) == pytest.approx(math.exp(0.5 - 0.1 + 0.08 + more))


def _rounds(*days: int) -> list[Round]:
    times = [datetime(2027, 1, day, 7, 30, tzinfo=UTC) for day in days]
    return [Round(i, at, hours(at), 2, fed=True, keeper=True) for i, at in enumerate(times)]


def test_a_need_is_worked_out_at_both_ends_of_its_growth(room: Room) -> None:
    """Counted on 6 January: a day before it, on it and three days after."""
    brood = evolve(room.broods[0], counted_on=date(2027, 1, 6))
    place, rounds = evolve(room, broods=(brood,)), _rounds(5, 6, 9)
    laws = {("growth", "one"): Law(0.8, 1.25)}
    known = room_needs(place, rounds)
    found = Needs.of(place, rounds, known, laws)
    assert found.days == {(0, "one"): 0.0, (1, "one"): 0.0, (2, "one"): 3.0}
    for index in range(3):
        over = []
        for factor in (0.8, 1.25):
            other = evolve(brood, fry_class=grown(brood.fry_class, factor))
            row = room_needs(evolve(place, broods=(other,)), rounds)[index]
            over.append(math.log(row[0].energy_j / known[index][0].energy_j))
        assert found.growth[index, "one"] == pytest.approx(tuple(over))
        assert over[0] < 0.0 < over[1]


def test_what_is_not_needed_has_no_ratio() -> None:
    assert _log_over(3.0, 1.5) == pytest.approx(math.log(2.0))
    assert (_log_over(0.0, 1.0), _log_over(1.0, 0.0), _log_over(0.0, 0.0)) == (0.0, 0.0, 0.0)
    assert _log_over(0.5, 0.25) == pytest.approx(math.log(2.0))


def test_eight_in_ten_of_a_need_that_hangs_on_one_number(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All known but how many there are, so that its own law is that of the need: of 400 draws a
    tenth-point is good to about 1.7 times its s.d. over the root of 400.
    """
    brood = room.broods[0]
    known = {("ration", ""): (1.0, 1.0), **dict.fromkeys(
        [(what, "one") for what in ("growth", "survival", "count")], (1.0, 1.0))}  # fmt: skip
    rounds = _rounds(5, 7)
    needs = room_needs(room, rounds)
    sure = evolve(room, sure=HowSure(known))
    assert need_ranges(sure, rounds, needs) == {(0, "one"): (1.0, 1.0), (1, "one"): (1.0, 1.0)}
    count: list[Guess] = []

    def counted(*args: Any) -> Guess:
        count.append(drawn(*args))
        return count[-1]

    monkeypatch.setattr(unknowns, "drawn", counted)
    one = evolve(room, sure=HowSure(known | {("count", "one"): (0.5, 2.0)}))
    for low, high in need_ranges(one, rounds, needs).values():
        error = 4 * 1.7 * math.log(2.0) / _TENTH / 20
        assert math.log(high) == pytest.approx(math.log(2.0), abs=error)
        assert math.log(low) == pytest.approx(-math.log(2.0), abs=error)
    assert len(count) == 400
    # Survival counts once a day since it was counted.
    days = [(r.at.date() - brood.counted_on) // timedelta(days=1) for r in rounds]
    alive = evolve(room, sure=HowSure(known | {("survival", "one"): (0.9, 1.1)}))
    widths = [math.log(high / low) for low, high in need_ranges(alive, rounds, needs).values()]
    assert widths[1] / widths[0] == pytest.approx(days[1] / days[0])
