"""``livefood need``."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import click

from cli.completion import brood_names
from cli.options import (
    Setting,
    UsageProblemError,
    Whole,
    json_option,
    load,
    now_option,
    print_json,
    room_option,
)

#: Days that ``--brood`` shows unless told otherwise.
BROOD_DAYS = 56


@click.command("need")
@room_option
@now_option
@click.option("--days", type=Whole(1, 400), help="Days to look ahead (1; with --brood 56).")
@click.option(
    "--brood", metavar="NAME", shell_complete=brood_names,
    help="Growth, diet and dates of one brood.",
)  # fmt: skip
@click.option("--why", is_flag=True, help="With --brood: its next need, line by line.")
@json_option
def command(
    room_path: Path,
    now: datetime | None,
    days: int | None,
    brood: str | None,
    why: bool,
    as_json: bool,
) -> None:
    """What each tank needs, round by round, by the ideal diet.

    \b
    Examples:
      livefood need --days 3
      livefood need --brood "gourami 12" --why
    """
    if why and brood is None:
        raise UsageProblemError("--why explains one brood: name it with --brood")
    if why and as_json:
        raise UsageProblemError("--why is for reading; leave out either --why or --json")
    setting = load(room_path, now)
    if brood is not None:
        _show_brood(setting, brood, days, why=why, as_json=as_json)
        return
    from cli.screens.need import need_json, screen
    from cultures.needs.need import room_needs, rounds_between

    until = setting.now + timedelta(days=days or 1)
    needs = room_needs(setting.room, rounds_between(setting.room, setting.now, until))
    if as_json:
        print_json(need_json(setting.room, needs))
        return
    click.echo(screen(setting.room, needs))


def _show_brood(setting: Setting, name: str, days: int | None, *, why: bool, as_json: bool) -> None:
    from cli.screens import brood as brood_text
    from cli.screens import brood_why
    from cultures.needs.dates import brood_dates
    from cultures.needs.need import BroodCourse, rounds_between

    course = BroodCourse.of(setting.room, setting.room.brood(name))
    start, shown = setting.now.date(), days or BROOD_DAYS
    if why:
        rounds = rounds_between(setting.room, setting.now, setting.now + timedelta(days=2))
        click.echo(brood_why.why(course, rounds[0]))
    elif as_json:
        rows = brood_text.brood_days(course, start, shown)
        dates = brood_dates(course, start, start + timedelta(days=shown))
        print_json(brood_text.brood_json(course, rows, dates))
    else:
        click.echo(brood_text.screen(course, start, shown))
