"""A plan carried out with drawn luck: single rounds and single draws, worked out by hand."""

from __future__ import annotations

import math
import random
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.worms import first_harvest_age
from cultures.needs.need import BroodNeed
from cultures.planning import trials as module
from cultures.planning.harvests import Portion
from cultures.planning.servings import Serving
from cultures.planning.trials import (
    Line,
    Mouth,
    Scene,
    Source,
    Theatre,
    Trials,
    World,
    _brought,
    _factor,
    _gone_until,
    play,
    sigma,
)
from cultures.planning.unknowns import Guess
from cultures.words.moments import hours
from tests.unit.test_chances_by_hand import _outlook
from tests.unit.test_planning_by_hand import _START, _rounds

_near: Any = pytest.approx


def _mouth(
    brood: str = "b", need_j: float = 100.0, *, missing_j: float = 0.0, lacks: str = "",
    dry_j: float = 0.0, worms: tuple[str, ...] = (), **want_j: float,
) -> Mouth:  # fmt: skip
    return Mouth(brood, need_j, missing_j, lacks, want_j, dry_j, worms)


def _scene(*mouths: Mouth, held: Any = (), **sources: list[Source]) -> Scene:
    return Scene(0, _START, 100.0, sources, list(held), list(mouths))


def _world(*factors: float, kind: str = "worm", gone: Any = None, hatches: Any = (),
           level: Any = None, portion: Any = None) -> World:  # fmt: skip
    keys = [(kind, number) for number in range(len(factors))]
    spells = {key: (gone or {}).get(key[1], []) for key in keys}
    return World(dict(zip(keys, factors, strict=True)), spells, list(hatches), level or {},
                 portion or {})  # fmt: skip


# --- what comes


def test_what_mouths_want_adds_up_and_the_first_gap_is_named() -> None:
    scene = _scene(_mouth(worm=60.0), _mouth(lacks="eel", worm=10.0, eel=5.0), _mouth(lacks="worm"))
    assert scene.wanted_j == {"worm": 70.0, "eel": 5.0}
    assert scene.lacks == "eel"
    assert _scene(_mouth(worm=1.0)).lacks == ""


def test_cultures_give_by_their_luck_what_is_planned_and_what_they_can_spare() -> None:
    """Of 70 J wanted: 0.5 of 60 and 20 J and 1.5 of 10 J; and a level of 0.8 of it all."""
    mouths, sources = (_mouth(worm=70.0),), [Source(0, 60.0, 20.0), Source(1, 10.0, 0.0)]
    scene = _scene(*mouths, worm=sources)
    assert _brought(scene, _world(0.5, 1.5)) == ({"worm": _near(15.0)}, {})
    assert _brought(scene, _world(1.0, 1.0)) == ({}, {"worm": _near(20.0)})
    low = _brought(scene, _world(1.0, 1.0, level={"worm": 0.7}))
    assert low == ({"worm": _near(70.0 - 0.7 * 90.0)}, {})
    assert _brought(scene, _world(1.0, 1.0, level={"worm": 7 / 9}))[0].get("worm", 0.0) < 1e-9
    # A culture that is gone gives nothing until it is back.
    for spell, short in (((90.0, 100.0), 0.0), ((90.0, 100.1), 60.0), ((100.0, 110.0), 60.0),
                         ((100.1, 110.0), 0.0)):  # fmt: skip
        found, _ = _brought(scene, _world(1.0, 1.0, gone={0: [spell]}))
        assert found.get("worm", 0.0) == pytest.approx(short), spell
    idle = _scene(_mouth(eel=5.0), worm=sources)
    assert _brought(idle, _world(1.0, 1.0)) == ({}, {"worm": 90.0})


