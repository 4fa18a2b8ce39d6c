"""What each page shows, as values for its template."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from cli.drawing.courses import drawn_broods, drawn_cultures
from cli.drawing.pictures import CULTURE_SAYS, brood_says, shares
from cli.page.cards import RoundView, fed_first, going, mass, round_view, task_cards
from cli.page.desk import Look
from cli.page.helping import helping
from cli.page.wording import on_page
from cli.screens.entry import line_of
from cli.screens.shortfalls import (
    HasteLine,
    cost_words,
    haste_lines,
    haste_text,
    is_trifle,
    no_help,
    remedy_words,
    until_words,
)
from cli.screens.today import brief, new_notes, pressing
from cultures.journal.entries import journal_path, read_journal
from cultures.needs.dates import BroodDate
from cultures.record.answers import answers_path, read_answers, together
from cultures.record.store import PAGE, append_telling, record_path
from cultures.replay.stocks import stock_names
from cultures.room.room import Room
from cultures.tasks.plan import Shortfall
from cultures.tasks.task import Retire, Split
from cultures.tasks.told import ToldTask
from cultures.words.moments import day_text, hours, spoken_day, when
from cultures.words.quantities import food_words, in_units, milligrams, millimetres, number
from cultures.words.tasks import brief_text, task_text
from cultures.words.text import capital, listed

_AHEAD = timedelta(days=14)
#: Most tasks of which is asked at once.
_MOST_ASKED = 200
#: So many tanks are named in a line.
_MOST_NAMED = 4


def common(look: Look) -> dict[str, Any]:
    """What stands on every page."""
    now, units = look.setting.now, look.outlook.room.units
    return {"room": look.outlook.room.name, "clock": when(now, units),
            "today": now.date().isoformat()}  # fmt: skip


def news(changes: Iterable[str], look: Look) -> dict[str, Any]:
    """What of the plan is other since something was noted, as the page says it."""
    lines = [on_page(in_units(text, look.outlook.room.units)) for text in changes]
    return {"lines": [*map(capital, lines)], "brief": brief(lines[0]) if lines else ""}


def now_view(look: Look) -> dict[str, Any]:
    """The round to do now or next, what is over and noted, and what was taken as done."""
    outlook, now = look.outlook, look.setting.now
    over = [round_view(look, at) for at in outlook.round_times() if outlook.is_noted(at)]
    rounds = [round_view(look, at) for at in look.rounds]
    asked = look.setting.present.unanswered()
    act, waits, first = _act_now(look), _can_wait(look), _tanks_first(look, rounds)
    return {
        "rounds": rounds, "over": over, "going": going(look, [*over, *rounds]),
        "act": act, "first": first,
        "act_brief": _feed_first(first) or brief(act[0]) if act else "",
        "waits": waits, "waits_brief": brief(waits[0]) if waits else "",

        "soon": [_soon(at, now) for at in look.rounds],
        "asked": _asked(asked, look), "other": on_page(look.other),
        "notes": [on_page(in_units(n, outlook.room.units)) for n in new_notes(look.plan, outlook)],
    }  # fmt: skip


def _act_now(look: Look) -> list[str]:
    """What must be acted on first, as `today` has it: fry in danger, then what falls short."""
    outlook, now = look.outlook, look.setting.now
    urgent = [line for line in _hasty(look) if line.is_urgent(now)]
    texts = [*pressing(outlook), *(haste_text(line, outlook.room.units) for line in urgent)]
    return [capital(on_page(in_units(text, outlook.room.units))) for text in texts]


def _can_wait(look: Look) -> list[str]:
    """What else falls short, and until when that can be helped."""
    units, now = look.outlook.room.units, look.setting.now
    lines = [line for line in _hasty(look) if not line.is_urgent(now)]
    return [capital(on_page(haste_text(line, units))) for line in lines]


def _hasty(look: Look) -> list[HasteLine]:
    """What is to be done about what falls short, by time, without trifles."""
    a_round_j = look.outlook.round_j()
    return [*haste_lines(s for s in look.plan.shortfalls if not is_trifle(s, a_round_j))]


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


def _soon(at: datetime, now: datetime) -> str:
    minutes = round((at - now).total_seconds() / 60)
    if abs(minutes) < 2:
        return "now"
    hours, rest = divmod(abs(minutes), 60)
    span = f"{hours} h {rest} min" if hours else f"{rest} min"
    return f"in {span}" if minutes > 0 else f"{span} ago"


def _asked(told: Sequence[ToldTask], look: Look) -> dict[str, Any]:
    """What was told, is over and is not noted: round by round, and how many tasks in all."""
    tools = look.outlook.room.tools
    rounds = dict[datetime, list[ToldTask]]()
    for each in told[:_MOST_ASKED]:
        rounds.setdefault(each.round_at or each.task.at, []).append(each)
    groups = [
        {"at": when(at, tools.units), "every": _keys(mine),
         "tasks": [{"key": t.task.id, "text": brief_text(t.task, tools)} for t in mine]}
        for at, mine in sorted(rounds.items())
    ]  # fmt: skip
    shown = told[:_MOST_ASKED]
    return {"groups": groups, "every": _keys(shown), "count": len(shown),
            "more": len(told) - len(shown)}  # fmt: skip


def _keys(told: Sequence[ToldTask]) -> str:
    return "\n".join(t.task.id for t in told)


def leave_questions(look: Look) -> None:
    """Records that what was taken as done was asked about, so that it is not asked again.

    Raises:
        FileProblemError: the record cannot be written.
    """
    setting = look.setting
    if asked := [t.task.id for t in setting.present.unanswered()]:
        append_telling(record_path(setting.path), setting.now, PAGE, asked=asked)


def todo_view(look: Look) -> dict[str, Any]:
    """What is to be set going, and what may have gone wrong."""
    room = look.outlook.room
    standing = dict.fromkeys([*(h.vessel for h in room.hatches), *(h.vessel for h in room.held)])
    return {
        "cards": task_cards(look, look.to_do()), "hatches": list(standing),
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
    units = look.outlook.room.units
    return {
        "shortfalls": [_shortfall(s, units) for s in look.plan.shortfalls if not s.thin],
        "other": on_page(look.other),
        "shares": shares(look.plan, look.setting.now, look.outlook.room.units),
        "ahead": [
            {"at": when(t.at, units), "text": task_text(t, look.outlook.room.tools)}
            for t in look.plan.tasks
            if isinstance(t, Split | Retire) and t.at < look.setting.now + _AHEAD
        ],
    }  # fmt: skip


def _shortfall(s: Shortfall, units: str) -> dict[str, Any]:
    until = f" to {when(s.until, units)}" if s.rounds > 1 else ""
    return {
        "food": food_words(s.food).capitalize(), "tanks": ", ".join(s.tanks),
        "at": f"{when(s.at, units)}{until}", "share": f"{s.share:.0%}",
        "cause": in_units(s.cause, units),
        "cost": cost_words(s, units),
        "helps": [
            {"by": until_words(r, units), "what": remedy_words(r, units),
             "covers": f"{s.covered_by(r):.0%}"}
            for r in s.remedies
        ],
        "no_help": capital(no_help(s, units)),
    }  # fmt: skip


def cultures_view(look: Look) -> dict[str, Any]:
    """Each culture over its dates, with what may be done to it."""
    room, now = look.outlook.room, look.setting.now
    found = []
    for each in drawn_cultures(look.setting, look.outlook):
        course, culture = each.course, each.course.culture
        found.append({
            "name": culture.name, "kind": culture.kind.label,
            "picture": each.drawn,
            "ripe": spoken_day(course.ripe_from, now, room.units) if course.ripe_from else "",
            "spent": spoken_day(course.spent_on, now, room.units) if course.spent_on else "",
            "stands": milligrams(course.stands_mg(now.date()), room.units),
            "starter": mass("Starter taken from it", culture.starter_g, room.units, 1),
            "cautions": culture.kind.cautions,
            "remarks": [f"{text} ({when(at, room.units)})"
                        for at, text in room.remarks.get(culture.name, ())],
        })  # fmt: skip
    return {"cultures": found, "signs": CULTURE_SAYS}


def fry_view(look: Look) -> dict[str, Any]:
    """Each brood's length over its dates, and what comes next."""
    room, now, danger = look.outlook.room, look.setting.now, fed_first(look)
    found = []
    for each in drawn_broods(look.setting, look.outlook):
        course, brood, today = each.course, each.course.brood, now.date()
        eats = course.first_food_day() <= today
        found.append({
            "name": brood.name, "tank": brood.tank, "label": course.fry_class.label,
            "count": number(round(brood.alive(today))),
            "length": millimetres(course.length_mm(hours(now)), room.units) if eats else "",
            "picture": each.drawn,
            "first": spoken_day(course.first_food_day(), today, room.units),
            "danger": danger.get(brood.name, ""),
            "dates": [
                {"on": spoken_day(d.day, today, room.units), "what": d.what.replace("_", " "),
                 "span": _span(d, room.units),
                 "why": in_units(d.why, room.units)}
                for d in each.dates[:5]
            ],
        })  # fmt: skip
    return {
        "broods": found, "tanks": [t.name for t in room.tanks],
        "signs": brood_says(room.units), "unit": "in" if room.units == "us" else "mm",
    }  # fmt: skip


