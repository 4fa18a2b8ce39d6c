"""Entries that are not to be done any more: how they say what became of them."""

from __future__ import annotations

from cultures.foods.food import BRINE_SHRIMP
from cultures.record.present import Present
from cultures.words.moments import day_text, when

#: How the title of an entry begins that was withdrawn.
WITHDRAWN = "Cancelled: "
#: The same where it is done, or on its way, by how the text of such an entry begins.
DONE, ORDERED = "It is noted as done", "It is on order"
_PREFIXES = {DONE: "Done: ", ORDERED: "Ordered: "}
#: The text of what was withdrawn, of which nothing else is known.
NO_LONGER = "No longer planned like this. What is still to be done has an entry of its own."


def prefix_of(text: str) -> str:
    """How the title of a withdrawn entry begins that has this text."""
    return next(
        (prefix for begins, prefix in _PREFIXES.items() if text.startswith(begins)), WITHDRAWN
    )


def ended(present: Present) -> dict[str, str]:
    """Why told tasks are not to be done any more, as far as that was noted, by id."""
    found, units = dict[str, str](), present.room.units
    for key, answer in present.fates.answer.items():
        at = when(answer.when.astimezone(present.room.timezone), units)
        was = {"skip": "It is noted as not done", "failed": "It is noted as failed"}.get(
            answer.event, DONE
        )
        found[key] = f"{was} ({at})."
    for order in present.room.orders:
        item = f"{BRINE_SHRIMP}_cysts" if order.item == "cysts" else order.item
        found.setdefault(f"buy/{item}", f"{ORDERED} since {day_text(order.on, units)}.")
    return found
