"""``livefood demo``: the whole job on a room that is written for it."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from pathlib import Path

import click

from calendars.export import write_calendar
from calendars.from_plan import entries_of, wishes_of
from calendars.ics import Header
from calendars.identity import namespace
from cli.commands.demo_room import DEMO_ROUNDS, demo_text
from cli.files import refuse_taken, said, write_new
from cli.option_types import FOLDER, MOMENT
from cli.options import Setting, Where, clock, localise
from cli.progress import planned
from cli.screens.care import practice
from cli.screens.paint import echo
from cli.screens.shown import this_round
from cli.screens.today import screen
from cli.telling import tell_rounds
from cultures.errors import FileProblemError
from cultures.journal.entries import journal_path
from cultures.needs.need import rounds_between
from cultures.room.file import read_room
from cultures.tasks.plan import Plan
from cultures.tasks.told import LATE
from cultures.words.moments import clock_text


@click.command("demo")
@click.argument("folder", type=FOLDER, default=Path("livefood-demo"))
@click.option("--now", type=MOMENT, metavar="TIME", help="Act as if it were this time.")
@click.option("--force", is_flag=True, help="Replace the demo room if it is there.")
def command(folder: Path, now: datetime | None, force: bool) -> None:
    """Write a demo room into FOLDER and show the whole job on it.

    Example: livefood demo livefood-demo
    """
    echo(_run(folder, now, force=force))


def _run(folder: Path, now: datetime | None, *, force: bool) -> str:
    """Writes the demo room and its calendar; the screen to show.

    Raises:
        LivefoodError: a file is there already or cannot be written.
    """
    path = folder / "room.toml"
    refuse_taken(path, force=force)
    if path.exists():
        _refuse_a_keepers_own(path)
    write_new(path, _text(now or clock()), force=force)
    setting = Where(path, now).load()
    outlook, plan = planned(setting)
    rounds = this_round(outlook)
    text = screen(outlook, plan, rounds=rounds, practice=practice(outlook, setting.present))
    tell_rounds(setting, outlook, rounds, plan)
    calendar = folder / "livefood.ics"
    shown = said(path)
    return (
        f"{text}\n\nWrote {shown} (the demo room)"
        f"\nand {said(calendar)} ({_export(setting, plan, calendar)} entries"
        f" for a phone calendar).\n\nGo on with:\n  livefood plan --room {shown}"
        f"\n  livefood need --room {shown}\n  livefood sheet --room {shown}"
        f"\n  livefood calendar --room {shown} --out food.ics"
    )


def _text(moment: datetime | None) -> str:
    """The demo room as its keeper has it at a moment: what was ripe for earlier rounds is fed."""
    day = (moment or datetime.now().astimezone()).date()
    room = read_room(demo_text(day), today=day)
    now = localise(moment, room.timezone)
    first = rounds_between(room, now - LATE, now + timedelta(days=2))[0].at
    return demo_text(first.date(), clock_text(first))


def _refuse_a_keepers_own(path: Path) -> None:
    """Refuses to write over a room that is not the demo's as it was written, or has notes.

    Raises:
        FileProblemError: it is one.
    """
    if not _is_the_demo(path.read_text("utf-8", errors="replace")):
        raise FileProblemError(
            f"{path} is not the demo room as it was written; name another folder for the demo"
        )
    if journal_path(path).exists():
        raise FileProblemError(
            f"{journal_path(path)} holds notes that belong to {path}; name another folder for the"
            " demo, or move both away"
        )


def _is_the_demo(text: str) -> bool:
    """Whether a room file is the demo's, as it was written for the day after its date."""
    stated = re.search(r"^as_of = (\d{4}-\d\d-\d\d)\b", text, re.MULTILINE)
    try:
        day = date.fromisoformat(stated[1]) + timedelta(days=1) if stated else None
    except (ValueError, OverflowError):
        return False
    return day is not None and any(text == demo_text(day, at) for at in DEMO_ROUNDS)


def _export(setting: Setting, plan: Plan, target: Path) -> int:
    """Writes the calendar; the number of entries in it."""
    entries = entries_of(plan, wishes_of(setting.room), setting.now)
    outcome = write_calendar(
        target, entries, header=Header(f"{setting.room.name}: live food"), now=setting.now,
        identity=lambda: namespace(setting.path),
    )  # fmt: skip
    return outcome.entries
