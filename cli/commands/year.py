"""``livefood year``."""

from __future__ import annotations

from pathlib import Path

import click

from cli.option_types import FILE
from cli.options import (
    UsageProblemError,
    Where,
    answer,
    force_option,
    json_option,
    paper_option,
    where_options,
)


@click.command("year")
@where_options
@click.option("--out", type=FILE, help="Write it as a page to print or to open on a phone.")
@paper_option
@force_option
@json_option
def command(where: Where, out: Path | None, paper: str | None, force: bool, as_json: bool) -> None:
    """The year on one page: each brood by stage, absences, and the load of each live food.

    A spawning that is planned is in it, so that too many are seen before they happen.

    \b
    Examples:
      livefood year
      livefood year --out year.html
    """
    from cli.screens.year import screen, year_json
    from cli.working import working
    from cultures.planning.year import year_of

    if out is None and (paper or force):
        raise UsageProblemError("--paper and --force go with --out")
    setting = where.load()
    with working("Looking a year ahead"):
        year = year_of(setting.room, setting.now)
    if out is None:
        answer(as_json, lambda: year_json(year), lambda: screen(year))
        return
    from cli.screens.text import wrapped
    from cli.sheet.write import paper_for, write_page
    from cli.sheet.year import year_page

    paper = paper_for(setting, out, paper, force=force)
    wrote = write_page(out, year_page(year, paper=paper))
    answer(
        as_json, lambda: {"out": str(out), "paper": paper, **year_json(year)},
        lambda: wrapped(f"{wrote}: open it in a browser, or print it on {paper.capitalize()}."),
    )  # fmt: skip
