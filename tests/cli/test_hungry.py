"""A brood that goes short, as screens tell it; one that is fed as told is told nothing of."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, room_file

_NAME = "pearl danio 3"


def _skipping(room: Path, days: range) -> str:
    """Lives some days of January without feeding tank A3; the morning after them."""
    for day in days:
        for look, noted in (("06:45", "07:40"), ("12:00", "18:50")):
            at(room, f"2027-01-{day:02d}T{look}", "today")
            at(room, f"2027-01-{day:02d}T{noted}", "journal", "skip", "A3")
    return f"2027-01-{days.stop:02d}T06:45"


def _said(room: Path, now: str, *args: str) -> str:
    return " ".join(at(room, now, *args).output.split())


def test_a_brood_that_goes_short_is_told_how_far_it_is_behind(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    before = json.loads(at(room, "2027-01-05T06:45", "need", "--brood", _NAME, "--json").stdout)
    now = _skipping(room, range(5, 8))
    after = json.loads(at(room, now, "need", "--brood", _NAME, "--json").stdout)
    assert after["fed"]["share"] == 0
    assert after["fed"]["behind_growth_days"] == pytest.approx(3.0, abs=0.1)
    there = before["days"][0]["length_mm"]
    assert after["days"][0]["length_mm"] == pytest.approx(there, rel=0.03)
    shown = _said(room, now, "need", "--brood", _NAME)
    assert "fed 0% of its need over the last 3 days: about 1.5 mm behind its class; lean" in shown
    why = _said(room, now, "need", "--brood", _NAME, "--why")
    assert "- 3.0 for want of food" in why
    assert "over the last 3 days" in why
    _nothing_is_told_of_one_fed_as_told(room, now, "acara 5")
    shown = _said(room, _skipping(room, range(8, 10)), "today")
    assert "ACT NOW - Feed pearl danio 3 in A3 first, little and often" in shown
    assert shown.count("Feed pearl danio 3") == 1


def _nothing_is_told_of_one_fed_as_told(room: Path, now: str, brood: str) -> None:
    assert "of its need" not in _said(room, now, "need", "--brood", brood)
    assert "for want of food" not in _said(room, now, "need", "--brood", brood, "--why")
    assert "fed" not in json.loads(at(room, now, "need", "--brood", brood, "--json").stdout)


def test_several_lean_broods_are_one_remark_the_leanest_first(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    away = "[[away]]\nfrom = 2027-01-05\nto = 2027-01-10\n"
    room.write_text(f"{room.read_text('utf-8')}\n{away}", "utf-8")
    at(room, "2027-01-04T18:00", "today")
    shown = _said(room, "2027-01-11T06:45", "today")
    assert shown.count("little and often") == 1
    every = re.search(r"without food half of them are past saving: (.*?)\. ", shown)
    assert every, shown
    days = [int(n) for n in re.findall(r"\(in (\d+) days?\)", every[1])]
    assert len(days) >= 2
    assert days == sorted(days)
