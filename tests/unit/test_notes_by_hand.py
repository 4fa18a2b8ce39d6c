"""Remarks of a plan from bare figures: coarse doses, foods that stop, first food, water, names."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.screens.remarks import brief
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.fry.feeding import feeding_parameters
from cultures.journal.absences import Away
from cultures.needs import meals
from cultures.needs.meals import past_saving
from cultures.needs.need import BroodCourse, BroodNeed, Round
from cultures.planning import notes
from cultures.planning.lone_foods import lone_foods
from cultures.planning.notes import (
    _cause,
    _coarse,
    _first_food_away,
    _grown,
    _hatches,
    _in,
    _of_fry,
    _temperatures,
    _to_buy_words,
    _unconfirmed,
    _untried_cysts,
    _water,
    dying_cultures,
    stopped_foods,
    vessels_to_mind,
)
from cultures.planning.servings import Serving
from cultures.planning.supplies import Purchase
from cultures.planning.water import tank_loads, water_warnings
from cultures.room.file import read_room
from cultures.room.room import Brood, Cysts, Room
from cultures.tasks.plan import Supply
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _START, _rounds
from tests.unit.test_shortfall_limits import _TEXT

_TODAY = date(2027, 1, 5)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _line(brood: Brood, at: datetime, given_j: float, *, food: str = "worm", need_j: float = 100.0,
          amount: float = 1.0) -> FeedLine:  # fmt: skip
    return FeedLine(at=at, tank=brood.tank, brood=brood.name, food=food, need_j=need_j,
                    given_j=given_j, amount=amount, unit="mL")  # fmt: skip


# --- doses that come out coarse


def _off(
    room: Room, *given: tuple[int, int, float, float], stated: bool = True, amount: float = 1.0,
) -> list[str]:  # fmt: skip
    """(round, brood, planned, measured) of a need of 100 J, in a room that is at round 2."""
    rounds = _rounds(8)
    servings: list[list[Serving]] = [[] for _ in rounds]
    lines: list[list[FeedLine]] = [[] for _ in rounds]
    for index, number, planned_j, measured_j in given:
        brood, at = room.broods[number], rounds[index].at
        need = BroodNeed(brood, at, 6.0, 10, 100.0, {"worm": 100.0})
        servings[index].append(Serving(need, need.foods, dosed_j={"worm": planned_j}))
        lines[index].append(_line(brood, at, measured_j, amount=amount))
    outlook: Any = SimpleNamespace(
        room=evolve(room, tools=evolve(room.tools, stated=stated)), now=rounds[2].at,
        feeding=SimpleNamespace(servings=servings), lines=lines,
    )  # fmt: skip
    return list(_coarse(outlook))


def test_doses_that_are_off_by_more_than_a_tenth_of_a_need_are_named(room: Room) -> None:
    assert _off(room, (2, 0, 100.0, 90.0), (2, 1, 50.0, 60.0)) == []
    (down,) = _off(room, (2, 0, 100.0, 89.9))
    assert down.startswith("Doses are off by up to 10% of the need in A:")
    (up,) = _off(room, (2, 0, 50.0, 75.0), (2, 1, 100.0, 85.0), (3, 0, 50.0, 62.0))
    assert up.startswith("Doses are off by up to 25% of the need in A, B:")
    (one,) = _off(room, (2, 0, 100.0, 95.0), (2, 1, 100.0, 85.0), (3, 1, 100.0, 88.0))
    assert one.startswith("Doses are off by up to 15% of the need in B:")


def test_doses_are_looked_at_for_a_day_and_where_tools_are_named(room: Room) -> None:
    """Rounds 2 and 3 are within the day that begins with round 2; round 4 is a day later."""
    for index, said in ((1, 0), (2, 1), (3, 1), (4, 0)):
        assert len(_off(room, (index, 0, 100.0, 50.0))) == said, index
    assert _off(room, (2, 0, 100.0, 50.0), stated=False) == []
    assert _off(room, (2, 0, 100.0, 50.0), amount=0.0) == []  # nothing is measured
    # A dose of no amount beside one that is coarse.
    (text,) = _off(room, (1, 0, 100.0, 10.0), (2, 0, 100.0, 80.0), (4, 1, 100.0, 10.0))
    assert "20% of the need in A:" in text


# --- a tin that nobody counted


def _untried(
    room: Room, *batches: tuple[float, bool], own: float | None = None, tin_g: float = 30.0
) -> list[str]:
    """Of batches set so many hours from now, standing or not."""
    outlook: Any = SimpleNamespace(
        room=evolve(room, cysts=Cysts(tin_g, own)), now=_START,
        feeding=SimpleNamespace(hatches=SimpleNamespace(batches=[
            SimpleNamespace(set_h=hours(_START) + ahead_h, standing=standing)
            for ahead_h, standing in batches
        ])),
    )  # fmt: skip
    return list(_untried_cysts(outlook))


def test_a_tin_is_tried_while_the_vessels_are_free_for_two_days(room: Room) -> None:
    (text,) = _untried(room, (72.0, False), (48.0, False))
    assert text.startswith("Try the tin of cysts before Thu 7 Jan (livefood hatch")
    assert _untried(room, (72.0, False), (-10.0, True)) == []
    assert _untried(room) == []


def test_with_less_time_a_pinch_is_tried_beside_the_first_hatch(room: Room) -> None:
    """So it is where the tin came late, or the hatch on trial failed."""
    (text,) = _untried(room, (47.0, False), (72.0, False))
    assert text.startswith("Try a pinch of the tin of cysts in a warm, lit glass of salt water now")
    assert "the first hatch is set on Thu 7 Jan" in text
    assert _untried(room, (47.0, False), (-10.0, True)) == []


def test_a_tin_that_is_not_in_the_house_yet_is_not_tried(room: Room) -> None:
    for ahead_h in (47.0, 72.0):
        assert _untried(room, (ahead_h, False), tin_g=0.0) == []


def test_a_tin_that_was_counted_and_one_of_who_is_away_are_not_tried(room: Room) -> None:
    assert _untried(room, (72.0, False), own=150000.0) == []
    gone = evolve(room, away=(Away(_START.date(), _START.date()),))
    assert _untried(gone, (72.0, False)) == []


# --- foods that stop


class _Known:
    """Limits that are told: the tin from the third day on, else no ripe culture."""

    def __init__(self, room: Room, *_: Any) -> None:
        self.room = room

    def of_food(self, food: str, index: int) -> str:
        return "tin" if food == BRINE_SHRIMP and index >= 4 else "unripe"

    def words(self, limit: str, food: str, indices: Sequence[int]) -> str:
        return f"{limit} {food} {list(indices)}"


def _stops(
    room: Room, monkeypatch: pytest.MonkeyPatch, food: str, *shares: float,
    away: tuple[int, ...] = (), need_j: float = 100.0, stead: bool = True, given_j: float = 1.0,
    second: tuple[float, float] = (0.0, 1.0), fed_else: bool = False, **more: Any,
) -> list[str]:  # fmt: skip
    """What is said of a food that gives such a share of 100 J on each day from 5 January on.

    Args:
        second: what another brood needs and is given of it. fed_else: it gets another food.
    """
    monkeypatch.setattr(notes, "Limits", _Known)
    monkeypatch.setattr(notes, "cysts_to_buy", lambda _: None)
    rounds = _rounds(2 * len(shares), away=away)
    one, two = room.broods
    lines = [
        [
            _line(one, r.at, given_j, food=food),
            _line(two, r.at, second[1], food=food, need_j=second[0]),
            *([_line(one, r.at, 9.0, food="other")] if stead else []),
            *([_line(two, r.at, 9.0, food="other")] if fed_else else []),
        ]
        for r in rounds
    ]
    supply = [
        Supply(f"2027-01-{5 + n:02}", food, need_j, share * need_j)
        for n, share in enumerate(shares)
    ]
    outlook: Any = SimpleNamespace(
        room=evolve(room, **more), feedings=rounds, lines=lines, now=_START, feeding=None,
        supply=lambda: supply,
    )  # fmt: skip
    found = list(stopped_foods(outlook))
    assert {stop.food for stop in found} <= {food}
    return [stop.text for stop in found]


def test_a_food_stops_where_it_gives_less_than_a_quarter_for_two_days(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """5 January is a Tuesday."""
    (text,) = _stops(room, monkeypatch, "microworm", 1.0, 0.24, 0.0, 0.5)
    assert text == (
        "Hardly any microworms from Wed 6 Jan to Thu 7 Jan (unripe microworm [2, 3, 4, 5]); in A as"
        " far as the mouths allow they get other instead."
    )
    for shares in ((1.0, 0.25, 0.25, 1.0), (1.0, 0.0, 1.0, 0.0), (0.0,), (1.0, 1.0, 0.0)):
        assert _stops(room, monkeypatch, "microworm", *shares) == []
    (text,) = _stops(room, monkeypatch, "microworm", 1.0, 0.0, 0.0, 0.0)
    assert "from Wed 6 Jan on (" in text
    # From when to when it gives less than half, as the strip shows it, wherever the worst days are.
    for much, days in (("Few", (0.49, 0.1, 0.1, 0.49)), ("Hardly any", (0.26, 0.3, 0.2, 0.2))):
        (text,) = _stops(room, monkeypatch, "microworm", 1.0, *days, 0.5)
        assert text.startswith(f"{much} microworms from Wed 6 Jan to Sat 9 Jan (")
    # Again and again is said once.
    (text,) = _stops(room, monkeypatch, "microworm", 1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    assert "to Thu 7 Jan" in text


def test_a_food_that_is_not_ripe_at_the_beginning_is_not_there_yet(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    (text,) = _stops(room, monkeypatch, "microworm", 0.0, 0.0, 1.0)
    assert text.startswith("Hardly any microworms yet (unripe")
    # The second round of the day is of another cause; and a food of which nobody wants any.
    (text,) = _stops(room, monkeypatch, "microworm", 1.0, 0.0, 0.0, away=(2,))
    assert text.startswith("Hardly any microworms from Wed 6 Jan on (unripe")
    assert _stops(room, monkeypatch, "microworm", 0.0, 0.0, need_j=0.0) == []


def test_a_culture_that_ripens_meanwhile_is_not_called_unripe_throughout(room: Room) -> None:
    """Unripe at the first of the rounds twelve hours apart, of Tuesday 5 January at half past
    seven; ripe from the second on.
    """

    class Ripening(_Known):
        plan: Any = SimpleNamespace(feedings=_rounds(4))

        def of_food(self, food: str, index: int) -> str:
            return "unripe" if food == "microworm" and index < 1 else "thin"

    known: Any = Ripening(room)
    at = known.plan.feedings[1].at
    assert f"{at:%H:%M}" == "19:30"
    assert _cause(known, "unripe", "microworm", [0, 1, 2]) == (
        "no microworm culture is ripe before Tue 5 Jan 19:30, and what is then gives little at"
        " first"
    )
    assert _cause(known, "unripe", "microworm", [0]) == "unripe microworm [0]"
    assert _cause(known, "thin", "microworm", [1, 2]) == "thin microworm [1, 2]"


def test_where_nothing_takes_its_place_that_is_said(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    (text,) = _stops(room, monkeypatch, "microworm", 0.0, 0.0, 1.0, stead=False)
    assert text == (
        "Hardly any microworms yet (unripe microworm [0, 1, 2, 3]); in A nothing takes their place."
    )
    (text,) = _stops(room, monkeypatch, "microworm", 0.0, 0.0, 1.0, stead=False, given_j=0.0)
    assert text.startswith("No microworms yet (")
    (text,) = _stops(room, monkeypatch, "microworm", 0.0, 0.0, 1.0, given_j=0.0)
    assert text.startswith("Hardly any microworms yet (")  # others take their place, as ever


def test_a_tank_that_still_gets_a_quarter_of_it_is_not_without(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By what each tank gets itself, whatever the other gets of the same food."""
    for given_j, bare in ((25.0, "A"), (24.0, "A, B")):
        (text,) = _stops(
            room, monkeypatch, "microworm", 0.0, 0.0, 1.0, stead=False, given_j=0.0,
            second=(100.0, given_j),
        )  # fmt: skip
        assert text.endswith(f"; in {bare} nothing takes their place.")


