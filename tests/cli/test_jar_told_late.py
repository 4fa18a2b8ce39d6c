"""A hatch that was told for one round gets a jar where it must do for more rounds by now."""

from __future__ import annotations

import re
from pathlib import Path

from tests.cli.invented import at, jotted, room_file

_ROOM = """\
[room]
name = "Attic"
timezone = "Europe/Lisbon"
temperature_c = 24
as_of = 2027-03-01T06:00:00
rounds = ["07:30", "18:30"]
fridge_c = 5
horizon_days = 5

[[tank]]
name = "A"
litres = 100
temperature_c = 26

[[brood]]
name = "angels"
tank = "A"
class = "substrate_spawner"
count = 900
length_mm = 9
measured_on = 2027-03-01
foods = ["brine_shrimp", "dry"]

[[vessel]]
name = "bottle 1"
litres = 1
temperature_c = 27
salinity_g_per_l = 25

[[vessel]]
name = "bottle 2"
litres = 1
temperature_c = 27
salinity_g_per_l = 25

[[hatch]]
vessel = "bottle 1"
set_at = 2027-02-28T07:30:00
cysts_g = 0.5

[[hatch]]
vessel = "bottle 2"
set_at = 2027-02-28T07:30:00
cysts_g = 2.5

[cysts]
grams = 20
"""


def test_a_small_hatch_is_put_into_a_jar_once_the_large_one_failed(tmp_path: Path) -> None:
    """All of it was to be fed at once beside the large one; now it must last for two rounds, and
    what is sieved out of a jar must have been put into one.
    """
    room = tmp_path / "room.toml"
    room.write_text(_ROOM, "utf-8")
    told = at(room, "2027-03-01T07:00", "today").stdout
    assert "clean jar for bottle 1" not in told
    assert "all that was drawn off bottle 1" in " ".join(told.split())
    jotted(room, "2027-03-01T07:05", "failed", "bottle 2")
    now = " ".join(at(room, "2027-03-01T07:06", "today").stdout.split())
    assert "clean jar for bottle 1: 500 mL water, 12.5 g salt" in now
    assert "into its jar" in now
    assert "stir the jar of Mon 07:00" in now


def test_of_a_jar_that_a_skipped_round_left_full_no_more_is_taken_than_was_told(
    tmp_path: Path,
) -> None:
    """Told as the last of a jar, the evening takes as much of it as before, now that the morning's
    part is in it too: the whole of it would be two rounds in one.
    """
    room = room_file(tmp_path, horizon_days="3")
    at(room, "2027-01-05T06:40", "today")
    jotted(room, "2027-01-05T07:20", "hatched", "bottle 1", "250000", "--sure")
    at(room, "2027-01-05T18:10", "today")
    morning = at(room, "2027-01-06T07:05", "today").stdout
    told = re.search(r"stir the jar of Tue 07:00,\s+sieve (\d+) mL", morning)
    assert told is not None
    before = " ".join(at(room, "2027-01-06T18:10", "today").stdout.split())
    assert "sieve and rinse the whole jar of Tue 07:00" in before
    jotted(room, "2027-01-06T18:35", "skip", "round", "--at", "2027-01-06 07:30")
    after = " ".join(at(room, "2027-01-06T18:36", "today").stdout.split())
    assert "whole jar of Tue 07:00" not in after
    assert re.search(r"stir the jar of Tue 07:00, sieve \d+ mL, rinse", after)
    assert f"{told[1]} mL to spare in the jar of Tue 07:00" in after
