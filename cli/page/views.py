"""What each page shows, as values for its template."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from itertools import islice
from typing import Any

from cli.drawing.courses import drawn_broods, drawn_cultures
from cli.drawing.pictures import CULTURE_SAYS, brood_says, shares
from cli.page.cards import (
    RoundView,
    doses,
    fed_first,
    going,
    last_round,
    mass,
    round_view,
    task_cards,
)
from cli.page.desk import Look
from cli.page.helping import helping
from cli.page.wording import on_page
from cli.screens.entry import line_of
from cli.screens.orders import orders_list
from cli.screens.remarks import brief, new_remarks, pressing, to_buy_now, waiting
from cli.screens.shortfalls import (
    by_words,
    cost_words,
    haste_lines,
    haste_text,
    if_the_tin,
    no_help,
    others_instead,
    remedy_words,
)
from cli.screens.shown import shown_tasks
from cli.screens.today import from_now, leaving_lines
from cultures.foods.kinds import WormKind
from cultures.fry.classes import class_names, shipped_class
from cultures.fry.species import read_species, species_keys
from cultures.journal.entries import Entry, journal_path, read_journal
from cultures.needs.need import BroodCourse
from cultures.planning.leaving import next_absence
from cultures.planning.telling import calendars_again
from cultures.record.answers import answers_path, read_answers, together
from cultures.record.book import names_of
from cultures.record.silence import silence_question
from cultures.record.store import PAGE, append_telling, record_path
from cultures.replay.stocks import stock_names
from cultures.room.room import Room
from cultures.tasks.plan import Remark
from cultures.tasks.task import Retire, Split, Work
from cultures.tasks.told import ToldTask
from cultures.words.grouped import alike, group_text
from cultures.words.grouped import together as grouped
from cultures.words.moments import clock_text, when
from cultures.words.quantities import in_units
from cultures.words.text import capital, listed

_AHEAD = timedelta(days=14)
#: Most tasks of which is asked at once.
_MOST_ASKED = 200
#: Of so many lines the taps and commands that noted them are listed.
_MOST_LINES = 120
#: What a note can be about, under its heading.
_THINGS = {"Room": "room", "Tanks": "tank", "Broods": "brood", "Cultures": "culture",
           "Vessels": "vessel", "Stocks": "stock"}  # fmt: skip
#: What a temperature can be of.
_WARM = ("Room", "Tanks", "Cultures", "Vessels")
#: Of so many broods all stands on one page: forms and picture of one are about 14 kB in a room
#: of forty tanks.
_MOST_IN_FULL = 8
#: So many tanks are named in a line.
_MOST_NAMED = 4


def common(look: Look) -> dict[str, Any]:
    """What stands on every page."""
    room = look.outlook.room
    return {"room": room.name, "now": look.setting.now, "units": room.units, "tools": room.tools}


def news(changes: Iterable[str], look: Look) -> dict[str, Any]:
    """What of the plan is other since something was noted, as the page says it; not what stands
    among its remarks.
    """
    said = [in_units(text, look.outlook.room.units) for text in changes]
    notes = waiting(new_remarks(look.plan, look.outlook), look.setting.now) if said else ()
    remarks = {in_units(note.text, look.outlook.room.units) for note in notes}
    lines = [on_page(text) for text in said if text not in remarks]
    return {"lines": [*map(capital, lines)], "brief": brief(lines[0]) if lines else ""}


def now_view(look: Look) -> dict[str, Any]:
    """The round to do now or next, what is over and noted, and what was taken as done."""
    outlook, now = look.outlook, look.setting.now
    over = [round_view(look, at) for at in outlook.round_times() if outlook.is_noted(at)]
    rounds = [round_view(look, at) for at in look.rounds]
    asked, remarks = look.setting.present.unanswered(), new_remarks(look.plan, outlook)
    (act, waits), first = _falls_short(look, remarks), _tanks_first(look, rounds)
    return {
        "rounds": rounds, "over": over, "going": going(look, [*over, *rounds]),
        "act": act, "first": first,
        "act_brief": _feed_first(first) or brief(act[0]) if act else "",
        "waits": waits, "waits_brief": brief(waits[0]) if waits else "",
        "soon": [from_now(at, now, outlook.room.units) for at in look.rounds],
        "asked": _asked(asked), "silent": _silent(look), "other": on_page(look.other),
        "leaving": _leaving(look),
        "see_to": _see_to(look),
        "notes": [on_page(in_units(note.text, outlook.room.units))
                  for note in waiting(remarks, now, look.to_do())],
    }  # fmt: skip


def _see_to(look: Look) -> list[str]:
    """What stands on the page To do and on no other: counts, moves, purchases and the like."""
    room = look.outlook.room
    left = [t for t in look.to_do() if not isinstance(t, Work) and t.id not in room.answered]
    return [group_text(group, room.tools) for group in grouped(left, lambda t: alike(t, ""))]


def _leaving(look: Look) -> dict[str, Any] | None:
    """What is still to be done before an absence that begins soon, as `today` has it."""
    setting = look.setting
    calendars = calendars_again(setting.present, setting.path)
    absence = next_absence(setting.room, look.plan, setting.now, calendars)
    if absence is None:
        return None
    room = look.outlook.room
    head, texts = leaving_lines(absence, room.tools, shown_tasks(look.outlook, look.rounds))
    lines = [capital(on_page(text)).replace("TO SET GOING", "To set going") for text in texts]
    return {"head": head, "lines": lines}


def _falls_short(look: Look, remarks: Sequence[Remark]) -> tuple[list[str], list[str]]:
    """What must be acted on first, as `today` has it: fry in danger, then what falls short; and
    what else falls short, and until when that can be helped.
    """
    outlook, units, now = look.outlook, look.outlook.room.units, look.setting.now
    hasty = [*haste_lines(look.plan.shortfalls, outlook.round_j())]
    asked = {*outlook.room.unspoken}  # with buttons, below
    act = [text for text in pressing(outlook) if text not in asked]
    act += [haste_text(x, units) for x in hasty if x.is_urgent(now)]
    act += to_buy_now(look.plan, outlook, remarks)
    waits = [haste_text(x, units) for x in hasty if not x.is_urgent(now)]
    said = ([capital(on_page(in_units(text, units))) for text in part] for part in (act, waits))
    return next(said), next(said)


def _tanks_first(look: Look, rounds: Sequence[RoundView]) -> list[str]:
    """The tanks of the rounds shown that are to be fed before all others, in that order."""
    walked = {t.tank for r in rounds for t in r.tanks}
    homes = {b.name: b.tank for b in look.outlook.room.broods}
    return [t for t in dict.fromkeys(homes[name] for name in fed_first(look)) if t in walked]


def _feed_first(tanks: Sequence[str]) -> str:
    """Which tanks come first, in a line or two; "" where none does."""
    more = len(tanks) - _MOST_NAMED
    named = [*tanks[:_MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
    return f"feed {listed(named)} first, little and often" if tanks else ""


def _asked(told: Sequence[ToldTask]) -> dict[str, Any]:
    """What was told, is over and is not noted, and of how much more will be asked then."""
    return {"told": told[:_MOST_ASKED], "more": max(0, len(told) - _MOST_ASKED)}


def _silent(look: Look) -> dict[str, Any] | None:
    """The question about rounds of which nothing was told or noted, with each of them."""
    found = look.setting.present
    if not look.outlook.room.unspoken or not (rounds := found.silent()):
        return None
    units = look.outlook.room.units
    return {
        "question": silence_question(rounds, look.setting.now),
        "rounds": [(r.at.isoformat(), when(r.at, units)) for r in rounds],
    }


def leave_questions(look: Look) -> None:
    """Records that what was taken as done was asked about, so that it is not asked again.

    Raises:
        FileProblemError: the record cannot be written.
    """
    setting = look.setting
    if asked := [t.task.id for t in setting.present.unanswered()]:
        append_telling(record_path(setting.path), setting.now, PAGE, asked=asked)


def todo_view(look: Look) -> dict[str, Any]:
    """What is to be set going, what can be counted or measured, and what may have gone wrong."""
    room = look.outlook.room
    hatches = dict.fromkeys(h.vessel for h in room.hatches)
    jars = dict.fromkeys(h.vessel for h in room.held if h.vessel not in hatches)
    return {
        "cards": task_cards(look, look.to_do()),
        "hatches": [*hatches], "jars": [*jars],
        "stands": [c.name for c in room.cultures],
        "countable": {
            "Fry": [b.name for b in room.every_brood],
            "Worms in one swipe": [c.name for c in room.cultures],
            "Nauplii": [*hatches, *jars],
        },
        "warm_of": {kind: names for kind, names in _things(look).items() if kind in _WARM},
        "tanks": [t.name for t in room.tanks],
    }  # fmt: skip


def ahead_view(look: Look) -> dict[str, Any]:
    """What falls short, until when that can be helped and how, and two weeks in one picture."""
    room, units = look.outlook.room, look.outlook.room.units
    return {
        "away": [a for a in room.away if a.end >= look.setting.now.date()],
        "rounds": [(at.isoformat("minutes"), clock_text(at, units))
                   for at in room.all_rounds()],
        "shortfalls": [s for s in look.plan.shortfalls if not s.thin],
        "instead": others_instead(look.plan.stops) + if_the_tin(look.plan.doubted),
        "stops": [capital(on_page(in_units(stop.text, units))) for stop in look.plan.stops],
        "cost": lambda s: cost_words(s, units), "by": lambda r: capital(by_words(r, units)),
        "remedy": lambda r: on_page(remedy_words(r, units)),
        "no_help": lambda s: capital(no_help(s, units)),
        "other": on_page(look.other),
        "shares": shares(look.plan, look.setting.now, units),
        "ahead": [t for t in look.plan.tasks
                  if isinstance(t, Split | Retire) and t.at < look.setting.now + _AHEAD],
    }  # fmt: skip


def cultures_view(look: Look) -> dict[str, Any]:
    """Each culture over its dates, with what may be done to it."""
    units = look.outlook.room.units
    return {
        "cultures": drawn_cultures(look.setting, look.outlook), "signs": CULTURE_SAYS,
        "remarks": look.outlook.room.remarks,
        "starter": lambda c: mass("Starter taken from it", c.starter_g, units, 1),
    }  # fmt: skip


def fry_view(look: Look, brood: str = "") -> dict[str, Any]:
    """Each brood's length over its dates, and what comes next; what is expected, or waits.

    Args:
        brood: the one whose own page it is; "" for that of all, on which those of a large room
            are folded: what can be noted of each comes when it is unfolded.
    """
    room = look.outlook.room
    own = brood if any(b.name == brood for b in room.broods) else ""
    folds = not own and len(room.broods) > _MOST_IN_FULL
    here = {b.fry_class.name: b.fry_class.label for b in room.every_brood} | {
        name: each.label for name, each in room.fry_classes.items()
    }
    last = last_round(look)
    return {
        "broods": [] if folds else drawn_broods(look.setting, look.outlook, own), "own": own,
        "folded": [BroodCourse.of(room, b) for b in room.broods] if folds else [],
        "danger": fed_first(look), "siblings": _siblings(room),
        "ahead": [] if own else [*room.hoped, *room.waiting], "tanks": [t.name for t in room.tanks],
        "warmth": {t.name: t.temperature_c for t in room.tanks}, "last": last,
        "besides": {tank: doses(told.lines, tank, room.units) for tank, told in last.told.items()},
        "classes": {
            "In this room": sorted(here.items(), key=lambda each: each[1]),
            "Classes": [(n, f"{k.label}: {k.examples}") for n in class_names()
                        if (k := shipped_class(n))],
            "Species": sorted((key, f"{', '.join(s.names[:1])} ({s.scientific})".strip())
                              for key in species_keys() if (s := read_species(key))),
        },
        "signs": brood_says(room.units), "unit": "in" if room.units == "us" else "mm",
    }  # fmt: skip


def _siblings(room: Room) -> dict[str, list[str]]:
    """By brood those of its kind that share its tank."""
    return {
        b.name: [o.name for o in room.broods
                 if o is not b and (o.tank, o.fry_class.name) == (b.tank, b.fry_class.name)]
        for b in room.broods
    }  # fmt: skip


def notes_view(look: Look) -> dict[str, Any]:
    """What was noted today and by which page, and a word on anything."""
    room, now = look.outlook.room, look.setting.now
    journal = read_journal(journal_path(look.setting.path), room.timezone)
    answers = read_answers(answers_path(look.setting.path), room.timezone)
    by = {e: a.by for a in answers if a.by for e in a.entries}
    undone, taps = journal.undone(), dict[int, list[Entry]]()
    mine = (
        e for e in reversed(journal.entries)
        if e.when.astimezone(room.timezone).date() == now.date() or e._replace(line=0) in by
    )  # fmt: skip
    for entry in islice(mine, _MOST_LINES):
        block = together(entry, journal, answers)
        taps.setdefault(block[-1].line, block)
    return {
        "taps": [*taps.values()], "undone": undone, "said": lambda e: line_of(e, room),
        "by": lambda e: by.get(e._replace(line=0), ""),
        "asked": _asked(look.setting.present.unnoted()),
        "things": _things(look),
        "stocks": _stocks(room),
        "on_order": orders_list(room),
        "like": "2 oz" if room.units == "us" else "50 g",
    }  # fmt: skip


def _stocks(room: Room) -> dict[str, list[tuple[str, str]]]:
    """What can be bought, by its name in the journal and as it is said."""
    worms = (kind for kind in room.kinds.values() if isinstance(kind, WormKind))
    kinds = sorted(worms, key=lambda kind: kind.label)
    return {
        "Stocks": [(name, name.replace("_", " ")) for name in stock_names(room)],
        "Starters": [(kind.name, f"{kind.label} starter") for kind in kinds],
    }


def _things(look: Look) -> dict[str, list[str]]:
    """What a note can be about."""
    return {kind: names_of(look.outlook.room, thing) for kind, thing in _THINGS.items()}


def helper_view(look: Look) -> dict[str, Any]:
    """Today's rounds of an absence, the portions, the cautions, and whom to ask."""
    return {**helping(look), "things": _things(look)}
