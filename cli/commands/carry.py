"""``livefood carry``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from cli.completion import tank_names
from cli.option_types import CELSIUS, Whole
from cli.options import UsageProblemError, Where, answer, json_option, where_options

if TYPE_CHECKING:
    from cultures.planning.carry import Carried, Wish


@click.command("carry")
@click.argument("words", nargs=-1, metavar="[CLASS]")
@where_options
@click.option("--weeks", type=Whole(1, 52), default=12, help="Weeks to look at (12).")
@click.option("--tank", metavar="NAME", shell_complete=tank_names, help="Where it will be.")
@click.option("--temperature", type=CELSIUS, metavar="DEGREES", help="Or in a tank this warm.")
@click.option(
    "--with", "wishes", multiple=True, metavar="TEXT",
    help="A brood that is wished for first, see above. Can be repeated.",
)  # fmt: skip
@json_option
def command(
    words: tuple[str, ...], where: Where, weeks: int, tank: str | None,
    temperature: float | None, wishes: tuple[str, ...], as_json: bool,
) -> None:  # fmt: skip
    """The largest brood that can be fed next to what is there, for each week of spawning.

    CLASS is a fry class, or a brood of the room to be like. Fed from what stands and can still
    be started, at every round until it can live on dry food. Asks only, and changes nothing.

    \b
    Examples:
      livefood carry bubble_nest --tank A2
      livefood carry goldfish --with "bubble_nest 120 in A2 on 2027-02-01"

    \b
    A wish is: CLASS COUNT [in TANK] on DAY (like 2027-02-01)
    Wishes are put in by their days; the weeks show what is left.
    """
    from cli.screens.carry import carry_json, screen
    from cli.working import working
    from cultures.planning.carry import Carry, CarryError, days_of_weeks
    from cultures.planning.changes import with_tank

    if not words and not wishes:
        raise UsageProblemError("say which fry: a CLASS, or a brood to be like ('kinds' has all)")
    if tank is not None and temperature is not None:
        raise UsageProblemError("a tank has its temperature: leave out --tank or --temperature")
    setting = where.load()
    room = setting.room
    if temperature is not None:
        room, tank = with_tank(room, temperature)
    name, carry = " ".join(words), Carry(room, setting.now, days_of_weeks(setting.now, weeks))
    granted: list[Wish] = []
    found: list[Carried] = []
    try:
        with working(lambda: f"Trying broods, week {len(found) + 1} of {weeks}"):
            for wish in carry.grant(wishes):
                granted.append(wish)
            for week in carry.by_day(name, tank) if name else ():
                found.append(week)
    except CarryError as error:
        raise UsageProblemError(str(error).replace("with 'in'", "with --tank")) from None
    answer(
        as_json,
        lambda: carry_json(carry, granted, found),
        lambda: screen(carry, name if temperature is None else None, granted, found),
    )
