"""Random damage to rooms, journals, records, tables and arguments; see fuzzing.py for the oracle.

``python -m tests.studies.fuzz`` does the same many more times.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cultures.errors import BadFileError, Problem
from tests.examples import examples, thorough
from tests.faults import fuzzing
from tests.faults.fuzzing import CORPUS, KINDS, MOST_CALLS, TOKENS, Fuzzer, judge, prepared

#: Trials, and in how many parts. The same are drawn at each run, and what any of them ever found
#: stands in the corpus, which is looked at whole: so the suite draws few.
_TRIALS, _PARTS = examples(260, 10_000), 2


@pytest.fixture(scope="module", name="start")
def _start(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("start")
    prepared(folder)
    return folder


@pytest.fixture(name="fuzzer")
def _fuzzer(start: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Fuzzer:
    monkeypatch.setattr(os, "fsync", lambda _: None)  # of no matter here, and slow
    room = tmp_path / "a" / "b" / "room" / "room.toml"
    room.parent.mkdir(parents=True)
    return Fuzzer(room, {path.name: path.read_bytes() for path in start.iterdir()})


@pytest.mark.parametrize("part", range(_PARTS))
def test_damaged_bytes_are_refused_in_one_message(fuzzer: Fuzzer, part: int) -> None:
    trials = _TRIALS // _PARTS
    for seed in range(part * trials, (part + 1) * trials):
        assert fuzzer.trial(seed) == [], seed
    assert fuzzer.commands >= trials


@pytest.mark.parametrize("kind", KINDS)
def test_what_once_broke_a_promise_or_was_new_does_not_break_one(fuzzer: Fuzzer, kind: str) -> None:
    fuzzer.counts = thorough()
    known = fuzzer.corpus[kind]
    assert len(known) == 1 + len([*CORPUS.glob(f"{kind}/*")])
    for data in known:
        for ran in fuzzer.judged(kind, data, fuzzer.first_calls(kind, data)):
            assert ran.broken is None, data


def test_the_oracle_sees_what_it_is_to_see(fuzzer: Fuzzer, monkeypatch: pytest.MonkeyPatch) -> None:
    """A command that breaks each promise in turn is found out."""
    from cultures.room import file as room_file

    real, look = room_file.read_room, [(("plan", "--days", "1", "--now", "2027-01-05"), True)]
    kept = fuzzer.start["room.toml"]

    def broken_by(doing: Callable[[], object]) -> str:
        def read_room(*args: Any, **more: Any) -> Any:
            doing()
            return real(*args, **more)

        with monkeypatch.context() as patch:
            patch.setattr(room_file, "read_room", read_room)
            found = fuzzer.judged("room", kept, look)[0].broken
        return "" if found is None else found.what

    def refuse(message: str) -> None:
        raise BadFileError([Problem("room.toml", 1, "", message)])

    def work() -> None:
        for _ in range(MOST_CALLS):
            abs_(1)

    def abs_(number: int) -> int:
        return number

    assert broken_by(lambda: None) == ""
    assert broken_by(lambda: 1 // 0).startswith("raised ZeroDivisionError")
    assert broken_by(lambda: sys.exit(3)) == "ended with 3"
    assert broken_by(lambda: refuse("Error: twice")).startswith("said: Error:")
    assert broken_by(lambda: fuzzer.room.with_name("x").write_text("")).startswith("changed a file")
    assert broken_by(work).startswith("took 3")
    assert broken_by(lambda: click.echo("a\x1b[31mb")).startswith("said '\\x1b'")
    assert broken_by(lambda: sys.exit(0)).startswith("ended well without having read")
    fuzzer.counts = False
    assert broken_by(lambda: None) == ""
    monkeypatch.setattr(fuzzing, "_LONGEST_S", 0.0)
    assert broken_by(lambda: None) == "took 0 s"


_TEXT = st.one_of(st.text(max_size=12), st.sampled_from(TOKENS))
_VALUE = st.recursive(
    st.one_of(
        st.booleans(), st.integers(), st.integers(-(10**400), 10**400), st.floats(), st.dates(),
        st.datetimes(), st.times(), _TEXT,
    ),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=4,
)  # fmt: skip


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        shown = "".join(
            c if " " <= c < "\x7f" and c not in '"\\' else f"\\U{ord(c):08x}" for c in value
        )
        return f'"{shown}"'
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


@given(st.data(), _VALUE)
@settings(
    max_examples=examples(20, 1000), deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
def test_any_value_of_any_key_is_taken_or_refused(
    start: Path, tmp_path: Path, data: st.DataObject, value: object
) -> None:
    lines = (start / "room.toml").read_text("utf-8").split("\n")
    keys = [number for number, line in enumerate(lines) if " = " in line]
    number = data.draw(st.sampled_from(keys))
    lines[number] = f"{lines[number].partition(' = ')[0]} = {_toml(value)}"
    room = tmp_path / "room.toml"
    room.write_text("\n".join(lines), "utf-8")
    assert judge(room, ["need", "--days", "1"], looks=True).broken is None


@given(st.lists(_TEXT, min_size=7, max_size=7))
@settings(
    max_examples=examples(15, 2000), deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
def test_any_cells_of_a_journal_are_taken_or_refused(
    start: Path, tmp_path: Path, cells: list[str]
) -> None:
    room = tmp_path / "room.toml"
    room.write_bytes((start / "room.toml").read_bytes())
    quoted = ",".join('"' + cell.replace('"', '""') + '"' for cell in cells)
    text = f"when,event,subject,other,amount,unit,note\n{quoted}\n"
    room.with_name("journal.csv").write_bytes(text.encode("utf-8", "surrogatepass"))
    for args in (["journal", "show"], ["journal", "undo"], ["journal", "show"]):
        assert judge(room, args).broken is None
