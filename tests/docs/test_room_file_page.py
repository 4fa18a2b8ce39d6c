"""The reference page of the room file names every key, each in its own section."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cultures.room.keys import KEYS

_PAGE = (Path(__file__).parents[2] / "docs" / "room-file.md").read_text("utf-8")


def _section(table: str) -> str:
    heads = re.findall(r"^## (.+)$", _PAGE, re.MULTILINE)
    head = next(h for h in heads if re.search(rf"\[{table}\]", h))
    return _PAGE.split(f"## {head}\n")[1].split("\n## ")[0]


@pytest.mark.parametrize("table", KEYS)
def test_every_key_of_a_table_is_explained_in_its_section(table: str) -> None:
    section = _section(table)
    missing = [key for key in KEYS[table] if f"`{key}`" not in section]
    assert missing == []


@pytest.mark.parametrize("table", [name for name, keys in KEYS.items() if keys])
def test_no_key_is_explained_that_is_not_read(table: str) -> None:
    rows = re.findall(r"^\| (`[^|]+) \|", _section(table), re.MULTILINE)
    named = [key for row in rows for key in re.findall(r"`(\w+)`", row)]
    assert [key for key in named if key not in KEYS[table]] == []
