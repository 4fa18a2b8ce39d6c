"""Parameters of living things: a value, its plausible range, and where it comes from."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, get_args

from attrs import frozen

from cultures.errors import LivefoodError, UnknownNameError, nearest
from cultures.words.numbers import as_float

if TYPE_CHECKING:
    import random

# Not importlib.resources, which imports so much that every command would start later.
_DATA = Path(__file__).parents[1] / "data"

#: read: seen in the named text. derived: arithmetic from what was read. practice: common
#: practice of the trade, no source. memory: recalled, not looked up. assumption: a choice.
#: keeper: given in the room file.
Status = Literal["read", "derived", "practice", "memory", "assumption", "keeper"]


#: A rich medium carries more by its mass and by its surface, and a slow batch of cysts both begins
#: and ends late: the one goes as the other.
TOGETHER = {"capacity_mg_per_g": "capacity_mg_per_cm2", "t90_h": "t10_h"}
#: Standard deviations of a normal law beyond which a tenth of it lies.
TENTH_SDS = 1.2815515655446004


class ParameterError(LivefoodError, ValueError):
    """A parameter that is missing, unknown, or outside what makes sense."""

    def __init__(self, key: str, message: str) -> None:
        self.key = key
        self.detail = message
        super().__init__(f"{key}: {message}")


@frozen
class Parameter:
    """One number about a living thing.

    Attributes:
        value: what the models use.
        low, high: plausible range, which eight in ten lie within; equal to the value where
            nothing is known of it.
        least, most: hard limits of the value.
        unit: unit of value, low and high.
        sources: ids in ``data/sources/``.
        status: how well it is known; see :data:`Status`.
        note: what a reader should know of it.
    """

    value: float
    low: float
    high: float
    unit: str
    sources: tuple[str, ...]
    status: Status
    note: str
    least: float = -math.inf
    most: float = math.inf


@frozen(eq=False)
class Spec:
    """What a parameter must look like.

    Attributes:
        unit: its unit, as shown.
        low, high: hard limits of the value.
        meaning: one line for ``livefood kinds``.
        default: taken when the table leaves it out; None when it must be given.
    """

    unit: str
    low: float
    high: float
    meaning: str
    default: float | None = None


def read_parameter(key: str, raw: object, spec: Spec) -> Parameter:
    """A parameter from its table, or from a bare number (a keeper's own).

    Raises:
        ParameterError: not a number, outside its limits, or an unknown key in the table.
    """
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        raw = {"value": raw, "status": "keeper"}
    if not isinstance(raw, Mapping):
        raise ParameterError(
            key, "must be a number, or a table with value, range, source and status"
        )
    known = ("value", "range", "unit", "source", "status", "note")
    for name in raw:
        if name not in known:
            raise ParameterError(key, f"unknown key '{name}'; {nearest(name, known)}")
    value = _number(key, raw.get("value"))
    limits = raw.get("range", [value, value])
    if not (isinstance(limits, list) and len(limits) == 2):
        raise ParameterError(key, "range must be two numbers, [low, high]")
    low, high = (_number(key, limit) for limit in limits)
    if not low <= value <= high:
        raise ParameterError(
            key, f"the value {value:g} lies outside its own range {low:g} to {high:g}"
        )
    for number in (low, value, high):
        if not spec.low <= number <= spec.high:
            raise ParameterError(
                key, f"{number:g} {spec.unit} is not possible; use {spec.low:g} to {spec.high:g}"
            )
    if raw.get("unit", spec.unit) != spec.unit:
        raise ParameterError(key, f"the unit must be {spec.unit}, not {raw['unit']}")
    source = raw.get("source", [])
    status = raw.get("status", "keeper")
    if status not in get_args(Status):
        known_states = nearest(str(status), get_args(Status))
        raise ParameterError(key, f"unknown status '{status}'; {known_states}")
    return Parameter(
        value=value,
        low=low,
        high=high,
        unit=spec.unit,
        sources=(source,) if isinstance(source, str) else tuple(source),
        status=status,
        note=str(raw.get("note", "")),
        least=spec.low,
        most=spec.high,
    )


def read_parameters(table: Mapping[str, object], specs: Mapping[str, Spec]) -> dict[str, Parameter]:
    """All parameters of one thing, each checked against its spec; defaults filled in.

    Raises:
        ParameterError: the first one that is unknown, missing or wrong.
    """
    for key in table:
        if key not in specs:
            raise ParameterError(key, f"unknown parameter; {nearest(key, specs)}")
    result: dict[str, Parameter] = {}
    for key, spec in specs.items():
        if key in table:
            result[key] = read_parameter(key, table[key], spec)
        elif spec.default is not None:
            result[key] = Parameter(
                spec.default, spec.default, spec.default, spec.unit, (), "assumption", "default"
            )
        else:
            raise ParameterError(key, f"is missing: {spec.meaning} [{spec.unit}]")
    return result


@lru_cache(maxsize=8)
def shipped_parameters(name: str) -> Mapping[str, Parameter]:
    """All that data/NAME.toml holds, each checked against its spec in data/specs/NAME.toml."""
    return read_parameters(data_table(f"{name}.toml")["parameters"], specs_of(name))


def values_of(parameters: Mapping[str, Parameter]) -> dict[str, float]:
    """The plain values, by name."""
    return {name: parameter.value for name, parameter in parameters.items()}


def drawn_values(parameters: Mapping[str, Parameter], generator: random.Random) -> dict[str, float]:
    """One plausible set of values, each drawn around its value on its own.

    Half of the draws lie on either side of the value, a tenth beyond each end of the range, and
    none beyond what is possible: a normal law to either side, of the logarithm where all of the
    range is above 0.

    Notes:
        But for :data:`TOGETHER` parameters are drawn as if independent; where two go together in
        life (a warm batch both grows and sours fast) the interval that results is too wide.

    References:
        The split (two-piece) normal law: Wallis 2014, The two-piece normal, binormal, or double
        Gaussian distribution, Statistical Science 29(1):106-112; here each side has half of the
        probability, so that the value is the median. The ranges are data.
    """
    normal = {name: generator.gauss() / TENTH_SDS for name in parameters}
    return {
        name: _drawn(parameter, normal[TOGETHER.get(name, name)])
        for name, parameter in parameters.items()
    }


def _drawn(parameter: Parameter, sds: float) -> float:
    low, value, high = parameter.low, parameter.value, parameter.high
    if low == high:
        return value
    end = high if sds > 0 else low
    drawn = value * (end / value) ** abs(sds) if low > 0 else value + (end - value) * abs(sds)
    return min(max(drawn, parameter.least), parameter.most)


def eight_in_ten(values: Iterable[float]) -> tuple[float, float]:
    """(low, high) that eight in ten of the values stay within; not a number when there are none."""
    ordered = sorted(values)
    if not ordered:
        return math.nan, math.nan
    cut = len(ordered) // 10
    return ordered[cut], ordered[-1 - cut]


@lru_cache(maxsize=8)
def data_names(folder: str) -> tuple[str, ...]:
    """Names of the shipped TOML files in a data folder, without reading them."""
    return tuple(sorted(path.stem for path in (_DATA / folder).glob("*.toml")))


def data_table(*path: str) -> dict[str, Any]:
    """One shipped TOML file."""
    return tomllib.loads(data_text(*path))


def data_text(*path: str) -> str:
    """One shipped file as it is."""
    return _DATA.joinpath(*path).read_text("utf-8")


@lru_cache(maxsize=64)
def shipped_table(folder: str, name: str, what: str) -> dict[str, Any]:
    """The table of a shipped kind, class...

    Raises:
        UnknownNameError: there is none of this name.
    """
    if name not in (known := data_names(folder)):  # and is no way to another file
        raise UnknownNameError(what, name, known)
    return data_table(folder, f"{name}.toml")


def specs_of(what: str) -> dict[str, Spec]:
    """Which parameters something has, from ``data/specs/``."""
    return {key: Spec(*row) for key, row in data_table("specs", f"{what}.toml").items()}


def sources() -> dict[str, str]:
    """Every source id with its citation."""
    tables = (data_table("sources", f"{name}.toml") for name in data_names("sources"))
    return {key: str(entry["citation"]) for t in tables for key, entry in t.items()}


def check_keys(table: Mapping[str, object], known: Collection[str]) -> None:
    """Refuses a key that is not known.

    Raises:
        ParameterError: the first one.
    """
    for key in table:
        if key not in known:
            raise ParameterError(key, f"unknown key; {nearest(key, known)}")


def check_ascending(parameters: Mapping[str, Parameter], *orders: Sequence[str]) -> None:
    """Refuses parameters that do not ascend as they must.

    Raises:
        ParameterError: the first one that is not above the one before it.
    """
    for low, high in (pair for order in orders for pair in pairwise(order)):
        if parameters[low].value >= parameters[high].value:
            raise ParameterError(high, f"must be above {low} ({parameters[low].value:g})")


def _number(key: str, raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        raise ParameterError(key, "the value must be a number")
    if not math.isfinite(found := as_float(raw)):
        raise ParameterError(key, "the value must be finite")
    return found
