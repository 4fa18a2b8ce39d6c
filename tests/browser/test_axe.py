"""No page and no sheet breaks a rule of axe-core, in any width, light or dark."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from cli.options import Where
from cli.page.app import make_app
from cli.page.desk import Desk
from cli.page.door import Door
from tests.browser.axe import everywhere, violations
from tests.browser.chromium import Browser, find_chromium
from tests.cli.invented import at, jotted, room_file, run
from tests.page.room import KEYS
from tests.page.serving import serving

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)

_AWAY = "\n[[away]]\nfrom = 2027-01-09\nto = 2027-01-10\nhelper = true\n"
#: Of the demo room; each page and sheet still has one of each of its parts.
_KEPT = ("B1", "B4", "acara 5", "annuals 2", "MW-1", "bottle 1")


@pytest.fixture(name="browser", scope="module")
def _browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    room = room_file(tmp_path, horizon_days="7")
    head, *parts = room.read_text("utf-8").split("\n[[")
    named = [part for part in parts if 'name = "' in part]
    kept = [p for p in parts if p not in named or any(f'name = "{k}"' in p for k in _KEPT)]
    room.write_text("\n[[".join([head, *kept]) + _AWAY, "utf-8")
    return room


def test_every_page_that_is_served(
    browser: Browser, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at(room, "2027-01-05T07:10", "today")
    jotted(room, "2027-01-05T07:16", "done", "bottle 1")
    jotted(room, "2027-01-05T07:18", "length", "acara 5", "9.5", "mm")
    monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-05T07:20")
    with serving(make_app(Desk(Where(room, None)), Door(KEYS))) as port:
        address = f"http://127.0.0.1:{port}"
        found = {
            name: everywhere(browser, f"{address}/{KEYS.keeper}/{name}")
            for name in ("now", "todo", "ahead", "cultures", "fry", "notes")
        }
        browser.visit(f"{address}/{KEYS.keeper}/fry", width=390, phone=True)
        # Sent as a browser without script would, and refused on a page of its own.
        browser.run("""(() => { const form = document.querySelector('form:has([name=amount])');
          form.elements.amount.value = 'many'; form.submit(); })()""")
        browser.until("document.querySelector('h2')?.textContent === 'Not noted'")
        found["refused"] = violations(browser)
        monkeypatch.setenv("LIVEFOOD_NOW", "2027-01-09T07:20")
        found["helper"] = everywhere(browser, f"{address}/{KEYS.helper}/")
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


@pytest.mark.parametrize("options", [[], ["--helper"]], ids=["keeper", "helper"])
def test_every_sheet(browser: Browser, room: Path, options: list[str]) -> None:
    out = room.with_name("sheet.html")
    run(room, "sheet", "--out", str(out), *options)
    assert everywhere(browser, out.as_uri()) == []


def test_labels(browser: Browser, room: Path) -> None:
    out = room.with_name("labels.html")
    run(room, "labels", "--out", str(out), "--page", "http://192.168.1.20:8742/key/")
    assert everywhere(browser, out.as_uri()) == []


def test_a_mistake_is_found(browser: Browser, tmp_path: Path) -> None:
    page = tmp_path / "wrong.html"
    page.write_text("<html><body><p style='color: #999'>pale</p><button></button></body></html>")
    browser.visit(page.as_uri(), width=390)
    rules = {each.split()[1].strip(":") for each in violations(browser)}
    assert {"color-contrast", "button-name", "html-has-lang", "document-title"} <= rules
