"""A plan in a changed room of which some foods are shared anew, and all others held as they are."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.journal.absences import Away
from cultures.planning.asking import with_help
from cultures.planning.feeding_plan import reshare
from cultures.planning.gaps import ANY, Gap
from cultures.planning.matching import FeedingPlan
from cultures.planning.outlook import Outlook, make_outlook
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.cli.invented import TODAY


@pytest.fixture(scope="module")
def outlook() -> Outlook:
    """The demo room with a tin that ends, and nobody there on one day."""
    room = read_room(demo_text(TODAY), today=TODAY)
    assert room.cysts is not None
    room = evolve(
        room, cysts=evolve(room.cysts, grams=6.0), horizon_days=10,
        away=(Away(date(2027, 1, 9), date(2027, 1, 9)),),
    )  # fmt: skip
    return make_outlook(room, now=datetime(2027, 1, 5, 6, tzinfo=room.timezone))


def _given(plan: FeedingPlan, *but: str) -> list[list[dict[str, float]]]:
    """What each serving gets [J], of all foods but some."""
    return [
        [{food: j for food, j in s.given_j.items() if food not in but} for s in row]
        for row in plan.servings
    ]


def _missing_j(plan: FeedingPlan, outlook: Outlook) -> float:
    rounds = zip(plan.servings, outlook.needs, strict=True)
    return sum(
        sum(s.missing_j() for s in row) if row else sum(n.energy_j for n in needs)
        for row, needs in rounds
    )


def _reshared(outlook: Outlook, room: Room, *foods: str) -> FeedingPlan:
    return reshare(outlook.feeding, outlook.room, room, outlook.feedings, start=outlook.now,
                   needs=outlook.needs, foods=foods)  # fmt: skip


def test_where_nothing_is_shared_anew_nothing_changes(outlook: Outlook) -> None:
    before = _given(outlook.feeding)
    found = _reshared(outlook, outlook.room)
    assert _given(found, DRY) == _given(outlook.feeding, DRY)
    for row, was in zip(found.servings, outlook.feeding.servings, strict=True):
        for serving, old in zip(row, was, strict=True):
            assert serving.given_j.get(DRY, 0.0) == pytest.approx(old.given_j.get(DRY, 0.0))
            assert serving is not old
    assert _given(outlook.feeding) == before  # which is left as it was


def test_a_fuller_tin_gives_more_nauplii_and_takes_no_worm_elsewhere(outlook: Outlook) -> None:
    assert outlook.room.cysts is not None
    room = evolve(outlook.room, cysts=evolve(outlook.room.cysts, grams=500.0))
    found = _reshared(outlook, room, BRINE_SHRIMP)
    assert _given(found, BRINE_SHRIMP, DRY) == _given(outlook.feeding, BRINE_SHRIMP, DRY)
    assert _missing_j(found, outlook) < _missing_j(outlook.feeding, outlook)
    fed = [sum(s.given_j.get(BRINE_SHRIMP, 0.0) for s in row) for row in found.servings]
    for given_j, there_j in zip(fed, found.hatches.given_j, strict=True):
        assert given_j <= there_j + 1e-6
    assert sum(fed) > sum(outlook.feeding.hatches.given_j)


def test_who_feeds_now_gives_of_all_foods(outlook: Outlook) -> None:
    away = [r.index for r in outlook.feedings if not r.fed]
    assert away
    gaps = [Gap(outlook.feedings[i], outlook.needs[i][0], ANY, 1.0) for i in away]
    helped = with_help(outlook, gaps)
    assert helped is not None
    room, rounds = helped
    found = reshare(outlook.feeding, outlook.room, room, rounds, start=outlook.now,
                    needs=outlook.needs, foods=(*outlook.feeding.worms, BRINE_SHRIMP))  # fmt: skip
    assert all(not outlook.feeding.servings[i] and found.servings[i] for i in away)
    foods = {food for i in away for s in found.servings[i] for food, j in s.given_j.items() if j}
    assert len(foods) > 1
    for name, worms in found.worms.items():  # and no more than the cultures give
        for index in away:
            given_j = sum(s.given_j.get(name, 0.0) for s in found.servings[index])
            assert given_j <= worms.given_j(index) + 1e-6
