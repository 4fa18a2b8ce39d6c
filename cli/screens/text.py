"""Folding and columns for a screen of 40 to 80 columns."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence

_LEAST, _MOST = 40, 80
#: A space at which no line is folded.
TIED = "\N{NO-BREAK SPACE}"


def screen_width() -> int:
    """Columns to fold to: those of the terminal, within limits; what is piped gets the most."""
    return min(_MOST, max(_LEAST, shutil.get_terminal_size((_MOST, 24)).columns))


def wrapped(text: str, indent: int = 0, first: str = "") -> str:
    """Text folded to the screen, with a hanging indent after ``first``; not at `TIED`."""
    pad = " " * indent
    return textwrap.fill(
        text, screen_width(), initial_indent=first.ljust(indent), subsequent_indent=pad,
        break_long_words=False, break_on_hyphens=False,
    ).replace(TIED, " ")  # fmt: skip


def bullets(texts: Iterable[str], mark: str = "  - ") -> list[str]:
    """Each text folded behind a mark."""
    return [wrapped(text, 4, mark) for text in texts]


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
    """Rows in columns two spaces apart; those in ``right`` are aligned right.

    Where the screen is too narrow the words of a ``head`` row stand below each other, then the
    widest text column is cut with an ellipsis, never a number.
    """
    if not rows:
        return ""
    widths, over = _fit(rows, indent)
    if over > 0 and head:
        words = [cell.split(" ") if i in right else [cell] for i, cell in enumerate(rows[0])]
        deep = max(len(cell) for cell in words)
        stacked = [["" for _ in range(deep - len(cell))] + cell for cell in words]
        rows = [*(list(line) for line in zip(*stacked, strict=True)), *rows[1:]]
        widths, over = _fit(rows, indent)
    while over > 0:
        texts = [i for i in range(len(widths)) if i not in right and widths[i] > 8]
        if not texts:
            break
        widest = max(texts, key=lambda i: widths[i])
        cut = min(over, widths[widest] - 8)
        widths[widest] -= cut
        over -= cut
    lines = []
    for row in rows:
        cells = []
        for i, cell in enumerate(row):
            shown = cell if len(cell) <= widths[i] else cell[: widths[i] - 1] + "…"
            cells.append(shown.rjust(widths[i]) if i in right else shown.ljust(widths[i]))
        lines.append((" " * indent + "  ".join(cells)).rstrip())
    return "\n".join(lines)
