"""Why ``today`` advises something else than it did before, in few words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
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
    parts += others
    # Hatches go by the tin, whatever else was noted.
    why = (_no_cysts(since, outlook) if others else "") or _why(since, outlook)
    said = "; ".join(parts)
    return f"{said[:1].upper()}{said[1:]} ({why})." if said else ""


def _set_otherwise(since: Since, outlook: Outlook) -> list[str]:
    """What is set at another time of the same day or the next than was told, or in the place of
    another vessel, and which vessels are not set then.
    """
    units = outlook.room.units
    sets = [(t.subject, t.at) for t in tasks_of(outlook) if isinstance(t, SetHatch)]
    new = [one for one in sets if one not in since.sets]
    dropped, instead = [], []
    for name, at in (one for one in since.sets if one not in sets):
        near = [
            (other, when_set) for other, when_set in new
            if when_set == at or (other == name and abs(when_set - at) < _NEAR)
        ]  # fmt: skip
        instead += near
        dropped += [] if near else [(name, at)]
    parts = []
    if instead:
        told = _named(sorted(dict.fromkeys(instead), key=lambda one: one[1]), units)
        parts.append(f"set otherwise than you were told: {told}")
    if dropped:
        parts.append(f"not to be set any more: {_named(dropped, units)}")
    return parts


def _named(sets: Sequence[tuple[str, datetime]], units: str) -> str:
    """Vessels with the times at which they are set, of many two."""
    named = [f"{name} on {when(at, units)}" for name, at in sets]
    if len(named) > _MOST_NAMED:
        named[_MOST_NAMED:] = [f"{len(named) - _MOST_NAMED} more"]
    return listed(named)


def _no_cysts(since: Since, outlook: Outlook) -> str:
    """That cysts were not bought, or did not come, so that the plan counts on them no more; "" for
    no such thing. Since when they are late does not matter: a calendar told before that.
    """
    cysts = supply_name(CYSTS)
    if cysts in since.overdue:
        return f"no purchase of {listed(since.overdue)} is noted"
    late = any(order.late and order.item == CYSTS for order in outlook.room.orders)
    return f"no arrival of {cysts} is noted" if late else ""


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
