"""``livefood repair``."""

from __future__ import annotations

from contextlib import ExitStack
from datetime import UTC, tzinfo

import click

from cli.files import said
from cli.options import Where, where_options
from cli.screens.paint import echo
from cli.screens.text import wrapped
from cultures import files
from cultures.errors import LivefoodError
from cultures.words.quantities import many


@click.command("repair")
@click.option("--mend", is_flag=True, help="Do it; without this it is only shown.")
@where_options
def command(where: Where, mend: bool) -> None:
    """Say what is wrong with the journal and the record, and mend it when asked.

    No line of the journal is deleted: one that cannot be understood is taken back, a missing
    first line is put back, another encoding becomes UTF-8. A copy of each file is kept first.
    With something left to mend it ends with exit code 1.

    \b
    Examples:
      livefood repair
      livefood repair --mend
    """
    from cultures.keeping.repair import carry_out, mends_of

    if files.read(where.path) is None:
        where.load_file()
    with ExitStack() as lock:
        if mend:
            lock.enter_context(files.locked(where.path.absolute().parent))
        mends = mends_of(where.path, _zone(where), where.time())
        copies = carry_out(mends) if mend else []
    if not mends:
        echo("Journal and record can be read; there is nothing to mend.")
        return
    for one in mends:
        much = many(len(one.steps), "thing")
        echo(f"{said(one.path)}: {much} {'mended' if mend else 'to mend'}")
        for step in one.steps:
            echo(wrapped(step, 4, "  - "))
    for copy in copies:
        echo(f"The old file is kept as {said(copy)}.")
    if not mend:
        echo("Nothing was changed. To do it: livefood repair --mend")
        click.get_current_context().exit(1)


def _zone(where: Where) -> tzinfo:
    """The room's; where its file cannot be read, times without an offset do not matter here."""
    try:
        return where.load_file().timezone
    except LivefoodError:
        return UTC
