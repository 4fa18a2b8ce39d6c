"""``livefood year``: one screen, one page, and what both say of spawns too many."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path

import pytest

from tests.cli import rooms
from tests.cli.invented import at, room_file, run, run_json

_ROOMS = {
    "small": rooms.small, "demo": room_file, "american": rooms.american, "large": rooms.large,
}  # fmt: skip


def _planned(name: str, tank: str, day: str, count: int) -> str:
    return (
        f'\n[[brood]]\nname = "{name}"\ntank = "{tank}"\nclass = "egg_scatterer"\ncount = {count}\n'
        f"planned = {day}\n"
    )


@pytest.fixture(name="crowded")
def _crowded(tmp_path: Path) -> Path:
    """The demo room with three large spawns of one week, and an absence."""
    room = room_file(tmp_path)
    more = "".join(_planned(f"danio {i}", f"A{i}", "2027-03-01", 4000) for i in (2, 4, 5))
    away = "\n[[away]]\nfrom = 2027-06-14\nto = 2027-06-20\nhelper = true\n"
    room.write_text(room.read_text("utf-8") + more + away, "utf-8")
    return room


@pytest.mark.parametrize("name", _ROOMS)
@pytest.mark.parametrize("width", [40, 60, 80])
def test_it_fits_one_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    lines = run(_ROOMS[name](tmp_path), "year").stdout.splitlines()
    assert [line for line in lines if len(line) > width] == []
    assert len(lines) <= (40 if width == 80 else 50)


def test_fry_whose_mouths_no_food_of_the_room_fits_are_too_much(tmp_path: Path) -> None:
    """Bubble-nest fry eat first four days after hatching at 24 °C, and the room has no food."""
    room = tmp_path / "room.toml"
    text = (
        '[room]\nname = "cellar"\ntimezone = "UTC"\ntemperature_c = 24\n'
        "as_of = 2027-02-01T07:00:00\n"
        '[[tank]]\nname = "A1"\nlitres = 40\ntemperature_c = 24\n'
        '[[brood]]\nname = "labyrinths"\ntank = "A1"\nclass = "bubble_nest"\ncount = 100\n'
        "hatched = 2027-02-01\n"
    )
    room.write_text(text, "utf-8")
    shown = " ".join(run(room, "year", now="2027-02-01T12:00").output.split())
    assert "At no time" not in shown
    assert "labyrinths, Fri 5 Feb to" in shown
    assert "no food of the room fits its mouth, so it would starve" in shown
    (bare,) = run_json(room, "year", now="2027-02-01T12:00")["nothing_fits"]
    assert (bare["brood"], bare["from"]) == ("labyrinths", "2027-02-05")
    starter = (
        '[[culture]]\nname = "MW-1"\nkind = "microworm"\nplanned = 2027-02-02\nmedium_g = 150\n'
        "surface_cm2 = 180\nstarter_g = 10\n"
    )
    room.write_text(text + starter, "utf-8")
    shown = " ".join(run(room, "year", now="2027-02-01T12:00").output.split())
    assert "no food of the room" not in shown
    assert "Who goes short until Mon 1 Mar: see 'livefood shortfalls'" in shown


def test_that_the_room_gives_enough_is_not_said_of_its_tin(tmp_path: Path) -> None:
    """Bottles could give all that the fry of the attic need, and a tin of 2 g does not."""
    room = room_file(tmp_path)
    room.write_text(room.read_text("utf-8").replace("grams = 30", "grams = 2"), "utf-8")
    shown = " ".join(run(room, "year").stdout.split())
    assert "than the room's bottles and cultures can give. How far the tin of cysts goes" in shown
    run(room, "year", "--out", str(tmp_path / "year.html"))
    assert "How far the tin of cysts goes" in (tmp_path / "year.html").read_text("utf-8")


def test_each_brood_has_a_row_from_its_week_on(crowded: Path) -> None:
    lines = run(crowded, "year").stdout.splitlines()
    row = next(line for line in lines if line.startswith("danio 2?"))
    found = re.search(r"A2 (.+)$", row)
    assert found is not None
    bar = found[1]
    assert len(bar) - len(bar.lstrip()) == 8  # Mon 1 Mar is the ninth week from Mon 4 Jan
    assert re.fullmatch(r"o+f*n+w+g+", bar.strip())
    away = next(line for line in lines if line.startswith("away"))
    assert away.endswith("h")
    assert len(away) - row.index("A2") - 3 == 24  # Mon 14 Jun is the week after 23 others


def test_spawns_too_many_are_told_with_what_would_help(crowded: Path) -> None:
    shown = run(crowded, "year").stdout
    row = next(line for line in shown.splitlines() if line.startswith("nauplii"))
    assert "!" in row
    told = " ".join(shown.partition("TOO MUCH")[2].split())
    pattern = r"nauplii, .*?: up to ([\d.]+) times .*?without (danio \d) it would be ([\d.]+)"
    found = re.search(pattern, told)
    assert found is not None
    assert float(found[1]) > 1
    assert float(found[3]) < float(found[1])
    thinner = crowded.read_text("utf-8").replace("count = 4000", "count = 400")
    crowded.write_text(thinner, "utf-8")
    row = next(
        line for line in run(crowded, "year").stdout.splitlines() if line.startswith("nauplii")
    )
    assert "!" not in row


def test_json_says_the_same(crowded: Path) -> None:
    found = run_json(crowded, "year")
    assert (found["from"], found["to"]) == ("2027-01-04", "2028-01-03")
    brood = next(b for b in found["broods"] if b["name"] == "danio 2")
    assert brood["planned"]
    assert brood["can_go"] is None
    assert brood["stages"][0] == {
        "stage": "eggs", "from": "2027-03-01", "to": brood["stages"][0]["to"],
    }  # fmt: skip
    nauplii = next(f for f in found["foods"] if f["food"] == "brine_shrimp")
    assert len(nauplii["weeks"]) == 52
    for week in nauplii["weeks"]:
        assert week["load"] == pytest.approx(week["need_j"] / week["gives_j"], rel=1e-4)
    much = next(m for m in found["too_much"] if m["food"] == "brine_shrimp")
    assert much["worst"]["load"] == max(week["load"] for week in nauplii["weeks"])
    assert found["away"] == [{"from": "2027-06-14", "to": "2027-06-20", "helper": True}]


def test_the_key_of_the_room_ends_the_rows(tmp_path: Path) -> None:
    room = room_file(tmp_path, sell_at='"8 weeks"')
    shown, found = run(room, "year").stdout, run_json(room, "year")
    assert "> can go" in shown
    rows = [line for line in shown.splitlines() if re.search(r" [A-C]\d \S", line)]
    assert len(rows) == 6
    assert all(row.endswith(">") for row in rows)
    assert "Next to go: " in shown
    acara = next(b for b in found["broods"] if b["name"] == "acara 5")
    assert acara["can_go"]["day"] == (date(2027, 1, 5) - timedelta(days=11 - 56)).isoformat()
    assert "acara 5 on Fri 19 Feb" in " ".join(shown.split())  # 8 weeks from 25 Dec
    assert acara["stages"][-1] == {
        "stage": "can_go", "from": acara["can_go"]["day"], "to": acara["can_go"]["day"],
    }  # fmt: skip


def test_it_only_looks(crowded: Path) -> None:
    before = sorted(path.name for path in crowded.parent.iterdir())
    at(crowded, "2027-01-05T07:00", "year")
    assert sorted(path.name for path in crowded.parent.iterdir()) == before


def test_the_page_says_what_the_screen_says(crowded: Path) -> None:
    out = crowded.with_name("year.html")
    assert "Wrote" in run(crowded, "year", "--out", str(out)).stdout
    html = out.read_text("utf-8")
    words = " ".join(unescape(re.sub(r"(?s)<style.*?</style>|<[^>]+>", " ", html)).split())
    shown = run(crowded, "year").stdout.partition("TOO MUCH")[2]
    for told in " ".join(shown.split()).split(" - ")[1:]:
        assert told.strip() in words
    bars = re.findall(r'data-of="year/danio 2/(\w+)"', html)
    assert bars[0] == "eggs"
    loads = run_json(crowded, "year")["foods"]
    drawn = re.findall(r'data-of="year/brine_shrimp/([\d-]+)"', html)
    asked = next(f for f in loads if f["food"] == "brine_shrimp")["weeks"]
    assert drawn == [week["week"] for week in asked if week["load"] > 0]
    run(crowded, "year", "--out", str(out))  # its own page is replaced


def test_options_and_files_that_do_not_fit_are_refused(crowded: Path) -> None:
    assert "go with --out" in run(crowded, "year", "--paper", "a4", code=2).output
    strange = crowded.with_name("mine.html")
    strange.write_text("<p>mine</p>", "utf-8")
    assert (
        "was not made by this program" in run(crowded, "year", "--out", str(strange), code=2).output
    )
    assert strange.read_text("utf-8") == "<p>mine</p>"
    run(crowded, "year", "--out", str(strange), "--force", "--paper", "letter")
    assert "8.5in 11in" in strange.read_text("utf-8")


def test_a_room_without_fry_has_a_year_too(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text('[room]\ntimezone = "Europe/Lisbon"\ntemperature_c = 22\n', "utf-8")
    assert "Nothing here needs live food." in run(room, "year").stdout
    run(room, "year", "--out", str(tmp_path / "year.html"))


@pytest.mark.parametrize(("day", "head"), [
    ("2027-01-05", "Jan Feb"), ("2027-01-19", "J Feb"), ("2027-01-26", "Feb"),
])  # fmt: skip
def test_no_month_is_left_out_or_glued_to_the_next(tmp_path: Path, day: str, head: str) -> None:
    room = room_file(tmp_path)
    line = at(room, f"{day}T07:00", "year").stdout.splitlines()[2]
    assert " ".join(line.split()).startswith(head)
    assert all(len(word) <= 3 for word in line.split())
