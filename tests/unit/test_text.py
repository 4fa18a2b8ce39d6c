"""Names and lines as they are read and shown."""

from __future__ import annotations

import pytest

from cultures.errors import UnitError
from cultures.words.text import check_line, is_line, listed, plain, seen, short


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], ""), (["A1"], "A1"), (["A1", "B2"], "A1 and B2"),
        (["A1", "B2", "C3"], "A1, B2 and C3"),
        (["A1", "B2", "C3", "D4"], "A1, B2, C3 and D4"),
    ],
)  # fmt: skip
def test_words_are_listed_as_they_are_spoken(words: list[str], said: str) -> None:
    assert listed(words) == said


def test_a_name_is_the_same_however_its_letters_are_composed() -> None:
    assert plain("  Ane\u0301mone   1 ") == "An\u00e9mone 1"
    assert plain("\udcc3\udca9") == "\u00e9"  # as a system writes it that knows ASCII alone
    assert plain("\udcff") == "\udcff"


@pytest.mark.parametrize("letter", ["a", "\u00e9"])
def test_a_line_is_as_long_as_may_be_and_no_longer(letter: str) -> None:
    """A name of at most 200 letters, whether they are ASCII or not."""
    check_line(letter * 200)
    assert is_line(letter * 200)
    check_line(letter * 5, 5)
    assert not is_line(letter * 201)
    with pytest.raises(UnitError, match="at most 200 characters"):
        check_line(letter * 201)
    with pytest.raises(UnitError, match="at most 5 characters"):
        check_line(letter * 6, 5)


@pytest.mark.parametrize("point", [0x0, 0x1F, 0x7F, 0x9F, 0x200B, 0x2028, 0x202E, 0x2066, 0xFEFF])
def test_what_cannot_be_seen_is_refused_by_its_number_and_shown_as_such(point: int) -> None:
    text = f"a{chr(point)}b"
    assert not is_line(text)
    with pytest.raises(UnitError, match=rf"may not hold U\+{point:04X}"):
        check_line(text)
    assert seen(text) == short(text) == "a\ufffdb"


def test_half_a_letter_is_no_text_and_ends_of_lines_stay() -> None:
    with pytest.raises(UnitError, match="is not UTF-8 text"):
        check_line("a\udc80")
    assert seen("a\tb\nc") == "a\ufffdb\nc"
    for fit in ("\u00a0", "~", " "):
        assert is_line(fit)
    assert not is_line(7)


def test_a_long_text_is_cut_for_a_message() -> None:
    assert short("x" * 60) == "x" * 60
    assert short("x" * 61) == "x" * 60 + "..."
    assert short("abcdef", 5) == "abcde..."
