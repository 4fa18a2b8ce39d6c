"""``[tools]`` of a room file: what the keeper measures with, and how a level spoon weighs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from attrs import frozen

from cultures.errors import UnitError, nearest
from cultures.foods.kinds import HatchKind
from cultures.foods.parameters import (
    Parameter,
    data_table,
    read_parameters,
    specs_of,
    values_of,
)
from cultures.fry.feeding import feeding_values
from cultures.room.table import Key, Table
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


@lru_cache(maxsize=1)
def bulk_parameters() -> Mapping[str, Parameter]:
    """How salt and medium weigh in a spoon, with ranges and sources (data/measures.toml)."""
    return read_parameters(data_table("measures.toml")["parameters"], specs_of("measures"))


def usual_g_per_ml(hatch_kind: HatchKind) -> dict[str, float]:
    """How a level spoon of each substance weighs where nobody weighed one [g/mL]."""
    bulk = values_of(bulk_parameters())
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


def _within(table: Table, key: str, what: str, value: float, limits: tuple[float, float],
            unit: str) -> bool:  # fmt: skip
    """Whether a value is possible; if not, that is noted."""
    low, high = limits
    if low <= value <= high:
        return True
    table.fail(key, f"{what}{value:g} {unit} is not possible; use {low:g} to {high:g} {unit}")
    return False


def _listed(table: Table, key: str, value: Any, words: str) -> list[Any]:
    """A list of tools, none of it where it is no such list or too long, which is noted."""
    if not isinstance(value, list):
        table.fail(key, f"must be a list, {words}")
    elif len(value) > _MOST:
        table.fail(key, f"has {len(value)}; {_MOST} is the most")
    else:
        return value
    return []


@frozen
class Spoons(Key):
    """Spoons by what they hold when level: millilitres, or text with a unit, as a tuple."""

    def read(self, table: Table, key: str, value: Any) -> tuple[Spoon, ...]:
        found = []
        for one in _listed(table, key, value, 'like [15, 5, 2.5, 1.25] or ["1 tsp", "1/4 tsp"]'):
            try:
                ml = parse_quantity(one, "volume", "ml")
            except UnitError as error:
                table.fail(key, str(error))
                continue
            if _within(table, key, "", ml, SPOON_ML, "mL"):
                bare = not isinstance(one, str) or re.search(r"[a-z]", one.lower()) is None
                found.append(Spoon(f"{ml:g} mL" if bare else plain(one), ml))
        labels = [spoon.label for spoon in found]
        if len(set(labels)) != len(labels):
            table.fail(key, "names one spoon twice")
        return tuple(found)


@frozen
class Scoops(Key):
    """Scoops by name: what they hold when level, ``"1.5 mL"`` or ``"0.4 g dry"``, as a tuple."""

    def read(self, table: Table, key: str, value: Any) -> tuple[Spoon, ...]:
        if not isinstance(value, Mapping) or len(value) > _MOST:
            table.fail(
                key, 'must name each and what it holds, like { "blue scoop" = "0.4 g dry" };'
                f" {_MOST} is the most"
            )  # fmt: skip
            return ()
        return tuple(s for name, held in value.items() if (s := _scoop(table, key, name, held)))


def _scoop(table: Table, key: str, name: str, held: Any) -> Spoon | None:
    said = f"{short(name)}: "
    try:
        check_line(name)
        number = isinstance(held, int | float) and not isinstance(held, bool)
        of_what = _OF_WHAT.fullmatch(held) if isinstance(held, str) else None
        if of_what and of_what[2] in SUBSTANCES:
            grams = parse_quantity(of_what[1], "mass", "g")
            fits = _within(table, key, said, grams, SCOOP_G, "g")
            return Spoon(plain(name), None, {of_what[2]: grams}) if fits else None
        if not number and not isinstance(held, str):
            raise UnitError('write what it holds, like "1.5 mL" or "0.4 g dry"')
        ml = parse_quantity(held, "volume", "ml")
    except UnitError as error:
        weight = isinstance(held, str) and re.search(r"\d\s*(m?g|oz)\b", held) is not None
        of_one = f'with a weight say of what, like "0.4 g {DRY}" ({", ".join(SUBSTANCES)})'
        table.fail(key, f"{said}{of_one if weight else error}")
        return None
    return Spoon(plain(name), ml) if _within(table, key, said, ml, SPOON_ML, "mL") else None


@frozen
class TeaspoonsWeighed(Key):
    """Grams of one level teaspoon by substance, as the keeper weighed it: ``{ dry = 2.1 }``."""

    def read(self, table: Table, key: str, value: Any) -> dict[str, float]:
        found: dict[str, float] = {}
        if not isinstance(value, Mapping):
            table.fail(key, "must name what was weighed, like { dry = 2.1, cysts = 3.4 }")
            return found
        for of, grams in value.items():
            if of not in SUBSTANCES:
                table.fail(key, f"there is no '{short(of)}'; {nearest(of, SUBSTANCES)}")
                continue
            try:
                weighed = parse_quantity(grams, "mass", "g")
            except UnitError as error:
                table.fail(key, f"{of}: {error}")
                continue
            if _within(table, key, f"{of}: ", weighed, TEASPOON_G, "g"):
                found[of] = weighed / TEASPOON_ML
        return found


@frozen
class Syringes(Key):
    """Syringes as pairs of what each holds and its smallest mark [mL], as a tuple."""

    def read(self, table: Table, key: str, value: Any) -> tuple[Syringe, ...]:
        words = "each what it holds and its smallest mark, like [[60, 1], [10, 0.5]]"
        pairs = _listed(table, key, value, words)
        read = (_marked(table, key, pair, words, SYRINGE_ML) for pair in pairs)
        return tuple(Syringe(*found) for found in read if found)


def _marked(
    table: Table, key: str, pair: Any, words: str, limits_ml: tuple[float, float]
) -> tuple[float, float] | None:
    """What a syringe or a cup holds and its smallest mark [mL]."""
    if not (
        isinstance(pair, list) and len(pair) == 2
        and all(isinstance(x, int | float) and not isinstance(x, bool) for x in pair)
    ):  # fmt: skip
        table.fail(key, f"must list pairs, {words}")
        return None
    holds, mark = (as_float(x) for x in pair)
    of = f"of [{holds:g}, {mark:g}] "
    if not _within(table, key, of, holds, limits_ml, "mL"):
        return None
    if not _within(table, key, of, mark, MARK_ML, "mL"):
        return None
    if mark > holds / 2:
        table.fail(key, f"{of}the mark is more than half of what it holds; first what it holds")
        return None
    return holds, mark


@frozen
class MeasuringCups(Key):
    """Measuring cups: pairs of what each holds and its smallest mark [mL], or what is filled."""

    def read(self, table: Table, key: str, value: Any) -> tuple[MeasuringCup, ...]:
        words = 'each what it holds and its smallest mark, like [[500, 25]], or "1/4 cup"'
        each = _listed(table, key, value, words)
        return tuple(c for one in each if (c := _measuring_cup(table, key, one, words)))


def _measuring_cup(table: Table, key: str, one: Any, words: str) -> MeasuringCup | None:
    if isinstance(one, list):
        marked = _marked(table, key, one, words, CUP_ML)
        return MeasuringCup(*marked) if marked else None
    try:
        ml = parse_quantity(one, "volume", "ml")
    except UnitError as error:
        table.fail(key, str(error))
        return None
    if not _within(table, key, "", ml, CUP_ML, "mL"):
        return None
    bare = not isinstance(one, str) or re.search(r"[a-z]", one.lower()) is None
    return MeasuringCup(ml, ml, f"{ml:g} mL" if bare else plain(one))
