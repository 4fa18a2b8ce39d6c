"""``livefood shortfalls``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import days_option, json_option, load, now_option, print_json, room_option
from cultures.planning.plan import plan_of

if TYPE_CHECKING:
    from cultures.planning.outlook import Outlook


@click.command("shortfalls")
@room_option
@now_option
@days_option
@click.option(
    "--spares", is_flag=True, help="Also what one more spare culture or vessel would change."
)
@click.option("--strict", is_flag=True, help="Exit with code 1 if anything falls short.")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    room_path: Path,
    now: datetime | None,
    days: int | None,
    spares: bool,
    strict: bool,
    as_json: bool,
) -> None:
    """What will run short, on which days, for which tanks, why, and what still helps.

    \b
    Examples:
      livefood shortfalls --days 14 --strict
      livefood shortfalls --spares
    """
    from cli.progress import working
    from cli.screens.balance import balance
    from cli.screens.paint import show
    from cli.screens.today import all_shortfalls, stopped_foods
    from cultures.planning.outlook import make_outlook

    setting = load(room_path, now)
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        plan = plan_of(outlook, risk=True)
        effects = _spares(outlook) if spares else {}
    found = plan.shortfalls
    if as_json:
        listed = [s.to_json() for s in found]
        print_json({"shortfalls": listed, "spares": effects} if spares else listed)
    else:
        units = setting.room.units
        show(all_shortfalls(found, outlook.until, units, risk=True, notes=plan.notes))
        if found or stopped_foods(plan.notes):
            show(f"\n{balance(outlook.supply())}")
        if effects:
            width = max(len(name) for name in effects)
            rows = [f"  {name:{width}}  {share:4.0%}" for name, share in effects.items()]
            show(
                "\n".join(
                    ["", "CHANCE THAT A ROUND FALLS SHORT, on average where somebody feeds", *rows]
                )
            )
    if strict and any(not s.thin for s in found):
        ctx.exit(1)


def _spares(outlook: Outlook) -> dict[str, float]:
    from cultures.planning.risk import spare_effects

    return {name: round(share, 4) for name, share in spare_effects(outlook).items()}
