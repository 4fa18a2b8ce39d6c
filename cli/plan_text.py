"""The screen of ``livefood plan``: days, tasks, supply against need, shortfalls, cost."""

from __future__ import annotations

from cli.text import WIDTH, columns, day_text, food_name, grams, number, when, wrapped
from cli.today_text import feed_table, shortfall_text, task_text
from cultures.planning.plan import Outlook
from cultures.planning.tasks import Plan, Supply

#: Tasks that belong to a round and are listed with its feeding only.
_OF_A_ROUND = ("feed", "soak", "harvest_worms")


def screen(outlook: Outlook, plan: Plan, *, feeding: bool, why: bool) -> str:
    """The whole screen."""
    units = outlook.room.units
    parts = [f"{plan.room}, {when(plan.start)} to {when(plan.end)}"]
    days: dict[str, list[str]] = {}
    for task in plan.tasks:
        if task.what in _OF_A_ROUND and not feeding:
            continue
        lines = days.setdefault(day_text(task.at), [])
        lines.append(wrapped(task_text(task, units), 9, f"  {task.at:%H:%M}"))
        if why:
            lines.append(wrapped(task.why, 11, " " * 11))
        if feeding and task.what == "feed":
            given = [x for x in plan.lines if x.at == task.at and x.amount > 0]
            lines += ["", feed_table(given), ""]
    parts += ["\n".join([day, *lines]) for day, lines in days.items()]
    parts.append(balance(outlook.supply()))
    if plan.shortfalls:
        parts.append(
            "\n".join(["SHORTFALLS", *(x for s in plan.shortfalls for x in shortfall_text(s))])
        )
    else:
        parts.append("No shortfall is coming in this time.")
    cost = plan.cost
    parts.append(
        f"In all: {number(cost['hatches'])} hatches with {grams(cost['cysts_g'], units)} of cysts,"
        f" {number(cost['splits'])} splits\nwith {grams(cost['medium_g'], units)} of medium."
    )
    return "\n\n".join(parts)


def balance(supplies: list[Supply]) -> str:
    """A bar for each food and day: how much of the ideal diet the plan gives."""
    foods = list(dict.fromkeys(s.food for s in supplies if s.need_j > 0 or s.given_j > 0))
    days = sorted({s.day for s in supplies})
    by = {(s.food, s.day): s for s in supplies}
    room_for = WIDTH - 16
    step = -(-len(days) // room_for)
    shown = days[::step]
    rows = []
    for food in sorted(foods):
        bars = "".join(_mark(by.get((food, day))) for day in shown)
        rows.append([food_name(food), bars])
    head = (
        f"GIVEN AGAINST THE IDEAL DIET, one mark {'a day' if step == 1 else f'every {step} days'}"
    )
    legend = "  # whole need   + more than half   - less than half   ! none   . not wanted"
    return "\n".join([head, columns(rows), legend])


def _mark(supply: Supply | None) -> str:
    if supply is None or supply.need_j <= 0:
        return "."
    share = supply.given_j / supply.need_j
    if share >= 0.9:
        return "#"
    return "+" if share >= 0.5 else "-" if share > 0.01 else "!"
