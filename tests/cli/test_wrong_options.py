"""Options that cannot be: one message, exit code 2, nothing written; and help that can be read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from cli.main import COMMANDS, main
from tests.cli.invented import NOW, room_file

_KIND = ["yield", "--kind", "microworm"]
_AT = ["hatch", "--at", "2027-01-06T07:30"]
_WRONG = [
    (["today", "--tank", "Q"], "there is no tank named 'Q'. Known: A1, A2"),
    (["today", "--tank", "A6"], "did you mean 'A"),
    (["today", "--now", "never"], "'never' is not a time; write it like 2027-01-05T07:00"),
    (["today", "--now", "0001-01-01"], "lies too far off; years from 1970 to 2200 are known"),
    (["today", "--days", "0"], "0 is not possible; 1 to 400 is"),
    (["need", "--days", "x"], "'x' is not a whole number"),
    (["need", "--brood", "nobody"], "there is no brood named 'nobody'. Known: acara 5"),
    (["hatch", "--nauplii", "1e9"], "add a vessel of"),
    (["hatch", "--at", "nonsense"], "'nonsense' is not a time"),
    (["hatch", "--at", "9999-12-31T23:00", "--nauplii", "10"], "lies too far off"),
    (["hatch", "--at", "2020-01-06T07:30", "--nauplii", "10"], "no hatch can be ready"),
    ([*_AT, "--nauplii", "1e-9"], "1e-9 is not possible; 1 to 1,000,000,000 is"),
    ([*_AT, "--nauplii", "nan"], "'nan' is not a number"),
    ([*_AT, "--nauplii", "many"], "'many' is not a number"),
    ([*_AT, "--nauplii", "10", "--makeup-ml", "0"], "0 is not possible; 5 to 20000 is"),
    ([*_AT, "--nauplii", "10", "--litres", "1e12"], "1e12 is not possible; 0.05 to 2000 is"),
    ([*_AT, "--nauplii", "10", "--per-gram", "0"], "0 is not possible; 1,000 to 400,000 is"),
    ([*_AT, "--nauplii", "10", "--salinity", "120"], "cysts do not hatch at 120 g/L"),
    (["yield"], "say which: a culture of the room, or --kind"),
    (["yield", "MW-1", "--kind", "microworm"], "say which: either"),
    (["yield", "MW-9"], "did you mean 'MW-2'? Known: MW-1, MW-2, VE-1, VE-2."),
    (["yield", "MW-1", "--starter-g", "0"], "0 is not possible; 0.01 to 100000 is"),
    ([*_KIND], "--medium-g"),
    ([*_KIND, "--medium-g", "1e300"], "1e300 is not possible; 0.01 to 100000 is"),
    ([*_KIND, "--medium-g", "3 F"], "'F' is not a unit of mass"),
    ([*_KIND, "--medium-g", "100", "--temperature-c", "60"], "microworm dies at 35 °C"),
    (["sheet", "--helper", "--from", "2027"], "'2027' is not a day; write it like 2027-01-05"),
    (["plan", "--if", "nonsense"], "it begins with one of spawn, lose"),
    (["plan", "--if", "loose B1"], "vessel, warm, away, helper; did you mean 'lose'?"),
    (["learn", "--off", "yield", "--on", "yield"], "say --off or --on for yield"),
    (["learn", "--off", "foo"], "there is no quantity named 'foo'. Known: all, crash"),
    (["kinds", "foo"], "no kind, fry class or species named 'foo'. Nearest of "),
    (["journal", "set", "bottle 1", "1e9", "g"], "cysts is not possible; use 0.01 to 10000 g"),
    (["journal", "show", "--last", "0"], "0 is not possible; 1 or more is"),
]


@pytest.mark.parametrize(("args", "said"), _WRONG, ids=[" ".join(args) for args, _ in _WRONG])
def test_one_message_and_exit_code_2(tmp_path: Path, args: list[str], said: str) -> None:
    room = room_file(tmp_path)
    more = ["--room", str(room), *([] if "--now" in args else ["--now", NOW])]
    result = CliRunner().invoke(main, [*args, *more])
    assert result.exit_code == 2, result.output
    assert isinstance(result.exception, SystemExit)
    assert result.stdout == ""
    assert result.stderr.count("Error:") == 1
    assert said in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["room.toml"]


@pytest.mark.parametrize(
    "name",
    [n for n in COMMANDS if n not in ("new", "demo", "journal", "hatch", "calendar", "help")],
)
def test_a_room_file_that_is_missing(tmp_path: Path, name: str) -> None:
    tank = ["tank", "A1"]
    words = {
        "yield": ["MW-1"], "retire": tank, "add": tank, "change": [*tank, "volume=3"],
        "carry": ["goldfish"], "ready": ["goldfish 9", "--on", "2027-02-01"],
    }  # fmt: skip
    more = words.get(name, [])
    path = tmp_path / "no.toml"
    result = CliRunner().invoke(main, [name, *more, "--room", str(path)])
    assert result.exit_code == 2
    assert "there is no room file" in result.stderr
    assert result.stderr.count("Error:") == 1
    assert not list(tmp_path.iterdir())


def test_a_time_zone_that_is_missing(tmp_path: Path) -> None:
    args = ["new", str(tmp_path / "x.toml"), "--timezone"]
    assert "names like Europe/Lisbon" in CliRunner().invoke(main, [*args, "Foo"]).stderr
    near = CliRunner().invoke(main, [*args, "Europe/Lisbonn"])
    assert near.exit_code == 2
    assert "did you mean 'Europe/Lisbon'?" in near.stderr
    assert not list(tmp_path.iterdir())


def test_a_culture_may_be_supposed_on_more_medium(tmp_path: Path) -> None:
    args = ["yield", "MW-1", "--room", str(room_file(tmp_path)), "--now", NOW]
    usual = CliRunner().invoke(main, [*args, "--medium-g", "150"]).stdout
    more = CliRunner().invoke(main, [*args, "--medium-g", "300", "--surface-cm2", "360"]).stdout
    assert "300 g, 360 cm2" in more
    totals = [float(re.findall(r"total +([\d.]+) g", text)[0]) for text in (usual, more)]
    assert totals[1] > 1.8 * totals[0]


def _commands() -> Iterator[tuple[str, click.Command]]:
    for name in COMMANDS:
        command = main.get_command(click.Context(main), name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            for sub, each in command.commands.items():
                yield f"{name} {sub}", each


def test_every_option_is_explained_within_the_screen() -> None:
    for name, command in _commands():
        with click.Context(command, info_name=name, max_content_width=80) as ctx:
            text = command.get_help(ctx)
        assert max(len(line) for line in text.splitlines()) <= 80, name
        assert "RANGE" not in text, name
        assert "..." not in text.split("Options:")[-1].replace("undo...", ""), name
        for option in command.params:
            if isinstance(option, click.Option):
                assert option.help, f"{name} {option.name}"
                assert option.help[-1] in ".)", f"{name} {option.name}"


def test_a_name_of_two_words_that_is_misspelt_is_asked_back(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    for typed, said in (
        ("hatched botle 1 5000", "there is no 'botle 1'; did you mean 'bottle 1'?"),
        ("hatched bottle 1 5000 6", "unexpected extra argument (6)"),
    ):
        words = ["journal", *typed.split(), "--room", str(room), "--now", NOW]
        result = CliRunner().invoke(main, words)
        assert result.exit_code == 2
        assert said in result.stderr
