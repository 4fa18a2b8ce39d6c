"""Days away, said on the phone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.page.room import KEYS, Page, demo_page


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    return demo_page(tmp_path, monkeypatch, "2027-01-05T07:20")


def _away(page: Page, code: int = 200, **said: str) -> str:
    form = {"day": "2027-01-08", "since": "18:30", "end": "2027-01-10", "other": "nobody"}
    return str(page.post(code=code, kind="event", event="away", **{**form, **said}))


def _noted(page: Page) -> list[str]:
    """The journal without its times."""
    return [line.partition(",")[2] for line in page.journal()]


def test_from_friday_evening_to_sunday_is_said_on_the_page_and_taken_back(page: Page) -> None:
    assert "I am away" in page.get("ahead")
    _away(page)
    assert _noted(page) == ["away,room,2027-01-08T18:30 to 2027-01-10,,,"]
    shown = page.get("ahead")
    assert "<li><b>Fri 8 Jan 18:30 to Sun 10 Jan:</b> nobody feeds</li>" in shown
    page.at("2027-01-08T07:20")
    assert "Fri 8 Jan 18:30 to Sun 10 Jan, nobody feeds" in page.get()  # what is to be done before
    page.at("2027-01-05T07:25")
    page.post(kind="undo", line="2")
    assert "nobody feeds</li>" not in page.get("ahead")


def test_one_evening_with_a_helper_is_of_that_day_alone(page: Page) -> None:
    _away(page, end="", until="", other="helper")
    _away(page, since="", only="07:30")
    assert _noted(page) == [
        "away,room,2027-01-08T18:30 to 2027-01-08 with helper,,,",
        "away,room,2027-01-08 to 2027-01-10 at 07:30,,,",
    ]
    page.at("2027-01-08T18:00")
    shown = page.get(key=KEYS.helper)
    assert "You feed on Fri 8 Jan from 18:30." in shown
    assert "Round 18:30" in shown


def test_a_round_at_which_nobody_is_there_says_so(page: Page) -> None:
    _away(page, day="2027-01-05", end="")
    page.at("2027-01-05T18:10")
    shown = page.get()
    assert "Nobody is there to feed." in shown
    assert "Nothing eats yet" not in shown


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"other": ""}, "who feeds"), ({"day": ""}, "which day"),
        ({"end": "2027-01-07"}, "before it begins"),
        ({"since": "19:00", "end": "2027-01-08"}, "no round"),
        ({"only": "12:00"}, "not fed at 12:00"),
    ],
)  # fmt: skip
def test_what_makes_no_absence_is_refused(page: Page, said: dict[str, str], why: str) -> None:
    assert why in _away(page, 409, **said)
    assert page.journal() == []


def test_the_helper_does_not_say_when_the_keeper_is_away(page: Page) -> None:
    page.post(key=KEYS.helper, code=403, kind="event", event="away", day="2027-01-08")
