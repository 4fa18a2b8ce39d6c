"""Species against published figures, most of them from another text than their own values.

Run this file to write the page: ``python -m tests.published.test_published_species``.
"""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from functools import cache
from pathlib import Path
from statistics import median

import pytest
from attrs import evolve, frozen

from cultures.foods.parameters import sources
from cultures.fry.classes import FryClass, shipped_class
from cultures.fry.species import read_species, species_keys
from tests.published.kinship import INDEPENDENT, SAME_SOURCE, Kinship, kinship
from tests.published.test_published_fry_fits import _least, _rms

HERE = Path(__file__).parent
TABLE = Path(__file__).parents[2] / "docs" / "published-checks-species.md"
#: A source that is no text.
_PRACTICE = "practice"


@frozen
class Check:
    """A published figure of one species; fields as in species_checks.toml."""

    key: str
    species: str
    what: str
    quantity: str
    published: str
    allowed: tuple[float, float]
    figure: float
    basis: str
    source: str
    at_c: float | None = None
    used: str = ""
    gap: str = ""

    @property
    def title(self) -> str:
        """The species and what was found, with the temperature."""
        at = "" if self.at_c is None else f", {self.at_c:g} °C"
        unit = "[mm]" if self.quantity.split(":")[0] in ("start", "hatched", "fed") else "[d]"
        unit = "" if self.quantity.startswith("speed") else f" {unit}"
        return f"*{read_species(self.species).scientific}*, {self.what}{at}{unit}"

    def model(self) -> float:
        """What the species' parameters say."""
        fry, v = shipped_class(self.species), shipped_class(self.species).values
        what, _, days = self.quantity.partition(":")
        rate = fry.development(self.at_c) if self.at_c is not None else 1.0
        if what == "hatch":
            return v["hatch_days"] / rate
        if what == "food":
            return v["first_food_days"] / rate
        swims = (v["first_food_days"] - v["hatch_days"]) / rate
        if what == "swim":
            return swims
        if what == "start":
            return fry.length_mm(0.0)
        assert self.at_c is not None
        fed = float(days) - (swims if what == "hatched" else 0.0)
        grown = fry.length_mm(fed * fry.growth(self.at_c))
        return (grown - fry.length_mm(0.0)) / float(days) if what == "speed" else grown


CHECKS = [
    Check(key=key, **{**raw, "allowed": tuple(raw["allowed"])})
    for key, raw in tomllib.loads((HERE / "species_checks.toml").read_text("utf-8")).items()
]
CURVES = tomllib.loads((HERE / "species_growth.toml").read_text("utf-8"))


@cache
def kin(check: Check) -> Kinship:
    """How a check stands to the parameters that it exercises."""
    return kinship(check.model, check.source, used=bool(check.used))


def _off(check: Check) -> float:
    return (kin(check).model - check.figure) / check.figure


@pytest.mark.parametrize("check", [c for c in CHECKS if not c.gap], ids=lambda c: c.key)
def test_published_species(check: Check) -> None:
    low, high = check.allowed
    assert low <= check.model() <= high, f"{check.model():.3g} against {check.published}"


@pytest.mark.parametrize("check", [c for c in CHECKS if c.gap], ids=lambda c: c.key)
def test_what_is_called_a_gap_still_is_one(check: Check) -> None:
    low, high = check.allowed
    assert not low <= check.model() <= high, f"{check.title} is met now: it is no gap any more"


def test_there_are_enough_species_and_texts() -> None:
    """Forty species over all classes from 25 texts, and as many checks; each names its text."""
    own = {s for key in species_keys() for p in _own(key).values() for s in p}
    assert len(species_keys()) >= 40
    assert len(own - {_PRACTICE}) >= 25
    assert {read_species(key).of for key in species_keys()} >= {
        "egg_scatterer", "tiny_scatterer", "bubble_nest", "annual_killifish",
        "non_annual_killifish", "rainbowfish", "armoured_catfish", "substrate_spawner",
        "rock_dweller", "mouthbrooder", "livebearer", "goldfish",
    }  # fmt: skip
    assert {c.source for c in CHECKS} <= set(sources())
    assert len({c.key for c in CHECKS}) == len(CHECKS) >= 40
    assert sum(kin(c).kind == INDEPENDENT for c in CHECKS) >= 40


def _own(key: str) -> dict[str, tuple[str, ...]]:
    """The sources of what a species has of its own."""
    fry = shipped_class(key)
    return {name: fry.parameters[name].sources for name in fry.own}


def _misses(fry: FryClass, key: str, rate: float) -> list[float]:
    """Log misses of a species' lengths at a growth rate."""
    curve, v = CURVES[key], fry.values
    fry = evolve(fry, values={**v, "growth_rate_per_day": rate})
    waits = (v["first_food_days"] - v["hatch_days"]) / fry.development(curve["temperature_c"])
    late = waits if curve["since"] == "hatching" else 0.0
    speed = fry.growth(curve["temperature_c"])
    return [
        math.log(fry.length_mm((age - late) * speed) / (curve["per_mm"] * mm))
        for age, mm in curve["points"]
    ]


