"""What is to be bought stays as it was told while nothing is noted."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

from tests.cli.invented import TODAY, at, room_file


def test_what_is_to_be_bought_is_told_as_one_thing_for_weeks(tmp_path: Path) -> None:
    """Each morning and evening of 17 days, done as told, but for the purchase."""
    room, begin = room_file(tmp_path), datetime.combine(TODAY, datetime.min.time())
    said = []
    for half_day in range(34):
        clock = begin + timedelta(hours=7 + 13 * (half_day % 2), days=half_day // 2)
        shown = re.sub(r"\s+", " ", at(room, clock.isoformat(), "today").stdout)
        said += re.findall(
            r"((?:by|due since) \w+ \d+ \w+)[^:]*(?::\d\d)?: (buy \d+ g of cysts)", shown
        )
    assert {what for _, what in said} == {said[0][1]}
    by = said[0][0].removeprefix("by ")
    assert {when for when, _ in said} == {f"by {by}", f"due since {by}"}
