"""``yield``, ``hatch`` and ``kinds`` as a user calls them."""

from __future__ import annotations

import json
import re
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cli.commands.demo_room import demo_text
from cli.main import main
from cultures.foods.kinds import kind_names
from tests.cli.invented import room_file as demo_file
from tests.cli.invented import run as run_on

ROOM = """
[room]
name = "Harbour loft"
timezone = "America/Barbados"
temperature_by_month_c = [20, 20, 21, 22, 23, 24, 25, 25, 24, 23, 22, 21]
as_of = 2027-01-04
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
fridge_c = 5

[[tank]]
name = "A1"
litres = 40
temperature_c = 26.0

[[tank]]
name = "B2"
litres = 60
temperature_c = 26.0

[[brood]]
name = "danio 3"
tank = "A1"
class = "egg_scatterer"
count = 150
length_mm = 8
measured_on = 2027-01-04

[[brood]]
name = "danio 4"
tank = "B2"
class = "egg_scatterer"
count = 300
length_mm = 8
measured_on = 2027-01-04

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[vessel]]
name = "bottle 1"
litres = 1.0
temperature_c = 27
salinity_g_per_l = 25

[cysts]
grams = 60
nauplii_per_gram = 180000

[[kind]]
name = "attic_worm"
like = "microworm"
label = "attic worm"
prefix = "AW"
[kind.parameters]
growth_rate_per_day = 0.6
"""

NOW = ["--now", "2027-01-04T12:00"]
TRAY = ["--kind", "microworm", "--medium-g", "150", "--surface-cm2", "180"]
NUMBER = ["--nauplii", "100000", "--at", "2027-01-06T07:30"]


@pytest.fixture(autouse=True)
def _empty_folder(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path_factory.mktemp("empty"))
    monkeypatch.delenv("LIVEFOOD_ROOM", raising=False)


@pytest.fixture
def room(tmp_path: Path) -> list[str]:
    path = tmp_path / "room.toml"
    path.write_text(ROOM, "utf-8")
    return ["--room", str(path), *NOW]


def run(*args: str) -> Result:
    return CliRunner().invoke(main, list(args))


def as_json(*args: str) -> Any:
    result = run(*args, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


# yield


def test_yield_json_keeps_its_contract() -> None:
    data = as_json("yield", *TRAY, "--temperature-c", "24")
    assert {"first_harvest_day", "days", "best_fraction", "total", "last_useful_day"} <= set(data)
    assert {"day", "stock", "harvest", "energy_j"} == set(data["days"][0])
    harvests = [day["harvest"] for day in data["days"]]
    first = next(day["day"] for day in data["days"] if day["harvest"] > 0)
    assert first == data["first_harvest_day"]
    assert data["days"][-1]["day"] == data["last_useful_day"]
    assert sum(harvests) == pytest.approx(data["total"], abs=0.1)


def test_yield_shows_several_temperatures_side_by_side() -> None:
    data = as_json("yield", *TRAY, "--temperature-c", "18", "--temperature-c", "79 F")
    degrees = [entry["temperature_c"] for entry in data["temperatures"]]
    assert degrees == [18, 26.11]
    cool, warm = data["temperatures"]
    assert warm["first_harvest_day"] < cool["first_harvest_day"]
    text = run("yield", *TRAY, "--temperature-c", "18", "--temperature-c", "79 F").output
    assert "18 °C" in text
    assert "26.1 °C" in text


def test_yield_of_a_culture_follows_the_rooms_months(room: list[str]) -> None:
    data = as_json("yield", "MW-1", *room, "--medium-g", "150")
    assert data["temperature_c"] is None
    warm = as_json("yield", "MW-1", *room, "--temperature-c", "26")
    assert warm["last_useful_day"] < data["last_useful_day"]


def test_yield_text_has_a_summary_a_chart_and_cautions() -> None:
    degrees = [f"--temperature-c={t}" for t in (18, 20.5, 22.5, 24, 28)]
    wide = run("yield", *TRAY, "--range", *degrees).output
    assert max(len(line) for line in wide.splitlines()) <= 80
    text = run("yield", *TRAY, "--range").output
    for part in (
        "first harvest",
        "take of the worms",
        "last useful",
        "####",
        "range",
        "Caution: Open",
    ):
        assert part in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_yield_range_adds_intervals() -> None:
    data = as_json("yield", *TRAY, "--range")
    low, high = data["range"]["daily"]
    assert low < data["daily"] < high


def test_yield_takes_a_kind_of_the_room(room: list[str]) -> None:
    data = as_json("yield", "--kind", "attic_worm", "--medium-g", "150", *room)
    assert data["kind"] == "attic_worm"


def test_yield_knows_top_ups_and_splits() -> None:
    plain = as_json("yield", *TRAY)
    fed = as_json("yield", *TRAY, "--topup-g", "30", "--topup-every", "7")
    split = as_json("yield", *TRAY, "--split-day", "12")
    assert fed["last_useful_day"] > plain["last_useful_day"]
    assert split["days"][13]["stock"] < plain["days"][13]["stock"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        ([], "say which: a culture of the room, or --kind"),
        (["MW-1", "--kind", "microworm"], "either a culture of the room or --kind"),
        (["--kind", "microworm"], "say how much medium"),
        (["--kind", "brine_shrimp", "--medium-g", "9"], "use 'livefood hatch'"),
        (["--kind", "microwrm", "--medium-g", "9"], "did you mean 'microworm'?"),
        (["--kind", "microworm", "--medium-g", "0"], "0 is not possible"),
        (["--kind", "microworm", "--medium-g", "-3"], "-3 is not possible"),
        (["--kind", "microworm", "--medium-g", "nan"], "'nan' is not a quantity"),
        (["--kind", "microworm", "--medium-g", "9 furlongs"], "is not a unit of mass"),
        ([*TRAY, "--temperature-c", "50"], "dies at 35 °C and above"),
        ([*TRAY, "--temperature-c", "2"], "does not grow at this temperature"),
        ([*TRAY, "--take", "0.9"], "0 (none) to 0.15"),
        ([*TRAY, "--take", "nan"], "0 (none) to 0.15"),
        ([*TRAY, "--starter-g", "0"], "0 is not possible; 0.01 to 100000 is"),
        ([*TRAY, "--topup-g", "5"], "needs the days between"),
        ([*TRAY, *(["--temperature-c", "24"] * 6)], "at most 5 temperatures"),
        (["MW-1"], "there is no room file"),
    ],
)
def test_yield_refuses_with_one_clear_message(args: list[str], words: str) -> None:
    result = run("yield", *args)
    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.output
    assert result.stdout == ""


