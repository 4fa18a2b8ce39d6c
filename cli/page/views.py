"""What each page shows, as values for its template."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import partial
from typing import Any

from cli.drawing.courses import drawn_broods, drawn_cultures
from cli.drawing.pictures import CULTURE_SAYS, brood_says, shares
from cli.page.cards import mass, round_view, task_cards
from cli.page.desk import Look
from cli.page.helping import helping
from cli.page.wording import on_page
from cli.screens.entry import line_of
from cli.screens.shortfalls import cost_words, remedy_words
from cultures.journal.entries import journal_path, read_journal
from cultures.record.answers import answers_path, read_answers
from cultures.record.store import append_telling, record_path
from cultures.replay.stocks import stock_names
from cultures.room.room import Room
from cultures.tasks.plan import Shortfall
from cultures.tasks.task import Retire, Split
from cultures.words.moments import when
from cultures.words.quantities import in_units
from cultures.words.tasks import task_text

_AHEAD = timedelta(days=14)
#: Most tasks of which is asked at once.
_MOST_ASKED = 12


def common(look: Look) -> dict[str, Any]:
    """What stands on every page."""
    room, now = look.outlook.room, look.setting.now
    return {"room": room.name, "units": room.units, "now": now, "clock": when(now, room.units),
            "today": now.date().isoformat(), "say": partial(task_text, tools=room.tools),
            "remarks": room.remarks}  # fmt: skip


def now_view(look: Look) -> dict[str, Any]:
    """The round to do now or next, what is over and noted, and what was taken as done."""
    outlook, now = look.outlook, look.setting.now
    over = [round_view(look, at) for at in outlook.round_times() if outlook.is_noted(at)]
    asked = look.setting.present.open_questions()
    return {
        "rounds": [round_view(look, at) for at in look.rounds], "over": over,
        "soon": [_soon(at, now) for at in look.rounds],
        "asked": [told.task for _, told in asked[:_MOST_ASKED]],
        # What must be acted on first.
        "short": min(_shortfalls(look), key=lambda s: s.act_by, default=None),
        "notes": [on_page(in_units(note, outlook.room.units)) for note in look.plan.notes],
    }  # fmt: skip


def _soon(at: datetime, now: datetime) -> str:
    minutes = round((at - now).total_seconds() / 60)
    if abs(minutes) < 2:
        return "now"
    hours, rest = divmod(abs(minutes), 60)
    span = f"{hours} h {rest} min" if hours else f"{rest} min"
    return f"in {span}" if minutes > 0 else f"{span} ago"


def leave_questions(look: Look) -> None:
    """Records that what was taken as done was asked about, so that it is not asked again.

    Raises:
        FileProblemError: the record cannot be written.
    """
    setting = look.setting
    if asked := [t.task.id for _, t in setting.present.open_questions()]:
        append_telling(record_path(setting.path), setting.now, "page", asked=asked)


def todo_view(look: Look) -> dict[str, Any]:
    """What is to be set going, and what may have gone wrong."""
    room = look.outlook.room
    standing = dict.fromkeys([*(h.vessel for h in room.hatches), *(h.vessel for h in room.held)])
    return {
        "cards": task_cards(look), "hatches": list(standing),
        "stands": [c.name for c in room.cultures],
        "countable": {
            "Fry": [b.name for b in room.every_brood],
            "Worms in one swipe": [c.name for c in room.cultures],
            "Nauplii": list(standing),
        },
        "tanks": [t.name for t in room.tanks],
    }  # fmt: skip


def ahead_view(look: Look) -> dict[str, Any]:
    """What falls short, until when that can be helped and how, and two weeks in one picture."""
    plan, now, units = look.plan, look.setting.now, look.outlook.room.units
    soon = (t for t in plan.tasks if t.at < now + _AHEAD)
    return {
        "shortfalls": _shortfalls(look), "cost_words": cost_words, "remedy_words": remedy_words,
        "shares": shares(plan, now, units),
        "ahead": [t for t in soon if isinstance(t, Split | Retire)],
    }  # fmt: skip


def _shortfalls(look: Look) -> list[Shortfall]:
    return [s for s in look.plan.shortfalls if not s.thin]


def cultures_view(look: Look) -> dict[str, Any]:
    """Each culture over its dates, with what may be done to it."""
    units, found = look.outlook.room.units, drawn_cultures(look.setting, look.outlook)
    grams = [each.course.culture.starter_g for each in found]
    starters = [mass("Starter taken from it", each_g, units, 1) for each_g in grams]
    return {"cultures": list(zip(found, starters, strict=True)), "signs": CULTURE_SAYS}


def fry_view(look: Look) -> dict[str, Any]:
    """Each brood's length over its dates, and what comes next."""
    room = look.outlook.room
    return {
        "broods": drawn_broods(look.setting, look.outlook), "tanks": [t.name for t in room.tanks],
        "signs": brood_says(room.units), "unit": "in" if room.units == "us" else "mm",
    }  # fmt: skip


def notes_view(look: Look) -> dict[str, Any]:
    """What was noted today and by which page, and a word on anything."""
    room, now = look.outlook.room, look.setting.now
    journal = read_journal(journal_path(look.setting.path), room.timezone)
    answers = read_answers(answers_path(look.setting.path), room.timezone)
    by = {e: a.by for a in answers for e in a.entries}
    mine = [
        e for e in reversed(journal.entries)
        if e.when.astimezone(room.timezone).date() == now.date() or e._replace(line=0) in by
    ][:60]  # fmt: skip
    return {
        "rows": [(e.line, line_of(e, room), by.get(e._replace(line=0), "")) for e in mine],
        "undone": journal.undone(), "things": _things(look),
        "stocks": _stocks(room),
        "like": "2 oz" if room.units == "us" else "50 g",
    }  # fmt: skip


def _stocks(room: Room) -> dict[str, list[tuple[str, str]]]:
    """What can be bought, by its name in the journal and as it is said."""
    kinds = sorted(room.kinds.values(), key=lambda kind: kind.label)
    return {
        "Stocks": [(name, name.replace("_", " ")) for name in stock_names(room)],
        "Starters": [(kind.name, f"{kind.label} starter") for kind in kinds],
    }


def _things(look: Look) -> dict[str, list[str]]:
    """What a note can be about."""
    room = look.outlook.room
    return {
        "Room": ["room"], "Tanks": [t.name for t in room.tanks],
        "Broods": [b.name for b in room.every_brood],
        "Cultures": [c.name for c in room.cultures], "Vessels": [v.name for v in room.vessels],
        "Stocks": list(stock_names(room)),
    }  # fmt: skip


def helper_view(look: Look) -> dict[str, Any]:
    """Today's rounds of an absence, the portions, the cautions, and whom to ask."""
    return {**helping(look), "things": _things(look)}
