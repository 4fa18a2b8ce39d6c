"""What stands on a sheet besides plain words: times, tables, steps; templates make them HTML."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime

from attrs import frozen

from cultures.words.moments import day_text, when
from cultures.words.tasks import Figure, Phrase, Words


@frozen
class Moment:
    """A day or time as shown, and where the plan has it."""

    shown: str
    at: date
    of: str


#: Words, figures and times in the order of reading.
Said = str | Moment | Figure | Words | Sequence[str | Moment | Figure | Words]


def clock(moment: datetime, of: str) -> Moment:
    """A time of day."""
    return Moment(f"{moment:%H:%M}", moment, of)


def day(moment: date, of: str) -> Moment:
    """A day."""
    return Moment(day_text(moment), moment, of)


def moment(at: datetime, of: str) -> Moment:
    """Day and time."""
    return Moment(when(at), at, of)


@frozen
class Row:
    """A row of a table: what heads it, with a second word where that needs one, and its cells."""

    head: Said
    cells: Sequence[Said]
    aside: Said = ""


@frozen
class Table:
    """A table.

    Attributes:
        head: of each column. right: columns that are aligned right. foot: of many rows, the last.
        name: a class of the style sheet.
    """

    caption: str
    head: Sequence[str]
    rows: Sequence[Row]
    right: Collection[int] = ()
    foot: Row | None = None
    name: str = ""


@frozen
class Item:
    """One line beside the clock.

    Attributes:
        tasks: ids of what it completes, which gives it a box. named: what the box is called.
        why: the reason, or "". blanks: of what a number is to be written down.
    """

    at: Moment
    text: Phrase
    tasks: Sequence[str] = ()
    named: str = ""
    why: str = ""
    blanks: Sequence[Words] = ()


@frozen
class Round:
    """A round: its steps, then the tanks.

    Attributes:
        feed: id of its feeding. aside: beside its time. caption: what the box is for. skipped:
            what is left out of it, or "".
    """

    feed: str
    at: Moment
    steps: Sequence[Item]
    caption: str
    table: Table
    aside: str = ""
    skipped: Said = ""
