"""``livefood labels``."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

import click

from cli.completion import names_of
from cli.option_types import FILE, Whole
from cli.options import (
    UsageProblemError,
    Where,
    answer,
    force_option,
    paper_option,
    report_option,
    where_options,
)


@click.command("labels")
@click.argument("names", nargs=-1, metavar="[CULTURE|VESSEL]...",
                shell_complete=names_of("culture", "vessel"))  # fmt: skip
@where_options
@click.option("--out", type=FILE, default=Path("labels.html"), show_default=True,
              help="The page to write.")  # fmt: skip
@click.option("--days", type=Whole(0, 60), default=14, show_default=True,
              help="Also cultures that are to be started within so many days.")  # fmt: skip
@click.option("--page", default="", metavar="URL",
              help="The address that 'livefood serve --lan' prints: each label gets a code that"
                   " opens its card. Who reads the code can use the page.")  # fmt: skip
@paper_option
@force_option
@report_option
def command(
    names: tuple[str, ...], where: Where, out: Path, days: int, page: str, paper: str | None,
    force: bool, as_json: bool,
) -> None:  # fmt: skip
    """Write a page of labels to cut out for boxes and bottles, with their dates.

    \b
    Examples:
      livefood labels
      livefood labels MW-3 MW-4 --out new.html
    """
    from cli.page.packages import need_packages
    from cli.sheet.labels import labels_of, labels_page
    from cli.sheet.write import paper_for, write_page
    from cultures.words.quantities import many

    if page:
        need_packages()
        if urlsplit(page).scheme not in ("http", "https") or len(page) > 300:
            raise UsageProblemError(
                "--page is the whole address that 'livefood serve --lan' prints, like"
                " http://192.168.1.20:8742/.../"
            )
    setting = where.load()
    paper = paper_for(setting, out, paper, force=force)
    labels = labels_of(setting, names, days, page)
    if not labels:
        raise UsageProblemError("there is no culture and no vessel to label")
    wrote = write_page(out, labels_page(setting.room, labels, paper=paper))
    answer(
        as_json,
        lambda: {"out": str(out), "labels": [label.name for label in labels], "paper": paper},
        lambda: f"{wrote}: {many(len(labels), 'label')} to cut out.",
    )