def test_only_tanks_that_were_to_get_it_are_named(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another food takes its place where it was wanted; elsewhere it is what was planned."""
    for need_j, tanks in ((0.0, "A"), (100.0, "A, B")):
        (text,) = _stops(
            room, monkeypatch, "microworm", 0.0, 0.0, 1.0, second=(need_j, 0.0), fed_else=True
        )
        assert f"; in {tanks} as far as the mouths allow they get other instead." in text


def test_nauplii_are_hardly_there_and_then_the_tin_is_empty(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two spells in a row, of which the second is for want of cysts, from Thursday on."""
    hardly, empty = _stops(room, monkeypatch, BRINE_SHRIMP, 0.0, 0.1, 0.1, 0.0, 0.0)
    assert hardly.startswith("Hardly any nauplii yet (unripe brine_shrimp [0, 1, 2, 3])")
    assert empty.startswith("Hardly any nauplii from Thu 7 Jan on (tin brine_shrimp [4, 5,")
    (one,) = _stops(room, monkeypatch, BRINE_SHRIMP, 1.0, 0.1, 0.1, 0.0, 0.0)
    assert one.startswith("Hardly any nauplii from Thu 7 Jan on")


def test_days_on_which_nobody_feeds_are_no_part_of_it(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody is there on 7 January: the day before and the day after are two in a row."""
    gone = (4, 5)
    (text,) = _stops(room, monkeypatch, "microworm", 1.0, 0.0, 0.0, 0.0, 1.0, away=gone)
    assert "from Wed 6 Jan to Fri 8 Jan" in text
    assert _stops(room, monkeypatch, "microworm", 1.0, 1.0, 0.0, 0.0, 1.0, away=gone) == []
    assert _stops(room, monkeypatch, "microworm", 1.0, 0.0, 0.0, 1.0, away=gone) == []
    # Half a day is a day.
    assert _stops(room, monkeypatch, "microworm", 1.0, 0.0, 0.0, 1.0, away=(4,))


def test_dry_food_and_what_is_still_to_be_bought_never_stop(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    kind: Any = room.kinds["microworm"]
    comes: Any = SimpleNamespace(kind=kind)
    assert _stops(room, monkeypatch, DRY, 0.0, 0.0, 0.0) == []
    assert _stops(room, monkeypatch, "microworm", 0.0, 0.0, coming=(comes,)) == []
    both: dict[str, Any] = {"coming": (comes,), "cultures": (comes,)}
    assert len(_stops(room, monkeypatch, "microworm", 0.0, 0.0, **both)) == 1
    assert len(_stops(room, monkeypatch, "banana_worm", 0.0, 0.0, coming=(comes,))) == 1


def test_the_cysts_to_buy_are_said_with_an_empty_tin() -> None:
    """By the day on which they are bought; told for a day that is past, since when they are due."""
    outlook: Any = SimpleNamespace(now=_START)
    day = datetime(2027, 1, 7, 7, 30, tzinfo=UTC)
    soon = Purchase(60.0, day, day)
    assert _to_buy_words(outlook, soon) == ": buy 60 g of cysts by Thu 7 Jan"
    late = Purchase(60.0, day, day, date(2027, 1, 3))
    assert _to_buy_words(outlook, late) == ": buy 60 g of cysts, due since Sun 3 Jan"
    assert _to_buy_words(outlook, None) == ""


# --- hunger, first food, spawnings


def test_the_hour_is_named_before_which_unfed_fry_are_past_saving(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tue 5 Jan 07:30 and so many days, down to the hour."""
    course = BroodCourse.of(room, room.broods[0])
    start = hours(datetime(2027, 1, 5, 7, 30, tzinfo=room.timezone))
    for days, said in (
        (0.0, "by now"), (0.01, "within the hour"), (0.1, "by Tue 5 Jan 09:00"),
        (1.0, "by Wed 6 Jan 07:00"), (2.6, "by Thu 7 Jan 21:00"),
    ):  # fmt: skip
        monkeypatch.setattr(meals, "saving_days", lambda *_, days=days: days)
        assert past_saving(course, start) == said


def _first_away(room: Room, away: Away, *, days: int = 7, **brood: Any) -> list[str]:
    mine = evolve(room.broods[0], **({"anchor": "free_swimming"} | brood))
    here = evolve(room, broods=(mine,), away=(away,))
    until = _START + timedelta(days=days)
    outlook: Any = SimpleNamespace(room=here, now=_START, until=until)
    return list(_first_food_away(outlook))


def test_who_first_eats_while_nobody_is_there_is_named(room: Room) -> None:
    """From today up to the last day that is shown."""
    lives = BroodCourse.of(room, room.broods[0]).lives_unfed_days()
    for day, said in ((4, 0), (5, 1), (8, 1), (12, 1), (13, 0)):
        away = Away(date(2027, 1, 1), date(2027, 1, 20))
        found = _first_away(room, away, anchor_date=date(2027, 1, day))
        assert len(found) == said, day
        assert all("until Wed 20 Jan" in text for text in found)
        assert all(f"after about {round(lives)} days" in text for text in found)
    at: dict[str, Any] = {"anchor_date": date(2027, 1, 8)}
    assert _first_away(room, Away(date(2027, 1, 9), date(2027, 1, 9)), **at) == []
    assert _first_away(room, Away(date(2027, 1, 8), date(2027, 1, 8), helper=True), **at) == []
    assert _first_away(room, Away(date(2027, 1, 8), date(2027, 1, 8)), **at) != []
    eats = at | {"anchor": "length", "length_mm": 6.0}
    assert _first_away(room, Away(date(2027, 1, 8), date(2027, 1, 8)), **eats) == []


def test_a_day_of_life_is_the_least_that_is_said(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(BroodCourse, "lives_unfed_days", lambda _: 0.2)
    away = Away(date(2027, 1, 8), date(2027, 1, 8))
    (text,) = _first_away(room, away, anchor_date=date(2027, 1, 8))
    assert "after about 1 day." in text


def test_spawnings_are_asked_about_on_their_day_and_after_it(room: Room) -> None:
    brood = room.broods[0]
    for day, said in ((4, 0), (5, 1), (6, 0)):
        hoped = evolve(brood, name="h", anchor="planned", anchor_date=date(2027, 1, day))
        found = list(_unconfirmed(evolve(room, broods=(), hoped=(hoped,)), _START))
        assert len(found) == said
        assert all(text.startswith("h is planned to spawn today") for text in found)
    late = evolve(brood, name="w", anchor="planned", anchor_date=date(2027, 1, 3))
    rests = evolve(late, name="r", anchor="collected")
    (text,) = _unconfirmed(evolve(room, broods=(), waiting=(late, rests)), _START)
    assert text.startswith("w was to spawn on Sun 3 Jan")


def test_eggs_that_were_seen_in_water_and_other_fry_are_not_asked_about(room: Room) -> None:
    """A day ago; and today, when nobody is there."""
    written = evolve(room, as_of=date(2027, 1, 1))
    eggs = evolve(room.broods[0], anchor="wetted", anchor_date=date(2027, 1, 4))
    for anchor, seen, said in (("wetted", False, 1), ("wetted", True, 0), ("spawned", False, 0)):
        brood = evolve(eggs, anchor=anchor, seen=seen)
        assert len(list(_unconfirmed(evolve(written, broods=(brood,)), _START))) == said
    away = evolve(room, away=(Away(_TODAY, _TODAY),), broods=(evolve(eggs, anchor_date=_TODAY),))
    (text,) = _unconfirmed(away, _START)
    assert "when you are away" in text


# --- temperatures, water, size


def test_a_vessel_outside_the_range_of_its_cysts_is_named(room: Room) -> None:
    here = evolve(room, broods=(), cultures=())
    warning = room.hatch_kind.warn_temperature
    assert not warning(27.0)
    assert warning(5.0)
    cold = evolve(room.vessels[0], name="V2", temperature_c=5.0)
    assert list(_temperatures(here, _START, ())) == []
    (text,) = _temperatures(evolve(here, vessels=(*here.vessels, cold)), _START, ())
    assert text.startswith("V2 at 5 °C: ")


def test_a_vessel_in_which_cysts_hatch_slowly_is_named_where_one_is_set_in_it(room: Room) -> None:
    """At 17 °C they do hatch: who never sets it need not hear of it but from `check`."""
    cold = evolve(room.vessels[0], name="V2", temperature_c=17.0)
    here = evolve(room, broods=(), cultures=(), vessels=(*room.vessels, cold))
    assert room.hatch_kind.check_temperature(17.0) is None
    assert list(_temperatures(here, _START, {room.vessels[0].name})) == []
    for said in (_temperatures(here, _START, {"V2"}), vessels_to_mind(here)):
        (text,) = said
        assert text.startswith("V2 at 17 °C: hatching is slow")


def test_a_hatch_that_stands_or_is_to_be_set_is_in_its_vessel_and_one_in_a_jar_is_not() -> None:
    batches = [SimpleNamespace(held=held, standing=standing)
               for held, standing in ((True, True), (False, True), (False, False))]  # fmt: skip
    outlook: Any = SimpleNamespace(
        feeding=SimpleNamespace(hatches=SimpleNamespace(batches=batches))
    )
    assert _hatches(outlook) == batches[1:]


def test_tanks_too_cold_for_their_fry_are_one_remark_and_those_new_to_it_another(
    room: Room,
) -> None:
    """Six tanks at 12 °C; two of them since a heater failed a day ago, one since five days ago."""
    brood, day_h = room.broods[0], 24.0
    began = {4: hours(_START) - day_h, 5: hours(_START) - 5 * day_h, 6: hours(_START) - day_h}
    tanks = tuple(
        evolve(room.tanks[0], name=f"C{n}", temperature_c=12.0) for n in range(1, 7)
    )  # fmt: skip
    broods = tuple(
        evolve(brood, name=f"b {n}", tank=f"C{n}",
               temperature_log=((0.0, 25.0), (began[n], 12.0)) if n in began else ())
        for n in range(1, 7)
    )  # fmt: skip
    cold = evolve(room, tanks=tanks, broods=broods)
    (fresh,), (known,) = (_of_fry(cold, _START, fresh=flag) for flag in (True, False))
    warning = brood.fry_class.warn_temperature(12.0)
    assert fresh.text == f"2 tanks too cold at 12 °C: {warning} (C4 and C6)."
    assert known.text == f"4 tanks too cold at 12 °C: {warning} (C1 to C3 and C5)."
    (alone,) = _of_fry(evolve(cold, broods=broods[:1]), _START, fresh=False)
    assert alone.text == f"C1 too cold at 12 °C: {warning} (b 1)."
    hot = evolve(cold, tanks=tuple(evolve(tank, temperature_c=38.0) for tank in tanks))
    assert [note.text.partition(":")[0] for note in _of_fry(hot, _START, fresh=False)] == [
        "4 tanks too warm at 38 °C"
    ]
    warm = evolve(cold, tanks=tuple(evolve(tank, temperature_c=25.0) for tank in tanks))
    assert [*_of_fry(warm, _START, fresh=False), *_of_fry(warm, _START, fresh=True)] == []
    # In one line it is said of how many, and what.
    assert brief(known.text) == "4 tanks too cold at 12 °C\N{NO-BREAK SPACE}…"


def test_a_culture_without_a_temperature_has_the_rooms(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    slow = kind.values["t_min_c"] + 0.5
    assert kind.rate(slow) < 0.15 < kind.rate(kind.values["t_ref_c"])
    culture: Any = SimpleNamespace(name="MW-1", kind=kind, temperature_c=None)
    own: Any = SimpleNamespace(name="MW-1", kind=kind, temperature_c=kind.values["t_ref_c"])
    here = evolve(room, temperatures_c=(slow,), vessels=(), broods=(), cultures=(culture,))
    (text,) = _temperatures(here, _START, ())
    assert text.startswith(f"MW-1 at {slow:.3g} °C hardly grows")
    assert list(_temperatures(evolve(here, cultures=(own,)), _START, ())) == []
    both = evolve(here, temperatures_c=(kind.values["t_ref_c"],))
    cold: Any = SimpleNamespace(name="MW-1", kind=kind, temperature_c=slow)
    assert list(_temperatures(both, _START, ())) == []
    assert len(list(_temperatures(evolve(both, cultures=(cold,)), _START, ()))) == 1


def test_cultures_that_stand_too_warm_or_die_are_named(room: Room) -> None:
    """Microworms do best up to 5 °C below where they stop, and stand too warm 2 °C above that."""
    kind: Any = room.kinds["microworm"]
    best, dies = kind.values["t_max_c"] - 5.0, kind.values["lethal_high_c"]
    cultures: Any = [SimpleNamespace(name=n, kind=kind, temperature_c=None) for n in ("M1", "M2")]
    here = evolve(room, vessels=(), broods=(), cultures=tuple(cultures))

    def said(degrees: float) -> list[str]:
        return list(_temperatures(evolve(here, temperatures_c=(degrees,)), _START, ()))

    assert kind.rate(best + 3.0) > 0.15
    assert said(best + 2.0) == []
    (warm,) = said(best + 2.1)
    assert warm.startswith(f"M1, M2 at {best + 2.1:.3g} °C stand too warm: microworm does best")
    assert f"between 12 and {best:.0f} °C, and its medium sours sooner in heat. Put them" in warm
    for what in ("floor", "coolest room", "temperature NAME DEGREES", "Split them", "a spare"):
        assert what in warm
    alone = evolve(here, temperatures_c=(best + 2.1,), cultures=tuple(cultures[:1]))
    (one,) = _temperatures(alone, _START, ())
    assert "Put it on the floor" in one
    assert "livefood journal temperature M1 DEGREES" in one
    # So it is where they hardly grow for heat; where they do not for cold the floor is no help.
    assert "floor" in said(kind.values["t_max_c"])[0]
    assert "floor" not in said(kind.values["t_min_c"])[0]
    assert brief(warm) == f"M1, M2 at {best + 2.1:.3g} °C stand too warm\N{NO-BREAK SPACE}…"
    assert said(dies) == []  # which comes first of all
    hot = evolve(here, temperatures_c=(dies,))
    (text,) = dying_cultures(hot, _START)
    assert text.startswith(f"M1, M2 at {dies:g} °C: microworm dies at {dies:g} °C and above.")
    assert "'journal failed NAME'" in text
    (one,) = dying_cultures(evolve(hot, cultures=hot.cultures[:1]), _START)
    assert "'journal failed M1'" in one
    assert not list(dying_cultures(evolve(here, temperatures_c=(dies - 0.1,)), _START))


def test_who_has_just_the_length_of_fry_age_is_past_it(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And it is said how long they are, not from which length on they are."""
    brood = room.broods[0]
    limit_mm = brood.fry_class.values["fry_until_mm"]
    here = evolve(room, broods=(brood,))
    for length_mm, said in ((limit_mm - 1e-9, 0), (limit_mm, 1), (limit_mm + 4.0, 1)):
        monkeypatch.setattr(BroodCourse, "length_mm", lambda _, __, mm=length_mm: mm)
        found = list(_grown(here, _START))
        assert len(found) == said
        assert all(f"one ({length_mm:g} mm)" in text for text in found)


def _loaded(room: Room, *days: int, tank: str = "A", given_j: float = 1e6) -> list[FeedLine]:
    brood = next(b for b in room.broods if b.tank == tank)
    return [
        _line(brood, datetime.combine(date(2027, 1, day), time(7, 30), UTC), given_j, food=DRY)
        for day in days
    ]


def test_a_tank_is_warned_of_on_the_first_of_days_in_a_row(room: Room) -> None:
    lines = [
        *_loaded(room, 5, 6, 8, 9, 12),
        *_loaded(room, 6, tank="B"),
        *_loaded(room, 1, given_j=1.0),
    ]
    found = [(w.day.day, w.tank) for w in water_warnings(room, lines)]
    assert found == [(5, "A"), (6, "B"), (8, "A"), (12, "A")]


def test_the_load_of_a_tank_is_of_all_its_broods_on_a_day(room: Room) -> None:
    """500 J of 100 are five times the ration; twice 250 J, each of 100, two and a half times."""
    brood = room.broods[0]
    few = [_line(brood, _START, 10.0, food=food, need_j=5.0) for food in (DRY, "microworm")]
    assert "2.0 times the ration" in tank_loads(room, few)[_TODAY, "A"].warnings()[0].text
    one = tank_loads(room, _loaded(room, 5, given_j=500.0))
    two = tank_loads(room, _loaded(room, 5, 5, given_j=250.0))
    assert list(one) == list(two) == [(date(2027, 1, 5), "A")]
    assert "5.0 times the ration" in one[date(2027, 1, 5), "A"].warnings()[0].text
    assert "2.5 times the ration" in two[date(2027, 1, 5), "A"].warnings()[0].text
    more = tank_loads(room, [*_loaded(room, 5), *_loaded(room, 5, tank="B"), *_loaded(room, 6)])
    assert set(more) == {(date(2027, 1, day), tank) for day, tank in ((5, "A"), (5, "B"), (6, "A"))}


def test_water_is_looked_at_for_a_week_within_the_shown_time(room: Room) -> None:
    rounds = [
        Round(i, at, hours(at), 1, fed=True, keeper=True)
        for i, at in enumerate(_START + timedelta(days=2 * n - 1) for n in range(6))
    ]
    for days, told in ((30, [6, 8, 10]), (7, [6, 8, 10]), (5, [6, 8]), (4, [6, 8])):
        until = _START + timedelta(days=days)
        outlook: Any = SimpleNamespace(
            room=room, now=_START, until=until, feedings=rounds,
            lines=[_loaded(room, r.at.day) for r in rounds],
        )  # fmt: skip
        found = [note.text for note in _water(outlook)]
        said = sorted({int(text.split(" Jan")[0].split()[-1]) for text in found})
        assert said == told, days
        assert all(text.startswith("Tank A from ") for text in found)
        assert all(text.count("A: ") == 0 for text in found)


def test_a_days_food_is_that_of_the_rounds_that_are_over_too(room: Room) -> None:
    """Two rounds of 500 J: in the evening as much is said as in the morning."""
    evening = Round(0, _START + timedelta(hours=12), hours(_START) + 12, 1, fed=True, keeper=True)
    said = []
    for ahead_j, fed_j in ((1e6, 0.0), (5e5, 5e5)):
        fed = evolve(room, fed_today=tuple(_loaded(room, _START.day, given_j=fed_j)))
        outlook: Any = SimpleNamespace(
            room=fed, now=_START, until=_START + timedelta(days=3), feedings=[evening],
            lines=[_loaded(room, _START.day, given_j=ahead_j)],
        )  # fmt: skip
        texts = [note.text for note in _water(outlook)]
        said.append([text.partition("mg/L")[0] for text in texts if "mg/L" in text])
    assert len(said[0]) == 1
    assert said[0] == said[1]


def test_of_a_tank_that_its_fish_have_left_nothing_is_said(room: Room) -> None:
    """A million J in the morning, of which too much is said while they are in it."""
    fed = evolve(room, fed_today=tuple(_loaded(room, _START.day, given_j=1e6)))
    for here in (fed, evolve(fed, broods=())):
        outlook: Any = SimpleNamespace(
            room=here, now=_START, until=_START + timedelta(days=3), feedings=[], lines=[]
        )
        assert bool([*_water(outlook)]) is bool(here.broods)


# --- one food alone


def test_one_food_alone_is_risky_below_the_length_of_its_trials(room: Room) -> None:
    """Microworms, of whom fry below a length that is data were lost."""
    limit = room.kinds["microworm"].parameters["alone_below_mm"]
    assert limit.value > 0.0
    until = _START + timedelta(days=5)

    def said(*broods: Brood) -> list[str]:
        return list(lone_foods(evolve(room, broods=broods), _START, until))

    def fry(name: str, length_mm: float, *foods: str, day: date = _TODAY, **more: Any) -> Brood:
        return evolve(room.broods[0], name=name, anchor="length", length_mm=length_mm,
                      anchor_date=day, foods=foods, **more)  # fmt: skip

    small, large = limit.value - 0.5, limit.value + 0.5
    (one,) = said(fry("a", small, "microworm"))
    assert one.startswith("a in A gets microworms alone, which is risky below")
    (two,) = said(fry("a", small, "microworm"), fry("b", small, "microworm"))
    assert two.startswith("a in A and b in A get microworms alone")
    assert said(fry("a", large, "microworm")) == []
    dry = feeding_parameters()["dry_alone_below_mm"]
    for by_mm, count in ((-0.5, 1), (0.5, 0)):
        found = said(fry("a", dry.value + by_mm, DRY))
        assert len(found) == count
        assert all(text.startswith("a in A gets dry food alone") for text in found)
    assert said(fry("a", small, "microworm", "banana_worm")) == []
    # Gone today, or not there before all that is shown.
    assert said(fry("a", small, "microworm", gone_on=_TODAY)) == []
    assert len(said(fry("a", small, "microworm", gone_on=_TODAY + timedelta(days=1)))) == 1
    late: dict[str, Any] = {"anchor": "free_swimming", "length_mm": None}
    first_mm = room.broods[0].fry_class.values["length_first_food_mm"]
    for day, count in ((9, 1), (10, 1), (11, 0)):
        brood = evolve(fry("a", small, "microworm"), anchor_date=date(2027, 1, day), **late)
        assert len(said(brood)) == (count if first_mm < limit.value else 0), day


def test_many_tanks_are_counted_and_all_are_called_all(room: Room) -> None:
    """More than a dozen names say no more than how many of the tanks with fry they are."""
    broods = [evolve(room.broods[0], name=f"b{n}", tank=f"T{n}") for n in range(20)]
    full = evolve(room, broods=tuple(broods))
    tanks = [b.tank for b in broods]
    assert _in(tanks, full) == "in all tanks"
    assert _in(tanks[:18], full) == "in 18 of 20 tanks"
    assert _in(tanks[:3], full) == "in T0, T1, T2"
