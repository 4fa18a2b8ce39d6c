"""From when on a journal teaches: the limits of docs/learning.md, each from both sides.

The room is that of `test_replay_by_hand`: one microworm box, and a bottle at 27 °C, where a
physiological hour of cysts is an hour and T10 and T90 are 17 and 23 of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import pytest
from attrs import evolve
from scipy import stats

from cultures.foods.hatching import hatched_fraction, log_logistic_shape
from cultures.learning import learn
from cultures.learning.estimates import Estimate
from cultures.learning.learn import LEAST_READINGS, LEVEL, _how_sure, _Judge, _moved, _own_values
from cultures.learning.posterior import Normal, Reading, _HatchFit, fit_hatches, loosened
from cultures.replay.observations import (
    CultureWatched,
    HatchObserved,
    LengthObserved,
    Observations,
    SwipeObserved,
    YieldObserved,
)
from cultures.replay.own_values import OwnValues
from tests.unit.test_replay_by_hand import ROOM, _at

_NOW_H = 24.0 * 20_000
_T50_H, _SHAPE = log_logistic_shape(t10_h=17, t90_h=23)
#: How long 180 and 365 days' readings take to weigh a fiftieth [d].
_GONE_180, _GONE_365 = (days * math.log2(50) for days in (180, 365))
_NO_CULTURES = evolve(ROOM, cultures=())


def _judge(**seen: Any) -> _Judge:
    return _Judge(ROOM, Observations(**seen), _NOW_H)


def _of(estimates: Iterable[Estimate], subject: str = "microworm") -> Estimate:
    return next(e for e in estimates if e.subject == subject)


def _hatch(hours: float, per_gram: float = 2e5, batch: str = "a", days: float = 1) -> HatchObserved:
    return HatchObserved(batch, _NOW_H - 24 * days, hours, 1.0, per_gram, 0.1, 2)


def _harvest(taken: float, days: float = 1, *, ripe: bool = True, culture: str = "MW-1",
             at_least: bool = False) -> YieldObserved:  # fmt: skip
    return YieldObserved("microworm", culture, _NOW_H - 24 * days, taken, 100.0, ripe, at_least,
                         False)  # fmt: skip


def _swipe(mg: float, days: float = 1) -> SwipeObserved:
    return SwipeObserved("microworm", _NOW_H - 24 * days, mg, 0.1)


def _span(days: float, *, crashed: bool = False) -> CultureWatched:
    return CultureWatched("microworm", _NOW_H - 24 * days, _NOW_H, crashed)


def test_the_plan_moves_from_so_many_readings_on() -> None:
    """The table of docs/learning.md: two, three for times and yields, one crash."""
    assert LEAST_READINGS == {
        "nauplii_per_gram": 2, "hatch_time": 3, "yield": 3, "swipe": 2, "growth": 2, "crash": 1
    }  # fmt: skip
    assert LEVEL == 0.8
    law = Normal(0.0, 0.1)
    for quantity, least in LEAST_READINGS.items():
        for readings in (least - 1, least):
            got = _judge().estimate(quantity, "x", "", law, law, readings, None)
            assert got.learned is (readings == least), quantity


@pytest.mark.parametrize(("off", "learned"), [("swipe", False), ("all", False), ("yield", True)])
def test_what_is_turned_off_is_not_learned(off: str, learned: bool) -> None:
    judge = _judge(off={off}, swipes=[_swipe(30.0)] * 3, spans=[_span(300)])
    assert _of(judge.swipes()).learned is learned
    assert _of(judge.crashes()).learned is (off != "all")
    assert _of(_judge(off={"crash"}, spans=[_span(300)]).crashes()).learned is False


def test_kinds_are_those_that_stand_and_those_of_which_something_was_seen() -> None:
    """Each of them alone is enough, since a kind may be gone from the room by now."""
    for seen in (
        Observations(swipes=[_swipe(20)]), Observations(yields=[_harvest(50)]),
        Observations(spans=[_span(9)]),
    ):  # fmt: skip
        kinds = _Judge(_NO_CULTURES, seen, _NOW_H)._kinds()
        assert [kind.name for kind in kinds] == ["microworm"]
    assert _Judge(_NO_CULTURES, Observations(), _NOW_H)._kinds() == []
    assert [kind.name for kind in _judge()._kinds()] == ["microworm"]


@pytest.mark.parametrize(("days", "counts"), [(_GONE_180 - 1, True), (_GONE_180 + 1, False)])
def test_what_weighs_less_than_a_fiftieth_is_no_reading(days: float, counts: bool) -> None:
    assert _of(_judge(yields=[_harvest(50, days)]).yields({})).readings == counts
    level, _ = _judge(hatches=[_hatch(30, days=days)]).hatches()
    assert level.readings == counts
    later = days + _GONE_365 - _GONE_180
    assert _of(_judge(swipes=[_swipe(20, later)]).swipes()).readings == counts


def test_harvests_that_teach_are_ripe_and_more_than_nothing() -> None:
    for harvest, counts in (
        (_harvest(50), 1), (_harvest(50, ripe=False), 0), (_harvest(0.0), 0), (_harvest(0.01), 1),
    ):  # fmt: skip
        assert _of(_judge(yields=[harvest]).yields({})).readings == counts
    seen = _of(_judge(yields=[_harvest(50), _harvest(70), _harvest(90)]).yields({"microworm": 2.0}))
    assert seen.seen == pytest.approx(1.4)  # 70 of 100, times what was used for the 100


@pytest.mark.parametrize(("crashed", "short", "learned"), [(False, 0.1, False), (False, -0.1, True),
                                                          (True, 59.0, True)])  # fmt: skip
def test_crashes_take_sixty_culture_days_or_a_crash(
    crashed: bool, short: float, learned: bool
) -> None:
    """Days that count half after a year: an integral of 60 takes 63.8 of the last ones."""
    half = 365 / math.log(2)
    days = -half * math.log(1 - (60.0 - short) / half)
    got = _of(_judge(spans=[_span(days, crashed=crashed)]).crashes())
    assert got.learned is learned
    assert ("it takes 60 days or a crash" in got.why) is not learned


def test_a_crash_in_culture_days_is_a_conjugate_gamma() -> None:
    """A prior of 0.01 a day whose range 0.003 to 0.03 holds eight in ten on a logarithm."""
    sd = math.log(10) / (2 * stats.norm.ppf(0.9))
    shape = 1 / sd**2
    half = 365 / math.log(2)
    days = half * (1 - math.exp(-200 / half))
    got = _of(_judge(spans=[_span(200, crashed=True)]).crashes())
    assert got.prior[0] == pytest.approx(0.01)
    law = stats.gamma(shape + 1, scale=1 / (shape / 0.01 + days))
    assert got.posterior == pytest.approx((law.mean(), *law.ppf([0.1, 0.9])), rel=1e-4)
    assert got.seen == pytest.approx(1 / days)
    assert got.used == got.posterior[0]


def _hours_of(share: float) -> float:
    return _T50_H * math.exp(math.log(share / (1 - share)) / _SHAPE)


def test_a_look_at_which_even_a_fast_batch_has_hardly_begun_tells_nothing() -> None:
    """Two s.d. of the factor on the times faster than is usual, at less than 2 % hatched."""
    t10 = ROOM.hatch_kind.parameters["t10_h"]
    sd = math.log(t10.high / t10.low) / (2 * stats.norm.ppf(0.9))
    limit_h = _hours_of(0.02) / math.exp(2 * sd)
    assert hatched_fraction(_hours_of(0.02), t50_h=_T50_H, shape=_SHAPE) == pytest.approx(0.02)
    for hours, counts in ((limit_h * 0.999, 0), (limit_h * 1.001, 1)):
        level, _ = _judge(hatches=[_hatch(hours, 100.0)]).hatches()
        assert level.readings == counts


@pytest.mark.parametrize(("share", "shown"), [(0.949, None), (0.951, 123_000.0)])
def test_what_a_gram_gave_is_shown_of_hatches_that_were_done(
    share: float, shown: float | None
) -> None:
    level, _ = _judge(hatches=[_hatch(_hours_of(share), 123_000.0)]).hatches()
    assert level.seen == shown


def test_the_time_moves_where_hatches_were_looked_at_again_and_its_width_is_halved() -> None:
    """Two looks at each of three hatches that take a tenth longer; one look at each tells none."""
    late = 1.1

    def looks(hours: float, batch: str) -> HatchObserved:
        share = hatched_fraction(hours / late, t50_h=_T50_H, shape=_SHAPE)
        return _hatch(hours, 2e5 * share, batch)

    twice = [looks(hours, batch) for batch in "abc" for hours in (20.0, 30.0)]
    level, time = _judge(hatches=twice).hatches()
    assert time.learned
    assert time.used == pytest.approx(late, rel=0.03)
    prior_width = math.log(time.prior[2] / time.prior[1])
    assert math.log(time.posterior[2] / time.posterior[1]) <= 0.5 * prior_width
    once = [looks(20.0, batch) for batch in "abcdef"]
    level, time = _judge(hatches=once).hatches()
    assert (time.learned, time.used) == (False, 1.0)
    # Where a second look is as good as none, the width is not halved.
    bad = [h._replace(relative_sd=3.0) for h in twice]
    assert not _judge(hatches=bad).hatches()[1].learned
    assert level.learned


def test_nothing_is_asked_of_hatches_where_nobody_hatches() -> None:
    assert _Judge(evolve(ROOM, vessels=()), Observations(), _NOW_H).hatches() == []
    assert (
        len(_Judge(evolve(ROOM, vessels=()), Observations(hatches=[_hatch(30)]), 0.0).hatches())
        == 2
    )


@pytest.mark.parametrize(("factor", "moved"), [(0.049, False), (0.051, True), (-0.051, True)])
def test_what_is_judged_again_is_what_moved_by_more_than_a_twentieth(
    factor: float, moved: bool
) -> None:
    one, other = ({"microworm": x} for x in (20.0, 20 * math.exp(factor)))
    assert _moved(OwnValues(yields=one), OwnValues(yields=other)) is moved
    assert _moved(OwnValues(portions_mg=one), OwnValues(portions_mg=other)) is moved
    assert _moved(OwnValues(), OwnValues(yields={"microworm": 1.0}))
    assert not _moved(OwnValues(yields={"microworm": 1.0}), OwnValues())


def _estimate(quantity: str, used: float, *, learned: bool = True) -> Estimate:
    span = (used, 0.8 * used, 1.3 * used)
    return Estimate(quantity, "brine_shrimp", "", span, 3, None, span, used, learned, "")


def test_what_is_learned_is_used_and_how_sure_it_is_is_a_share_of_that() -> None:
    rows = [_estimate("nauplii_per_gram", 1e5), _estimate("hatch_time", 1.2, learned=False)]
    seen = Observations(hatches=[_hatch(20.0), _hatch(30.0)])
    own = _own_values(rows, seen, ())
    assert (own.nauplii_per_gram, own.hatch_time) == (1e5, 1.0)
    sure = _how_sure(rows, seen)
    assert [*sure.ranges] == [("nauplii_per_gram", "brine_shrimp")]
    assert sure.ranges["nauplii_per_gram", "brine_shrimp"] == pytest.approx((0.8, 1.3))
    assert sure.counted_h == 25.0  # at which they were counted in the middle
    slow = Observations(hatches=[h._replace(rate=0.5) for h in seen.hatches])
    assert _how_sure(rows, slow).counted_h == 12.5  # by their own clock
    both = [rows[0], _estimate("hatch_time", 1.2)]
    assert _how_sure(both, seen).counted_h is None
    assert _own_values(both, seen, ()).hatch_time == 1.2
    assert _how_sure([], seen).counted_h is None


def test_growth_is_the_share_of_the_days_that_a_length_stands_for() -> None:
    """Two lengths of half as many days again; the day of first food is an error in common."""
    rows = [LengthObserved("fry", "egg_scatterer", 15.0 * n, 10.0 * n, 0.05, 0.1) for n in (1, 2)]
    (got,) = _judge(lengths=rows).growth()
    rate = ROOM.fry_class("egg_scatterer").parameters["growth_rate_per_day"]
    prior = math.log(rate.high / rate.low) / (2 * stats.norm.ppf(0.9))
    own = 2 / 0.05**2
    common = 1 / (1 / own + 0.1**2)
    assert got.seen == pytest.approx(1.5)
    mean = common * math.log(1.5) / (common + prior**-2)
    assert math.log(got.posterior[0]) == pytest.approx(mean, rel=0.03)
    assert got.learned


# --- posteriors


def test_an_error_in_common_loosens_a_posterior_towards_its_prior() -> None:
    """Readings of precision 25 at 1.0 and a prior of precision 4 at 0.2; 0.3 more in common."""
    prior = Normal(0.2, 0.5)
    found = Normal((25 * 1.0 + 4 * 0.2) / 29, 29**-0.5)
    got = loosened(found, prior, 0.3)
    seen = 1 / (1 / 25 + 0.09)
    assert got.mean == pytest.approx((seen * 1.0 + 4 * 0.2) / (seen + 4))
    assert got.sd == pytest.approx((seen + 4) ** -0.5)
    same = loosened(found, prior, 0.0)
    assert (same.mean, same.sd) == pytest.approx((found.mean, found.sd))


def _log_share(tau_h: float) -> float:
    return math.log(max(hatched_fraction(tau_h, t50_h=_T50_H, shape=_SHAPE), 1e-12))


def _fit(*groups: tuple[Reading, ...]) -> _HatchFit:
    """A level of ln 200,000 +- 0.3 and a factor of 1 +- 0.1, and a luck of 0.2."""
    named = {str(n): rows for n, rows in enumerate(groups)}
    return _HatchFit(named, dict.fromkeys(named, 1.0), Normal(math.log(2e5), 0.3), Normal(0.0, 0.1),
                     _log_share, 0.2)  # fmt: skip


def _minus_log(fit: _HatchFit, a: float, s: float) -> float:
    """Minus the logarithm of the posterior by SciPy, but for what does not depend on a and s."""
    total = -stats.norm.logpdf(a, fit.level.mean, fit.level.sd)
    total -= stats.norm.logpdf(s, fit.speed.mean, fit.speed.sd)
    for name, rows in fit.groups.items():
        for row in rows:
            off = row.value - a - _log_share(row.tau_h / math.exp(s))
            sd = math.hypot(row.sd, fit.spread)
            total -= fit.weights[name] * stats.t.logpdf(off / sd, 4)
    return float(total)


def test_the_height_of_a_top_is_that_of_the_posterior() -> None:
    rows = (Reading(11.0, 0.1, 19.0), Reading(12.1, 0.2, 30.0))
    fit = _fit(rows, (Reading(11.8, 0.1, 26.0),))
    fit = evolve(fit, weights={"0": 0.5, "1": 0.25})
    lowest = _minus_log(_fit(), fit.level.mean, 0.0)
    lowest -= sum(len(r) * fit.weights[n] * stats.t.logpdf(0, 4) for n, r in fit.groups.items())
    for a, s in ((12.0, 0.0), (12.5, 0.3), (11.5, -0.2)):
        assert fit._height(a, s) == pytest.approx(_minus_log(fit, a, s) - lowest)


@pytest.mark.parametrize("factor", [0.7, 0.8, 1.0, 1.3, 1.5])
def test_of_several_tops_the_highest_is_taken(factor: float) -> None:
    """Batches up to four s.d. off, looked at when some are out and when all are."""

    def look(hours: float) -> Reading:
        return Reading(math.log(2e5) + _log_share(hours / factor), 0.1, hours)

    groups = [tuple(look(hours * factor) for hours in (17.0 + n, 30.0)) for n in range(4)]
    fit = _fit(*groups)
    level, speed = fit_hatches(
        fit.groups, fit.weights, fit.level, fit.speed, _log_share, spread=0.2
    )
    grid = min(
        fit._height(fit.level.mean + a / 50, s / 100)
        for a in range(-40, 41)
        for s in range(-75, 76)
    )
    assert fit._height(level.mean, speed.mean) <= grid + 0.1
    if factor >= 1.0:
        assert math.exp(speed.mean) == pytest.approx(factor, rel=0.08)


def test_each_quantity_has_its_unit() -> None:
    (swipe,) = _judge(swipes=[_swipe(30.0)]).swipes()
    assert (swipe.unit, swipe.seen) == ("mg a swipe", 30.0)
    assert swipe.why.endswith("; the value used is rough")
    assert not next(_judge(off={"swipe"}).swipes()).why.endswith("rough")
    enough = next(_judge(swipes=[_swipe(30.0), _swipe(31.0)]).swipes())
    assert enough.why == "from 2 readings and what is usual"
    eels = SwipeObserved("vinegar_eel", _NOW_H, 3.0, 0.1)
    assert _of(_judge(swipes=[eels]).swipes(), "vinegar_eel").unit == "mg a draw of 10 mL"
    assert _of(_judge(swipes=[eels]).swipes()).readings == 0
    assert _of(_judge(swipes=[_swipe(30.0)]).swipes()).prior[0] == pytest.approx(20.0)


def test_before_anything_is_seen_all_is_as_usual() -> None:
    level, time = _judge().hatches()
    assert level.used == pytest.approx(ROOM.hatch_kind.values["nauplii_per_gram"])
    assert time.used == _of(_judge().yields({})).used == 1.0
    assert (level.why, level.learned) == ("nothing was noted yet", False)
    (crash,) = _judge().crashes()
    assert crash.used == pytest.approx(0.01)
    assert crash.seen is None
    assert crash.why == "0 crashes in 0 culture-days; it takes 60 days or a crash"
    (one,) = _judge(spans=[_span(0.5, crashed=True)]).crashes()
    assert one.seen == pytest.approx(2.0, rel=1e-3)
    assert one.why == "1 crash in 0 culture-days"


def test_a_cold_bottle_has_fewer_hours_of_its_own() -> None:
    """A count after 40 hours at half the rate is one of 20 hours."""
    slow = _hatch(40.0)._replace(rate=0.5)
    assert _judge(hatches=[slow]).hatches() == _judge(hatches=[_hatch(20.0)]).hatches()


def test_the_luck_of_cultures_is_that_of_a_logarithm() -> None:
    """`yield_spread` 0.5 is ln(1 + 0.25) of variance; three cultures that gave 0.4 of the curve."""
    kind = ROOM.culture("MW-1").kind
    own = kind.parameters[kind.capacity_key]
    prior = math.log(own.high / own.low) / (2 * stats.norm.ppf(0.9))
    variance = math.log1p(0.25) + 0.3**2
    rows = [_harvest(40.0, 0.0, culture=name) for name in ("a", "b", "c")]
    got = _of(_judge(yields=rows).yields({}))
    seen = 3 / variance
    # Student's weight of what lies so far from where the level ends is 1 for all of these.
    mean = seen * math.log(0.4) / (seen + prior**-2)
    assert abs(math.log(0.4) - mean) < math.sqrt(variance)
    assert math.log(got.posterior[0]) == pytest.approx(mean, rel=1e-6)
    swiped = [y._replace(in_portions=True) for y in rows]
    loose = _of(_judge(yields=swiped).yields({}))
    portion = kind.parameters["portion_mg"]
    common = math.log(portion.high / portion.low) / (2 * stats.norm.ppf(0.9))
    seen = 1 / (1 / seen + common**2)
    mean = seen * math.log(0.4) / (seen + prior**-2)
    assert math.log(loose.posterior[0]) == pytest.approx(mean, rel=1e-6)


def test_yields_are_judged_again_up_to_four_times(monkeypatch: pytest.MonkeyPatch) -> None:
    """However long the answer goes on moving; and not once more where it stands still."""
    judged: list[object] = []

    def estimates(*used: object) -> list[Estimate]:
        judged.append(used)
        return []

    monkeypatch.setattr(learn, "_estimates", estimates)
    for moves, times in ((True, 1 + 4), (False, 1)):
        judged.clear()
        monkeypatch.setattr(learn, "_moved", lambda *_, moves=moves: moves)
        learn.learn(ROOM, (), _at(6))
        assert len(judged) == times
