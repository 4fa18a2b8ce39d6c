"""Nauplii that are kept back for a round that goes short, by hand and in a room."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import pytest
from attrs import evolve

from cultures.foods.holding import Holding
from cultures.foods.vessels import Vessel
from cultures.needs.need import Round
from cultures.planning import harvests
from cultures.planning.harvests import Batch, HatchPlan, feed, in_turn
from cultures.planning.kept_back import kept_back
from cultures.planning.lots import LotProblem
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.prices import Want, asked_at, want_of
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.moments import hours

_START = datetime(2027, 1, 5, 8, tzinfo=UTC)
_FEEDINGS = [
    Round(i, at, hours(at), 2, fed=True, keeper=True)
    for i, at in enumerate(_START + timedelta(hours=12 * i) for i in range(4))
]
#: Who eats dry food too, and who has nothing else.
_ABLE, _NEEDY = 1.0, 0.05


def _held(*harvests_j: float) -> HatchPlan:
    """Harvests at the first rounds, fed in full as they come."""
    batches = [
        Batch(Vessel("one", 1.0, 27.0, 25.0), i, at.at_h - 24, at.at_h, 1.0, 1e5, energy_j)
        for i, (at, energy_j) in enumerate(zip(_FEEDINGS, harvests_j, strict=False))
    ]
    problem = LotProblem((100.0,) * 4, (1.0,) * 3, (0, 0, 1, 2), (), 1.0, 1.0, (1.0,) * 4)
    return HatchPlan(batches, [], [], [], [], problem, (), [0.0] * 4, soon=4)


def _kept(harvests_j: tuple[float, ...], wants: list[list[Want]], since: int = 0) -> HatchPlan:
    holding = _room().holding
    asked_j = [asked_at(row, 0.0) for row in wants]
    plan = _held(*harvests_j)
    feed(plan, _FEEDINGS, asked_j, holding)
    return kept_back(plan, _FEEDINGS, wants, holding, since)


def test_who_has_another_food_leaves_it_to_who_has_none_at_the_next_round() -> None:
    """130 J for 80 + 20 and then 80: fed as they come, the second round would get 30 of its 80."""
    wants = [[want_of(80.0, _ABLE), want_of(20.0, _NEEDY)], [want_of(80.0, _NEEDY)], [], []]
    found = _kept((130.0,), wants)
    assert found.given_j[1] > 70.0
    assert 20.0 < found.given_j[0] < 60.0
    assert found.problem.demand[0] == found.given_j[0]  # what is decided stays so


def test_nothing_is_asked_of_hatches_where_what_is_held_brings_all_of_what_is_left() -> None:
    wants = [[want_of(80.0, _ABLE), want_of(20.0, _NEEDY)], [want_of(80.0, _NEEDY)], [], []]
    holding, plan = _room().holding, _held(130.0)
    plan.held_j = [90.0, 0.0, 0.0, 0.0]
    feed(plan, _FEEDINGS, [100.0, 80.0, 0.0, 0.0], holding)
    found = kept_back(plan, _FEEDINGS, wants, holding, 0)
    assert found.given_j[0] < 60.0
    assert found.problem.demand[0] == 0.0


def test_nothing_is_kept_where_nobody_goes_short_or_nothing_would_come_of_it() -> None:
    plenty = _kept((200.0,), [[want_of(80.0, _ABLE)], [want_of(80.0, _NEEDY)], [], []])
    assert plenty.given_j[0] == 80.0
    # The third round is more than two days after the only harvest.
    late = _FEEDINGS[3].at_h + 48.0
    feedings = [*_FEEDINGS[:3], evolve(_FEEDINGS[3], at_h=late)]
    holding = _room().holding
    plan = _held(80.0)
    feed(plan, feedings, [80.0, 0.0, 0.0, 80.0], holding)
    wants = [[want_of(80.0, _ABLE)], [], [], [want_of(80.0, _NEEDY)]]
    assert kept_back(plan, feedings, wants, holding, 0).given_j == plan.given_j
    # What is decided is not decided again.
    fixed = _kept((130.0,), [[want_of(100.0, _ABLE)], [want_of(80.0, _NEEDY)], [], []], since=1)
    assert fixed.given_j[0] == 100.0


def test_which_harvests_a_round_is_fed_of_is_looked_up_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """For all prices that are tried, and once more beside what is used up before them."""
    asked: list[int] = []

    def counted(batches: Sequence[Batch], feeding: Round, holding: Holding) -> list[int]:
        asked.append(feeding.index)
        return in_turn(batches, feeding, holding)

    monkeypatch.setattr(harvests, "in_turn", counted)
    found = _kept((120.0, 0.0, 120.0), [[want_of(80.0, _NEEDY)]] * 4)
    assert found.given_j == pytest.approx([60.0] * 4, abs=4.0)
    assert sorted(asked) == sorted([0, 1, 2, 3] * 2)


def test_equal_rounds_of_a_full_bottle_are_fed_alike() -> None:
    """A harvest of 120 J for two rounds of 80: not 80 and 40, but near to 60 each."""
    wants = [[want_of(80.0, _NEEDY)]] * 4
    found = _kept((120.0, 0.0, 120.0), wants)
    assert found.given_j == pytest.approx([60.0] * 4, abs=4.0)


_ROOM = """
[room]
name = "attic"
timezone = "UTC"
as_of = 2027-01-05
temperature_c = 24
rounds = ["08:00", "20:00"]
awake = ["07:00", "22:00"]
fridge_c = 4
[[tank]]
name = "A"
litres = 100
temperature_c = 25
[[tank]]
name = "B"
litres = 100
temperature_c = 25
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 25
[cysts]
grams = 1000
[[brood]]
name = "big"
tank = "A"
class = "substrate_spawner"
count = 700
free_swimming = 2026-12-05
foods = ["brine_shrimp", "dry"]
[[brood]]
name = "small"
tank = "B"
class = "substrate_spawner"
count = 900
free_swimming = 2026-12-31
foods = ["brine_shrimp"]
"""


def _room() -> Room:
    return read_room(_ROOM, name="room.toml", today=date(2027, 1, 5))


def _outlook() -> Outlook:
    return make_outlook(_room(), now=datetime(2027, 1, 5, 7, tzinfo=UTC), days=7)


def test_what_is_wanted_of_rounds_that_are_decided_stays_to_be_bought() -> None:
    wants = [[want_of(100.0, _NEEDY)]] * 4
    found = _kept((60.0, 0.0, 130.0), wants, since=2)
    assert found.problem.demand[:2] == (100.0, 100.0)
    assert found.given_j[:2] == [60.0, 0.0]
    assert found.given_j[2:] == pytest.approx([65.0, 65.0], abs=4.0)


def test_nothing_is_kept_back_for_what_comes_after_the_end_of_the_tin() -> None:
    wants = [[want_of(80.0, _NEEDY)]] * 4
    plan = _held(120.0)
    feed(plan, _FEEDINGS, [80.0] * 4, _room().holding)
    plan.soon = 1
    assert kept_back(plan, _FEEDINGS, wants, _room().holding, 0) is plan


def test_big_fish_do_not_eat_what_small_fry_lack_hours_later() -> None:
    """One bottle, full each time: from the first hatch on the small fry, who have nothing else, get
    nearly all that they want while the big ones still get some at other rounds.
    """
    shares: dict[str, list[float]] = {"big": [], "small": []}
    for row in _outlook().feeding.servings[3:12]:
        for serving in row:
            share = serving.given_j.get("brine_shrimp", 0.0) / serving.want_j["brine_shrimp"]
            shares[serving.need.brood.name].append(share)
    assert sum(shares["small"]) > 2.0 * sum(shares["big"])
    assert min(shares["small"]) > 0.8, shares
