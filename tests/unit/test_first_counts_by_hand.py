"""What a measurement is worth, by hand: normal laws, few draws, and the readings of each count."""

from __future__ import annotations

import math
import random
from datetime import UTC, date, datetime
from statistics import NormalDist
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.hatching import hatched_fraction
from cultures.needs.need import BroodCourse
from cultures.planning import first_counts as module
from cultures.planning.first_counts import (
    Gain,
    Measurement,
    Seen,
    _Listed,
    _Moves,
    _nothing,
    _Worth,
    first_counts,
    measurements,
)
from cultures.planning.harvests import Batch
from cultures.planning.unknowns import Guess, Key, Law, efforts, law_of
from cultures.replay.broods import growth_sd
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import HowSure, Room
from cultures.tasks.plan import Certainty
from cultures.words.moments import hours
from tests.unit.test_unknowns_by_hand import _TEXT

_NOW = datetime(2027, 1, 10, 12, tzinfo=UTC)
_LEVEL, _TIME = ("nauplii_per_gram", BRINE_SHRIMP), ("hatch_time", BRINE_SHRIMP)
_TENTH = NormalDist().inv_cdf(0.9)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=date(2027, 1, 5))


def _guesses(*values: float) -> list[Guess]:
    return [Guess({}, {("x", ""): value}) for value in values]


def _measure(*sds: float, name: str = "x") -> Measurement:
    seen = tuple(Seen(lambda guess: guess.logs[name, ""], sd) for sd in sds)
    return Measurement("swipe", "MW-1", 2, 8.0, ((name, ""),), seen)


# --- what is left of the doubt


def _normal() -> tuple[list[Guess], list[float]]:
    """A thousand draws at even shares of a normal law, in no order, and others beside them."""
    values = [NormalDist().inv_cdf((i + 0.5) / 1000) for i in range(1000)]
    rng = random.Random(3)
    rng.shuffle(values)
    other = rng.sample(values, 1000)
    guesses = [Guess({}, {("x", ""): x, ("y", ""): y}) for x, y in zip(values, other, strict=True)]
    return guesses, values


@pytest.mark.parametrize(
    ("sds", "share"), [((0.5,), 0.8), ((1.0,), 0.5), ((2.0,), 0.2), ((1.0, 1.0), 2 / 3)]
)
def test_a_reading_takes_away_what_a_normal_law_says(sds: tuple[float, ...], share: float) -> None:
    """Of a variance of 1 a reading with s.d. s leaves s² / (1 + s²), and of the width its root."""
    guesses, values = _normal()
    worth = _Worth(guesses, values)
    assert worth.width == pytest.approx(2 * _TENTH, rel=0.02)
    gain = worth.of(_measure(*sds))
    assert (gain.what, gain.subject, gain.times, gain.minutes) == ("swipe", "MW-1", 2, 8.0)
    # What is learned is the square of a normal number of this variance: its s.d. is as large
    # times the root of 2; of 200 readings tried, the mean is good to a fourteenth of that.
    assert gain.error == pytest.approx(share * math.sqrt(2) / math.sqrt(200), rel=0.3)
    assert gain.share == pytest.approx(share, abs=4 * gain.error)
    assert gain.width == pytest.approx(worth.width * math.sqrt(1 - share), rel=0.06)
    assert gain.per_minute == gain.share / 8.0
    # In tenths of it all is the same, but for the width.
    tenth = _Worth(guesses, [0.1 * x for x in values]).of(_measure(*sds))
    assert (tenth.share, tenth.error) == pytest.approx((gain.share, gain.error))
    assert tenth.width == pytest.approx(0.1 * gain.width)


def test_what_has_nothing_to_do_with_it_takes_nothing_away() -> None:
    guesses, values = _normal()
    worth = _Worth(guesses, values)
    gain = worth.of(_measure(0.5, name="y"))
    assert gain.share <= 4 * max(gain.error, 0.005)
    assert gain.width == pytest.approx(worth.width, rel=0.03)


