"""Records what a command shows as the keeper's to do; says so where that cannot be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from cli.options import Setting
from cli.screens.paint import echo
from cultures.errors import FileProblemError

if TYPE_CHECKING:
    from cultures.planning.outlook import Outlook
    from cultures.tasks.task import Task
    from cultures.tasks.told import ToldTask


def tell(
    setting: Setting, outlook: Outlook, tasks: Iterable[Task], by: str,
    covers: Callable[[ToldTask], bool], asked: Iterable[ToldTask] = (),
    printed: tuple[date, date] | None = None,
) -> None:  # fmt: skip
    """Puts tasks into the record beside the room; with ``--now`` a command only looks.

    Args:
        by: which screen tells. covers, asked, printed: as `record_telling` has them.
    """
    if not setting.tells or setting.present is None:
        return
    from cultures.planning.telling import record_telling, tellings

    told = tellings(outlook, tasks, setting.now)
    try:
        record_telling(setting.path, setting.present, by, told, covers, asked, printed)
    except FileProblemError as error:
        echo(f"What is told here is not recorded, so it will not count as done: {error}", err=True)


def tell_rounds(
    setting: Setting, outlook: Outlook, rounds: Sequence[datetime], asked: Iterable[ToldTask] = ()
) -> None:
    """Tells what the screen of some rounds shows."""
    from cli.screens.today import is_shown, shown_tasks, shown_until
    from cultures.planning.plan import tasks_of

    until = shown_until(outlook, rounds)
    tell(setting, outlook, shown_tasks(outlook, tasks_of(outlook), rounds), "today",
         lambda told: is_shown(told.task, rounds, until), asked)  # fmt: skip
