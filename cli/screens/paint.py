"""Colour as an aid: what it says is said in words too, and NO_COLOR turns it off."""

from __future__ import annotations

import os
import re

import click

#: A heading stands at the left edge and begins with a word in capitals.
_HEADING = re.compile(r"^[A-Z][A-Z ]{2}")
_TIME = re.compile(r"^(  )(\d\d:\d\d)(?=  )")


def show(text: str) -> None:
    """Prints a screen; coloured only on a terminal, and not when NO_COLOR is set."""
    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    painted = "\n".join(_painted(line) for line in text.split("\n"))
    click.echo(painted, color=False if plain else None)


def _painted(line: str) -> str:
    """One line with its accents: bold headings, blue times, yellow warnings.

    Blue and yellow are told apart in every common form of colour blindness.
    """
    if line.startswith(("ACT NOW", "LOOK OUT")):
        return click.style(line, bold=True, fg="yellow")
    if _HEADING.match(line):
        return click.style(line, bold=True)
    return _TIME.sub(lambda m: m[1] + click.style(m[2], fg="blue", bold=True), line)
