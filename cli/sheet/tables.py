"""Cultures with age and remaining life, and shortfalls with what still helps."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from cli.screens.shortfalls import short_food
from cli.sheet.markup import bullets, data, day, esc, moment_text, plan_words, table
from cultures.planning.outlook import Outlook
from cultures.tasks.plan import CultureSpan, Plan, Shortfall
from cultures.words.quantities import grams, in_units


def cultures_table(outlook: Outlook, plan: Plan) -> str:
    """The cultures that stand now: age, from when they give, how long they last."""
    rows = []
    for span in plan.cultures:
        if span.started > plan.start:
            continue
        of = f"culture/{span.name}"
        age = (plan.start.date() - span.started.date()).days
        label = outlook.room.kinds[span.kind].label
        rows.append([
            f'{plan_words(span.name)} <span class="brood">{plan_words(label)}</span>',
            f"{data(str(age), age, f'{of}#age_days')} days",
            _gives(span, plan.start),
            day(span.spent_on, f"{of}#spent_on") if span.spent_on else "longer than planned",
            _days_left(span, plan.start),
        ])  # fmt: skip
    if not rows:
        return "<p>No culture stands.</p>"
    head = ["culture", "age", "gives", "good until", "life left"]
    return table("Cultures that stand now", head, rows, name="cultures", right=(1, 4))


def _gives(span: CultureSpan, now: datetime) -> str:
    if span.usable_from is None:
        return "not in this plan"
    if span.usable_from <= now:
        return "now"
    return f"from {day(span.usable_from, f'culture/{span.name}#usable_from')}"


def _days_left(span: CultureSpan, now: datetime) -> str:
    if span.spent_on is None:
        return "–"
    left = (span.spent_on.date() - now.date()).days
    shown = data(str(left), left, f"culture/{span.name}#days_left")
    return f"{shown} days" if left > 0 else "spent"


def stock_table(plan: Plan, units: str) -> str:
    """What the first week wants, what there is, and by when to buy."""
    rows = []
    for use in plan.supplies:
        of, week = f"supplies/{use.item}", use.weeks_g[0] if use.weeks_g else 0.0
        used = data(grams(week, units), week, f"{of}#weeks_g/0") if week else "–"
        stock = "not told"
        if use.stock_g is not None:
            stock = data(grams(use.stock_g, units), use.stock_g, f"{of}#stock_g")
        buy = day(use.buy_by, f"{of}#buy_by") if use.buy_by else "–"
        rows.append([plan_words(use.item.replace("_", " ")), used, stock, buy])
    if not rows:
        return ""
    head = ["supply", "a week", "in stock", "buy by"]
    return table("Wanted in the first week", head, rows, right=(1, 2))


def shortfall_blocks(shortfalls: Sequence[tuple[int, Shortfall]], units: str) -> str:
    """What falls short, and what still helps by when; each with its place in the plan."""
    if not shortfalls:
        return (
            "<p>By the plan nothing falls short in this time. How likely a mishap is:"
            " livefood shortfalls.</p>"
        )
    return "".join(_shortfall(i, s, units) for i, s in shortfalls if not s.thin)


def _shortfall(index: int, s: Shortfall, units: str) -> str:
    of = f"shortfall/{index}"
    span = moment_text(s.at, f"{of}#at")
    if s.rounds > 1:
        rounds = data(str(s.rounds), s.rounds, f"{of}#rounds")
        span += f" to {moment_text(s.until, f'{of}#until')}, {rounds} rounds"
    share = min(1.0, s.short_j / s.need_j) if s.need_j else 1.0
    part = data(f"{share:.0%}", share, f"{of}#short_j/need_j")
    tanks = ", ".join(plan_words(tank) for tank in s.tanks)
    items = []
    for n, remedy in enumerate(s.remedies):
        covers = min(1.0, remedy.effect_j / s.short_j)
        shown = data(f"{covers:.0%}", covers, f"{of}#remedies/{n}/effect_j")
        by = moment_text(remedy.by, f"{of}#remedies/{n}/by")
        what = plan_words(in_units(remedy.what, units))
        items.append(f"by {by}: {what} (covers {shown} of what is missing)")
    helps = bullets(items or ["nothing that was tried still helps in time"])
    return (
        f'<div class="short"><h3>{esc(short_food(s).capitalize())} short in {tanks}</h3>'
        f"<p>{span}; {part} of the need: {plan_words(in_units(s.cause, units))}.</p>"
        f"{helps}</div>"
    )
