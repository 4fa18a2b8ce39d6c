"""``livefood history``."""

from __future__ import annotations

from datetime import datetime
from difflib import unified_diff
from pathlib import Path

import click

from cli.files import said
from cli.option_types import Whole
from cli.options import UsageProblemError, Where, where_options
from cli.screens.paint import echo
from cultures import files
from cultures.errors import LivefoodError
from cultures.words.moments import year_when
from cultures.words.quantities import many
from cultures.words.text import seen


@click.command("history")
@click.argument("number", type=Whole(1, 10**6), required=False)
@click.option("--restore", is_flag=True, help="Put version NUMBER back; the present one is kept.")
@where_options
def command(where: Where, number: int | None, restore: bool) -> None:
    """Earlier room files: list them, show what was edited since, take an edit back.

    A room file is kept when something is told or noted from it for the first time.

    \b
    Examples:
      livefood history
      livefood history 2
      livefood history 2 --restore
    """
    from cultures.record.history import put_back, read_history, version

    if number is None:
        if restore:
            raise UsageProblemError("say which: livefood history NUMBER --restore")
        known = read_history(where.path)
        before, units = [""] + [each.text for each in known], _units(where)
        for count, each in enumerate(known, 1):
            edits = _edits(before[count - 1], each.text)
            how = "the first" if count == 1 else f"{many(edits, 'line')} other than in {count - 1}"
            since = year_when(datetime.fromisoformat(each.at), units)
            echo(f"  {count:>4}  from {since} on  {how}")
        if not known:
            where.load_file()
            echo("Nothing was told or noted from this room file yet.")
        return
    wanted = version(where.path, number)
    if restore:
        put_back(where.path, wanted, where.time())
        since = year_when(datetime.fromisoformat(wanted.at), _units(where))
        echo(f"{said(where.path)} is again as it was from {since} on. See: livefood check")
        return
    echo(_since(wanted.text, where.path, number))


def _units(where: Where) -> str:
    """The room's; where its file cannot be read, metric ones."""
    try:
        return where.load_file().units
    except LivefoodError:
        return "metric"


def _edits(old: str, new: str) -> int:
    """How many lines went or came."""
    lines = [*unified_diff(old.splitlines(), new.splitlines(), lineterm="", n=0)][2:]
    return sum(line.startswith(("-", "+")) for line in lines)


def _since(old: str, path: Path, number: int) -> str:
    now = (files.read(path) or b"").decode("utf-8", "replace")
    lines = unified_diff(
        old.splitlines(), now.splitlines(), f"version {number}", f"{path} now", lineterm="", n=1
    )
    return seen("\n".join(lines)) or f"{said(path)} is as it was then."