def test_hatches_are_used_up_in_turn_at_what_is_left_of_them() -> None:
    """50 J are wanted: of 40 J half is left, of 100 J a quarter."""
    scene = _scene(_mouth(brine_shrimp=50.0), held=[(0, 0.5), (1, 0.25)])
    world = _world(hatches=[40.0, 100.0])
    short, _ = _brought(scene, world)
    assert short == {BRINE_SHRIMP: pytest.approx(5.0)}
    assert world.hatches == pytest.approx([0.0, 0.0])
    first = _world(hatches=[400.0, 100.0])
    assert _brought(scene, first) == ({}, {})
    assert first.hatches == pytest.approx([300.0, 100.0])
    nearly = _world(hatches=[40.0, 118.0])  # half a joule less than is wanted
    assert _brought(scene, nearly)[0] == {BRINE_SHRIMP: pytest.approx(0.5)}
    none = _scene(_mouth(worm=5.0), held=[(0, 0.5)])
    untouched = _world(hatches=[40.0])
    assert _brought(none, untouched)[0] == {}
    assert untouched.hatches == [40.0]


def test_when_a_culture_is_back() -> None:
    spells = [(10.0, 15.0), (20.0, 30.0)]
    for at, back in ((9.9, 9.9), (10.0, 15.0), (12.0, 15.0), (15.0, 15.0), (17.0, 17.0),
                     (20.0, 30.0), (29.0, 30.0), (31.0, 31.0)):  # fmt: skip
        assert _gone_until(spells, at) == back
    assert _gone_until([], 5.0) == 5.0


def test_luck_has_a_mean_of_one_and_the_spread_that_is_given() -> None:
    """A lognormal law of relative s.d. c has a variance of ln(1 + c²) of its logarithm."""
    assert sigma(0.5) == pytest.approx(math.sqrt(math.log(1.25)))
    rng = random.Random(2)
    draws = [_factor(rng.gauss(0.0, 1.0), sigma(0.3)) for _ in range(20_000)]
    assert sum(draws) / 20_000 == pytest.approx(1.0, abs=0.01)
    assert sum((x - 1.0) ** 2 for x in draws) / 20_000 == pytest.approx(0.09, rel=0.06)


# --- a round


def _short(scene: Scene, world: World, *wants: float) -> tuple[float, str, list[float]]:
    """What is missing, of which food, and the share of its need that each mouth gets."""
    missing, food, fed = play(scene, world, wants or None)
    return round(missing, 6), food, [round(share, 6) for share in reversed(fed)]


def test_the_largest_go_without_first_and_dry_food_and_spare_worms_fill_in() -> None:
    """30 of 100 J do not come: all of it is missed by the last of the mouths."""
    half = [Source(0, 100.0, 0.0)]
    small, large = _mouth("s", 50.0, worm=50.0), _mouth("l", 50.0, worm=50.0)
    assert _short(_scene(small, large, worm=half), _world(0.7)) == (30.0, "worm", [1.0, 0.4])
    assert _short(_scene(small, large, worm=half), _world(0.3)) == (70.0, "worm", [0.6, 0.0])
    dry = _mouth("l", 50.0, dry_j=20.0, worm=50.0)
    assert _short(_scene(small, dry, worm=half), _world(0.7)) == (10.0, "worm", [1.0, 0.8])
    much = _mouth("l", 50.0, dry_j=40.0, worm=50.0)
    assert _short(_scene(small, much, worm=half), _world(0.7)) == (0.0, "", [1.0, 1.0])
    eels = {("worm", 0): 0.7, ("eel", 0): 1.0, ("wide", 0): 1.0}
    world = World(eels, {key: [] for key in eels}, [])
    spare = _mouth("l", 50.0, worms=("wide", "eel"), worm=50.0)
    both = _scene(small, spare, worm=half, eel=[Source(0, 0.0, 25.0)], wide=[Source(0, 0.0, 10.0)])
    assert _short(both, world) == (0.0, "", [1.0, 1.0])
    other = _mouth("s", 50.0, worms=("eel",), worm=50.0)
    world = World({**eels, ("worm", 0): 0.3}, {key: [] for key in eels}, [])
    # 70 J: the large one misses 50, of which 35 are made good; nothing is left for the small one.
    assert _short(_scene(other, spare, **both.sources), world) == (35.0, "worm", [0.6, 0.7])


