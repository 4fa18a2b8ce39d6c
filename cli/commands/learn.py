"""``livefood learn``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.options import UsageProblemError, json_option, now_option, print_json, room_option


@click.command("learn")
@click.option("--off", metavar="WHAT", help="Stop using what was learned of this, or 'all'.")
@click.option("--on", metavar="WHAT", help="Use it again.")
@room_option
@now_option
@json_option
def command(
    off: str | None, on: str | None, room_path: Path, now: datetime | None, as_json: bool
) -> None:
    """What your own counts say: what is usual, what was seen, and what the plan uses now.

    WHAT is one of nauplii_per_gram, hatch_time, yield, swipe, growth, crash, all.

    Example: livefood learn --off yield
    """
    from cli.journal.book import Book
    from cli.screens.learn import learn_json, screen, switch

    if off is not None and off == on:
        raise UsageProblemError(f"say either --off or --on for {on}")
    book = Book.open(room_path, now)
    for what, state in ((off, "off"), (on, "on")):
        if what is not None:
            book.record([switch(what, state, book.now)])
    learned = book.present(book.now).learned
    if as_json:
        print_json(learn_json(learned))
    elif off is None and on is None:
        click.echo(screen(learned))
