"""The table of needs in a room of long names and many foods."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import room_file, run


def test_long_names_do_not_push_a_need_past_eighty_columns(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    text = room.read_text("utf-8")
    text = text.replace('"acara 5"', '"acaras of the second autumn spawn, large half"')
    room.write_text(text.replace('"B1"', '"rack B, shelf one, next to the window"'), "utf-8")
    screen = run(room, "need").stdout
    assert all(len(line) <= 80 for line in screen.splitlines())
    assert "rack B" in screen
