"""``livefood learn --first``: what to measure first, and what it is worth."""

from __future__ import annotations

from datetime import datetime

from cli.screens.text import columns, joined, wrapped
from cultures.planning.first_counts import FirstCounts, Gain
from cultures.words.moments import day_text
from cultures.words.quantities import number, percents

#: So many are listed, and a smaller share of the doubt is hardly anything.
_LISTED, _LEAST = 8, 0.01
_HEAD = ("measure", "minutes", "of the doubt", "in 10 min")


def screen(first: FirstCounts, until: datetime, units: str) -> str:
    """For people: how sure the plan is, and what is worth measuring, most for a minute first."""
    sure = first.certainty
    worth = [gain for gain in first.gains if gain.share >= _LEAST][:_LISTED]
    rest = [gain for gain in first.gains if gain not in worth]
    parts = [
        wrapped(
            f"Until {day_text(until, units)} the broods get {percents(sure.fed)} of what they"
            f" need, in eight of ten trials; {percents(sure.by_luck)} if all were as the plan"
            " takes it, by luck alone. A measurement takes away some of this doubt (its variance)."
        )
    ]
    if worth:
        rows = [_HEAD, *(_row(gain) for gain in worth)]
        parts.append("MEASURE FIRST\n" + columns(rows, right=(1, 2, 3), head=True))
        parts.append(wrapped(f"Note it like this: {note_of(worth[0])}"))
    else:
        parts.append("No single measurement would make the plan much surer.")
    if first.by_ration >= _LEAST:
        parts.append(
            wrapped(
                f"How much fry eat makes {first.by_ration:.0%} of the doubt; no count tells that,"
                " and what is left in the tank only hints at it."
            )
        )
    if rest:
        parts.append(wrapped(f"Hardly worth it now: {', '.join(map(text_of, rest))}."))
    return joined(parts)


def _row(gain: Gain) -> tuple[str, ...]:
    return text_of(gain), number(gain.minutes), f"{gain.share:.0%}", f"{10 * gain.per_minute:.1%}"


def text_of(gain: Gain) -> str:
    """What is measured, and how often."""
    many, name = gain.times > 1, gain.subject
    times = f"{gain.times} " if many else "a "
    s = "s" if many else ""
    match gain.what:
        case "swipe" | "draw":
            return f"{times}{gain.what}{s} of {name}"
        case "harvest":
            return f"{times}whole harvest{s} of {name}"
        case "hatch":
            return f"nauplii of {times}hatch{'es' if many else ''}"
        case "hatch_time":
            return f"nauplii of {times}hatch{'es' if many else ''}, early and late"
        case "length":
            return f"length of {name}" + (f", {gain.times} times" if many else "")
        case "fish":
            return f"number of {name}"
        case "tin":
            return "weight of the tin"
        case _:
            return "weight of ten spoons of cysts"


def note_of(gain: Gain) -> str:
    """The command that notes it."""
    name = gain.subject
    match gain.what:
        case "swipe" | "draw":
            return f"livefood journal count {name} 14000"
        case "harvest":
            return f"livefood journal harvest {name} 2.5 g --all"
        case "hatch":
            return "livefood journal hatched VESSEL 210000"
        case "hatch_time":
            return "livefood journal count VESSEL 90000, and hatched VESSEL 210000 when it is done"
        case "length":
            return f"livefood journal length {name} 6.5 mm --fish 5"
        case "fish":
            return f"livefood journal count {name} 55"
        case "tin":
            return "livefood journal count cysts 22 g"
        case _:
            return "teaspoon_g under [tools] in the room file"
