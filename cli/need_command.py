"""``livefood need``."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import click

from cli.options import days_option, json_option, load, now_option, print_json, room_option


@click.command("need")
@room_option
@now_option
@days_option
@json_option
def command(room_path: Path, now: datetime | None, days: int | None, as_json: bool) -> None:
    """What each tank needs, round by round, by the ideal diet (default: one day).

    Example: livefood need --days 3
    """
    from cli.need_text import need_json, screen
    from cultures.need import room_needs, rounds_between

    setting = load(room_path, now)
    until = setting.now + timedelta(days=days or 1)
    needs = room_needs(setting.room, rounds_between(setting.room, setting.now, until))
    if as_json:
        print_json(need_json(needs))
        return
    click.echo(screen(setting.room, needs))
