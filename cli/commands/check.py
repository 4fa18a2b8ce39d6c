"""``livefood check``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.options import json_option, load, now_option, print_json, room_option


@click.command("check")
@room_option
@now_option
@json_option
def command(room_path: Path, now: datetime | None, as_json: bool) -> None:
    """Check the room file: all mistakes at once, or what was understood.

    Example: livefood check --room room.toml
    """
    from cli.screens.check import facts, screen

    setting = load(room_path, now)
    if as_json:
        print_json(facts(setting.room, setting.now))
        return
    click.echo(screen(setting.room, setting.now, setting.path))
