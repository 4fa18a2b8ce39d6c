"""Folding and columns for a screen of 40 to 80 columns."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Iterable, Sequence
from datetime import datetime

from cultures.words.moments import clock_text
from cultures.words.quantities import number
from cultures.words.text import cut

_LEAST, _MOST = 40, 80
#: On narrower screens a table with a head that does not fit is a list.
_TABLE = 60
#: Units that may stand in the head of a column, and what comes before an amount that is not exact.
_UNITS, _ABOUT = {"mL", "L", "mg", "g", "mm", "swipe", "swipes"}, "about "
#: A space at which no line is folded.
TIED = "\N{NO-BREAK SPACE}"
#: A time of day on a clock of twelve hours, which is not folded.
_CLOCK = re.compile(r"\b(\d{1,2}(?::\d\d)?) ([ap]m)\b")
#: A message that ends with what to type.
_THEN_TYPE = re.compile(r"(.*\S:) (livefood (?:(?!\. ).)+)")


def screen_width() -> int:
    """Columns to fold to: those of the terminal, within limits; what is piped gets the most."""
    return min(_MOST, max(_LEAST, shutil.get_terminal_size((_MOST, 24)).columns))


def fitted(text: str) -> str:
    """Text of which no line is wider than the terminal, or ``COLUMNS``, where it is not piped; a
    command stays one that can be copied.

    Examples:
        >>> fitted("one line")
        'one line'
    """
    width, piped = screen_width(), not shutil.get_terminal_size((0, 0)).columns
    if piped or all(len(line) <= width for line in text.split("\n")):
        return text
    return "\n".join(_fitted(line, width) for line in text.split("\n"))


def _fitted(line: str, width: int) -> str:
    if len(line) <= width:
        return line
    if asks := _THEN_TYPE.fullmatch(line):
        pad = " " * (len(line) - len(line.lstrip()) + 2)
        return f"{_fitted(asks[1], width)}\n{_fitted(pad + asks[2], width)}"
    found = re.match(r" *(?:- |! |\d+  )?", line)
    lead = found[0] if found else ""
    body = line[len(lead) :]
    typed = re.match(r"(\$ )?livefood ", body) is not None
    if typed:
        body = re.sub(r'"[^"]*"', lambda quoted: quoted[0].replace(" ", TIED), body)
    # Around a long word, such as an address, less is set in.
    spare = max(0, width - max(map(len, body.split(" "))) - 2 * typed)
    pad = " " * min(len(lead) + 4 * typed, spare)
    lines = textwrap.wrap(
        body, width - 2 * typed, initial_indent=lead[:spare], subsequent_indent=pad,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
    return (" \\\n" if typed else "\n").join(lines).replace(TIED, " ")


def wrapped(text: str, indent: int = 0, first: str = "") -> str:
    """Text folded to the screen, with a hanging indent after ``first``; not at `TIED`."""
    pad, tied = " " * indent, _CLOCK.sub(rf"\1{TIED}\2", text)
    return textwrap.fill(
        tied, screen_width(), initial_indent=first.ljust(indent), subsequent_indent=pad,
        break_long_words=False, break_on_hyphens=False,
    ).replace(TIED, " ")  # fmt: skip


def time_width(units: str) -> int:
    """Columns of a time of day before what is to be done then."""
    return 10 if units == "us" else 9


def timed(text: str, at: datetime, units: str) -> str:
    """What is to be done at a time of day, behind it; a clock of twelve hours is aligned right."""
    clock = clock_text(at, units)
    first = f"{clock:>9} " if units == "us" else f"  {clock}"
    return wrapped(text, time_width(units), first)


def moment_width(units: str) -> int:
    """Columns of a day with its time."""
    return 24 if units == "us" else 20


def bullets(texts: Iterable[str], mark: str = "  - ") -> list[str]:
    """Each text folded behind a mark."""
    return [wrapped(text, 4, mark) for text in texts]


def at_most(lines: Sequence[str], most: int, more: str) -> list[str]:
    """So many lines, and ``more`` with how many others there are."""
    rest = len(lines) - most
    return list(lines) if rest <= 0 else [*lines[:most], more.format(number(rest))]


def block(title: str, lines: Sequence[str]) -> str:
    """Lines under a heading; nothing where there are none."""
    return "\n".join([title, *lines]) if lines else ""


def joined(parts: Iterable[str]) -> str:
    """The parts of a screen with a line between them, those left out that are empty."""
    return "\n\n".join(part for part in parts if part)


def _fit(rows: Sequence[Sequence[str]], indent: int) -> tuple[list[int], int]:
    """Widths of columns, and by how much they go past the screen."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return widths, indent + sum(widths) + 2 * (len(widths) - 1) - screen_width()


