"""Why ``today`` advises something else than it did before, in few words."""

from __future__ import annotations

from datetime import timedelta
from textwrap import shorten
from typing import TYPE_CHECKING

from cli.screens.entry import line_of
from cli.screens.shortfalls import haste_lines
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.planning.supplies import supply_name
from cultures.tasks.plan import Plan
from cultures.tasks.task import SetHatch
from cultures.words.moments import when
from cultures.words.quantities import in_units, many
from cultures.words.text import listed
from cultures.words.tools import CYSTS

if TYPE_CHECKING:
    from cultures.record.since import Since

#: Of entries that may be why, and of what is not set any more, so many are named, each so far.
_MOST_NAMED, _LONGEST = 2, 40
#: A setting so near to one that was told is the same, moved.
_NEAR = timedelta(days=1)


def other_advice(plan: Plan, outlook: Outlook, since: Since | None) -> str:
    """What else is to be acted on now than was told before, or no longer, and what is set otherwise
    than told and no answer said, and why; "" if nothing.

    Args:
        since: what happened since advice was told, or None where none was.
    """
    if since is None:
        return ""
    room, units, now = outlook.room, outlook.room.units, outlook.now
    lines = haste_lines(plan.shortfalls, outlook.round_j())
    steps = [(line.step, line.is_urgent(now)) for line in lines if line.step]
    helps = {(r.act, r.of) for s in plan.shortfalls for r in s.remedies}
    gone = [
        advice.what for advice in room.advised
        # What was for a round in hand lapses with it, be there fry that went unfed.
        if advice.key not in helps and advice.by >= now and not outlook.told_round(advice.by)
    ]  # fmt: skip
    parts = []
    if any((urgent and not s.told) or (s.was is not None and s.was > now) for s, urgent in steps):
        parts.append(f"other advice than on {when(since.at.astimezone(room.timezone), units)}")
    if gone:
        parts.append(f"no longer needed: {in_units(listed(gone), units)}")
    others = _set_otherwise(since, outlook)
    late = supply_name(CYSTS) in since.overdue
    parts += others
    if others and late:
        why = f"no purchase of {listed(since.overdue)} is noted"
    else:
        why = _why(since, outlook)
    said = "; ".join(parts)
    return f"{said[:1].upper()}{said[1:]} ({why})." if said else ""


def _set_otherwise(since: Since, outlook: Outlook) -> list[str]:
    """Which vessels are set at another time of the same day or the next than was told, or another
    one in their place, and which are not set then.
    """
    units = outlook.room.units
    sets = [(t.subject, t.at) for t in tasks_of(outlook) if isinstance(t, SetHatch)]
    gone = [one for one in since.sets if one not in sets]
    new = [at for name, at in sets if (name, at) not in since.sets]
    near = {
        (name, at) for name, at in gone
        if at in new
        or any(name == other and abs(when_set - at) < _NEAR for other, when_set in sets)
    }  # fmt: skip
    dropped = [f"{name} on {when(at, units)}" for name, at in gone if (name, at) not in near]
    if len(dropped) > _MOST_NAMED:
        dropped[_MOST_NAMED:] = [f"{len(dropped) - _MOST_NAMED} more"]
    parts = []
    if near:
        names = sorted({name for name, _ in near})
        parts.append(f"set otherwise than you were told: {listed(names)}")
    if dropped:
        parts.append(f"not to be set any more: {listed(dropped)}")
    return parts


def _why(since: Since, outlook: Outlook) -> str:
    room = outlook.room
    noted = [line_of(entry, room).partition("  ")[2] for entry in since.noted]
    if noted:
        named = [shorten(text, _LONGEST, placeholder=" …") for text in noted[-_MOST_NAMED:]]
        more = len(noted) - len(named)
        rest = [many(more, "more line")] if more > 0 else []
        return f"since then you noted {listed([*named, *rest])}"
    if since.edited:
        return "the room file was edited"
    late = {supply_name(o.item) for o in room.orders if o.late and o.last_day >= since.at.date()}
    if late:
        return f"no arrival of {listed(sorted(late))} is noted"
    due = [b.subject for b in room.to_buy.values() if since.at <= b.at < outlook.now]
    return f"no purchase of {listed(due)} is noted" if due else "time went on"
