"""What ``livefood learn`` prints."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from cli.screens.text import block, bullets, joined, wrapped
from cultures.errors import UnknownNameError
from cultures.journal.entries import Entry
from cultures.learning.estimates import Estimate
from cultures.learning.learn import QUANTITIES, Learned
from cultures.words.quantities import number

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


def learn_json(learned: Learned) -> dict[str, Any]:
    """For other programs."""
    return {
        "level": 0.8, "estimates": [e.to_json() for e in learned.estimates],
        "set_aside": [
            {"line": line, "subject": subject, "why": why}
            for line, subject, why in learned.replayed.seen.set_aside
        ],
    }  # fmt: skip


def screen(learned: Learned) -> str:
    """For people: one block for each quantity."""
    blocks = []
    for quantity, title in _TITLES.items():
        rows = [e for e in learned.estimates if e.quantity == quantity]
        blocks.append(block(title.upper(), [_block(e) for e in rows]))
    aside = (f"line {line}, {about}: {why}" for line, about, why in learned.replayed.seen.set_aside)
    blocks.append(block("SET ASIDE", bullets(aside)))
    if not any(blocks):
        blocks.append("There is nothing to learn from: no cultures, no vessels.")
    intro = wrapped(
        "Usual is what the data say before your counts; intervals hold eight in ten. The plan"
        " moves to your own values once there are enough readings."
    )
    return joined([intro, *blocks])


def _block(e: Estimate) -> str:
    seen = "nothing" if e.readings == 0 else f"{e.readings} reading{'s' * (e.readings > 1)}"
    if e.seen is not None and e.readings:
        seen += f", middle {number(e.seen)}"
    name = e.subject.replace("_", " ") or "all"
    lines = [f"  {name} ({e.unit})", f"    usual  {_three(e.prior)}", f"    seen   {seen}"]
    if e.readings or e.learned:
        lines.append(f"    now    {_three(e.posterior)}")
    lines.append(wrapped(f"{number(e.used)}: {e.why}.", 11, "    plan   "))
    return "\n".join(lines)


def _three(values: tuple[float, float, float]) -> str:
    middle, low, high = values
    return f"{number(middle)} ({number(low)} to {number(high)})"
