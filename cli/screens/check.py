"""What ``livefood check`` prints."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from cli.screens.as_json import as_kept_json
from cli.screens.text import block, bullets, columns, joined, wrapped
from cultures.needs.company import unequal_company
from cultures.needs.need import BroodCourse
from cultures.planning.notes import vessels_to_mind
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.room.room import Brood, Room
from cultures.room.tool_use import unused_tools
from cultures.tasks.task import tidy
from cultures.words.moments import hours, spoken_day
from cultures.words.quantities import celsius, grams, in_units, litres, many, millimetres
from cultures.words.text import capital, seen

#: What is taken to be there where the room has no [tools].
_USUAL_TOOLS = (
    "You are taken to have a scale that shows hundredths of a gram, measuring spoons and a 60 mL"
    " syringe; if you have no such scale, or more than that, say under [tools] what there is."
)


def facts(room: Room, now: datetime) -> dict[str, Any]:
    """What was understood, for other programs."""
    courses = [BroodCourse.of(room, brood) for brood in room.broods]
    plan = plan_of(make_outlook(room, now=now, days=1), remedies=False)
    return {
        "room": room.name, "as_of": room.as_of.isoformat(), "tanks": len(room.tanks),
        "broods": [
            {
                "name": c.brood.name, "tank": c.brood.tank, **c.fry_class.named,
                "first_food": c.room.at_hour(c.fed_since_h()).date().isoformat(),
                "length_mm": tidy(c.length_mm(hours(now))),
                "count": tidy(c.brood.alive(now.date())),
                "foods": [food.name for food in room.foods_of(c.brood)],
            }
            for c in courses
        ],
        "cultures": [
            {
                "name": c.name, "kind": c.kind.name, "age_days": (now.date() - c.started).days,
                **as_kept_json(c.kind),
            }
            for c in room.cultures
        ],
        "vessels": [{"name": v.name, "litres": v.litres} for v in room.vessels],
        "cysts_g": room.cysts.grams if room.cysts else 0,
        "notes": [
            *dict.fromkeys([
                *(each.text for each in unequal_company(room, now)),
                *vessels_to_mind(room),
                *(note.text for note in plan.notes),
            ]),
            *(f"{capital(text)}." for text in unused_tools(room)),
        ],
    }  # fmt: skip


def unfilled_text(path: Path) -> str:
    """That a room file is the example which `new` wrote."""
    return wrapped(
        f"{seen(str(path))} is still the example that 'livefood new' wrote: put in your own tanks,"
        " fry, cultures and bottles first ('livefood help quick-start'). What stands here is about"
        " the example, and none of it counts as told."
    )


def screen(room: Room, now: datetime, path: Path, *, unfilled: bool = False) -> str:
    """The same for people.

    Args:
        unfilled: the file is as `new` wrote it.
    """
    found, units, air_c = facts(room, now), room.units, room.room_temperature_c(now.date())
    counts = (
        f"{many(found['tanks'], 'tank')}, {many(len(found['broods']), 'brood')},"
        f" {many(len(found['cultures']), 'culture')}, {many(len(found['vessels']), 'vessel')}"
    )
    fine = wrapped(
        f"{room.name}: {counts}, true as of {spoken_day(room.as_of, now, units)}. What you"
        " note, and what livefood tells you to do from then on, counts too."
    )
    broods = [
        [b["name"], b["tank"], b.get("species", b["class"]), f"{b['count']:.0f}",
         _length(b, now, units),
         spoken_day(date.fromisoformat(b["first_food"]), now, units)]
        for b in found["broods"]
    ]  # fmt: skip
    cultures = [
        [c.name, ", ".join(each.label for each in (c.kind, c.kind.on, c.kind.by) if each),
         many((now.date() - c.started).days, "day"),
         celsius(air_c if c.temperature_c is None else c.temperature_c, units)]
        for c in room.cultures
    ]  # fmt: skip
    vessels = [
        [v.name, litres(v.litres, units), celsius(v.temperature_c, units),
         grams(room.hatch_kind.most_grams(v.litres), units)]
        for v in room.vessels
    ]  # fmt: skip
    return joined([
        block("LOOK AT", bullets(in_units(note, units) for note in room.edits)),
        f"{seen(str(path))} can be read.\n{fine}" if room.edits else
        f"{seen(str(path))} is fine.\n{fine}",
        unfilled_text(path) if unfilled else "",
        *(wrapped(hint) for hint in _missing(room)),
        block("Still to come:", bullets(_ahead(room, now))),
        _table(["brood", "tank", "class", "fry", "now", "first food"], broods, right=(3, 4)),
        _table(["culture", "kind", "age", "stands at"], cultures, right=(2, 3)),
        _table(["vessel", "holds", "at", "most cysts"], vessels, right=(1, 2, 3)),
        "\n".join(
            bullets(in_units(n, units) for n in found["notes"] if n not in room.edits)
        ),
        "" if room.tools.stated or not room.broods else wrapped(_USUAL_TOOLS),
    ])  # fmt: skip


def _table(head: list[str], rows: list[list[str]], right: Sequence[int]) -> str:
    return columns([head, *rows], right=right, head=True) if rows else ""


def _ahead(room: Room, now: datetime) -> list[str]:
    """Eggs that rest, spawnings to come or not confirmed, cultures to be bought."""
    words = {"collected": "eggs in peat since", "planned": "to spawn on", "wetted": "into water on"}

    def said(brood: Brood) -> str:
        over = brood.anchor == "planned" and brood.anchor_date < now.date()
        what = "was to spawn on" if over else words[brood.anchor]
        noted = f"; if it did, note 'journal spawn {brood.name}'" if over else ""
        if brood.anchor == "planned" and not over:
            noted = f" (chance {brood.chance:.0%})"
        on = spoken_day(brood.anchor_date, now, room.units)
        return f"{brood.name} in {brood.tank}: {what} {on}{noted}"

    found = [
        said(b) for b in (*room.waiting, *room.hoped, *room.broods)
        if b not in room.broods or (b.anchor in words and b.anchor_date > now.date())
    ]  # fmt: skip
    return found + [
        f"{c.name}: a {c.kind.label} culture to be bought on"
        f" {spoken_day(c.started, now, room.units)}"
        for c in room.coming
    ]


def _missing(room: Room) -> list[str]:
    """What a room still lacks before there is anything to plan."""
    hints = []
    if not room.tanks:
        hints.append("There is no tank yet: add a [[tank]], and a [[brood]] in it.")
    elif not room.broods and not room.hoped:
        hints.append("No tank has fry yet: add a [[brood]] for each that has.")
    if room.cysts is not None and not room.vessels:
        hints.append("There are cysts, and no [[vessel]] to hatch them in.")
    return hints


def _length(brood: dict[str, Any], now: datetime, units: str) -> str:
    """How long the fry are; nothing is said of eggs and larvae that do not swim yet."""
    swims = now.date().isoformat() >= brood["first_food"]
    return millimetres(brood["length_mm"], units) if swims else "not swimming"
