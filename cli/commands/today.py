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
    from cli.options import Setting
    from cultures.planning.outlook import Outlook
    from cultures.planning.printed import Stale
    from cultures.record.since import Since
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
    "--cautions",
    is_flag=True,
    help="All cautions and recipes; else of what is done for the first time, or not for a month.",
)
@json_option
def command(
    where: Where, days: int | None, next_round: bool, all_day: bool, tank: str | None,
    why: bool, cautions: bool, as_json: bool,
) -> None:  # fmt: skip
    """What needs acting on, this round in the order of doing, what to set going, what can wait.

    Example: livefood today --tank A3
    """
    from cli.progress import planned
    from cli.screens.absence import next_absence
    from cli.screens.care import practice
    from cli.screens.paint import show
    from cli.screens.today import Manner, screen, this_round
    from cli.telling import tell_rounds
    from cultures.planning.plan import tasks_of

    if next_round and all_day:
        raise UsageProblemError("--next and --all-day do not go together; choose one")
    setting = where.load()
    if tank is not None:
        setting.room.tank(tank)
    outlook, plan = planned(setting, days)
    if as_json:
        print_json(_day_json(plan, setting.now.date(), tank))
        return
    rounds = this_round(outlook, skip=1 if next_round else 0)
    if all_day:
        today = setting.now.date()
        rounds = [at for at in outlook.round_times() if at.date() == today]
    asked = setting.present.open_questions()
    show(screen(
        outlook, plan, tasks_of(outlook), rounds=rounds, tank=tank, asked=asked,
        sheets=_stale(setting, outlook),
        manner=Manner(practice(outlook, setting.present, setting.now, everything=cautions), why),
        before=next_absence(setting.room, plan, setting.now), since=_since(setting),
    ))  # fmt: skip
    tell_rounds(setting, outlook, rounds, plan, [told for _, told in asked])


def _stale(setting: Setting, outlook: Outlook) -> list[Stale]:
    """The printed sheets that no longer hold."""
    if not setting.present.record.printed:
        return []
    from cultures.planning.printed import stale_sheets

    return stale_sheets(outlook, setting.present, setting.path)


def _since(setting: Setting) -> Since | None:
    """What happened since advice was told."""
    if setting.present is None or setting.present.record.advised is None:
        return None
    from cultures.record.since import since_advised

    return since_advised(setting.present, setting.path)


def _day_json(plan: Plan, day: date, tank: str | None) -> dict[str, Any]:
    """The plan as JSON with the tasks and rounds of one day; nothing is told by it."""
    return {
        **plan.to_json(),
        "tasks": [t.to_json() for t in plan.tasks if t.at.date() == day],
        "rounds": [
            x.to_json() for x in plan.lines if x.at.date() == day and tank in (None, x.tank)
        ],
    }
