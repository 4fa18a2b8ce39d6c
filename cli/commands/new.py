"""``livefood new``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.options import MOMENT


@click.command("new")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False), default=Path("room.toml"))
@click.option("--name", default="My fish room", show_default=True, help="Name of the room.")
@click.option("--timezone", help="IANA time zone, like Europe/Lisbon (default: this computer's).")
@click.option("--now", type=MOMENT, metavar="TIME", help="Act as if it were this time.")
@click.option("--force", is_flag=True, help="Replace the file if it is there.")
def command(path: Path, name: str, timezone: str | None, now: datetime | None, force: bool) -> None:
    """Start a room file to fill in: one tank, one brood, one culture, one bottle.

    Example: livefood new room.toml --name "Back shed" --timezone Europe/Lisbon
    """
    from cli.commands.new_room import local_timezone, new_text, zone_of
    from cli.files import write_new
    from cli.options import clock
    from cultures.room.file import read_room

    zone = zone_of(timezone or local_timezone())
    now = now or clock()
    moment = (
        datetime.now(zone) if now is None else now if now.tzinfo is None else now.astimezone(zone)
    )
    text = new_text(name=name, timezone=zone.key, now=moment)
    read_room(text, name=str(path), today=moment.date())
    write_new(path, text, force=force)
    click.echo(f"Wrote {path}. Fill in your tanks, then run: livefood check --room {path}")
