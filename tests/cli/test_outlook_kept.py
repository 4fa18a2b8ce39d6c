"""No command changes the outlook that it works from: another may be given the same one."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from cultures.planning.outlook import Outlook, make_outlook
from tests.cli.invented import at, quick_room
from tests.planned_once import PlannedOnce

_COMMANDS = """\
today
plan --days 4 --why
plan --if "lose MW-1" --days 3
shortfalls --days 3
calendar --out jobs.ics
sheet --out sheet.html
labels --out labels.html
journal count "acara 5" 50
journal done
journal due
"""


def _said(outlook: Outlook) -> list[str]:
    feeding = outlook.feeding
    given = [[(s.need.brood.name, s.want_j, s.given_j) for s in row] for row in feeding.servings]
    rounds = [(r.index, r.at, r.fed, r.keeper) for r in outlook.feedings]
    hatches = [(b.vessel.name, b.set_h, b.cysts_g, b.at_index) for b in feeding.hatches.batches]
    worms = [(name, plan.each_j()) for name, plan in feeding.worms.items()]
    parts = outlook.until, rounds, outlook.lines, given, hatches, feeding.hatches.given_j, worms
    return [*map(repr, parts)]


def test_an_outlook_stays_as_it_was_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    room = quick_room(tmp_path)
    monkeypatch.chdir(tmp_path)
    once = make_outlook.__self__  # type: ignore[attr-defined]
    assert isinstance(once, PlannedOnce)
    monkeypatch.setattr(once, "on", True)
    once._made.clear()
    for minute, line in enumerate(_COMMANDS.splitlines()):
        at(room, f"2027-01-05T07:{35 + minute}", *shlex.split(line))
    kept = [*once._made.values()]
    assert len(kept) >= 8
    for outlook in kept:
        days = (outlook.until - outlook.now).days
        anew = once.make(outlook.room, now=outlook.now, days=days)
        assert _said(outlook) == _said(anew)
