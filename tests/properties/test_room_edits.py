"""Edits of any room's file: what is added goes without a trace, a change changes only itself."""

from __future__ import annotations

import tomllib
from datetime import datetime, timedelta
from difflib import SequenceMatcher
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from cultures.errors import LivefoodError
from cultures.room.editing import add, change, names_in, retire
from cultures.room.file import read_room
from tests.strategies import RoomCase, room_cases

_NOW = datetime(2027, 1, 5, 7, 12)  # noqa: DTZ001 (as a room's own clock has it)
_NEW: dict[str, dict[str, str]] = {
    "tank": {"volume": "20L", "temp": "78F"},
    "vessel": {"litres": "1", "temperature": "27", "salinity": "30"},
    "culture": {"kind": "vinegar_eel", "started": "2026-05-01", "medium": "1 kg", "starter": "90"},
}
_CHANGES = {
    "tank": st.sampled_from([{"temp": "23.5C"}, {"litres": "9 gal", "temperature": "75F"}]),
    "vessel": st.sampled_from([{"salinity": "28"}, {"litres": "0.7", "salinity": "30"}]),
    "culture": st.sampled_from([{"temperature": "22"}, {"medium": "144"}, {"temperature": ""}]),
    "brood": st.sampled_from([{"count": "17"}, {"survival": "0.97"}, {"foods": "dry"}]),
}  # fmt: skip
_REMARK = st.sampled_from(["", "", "  # [[tank]] = {", '# "', "\t# '''", "\n", "\n  # [x]\n"])


@st.composite
def _remarked(draw: st.DrawFn) -> RoomCase:
    """A room file with remarks, blank lines and other line ends strewn in; the same room."""
    case = draw(room_cases(most_broods=3))
    rows = [row + draw(_REMARK) if row else row for row in case.text.split("\n")]
    text = draw(st.sampled_from(["", "\ufeff", "# first\n"])) + "\n".join(rows)
    text = text.rstrip("\n") + draw(st.sampled_from(["", "\n", "\n\n"]))
    text = text.replace("\n", draw(st.sampled_from(["\n", "\r\n"])))
    return RoomCase(text, case.today, case.at)


def _data(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix("\ufeff"))


@given(
    _remarked(), st.sampled_from([*_NEW]), st.sampled_from(["new", 'the "new"  one', "新 é # ["])
)
def test_what_is_added_and_retired_leaves_every_byte(case: RoomCase, thing: str, name: str) -> None:
    new = add(case.text, thing, name, _NEW[thing], _NOW)
    assert names_in(new, thing) == [*names_in(case.text, thing), " ".join(name.split())]
    day = case.today + timedelta(days=60)
    room, before = (read_room(t.removeprefix("\ufeff"), today=day) for t in (new, case.text))
    there = {"tank": room.tanks, "vessel": room.vessels, "culture": room.cultures}[thing]
    was = {"tank": before.tanks, "vessel": before.vessels, "culture": before.cultures}[thing]
    assert [*there[:-1]] == [*was]
    blocks = SequenceMatcher(None, case.text, new, autojunk=False).get_opcodes()
    assert {tag for tag, *_ in blocks} <= {"equal", "insert"}
    assert retire(new, thing, name, _NOW) == case.text


@given(_remarked(), st.sampled_from([*_CHANGES]), st.data())
def test_a_change_touches_the_lines_of_its_keys_alone(
    case: RoomCase, thing: str, data: st.DataObject
) -> None:
    names = names_in(case.text, thing)
    if not names:
        return
    name, typed = data.draw(st.sampled_from(names)), data.draw(_CHANGES[thing])
    new = change(case.text, thing, name, typed, _NOW)
    # The last line may have had no end; what comes after it gives it that of the others.
    end = "\r\n" if "\r" in case.text else "\n"
    assert "\n" not in new.replace(end, "")
    assert "\r" not in new.replace(end, "")
    old_rows, new_rows = case.text.split(end), new.split(end)
    changed = [
        op for op in SequenceMatcher(None, old_rows, new_rows, autojunk=False).get_opcodes()
        if op[0] != "equal"
    ]  # fmt: skip
    gone = sum(i2 - i1 for _, i1, i2, _, _ in changed)
    come = sum(j2 - j1 for *_, j1, j2 in changed)
    assert max(gone, come) <= len(typed)
    if "" not in typed.values():
        was = [
            row.partition("#")[2] for _, i, j, *_ in changed for row in old_rows[i:j] if "#" in row
        ]
        now = [row.partition("#")[2] for *_, i, j in changed for row in new_rows[i:j] if "#" in row]
        assert was == now
    index, rest = names.index(name), _data(new)
    assert len(rest[thing]) == len(names)
    rest[thing][index] = _data(case.text)[thing][index]
    assert rest == _data(case.text)
    back = {
        key: value for key, value in _data(case.text)[thing][index].items()
        if value != _data(new)[thing][index].get(key)
    }  # fmt: skip
    spelled = {k: ",".join(v) if isinstance(v, list) else str(v) for k, v in back.items()}
    gone_again = {
        k: "" for k in _data(new)[thing][index] if k not in _data(case.text)[thing][index]
    }
    again = change(new, thing, name, {**spelled, **gone_again}, _NOW)
    assert _data(again) == _data(case.text)


@given(_remarked(), st.sampled_from(["tank", "vessel", "culture", "brood"]), st.data())
def test_any_that_goes_takes_no_other_along(
    case: RoomCase, thing: str, data: st.DataObject
) -> None:
    names = names_in(case.text, thing)
    if not names:
        return
    name = data.draw(st.sampled_from(names))
    new = retire(case.text, thing, name, _NOW)
    rows = new.replace("\r", "").split("\n")
    left = iter(case.text.replace("\r", "").split("\n"))
    assert all(any(row == old for old in left) for row in rows), "a line is new or moved"
    wanted = _data(case.text)
    del wanted[thing][names.index(name)]
    wanted["hatch"] = [
        row for row in wanted.get("hatch", []) if thing != "vessel" or row["vessel"] != name
    ]
    assert _data(new) == {table: rows for table, rows in wanted.items() if rows != []}


@given(
    _remarked(), st.sampled_from(["tank", "brood", "culture", "vessel", "stock", "room"]),
    st.text(max_size=8), st.dictionaries(st.from_regex(r"[A-Za-z_-]{1,12}", fullmatch=True),
    st.text(max_size=12), max_size=3),
)  # fmt: skip
def test_whatever_is_typed_gives_a_text_or_a_message(
    case: RoomCase, thing: str, name: str, typed: dict[str, str]
) -> None:
    before = _data(case.text)
    for edit in (add, change):
        if (edit, thing) == (add, "room"):
            continue
        try:
            new = edit(case.text, thing, name, typed, _NOW)
        except LivefoodError:
            continue
        after = _data(new)
        assert {t for t in before.keys() | after.keys() if before.get(t) != after.get(t)} <= {
            thing, *(("cysts", "supplies") if thing == "stock" else ())
        }  # fmt: skip
