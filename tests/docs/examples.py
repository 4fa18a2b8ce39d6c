"""Runs the examples of the documentation and compares, or rewrites, what they print.

A ``console`` block holds commands after ``$`` and what they print. Comments before a block
steer it::

    <!-- now: 2027-03-01T07:00 -->   the clock of all commands from here on (they tell)
    <!-- file: room.toml -->         the next block is the content of this file
    <!-- append: room.toml -->       the next block is added to this file
    <!-- exit: 2 -->                 the exit code that the next block ends with

A line ``...`` stands for any number of lines; a command with nothing below it only has to
succeed. Each document has a folder of its own that begins with the demo room in room.toml.

``python -m tests.docs.examples --write docs/guide.md`` puts in what is printed now.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from datetime import date
from pathlib import Path

from attrs import field, frozen
from click.testing import CliRunner

from cli.commands.demo_room import demo_text
from cli.main import main
from tests.cli.invented import effects_unread

_FIRST_NOW = "2027-01-05T07:00"
_DIRECTIVE = re.compile(r"^<!-- (now|file|append|exit): (.+?) -->$")
#: Commands that wait for the network; they are shown, and tested elsewhere.
_WAITING = ("--serve", "--publish", "--sync")
_ANY = "..."


@frozen
class Example:
    """One command of a document, and what is said to come of it.

    Attributes:
        line: of the command in the document. expected: printed lines. span: lines of the
            document, from and to, that hold what is printed.
        files: written or appended (name, text, whether appended) before the command.
    """

    line: int
    command: str
    expected: tuple[str, ...]
    span: tuple[int, int]
    now: str
    exit_code: int
    files: tuple[tuple[str, str, bool], ...] = field(factory=tuple)


def examples_of(text: str) -> list[Example]:
    """The examples of a document in order."""
    now, exit_code, found = _FIRST_NOW, 0, list[Example]()
    target: tuple[str, bool] | None = None
    files: list[tuple[str, str, bool]] = []
    lines = text.split("\n")
    i = 0
    while i < len(lines):
        if match := _DIRECTIVE.match(lines[i]):
            key, value = match.groups()
            if key == "now":
                now = value
            elif key == "exit":
                exit_code = int(value)
            else:
                target = value, key == "append"
        elif lines[i].startswith("```"):
            kind = lines[i][3:].strip()
            end = next(j for j in range(i + 1, len(lines)) if lines[j].startswith("```"))
            if target is not None:
                files.append((target[0], "\n".join(lines[i + 1 : end]) + "\n", target[1]))
                target = None
            elif kind == "console":
                commands = _commands(lines, i + 1, end)
                for n, (at, command, start, stop) in enumerate(commands):
                    code = exit_code if n == len(commands) - 1 else 0
                    found.append(Example(at + 1, command, tuple(lines[start:stop]), (start, stop),
                                         now, code, tuple(files)))  # fmt: skip
                    files = []
                exit_code = 0
            i = end
        i += 1
    return found


def _commands(lines: Sequence[str], start: int, end: int) -> list[tuple[int, str, int, int]]:
    """(line, command, first and last line of what it prints) of a console block."""
    begins = [i for i in range(start, end) if lines[i].startswith("$ ")]
    found = []
    for n, i in enumerate(begins):
        command, last = lines[i][2:], i
        while command.endswith("\\"):
            last += 1
            command = command[:-1] + lines[last].strip()
        found.append((i, command, last + 1, begins[n + 1] if n + 1 < len(begins) else end))
    return found


def run_example(example: Example, folder: Path) -> list[str] | None:
    """What a command prints, by line; None for one that is only shown.

    Raises:
        AssertionError: it is no ``livefood`` command, or ends with another exit code.
    """
    for name, text, more in example.files:
        path = folder / name
        path.write_text((path.read_text("utf-8") if more else "") + text, "utf-8")
    words = shlex.split(example.command)
    assert words[0] == "livefood", f"line {example.line}: only livefood commands are run"
    if any(word in _WAITING for word in words):
        return None
    args = words[1:]
    env = {"LIVEFOOD_ROOM": None, "COLUMNS": "80", "LIVEFOOD_NOW": example.now}
    unread = not {line.rstrip() for line in example.expected} - {_ANY, ""}
    with _inside(folder), effects_unread() if unread else nullcontext():
        result = CliRunner().invoke(main, args, env=env)
    assert result.exit_code == example.exit_code, (
        f"line {example.line}: {example.command} ended with {result.exit_code}:\n{result.output}"
    )
    return [line.rstrip() for line in result.output.rstrip("\n").split("\n")]


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def prepare(folder: Path) -> None:
    """What every document begins with."""
    (folder / "room.toml").write_text(demo_text(date.fromisoformat(_FIRST_NOW[:10])), "utf-8")


def matches(expected: Sequence[str], printed: Sequence[str]) -> bool:
    """Whether lines are as expected, where ``...`` is any number of lines."""
    shown = [line.rstrip() for line in expected]
    while shown and not shown[-1]:
        shown.pop()
    if not shown:
        return True
    parts = [_ANY if line == _ANY else re.escape(line) + "\n" for line in shown]
    pattern = "".join(r"(?:.*\n)*?" if part == _ANY else part for part in parts)
    return re.fullmatch(pattern, "".join(line + "\n" for line in printed)) is not None


def rewritten(expected: Sequence[str], printed: Sequence[str]) -> list[str]:
    """What to put into the document; a ``...`` keeps its place among as many lines."""
    if not [line for line in expected if line.strip()]:
        return list(expected)
    if _ANY not in expected:
        return list(printed)
    first = list(expected).index(_ANY)
    after = len(expected) - 1 - max(i for i, line in enumerate(expected) if line == _ANY)
    return [*printed[:first], _ANY, *(printed[-after:] if after else [])]


def write(path: Path) -> int:
    """Puts what is printed now into a document; how many examples changed."""
    text = path.read_text("utf-8")
    lines, changed = text.split("\n"), 0
    results = []
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder))
        for example in examples_of(text):
            results.append((example, run_example(example, Path(folder))))
    for example, printed in reversed(results):
        if printed is None or matches(example.expected, printed):
            continue
        lines[slice(*example.span)] = rewritten(example.expected, printed)
        changed += 1
    path.write_text("\n".join(lines), "utf-8")
    return changed


if __name__ == "__main__":
    for name in sys.argv[2:] if sys.argv[1:2] == ["--write"] else []:
        sys.stdout.write(f"{name}: {write(Path(name))} examples changed\n")
