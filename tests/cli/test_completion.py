"""Shell completion: commands, options, and names out of the room file."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.shell_completion import CompletionItem
from click.testing import CliRunner

from cli.bash import use
from cli.completion import brood_names, culture_names, names_of, tank_names
from cli.main import main
from tests.cli.invented import room_file

_SHELLS = ("bash", "zsh", "fish")


def _asked(shell: str, words: list[str]) -> dict[str, str]:
    """The environment in which a shell asks for the last word."""
    asked = (
        {"COMP_WORDS": " ".join(words[:-1]), "COMP_CWORD": words[-1]}
        if shell == "fish"
        else {"COMP_WORDS": " ".join(words), "COMP_CWORD": str(len(words) - 1)}
    )
    return {"_LIVEFOOD_COMPLETE": f"{shell}_complete", **asked}


def _complete(shell: str, words: list[str], folder: Path) -> str:
    """What is answered to a shell that asks for the last word."""
    use()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        done = CliRunner().invoke(main, prog_name="livefood", env=_asked(shell, words))
    assert done.stderr == ""
    return done.stdout


@pytest.mark.parametrize("shell", _SHELLS)
def test_names_of_tanks_come_from_the_room_file(tmp_path: Path, shell: str) -> None:
    room_file(tmp_path)
    answer = _complete(shell, ["livefood", "today", "--tank", "B"], tmp_path)
    assert all(tank in answer for tank in ("B1", "B2", "B3", "B4", "B5"))
    assert "C1" not in answer


@pytest.mark.parametrize(
    ("words", "there", "not_there"),
    [
        (["yield", "V"], ["VE-1", "VE-2"], ["MW-1"]),
        (["need", "--brood", "p"], ["pearl danio 3", "platies 9"], ["acara 5"]),
        (["journal", "harvest", "b"], ["bottle 1", "bottle 2"], ["B1"]),
        (["journal", "harvest", "m"], ["MW-1", "MW-2"], ["bottle 1"]),
        (["journal", "count", "b"], ["bottle 1"], ["B1"]),
        (["journal", "count", "a"], ["acara 5", "annuals 2"], ["A1"]),
        (["journal", "temperature", "r"], ["room"], ["rainbows 4"]),
        (["journal", "temperature", "b"], ["B1", "bottle 1"], ["room"]),
        (["journal", "spawn", "new", "--tank", "C"], ["C1", "C4"], ["B1"]),
        (["retire", "culture", "m"], ["MW-1", "MW-2"], ["VE-1"]),
        (["change", "brood", "a"], ["acara 5"], ["A1"]),
        (["add", "tank", "A"], [], ["A1"]),
        (["journal", "show", "--subject", "r"], ["room", "rainbows 4"], ["MW-1"]),
    ],
    ids=lambda x: " ".join(x),
)
def test_every_place_for_a_name_knows_the_names(
    tmp_path: Path, words: list[str], there: list[str], not_there: list[str]
) -> None:
    room_file(tmp_path)
    answer = _complete("bash", ["livefood", *words], tmp_path)
    assert all(f",{name}\n" in answer for name in there)
    assert not any(f",{name}\n" in answer for name in not_there)


@pytest.mark.parametrize("shell", _SHELLS)
def test_commands_are_completed_by_the_program_as_a_shell_runs_it(
    tmp_path: Path, shell: str
) -> None:
    words = ["livefood", "sh"]
    env = {**os.environ, **_asked(shell, words), "PYTHONPATH": str(Path(__file__).parents[2])}
    done = subprocess.run(
        [sys.executable, "-c", "from cli.main import run; run()"],
        env=env, cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    assert "sheet" in done.stdout
    assert "shortfalls" in done.stdout
    assert done.stdout.strip() == _complete(shell, words, tmp_path).strip()


def test_the_room_option_says_whose_names(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    path = room_file(tmp_path / "other")
    words = ["livefood", "today", "--room", str(path), "--tank", "C"]
    assert "C4" in _complete("bash", words, tmp_path)
    assert _complete("bash", ["livefood", "today", "--tank", "C"], tmp_path).strip() == ""


def test_a_command_that_is_not_there_completes_to_nothing(tmp_path: Path) -> None:
    assert _complete("bash", ["livefood", "tomorrow", "--tank", "A"], tmp_path).strip() == ""


@pytest.mark.parametrize("shell", _SHELLS)
def test_each_shell_is_given_a_script(tmp_path: Path, shell: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from cli.main import run; run()"], cwd=tmp_path, timeout=60,
        env={**os.environ, "_LIVEFOOD_COMPLETE": f"{shell}_source",
             "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if shell == "bash" and "Bash version" in done.stderr:
        pytest.skip("the bash of this machine is too old for completion")
    assert "_LIVEFOOD_COMPLETE" in done.stdout


def _items(completer: object, path: Path, start: str) -> list[CompletionItem]:
    ctx = click.Context(click.Command("x"))
    ctx.params["room_path"] = path
    return completer(ctx, click.Option(["--x"]), start)  # type: ignore[operator,no-any-return]


def test_names_of_other_things(tmp_path: Path) -> None:
    path = room_file(tmp_path)
    cultures = _items(culture_names, path, "mw")
    assert [(c.value, c.help) for c in cultures] == [("MW-1", "microworm"), ("MW-2", "microworm")]
    assert [i.value for i in _items(names_of("vessel"), path, "")] == ["bottle 1", "bottle 2"]
    assert [(i.value, i.help) for i in _items(brood_names, path, "aca")] == [("acara 5", "B1")]


@pytest.mark.parametrize(
    "content", [b"", b"[[tank", b"\xff\xfe", b"tank = 3", b"[[tank]]\nlitres = 3", None]
)
def test_a_file_that_cannot_be_read_has_no_names(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "room.toml"
    if content is not None:
        path.write_bytes(content)
    assert _items(tank_names, path, "") == []


_EVIL = 'evil $(touch PWNED) `touch PWNED` "q" \\ ; * it\'s'


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
@pytest.mark.parametrize(("typed", "close"), [("", ""), ('"', '"'), ("'", "'")])
@pytest.mark.parametrize(("start", "name"), [("bot", "bottle 1"), ("evi", _EVIL)])
def test_bash_is_given_names_that_are_one_word_and_run_nothing(
    tmp_path: Path, typed: str, close: str, start: str, name: str
) -> None:
    """The script's own answer, put on a line as readline does, and the line run by bash."""
    names = "".join(f"[[vessel]]\nname = {json.dumps(each)}\n" for each in {"cone", name})
    (tmp_path / "room.toml").write_text(names, "utf-8")
    program = tmp_path / "livefood"
    program.write_text(
        f"#!/bin/sh\nexec {sys.executable} -c 'from cli.main import run; run()' \"$@\"\n"
    )
    program.chmod(0o755)
    script = (
        'eval "$(_LIVEFOOD_COMPLETE=bash_source ./livefood)"\n'
        'COMP_WORDS=(./livefood journal harvest "$1"); COMP_CWORD=3\n'
        "_livefood_completion ./livefood\n"
        'for found in "${COMPREPLY[@]}"; do eval "printf \'<%s>\\n\' $2$found$3"; done\n'
    )
    done = subprocess.run(
        ["bash", "--norc", "-c", script, "bash", f"{typed}{start}", typed, close],
        cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    if "Bash version" in done.stderr:
        pytest.skip("the bash of this machine is too old for completion")
    assert done.stdout == f"<{name}>\n", done.stderr
    assert not (tmp_path / "PWNED").exists()
