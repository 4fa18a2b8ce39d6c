"""How large the type of a printed day may be: larger where its page would be half empty."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import ceil
from typing import Any

from cli.sheet.parts import Item, Round
from cultures.words.tasks import plain

#: Sizes of type, as parts of the usual one; the largest that leaves a day on its page is taken.
_SIZES = (1.6, 1.45, 1.3, 1.15)
#: Of a page in the usual size, as the style sheet has it: letters in a line of a step, and the
#: heights of a line, of a row of a table, and of what frames a round and a day [px of 1/96 in].
_LETTERS, _LINE_PX, _ROW_PX, _ROUND_PX, _DAY_PX = 105, 16.5, 19.0, 85.0, 90.0
#: A shortfall takes so many lines, with its frame.
_SHORTFALL_LINES = 6
#: A blank for a number is as wide as so many letters.
_BLANK = 10
#: Height between the margins of the smaller paper, less a reserve [px].
_PAGE_PX = {"a4": 1000.0, "letter": 930.0}


def type_size(
    view: Mapping[str, Any], paper: str, *, shortfalls: int = 0, besides: Sequence[str] = ()
) -> float:
    """How much larger than usual a day can be printed.

    Args:
        view: of :func:`~cli.sheet.rounds.day_view`. paper: ``a4`` or ``letter``.
        shortfalls: so many stand above it. besides: lines that stand above or below it.
    """
    fits = (size for size in _SIZES if _high(view, size, shortfalls, besides) <= _PAGE_PX[paper])
    return next(fits, 1.0)


def _high(view: Mapping[str, Any], size: float, shortfalls: int, besides: Sequence[str]) -> float:
    """What a day takes of the height of its page [px]."""
    letters = _LETTERS / size
    rounds: Sequence[Round] = view["rounds"]
    items: list[Item] = [*view["besides"], *(step for r in rounds for step in r.steps)]
    lines = shortfalls * _SHORTFALL_LINES + _lines(besides, letters)
    lines += _lines((_written(i) for i in items), letters)
    lines += _lines((i.why for i in items if i.why), letters)
    said = [*view["cautions"], *(r.skipped for r in rounds)]
    lines += _lines((text.shown for text in said), letters)
    rows = sum(len(r.table.rows) + (r.table.foot is not None) for r in rounds)
    return size * (_DAY_PX + _LINE_PX * lines + _ROW_PX * rows + _ROUND_PX * len(rounds))


def _written(item: Item) -> str:
    """The text of a line, as long as it is with its blanks."""
    blanks = (f" {name.shown}:{' ' * _BLANK}" for name in item.blanks)
    return plain(item.text) + "".join(blanks)


def _lines(texts: Iterable[str], letters: float) -> int:
    return sum(ceil(len(text) / letters) for text in texts)
