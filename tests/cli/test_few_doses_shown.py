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


def test_what_is_noted_of_a_tank_of_two_is_noted_of_each_its_part(tmp_path: Path) -> None:
    """200 and 100: of 250 that are counted 167 and 83, the larger remainder first; of 10 that are
    sold then 7 and 3. Who looks otherwise is named.
    """
    pair = _brood("old", "A", 200, "2027-02-20"), _brood("new", "A", 100, "2027-02-24", new=False)
    room = _room(tmp_path, *pair)
    said = run(room, "journal", "count", "A", "250", now=f"{_DAY}T08:00").output
    assert "count old 167 fry" in said
    assert "count new 83 fry" in said
    said = run(room, "journal", "sold", "A", "10", now=f"{_DAY}T08:10").output
    assert "sold old 7 fry" in said
    assert "sold new 3 fry" in said
    # Both are taken back as one.
    run(room, "journal", "undo", now=f"{_DAY}T08:11")
    assert "sold" not in run(room, "journal", "show", now=f"{_DAY}T08:12").output
    said = run(room, "journal", "sold", "A", "--all", now=f"{_DAY}T08:13").output
    assert said.count("Noted, line") == 2
    other = pair[1].replace("bubble_nest", "annual_killifish")
    room.write_text(_HEAD + pair[0] + other, "utf-8")
    room.with_name("journal.csv").unlink()
    refused = run(room, "journal", "count", "A", "250", now=f"{_DAY}T08:00", code=2).output
    assert "A holds old and new: say which" in " ".join(refused.split())


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