def columns(
    rows: Sequence[Sequence[str]], *, right: Sequence[int] = (), indent: int = 2,
    head: bool = False,
) -> str:  # fmt: skip
    """Rows in columns as `table` has them; what does not fit is a list.

    The list has the words of the head before each cell.
    """
    if not rows:
        return ""
    found = table(rows, right=right, indent=indent, head=head)
    if found is not None:
        return found
    return _listed(rows, indent) if head else _run_on(rows, indent)


def alike(tables: Sequence[Sequence[Sequence[str]]], texts: int) -> list[str]:
    """Several tables, each with a head and so many columns of text; or all as lists, where one of
    them does not fit.
    """
    found = [table(t, right=range(texts, len(t[0])), indent=0, head=True) for t in tables]
    each = zip(tables, found, strict=True)
    return [_listed(t, 0) if None in found or shown is None else shown for t, shown in each]


def table(
    rows: Sequence[Sequence[str]], *, right: Sequence[int] = (), indent: int = 2,
    head: bool = False,
) -> str | None:  # fmt: skip
    """Rows in columns two spaces apart, those in ``right`` aligned right; None if they do not fit.

    Where the screen is too narrow the words of a ``head`` row stand below each other, then a unit
    that all of a column in ``right`` have stands in its head, then "about" is "~", then the widest
    text column is cut with an ellipsis, never a number. On a screen of less than 60 columns what
    has a head is not made narrower.
    """
    widths, over = _fit(rows, indent)
    if over > 0 and head and screen_width() < _TABLE:
        return None
    if over > 0 and head:
        for narrow in (lambda it, _: it, _units_in_head, _tilde):
            rows = narrow(rows, right)
            stacked = _stacked(rows, right)
            widths, over = _fit(stacked, indent)
            if over <= 0:
                break
        rows = stacked
    while over > 0:
        texts = [i for i in range(len(widths)) if i not in right and widths[i] > 8]
        if not texts:
            return None
        widest = max(texts, key=lambda i: widths[i])
        less = min(over, widths[widest] - 8)
        widths[widest] -= less
        over -= less
    lines = []
    for row in rows:
        cells = []
        for i, cell in enumerate(row):
            shown = cut(cell, widths[i])
            cells.append(shown.rjust(widths[i]) if i in right else shown.ljust(widths[i]))
        lines.append((" " * indent + "  ".join(cells)).rstrip())
    return "\n".join(lines)


_Rows = Sequence[Sequence[str]]


def _stacked(rows: _Rows, right: Sequence[int]) -> _Rows:
    """The words of the head below each other over the columns that are aligned right."""
    words = [cell.split(" ") if i in right else [cell] for i, cell in enumerate(rows[0])]
    deep = max(len(cell) for cell in words)
    stacked = [["" for _ in range(deep - len(cell))] + cell for cell in words]
    return [*(list(line) for line in zip(*stacked, strict=True)), *rows[1:]]


def _units_in_head(rows: _Rows, right: Sequence[int]) -> _Rows:
    """The unit that all cells of a column have, in its head and nowhere else; swipes as several."""
    made = [list(row) for row in rows]
    for i in right:
        mine = [row for row in made[1:] if row[i] not in ("", "-")]
        units = {row[i].rpartition(" ")[2] for row in mine}
        units = {"swipes"} if units == {"swipe", "swipes"} else units
        if len(units) == 1 and units <= _UNITS:
            made[0][i] += f" {units.pop()}"
            for row in mine:
                row[i] = row[i].rpartition(" ")[0]
    return made


def _tilde(rows: _Rows, right: Sequence[int]) -> _Rows:
    """ "About" in a sign."""
    head, *rest = rows
    return [
        head,
        *(
            [f"~{x.removeprefix(_ABOUT)}" if i in right and x.startswith(_ABOUT) else x
             for i, x in enumerate(row)]
            for row in rest
        ),
    ]  # fmt: skip


def _listed(rows: Sequence[Sequence[str]], indent: int) -> str:
    """A point for each row, named by its first cell, with the head before each other cell."""
    heads, *rest = rows
    texts = []
    for row in rest:
        at = next((i for i, cell in enumerate(row) if cell), 0)
        others = zip(heads[at + 1 :], row[at + 1 :], strict=True)
        cells = [f"{head} {cell}".strip() for head, cell in others if cell not in ("", "-")]
        name = f"{' ' * indent}{row[at]}"
        texts.append(wrapped(", ".join(cells), indent + 2, f"{name}: ") if cells else name)
    return "\n".join(texts)


def _run_on(rows: Sequence[Sequence[str]], indent: int) -> str:
    """The cells of each row as running text."""
    told = ([cell for cell in row if cell] for row in rows)
    return "\n".join(
        wrapped("  ".join(more), indent + 2, f"{' ' * indent}{first}  ") for first, *more in told
    )
