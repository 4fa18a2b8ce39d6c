"""Numbers of living things as they are read, held to their limits and drawn."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping

import pytest
from scipy import stats

from cultures.errors import LivefoodError, UnknownNameError
from cultures.foods.parameters import (
    TENTH_SDS,
    Parameter,
    ParameterError,
    Spec,
    check_ascending,
    check_keys,
    data_names,
    drawn_values,
    eight_in_ten,
    read_parameter,
    read_parameters,
    shipped_table,
    values_of,
)

_SPEC = Spec("d", 1.0, 10.0, "how long it takes")


def _bad(raw: object, spec: Spec = _SPEC) -> str:
    with pytest.raises(ParameterError) as caught:
        read_parameter("age", raw, spec)
    assert caught.value.key == "age"
    return caught.value.detail


def _known(value: float, low: float, high: float, **limits: float) -> Parameter:
    return Parameter(value, low, high, "d", (), "practice", "", **limits)


def test_a_bare_number_is_the_keepers_own() -> None:
    found = read_parameter("age", 3, _SPEC)
    assert (found.value, found.low, found.high) == (3, 3, 3)
    assert (found.status, found.sources, found.note) == ("keeper", (), "")
    assert (found.least, found.most, found.unit) == (1.0, 10.0, "d")


def test_a_table_says_what_is_known() -> None:
    raw = {"value": 3, "range": [2, 5], "source": "a", "status": "read", "note": "n", "unit": "d"}
    found = read_parameter("age", raw, _SPEC)
    assert (found.low, found.value, found.high) == (2, 3, 5)
    assert (found.sources, found.status, found.note) == (("a",), "read", "n")
    assert read_parameter("age", {**raw, "source": ["a", "b"]}, _SPEC).sources == ("a", "b")


@pytest.mark.parametrize(
    ("value", "low", "high", "said"),
    [
        (1, 1, 10, ""), (10, 1, 10, ""), (0.99, 0.99, 5, "0.99 d is not possible; use 1 to 10"),
        (5, 0.99, 5, "0.99 d is not possible"), (5, 5, 10.1, "10.1 d is not possible"),
        (5, 5.1, 6, "the value 5 lies outside its own range 5.1 to 6"),
        (5, 4, 4.9, "lies outside its own range"), (5, 5, 5, ""),
    ],
)  # fmt: skip
def test_value_and_range_lie_within_hard_limits(
    value: float, low: float, high: float, said: str
) -> None:
    raw = {"value": value, "range": [low, high]}
    if said:
        assert said in _bad(raw)
    else:
        assert read_parameter("age", raw, _SPEC).high == high


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (True, "must be a number, or a table"), ("3", "must be a number, or a table"),
        ({"value": True}, "the value must be a number"), ({"value": "3"}, "must be a number"),
        ({}, "the value must be a number"), ({"value": math.inf}, "the value must be finite"),
        ({"value": 10**400}, "the value must be finite"),
        ({"value": 3, "range": [3]}, "range must be two numbers"),
        ({"value": 3, "range": [3, 3, 3]}, "range must be two numbers"),
        ({"value": 3, "range": 3}, "range must be two numbers"),
        ({"value": 3, "unit": "h"}, "the unit must be d, not h"),
        ({"value": 3, "status": "sure"}, "unknown status 'sure'"),
        ({"value": 3, "vlaue": 3}, "unknown key 'vlaue'; did you mean 'value'?"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_parameter_is_said(raw: object, said: str) -> None:
    assert said in _bad(raw)


def test_parameters_are_those_of_their_specs_and_no_others() -> None:
    specs = {"age": _SPEC, "size": Spec("mm", 0.0, 9.0, "how large", 4.0)}
    found = read_parameters({"age": 2}, specs)
    assert values_of(found) == {"age": 2, "size": 4.0}
    assert (found["size"].low, found["size"].high, found["size"].status) == (4.0, 4.0, "assumption")
    tables: Mapping[str, Mapping[str, object]] = {
        "unknown parameter; did you mean 'size'?": {"age": 2, "sise": 3},
        "is missing: how long it takes \\[d\\]": {"size": 3},
    }
    for said, table in tables.items():
        with pytest.raises(ParameterError, match=said):
            read_parameters(table, specs)


def test_values_ascend_and_are_not_equal() -> None:
    parameters = {name: _known(value, value, value) for name, value in
                  (("a", 1.0), ("b", 2.0), ("c", 2.0))}  # fmt: skip
    check_ascending(parameters, ("a", "b"), ("a", "c"))
    for order in (("a", "b", "c"), ("b", "a")):
        with pytest.raises(ParameterError, match="must be above"):
            check_ascending(parameters, order)
    check_keys({"a": 1}, ("a", "b"))
    with pytest.raises(ParameterError, match="unknown key"):
        check_keys({"q": 1}, ("a", "b"))


def test_only_what_is_shipped_is_a_shipped_table() -> None:
    assert "microworm" in data_names("kinds")
    assert shipped_table("kinds", "microworm", "kind")["model"] == "worm_culture"
    for wrong in ("../limits", "microworn"):
        with pytest.raises(UnknownNameError, match="there is no kind named"):
            shipped_table("kinds", wrong, "kind")
    assert issubclass(ParameterError, LivefoodError)


def test_a_tenth_of_a_normal_law_lies_beyond() -> None:
    assert stats.norm.sf(TENTH_SDS) == pytest.approx(0.1, abs=1e-12)


@pytest.mark.parametrize(
    "known", [_known(20, 10, 90), _known(20, 0, 90), _known(-5, -9, 30), _known(2, 2, 9)]
)
def test_half_of_the_draws_lie_on_either_side_and_a_tenth_beyond_each_end(
    known: Parameter,
) -> None:
    """Against the exact quantiles of the two halves: of logarithms where all is above nothing."""
    generator = random.Random(3)
    draws = [drawn_values({"x": known}, generator)["x"] for _ in range(20_000)]
    half = 0.0 if known.low == known.value else 0.5  # where nothing lies below the value
    for quantile, end in ((0.2 * half, known.low), (half, known.value), (0.9, known.high)):
        below = sum(x < end for x in draws) / len(draws)
        assert below == pytest.approx(quantile, abs=0.012)
    middle = sorted(draws)[len(draws) * 7 // 10]
    part = stats.norm.ppf(0.7) / TENTH_SDS
    if known.low > 0:
        expected = known.value * (known.high / known.value) ** part
    else:
        expected = known.value + (known.high - known.value) * part
    assert middle == pytest.approx(expected, rel=0.05)


def test_nothing_is_drawn_beyond_what_is_possible_nor_where_all_is_known() -> None:
    generator = random.Random(4)
    known = {"x": _known(5, 1, 9, least=0.5, most=9.5), "y": _known(7, 7, 7)}
    drawn = [drawn_values(known, generator) for _ in range(2000)]
    assert (min(d["x"] for d in drawn), max(d["x"] for d in drawn)) == (0.5, 9.5)
    assert {d["y"] for d in drawn} == {7}


def test_the_end_of_a_batch_goes_as_its_beginning() -> None:
    generator = random.Random(5)
    known = {"t10_h": _known(17, 10, 20), "t90_h": _known(23, 20, 30), "other": _known(5, 1, 9)}
    late = [
        (d["t10_h"] > 17, d["t90_h"] > 23, d["other"] > 5)
        for d in (drawn_values(known, generator) for _ in range(400))
    ]
    assert all(one == two for one, two, _ in late)
    assert not all(one == other for one, _, other in late)


@pytest.mark.parametrize(
    ("count", "ends"), [(1, (0, 0)), (9, (0, 8)), (10, (1, 8)), (19, (1, 17)), (20, (2, 17))]
)
def test_a_tenth_is_cut_off_at_either_end(count: int, ends: tuple[int, int]) -> None:
    assert eight_in_ten(range(count)) == ends
