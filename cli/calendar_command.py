"""``livefood calendar``: the plan on a phone, as a file, a feed or on a calendar server."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import (
    Setting,
    UsageProblemError,
    days_option,
    json_option,
    load,
    now_option,
    print_json,
    room_option,
)

if TYPE_CHECKING:
    from calendars.entries import Wishes
    from calendars.export import Outcome
    from cultures.room import Room

_IMPORT_ADVICE = """\
Import it into a calendar of its own, emptied first: many phones do not update
an entry that they already hold. See docs/calendar.md."""


@click.command("calendar")
@room_option
@now_option
@days_option
@json_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.ics",
    help="Write or update this calendar file.",
)
@click.option(
    "--only",
    metavar="GROUPS",
    default="",
    help="Only these, by commas: rounds, warnings, hatches, splits, fry, supplies.",
)
@click.option("--todos", is_flag=True, help="To-dos instead of events.")
@click.option("--tzid", is_flag=True, help="Write times in the room's own zone instead of UTC.")
@click.option("--per-day", type=click.IntRange(9, 200), help="Entries a day at most (12).")
@click.option("--replace", is_flag=True, help="Set aside a file that is not ours (FILE.ics.old).")
def command(
    room_path: Path,
    now: datetime | None,
    days: int | None,
    as_json: bool,
    out: Path | None,
    only: str,
    todos: bool,
    tzid: bool,
    per_day: int | None,
    replace: bool,
) -> None:
    """Put the plan on a phone, with alarms that move when the plan moves."""
    if out is None:
        raise UsageProblemError("say where to: --out FILE.ics writes a calendar file")
    setting = load(room_path, now)
    wishes = _wishes(setting.room, only, todos, per_day)
    outcome = _export(setting, days, wishes, out, tzid=tzid, replace=replace)
    if as_json:
        print_json(outcome.to_json())
    else:
        _report_file(outcome)


def _wishes(room: Room, only: str, todos: bool, per_day: int | None) -> Wishes:
    from calendars.from_plan import wishes_of

    groups = tuple(word.strip() for word in only.split(",") if word.strip())
    return wishes_of(room, only=groups, todos=todos, per_day=per_day)


def _export(
    setting: Setting, days: int | None, wishes: Wishes, out: Path, *, tzid: bool, replace: bool
) -> Outcome:
    from calendars.export import write_calendar
    from calendars.files import namespace
    from calendars.from_plan import entries_of, plan_for_calendar
    from calendars.ics import Header

    room = setting.room
    plan = plan_for_calendar(room, setting.now, days)
    return write_calendar(
        out,
        entries_of(plan, wishes, setting.now),
        header=Header(f"{room.name}: live food", room.timezone if tzid else None),
        now=setting.now,
        namespace=namespace(setting.path),
        replace_foreign=replace,
    )


def _report_file(outcome: Outcome) -> None:
    changes = outcome.changes
    more = f", {outcome.cancelled} more marked as cancelled" if outcome.cancelled else ""
    click.echo(f"{outcome.path}: {_count(outcome.entries)}{more}")
    if outcome.kept_as is not None:
        click.echo(f"The file that stood there was kept as {outcome.kept_as}.")
    if not outcome.written:
        click.echo("Nothing changed since the last export; the file stands as it was.")
        return
    click.echo(f"{changes.added} new, {changes.changed} changed, {changes.withdrawn} withdrawn.")
    click.echo(_IMPORT_ADVICE)


def _count(entries: int) -> str:
    return "1 entry" if entries == 1 else f"{entries} entries"
