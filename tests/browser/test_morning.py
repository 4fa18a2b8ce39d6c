"""A keeper's whole morning with one finger, and what a person is told when things cross."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from cultures.files import read
from tests.browser.chromium import Browser, find_chromium
from tests.browser.finger import Finger
from tests.browser.morning import MOST_TAPS, morning, served
from tests.cli.invented import at, jotted, room_file

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)


@pytest.fixture(name="browser", scope="module")
def _browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


def _lines(room: Path) -> list[str]:
    return (read(room.with_name("journal.csv")) or b"").decode().splitlines()[1:]


def test_a_whole_morning_takes_few_taps_and_writes_what_the_commands_write(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = room_file(tmp_path, horizon_days="3")
    with served(room, monkeypatch) as url:
        assert morning(browser, url) <= MOST_TAPS
    other = tmp_path / "other"
    other.mkdir()
    typed = room_file(other, horizon_days="3")
    for words in ("today", "journal hatched bottle 1 210000", "today", "journal skip B1",
                  "journal done MW-1 VE-1 07:30"):  # fmt: skip
        at(typed, "2027-01-05T07:20", *words.split())
    assert len(_lines(room)) == 5
    assert _lines(room) == _lines(typed)


_ASKED = "document.getElementById('ask').innerText"


def _press(browser: Browser, name: str) -> None:
    """A click on what is called so; nothing need come of it at once."""
    browser.run(f"""[...document.querySelectorAll('button')].find(b =>
      (b.getAttribute('aria-label') || b.textContent) === {name!r}).click()""")


def test_what_is_taken_back_is_open_again(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = room_file(tmp_path, horizon_days="3")
    with served(room, monkeypatch) as url:
        browser.visit(url, width=390, phone=True)
        _press(browser, "Fed as told: tank B1")
        browser.until("document.querySelectorAll('.card.said').length === 1")
        assert browser.run("document.querySelector('.card.said').innerText").startswith(
            "fed · tank B1: acara 5"
        )
        _press(browser, "Take back: tank B1")
        browser.until("document.querySelectorAll('.card.said').length === 0")
        browser.visit(url + "notes", width=390, phone=True)
        said = browser.run("document.getElementById('main').innerText")
        assert "What you take back counts as never noted" in said
        assert "by the keeper's page, taken back" in said
    assert [line.split(",")[1] for line in _lines(room)] == ["fed", "undo"]


def test_two_phones_that_contradict_each_other(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = room_file(tmp_path, horizon_days="3")
    with served(room, monkeypatch) as url:
        browser.visit(url, width=390, phone=True)
        browser.offline(True)
        _press(browser, "Not fed: tank B1")
        browser.until("!document.getElementById('wait').hidden")
        jotted(room, "2027-01-05T07:20", "fed", "B1")
        browser.offline(False)
        browser.run("dispatchEvent(new Event('online'))")
        browser.until(f"{_ASKED}.includes('right')")
        head, *said = browser.run(_ASKED).split("\n\n")
        assert head.startswith("Which of the two is right? pressed at ")
        assert said == [
            (
                "You pressed: Not fed: tank B1. Something else was noted of tank B1 before, at a"
                " terminal: Tue 5 Jan 07:20 fed B1. Yours is not noted yet."
            ),
            "Mine is right\nThe earlier is right",
        ]
        _press(browser, "The earlier is right")
        browser.until(f"{_ASKED} === ''")
        browser.until("document.querySelectorAll('.card.said').length === 1")
    assert [line.split(",")[1] for line in _lines(room)] == ["fed"]


def test_what_was_written_is_said_back(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = room_file(tmp_path, horizon_days="3")
    with served(room, monkeypatch) as url:
        finger = Finger(browser)
        browser.visit(url, width=390, phone=True)
        finger.tap("Counted")
        finger.tap("Nauplii counted in bottle 1")
        finger.type("9000000")
        finger.tap("Note it")
        browser.until(f"{_ASKED} !== ''")
        assert (
            browser.run(_ASKED)
            .split("\n\n")[1]
            .startswith("You pressed: Nauplii counted in bottle 1, nauplii: 9000000. ")
        )
        browser.visit(url + "todo", width=390, phone=True)
        browser.until(f"{_ASKED} !== ''")  # it waits for an answer on every page
        finger.tap("Drop it")
        browser.run("""(() => { const list = [...document.querySelectorAll('select')].find(each =>
          each.form.elements.event?.value === 'count'); list.value = 'honey gourami 7'; })()""")
        finger.tap("How many?")
        finger.type("999")
        finger.tap("Note the count")
        browser.until(f"{_ASKED} !== ''")
        said = "You pressed: What was counted: honey gourami 7; How many: 999. "
        assert said in browser.run(_ASKED)
    assert _lines(room) == []


def test_a_page_left_open_over_midnight_asks_before_it_ticks_yesterdays_task(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = room_file(tmp_path, horizon_days="3")
    with served(room, monkeypatch) as url:
        browser.visit(url, width=390, phone=True)
        browser.run("window.setInterval = () => 0; for (let i = 0; i < 999; i++) clearInterval(i)")
        monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-06T07:20")
        _press(browser, "Fed as told: tank B1")
        browser.until(f"{_ASKED}.includes('has been open')")
        head, *said = browser.run(_ASKED).split("\n\n")
        assert head.startswith("Not noted pressed at ")
        assert said == [
            (
                "You pressed: Fed as told: tank B1. This page has been open since Tue 5 Jan: your"
                " answer is about what it showed then, and nothing is noted yet."
            ),
            "Drop it\nIt is about that day",
        ]
        assert _lines(room) == []
        browser.until("document.querySelector('.clock').innerText.startsWith('Wed 6 Jan')")
        _press(browser, "Drop it")
        browser.until(f"{_ASKED} === ''")
        _press(browser, "Fed as told: tank B1")
        browser.until("document.querySelectorAll('.card.said').length === 1")
    assert [line.split(",")[0] for line in _lines(room)] == ["2027-01-06T07:20:00+00:00"]
