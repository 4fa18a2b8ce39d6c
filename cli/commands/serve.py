"""``livefood serve``: the page of the round for a phone, until it is stopped."""

from __future__ import annotations

from importlib.util import find_spec

import click

from cli.option_types import Whole
from cli.options import UsageProblemError, Where, where_options

#: What the extra brings.
_NEEDED = ("flask", "waitress", "segno")


@click.command("serve")
@where_options
@click.option("--lan", is_flag=True, help="For phones on this network, not this computer alone.")
@click.option("--port", type=Whole(0, 65535), default=8743, show_default=True, help="Listen here.")
@click.option("--new-key", is_flag=True, help="Make all earlier addresses invalid.")
@click.option("--helper", is_flag=True, help="Show the helper's address too.")
def command(where: Where, lan: bool, port: int, new_key: bool, helper: bool) -> None:
    """The round on a phone, to be ticked off between the tanks; serves until stopped.

    Whoever has the address can read the plan and note things. It is sent without
    encryption: use --lan on a network you trust, and never open the port to the internet.

    Example: livefood serve --lan
    """
    missing = [name for name in _NEEDED if find_spec(name) is None]
    if missing:
        raise UsageProblemError(
            "the page needs more packages; install them with: pip install 'livefood[page]'"
        )
    from cli.page.serve import serve

    serve(where, lan=lan, port=port, renew=new_key, helper=helper)
