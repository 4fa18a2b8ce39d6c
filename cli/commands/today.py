"""``livefood today``."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.completion import tank_names
from cli.options import (
    UsageProblemError,
    days_option,
    json_option,
    load,
    now_option,
    print_json,
    room_option,
)
from cultures.planning.plan import plan_of, tasks_of

if TYPE_CHECKING:
    from cultures.tasks.plan import Plan


@click.command("today")
@room_option
@now_option
@days_option
@click.option("--next", "next_round", is_flag=True, help="The round after this one.")
@click.option("--all-day", is_flag=True, help="Every round of the day.")
@click.option(
    "--tank", metavar="NAME", shell_complete=tank_names,
    help="Only this tank in the feeding table.",
)  # fmt: skip
@json_option
def command(
    room_path: Path, now: datetime | None, days: int | None, next_round: bool, all_day: bool,
    tank: str | None, as_json: bool,
) -> None:  # fmt: skip
    """This round in the order of doing, what to set going, and what to watch.

    Example: livefood today --tank A3
    """
    from cli.progress import working
    from cli.screens.absence import next_absence
    from cli.screens.paint import show
    from cli.screens.today import is_shown, screen, shown_tasks, shown_until, this_round
    from cli.telling import tell
    from cultures.planning.outlook import make_outlook

    if next_round and all_day:
        raise UsageProblemError("--next and --all-day do not go together; choose one")
    setting = load(room_path, now)
    if tank is not None:
        setting.room.tank(tank)
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        plan = plan_of(outlook)
    if as_json:
        _print_day(plan, setting.now.date(), tank)
        return
    first = this_round(outlook, skip=1 if next_round else 0)
    rounds = [first] if first is not None else []
    if all_day:
        today = setting.now.date()
        rounds = [at for at in outlook.round_times() if at.date() == today]
    asked = setting.present.open_questions() if setting.present is not None else []
    show(screen(
        outlook, plan, tasks_of(outlook), rounds=rounds, tank=tank, asked=asked,
        before=next_absence(setting.room, plan, setting.now),
    ))  # fmt: skip
    until = shown_until(outlook, rounds)
    tell(setting, outlook, shown_tasks(outlook, tasks_of(outlook), rounds), "today",
         lambda told: is_shown(told.task, rounds, until), [t for _, t in asked])  # fmt: skip


def _print_day(plan: Plan, day: date, tank: str | None) -> None:
    """The plan as JSON with the tasks and rounds of one day; nothing is told by it."""
    data = plan.to_json()
    data["tasks"] = [t.to_json() for t in plan.tasks if t.at.date() == day]
    data["rounds"] = [
        x.to_json() for x in plan.lines if x.at.date() == day and tank in (None, x.tank)
    ]
    print_json(data)
