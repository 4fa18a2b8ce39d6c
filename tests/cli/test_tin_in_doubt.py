"""Two poor hatches of one tin: no screen says any more that nothing is the matter."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import at, quick_room


def _said(path: Path, clock: str, *words: str) -> str:
    return " ".join(at(path, clock, *words).stdout.split())


def test_after_two_poor_hatches_the_tin_is_in_doubt_on_every_screen(tmp_path: Path) -> None:
    """One that failed, and one of 10,000 a gram where 210,000 are planned on. A third as poor moves
    the plan itself.
    """
    path = quick_room(tmp_path)
    at(path, "2027-01-05T08:00", "journal", "set", "bottle 2", "2", "g")
    first = _said(path, "2027-01-06T08:00", "journal", "failed", "bottle 2")
    assert "The plan still counts on 210,000 nauplii a gram" in first
    assert "set only a little" not in first
    assert "The last hatch gave nothing" not in first  # which it has said by then
    once = _said(path, "2027-01-06T08:02", "today", "--why")
    assert "The last hatch gave nothing (bottle 2, Wed 6 Jan)" in once
    assert "in doubt" not in once
    at(path, "2027-01-06T08:05", "journal", "set", "bottle 2", "2", "g")
    second = _said(path, "2027-01-07T08:30", "journal", "hatched", "bottle 2", "20000")
    assert "the tin of cysts is in doubt" in second
    today = _said(path, "2027-01-07T08:32", "today")
    act_now = today.partition("ACT NOW")[2].partition("ROUND")[0]
    assert "nothing (bottle 2, Wed 6 Jan) and 10,000 nauplii a gram (bottle 2, Thu 7" in act_now
    assert "Try a pinch of it in a warm, lit glass" in act_now
    assert "if the next hatches give as little" in act_now
    assert "unplug the heater" in act_now
    risks = _said(path, "2027-01-07T08:33", "shortfalls")
    assert "Nothing falls short until" not in risks or "which is in doubt" in risks
    assert "No thin margins in 400 trials." not in risks
    at(path, "2027-01-07T08:40", "journal", "bought", "cysts", "50", "g")
    assert "in doubt" not in _said(path, "2027-01-07T08:41", "today", "--why")
