"""The screen of ``livefood plan``: days, tasks, supply against need, shortfalls, cost."""

from __future__ import annotations

from collections.abc import Sequence

from cli.screens.balance import balance
from cli.screens.feeding import walk
from cli.screens.orders import orders_list
from cli.screens.remarks import notes_text
from cli.screens.shortfalls import all_shortfalls, certainty_text
from cli.screens.text import (
    block,
    bullets,
    columns,
    joined,
    screen_width,
    time_width,
    timed,
    wrapped,
)
from cultures.planning.on_order import besides
from cultures.planning.outlook import Outlook
from cultures.tasks.plan import Plan, SupplyUse
from cultures.tasks.task import Feed, HarvestWorms, Soak, Split, Start
from cultures.words.grouped import alike, group_text, reasons, together
from cultures.words.moments import day_text, spoken_day, when
from cultures.words.quantities import grams, in_units, many, number
from cultures.words.tasks import left_out

#: Tasks that belong to a round and are listed with its feeding only.
_OF_A_ROUND = (Feed, Soak, HarvestWorms)
#: What hatches and splits cost, by the key of it.
_USED = (("cysts_g", "cysts"), ("medium_g", "medium"))
#: So many weeks of supplies fit the screen.
_WEEKS = 4


def screen(outlook: Outlook, plan: Plan, *, feeding: bool, why: bool, risk: bool = False) -> str:
    """The whole screen; ``risk`` says that thin margins were looked for."""
    tools, units = outlook.room.tools, outlook.room.units
    indent = time_width(units)
    title = f"{plan.room}, {when(plan.start, units)} to {when(plan.end, units)}"
    parts = [title if len(title) <= screen_width() else wrapped(title)]
    days: dict[str, list[str]] = {}
    kinds = {culture.name: culture.kind for culture in plan.cultures}
    tasks = [t for t in plan.tasks if feeding or not isinstance(t, _OF_A_ROUND)]
    for group in together(tasks, lambda t: alike(t, kinds.get(t.subject, ""))):
        first = group[0]
        lines = days.setdefault(day_text(first.at, units), [])
        lines.append(timed(group_text(group, tools), first.at, units))
        if why:
            lines += [wrapped(reason, indent + 2) for reason in reasons(group, units)]
        if isinstance(first, Feed):
            every = plan.lines_at(first.at)
            skipped, given = left_out(every), [x for x in every if x.amount > 0]
            lines += ["", walk(given, tools, total=True)]
            lines += [*([wrapped(skipped, 4, "  ")] if skipped else []), ""]
    parts += ["\n".join([day, *lines]).rstrip() for day, lines in days.items()]
    parts.append(balance(plan.supply, units))
    parts.append(all_shortfalls(plan.shortfalls, plan.end, units, risk=risk, doubted=plan.doubted))
    parts.append(certainty_text(plan, units))
    parts.append(notes_text(plan.notes, units))
    parts.append(_stock(plan.supplies, units))
    parts.append(block("ON ORDER", bullets(orders_list(outlook.room))))
    parts.append(_cost(outlook, plan))
    return joined(parts)


def _stock(supplies: Sequence[SupplyUse], units: str) -> str:
    """What the coming weeks want, what there is, and by when to buy."""
    if not supplies:
        return ""
    weeks = min(_WEEKS, max(len(use.weeks_g) for use in supplies))
    rows = [["", *(f"week {n + 1}" for n in range(weeks)), "in stock", "buy by"]]
    for use in supplies:
        stock = "not stated" if use.stock_g is None else grams(use.stock_g, units)
        buy = day_text(use.buy_by, units) if use.buy_by else "-"
        used = [grams(week, units) if week else "-" for week in use.weeks_g[:weeks]]
        rows.append([use.item.replace("_", " "), *used, stock, buy])
    return "\n".join(["NEEDED, by week", columns(rows, right=range(1, weeks + 3), head=True)])


def _cost(outlook: Outlook, plan: Plan) -> str:
    """What is set and split, and how that agrees with what is needed by week."""
    cost, units = plan.cost, outlook.room.units
    hatches, splits = cost["hatches"], cost["splits"]
    told = [f"with {grams(cost[key], units)} of {of}" for key, of in _USED]
    each = (
        f"{many(int(hatches), 'hatch')} {told[0]}" if hatches == 1 else
        f"{number(hatches)} hatches {told[0]}" if hatches else "no hatches",
        f"{many(int(splits), 'split')} {told[1]}" if splits else "no splits",
    )  # fmt: skip
    wanting, dry = _wanting_g(outlook), _bought_g(outlook, plan)
    short = any(s.certain and not s.passes for s in plan.shortfalls)
    said = _wanting(outlook, cost["cysts_g"], wanting, short=short)
    more = f" ({said})" if wanting else ""
    stock = grams(dry, units)
    water = (
        ""
        if stock == grams(cost["medium_g"], units)
        else f", {stock} of it as bought, the rest water"
    )
    return wrapped(f"In all: {each[0]}{more}, {each[1]}{water if splits else ''}.")


def _wanting(outlook: Outlook, set_g: float, wanting_g: float, *, short: bool = True) -> str:
    """That the tin does not hold what is wanted, or is kept for what is wanted later; and what is
    on order.

    Args:
        short: somebody goes short in the time shown; else what is set later would feed the days
            after it.
    """
    room = outlook.room
    more, cysts = grams(wanting_g, outlook.room.units), outlook.room.cysts
    if cysts is not None and set_g + wanting_g <= cysts.grams:
        return f"{more} less than is wanted, for the tin is shared out"
    until = spoken_day(outlook.until, outlook.now, outlook.room.units)
    held = f"the tin holds {grams(cysts.grams, outlook.room.units)}" if cysts else "there are none"
    held += in_units(besides(room, "cysts", outlook.now, outlook.now), room.units)
    if not short:
        return f"{more} more would be set for the days after {until}, and {held}"
    return f"{more} more are needed until {until}, and {held}"


def _wanting_g(outlook: Outlook) -> float:
    """Cysts that hatches of the shown time would take besides, and that are not there [g]."""
    short = outlook.feeding.hatches.tin_short
    found = sum(g for at_h, g in short if outlook.room.at_hour(at_h) < outlook.until)
    return round(found, 1)


def _bought_g(outlook: Outlook, plan: Plan) -> float:
    """What the medium of all splits takes out of the cupboard [g]; the table counts that."""
    planned = [s.culture for worms in outlook.feeding.worms.values() for s in worms.splits]
    bought = {c.name: c.bought_g for c in (*outlook.room.cultures, *planned)}
    made = [t for t in plan.tasks if isinstance(t, Split | Start)]
    return sum(bought.get(t.other or t.subject, t.medium_g) for t in made)
