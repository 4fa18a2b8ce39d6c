"""Random damage to rooms, journals, records, tables and arguments; see fuzzing.py for the oracle.

``python -m tests.studies.fuzz`` does the same many more times.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.examples import examples
from tests.faults.fuzzing import TOKENS, judge, prepared, trial


@pytest.fixture(scope="module", name="start")
def _start(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("start")
    prepared(folder)
    return folder


@pytest.mark.parametrize("seed", range(4))
def test_damaged_bytes_are_refused_in_one_message(start: Path, tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(examples(4, 200)):
        assert trial(start, tmp_path / "room", chance) == []


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
    assert judge(room, ["check"], looks=True) is None


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
        assert judge(room, args) is None
