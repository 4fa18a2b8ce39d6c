"""What is learned: against conjugate formulas and SciPy, and that blunders do not teach."""

from __future__ import annotations

import math
import random
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from scipy import integrate, stats

from cli.commands.demo_room import demo_text
from cultures.foods.hatching import hatched_fraction
from cultures.journal.counting import DropCount
from cultures.journal.entries import Entry
from cultures.learning.estimates import Estimate
from cultures.learning.learn import Learned
from cultures.learning.posterior import Normal, Reading, fit_hatches, fit_level
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.unit.recorded import learn, room_at

_ZONE = ZoneInfo("Europe/Lisbon")
_TODAY = date(2027, 1, 5)


@pytest.fixture(scope="module")
def room() -> Room:
    """The demo room, true as of 4 January."""
    return read_room(demo_text(_TODAY), today=_TODAY)


def _at(day: int, hour: int = 12) -> datetime:
    return datetime(2027, 1, 1, hour, tzinfo=_ZONE) + timedelta(days=day - 1)


def _of(learned: Learned, quantity: str, subject: str) -> Estimate:
    return next(e for e in learned.estimates if (e.quantity, e.subject) == (quantity, subject))


def test_a_level_is_the_conjugate_update() -> None:
    prior = Normal(0.3, 0.8)
    groups = {"a": [Reading(0.5, 0.2)], "b": [Reading(0.4, 0.3)], "c": [Reading(0.45, 0.25)]}
    found = fit_level(groups, dict.fromkeys(groups, 1.0), prior, spread=0.1)
    weights = [1 / 0.64, *(1 / (s**2 + 0.01) for s in (0.2, 0.3, 0.25))]
    mean = np.dot(weights, [0.3, 0.5, 0.4, 0.45]) / sum(weights)
    assert found.mean == pytest.approx(mean)
    assert found.sd == pytest.approx(1 / math.sqrt(sum(weights)))


def test_readings_of_one_group_share_its_luck() -> None:
    """Against the posterior of the full covariance matrix."""
    prior, spread = Normal(0.0, 1.0), 0.5
    values, sds = [0.6, 0.7, 0.65, -0.1], [0.3, 0.3, 0.2, 0.3]
    groups = {
        "one": [Reading(v, s) for v, s in zip(values[:3], sds[:3], strict=True)],
        "two": [Reading(values[3], sds[3])],
    }
    found = fit_level(groups, dict.fromkeys(groups, 1.0), prior, spread=spread)
    covariance = np.diag(np.square(sds))
    covariance[:3, :3] += spread**2
    covariance[3, 3] += spread**2
    inverse = np.linalg.inv(covariance)
    ones = np.ones(4)
    precision = 1.0 + ones @ inverse @ ones
    assert found.sd == pytest.approx(1 / math.sqrt(precision))
    assert found.mean == pytest.approx(ones @ inverse @ np.array(values) / precision)


def test_a_level_lies_close_to_the_student_posterior() -> None:
    """With one blunder the weights must come close to Student errors integrated by SciPy."""
    prior = Normal(0.0, 0.5)
    values, sd = [0.2, 0.25, 0.15, 0.3, 2.5], 0.2
    groups = {str(i): [Reading(v, sd)] for i, v in enumerate(values)}
    found = fit_level(groups, dict.fromkeys(groups, 1.0), prior, spread=0.0)

    def density(x: float) -> float:
        likelihood = np.prod([stats.t.pdf((v - x) / sd, 4) for v in values])
        return float(likelihood * stats.norm.pdf(x, 0, 0.5))

    total = integrate.quad(density, -2, 3, points=[0.2])[0]
    mean = integrate.quad(lambda x: x * density(x), -2, 3, points=[0.2])[0] / total
    var = integrate.quad(lambda x: (x - mean) ** 2 * density(x), -2, 3, points=[0.2])[0] / total
    assert found.mean == pytest.approx(mean, abs=0.05)
    assert found.sd == pytest.approx(math.sqrt(var), rel=0.25)


