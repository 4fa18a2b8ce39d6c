"""Names from the room file, for the shell to complete.

Switched on by click's own mechanism (docs/guide.md): the shell runs the program with
``_LIVEFOOD_COMPLETE`` set. Completion never speaks up: a file that cannot be read has no names.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cultures import files
from cultures.errors import LivefoodError
from cultures.words.text import is_line, plain, short

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

_Completer = Callable[[click.Context, click.Parameter, str], "list[CompletionItem]"]
#: Tables of a room file that name things, and the key that tells most of each.
_NAMED = {"tank": "", "brood": "tank", "culture": "kind", "vessel": ""}


def named_rows(room_path: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """(table, row) of all that has a name in a room file; nothing of one that cannot be read."""
    import tomllib  # here, as every command imports this module

    try:
        content = tomllib.loads((files.read(room_path) or b"").decode("utf-8-sig"))
    except (LivefoodError, ValueError, RecursionError):
        return
    for table in _NAMED:
        rows = content.get(table, [])
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, dict) and is_line(name := row.get("name")):
                yield table, {**row, "name": plain(name)}


def names_of(*things: str) -> _Completer:
    """Completes the names of some kinds of things: ``tank``, ``brood``, ``culture``, ``vessel``.

    With some shells a word about each stands beside it. ``room`` stands for itself.
    """

    def complete(
        ctx: click.Context,
        param: click.Parameter,  # noqa: ARG001 (click's signature)
        incomplete: str,
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        chosen = ctx.params.get("room_path") or os.environ.get("LIVEFOOD_ROOM") or "room.toml"
        rows = [("room", {"name": "room"}), *named_rows(Path(str(chosen)))]
        return [
            CompletionItem(row["name"], help=short(str(row.get(_NAMED.get(table, ""), ""))) or None)
            for thing in things
            for table, row in rows
            if table == thing and row["name"].lower().startswith(incomplete.lower())
        ]

    return complete


tank_names = names_of("tank")
culture_names = names_of("culture")
brood_names = names_of("brood")