# hatch


def test_hatch_json_keeps_its_contract() -> None:
    data = as_json("hatch", *NUMBER, "--now", "2027-01-01T00:00")
    keys = {
        "set_at", "harvest_at", "window", "cysts_g", "water_l", "salt_g", "vessels", "nauplii",
        "energy_j", "spoons", "left_over",
    }  # fmt: skip
    assert keys <= set(data)
    assert set(data["window"]) == {"from", "to"}
    at = datetime.fromisoformat(data["harvest_at"])
    assert at.tzinfo is not None
    assert datetime.fromisoformat(data["set_at"]) < at
    assert data["vessels"] == 1
    assert data["salt_g"] == 25 * data["water_l"]
    assert 100_000 <= data["nauplii"] < 115_000
    assert data["left_over"] == pytest.approx(data["nauplii"] - 100_000, abs=2)


def test_hatch_for_the_rooms_need_names_tanks_in_its_zone(room: list[str]) -> None:
    data = as_json("hatch", "--at", "2027-01-06T07:30", *room)
    assert data["harvest_at"] == "2027-01-06T07:00:00-04:00"
    assert [entry["tank"] for entry in data["tanks"]] == ["A1", "B2"]
    first, second = (entry["ml"] for entry in data["tanks"])
    assert second == pytest.approx(2 * first, abs=0.2)
    assert first + second <= data["rinse_ml"] + 0.2
    assert data["settings"][0]["vessel"] == "bottle 1"
    need = as_json("hatch", *NUMBER, *room)
    assert need["nauplii"] >= 100_000


def test_hatch_uses_the_count_of_the_room_and_the_options_over_it(room: list[str]) -> None:
    own = as_json("hatch", *NUMBER, *room)
    given = as_json("hatch", *NUMBER, *room, "--per-gram", "90000")
    assert given["cysts_g"] == pytest.approx(2 * own["cysts_g"], abs=0.15)


def test_hatch_asks_for_two_vessels_when_one_is_too_small() -> None:
    data = as_json("hatch", "--nauplii", "1500000", "--at", "2027-01-06T07:30", *NOW)
    assert data["vessels"] == len(data["settings"]) == 2


