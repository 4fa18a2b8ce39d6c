"""What ``livefood learn`` prints."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from cli.screens.text import block, bullets, joined, wrapped
from cultures.errors import UnknownNameError
from cultures.journal.entries import Entry
from cultures.learning.estimates import Estimate
from cultures.learning.learn import QUANTITIES, Learned
from cultures.learning.survival import ClassFared, Fared, by_class, survival
from cultures.replay.hatches import CHECK_HATCH
from cultures.words.moments import spoken_day
from cultures.words.quantities import many, number

#: So many broods are told, the newest.
_BROODS = 12
_TITLES = {
    "nauplii_per_gram": "Nauplii from a gram of cysts",
    "hatch_time": "Hatching time",
    "yield": "What cultures carry",
    "swipe": "Worms in a swipe or draw",
    "growth": "Growth of broods",
    "crash": "Cultures that crash, a day",
}


def switch(what: str, state: str, now: datetime) -> Entry:
    """The entry that turns learning off or on.

    Raises:
        UnknownNameError: there is nothing of that name to learn.
    """
    if what not in (*QUANTITIES, "all"):
        raise UnknownNameError("quantity", what, (*QUANTITIES, "all"))
    return Entry(now, "learn", what, state)


def learn_json(learned: Learned, today: date) -> dict[str, Any]:
    """For other programs."""
    fared = survival(learned.replayed, today)
    return {
        "level": 0.8, "estimates": [e.to_json() for e in learned.estimates],
        "set_aside": [
            {"line": line, "subject": subject, "why": why}
            for line, subject, why in learned.replayed.seen.set_aside
        ],
        "survival": {
            "broods": [one.to_json() for one in fared],
            "classes": [one.to_json() for one in by_class(fared)],
        },
    }  # fmt: skip


def screen(learned: Learned, today: date, units: str) -> str:
    """For people: one block for each quantity."""
    blocks = []
    for quantity, title in _TITLES.items():
        rows = [e for e in learned.estimates if e.quantity == quantity]
        empty = len(learned.replayed.seen.empty) if quantity == "nauplii_per_gram" else 0
        blocks.append(block(title.upper(), [learn_block(e, empty) for e in rows]))
    blocks.append(_survival(survival(learned.replayed, today), today, units))
    aside = (f"line {line}, {about}: {why}" for line, about, why in learned.replayed.seen.set_aside)
    blocks.append(block("SET ASIDE", bullets(aside)))
    if learned.replayed.seen.empty:
        blocks.append(wrapped(f"Of a hatch that gave nothing: {CHECK_HATCH}"))
    if not any(blocks):
        blocks.append("There is nothing to learn from: no cultures, no vessels.")
    intro = wrapped(
        "Usual: what the data say before your counts. Intervals hold eight times in ten. The plan"
        " moves to your own values once there are enough readings."
    )
    return joined([intro, *blocks])


def _survival(fared: Sequence[Fared], today: date, units: str) -> str:
    """Broods that fish were sold of or that are gone, the newest last, and their classes."""
    told = [f for f in fared if f.sold or f.gone]
    earlier = len(told) - _BROODS
    lines = bullets(_fared(f, today, units) for f in told[-_BROODS:])
    if earlier > 0:
        lines.insert(0, f"  {many(earlier, 'earlier brood')}: see --json")
    lines += bullets(_class(c) for c in by_class(fared))
    return block("FROM EGG TO SALE", lines)


def _fared(f: Fared, today: date, units: str) -> str:
    first = f"{f.start:,d} {f.began} on {spoken_day(f.start_on, today, units)}"
    swam = f", {f.swam:,d} swam" if f.swam is not None else ""
    parts = ((f.sold, "sold"), (f.died, "died"), (f.lost, "missing"),
             (f.unaccounted, "not accounted for"))  # fmt: skip
    went = [f"{count:,d} {what}" for count, what in parts if count]
    share, low, high = f.share()
    if f.gone:
        said = f"{share:.0%} sold ({low:.0%} to {high:.0%})"
    else:
        went.append(f"about {f.now:,d} left")
        said = f"{share:.0%} sold so far, at most {high:.0%}"
    more = "; more than were counted at first" if f.miscounted else ""
    return f"{f.brood}: {first}{more}{swam}; {', '.join(went)}: {said}."


def _class(c: ClassFared) -> str:
    share, low, high = c.share()
    of = "the eggs" if c.began == "eggs" else "the fish first counted"
    many_ = f"{many(c.broods, 'brood')} gone"
    alone = "; another brood may fare otherwise" if c.broods == 1 else ""
    name = c.fry_class.replace("_", " ")
    return f"{name}, {many_}: {share:.0%} of {of} sold ({low:.0%} to {high:.0%}{alone})."


def learn_block(e: Estimate, empty: int = 0) -> str:
    """One quantity: what is usual, what was seen, and what the plan uses.

    Args:
        empty: hatches that gave nothing, which are no readings of it.
    """
    seen = "nothing" if e.readings == 0 else f"{e.readings} reading{'s' * (e.readings > 1)}"
    if e.seen is not None and e.readings:
        seen += _middle(e.readings, number(e.seen))
    if empty:
        nothing = f"{empty} hatch{'es' * (empty > 1)} that gave nothing"
        seen = f"{seen}; {nothing}" if e.readings else nothing
    name = e.subject.replace("_", " ") or "all"
    lines = [f"  {name} ({e.unit})", f"    usual  {_three(e.prior)}", f"    seen   {seen}"]
    if e.readings or e.learned:
        lines.append(f"    now    {_three(e.posterior)}")
    lines.append(wrapped(f"{number(e.used)}: {e.why}.", 11, "    plan   "))
    return "\n".join(lines)


def _middle(readings: int, middle: str) -> str:
    """Where readings lie, by their plain middle."""
    if readings == 1:
        return f": {middle}"
    return f", {middle} between them" if readings == 2 else f", half of them below {middle}"


def _three(values: tuple[float, float, float]) -> str:
    middle, low, high = values
    return f"{number(middle)} ({number(low)} to {number(high)})"
