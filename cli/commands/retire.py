"""``livefood retire``."""

from __future__ import annotations

import click

from cli.editing import NAMED, Said, ThingGroup, write_edit
from cli.options import Setting, UsageProblemError, Where


@click.group("retire", cls=ThingGroup)
def command() -> None:
    """Take a tank, a brood, a culture, a vessel or an absence out of the room file.

    What was noted or told of since the file is true (its as_of) stays in it: note in the
    journal that it goes, and it is planned with no more.

    \b
    Examples:
      livefood retire tank T4
      livefood retire brood betta 3
    """


def _retire(thing: str, where: Where, said: Said, yes: bool) -> None:
    from cultures.record.edits import check_may_go, check_retired, refuse_unstated
    from cultures.room.editing import names_in, retire

    if not said.name or said.keys:
        named = "say a day of the absence" if thing == "away" else f"name the {thing}"
        raise UsageProblemError(f"{named}, and no more")

    def make(text: str, before: Setting) -> str:
        if thing in NAMED:
            refuse_unstated(thing, said.name, names_in(text, thing), before.present)
            check_may_go(thing, said.name, before.present)
        return retire(text, thing, said.name, before.now)

    def check(before: Setting, after: Setting) -> None:
        if thing in NAMED:
            check_retired(thing, said.name, before.present, after.present)

    write_edit(where, yes, make, check)


command.fill({
    "tank": ("A tank in which no brood is.", "T4"),
    "brood": ("A brood of which nothing was noted since as_of.", "betta 3"),
    "culture": (
        "A culture unheard of since as_of.",
        "One that was noted or told of goes by the journal: livefood journal discard MW-1",
        "MW-1",
    ),
    "vessel": ("A bottle or cone in which no hatch stands.", "bottle 1"),
    "away": ("An absence, named by a day of it.", "2027-02-03"),
}, _retire, lambda _: ())  # fmt: skip
