"""What ``livefood today`` says of a printed sheet or a calendar that no longer holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from cli.screens.text import at_most, block, bullets, wrapped
from cultures.planning.outlook import Outlook
from cultures.planning.telling import Stale
from cultures.record.paper import mean_times
from cultures.record.store import HELPERS_SHEET
from cultures.tasks.task import Feed, HarvestWorms
from cultures.tasks.told import CALENDAR
from cultures.words.moments import clock_text, when
from cultures.words.quantities import number
from cultures.words.tasks import task_text
from cultures.words.text import listed

#: What it is called that was made by a screen.
_NAMES = {HELPERS_SHEET: "helper's sheet", CALENDAR: "calendar"}
#: Of a printed sheet so many rounds are named, and so many things.
_MOST_ROUNDS, _MOST_STALE = 3, 4
#: One printed in the evening lists the next day too; a longer one is of a week.
_OF_AN_EVENING = timedelta(days=1)


def stale_text(sheet: Stale, outlook: Outlook) -> str:
    """What of a printed sheet or a calendar no longer holds, and how to make it again; of a sheet
    that a helper feeds by already, what to say on the phone.
    """
    if _with_the_helper(sheet, outlook):
        return _to_phone(sheet, outlook)
    return wrapped(stale_words(sheet, outlook))


def is_calendar(sheet: Stale) -> bool:
    """Whether it is a calendar, which nobody holds in the hand at a round: it can wait."""
    return sheet.printed.by == CALENDAR


def stale_words(sheet: Stale, outlook: Outlook) -> str:
    """What of it no longer holds, and how to make it again."""
    tools = outlook.room.tools
    if sheet.void:
        return (
            f"The helper's sheet of {when(sheet.printed.at, tools.units)} is for days on which"
            " nobody is away any more: throw it away."
        )
    told = [_rounds_of(sheet.rounds, tools.units)] if sheet.rounds else []
    told += dict.fromkeys(task_text(task, tools).partition(":")[0] for task in sheet.tasks)
    told = at_most(told, _MOST_STALE, "{} more")
    name = _NAMES.get(sheet.printed.by, "sheet")
    again = "Print it again" if sheet.printed.written is None else "Write it again"
    return (
        f"The {name} of {when(sheet.printed.at, tools.units)} no longer holds; changed since:"
        f" {', '.join(told)}. {again}: {_command(sheet, outlook)}"
    )


def _command(sheet: Stale, outlook: Outlook, *, days: bool = False) -> str:
    """What makes it again; ``days``: of a helper's say which, though the room file knows them."""
    if sheet.printed.written is not None:
        return f"livefood {sheet.printed.written.again}"
    first, last = max(sheet.printed.first, outlook.now.date()), sheet.printed.last
    if sheet.printed.by != HELPERS_SHEET:
        week = " --week" if last - sheet.printed.first > _OF_AN_EVENING else ""
        return f"livefood sheet{week} --out sheet.html"
    days = days or not outlook.room.helped(first, last)
    away = f" --from {first} --to {last}" if days else ""
    return f"livefood sheet --helper{away} --out helper.html"


def _rounds_of(rounds: Sequence[datetime], units: str) -> str:
    """Rounds by name, of many how many."""
    names_ = [f"{at:%a} {clock_text(at, units)}" for at in rounds]
    if len(rounds) > _MOST_ROUNDS:
        return f"{len(rounds)} rounds from {names_[0]} on"
    return f"the round{'s' if len(rounds) > 1 else ''} of {listed(names_)}"


def by_paper(sheets: Sequence[Stale], outlook: Outlook) -> frozenset[datetime]:
    """The rounds that a helper feeds by a sheet that says otherwise than the plan."""
    return frozenset(at for s in sheets if _with_the_helper(s, outlook) for at in s.rounds)


def _with_the_helper(sheet: Stale, outlook: Outlook) -> bool:
    """Whether a helper feeds by it already, whom a new print does not reach."""
    today = outlook.now.date()
    there = sheet.printed.by == HELPERS_SHEET and sheet.printed.first <= today
    return there and outlook.room.helped(today, today)


def _to_phone(sheet: Stale, outlook: Outlook) -> str:
    """What the helper should hear, since what is on paper is done; nothing where that will do."""
    said = [*_of_cultures(sheet, outlook), *_of_broods(sheet, outlook)]
    if not said:
        return ""
    units, print_again = outlook.room.units, _command(sheet, outlook, days=True)
    return block(
        f"PHONE THE HELPER, or the sheet of {when(sheet.printed.at, units)} is followed",
        [*bullets(said), wrapped(f"When you have, print it again: {print_again}", 2, "  ")],
    )


def _of_cultures(sheet: Stale, outlook: Outlook) -> Iterator[str]:
    """The cultures that are to be harvested by the sheet, and are gone."""
    here = {culture.name for culture in outlook.room.cultures}
    tasks = (told.task for told in sheet.shown.values())
    gone = [t.subject for t in tasks if isinstance(t, HarvestWorms) and t.subject not in here]
    yield from (f"take nothing of {name}: it is gone" for name in dict.fromkeys(gone))


def _of_broods(sheet: Stale, outlook: Outlook) -> Iterator[str]:
    """Who needs much more or less than the sheet says, in the rounds that are left of it."""
    feedings = [told for told in sheet.shown.values() if isinstance(told.task, Feed)]
    tanks = {line.brood: line.tank for told in feedings for line in told.lines}
    here = {brood.name: brood.tank for brood in outlook.room.broods}
    changed = mean_times(feedings, outlook.room)
    for brood, tank in tanks.items():
        if here.get(brood, tank) != tank:
            yield f"{brood} are in {here[brood]} now, not in {tank}: feed them there"
        times = changed.get(brood)
        if times is not None and brood not in here:
            yield f"{tank} {brood}: nothing"
        elif times is not None:
            share = f"{times:.0%} of" if times < 1.0 else f"{number(times, 2)} times"
            yield f"{here[brood]} {brood}: about {share} what it says"
    fed = {line.brood: line.tank for told in sheet.ahead.values() for line in told.lines}
    new = (f"{tank} {brood}" for brood, tank in fed.items() if brood not in tanks)
    yield from (f"{name}: they are not on it, and are to be fed" for name in new)
