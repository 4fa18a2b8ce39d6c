"""What the pictures show: each harvest, count and length has its mark, each gap its words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.invented import jotted
from tests.page.room import Page, demo_page


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    return demo_page(tmp_path, monkeypatch, whole=True)


def _picture(html: str, name: str) -> str:
    """The first picture of a section."""
    section = next(part for part in html.split("<section") if f"<h2>{name} " in part)
    found = re.search(r"<svg.*?</svg>", section, re.S)
    assert found is not None
    return found[0]


def test_a_culture_shows_its_harvests_counts_and_dates(page: Page) -> None:
    for day, swipes in (("05", "4"), ("06", "3"), ("07", "5")):
        jotted(page.room, f"2027-01-{day}T07:30", "harvest", "MW-1", swipes, "swipes")
    jotted(page.room, "2027-01-07T08:00", "count", "MW-1", "300")
    page.at("2027-01-07T09:00")
    picture = _picture(page.get("cultures"), "MW-1")
    assert picture.count('class="dot"') == 3
    assert picture.count('class="count"') == 1
    for word in ("today", "ripe", "spent"):
        assert f">{word}<" in picture
    assert 'class="band"' in picture
    untouched = _picture(page.get("cultures"), "VE-2")
    assert 'class="dot"' not in untouched


def test_a_brood_shows_what_was_measured_and_its_band(page: Page) -> None:
    jotted(page.room, "2027-01-05T07:00", "length", "pearl danio 3", "7.4", "mm")
    jotted(page.room, "2027-01-08T07:00", "length", "pearl danio 3", "8.9", "mm")
    page.at("2027-01-08T09:00")
    picture = _picture(page.get("fry"), "pearl danio 3")
    assert picture.count('class="dot"') == 2
    assert picture.count('class="band"') == 1
    assert ">today<" in picture


def test_what_falls_short_stands_first_and_in_its_place(page: Page) -> None:
    text = page.room.read_text("utf-8")
    text = text.replace("horizon_days = 3\n", "horizon_days = 10\n")
    page.room.write_text(text.replace("grams = 30", "grams = 3", 1), "utf-8")
    html = page.get("ahead")
    assert html.index("Nauplii short in") < html.index("How much of its need each food covers")
    assert "<b>By " in html
    nauplii = next(p for p in html.split("<figure>") if "<figcaption>Nauplii" in p)
    assert ">100% short<" in nauplii
    assert 'class="gap"' in nauplii
    # One scale for all foods.
    for figure in html.split("<figure>")[1:]:
        assert [mark for mark in ("0%", "50%", "100%") if f">{mark}<" in figure] == [
            "0%", "50%", "100%",
        ]  # fmt: skip


@pytest.mark.parametrize("name", ["", "todo", "ahead", "cultures", "fry", "notes"])
def test_a_room_in_us_units_and_an_empty_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    page = demo_page(tmp_path, monkeypatch, whole=True)
    text = page.room.read_text("utf-8")
    page.room.write_text(text.replace("[room]\n", '[room]\nunits = "us"\n', 1), "utf-8")
    assert "Quillharbour attic" in page.get(name)
    head = text.partition("\n[[")[0]
    page.room.write_text(head, "utf-8")
    assert "Quillharbour attic" in page.get(name)
