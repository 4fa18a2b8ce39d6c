"""The foods of a round in few doses: the same of each food and for each brood, in fewer."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import BroodNeed
from cultures.planning.few_doses import in_few_doses
from cultures.planning.outlook import make_outlook
from cultures.planning.servings import SHORT_SHARE, Serving, Suits
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.told import FeedLine
from cultures.words.tasks import by_tank

_BROODS = {  # by their length [mm]: all of a class, so the shorter has the smaller mouth
    "short": 5.0, "middle": 6.0, "long": 7.0,
}  # fmt: skip
_TEXT = """
[room]
timezone = "UTC"
as_of = 2027-03-01
temperature_c = 24
rounds = ["07:30", "18:30"]
""" + "".join(
    f"""
[[tank]]
name = "T-{name}"
litres = 40
temperature_c = 26
[[brood]]
name = "{name}"
tank = "T-{name}"
class = "substrate_spawner"
count = 60
length_mm = {mm}
measured_on = 2027-03-01
"""
    for name, mm in _BROODS.items()
)
_CULTURES = """
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-10
medium_g = 150
surface_cm2 = 180
starter_g = 10
[[culture]]
name = "BW-1"
kind = "banana_worm"
started = 2027-02-10
medium_g = 150
surface_cm2 = 180
starter_g = 10
[[vessel]]
name = "cone"
litres = 2
temperature_c = 27
[cysts]
grams = 60
"""
_NOW = datetime.fromisoformat("2027-03-01T06:00:00+00:00")


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT + _CULTURES, today=date(2027, 3, 1))


def _row(room: Room, given: dict[str, dict[str, float]]) -> list[Serving]:
    """Servings that may get any amount of each food, and get what they need."""
    row = []
    for brood in room.broods:
        mine = given[brood.name]
        need = BroodNeed(brood, _NOW, _BROODS[brood.name], 60, sum(mine.values()), mine)
        row.append(
            Serving(need, dict.fromkeys(("banana_worm", "microworm", BRINE_SHRIMP, DRY), 1e3), mine)
        )
    return row


def _dosed(
    room: Room, given: dict[str, dict[str, float]], variety: int = 1
) -> dict[str, dict[str, float]]:
    found = in_few_doses(_row(room, given), Suits(room), variety)
    return {s.need.brood.name: {f: j for f, j in s.given_j.items() if j} for s in found}


def test_the_smaller_food_goes_to_the_smaller_mouths(room: Room) -> None:
    """90 J of banana worms and 90 of microworms, and nauplii for all: short has 60 of the first,
    long 60 of the second, and the rest is middle's; nine doses become seven.
    """
    given = {name: {"banana_worm": 30.0, "microworm": 30.0, BRINE_SHRIMP: 40.0} for name in _BROODS}
    assert _dosed(room, given) == {
        "short": {"banana_worm": pytest.approx(60.0), BRINE_SHRIMP: 40.0},
        "middle": given["middle"],
        "long": {"microworm": pytest.approx(60.0), BRINE_SHRIMP: 40.0},
    }


@pytest.mark.parametrize("dry_j", [0.0, 1.0, 90.0])
def test_a_brood_keeps_two_live_foods(room: Room, dry_j: float) -> None:
    """Where one fails it has the other; dry food is none of them."""
    given = {
        name: {"microworm": 70.0, "banana_worm": 30.0} | ({DRY: dry_j} if dry_j else {})
        for name in _BROODS
    }
    assert _dosed(room, given) == given


def test_a_brood_keeps_as_many_foods_as_the_room_asks_for(room: Room) -> None:
    given = {name: {"banana_worm": 30.0, "microworm": 30.0, BRINE_SHRIMP: 40.0} for name in _BROODS}
    assert _dosed(room, given, variety=2) == _dosed(room, given) != given
    assert _dosed(room, given, variety=3) == given


def test_nothing_moves_where_no_dose_is_saved(room: Room) -> None:
    given = {"short": {"microworm": 100.0}, "middle": {"banana_worm": 100.0},
             "long": {"microworm": 40.0, DRY: 60.0}}  # fmt: skip
    assert _dosed(room, given) == given


def test_no_mouth_gets_more_of_a_food_than_it_takes(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Short takes 60 J of banana worms at most, so it keeps microworms beside them."""
    each = {"microworm": 50.0, "banana_worm": 50.0, BRINE_SHRIMP: 100.0}
    row = _row(room, {name: {**each} for name in _BROODS})
    suits = Suits(room)
    most_j = {"short": 60.0}
    monkeypatch.setattr(suits, "most_j", lambda s, _: most_j.get(s.need.brood.name, 100.0))
    short, middle, long = in_few_doses(row, suits)
    assert short.given_j == {"banana_worm": 60.0, "microworm": 40.0, BRINE_SHRIMP: 100.0}
    assert [sum(s.given_j.values()) for s in (middle, long)] == [200.0, 200.0]
    assert sum(s.given_j["banana_worm"] for s in (short, middle, long)) == pytest.approx(150.0)


@pytest.mark.parametrize(("trifle", "doses"), [(2.9, 1), (3.1, 2)])
def test_a_trifle_goes_to_others_while_nobody_is_short(
    room: Room, trifle: float, doses: int
) -> None:
    """Less than 3 % missing is not called short: of 100 J three may go."""
    given = {"short": {"microworm": 100.0 - trifle, "banana_worm": trifle},
             "middle": {"banana_worm": 100.0}, "long": {"banana_worm": 100.0}}  # fmt: skip
    dosed = _dosed(room, given)
    assert len(dosed["short"]) == doses
    assert sum(map(len, dosed.values())) == 2 + doses
    assert sum(dosed["short"].values()) >= (1.0 - SHORT_SHARE) * 100.0


def test_rounds_of_a_room_have_the_same_food_in_fewer_doses(room: Room) -> None:
    outlook = make_outlook(room, now=_NOW)
    before = after = 0
    for row in outlook.feeding.servings:
        dosed = [s.dosed_j for s in row]
        for food in {food for s in row for food in s.given_j}:
            shared = sum(s.given_j.get(food, 0.0) for s in row)
            assert sum(j.get(food, 0.0) for j in dosed) == pytest.approx(shared)
        for serving, given_j in zip(row, dosed, strict=True):
            missing = serving.missing_j()
            assert serving.need.energy_j - sum(given_j.values()) <= max(
                missing + 1e-6, SHORT_SHARE * serving.need.energy_j
            )
        before += sum(j > 0 for s in row for j in s.given_j.values())
        after += sum(j > 0 for given_j in dosed for j in given_j.values())
    assert after < 0.95 * before


# --- two broods in a tank


def _line(tank: str, brood: str, food: str, amount: float, wet_ml: float | None = None) -> FeedLine:
    unit = "g" if food == DRY else "mL"
    return FeedLine(_NOW, tank, brood, food, 2.0, 1.0, amount, unit, wet_ml)


def test_two_broods_of_a_tank_have_one_line_of_each_food() -> None:
    lines = [
        _line("A", "old", "microworm", 12.0), _line("A", "new", "microworm", 8.5),
        _line("A", "new", DRY, 0.01, wet_ml=1.0), _line("B", "lone", "microworm", 3.0),
    ]  # fmt: skip
    assert by_tank(lines) == [
        FeedLine(_NOW, "A", "old and new", "microworm", 4.0, 2.0, 20.5, "mL"),
        FeedLine(_NOW, "A", "old and new", DRY, 2.0, 1.0, 0.01, "g", 1.0),
        lines[3],
    ]
    assert by_tank(lines[2:]) == lines[2:]