def test_where_all_draws_come_to_the_same_there_is_nothing_to_learn() -> None:
    worth = _Worth(_guesses(0.0, 1.0, 2.0, 3.0), [0.7] * 4)
    assert worth.of(_measure(1.0)) == Gain("swipe", "MW-1", 2, 8.0, 0.0, 0.0, 0.0)
    assert _nothing(_measure(1.0), 0.4) == Gain("swipe", "MW-1", 2, 8.0, 0.0, 0.0, 0.4)


def _after(worth: _Worth, column: list[float], read: float, itself: int, sd: float = 1.0) -> Any:
    return worth._after([column], [sd], [read], itself)


def test_two_halves_of_the_draws_must_agree() -> None:
    """Four draws, 0 to 3, of mean 1.5; every second is of the one half. The draw itself is out."""
    worth = _Worth(_guesses(0.0, 0.0, 0.0, 0.0), [0.0, 1.0, 2.0, 3.0])
    assert (worth.mean, worth.variance, worth.half) == (1.5, 1.25, [0, 1, 0, 1])
    flat = [5.0] * 4
    # Left of the one half 0 and 2, of the other 1: off by -0.5 each.
    assert _after(worth, flat, 5.0, 3) == (pytest.approx(0.25), 2.0)
    assert _after(worth, flat, 5.0, 1) == (pytest.approx(-0.5 * 1.5), 3.0)
    assert _after(worth, flat, 99.0, 1) == (pytest.approx(-0.5 * 1.5), 3.0)  # all as unlikely
    # By how likely they would have read so: at s.d. 2 two off is exp(-1/2).
    weight = math.exp(-0.5)
    product, _ = _after(worth, [0.0, 0.0, 2.0, 2.0], 0.0, 3, sd=2.0)
    assert product == pytest.approx((2 * weight / (1 + weight) - 1.5) * (1.0 - 1.5))
    # Six s.d. off, and eighteen less likely in logarithms, is nothing; half 1 has no other.
    assert _after(worth, [0.0, 0.0, 0.0, 6.0], 0.0, 1) is None
    near = _after(worth, [0.0, 0.0, 0.0, 5.0], 0.0, 1)
    assert near == (pytest.approx(-0.5 * 1.5), 2.0)
    assert _after(worth, [0.0, 0.0, 0.0, 5.9], 0.0, 1) is None  # less than a millionth is left


def test_a_reading_that_only_its_own_draw_could_have_made_tells_nothing() -> None:
    """Ten apart at an s.d. of a tenth: no other draw has a say in it."""
    worth = _Worth(_guesses(0.0, 10.0, 20.0, 30.0), [0.0, 1.0, 2.0, 3.0])
    assert worth.of(_measure(0.1)) == Gain("swipe", "MW-1", 2, 8.0, 0.0, 0.0, worth.width)


def test_two_readings_are_likely_together() -> None:
    worth = _Worth(_guesses(0.0, 0.0, 0.0, 0.0), [0.0, 1.0, 2.0, 3.0])
    found = worth._after([[4, 4, 5, 5], [0, 0, 1, 1]], [1.0, 0.5], [4.0, 0.0], 3)
    assert found is not None
    weight = math.exp(-0.5 - 2.0)
    assert found[0] == pytest.approx((2 * weight / (1 + weight) - 1.5) * -0.5)


def test_draws_keep_their_half_when_they_are_sorted() -> None:
    worth = _Worth(_guesses(3.0, 1.0, 0.0, 2.0), [3.0, 1.0, 0.0, 2.0])
    assert worth.fed == [0.0, 1.0, 2.0, 3.0]
    assert worth.half == [0, 1, 1, 0]
    assert [guess.logs["x", ""] for guess in worth.guesses] == worth.fed


