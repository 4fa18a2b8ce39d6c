"""Entries of the journal as a keeper reads them."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from datetime import datetime

from cultures.fry.classes import shipped_class
from cultures.fry.species import species_named
from cultures.journal.absences import read_away
from cultures.journal.entries import Entry
from cultures.journal.events import day_ahead
from cultures.room.room import Room
from cultures.tasks.told import LATE
from cultures.words.moments import clock_text, moments_in, spoken_day
from cultures.words.moments import when as when_text
from cultures.words.quantities import celsius, food_words, fraction, grams, in_units, number, plain
from cultures.words.tools import CYSTS
from cultures.words.units import DRAW_ML

#: What may say a day.
_OF_A_DAY = ("planned", "wetted", "ordered")
#: What names a fry class or species behind a tank.
_OF_A_CLASS = ("spawn", "collected", "planned")
#: Cysts that come in packs.
_IN_PACKS = ("bought", "ordered")
#: More cysts than this are weighed, not spooned [g].
_A_TABLESPOON_G = 10.0
#: Before a number of the list, and before the name of a tank, where either may be meant.
NUMBER_WORD, TANK_WORD = "number", "tank"
_SKIPPED = {
    "set_hatch": "its setting", "harvest_hatch": "its harvest", "harvest_worms": "its harvest",
    "feed": "its feeding", "split": "its split", "start": "its start", "retire": "its end",
    "count": "its count", "sort": "its sorting", "lid": "its lid", "move_on": "its move",
}  # fmt: skip


def line_of(entry: Entry, room: Room) -> str:
    """An entry as one plain line."""
    at = when_text(entry.when.astimezone(room.timezone), room.units)
    amount = "" if entry.amount is None else f" {amount_text(entry, room)}"
    day = day_ahead(entry) if entry.event in _OF_A_DAY else None
    said = entry.other if day is None else entry.other.replace(
        day.isoformat(), spoken_day(day, entry.when))  # fmt: skip
    said = _with_species(said) if entry.event in _OF_A_CLASS else said
    other = f" {in_units(said, room.units)}" if said else ""
    if entry.event == "ordered":
        amount += f", to come on{other}" if other else " on order" if entry.amount else ""
        other = "" if entry.amount else ", nothing is on order any more"
        amount = amount if entry.amount else ""
    if entry.event == "away":
        away = read_away(entry.other)
        who = "a helper feeds" if away.helper else "nobody feeds"
        return f"{at}  away {away.text(room.units)}, {who}{_note(entry)}"
    if entry.event == "merge":
        return f"{at}  merge {entry.subject} into {entry.other}{_note(entry)}"
    if entry.event == "undo" and entry.other.startswith("away "):
        return f"{at}  undo {entry.subject}, the days away{_note(entry)}"
    if entry.event == "fed":
        other, amount = (f", {of_tank(entry, room)}", "") if other else (
            "", f", with{amount} of dry food" if amount else "")  # fmt: skip
    if entry.event == "skip":  # the id of a task, of which its kind is all that tells anything
        what, _, child = entry.other.partition("/")
        child = f" into {child.partition('#')[0]}" if what == "split" else ""
        other = f", {_SKIPPED.get(what, 'a task')}{child}{_of_round(what, entry, room)}"
    subject = moments_in(entry.subject, room.units)
    return f"{at}  {entry.event.replace('_', ' ')} {subject}{other}{amount}{_note(entry)}"


def _with_species(said: str) -> str:
    """The tank and class of a brood with a species as its fish is called."""
    return " ".join(
        shipped_class(word).label if "_" in word and species_named(word) == word else word
        for word in said.split(" ")
    )


def _note(entry: Entry) -> str:
    return f" ({entry.note})" if entry.note else ""


def _of_round(what: str, entry: Entry, room: Room) -> str:
    """For which round it was, where that is not the one at hand; not of what was told again."""
    stamp = entry.other.split("/")[1:2]
    if "#" in entry.other or what not in ("harvest_worms", "harvest_hatch", "feed") or not stamp:
        return ""
    try:
        local = datetime.fromisoformat(stamp[0])
    except ValueError:
        return ""
    at, noted = local.replace(tzinfo=room.timezone), entry.when.astimezone(room.timezone)
    if at.date() != noted.date():
        return f" for {when_text(at, room.units)}"
    near = what == "feed" or abs(at - noted) <= LATE
    return "" if near else f" for {clock_text(at, room.units)}"


def not_as_told(entry: Entry) -> str:
    """That a task was not done, or came to nothing, by the entry that tells of it; "" else."""
    return {"skip": "not done", "failed": "failed"}.get(entry.event, "")


def of_tank(entry: Entry, room: Room) -> str:
    """What one tank of a round got, by one entry about it."""
    if entry.event == "skip":
        return "not fed"
    if not entry.other:
        return "fed"
    return f"{amount_text(entry, room)} of {food_words(entry.other)}"


def besides(room: Room, feeding: str) -> str:
    """What was noted of single tanks of a feeding, by its id, after words about the round."""
    tanks = room.fed_tanks.get(feeding, {})
    said = (f"{tank} {', '.join(of_tank(e, room) for e in es)}" for tank, es in tanks.items())
    return f". Noted: {'; '.join(said)}" if tanks else ""


def amount_text(entry: Entry, room: Room) -> str:
    """An amount of the journal as it is measured in this room."""
    value, unit, units = entry.amount or 0.0, entry.unit, room.units
    if unit == "C":
        return celsius(value, units)
    if unit == "draws":  # as it was told: by the marks of what it is drawn with
        return room.tools.poured(value * DRAW_ML).text
    if unit == "swipes" and value > 0 and abs(value * 4 - round(value * 4)) < 1e-6:
        return f"{fraction(value, 4)} swipe{'s' if value > 1 else ''}"
    if entry.event == "set" or (entry.event in _IN_PACKS and entry.subject == "cysts"):
        return _cysts(value, room)
    if unit == "g":
        return grams(value, units, digits=3)
    if units == "us" and unit in ("mg", "mm"):
        return in_units(f"{plain(value, 6)} {unit}", units)
    return f"{number(value, 3 if unit in ('swipes', 'mL', 'mg') else 6)} {unit}"


def _cysts(value: float, room: Room) -> str:
    """Cysts as they were noted and, where that comes near, by spoon; the usual one first."""
    weighed, spooned = grams(value, room.units, digits=3), room.tools.spooned(value, CYSTS)
    if spooned is None or not spooned.near or value > _A_TABLESPOON_G:
        return weighed
    if room.units == "us":
        return f"{spooned.text} ({weighed})"
    return f"{weighed} ({spooned.text})"


def number_words(room: Room, numbers: Iterable[int]) -> str:
    """How a number of the list is typed, where a tank may have the same for its name."""
    taken = {str(n) for n in numbers}.intersection(t.name for t in room.tanks)
    return f"{NUMBER_WORD} NUMBER ({min(taken)} alone may be a tank)" if taken else "NUMBER"


def typed_numbers(room: Room, mine: Iterable[int], every: Iterable[int]) -> str:
    """Numbers of the list as they are typed, where a tank may have one of all for its name."""
    taken = {str(n) for n in every}.intersection(t.name for t in room.tanks)
    return " ".join(f"{NUMBER_WORD} {n}" if taken else str(n) for n in mine)


def typed_tank(tank: str) -> str:
    """A tank as it is typed where a number of the list might stand."""
    return f"{TANK_WORD} {tank}" if tank.isdecimal() else shlex.quote(tank)
