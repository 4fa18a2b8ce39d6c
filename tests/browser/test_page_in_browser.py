"""The page in a real browser: what fits, what can be read and pressed, and answers that wait."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from attrs import frozen

from cli.options import Where
from cli.page.app import make_app
from cli.page.desk import Desk
from cli.page.door import Door
from tests.browser.chromium import Browser, find_chromium
from tests.browser.finger import Finger
from tests.browser.test_sheet_pages import OVERFLOWING, POOR_CONTRAST
from tests.cli.invented import jotted, room_file
from tests.page.room import KEYS
from tests.page.serving import serving

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)

_PAGES = ("", "todo", "ahead", "cultures", "fry", "notes")
#: What is pressed or written into, smaller than 56 CSS px high.
_SMALL_TARGETS = """
[...document.querySelectorAll('button, summary, select, input:not([type=hidden]), nav a, .button')]
  .filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 56)
  .map(e => e.tagName + ' ' + e.textContent.trim().slice(0, 40))
"""
#: Text of less than 17 CSS px, in pictures as they are drawn.
_SMALL_TEXT = """
[...document.querySelectorAll('body *')].filter(e =>
  [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && e.getClientRects().length
).filter(e => {
  const size = parseFloat(getComputedStyle(e).fontSize), svg = e.closest('svg');
  const drawn = svg ? size * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : size;
  return drawn < 16.95;
}).map(e => e.tagName + ' ' + e.textContent.trim().slice(0, 40))
"""
_NAMELESS = """
[...document.querySelectorAll('button, a, input:not([type=hidden]), select, summary, svg')]
  .filter(e => !(e.getAttribute('aria-label') || e.textContent.trim() || e.labels?.length))
  .map(e => e.outerHTML.slice(0, 80))
"""


@frozen
class _Served:
    """A page that is served: the file of its room and its address."""

    room: Path
    url: str

    def journal(self) -> list[str]:
        path = self.room.with_name("journal.csv")
        return path.read_text("utf-8").splitlines()[1:] if path.exists() else []


@pytest.fixture(name="browser", scope="module")
def _browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


@pytest.fixture(name="served")
def _served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[_Served]:
    monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-05T07:20")
    room = room_file(tmp_path, horizon_days="3")
    with serving(make_app(Desk(Where(room, None)), Door(KEYS))) as port:
        yield _Served(room, f"http://127.0.0.1:{port}/{KEYS.keeper}/")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_fits_and_can_be_read_and_pressed(
    browser: Browser, served: _Served, scheme: str
) -> None:
    browser.scheme(scheme)
    try:
        for name in _PAGES:
            for width in (360, 390, 768, 1280):
                browser.visit(served.url + name, width=width, phone=width < 500)
                browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
                where = (name, width)
                assert browser.run("document.documentElement.scrollWidth") <= width, where
                assert browser.run(OVERFLOWING) == [], where
                assert browser.run(_SMALL_TARGETS) == [], where
                assert browser.run(_SMALL_TEXT) == [], where
                assert browser.run(_NAMELESS) == [], where
            # WCAG 2.1, 1.4.6: 7 to 1.
            poor = POOR_CONTRAST.replace("< 4.5", "< 7").replace("seen > 50", "seen > 10")
            assert browser.run(poor) == [], (name, scheme)
            # At 200 % a window of 640 px is 320 CSS px wide.
            browser.visit(served.url + name, width=320, phone=True)
            assert browser.run("document.documentElement.scrollWidth") <= 320, name
    finally:
        browser.scheme("")


def test_twenty_answers_wait_for_the_network_and_are_noted_in_order_once(
    browser: Browser, served: _Served
) -> None:
    browser.visit(served.url + "fry", width=390, phone=True)
    browser.run("localStorage.clear()")
    browser.offline(True)
    try:
        for number in range(20):
            browser.run(f"""(() => {{
              const form = [...document.querySelectorAll('form')].find(f =>
                f.elements.event && f.elements.event.value === 'count' &&
                f.elements.subject.value === 'acara 5');
              delete form.dataset.sent;
              form.elements.amount.value = '{100 - number}';
              form.requestSubmit();
            }})()""")
        browser.until("document.getElementById('wait').textContent.includes('20 answers wait')")
        assert served.journal() == []
    finally:
        browser.offline(False)
    browser.run("dispatchEvent(new Event('online'))")
    browser.until("document.getElementById('wait').hidden", seconds=90)
    amounts = [line.split(",")[4] for line in served.journal()]
    assert amounts == [str(100 - number) for number in range(20)]


def test_a_tap_shrinks_its_card_and_another_page_sees_it(browser: Browser, served: _Served) -> None:
    browser.visit(served.url, width=390, phone=True)
    press = "[...document.querySelectorAll('button')].find(b => b.textContent === 'Done').click()"
    browser.run(press)
    browser.until("document.querySelectorAll('.card.said').length === 1")
    assert len(served.journal()) == 1
    jotted(served.room, "2027-01-05T07:20", "done", "MW-1")
    browser.until("document.querySelectorAll('.card.said').length === 2", seconds=10)


def test_a_contradiction_is_asked_about_on_the_page(browser: Browser, served: _Served) -> None:
    browser.visit(served.url, width=390, phone=True)
    browser.offline(True)
    browser.run("""[...document.querySelectorAll('button')].find(
      b => (b.getAttribute('aria-label') || '').startsWith('Not done: MW-1: ')).click()""")
    browser.until("!document.getElementById('wait').hidden")
    jotted(served.room, "2027-01-05T07:20", "done", "MW-1")
    browser.offline(False)
    browser.run("dispatchEvent(new Event('online'))")
    browser.until("document.getElementById('ask').textContent.includes('is right')")
    assert len(served.journal()) == 1
    browser.run("document.querySelector('#ask button').click()")
    browser.until("document.getElementById('ask').textContent === ''")
    browser.until("document.getElementById('wait').hidden")  # the card was said before already
    browser.until("document.querySelectorAll('.card.said').length === 1")
    assert [line.split(",")[1] for line in served.journal()] == ["harvest", "undo", "skip"]


def test_from_a_tank_to_its_extra_meal_and_back_with_a_finger(
    browser: Browser, served: _Served
) -> None:
    with served.room.open("a") as file:  # so many broods that each is a line that unfolds
        file.write(
            '\n[[brood]]\nname = "danio 4"\ntank = "A4"\nclass = "egg_scatterer"\ncount = 60\n'
            "spawned = 2026-12-24\n"
        )
    browser.visit(served.url, width=390, phone=True)
    finger = Finger(browser)
    told = browser.run("""document.querySelector('[aria-label="Nauplii in tank B1, mL"]').value""")
    finger.tap("Fed as told: tank B1")
    finger.tap("acara 5")
    browser.until("location.hash === '#note-acara-5'")
    unfolded = "[...document.querySelectorAll('.thing > details')].filter(d => d.open).length"
    browser.until(f"{unfolded} === 1")
    finger.tap("Extra meal in B1")
    finger.tap("More nauplii in tank B1, mL")
    finger.type("7")
    finger.tap("Note the meal")
    browser.until("document.querySelector('.thing > details[open] details[open]') === null")
    assert [line.split(",")[1:6] for line in served.journal()] == [
        ["fed", "B1", "", "", ""], ["fed", "B1", "brine_shrimp", f"{int(told) + 7}", "mL"],
    ]  # fmt: skip
    finger.tap("some left over by acara 5")
    browser.until(f"document.querySelectorAll('.waits').length === 0 && {unfolded} === 1")
    assert [line.split(",")[1] for line in served.journal()] == ["fed", "fed", "leftover"]
