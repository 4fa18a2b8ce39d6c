"""Errors a user can mend. Each says what is wrong and what would be right.

The command line turns any of them into one message on standard error and the
exit code that the class carries; nothing is written before they are raised.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from attrs import frozen

#: How near a word must be to be meant ('zebras' and 'rams' come to 0.6), and one of few letters, as
#: names of tanks are.
_NEAR, _NEAR_SHORT, _SHORT = 0.62, 0.5, 4
#: Of more names than that only the few nearest are listed.
_MOST_LISTED, _FEW = 20, 5


class LivefoodError(Exception):
    """Root of every error that the user can mend."""

    exit_code = 2


class UnitError(LivefoodError, ValueError):
    """A quantity that cannot be read, or has a unit of the wrong kind."""


class RangeError(LivefoodError, ValueError):
    """A value outside what the model, or life, allows."""


def check_above_zero(what: str, value: float, unit: str = "") -> None:
    """Refuses a number that is not above 0, or no number at all.

    Raises:
        RangeError: says what and how much.
    """
    if not 0 < value < math.inf:
        raise RangeError(f"{what} must be above 0{unit}, got {value:g}")


class UnknownNameError(LivefoodError, LookupError):
    """A name (of a kind, class, tank, culture...) that is not there."""

    def __init__(self, what: str, name: str, known: Iterable[str]) -> None:
        names = sorted(known)
        message = f"there is no {what} named '{name}'"
        close = closest(name, names, _NEAR_SHORT if len(name) <= _SHORT else _NEAR)
        message += f"; did you mean '{close}'?" if close else "."
        if len(names) > _MOST_LISTED:
            few = _most_alike(name, names, _FEW, 0.0)
            message += f" Nearest of {len(names)} names: {', '.join(few)}."
        elif names:
            message += f" Known: {', '.join(names)}."
        super().__init__(message)


class FileProblemError(LivefoodError):
    """A file that cannot be read or written."""


@frozen
class Problem:
    """One mistake in a file: where it stands, what is wrong and what would be right."""

    file: str
    line: int | None
    key: str
    message: str

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{where}: {self.key}: {self.message}" if self.key else f"{where}: {self.message}"


class BadFileError(LivefoodError):
    """Everything that is wrong with one file, all at once.

    Attributes:
        problems: the mistakes, in the order of the file; ``remedy``: a last line of the message.
    """

    def __init__(self, problems: Iterable[Problem], remedy: str = "") -> None:
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line or 0)))
        count = len(self.problems)
        head = "1 mistake" if count == 1 else f"{count} mistakes"
        lines = (f"{head}:", *(f"  {p}" for p in self.problems), *([remedy] if remedy else ()))
        super().__init__("\n".join(lines))


def decoded(path: object, raw: bytes) -> str:
    """The text of a file.

    Raises:
        BadFileError: it is not UTF-8; says in which line.
    """
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        message = "is not UTF-8 text; save it as UTF-8"
        raise BadFileError([Problem(str(path), line, "", message)]) from None


def closest(name: str, known: Iterable[str], cutoff: float = _NEAR) -> str | None:
    """The nearest of the known names, or None when none is as near as ``cutoff`` (1: the same)."""
    return next(iter(_most_alike(name, sorted(known), 1, cutoff)), None)


def _most_alike(name: str, known: Sequence[str], count: int, cutoff: float) -> list[str]:
    """So many of the known names that are most like a name, the nearest first."""
    from difflib import get_close_matches

    return get_close_matches(name, known, n=count, cutoff=cutoff)


def hint(meant: str | None, known: Iterable[str]) -> str:
    """What to write in the place of an unknown word."""
    return f"did you mean '{meant}'?" if meant else "known: " + ", ".join(sorted(known))


def nearest(name: str, known: Iterable[str]) -> str:
    """A hint naming the nearest of the known names, or all of them when none is near."""
    names = tuple(known)
    return hint(closest(name, names), names)
