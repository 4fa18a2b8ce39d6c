"""The demo room on a fixed day, and how the tests run a command on it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cli.commands.demo_room import demo_text
from cli.journal import effect
from cli.main import main
from cultures.planning.outlook import Outlook, make_outlook
from cultures.room.file import read_room

NOW = "2027-01-05T07:00"
TODAY = date(2027, 1, 5)


def room_file(folder: Path, **head: str) -> Path:
    """The demo room in a folder, with keys of ``[room]`` set as given (TOML text)."""
    text = demo_text(TODAY)
    for key, value in head.items():
        table, mark, rest = text.partition("\n[[")
        table = re.sub(rf"(?m)^{key} = .*\n", "", table)
        text = table.replace("[room]\n", f"[room]\n{key} = {value}\n", 1) + mark + rest
    path = folder / "room.toml"
    path.write_text(text, "utf-8")
    return path


def quick_room(folder: Path, **head: str) -> Path:
    """The demo room that looks three days ahead, without its vinegar eels and without days that it
    likes for splits. They ripen in four weeks, which every plan of the room has to look past: with
    them it plans 81 rounds, without them 25. Of broods, microworms, bottles and tin it is the same.
    """
    path = room_file(folder, **{"horizon_days": "3", **head})
    text = re.sub(r"(?m)^split_days = .*\n", "", path.read_text("utf-8"))
    parts = re.split(r"(?m)^(?=\[)", text)
    kept = (part for part in parts if 'kind = "vinegar_eel"' not in part)
    path.write_text("".join(kept), "utf-8")
    return path


def room_of(request: pytest.FixtureRequest, folder: Path, **head: str) -> Path:
    """The room of a fixture: the quick one, or with `WHOLE` over the test the whole one."""
    make = room_file if getattr(request, "param", "") == "whole" else quick_room
    return make(folder, **{"horizon_days": "3", **head})


#: For a test that needs the vinegar eels or the days for splits of the demo room.
WHOLE = pytest.mark.parametrize("room", ["whole"], indirect=True)


def outlook(folder: Path, **head: str) -> Outlook:
    """The outlook that the commands work from."""
    text = room_file(folder, **head).read_text("utf-8")
    room = read_room(text, name="room.toml", today=TODAY)
    return make_outlook(room, now=datetime(2027, 1, 5, 7, 0, tzinfo=room.timezone))


def run(room: Path, *args: str, now: str = NOW, code: int = 0, **more: Any) -> Result:
    """A command on a room; it must end with ``code``."""
    result = CliRunner().invoke(main, [*args, "--room", str(room), "--now", now], **more)
    assert result.exit_code == code, result.output
    return result


def at(room: Path, clock: str, *args: str, code: int = 0, **more: Any) -> Result:
    """A command with the clock set, so that what it shows counts as told."""
    env = {"LIVEFOOD_NOW": clock}
    result = CliRunner().invoke(main, [*args, "--room", str(room)], env=env, **more)
    assert result.exit_code == code, result.output
    return result


@contextmanager
def effects_unread() -> Iterator[None]:
    """Within it a command of the journal notes what it notes, and does not say what becomes of the
    plan by it: that alone is planned, twice.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(effect, "effect_of", lambda *_, **__: effect.Effect(""))
        yield


def jotted(room: Path, clock: str, *words: str) -> None:
    """Notes something for a test that does not read what becomes of the plan by it."""
    with effects_unread():
        at(room, clock, "journal", *words)


def run_json(room: Path, *args: str, now: str = NOW) -> Any:
    """What a command prints with ``--json``."""
    return json.loads(run(room, *args, "--json", now=now).stdout)


@cache
def shown(text: str, *args: str) -> str:
    """What a command that only looks prints of a room file alone in its folder, run once."""
    with TemporaryDirectory() as folder:
        room = Path(folder) / "room.toml"
        room.write_text(text, "utf-8")
        return run(room, *args).stdout


def shown_json(text: str, *args: str) -> Any:
    """The same with ``--json``."""
    return json.loads(shown(text, *args, "--json"))
