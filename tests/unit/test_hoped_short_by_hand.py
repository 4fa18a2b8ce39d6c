"""What a planned spawning would lack and what prevents it, and what going short costs, by hand."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.needs.meals import Step
from cultures.planning import hoped_short as module
from cultures.planning.asking import ASK_HELP
from cultures.planning.changes import usual_culture
from cultures.planning.gaps import Gap
from cultures.planning.hoped_short import _bought, _helper, _remedies, hoped_shortfalls
from cultures.planning.outlook import Outlook, _first_round, rounds_until
from cultures.planning.shortfalls import Hunger, Lack, Toll, _share
from cultures.room.file import read_room
from cultures.room.room import Brood, Room
from cultures.tasks.plan import Act, Remedy, Shortfall
from tests.unit.noting import noting
from tests.unit.test_planning_by_hand import _START, _rounds, _stage
from tests.unit.test_shortfall_limits import _TEXT, _gap

_near: Any = pytest.approx

_TODAY = date(2027, 1, 5)
_DAY = timedelta(days=1)
_HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _outlook(room: Room, **more: Any) -> Any:
    return SimpleNamespace(**({
        "room": room, "now": _START, "until": _START + 3 * _DAY, "feedings": _rounds(40),
        "feeding": None, "hopes": None,
    } | more))  # fmt: skip


# --- what would be missing


def test_a_shortfall_of_spawnings_says_for_which_and_how_likely(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of one chance 0.8; that one of two comes is 1 - 0.2 x 0.5."""
    monkeypatch.setattr(module, "Limits", lambda *_: SimpleNamespace(of=lambda gap: gap.food))
    hunger = SimpleNamespace(toll=lambda _: Toll(0.0, None))
    monkeypatch.setattr(module, "Hunger", lambda *_: hunger)
    asked: list[Any] = []

    def shortfall(lack: Lack, *args: Any) -> Shortfall:
        asked.append(args[2])
        return Shortfall(at=_START, until=_START, rounds=1, food=lack.food, need_j=1.0,
                         short_j=1.0, tanks=(), cause="too few")  # fmt: skip

    monkeypatch.setattr(Lack, "shortfall", shortfall)
    remedy = Remedy("do", _START, 1.0, act=Act.BUY)
    monkeypatch.setattr(module, "_remedies", lambda *_, **__: iter([remedy]))
    one, two = (evolve(b, chance=c) for b, c in zip(room.broods, (0.8, 0.5), strict=True))
    gaps = [_gap(one, 1, "worm"), _gap(one, 2, "eel"), _gap(two, 2, "eel"), _gap(one, 6, "late")]
    outlook = _outlook(room, hopes=SimpleNamespace(gaps=gaps, plan=None))
    first, second = hoped_shortfalls(outlook)
    assert (first.chance, first.spawns) == (_near(0.8), (("one", "A"),))
    assert first.cause.startswith("if the spawn planned in A comes (chance 80%), too few")
    assert (second.chance, second.spawns) == (_near(0.9), (("one", "A"), ("two", "B")))
    assert "if the spawns planned in" in second.cause
    assert "come (chance 90%)" in second.cause
    assert [len(helps) for helps in asked] == [1, 1]
    asked.clear()
    list(hoped_shortfalls(outlook, remedies=False))
    assert asked == [(), ()]
    assert list(hoped_shortfalls(_outlook(room))) == []


