"""Each limit of ``limits.toml`` holds: so many are read, and one more is refused with its place."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cultures import limits
from cultures.errors import BadFileError, FileProblemError
from cultures.journal.entries import Entry, append, read_journal
from cultures.limits import most
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.cli.invented import NOW, at, quick_room, run
from tests.faults.fuzzing import ROOM

_AT = datetime(2027, 1, 5, 7, tzinfo=UTC)
_TODAY = date(2027, 1, 5)
#: A table of each name that may stand several times, with what makes it one of its own.
_TABLES = {
    "tank": '[[tank]]\nname = "T{n}"\nlitres = 20\ntemperature_c = 26\n',
    "brood": '[[brood]]\nname = "b{n}"\ntank = "A1"\nclass = "egg_scatterer"\ncount = 5\n'
             "spawned = 2027-01-02\n",
    "culture": '[[culture]]\nname = "C{n}"\nkind = "microworm"\nstarted = 2026-12-20\n'
               "medium_g = 150\nsurface_cm2 = 180\nstarter_g = 10\n",
    "vessel": '[[vessel]]\nname = "V{n}"\nlitres = 1\ntemperature_c = 27\n',
    "hatch": '[[hatch]]\nvessel = "V{n}"\nset_at = 2027-01-04T06:50:00\ncysts_g = 0.5\n'
             '[[vessel]]\nname = "V{n}"\nlitres = 1\ntemperature_c = 27\n',
    "away": "[[away]]\nfrom = 2027-02-{n:02d}\nto = 2027-02-{n:02d}\n",
    "kind": '[[kind]]\nname = "k{n}"\nlike = "microworm"\n',
    "fry_class": '[[fry_class]]\nname = "f{n}"\nlike = "annual_killifish"\n',
}  # fmt: skip


@pytest.fixture(name="set_limits")
def _set_limits(monkeypatch: pytest.MonkeyPatch) -> _Set:
    return _Set(monkeypatch)


class _Set:
    """Puts limits in the place of those of the table, so that a test need not reach these."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.patch = patch

    def __call__(self, **values: float) -> None:
        table: Mapping[str, float] = {**limits._limits(), **values}
        self.patch.setattr(limits, "_limits", lambda: table)


def _read(text: str) -> Room:
    return read_room(text, today=_TODAY)


def test_the_table_has_every_limit_that_is_tested_here() -> None:
    tested = {*_TABLES, "fry", "rounds", "days", "feedings", "journal_lines"}
    tested |= {f"{what}_mb" for what in ("room_file", "journal", "table", "record", "backup")}
    slips = {"cysts_g_per_l", "salinity_g_per_l", "medium_deepest_cm", "medium_thinnest_cm"}
    assert tested | slips | {"carried"} == set(limits._limits())
    # Slips are tried in test_slips.py, what is carried in tests/cli/test_carry_command.py.


@pytest.mark.parametrize("table", _TABLES)
def test_there_are_no_more_tables_than_the_limit(set_limits: _Set, table: str) -> None:
    there = ROOM.count(f"[[{table}]]\n")
    set_limits(**{table: there + 2})
    text = ROOM + "".join(_TABLES[table].format(n=n) for n in (1, 2))
    _read(text)
    with pytest.raises(BadFileError, match=f"at most {there + 2} are read") as caught:
        _read(text + _TABLES[table].format(n=3))
    (problem,) = caught.value.problems
    assert problem.line is not None


@pytest.mark.parametrize(
    ("old", "what", "of"),
    [
        ("count = 60", "fry", "count = {0}"),
        ("horizon_days = 2", "days", "horizon_days = {0}"),
        ('rounds = ["07:30", "18:30"]', "rounds", "rounds = {1}"),
    ],
)
def test_no_value_is_above_its_limit(old: str, what: str, of: str) -> None:
    def with_number(number: int) -> str:
        times = [f"{8 + n}:00" for n in range(number)] if what == "rounds" else []
        return ROOM.replace(old, of.format(number, times).replace("'", '"'), 1)

    _read(with_number(most(what)))
    with pytest.raises(BadFileError, match=f"{most(what):,}".replace(",", ",?")) as caught:
        _read(with_number(most(what) + 1))
    lines = ROOM.split("\n")
    assert caught.value.problems[0].line == lines.index(old) + 1


def test_rounds_that_would_be_planned_without_end_are_refused(set_limits: _Set) -> None:
    set_limits(feedings=2 * 2 * 3)  # rounds of a day, days, two broods and a culture
    _read(ROOM)
    with pytest.raises(BadFileError, match=r"horizon_days: 18 rounds of .* at most 12 are read"):
        _read(ROOM.replace("horizon_days = 2", "horizon_days = 3"))


def test_a_journal_is_no_longer_than_can_be_read(tmp_path: Path, set_limits: _Set) -> None:
    set_limits(journal_lines=2)
    path = tmp_path / "journal.csv"
    for note in "ab":
        append(path, [Entry(_AT, "note", "MW-1", note=note)])
    whole = path.read_bytes()
    with pytest.raises(BadFileError, match="at most 2 are read"):
        append(path, [Entry(_AT, "note", "MW-1", note="c")])
    assert path.read_bytes() == whole
    assert len(read_journal(path, UTC).entries) == 2
    path.write_bytes(whole + whole.splitlines(keepends=True)[-1])
    with pytest.raises(BadFileError, match=r"journal\.csv:4: 3 lines are more"):
        read_journal(path, UTC)


def test_no_file_is_larger_than_can_be_read(tmp_path: Path, set_limits: _Set) -> None:
    room = quick_room(tmp_path, horizon_days="2")
    at(room, NOW, "today")
    at(room, NOW, "journal", "note", "MW-1", "hello")
    table, kept = room.with_name("table.csv"), tmp_path / "kept.zip"
    table.write_text("when,event,subject\n2027-01-05,discard,MW-2\n", "utf-8")
    at(room, NOW, "backup", str(kept))
    tiny = 1e-5  # ten bytes
    for what, words, name in (
        ("room_file", ["check"], "room.toml"),
        ("journal", ["need"], "journal.csv"),
        ("record", ["need"], "told.jsonl"),
        ("table", ["journal", "import", str(table), "--dry-run"], "table.csv"),
        ("backup", ["backup", str(kept), "--check"], "kept.zip"),
    ):
        set_limits(**{f"{what}_mb": tiny})
        assert f"{name} would have" in run(room, *words, code=2).stderr.replace("\n", " ")
        set_limits(**{f"{what}_mb": 1})
        run(room, *words)


def test_a_file_that_would_grow_too_large_is_left(tmp_path: Path, set_limits: _Set) -> None:
    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "note", "MW-1", note="a")])
    whole = path.read_bytes() + b"torn"
    path.write_bytes(whole)
    set_limits(journal_mb=(len(whole) + 4) / (1 << 20))
    with pytest.raises(FileProblemError, match="at most"):
        append(path, [Entry(_AT, "note", "MW-1", note="b" * 9)])
    assert path.read_bytes() == whole
    assert [p.name for p in tmp_path.iterdir()] == ["journal.csv"]