def test_three_hundredths_of_a_need_are_not_missed() -> None:
    for luck, missing in ((0.97, 0.0), (0.96, 4.0)):
        found = _short(_scene(_mouth(worm=100.0), worm=[Source(0, 100.0, 0.0)]), _world(luck))
        assert found == (missing, "worm" if missing else "", [luck])


def test_whom_nothing_is_lost_to_gets_what_is_planned() -> None:
    """Of four mouths the largest alone loses worms: the rest get what the plan gives them, whether
    that is looked up or, as for needs that are as planned, worked out.
    """
    large = _mouth("d", eel=40.0, worm=60.0)
    small = _mouth("a", worm=100.0), _mouth("b", missing_j=2.0, worm=98.0)
    more = _mouth("c", missing_j=-5.0, worm=105.0)
    worms, eels = [Source(0, 363.0, 0.0)], [Source(0, 40.0, 0.0)]
    scene = _scene(*small, more, large, worm=worms, eel=eels)
    keys = {("worm", 0): 0.9, ("eel", 0): 1.0}
    world = World(keys, {key: [] for key in keys}, [])
    found = _short(scene, world)  # a tenth of 363 J
    assert found == (36.3, "worm", [1.0, 1.0, 1.0, 0.637])
    assert _short(scene, world, 1.0, 1.0, 1.0, 1.0) == found
    # A gap of the plan is missing beside: a fifth of 140 J, and 20 J that are not planned.
    lacks = _mouth("a", missing_j=20.0, lacks="worm", worm=80.0)
    gap = _scene(lacks, large, worm=[Source(0, 140.0, 0.0)], eel=eels)
    world = World({**keys, ("worm", 0): 0.8}, world.gone, [])
    assert _short(gap, world) == (48.0, "worm", [0.8, 0.72])


def test_what_the_plan_leaves_short_is_short_in_every_draw() -> None:
    """Ten of 100 J by the plan; with bad luck 15 more. What it rounds away is no mishap."""
    lacks = _mouth(missing_j=10.0, lacks="eel", worm=90.0)
    scene = _scene(lacks, worm=[Source(0, 90.0, 0.0)])
    assert _short(scene, _world(1.0)) == (10.0, "eel", [0.9])
    assert _short(scene, _world(75 / 90)) == (25.0, "worm", [0.75])
    rounded = _scene(_mouth(missing_j=2.0, worm=98.0), worm=[Source(0, 98.0, 0.0)])
    assert _short(rounded, _world(1.0)) == (0.0, "", [1.0])
    assert _short(rounded, _world(95 / 98)) == (0.0, "", [0.97])
    assert _short(rounded, _world(94 / 98)) == (6.0, "worm", [0.96])
    # Marks that give 5 J more bear as much bad luck.
    more = _scene(_mouth(missing_j=-5.0, worm=105.0), worm=[Source(0, 105.0, 0.0)])
    assert _short(more, _world(97 / 105)) == (0.0, "", [0.97])
    assert _short(more, _world(95 / 105)) == (5.0, "worm", [0.95])


def test_a_brood_that_needs_more_than_is_planned_misses_it() -> None:
    """1.2 times as much; and less than is planned is no loss."""
    scene = _scene(_mouth(worm=100.0), worm=[Source(0, 100.0, 0.0)])
    missing, food, fed = _short(scene, _world(1.0), 1.2)
    assert (missing, fed) == (20.0, [_near(1 - 20 / 120, abs=1e-6)])
    assert food == ""  # nothing that was planned did not come
    assert _short(scene, _world(0.9), 0.9) == (0.0, "", [1.0])
    assert _short(scene, _world(0.9), 1.0) == (10.0, "worm", [0.9])
    assert _short(_scene(_mouth(need_j=0.0)), _world(), 1.0) == (0.0, "", [1.0])