def _log_share(tau_h: float) -> float:
    return math.log(max(hatched_fraction(tau_h, t50_h=19.77, shape=14.5), 1e-12))


def test_hatches_agree_with_scipy_on_a_grid() -> None:
    """Level and time together, against the exact posterior on a grid."""
    level, speed, spread = Normal(math.log(2e5), 0.28), Normal(0.0, 0.108), 0.2
    groups = {
        "a": [Reading(math.log(0.3e5), 0.15, 18.0), Reading(math.log(1.5e5), 0.1, 26.0)],
        "b": [Reading(math.log(1.7e5), 0.12, 25.0)],
    }
    got_a, got_s = fit_hatches(
        groups, dict.fromkeys(groups, 1.0), level, speed, _log_share, spread=spread
    )
    a = np.linspace(level.mean - 1.2, level.mean + 1.2, 241)
    s = np.linspace(-0.4, 0.4, 241)
    logs = np.add.outer(stats.norm.logpdf(a, level.mean, 0.28), stats.norm.logpdf(s, 0, 0.108))
    for rows in groups.values():
        covariance = np.diag([r.sd**2 for r in rows]) + spread**2
        law = stats.multivariate_normal(np.zeros(len(rows)), covariance)
        shift = np.array([[_log_share(r.tau_h / math.exp(x)) for r in rows] for x in s])
        for i, level_a in enumerate(a):
            residual = np.array([r.value for r in rows]) - level_a - shift
            logs[i] += law.logpdf(residual)
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean_a, mean_s = weight.sum(1) @ a, weight.sum(0) @ s
    assert got_a.mean == pytest.approx(mean_a, abs=0.03)
    assert got_s.mean == pytest.approx(mean_s, abs=0.01)
    assert got_a.sd == pytest.approx(math.sqrt(weight.sum(1) @ (a - mean_a) ** 2), rel=0.15)
    assert got_s.sd == pytest.approx(math.sqrt(weight.sum(0) @ (s - mean_s) ** 2), rel=0.25)


def _hatch_entries(per_gram: float, days: int, *, blunder: int | None = None) -> list[Entry]:
    entries = []
    for i in range(days):
        count = round(2.0 * per_gram * 0.98 / 20000)
        if i == blunder:
            count *= 12
        drops = DropCount((count, count + 1, max(0, count - 1)), 0.05, 1000)
        entries += [
            Entry(_at(5 + 2 * i, 6), "set", "bottle 1", "", 2.0, "g"),
            Entry(_at(6 + 2 * i, 12), "hatched", "bottle 1", str(drops), drops.total, "nauplii"),
        ]
    entries.sort(key=lambda e: e.when)
    return [e._replace(line=i + 2) for i, e in enumerate(entries)]


def test_nauplii_per_gram_moves_to_the_keepers_own(room: Room) -> None:
    learned = learn(room, _hatch_entries(110000, 12), _at(30))
    found = _of(learned, "nauplii_per_gram", "brine_shrimp")
    assert found.prior[0] == pytest.approx(210000)
    assert found.learned
    assert found.posterior[1] < 110000 < found.posterior[2]
    assert found.used == pytest.approx(110000, rel=0.12)
    state = room_at(room, _hatch_entries(110000, 12), _at(30))
    assert state.cysts is not None
    assert state.cysts.nauplii_per_gram == pytest.approx(found.used)


def test_few_nauplii_may_be_late_ones_or_few(room: Room) -> None:
    """Counts at one age alone say what a gram gives at that age, and it is kept at which."""
    learned = learn(room, _hatch_entries(110000, 12), _at(30))
    assert not _of(learned, "hatch_time", "brine_shrimp").learned
    sure = learned.replayed.room.sure
    assert sure.counted_h == pytest.approx(30 * room.hatch_kind.rate(27.0))
    assert ("nauplii_per_gram", "brine_shrimp") in sure.ranges


