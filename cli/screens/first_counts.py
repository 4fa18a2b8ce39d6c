"""``livefood learn --first``: what to measure first, and what it is worth."""

from __future__ import annotations

from datetime import datetime

from cli.screens.shortfalls import chances_text
from cli.screens.text import columns, joined, wrapped
from cultures.planning.first_counts import FirstCounts, Gain
from cultures.words.quantities import number
from cultures.words.text import capital

#: So many are listed, and a smaller share of the doubt is hardly anything.
_LISTED, _LEAST = 8, 0.01
#: What is counted of several is not noted in one.
_PORTIONS = ("swipe", "draw")
_HEAD = ("measure", "minutes", "of the doubt", "in 10 min")
#: What is measured, done once and several times, and how it is noted.
_SAID: dict[str, tuple[str, str, str]] = {
    "swipe": ("a swipe of {name}", "{n} swipes of {name}", "livefood journal count {name} 14000"),
    "draw": ("a draw of {name}", "{n} draws of {name}", "livefood journal count {name} 14000"),
    "harvest": ("a whole harvest of {name}", "{n} whole harvests of {name}",
                "livefood journal harvest {name} 2.5 g --all"),
    "hatch": ("nauplii of a hatch", "nauplii of {n} hatches",
              "livefood journal hatched VESSEL 210000"),
    "hatch_time": (
        "nauplii of a hatch, early and late", "nauplii of {n} hatches, early and late",
        "livefood journal count VESSEL 90000, and hatched VESSEL 210000 when it is done",
    ),
    "length": ("length of {name}", "length of {name}, {n} times",
               "livefood journal length {name} 6.5 mm --fish 5"),
    "fish": ("number of {name}", "number of {name}", "livefood journal count {name} 55"),
    "tin": ("weight of the tin", "weight of the tin", "livefood journal count cysts 22 g"),
    "spoon": ("weight of ten spoons of cysts", "weight of ten spoons of cysts",
              "teaspoon_g under [tools] in the room file"),
}  # fmt: skip


def screen(first: FirstCounts, until: datetime, units: str) -> str:
    """For people: how sure the plan is, and what is worth measuring, most for a minute first."""
    sure = first.certainty
    worth = [gain for gain in first.gains if gain.share >= _LEAST][:_LISTED]
    rest = [gain for gain in first.gains if gain not in worth]
    parts = [
        wrapped(
            f"{capital(chances_text(sure, until, units))} A measurement takes away some of this"
            " doubt (its variance)."
        )
    ]
    if worth:
        rows = [_HEAD, *(
            (text_of(g), number(g.minutes), f"{g.share:.0%}", f"{10 * g.per_minute:.1%}")
            for g in worth
        )]  # fmt: skip
        parts.append("MEASURE FIRST\n" + columns(rows, right=(1, 2, 3), head=True))
        parts.append(wrapped(f"Note it like this: {note_of(worth[0])}"))
    else:
        parts.append("No single measurement would make the plan much surer.")
    if first.by_ration >= _LEAST:
        parts.append(wrapped(
            f"How much fry eat makes {first.by_ration:.0%} of the doubt; no count tells that, and"
            " what is left in the tank only hints at it."
        ))  # fmt: skip
    if rest:
        parts.append(wrapped(f"Hardly worth it now: {', '.join(map(text_of, rest))}."))
    return joined(parts)


def text_of(gain: Gain) -> str:
    """What is measured, and how often."""
    one, several, _ = _SAID[gain.what]
    text = several if gain.times > 1 else one
    return text.format(n=gain.times, name=gain.subject)


def note_of(gain: Gain) -> str:
    """The command that notes it."""
    each = f", once for each {gain.what}" if gain.what in _PORTIONS and gain.times > 1 else ""
    return _SAID[gain.what][2].format(name=gain.subject) + each
