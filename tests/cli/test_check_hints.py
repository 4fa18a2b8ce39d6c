"""What ``check`` says of a room that lacks something."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cultures.fry.classes import class_hint, class_names
from tests.cli.invented import room_file, run


def _without(room: Path, *tables: str) -> str:
    head, *rest = re.split(r"(?=^\[)", room.read_text("utf-8"), flags=re.MULTILINE)
    kept = [part for part in rest if not part.startswith(tuple(f"[[{t}]]" for t in tables))]
    room.write_text(head + "".join(kept), "utf-8")
    return run(room, "check").stdout


def test_a_room_that_lacks_nothing_gets_no_hint(tmp_path: Path) -> None:
    assert "There " not in run(room_file(tmp_path), "check").stdout


def test_tanks_broods_and_vessels_that_are_missing_are_named(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    assert "No tank has fry yet: add a [[brood]]" in _without(room, "brood")
    assert "There are cysts, and no [[vessel]]" in _without(room, "vessel", "hatch")
    assert "There is no tank yet: add a [[tank]]" in _without(room, "tank")


@pytest.mark.parametrize(
    ("fish", "kind"),
    [("guppy", "livebearer"), ("betta", "bubble_nest"), ("cories", "armoured_catfish")],
)
def test_a_fish_by_its_common_name_leads_to_its_class(fish: str, kind: str) -> None:
    assert f"'{kind}'" in class_hint(fish, class_names())
