"""``livefood learn``."""

from __future__ import annotations

import click

from cli.options import UsageProblemError, Where, answer, json_option, where_options


@click.command("learn")
@click.option("--off", metavar="WHAT", help="Stop using what was learned about this, or 'all'.")
@click.option("--on", metavar="WHAT", help="Use it again.")
@click.option(
    "--first", is_flag=True, help="What to measure next, by how much surer a minute makes the plan."
)
@where_options
@json_option
def command(off: str | None, on: str | None, first: bool, where: Where, as_json: bool) -> None:
    """What your own counts say: what is usual, what was seen, and what the plan uses now.

    WHAT is one of nauplii_per_gram, hatch_time, yield, swipe, growth, crash, all.

    \b
    Examples:
      livefood learn --off yield
      livefood learn --first
    """
    from cli.journal.recording import open_book, record, say, writing
    from cli.screens.learn import learn_json, screen, switch

    wanted = [(what, state) for what, state in ((off, "off"), (on, "on")) if what is not None]
    if first and wanted:
        raise UsageProblemError("say --first alone, without --off and --on")
    if first:
        _first(where, as_json)
        return
    if off is not None and off == on:
        raise UsageProblemError(f"say --off or --on for {on}")
    if wanted:
        with writing(where) as book:
            noted = record(book, [switch(what, state, book.now) for what, state in wanted])
        say(book, noted)
    else:
        book = open_book(where)
    learned, today = book.present(book.now).learned, book.now.date()
    if as_json or not wanted:
        answer(
            as_json,
            lambda: learn_json(learned, today),
            lambda: screen(learned, today, book.room.units),
        )


def _first(where: Where, as_json: bool) -> None:
    from cli.screens.first_counts import screen
    from cli.working import working
    from cultures.planning.first_counts import first_counts
    from cultures.planning.outlook import make_outlook

    setting = where.load()
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now)
        found = first_counts(outlook)
    units = setting.room.units
    answer(as_json, found.to_json, lambda: screen(found, outlook.until, units))
