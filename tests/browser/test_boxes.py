"""What becomes of answers that were not noted, or cannot be for now, on the phone."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.chromium import Browser, find_chromium
from tests.browser.finger import Finger
from tests.browser.morning import served
from tests.cli.invented import room_file

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)

_ASKED = "document.getElementById('ask')"
_BOXES = f"{_ASKED}.querySelectorAll('section').length"
_WAIT = "document.getElementById('wait').innerText"


@pytest.fixture(name="browser", scope="module")
def _browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path, horizon_days="3")


def _lines(room: Path) -> list[str]:
    path = room.with_name("journal.csv")
    return path.read_text("utf-8").splitlines()[1:] if path.exists() else []


def _count(browser: Browser, amount: int) -> None:
    """A count of fry on the page Fry."""
    browser.run(f"""(() => {{
      const form = [...document.querySelectorAll('form')].find(f =>
        f.elements.event?.value === 'lost' && f.elements.subject.value === 'acara 5');
      form.elements.amount.value = '{amount}';
      form.requestSubmit();
    }})()""")
    browser.until("document.getElementById('wait').hidden")


def _press(browser: Browser, name: str) -> None:
    browser.run(f"""[...document.querySelectorAll('button')].find(b =>
      (b.getAttribute('aria-label') || b.textContent) === {name!r}).click()""")


def test_one_press_that_is_refused_again_is_one_box_and_goes_when_it_is_put_right(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        for _ in range(3):
            _count(browser, 500)
            browser.until(f"{_BOXES} === 1")
        text = browser.run(f"{_ASKED}.innerText")
        assert text.startswith("Not noted pressed at ")
        assert "cannot be lost" in text
        _count(browser, 3)
        browser.until(f"{_BOXES} === 0")
    assert [line.split(",")[4] for line in _lines(room)] == ["3"]


def test_dropping_it_is_the_main_button(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        _count(browser, 500)
        browser.until(f"{_BOXES} === 1")
        looks = browser.run(
            f"[...{_ASKED}.querySelectorAll('button')].map(b => [b.textContent, b.className])"
        )
        assert looks == [["Drop it", "main"], ["It is so all the same", ""]]
        _press(browser, "Drop it")
        browser.until(f"{_BOXES} === 0")


def test_what_was_refused_yesterday_is_one_line_and_is_looked_at_anew(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        _count(browser, 500)
        browser.until(f"{_BOXES} === 1")
        browser.run("""(() => {
          const key = Object.keys(localStorage).find(k => k.startsWith('livefood'));
          const [item] = JSON.parse(localStorage[key]), old = Date.now() - 15 * 3600 * 1000;
          const other = { ...item, id: 'b', at: old, body: { ...item.body, event: 'died' } };
          localStorage[key] = JSON.stringify([{ ...item, at: old }, other]);
        })()""")
        browser.visit(url, width=390, height=844, phone=True)
        top = browser.run("document.querySelector('.round h2').getBoundingClientRect().top")
        assert top < 844 / 2
        assert browser.run(f"{_ASKED}.innerText").strip() == "Not noted: 2 answers to look at"
        browser.run(f"{_ASKED}.querySelector('details').open = true")
        _press(browser, "Send it again")
        # It is doubted still, and asked about anew.
        browser.until(f"{_ASKED}.querySelector('details') !== null && {_BOXES} === 2")
        browser.run("localStorage.clear()")
    assert _lines(room) == []


def test_a_mistake_in_the_room_file_is_told_on_the_page_that_is_open(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        browser.visit(url, width=390, height=844, phone=True)
        whole = room.read_text("utf-8")
        room.write_text(whole.replace('class = "', 'class = "no_such_', 1), "utf-8")
        browser.until(f"{_WAIT}.includes('a mistake at the computer')", seconds=15)
        assert "room.toml" in browser.run(_WAIT)
        _press(browser, "Fed as told: tank B1")
        browser.until(f"{_WAIT}.includes('1 answer waits until a mistake at the computer')")
        said = browser.run(_WAIT)
        assert "room.toml" in said
        assert "network" not in said
        assert _lines(room) == []
        monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-05T07:22")  # it takes its time
        room.write_text(whole + "\n", "utf-8")
        browser.until("document.getElementById('wait').hidden", seconds=15)
        browser.until("document.querySelectorAll('.card.said').length === 1")
    assert [line.split(",")[1:3] for line in _lines(room)] == [["fed", "B1"]]


def test_a_hatch_far_from_usual_is_said_and_kept_apart_with_one_press(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        finger = Finger(browser)
        browser.visit(url, width=390, height=844, phone=True)
        finger.tap("Counted")
        finger.tap("Nauplii counted in bottle 1")
        finger.type("60000")
        finger.tap("Note it")
        browser.until(f"{_BOXES} === 1")
        heard = browser.run("document.getElementById('heard').innerText")
        assert heard.startswith("Noted: ")
        assert "are usual" in heard
        assert browser.run(f"{_ASKED}.innerText").strip() == "Noted, and mind this: 1 answer"
        browser.run(f"{_ASKED}.querySelector('details').open = true")
        assert "are usual" in browser.run(f"{_ASKED}.innerText")
        buttons = browser.run(f"[...{_ASKED}.querySelectorAll('button')].map(b => b.textContent)")
        assert json.dumps(buttons) == '["Seen", "Keep it apart"]'
        finger.tap("Keep it apart")
        browser.until(f"{_BOXES} === 0")
    assert [line.split(",")[1] for line in _lines(room)] == ["hatched", "undo", "hatched"]


def test_what_was_to_be_minded_goes_with_the_note_that_is_taken_back(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        finger = Finger(browser)
        browser.visit(url, width=390, height=844, phone=True)
        finger.tap("Counted")
        finger.tap("Nauplii counted in bottle 1")
        finger.type("60000")
        finger.tap("Note it")
        browser.until(f"{_BOXES} === 1")
        browser.until("!document.getElementById('heard').hidden")
        _press(browser, "Take back")
        browser.until(f"{_BOXES} === 0")
    assert [line.split(",")[1] for line in _lines(room)] == ["hatched", "undo"]


def test_of_two_windows_the_later_press_is_asked_about_whichever_is_answered_first(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The question about a later press was dropped with the earlier one, once that was noted."""
    with served(room, monkeypatch) as url:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        _count(browser, 500)
        browser.until(f"{_BOXES} === 1")
        browser.run("""(() => {
          const key = Object.keys(localStorage).find(k => k.startsWith('livefood'));
          const [item] = JSON.parse(localStorage[key]);
          localStorage[key] = JSON.stringify([{ ...item, at: Date.now() + 60000 }]);
        })()""")
        _count(browser, 3)
        browser.until("!document.getElementById('heard').hidden")
        assert browser.run(_BOXES) == 1
        browser.run("localStorage.clear()")


def test_what_was_noted_is_said_in_the_window_and_taken_back_from_there(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        browser.run("scrollTo(0, document.body.scrollHeight / 2)")
        _count(browser, 3)
        browser.until("!document.getElementById('heard').hidden")
        assert "lost acara 5 3" in browser.run("document.getElementById('heard').innerText")
        place = browser.run("""(() => { const box = document.getElementById('heard')
          .getBoundingClientRect(); return [box.top, box.bottom]; })()""")
        assert 0 <= place[0] < place[1] <= 844
        _press(browser, "Take back")
        browser.until("document.getElementById('heard').innerText.startsWith('Taken back')")
    assert [line.split(",")[1] for line in _lines(room)] == ["lost", "undo"]


def test_a_refusal_is_seen_wherever_the_page_was_scrolled_to(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(room, monkeypatch) as url:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        browser.run("scrollTo(0, document.body.scrollHeight)")
        _count(browser, 500)
        browser.until(f"{_BOXES} === 1")
        top = browser.run(f"{_ASKED}.querySelector('section').getBoundingClientRect().top")
        assert 0 <= top < 400
        browser.run("localStorage.clear()")
