"""``livefood new``."""

from __future__ import annotations

import json
import os
from datetime import datetime
from difflib import get_close_matches
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

import click

from cli.files import said, write_new
from cli.option_types import FILE, MOMENT
from cli.options import clock, localise
from cli.screens.paint import echo
from cli.shipped import NEW_ROOM, room_text
from cultures.errors import UnknownNameError
from cultures.room.file import read_room


@click.command("new")
@click.argument("path", type=FILE, default=Path("room.toml"))
@click.option("--name", default="My fish room", show_default=True, help="Name of the room.")
@click.option("--timezone", help="IANA time zone, like Europe/Lisbon (default: this computer's).")
@click.option("--guide", is_flag=True, help="The room of 'livefood help guide', from today on.")
@click.option("--now", type=MOMENT, metavar="TIME", help="Act as if it were this time.")
@click.option("--force", is_flag=True, help="Replace the file if it is there.")
def command(
    path: Path, name: str, timezone: str | None, guide: bool, now: datetime | None, force: bool
) -> None:
    """Start a room file to fill in: one tank, one brood, one culture, one bottle.

    \b
    Examples:
      livefood new room.toml --name "Back shed" --timezone Europe/Lisbon
      livefood new room.toml --guide
    """
    zone = _zone_of(timezone or _local_timezone())
    moment = localise(now or clock(), zone)
    if guide:
        text = room_text("guide_room.toml", moment.date(), timezone=json.dumps(zone.key))
    else:
        text = room_text(
            NEW_ROOM, moment.date(), name=json.dumps(name, ensure_ascii=False),
            timezone=json.dumps(zone.key),
            now=moment.replace(second=0, microsecond=0, tzinfo=None).isoformat(),
        )  # fmt: skip
    read_room(text, name=str(path), today=moment.date())
    shown, folder = said(path), "" if path.absolute().parent.exists() else ", in a new folder"
    write_new(path, text, force=force)
    then = "Follow it with: livefood help guide --today"
    if not guide:
        then = f"Put in your own room with a text editor, then run: livefood check --room {shown}"
    echo(f"Wrote {shown}{folder}. {then}")


def _zone_of(name: str) -> ZoneInfo:
    """The zone of an IANA name.

    Raises:
        UnknownNameError: there is none of this name.
    """
    try:
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        near = get_close_matches(name, available_timezones(), n=3)
        known = near or ["UTC", "and names like Europe/Lisbon"]
        raise UnknownNameError("time zone", name, known) from None


def _local_timezone() -> str:
    """This computer's IANA zone, or UTC where it cannot be told."""
    named = os.environ.get("TZ", "").lstrip(":")
    if "/" in named and not named.startswith("/"):
        return named
    try:
        target = Path("/etc/localtime").resolve().as_posix()
    except OSError:
        return "UTC"
    return target.split("/zoneinfo/")[-1] if "/zoneinfo/" in target else "UTC"
