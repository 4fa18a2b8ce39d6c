"""What a published check tells: found by turning every parameter that its model reads.

A check on a figure of a text that none of those parameters rests on is *independent* and counts
as evidence. One whose text is also a parameter's source shows that the data carry what was
printed. One that turns with no parameter is about a formula.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any
from unittest import mock

from attrs import frozen

from cultures.errors import LivefoodError
from cultures.foods.kinds import kind_names, shipped_kind, strains
from cultures.foods.parameters import TOGETHER, Parameter, data_names
from cultures.fry import feeding
from cultures.fry.classes import shipped_class
from cultures.fry.species import species_keys

INDEPENDENT, SAME_SOURCE, FORMULA = "independent", "same source", "formula"
#: A change of a model's output that is more than rounding.
_MOVES = 1e-9


class Read(dict[str, float]):
    """Values that keep which of them were read."""

    def __init__(self, values: Mapping[str, float]) -> None:
        super().__init__(values)
        self.seen: set[str] = set()

    def __getitem__(self, key: str) -> float:
        self.seen.add(key)
        return super().__getitem__(key)


@frozen(eq=False)
class Kinship:
    """How a check stands to the parameters behind its model.

    Attributes:
        kind: independent, same source or formula. model: its output.
        low, high: what eight in ten lie within, by the ranges of the parameters.
        turned: names of the parameters that move the output. sources: of them all.
    """

    kind: str
    model: float
    low: float
    high: float
    turned: tuple[str, ...]
    sources: frozenset[str]


@contextmanager
def _watched() -> Iterator[list[tuple[str, Read, Mapping[str, Parameter]]]]:
    """Every shipped kind, strain, class and species, and what is common to all fry."""
    things: list[tuple[str, Any]] = [
        (strain or name, shipped_kind(name, strain))
        for name in kind_names() for strain in (None, *strains(name))
    ]  # fmt: skip
    things += [(name, shipped_kind(name)) for name in kind_names()]  # kept apart by its cache
    things += [(name, shipped_class(name)) for name in (*data_names("classes"), *species_keys())]
    plain = [thing.values for _, thing in things]
    common = Read(feeding.feeding_values())
    found = [("fry", common, feeding.feeding_parameters())]
    feeding.feeding_values.cache_clear()
    try:
        for (name, thing), values in zip(things, plain, strict=True):
            read = Read(values)
            object.__setattr__(thing, "values", read)
            found.append((name, read, thing.parameters))
        with mock.patch.object(feeding, "values_of", return_value=common):
            yield found
    finally:
        feeding.feeding_values.cache_clear()
        for (_, thing), values in zip(things, plain, strict=True):
            object.__setattr__(thing, "values", values)


def kinship(model: Callable[[], float], source: str, *, used: bool = False) -> Kinship:
    """How a check of a source's figure stands to what its model rests on.

    Args:
        used: the figure was used or looked at when the model was set.

    The interval adds the two sides' changes in quadrature, each parameter moved to the ends of
    its range: the law of ranges (docs/models.md) to the first order, on a logarithm where all is
    above 0.
    """
    with _watched() as things:
        middle = model()
        reads = [
            (name, values, p, key) for name, values, p in things for key in sorted(values.seen)
        ]
        turned: list[str] = []
        behind: set[str] = set()
        outputs: list[tuple[float, float]] = []
        for name, values, parameters, key in reads:
            pair = [_turned(model, values, ends) for ends in _ends(parameters, key)]
            known = [x for x in pair if x is not None]
            if all(abs(x - middle) <= _MOVES * max(1.0, abs(middle)) for x in known):
                continue
            turned.append(f"{name}.{key}")
            behind.update(parameters[key].sources)
            if parameters[key].low < parameters[key].high:
                known.append(middle)
                outputs.append((min(known), max(known)))
    kind = FORMULA if not turned else SAME_SOURCE if used or source in behind else INDEPENDENT
    low, high = _added(middle, outputs)
    return Kinship(kind, middle, low, high, tuple(turned), frozenset(behind))


def _ends(parameters: Mapping[str, Parameter], key: str) -> list[dict[str, float]]:
    """A parameter at both ends of its range, with what goes as it goes."""
    p = parameters[key]
    if p.low == p.high:
        return [{key: p.value * 0.98}, {key: p.value * 1.02 + (p.value == 0) * 0.1}]
    keys = [key, *(k for k, leader in TOGETHER.items() if leader == key and k in parameters)]
    return [{k: parameters[k].low for k in keys}, {k: parameters[k].high for k in keys}]


def _turned(model: Callable[[], float], values: Read, ends: Mapping[str, float]) -> float | None:
    """The output with some values changed; None where the model does not take them."""
    before = {key: dict.__getitem__(values, key) for key in ends}
    values.update(ends)
    try:
        found = model()
    except (LivefoodError, ArithmeticError, AssertionError):
        return None
    finally:
        values.update(before)
    return found if math.isfinite(found) else None


def _added(middle: float, outputs: list[tuple[float, float]]) -> tuple[float, float]:
    if middle > 0 and all(low > 0 for low, _ in outputs):
        down = math.hypot(*(math.log(middle / low) for low, _ in outputs))
        up = math.hypot(*(math.log(high / middle) for _, high in outputs))
        return middle * math.exp(-down), middle * math.exp(up)
    down = math.hypot(*(middle - low for low, _ in outputs))
    up = math.hypot(*(high - middle for _, high in outputs))
    return middle - down, middle + up
