"""``livefood sheet``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from cli.option_types import DAY, FILE
from cli.options import Where, answer, force_option, paper_option, report_option, where_options


@click.command("sheet")
@where_options
@click.option("--out", type=FILE, default=Path("sheet.html"), show_default=True,
              help="The page to write.")  # fmt: skip
@click.option("--week", is_flag=True, help="A week on one page to initial, then its days.")
@paper_option
@click.option("--helper", is_flag=True, help="For the person who minds the room.")
@click.option("--from", "start", type=DAY, metavar="DAY",
              help="First day away, with --helper (default: the next [[away]]).")  # fmt: skip
@click.option("--to", "end", type=DAY, metavar="DAY",
              help="Last day away, with --helper.")  # fmt: skip
@force_option
@report_option
def command(where: Where, as_json: bool, **wanted: Any) -> None:
    """Write a page to print or to open on a phone: rounds with boxes to tick, then the weeks ahead.

    \b
    Examples:
      livefood sheet --out sheet.html
      livefood sheet --week --paper letter
      livefood sheet --helper --from 2027-01-10 --to 2027-01-14 --out helper.html
    """
    from cli.sheet.write import write_sheet

    report = write_sheet(where.load(), **wanted)
    answer(as_json, lambda: report, lambda: report["message"])