@pytest.mark.parametrize("slower", [0.6, 1.5])
def test_a_batch_far_from_the_usual_is_found_by_two_looks(room: Room, slower: float) -> None:
    """At its own T50, where half have hatched, and when all have."""
    half_h = slower * math.sqrt(17 * 23)
    rate = room.hatch_kind.rate(27.0)
    entries = []
    for day in range(4):
        start = _at(5 + 3 * day, 8)
        entries.append(Entry(start, "set", "bottle 1", "", 2.0, "g"))
        for event, tau_h, share in (("count", half_h, 0.5), ("hatched", 1.5 * half_h, 1.0)):
            drops = DropCount((round(180 * share),) * 5, 0.5, 1000)
            entries.append(
                Entry(start + timedelta(hours=tau_h / rate), event, "bottle 1", str(drops),
                      drops.total, "nauplii")
            )  # fmt: skip
    entries = [e._replace(line=i + 2) for i, e in enumerate(entries)]
    found = _of(learn(room, entries, _at(30)), "hatch_time", "brine_shrimp")
    assert found.learned
    assert found.used == pytest.approx(slower, rel=0.03)


def test_one_absurd_count_hardly_moves_it(room: Room) -> None:
    clean = _of(learn(room, _hatch_entries(180000, 8), _at(25)), "nauplii_per_gram", "brine_shrimp")
    blunder = _of(
        learn(room, _hatch_entries(180000, 8, blunder=4), _at(25)), "nauplii_per_gram",
        "brine_shrimp",
    )  # fmt: skip
    assert blunder.used == pytest.approx(clean.used, rel=0.06)


def test_nothing_is_learned_from_one_count(room: Room) -> None:
    found = _of(learn(room, _hatch_entries(90000, 1), _at(20)), "nauplii_per_gram", "brine_shrimp")
    assert not found.learned
    assert found.used == pytest.approx(210000)
    assert found.why == "1 of the 2 readings it takes"


def test_old_counts_and_old_tins_are_forgotten(room: Room) -> None:
    entries = _hatch_entries(110000, 6)
    soon = _of(learn(room, entries, _at(20)), "nauplii_per_gram", "brine_shrimp")
    late = _of(learn(room, entries, _at(20 + 350)), "nauplii_per_gram", "brine_shrimp")
    assert soon.used < late.used < 210000
    bought = [*entries, Entry(_at(19), "bought", "cysts", "", 100, "g", "", 99)]
    other_tin = _of(learn(room, bought, _at(20)), "nauplii_per_gram", "brine_shrimp")
    assert soon.used < other_tin.used


def test_the_hatching_time_needs_looks_before_the_end(room: Room) -> None:
    assert not _of(
        learn(room, _hatch_entries(180000, 8), _at(25)), "hatch_time", "brine_shrimp"
    ).learned
    entries, kind = [], room.hatch_kind
    for i in range(6):
        start = _at(5 + 2 * i, 8)
        entries.append(Entry(start, "set", "bottle 1", "", 2.0, "g"))
        for waited in (20, 23, 32):
            share = hatched_fraction(
                waited * kind.rate(27.0) / 1.12, t50_h=math.sqrt(17 * 23),
                shape=2 * math.log(9) / math.log(23 / 17),
            )  # fmt: skip
            count = round(2.0 * 180000 * share / 2000)
            drops = DropCount((count,) * 5, 0.5, 1000)
            event = "hatched" if waited == 32 else "count"
            entries.append(
                Entry(start + timedelta(hours=waited), event, "bottle 1", str(drops), drops.total,
                      "nauplii")
            )  # fmt: skip
    entries = [e._replace(line=i + 2) for i, e in enumerate(entries)]
    found = _of(learn(room, entries, _at(25)), "hatch_time", "brine_shrimp")
    assert found.learned
    assert found.used == pytest.approx(1.12, rel=0.03)
    state = room_at(room, entries, _at(25))
    assert state.hatch_kind.values["t90_h"] == pytest.approx(23 * found.used)
    own = state.hatch_kind.parameters["t90_h"]  # so that 'hatch --range' draws what is known now
    assert own.value == pytest.approx(23 * found.used)
    assert own.status == "keeper"
    assert (own.low, own.high) == pytest.approx((23 * found.posterior[1], 23 * found.posterior[2]))
    assert state.sure.ranges["hatch_time", "brine_shrimp"] == pytest.approx(
        (found.posterior[1] / found.used, found.posterior[2] / found.used)
    )


