"""What an error says, as whole sentences."""

from __future__ import annotations

import math

import pytest

from cultures.errors import (
    BadFileError,
    Problem,
    RangeError,
    UnknownNameError,
    check_above_zero,
    closest,
    decoded,
    nearest,
)


@pytest.mark.parametrize(
    ("name", "known", "said"),
    [
        ("Q", ["A2", "A1"], "there is no tank named 'Q'. Known: A1, A2."),
        ("A3", ["A1"], "there is no tank named 'A3'; did you mean 'A1'? Known: A1."),
        ("zebras", ["rams"], "there is no tank named 'zebras'. Known: rams."),
        ("rains", ["rams"], "there is no tank named 'rains'; did you mean 'rams'? Known: rams."),
        ("Q", [], "there is no tank named 'Q'."),
        ("", ["A1"], "there is no tank named ''. Known: A1."),
    ],
)
def test_a_name_that_is_not_there(name: str, known: list[str], said: str) -> None:
    error = UnknownNameError("tank", name, known)
    assert str(error) == said
    assert error.exit_code == 2


def test_the_nearest_name_or_all() -> None:
    assert nearest("spilt", ["split", "start"]) == "did you mean 'split'?"
    assert nearest("q", ["split", "start"]) == "known: split, start"


@pytest.mark.parametrize(("before", "line"), [(b"", 1), (b"a\n", 2), (b"a\n\nb = ", 3)])
def test_the_line_that_is_no_text_is_named(before: bytes, line: int) -> None:
    with pytest.raises(BadFileError, match=rf"room\.toml:{line}: is not UTF-8"):
        decoded("room.toml", before + b"\xff\nz")


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_what_is_not_above_nothing_is_refused_with_its_number(value: float) -> None:
    with pytest.raises(RangeError, match=f"grams must be above 0 g, got {value:g}"):
        check_above_zero("grams", value, " g")
    check_above_zero("grams", 1e-300)


def test_mistakes_are_told_by_file_and_line_those_of_the_whole_file_first() -> None:
    rows = [Problem("b", 1, "", "x"), Problem("a", 9, "k", "y"), Problem("a", None, "", "z")]
    error = BadFileError(rows, "Mend them.")
    assert str(error) == "3 mistakes:\n  a: z\n  a:9: k: y\n  b:1: x\nMend them."
    assert str(BadFileError(rows[:1])) == "1 mistake:\n  b:1: x"


def test_a_name_is_near_by_the_share_of_letters_that_agree() -> None:
    """Ratcliff and Obershelp's share, 2 x 3 of 4 + 4 letters and 2 x 2 of 8."""
    assert closest("abcd", ["abcx"], 0.75) == "abcx"
    assert closest("abcd", ["abcx"], 0.76) is None
    assert closest("abcd", ["abcx"]) == "abcx"
    assert closest("abcd", ["abxy"]) is None
    assert "did you mean 'abxy'?" in str(UnknownNameError("tank", "abcd", ["abxy"]))
    assert "did you mean" not in str(UnknownNameError("tank", "abcd", ["axyz"]))


def test_of_many_names_the_nearest_few_are_listed() -> None:
    """Nobody reads 45 names; up to twenty are listed whole."""
    names = [f"{letter}{number}" for letter in "ABCD" for number in range(1, 11)]
    said = str(UnknownNameError("tank", "B44", names))
    assert said.startswith(
        "there is no tank named 'B44'; did you mean 'B4'? Nearest of 40 names: B4, "
    )
    assert said.count(", ") == 4
    assert "Known: " in str(UnknownNameError("tank", "B44", names[:20]))
    assert "Nearest of 21 names: " in str(UnknownNameError("tank", "B44", names[:21]))
