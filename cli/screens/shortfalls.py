"""What falls short, why, and what still helps: in full, and what must be acted on first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from cli.screens.text import block, bullets, joined, wrapped
from cultures.tasks.plan import Shortfall
from cultures.words.quantities import day_text, food_name, in_units, number, when

_MOST_SHORTFALLS = 4
#: How the planner's note of a food that stops is told from other notes.
_STAND_IN = "other foods take their place"


def all_shortfalls(
    shortfalls: Sequence[Shortfall], until: datetime, units: str, *, risk: bool = False,
    notes: Sequence[str] = (),
) -> str:  # fmt: skip
    """What falls short, then what is only thin; says so where nothing falls short.

    Args:
        risk: thin margins were looked for, so say it too when there are none.
        notes: of the plan; those of foods that stop are shown.
    """
    short = [line for s in shortfalls if not s.thin for line in shortfall_text(s, units)]
    thin = [line for s in shortfalls if s.thin for line in shortfall_text(s, units)]
    parts = [
        block("SHORTFALLS", short) or f"Nothing falls short until {day_text(until)} {until:%Y}.",
        block("FOODS THAT NEARLY STOP", stops_text(notes, units)),
        block("THIN MARGINS", thin),
    ]
    if risk and not thin:
        from cultures.planning.risk import DRAWS

        parts.append(f"No thin margins in {DRAWS} trials.")
    return joined(parts)


def first_shortfalls(shortfalls: Sequence[Shortfall], now: datetime, units: str) -> str:
    """Those first that must be acted on first, the later of many only counted."""
    if not shortfalls:
        return ""

    def first_by(shortfall: Shortfall) -> datetime:
        return min((r.by for r in shortfall.remedies), default=shortfall.at)

    ordered = sorted(shortfalls, key=first_by)
    urgent = first_by(ordered[0]) <= now + timedelta(days=2)
    lines = [x for s in ordered[:_MOST_SHORTFALLS] for x in shortfall_text(s, units)]
    more = len(ordered) - _MOST_SHORTFALLS
    if more > 0:
        lines.append(f"  and {number(more)} more: see 'livefood shortfalls'")
    return block("ACT NOW" if urgent else "LOOK OUT", lines)


def shortfall_text(shortfall: Shortfall, units: str = "metric") -> list[str]:
    """A shortfall in lines: what, why, and what still helps."""
    span = when(shortfall.at)
    if shortfall.rounds > 1:
        span += f" to {when(shortfall.until)}, {shortfall.rounds} rounds"
    what = f"{short_food(shortfall)} {'thin' if shortfall.thin else 'short'}"
    lines = [
        wrapped(f"{what} in {', '.join(shortfall.tanks)}, {span}{_how_much(shortfall)}:"
                f" {in_units(shortfall.cause, units)}.", 4, "  - ")
    ]  # fmt: skip
    for remedy in shortfall.remedies:
        covers = min(1.0, remedy.effect_j / shortfall.short_j)
        text = f"by {when(remedy.by)}: {in_units(remedy.what, units)}"
        lines.append(wrapped(f"{text} (covers {covers:.0%} of what is missing)", 8, "      > "))
    if not shortfall.remedies and not shortfall.thin:
        lines.append("      > nothing that was tried still helps in time")
    return lines


def _how_much(shortfall: Shortfall) -> str:
    """The share of the need that is missing, and how likely; a thin spell tells its own chance."""
    if shortfall.thin:
        return ""
    share = min(1.0, shortfall.short_j / shortfall.need_j) if shortfall.need_j else 1.0
    likely = ""
    if shortfall.probability is not None:
        likely = f", in {shortfall.probability:.0%} of trials"
    return f" ({share:.0%} of the need{likely})"


def short_food(shortfall: Shortfall) -> str:
    """What is short, as people say it."""
    return "food" if shortfall.food == "any" else food_name(shortfall.food)


def stopped_foods(notes: Sequence[str]) -> list[str]:
    """The notes of foods that stop while others take their place."""
    return [
        note.removesuffix(" See 'livefood shortfalls'.") for note in notes if _STAND_IN in note
    ]  # fmt: skip


def stops_text(notes: Sequence[str], units: str) -> list[str]:
    """The same as lines."""
    return bullets(in_units(note, units) for note in stopped_foods(notes))
