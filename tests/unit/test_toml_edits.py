"""Edits of TOML texts: every other byte stays, and what cannot be edited so is refused."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime
from typing import Any

import pytest

from cli.commands.demo_room import demo_text
from cultures.errors import RangeError, UnitError, UnknownNameError
from cultures.room.editing import add, change, retire
from cultures.room.keys import KEYS
from cultures.room.toml_edits import FormError, with_keys, with_table, without_table
from cultures.room.typed import key_meant, literal, quoted

_NOW = datetime(2027, 1, 5, 7, 12, 30)  # noqa: DTZ001 (as a room's own clock has it)
_TEXT = """\
# heads the file
[room]   # the room
name = "a # b"
rounds = [
  "07:30",   # early
  "18:30",
]

# --- tanks ---
[[tank]]
name = "A"
litres = 40     # net

[[brood]]
name = "b"
  [[ tank ]]
  "name" = 'C'
  note = \"\"\"
[[tank]]
name = "no" \"\"\"\"
# heads what follows
[cysts]
grams = 3
"""


def _lines(text: str) -> list[str]:
    return text.splitlines(keepends=True)


def test_a_value_is_replaced_and_its_remark_stays() -> None:
    new = with_keys(_TEXT, "tank", 0, {"litres": '"10 gal"'})
    assert new == _TEXT.replace("litres = 40 ", 'litres = "10 gal" ')


def test_a_list_over_several_lines_is_one_value() -> None:
    new = with_keys(_TEXT, "room", 0, {"rounds": '["08:00"]'})
    head, _, rest = _TEXT.partition("rounds = ")
    assert new == f'{head}rounds = ["08:00"]{rest[rest.index("]") + 1 :]}'


def test_a_new_key_stands_below_the_others_and_as_far_in() -> None:
    new = with_keys(_TEXT, "tank", 1, {"litres": "7"})
    assert [line for line in _lines(new) if line not in _lines(_TEXT)] == ["  litres = 7\n"]
    assert tomllib.loads(new)["tank"][1]["litres"] == 7
    assert with_keys(new, "tank", 1, {"litres": None}) == _TEXT


def test_a_new_table_stands_below_the_last_of_its_name() -> None:
    new = with_table(_TEXT, "tank", {"name": '"D"'})
    at = _TEXT.index("# heads what follows")
    assert new == f'{_TEXT[:at]}\n[[tank]]\nname = "D"\n{_TEXT[at:]}'
    assert without_table(new, "tank", 2) == _TEXT


def test_a_table_of_a_new_name_stands_at_the_end() -> None:
    new = with_table(_TEXT, "supplies", {"salt_g": "3"})
    assert new == f"{_TEXT}\n[supplies]\nsalt_g = 3\n"


def test_remarks_around_a_table_outlive_it() -> None:
    new = without_table(without_table(_TEXT, "tank", 1), "tank", 0)
    assert "# --- tanks ---\n" in new
    assert "# heads what follows\n" in new
    assert "tank" not in tomllib.loads(new)


@pytest.mark.parametrize("end", ["", "\n", "\n\n", "\n# a last word", "\n# a last word\n\n"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_ends_of_lines_and_of_the_file_come_back(end: str, newline: str, mark: str) -> None:
    text = mark + (demo_text(date(2027, 1, 5)).rstrip("\n") + end).replace("\n", newline)
    for table in ("tank", "away", "vessel"):
        new = with_table(text, table, {"name": '"x"'})
        assert new.count("\n") - new.count(newline) == 0
        count = len(tomllib.loads(new.removeprefix(mark))[table])
        assert without_table(new, table, count - 1) == text


@pytest.mark.parametrize(
    "text",
    [
        'tank = [{name = "A"}, {name = "B"}]\n[room]\nx = 1\n',
        'room = {x = 1}\ntank = [{name = "A"}]\n',
        "room.x = 1\n[[tank]]\nname.y = 2\n",
        "['room']\nx = 1\n[['tank']]\nname = 1\n",
    ],
)
def test_other_forms_are_edited_as_meant_or_refused(text: str) -> None:
    """Never is something else changed: the parser says what became of it."""
    data = tomllib.loads(text)
    edits: list[tuple[Callable[[], str], dict[str, Any]]] = [
        (lambda: with_keys(text, "room", 0, {"x": "2"}), {**data, "room": {"x": 2}}),
        (lambda: with_keys(text, "tank", 0, {"name": "2"}),
         {**data, "tank": [{"name": 2}, *data["tank"][1:]]}),
        (lambda: without_table(text, "tank", 0),
         {k: v for k, v in {**data, "tank": data["tank"][1:]}.items() if v}),
    ]  # fmt: skip
    for edit, wanted in edits:
        with suppress(FormError):
            assert tomllib.loads(edit()) == wanted


def test_a_refused_form_names_its_line() -> None:
    with pytest.raises(FormError, match=r"^line 2: tank is written there"):
        without_table('# x\ntank = [{name = "A"}]\n', "tank", 0)


@pytest.mark.parametrize(
    ("table", "word", "typed", "written"),
    [
        ("tank", "volume", "20L", "litres = 20"),
        ("tank", "litres", "20 l", "litres = 20"),
        ("tank", "gallons", "10 gal", 'litres = "10 gal"'),
        ("tank", "temp", "78F", 'temperature_c = "78F"'),
        ("tank", "temperature", "25.50C", "temperature_c = 25.50"),
        ("tank", "litres", ".5", "litres = 0.5"),
        ("vessel", "salt", "1 1/2 ppt", 'salinity_g_per_l = "1 1/2 ppt"'),
        ("brood", "fry", "1,200", "count = 1200"),
        ("brood", "count", "many", 'count = "many"'),
        ("brood", "spawned", "today", "spawned = 2027-01-05"),
        ("brood", "spawned", "1 Jan 2027", "spawned = 2027-01-01"),
        ("brood", "spawned", "5/1/27", 'spawned = "5/1/27"'),
        ("brood", "foods", "microworm, dry", 'foods = ["microworm", "dry"]'),
        ("room", "as_of", "now", "as_of = 2027-01-05T07:12:00"),
        ("room", "as_of", "yesterday", "as_of = 2027-01-04"),
        ("room", "feedings", '["07:00", "18:00"]', 'rounds = ["07:00", "18:00"]'),
        ("room", "rounds", "07:00 18:00", 'rounds = ["07:00", "18:00"]'),
        ("room", "name", 'the "old"  shed', r'name = "the \"old\" shed"'),
        ("room", "temperature_by_month", "1, 2 C,50F", 'temperature_by_month_c = [1, 2, "50F"]'),
        ("away", "helper", "yes", "helper = true"),
        ("away", "start", "2027-02-01", "from = 2027-02-01"),
        ("hatch", "set_at", "2027-01-04 18:30", "set_at = 2027-01-04T18:30:00"),
    ],
)
def test_what_is_typed_and_how_the_file_has_it(
    table: str, word: str, typed: str, written: str
) -> None:
    key = key_meant(word, KEYS[table])
    assert f"{key} = {literal(KEYS[table].get(key), typed, _NOW)}" == written
    tomllib.loads(written)


def test_what_cannot_be_is_refused_by_name() -> None:
    demo = demo_text(date(2027, 1, 5))
    with pytest.raises(UnknownNameError, match="did you mean 'MW-1'"):
        change(demo, "culture", "MW1", {"medium": "3"}, _NOW)
    with pytest.raises(RangeError, match="litres is said twice"):
        change(demo, "tank", "A1", {"litres": "3", "volume": "4"}, _NOW)
    with pytest.raises(UnknownNameError, match="no stock named 'sugar'"):
        add(demo, "stock", "sugar", {"grams": "3"}, _NOW)
    with pytest.raises(RangeError, match="did you mean 'days'"):
        add(demo, "stock", "salt", {"day": "3"}, _NOW)
    with pytest.raises(RangeError, match="livefood change stock cysts"):
        add(demo, "stock", "cysts", {"grams": "3"}, _NOW)
    with pytest.raises(RangeError, match="livefood add stock salt"):
        change(demo, "stock", "salt", {"grams": "3"}, _NOW)
    with pytest.raises(UnitError, match=r"strain: .* U\+001B"):
        change(demo, "stock", "cysts", {"strain": "\x1b[2J"}, _NOW)


def test_a_vessel_takes_its_stated_hatch_along() -> None:
    demo = demo_text(date(2027, 1, 5))
    data = tomllib.loads(retire(demo, "vessel", "bottle 1", _NOW))
    assert [row["name"] for row in data["vessel"]] == ["bottle 2"]
    assert "hatch" not in data


@pytest.mark.parametrize("text", ["B 1", 'a "b" \\ c', "line\nbreak", "\x00\x1f\x7f\x85", "é"])
def test_any_text_is_read_back_as_it_was(text: str) -> None:
    """TOML 1.0.0, String: control characters other than tab must be escaped, U+007F too."""
    assert tomllib.loads(f"x = {quoted(text)}") == {"x": text}
