"""What the sheet asks of the days before, and what a box without a tick means."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from cli.screens.entry import besides
from cli.sheet.parts import Moment, moment
from cultures.room.room import Room
from cultures.tasks.told import ToldTask
from cultures.words.tasks import Words, brief_text

#: More than so many would take a page of their own.
_MOST_ASKED = 12
UNTICKED = (
    "A box without a tick counts as done once it is over. If it was not: livefood journal due, then"
    " livefood journal skip NUMBER."
)
HOW_TO_ANSWER = (
    "Tick what was not done, and note it as the foot of this page says. If all of it is right:"
    " livefood journal done."
)


@frozen
class Doubt:
    """One told task that is taken as done, with a box for that it was not.

    Attributes:
        task: its id.
    """

    at: Moment
    text: Words
    task: str


@frozen
class Asked:
    """What is taken as done though nobody noted it; ``more``: so many are not listed."""

    doubts: tuple[Doubt, ...]
    more: int

    @property
    def texts(self) -> list[str]:
        """The lines that it takes on paper besides its head."""
        listed = (f"not done: {each.at.shown} {each.text.shown}" for each in self.doubts)
        return [HOW_TO_ANSWER, *listed]


def asked_view(asked: Sequence[ToldTask], room: Room) -> Asked:
    """The questions of `today` as boxes."""
    doubts = tuple(_doubt(each, room) for each in asked[:_MOST_ASKED])
    return Asked(doubts, len(asked) - len(doubts))


def _doubt(told: ToldTask, room: Room) -> Doubt:
    task = told.task
    text = Words(f"{brief_text(task, room.tools)}{besides(room, task.id)}")
    return Doubt(moment(task.at, f"{task.id}#at"), text, task.id)
