"""``livefood ready``."""

from __future__ import annotations

from datetime import date

import click

from cli.completion import tank_names
from cli.option_types import CELSIUS, DAY
from cli.options import UsageProblemError, Where, answer, json_option, where_options


@click.command("ready")
@click.argument("spawn", nargs=-1, required=True, metavar="CLASS COUNT")
@click.option("--on", "spawned", type=DAY, metavar="DAY", help="The day of the spawning.")
@click.option("--first-food", type=DAY, metavar="DAY", help="Or the day of the first food.")
@click.option("--in", "tank", metavar="TANK", shell_complete=tank_names, help="Where the fry are.")
@click.option("--temperature", type=CELSIUS, metavar="DEGREES",
              help="Or how warm their water is, like 26 or 78F.")  # fmt: skip
@where_options
@json_option
def command(
    spawn: tuple[str, ...], spawned: date | None, first_food: date | None, tank: str | None,
    temperature: float | None, where: Where, as_json: bool,
) -> None:  # fmt: skip
    """What to start, buy and set by when so that food is ripe on the first-food day.

    CLASS is a fry class, its fish ("betta"), or a brood of the room to be like. Asks only, and
    changes nothing: 'journal planned' writes a spawning down, so that the plan prepares for it.

    \b
    Examples:
      livefood ready "betta 120" --on 2027-01-16
      livefood ready "danio 80" --first-food 2027-01-20 --temperature 26
    """
    from cli.screens.ready import screen
    from cli.working import working
    from cultures.planning.ready import readiness, spawned_for, supposed

    if spawned is not None and first_food is not None:
        raise UsageProblemError("--on and --first-food are two ways to say when: give one of them")
    if spawned is None and first_food is None:
        raise UsageProblemError("say when: give --on DAY (of the spawning) or --first-food DAY")
    if tank is not None and temperature is not None:
        raise UsageProblemError("a tank has its temperature: leave out --in or --temperature")
    setting = where.load()
    room, brood = supposed(setting.room, " ".join(spawn), spawned or setting.now.date(), tank,
                           temperature)  # fmt: skip
    if first_food is not None:
        brood = spawned_for(room, brood, first_food)
    with working("Planning"):
        found = readiness(room, brood, setting.now)
    by_food, now = first_food is not None, setting.now
    answer(as_json, lambda: found.to_json(now),
           lambda: screen(setting.room, found, now, by_first_food=by_food))  # fmt: skip
