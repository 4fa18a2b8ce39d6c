"""``livefood help``: every page in the terminal, words and commands."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import COMMANDS, main
from cli.manual import TOPICS, page_names, page_text
from cli.screens.manual import page_screen
from tests.cli.invented import room_file

DOCS = Path(__file__).parents[2] / "docs"


def _help(*words: str, code: int = 0, columns: int = 80) -> str:
    result = CliRunner().invoke(main, ["help", *words], env={"COLUMNS": str(columns)})
    assert result.exit_code == code, result.output
    return result.output


def test_it_lists_the_pages_and_every_page_is_there() -> None:
    listed = _help()
    assert all(f"    {name}: " in listed for name in TOPICS)
    for_keepers, _, others = listed.partition("For contributors: ")
    assert set(re.findall(r"[\w-]+", others)) == set(page_names()) - set(TOPICS)
    assert "mutants" not in for_keepers
    assert set(TOPICS) <= {path.stem for path in DOCS.glob("*.md")} == set(page_names())


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("name", TOPICS)
def test_a_page_fits_the_screen_and_loses_no_word(name: str, columns: int) -> None:
    shown = _help(name, columns=columns)
    prose = [line for line in shown.splitlines() if not line.startswith("    ")]
    long = [line for line in prose if len(line) > columns and " " in line.strip()]
    assert not [line for line in long if len(line.strip().rsplit(" ", 1)[0]) > columns], long[:3]
    source = re.sub(r"<!--.*?-->", "", page_text(name) or "", flags=re.DOTALL)
    source = re.sub(r"\]\([^)]*\)", "", source)
    source = re.sub(r"(?m)^\|.*\n(?=\|[-: |]+$)", "", source)  # heads of points are not needed
    words = set(re.findall(r"[A-Za-z]{4,}", source)) - {"console", "toml", "text", "summary",
                                                        "details"}  # fmt: skip
    there = set(re.findall(r"[a-z]{4,}", shown.lower()))
    assert {word.lower() for word in words} - there <= {"python", "pycon"}
    assert "**" not in shown
    assert "](" not in shown


def test_code_stays_as_it_is() -> None:
    shown = page_screen("# A\n\n```console\n$ livefood  x\n\n  y | z\n```\n\nAfter `it`.\n")
    assert shown == "A\n\n    $ livefood  x\n    \n      y | z\n\nAfter it."


def test_a_table_is_columns_or_points() -> None:
    narrow = page_screen("| a | b |\n|---|---|\n| one | two |\n")
    assert narrow == "  a    b\n  one  two"
    wide = page_screen(f"| key | meaning | if left out |\n|---|---|---|\n| k | {'long ' * 20}| x |")
    assert " ".join(wide.split()).startswith("- k: long")
    assert wide.endswith("if left out: x")


@pytest.mark.parametrize("words", [("split",), ("own", "values"), ("Sunset",)])
def test_a_word_is_explained(words: tuple[str, ...]) -> None:
    if words == ("Sunset",):
        assert "no page and no word 'sunset'" in _help(*words, code=2)
    else:
        assert _help(*words).startswith(f"{' '.join(words)}: ")


@pytest.mark.parametrize(
    "word",
    ["ripe", "nauplii", "cysts", "weaning", "strain", "infusoria", "trials", "spent", "yolk",
     "porridge", "swipe", "jar", "cup", "round", "starter", "culture", "split", "souring"],
)  # fmt: skip
def test_a_word_that_beginners_meet_is_explained_without_code(word: str) -> None:
    said = _help(word)
    assert said.startswith(f"{word}: ")
    assert "`" not in said
    assert "cultures." not in said


def test_the_example_of_help_works_and_several_of_a_thing_are_known() -> None:
    examples = re.findall(r"livefood help (\S+)$", _help("help"), re.M)
    assert "ripe" in examples
    for each in examples:
        _help(each)
    assert _help("swipes") == _help("swipe")
    assert _help("cyst") == _help("cysts")


def test_a_word_that_is_not_there_is_told_briefly() -> None:
    said = _help("zzz", code=2)
    assert len(said) < 200
    assert "mutants" not in said
    assert "did you mean 'nauplii'?" in _help("nauplius", code=2)


def test_a_command_and_a_page_by_any_spelling() -> None:
    assert "Usage: main shortfalls" in _help("shortfalls")
    assert _help("Room_File") == _help("room", "file") == _help("room-file.md")
    assert "help" in COMMANDS


def test_what_is_not_there_names_the_nearest() -> None:
    assert "did you mean 'safety'" in _help("safty", code=2)


def test_the_quick_start_is_true(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of its commands, as it stands there; those of the table on the demo room."""
    page = page_text("quick-start") or ""
    rows = re.findall(r"(?m)^\|.*\| `livefood ([^`]+)` \|$", page)
    typed = re.findall(r"(?m)^livefood (.+)$", page)
    assert len(rows) == 9
    monkeypatch.chdir(tmp_path)

    def run(line: str) -> None:
        result = CliRunner().invoke(
            main, shlex.split(line), env={"LIVEFOOD_NOW": "2027-01-05T07:40"}
        )
        assert result.exit_code == 0, (line, result.output)

    run(typed.pop(0))
    for line in ["today", "journal harvest MW-1 4 swipes", *rows, *typed]:
        if line == "today":
            room_file(tmp_path, horizon_days="5")
        elif line.startswith("journal"):
            Path("journal.csv").unlink(missing_ok=True)
            if line == "journal undo":
                run("journal bought salt 100 g")
        run(line)
