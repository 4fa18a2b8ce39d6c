"""``livefood shortfalls``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.options import days_option, json_option, load, now_option, print_json, room_option


@click.command("shortfalls")
@room_option
@now_option
@days_option
@click.option("--strict", is_flag=True, help="Exit with code 1 if anything falls short.")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    room_path: Path,
    now: datetime | None,
    days: int | None,
    strict: bool,
    as_json: bool,
) -> None:
    """What will run short, on which days, for which tanks, why, and what still helps.

    Example: livefood shortfalls --days 14 --strict
    """
    from cli.balance_text import balance
    from cli.paint import show
    from cli.progress import working
    from cli.today_text import all_shortfalls, stopped_foods
    from cultures.planning.plan import make_outlook

    setting = load(room_path, now)
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        plan = outlook.plan(risk=True)
    found = plan.shortfalls
    if as_json:
        print_json([s.to_json() for s in found])
    else:
        units = setting.room.units
        show(all_shortfalls(found, outlook.until, units, risk=True, notes=plan.notes))
        if found or stopped_foods(plan.notes):
            show(f"\n{balance(outlook.supply())}")
    if strict and any(not s.thin for s in found):
        ctx.exit(1)
