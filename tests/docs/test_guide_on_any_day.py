"""The guide can be followed on any day: its room and its commands, begun on other dates."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from cli.moved import GUIDE_BEGINS, moved
from cli.shipped import room_text
from tests.docs.examples import examples_of, prepare, run_example
from tests.examples import examples

_GUIDE = (Path(__file__).parents[2] / "docs" / "guide.md").read_text("utf-8")
#: A day in the middle of a week whose fortnight goes past the end of February of a leap year; in
#: the thorough run others too, among them a Monday, the day of the week that the page has.
_BEGINS = (
    date(2028, 2, 23), date(2026, 11, 18), date(2028, 2, 19), date(2027, 6, 14),
)[: examples(1, 4)]  # fmt: skip


def test_the_room_that_is_written_is_the_room_of_the_guide(tmp_path: Path) -> None:
    shown = re.search(r"<!-- file: room.toml -->\n```toml\n(.*?)```", _GUIDE, re.DOTALL)
    assert shown is not None
    assert room_text("guide_room.toml", GUIDE_BEGINS, timezone='"Europe/Lisbon"') == shown[1]
    path = tmp_path / "room.toml"
    args = ["new", str(path), "--guide", "--timezone", "Europe/Lisbon"]
    result = CliRunner().invoke(main, [*args, "--now", "2027-06-14T06:10"])
    assert result.exit_code == 0, result.output
    assert path.read_text("utf-8") == moved(shown[1], date(2027, 6, 14))


_AMOUNT = re.compile(r"\b\d[\d.,/]*(?![\d:-])(?! (?:[A-Z][a-z]{2}\b|\d{4}\b))")
#: A row of a chart, or the mark of a point.
_MARKS = re.compile(r"[#+.-]+")


def _as_said(expected: Sequence[str], printed: Sequence[str]) -> bool:
    """Whether it is printed: every word and date, however folded, with an amount for each amount.

    In the guide's own weeks the clocks change, in the others they do not: that moves last digits.
    """
    parts = re.split(r"(?m)^\.\.\.$", "\n".join(expected))
    pattern = ".*".join(map(re.escape, (_without_amounts(part) for part in parts)))
    return re.search(pattern, _without_amounts("\n".join(printed))) is not None


def _without_amounts(text: str) -> str:
    words = " ".join(word for word in text.split() if not _MARKS.fullmatch(word))
    return _AMOUNT.sub("amount", words)


@pytest.mark.parametrize("begins", _BEGINS, ids=str)
def test_the_guide_can_be_followed_from_another_day_on(begins: date, tmp_path: Path) -> None:
    prepare(tmp_path)
    compared = 0
    for example in examples_of(moved(_GUIDE, begins)):
        printed = run_example(example, tmp_path)  # which must end as the page says
        if printed is not None and example.expected:
            assert _as_said(example.expected, printed), (example.command, printed)
            compared += 1
    assert compared > 15


def test_the_page_is_shown_with_the_days_of_who_reads_it() -> None:
    env = {"LIVEFOOD_NOW": "2027-06-15T08:00"}
    text = CliRunner().invoke(main, ["help", "guide", "--today"], env=env).stdout
    assert "Tue 15 Jun 2027, 06:10" in text
    assert "It is Tuesday, ten past six." in text
    assert not re.search(r"2027-03-(01|10)|\b\d+ Mar\b", text)
    refused = CliRunner().invoke(main, ["help", "journal", "--today"])
    assert refused.exit_code == 2
    assert "--today goes with the guide" in refused.stderr
