"""Every command in the documentation is run, and prints what the documentation says."""

from __future__ import annotations

from difflib import unified_diff
from pathlib import Path

import click
import pytest

from cli.main import COMMANDS, main
from tests.docs.examples import examples_of, matches, prepare, rewritten, run_example

_ROOT = Path(__file__).parents[2]
_PAGES = [p for p in (_ROOT / "README.md", *sorted((_ROOT / "docs").glob("*.md"))) if p.exists()]
_WITH_EXAMPLES = [p for p in _PAGES if "```console" in p.read_text("utf-8")]


@pytest.mark.parametrize("page", _WITH_EXAMPLES, ids=lambda p: p.name)
def test_examples_print_what_the_page_says(page: Path, tmp_path: Path) -> None:
    prepare(tmp_path)
    for example in examples_of(page.read_text("utf-8")):
        printed = run_example(example, tmp_path)
        if printed is None or matches(example.expected, printed):
            continue
        where = f"{page.name}, line {example.line}: {example.command}"
        diff = unified_diff(example.expected, printed, "page", "printed", lineterm="")
        pytest.fail(f"{where}\n" + "\n".join(diff), pytrace=False)


def test_the_guide_uses_every_command_of_daily_life() -> None:
    guide = (_ROOT / "docs" / "guide.md").read_text("utf-8")
    used = {example.command.split()[1] for example in examples_of(guide)}
    daily = {"new", "check", "today", "plan", "shortfalls", "need", "hatch", "sheet", "calendar",
             "journal"}  # fmt: skip
    assert daily <= used


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name: str) -> None:
    command = main.get_command(click.Context(main), name)
    assert command is not None
    with click.Context(command, info_name=name) as ctx:
        text = command.get_help(ctx)
    assert "Example" in text
    assert f"livefood {name}" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_three_dots_stand_for_any_lines() -> None:
    assert matches(["a", "...", "d"], ["a", "b", "c", "d"])
    assert matches(["a", "...", "b"], ["a", "b"])
    assert not matches(["a", "...", "d"], ["a", "b", "c"])
    assert not matches(["a"], ["a", "b"])
    assert not matches(["a.c"], ["abc"])
    assert matches([], ["anything"])


def test_rewriting_keeps_the_place_of_three_dots() -> None:
    assert rewritten(["x", "...", "y"], ["1", "2", "3", "4"]) == ["1", "...", "4"]
    assert rewritten(["x"], ["1", "2"]) == ["1", "2"]
    assert rewritten([], ["1"]) == []


def test_directives_steer_the_examples() -> None:
    text = "\n".join([
        "<!-- now: 2027-03-01T07:00 -->", "<!-- file: a.toml -->", "```toml", "x = 1", "```",
        "<!-- exit: 2 -->", "```console", "$ livefood check --room \\", "    a.toml", "Error",
        "```",
    ])  # fmt: skip
    (example,) = examples_of(text)
    assert example.command == "livefood check --room a.toml"
    assert (example.now, example.exit_code) == ("2027-03-01T07:00", 2)
    assert example.files == (("a.toml", "x = 1\n", False),)
    assert example.expected == ("Error",)
