"""What the helper's page holds besides the rounds: the days, the portions, whom to ask."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from cli.page.cards import round_view
from cli.page.desk import Desk
from cli.screens.today import cautions_of
from cli.sheet.helper_words import HOW, IF_WRONG, LEAVE_ALONE, MAINS
from cultures.foods.food import DRY
from cultures.planning.plan import tasks_of
from cultures.tasks.task import HELPERS_WORK, Soak
from cultures.words.quantities import day_text, dose, when

#: What is said of the room stands so long on the helper's page.
_REMARKED = timedelta(days=14)


def helper_look(desk: Desk) -> dict[str, Any]:
    """The rounds of today, where it is one of the days away, and what goes with them."""
    look = desk.look()
    room, now = look.outlook.room, look.setting.now
    away = next((a for a in room.away if a.helper and now.date() <= a.end), None)
    ask = [text for at, text in room.remarks.get("room", ()) if now - at < _REMARKED]
    care = [MAINS]
    view: dict[str, Any] = {
        "rounds": [], "over": [], "soon": [], "portions": [], "ask": ask, "how": HOW,
        "alone": LEAVE_ALONE, "wrong": IF_WRONG, "care": care,
        "days": "No days with a helper lie ahead in the room file. There is nothing to do.",
    }  # fmt: skip
    if away is None:
        return view
    view["days"] = f"You feed from {day_text(away.start)} to {day_text(away.end)}."
    tasks = [t for t in tasks_of(look.outlook) if isinstance(t, HELPERS_WORK)
             and away.start <= t.at.date() <= away.end]  # fmt: skip
    care[:0] = cautions_of(tasks)
    view["portions"] = [
        f"{when(t.until)}: " + ", ".join(
            f"{x.tank} {dose(x.amount, x.unit, room.units)}"
            for x in look.plan.lines if x.at == t.until and x.food == DRY and x.amount > 0
        )
        for t in tasks if isinstance(t, Soak)
    ]  # fmt: skip
    if away.start <= now.date():
        at = [r for r in look.rounds if away.start <= r.date() <= away.end]
        view["rounds"] = [round_view(look, r, tasks) for r in at]
        view["soon"] = [when(r) for r in at]
        view["over"] = [
            round_view(look, r, tasks) for r in look.outlook.round_times()
            if look.outlook.is_noted(r)
        ]  # fmt: skip
    return view
