"""``livefood year``."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import UsageProblemError, Where, answer, json_option, where_options


@click.command("year")
@where_options
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False),
              help="Write it as a page to print or to open on a phone.")  # fmt: skip
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), help="Paper size (letter with US units)."
)
@click.option("--force", is_flag=True, help="Replace a file that is no sheet.")
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
    from cli.files import refuse_own, said
    from cli.screens.text import wrapped
    from cli.sheet.write import refuse_strange
    from cli.sheet.year import year_page
    from cultures import files

    refuse_own(out, where.path)
    refuse_strange(out, force=force)
    paper = paper or ("letter" if setting.room.units == "us" else "a4")
    files.write(out, year_page(year, paper=paper).encode("utf-8"))
    answer(
        as_json, lambda: {"out": str(out), "paper": paper, **year_json(year)},
        lambda: wrapped(
            f"Wrote {said(out)}: open it in a browser, or print it on {paper.capitalize()}."
        ),
    )  # fmt: skip
