"""Which published checks are evidence, how far the models are off in them, and how sure they are.

Run this file to write the page: ``python -m tests.published.test_published_kinship``.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from statistics import median

import pytest
from attrs import frozen

from cultures.foods.kinds import shipped_kind
from cultures.foods.parameters import sources
from tests.published import test_published_food as food
from tests.published import test_published_fry as fry
from tests.published.kinship import FORMULA, INDEPENDENT, SAME_SOURCE, Kinship, kinship

TABLE = Path(__file__).parents[2] / "docs" / "published-checks.md"


@frozen
class Judged:
    """A check, the figure it holds the model against, and what it tells."""

    what: str
    figure: float
    source: str
    of: str
    kin: Kinship

    @property
    def inside(self) -> bool:
        """The figure lies where eight in ten are said to lie."""
        return self.kin.low <= self.figure <= self.kin.high

    @property
    def off(self) -> float:
        """How far the model is off, as a share of the figure."""
        return abs(self.kin.model - self.figure) / abs(self.figure)


@cache
def judged() -> tuple[Judged, ...]:
    """Every check of both tables."""
    found = [
        Judged(c.what, c.published, c.source, "live food", kinship(food.MODELS[c.key], c.source))
        for c in food.CHECKS
    ]
    found += [
        Judged(c.what, c.figure, c.source, "fry",
               kinship(fry.MODELS[c.key], c.source, used=bool(c.used)))
        for c in fry.CHECKS
    ]  # fmt: skip
    return tuple(found)


def of(kind: str) -> list[Judged]:
    """The checks of one kind."""
    return [j for j in judged() if j.kin.kind == kind]


def test_a_check_knows_its_parameters() -> None:
    """By hand: the threshold is one parameter, the hatch at 90 g/L is past the stop."""
    by = {c.key: j for c, j in zip(food.CHECKS, judged(), strict=False)}
    threshold = by["no_hatching_at_or_below"].kin
    assert threshold.turned == ("brine_shrimp.t_min_c",)
    parameter = shipped_kind("brine_shrimp").parameters["t_min_c"]
    assert (threshold.low, threshold.high) == pytest.approx((parameter.low, parameter.high))
    assert by["briere_10_30_c_optimum"].kin.kind == FORMULA
    assert by["energy_left_after_24_h_at_25_c"].kin.kind == SAME_SOURCE
    assert by["half_hatched_at_30_c"].kin.kind == INDEPENDENT
    rate = by["microworm_r_at_20_c"].kin
    assert {name.partition(".")[0] for name in rate.turned} == {"microworm"}
    assert "microworm.growth_rate_per_day" in rate.turned
    assert "microworm.lag_days" not in rate.turned


def test_the_interval_of_a_product_adds_its_factors() -> None:
    """r = r(ref) times a share of it: both relative spreads, in quadrature."""
    kind = shipped_kind("microworm")
    p = kind.parameters["growth_rate_per_day"]
    found = kinship(lambda: kind.values["growth_rate_per_day"] * kind.values["half_spent_days"], "")
    q = kind.parameters["half_spent_days"]
    up = math.hypot(math.log(p.high / p.value), math.log(q.high / q.value))
    assert found.kind == INDEPENDENT
    assert found.high == pytest.approx(p.value * q.value * math.exp(up))


def test_what_was_watched_is_as_before() -> None:
    before = dict(shipped_kind("microworm").values)
    judged()
    after = shipped_kind("microworm").values
    assert (type(after), dict(after)) == (dict, before)


def test_the_evidence_is_from_enough_texts() -> None:
    found = of(INDEPENDENT)
    assert len(found) >= 60
    assert len({j.source for j in found}) >= 30


def test_the_intervals_are_neither_too_sure_nor_too_wide() -> None:
    """Of figures that no parameter rests on, 70 to 90 % lie where eight in ten are said to."""
    found = of(INDEPENDENT)
    assert 0.7 <= sum(j.inside for j in found) / len(found) <= 0.9


HEAD = """# How far the models can be trusted

Written by `python -m tests.published.test_published_kinship`; a test keeps it current.

A published figure is evidence for a model only where no parameter that the model reads rests on
the same text. So every parameter is turned, to both ends of its range, and what moves the output is
what the check exercises: **independent** are the figures of texts that none of those parameters
names, and that were not used or looked at when the model was set; **same source** shows that the
data carry what was printed; **formula** turns with no parameter. The tables of all of them are
[published-checks-food.md](published-checks-food.md) and
[published-checks-fry.md](published-checks-fry.md).

The interval is what eight in ten are said to lie within ([models.md](models.md#ranges)): the
changes that the parameters bring, added in quadrature. `OUT` marks a figure that lies outside.
"""


def page() -> str:
    """The page of all independent checks."""
    lines = [HEAD, "| | checks | sources | median off by | inside the interval |",
             "|---|---|---|---|---|"]  # fmt: skip
    for kind in (INDEPENDENT, SAME_SOURCE, FORMULA):
        for part in ("live food", "fry"):
            mine = [j for j in of(kind) if j.of == part]
            off = f"{median(j.off for j in mine if j.figure):.0%}"
            inside = f"{sum(j.inside for j in mine)} of {len(mine)}" if kind != FORMULA else ""
            lines.append(f"| {kind}, {part} | {len(mine)} | {len({j.source for j in mine})}"
                         f" | {off} | {inside} |")  # fmt: skip
    mine = of(INDEPENDENT)
    lines.append(
        f"| **independent** | **{len(mine)}** | **{len({j.source for j in mine})}**"
        f" | **{median(j.off for j in mine if j.figure):.0%}**"
        f" | **{sum(j.inside for j in mine)} of {len(mine)}** |"
    )
    for part in ("live food", "fry"):
        lines += ["", f"## Independent: {part}", "",
                  "| what | model | eight in ten | published | off by | | source |",
                  "|---|---|---|---|---|---|---|"]  # fmt: skip
        for j in (j for j in mine if j.of == part):
            off = f"{(j.kin.model - j.figure) / j.figure:+.0%}" if j.figure else ""
            lines.append(
                f"| {j.what} | {j.kin.model:.3g} | {j.kin.low:.3g} to {j.kin.high:.3g}"
                f" | {j.figure:.3g} | {off} | {'' if j.inside else 'OUT'} | {j.source} |"
            )
    lines += ["", "## Sources", ""]
    lines += [f"- `{name}`: {sources()[name]}" for name in sorted({j.source for j in mine})]
    return "\n".join(lines) + "\n"


def test_the_page_in_the_docs_is_current() -> None:
    assert TABLE.read_text("utf-8") == page(), f"write it anew: python -m {__name__}"


if __name__ == "__main__":
    TABLE.write_text(page(), "utf-8")
