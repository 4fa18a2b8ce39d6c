"""A hatch that is set for the first time: air, light and warmth are said with it, since who has the
sheet alone would set a still bottle in the dark.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from cli.sheet.rounds import Day, day_view
from cultures.room.file import load_room
from cultures.tasks.task import SetHatch
from tests.cli.invented import at, jotted
from tests.cli.test_first_evening import _BOTTLE, _ROOM, _written
from tests.page.room import Page

_CYSTS = "\n[cysts]\ngrams = 30\n"
#: From the data of the kind: `recipe`, `light_first_h`; and the water of the room's bottle.
_HOW = "strong air from below, light for the first 6 h, water at 27 °C"


def _room(folder: Path) -> Path:
    return _written(folder, _ROOM + _BOTTLE + _CYSTS)


def _plain(text: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_the_first_hatch_says_how_it_stands_and_the_second_does_not(tmp_path: Path) -> None:
    room = _room(tmp_path)
    first = _plain(at(room, "2027-02-07T07:00", "today").stdout)
    assert "set bottle 1:" in first
    assert _HOW in first
    jotted(room, "2027-02-07T07:30", "set", "bottle 1", "0.5 g")
    jotted(room, "2027-02-08T07:00", "harvest", "bottle 1")
    second = _plain(at(room, "2027-02-08T07:05", "today").stdout)
    assert "set bottle 1:" in second
    assert _HOW not in second
    # Reasons leave out how it is done, which stands below them once.
    why = _plain(at(room, "2027-02-08T07:05", "today", "--why").stdout)
    assert "would be best" in why
    assert _HOW not in why


def test_sheet_and_calendar_say_it_too(tmp_path: Path) -> None:
    room = _room(tmp_path)
    sheet, calendar = tmp_path / "sheet.html", tmp_path / "food.ics"
    at(room, "2027-02-07T07:00", "sheet", "--out", str(sheet))
    assert _HOW in _plain(sheet.read_text("utf-8"))
    at(room, "2027-02-07T07:00", "calendar", "--out", str(calendar))
    unfolded = re.sub(r"\r?\n[ \t]", "", calendar.read_text("utf-8")).replace("\\", "")
    assert _HOW in unfolded


def _hatch(number: int, moment: datetime) -> SetHatch:
    of = f"bottle {number}"
    why = f"{number}0,000 nauplii for Mon 07:30. Hatching: {_HOW}."
    return SetHatch(id=f"set/{number}", at=moment, until=moment, subject=of, why=why, cysts_g=0.1,
                    spoons=1.0, water_l=1.0, salt_g=25.0, nauplii=10_000)  # fmt: skip


def test_a_day_of_the_sheet_says_once_how_hatches_stand(tmp_path: Path) -> None:
    """Two bottles set on one day, one at noon and one in the evening; the next day says it anew."""
    room = load_room(_room(tmp_path), today=date(2027, 2, 7))
    outlook = SimpleNamespace(room=room, feedings=(), round_times=list)
    times = [datetime(2027, 2, 7, hour, tzinfo=UTC) for hour in (12, 19)]
    hatches = tuple(_hatch(n, time) for n, time in enumerate(times, start=1))
    for day in (7, 8):
        page = Day(date(2027, 2, day), (), hatches, {})
        view = day_view(cast("Any", outlook), cast("Any", None), page)
        first, second = (item.why for item in view["besides"])
        assert first == f"10,000 nauplii for Mon 07:30. Hatching: {_HOW}."
        assert second == "20,000 nauplii for Mon 07:30."


def test_the_page_says_it_and_when_fry_first_eat(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Page(_room(tmp_path), monkeypatch)
    page.at("2027-02-07T07:00")
    shown = _plain(page.get())
    assert _HOW in shown
    assert "Nothing eats yet. First food for angels in N on Mon 8 Feb." in shown
