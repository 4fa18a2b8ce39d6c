"""What was shown as somebody's to do is the same two minutes later."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Any

from tests.cli.invented import at
from tests.studies.today_settled import differences, tasks

#: One bottle for many fry, so that rounds go short whenever it is drawn off.
_ONE_BOTTLE = """
[room]
name = "The attic"
timezone = "UTC"
as_of = 2027-09-30
rounds = ["01:30", "13:30"]
awake = ["00:30", "23:30"]
horizon_days = 7
temperature_c = 26.0

[[vessel]]
name = "V0"
litres = 1.0
temperature_c = 28.5

[cysts]
grams = 12.0

[[tank]]
name = "T1"
litres = 200.0
temperature_c = 24.0

[[brood]]
name = "b1"
tank = "T1"
class = "mouthbrooder"
count = 3000
survival_per_day = 1.0
free_swimming = 2027-09-28
"""


def test_a_hatch_stays_for_its_round_where_others_are_short_as_well(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(_ONE_BOTTLE, "utf-8")
    shown = _hatches(room, "2027-10-01T05:40")
    at(room, "2027-10-01T05:40", "today")
    assert shown
    assert not [*differences(shown, _hatches(room, "2027-10-01T05:42"))]


def test_a_purchase_that_was_not_made_is_due_since_its_day(tmp_path: Path) -> None:
    """Its day does not move on with each look, and one amount is said of it."""
    room = tmp_path / "room.toml"
    room.write_text(_ONE_BOTTLE, "utf-8")
    first = _buying(room, "2027-10-01T05:40")
    assert re.search(r"buy brine shrimp cysts: [\d,]+ g$", first), first
    for clock in ("2027-10-02T05:40", "2027-10-03T05:40", "2027-10-04T05:40"):
        told = _buying(room, clock)
        assert told.endswith(f"{first.partition('buy')[2]}, due since Fri 1 Oct"), told


def _buying(room: Path, clock: str) -> str:
    lines = at(room, clock, "today").output.splitlines()
    (found,) = (line for line in lines if "buy brine shrimp cysts" in line)
    return found


def _hatches(room: Path, clock: str) -> dict[str, dict[str, Any]]:
    found = tasks(room, clock, datetime.fromisoformat("2027-10-02T12:00"))
    return {key: task for key, task in found.items() if "hatch" in key}
