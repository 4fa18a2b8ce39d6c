"""For a few nauplii at a round or two nobody is asked to get anything, on no screen."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import at, run_json

_ROOM = """\
[room]
name = "Slate shed"
timezone = "UTC"
as_of = 2027-03-02
horizon_days = 14
temperature_c = 22
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]

[cysts]
grams = 20

[[vessel]]
name = "large cone"
litres = 1
temperature_c = 26

[[vessel]]
name = "small cone"
litres = 0.5
temperature_c = 26

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-15
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[tank]]
name = "T0"
litres = 60
temperature_c = 26

[[brood]]
name = "gouramis"
tank = "T0"
class = "bubble_nest"
count = 300
free_swimming = 2027-02-21
foods = ["brine_shrimp", "microworm"]

[[tank]]
name = "T1"
litres = 60
temperature_c = 26

[[brood]]
name = "rasboras"
tank = "T1"
class = "tiny_scatterer"
count = 60
free_swimming = 2027-03-01
foods = ["brine_shrimp", "microworm"]

[[tank]]
name = "T2"
litres = 60
temperature_c = 26

[[brood]]
name = "rainbows"
tank = "T2"
class = "rainbowfish"
count = 300
free_swimming = 2027-02-28
foods = ["brine_shrimp", "microworm"]

[[tank]]
name = "T3"
litres = 60
temperature_c = 24

[[brood]]
name = "other rainbows"
tank = "T3"
class = "rainbowfish"
count = 60
free_swimming = 2027-02-25
"""


def test_a_few_nauplii_missing_before_the_first_hatch_call_for_no_errand(tmp_path: Path) -> None:
    """Worms stand in until the first hatch is ripe tomorrow but for less than a tenth of the need
    of three tanks, at two rounds: by squares less than a thirtieth of one meal.
    """
    room = tmp_path / "room.toml"
    room.write_text(_ROOM, "utf-8")
    (short,) = [
        s for s in run_json(room, "shortfalls", now="2027-03-02T07:00")
        if not s["thin"] and s["at"] < "2027-03-03" and "brine_shrimp" in s["food"]
    ]  # fmt: skip
    assert short["short_j"] < 0.1 * short["need_j"]
    assert (short["rounds"], short["remedies"]) == (2, [])
    said = " ".join(at(room, "2027-03-02T07:00", "shortfalls").stdout.split())
    assert "so little is missing that nothing is to be got for it" in said
    today = " ".join(at(room, "2027-03-02T07:00", "today").stdout.split())
    assert "ACT NOW" not in today
    assert "from another keeper" not in today
    later = at(room, "2027-03-02T12:00", "today").stdout
    assert "o longer needed" not in later