def notes_view(look: Look) -> dict[str, Any]:
    """What was noted today and by which page, and a word on anything."""
    room, now = look.outlook.room, look.setting.now
    journal = read_journal(journal_path(look.setting.path), room.timezone)
    answers = read_answers(answers_path(look.setting.path), room.timezone)
    by = {e: a.by for a in answers if a.by for e in a.entries}
    undone = journal.undone()
    mine = [
        e for e in reversed(journal.entries)
        if e.when.astimezone(room.timezone).date() == now.date() or e._replace(line=0) in by
    ][:60]  # fmt: skip
    blocks = [together(e, journal, answers) for e in mine]
    left = {b[-1].line: [e for e in b if e.line not in undone] for b in blocks if b[1:]}
    alike = {lines[-1].line: len(lines) for lines in left.values() if lines[1:]}
    return {
        "rows": [
            {"line": e.line, "text": line_of(e, room), "by": by.get(e._replace(line=0), ""),
             "undone": e.line in undone, "all": alike.get(e.line, 0)}
            for e in mine
        ],
        "asked": _asked(look.setting.present.unnoted(), look),
        "things": _things(look),
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


def _span(on: BroodDate, units: str) -> str:
    """Between which days a date lies, "" where that is one."""
    if on.early == on.late:
        return ""
    return f"{day_text(on.early, units)} to {day_text(on.late, units)}"