def _all_that_climbed(room: Room, factor: float, days: int) -> list[Entry]:
    """Harvests of cultures that carry so many times what the data have."""
    from cultures.replay.own_values import OwnValues
    from tests.unit.recorded import replay

    entries: list[Entry] = []
    true = OwnValues(yields={"microworm": factor})
    for i in range(days):
        for name in ("MW-1", "MW-2"):
            at = _at(4 + i, 10)
            probe = [*entries, Entry(at, "harvest", name, "all", 1.0, "mg", "", 0)]
            seen = replay(room, probe, at, true).seen.yields[-1]
            entries.append(
                Entry(at, "harvest", name, "all", round(seen.expected_mg, 2), "mg", "",
                      len(entries) + 2)
            )  # fmt: skip
    return entries


@pytest.mark.parametrize("factor", [0.3, 2.5])
def test_yields_move_to_what_cultures_really_carry(room: Room, factor: float) -> None:
    entries = _all_that_climbed(room, factor, 4)
    found = _of(learn(room, entries, _at(9)), "yield", "microworm")
    assert found.learned
    assert found.posterior[1] < factor < found.posterior[2]
    assert abs(math.log(found.used / factor)) < 0.6 * abs(math.log(factor))
    state = room_at(room, entries, _at(9))
    before = room.culture("MW-2").kind.values["capacity_mg_per_cm2"]
    after = state.culture("MW-2").kind.values["capacity_mg_per_cm2"]
    assert after / before == pytest.approx(found.used)


def test_a_length_from_before_the_room_file_teaches_and_changes_nothing_else(room: Room) -> None:
    entries = [Entry(_at(3, 10), "length", "pearl danio 3", "8 fish", 6.0, "mm", "", 2)]
    learned = learn(room, entries, _at(8))
    assert _of(learned, "growth", "pearl danio 3").readings == 1
    assert room_at(room, entries, _at(8)).broods == room.broods


def test_a_poor_culture_is_flagged_with_its_evidence(room: Room) -> None:
    """MW-1 gives what the data say, MW-2 a quarter: so it is not the room's medium."""
    entries = [
        e._replace(amount=25.0) if e.subject == "MW-2" else e
        for e in _all_that_climbed(room, 1.0, 4)
    ]
    state = room_at(room, entries, _at(8))
    (note,) = [n for n in state.notes if n.startswith("MW-2 gave")]
    assert "likely souring early; split from another culture" in note
    assert "25 of" in note
    assert not [n for n in room_at(room, entries[:2], _at(8)).notes if "souring" in n]


def test_swipes_are_learned_and_rough_until_then(room: Room) -> None:
    none = _of(learn(room, [], _at(8)), "swipe", "microworm")
    assert "rough" in none.why
    entries = [
        Entry(_at(5 + i), "count", "MW-1", "swipe", 40000 + 1000 * i, "worms", "", i + 2)
        for i in range(4)
    ]
    found = _of(learn(room, entries, _at(10)), "swipe", "microworm")
    assert found.learned
    each = room.culture("MW-1").kind.values["individual_mass_ug"] / 1000
    assert found.used == pytest.approx(41500 * each, rel=0.1)
    assert found.used < 41500 * each


