"""``livefood ready``: dates worked back, what stands already, and what does if it is too late."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from cultures.needs.need import Round
from cultures.planning.hatch_options import harvest_time
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.words.moments import hours
from tests.cli.invented import TODAY, at, room_file, run, run_json
from tests.cli.rooms import small


@pytest.fixture
def room(tmp_path: Path) -> Path:
    return room_file(tmp_path)


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """A room with one culture of microworms, begun on 20 December, and no vessel."""
    return small(tmp_path)


def _words(room: Path, *args: str, code: int = 0) -> str:
    return " ".join(run(room, "ready", *args, code=code).output.split())


def test_it_asks_and_changes_no_file(room: Path) -> None:
    before = {p.name: p.read_bytes() for p in room.parent.iterdir()}
    run(room, "ready", "bubble_nest 120", "--on", "2027-01-16")
    assert {p.name: p.read_bytes() for p in room.parent.iterdir()} == before


def test_it_says_which_day_it_was_asked_for(room: Path) -> None:
    asked = "(the day you asked for)"
    assert f"spawning Sat 16 Jan {asked}" in _words(room, "bubble_nest 120", "--on", "2027-01-16")
    by_food = _words(room, "bubble_nest 120", "--first-food", "2027-01-20")
    assert f"first food Wed 20 Jan 07:30 {asked}" in by_food
    assert "spawning Sat 16 Jan hatching" in by_food


def test_what_stands_and_gives_is_named(room: Path) -> None:
    said = _words(room, "bubble_nest 120", "--on", "2027-01-16")
    assert "vinegar eel: VE-1 will be giving by then as it is" in said
    assert "journal planned NAME --on 2027-01-16 --tank A2 --class bubble_nest" in said


def test_a_hatch_is_set_as_late_as_brings_half_of_its_best(room: Path) -> None:
    found = run_json(room, "ready", "armoured_catfish 200", "--on", "2027-01-06")
    (step,) = (s for s in found["foods"] if s["food"] == "brine_shrimp")
    stands = read_room(room.read_text("utf-8"), name="room.toml", today=TODAY)
    at = datetime.fromisoformat(found["first_food"])
    harvest_h = harvest_time(stands, Round(0, at, hours(at), 2, fed=True, keeper=True))
    model = vessel_model(stands, stands.vessel(step["subject"]))
    best_j = model.energy(model.best_hours())

    def share(text: str, later: timedelta = timedelta()) -> float:
        return model.energy(harvest_h - hours(datetime.fromisoformat(text) + later)) / best_j

    assert share(step["begin_by"]) >= 0.5
    assert share(step["begin_by"], timedelta(minutes=10)) < 0.5
    assert share(step["best_at"]) == pytest.approx(1.0, abs=0.02)
    assert step["cysts_g"] == 0.2  # nobody sets less


def test_cysts_are_to_be_bought_where_the_tin_is_empty(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    text = room.read_text("utf-8").replace("[cysts]\ngrams = ", "[cysts]\ngrams = 0 # ")
    room.write_text(text, "utf-8")
    found = run_json(room, "ready", "armoured_catfish 200", "--on", "2027-01-06")
    (step,) = (s for s in found["foods"] if s["food"] == "brine_shrimp")
    last = date.fromisoformat(step["begin_by"][:10])
    assert date.fromisoformat(step["buy_by"]) == last - timedelta(days=2)
    assert step["slack_days"] == (last - TODAY).days - 2


def test_too_late_it_names_the_first_day_that_works(shelf: Path) -> None:
    text = shelf.read_text("utf-8").replace("started = 2026-12-20", "started = 2027-01-04")
    shelf.write_text(text, "utf-8")
    asked = "bubble_nest 40", "--temperature", "26"
    late = run_json(shelf, "ready", *asked, "--on", "2027-01-04")
    (step,) = (s for s in late["foods"] if s["kept"] and s["takes"] >= 0.5)
    assert (step["food"], step["too_late"]) == ("microworm", True)
    assert "TOO LATE" in _words(shelf, *asked, "--on", "2027-01-04")
    again = run_json(shelf, "ready", *asked, "--on", late["spawn_from"])
    assert any(s["takes"] >= 0.5 and not s["too_late"] for s in again["foods"])
    day = date.fromisoformat(late["spawn_from"]) - timedelta(days=1)
    before = run_json(shelf, "ready", *asked, "--on", f"{day}")
    assert all(s["too_late"] for s in before["foods"] if s["takes"] >= 0.5)


def test_fewer_fry_are_told_that_the_plan_feeds(shelf: Path) -> None:
    asked = "--on", "2027-01-06", "--temperature", "26"
    found = run_json(shelf, "ready", "egg_scatterer 9000", *asked)
    assert found["plan"]["in_full"] is False
    fry = found["plan"]["fry"]
    assert 0 < fry < 9000
    fewer = run_json(shelf, "ready", f"egg_scatterer {fry}", *asked)
    assert fewer["plan"]["in_full"] is True
    said = _words(shelf, "egg_scatterer 9000", *asked)
    assert "NOT ENOUGH" in said
    assert f"fewer fry: {fry}" in said


def test_far_ahead_there_are_dates_and_no_plan(room: Path) -> None:
    found = run_json(room, "ready", "bubble_nest 120", "--on", "2027-06-16")
    assert found["plan"] is None
    assert found["first_food"].startswith("2027-06-20")


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["betta 120"], "give --on DAY (of the spawning) or --first-food DAY"),
        (["betta", "--on", "2027-01-16"], 'say a class and how many, like "betta 120"'),
        (["bubble_nest 0", "--on", "2027-01-16"], 'say a class and how many, like "betta 120"'),
        (["bettta 9", "--on", "2027-01-16"], "there is no class or brood 'bettta'"),
        (["cichlid 9", "--on", "2027-01-16"], "several classes have such fish"),
        (
            ["bubble_nest 9", "--on", "2026-11-16"],
            "they ate for the first time on 2026-11-20 already",
        ),
        (["bubble_nest 9", "--on", "2027-01-16", "--in", "Z9"], "there is no tank named 'Z9'"),
        (
            ["bubble_nest 9", "--on", "2027-01-16", "--in", "A2", "--temperature", "26"],
            "leave out --in",
        ),
        (["bubble_nest 9", "--on", "2027-01-16", "--temperature", "9"], "do not develop"),
    ],
)
def test_what_cannot_be_asked(room: Path, args: list[str], said: str) -> None:
    assert said in _words(room, *args, code=2)


_COLD = """\
[[tank]]
name = "porch"
litres = 30
temperature_c = 18

