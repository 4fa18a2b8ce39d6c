"""``livefood check``."""

from __future__ import annotations

import click

from cli.options import Where, answer, json_option, where_options


@click.command("check")
@where_options
@json_option
def command(where: Where, as_json: bool) -> None:
    """Check the room file: all mistakes at once, or what was understood.

    Example: livefood check --room room.toml
    """
    from cli.screens.check import facts, screen

    setting = where.load(pending=False)
    room, now = setting.room, setting.now
    answer(
        as_json, lambda: facts(room, now),
        lambda: screen(room, now, setting.path, unfilled=setting.unfilled),
    )  # fmt: skip
