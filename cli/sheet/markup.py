"""Small pieces of HTML: escaped text, marked figures, boxes, tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from html import escape

from cultures.tasks.task import tidy
from cultures.words.quantities import day_text, when
from cultures.words.tasks import Figure, Phrase, Words

#: Written into every sheet; a file without it is not ours to replace.
MARK = '<meta name="generator" content="livefood sheet">'


def esc(text: str) -> str:
    """Text for HTML."""
    return escape(text, quote=True)


def plan_words(text: str) -> str:
    """Words that come from the plan as they stand."""
    return f'<span class="plan">{esc(text)}</span>'


def data(shown: str, value: float, of: str) -> str:
    """A figure with the number behind it and its place in the plan."""
    return f'<data value="{tidy(value)}" data-of="{esc(of)}">{esc(shown)}</data>'


def phrase(parts: Phrase, *, capital: bool = False) -> str:
    """A phrase with its figures marked; ``capital`` begins it with a capital letter."""
    out = []
    for i, part in enumerate(parts):
        if isinstance(part, Figure):
            out.append(data(part.shown, part.value, part.of))
        elif isinstance(part, Words):
            out.append(plan_words(part.shown))
        else:
            first = capital and i == 0
            out.append(esc(part[:1].upper() + part[1:] if first else part))
    return "".join(out)


def clock(moment: datetime, of: str) -> str:
    """A time of day that can be traced to the plan."""
    return _time(moment, of, f"{moment:%H:%M}")


def day(moment: date, of: str) -> str:
    """A day that can be traced to the plan."""
    return _time(moment, of, day_text(moment))


def moment_text(moment: datetime, of: str) -> str:
    """Day and time that can be traced to the plan."""
    return _time(moment, of, when(moment))


def _time(moment: date, of: str, shown: str) -> str:
    return f'<time datetime="{moment.isoformat()}" data-of="{esc(of)}">{shown}</time>'


def box(task_id: str) -> str:
    """A box to tick for one task of the plan."""
    return f'<input type="checkbox" data-task="{esc(task_id)}">'


def bullets(items: Iterable[str]) -> str:
    """A list of pieces of HTML."""
    return f"<ul>{''.join(f'<li>{item}</li>' for item in items)}</ul>"


def care(title: str, items: Iterable[str]) -> str:
    """A frame of what to take care of."""
    return f'<div class="care"><strong>{title}</strong>{bullets(items)}</div>'


def table(
    caption: str, head: Sequence[str], rows: Sequence[Sequence[str]], *, name: str = "",
    right: Sequence[int] = (), foot: Sequence[str] = (),
) -> str:  # fmt: skip
    """A table with a caption and header cells; the first cell of a row heads it.

    The roles are written out because a wide table is laid out as a list on a phone, which
    would hide from a screen reader that it is a table.

    Args:
        head: plain text. rows, foot: HTML. right: columns that are aligned right.
    """
    side = [' class="n"' if i in right else "" for i in range(len(head))]
    heads = "".join(
        f'<th scope="col" role="columnheader"{side[i]}>{esc(text)}</th>'
        for i, text in enumerate(head)
    )
    body = "".join(_row(row, head, side) for row in rows)
    last = f'<tfoot role="rowgroup">{_row(foot, head, side)}</tfoot>' if foot else ""
    css = f' class="{name}"' if name else ""
    return (
        f'<table role="table"{css}><caption>{caption}</caption><thead role="rowgroup">'
        f'<tr role="row">{heads}</tr></thead><tbody role="rowgroup">{body}</tbody>{last}</table>'
    )


def _row(row: Sequence[str], head: Sequence[str], side: Sequence[str]) -> str:
    cells = [f'<th scope="row" role="rowheader"{side[0]}>{row[0]}</th>']
    cells += [
        f'<td role="cell" data-label="{esc(head[i])}"{side[i]}>{cell}</td>'
        for i, cell in enumerate(row)
        if i > 0
    ]
    return f'<tr role="row">{"".join(cells)}</tr>'