@pytest.mark.parametrize("key", CURVES)
def test_growth_rates_are_those_of_their_points(key: str) -> None:
    fry = shipped_class(key)
    rate = _least(lambda r: _rms(_misses(fry, key, r)), 0.002, 0.2)
    parameter = fry.parameters["growth_rate_per_day"]
    assert rate == pytest.approx(parameter.value, rel=0.01)
    assert parameter.sources == (CURVES[key]["source"],)


def test_every_growth_rate_of_a_species_has_its_points() -> None:
    assert set(CURVES) == {
        k for k in species_keys() if "growth_rate_per_day" in shipped_class(k).own
    }


HEAD = """# Species against published figures

Written by `python -m tests.published.test_published_species`; a test keeps it current.

What a species has of its own stands in `cultures/data/species`, each value with its temperature,
spread, source and status; `livefood kinds NAME` shows it, and what its class fills in. Here other
texts on the same species are held against it. A check is **independent** where no parameter that it
exercises rests on the text of the figure ([published-checks.md](published-checks.md) says how that
is found): a second text on the species, or one on a stage that its class fills in. **Same source**
are figures of the text that the species rests on, mostly the only one that was found, and a few
that were looked at when the species was made: they show that the data carry what was printed, and
nothing else. Most texts were read as abstracts; "weak" in a source is a keepers' page without a
measurement.
"""


def _rows(checks: list[Check]) -> list[str]:
    lines = [
        "| what | published | model | allowed | off by | source |",
        "|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {c.title} | {c.published} | {kin(c).model:.3g} | {c.allowed[0]:.3g} to"
        f" {c.allowed[1]:.3g}: {c.basis} | {_off(c):+.0%} | {c.source} |"
        for c in checks
    ]
    return lines


def page() -> str:
    """The page of all checks of species, and what the species rest on."""
    texts = {s for key in species_keys() for p in _own(key).values() for s in p} - {_PRACTICE}
    states = Counter(
        raw["status"] for key in species_keys() for raw in read_species(key).parameters.values()
    )
    weak = sum("(weak)" in sources()[text] for text in texts)
    pairs = Counter(c.species for c in CHECKS if kin(c).kind == INDEPENDENT)
    alone = len({c.species for c in CHECKS} - set(pairs))
    count = len(species_keys())
    summary = (
        f"{count} species of {len({read_species(k).of for k in species_keys()})} classes from"
        f" {len(texts)} texts, {weak} of them weak; of their {states.total()} values"
        f" {states['read']} were read, {states['derived']} derived from what was read and"
        f" {states['assumption']} chosen. On {len(pairs)} species there is a check from a second"
        f" text, on {alone} one text alone, and {count - len(pairs) - alone} have no check."
    )
    lines = [
        HEAD,
        summary,
        "",
        "| | checks | species | texts | of weak texts | met | median off by |",
        "|---|---|---|---|---|---|---|",
    ]
    for kind in (INDEPENDENT, SAME_SOURCE):
        mine = [c for c in CHECKS if kin(c).kind == kind]
        faint = sum("(weak)" in sources()[c.source] for c in mine)
        lines.append(
            f"| {kind} | {len(mine)} | {len({c.species for c in mine})}"
            f" | {len({c.source for c in mine})} | {faint} | {sum(not c.gap for c in mine)}"
            f" | {median(abs(_off(c)) for c in mine):.0%} |"
        )
    titles = {INDEPENDENT: "Independent", SAME_SOURCE: "Same source"}
    for kind, title in titles.items():
        mine = [c for c in CHECKS if kin(c).kind == kind and not c.gap]
        lines += ["", f"## {title}", "", *_rows(mine)]
    gaps = [c for c in CHECKS if c.gap]
    lines += ["", "## Where the species miss", "", *_rows(gaps), ""]
    lines += [f"- {c.title}: {c.gap}." for c in gaps]
    lines += ["", "## Species", "", "| species | class | of its own | texts |", "|---|---|---|---|"]
    for key in species_keys():
        one, own = read_species(key), _own(key)
        found = sorted({s for p in own.values() for s in p})
        lines.append(
            f"| *{one.scientific}*, {one.names[0]} | {one.of} | {', '.join(sorted(own))}"
            f" | {', '.join(found)} |"
        )
    lines += ["", "## Sources", ""]
    named = sorted(texts | {c.source for c in CHECKS})
    lines += [f"- `{name}`: {sources()[name]}" for name in named]
    return "\n".join(lines) + "\n"


def test_the_page_in_the_docs_is_current() -> None:
    assert TABLE.read_text("utf-8") == page(), f"write it anew: python -m {__name__}"


if __name__ == "__main__":
    TABLE.write_text(page(), "utf-8")
