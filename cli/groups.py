"""A command with commands of its own that says in a line what a word it does not know may mean."""

from __future__ import annotations

import click


class Group(click.Group):
    """Says of a word that is none of its commands what :meth:`unknown` has for it."""

    def unknown(self, word: str) -> str:
        """What is wrong with a word, and what would be right."""
        raise NotImplementedError

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does it, but for its message."""
        asked = bool(args) and not args[0].startswith("-") and not ctx.resilient_parsing
        if asked and self.get_command(ctx, args[0]) is None:
            ctx.fail(self.unknown(args[0]))
        return super().resolve_command(ctx, args)
