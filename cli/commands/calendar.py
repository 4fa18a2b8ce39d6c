"""``livefood calendar``: the plan on a phone, as a file, a feed or on a calendar server."""

from __future__ import annotations

from typing import Any

import click

from cli.option_types import FILE, Whole
from cli.options import UsageProblemError, Where, days_option, json_option, where_options

#: Options that mean something for one way only.
_BELONGS_TO = {
    "replace": "out", "split": "out", "bind": "serve", "port": "serve", "new_address": "serve",
    "remove": "publish",
}  # fmt: skip


@click.command("calendar")
@where_options
@days_option
@json_option
@click.option("--out", type=FILE, metavar="FILE.ics", help="Write or update this calendar file.")
@click.option("--serve", is_flag=True, help="Serve a feed to subscribe to, until stopped.")
@click.option(
    "--sync", metavar="URL",
    help="Read what was ticked or changed on a CalDAV calendar, plan, and bring it up to date.",
)  # fmt: skip
@click.option("--publish", metavar="URL", help="The same without reading what was ticked there.")
@click.option(
    "--only", metavar="GROUPS", default="",
    help="Only these, by commas: rounds, warnings, hatches, splits, fry, supplies.",
)  # fmt: skip
@click.option("--todos", is_flag=True, help="To-dos instead of events.")
@click.option("--tzid", is_flag=True, help="Times in the room's own zone instead of UTC.")
@click.option("--per-day", type=Whole(9, 200), help="Entries a day at most (12).")
@click.option("--replace", is_flag=True, help="With --out: set aside a file that is not ours.")
@click.option("--split", is_flag=True, help="With --out: also a file for each entry, in a folder.")
@click.option("--bind", metavar="IP", help="With --serve: on this address (127.0.0.1).")
@click.option("--port", type=Whole(0, 65535), help="With --serve: on this port (8742).")
@click.option("--new-address", is_flag=True, help="With --serve: make the old address invalid.")
@click.option("--user", metavar="NAME", help="With --sync or --publish (or $LIVEFOOD_CALDAV_USER).")
@click.option("--remove", is_flag=True, help="With --publish: delete all that livefood put there.")
def command(where: Where, days: int | None, as_json: bool, **options: Any) -> None:
    """Put the plan on a phone, with alarms that move when the plan moves.

    Give one of --sync, --out, --serve or --publish. A file is the simplest, but many
    phones do not update what they have imported; a feed or a CalDAV calendar is updated,
    and --sync also notes what you ticked off on the phone.

    Example: livefood calendar --out jobs.ics --only hatches,splits
    """
    from cli.commands.calendar_ways import Job, publish_plan, serve_feed, sync_plan, write_file
    from cli.files import refuse_own

    ways = {
        "out": write_file, "serve": serve_feed, "publish": publish_plan, "sync": sync_plan
    }  # fmt: skip
    way = ways[_way(options)]
    if options["out"]:
        refuse_own(options["out"], where.path)
    way(Job(where.load(), days, as_json, options))


def _way(options: dict[str, Any]) -> str:
    ways = [name for name in ("out", "serve", "publish", "sync") if options[name]]
    if len(ways) != 1:
        raise UsageProblemError(
            "say where to, one of: --sync URL, --out FILE.ics, --serve, --publish URL"
            + (f"; not {' and '.join(f'--{name}' for name in ways)} at once" if ways else "")
        )
    for name, way in _BELONGS_TO.items():
        if options[name] not in (None, False) and way != ways[0]:
            raise UsageProblemError(f"--{name.replace('_', '-')} goes with --{way} only")
    if options["user"] and ways[0] not in ("publish", "sync"):
        raise UsageProblemError("--user goes with --sync or --publish only")
    return ways[0]
