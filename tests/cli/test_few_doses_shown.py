"""What somebody with a syringe measures: few doses, one line for a tank, the usual cup."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, run

_DAY = "2027-03-01"
_HEAD = f"""
[room]
timezone = "UTC"
as_of = {_DAY}
temperature_c = 24
rounds = ["07:30", "18:30"]
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-10
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""


def _brood(name: str, tank: str, count: int, since: str, *, new: bool = True) -> str:
    litres = f'[[tank]]\nname = "{tank}"\nlitres = 40\ntemperature_c = 26\n' if new else ""
    return (
        f'{litres}[[brood]]\nname = "{name}"\ntank = "{tank}"\nclass = "bubble_nest"\n'
        f'count = {count}\nfree_swimming = {since}\nfoods = ["microworm"]\n'
    )


def _room(tmp_path: Path, *broods: str) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_HEAD + "".join(broods), "utf-8")
    return path


def test_two_broods_of_a_tank_are_one_row_on_screen_sheet_and_calendar(tmp_path: Path) -> None:
    room = _room(
        tmp_path, _brood("old", "A", 200, "2027-02-20"),
        _brood("new", "A", 100, "2027-02-24", new=False), _brood("lone", "B", 150, "2027-02-22"),
    )  # fmt: skip
    told = at(room, f"{_DAY}T06:30", "today").stdout
    (row,) = (line for line in told.splitlines() if line.startswith("  A "))
    assert "old and new" in row
    plan = json.loads(run(room, "plan", "--json", now=f"{_DAY}T06:30").stdout)
    mine = [x for x in plan["rounds"] if x["tank"] == "A" and x["at"].startswith(f"{_DAY}T07:30")]
    assert [x["brood"] for x in mine] == ["old", "new"]  # other programs have each of its own
    (shown,) = re.findall(r"(\d+) mL", row)
    assert float(shown) == sum(x["amount"] for x in mine)
    for days in ([], ["--week"]):
        at(room, f"{_DAY}T06:30", "sheet", *days, "--out", str(tmp_path / "sheet.html"))
        sheet = (tmp_path / "sheet.html").read_text("utf-8")
        assert "old and new" in sheet
    at(room, f"{_DAY}T06:30", "calendar", "--out", str(tmp_path / "food.ics"))
    unfolded = (tmp_path / "food.ics").read_text("utf-8").replace("\r\n ", "")
    assert "A (old and new): microworm" in unfolded


def test_a_count_of_a_tank_of_two_says_how_it_is_noted(tmp_path: Path) -> None:
    room = _room(
        tmp_path, _brood("old", "A", 200, "2027-02-20"),
        _brood("new", "A", 100, "2027-02-24", new=False),
    )  # fmt: skip
    refused = run(room, "journal", "count", "A", "250", now=f"{_DAY}T08:00", code=2).output
    said = " ".join(refused.split())
    assert "A holds old and new: say which" in said
    assert "is noted of each, its part: 'old' NUMBER, then 'new' NUMBER" in said
    for name, fry in (("old", "170"), ("new", "80")):
        run(room, "journal", "count", name, fry, now=f"{_DAY}T08:00")


@pytest.mark.parametrize("few", [0, 5])
def test_five_fry_that_begin_to_eat_change_nobody_elses_cup(tmp_path: Path, few: int) -> None:
    """They are a hundredth of the others, so a millilitre or two of the cup: drops or one mark."""
    small = _brood("few", "C", few, _DAY) if few else ""
    room = _room(tmp_path, _brood("many", "A", 400, "2027-02-20"), small)
    plan = json.loads(run(room, "plan", "--json", now=f"{_DAY}T06:30").stdout)
    feeds = [t for t in plan["tasks"] if t["what"] == "feed"]
    assert {t["amounts"]["microworm_ml"] for t in feeds} == {100.0}
    doses = [x["amount"] for x in plan["rounds"] if x["brood"] == "few" and x["amount"]]
    assert all(0.05 <= ml < 5.0 for ml in doses)
    assert bool(doses) is bool(few)
