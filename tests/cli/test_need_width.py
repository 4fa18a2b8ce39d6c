"""The table of needs in a room of long names and many foods."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.screens.text import alike
from tests.cli.invented import room_file, run


def test_long_names_do_not_push_a_need_past_eighty_columns(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    text = room.read_text("utf-8")
    text = text.replace('"acara 5"', '"acaras of the second autumn spawn, large half"')
    room.write_text(text.replace('"B1"', '"rack B, shelf one, next to the window"'), "utf-8")
    screen = run(room, "need").stdout
    assert all(len(line) <= 80 for line in screen.splitlines())
    assert "rack B" in screen


_HEAD = ["tank", "brood", "nauplii", "grindal worm", "microworm", "vinegar eel"]
_ROW = ["goldfish tub", "turquoise peat", "22,000", "3 swipes", "1 1/4 swipes", "15 mL"]


def test_swipes_stand_in_the_head_where_the_screen_is_too_narrow(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "66")
    (shown,) = alike([[_HEAD, _ROW, [*_ROW[:3], "1 swipe", "-", "-"]]], 2)
    *head, first, second = shown.splitlines()
    assert head[-1].split() == ["tank", "brood", "nauplii", "swipes", "swipes", "mL"]
    assert first.split()[-5:] == ["22,000", "3", "1", "1/4", "15"]
    assert second.split()[-4:] == ["22,000", "1", "-", "-"]


def test_of_several_rounds_all_are_tables_or_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    wide = [[*_HEAD, *(f"another food {n}" for n in range(9))], [*_ROW, *["12,345,678"] * 9]]
    narrow = [_HEAD, _ROW]
    (alone,) = alike([narrow], 2)
    assert "brood turquoise" not in alone
    for shown in alike([narrow, wide, narrow], 2):
        assert shown.startswith("goldfish tub: brood turquoise peat, nauplii 22,000")
