"""Words in pictures: the worst gap is named, and no word is cut or meets the line of today."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, cast

from hypothesis import given
from hypothesis import strategies as st

from cli.drawing.canvas import LETTER, Axis, label
from cli.drawing.pictures import shares
from cultures.tasks.plan import Plan, Supply
from tests.cli.invented import TODAY

_WORDS = re.compile(r'<text x="([\d.]+)" y="[\d.]+" text-anchor="(\w+)">([^<]*)</text>')
_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}


def _drawn(given_j: list[float]) -> str:
    days = [str(TODAY + timedelta(days=i)) for i in range(len(given_j))]
    supply = [Supply(d, "microworm", 100.0, j) for d, j in zip(days, given_j, strict=True)]
    now: Any = SimpleNamespace(date=lambda: TODAY)
    (share,) = shares(cast(Plan, SimpleNamespace(supply=supply)), now, "metric")
    return share.drawn


def _spans(svg: str) -> list[tuple[float, float, str]]:
    """From where to where each text reaches, at the width that a letter is taken to have."""
    found = []
    for x, anchor, words in _WORDS.findall(svg):
        left = float(x) - _BEFORE[anchor] * len(words) * LETTER
        found.append((left, left + len(words) * LETTER, words))
    return found


def test_of_two_gaps_that_are_close_the_worse_is_named() -> None:
    assert "90% short" in _drawn([80.0, 100.0, 10.0] + [100.0] * 11)
    assert "20% short" not in _drawn([80.0, 100.0, 10.0] + [100.0] * 11)


def test_gaps_that_lie_apart_are_each_named() -> None:
    svg = _drawn([80.0] + [100.0] * 11 + [10.0, 10.0])
    assert "20% short" in svg
    assert "90% short" in svg


@given(st.lists(st.sampled_from([0.0, 40.0, 100.0]), min_size=14, max_size=14))
def test_gap_labels_stand_apart_and_inside(given_j: list[float]) -> None:
    spans = sorted(span for span in _spans(_drawn(given_j)) if span[2].endswith("short"))
    assert all(left >= -0.1 and right <= 330.1 for left, right, _ in spans)
    assert all(a[1] <= b[0] + 0.2 for a, b in pairwise(spans))
    assert bool(spans) == (min(given_j) < 100.0)


@given(
    st.integers(0, 42), st.integers(0, 42), st.sampled_from(["ripe", "spent", "first food", "lid"])
)
def test_a_named_day_is_kept_whole_and_clear_of_todays_line(on: int, now: int, word: str) -> None:
    first = date(2027, 1, 1)
    axis = Axis(first, first + timedelta(days=42), 1.0, 120.0)
    line = axis.x(first + timedelta(days=now))
    svg = label(axis, axis.x(first + timedelta(days=on)), 40, word, beside=line)
    ((left, right, _),) = _spans(svg)
    assert left >= 0
    assert right <= 330.1
    assert right <= line - 3.9 or left >= line + 3.9
