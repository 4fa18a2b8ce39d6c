"""Edits of a room file that leave every other line as it is, to the byte.

Lines are found by :mod:`cultures.room.toml_lines` and replaced. Whatever the form of the file,
the TOML parser has the last word: an edited text must say what the old one said with just the
edit, or it is refused.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from copy import deepcopy
from typing import Any

from cultures.errors import LivefoodError
from cultures.room.keys import SINGLE
from cultures.room.toml_lines import Line, toml_lines, value_span

#: Of keys: what stands behind ``=``; None takes the key out.
Literals = Mapping[str, str | None]

_REMARKS = re.compile(r"(?:[ \t]*#[^\n]*\n)*")
_BLANK_BEFORE = re.compile(r"(?<![^\n])[ \t]*\r?\n\Z")
_INDENT = re.compile(r"[ \t]*")


class FormError(LivefoodError):
    """A place that is written in a form that only an editor can change."""


def with_table(text: str, table: str, literals: Literals) -> str:
    """A text with one more table, after the last of its name, else at the end.

    Args:
        text: TOML. table: its name; ``[[name]]`` but for those of which a file has one.

    Raises:
        FormError: those of its name are written otherwise.
    """

    def edit(text: str) -> str:
        same = [line for line in toml_lines(text) if line.place[0].split(".")[0] == table]
        at = _block_end(text, same[-1].end) if same else len(text)
        end = _line_end(text, at)
        header = f"[{table}]" if table in SINGLE else f"[[{table}]]"
        rows = [f"{key} = {literal}" for key, literal in literals.items() if literal is not None]
        return text[:at] + end.join(["", header, *rows, ""]) + text[at:]

    def expect(data: dict[str, Any]) -> None:
        new = {key: _value(literal) for key, literal in literals.items() if literal is not None}
        if table in SINGLE:
            data[table] = new
        else:
            data.setdefault(table, []).append(new)

    return _edited(text, edit, expect, table)


def with_keys(text: str, table: str, index: int, literals: Literals) -> str:
    """A text with keys of one table set, or taken out.

    Args:
        text: TOML. index: which of the tables of that name, from 0.

    Raises:
        FormError: they stand where only an editor reaches them.
    """

    def edit(text: str) -> str:
        for key, literal in literals.items():
            mine = [line for line in _lines_of(text, table, index) if line.place[0] == table]
            there = next((line for line in mine if line.place[2] == key), None)
            if there is not None and literal is None:
                text = text[: there.start] + text[there.end :]
            elif there is not None and there.value >= 0:
                start, end = value_span(text, there)
                text = text[:start] + str(literal) + text[end:]
            elif mine and there is None and literal is not None:
                last = mine[-1]
                indent = _INDENT.match(text, last.start)
                row = f"{indent[0] if indent else ''}{key} = {literal}"
                text = text[: last.end] + row + _line_end(text, last.end) + text[last.end :]
        return text

    def expect(data: dict[str, Any]) -> None:
        row = data[table] if table in SINGLE else data[table][index]
        for key, literal in literals.items():
            if literal is None:
                row.pop(key, None)
            else:
                row[key] = _value(literal)

    return _edited(text, edit, expect, table, index)


def without_table(text: str, table: str, index: int) -> str:
    """A text without one table and the blank line above it; remarks outside of it stay.

    Args:
        text: TOML. index: which of the tables of that name, from 0.

    Raises:
        FormError: it is written in another form than ``[[table]]``.
    """

    def edit(text: str) -> str:
        mine = _lines_of(text, table, index)
        if not mine:
            return text
        before, after = text[: mine[0].start], text[mine[-1].end :]
        return _BLANK_BEFORE.sub("", before) + after

    def expect(data: dict[str, Any]) -> None:
        del data[table][index]
        if not data[table]:
            del data[table]

    return _edited(text, edit, expect, table, index)


def _edited(
    text: str, edit: Callable[[str], str], expect: Callable[[dict[str, Any]], None],
    table: str, index: int = 0,
) -> str:  # fmt: skip
    """The edited text, once the parser reads in it what is expected of the old one."""
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    body = text.removeprefix(mark)
    ended = body.endswith("\n")
    new = edit(body if ended else body + _line_end(body, len(body)))
    if not ended:
        new = new.removesuffix("\n").removesuffix("\r")
    expected = deepcopy(tomllib.loads(body))
    expect(expected)
    try:
        as_meant = tomllib.loads(new) == expected
    except ValueError:
        as_meant = False
    if as_meant:
        return mark + new
    found = [line for line in toml_lines(body) if table in (line.place[0], line.place[2])]
    mine = [line for line in found if line.place[1] == index] or found
    where = f"line {mine[0].number}: " if mine else ""
    raise FormError(
        f"{where}{table} is written there in a form that only an editor can change"
        " (dotted keys, or all in one line)"
    )


def _lines_of(text: str, table: str, index: int) -> list[Line]:
    """The header and keys of a table, and of tables within it."""
    return [
        line for line in toml_lines(text)
        if line.place[0].split(".")[0] == table and line.place[1] == index
    ]  # fmt: skip


def _block_end(text: str, end: int) -> int:
    """Where the remarks right below a table end, unless they stand right above the next one."""
    match = _REMARKS.match(text, end)
    below = end if match is None else match.end()
    return end if text[below:].lstrip(" \t").startswith("[") else below


def _line_end(text: str, at: int) -> str:
    """The line end that a text has there, or at its beginning."""
    before = text[:at].rpartition("\n")[0] or text.partition("\n")[0]
    return "\r\n" if before.endswith("\r") else "\n"


def _value(literal: str) -> Any:
    return tomllib.loads(f"x = {literal}")["x"]