[[tank]]
name = "warm"
litres = 30
temperature_c = 27

"""


@pytest.fixture
def porch(shelf: Path) -> Path:
    """The shelf with two free tanks, the first of them colder than the 20 °C of the class data."""
    text = shelf.read_text("utf-8").replace("[[brood]]", f"{_COLD}[[brood]]", 1)
    shelf.write_text(text, "utf-8")
    return shelf


def test_a_tank_too_cold_for_the_class_is_not_offered(porch: Path) -> None:
    found = run_json(porch, "ready", "bubble_nest 40", "--on", "2027-01-16")
    assert (found["tank"], found["warning"]) == ("warm", None)
    assert run_json(porch, "carry", "bubble_nest", "--weeks", "1")["tank"] == "warm"
    only = porch.read_text("utf-8").replace("temperature_c = 27\n", "temperature_c = 18\n")
    porch.write_text(only, "utf-8")
    assert run_json(porch, "ready", "bubble_nest 40", "--on", "2027-01-16")["temperature_c"] == 27
    said = " ".join(run(porch, "carry", "bubble_nest", "--weeks", "1", code=2).output.split())
    assert "no tank is free that suits bubble-nest labyrinth fish (20 to 30 °C)" in said


def test_who_names_a_cold_tank_is_told(porch: Path) -> None:
    told = "At 18 °C: bubble-nest labyrinth fish fry do not grow at 18 °C or below."
    assert told in _words(porch, "bubble_nest 40", "--on", "2027-01-16", "--in", "porch")
    carried = run(porch, "carry", "bubble_nest", "--weeks", "1", "--tank", "porch").output
    assert told in " ".join(carried.split())


def _ends(shelf: Path) -> date:
    """The last day of the culture on the shelf, as the plan has it."""
    (culture,) = (c for c in run_json(shelf, "plan")["cultures"] if c["name"] == "MW-1")
    return date.fromisoformat(culture["spent_on"][:10])


def test_a_culture_that_ends_before_is_not_split_after_its_end(shelf: Path) -> None:
    ends = _ends(shelf)
    asked = "bubble_nest 40", "--temperature", "26", "--first-food"
    found = run_json(shelf, "ready", *asked, f"{ends + timedelta(days=20)}")
    (step,) = (s for s in found["foods"] if s["food"] == "microworm")
    assert (step["how"], step["subject"]) == ("split", "MW-1")
    assert date.fromisoformat(step["begin_by"][:10]) <= ends < date.fromisoformat(step["again_by"])
    said = _words(shelf, *asked, f"{ends + timedelta(days=20)}")
    assert "before it ends, and what grows from it by" in said
    far = run_json(shelf, "ready", *asked, f"{ends + timedelta(days=120)}")
    (step,) = (s for s in far["foods"] if s["food"] == "microworm")
    assert step["how"] == "start"


def test_a_culture_that_ends_while_they_live_on_it_says_until_when(shelf: Path) -> None:
    ends = _ends(shelf)
    asked = "bubble_nest 40", "--temperature", "26", "--first-food"
    found = run_json(shelf, "ready", *asked, f"{ends - timedelta(days=2)}")
    (step,) = (s for s in found["foods"] if s["food"] == "microworm")
    assert (step["how"], step["until"]) == ("gives", f"{ends}")
    long_before = run_json(shelf, "ready", *asked, f"{ends - timedelta(days=15)}")
    (step,) = (s for s in long_before["foods"] if s["food"] == "microworm")
    assert (step["how"], step["until"]) == ("gives", None)


_EMPTY = """
[room]
name = "Larder"
timezone = "Europe/Berlin"
temperature_c = 20
as_of = 2027-01-11T20:10:00
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]

