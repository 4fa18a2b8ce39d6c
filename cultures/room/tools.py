"""``[tools]`` of a room file: what the keeper measures with, and how a level spoon weighs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from attrs import frozen

from cultures.errors import RangeError, UnitError, nearest
from cultures.foods.kinds import HatchKind
from cultures.foods.parameters import shipped_parameters, values_of
from cultures.fry.feeding import feeding_values
from cultures.room.table import Key, Table, Written
from cultures.words.numbers import as_float
from cultures.words.text import check_line, plain, short
from cultures.words.tools import (
    CYSTS,
    DRY,
    MEDIUM,
    SALT,
    SUBSTANCES,
    USUAL_SYRINGE,
    MeasuringCup,
    Spoon,
    Syringe,
    Tools,
)
from cultures.words.units import TEASPOON_ML, parse_quantity

#: What can be read as a spoon, a syringe, a cup and a scale (assumption): from a pinch to a ladle.
SPOON_ML, SCOOP_G, SYRINGE_ML, CUP_ML, MARK_ML, SCALE_G = (
    (0.05, 250.0), (0.001, 500.0), (0.1, 1000.0), (5.0, 5000.0), (0.001, 100.0), (0.0001, 100.0)
)  # fmt: skip
#: Grams of a level teaspoon: between the lightest flake and twice the weight of water.
TEASPOON_G = (0.2, 10.0)
#: Most tools of a sort.
_MOST = 20
_OF_WHAT = re.compile(r"(.*?\d.*?)\s+(?:of\s+)?([a-z]+)\s*$")


def usual_g_per_ml(hatch_kind: HatchKind) -> dict[str, float]:
    """How a level spoon of each substance weighs where nobody weighed one [g/mL]."""
    bulk = values_of(shipped_parameters("measures"))
    return {
        CYSTS: hatch_kind.values["bulk_density_g_per_ml"],
        DRY: feeding_values()["dry_g_per_ml"],
        SALT: bulk["salt_g_per_ml"],
        MEDIUM: bulk["medium_g_per_ml"],
    }


def usual_tools(hatch_kind: HatchKind, units: str = "metric") -> Tools:
    """What is taken to be there where the room file has no ``[tools]``."""
    return Tools(g_per_ml=usual_g_per_ml(hatch_kind), units=units)


def tools_of(table: Table, g_per_ml: Mapping[str, float], units: str) -> Tools:
    """The tools that the table names, and none that it does not; but for a syringe."""
    return Tools(
        spoons=(*(table["spoons_ml"] or ()), *(table["scoops"] or ())),
        syringes=table["syringes_ml"] or (USUAL_SYRINGE,),
        cups=table["measuring_cups_ml"] or (),
        scale_g=table["scale_g"],
        g_per_ml=g_per_ml,
        units=units,
        stated=True,
    )


def _check_within(what: str, value: float, limits: tuple[float, float], unit: str) -> None:
    """Refuses a value that is not possible.

    Raises:
        RangeError: it is not.
    """
    low, high = limits
    if not low <= value <= high:
        raise RangeError(f"{what}{value:g} {unit} is not possible; use {low:g} to {high:g} {unit}")


def _listed(value: Any, words: str) -> list[Any]:
    """A list of tools.

    Raises:
        UnitError: it is no such list, or too long.
    """
    if not isinstance(value, list):
        raise UnitError(f"must be a list, {words}")
    if len(value) > _MOST:
        raise UnitError(f"has {len(value)}; {_MOST} is the most")
    return value


def _level(held: Any, limits_ml: tuple[float, float]) -> tuple[str, float]:
    """How a spoon or a cup is called that is known by what it holds when it is full, and that [mL].

    Raises:
        UnitError: it is no volume. RangeError: it is not possible.
    """
    ml = parse_quantity(held, "volume", "ml")
    _check_within("", ml, limits_ml, "mL")
    bare = not isinstance(held, str) or re.search(r"[a-z]", held.lower()) is None
    return f"{ml:g} mL" if bare else plain(held), ml


@frozen
class Spoons(Key):
    """Spoons by what they hold when level: millilitres, or text with a unit, as a tuple."""

    def read(self, at: Written) -> tuple[Spoon, ...]:
        values = _listed(at.value, 'like [15, 5, 2.5, 1.25] or ["1 tsp", "1/4 tsp"]')
        found = at.each(values, lambda held: Spoon(*_level(held, SPOON_ML)))
        if len({spoon.label for spoon in found}) != len(found):
            at.fail("names one spoon twice")
        return found


@frozen
class Scoops(Key):
    """Scoops by name: what they hold when level, ``"1.5 mL"`` or ``"0.4 g dry"``, as a tuple."""

    def read(self, at: Written) -> tuple[Spoon, ...]:
        if not isinstance(at.value, Mapping) or len(at.value) > _MOST:
            raise UnitError(
                'must name each and what it holds, like { "blue scoop" = "0.4 g dry" };'
                f" {_MOST} is the most"
            )
        return at.each(at.value.items(), lambda row: _scoop(*row))


def _scoop(name: str, held: Any) -> Spoon:
    said = f"{short(name)}: "
    try:
        check_line(name)
        of_what = _OF_WHAT.fullmatch(held) if isinstance(held, str) else None
        if of_what and of_what[2] in SUBSTANCES:
            grams = parse_quantity(of_what[1], "mass", "g")
            _check_within(said, grams, SCOOP_G, "g")
            return Spoon(plain(name), None, {of_what[2]: grams})
        if isinstance(held, bool) or not isinstance(held, int | float | str):
            raise UnitError('write what it holds, like "1.5 mL" or "0.4 g dry"')
        ml = parse_quantity(held, "volume", "ml")
    except UnitError as error:
        weight = isinstance(held, str) and re.search(r"\d\s*(m?g|oz)\b", held) is not None
        of_one = f'with a weight say of what, like "0.4 g {DRY}" ({", ".join(SUBSTANCES)})'
        raise UnitError(f"{said}{of_one if weight else error}") from None
    _check_within(said, ml, SPOON_ML, "mL")
    return Spoon(plain(name), ml)


@frozen
class TeaspoonsWeighed(Key):
    """Grams of one level teaspoon by substance, as the keeper weighed it: ``{ dry = 2.1 }``."""

    def read(self, at: Written) -> dict[str, float]:
        if not isinstance(at.value, Mapping):
            raise UnitError("must name what was weighed, like { dry = 2.1, cysts = 3.4 }")
        return dict(at.each(at.value.items(), lambda row: _weighed(*row)))


def _weighed(of: str, grams: Any) -> tuple[str, float]:
    """A substance, and what a millilitre of it weighs [g]."""
    if of not in SUBSTANCES:
        raise UnitError(f"there is no '{short(of)}'; {nearest(of, SUBSTANCES)}")
    try:
        weighed = parse_quantity(grams, "mass", "g")
    except UnitError as error:
        raise UnitError(f"{of}: {error}") from None
    _check_within(f"{of}: ", weighed, TEASPOON_G, "g")
    return of, weighed / TEASPOON_ML


@frozen
class Syringes(Key):
    """Syringes as pairs of what each holds and its smallest mark [mL], as a tuple."""

    def read(self, at: Written) -> tuple[Syringe, ...]:
        words = "each what it holds and its smallest mark, like [[60, 1], [10, 0.5]]"
        pairs = _listed(at.value, words)
        if not pairs:
            raise UnitError(f"needs one, {words}: doses are in mL; a medicine syringe will do")
        return at.each(pairs, lambda pair: Syringe(*_marked(pair, words, SYRINGE_ML)))


def _marked(pair: Any, words: str, limits_ml: tuple[float, float]) -> tuple[float, float]:
    """What a syringe or a cup holds and its smallest mark [mL]."""
    if not (
        isinstance(pair, list) and len(pair) == 2
        and all(isinstance(x, int | float) and not isinstance(x, bool) for x in pair)
    ):  # fmt: skip
        raise UnitError(f"must list pairs, {words}")
    holds, mark = (as_float(x) for x in pair)
    of = f"of [{holds:g}, {mark:g}] "
    _check_within(of, holds, limits_ml, "mL")
    _check_within(of, mark, MARK_ML, "mL")
    if mark > holds / 2:
        raise UnitError(f"{of}the mark is more than half of what it holds; first what it holds")
    return holds, mark


@frozen
class MeasuringCups(Key):
    """Measuring cups: pairs of what each holds and its smallest mark [mL], or what is filled."""

    def read(self, at: Written) -> tuple[MeasuringCup, ...]:
        words = 'each what it holds and its smallest mark, like [[500, 25]], or "1/4 cup"'
        return at.each(_listed(at.value, words), lambda one: _measuring_cup(one, words))


def _measuring_cup(one: Any, words: str) -> MeasuringCup:
    if isinstance(one, list):
        return MeasuringCup(*_marked(one, words, CUP_ML))
    label, ml = _level(one, CUP_ML)
    return MeasuringCup(ml, ml, label)
