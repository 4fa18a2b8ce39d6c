"""What ``livefood plan --if`` prints: the difference to the present plan."""

from __future__ import annotations

from cli.text import grams, number, when, wrapped
from cli.today_text import shortfall_text, task_text
from cultures.planning.tasks import Shortfall
from cultures.planning.what_if import Difference
from cultures.room import Room


def screen(room: Room, difference: Difference) -> str:
    """The difference, tasks first, then what falls short, then the cost."""
    units = room.units
    parts = ["IF " + " AND ".join(difference.suppositions)]
    moved = [
        (b.at, f"{task_text(b, units)} (now planned {when(a.at)}: {task_text(a, units)})")
        for a, b in difference.moved
    ]
    for title, rows in (
        ("TO DO BESIDES", [(t.at, task_text(t, units)) for t in difference.added]),
        ("NO LONGER TO DO", [(t.at, task_text(t, units)) for t in difference.dropped]),
        ("TO DO OTHERWISE", moved),
    ):
        if rows:
            lines = [wrapped(text, 20, f"  {when(at)}") for at, text in sorted(rows)]
            parts.append("\n".join([title, *lines]))
    if len(parts) == 1:
        parts.append("No task changes.")
    parts.append(_shortfalls(difference))
    before, after = difference.before.cost, difference.after.cost
    parts.append(
        f"Hatches {number(before['hatches'])} -> {number(after['hatches'])}, cysts"
        f" {grams(before['cysts_g'], units)} -> {grams(after['cysts_g'], units)}, splits"
        f" {number(before['splits'])} -> {number(after['splits'])}."
    )
    return "\n\n".join(parts)


def _shortfalls(difference: Difference) -> str:
    before, after = difference.before.shortfalls, difference.after.shortfalls
    if not after:
        gone = " any more" if before else ""
        return f"Nothing would fall short{gone}."
    known = {_key(s): s for s in before}
    lines = ["WOULD FALL SHORT"]
    for shortfall in after:
        same = known.get(_key(shortfall))
        if same is not None and abs(same.short_j - shortfall.short_j) <= 0.01 * same.short_j:
            lines.append(wrapped(f"as now: {shortfall.food} from {when(shortfall.at)}", 4, "  - "))
        else:
            lines += shortfall_text(shortfall)
    return "\n".join(lines)


def _key(shortfall: Shortfall) -> tuple[object, ...]:
    return shortfall.at, shortfall.food, shortfall.until