def test_eight_in_ten_of_weighed_draws() -> None:
    """A tenth of the weight is passed at the first of ten, nine tenths at the ninth."""
    worth = _Worth(_guesses(*[0.0] * 11), [float(i * i) for i in range(11)])
    assert worth._width([1.0] * 10 + [0.0], 10.0) == 64.0
    assert worth._width([0.05, 0.05, 0.8, 0.05, *[0.0] * 6, 0.05], 1.0) == 3.0  # from 1 to 4
    assert worth._width([0.0, 0.0, 1.0, *[0.0] * 8], 1.0) == 0.0
    assert worth._width([0.09, 0.8, *[0.0] * 8, 0.11], 1.0) == 99.0


# --- what moves a plan


def test_what_moves_nothing_far_off_in_eight_draws_moves_nothing() -> None:
    law = Law(0.5, 2.0)
    laws = {(name, ""): law for name in ("a", "b", "c")}
    played: list[tuple[str, float]] = []
    base = Guess(dict.fromkeys(laws, 0.0), dict.fromkeys(laws, 0.0))

    def play(luck: int, guess: Guess) -> list[Any]:
        played.extend((name, sds) for (name, _), sds in guess.sds.items() if sds)
        odd = guess.logs["b", ""] if luck == 8 else 0.0  # seen in the last draw alone
        return [SimpleNamespace(fed=(guess.logs["a", ""] > 0.0, odd))]

    lucks = iter(range(1, 100))
    theatre = SimpleNamespace(laws=laws, draw=lambda _: next(lucks))
    trials: Any = SimpleNamespace(
        theatre=theatre, play=play, run=lambda n: [SimpleNamespace(guess=base)] * n
    )
    moves = _Moves(trials)
    assert [moves((name, "")) for name in ("a", "b", "c")] == [True, True, False]
    assert played.count(("c", -2.5)) == played.count(("c", 2.5)) == 8
    before = len(played)
    assert not moves(("c", ""))
    assert len(played) == before  # known by now


