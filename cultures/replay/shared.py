"""What the parts of a replay share: the step being taken, and what comes of it beside the room."""

from __future__ import annotations

from datetime import date, datetime
from typing import NamedTuple

from attrs import field, frozen

from cultures.journal.entries import Entry
from cultures.replay.observations import Observations
from cultures.replay.stocks import Stocks
from cultures.tasks.told import ToldTask


class Step(NamedTuple):
    """Something that was done: noted in the journal, or told and taken as done.

    ``told`` is the task that it carries out, if any; ``presumed``: no entry says so.
    """

    entry: Entry
    told: ToldTask | None = None
    presumed: bool = False


class Deed(NamedTuple):
    """A step as it is taken.

    ``at`` is local where the day matters; ``at_h``: the same in hours since the epoch.
    """

    entry: Entry
    at: datetime
    at_h: float
    told: ToldTask | None
    presumed: bool


@frozen
class Shared:
    """What all parts of one replay look at and add to.

    Attributes:
        now: local. as_of_h: stocks are those of then. stated_h: cultures and broods are, or
            minus infinity where the file does not say. first_h: of the first step, or None.
    """

    now: datetime
    as_of_h: float
    stated_h: float
    first_h: float | None
    stocks: Stocks
    seen: Observations = field(factory=Observations)
    notes: list[str] = field(factory=list)

    @property
    def until(self) -> date:
        """The local day of now."""
        return self.now.date()

    def tell(self, entry: Entry, text: str) -> None:
        """What the keeper should know of a line of the journal."""
        self.notes.append(f"Journal line {entry.line}: {text}")

    def set_aside(self, entry: Entry, why: str) -> None:
        """A reading that sets what is there, or is told, and teaches nothing."""
        self.seen.set_aside.append((entry.line, entry.subject, why))
