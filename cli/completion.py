"""Names from the room file, for the shell to complete.

Switched on by click's own mechanism (docs/guide.md): the shell runs the program with
``_LIVEFOOD_COMPLETE`` set. Completion never speaks up: a file that cannot be read has no names.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

_Completer = Callable[[click.Context, click.Parameter, str], "list[CompletionItem]"]


def names_of(table: str, hint: str = "") -> _Completer:
    """Completes the names of one kind of thing in the room file.

    Args:
        table: ``tank``, ``brood``, ``culture`` or ``vessel``. hint: key of the table that is
            shown beside a name by shells that can.
    """

    def complete(
        ctx: click.Context,
        param: click.Parameter,  # noqa: ARG001 (click's signature)
        incomplete: str,
    ) -> list[CompletionItem]:
        # Imported here, and tomllib below, because every command imports this module.
        from click.shell_completion import CompletionItem

        rows = _rows(ctx, table)
        return [
            CompletionItem(str(row["name"]), help=str(row.get(hint, "")) or None)
            for row in rows
            if str(row["name"]).lower().startswith(incomplete.lower())
        ]

    return complete


def any_of(*sources: _Completer | str) -> _Completer:
    """Completes what any of the others does, and words that are always there."""

    def complete(
        ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        found: list[CompletionItem] = []
        for source in sources:
            if not isinstance(source, str):
                found += source(ctx, param, incomplete)
            elif source.startswith(incomplete.lower()):
                found.append(CompletionItem(source))
        return found

    return complete


def _rows(ctx: click.Context, table: str) -> list[dict[str, object]]:
    import tomllib

    chosen = ctx.params.get("room_path") or os.environ.get("LIVEFOOD_ROOM") or "room.toml"
    try:
        content = tomllib.loads(Path(str(chosen)).read_text("utf-8"))
    except (OSError, ValueError):
        return []
    rows = content.get(table, [])
    if not isinstance(rows, list):
        return []
    return [row for row in rows if isinstance(row, dict) and "name" in row]


tank_names = names_of("tank")
culture_names = names_of("culture", "kind")
vessel_names = names_of("vessel")
brood_names = names_of("brood", "tank")
