"""Bold print as an aid: it says nothing that words do not, and NO_COLOR turns it off.

No colour is used: bold and reversed letters have the contrast that the terminal has, dark or light.
"""

from __future__ import annotations

import os
import re

import click

from cli.screens.text import fitted

#: A heading stands at the left edge and begins with a word in capitals.
_HEADING = re.compile(r"^[A-Z][A-Z ]{2}")
_TIME = re.compile(r"^( {1,5})(\d\d:\d\d|\d{1,2}(?::\d\d)? [ap]m|noon|midnight)(?= )")


def show(text: str) -> None:
    """Prints a screen; painted only on a terminal, and not when NO_COLOR is set."""
    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    painted = "\n".join(_painted(line) for line in fitted(text).split("\n"))
    click.echo(painted, color=False if plain else None)


def echo(text: str, *, nl: bool = True, err: bool = False) -> None:
    """Prints a message, folded to the terminal."""
    click.echo(fitted(text), nl=nl, err=err)


def _painted(line: str) -> str:
    """One line with its accents: bold headings and times, and what is urgent reversed."""
    if line.startswith("ACT NOW"):
        return click.style(line, bold=True, reverse=True)
    if _HEADING.match(line):
        return click.style(line, bold=True)
    return _TIME.sub(lambda m: m[1] + click.style(m[2], bold=True), line)