def test_nothing_is_got_for_a_planned_spawning_that_would_miss_little(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of one meal is a quarter of one by squares; less only where fry would starve."""
    starves: list[datetime | None] = [None]
    monkeypatch.setattr(module, "Limits", lambda *_: SimpleNamespace(of=lambda _: "thin"))
    hunger = SimpleNamespace(toll=lambda _: Toll(0.0, starves[0]))
    monkeypatch.setattr(module, "Hunger", lambda *_: hunger)
    starter = Remedy("start", _START, 90.0, act=Act.START)
    monkeypatch.setattr(module, "_bought", lambda *_: iter([starter]))
    monkeypatch.setattr(module, "_wider", lambda *_: iter(()))
    monkeypatch.setattr(module, "evolve", lambda found, **_: found)
    monkeypatch.setattr(Lack, "shortfall", _with_its_remedies)
    for short_j, starve, told in ((50.0, None, 1), (49.0, None, 0), (7.0, _START, 1)):
        starves[0] = starve
        gaps = [_gap(room.broods[0], 1, "worm", short_j=short_j)]
        (found,) = hoped_shortfalls(_outlook(room, hopes=SimpleNamespace(gaps=gaps, plan=None)))
        assert len(found.remedies) == told, (short_j, starve)


def _with_its_remedies(_lack: Lack, _room: Any, _limits: Any, helps: Any, _hunger: Any) -> Any:
    return SimpleNamespace(cause="too few", remedies=helps)


def test_what_gains_a_twentieth_is_told_the_most_effective_first(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 100 J from 5 J on; of those that gain as much the sooner first."""

    def remedy(effect_j: float, days: int) -> Remedy:
        return Remedy(f"{effect_j:g}", _START + days * _DAY, effect_j, act=Act.BUY)

    bought = [remedy(4.9, 1), remedy(5.0, 1)]
    wider = [remedy(30.0, 3), remedy(30.0, 2), remedy(60.0, 9)]
    monkeypatch.setattr(module, "_bought", lambda *_: iter(bought))
    monkeypatch.setattr(module, "_wider", lambda *_: iter(wider))
    asked = [remedy(4.9, 1), remedy(5.0, 1)]
    monkeypatch.setattr(module, "_helper", lambda *_, **__: iter(asked))
    gaps = [_gap(room.broods[0], i, short_j=50.0) for i in (1, 2)]
    none: Any = None
    found = _remedies(none, none, Lack("worm", "none", gaps))
    assert [(r.effect_j, (r.by - _START).days) for r in found] == [
        (60.0, 9), (30.0, 2), (30.0, 3), (5.0, 1)
    ]  # fmt: skip
    assert list(_remedies(none, none, Lack("any", "away", gaps))) == asked[1:]


def test_somebody_who_feeds_is_asked_where_that_can_be(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    by = _START + _DAY
    monkeypatch.setattr(module, "help_by", lambda *_: by)
    monkeypatch.setattr(module, "with_help", lambda *_: (room, _rounds(4)))
    monkeypatch.setattr(module, "plan_feeding", lambda *_, **__: "plan")
    monkeypatch.setattr(module, "_effect_j", lambda *args: 5.0 if args[4][1] == "plan" else 0)
    lack, none = Lack("any", "away", [_gap(room.broods[0], 1)]), None
    hopes: Any = none
    asked = Remedy(ASK_HELP, by, 5.0, act=Act.ASK)
    assert list(_helper(_outlook(room), hopes, lack)) == [asked]
    monkeypatch.setattr(module, "help_by", lambda *_: None)
    assert list(_helper(_outlook(room), hopes, lack)) == []
    monkeypatch.setattr(module, "help_by", lambda *_: by)
    monkeypatch.setattr(module, "with_help", lambda *_: None)
    assert list(_helper(_outlook(room), hopes, lack)) == []


def test_a_starter_for_a_spawning_is_bought_in_time(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fetched in a day, so from round 2 on; nobody is there at round 3."""
    rounds = _rounds(12, away=(3,))
    there: list[list[int]] = []

    def last(_: Room, __: Any, those: Any, ___: Any, wanted: int) -> Any:
        there.append([r.index for r in those])
        assert wanted == 8
        return rounds[4]

    rooms: list[Room] = []
    monkeypatch.setattr(module, "_last_start", last)
    monkeypatch.setattr(module, "_effect_j", noting(rooms, 9.0, lambda *args: args[3]))
    kind: Any = room.kinds["microworm"]
    listed: Brood = evolve(room.broods[0], foods=("dry",))
    bare = evolve(room, broods=(), hoped=(listed, room.broods[1]))
    lack = Lack("microworm", "none", [_gap(listed, 8), _gap(room.broods[1], 9)])
    hopes: Any = None
    (remedy,) = _bought(_outlook(bare, feedings=rounds), hopes, lack)
    assert remedy == Remedy(
        "start a microworm culture from a bought starter and add it to the foods of one",
        rounds[4].at, 9.0, _DAY, act=Act.START, of="microworm",
    )  # fmt: skip
    assert {*map(tuple, there)} == {(2, *range(4, 12))}
    (added,) = rooms[0].coming
    assert (added.kind, added.started, added.planned) == (kind, rounds[4].at.date(), True)
    assert [b.foods for b in rooms[0].hoped] == [("dry", "microworm"), None]
    stands = evolve(bare, cultures=(usual_culture(room, kind),))
    every = Lack("microworm", "none", [_gap(room.broods[1], 8)])
    (more,) = _bought(_outlook(stands, feedings=rounds), hopes, every)
    assert more.what == "start one more microworm culture from a bought starter"
    monkeypatch.setattr(module, "_last_start", lambda *_: None)
    assert list(_bought(_outlook(bare, feedings=rounds), hopes, lack)) == []
    monkeypatch.setattr(module, "_kinds_for", lambda *_: [])
    assert list(_bought(_outlook(bare, feedings=rounds), hopes, lack)) == []


def test_where_no_food_fits_the_kinds_that_can_be_ripe_in_time_are_tried_first(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 100 J; vinegar eels suit best and are too slow, so that they gain nothing."""
    rounds, tried = _rounds(40), list[str]()
    slow, fast, other = (room.kinds[k] for k in ("vinegar_eel", "microworm", "banana_worm"))
    monkeypatch.setattr(module, "_kinds_for", lambda *_: [slow, fast, other])
    monkeypatch.setattr(
        module,
        "_ripe_from",
        lambda _, __, culture, start: start.index + (30 if culture.kind is slow else 3),
    )
    gains = {"microworm": 100.0, "banana_worm": 100.0, "vinegar_eel": 0.0}

    def effect_j(*args: Any) -> float:
        (bought,) = args[3].coming
        tried.append(bought.kind.name)
        return gains[bought.kind.name]

    monkeypatch.setattr(module, "_effect_j", effect_j)
    lack, hopes = Lack("any", "mouth", [_gap(room.broods[0], 7, short_j=100.0)]), None
    bare: Any = _outlook(evolve(room, broods=(), hoped=room.broods), feedings=rounds)
    (remedy,) = _bought(bare, hopes, lack)  # type: ignore[arg-type]
    assert (remedy.of, remedy.by) == ("microworm", rounds[4].at)
    assert tried == ["microworm"]  # it covers all: no more is tried
    gains["microworm"] = 60.0
    assert [r.of for r in _bought(bare, hopes, lack)] == [  # type: ignore[arg-type]
        "microworm", "banana_worm"
    ]  # fmt: skip
    # The kind that is missing is enough where it helps at all.
    named = evolve(lack, food="vinegar_eel", limit="thin")
    assert [r.of for r in _bought(bare, hopes, named)] == [  # type: ignore[arg-type]
        "vinegar_eel", "microworm", "banana_worm"
    ]  # fmt: skip
    gains["vinegar_eel"] = 5.0
    assert [r.of for r in _bought(bare, hopes, named)] == ["vinegar_eel"]  # type: ignore[arg-type]


# --- what going short costs


def _hunger(room: Room, steps: dict[str, tuple[float, list[Step]]], *gaps: Gap) -> Hunger:
    hunger = Hunger(room, _rounds(40), gaps)
    hunger._known = dict(steps)
    return hunger


def _step(index: int, lag: float, no_return: float | None = None) -> Step:
    from_h = _rounds(40)[index].at_h
    return Step(from_h, from_h + 12.0, lag, 1.0, no_return)


def test_what_a_shortfall_costs_is_the_lag_that_it_adds(room: Room) -> None:
    """0.6 growth days more within it than before it, at 1.2 a day: half a day."""
    one = room.broods[0]
    steps = [_step(0, 0.2), _step(2, 0.5), _step(3, 0.8), _step(6, 2.0)]
    gaps = [_gap(one, 2), _gap(one, 3)]
    hunger = _hunger(room, {"one": (1.2, steps)}, *gaps)
    assert hunger.toll(gaps) == Toll(_near(0.5), None)
    assert hunger.toll(gaps[1:]) == Toll(_near(0.25), None)
    assert hunger.toll([_gap(one, 5)]) == Toll(0.0, None)  # nothing happens in it
    first = _hunger(room, {"one": (1.2, steps[1:])}, *gaps)
    assert first.toll(gaps) == Toll(_near(0.8 / 1.2), None)
    cold = _hunger(room, {"one": (0.0, steps)}, *gaps)
    assert cold.toll(gaps) == Toll(0.0, None)


def test_the_worst_off_and_the_first_that_starves_are_told(room: Room) -> None:
    one, two = room.broods
    starves = _rounds(40)[3].at_h
    known = {"one": (1.0, [_step(2, 0.5, starves + 9.0), _step(3, 0.6, starves + 12.0)]),
             "two": (1.0, [_step(3, 0.9, starves + 4.0)])}  # fmt: skip
    gaps = [_gap(one, 2), _gap(two, 3), _gap(one, 3)]
    toll = _hunger(room, known, *gaps).toll(gaps)
    assert toll.behind_days == pytest.approx(0.9)
    assert toll.starves_at == room.at_hour(starves + 4.0)
    alone = _hunger(room, known, *gaps).toll([gaps[0], gaps[2]])
    assert alone == Toll(_near(0.6), room.at_hour(starves + 9.0), (one.tank,))


def test_a_meal_is_the_share_that_is_not_missing(room: Room) -> None:
    gaps = {2: _gap(room.broods[0], 2, short_j=30.0), 3: _gap(room.broods[0], 3, short_j=130.0)}
    assert [_share(gaps, index) for index in (1, 2, 3)] == pytest.approx([1.0, 0.7, 0.0])


# --- the rounds of a plan


def test_a_round_is_planned_for_two_hours_after_its_time(room: Room) -> None:
    assert _first_round(room, _START) == _START - 2 * _HOUR
    second = timedelta(seconds=1)
    for fed, since in ((_START - 3 * _HOUR, _START - 2 * _HOUR),
                       (_START - 2 * _HOUR, _START - 2 * _HOUR + second),
                       (_START - _HOUR, _START - _HOUR + second),
                       (_START + _HOUR, _START + _HOUR + second)):  # fmt: skip
        assert _first_round(evolve(room, fed_until=fed), _START) == since
    rounds = rounds_until(room, _START + 2 * _HOUR, _START + _DAY)
    assert rounds[0].at == _START
    late = rounds_until(room, _START + 2 * _HOUR + second, _START + _DAY)
    assert late[0].at == _START + 12 * _HOUR


def _spans(room: Room, *stages: Any, splits: Any = (), usable: Any = None, until: int = 20) -> Any:
    rounds = _rounds(40)
    plan = SimpleNamespace(stages=stages, splits=splits,
                           course=SimpleNamespace(usable_from=usable or {}))  # fmt: skip
    made: Any = object.__new__(Outlook)
    made.room, made.feedings, made.until = room, rounds, rounds[until].at
    made.feeding = SimpleNamespace(worms={"microworm": plan})
    return made.cultures()


def test_cultures_are_told_that_begin_within_the_shown_time(room: Room) -> None:
    """Begun at noon of its day, or after the feeding of its round."""
    parent = _stage("MW-1", 9.0, rounds=40)
    split = SimpleNamespace(culture=SimpleNamespace(name="MW-2"), at_index=19)
    late = SimpleNamespace(culture=SimpleNamespace(name="MW-3"), at_index=20)
    children = [_stage(name, 9.0, first=at, rounds=40) for name, at in (("MW-2", 19), ("MW-3", 20))]
    found = _spans(room, *children, parent, splits=(split, late), usable={"MW-1": 3})
    assert [span.name for span in found] == ["MW-1", "MW-2"]
    assert found[0].started == datetime(2027, 1, 1, 12, tzinfo=room.timezone)
    assert (found[0].usable_from, found[0].spent_on) == (_rounds(40)[3].at, None)
    assert (found[1].started, found[1].usable_from) == (_rounds(40)[19].at, None)


def test_a_told_round_is_noted_when_all_of_it_is() -> None:
    def told(key: str, at: datetime) -> Any:
        return SimpleNamespace(task=SimpleNamespace(id=key, at=at), round_at=_START)

    made: Any = object.__new__(Outlook)
    made.feedings = _rounds(3)
    for answered, noted in (({}, False), ({"a": 1}, False), ({"a": 1, "b": 1}, True)):
        made.room = SimpleNamespace(
            in_hand=[told("a", _START), told("b", _START)], answered=answered, unfed=()
        )
        assert made.is_noted(_START) is noted
        assert not made.is_noted(_START + _DAY)
    assert made.told_round(_START) is None  # no feeding among them
    assert made.round_times() == [r.at for r in made.feedings]
    away = [evolve(r, keeper=r.index == 2) for r in made.feedings]
    made.feedings = away
    assert made.keeper_round(0) is made.keeper_round(2) is away[2]
    made.feedings = away[:2]
    assert made.keeper_round(0) is None
