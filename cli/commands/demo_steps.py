"""What ``livefood demo`` does and prints."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from cli.commands.demo_room import demo_text
from cli.files import write_new
from cli.options import Setting, clock, load
from cli.screens.today import is_shown, screen, shown_tasks, shown_until, this_round
from cli.telling import tell
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of, tasks_of
from cultures.tasks.plan import Plan


def run_demo(folder: Path, now: datetime | None, *, force: bool) -> str:
    """Writes the demo room and its calendar; the screen to show.

    Raises:
        LivefoodError: a file is there already or cannot be written.
    """
    path = folder / "room.toml"
    moment = now or clock()
    today = moment.date() if moment is not None else datetime.now().astimezone().date()
    write_new(path, demo_text(today), force=force)
    setting = load(path, now)
    outlook = make_outlook(setting.room, now=setting.now)
    plan = plan_of(outlook)
    first = this_round(outlook)
    rounds = [first] if first else []
    text = screen(outlook, plan, tasks_of(outlook), rounds=rounds)
    until = shown_until(outlook, rounds)
    tell(setting, outlook, shown_tasks(outlook, tasks_of(outlook), rounds), "today",
         lambda told: is_shown(told.task, rounds, until))  # fmt: skip
    calendar = folder / "livefood.ics"
    return (
        f"{text}\n\nWrote {path} (the demo room)"
        f"\nand {calendar} ({_export(setting, plan, calendar)} entries"
        f" for a phone calendar).\n\nGo on with:\n  livefood plan --room {path}"
        f"\n  livefood need --room {path}\n  livefood sheet --room {path}"
        f"\n  livefood calendar --room {path} --out food.ics"
    )


def _export(setting: Setting, plan: Plan, target: Path) -> int:
    """Writes the calendar; the number of entries in it."""
    from calendars.export import write_calendar
    from calendars.from_plan import entries_of, wishes_of
    from calendars.ics import Header
    from calendars.identity import namespace

    wishes = wishes_of(setting.room, only=(), todos=False, per_day=None)
    outcome = write_calendar(
        target,
        entries_of(plan, wishes, setting.now),
        header=Header(f"{setting.room.name}: live food", None),
        now=setting.now,
        identity=lambda: namespace(setting.path),
    )
    return outcome.entries
