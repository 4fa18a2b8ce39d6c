"""How much a dear test looks at: little in the suite, much in the thorough profile."""

from __future__ import annotations

from hypothesis import settings

#: Examples of a property without a number of its own; it is also how the profile is known.
THOROUGH = 400


def thorough() -> bool:
    """Whether the thorough profile was loaded when a test is read."""
    return settings().max_examples == THOROUGH


def examples(suite: int, thorough_run: int) -> int:
    """The number for the profile that was loaded when a test is read."""
    return thorough_run if thorough() else suite
