"""Amounts of another unit, or with a point between thousands, are asked back and not noted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted, room_file

_LOOK, _DUE = "2027-01-05T07:01", "2027-01-05T07:40"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """The demo room, once its morning was told."""
    path = room_file(tmp_path)
    at(path, _LOOK, "today")
    return path


def _said(room: Path, *words: str, code: int = 0) -> str:
    result = at(room, _DUE, "journal", *words, code=code)
    return " ".join((result.stdout + result.stderr).split())


def _lines(room: Path) -> list[str]:
    journal = room.with_name("journal.csv")
    return journal.read_text("utf-8").splitlines()[1:] if journal.exists() else []


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        # Three digits behind a point are thousands where the comma is the decimal sign.
        (("hatched", "bottle 1", "95.000"), "95.000 nauplii may be 95, or 95,000: for that write"),
        (("count", "annuals 2", "1.050"), "1.050 fry: animals are counted whole, or 1,050: for"),
        # A gram of cysts gives 100,000 and more; nobody counts 95 nauplii by a drop.
        (("hatched", "bottle 1", "95"), "95 nauplii in bottle 1, where"),
    ],
)  # fmt: skip
def test_few_animals_are_asked_back(room: Path, words: tuple[str, ...], asked: str) -> None:
    assert asked in _said(room, *words, code=2)
    assert _lines(room) == []


def test_what_is_sure_is_noted_as_it_stands(room: Path) -> None:
    assert "add --sure" in _said(room, "hatched", "bottle 1", "95.000", code=2)
    jotted(room, _DUE, "hatched", "bottle 1", "95.000", "--sure")
    assert ",95,nauplii," in _lines(room)[0]
    assert "hatched bottle 1 95,000" not in _said(room, "show")


def test_a_thousandth_of_a_dose_is_asked_back_with_what_may_be_meant(room: Path) -> None:
    """Grams told and milligrams typed: C4 is told some hundredths of a gram, so 0.02 mg of it is
    less than a hundredth of that, and 0.02 g is what was meant.
    """
    refused = _said(room, "fed", "C4", "dry", "0,02", "mg", code=2)
    assert "0.00002 g of dry food for C4, where" in refused
    assert "did you mean 0.02 g?" in refused
    assert _lines(room) == []
    jotted(room, _DUE, "fed", "C4", "dry", "0,02", "mg", "--sure")
    # Not rounded to a tenth of a milligram, which would be five times that.
    assert float(_lines(room)[0].split(",")[4]) == pytest.approx(0.02e-3)


def test_little_but_not_far_less_is_noted(room: Path) -> None:
    """A tenth of a dose is no other unit."""
    jotted(room, _DUE, "fed", "C4", "dry", "2", "mg")
    assert float(_lines(room)[0].split(",")[4]) == pytest.approx(0.002)


def test_worms_a_thousand_times_fewer_are_asked_back(room: Path) -> None:
    """6 1/2 swipes are told (docs/journal.md): 0.006 is less than a hundredth of one dose."""
    refused = _said(room, "harvest", "MW-1", "0.0065 swipes", code=2)
    assert "0.0065 swipes of MW-1, where 6.5 swipes was told; did you mean 6.5 swipes?" in refused
    jotted(room, _DUE, "harvest", "MW-1", "1/2 swipes")


def _remarks(room: Path) -> list[str]:
    shown = " ".join(at(room, "2027-01-05T08:10", "today").stdout.split())
    return re.findall(r"you noted of C4: (.*?) \(Tue", shown)


def test_what_was_replaced_is_not_what_was_noted(room: Path) -> None:
    """Of one tank and round the later amount of a food holds, and so does that it was fed."""
    jotted(room, _DUE, "fed", "C4", "dry", "2", "mg", "--at", "07:32")
    jotted(room, _DUE, "fed", "C4", "dry", "0.01", "g", "--at", "07:32")
    (once,) = _remarks(room)
    assert once.startswith("fed 0.01 g of dry food")
    jotted(room, _DUE, "skip", "tank", "C4")
    assert _remarks(room) == ["not fed"]
