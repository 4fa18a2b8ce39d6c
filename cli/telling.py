"""Records what a command shows as the keeper's to do; says so where that cannot be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime

from cli.options import Setting
from cli.screens.paint import echo
from cli.screens.remarks import new_remarks
from cli.screens.shortfalls import advice_told
from cli.screens.shown import is_shown, shown_until
from cultures.errors import FileProblemError
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.planning.telling import bare_news, drafts, record_telling, tellings
from cultures.record.numbering import shown_numbers
from cultures.record.store import LOOK, Written
from cultures.tasks.plan import Act, Advice, OfStop, Plan
from cultures.tasks.task import OF_ROUND, Buy, Task
from cultures.tasks.told import Bare, ToldTask


def tell(
    setting: Setting, outlook: Outlook, tasks: Iterable[Task], by: str,
    covers: Callable[[ToldTask], bool], asked: Iterable[ToldTask] = (),
    printed: tuple[date, date] | None = None, advice: Sequence[Advice] | None = None,
    bare: Sequence[Bare] | None = None, written: Written | None = None,
) -> None:  # fmt: skip
    """Puts tasks into the record beside the room; with ``--now`` a command only looks.

    Args:
        by: which screen tells. covers, asked, printed, advice, bare, written: as `record_telling`
            has them.
    """
    if not setting.tells:
        return
    tasks = list(tasks)
    told = tellings(outlook, tasks, setting.now)
    try:
        record_telling(
            setting.path, setting.present, by, told, covers, asked, printed, advice, bare, tasks,
            written, drafts(outlook),
        )  # fmt: skip
    except FileProblemError as error:
        echo(f"What is told here is not recorded, so it will not count as done: {error}", err=True)


def numbers_asked(setting: Setting, asked: Sequence[ToldTask]) -> dict[str, int]:
    """The numbers of all that `journal due` lists, by id; kept where a look asks."""
    due, keep = setting.present.due(), bool(asked) and setting.tells
    numbers = shown_numbers(setting.path, due, setting.now, keep=keep)
    return {t.task.id: numbers[t.task.id] for t in due}


def tell_rounds(
    setting: Setting, outlook: Outlook, rounds: Sequence[datetime], plan: Plan,
    asked: Iterable[ToldTask] = (), has: Callable[[Task], bool] | None = None,
) -> None:  # fmt: skip
    """Tells what the screen of some rounds shows, what helps against what falls short, what that
    and foods that are said nearly to stop ask to be bought, and for which rounds ahead there is
    nothing.

    Args:
        has: which tasks stand on the screen, of those that `today` shows; None for all.
    """
    until, advice = shown_until(outlook, rounds), advice_told(plan, outlook.round_j())
    items = {x.stop.item for x in new_remarks(plan, outlook) if isinstance(x, OfStop)}
    items |= {a.of for a in advice if a.act is Act.BUY}

    def shown(task: Task) -> bool:
        if isinstance(task, Buy) and task.item in items:
            return True
        return (has is None or has(task)) and is_shown(task, rounds, until)

    tasks = [task for task in tasks_of(outlook) if shown(task)]
    bare = bare_news(setting.present, outlook)
    tell(setting, outlook, tasks, LOOK, lambda told: shown(told.task), asked, advice=advice,
         bare=bare)  # fmt: skip


def tell_to_do(setting: Setting, outlook: Outlook, rounds: Sequence[datetime]) -> None:
    """Tells what is to be set going and seen to until the round after some, and no round."""
    until = shown_until(outlook, rounds)

    def shown(task: Task) -> bool:
        return not isinstance(task, OF_ROUND) and is_shown(task, rounds, until)

    tasks = [task for task in tasks_of(outlook) if shown(task)]
    tell(setting, outlook, tasks, LOOK, lambda told: shown(told.task))
