"""The page names no commands: its messages are those of the journal, told for a phone."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from cli.page.wording import on_page
from tests.cli.invented import quick_room
from tests.cli.us_contract import METRIC, dated_otherwise, too_fine
from tests.page.room import Page, demo_page

_TYPED = re.compile(r"livefood [a-z]|journal (?:undo|spawn|wetted|set|done|skip)\b|--[a-z]")


@pytest.mark.parametrize(
    ("message", "told"),
    [
        (
            "From here on they can jump. Asked for until it is noted: journal lid 'annuals 2'.",
            "From here on they can jump. Asked for until it is noted.",
        ),
        (
            ("MW-1 was discarded on Tue 5 Jan 07:00 (line 5); if that was a mistake: journal undo"
            " --line 5"),
            ("MW-1 was discarded on Tue 5 Jan 07:00 (line 5); if that was a mistake, take back line"
            " 5 on the Notes page"),
        ),
        (
            ("bottle 1 holds a hatch of 2 g, set on Tue 5 Jan 07:00: note first that it was drawn"
            " off (journal harvest 'bottle 1')"),
            ("bottle 1 holds a hatch of 2 g, set on Tue 5 Jan 07:00: note first that it was drawn"
            " off"),
        ),
        (
            ("annuals are taken to have been in water since Fri 8 Jan, the day that was set: note"
            " 'journal wetted annuals', with --on DAY if it was another."),
            ("annuals are taken to have been in water since Fri 8 Jan, the day that was set: note"
            " it on the page Fry, with the day if it was another."),
        ),
        (
            ("X is planned to spawn today: note 'journal spawn X' when it did, or 'journal drop X'"
            " when it is not to come."),
            ("X is planned to spawn today: note it on the page Fry when it did, or that it is not"
            " to come."),
        ),
        (
            "If they do not swim yet: livefood journal not_swimming betta. Feed them.",
            "If they do not swim yet, say so on the page Fry. Feed them.",
        ),
        (
            "stand it in a bath (once it is warm: livefood journal temperature 'bottle 2' 27).",
            "stand it in a bath (once it is warm, note it under Temperature on the page To do).",
        ),
        ("Hardly any. See 'livefood shortfalls'.", "Hardly any. See the page Ahead."),
        ("no food was told for A1; see 'livefood today'", "no food was told for A1"),
        (
            "X is there; fry that are given away are noted with 'journal lost X --all'",
            "X is there; fry that are given away are noted under Lost on the page Fry",
        ),
        (
            "2027-01-01 is over; 'journal spawn' notes what has spawned",
            "2027-01-01 is over; say that they have spawned",
        ),
        (
            ("begin to hatch brine shrimp (buy salt; once it is there: livefood add vessel"
            " 'bottle 1' litres=1 temperature=27)"),
            ("begin to hatch brine shrimp (buy salt; once it is there, put it into the room file at"
            " the computer)"),
        ),
        ("say how many fry, or --all", "say how many fry (at the computer)"),
        (
            "X is new: give its tank and class (--tank, --class), or one that is there",
            "X is new: give its tank and class, or one that is there",
        ),
        ("Only what the journal notes counts.", "Only what the journal notes counts."),
        ("newer than journal line 5", "newer than journal line 5"),
    ],
)  # fmt: skip
def test_a_message_says_what_the_page_can_do(message: str, told: str) -> None:
    assert on_page(message) == told
    assert on_page(told) == told
    assert not _TYPED.search(told)


def test_a_refused_answer_and_the_notes_name_no_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page: Page = demo_page(tmp_path, monkeypatch, "2027-01-05T07:20", whole=True)
    page.get()
    set_: dict[str, Any] = {"kind": "event", "event": "set", "subject": "bottle 2", "amount": "2 g"}
    page.post(**set_)
    refused = page.post(**set_, code=409)["text"]
    assert "holds a hatch of 2 g" in refused
    assert not _TYPED.search(refused)
    for name in ("now", "todo", "ahead", "cultures", "fry", "notes"):
        text = re.sub(r"<[^>]+>", " ", page.get(name).split("<body")[1])
        assert not _TYPED.search(text), name


def test_the_page_of_a_us_room_has_its_days_clock_and_weights(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Page(quick_room(tmp_path, horizon_days="10", units='"us"'), monkeypatch)
    page.at("2027-01-05T07:20")
    for name in ("now", "todo", "ahead", "cultures", "fry", "notes"):
        body = page.get(name).split("<body")[1].partition("</main>")[0]
        text = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", body, flags=re.DOTALL)
        assert METRIC.findall(text) == too_fine(text) == dated_otherwise(text) == [], name
    assert "Round 7:30 am" in page.get("now")


def test_a_name_stays_as_its_keeper_writes_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Box "mw-1" is not "Mw-1" on the page: a label is looked for as it is written."""
    room = quick_room(tmp_path)
    text = room.read_text("utf-8")
    room.write_text(text.replace('"MW-1"', '"mw-1"').replace('"bottle 1"', '"cone"'), "utf-8")
    page = Page(room, monkeypatch)
    page.at("2027-01-05T07:00")
    shown = "".join(re.sub(r"<[^>]+>", " ", page.get(name)) for name in ("now", "todo"))
    assert re.search(r"\bmw-1: \d", shown)
    assert re.search(r"\bcone: ", shown)
    assert not re.search(r"\bMw-1|\bCone\b", shown)


def test_advice_on_the_page_names_no_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A room without a bottle, and fry that starve without nauplii."""
    room = tmp_path / "room.toml"
    room.write_text(
        '[room]\nname = "Shelf"\ntimezone = "Europe/Lisbon"\nas_of = 2027-01-11\n'
        "temperature_c = 20\nhorizon_days = 14\n"
        '[[tank]]\nname = "A"\nlitres = 20\ntemperature_c = 27\n'
        '[[brood]]\nname = "eggs"\ntank = "A"\nclass = "substrate_spawner"\ncount = 300\n'
        "spawned = 2027-01-11\n",
        "utf-8",
    )
    page = Page(room, monkeypatch)
    page.at("2027-01-11T20:16")
    for name in ("now", "ahead"):
        text = re.sub(r"<[^>]+>", " ", page.get(name).split("<body")[1])
        assert "begin to hatch brine shrimp" in text
        assert not _TYPED.search(text), name
