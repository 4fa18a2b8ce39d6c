"""``livefood sheet``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from cli.option_types import DAY
from cli.options import Where, answer, where_options


@click.command("sheet")
@where_options
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), default=Path("sheet.html"),
    show_default=True, help="The page to write.",
)  # fmt: skip
@click.option("--week", is_flag=True, help="A week on one page to initial, then its days.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), help="Paper size (letter with US units)."
)
@click.option("--helper", is_flag=True, help="For the person who minds the room.")
@click.option("--from", "start", type=DAY, metavar="DAY",
              help="First day away, with --helper (default: the next [[away]]).")  # fmt: skip
@click.option("--to", "end", type=DAY, metavar="DAY",
              help="Last day away, with --helper.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace a file that is no sheet.")
@click.option("--json", "as_json", is_flag=True, help="Say what was written, as JSON.")
def command(
    where: Where, out: Path, week: bool, paper: str | None, helper: bool, start: date | None,
    end: date | None, force: bool, as_json: bool,
) -> None:  # fmt: skip
    """Write a page to print or to open on a phone: rounds with boxes to tick, then the weeks ahead.

    \b
    Examples:
      livefood sheet --out sheet.html
      livefood sheet --week --paper letter
      livefood sheet --helper --from 2027-01-10 --to 2027-01-14 --out helper.html
    """
    from cli.files import refuse_own
    from cli.sheet.write import Wanted, write_sheet

    wanted = Wanted(out=out, week=week, paper=paper, helper=helper, away=(start, end), force=force)
    refuse_own(out, where.path)
    report = write_sheet(where.load(), wanted)
    answer(as_json, lambda: report, lambda: report["message"])