def test_a_thin_swipe_is_given_as_if_it_were_whole() -> None:
    """Of 60 J of worms a fifth is not in the swipes; a thick one gives no more than planned."""
    mouth = _mouth(worm=60.0, eel=40.0)
    sources = {"worm": [Source(0, 60.0, 0.0)], "eel": [Source(0, 40.0, 0.0)]}
    keys = {("worm", 0): 1.0, ("eel", 0): 1.0}
    for share, fed in ((0.8, 0.88), (1.0, 1.0), (1.3, 1.0)):
        world = World(keys, {key: [] for key in keys}, [], portion={"worm": share, "eel": 1.0})
        assert _short(_scene(mouth, **sources), world, 1.0)[2] == [fed]
    half = World({**keys, ("worm", 0): 0.5}, {key: [] for key in keys}, [], portion={"worm": 0.8})
    # 30 J do not come, and of the 30 J that do a fifth.
    assert _short(_scene(mouth, **sources), half, 1.0)[2] == [0.64]


# --- a draw


class _Luck:
    """Draws that are given."""

    def __init__(self, normal: list[float], waits: list[float]) -> None:
        self.normal, self.waits, self.asked = iter(normal), iter(waits), list[tuple[float, float]]()

    def gauss(self, mean: float, sd: float) -> float:
        self.asked.append((mean, sd))
        return next(self.normal)

    def expovariate(self, rate: float) -> float:
        assert rate == 0.1
        return next(self.waits)


def _theatre(*lines: Line, hatches: tuple[float, ...] = (), end_h: float = 240.0) -> Theatre:
    theatre: Any = object.__new__(Theatre)
    theatre.hatch_energy_j, theatre.hatch_sigma = list(hatches), 0.2
    theatre.cultures, theatre.end_h = list(lines), end_h
    found: Theatre = theatre
    return found


def _line(
    number: int, *, parent: int | None = None, from_h: float = 0.0, crash: float = 0.0
) -> Line:
    of = None if parent is None else ("worm", parent)
    return Line(("worm", number), of, from_h, 0.3, 0.6, crash, 48.0)


def test_a_culture_takes_after_its_parent_in_part() -> None:
    """0.6 of the parent's luck, and of its own what makes the variance one: 0.8."""
    luck: Any = _Luck([0.5, 1.0, -2.0], [])
    world = _theatre(_line(0), _line(1, parent=0), hatches=(50.0,)).draw(luck)
    assert world.hatches == pytest.approx([50.0 * math.exp(0.2 * 0.5 - 0.02)])
    assert world.factor["worm", 0] == pytest.approx(math.exp(0.3 * 1.0 - 0.045))
    assert world.factor["worm", 1] == pytest.approx(math.exp(0.3 * (-1.6 + 0.6) - 0.045))
    assert luck.asked == [(0.0, 1.0)] * 3
    assert world.gone == {("worm", 0): [], ("worm", 1): []}


def test_a_culture_crashes_at_times_and_is_gone_until_another_is_ripe() -> None:
    """After two days, and three days after it is back; then past the end, on the tenth day."""
    luck: Any = _Luck([0.0], [2.0, 3.0, 1.0])
    world = _theatre(_line(0, crash=0.1)).draw(luck)
    assert world.gone["worm", 0] == [(48.0, 96.0), (168.0, 216.0), (240.0, 288.0)]
    once: Any = _Luck([0.0], [9.0])
    late = _theatre(_line(0, crash=0.1, from_h=24.0)).draw(once)
    assert late.gone["worm", 0] == [(240.0, 288.0)]


def test_a_split_of_what_is_gone_is_made_once_there_is_something_to_split() -> None:
    """The parent is gone from 48 to 96 h, the split was planned at 60 h: ripe 48 h after 96."""
    luck: Any = _Luck([0.0, 0.0], [2.0, 99.0, 1.0, 99.0])
    parent, child = _line(0, crash=0.1), _line(1, parent=0, from_h=60.0, crash=0.1)
    world = _theatre(parent, child).draw(luck)
    assert world.gone["worm", 1][0] == (60.0, 144.0)
    assert world.gone["worm", 1][1] == (168.0, 216.0)  # a day after it is ripe
    on_time: Any = _Luck([0.0, 0.0], [2.0, 99.0, 99.0])
    later = _theatre(parent, _line(1, parent=0, from_h=96.0, crash=0.1)).draw(on_time)
    assert later.gone["worm", 1] == [(96.0 + 99 * 24, 96.0 + 99 * 24 + 48.0)]


