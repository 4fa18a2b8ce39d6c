"""``livefood add``."""

from __future__ import annotations

import click

from cli.editing import NAMED, Said, ThingGroup, keys_of, write_edit
from cli.options import Setting, UsageProblemError, Where


@click.group("add", cls=ThingGroup)
def command() -> None:
    """Put a tank, a brood, a culture... into the room file, as an editor would.

    What would be written is checked as the file is, shown, and asked about; every other line
    stays as it is. Names and values of several words need no quotes.

    \b
    Examples:
      livefood add tank T4 volume=20L temperature=25
      livefood add brood betta 3 tank=T4 class=bubble_nest count=120 hatched=today
      livefood add stock salt 1 kg
    """


def _add(thing: str, where: Where, said: Said, yes: bool) -> None:
    from cultures.record.edits import check_added, check_stock, refuse_taken
    from cultures.room.editing import add, names_in

    if (thing == "away") is bool(said.name):
        raise UsageProblemError(
            "an absence has no name" if said.name else f"name the new {thing} first"
        )

    def make(text: str, before: Setting) -> str:
        if thing in NAMED:
            stated = [name for each in NAMED for name in names_in(text, each)]
            refuse_taken(thing, said.name, stated, before.present)
        return add(text, thing, said.name, said.keys, before.now)

    def check(before: Setting, after: Setting) -> None:
        if thing == "stock":
            check_stock(said.name, before.present, after.present)
        elif thing in NAMED:
            check_added(thing, said.name, before.present, after.present)

    write_edit(where, yes, make, check)


command.fill({
    "tank": ("A tank.", "T4 volume=20L temperature=25"),
    "brood": (
        "A brood, with what is known of its age.",
        "Give exactly one of spawned, hatched, free_swimming, length_mm, planned or wetted.",
        "betta 3 tank=T4 class=bubble_nest count=120 hatched=today",
    ),
    "culture": (
        "A box or bottle of worms.",
        "With planned in place of started: one that is still to be bought.",
        "MW-9 kind=microworm started=today medium=150 surface=180 starter=10",
    ),
    "vessel": ("A bottle or cone for hatches.", "bottle 3 volume=1L temperature=27"),
    "stock": (
        "What was in the cupboard at as_of.",
        "What was bought or used since then is noted: see 'livefood journal'.",
        "salt 1 kg days=3",
    ),
    "away": (
        "Days on which you are away; helper=yes: somebody feeds.",
        "from=2027-02-01 to=2027-02-05 helper=yes",
    ),
}, _add, keys_of, there=False)  # fmt: skip
