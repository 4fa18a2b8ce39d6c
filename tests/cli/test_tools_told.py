"""What the tools of a room measure is said in the same words on every surface."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from pathlib import Path

import icalendar
import pytest

from tests.cli.invented import NOW, at, room_file, run, run_json
from tests.page.room import Page

_SPOONS = """
[tools]
spoons_ml = [15, 5, 2.5, 1.25, 0.6]
scoops = { "blue scoop" = "0.15 g dry" }
syringes_ml = [[100, 5], [10, 1]]
"""


def _with_tools(folder: Path, tools: str, **head: str) -> Path:
    folder.mkdir(exist_ok=True)
    path = room_file(folder, **head)
    path.write_text(path.read_text("utf-8") + tools, "utf-8")
    return path


@pytest.fixture(params=["metric", "us"])
def room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return _with_tools(tmp_path / "room", _SPOONS, units=f'"{request.param}"', horizon_days="10")


def _plain(text: str) -> str:
    """Running text, whatever it is marked up with and wherever it is broken."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", text)))


def _today(room: Path, _: pytest.MonkeyPatch) -> str:
    return run(room, "today", "--all-day").stdout


def _plan(room: Path, _: pytest.MonkeyPatch) -> str:
    return run(room, "plan", "--feeding").stdout


def _sheet(room: Path, _: pytest.MonkeyPatch) -> str:
    run(room, "sheet", "--out", str(room.with_name("sheet.html")))
    return room.with_name("sheet.html").read_text("utf-8").split("<body>")[1]


def _calendar(room: Path, _: pytest.MonkeyPatch) -> str:
    out = room.with_name("food.ics")
    run(room, "calendar", "--out", str(out))
    events = icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")
    return "\n".join(str(event.get("DESCRIPTION", "")) for event in events)


def _page(room: Path, patch: pytest.MonkeyPatch) -> str:
    page = Page(room, patch)
    page.at(NOW)
    return page.get("now") + page.get("todo")


def _due(room: Path, _: pytest.MonkeyPatch) -> str:
    at(room, NOW, "today", "--all-day")
    return at(room, "2027-01-05T22:00", "journal", "due").stdout


@pytest.mark.parametrize("surface", [_today, _plan, _sheet, _calendar, _page, _due])
def test_a_hatch_is_set_in_the_same_words_everywhere(
    room: Path, monkeypatch: pytest.MonkeyPatch, surface: Callable[[Path, pytest.MonkeyPatch], str]
) -> None:
    """Some 2 g of cysts are 3 mL at 0.65 g/mL: 2 1/2 x 1.25 mL; 25 g of salt 20.5 mL at 1.22."""
    (setting,) = (
        t for t in run_json(room, "plan")["tasks"]
        if t["what"] == "set_hatch" and t["at"].startswith("2027-01-05")
    )  # fmt: skip
    assert setting["amounts"]["cysts_g"] == pytest.approx(2.5 * 1.25 * 0.65, rel=0.05)
    cysts, salt = r"2 1/2 x 1\.25 ml level cysts", r"4 x 5 ml level salt"
    wanted = rf"set bottle 1: {cysts}, 1(\.1)? (l|qt) water, {salt}"
    assert re.search(wanted, _plain(surface(room, monkeypatch)).lower())


@pytest.mark.parametrize("surface", [_today, _plan, _sheet, _calendar, _page])
def test_dry_food_is_scooped_soaked_and_given_by_syringe_everywhere(
    room: Path, monkeypatch: pytest.MonkeyPatch, surface: Callable[[Path, pytest.MonkeyPatch], str]
) -> None:
    """Half a blue scoop is 0.075 g; soaked in 1 mL for 2 mg that makes 37.5 mL."""
    (soak, *_) = (t for t in run_json(room, "plan")["tasks"] if t["what"] == "soak")
    assert soak["amounts"]["dry_g"] == 0.075
    fed_ml = soak["amounts"]["fed_g"] * 500
    said = _plain(surface(room, monkeypatch)).lower()
    assert re.search(r"soak 1/2 x blue scoop level dry food in (about )?\d\d ml water", said)
    assert f", feed {fed_ml:g} ml of it" in said
    doses = [
        x["amount"] * 500
        for x in run_json(room, "plan")["rounds"]
        if x["at"].startswith("2027-01-05T07:30") and x["food"] == "dry" and x["amount"]
    ]
    assert sum(doses) == pytest.approx(fed_ml)
    assert all(f"{ml:g} ml" in said for ml in doses)


