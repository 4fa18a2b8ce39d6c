"""``livefood serve``: the page of the round for a phone, until it is stopped."""

from __future__ import annotations

import click

from cli.option_types import Whole
from cli.options import Where, where_options
from cli.page.packages import PORT, need_packages


@click.command("serve")
@where_options
@click.option("--lan", is_flag=True, help="For phones on this network, not this computer alone.")
@click.option("--port", type=Whole(0, 65535), default=PORT, show_default=True, help="Listen here.")
@click.option("--new-key", is_flag=True, help="Make all earlier addresses invalid.")
@click.option("--helper", is_flag=True, help="Show the helper's address too.")
def command(where: Where, lan: bool, port: int, new_key: bool, helper: bool) -> None:
    """The round on a phone, to be ticked off between the tanks; serves until stopped.

    Whoever has the address can read the plan and note things. It is sent without
    encryption: use --lan on a network you trust, and never open the port to the internet.
    The calendar feed is served too, as by 'livefood calendar --serve'.

    Example: livefood serve --lan
    """
    need_packages()
    from cli.commands.calendar_ways import Job, feed_of
    from cli.page.serve import serve

    wishes = {"only": "", "todos": False, "per_day": None, "tzid": False, "new_address": new_key}
    feed = feed_of(Job(where.load(), None, False, wishes))
    serve(where, feed, lan=lan, port=port, renew=new_key, helper=helper)
