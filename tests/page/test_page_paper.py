"""The helper's page and the keeper's screen beside a helper's sheet on paper."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cli.sheet.helper_words import PAPER_IS_OLD
from cultures.record.store import Record, read_record, record_path
from tests.cli.invented import at
from tests.page.room import KEYS, Page, demo_page

_EVENING = "feed/2027-01-08T18:30"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    """The demo room on the first morning of a helper, whose sheet was printed the day before."""
    page = demo_page(tmp_path, monkeypatch, "2027-01-08T08:00")
    at(page.room, "2027-01-07T19:00", "journal", "away", "fri", "to", "sat", "--helper")
    at(page.room, "2027-01-07T19:05", "today")
    at(page.room, "2027-01-07T19:10", "sheet", "--helper", "--out", str(tmp_path / "h.html"))
    return page


def _record(page: Page) -> Record:
    return read_record(record_path(page.room), UTC, datetime(2027, 1, 8, 17, tzinfo=UTC))


def _recount(page: Page, times: float) -> None:
    """Counts the brood of the evening round that eats most as so many times what it was told for,
    once the morning's round is over.
    """
    told = _record(page).tasks[_EVENING]
    brood = max(told.needs_j, key=lambda name: told.needs_j[name])
    at(page.room, "2027-01-08T11:00", "journal", "count", brood, f"{told.fry[brood] * times:.0f}",
       "--sure")  # fmt: skip


def test_a_tenth_more_fry_change_nothing_on_a_helpers_page(page: Page) -> None:
    """A plan made anew would give a tenth more to one tank; paper holds for less than a quarter."""
    paper = _record(page).tasks[_EVENING]
    page.get(key=KEYS.helper)
    _recount(page, 1.12)
    page.at("2027-01-08T12:00")
    assert PAPER_IS_OLD not in page.get(key=KEYS.helper)
    told = _record(page).tasks[_EVENING]
    assert (told.lines, told.told_at) == (paper.lines, paper.told_at)
    said = at(page.room, "2027-01-08T17:30", "plan", "--days", "1", "--json")
    lines = [x for x in json.loads(said.stdout)["rounds"] if x["at"].startswith("2027-01-08T18")]
    doses = {(x["brood"], x["food"]): x["amount"] for x in lines if x["amount"] > 0}
    assert doses == {(x.brood, x.food): x.amount for x in paper.lines}


def test_of_far_more_fry_the_helpers_page_says_that_paper_is_old(page: Page) -> None:
    page.get(key=KEYS.helper)
    _recount(page, 1.8)
    page.at("2027-01-08T12:00")
    assert PAPER_IS_OLD in page.get(key=KEYS.helper)
    assert "PHONE THE HELPER" in at(page.room, "2027-01-08T12:05", "today").output
