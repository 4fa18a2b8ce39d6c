"""``livefood today``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

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
    from cli.noted import look_up
    from cli.paint import show
    from cli.progress import working
    from cli.today_text import screen, this_round
    from cultures.planning.plan import make_outlook

    if next_round and all_day:
        raise UsageProblemError("--next and --all-day do not go together; choose one")
    setting = load(room_path, now)
    if tank is not None:
        setting.room.tank(tank)
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        plan = outlook.plan()
        noted = None if as_json else look_up(setting)
    if as_json:
        day = setting.now.date()
        data = plan.to_json()
        data["tasks"] = [t.to_json() for t in plan.tasks if t.at.date() == day]
        data["rounds"] = [
            x.to_json() for x in plan.lines if x.at.date() == day and tank in (None, x.tank)
        ]
        print_json(data)
        return
    first = this_round(outlook, skip=1 if next_round else 0)
    rounds = [first] if first is not None else []
    if all_day:
        today = setting.now.date()
        rounds = [r.at for r in outlook.feedings if r.at.date() == today and not r.over]
    show(screen(
        outlook, plan, outlook.tasks(), rounds=rounds, tank=tank, noted=noted, all_day=all_day,
    ))  # fmt: skip
