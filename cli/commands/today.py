"""``livefood today``."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from cli.completion import tank_names
from cli.options import (
    UsageProblemError,
    Where,
    days_option,
    json_option,
    print_json,
    where_options,
)

if TYPE_CHECKING:
    from cultures.tasks.plan import Plan


@click.command("today")
@where_options
@days_option
@click.option("--next", "next_round", is_flag=True, help="The round after this one.")
@click.option("--all-day", is_flag=True, help="Every round of the day.")
@click.option(
    "--tank", metavar="NAME", shell_complete=tank_names,
    help="Only this tank in the feeding table.",
)  # fmt: skip
@click.option("--why", is_flag=True, help="Also the reason of everything.")
@click.option(
    "--cautions", is_flag=True,
    help="All cautions and recipes; else of what is done for the first time, or not for a month.",
)  # fmt: skip
@json_option
def command(
    where: Where, days: int | None, next_round: bool, all_day: bool, tank: str | None,
    why: bool, cautions: bool, as_json: bool,
) -> None:  # fmt: skip
    """What needs acting on, this round in the order of doing, what to set going, what can wait.

    Example: livefood today --tank A3
    """
    from cli.progress import planned
    from cli.screens.care import practice
    from cli.screens.check import unfilled_text
    from cli.screens.paint import echo, show
    from cli.screens.shown import this_round
    from cli.screens.today import screen
    from cli.telling import numbers_asked, tell_rounds
    from cultures.planning.leaving import next_absence
    from cultures.planning.telling import calendars_again, stale_sheets
    from cultures.record.since import since_advised

    if next_round and all_day:
        raise UsageProblemError("--next and --all-day do not go together; choose one")
    setting = where.load()
    present, today = setting.present, setting.now.date()
    if tank is not None:
        setting.room.tank(tank)
    outlook, plan = planned(setting, days)
    if as_json:
        print_json(_of_day(plan, today, tank))
        return
    of_day = [at for at in outlook.round_times() if at.date() == today]
    rounds = of_day if all_day else this_round(outlook, skip=int(next_round))
    asked, calendars = present.open_questions(), calendars_again(present, setting.path)
    if setting.unfilled:
        echo(f"{unfilled_text(setting.path)}\n")
    show(screen(
        outlook, plan, rounds=rounds, tank=tank, asked=asked, why=why,
        numbers=numbers_asked(setting, asked),
        practice=practice(outlook, present, everything=cautions),
        sheets=stale_sheets(outlook, present, setting.path),
        before=next_absence(setting.room, plan, setting.now, calendars),
        since=since_advised(present, setting.path), just_asked=present.just_asked(),
    ))  # fmt: skip
    tell_rounds(setting, outlook, rounds, plan, asked)


def _of_day(plan: Plan, today: date, tank: str | None) -> dict[str, Any]:
    """The plan with the tasks and rounds of one day; nothing is told by it."""
    tasks = [t.to_json() for t in plan.tasks if t.at.date() == today]
    lines = (x for x in plan.lines if x.at.date() == today and tank in (None, x.tank))
    return {**plan.to_json(), "tasks": tasks, "rounds": [x.to_json() for x in lines]}