# --- what is drawn for, of a plan


def test_cultures_of_a_plan_begin_now_or_at_their_split() -> None:
    outlook = _outlook(days=21)
    theatre = Theatre(outlook)
    plan = outlook.feeding.worms["microworm"]
    values = plan.kind.values
    by_name = {stage.culture.name: n for n, stage in enumerate(plan.stages)}
    starts = {split.culture.name: split for split in plan.splits}
    assert starts
    lines = {line.key: line for line in theatre.cultures}
    assert [line.from_h for line in theatre.cultures] == sorted(x.from_h for x in theatre.cultures)
    for stage in plan.stages:
        name = stage.culture.name
        line, split = lines["microworm", by_name[name]], starts.get(name)
        assert line.sigma == pytest.approx(sigma(values["yield_spread"]))
        assert (line.inherited, line.crash_per_day) == (
            values["yield_inherited"], values["crash_per_day"]
        )  # fmt: skip
        age = first_harvest_age(stage.model, 15.0 * values["starter_mg_per_g"])
        assert line.ripening_h == pytest.approx(age / plan.kind.rate(20.0) * 24.0)
        if split is None:
            assert (line.parent, line.from_h) == (None, hours(outlook.now))
        else:
            assert line.parent == ("microworm", by_name[split.parent])
            assert line.from_h == outlook.feedings[split.at_index].at_h


def test_of_a_hatch_is_left_what_was_not_fed_before_now() -> None:
    """What was fed counts as it was at the harvest, before it was held."""
    outlook = _outlook(days=4)
    hatches, holding = outlook.feeding.hatches, outlook.room.holding
    batch = hatches.batches[0]
    at = outlook.feedings[1]
    outlook.now = outlook.feedings[2].at
    theatre: Any = object.__new__(Theatre)
    theatre.outlook = outlook
    share = holding.share(batch.harvest_h, at.at_h)
    for portions, used_j in (
        ((Portion(0, 3.0, 1.0),), 3.0 / share), ((), 0.0), ((Portion(1, 3.0, 1.0),), 0.0),
        ((Portion(0, 1e9, 1.0),), batch.energy_j),
    ):  # fmt: skip
        later = [(Portion(0, 5.0, 1.0),)] * (len(outlook.feedings) - 2)
        hatches.portions = [(), portions, *later]
        assert theatre._left_at_now(0) == pytest.approx(batch.energy_j - used_j)


def test_a_mouth_is_what_its_lines_give_it() -> None:
    """Dry food comes as a fill-in; worms that suit, the widest first."""
    outlook = _outlook(days=2)
    theatre = Theatre(outlook)
    brood = outlook.room.broods[0]
    need = BroodNeed(brood, _START, 12.0, 10, 100.0, {"brine_shrimp": 100.0})

    def line(food: str, given_j: float, name: str = "b") -> Any:
        return SimpleNamespace(food=food, given_j=given_j, brood=name)

    lines = [line(BRINE_SHRIMP, 70.0), line(DRY, 5.0), line("worm", 0.0), line("worm", 9.0, "c")]
    serving = Serving(need, need.foods, {BRINE_SHRIMP: 75.0})
    gap: Any = SimpleNamespace(food="brine_shrimp")
    suits: Any = lambda *_: 0.5  # noqa: E731
    theatre.suits, suits.dry_cap_j = suits, lambda _: 12.0
    mouth = theatre._mouth(serving, lines, gap)
    assert (mouth.need_j, mouth.missing_j, mouth.lacks) == (100.0, 25.0, BRINE_SHRIMP)
    assert (mouth.want_j, mouth.dry_extra_j) == ({BRINE_SHRIMP: 70.0}, 7.0)
    assert mouth.worms == ("microworm",)
    few: Any = lambda *_: 0.09  # noqa: E731
    theatre.suits, few.dry_cap_j = few, lambda _: 3.0
    plain = theatre._mouth(serving, lines, None)
    assert (plain.lacks, plain.dry_extra_j, plain.worms) == ("", 0.0, ())


