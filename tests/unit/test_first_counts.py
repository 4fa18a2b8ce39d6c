"""What to measure first: against a nested simulation, and what must hold whatever the numbers."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from datetime import date, datetime
from statistics import NormalDist, fmean, pvariance

import pytest
from attrs import evolve
from scipy.stats import norm

from cultures.fry.feeding import feeding_parameters
from cultures.learning.estimates import SWIPE_SD
from cultures.learning.posterior import Normal, Reading, fit_level
from cultures.needs.need import room_needs
from cultures.planning import trials as trials_module
from cultures.planning.first_counts import Gain, first_counts, measurements
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.risk import chances
from cultures.planning.servings import SHORT_SHARE
from cultures.planning.trials import Trials
from cultures.planning.unknowns import Guess, Key, Law, drawn, efforts, law_of, laws_of
from cultures.replay.own_values import grown
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import HowSure
from tests.unit.test_risk import _outlook as hatching

TODAY = date(2027, 1, 5)

#: Two kinds of worms whose swipe and level are known to what is given; one of them feeds nobody.
_ROOM = """
[room]
timezone = "UTC"
temperature_c = 23
as_of = 2027-01-04
rounds = ["07:30", "18:30"]
spare_cultures = 1
[[kind]]
name = "attic_worm"
like = "microworm"
[kind.parameters]
portion_mg = {{ value = 20, range = [{swipe_low}, {swipe_high}], status = "assumption" }}
capacity_mg_per_cm2 = {{ value = 50, range = [{low}, {high}], status = "assumption" }}
capacity_mg_per_g = {{ value = 75, range = [{g_low}, {g_high}], status = "assumption" }}
[[tank]]
name = "T"
litres = 40
temperature_c = 26
[[brood]]
name = "b"
tank = "T"
class = "egg_scatterer"
count = {count}
free_swimming = 2027-01-01
foods = ["attic_worm"]
[[culture]]
name = "AW-1"
kind = "attic_worm"
started = 2026-12-24
medium_g = 150
surface_cm2 = 180
starter_g = 10
[[culture]]
name = "AW-2"
kind = "attic_worm"
started = 2026-12-26
medium_g = 150
surface_cm2 = 180
starter_g = 10
[[culture]]
name = "BW-1"
kind = "banana_worm"
started = 2026-12-26
medium_g = 150
surface_cm2 = 180
starter_g = 10
[cysts]
grams = 30
"""


def _worms(*, swipe: float = 1.2, level: float = 1.2, days: int = 7, count: int = 150) -> Outlook:
    """The room with a swipe and a level that are known to these factors."""
    text = _ROOM.format(
        swipe_low=20 / swipe, swipe_high=20 * swipe, low=50 / level, high=50 * level,
        g_low=75 / level, g_high=75 * level, count=count,
    )  # fmt: skip
    room = read_room(text, today=TODAY)
    return make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=days)


def _gain(outlook: Outlook, what: str, subject: str) -> Gain:
    gains = first_counts(outlook, draws=600).gains
    return next(g for g in gains if (g.what, g.subject) == (what, subject))


@pytest.mark.parametrize(
    ("swipe", "level", "count", "first"), [(4.0, 1.05, 150, "swipe"), (1.05, 12.0, 1200, "harvest")]
)
def test_what_feeds_most_and_is_known_least_comes_first(
    swipe: float, level: float, count: int, first: str
) -> None:
    gains = first_counts(_worms(swipe=swipe, level=level, count=count), draws=600).gains
    assert (gains[0].what, gains[0].subject) == (first, "AW-2")
    assert gains[0].share > 0.1


def test_what_feeds_nobody_gains_nothing() -> None:
    """Banana worms that nobody is given, and a tin of which nothing is hatched."""
    outlook = _worms(swipe=4.0)
    gains = first_counts(outlook, draws=400).gains
    idle = [g for g in gains if g.subject == "BW-1" or g.what == "tin"]
    assert {g.what for g in idle} == {"swipe", "harvest", "tin"}
    whole = first_counts(outlook, draws=400).certainty.fed
    for gain in idle:
        assert (gain.share, gain.error) == (0.0, 0.0)
        assert gain.width == pytest.approx(whole[1] - whole[0])


def test_ranking_is_by_what_a_minute_brings() -> None:
    rates = [g.per_minute for g in first_counts(_worms(swipe=3.0), draws=400).gains]
    assert rates == sorted(rates, reverse=True)


def test_what_was_counted_is_worth_less_to_count_again() -> None:
    outlook = _worms(swipe=4.0)
    before = _gain(outlook, "swipe", "AW-2")
    sure = HowSure({("swipe", "attic_worm"): (1 / 1.1, 1.1)})
    after = _gain(
        make_outlook(evolve(outlook.room, sure=sure), now=outlook.now, days=7), "swipe", "AW-2"
    )
    assert (before.times, after.times) == (2, 1)
    assert after.share < 0.1 * before.share


def test_the_same_room_gives_the_same_answer() -> None:
    outlook = _worms(swipe=2.0, days=4)
    assert first_counts(outlook, draws=200) == first_counts(outlook, draws=200)


def _nested(outlook: Outlook, key: Key, sd: float, times: int) -> tuple[float, float]:
    """(share of the variance that is gone after a count, its standard error), by simulating counts.

    A truth is drawn, counted with errors, and learned from; then the plan is carried out in rooms
    drawn from what was learned.
    """
    trials, rng = Trials.of(outlook), random.Random(5)
    laws, prior = trials.theatre.laws, Normal(0.0, trials.theatre.laws[key].sd)

    def fed(log: float | None) -> float:
        guess = drawn(laws, rng)
        if log is not None:
            guess = Guess(guess.sds, {**guess.logs, key: log})
        played = trials.play(trials.theatre.draw(rng), guess)
        return fmean(share for p in played for share in p.fed)

    left = []
    for _ in range(80):
        truth = rng.gauss(0.0, prior.sd)
        rows = {str(i): [Reading(truth + rng.gauss(0.0, sd), sd)] for i in range(times)}
        after = fit_level(rows, dict.fromkeys(rows, 1.0), prior, spread=0.0)
        inner = [fed(rng.gauss(after.mean, after.sd)) for _ in range(60)]
        left.append(pvariance(inner) * 60 / 59)
    whole = pvariance([fed(None) for _ in range(2000)])
    return 1.0 - fmean(left) / whole, math.sqrt(pvariance(left) / len(left)) / whole


def test_the_gain_is_that_of_a_nested_simulation() -> None:
    """Within four standard errors, for a swipe that decides much; not that of a bad count."""
    outlook = _worms(swipe=4.0, days=4)
    trials = Trials.of(outlook)
    listed = [m for m in measurements(outlook, trials) if m.what == "swipe"]
    swipe = next(m for m in listed if m.subject == "AW-2")
    drop_sd = math.sqrt(1.4**2 / 30 + 0.05**2)  # thirty animals, and volumes (docs/learning.md)
    sd = math.hypot(drop_sd, SWIPE_SD)
    assert swipe.readings[0].sd == pytest.approx(sd / math.sqrt(2), rel=0.02)
    expected, error = _nested(outlook, ("swipe", "attic_worm"), sd, swipe.times)
    found = _gain(outlook, "swipe", "AW-2")
    assert expected > 0.2
    assert found.share == pytest.approx(expected, abs=4 * math.hypot(error, found.error))
    rough, _ = _nested(outlook, ("swipe", "attic_worm"), 20 * sd, swipe.times)
    assert rough < found.share - 4 * found.error


def test_so_is_that_of_two_hatches(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each with its own luck, of which the level is learned; nothing else is unknown."""
    key = ("nauplii_per_gram", "brine_shrimp")
    _only({key: Law(1 / 1.6, 1.6)}, monkeypatch)
    outlook = hatching(0.1)
    spread = outlook.room.hatch_kind.values["yield_spread"]
    sd = math.sqrt(1.4**2 / 30 + 0.05**2 + spread**2)
    expected, error = _nested(outlook, key, sd, 2)
    found = _gain(outlook, "hatch", "")
    assert expected > 0.3
    assert found.share == pytest.approx(expected, abs=4 * math.hypot(error, found.error))


