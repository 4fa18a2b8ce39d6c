"""A kind is named as every screen writes it, or as its key; both mean one."""

from __future__ import annotations

from pathlib import Path

import pytest

from cultures.room.file import read_room
from tests.cli.invented import TODAY, at, jotted, room_file, run

_NAMES = ("vinegar_eel", "vinegar eel", "vinegar-eel", "Vinegar eel")


@pytest.fixture
def room(tmp_path: Path) -> Path:
    return room_file(tmp_path)


@pytest.mark.parametrize("name", _NAMES)
def test_a_culture_of_the_room_file_is_of_the_kind_that_is_meant(room: Path, name: str) -> None:
    text = room.read_text("utf-8")
    assert 'kind = "vinegar_eel"' in text
    room.write_text(text.replace('kind = "vinegar_eel"', f'kind = "{name}"'), "utf-8")
    assert (
        read_room(room.read_text("utf-8"), today=TODAY).culture("VE-1").kind.name == "vinegar_eel"
    )
    run(room, "today")


@pytest.mark.parametrize("name", _NAMES)
def test_commands_take_the_name_of_a_kind_in_words(room: Path, name: str) -> None:
    now = "2027-01-05T07:40"
    at(room, "2027-01-05T07:01", "today")
    jotted(room, now, "start", "VE-9", name, "--starter", "100 g")
    jotted(room, now, "bought", name, "medium", "500 g")
    helped = ("away", "tomorrow", "--helper", "--food", name)
    jotted(room, now, *helped)
    at(room, now, "yield", "--kind", name, "--medium-g", "1000")
    at(room, now, "kinds", name)
    noted = room.with_name("journal.csv").read_text("utf-8")
    assert "start,VE-9,vinegar_eel,100,g" in noted
    assert "bought,vinegar_eel_medium,,500,g" in noted


@pytest.mark.parametrize("name", _NAMES)
def test_a_culture_is_added_by_the_name_of_its_kind_in_words(room: Path, name: str) -> None:
    now = "2027-01-05T07:40"
    at(room, now, "add", "culture", "VE-8", f"kind={name}", "started=2027-01-04",
       "medium_g=1000", "starter_g=100", "--yes")  # fmt: skip
    at(room, now, "change", "culture", "VE-1", f"kind={name}", "--yes")
    found = read_room(room.read_text("utf-8"), today=TODAY)
    assert found.culture("VE-8").kind.name == "vinegar_eel"


@pytest.mark.parametrize("name", ["slime eel", "vinegar  _eel", "vinegareel"])
def test_what_is_no_name_of_a_kind_is_refused(room: Path, name: str) -> None:
    refused = at(room, "2027-01-05T07:40", "journal", "start", "VE-9", name, code=2).output
    assert "kind of worm" in refused