[[tank]]
name = "nursery"
litres = 20
temperature_c = 27
"""
_BOTTLE = """
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 27

[cysts]
grams = 50
"""


def test_in_an_empty_house_it_says_what_comes_of_what_is_begun(tmp_path: Path) -> None:
    """And so it is, once that is in the room."""
    room, asked = tmp_path / "room.toml", ("ready", "angelfish 300", "--on", "2027-01-11")
    room.write_text(_EMPTY)
    said = at(room, "2027-01-11T20:17", *asked, "--in", "nursery").output
    assert "NOT ENOUGH for 300 fry" in said
    assert "nauplii, begun as said above: all 300 would be fed in full" in said
    assert "not even a few" not in said
    told = json.loads(at(room, "2027-01-11T20:17", *asked, "--json").output)
    assert [(one["foods"], one["in_full"]) for one in told["begun"]] == [(["brine_shrimp"], True)]
    room.write_text(_EMPTY + _BOTTLE)
    said = at(room, "2027-01-11T20:17", *asked, "--in", "nursery").output
    assert "All 300 would be fed in full" in said
    assert "begun as said" not in said


def test_a_brood_that_is_there_is_not_there_twice(tmp_path: Path) -> None:
    """Who asks of it again is told the same; who asks of another number asks of more."""
    room, asked = tmp_path / "room.toml", ["--on", "2027-01-11", "--in", "nursery"]
    room.write_text(_EMPTY)
    alone = at(room, "2027-01-11T20:17", "ready", "angelfish 300", *asked, "--json").output
    spawned = '\n[[brood]]\nname = "angels"\ntank = "nursery"\nspecies = "angelfish"\n'
    room.write_text(f"{_EMPTY}{spawned}count = 300\nspawned = 2027-01-11\n")
    there = at(room, "2027-01-11T20:17", "ready", "angelfish 300", *asked)
    assert "what is said here is of them" in " ".join(there.output.split())
    again = at(room, "2027-01-11T20:17", "ready", "angelfish 300", *asked, "--json").output
    assert json.loads(again)["plan"] == json.loads(alone)["plan"]
    more = at(room, "2027-01-11T20:17", "ready", "angelfish 200", *asked)
    assert "of 200 fry more" in " ".join(more.output.split())
