"""Amounts as they are typed with wet hands: ``6``, ``6 swipes``, ``1/2 tsp``, ``78 F``."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from cli.journal.recording import ask_back
from cultures.errors import UnitError, nearest
from cultures.foods.kinds import HatchKind, WormKind
from cultures.words.numbers import read_number, with_point
from cultures.words.text import short
from cultures.words.units import parse_quantity

#: As in a room file [g].
_LEAST_G, _MOST_CYSTS_G, _MOST_STARTER_G = 0.01, 10000.0, 100000.0
_PORTION = re.compile(r"^([\d./ ]*\d\.?)\s*([a-zA-Z]*)$")
#: Thousands as they are written where the comma is the decimal sign.
_POINTED = re.compile(r"[0-9]{1,3}\.[0-9]{3}")
_SPOON = re.compile(r"\b(?:tsp|tbsp|(?:tea|table)spoons?)\b", re.IGNORECASE)
_PORTION_UNITS = {
    "swipe": "swipes", "swipes": "swipes", "draw": "draws", "draws": "draws", "ml": "mL",
    "mg": "mg", "g": "g",
}  # fmt: skip


def typed(words: Sequence[str]) -> str:
    """Words of an amount as one text."""
    return " ".join(words).strip()


def cysts_g(text: str, kind: HatchKind) -> float:
    """Cysts, weighed or by level spoons [g].

    Raises:
        UnitError: unreadable, of another dimension, or more than any tin holds.
    """
    found = grams(text, kind.values["bulk_density_g_per_ml"])
    return _possible(found, f"{found:g} g of cysts", _MOST_CYSTS_G)


def starter_g(text: str) -> float:
    """What a culture is started from [g].

    Raises:
        UnitError: unreadable, or more than any box holds.
    """
    found = grams(text)
    return _possible(found, f"a starter of {found:g} g", _MOST_STARTER_G)


def _possible(found_g: float, said: str, most_g: float) -> float:
    """A mass that is neither less than anybody weighs nor more than there can be [g].

    Raises:
        UnitError: it is.
    """
    if not _LEAST_G <= found_g <= most_g:
        raise UnitError(f"{said} is not possible; use {_LEAST_G:g} to {most_g:g} g")
    return found_g


def grams(text: str, g_per_ml: float = 1.0) -> float:
    """A mass, or a volume of what weighs so much: of liquids 1 g/mL, of others by the spoon [g].

    Raises:
        UnitError: unreadable or of another dimension.
    """
    return parse_quantity(text, "mass", "g", density_g_per_ml=g_per_ml)


def portion(text: str, kind: WormKind) -> tuple[float, str]:
    """Worms taken: (amount, unit of the journal).

    Raises:
        UnitError: unreadable, or a unit that worms are not taken in.
    """
    match = _PORTION.match(with_point(text))
    if match is None:
        raise UnitError(f"'{text}' is not an amount; write it like '3 swipes' or '30 mL'")
    amount = parse_quantity(match[1].strip(), "mass", "g")
    usual = "swipes" if kind.medium == "solid" else "draws"
    word = match[2].lower()
    if word and word not in _PORTION_UNITS:
        raise UnitError(f"'{match[2]}' is not a unit of worms; {nearest(word, _PORTION_UNITS)}")
    unit = _PORTION_UNITS.get(word, usual)
    return (amount * 1000.0, "mg") if unit == "g" else (amount, unit)


def dosed(text: str) -> tuple[float, str]:
    """What a tank got of a food: (amount, ``mL`` or ``g``); a bare number is millilitres.

    Raises:
        UnitError: unreadable, or neither a volume nor a mass.
    """
    try:
        return _rounded(parse_quantity(text, "volume", "ml"), 3), "mL"
    except UnitError:
        return _rounded(parse_quantity(text, "mass", "g"), 4), "g"


def _rounded(value: float, places: int) -> float:
    """An amount to so many decimal places, or more where four digits of it need them."""
    own = 3 - math.floor(math.log10(value)) if value > 0.0 else 0
    return round(value, max(places, own))


def dry_dosed(text: str, g_per_ml: float, *, soaked: bool) -> tuple[float, str]:
    """The same of dry food: a spoon holds so much of it, other volumes are the water it was in.

    Args:
        g_per_ml: of a level spoon. soaked: it was, and not weighed for each tank.

    Raises:
        UnitError: unreadable, or water in which none was soaked.
    """
    if _SPOON.search(text):
        return _rounded(parse_quantity(text, "mass", "g", density_g_per_ml=g_per_ml), 4), "g"
    amount, unit = dosed(text)
    if unit == "mL" and not soaked:
        raise UnitError(
            f"'{short(text)}': the dry food of this round was weighed for each tank; say how much"
            " it was by weight or by spoon, like '0.02 g'"
        )
    return amount, unit


def whole(text: str, what: str) -> float:
    """A number of animals; one with three digits behind a point is asked back.

    Raises:
        UnitError: not a number, or below 0. RangeError: thousands or not.
    """
    try:
        value = read_number(text, grouped=True)
    except UnitError:
        raise UnitError(f"'{short(text)}' is not a number of {what}") from None
    if not 0 <= value < 1e12:
        raise UnitError(f"{text} {what} is not possible")
    if value != int(value):
        raise UnitError(f"{text} {what}: animals are counted whole{_or_thousands(text)}")
    if _POINTED.fullmatch(text.strip()):
        ask_back(f"{text} {what} may be {value:g}{_or_thousands(text)}")
    return value


def _or_thousands(text: str) -> str:
    """How a number is written that is one of thousands by its point; "" where it is not."""
    digits = text.strip().replace(".", "")
    pointed = _POINTED.fullmatch(text.strip()) and int(digits) > 0
    return f", or {int(digits):,}: for that write {int(digits)}" if pointed else ""
