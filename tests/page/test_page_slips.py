"""What a wet thumb could note unasked, what was not said, and what stood too far away."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.page.room import KEYS, Page, demo_page

_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    page = demo_page(tmp_path, monkeypatch, _MORNING)
    page.get()
    return page


def _closed(html: str, words: str) -> str:
    """The innermost folded part that holds a button of these words."""
    before, found, _ = html.partition(f">{words}</button>")
    assert found, words
    inside = before[before.rindex("<details") :]
    assert "</details>" not in inside, f"{words} stands open"
    return inside


def test_all_fry_are_gone_by_two_touches_and_in_no_line_with_the_sale(page: Page) -> None:
    """The button that sells the last fish touched the one that notes a number."""
    html = page.get("fry")
    for words in ("All were sold, none are left", "None are left"):
        inside = _closed(html, words)
        assert "All of them</summary>" in inside
        assert "Note the" not in inside


@pytest.mark.parametrize(
    ("name", "field"), [("fry", "other"), ("fry", "class"), ("todo", "subject")]
)
def test_nothing_is_chosen_before_somebody_chooses(page: Page, name: str, field: str) -> None:
    """A press with the first tank in the field moved a brood into it."""
    lists = re.findall(rf'<select name="{field}"([^>]*)>(<option[^>]*>)', page.get(name))
    assert lists
    for asked, first in lists:
        assert "required" in asked
        assert 'value=""' in first


def test_what_was_noted_comes_back_with_its_line(page: Page) -> None:
    """So that it is said where the thumb is, and taken back from there."""
    said = page.post(kind="event", event="count", subject="platies 9", amount="40")
    assert said["text"] == ["Tue 5 Jan 07:20  count platies 9 40 fry"]
    assert said["line"] == 2  # the first line is the head
    page.post(kind="undo", line=str(said["line"]), all="1")
    assert [row.split(",")[1] for row in page.journal()] == ["count", "undo"]


def test_a_caution_stands_in_full_once_and_is_recalled_after_that(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = demo_page(tmp_path, monkeypatch, _MORNING)
    text = page.room.read_text("utf-8")
    (box,) = re.findall(r'\[\[culture\]\]\nname = "MW-1".*?\n\n', text, re.DOTALL)
    small = box.replace("= 150", "= 30").replace("= 180", "= 40")  # one alone is not enough
    both = text.replace(box, small) + "\n" + small.replace("MW-1", "MW-9")
    page.room.write_text(both, "utf-8")
    html = page.get()
    full = re.findall(r"Take care:</strong> (.+?)</p>", html)
    again = re.findall(r"Take care</strong>, as above: (.+?)</p>", html)
    assert len(full) == len(set(full))
    assert again
    assert all(any(text.startswith(short) for text in full) for short in again)


def test_none_of_a_round_is_noted_at_once(page: Page) -> None:
    """Somebody who comes home late says so in two touches and not for each tank."""
    html = page.get()
    assert "None of this round</summary>" in _closed(
        html, "Nobody was fed, and nothing was harvested"
    )
    at = re.findall(r'name="round" value="([^"]+)"', html)[0]
    page.post(kind="round", round=at, what="skip")
    rows = [row.split(",")[1:3] for row in page.journal()]
    assert {event for event, _ in rows} == {"skip"}
    assert ["skip", "07:30 round"] in rows


def test_the_page_says_what_is_to_be_done_before_leaving(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = demo_page(tmp_path, monkeypatch, _MORNING)
    text = page.room.read_text("utf-8")
    away = "\n[[away]]\nfrom = 2027-01-06\nto = 2027-01-07\nhelper = true\n"
    page.room.write_text(text + away, "utf-8")
    html = page.get()
    assert "<b>Before you leave</b> (Wed 6 Jan to Thu 7 Jan, a helper feeds)" in html
    assert re.search(r"<li>Fill \d envelopes of dry food", html)
    assert "livefood" not in html.partition("Before you leave")[2].partition("</details>")[0]


def test_envelopes_keep_their_numbers_while_the_days_away_pass(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The keeper wrote the numbers on paper: on the second evening it is the fourth, not the
    first.
    """
    page = demo_page(tmp_path, monkeypatch, "2027-01-10T07:20")
    text = page.room.read_text("utf-8")
    page.room.write_text(
        f"{text}\n[[away]]\nfrom = 2027-01-10\nto = 2027-01-14\nhelper = true\n", "utf-8"
    )
    numbers = []
    for clock in ("2027-01-10T07:20", "2027-01-10T18:20", "2027-01-11T07:20", "2027-01-11T18:20"):
        monkeypatch.setenv("LIVEFOOD_NOW", clock)
        shown = page.get(key=KEYS.helper)
        hour = "07:30" if "T07" in clock else "18:30"
        day = "Sun 10 Jan" if "-10T" in clock else "Mon 11 Jan"
        (number,) = re.findall(rf"envelope (\d+), {day} {hour}", shown)
        numbers.append(int(number))
    assert numbers == [1, 2, 3, 4]


def test_a_helpers_note_waits_for_who_comes_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was written three days before, on the first of the days away."""
    page = demo_page(tmp_path, monkeypatch, "2027-01-06T07:20")
    text = page.room.read_text("utf-8")
    page.room.write_text(
        f"{text}\n[[away]]\nfrom = 2027-01-06\nto = 2027-01-08\nhelper = true\n", "utf-8"
    )
    page.get(key=KEYS.helper)
    words = "water cloudy, filter stands still"
    page.post(key=KEYS.helper, kind="event", event="note", subject="A3", words=words)
    monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-09T07:20")
    assert words in page.get()
    monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-11T07:20")
    assert words not in page.get()
