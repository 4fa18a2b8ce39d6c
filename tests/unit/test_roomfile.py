"""Room files: every mistake at once, each with its line and what would be right."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from cli.commands.demo_room import demo_text
from cultures.errors import BadFileError, FileProblemError
from cultures.room.file import load_room, read_room
from cultures.room.room import Room

_TODAY = date(2027, 1, 5)
_GOOD = """\
[room]
name = "Shed"
timezone = "Europe/Lisbon"
temperature_c = 23.5

[[tank]]
name = "A1"
litres = "10 gal"
temperature_c = "78 F"

[[brood]]
name = "one"
tank = "A1"
class = "bubble_nest"
count = 100
spawned = 2027-01-01

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = "1/2 lb"
surface_cm2 = "28 in2"
starter_g = 10

[[vessel]]
name = "V1"
litres = 1
temperature_c = 27

[[hatch]]
vessel = "V1"
set_at = 2027-01-04T18:30:00
cysts_g = "1/2 tsp"

[cysts]
grams = 30

[[away]]
from = 2027-01-10
to = 2027-01-14
"""


def _read(text: str) -> Room:
    return read_room(text, today=_TODAY)


def _problems(text: str) -> list[str]:
    with pytest.raises(BadFileError) as caught:
        _read(text)
    return [str(problem) for problem in caught.value.problems]


def test_units_that_a_keeper_uses_are_read() -> None:
    room = _read(_GOOD)
    assert room.tanks[0].litres == pytest.approx(37.85411784)
    assert room.tanks[0].temperature_c == pytest.approx(46 * 5 / 9)
    assert room.cultures[0].medium_g == pytest.approx(226.796185)
    assert room.cultures[0].surface_cm2 == pytest.approx(28 * 6.4516)
    density = room.hatch_kind.values["bulk_density_g_per_ml"]
    assert room.hatches[0].cysts_g == pytest.approx(0.5 * 4.92892159375 * density)
    assert room.hatches[0].set_at.isoformat() == "2027-01-04T18:30:00+00:00"
    assert room.as_of == date(2027, 1, 4)


def test_all_mistakes_are_told_at_once_with_their_lines() -> None:
    text = _GOOD
    for old, new in (
        ('timezone = "Europe/Lisbon"', 'timezone = "Europe/Lisbonn"'),
        ('name = "A1"\nlitres', 'nmae = "A1"\nlitres'),
        ('class = "bubble_nest"', 'class = "bubble_nst"'),
        ("count = 100", "count = -3"),
        ("starter_g = 10", 'starter_g = "ten"'),
        ("temperature_c = 27", "temperature_c = 40"),
        ("from = 2027-01-10", "from = 2027-01-20"),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    found = _problems(text)
    wanted = [
        ("room.toml:3: ", "did you mean 'Europe/Lisbon'?"),
        ("room.toml:7: ", "unknown key; did you mean 'name'?"),
        ("room.toml:14: ", "there is no 'bubble_nst'; did you mean 'bubble_nest'?"),
        ("room.toml:15: ", "-3 is not possible; use 1 to"),
        ("room.toml:24: ", "'ten' is not a quantity"),
        ("room.toml:29: ", "40 °C: "),
        ("room.toml:41: ", "2027-01-14 is before from (2027-01-20)"),
    ]
    for place, said in wanted:
        assert any(p.startswith(place) and said in p for p in found), (place, said, found)
    lines = [int(p.split(":")[1]) for p in found]
    assert lines == sorted(lines)
    assert not any("is missing" in p for p in found), "a misspelt key is told once"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("count = 100", "number = 100", "unknown key; did you mean 'count'?"),
        ("[[vessel]]", "[[hatchery]]", "unknown table; did you mean 'vessel'?"),
        ("[[away]]", "[[holidays]]", "unknown table; did you mean 'away'?"),
        ('kind = "microworm"', 'kind = "walter_worm"', "describe another in a [[kind]]"),
        ('kind = "microworm"', 'kind = "microwrm"', "did you mean 'microworm'?"),
        ('class = "bubble_nest"', 'class = "Corydoras"', "did you mean 'armoured_catfish'"),
        ('class = "bubble_nest"', 'class = "angelfish"', "did you mean 'substrate_spawner'"),
    ],
)
def test_a_word_of_the_trade_leads_to_the_word_of_the_file(old: str, new: str, said: str) -> None:
    assert old in _GOOD
    found = _problems(_GOOD.replace(old, new, 1))
    assert [p for p in found if said in p], found
    assert not [p for p in found if "is missing" in p]


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('tank = "A1"', 'tank = "A2"', 13, "there is no 'A2'; known: A1"),
        ('kind = "microworm"', 'kind = "mikroworm"', 20, "did you mean 'microworm'?"),
        ("started = 2026-12-20", "started = 2027-02-01", 21, "lies in the future"),
        ("started = 2026-12-20", "started = 1899-02-01", 21, "too long ago"),
        ("started = 2026-12-20", 'started = "soon"', 21, "must be a date like 2027-01-31"),
        ("spawned = 2027-01-01", "spawned = 2027-06-01", 16, "lies in the future"),
        ("from = 2027-01-10", "from = 2037-01-10", 40, "more than two years ahead"),
        ("litres = 1\n", "litres = 0\n", 28, "0 L is not possible"),
        ("litres = 1\n", "litres = true\n", 28, "True is not a quantity"),
        ("litres = 1\n", "litres = nan\n", 28, "not a number that can be used"),
        ("litres = 1\n", 'litres = "1 lb"\n', 28, "'lb' is not a unit of volume"),
        ("grams = 30", "grams = [30]", 37, "expected a number or text"),
        ("count = 100", 'count = "many"', 15, "must be a number from 1 to"),
        ('name = "one"', "name = 7", 12, "must be text in quotes"),
        ('name = "one"', 'name = "a\\nb"', 12, "must be one line of letters to be seen"),
        ("set_at = 2027-01-04T18:30:00", "set_at = 2027-01-04", 33, "must be a date and time"),
        ('vessel = "V1"', 'vessel = "V2"', 32, "there is no 'V2'; known: V1"),
        ("temperature_c = 23.5", "temperature_c = 44", 19, "44 °C: microworm dies"),
        ("starter_g = 10", "starter_g = 500", 24, "more than the medium itself"),
        ("temperature_c = 27", "temperature_c = 27\nsalinity_g_per_l = 140", 30, "next to nothing"),
        ("spawned = 2027-01-01", "spawned = 2027-01-01\nhatched = 2027-01-02", 17,
         "exactly one of"),
        ("spawned = 2027-01-01\n", "", 12, "give exactly one of spawned"),
        ("spawned = 2027-01-01", "spawned = 2027-01-01\nmeasured_on = 2027-01-02", 17,
         "goes with length_mm only"),
        ("spawned = 2027-01-01", 'spawned = 2027-01-01\nfoods = ["bread"]', 17, "no 'bread'"),
        ("spawned = 2027-01-01", "spawned = 2027-01-01\nfoods = []", 17, "must be a list"),
        ("temperature_c = 23.5", 'temperature_c = 23.5\nrounds = ["18:30", "07:30"]', 5,
         "must ascend"),
        ("temperature_c = 23.5", 'temperature_c = 23.5\nrounds = ["25:00"]', 5,
         "'25:00' is not a time of day"),
        ("temperature_c = 23.5", 'temperature_c = 23.5\nawake = ["22:00", "06:00"]', 5,
         "must be earlier than the second"),
        ("temperature_c = 23.5", 'temperature_c = 23.5\nrounds = ["05:00"]', 5,
         "05:00 lies outside awake"),
        ("temperature_c = 23.5", "temperature_by_month_c = [20, 21]", 4,
         "must list 12 temperatures"),
        ("temperature_c = 23.5", 'temperature_c = 23.5\nsplit_days = ["sunday"]', 5,
         "there is no 'sunday'; did you mean 'sun'?"),
        ("temperature_c = 23.5", "temperature_c = 23.5\nhorizon_days = 0", 5, "use 1 to 400"),
        ("temperature_c = 23.5\n", "", 1, "temperature_c: is missing"),
        ("to = 2027-01-14", 'to = 2027-01-14\nhelper = "yes"', 42, "must be true or false"),
    ],
)  # fmt: skip
def test_one_wrong_value_names_its_line_and_what_would_be_right(
    old: str, new: str, line: int, said: str
) -> None:
    assert old in _GOOD
    text = _GOOD.replace(old, new, 1)
    found = _problems(text)
    assert any(p.startswith(f"room.toml:{line}: ") and said in p for p in found), found


@pytest.mark.parametrize("table", ["tank", "brood", "culture", "vessel"])
def test_two_of_one_name(table: str) -> None:
    start = _GOOD.index(f"[[{table}]]")
    end = _GOOD.index("\n\n", start)
    found = _problems(_GOOD + "\n" + _GOOD[start:end] + "\n")
    assert any(f"there are two {table}s of this name" in p for p in found), found


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[tanks]\nname = 'x'\n", "unknown table; did you mean 'tank'?"),
        ("[tank]\nname = 'x'\n", "write [[tank]]"),
        ("[[room]]\nname = 'x'\n", "write [room]"),
        ("", "the table is missing; see 'livefood new'"),
    ],
)
def test_tables_that_are_not_as_they_should_be(text: str, said: str) -> None:
    assert any(said in p for p in _problems(text))


def test_text_that_is_no_toml_names_the_line() -> None:
    (torn,) = _problems('[room]\nname = "x\n')
    assert torn.startswith("room.toml:2: ")
    assert "quote" in torn
    for cut in range(0, _GOOD.index("[[hatch]]"), 7):  # torn anywhere before its end
        with pytest.raises(BadFileError):
            _read(_GOOD[:cut] + "[[tank]]\nname = 'torn")


def test_a_file_that_is_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(FileProblemError, match="livefood new"):
        load_room(tmp_path / "room.toml", today=_TODAY)
    with pytest.raises(FileProblemError, match="cannot read"):
        load_room(tmp_path, today=_TODAY)
    path = tmp_path / "latin.toml"
    path.write_bytes('[room]\nname = "Caf\xe9"\n'.encode("latin-1"))
    with pytest.raises(BadFileError, match="not UTF-8"):
        load_room(path, today=_TODAY)
    path.write_bytes(b"\xef\xbb\xbf" + _GOOD.replace("\n", "\r\n").encode())
    assert load_room(path, today=_TODAY) == _read(_GOOD)


def test_the_demo_room_is_read_without_a_mistake() -> None:
    room = _read(demo_text(_TODAY))
    assert (len(room.tanks), len(room.broods), len(room.cultures), len(room.vessels)) == (
        14, 6, 4, 2,
    )  # fmt: skip


def test_a_worm_cannot_have_the_name_of_what_is_hatched() -> None:
    own = '\n[[kind]]\nname = "brine_shrimp"\nlike = "microworm"\n'
    (problem,) = _problems(_GOOD + own)
    assert "brine_shrimp is hatched; give a worm another name" in problem