def test_scenes_are_the_shown_rounds_at_which_somebody_feeds() -> None:
    away = "[[away]]\nfrom = 2027-01-07\nto = 2027-01-07\n"
    outlook = _outlook(days=4, away=away)
    scenes = Theatre(outlook).scenes()
    fed = [r for r in outlook.feedings if r.fed and outlook.now <= r.at < outlook.until]
    assert [scene.at for scene in scenes] == [r.at for r in fed]
    holding = outlook.room.holding
    for scene in scenes:
        expected = {
            number: holding.share(batch.harvest_h, scene.at_h)
            for number, batch in enumerate(outlook.feeding.hatches.batches)
            if batch.at_index <= scene.index
            and scene.at_h - batch.harvest_h <= holding.longest_h(batch.harvest_h) + 1 + 1e-9
        }
        assert dict(scene.held) == expected
        assert [mouth.brood for mouth in scene.mouths] == ["b"]
        per_mg = outlook.feeding.worms["microworm"].kind.fed_j_per_mg
        taken = sum(source.planned_j for source in scene.sources["microworm"])
        given = outlook.feeding.worms["microworm"].course.given_mg(scene.index)
        assert taken == pytest.approx(given * per_mg)


def test_a_truth_is_luck_in_another_room() -> None:
    theatre: Any = object.__new__(Theatre)
    theatre.outlook = SimpleNamespace(feeding=SimpleNamespace(worms={"worm": 1}))
    theatre.hatch_guess = SimpleNamespace(factors=lambda _: [0.5, 2.0])
    luck = World({("worm", 0): 1.5}, {("worm", 0): []}, [10.0, 20.0])
    guess = Guess({}, {("yield", "worm"): math.log(0.8), ("swipe", "worm"): math.log(1.1)})
    truth = theatre.truth(luck, guess)
    assert truth.hatches == [5.0, 40.0]
    assert (truth.factor, truth.gone) == (luck.factor, luck.gone)
    assert truth.level == {"worm": pytest.approx(0.8)}
    assert truth.portion == {"worm": pytest.approx(1.1)}


def test_draws_are_the_same_each_time_and_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rounds at which nobody feeds count for each brood that would eat."""
    monkeypatch.setattr(module, "drawn", lambda _, rng: rng.random())
    theatre: Any = SimpleNamespace(
        draw=lambda rng: rng.random(), laws={}, truth=lambda luck, guess: (luck, guess),
        wants=lambda *_: None,
    )  # fmt: skip
    monkeypatch.setattr(module, "play", lambda scene, world, wants=0: (scene, world, wants))
    trials = Trials(theatre, ["one", "two"], 3)  # type: ignore[list-item]
    first: list[Any] = list(trials.run(4))
    again: list[Any] = list(trials.run(3))
    assert again == first[:3]
    assert len({trial.guess for trial in first}) == 4
    for trial in first:
        (scene, luck, wants), _ = trial.by_luck
        assert (scene, wants, trial.unfed) == ("one", 0, 3)
        assert trial.really == [
            ("one", (luck, trial.guess), None),
            ("two", (luck, trial.guess), None),
        ]
    rounds = _rounds(6, away=(0, 2, 5))
    feeding: Any = SimpleNamespace(feedings=rounds, needs=[["x"] * n for n in (1, 2, 3, 4, 5, 6)],
                                   now=rounds[1].at, until=rounds[5].at)  # fmt: skip
    monkeypatch.setattr(module, "Theatre", lambda _: SimpleNamespace(scenes=list))
    assert Trials.of(feeding).unfed == 3
    feeding.until = rounds[5].at + timedelta(minutes=1)
    assert Trials.of(feeding).unfed == 9
