"""What is to be bought stays as it was told while nothing is noted and hardly more is needed."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

from tests.cli.invented import TODAY, at, room_file
from tests.examples import thorough


def test_what_is_to_be_bought_is_told_as_one_thing_for_weeks(tmp_path: Path) -> None:
    """By turns a morning and an evening of 17 days, each of them in the thorough run; done as told,
    but for the purchase.
    """
    room, begin = room_file(tmp_path), datetime.combine(TODAY, datetime.min.time())
    said = []
    for half_day in (half for half in range(34) if thorough() or half % 4 in (0, 3)):
        clock = begin + timedelta(hours=7 + 13 * (half_day % 2), days=half_day // 2)
        shown = re.sub(r"\s+", " ", at(room, clock.isoformat(), "today").stdout)
        said += re.findall(
            r"((?:by|due since) \w+ \d+ \w+)[^:]*(?::\d\d)?: (buy \d+ g of cysts)", shown
        )
    grams = [float(re.findall(r"\d+", what)[0]) for _, what in said]
    amounts = [*dict.fromkeys(grams)]
    # The fry grow: an amount stands until half as much again is wanted, and never comes back.
    assert grams == sorted(grams)
    assert all(later > 1.5 * before for before, later in pairwise(amounts))
    assert len(amounts) <= 2
    by = said[0][0].removeprefix("by ")
    assert {when for when, _ in said} == {f"by {by}", f"due since {by}"}
