"""The page says of advice what ``today`` says: for when it was told, and what came between."""

from __future__ import annotations

import html
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from cli.page import app
from cli.page.views import ahead_view
from cli.screens.shortfalls import shortfall_text
from cultures.tasks.plan import Shortfall
from tests.cli.invented import jotted, run_json
from tests.cli.test_advice_stays import _ROOM
from tests.page.room import Page


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    page = Page(path, monkeypatch)
    page.at("2027-02-01T06:20")
    return page


def _said(page: Page, name: str) -> str:
    return html.unescape(" ".join(page.get(name).split()))


def test_advice_whose_time_is_over_says_for_when_it_was_told(page: Page) -> None:
    page.get("now")
    assert "told for" not in _said(page, "ahead")
    jotted(page.room, "2027-02-01T07:40", "done")
    told = run_json(page.room, "shortfalls", now="2027-02-01T07:42")
    page.at("2027-02-01T07:42")
    shown = _said(page, "ahead")
    late = "<b>By Mon 1 Feb 18:30 (told for Mon 1 Feb 07:00):</b>"
    assert f"{late} add dry food to the foods of acara 1" in shown
    found = {
        (r["act"], r["of"], r["told_for"][:16]) for s in told for r in s["remedies"]
        if "told_for" in r
    }  # fmt: skip
    assert ("add", "brine_shrimp, dry for acara 1, rainbow 1", "2027-02-01T07:00") in found


def test_other_advice_says_what_came_between(page: Page) -> None:
    _said(page, "now")
    page.at("2027-02-01T06:31")
    text = page.room.read_text("utf-8").replace('foods = ["brine_shrimp"]\n', "")
    page.room.write_text(text, "utf-8")
    for name in ("now", "ahead"):
        assert "no longer needed: add dry food to the foods of acara 1" in _said(
            page, name
        ).replace("No longer", "no longer")
        assert "(the room file was edited)" in _said(page, name)
    page.at("2027-02-01T06:33")
    assert "o longer needed" not in _said(page, "now")


def test_of_what_nothing_helps_against_the_page_says_what_the_screens_say(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = datetime(2027, 3, 1, 7, 30, tzinfo=UTC)
    for limit in ("thin", "unmeasured"):
        short = Shortfall(moment, moment, 1, "dry", 2.0, 1.0, ("A1",), "It is.", limit=limit)

        def only(look: Any, of: Shortfall = short) -> dict[str, Any]:
            return {**ahead_view(look), "shortfalls": [of]}

        monkeypatch.setitem(app._SHOWS, "ahead", only)
        said = _said(page, "ahead")
        (screen,) = [line for line in shortfall_text(short) if line.lstrip().startswith(">")]
        assert f"<li>{screen.strip('> ')}.".lower() in said.lower()
