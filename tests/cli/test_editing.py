"""``livefood add``, ``change`` and ``retire``: the room file without an editor."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import pytest

from cultures import files
from cultures.room.file import load_room
from tests.cli.invented import TODAY, WHOLE, at, room_file, room_of

_AT = "2027-01-05T07:00"
_NEW_CULTURE = "kind=microworm started=today medium=150 surface=180 starter=10"


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path, horizon_days="2")


def _files(room: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in room.parent.iterdir()}


def _do(room: Path, words: str, clock: str = _AT, code: int = 0, **more: Any) -> str:
    """A command, and what it says on both streams."""
    result = at(room, clock, *shlex.split(words), code=code, **more)
    return " ".join(result.output.split())


def _refused(room: Path, words: str, clock: str = _AT) -> str:
    """What a command says that changes no file."""
    before = _files(room)
    said = _do(room, words, clock, code=2)
    assert _files(room) == before
    return said


@WHOLE
def test_an_edit_is_shown_asked_about_and_taken_back(room: Path) -> None:
    first = room.read_bytes()
    result = at(
        room, _AT, "add", "tank", "left", "shelf", "volume=12", "gal", "temp=78F", input="y\n"
    )
    assert result.output.split("\n")[:5] == [
        f"{room}, line 87:", "  + [[tank]]", '  + name = "left shelf"', '  + litres = "12 gal"',
        '  + temperature_c = "78F"',
    ]  # fmt: skip
    assert room.read_text("utf-8").split("\n")[86:88] == ["[[tank]]", 'name = "left shelf"']
    assert "tank left shelf: new" in result.output
    block = b'[[tank]]\nname = "left shelf"\nlitres = "12 gal"\ntemperature_c = "78F"\n\n'
    cut = first.index(b"# --- broods")
    assert room.read_bytes() == first[:cut] + block + first[cut:]
    back = result.output.partition("To take it back: livefood ")[2].split("\n")[0]
    _do(room, back)
    assert room.read_bytes() == first


def test_kinds_and_classes_of_the_room_itself_stand_in_no_way(room: Path) -> None:
    """They are read anew with the edited file, and are the same as before."""
    text = room.read_text("utf-8")
    text = text.replace('kind = "microworm"', 'kind = "own worm"')
    text = text.replace('class = "bubble_nest"', 'class = "own fry"')
    text += '\n[[kind]]\nname = "own worm"\nlike = "microworm"\nlabel = "own worms"\n'
    room.write_text(f'{text}\n[[fry_class]]\nname = "own fry"\nlike = "bubble_nest"\n', "utf-8")
    said = _do(room, "add tank T9 volume=20L temperature=25 --yes")
    assert said.count(": new") == 1
    assert "tank T9: new" in said
    assert "T9" not in _do(room, "retire tank T9 --yes").partition("Wrote")[2]


def test_a_no_and_no_answer_write_nothing(room: Path) -> None:
    before = _files(room)
    assert "Nothing was written." in _do(room, "change tank A1 volume=30L", code=1, input="n\n")
    assert "--yes writes without" in _do(room, "change tank A1 volume=30L", code=2, input="")
    assert "says so already" in _do(room, "change tank A1 volume=20L")
    assert _files(room) == before


def test_options_and_keys_are_read_alike(room: Path) -> None:
    _do(room, "add tank D1 --volume 20 L --temperature=25 --yes")
    one = room.read_bytes()
    _do(room, "retire tank D1 --yes")
    _do(room, "add tank D1 volume=20L temperature_c=25 --yes")
    assert room.read_bytes() == one


@pytest.mark.parametrize(("words", "text"), [
    ("gallons=5", 'litres = "5 gal"'), ("qt=8", 'litres = "8 qt"'), ("volume='5 gal'", '"5 gal"'),
    ("litres=5", "litres = 5"),
])  # fmt: skip
def test_a_unit_in_the_key_goes_with_its_amount(room: Path, words: str, text: str) -> None:
    """An amount is never read in another unit than the one that was typed."""
    _do(room, f"add tank D1 {words} temperature_f=77 --yes")
    block = room.read_text("utf-8").partition('name = "D1"')[2]
    assert text in block
    assert '"77 F"' in block


def test_what_is_added_is_planned_with(room: Path) -> None:
    _do(room, "add brood betta 3 tank=A2 class=bubble_nest count=120 hatched=2027-01-01 --yes")
    assert "betta 3" in _do(room, "need")
    _do(room, "add away from=2027-01-06 to=2027-01-06 helper=yes --yes")
    _do(room, "add stock salt 1 kg days=3 --yes")
    _do(room, "change room fridge= units=us --yes")
    now = load_room(room, today=TODAY)
    assert (now.away[0].helper, now.stock_g["salt"], now.fetch_days["salt"]) == (True, 1000, 3)
    assert (now.fridge_c, now.units) == (None, "us")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("add tank D1 volume=20", "[[tank]] D1 temperature_c: is missing"),
        ("add tank A1 volume=20 temp=25", "there are two tanks of this name; names must differ"),
        ("add culture 'bottle 1' " + _NEW_CULTURE, "there is a culture of this name"),
        ("add tank D1 volume=20 temp=25 colour=red", "[[tank]] D1 colour: unknown key"),
        ("change tank A1 litre=30", "did you mean 'litres'?"),
        ("change tank A1 volume=-3", "-3 L is not possible; use 0.05 to 100000 L"),
        ("change tank A1 volume=3 kg", "'kg' is not a unit of volume"),
        ("change tank A1 volume=", "[[tank]] A1 litres: is missing"),
        ("change brood acara 5 tank=Z9", "there is no 'Z9'"),
        ("change tank Z9 volume=3", "there is no tank named 'Z9'"),
        ("change tank A1 name=Z9", "a name stays"),
        ("change tank A1", "say what to change"),
        ("change tank A1 volume=3 volume=4", "volume is said twice"),
        ("change room attic units=us", "the room is not named here"),
        ("add tank volume=20", "name the new tank first"),
        ("add away home from=2027-02-01 to=2027-02-02", "an absence has no name"),
        ("add away from=2027-02-03 to=2027-02-02", "is before from"),
        ("retire tank A1", "1 brood in tank A1: honey gourami 7. First move them"),
        ("retire vessel bottle 1", "a hatch stands in bottle 1: draw it off first"),
        ("retire tank A2 volume=3", "name the tank, and no more"),
        ("retire stock salt", "retire knows no 'stock'"),
        ("add tank D1 --depth 3", "No such option"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_as_of_the_file_and_changes_none(
    room: Path, words: str, said: str
) -> None:
    assert said in _refused(room, words + " --yes")


def test_lines_of_mistakes_are_those_of_the_edited_file(room: Path) -> None:
    said = _refused(room, "change tank A2 volume=0 --yes")
    line = room.read_text("utf-8").split("\n").index('name = "A2"') + 2
    assert f":{line}: [[tank]] A2 litres: 0 L is not possible" in said
    assert "was left as it is" in said


def test_a_spawning_that_is_planned_comes_and_goes(room: Path) -> None:
    first = room.read_bytes()
    said = _do(
        room, 'add brood "tetra 1" tank=A1 species="neon tetra" count=60 planned=2027-02-10 --yes'
    )
    assert "brood tetra 1: new" in said
    assert "tetra 1" in _refused(room, "retire tank A1 --yes")
    assert "brood tetra 1: not there any more" in _do(room, "retire brood tetra 1 --yes")
    assert room.read_bytes() == first


def test_of_what_was_noted_the_file_goes_on_speaking(room: Path) -> None:
    _do(room, "journal harvest MW-1 2 swipes")
    _do(room, "journal count acara 5 100")
    said = _refused(room, "retire culture MW-1 --yes")
    assert "noted of (line 2 of the journal) since Mon 4 Jan" in said
    assert "livefood journal discard MW-1" in said
    assert "livefood journal lost acara 5 --all" in _refused(room, "retire brood acara 5 --yes")
    _do(room, "journal discard MW-1")
    assert "is gone already (line 4 of the journal)" in _refused(room, "retire culture MW-1 --yes")
    _do(room, "retire culture MW-2 --yes")
    _do(room, "retire brood annuals 2 --yes")
    _do(room, "retire tank B4 --yes")


def test_a_tank_that_its_brood_has_left_stays_in_the_file_that_has_it_there(room: Path) -> None:
    _do(room, "add tank T9 volume=60L temperature=25 --yes")
    _do(room, 'journal move "honey gourami 7" T9')
    said = " ".join(_refused(room, "retire tank A1 --yes").split())
    assert "A1 is empty now, and honey gourami 7 stood in it on Mon 4 Jan, the date of" in said
    assert "once as_of is later" in said


def test_of_what_was_told_too(room: Path) -> None:
    _do(room, "today")
    said = _refused(room, "retire culture MW-1 --yes", "2027-01-05T12:00")
    assert "MW-1 was told of since" in said
    _do(room, "today", "2027-01-05T18:20")
    later = "2027-01-06T06:00"
    stock = _do(room, "journal due", later)
    assert "set bottle 1" in stock
    assert "tick it off first" in _refused(room, "retire vessel bottle 1 --yes", later)


def test_what_the_journal_made_is_noted_there(room: Path) -> None:
    _do(room, "journal split MW-2 MW-3")
    add = f"add culture MW-3 {_NEW_CULTURE} --yes"
    assert "there is a culture MW-3 already" in _refused(room, add)
    assert "livefood journal discard MW-3" in _refused(room, "retire culture MW-3 --yes")
    assert "came with the journal" in _refused(room, "change culture MW-3 medium=90 --yes")
    _do(room, "journal discard MW-3", "2027-01-05T13:00")
    assert "by the journal it is gone" in _refused(room, add, "2027-01-05T14:00")


def test_a_parent_does_not_leave_its_child_behind(room: Path) -> None:
    _do(room, "journal split MW-2 MW-3")
    said = _refused(room, "change culture MW-2 started= planned=2027-01-20 --yes")
    assert "culture MW-3 would not be there any more" in said


def test_a_stock_of_which_some_is_used_is_counted(room: Path) -> None:
    _do(room, "journal harvest bottle 1")
    _do(room, "journal set bottle 1 1 g")
    said = _refused(room, "add stock salt 1 kg --yes")
    assert "of 1000 g salt 975 g would be left now" in said
    assert "livefood journal count salt 1000 g" in said
    assert "cysts: 44 g, was 29 g" in _do(room, "change stock cysts grams=45 --yes")


def test_a_file_without_a_date_keeps_its_own(room: Path) -> None:
    text = room.read_text("utf-8")
    start = text.index("as_of")
    text = text[:start] + text[text.index("\n", start) + 1 :]
    room.write_text(text[: text.index("[[hatch]]")] + text[text.index("[cysts]") :], "utf-8")
    _do(room, "journal used cysts 5 g", "2027-01-05T07:00")
    new = f"add culture MW-9 {_NEW_CULTURE} --yes"
    said = _refused(room, new, "2027-01-07T07:00")
    assert "First set it: livefood change room as_of=2027-01-04" in said
    _do(room, "change room as_of=2027-01-04 --yes", "2027-01-07T07:00")
    _do(room, new, "2027-01-07T07:00")


def test_a_file_that_another_edited_meanwhile_is_left_to_them(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs = room.read_bytes() + b"# theirs\n"

    def answer(_: str) -> bool:
        room.write_bytes(theirs)
        return True

    monkeypatch.setattr("click.confirm", answer)
    assert "changed meanwhile" in _do(room, "change tank A1 volume=30L", code=2)
    assert room.read_bytes() == theirs


def test_another_writer_is_waited_for(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "_PATIENCE_S", 0.05)
    before = room.read_bytes()
    with files.locked(room.parent):
        assert "by another program" in _do(room, "change tank A1 volume=30L --yes", code=2)
    assert room.read_bytes() == before


def test_a_change_that_holds_from_now_on_is_for_the_journal(room: Path) -> None:
    said = _do(room, "change tank A1 temperature=25 --yes")
    assert "livefood journal temperature A1 DEGREES" in said


def test_other_forms_are_left_to_an_editor(room: Path) -> None:
    room.write_text(
        '[room]\nname = "x"\ntimezone = "UTC"\ntemperature_c = 23\nas_of = 2027-01-04\n', "utf-8"
    )
    one = 'tank = [{name = "T", litres = 3, temperature_c = 25}]\n'
    room.write_text(one + room.read_text("utf-8"), "utf-8")
    assert "line 1: tank is written there in a form" in _refused(room, "retire tank T --yes")
    assert "only an editor" in _refused(room, "add tank U volume=3 temp=25 --yes")


def test_a_path_with_what_cannot_be_seen_is_shown_without_it(tmp_path: Path) -> None:
    folder = tmp_path / "a\u202eb"
    folder.mkdir()
    shown = _do(room_file(folder, horizon_days="2"), "change tank A2 volume=21 --yes")
    assert "\u202e" not in shown
    assert "a\ufffdb" in shown


@pytest.mark.parametrize(("words", "said"), [
    ("change away helper=yes", "say a day of the absence first"),
    ("change away soon helper=yes", "'soon' is no day of an absence; say one, like 2027-01-31"),
    ("retire away", "say a day of the absence"),
    ("retire away 2027-01-06", "nobody is away on 2027-01-06"),
    ("retire tnk A1", "retire knows no 'tnk'; did you mean 'tank'?"),
])  # fmt: skip
def test_what_no_command_edits_is_said(room: Path, words: str, said: str) -> None:
    before = room.read_bytes()
    assert said in _do(room, words, code=2)
    assert room.read_bytes() == before


def test_that_nobody_feeds_is_the_first_that_is_said_of_an_absence(room: Path) -> None:
    said = _do(room, "add away from=2027-01-06 to=2027-01-06 helper=no --yes")
    first = "nobody feeds 6 tanks for 2 rounds, Wed 6 Jan 07:30 to Wed 6 Jan 18:30"
    assert f"The plan changes: - {first}: see 'livefood shortfalls'" in said
    assert "nobody feeds" not in _do(room, "change away 2027-01-06 helper=yes --yes")


def test_a_box_of_a_friend_is_added_as_old_as_it_looks(room: Path) -> None:
    """A ripe box beside another: as it has not crashed all are reckoned to crash a little more
    seldom, which changes none of the others.
    """
    _do(room, "journal split MW-1 MW-8")
    _do(room, "journal discard MW-1 --crashed", "2027-01-08T08:00")
    box = "kind=microworm started=2026-12-26 medium_g=150 surface=150 starter=15"
    said = _do(room, f"add culture MW-F {box} --yes", "2027-01-09T08:16")
    assert "culture MW-F: new" in said


def test_an_absence_is_changed_and_taken_out_by_a_day_of_it(room: Path) -> None:
    _do(room, "add away from=2027-01-08 to=2027-01-12 helper=yes --yes")
    before = room.read_bytes()
    _do(room, "add away from=2027-01-20 to=2027-01-22 --yes")
    _do(room, "change away 2027-01-21 to=2027-01-20 --yes")
    assert b"from = 2027-01-20\nto = 2027-01-20\n" in room.read_bytes()
    assert "absences: 2027-01-08 to 2027-01-12, 2027-01-20 to 2027-01-20" in _do(
        room, "retire away 2027-01-21 --yes", code=2
    )
    _do(room, "retire away 20 Jan --yes")
    assert room.read_bytes() == before
    assert "named by one of them" in _do(room, "change away --help")


def test_one_of_several_slips_is_mended_and_the_others_are_named(room: Path) -> None:
    text = room.read_text("utf-8")
    slips = text.replace("temperature_c = 25.5", 'temperature_c = "25 G"')
    assert slips.count("25 G") == 3  # B1, B2 and B3
    room.write_text(slips, "utf-8")
    assert "3 mistakes" in _refused(room, "change tank B1 temperature=25H --yes")
    assert "there is no tank named 'Z1'" in _refused(room, "change tank Z1 temperature=25 --yes")
    assert "3 mistakes" in _refused(room, "change tank A1 temperature=25 --yes")
    said = _do(room, "change tank B1 temperature=25.5 --yes")
    assert "Then 2 mistakes:" in said
    assert "[[tank]] B2 temperature_c: '25 G'" in said
    assert room.read_text("utf-8").count("25 G") == 2
    _do(room, "change tank B2 temperature=25.5 --yes")
    last = _do(room, "change tank B3 temperature=25.5 --yes")
    assert "mistake" not in last
    assert load_room(room, today=TODAY).tank("B3").temperature_c == 25.5
    assert "Write it?" not in last


@pytest.mark.parametrize("slip", ["x = = 3\n", 'tank = "A1"\n', "away = [1]\n"])
def test_a_file_without_the_form_of_a_room_is_left_to_an_editor(room: Path, slip: str) -> None:
    room.write_text(slip + room.read_text("utf-8"), "utf-8")
    assert "mistake" in _refused(room, "change tank B1 temperature=25 --yes")
