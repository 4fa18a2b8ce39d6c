"""Names and other words as they are read: the same letters are the same name."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TypeGuard

from cultures.errors import UnitError

#: What cannot be seen or turns the line about: controls, separators of lines, marks of direction,
#: blanks of no width, halves of a letter that is not UTF-8.
_UNFIT = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200b\u2028-\u202e\u2060\u2066-\u2069\ufeff\ud800-\udfff]"
)  # fmt: skip
#: A name is at most so long.
LONGEST_NAME = 200
#: What stands for the space between the words of a key.
_BETWEEN_WORDS = re.compile(r"(?<=[^\W\d_])[-_](?=[^\W\d_])")


@lru_cache(maxsize=2048)  # a journal says few names very often
def plain(text: str) -> str:
    """A name without blanks around it, single ones within, and its letters composed (NFC).

    Examples:
        >>> plain("  bottle   1 ")
        'bottle 1'
    """
    return " ".join(unicodedata.normalize("NFC", as_utf8(text)).split())


def spoken_name(text: str) -> str:
    """A name of a kind or food as screens write it, however it was typed.

    Examples:
        >>> spoken_name("Vinegar-eel"), spoken_name("vinegar_eel_medium"), spoken_name("dry -5 g")
        ('vinegar eel', 'vinegar eel medium', 'dry -5 g')
    """
    return _BETWEEN_WORDS.sub(" ", text.lower())


def key_named(word: str, known: Iterable[str]) -> str:
    """The one of some keys that is meant by a word, with spaces or hyphens too; else the word."""
    keys = [*known]
    if word in keys:
        return word
    return next((key for key in keys if spoken_name(key) == spoken_name(word)), word)


def as_utf8(text: str) -> str:
    """Text of a command line that was read as if the system knew ASCII alone."""
    try:
        return text.encode("utf-8", "surrogateescape").decode("utf-8")
    except UnicodeError:
        return text


def check_line(text: str, longest: int = LONGEST_NAME) -> None:
    """Refuses text that is no line to be read.

    Raises:
        UnitError: it is too long, or holds what cannot be seen.
    """
    if len(text) > longest:
        raise UnitError(f"'{short(text)}' must be one line of at most {longest} characters")
    found = _UNFIT.search(text)
    if found is not None:
        is_half = "\ud800" <= found[0] <= "\udfff"
        wrong = "is not UTF-8 text" if is_half else f"may not hold U+{ord(found[0]):04X}"
        raise UnitError(f"'{short(text)}' must be one line of letters to be seen; it {wrong}")


def is_line(text: object) -> TypeGuard[str]:
    """Whether something is text that `check_line` takes."""
    return isinstance(text, str) and len(text) <= LONGEST_NAME and not _UNFIT.search(text)


def seen(text: str) -> str:
    """A message with what cannot be seen as U+FFFD, but for the ends of its lines."""
    return "\n".join(_UNFIT.sub("\ufffd", line) for line in text.split("\n"))


def short(text: str, longest: int = 60) -> str:
    """So much of a text as a message can show, with what cannot be seen as U+FFFD."""
    shown = _UNFIT.sub("\ufffd", text)
    return shown if len(shown) <= longest else f"{shown[:longest]}..."


def cut(text: str, longest: int) -> str:
    """As much of a text as a place holds."""
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def capital(text: str) -> str:
    """A text with its first letter large."""
    return text[:1].upper() + text[1:]


def listed(words: Sequence[str]) -> str:
    """Words one after another, as they are spoken.

    Examples:
        >>> listed(["A1"]), listed(["A1", "B2", "C3"]), listed([])
        ('A1', 'A1, B2 and C3', '')
    """
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def same_but_figures(one: str, other: str, figure: re.Pattern[str], within: float) -> bool:
    """Whether two texts say the same but for figures that are little apart.

    Args:
        figure: finds those that may differ, as ``1,200`` or ``0.5``.
        within: the share of the larger of two by which they may.
    """
    if figure.sub("", one) != figure.sub("", other):
        return False
    first, second = ([float(f.replace(",", "")) for f in figure.findall(text)]
                     for text in (one, other))  # fmt: skip
    return all(abs(a - b) <= within * max(a, b) for a, b in zip(first, second, strict=True))
