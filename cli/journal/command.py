"""``livefood journal``: note what was done, look it up, take it back, tick off what is due."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.completion import any_of, brood_names, culture_names, tank_names, vessel_names
from cli.journal.amounts import drops
from cli.journal.book import Book, EventCommand, entry_options, sure_option
from cli.journal.culture_events import EVENT_COMMANDS
from cli.options import (
    MOMENT,
    SPOKEN,
    Spoken,
    UsageProblemError,
    Whole,
    json_option,
    localise,
    now_option,
    print_json,
    room_option,
)
from cli.quantities import Number
from cli.screens.text import wrapped
from cultures.errors import nearest
from cultures.journal.entries import EVENTS, Entry, undo_of
from cultures.record.present import EARLY
from cultures.tasks.told import ToldTask
from cultures.words.quantities import many


class _Group(click.Group):
    """Takes ``free-swimming`` for ``free_swimming``, and names the nearest command."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        name = cmd_name.lower()
        names = (name, name.replace("-", "_"), name.replace("_", "-"))
        return next((self.commands[n] for n in names if n in self.commands), None)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            ctx.fail(f"there is no event '{args[0]}'; {nearest(args[0], self.commands)}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            rows = [(n, c.get_short_help_str(limit=200)) for n, c in self.commands.items()]
            formatter.write_dl(rows)

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's signature)
        return list(self.commands)


@click.group("journal", cls=_Group)
def command() -> None:
    """Note what was really done and counted: the plan goes on from there.

    The journal is journal.csv beside the room file; it is only ever added to. What
    'livefood today' told you and you do not note is taken as done; 'journal done'
    confirms it, 'journal skip' says that it was not.

    Example: livefood journal harvest MW-1 6 swipes
    """


for _each in EVENT_COMMANDS:
    command.add_command(_each)


@command.command("done", cls=EventCommand)
@click.argument("names", nargs=-1, metavar="[TASK]...")
@click.option("--except", "but", multiple=True, metavar="TASK", help="All but this; repeatable.")
@click.option("--dry-run", is_flag=True, help="Show what is due and note nothing.")
@click.option("--since", type=SPOKEN, metavar="TIME", help="Only what was told for then or later.")
@sure_option
@entry_options
def done(
    names: tuple[str, ...], but: tuple[str, ...], dry_run: bool, since: datetime | Spoken | None,
    at: datetime | Spoken | None, note: str, room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """Tick off what was told: all that is due, or TASKs by number, id or name.

    \b
    Examples:
      livefood journal done
      livefood journal done MW-1 "bottle 1"
      livefood journal done --except MW-1
    """
    from cli.journal.lists import choose, due_lines

    book = Book.open(room_path, now)
    due, begun = _due(book, since)
    if dry_run or not due:
        click.echo(due_lines(due, book) if due else wrapped(NOTHING_DUE))
        return
    left_out = {t.task.id for t in choose(due, but, now=book.now)} if but else set()
    chosen = [t for t in choose(due, names, now=book.now) if t.task.id not in left_out]
    if not names:  # what is still to come is ticked off only by its name
        chosen = [t for t in chosen if t.task.at <= book.now or t.task.id in begun]
    if not chosen:
        raise UsageProblemError(
            "nothing is left to note: what is told for later is noted when it is done, or by name"
        )
    moment = None if at is None else book.when(at)
    room = book.state(book.now)
    book.record([book.ticked(t, room, moment)._replace(note=note) for t in chosen])
    left = len(due) - len(chosen) - len(left_out)
    if not names and left > 0:
        what = "It is" if left == 1 else "They are"
        click.echo(wrapped(
            f"Not ticked off: {many(left, 'task')} still to come. {what} noted when done, or now by"
            " name."
        ))  # fmt: skip


def _due(
    book: Book, since: datetime | Spoken | None = None
) -> tuple[list[ToldTask], frozenset[str]]:
    """(told work that is due or soon will be, from a time on; ids of what has begun of it)."""
    start = None if since is None else book.when(since)
    found = book.present(book.now, pending=True)
    due = [t for t in found.due(EARLY) if start is None or t.task.at >= start]
    return due, frozenset(t.task.id for t in found.in_hand)


NOTHING_DUE = (
    "Nothing that was told is open: all is noted, or nobody looked at 'livefood today' yet."
)


@command.command("due", cls=EventCommand)
@room_option
@now_option
@json_option
def due_(room_path: Path, now: datetime | None, as_json: bool) -> None:
    """What was told and is not noted: taken as done, or still to be done.

    Example: livefood journal due
    """
    from cli.journal.lists import due_json, due_lines

    book = Book.open(room_path, now)
    due, _ = _due(book)
    if as_json:
        print_json(due_json(due, book))
    else:
        click.echo(due_lines(due, book) if due else wrapped(NOTHING_DUE))


@command.command("skip", cls=EventCommand)
@click.argument("names", nargs=-1, required=True, metavar="TASK...")
@entry_options
def skip(
    names: tuple[str, ...], at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """TASKs that were told were not done: by number, id or name.

    \b
    Examples:
      livefood journal skip MW-1
      livefood journal skip 2
    """
    book = Book.open(room_path, now)
    moment = book.when(at)
    found = book.present(book.now, pending=True)
    due = found.due(EARLY)
    ahead = sorted(
        (t for t in found.record.tasks.values()
         if book.now < t.task.at and t.task.at.date() == book.now.date()
         and t.task.id not in found.fates.answer and t not in due),
        key=lambda t: t.task.at,
    )  # fmt: skip
    chosen = _skipped([*due, *ahead], names, book.now)
    book.record([
        Entry(min(max(moment, t.task.at), book.now), "skip", t.task.subject, t.task.id, note=note)
        for t in chosen
    ])  # fmt: skip


def _skipped(due: list[ToldTask], names: tuple[str, ...], now: datetime) -> list[ToldTask]:
    """Of several tasks of one name that lie ahead, the next is meant."""
    from cli.journal.lists import choose

    chosen = choose(due, names, now=now, latest=True)
    ahead = [t for t in chosen if t.task.at > now]
    later = {
        t.task.id for t in ahead
        if any(x.task.subject == t.task.subject and x.task.at < t.task.at for x in due)
        and t.task.id not in names
    }  # fmt: skip
    return [t for t in chosen if t.task.id not in later] or chosen


@command.command("show")
@click.option(
    "--event", type=click.Choice(list(EVENTS)), metavar="EVENT",
    help="Only this event: harvest, count, undo...",
)  # fmt: skip
@click.option(
    "--subject", metavar="NAME", help="Only what is about this.",
    shell_complete=any_of("room", brood_names, culture_names, tank_names, vessel_names),
)  # fmt: skip
@click.option("--from", "start", type=MOMENT, metavar="TIME", help="Not before.")
@click.option("--to", "end", type=MOMENT, metavar="TIME", help="Not after.")
@click.option("--last", type=Whole(1), help="Only so many, the latest.")
@click.option("--undone", is_flag=True, help="With the lines that were taken back.")
@room_option
@now_option
@json_option
def show(
    event: str | None, subject: str | None, start: datetime | None, end: datetime | None,
    last: int | None, undone: bool, room_path: Path, now: datetime | None, as_json: bool,
) -> None:  # fmt: skip
    """What the journal says, by time.

    Example: livefood journal show --subject MW-1 --last 10
    """
    from cli.journal.lists import chosen_entries, entries_json, entry_lines

    book = Book.open(room_path, now)
    limits = tuple(None if t is None else localise(t, book.room) for t in (start, end))
    entries = chosen_entries(
        book.journal, event=event, subject=subject, start=limits[0], end=limits[1] or book.now,
        last=last, undone=undone,
    )  # fmt: skip
    if as_json:
        print_json(entries_json(entries, book))
    else:
        click.echo(entry_lines(entries, book))


@command.command("undo", cls=EventCommand)
@click.option("--line", type=Whole(2), help="The line to take back, else the last.")
@entry_options
def undo(
    line: int | None, at: datetime | Spoken | None, note: str, room_path: Path, now: datetime | None
) -> None:
    """Take back the last entry, or one by its line. Undo an undo to have it again.

    Example: livefood journal undo --line 12
    """
    book = Book.open(room_path, now)
    target = book.journal.last() if line is None else book.journal.at_line(line)
    if target is None:
        raise UsageProblemError(
            "there is nothing to take back" if line is None else f"line {line} is no entry"
        )
    if target.line in book.journal.undone():
        raise UsageProblemError(f"line {target.line} was taken back already; see --undone")
    book.record([undo_of(target, book.when(at))._replace(note=note)])


@command.command("import", cls=EventCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--dates", type=click.Choice(["iso", "dmy", "mdy"]), default="iso", show_default=True,
    help="How days are written: 2027-01-31, 31/01/2027 or 01/31/2027.",
)  # fmt: skip
@click.option("--dry-run", is_flag=True, help="Check every row and note nothing.")
@sure_option
@room_option
@now_option
def import_(file: Path, dates: str, dry_run: bool, room_path: Path, now: datetime | None) -> None:
    """Take in a spreadsheet's CSV with the columns when, event, subject and more.

    All rows are checked first; with one mistake nothing is noted. Rows that the journal
    has already are left out.

    Example: livefood journal import march.csv --dates dmy --dry-run
    """
    from cli.journal.lists import import_summary
    from cultures.journal.spreadsheet import new_entries, read_import

    book = Book.open(room_path, now)
    found = read_import(file, book.room.timezone, dates=dates, now=book.now)
    fresh = new_entries(found, book.journal.entries)
    click.echo(import_summary(found, fresh, dry_run=dry_run))
    if fresh and not dry_run:
        book.record(fresh, quiet=True)


@command.command("count-helper", cls=EventCommand)
@click.argument("counts", nargs=-1, required=True)
@click.option("--drop-ml", type=float, required=True, help="Volume of one drop.")
@click.option("--of-ml", type=float, required=True, help="Volume of the whole.")
@click.option("--diluted", type=float, default=1.0, help="How many times it was diluted first.")
@click.option("--grams", type=Number(0.001, 10000), help="Cysts behind it.")
@json_option
def count_helper(
    counts: tuple[str, ...], drop_ml: float, of_ml: float, diluted: float, grams: float | None,
    as_json: bool,
) -> None:  # fmt: skip
    """From animals in each drop to a total, its interval, and how many more drops would halve it.

    Example: livefood journal count-helper 12 9 15 --drop-ml 0.05 --of-ml 1000
    """
    from cli.journal.lists import helper_json, helper_text

    found = drops(counts, drop_ml, of_ml, diluted)
    if as_json:
        print_json(helper_json(found, grams))
    else:
        click.echo(helper_text(found, grams))
