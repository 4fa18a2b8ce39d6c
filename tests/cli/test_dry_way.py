"""Dry food near a gram at a round stays measured as it was told, on screen and day by day."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.invented import TODAY, at, jotted

_ROOM = f"""\
[room]
name = "Livebearers"
timezone = "Europe/Lisbon"
temperature_c = 23
as_of = {TODAY}
rounds = ["07:30", "18:30"]
"""


def _brood(name: str, tank: str, count: int) -> str:
    return (
        f'[[tank]]\nname = "{tank}"\nlitres = 200\ntemperature_c = 26\n'
        f'[[brood]]\nname = "{name}"\ntank = "{tank}"\nclass = "livebearer"\ncount = {count}\n'
        f'length_mm = 14\nmeasured_on = {TODAY}\nfoods = ["dry"]\n'
    )


@pytest.fixture
def livebearers(tmp_path: Path) -> Path:
    """Two broods that eat a little more than a gram together, a sixth of it the guppies."""
    path = tmp_path / "room.toml"
    path.write_text(_ROOM + _brood("platies", "A", 525) + _brood("guppies", "B", 105), "utf-8")
    return path


def _ways(room_path: Path, clock: str) -> list[tuple[float, str]]:
    """Grams of each round to come, and the way."""
    rows = json.loads(at(room_path, clock, "plan", "--days", "2", "--json").stdout)["rounds"]
    return [
        (sum(x["amount"] for x in rows if x["at"] == when),
         "/".join({x["way"] for x in rows if x["at"] == when}))
        for when in sorted({x["at"] for x in rows})
    ]  # fmt: skip


def test_what_is_weighed_for_each_tank_stays_so_until_it_is_a_fifth_less(
    livebearers: Path,
) -> None:
    """A tenth of the fish gone, it is less than a gram; a third gone, less than 0.8 g."""
    assert all(g > 1.0 and way == "weighed" for g, way in _ways(livebearers, f"{TODAY}T06:00"))
    at(livebearers, f"{TODAY}T07:00", "today")
    jotted(livebearers, f"{TODAY}T10:00", "died", "platies", "60")
    (grams, way), *_ = _ways(livebearers, f"{TODAY}T12:00")
    assert 0.8 < grams < 1.0
    assert way == "weighed"
    jotted(livebearers, f"{TODAY}T12:10", "died", "platies", "150")
    (grams, way), *_ = _ways(livebearers, f"{TODAY}T13:00")
    assert grams < 0.8
    assert way == "soaked"


def test_a_round_in_hand_is_shown_as_it_was_told_once_a_brood_is_gone(livebearers: Path) -> None:
    """What the guppies get alone is less than a gram, and was not put into any water."""
    told = at(livebearers, f"{TODAY}T07:00", "today").stdout
    assert "weighed out for each tank" in told
    jotted(livebearers, f"{TODAY}T07:31", "died", "platies", "525", "--sure")
    after = at(livebearers, f"{TODAY}T07:35", "today").stdout
    (line,) = (x for x in after.splitlines() if x.strip().startswith("B ") and "guppies" in x)
    assert " g" in line
    assert " mL" not in line
