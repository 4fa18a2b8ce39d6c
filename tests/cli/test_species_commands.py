"""Species by the commands: found, shown, named in a room file, a note and a supposition."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, jotted, room_file, run, run_json

NOW = "2027-01-05T07:00"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """The demo with a brood of a species beside its own."""
    path = room_file(tmp_path)
    more = (
        '\n[[tank]]\nname = "Z9"\nlitres = 30\ntemperature_c = 25\n'
        '\n[[brood]]\nname = "neons"\ntank = "Z9"\nspecies = "neon tetra"\ncount = 40\n'
        "spawned = 2027-01-04\n"
    )
    path.write_text(path.read_text("utf-8") + more, "utf-8")
    return path


def test_kinds_lists_species_by_class(room: Path) -> None:
    said = run(room, "kinds").stdout
    assert "species have values of their own" in said
    assert "Siamese fighting fish" in said.split("bubble_nest:")[1]
    assert [line for line in said.splitlines() if len(line) > 80] == []


def test_kinds_finds_a_species_by_any_name(room: Path) -> None:
    for words in (["Betta", "splendens"], ["betta"], ["betta_splendens"], ["SPLENDENS"]):
        said = run(room, "kinds", *words).stdout
        assert said.startswith("Siamese fighting fish (Betta splendens), species of the class")
        own, filled = said.split("\n\nt_ref_c")
        assert "valentin2013" in own
        assert "from its class" not in own
        assert "from its class, bubble_nest" in filled


def test_kinds_lists_all_that_a_part_of_a_name_may_mean(room: Path) -> None:
    said = run(room, "kinds", "gourami").stdout
    assert "Trichogaster lalius (dwarf gourami), bubble_nest; own: hatch_days" in said
    assert "Osphronemus goramy" in said
    assert "Betta" not in said
    assert "Symphysodon discus" in run(room, "kinds", "discus").stdout
    refused = run(room, "kinds", "xxxxxxxx", code=2)
    assert "no kind, fry class or species named 'xxxxxxxx'" in refused.output


def test_kinds_in_json(room: Path) -> None:
    listed = run_json(room, "kinds")
    betta = next(one for one in listed if one["name"] == "betta_splendens")
    assert (betta["what"], betta["class"], betta["about"]) == (
        "species", "bubble_nest", "Betta splendens",
    )  # fmt: skip
    assert betta["parameters"]["hatch_days"]["at_c"] == 28.4
    assert {one["what"] for one in listed} >= {"species", "fry class", "hatched"}
    one = run_json(room, "kinds", "betta")
    assert one["class"] == "bubble_nest"
    assert not one["parameters"]["hatch_days"]["from_class"]
    assert one["parameters"]["gape_share"]["from_class"]
    assert [x["name"] for x in run_json(room, "kinds", "discus")] == [
        "symphysodon_aequifasciatus", "symphysodon_discus",
    ]  # fmt: skip
    assert "class" not in run_json(room, "kinds", "livebearer")


def test_a_brood_of_a_species_is_planned_by_its_own_values(room: Path) -> None:
    assert "Paracheirodon innesi" in run(room, "check").stdout
    (found,) = [b for b in run_json(room, "check")["broods"] if b["name"] == "neons"]
    assert (found["class"], found["species"]) == ("tiny_scatterer", "Paracheirodon innesi")
    assert found["first_food"] == "2027-01-10", "six days at 24 °C, printed; less at 25"
    text = room.read_text("utf-8").replace('species = "neon tetra"', 'class = "tiny_scatterer"')
    room.write_text(text, "utf-8")
    (plain,) = [b for b in run_json(room, "check")["broods"] if b["name"] == "neons"]
    assert plain["first_food"] < found["first_food"]
    assert "species" not in plain
    said = run(room, "need", "--brood", "neons").stdout
    assert "neons, tank Z9, 25 °C: small egg scatterer" in said


def test_need_says_what_a_species_has_from_its_class(room: Path) -> None:
    told = run(room, "need", "--brood", "neons", "--why", now="2027-01-20T07:00").stdout
    plain = " ".join(told.split())
    assert "marinho2017" in plain
    assert "weight_a_mg assumption, 0.003 to 0.006 mg/mm^b; practice; from its class," in plain
    growth = plain.split("growth_rate_per_day", 1)[1].split("length_limit_mm")[0]
    assert "from its class" not in growth


def test_a_spawning_of_a_species_is_noted_under_its_name_in_science(room: Path) -> None:
    told = ("--tank", "Z9", "--class", "Siamese fighting fish", "--count", "80")
    jotted(room, NOW, "spawn", "betta 7", *told)
    journal = (room.parent / "journal.csv").read_text("utf-8")
    assert "spawn,betta 7,Z9 betta_splendens,80" in journal
    (found,) = [b for b in run_json(room, "need")["rounds"] if b["brood"] == "betta 7"] or [None]
    assert found is None, "it does not eat yet"
    said = at(room, NOW, "need", "--brood", "betta 7").stdout
    assert "Siamese fighting fish" in said


def test_a_spawning_of_no_known_fish_is_refused(room: Path) -> None:
    told = ("--tank", "Z9", "--count", "80", "--class")
    said = at(room, NOW, "journal", "spawn", "x", *told, "discus", code=2).output
    assert "'Symphysodon aequifasciatus' or 'Symphysodon discus'" in said
    said = at(room, NOW, "journal", "spawn", "x", *told, "xxxxxxxx", code=2).output
    assert "fry class or species named 'xxxxxxxx'" in said
    assert not (room.parent / "journal.csv").exists()


@pytest.mark.parametrize("words", ["Betta splendens", "betta", '"siamese fighting fish"'])
def test_a_species_may_be_supposed(room: Path, words: str) -> None:
    said = run(room, "plan", "--if", f"spawn {words} 100 in Z9 on 2027-01-07").stdout
    assert "first food for supposed Siamese fighting fish in Z9" in " ".join(said.split())
