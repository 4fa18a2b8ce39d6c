"""``livefood change``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import click

from cli.editing import NAMED, Said, ThingGroup, keys_of, write_edit
from cli.options import Setting, UsageProblemError, Where
from cli.screens.text import wrapped


@click.group("change", cls=ThingGroup)
def command() -> None:
    """Change what the room file says of a tank, a brood, a culture..., as an editor would.

    The file says what is so since its as_of. What has changed since then is noted: see
    'livefood journal'. A key with nothing behind the = is taken out of the file.

    \b
    Examples:
      livefood change tank T4 volume=30L
      livefood change culture MW-9 planned= started=today
      livefood change room rounds=07:30,18:30
    """


#: How the journal says that it is so only from now on, where it has a word for that.
_NOTED = {
    **{(thing, "temperature_c"): "temperature {} DEGREES" for thing in ("room", *NAMED)},
    ("brood", "count"): "count {} FRY",
    ("brood", "tank"): "move {} TANK",
    ("brood", "length_mm"): "length {} MM",
    ("stock", "grams"): "count {} GRAMS",
}


def _change(thing: str, where: Where, said: Said, yes: bool) -> None:
    from cultures.record.edits import check_changed, refuse_unstated
    from cultures.room.editing import change, names_in
    from cultures.room.typed import key_meant

    if (thing == "room") is bool(said.name):
        first = "say a day of the absence" if thing == "away" else f"name the {thing}"
        wrong = "the room is not named here" if said.name else f"{first} first"
        raise UsageProblemError(wrong)
    keys = [key_meant(word, keys_of(thing)) for word in said.keys]
    if not keys:
        raise UsageProblemError("say what to change, like volume=30L")
    if thing in NAMED and "name" in keys:
        raise UsageProblemError(
            f"a name stays, since journal and record go by it; retire {said.name} and add another"
        )

    def mend(text: str, now: datetime) -> str:
        return change(text, thing, said.name, said.keys, now)

    def make(text: str, before: Setting) -> str:
        if thing in NAMED:
            refuse_unstated(thing, said.name, names_in(text, thing), before.present)
        return mend(text, before.now)

    def check(before: Setting, after: Setting) -> None:
        if thing in NAMED:
            check_changed(thing, said.name, before.present, after.present)

    write_edit(where, yes, make, check, _hint(thing, said.name, keys), mend)


def _hint(thing: str, name: str, keys: Sequence[str]) -> str:
    words = [_NOTED[thing, key].format(name or thing) for key in keys if (thing, key) in _NOTED]
    return wrapped(
        "The file says how things were at its as_of. If this is so only from now on, note it"
        " instead:"
        f" livefood journal {words[0]}"
    ) if words else ""  # fmt: skip


command.fill({
    "tank": ("A tank.", "T4 volume=30L"),
    "brood": ("A brood.", "betta 3 foods=microworm,dry"),
    "culture": ("A box or bottle of worms.", "MW-9 planned= started=today"),
    "vessel": ("A bottle or cone for hatches.", "bottle 1 salinity=30"),
    "stock": ("What was in the cupboard at as_of.", "cysts nauplii_per_gram=210000"),
    "away": ("Days on which you are away, named by one of them.", "2027-02-03 to=2027-02-04"),
    "room": ("The room itself.", "rounds=07:30,18:30 units=us"),
}, _change, keys_of)  # fmt: skip