def test_hatch_text_has_cautions_at_the_step_and_fits_the_screen() -> None:
    text = run("hatch", *NUMBER, *NOW, "--range").output
    steps = [text.index(word) for word in ("set vessel 1", "residual-current", "harvest", "feed")]
    assert steps == sorted(steps)
    assert " tsp level)" in text
    assert "allergen" in text
    assert "Range: eight cases in ten" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_hatch_without_a_time_is_for_the_next_round_in_reach(room: list[str]) -> None:
    early = run("hatch", *room, "--now", "2027-01-05T07:00").stdout
    assert early.startswith("For the round of Wed 6 Jan 07:30 alone, the first that a hatch set")
    # 24 h at 27 °C and half an hour of work do not fit before the round of 07:30 any more.
    late = as_json("hatch", *room, "--now", "2027-01-05T14:00")
    assert late["harvest_at"].startswith("2027-01-06T18:00")
    assert late["set_at"] >= "2027-01-05T14:00"
    asked = run("hatch", *room, "--at", "2027-01-06T18:30", "--now", "2027-01-05T07:00").stdout
    assert asked.startswith("For the round of Wed 6 Jan 18:30 alone; 'livefood plan'")


def test_hatch_for_a_time_that_is_no_round_says_so(room: list[str]) -> None:
    early = ["--at", "2027-01-06T07:31", *room, "--now", "2027-01-05T07:00"]
    wrong = run("hatch", *early)
    assert wrong.exit_code == 2
    said = " ".join(wrong.output.split())
    assert "not fed at 07:31: name one of its rounds, 07:30 and 18:30; or say how many" in said
    asked = " ".join(run("hatch", "--nauplii", "100000", *early).stdout.split())
    assert asked.startswith("For Wed 6 Jan 07:31 alone, which is no round; 'livefood plan'")


def test_hatch_writes_days_spoons_and_numbers_as_the_plan_does(room: list[str]) -> None:
    text = run("hatch", *room, "--now", "2027-01-05T07:00").stdout
    assert re.search(r"\d g cysts(\s+\([\d /x]+ tsp level\))?, 1 L water", text)
    assert re.search(r"[\d,]+,\d00 nauplii", text)
    assert not re.search(r"\d{4}-\d\d-\d\d(?!T)", text)
    assert "Caution" not in text


def test_hatch_says_when_the_plan_has_taken_the_bottle(tmp_path: Path) -> None:
    (tmp_path / "room.toml").write_text(demo_text(date(2027, 1, 5)))
    words = ["--room", str(tmp_path / "room.toml"), "--now", "2027-01-05T07:00"]
    of_all = ["hatch", "--at", "2027-01-07T07:30", "--nauplii", "1500000"]  # no bottle is free
    result = CliRunner().invoke(main, [*of_all, *words])
    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    found = re.search(
        r"by the plan bottle 1 is taken from Tue 5 Jan (\d\d:\d\d) to (\w+ \d+ Jan \d\d:\d\d)",
        said,
    )
    assert found is not None
    tasks = as_json("plan", *words)["tasks"]
    (setting,) = [t for t in tasks if t["what"] == "set_hatch" and t["at"][:10] == "2027-01-05"]
    assert setting["subject"] == "bottle 1"
    assert setting["at"][11:16] == found[1]


def test_hatch_of_a_round_gone_by_is_worked_out_as_if_there_were_time() -> None:
    data = as_json("hatch", "--nauplii", "100000", "--at", "2020-01-06T07:30")
    assert data["vessels"] == 1


def test_a_hatch_drawn_off_before_its_best_says_so_and_adds_up() -> None:
    """At 24 °C most are out after more than a day, and it is set 24 h before its round."""
    said = run(*("hatch", *NUMBER, "--temperature-c", "24", "--now", "2027-01-05T07:00"))
    text = " ".join(said.output.split())
    assert "before its best, which is from" in text
    assert "good from" not in text
    found = re.search(r"([\d,]+) nauplii, of which ([\d,]+) are left over", text)
    assert found is not None
    whole, left = (float(each.replace(",", "")) for each in found.groups())
    assert whole - left == 100_000


