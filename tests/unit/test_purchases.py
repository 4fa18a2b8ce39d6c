"""A purchase that is a slip of the pen, or a number of something else, is asked back."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from cultures.journal.entries import Entry
from cultures.replay.doubts import purchase_doubt

_NOW = datetime(2027, 1, 5, 7, tzinfo=UTC)


@pytest.mark.parametrize(
    ("stock", "grams", "known_g", "asked"),
    [
        # A pound of cysts is sold in one tin, however little is left; 1,600 is a count of nauplii.
        ("cysts", 454.0, [15.0, 75.0], False), ("cysts", 1600.0, [15.0, 75.0], True),
        ("cysts", 500.0, [], False), ("cysts", 501.0, [], True),
        # Who uses a pound a month buys ten of them.
        ("cysts", 4500.0, [450.0], False), ("cysts", 4501.0, [450.0], True),
        ("dry", 1000.0, [0.0], False), ("dry", 12_000.0, [120.0], True),
        ("salt", 25_000.0, [800.0], False), ("salt", 250_000.0, [800.0], True),
    ],
)  # fmt: skip
def test_more_than_a_pack_and_ten_times_what_was_there_or_wanted_is_asked_about(
    stock: str, grams: float, known_g: list[float], *, asked: bool
) -> None:
    said = purchase_doubt(Entry(_NOW, "bought", stock, "", grams, "g"), known_g)
    assert (said is not None) is asked
    if said is not None and known_g:
        assert f"where {max(known_g):g} g is the most that was there or wanted" in said
