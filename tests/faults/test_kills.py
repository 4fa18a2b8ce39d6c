"""Killed, or without power, at each call that writes: nothing that was answered is lost.

``python -m tests.studies.kills`` does the same a thousand times.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.examples import examples, thorough
from tests.faults.dying import deaths, dies
from tests.faults.kills import Killing, Seen, lost

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


@pytest.mark.parametrize("power", [False, True], ids=["killed", "power cut"])
def test_nothing_that_was_answered_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, power: bool
) -> None:
    monkeypatch.setenv("LIVEFOOD_NOW", "")
    (tmp_path / "room").mkdir()
    killing = Killing(tmp_path / "room" / "room.toml", power, each=thorough())
    killing.begin()
    for _ in range(examples(1, 10)):
        assert list(killing.cycle()) == []
    assert killing.kills >= 40 * examples(1, 10)


def test_a_death_is_one_and_is_seen(tmp_path: Path) -> None:
    from cultures import files

    path = tmp_path / "page.html"
    files.write(path, b"old" * 100)
    kept = []

    def doing() -> None:
        files.write(path, b"new")
        print("said")  # noqa: T201

    for step in range(20):
        died, said = dies(doing, step)
        assert bool(said) == (not died)
        kept.append(path.read_bytes())
        if not died:
            break
    assert set(kept[:-1]) == {b"old" * 100, b"new"}
    assert len(kept) >= 7


@pytest.mark.parametrize("power", [False, True], ids=["killed", "power cut"])
def test_what_is_on_the_disk_at_a_call_is_what_a_death_there_leaves(
    tmp_path: Path, power: bool
) -> None:
    from cultures import files

    folder, page, lines = tmp_path / "room", tmp_path / "room" / "page", tmp_path / "room" / "lines"
    folder.mkdir()

    def doing() -> None:
        files.write(page, b"new" * 5)
        print("said")  # noqa: T201
        files.append(lines, lambda _whole, _torn: (b"more\n", False))

    def seen(each: bool) -> list[tuple[bool, str, dict[str, bytes]]]:
        page.write_bytes(b"old" * 7)
        lines.write_bytes(b"line\n")
        return [
            (died, said, {each.name: each.read_bytes() for each in folder.iterdir()})
            for died, said in deaths(doing, folder, power=power, each=each)
        ]

    killed = seen(each=True)
    assert len(killed) >= 12
    assert seen(each=False) == killed


def test_a_loss_would_be_seen() -> None:
    full = Seen(["a", "b"], {"t"}, ["1"], {"food.ics": b""})
    assert list(lost(full, full, False)) == []
    for less in (
        Seen(["a"], {"t"}, ["1"], full.whole), Seen(["a", "b"], set(), ["1"], full.whole),
        Seen(["a", "b"], {"t"}, [], full.whole), Seen(["a", "b"], {"t"}, ["1"], {}),
    ):  # fmt: skip
        assert list(lost(full, less, False)) != []
    assert list(lost(full, full, True)) != []
    twice = Seen(["a", "b", "tap", "tap"], {"t"}, ["1"], full.whole)
    assert list(lost(full, twice, True)) != []
