"""Rounds without a word: the page asks about them as `today` does, and takes either answer."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted
from tests.page.room import KEYS, Page, demo_page

_ASKS = "Were the fry fed as usual?"
_BACK = "2027-01-07T06:40"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    """A day of which nothing was told or noted: Wednesday, fed at 07:30 and 18:30."""
    page = demo_page(tmp_path, monkeypatch, "2027-01-05T07:20")
    page.get()
    jotted(page.room, "2027-01-05T18:40", "note", "MW-1", "all", "well")
    page.at(_BACK)
    return page


def _rounds(page: Page) -> list[str]:
    """What the buttons of the question are about."""
    strip = page.get().partition('data-keep="silent"')[2].partition("</details>")[0]
    return [html.unescape(x) for x in re.findall(r'name="round" value="([^"]+)"', strip)]


def test_it_is_asked_once_on_the_page_with_the_rounds(page: Page) -> None:
    shown = " ".join(page.get().split())
    assert shown.count(_ASKS) == 1
    assert "nothing was told or noted of the 2 rounds of wed 6 jan" in shown.lower()
    assert "journal skip round" not in shown
    every, same, first, second = _rounds(page)
    assert every == same == f"{first}\n{second}"
    assert [x[:16] for x in every.splitlines()] == ["2027-01-06T07:30", "2027-01-06T18:30"]


def test_nobody_fed_notes_each_round_as_the_command_does(page: Page) -> None:
    every = _rounds(page)[0]
    before = page.journal()
    assert page.post(kind="silent", round=every, what="skip")["state"] == "noted"
    tapped = page.journal()[len(before) :]
    assert _ASKS not in page.get()
    assert "were the fry fed" not in at(page.room, _BACK, "today").stdout
    jotted(page.room, _BACK, "undo")
    at_ = len(page.journal())
    for clock in ("Wed 7:30", "Wed 18:30"):
        jotted(page.room, _BACK, "skip", "round", "--at", clock)
    assert page.journal()[at_:] == tapped


def test_fed_as_usual_is_a_word_on_the_room_and_ends_the_question(page: Page) -> None:
    every = _rounds(page)[0]
    assert page.post(kind="silent", round=every, what="fed")["state"] == "noted"
    (line,) = page.journal()[1:]
    assert line.startswith("2027-01-06T18:30")
    assert line.split(",")[1:3] == ["note", "room"]
    assert "fed as usual" in line
    assert _ASKS not in page.get()
    assert "were the fry fed" not in at(page.room, _BACK, "today").stdout


def test_what_is_not_asked_any_more_is_refused_and_the_helper_may_not(page: Page) -> None:
    every = _rounds(page)[0]
    page.post(key=KEYS.helper, code=403, kind="silent", round=every, what="skip")
    jotted(page.room, _BACK, "note", "room", "all", "well", "--at", "Wed 18:30")
    lines = page.journal()
    for what in ("skip", "fed"):
        refused = page.post(code=409, kind="silent", round=every, what=what)
        assert "no longer asked" in refused["text"]
    assert page.post(code=409, kind="silent", round="", what="fed")["state"] == "refused"
    assert page.journal() == lines


def test_a_line_of_a_fast_clock_is_said_beside_it_as_today_does(page: Page) -> None:
    jotted(page.room, "2027-01-07T07:10", "set", "bottle 2", "0.5 g")
    shown = " ".join(page.get().split())
    assert "Noted for later than now: line 3 (set bottle 2)" in shown
    assert shown.count(_ASKS) == 1