def test_growth_of_a_brood_is_learned(room: Room) -> None:
    from cultures.needs.need import BroodCourse
    from cultures.words.moments import hours

    course = BroodCourse.of(room, room.brood("acara 5"))
    entries = []
    for i in range(5):
        at = _at(6 + 3 * i)
        days = course.clock.days(course.from_h, hours(at))
        length = course.fry_class.length_mm(course.grown_from + 0.7 * days)
        entries.append(Entry(at, "length", "acara 5", "10 fish", length, "mm", "", i + 2))
    found = _of(learn(room, entries, _at(20)), "growth", "acara 5")
    assert found.learned
    assert found.posterior[1] < 0.7 < found.posterior[2]
    state = room_at(room, entries, _at(20))
    rate = room.brood("acara 5").fry_class.values["growth_rate_per_day"]
    assert state.brood("acara 5").fry_class.values["growth_rate_per_day"] == pytest.approx(
        rate * found.used
    )


def test_crashes_are_the_gamma_update(room: Room) -> None:
    entries = [
        Entry(_at(5), "harvest", "MW-1", "", 1, "swipes", "", 2),
        Entry(_at(15), "discard", "MW-1", "crashed", None, "", "", 3),
    ]
    found = _of(learn(room, entries, _at(25)), "crash", "microworm")
    assert found.readings == 1
    kind = room.culture("MW-2").kind
    parameter = kind.parameters["crash_per_day"]
    shape = 1 / (math.log(parameter.high / parameter.low) / 2.5631) ** 2
    half = 365 / math.log(2)
    days = half * ((1 - math.exp(-20 / half)) + (math.exp(-10 / half) - math.exp(-20 / half)))
    law = stats.gamma(shape + 0.5 ** (10 / 365), scale=1 / (shape / parameter.value + days))
    assert found.posterior[0] == pytest.approx(law.mean(), rel=1e-4)
    assert found.posterior[1:] == pytest.approx(tuple(law.ppf([0.1, 0.9])), rel=1e-4)
    assert found.used == pytest.approx(law.mean(), rel=1e-4)


def test_learning_can_be_turned_off_and_on(room: Room) -> None:
    entries = _hatch_entries(110000, 6)
    off = [*entries, Entry(_at(19), "learn", "nauplii_per_gram", "off", None, "", "", 90)]
    found = _of(learn(room, off, _at(20)), "nauplii_per_gram", "brine_shrimp")
    assert not found.learned
    assert found.used == pytest.approx(210000)
    assert found.posterior[0] < 150000
    on = [*off, Entry(_at(19, 13), "learn", "all", "on", None, "", "", 91)]
    assert _of(learn(room, on, _at(20)), "nauplii_per_gram", "brine_shrimp").learned


def test_intervals_hold_the_truth_eight_times_in_ten() -> None:
    """A small version of the study in docs/learning.md, of the arithmetic alone."""
    generator = random.Random(11)
    hits, trials = 0, 500
    for _ in range(trials):
        prior = Normal(0.0, 0.82)
        truth = generator.gauss(0.0, 0.82)
        groups = {}
        for culture in range(3):
            luck = generator.gauss(0.0, 0.47)
            groups[str(culture)] = [
                Reading(truth + luck + generator.gauss(0.0, 0.3), 0.3) for _ in range(4)
            ]
        found = fit_level(groups, dict.fromkeys(groups, 1.0), prior, spread=0.47)
        _, low, high = found.interval(0.8)
        hits += low <= math.exp(truth) <= high
    assert 0.75 <= hits / trials <= 0.85


def test_a_length_past_the_end_of_the_curve_says_nothing_of_growth(room: Room) -> None:
    entries = [
        Entry(_at(6 + i), "length", "pearl danio 3", "5 fish", 60.0, "mm", "", i + 2)
        for i in range(3)
    ]
    learned = learn(room, entries, _at(10))
    assert not [e for e in learned.estimates if e.quantity == "growth"]
