"""Edits of the room file and the notes of spawnings and sales: killed, without power, disk full.

Nothing is half written, what was answered is there, and what was done can be taken back.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from datetime import UTC
from functools import partial
from pathlib import Path

import pytest
from attrs import frozen
from click.testing import CliRunner

from cli.main import main
from cultures.journal.entries import journal_path, read_journal
from cultures.record.history import read_history
from tests.examples import thorough
from tests.faults.dying import deaths
from tests.faults.full_disk import FullDisk

_ROOM = """\
[room]
name = "Kelp Lane"
timezone = "UTC"
temperature_c = 24
horizon_days = 1
as_of = 2027-01-04
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[tank]]
name = "B1"
litres = 40
temperature_c = 26
[[brood]]
name = "danios"
tank = "A1"
class = "egg_scatterer"
count = 60
spawned = 2026-12-01
foods = ["dry"]
"""
_NOW = "2027-01-05T12:00"
_HOPE = ("journal", "planned", "hope", "--on", "2027-01-20", "--tank", "B1", "--class",
         "bubble_nest", "--count", "40")  # fmt: skip
#: What is done, after what.
_EDITS = (
    (("add", "tank", "C1", "volume=20L", "temperature=25", "--yes"), ()),
    (("change", "tank", "B1", "temperature=25", "--yes"), ()),
    (("retire", "tank", "B1", "--yes"), ()),
)
_NOTES = (
    (_HOPE, ()),
    (("journal", "drop", "hope"), _HOPE),
    (("journal", "sold", "danios", "2"), ()),
    (("journal", "died", "danios", "2"), ()),
)
#: No command makes more calls that write.
_MOST_CALLS = 60


@frozen
class _Seen:
    """What stands in the files: the text of the room file, and what the journal says that holds."""

    text: bytes
    noted: tuple[str, ...]

    @classmethod
    def of(cls, room: Path) -> _Seen:
        """Reads both; what is torn raises."""
        found = read_journal(journal_path(room), UTC).effective()
        return cls(room.read_bytes(), tuple(f"{e.event} {e.subject} {e.amount}" for e in found))


def _run(room: Path, *args: str) -> tuple[int, str]:
    env = {"LIVEFOOD_NOW": _NOW}
    result = CliRunner().invoke(main, [*args, "--room", str(room)], env=env)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result.exit_code, result.output


def _command(room: Path, args: Sequence[str]) -> None:
    """A command, and one call after it, at which it may end too."""
    try:
        main([*args, "--room", str(room)], prog_name="livefood")
    finally:
        os.chmod(room.parent, 0o700)  # noqa: PTH101 (the call that is counted)


def _taken_back(room: Path, before: _Seen, after: _Seen) -> None:
    """Takes back what was done, by the words that were answered."""
    if after.text != before.text:
        kept = read_history(room)
        assert kept[-1].text.encode() == before.text
        number = str(len(kept))
        assert _run(room, "history", number, "--restore")[0] == 0
    else:
        assert _run(room, "journal", "undo")[0] == 0
    assert _Seen.of(room) == before


@pytest.fixture(name="begun")
def _begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("LIVEFOOD_NOW", _NOW)
    room = tmp_path / "room" / "room.toml"
    room.parent.mkdir()
    room.write_text(_ROOM, "utf-8")
    return room


def _states(room: Path, args: Sequence[str], first: Sequence[str]) -> tuple[_Seen, _Seen]:
    """Before a command and after it, whole; its folder is as it was before."""
    if first:
        assert _run(room, *first)[0] == 0
    before, kept = _Seen.of(room), room.parent.with_name("kept")
    shutil.copytree(room.parent, kept)
    assert _run(room, *args)[0] == 0
    after = _Seen.of(room)
    assert after != before
    _again(room)
    return before, after


def _again(room: Path) -> None:
    shutil.rmtree(room.parent)
    shutil.copytree(room.parent.with_name("kept"), room.parent)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("power", [False, True], ids=["killed", "power cut"])
@pytest.mark.parametrize(("args", "first"), [*_EDITS, *_NOTES], ids=lambda a: " ".join(a[:2]))
def test_a_death_at_any_call_leaves_all_or_nothing(
    begun: Path, args: Sequence[str], first: Sequence[str], power: bool
) -> None:
    before, after = _states(begun, args, first)
    doing = partial(_command, begun, args)
    each_call = deaths(doing, begun.parent, power=power, each=thorough())
    for step, (died, said) in enumerate(each_call):
        seen = _Seen.of(begun)
        assert seen in (before, after), step
        if not died or "Wrote" in said or "oted" in said:
            assert seen == after, step
        if seen == after:
            _taken_back(begun, before, after)
        else:  # said again it is done
            assert _run(begun, *args)[0] == 0
            assert _Seen.of(begun) == after, step
        assert not list(begun.parent.glob(".*livefood-new"))
        assert step < _MOST_CALLS
    assert not died
    assert step >= 4


@pytest.mark.parametrize(("args", "first"), [*_EDITS, *_NOTES], ids=lambda a: " ".join(a[:2]))
def test_a_full_disk_at_any_write_changes_nothing(
    begun: Path, monkeypatch: pytest.MonkeyPatch, args: Sequence[str], first: Sequence[str]
) -> None:
    before, after = _states(begun, args, first)
    refused = 0
    for through in range(_MOST_CALLS):
        with monkeypatch.context() as patch:
            disk = FullDisk(patch, through)
            code, said = _run(begun, *args)
        assert code == 0 or said.count("Error:") == 1, said
        assert _Seen.of(begun) == (before if code else after), through
        assert not list(begun.parent.glob(".*livefood-new"))
        if not code:
            _taken_back(begun, before, after)
        refused += code == 2
        if not disk.refused:
            break
        _again(begun)
    assert not disk.refused
    assert refused >= 2
