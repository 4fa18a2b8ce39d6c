"""What was told and is over: the page asks until it is answered, and takes one answer for all."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted
from tests.page.room import KEYS, ORIGIN, Page, demo_page

_LOOKS = ("2027-01-05T07:20", "2027-01-05T18:20", "2027-01-06T07:20", "2027-01-06T18:20")
_AFTER = "2027-01-07T10:00"
_ASKS = "Taken as done, unless you say otherwise"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    """Two days of which everything was told and nothing is noted."""
    page = demo_page(tmp_path, monkeypatch, _LOOKS[0], whole=True)
    for clock in _LOOKS:
        page.at(clock)
        page.get()
    page.at(_AFTER)
    return page


def _open(page: Page) -> int:
    """So many tasks 'journal due' lists as taken as done."""
    due = at(page.room, _AFTER, "journal", "due").stdout
    return len(re.findall(r"(?m)^ +\d+  ", due.partition("not noted yet")[0]))


def _all(page: Page, name: str = "") -> str:
    """The ids that the answers for all are about: the longest list of them."""
    found = re.findall(r'name="task" value="([^"]+)"', page.get(name))
    return html.unescape(max(found, key=len))


def test_a_look_at_the_terminal_takes_no_question_from_the_phone(page: Page) -> None:
    assert _ASKS in page.get()
    assert "TAKEN AS DONE" in at(page.room, _AFTER, "today").stdout
    assert _ASKS in page.get()
    page.client.post(f"/{KEYS.keeper}/asked", headers={"Origin": ORIGIN})
    assert _ASKS not in page.get()


def test_all_that_is_open_is_asked_about_and_counted(page: Page) -> None:
    count = _open(page)
    assert count > 12
    shown = page.get()
    assert f"{count} tasks since" in shown
    assert len(_all(page).splitlines()) == count
    strip = shown.partition("asked")[2].partition('class="round"')[0]
    one_by_one = re.findall(r'name="task" value="[^"\n]+"', strip)
    assert len(one_by_one) >= 2 * count


def test_none_of_two_days_is_one_tap_and_what_skipping_each_writes(page: Page) -> None:
    count = _open(page)
    page.post(kind="tasks", task=_all(page), what="skip")
    assert [line.split(",")[1] for line in page.journal()] == ["skip"] * count
    assert _ASKS not in page.get()
    assert _open(page) == 0
    jotted(page.room, _AFTER, "undo")
    for number in range(count, 0, -1):
        jotted(page.room, _AFTER, "skip", str(number))
    lines = [line.split(",")[1:4] for line in page.journal()]
    assert sorted(lines[:count]) == sorted(lines[2 * count :])


def test_one_round_is_answered_apart_from_the_others(page: Page) -> None:
    count = _open(page)
    groups = re.findall(r'name="task" value="([^"]+\n[^"]+)"', page.get())
    first = html.unescape(groups[0])
    page.post(kind="tasks", task=first, what="skip")
    assert len(page.journal()) == len(first.splitlines()) < count
    left = _all(page).splitlines()
    assert not set(left) & set(first.splitlines())
    assert any("/2027-01-06T07:30/" in key for key in left)


def test_what_was_left_at_that_can_still_be_answered_on_the_notes_page(page: Page) -> None:
    count = _open(page)
    page.client.post(f"/{KEYS.keeper}/asked", headers={"Origin": ORIGIN})
    assert "Told and not noted" in page.get("notes")
    page.post(kind="tasks", task=_all(page, "notes"), what="skip")
    assert len(page.journal()) == count
    assert "Told and not noted" not in page.get("notes")
