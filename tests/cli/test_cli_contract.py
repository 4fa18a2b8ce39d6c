"""The contract of the command line: help, JSON keys, exit codes, errors, closed pipes."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from cli.main import COMMANDS, main
from tests.cli.invented import NOW, room_file, run

_NUMBER = {"type": "number"}
_TEXT = {"type": "string"}
#: ISO 8601 with the offset written out.
_MOMENT = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$"}


def _object(**keys: Any) -> dict[str, Any]:
    return {"type": "object", "properties": keys, "required": list(keys)}


def _list(item: Any) -> dict[str, Any]:
    return {"type": "array", "items": item}


_REMEDY = _object(
    what=_TEXT, by=_MOMENT, effect_j=_NUMBER, of=_TEXT,
    act={"enum": ["ask", "buy", "start", "ripe", "add", "vessel", "tool", "fetch"]},
)  # fmt: skip
_SHORTFALL = _object(
    at=_MOMENT, food=_TEXT, need_j=_NUMBER, short_j=_NUMBER, tanks=_list(_TEXT), cause=_TEXT,
    remedies=_list(_REMEDY), probability={"type": ["number", "null"]},
)  # fmt: skip
_WHAT = {
    "enum": [
        "set_hatch", "harvest_hatch", "split", "start", "retire", "harvest_worms", "soak", "feed",
        "count", "sort", "buy", "first_food", "switch_food", "lid", "move_on", "sell",
    ]
}  # fmt: skip
_TASK = _object(
    id=_TEXT, what=_WHAT, at=_MOMENT, until=_MOMENT, subject=_TEXT,
    amounts={"type": "object", "additionalProperties": _NUMBER}, why=_TEXT, caution=_TEXT,
)  # fmt: skip
_LINE = _object(
    at=_MOMENT, tank=_TEXT, brood=_TEXT, food=_TEXT, need_j=_NUMBER, given_j=_NUMBER,
    amount=_NUMBER, unit={"enum": ["mL", "g"]},
)  # fmt: skip
_PLAN = _object(
    room=_TEXT, tasks=_list(_TASK), rounds=_list(_LINE), shortfalls=_list(_SHORTFALL), to=_MOMENT,
    cost=_object(hatches=_NUMBER, splits=_NUMBER, cysts_g=_NUMBER, medium_g=_NUMBER),
)  # fmt: skip
_PLAN["properties"]["from"] = _MOMENT
_PLAN["required"].append("from")
_HATCH = _object(
    set_at=_MOMENT, harvest_at=_MOMENT, window={"type": "object", "required": ["from", "to"]},
    cysts_g=_NUMBER, water_l=_NUMBER, salt_g=_NUMBER, nauplii=_NUMBER, energy_j=_NUMBER,
    spoons=_NUMBER, left_over={},
)  # fmt: skip
_HATCH["required"].append("vessels")
_YIELD = _object(
    first_harvest_day=_NUMBER, best_fraction=_NUMBER, total={}, last_useful_day=_NUMBER,
    days=_list(_object(day=_NUMBER, stock=_NUMBER, harvest=_NUMBER, energy_j=_NUMBER)),
)  # fmt: skip
_NEED = _object(
    rounds=_list(
        _object(
            at=_MOMENT, tank=_TEXT, brood=_TEXT, length_mm=_NUMBER, count=_NUMBER,
            energy_j=_NUMBER, foods={"type": "object", "additionalProperties": _NUMBER},
        )
    )
)  # fmt: skip
_SCHEMAS: dict[tuple[str, ...], dict[str, Any]] = {
    ("plan",): _PLAN,
    ("plan", "--days", "3"): _PLAN,
    ("today",): _PLAN,
    ("shortfalls",): _list(_SHORTFALL),
    ("need",): _NEED,
    ("hatch", "--nauplii", "100000", "--at", "2027-01-07T07:30"): _HATCH,
    ("hatch", "--at", "2027-01-07T07:30"): _HATCH,
    ("yield", "MW-1"): _YIELD,
}


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return room_file(tmp_path_factory.mktemp("contract"))


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_has_help_with_an_example(name: str) -> None:
    result = CliRunner().invoke(main, [name, "--help"])
    assert result.exit_code == 0
    assert re.search(rf"Examples?: (livefood .*)?livefood {name}", " ".join(result.output.split()))
    assert max(len(line) for line in result.output.splitlines()) <= 80


@pytest.mark.parametrize("arguments", list(_SCHEMAS), ids=" ".join)
def test_json_has_the_keys_of_the_contract(room: Path, arguments: tuple[str, ...]) -> None:
    data = json.loads(run(room, *arguments, "--json").stdout)
    jsonschema.validate(data, _SCHEMAS[arguments])
    assert data, "nothing was reported"


def test_a_moment_with_an_offset_is_read_as_it_says(room: Path) -> None:
    plain = run(room, "plan", "--json", now="2027-01-05T07:00").stdout
    offset = run(room, "plan", "--json", now="2027-01-05T02:00-05:00").stdout
    assert plain == offset


def test_shortfalls_strict_exits_with_one_only_when_something_is_short(room: Path) -> None:
    assert json.loads(run(room, "shortfalls", "--json").stdout)
    run(room, "shortfalls", "--strict", code=1)
    text = room.read_text("utf-8")
    well = room.with_name("well.toml")
    well.write_text(text[: text.index("# --- broods")] + text[text.index("# --- live food") :])
    run(well, "shortfalls", "--strict", code=0)


def test_shortfalls_spares_say_what_one_more_would_change(room: Path) -> None:
    ask = ["shortfalls", "--days", "7"]
    text = run(room, *ask, "--spares").stdout
    found = json.loads(run(room, *ask, "--spares", "--json").stdout)
    assert found["shortfalls"] == json.loads(run(room, *ask, "--json").stdout)
    assert found["shortfalls"]
    assert {"as it is", "one more spare culture", "one more vessel"} <= set(found["spares"])
    for name, share in found["spares"].items():
        assert re.search(rf"^  {name} +{share:.0%}$", text, re.MULTILINE)


_BAD: list[list[str]] = [
    ["today", "--days", "0"],
    ["today", "--now", "yesterday"],
    ["today", "--tank", "Z9"],
    ["today", "--next", "--all-day"],
    ["plan", "--days", "many"],
    ["plan", "--no-such-option"],
    ["hatch", "--nauplii", "-5", "--at", "2027-01-07T07:30"],
    ["yield", "MW-99"],
    ["kinds", "no_such_kind"],
    ["plann"],
]


@pytest.mark.parametrize("arguments", _BAD, ids=" ".join)
def test_bad_input_gives_one_message_on_standard_error(room: Path, arguments: list[str]) -> None:
    before = sorted(room.parent.iterdir())
    places = [] if arguments[0] in ("kinds", "plann") else ["--room", str(room)]
    now = ["--now", NOW] if places and "--now" not in arguments else []
    result = CliRunner().invoke(main, [*arguments, *places, *now])
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert result.stderr.count("Error: ") == 1
    assert "Traceback" not in result.stderr
    assert sorted(room.parent.iterdir()) == before


@pytest.mark.parametrize("name", ["today", "plan", "need", "shortfalls", "check", "sheet",
                                  "calendar", "hatch", "journal", "learn"])  # fmt: skip
def test_a_bad_room_file_writes_nothing(name: str, tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    path.write_text('[room]\nnme = "x"\ntemperature_c = "hot"\n', "utf-8")
    more = {"calendar": ["--out", str(tmp_path / "out.ics")],
            "sheet": ["--out", str(tmp_path / "out.html")],
            "journal": ["show"], "hatch": ["--at", "2027-01-07T07:30"]}  # fmt: skip
    result = CliRunner().invoke(main, [name, *more.get(name, []), "--room", str(path)])
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.stderr
    assert result.stderr.count("Error: ") == 1
    assert "did you mean 'name'?" in result.stderr
    assert f"{path}:3: " in result.stderr
    assert sorted(tmp_path.iterdir()) == [path]


def test_a_room_file_that_is_not_there(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["today", "--room", str(tmp_path / "none.toml")])
    assert result.exit_code == 2
    assert "livefood new" in result.stderr


def test_a_pipe_closed_by_its_reader_is_no_error(room: Path) -> None:
    command = [sys.executable, "-m", "cli", "plan", "--json", "--room", str(room), "--now", NOW]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.read(10)
        process.stdout.close()
        said = process.stderr.read().decode()
        process.wait(timeout=30)
    assert "Traceback" not in said
    assert "BrokenPipe" not in said
