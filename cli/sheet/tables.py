"""Cultures with age and remaining life, stocks, and shortfalls with what still helps."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from cli.screens.shortfalls import TOLD_BEHIND, behind_text, no_help, remedy_words, who_starves
from cli.sheet.parts import Row, Said, Table, day, moment
from cultures.planning.outlook import Outlook
from cultures.tasks.plan import CultureSpan, Plan, Shortfall
from cultures.words.quantities import food_words, grams, in_units
from cultures.words.tasks import Figure, Words


def cultures_table(outlook: Outlook, plan: Plan) -> Table:
    """The cultures that stand now: age, from when they give, how long they last."""
    rows = []
    for span in plan.cultures:
        if span.started > plan.start:
            continue
        of = f"culture/{span.name}"
        age = (plan.start.date() - span.started.date()).days
        rows.append(Row(
            Words(span.name),
            [
                (Figure(str(age), age, f"{of}#age_days"), " days"), _gives(span, plan.start),
                day(span.spent_on, f"{of}#spent_on") if span.spent_on else "longer than planned",
                _days_left(span, plan.start),
            ],
            Words(outlook.room.kinds[span.kind].label),
        ))  # fmt: skip
    head = ["culture", "age", "gives", "good until", "life left"]
    return Table("Cultures that stand now", head, rows, (1, 4))


def _gives(span: CultureSpan, now: datetime) -> Said:
    if span.usable_from is None:
        return "not in this plan"
    if span.usable_from <= now:
        return "now"
    return ("from ", day(span.usable_from, f"culture/{span.name}#usable_from"))


def _days_left(span: CultureSpan, now: datetime) -> Said:
    if span.spent_on is None:
        return "–"
    left = (span.spent_on.date() - now.date()).days
    shown = Figure(str(left), left, f"culture/{span.name}#days_left")
    return (shown, " days") if left > 0 else "spent"


def stock_table(plan: Plan, units: str) -> Table:
    """What the first week wants, what there is, and by when to buy."""
    rows = []
    for use in plan.supplies:
        of, week = f"supplies/{use.item}", use.weeks_g[0] if use.weeks_g else 0.0
        used = Figure(grams(week, units), week, f"{of}#weeks_g/0") if week else "–"
        known: str | Figure = "not stated"
        if use.stock_g is not None:
            known = Figure(grams(use.stock_g, units), use.stock_g, f"{of}#stock_g")
        stock: Said = known
        if use.on_order_g:
            more = Figure(grams(use.on_order_g, units), use.on_order_g, f"{of}#on_order_g")
            comes = (" by ", day(use.arrives, f"{of}#arrives")) if use.arrives else ()
            stock = (known, ", and ", more, " on order", *comes)
        buy = day(use.buy_by, f"{of}#buy_by") if use.buy_by else "–"
        rows.append(Row(Words(use.item.replace("_", " ")), [used, stock, buy]))
    head = ["supply", "a week", "in stock", "buy by"]
    return Table("Wanted in the first week", head, rows, (1, 2))


def shortfall_views(
    shortfalls: Sequence[tuple[int, Shortfall]], units: str
) -> list[dict[str, Any]]:
    """What falls short, and what still helps by when; each with its place in the plan.

    What helps against several stands in full with the first.
    """
    told: set[tuple[object, ...]] = set()
    return [_shortfall(i, s, units, told) for i, s in shortfalls if not s.thin]


def _cost(s: Shortfall, of: str) -> list[Any]:
    """What it costs the broods."""
    if s.starves_at is not None:
        since = moment(s.starves_at, f"{of}#starves_at")
        return [f" {who_starves(s)} would starve from ", since, "."]
    if s.behind_days < TOLD_BEHIND:
        return []
    days = Figure(behind_text(s.behind_days), s.behind_days, f"{of}#behind_days")
    return [" The fry would be ", days, " behind."]


def _shortfall(
    index: int, s: Shortfall, units: str, told: set[tuple[object, ...]]
) -> dict[str, Any]:
    """One of them; what helps is added to what is ``told`` already."""
    of = f"shortfall/{index}"
    span: list[Any] = [moment(s.at, f"{of}#at")]
    if s.rounds > 1:
        rounds = Figure(str(s.rounds), s.rounds, f"{of}#rounds")
        span += [" to ", moment(s.until, f"{of}#until"), ", ", rounds, " rounds"]
    part = Figure(f"{s.share:.0%}", s.share, f"{of}#short_j/need_j")
    cause = Words(in_units(s.cause, units))
    helps: list[Said] = []
    for n, remedy in enumerate(s.remedies):
        covers = s.covered_by(remedy)
        shown = Figure(f"{covers:.0%}", covers, f"{of}#remedies/{n}/effect_j")
        step = remedy.by, remedy.what
        if step in told:
            helps.append(("as above: ", shown))
            continue
        told.add(step)
        by = moment(remedy.by, f"{of}#remedies/{n}/by")
        what = Words(remedy_words(remedy, units))
        since = "by " if remedy.still is None else "due since "
        helps.append((since, by, ": ", what, " (covers ", shown, " of what is missing)"))
    return {
        "food": food_words(s.food).capitalize(), "tanks": [Words(tank) for tank in s.tanks],
        "said": (*span, "; ", part, " of the need: ", cause, ".", *_cost(s, of)),
        "helps": helps or [Words(no_help(s, units))],
    }  # fmt: skip
