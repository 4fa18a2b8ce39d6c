"""``livefood plan``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.options import days_option, json_option, load, now_option, print_json, room_option


@click.command("plan")
@room_option
@now_option
@days_option
@click.option("--feeding", is_flag=True, help="Show the feeding table of every round too.")
@click.option("--why", is_flag=True, help="Give the reason of every task.")
@json_option
def command(
    room_path: Path, now: datetime | None, days: int | None, feeding: bool, why: bool, as_json: bool
) -> None:
    """Tasks and feeding for the coming weeks, day by day.

    Example: livefood plan --days 7 --why
    """
    from cli.paint import show
    from cli.plan_text import screen
    from cli.progress import working
    from cultures.planning.plan import make_outlook

    setting = load(room_path, now)
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        plan = outlook.plan()
    if as_json:
        print_json(plan.to_json())
        return
    show(screen(outlook, plan, feeding=feeding, why=why))
