"""``livefood plan``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click
from attrs import evolve

from cli.options import (
    Setting,
    UsageProblemError,
    Where,
    answer,
    days_option,
    json_option,
    where_options,
)

if TYPE_CHECKING:
    from cultures.room.room import Room
    from cultures.tasks.plan import Plan


@click.command("plan")
@where_options
@days_option
@click.option("--feeding", is_flag=True, help="Show the feeding table of every round too.")
@click.option("--why", is_flag=True, help="Give the reason of every task.")
@click.option(
    "--if", "suppositions", multiple=True, metavar="TEXT",
    help="Suppose something and show what would change; see above. Can be repeated.",
)  # fmt: skip
@click.option(
    "--risk", is_flag=True, help="Work out how likely each shortfall is, and thin margins."
)
@json_option
def command(
    where: Where, days: int | None, feeding: bool, why: bool, suppositions: tuple[str, ...],
    risk: bool, as_json: bool,
) -> None:  # fmt: skip
    """Tasks and feeding for the coming weeks, day by day.

    Example: livefood plan --days 7 --why

    \b
    With --if, what would change if (days like 2027-01-08):
      spawn CLASS COUNT [in TANK] on DAY       lose NAME [on DAY]
      temperature DEGREES [of TANK] from DAY to DAY
      count BROOD COUNT                        vessel LITRES [at DEGREES]
      buy GRAMS cysts, buy KIND [on DAY]       warm VESSEL
      away from DAY to DAY [with helper]
      helper from DAY to DAY
    Names as in the room file: --if "lose bottle 1"
    buy KIND is a starter, put on new medium that day; no ripe culture.
    """
    from cli.progress import planned
    from cli.screens.paint import show
    from cli.screens.plan import screen

    if suppositions and feeding:
        raise UsageProblemError(
            "--feeding does not go with --if, which shows what changes; leave one of them out"
        )
    setting = where.load()
    outlook, plan = planned(setting, days, risk=risk)
    plan = _open(plan, outlook.room)
    if suppositions:
        _compare(setting, plan, suppositions, days, risk=risk, as_json=as_json)
        return
    answer(as_json, plan.to_json,
           lambda: screen(outlook, plan, feeding=feeding, why=why, risk=risk), show)  # fmt: skip


def _open(plan: Plan, room: Room) -> Plan:
    """A plan without what is noted of a round in hand, which is planned as it was told."""
    return evolve(plan, tasks=tuple(t for t in plan.tasks if t.id not in room.answered))


def _compare(
    setting: Setting, before: Plan, suppositions: tuple[str, ...], days: int | None, *,
    risk: bool, as_json: bool,
) -> None:  # fmt: skip
    from cli.screens.paint import show
    from cli.screens.what_if import screen
    from cultures.planning.carry import Carry
    from cultures.planning.plan import make_plan
    from cultures.planning.what_if import compare, settings_and_splits, suppose

    # The present plan counts as told, so that only what must move does.
    room = evolve(setting.room, told=settings_and_splits(before, setting.room.told), drafted=())
    for text in suppositions:
        room = suppose(room, text, setting.now)
    after = _open(make_plan(room, now=setting.now, days=days, risk=risk), setting.room)
    found = compare(suppositions, before, after)
    known = {brood.name for brood in setting.room.every_brood}
    new = tuple(brood for brood in room.broods if brood.name not in known)
    there = evolve(room, broods=tuple(brood for brood in room.broods if brood not in new))
    wishes = [*Carry(there, setting.now, tell=False).ask(new)]
    answer(
        as_json,
        lambda: {**found.to_json(), "spawned": [
            {"brood": w.text, "count": w.wanted, **w.trial_json()} for w in wishes
        ]},
        lambda: screen(setting.room, found, wishes, risk=risk), show,
    )  # fmt: skip
