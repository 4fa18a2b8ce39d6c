"""``livefood shortfalls``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from cli.options import Where, days_option, json_option, print_json, where_options

if TYPE_CHECKING:
    from cultures.planning.outlook import Outlook
    from cultures.tasks.plan import Plan


@click.command("shortfalls")
@where_options
@days_option
@click.option(
    "--spares", is_flag=True, help="Also what one more spare culture or vessel would change."
)
@click.option("--strict", is_flag=True, help="Exit with code 1 if anything falls short.")
@json_option
@click.pass_context
def command(
    ctx: click.Context, where: Where, days: int | None, spares: bool, strict: bool, as_json: bool
) -> None:
    """What will run short, on which days, for which tanks, why, and what still helps.

    \b
    Examples:
      livefood shortfalls --days 14 --strict
      livefood shortfalls --spares
    """
    from cli.progress import planned
    from cli.screens.paint import show
    from cli.working import working

    outlook, plan = planned(where.load(), days, risk=True)
    effects: dict[str, float] = {}
    if spares:
        from cultures.planning.risk import spare_effects

        with working("Planning"):
            effects = {name: round(share, 4) for name, share in spare_effects(outlook).items()}
    if as_json:
        listed = [s.to_json() for s in plan.shortfalls]
        listed += [stop.to_json() for stop in plan.stops]
        print_json({"shortfalls": listed, "spares": effects} if spares else listed)
    else:
        show(_screen(outlook, plan, effects))
    if strict and any(s.certain for s in plan.shortfalls):
        ctx.exit(1)


def _screen(outlook: Outlook, plan: Plan, effects: Mapping[str, float]) -> str:
    from cli.screens.balance import balance
    from cli.screens.shortfalls import all_shortfalls, certainty_text, starter_text
    from cli.screens.text import columns, joined, wrapped

    parts = [
        all_shortfalls(plan.shortfalls, outlook.until, outlook.room.units, risk=True,
                       stops=plan.stops, doubted=plan.doubted)
    ]  # fmt: skip
    remedies = [remedy for s in plan.shortfalls for remedy in s.remedies]
    parts.append(wrapped(starter_text(remedies, outlook.room)))
    parts.append(certainty_text(plan, outlook.room.units))
    if plan.shortfalls or plan.stops:
        parts.append(balance(outlook.supply(), outlook.room.units))
    if effects:
        rows = [[name, f"{share:4.0%}"] for name, share in effects.items()]
        head = "CHANCE THAT A ROUND FALLS SHORT, on average where somebody feeds"
        parts.append(f"{head}\n{columns(rows, right=[1])}")
    return joined(parts)
