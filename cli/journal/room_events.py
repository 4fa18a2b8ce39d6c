"""``livefood journal EVENT`` for warmth, stocks and failures, and a word on anything."""

from __future__ import annotations

from collections.abc import Sequence

import click

from cli.journal.amounts import cysts_g, grams, typed
from cli.journal.event import Noting, event, sure_option
from cli.options import UsageProblemError
from cultures.errors import UnitError
from cultures.journal.entries import Entry
from cultures.record.book import names_of
from cultures.room.room import Room
from cultures.words.quantities import in_units
from cultures.words.units import parse_quantity

_AMOUNT = click.argument("amount", nargs=-1, required=True)


@event("temperature", ["room", "tank", "culture", "vessel"],
       click.argument("degrees", nargs=-1, required=True))  # fmt: skip
def temperature(noting: Noting, degrees: tuple[str, ...]) -> Entry:
    """The room, a tank, culture or vessel stands at this temperature from now on.

    Example: livefood journal temperature room 21.5
    """
    value = parse_quantity(typed(degrees), "temperature", "c")
    _check_temperature(noting.room, noting.subject, value)
    return noting.entry("", round(value, 2), "C")


def _check_temperature(room: Room, subject: str, degrees: float) -> None:
    cultures = [c for c in room.cultures if subject in (c.name, "room")]
    wrong = [c.kind.check_temperature(degrees) for c in cultures
             if c.name == subject or c.temperature_c is None]  # fmt: skip
    if subject in names_of(room, "vessel"):
        wrong.append(room.hatch_kind.check_temperature(degrees))
    broods = room.every_brood
    wrong += [b.fry_class.check_eggs(degrees) for b in broods
              if b.tank == subject and b.anchor in ("spawned", "planned")]  # fmt: skip
    if not -5 <= degrees <= 45:
        wrong.append("nothing in this room lives at that; use -5 to 45 °C")
    for message in wrong:
        if message is not None:
            raise UnitError(in_units(f"{subject} at {degrees:.4g} °C: {message}", room.units))


@event("bought", [], click.argument("what", metavar="STOCK|KIND"), _AMOUNT)
def bought(noting: Noting, what: str, amount: tuple[str, ...]) -> Entry:
    """Cysts, salt, dry food, medium (or one kind's: microworm_medium) or a starter of a KIND.

    Example: livefood journal bought cysts 50 g
    """
    return _stock(noting, [*names_of(noting.room, "stock"), *noting.room.kinds], what, *amount)


@event("used", [], click.argument("what", metavar="STOCK"), _AMOUNT)
def used(noting: Noting, what: str, amount: tuple[str, ...]) -> Entry:
    """Some of a STOCK was used up besides what was told: spilt, given away, gone off.

    Example: livefood journal used salt 200 g
    """
    return _stock(noting, names_of(noting.room, "stock"), what, *amount)


def _stock(noting: Noting, known: Sequence[str], *words: str) -> Entry:
    """So much of a stock, of words in any order."""
    words = tuple(word.lower() if word.lower() in known else word for word in words)
    name = next((word for word in words if word in known), None)
    if name is None:
        raise UsageProblemError(
            f"'{words[0]}' is not a stock: write what and how much, like 'cysts 50 g'"
            f" (or {', '.join(known[1:])})"
        )
    text = typed([word for word in words if word != name])
    if not text:
        raise UsageProblemError(f"say how much: '{name} 50 g'")
    value = cysts_g(text, noting.room.hatch_kind) if name == "cysts" else grams(text)
    return noting.entry("", value, "g", subject=name)


@event("failed", ["vessel", "culture"], sure_option)
def failed(noting: Noting) -> Entry:
    """The hatch in VESSEL gave nothing and was poured out, or CULTURE crashed and is gone.

    Take care: pour old hatches down the drain, never outdoors; bin a crashed culture closed.

    Example: livefood journal failed "bottle 1"
    """
    subject, room = noting.subject, noting.room
    stands = {h.vessel for h in room.hatches} | {h.vessel for h in room.held}
    if subject in names_of(room, "vessel") and subject not in stands:
        raise UsageProblemError(
            f"as far as is known no hatch stands in {subject}; note first that it was set"
        )
    return noting.entry()


@event("note", ["room", "tank", "brood", "culture", "vessel", "stock"],
       click.argument("words", nargs=-1, required=True), shown="NAME")  # fmt: skip
def note_(noting: Noting, words: tuple[str, ...]) -> Entry:
    """A few WORDS on anything: a smell, a colour. They are shown with it for two weeks.

    Example: livefood journal note MW-1 smells of vinegar
    """
    return noting.entry()._replace(note=" ".join([*words, noting.note]).strip())