def test_what_cannot_be_measured_is_left_out_and_every_surface_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five fry want a few milligrams: less than an eighth of a gram, which is halved by eye."""
    room = tmp_path / "room.toml"
    room.write_text(
        '[room]\nname = "Shelf"\ntimezone = "Europe/Lisbon"\nas_of = 2027-01-05\n'
        'temperature_c = 24\nhorizon_days = 4\n[[tank]]\nname = "A1"\nlitres = 30\n'
        'temperature_c = 26\n[[brood]]\nname = "guppies"\ntank = "A1"\nclass = "livebearer"\n'
        'count = 5\nfree_swimming = 2026-12-24\nfoods = ["dry"]\n[[tank]]\nname = "A2"\n'
        'litres = 60\ntemperature_c = 26\n[[brood]]\nname = "mollies"\ntank = "A2"\n'
        'class = "livebearer"\ncount = 400\nfree_swimming = 2026-12-24\nfoods = ["dry"]\n'
        "[[away]]\nfrom = 2027-01-05\nto = 2027-01-08\nhelper = true\n[tools]\nscale_g = 1\n",
        "utf-8",
    )
    (left, *_) = (
        x for x in run_json(room, "plan")["rounds"] if x["brood"] == "guppies" and not x["amount"]
    )
    assert left["skipped_g"] < 0.02
    wanted = "no dry food at this round for a1 guppies (about 0.00"
    for surface in (_today, _plan, _sheet, _calendar, _page):
        said = _plain(surface(room, monkeypatch)).lower()
        assert wanted in said, surface
        assert "less than can be measured, and is given in its turn" in said


def test_json_is_the_same_for_a_room_that_names_what_is_usual(tmp_path: Path) -> None:
    """But for spoons: who names some gets the weights that they hold; and for how little dry food
    is soaked, since who names no scale is not taken to have a fine one.
    """
    usual = "\n[tools]\nsyringes_ml = [[60, 1]]\nscale_g = 0.01\n"
    named = run_json(_with_tools(tmp_path / "named", usual), "plan")
    bare = run_json(_with_tools(tmp_path / "bare", ""), "plan")
    for plan in (named, bare):
        plan["tasks"] = [t for t in plan["tasks"] if t["what"] not in ("soak", "buy")]
        for task in plan["tasks"]:
            task["amounts"].pop("soaked_g", None)
        plan["supplies"] = [s for s in plan["supplies"] if s["item"] != "dry"]
    assert named == bare


def test_check_names_tools_that_no_amount_can_use(tmp_path: Path) -> None:
    """A bottle of 1 L takes 5 g of cysts at most, and nothing is heavier than 1.5 kg of medium."""
    tools = (
        '\n[tools]\nspoons_ml = [5]\nscoops = { "shovel" = "400 g cysts" }\n'
        "syringes_ml = [[60, 1], [400, 100]]\nscale_g = 0.01\n"
    )
    room = _with_tools(tmp_path / "odd", tools, makeup_ml="50")
    said = _plain(run(room, "check").stdout)
    assert "No amount in this room is measured with 'shovel'" in said
    assert "No dose in this room is measured by a syringe with marks of 100 mL" in said
    assert said.count("can be left out of [tools]") == 2
    notes = run_json(room, "check")["notes"]
    assert sum("can be left out of [tools]" in note for note in notes) == 2
    assert "can be left out" not in run(_with_tools(tmp_path / "bare", ""), "check").stdout


def test_what_was_told_and_done_is_noted_in_the_words_in_which_it_was_told(tmp_path: Path) -> None:
    """A jug marked every 25 mL: what was told as 50 mL was noted as 53."""
    room = _with_tools(tmp_path, "\n[tools]\nsyringes_ml = [[5, 0.2]]\nmeasuring_cups_ml = "
                       "[[500, 25]]\n")  # fmt: skip
    for hour in ("07:20", "18:20"):
        told = _plain(at(room, f"2027-01-05T{hour}", "today").stdout)
        said = re.search(r"VE-1: ((?:about )?[\d.]+ mL)", told)
        assert said is not None
        noted = at(room, f"2027-01-05T{hour[:2]}:40", "journal", "done", "VE-1").stdout
        assert f"harvest VE-1 {said[1]}\n" in noted
