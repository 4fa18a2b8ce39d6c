"""``livefood need``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING

import click

from cli.completion import brood_names, tank_names
from cli.journal.names import NamedCommand
from cli.option_types import Whole
from cli.options import Setting, UsageProblemError, Where, answer, json_option, where_options
from cli.screens.paint import echo

if TYPE_CHECKING:
    from cultures.needs.need import BroodCourse
    from cultures.room.room import Room

#: Days that ``--brood`` shows unless told otherwise.
_BROOD_DAYS = 56


@click.command("need", cls=NamedCommand)
@where_options
@click.option("--days", type=Whole(1, 400), help="Days to look ahead (1; with --brood 56).")
@click.option(
    "--brood", metavar="NAME", shell_complete=brood_names,
    help="Growth, diet and dates of one brood.",
)  # fmt: skip
@click.option(
    "--tank", metavar="NAME", shell_complete=tank_names,
    help="The same of the broods that a tank holds, one after the other.",
)  # fmt: skip
@click.option("--why", is_flag=True, help="With --brood or --tank: its next need, line by line.")
@click.option(
    "--range", "with_range", is_flag=True,
    help="How sure it is: what eight in ten stay within, times what is shown.",
)  # fmt: skip
@click.option("--energy", is_flag=True, help="In joules, as the models reckon.")
@json_option
def command(
    where: Where, days: int | None, brood: str | None, tank: str | None, why: bool,
    with_range: bool, energy: bool, as_json: bool,
) -> None:  # fmt: skip
    """What each tank needs, round by round, by the ideal diet.

    \b
    Examples:
      livefood need --days 3
      livefood need --brood "gourami 12" --why
      livefood need --range
    """
    if brood is not None and tank is not None:
        raise UsageProblemError("--brood and --tank do not go together; choose one")
    named = brood is not None or tank is not None
    if why and not named:
        raise UsageProblemError(
            "--why explains one brood: name it with --brood, or its tank with --tank"
        )
    if with_range and named:
        raise UsageProblemError("--range is of all broods at a round; leave out --range or --brood")
    if why and as_json:
        raise UsageProblemError("--why is for reading; leave out either --why or --json")
    setting = where.load()
    if named:
        broods = [brood] if brood is not None else _in_tank(setting.room, tank or "")
        _show(setting, broods, days or _BROOD_DAYS, why=why, energy=energy, as_json=as_json)
        return
    from cli.screens.need import need_json, screen
    from cultures.needs.need import room_needs, rounds_between

    room, until = setting.room, setting.now + timedelta(days=days or 1)
    rounds = rounds_between(room, setting.now, until)
    needs, sure = room_needs(room, rounds), None
    if with_range:
        from cultures.planning.unknowns import need_ranges

        sure = need_ranges(room, rounds, needs)
    answer(as_json, lambda: need_json(room, needs, sure),
           lambda: screen(room, needs, sure, energy=energy))  # fmt: skip


def _in_tank(room: Room, tank: str) -> list[str]:
    """The broods that a tank holds, or is to hold.

    Raises:
        LivefoodError: there is no such tank, or it holds none.
    """
    from cultures.record.book import brood_of

    name = room.tank(tank).name
    there = [b.name for b in (*room.broods, *room.hoped) if b.tank == name]
    return there or [brood_of(name, room)]


def _show(
    setting: Setting, names: Sequence[str], days: int, *, why: bool, energy: bool, as_json: bool
) -> None:
    """Broods one after the other; for other programs one alone, or a list of several."""
    from cli.screens.brood import brood_json, screen
    from cli.screens.text import joined
    from cultures.needs.need import BroodCourse

    room, now = setting.room, setting.now
    courses = [BroodCourse.of(room, room.brood(name)) for name in names]
    if why:
        echo(joined([_why(setting, course) for course in courses]))
        return

    def data() -> object:
        every = [brood_json(course, now, days) for course in courses]
        return every if every[1:] else every[0]

    answer(as_json, data, lambda: joined([
        screen(course, now, days, energy=energy) for course in courses
    ]))  # fmt: skip


def _why(setting: Setting, course: BroodCourse) -> str:
    from cli.screens.brood_why import why
    from cultures.needs.need import rounds_between

    room, now = setting.room, setting.now
    first = max(now, room.at_hour(course.first_food_h))
    rounds = rounds_between(room, now, first + timedelta(days=2))
    return why(course, next(filter(course.wants_at, rounds)))
