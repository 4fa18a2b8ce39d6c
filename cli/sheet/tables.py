"""Cultures with age and remaining life, and shortfalls with what still helps."""

from __future__ import annotations

from collections.abc import Sequence

from cli.sheet.markup import data, day, esc, moment_text, plan_words, table
from cli.sheet.timeline import first_harvest
from cli.text import in_units
from cli.today_text import short_food
from cultures.planning.plan import Outlook
from cultures.planning.tasks import Shortfall


def cultures_table(outlook: Outlook) -> str:
    """The cultures that stand now: age, from when they give, how long they last."""
    rows = []
    for name in sorted(outlook.feeding.worms):
        worms = outlook.feeding.worms[name]
        for stage in sorted(worms.stages, key=lambda s: (s.culture.started, s.culture.name)):
            culture = stage.culture
            if culture not in outlook.room.cultures:
                continue
            of = f"culture/{culture.name}"
            age = (outlook.now.date() - culture.started).days
            first = first_harvest(outlook, name, culture.name, since=outlook.now)
            spent = outlook.room.at_hour(stage.spent_h) if stage.spent_h < 1e9 else None
            left = (spent.date() - outlook.now.date()).days if spent else None
            rows.append([
                (f"{plan_words(culture.name)}"
                f' <span class="brood">{plan_words(worms.kind.label)}</span>'),
                f"{data(str(age), age, f'{of}#age_days')} days",
                day(first, f"{of}#next_harvest") if first else "not in this plan",
                day(spent, f"{of}#spent") if spent else "past this plan",
                _days_left(left, of),
            ])  # fmt: skip
    if not rows:
        return "<p>No culture stands.</p>"
    head = ["culture", "age", "next harvest", "good until", "life left"]
    return table("Cultures that stand now", head, rows, name="cultures", right=(1, 4))


def _days_left(left: int | None, of: str) -> str:
    if left is None:
        return "–"
    return f"{data(str(left), left, f'{of}#days_left')} days" if left > 0 else "spent"


def shortfall_blocks(shortfalls: Sequence[tuple[int, Shortfall]], units: str) -> str:
    """What falls short, and what still helps by when; each with its place in the plan."""
    if not shortfalls:
        return "<p>No shortfall is coming in this time.</p>"
    return "".join(_shortfall(i, s, units) for i, s in shortfalls)


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
        items.append(
            f"<li>by {moment_text(remedy.by, f'{of}#remedies/{n}/by')}:"
            f" {plan_words(in_units(remedy.what, units))} (covers {shown} of what is missing)</li>"
        )
    if not items:
        items.append("<li>nothing that was tried still helps in time</li>")
    return (
        f'<div class="short"><h3>{esc(short_food(s).capitalize())} short in {tanks}</h3>'
        f"<p>{span}; {part} of the need: {plan_words(in_units(s.cause, units))}.</p>"
        f"<ul>{''.join(items)}</ul></div>"
    )
