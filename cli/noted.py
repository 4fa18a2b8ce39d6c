"""What the journal says about the work of the last day: noted, or planned and not noted."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from attrs import frozen

from cli.options import Setting, load_file

if TYPE_CHECKING:
    from cultures.planning.tasks import Task

#: Work is looked back for so long.
_BACK = timedelta(hours=24)


@frozen(eq=False)
class Noted:
    """The planned work of the last day as the journal has it.

    Attributes:
        since: looked at from then on. done: ids of tasks that an entry tells of.
        missing: tasks whose time has come and of which no entry tells, by time.
    """

    since: datetime
    done: frozenset[str]
    missing: tuple[Task, ...]


def look_up(setting: Setting) -> Noted | None:
    """What of the last day's work is noted; None where no journal is kept.

    Raises:
        LivefoodError: a file cannot be read or is wrong.
    """
    path = setting.path.with_name("journal.csv")
    if not path.exists():
        return None
    from cultures.journal import read_journal
    from cultures.journal_due import EARLY, TICKED, due_tasks
    from cultures.planning.plan import make_outlook
    from cultures.state import room_at

    plain = load_file(setting.path, setting.now).room
    entries = [e for e in read_journal(path, plain.timezone).effective() if e.when <= setting.now]
    if not entries:
        return None
    since = max(setting.now - _BACK, plain.local(plain.as_of, time(0)))
    room = room_at(plain, [e for e in entries if e.when <= since], setting.now)
    tasks = make_outlook(room, now=setting.now).tasks()
    due = due_tasks(room, tasks, entries, since=since, now=setting.now)
    open_ids = {each.task.id for each in due}
    looked_at = [
        t for t in tasks if t.what in TICKED and since <= t.at <= setting.now + EARLY
    ]  # fmt: skip
    return Noted(
        since=since,
        done=frozenset(t.id for t in looked_at if t.id not in open_ids),
        missing=tuple(t for t in looked_at if t.id in open_ids and t.at <= setting.now),
    )