def test_a_hatch_too_small_for_a_spoon_is_to_be_weighed() -> None:
    text = run("hatch", "--nauplii", "500", "--at", "2027-01-06T07:30").output
    found = re.search(r"([\d.]+) g cysts, ", text)
    assert found is not None
    assert float(found[1]) > 0
    assert "too little for a spoon: weigh it" in " ".join(text.split())


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--nauplii", "5"], "say --at 2027-01-06T07:30"),
        (["--at", "tomorrow"], "write it like 2027-01-05T07:00"),
        (["--at", "2027-01-06T07:30"], "there is no room file"),
        (["--nauplii", "-5", "--at", "2027-01-06T07:30"], "-5 is not possible; 1 to"),
        (["--nauplii", "nan", "--at", "2027-01-06T07:30"], "'nan' is not a number"),
        ([*NUMBER, "--temperature-c", "34"], "stop or die at 33 °C"),
        ([*NUMBER, "--temperature-c", "50 F"], "promised below 15 °C"),
        ([*NUMBER, "--salinity", "100"], "do not hatch at 100 g/L"),
        ([*NUMBER, "--litres", "0"], "0 is not possible; 0.05 to 2000"),
        ([*NUMBER, "--litres", "0.05", "--vessels", "1"], "add a vessel of"),
        ([*NUMBER, "--strain", "atlantis"], "no strain of brine_shrimp named 'atlantis'"),
        ([*NUMBER, "--per-gram", "0"], "0 is not possible; 1,000 to"),
        ([*NUMBER, "--per-gram", "nan"], "'nan' is not a number"),
        ([*NUMBER, "--now", "2027-01-06T03:00"], "it had to be set by Tue 5 Jan"),
        ([*NUMBER, "--room", "nowhere.toml"], "there is no room file nowhere.toml"),
    ],
)
def test_hatch_refuses_with_one_clear_message(args: list[str], words: str) -> None:
    result = run("hatch", *args)
    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.output
    assert result.stdout == ""


def test_hatch_says_when_no_tank_needs_any(tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    path.write_text(ROOM.replace("length_mm = 8", "length_mm = 45"), "utf-8")
    result = run("hatch", "--at", "2027-01-06T07:30", "--room", str(path), *NOW)
    assert result.exit_code == 2
    assert "no tank needs brine shrimp at Wed 6 Jan 2027 07:30; give" in result.stderr


# kinds


def test_kinds_are_listed_while_the_room_file_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    path.write_text(demo_text(date(2027, 1, 5)).replace('kind = "microworm"', 'kind = "wriggler"'))
    result = CliRunner().invoke(main, ["kinds", "--room", str(path), "--now", "2027-01-05"])
    assert result.exit_code == 0
    assert "microworm" in result.stdout
    assert "has mistakes" in result.stderr


def test_kinds_lists_foods_and_classes() -> None:
    text = run("kinds").output
    for name in (*kind_names(), "egg_scatterer"):
        assert name in text
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize("name", [*kind_names(), "egg_scatterer"])
def test_kinds_name_prints_range_source_and_status_of_each_parameter(name: str) -> None:
    data = as_json("kinds", name)
    text = run("kinds", name, "--sources").output
    for key, entry in data["parameters"].items():
        assert f"{key} = {entry['value']:g}" in text
        assert entry["status"] in text
        assert entry["sources"], key
        assert all(entry["sources"].values()), key
        for source in entry["sources"]:
            assert f"\n{source}: " in text


def test_kinds_shows_strains_and_the_rooms_own(room: list[str]) -> None:
    assert "Great Salt Lake" in run("kinds", "brine_shrimp", "--strain", "great_salt_lake").output
    data = as_json("kinds", "attic_worm", *room)
    assert data["parameters"]["growth_rate_per_day"]["status"] == "keeper"


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["nope"], "there is no kind, fry class or species named 'nope'"),
        (["--strain", "x"], "--strain needs the NAME of a kind"),
        (["microworm", "--strain", "x"], "no strain of microworm named 'x'"),
        (["egg_scatterer", "--strain", "x"], "--strain needs the NAME of a kind"),
    ],
)
def test_kinds_refuses_with_one_clear_message(args: list[str], words: str) -> None:
    result = run("kinds", *args)
    assert result.exit_code == 2
    assert words in result.stderr


@pytest.mark.parametrize("name", ["yield", "hatch", "kinds"])
def test_help_has_an_example(name: str) -> None:
    result = run(name, "--help")
    assert result.exit_code == 0
    assert f"livefood {name}" in result.output
    assert "Example" in result.output


def test_screens_call_a_kind_of_ones_own_by_its_name(tmp_path: Path) -> None:
    """Its harvest goes into a cup of its own, beside that of the kind it is like."""
    room = demo_file(tmp_path)
    box = "started = 2026-10-20\nmedium_g = 400\nsurface_cm2 = 250\nstarter_g = 15\n"
    with room.open("a", encoding="utf-8") as more:
        more.write('\n[[kind]]\nname = "white_worm"\nlike = "grindal_worm"\n')
        for name, kind in (("GR-1", "grindal_worm"), ("WW-1", "white_worm")):
            more.write(f'\n[[culture]]\nname = "{name}"\nkind = "{kind}"\n{box}')
    assert "WW-1     white worm" in run_on(room, "check").output
    assert run_on(room, "yield", "WW-1").output.startswith("WW-1, white worm (like grindal worm):")
    assert run_on(room, "kinds", "white_worm").output.startswith("white worm (like grindal worm), ")
    assert "The oldest white worm culture that still" in run_on(room, "today", "--why").output