# --- what is drawn


def _only(keep: Mapping[Key, Law], monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything is known but what is kept."""

    def known(outlook: Outlook) -> dict[Key, Law]:
        return {key: keep.get(key, Law(1.0, 1.0)) for key in laws_of(outlook)}

    monkeypatch.setattr(trials_module, "laws_of", known)


@pytest.mark.parametrize("margin", [0.0, 0.4])
def test_a_level_that_is_not_known_adds_to_the_luck(
    margin: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One hatch a round: short as often as a lognormal of both variances says."""
    level = Law(1 / 1.6, 1.6)
    _only({("nauplii_per_gram", "brine_shrimp"): level}, monkeypatch)
    outlook = hatching(margin)
    room, hatches = outlook.room, outlook.feeding.hatches
    uses = [p.batch for portions in hatches.portions for p in portions]
    luck = math.log1p(room.hatch_kind.values["yield_spread"] ** 2)
    assert level.sd == pytest.approx(math.log(1.6) / NormalDist().inv_cdf(0.9))
    draws, checked = 3000, 0
    risks = {r.at: r for r in chances(outlook, draws=draws).rounds}
    for feeding, portions in zip(outlook.feedings, hatches.portions, strict=True):
        if feeding.at not in risks or len(portions) != 1 or uses.count(portions[0].batch) != 1:
            continue
        batch = hatches.batches[portions[0].batch]
        held = math.exp(-room.hatch_kind.loss_per_h(23.0) * (feeding.at_h - batch.harvest_h))
        needed = portions[0].energy_j / batch.energy_j / held * (1.0 - SHORT_SHARE)
        expected = norm.cdf((math.log(needed) + luck / 2) / math.sqrt(luck + level.sd**2))
        error = math.sqrt(expected * (1 - expected) / draws)
        assert risks[feeding.at].all_told == pytest.approx(expected, abs=4.5 * error)
        checked += 1
    assert checked >= 2


def test_where_all_is_known_only_luck_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    _only({}, monkeypatch)
    for outlook in (hatching(0.1), _worms(days=4)):
        found = chances(outlook, draws=300)
        assert [r.all_told for r in found.rounds] == [r.probability for r in found.rounds]
        assert found.certainty.fed == found.certainty.by_luck


def test_a_late_batch_gives_what_its_model_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    """T10 and T90 both 1.5 times as long, at a harvest that is not put off."""
    law = Law(1 / 1.5, 1.5)
    _only({("hatch_time", "brine_shrimp"): law}, monkeypatch)
    outlook = hatching(0.1)
    trials, room = Trials.of(outlook), outlook.room
    kind = room.hatch_kind
    known = drawn(trials.theatre.laws, random.Random(1))
    guess = known.moved(trials.theatre.laws, ("hatch_time", "brine_shrimp"), 1.25)
    factors = trials.theatre.hatch_guess.factors(guess)
    exact = math.exp(law.log(1.25))
    times = {name: exact * kind.values[name] for name in ("t10_h", "t90_h")}
    late = evolve(room, hatch_kind=evolve(kind, values={**kind.values, **times}))
    for batch, factor in zip(outlook.feeding.hatches.batches, factors, strict=True):
        stood_h = batch.harvest_h - batch.set_h
        expected = vessel_model(late, batch.vessel).energy(stood_h)
        expected /= vessel_model(room, batch.vessel).energy(stood_h)
        assert factor == pytest.approx(expected, rel=1e-6)
        assert factor < 0.9


def test_a_tin_with_less_in_it_leaves_the_last_hatches_short(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _only({("tin", ""): Law(0.5, 2.0)}, monkeypatch)
    outlook = hatching(0.1)
    assert outlook.room.cysts is not None
    batches = outlook.feeding.hatches.batches
    whole_g = math.fsum(b.cysts_g for b in batches)
    room = evolve(outlook.room, cysts=evolve(outlook.room.cysts, grams=whole_g))
    trials = Trials.of(evolve(outlook, room=room))
    known = drawn(trials.theatre.laws, random.Random(1))
    guess = Guess(known.sds, {**known.logs, ("tin", ""): math.log(0.5)})
    factors = trials.theatre.hatch_guess.factors(guess)
    set_g = math.fsum(b.cysts_g * f for b, f in zip(batches, factors, strict=True))
    assert set_g == pytest.approx(0.5 * whole_g)
    in_order = [f for _, f in sorted(zip(batches, factors, strict=True), key=lambda x: x[0].set_h)]
    assert in_order == sorted(in_order, reverse=True)
    assert in_order[0] == 1.0


def test_a_brood_that_grows_faster_needs_more() -> None:
    """At the fast end of its class, with twice the fry and half as much again for each."""
    outlook = _worms(days=4)
    trials, room = Trials.of(outlook), outlook.room
    laws = trials.theatre.laws
    known = dict.fromkeys(laws, 0.0)
    fast = NormalDist().inv_cdf(0.9)
    guess = Guess(
        {**known, ("growth", "b"): fast},
        {**known, ("count", "b"): math.log(2), ("ration", ""): math.log(1.5)},
    )
    (brood,) = room.broods
    quick = grown(brood.fry_class, laws["growth", "b"].high)
    rows = room_needs(evolve(room, broods=(evolve(brood, fry_class=quick),)), outlook.feedings)
    scene = trials.scenes[-1]
    (need,) = rows[scene.index]
    (factor,) = trials.theatre.wants(scene, guess)
    assert factor == pytest.approx(3 * need.energy_j / outlook.needs[scene.index][0].energy_j)


def test_laws_are_the_ranges_of_the_data() -> None:
    parameter = feeding_parameters()["ration_at_1mg"]
    law = law_of(parameter)
    tenth = NormalDist().inv_cdf(0.9)
    assert parameter.value * math.exp(law.log(tenth)) == pytest.approx(parameter.high)
    assert parameter.value * math.exp(law.log(-tenth)) == pytest.approx(parameter.low)
    assert law.log(0.0) == 0.0


def test_efforts_are_named_as_practice() -> None:
    for name, parameter in efforts().items():
        assert parameter.status == "practice", name
        assert parameter.sources == ("practice",), name
        assert parameter.low <= parameter.value <= parameter.high, name
