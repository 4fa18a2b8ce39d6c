"""What ``livefood check`` prints."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from cli.screens.text import columns, wrapped
from cultures.needs.need import BroodCourse
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.room.room import Room
from cultures.tasks.task import tidy
from cultures.words.moments import hours, spoken_day
from cultures.words.quantities import celsius, grams, in_units, litres, many, millimetres


def facts(room: Room, now: datetime) -> dict[str, Any]:
    """What was understood, for other programs."""
    broods = []
    for brood in room.broods:
        course = BroodCourse.of(room, brood)
        broods.append(
            {
                "name": brood.name, "tank": brood.tank, "class": brood.fry_class.name,
                "first_food": course.first_food_day().isoformat(),
                "length_mm": tidy(course.length_mm(hours(now))),
                "count": tidy(course.count(now.date())),
                "foods": [food.name for food in room.foods_of(brood)],
            }
        )  # fmt: skip
    return {
        "room": room.name, "as_of": room.as_of.isoformat(), "tanks": len(room.tanks),
        "broods": broods,
        "cultures": [
            {"name": c.name, "kind": c.kind.name, "age_days": (now.date() - c.started).days}
            for c in room.cultures
        ],
        "vessels": [{"name": v.name, "litres": v.litres} for v in room.vessels],
        "cysts_g": room.cysts.grams if room.cysts else 0,
        "notes": list(plan_of(make_outlook(room, now=now, days=1), remedies=False).notes),
    }  # fmt: skip


def screen(room: Room, now: datetime, path: Path) -> str:
    """The same for people."""
    found = facts(room, now)
    parts = [
        f"{path} is fine.\n"
        + wrapped(
            f"{room.name}: {many(found['tanks'], 'tank')}, {many(len(found['broods']), 'brood')},"
            f" {many(len(found['cultures']), 'culture')},"
            f" {many(len(found['vessels']), 'vessel')}, true as of {room.as_of}."
            " What you note, and what livefood tells you to do from then on, counts too."
        )
    ]
    parts += [wrapped(hint) for hint in _missing(room)]
    ahead = [wrapped(text, 4, "  - ") for text in _ahead(room, now)]
    if ahead:
        parts.append("\n".join(["Still to come:", *ahead]))
    if found["broods"]:
        rows = [["brood", "tank", "class", "fry", "now", "first food"]]
        for b in found["broods"]:
            rows.append([b["name"], b["tank"], b["class"], f"{b['count']:.0f}",
                         _length(b, now, room.units), b["first_food"]])  # fmt: skip
        parts.append(columns(rows, right=(3, 4)))
    if room.cultures:
        rows = [["culture", "kind", "age", "stands at"]]
        for culture, fact in zip(room.cultures, found["cultures"], strict=True):
            degrees = culture.temperature_c
            if degrees is None:
                degrees = room.room_temperature_c(now.date())
            rows.append([culture.name, culture.kind.label, f"{fact['age_days']} days",
                         celsius(degrees, room.units)])  # fmt: skip
        parts.append(columns(rows, right=(2, 3)))
    if room.vessels:
        rows = [["vessel", "holds", "at", "most cysts"]]
        for vessel in room.vessels:
            rows.append([vessel.name, litres(vessel.litres, room.units),
                         celsius(vessel.temperature_c, room.units),
                         grams(room.hatch_kind.most_grams(vessel.litres), room.units)])  # fmt: skip
        parts.append(columns(rows, right=(1, 2, 3)))
    if found["notes"]:
        notes = (in_units(note, room.units) for note in found["notes"])
        parts.append("\n".join(wrapped(note, 4, "  - ") for note in notes))
    return "\n\n".join(parts)


def _ahead(room: Room, now: datetime) -> list[str]:
    """Eggs that rest, spawnings to come or not confirmed, cultures to be bought."""
    words = {"collected": "eggs in peat since", "planned": "to spawn on", "wetted": "into water on"}
    found = [
        f"{b.name} in {b.tank}: {words[b.anchor]} {spoken_day(b.anchor_date, now)}"
        for b in (*room.waiting, *room.broods)
        if b in room.waiting or (b.anchor in words and b.anchor_date > now.date())
    ]
    return found + [
        f"{c.name}: a {c.kind.label} culture to be bought on {spoken_day(c.started, now)}"
        for c in room.coming
    ]


def _missing(room: Room) -> list[str]:
    """What a room still lacks before there is anything to plan."""
    hints = []
    if not room.tanks:
        hints.append("There is no tank yet: add a [[tank]], and a [[brood]] in it.")
    elif not room.broods:
        hints.append("No tank has fry yet: add a [[brood]] for each that has.")
    if room.cysts is not None and not room.vessels:
        hints.append("There are cysts, and no [[vessel]] to hatch them in.")
    return hints


def _length(brood: dict[str, Any], now: datetime, units: str) -> str:
    """How long the fry are; nothing is said of eggs and larvae that do not swim yet."""
    swims = now.date().isoformat() >= brood["first_food"]
    return millimetres(brood["length_mm"], units) if swims else "not swimming"
