"""``livefood need --brood`` and ``--why``."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cli.commands.demo_room import demo_text
from cli.main import main
from tests.cli.invented import TODAY, room_file, run, shown

ROOM = """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
[[tank]]
name = "A1"
litres = 40
temperature_c = "78 F"
[[brood]]
name = "danios"
tank = "A1"
class = "egg_scatterer"
count = 120
spawned = 2026-12-21
foods = ["vinegar_eel", "microworm", "brine_shrimp", "dry"]
[[brood]]
name = "eggs"
tank = "A1"
class = "rainbowfish"
count = 50
spawned = 2027-01-04
foods = ["brine_shrimp"]
[[brood]]
name = "large"
tank = "A1"
class = "livebearer"
count = 20
length_mm = 30
measured_on = 2027-01-04
foods = ["brine_shrimp", "dry"]
"""


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(ROOM, "utf-8")
    return path


def need(room: Path, *options: str) -> Result:
    arguments = ["need", "--room", str(room), "--now", "2027-01-05T07:00", *options]
    return CliRunner().invoke(main, arguments)


def test_growth_diet_and_dates_fit_the_screen(room: Path) -> None:
    result = need(room, "--brood", "danios")
    assert result.exit_code == 0
    assert max(len(line) for line in result.output.splitlines()) <= 80
    assert "danios, tank A1, 25.6 °C" in result.output
    assert "dry food is the largest part of the diet" in result.output
    assert result.output.count("*") > 40


def test_the_json_of_a_brood_adds_up(room: Path) -> None:
    days = json.loads(need(room, "--brood", "danios", "--days", "20", "--json").output)["days"]
    assert len(days) == 20
    lengths = [day["length_mm"] for day in days]
    assert lengths == sorted(lengths)
    for day in days:
        assert sum(day["foods"].values()) == pytest.approx(day["energy_j"], rel=1e-3)


def test_why_ends_at_the_need_of_the_round(room: Path) -> None:
    rounds = json.loads(need(room, "--json").output)["rounds"]
    first = next(r for r in rounds if r["brood"] == "danios")
    text = re.sub(r"\s+", " ", need(room, "--brood", "danios", "--why").output)
    assert f"= {first['length_mm']:.2f} mm" in text
    stated = re.search(r"over 2 rounds = ([\d,]+) J at this round", text)
    assert stated is not None
    assert float(stated[1].replace(",", "")) == pytest.approx(first["energy_j"], rel=0.01)
    shares = [int(share) for share in re.findall(r"-> (\d+)% = ", text)]
    assert sum(shares) == pytest.approx(100, abs=2)
    assert "Eaton & Farley 1974" in text


def test_natural_units_carry_the_energy(room: Path) -> None:
    rounds = json.loads(need(room, "--json").output)["rounds"]
    first = next(r for r in rounds if r["brood"] == "danios")
    nauplii = first["amounts"]["brine_shrimp"]
    assert nauplii["unit"] == "nauplii"
    # 0.0387 J a nauplius, Paffenhoefer 1967
    assert nauplii["amount"] * 0.0387 == pytest.approx(first["foods"]["brine_shrimp"], rel=0.01)
    assert first["amounts"]["microworm"]["unit"] == "mg"
    assert first["amounts"]["dry"]["unit"] == "g"


def test_eggs_do_not_eat_yet(room: Path) -> None:
    assert "They do not eat before" in need(room, "--brood", "eggs", "--days", "3").output
    why = need(room, "--brood", "eggs", "--why").output
    day = why.partition("first food on ")[2].partition("\n")[0]
    assert why.startswith(f"eggs at 18:30 on {day}, tank ")
    table = need(room, "--days", "20").output.partition("eggs")[0]
    assert "18:30" in table[table.rindex(f"\n{day} ") :]
    later = need(room, "--brood", "eggs", "--days", "20").output
    assert "needs" in later
    assert "vinegar eel" in later


def test_a_brood_past_fry_age_is_said_to_be(room: Path) -> None:
    result = need(room, "--brood", "large")
    assert result.exit_code == 0
    assert "past fry age" in result.output


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--brood", "danio"], "did you mean 'danios'?"),
        (["--why"], "name it with --brood"),
        (["--brood", "danios", "--why", "--json"], "leave out either"),
    ],
)
def test_wrong_options_get_one_message(room: Path, options: list[str], message: str) -> None:
    result = need(room, *options)
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output


def test_why_says_where_growth_costs_more_than_the_ration(room: Path) -> None:
    text = room.read_text("utf-8")
    fast = text.replace('class = "livebearer"', 'class = "annual_killifish"')
    room.write_text(fast.replace("length_mm = 30", "length_mm = 15"), "utf-8")
    words = " ".join(need(room, "--brood", "large", "--why").stdout.split())
    found = re.search(
        r"= ([\d.]+) J a fry a day eaten its growth costs more than that: \(([\d.]+) J grown"
        r" \+ ([\d.]+) J burnt\) / 0\.68 kept of what is eaten = ([\d.]+) J a fry a day",
        words,
    )
    assert found is not None
    ration, grown, burnt, eaten = map(float, found.groups())
    assert eaten > ration
    assert eaten == pytest.approx((grown + burnt) / 0.684, rel=0.01)
    assert re.search(rf"x {found[4]} J over 2 rounds", words)
    assert "costs more" not in need(room, "--brood", "danios", "--why").stdout


def test_a_name_of_two_words_needs_no_quotes(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    quoted = run(room, "need", "--brood", "acara 5").output
    assert run(room, "need", "--brood", "acara", "5").output == quoted


_SWIPES = re.compile(r"(?<![\d/])(\d+(?: \d/\d)?|\d/\d) swipes?")


def test_swipes_of_all_tanks_are_those_of_each_added_up() -> None:
    """Rounded by itself, a total was a quarter more or less than its own column."""
    rounds = shown(demo_text(TODAY), "need", "--days", "14").split("\n\n")[1:]
    seen = 0
    for text in rounds:
        table, _, together = text.partition("Together ")
        each, whole = (
            sum(sum(map(Fraction, n.split())) for n in _SWIPES.findall(" ".join(part.split())))
            for part in (table, together)
        )  # fmt: skip
        assert each == whole, text
        seen += whole > 0
    assert seen > 10
