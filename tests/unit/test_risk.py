"""The probability that a round is short, against what can be worked out by hand."""

from __future__ import annotations

import math
from datetime import date, datetime

import pytest
from attrs import evolve
from scipy.stats import norm

from cli.commands.demo_room import demo_text
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.risk import round_risks, spare_effects
from cultures.planning.servings import SHORT_SHARE
from cultures.room.file import read_room

TODAY = date(2027, 1, 5)

_ROOM = """
[room]
timezone = "UTC"
temperature_c = 23
as_of = 2027-01-04
rounds = ["07:30"]
hatch_margin = {margin}
effort_g = 0
[[tank]]
name = "T"
litres = 40
temperature_c = 26
[[brood]]
name = "b"
tank = "T"
class = "annual_killifish"
count = 400
length_mm = 12
measured_on = 2027-01-04
foods = ["brine_shrimp"]
[[vessel]]
name = "one"
litres = 4
temperature_c = 27
[[vessel]]
name = "two"
litres = 4
temperature_c = 27
[[vessel]]
name = "three"
litres = 4
temperature_c = 27
[cysts]
grams = 900
"""


def _outlook(margin: float) -> Outlook:
    room = read_room(_ROOM.format(margin=margin), today=TODAY)
    return make_outlook(room, now=datetime(2027, 1, 6, 12, tzinfo=room.timezone), days=6)


@pytest.mark.parametrize("margin", [0.0, 0.15, 0.4])
def test_one_hatch_a_round_is_short_as_often_as_the_lognormal_says(margin: float) -> None:
    """Without a fridge a harvest keeps for less than a day, so with one round a day each hatch
    feeds one round, and P(short) is that of one lognormal factor with mean 1."""
    outlook = _outlook(margin)
    hatches = outlook.feeding.hatches
    uses: dict[int, int] = {}
    for portions in hatches.portions:
        for portion in portions:
            uses[portion.batch] = uses.get(portion.batch, 0) + 1
    spread = outlook.room.hatch_kind.values["yield_spread"]
    sigma = math.sqrt(math.log1p(spread**2))
    draws = 4000
    risks = {r.at: r for r in round_risks(outlook, draws=draws)}
    checked = 0
    for feeding, portions in zip(outlook.feedings, hatches.portions, strict=True):
        if feeding.at not in risks or len(portions) != 1 or uses[portions[0].batch] != 1:
            continue
        batch = hatches.batches[portions[0].batch]
        share = portions[0].energy_j / batch.energy_j  # of the harvest, as held until the round
        held = math.exp(
            -outlook.room.hatch_kind.loss_per_h(23.0) * (feeding.at_h - batch.harvest_h)
        )
        needed = share / held * (1.0 - SHORT_SHARE)
        expected = norm.cdf((math.log(needed) + sigma**2 / 2) / sigma)
        found = risks[feeding.at]
        error = math.sqrt(max(expected * (1 - expected), 1e-4) / draws)
        assert found.probability == pytest.approx(expected, abs=4.5 * error)
        assert found.error == pytest.approx(
            math.sqrt(found.probability * (1 - found.probability) / draws), abs=1e-3
        )
        checked += 1
    assert checked >= 2


def test_the_same_room_gives_the_same_risks() -> None:
    first = [(r.at, r.probability, r.food) for r in round_risks(_outlook(0.1))]
    again = [(r.at, r.probability, r.food) for r in round_risks(_outlook(0.1))]
    assert first == again


def test_a_larger_margin_is_never_riskier() -> None:
    means = []
    for margin in (0.0, 0.2, 0.5):
        risks = round_risks(_outlook(margin), draws=2000)
        means.append(sum(r.probability for r in risks) / len(risks))
    assert means[0] > means[1] > means[2]


def test_more_of_everything_lowers_the_risk_of_the_demo() -> None:
    room = read_room(demo_text(TODAY), today=TODAY)
    assert room.cysts is not None
    room = evolve(room, cysts=evolve(room.cysts, grams=500.0))
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=14)
    effects = spare_effects(outlook)
    assert effects["a fifth more cysts in every hatch"] <= effects["as it is"] + 0.01
    assert set(effects) >= {"as it is", "one more spare culture", "one more vessel"}


def test_shortfalls_carry_their_probability_and_thin_margins_are_named() -> None:
    room = read_room(demo_text(TODAY), today=TODAY)
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone))
    plan = plan_of(outlook, risk=True)
    real = [s for s in plan.shortfalls if not s.thin]
    thin = [s for s in plan.shortfalls if s.thin]
    assert all(s.probability is not None and 0.0 <= s.probability <= 1.0 for s in plan.shortfalls)
    assert max(s.probability or 0.0 for s in real) > 0.95  # an empty tin is no matter of luck
    for spell in thin:
        assert not any(s.at <= spell.at <= s.until for s in real)
        assert "trials" in spell.cause