def test_measurements_are_told_by_what_a_minute_of_them_brings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A reading of s.d. 1 halves a variance of 1, one of 0.5 leaves a fifth; what moves nothing
    brings nothing; of those that bring as much for a minute the shorter first. Of how much fry eat
    a fifth is left open: of its variance 0.04 of 1.04.
    """
    guesses, values = _normal()
    law, ration = Law(math.exp(-_TENTH), math.exp(_TENTH)), ("ration", "")  # an s.d. of 1
    laws = {("x", ""): law, ("y", ""): law, ration: law}
    for guess in guesses:
        guess.logs[ration] = guess.logs["x", ""]  # type: ignore[index]
        guess.sds.update(dict.fromkeys(laws, 0.0))  # type: ignore[attr-defined]
    asked: list[int] = []

    def run(draws: int) -> list[Any]:
        asked.append(draws)
        pairs = zip(guesses[:draws], values[:draws], strict=True)
        return [SimpleNamespace(guess=g, fed=lambda x=x: x) for g, x in pairs]

    def play(_: Any, guess: Guess) -> list[Any]:
        return [SimpleNamespace(fed=(guess.logs["x", ""], guess.logs[ration]))]

    trials = SimpleNamespace(
        run=run, play=play, theatre=SimpleNamespace(laws=laws, draw=lambda _: 0)
    )
    monkeypatch.setattr(module, "Trials", SimpleNamespace(of=lambda _: trials))
    sure = Certainty((0.5, 0.9), (0.6, 0.8))
    monkeypatch.setattr(module, "certainty_of", lambda found: sure if len(found) == 1000 else None)
    both = evolve(_measure(1.0), what="both", keys=(("x", ""), ("y", "")), minutes=4.0)
    tried = [evolve(_measure(1.0, name="y"), what="idle", minutes=9.0),
             evolve(_measure(1.0, name="y"), what="brief", minutes=5.0),
             evolve(_measure(0.5), what="fine", minutes=8.0), both]  # fmt: skip
    monkeypatch.setattr(module, "measurements", lambda *_: iter(tried))
    outlook: Any = None
    found = first_counts(outlook)
    assert asked == [1000, 8]
    assert [g.what for g in found.gains] == ["both", "fine", "brief", "idle"]
    assert [g.share for g in found.gains] == pytest.approx([0.5, 0.8, 0.0, 0.0], abs=0.2)
    assert [g.error for g in found.gains[2:]] == [0.0, 0.0]
    assert found.certainty == sure
    assert found.by_ration == pytest.approx(1 / 1.04, abs=0.2)
    assert found.by_ration > found.gains[1].share


# --- what can be measured


def _listed(room: Room, *, laws: dict[Key, Law] | None = None, batches: tuple[Batch, ...] = (),
            level: float = 0.0, now: datetime = _NOW) -> _Listed:  # fmt: skip
    known = {
        ("swipe", "microworm"): Law(0.5, 2.0), ("yield", "microworm"): Law(0.5, 2.0),
        _LEVEL: Law(0.5, 2.0), _TIME: Law(0.8, 1.25), ("tin", ""): Law(0.9, 1.1),
        ("growth", "one"): Law(0.8, 1.25),
    } | (laws or {})  # fmt: skip
    guess = SimpleNamespace(level=lambda _: level)
    trials: Any = SimpleNamespace(theatre=SimpleNamespace(laws=known, hatch_guess=guess))
    hatches = SimpleNamespace(batches=batches)
    outlook: Any = SimpleNamespace(room=room, now=now, until=now,
                                   feeding=SimpleNamespace(hatches=hatches, worms={}))  # fmt: skip
    return _Listed(outlook, trials)


def test_readings_of_one_luck_share_it(room: Room) -> None:
    """Three of 0.3 each: by themselves; with a luck of 0.4 of their own; of two and of one."""
    listed = _listed(room)
    assert listed._sd([[0.3]] * 3, 0.0) == pytest.approx(0.3 / math.sqrt(3))
    assert listed._sd([[0.3]] * 3, 0.4) == pytest.approx(0.5 / math.sqrt(3))
    two_and_one = 1 / (0.4**2 + 0.3**2 / 2) + 1 / (0.4**2 + 0.3**2)
    assert listed._sd([[0.3, 0.3], [0.3]], 0.4) == pytest.approx(1 / math.sqrt(two_and_one))


def _worms(listed: _Listed, name: str, *, medium: str = "solid") -> list[Measurement]:
    kind = listed.room.kinds[name]
    plan: Any = SimpleNamespace(kind=SimpleNamespace(medium=medium, values=kind.values))
    return list(listed.worms(name, plan))


def _standing(room: Room, *names: str) -> Room:
    kind: Any = room.kinds["microworm"]
    cultures: Any = tuple(SimpleNamespace(name=name, kind=kind) for name in names)
    return evolve(room, cultures=cultures)


def test_a_swipe_is_counted_twice_and_what_climbs_weighed_three_times(room: Room) -> None:
    """A count of thirty animals and the volumes, and a swipe that is never the same, 0.3 of it
    (docs/learning.md); the harvests of cultures in turn, with the luck of each.
    """
    count_sd = math.sqrt(1.4**2 / 30 + 0.05**2)
    spread = math.sqrt(math.log1p(room.kinds["microworm"].values["yield_spread"] ** 2))
    for names, groups in (
        (("A",), [3]), (("A", "B"), [2, 1]), (("A", "B", "C"), [1, 1, 1]),
        (("A", "B", "C", "D"), [1, 1, 1]),
    ):  # fmt: skip
        swipe, harvest = _worms(_listed(_standing(room, *names)), "microworm")
        assert (swipe.what, swipe.subject, swipe.times, swipe.minutes) == (
            "swipe",
            names[-1],
            2,
            12.0,
        )
        assert swipe.keys == (("swipe", "microworm"),)
        assert swipe.readings[0].sd == pytest.approx(
            math.hypot(count_sd, 0.3) / math.sqrt(2), rel=0.02
        )
        assert (harvest.what, harvest.subject, harvest.times) == ("harvest", names[-1], 3)
        assert (harvest.minutes, harvest.keys) == (30.0, (("yield", "microworm"),))
        information = sum(1 / (spread**2 + 0.3**2 / n) for n in groups)
        assert harvest.readings[0].sd == pytest.approx(1 / math.sqrt(information))
        guess = Guess({}, {("swipe", "microworm"): 0.4, ("yield", "microworm"): 0.7})
        assert (swipe.readings[0].of(guess), harvest.readings[0].of(guess)) == (0.4, 0.7)


def test_what_is_known_or_does_not_stand_is_not_counted(room: Room) -> None:
    assert _worms(_listed(room), "microworm") == []
    here = _standing(room, "A")
    (harvest,) = _worms(_listed(here, laws={("swipe", "microworm"): Law(1.0, 1.0)}), "microworm")
    assert harvest.what == "harvest"
    (draw,) = _worms(_listed(here, laws={("yield", "microworm"): Law(1.0, 1.0)}), "microworm",
                     medium="liquid")  # fmt: skip
    assert draw.what == "draw"
    sure = evolve(here, sure=HowSure({("swipe", "microworm"): (0.9, 1.1)}))
    assert [m.times for m in _worms(_listed(sure), "microworm")] == [1, 3]


def _batch(room: Room, stood_h: float, **more: Any) -> Batch:
    at_h = hours(_NOW)
    return Batch(room.vessels[0], 0, at_h - stood_h, at_h, 1.0, 1.0, 1.0, **more)


def test_a_hatch_is_counted_when_it_is_done_and_before(room: Room) -> None:
    """The middle one of those that stand longest, as old as it will be; at T50 for its time."""
    batches = (
        _batch(room, 30.0),
        _batch(room, 20.0),
        _batch(room, 99.0, held=True),
        _batch(room, 24.0),
    )
    listed = _listed(room, batches=batches, level=0.25, laws={("spoon", ""): Law(0.9, 1.1)})
    done, early = listed.hatches()
    count_sd = math.sqrt(1.4**2 / 30 + 0.05**2)
    spread = room.hatch_kind.values["yield_spread"]
    assert (done.what, done.times, done.minutes) == ("hatch", 2, 12.0)
    assert (early.what, early.times, early.minutes) == ("hatch_time", 2, 24.0)
    assert done.keys == early.keys == (_LEVEL, _TIME, ("spoon", ""))
    assert done.readings[0].sd == pytest.approx(
        math.hypot(count_sd, spread) / math.sqrt(2), rel=0.02
    )
    assert early.readings[0] is done.readings[0]
    assert early.readings[1].sd == pytest.approx(count_sd, rel=0.02)  # a difference of two means
    model = vessel_model(room, room.vessels[0])
    tau_h, later = 24.0 * model.rate, math.exp(0.2)

    def over(age_h: float) -> float:
        late, usual = (
            hatched_fraction(age_h, t50_h=model.t50_h * f, shape=model.shape) for f in (later, 1.0)
        )
        return math.log(late / usual)

    guess = Guess({}, {_TIME: 0.2, ("spoon", ""): 0.1})
    assert done.readings[0].of(guess) == pytest.approx(0.25 + 0.1 + over(tau_h))
    assert early.readings[1].of(guess) == pytest.approx(over(model.t50_h) - over(tau_h))
    sure = _listed(evolve(room, sure=HowSure({_LEVEL: (0.9, 1.1)})), batches=batches)
    (_, once) = sure.hatches()
    assert (once.times, once.minutes) == (1, 12.0)
    assert once.readings[1].sd == pytest.approx(count_sd * math.sqrt(2), rel=0.02)
    # So late that next to nothing has hatched: a millionth.
    never = Guess({}, {_TIME: 9.0})
    usual = hatched_fraction(tau_h, t50_h=model.t50_h, shape=model.shape)
    assert done.readings[0].of(never) == pytest.approx(0.25 + math.log(1e-6 / usual))


def test_nothing_is_counted_of_hatches_that_are_over(room: Room) -> None:
    assert list(_listed(room).hatches()) == []
    assert list(_listed(room, batches=(_batch(room, 20.0, held=True),)).hatches()) == []
    one = list(_listed(room, batches=(_batch(room, 20.0),)).hatches())
    assert one[0].keys == (_LEVEL, _TIME)  # no spoon
    two = _listed(room, batches=(_batch(room, 20.0), _batch(room, 30.0)))
    of_two = next(iter(two.hatches())).readings[0].of(Guess({}, {_TIME: 0.2}))
    of_long = next(iter(_listed(room, batches=(_batch(room, 30.0),)).hatches()))
    assert of_two == pytest.approx(of_long.readings[0].of(Guess({}, {_TIME: 0.2})))


def test_fish_are_counted_and_measured_once_that_tells_something(room: Room) -> None:
    """Counted and 6 mm on 3 January; measured again from three days of growth on."""
    brood = room.broods[0]
    fish, length = _listed(room).fish(brood)
    assert (fish.what, fish.subject, fish.times, fish.minutes) == ("fish", "one", 1, 10.0)
    assert fish.keys == (("count", "one"), ("survival", "one"))
    assert fish.readings[0].sd == pytest.approx(law_of(efforts()["counted_share"]).sd)
    guess = Guess({}, {("count", "one"): 0.3, ("survival", "one"): -0.01, ("growth", "one"): 0.5})
    assert fish.readings[0].of(guess) == pytest.approx(0.3 - 0.07)  # seven days
    ahead = evolve(brood, counted_on=date(2027, 1, 12))
    (again, _) = _listed(room).fish(ahead)
    assert again.readings[0].of(guess) == pytest.approx(0.3)
    course = BroodCourse.of(room, brood)
    days = course.clock.days(course.from_h, hours(_NOW))
    sd = growth_sd(brood.fry_class, course.length_mm(hours(_NOW)), course.grown_from, 5)
    assert sd is not None
    assert (length.what, length.times, length.minutes) == ("length", 2, 20.0)
    assert length.readings[0].sd == pytest.approx(math.hypot(sd / math.sqrt(2), 0.7 / days))
    assert length.readings[0].of(guess) == 0.5
    # Three days at the reference of its class.
    reference_c = brood.fry_class.values["t_ref_c"]
    tanks = tuple(evolve(tank, temperature_c=reference_c) for tank in room.tanks)
    warm = evolve(room, tanks=tanks)
    for hour, count in ((23, 1), (24, 2)):
        now = (
            datetime(2027, 1, 5, hour, tzinfo=UTC)
            if hour < 24
            else datetime(2027, 1, 6, 1, tzinfo=UTC)
        )
        assert len(list(_listed(warm, now=now).fish(brood))) == count
    assert len(list(_listed(room, now=datetime(2027, 1, 1, tzinfo=UTC)).fish(brood))) == 1


def test_the_tin_and_a_spoon_are_weighed_where_there_are_such(room: Room) -> None:
    sd = law_of(efforts()["weighed_share"]).sd
    (tin,) = _listed(room).tin()
    assert (tin.what, tin.times, tin.minutes, tin.readings[0].sd) == ("tin", 1, 2.0, sd)
    spoons = _listed(evolve(room, cysts=None), laws={("spoon", ""): Law(0.9, 1.1)})
    (spoon,) = spoons.tin()
    assert (spoon.what, spoon.times, spoon.minutes, spoon.readings[0].sd) == ("spoon", 1, 5.0, sd)


def test_all_that_can_be_measured_is_listed(room: Room) -> None:
    listed = _listed(_standing(room, "A"), batches=(_batch(room, 20.0),))
    kind = room.kinds["microworm"]
    listed.outlook.feeding.worms = {"microworm": SimpleNamespace(kind=kind)}  # type: ignore
    trials: Any = SimpleNamespace(
        theatre=SimpleNamespace(laws=listed.laws, hatch_guess=listed.hatched)
    )
    found = [m.what for m in measurements(listed.outlook, trials)]
    assert found == ["swipe", "harvest", "hatch", "hatch_time", "fish", "length", "tin"]
