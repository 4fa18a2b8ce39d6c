"""Line numbers of keys, against what tomllib says is in the file."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest

from cli.commands.demo_room import demo_text
from cultures.room.toml_lines import key_lines

_TEXT = '''\
# a comment with [brackets] and key = value
top = 1

[room]
name = "a # b = c [d]"   # not a comment
"quoted key" = 2
'single' = 3
rounds = [
  "07:30",               # [[tank]]
  "18:30",
]
note = """
[tank]
name = "not a key"
"""
raw = \'\'\'
x = 1\'\'\'

[[tank]]
name = "A1"
deep.er = 4
  [[ tank ]]  # second
  name = "A2"
[tank.extra]
why = { a = 1, b = [2, 3] }
[[brood]]
'''


def test_each_key_stands_where_it_was_written() -> None:
    tomllib.loads(_TEXT)
    lines = key_lines(_TEXT)
    rows = _TEXT.splitlines()
    for (_, _, key), number in lines.items():
        assert key in rows[number - 1]
    assert lines["", 0, "top"] == 2
    assert lines["room", 0, ""] == 4
    assert lines["room", 0, "quoted key"] == 6
    assert lines["room", 0, "single"] == 7
    assert lines["room", 0, "note"] == 12
    assert lines["room", 0, "raw"] == 16
    assert lines["tank", 0, "name"] == 20
    assert lines["tank", 0, "deep"] == 21
    assert lines["tank", 1, ""] == 22
    assert lines["tank", 1, "name"] == 23
    assert lines["tank.extra", 1, "why"] == 25
    assert lines["brood", 0, ""] == 26


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_every_key_of_the_demo_room_is_found(newline: str) -> None:
    text = demo_text(date(2027, 1, 5))
    lines = key_lines(text.replace("\n", newline))
    rows = text.splitlines()
    for table, content in tomllib.loads(text).items():
        entries = content if isinstance(content, list) else [content]
        for index, entry in enumerate(entries):
            for key in entry:
                assert rows[lines[table, index, key] - 1].startswith(f"{key} = ")
