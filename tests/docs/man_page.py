"""Writes the manual page ``man/livefood.1`` from what the commands say of themselves.

``python -m tests.docs.man_page`` writes it anew; a test tells when that is due. The language of the
page is that of man(7): https://man7.org/linux/man-pages/man7/man.7.html
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import click

from cli.main import main
from cli.manual import TOPICS

PAGE = Path(__file__).parents[2] / "man" / "livefood.1"
_ENVIRONMENT = {
    "LIVEFOOD_ROOM": "The room file, where --room is not given.",
    "LIVEFOOD_NOW": "The time that counts as now, such as 2027-01-05T07:00.",
    "NO_COLOR": "No bold print.",
    "COLUMNS": "The width to fold to, from 40 to 80.",
}
_FILES = {
    "room.toml": "What stands in the room; 'livefood help room-file' has its keys.",
    "journal.csv": "What was noted, beside the room file.",
    "told.jsonl": "What was told, beside the room file.",
}
_EXITS = {
    "0": "It is done.",
    "1": "A question was answered with no, or --strict found a shortfall.",
    "2": "Something is wrong, and nothing was written; one message says what would be right.",
}


def man_page() -> str:
    """The whole page."""
    lines = [
        '.TH LIVEFOOD 1 "" "" livefood', ".SH NAME",
        r"livefood \- plans the live food of a fish room", ".SH SYNOPSIS", ".B livefood",
        r"[\fIoptions\fR] \fICOMMAND\fR ...", ".SH DESCRIPTION", *_said(main),
        ".SH COMMANDS",
    ]  # fmt: skip
    context = click.Context(main, info_name="livefood")
    for path, command in _commands(main, context):
        lines += [f".SS {_shown(' '.join(path))}", *_said(command), *_options(command)]
    lines += _section("ENVIRONMENT", _ENVIRONMENT) + _section("FILES", _FILES)
    lines += _section("EXIT STATUS", _EXITS)
    pages = {f"livefood help {name}": said for name, said in TOPICS.items()}
    return "\n".join([*lines, *_section("SEE ALSO", pages), ""])


def _commands(
    group: click.Group, context: click.Context, path: tuple[str, ...] = ("livefood",)
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command with its words, those of a group behind it."""
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield (*path, name), command
        if isinstance(command, click.Group):
            yield from _commands(command, context, (*path, name))


def _said(command: click.Command) -> list[str]:
    """The paragraphs of a command; a section begins without the request for one."""
    return list(_paragraphs(command))[1:]


def _paragraphs(command: click.Command) -> Iterator[str]:
    """What a command says of itself; examples and lists keep their lines."""
    for part in inspect.cleandoc(command.help or "").split("\n\n"):
        first, *more = part.split("\n")
        if first.strip() == "\b":
            yield from [".PP", ".nf", *map(_shown, more), ".fi"]
        else:
            yield from [".PP", _shown(" ".join([first, *(line.strip() for line in more)]))]


def _options(command: click.Command) -> Iterator[str]:
    context = click.Context(command)
    for option in command.get_params(context):
        if not isinstance(option, click.Option) or "--help" in option.opts:
            continue
        record = option.get_help_record(context)
        if record is not None:
            yield from [".TP", f".B {_shown(record[0])}", _shown(record[1])]


def _section(title: str, entries: dict[str, str]) -> list[str]:
    lines = [f".SH {title}"]
    for name, said in entries.items():
        lines += [".TP", f".B {_shown(name)}", _shown(said)]
    return lines


def _shown(text: str) -> str:
    """Text of which nothing is taken for a request; a hyphen stays one that can be copied."""
    text = text.replace("\\", r"\e").replace("-", r"\-")
    return re.sub(r"^(\s*)([.'])", r"\1\\&\2", text)


if __name__ == "__main__":
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(man_page(), "utf-8")
