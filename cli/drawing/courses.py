"""Each culture and each brood of a room on its own dates, drawn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from attrs import frozen
from markupsafe import Markup

from cli.drawing import pictures
from cli.options import Setting
from cultures.needs.dates import BroodDate, brood_dates
from cultures.needs.need import BroodCourse
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.replay.culture_course import CultureCourse, culture_course


@frozen(eq=False)
class DrawnCulture:
    """A culture's course and its picture."""

    course: CultureCourse
    drawn: Markup


@frozen(eq=False)
class DrawnBrood:
    """A brood's course, its dates of the next six weeks, and its picture."""

    course: BroodCourse
    dates: Sequence[BroodDate]
    drawn: Markup


def culture_courses(setting: Setting, outlook: Outlook) -> list[CultureCourse]:
    """The courses of the cultures that stand, in the order of the room; what this very look tells
    to be started does not stand yet.
    """
    room, now, learned = outlook.room, setting.now, setting.present.learned
    spans = {s.name: s for s in outlook.cultures()}
    tasks, lives = tasks_of(outlook), learned.replayed.lives
    return [
        culture_course(room, lives[c.name], tasks, spans.get(c.name), now)
        for c in room.cultures if c.name in lives
    ]  # fmt: skip


def drawn_cultures(setting: Setting, outlook: Outlook) -> list[DrawnCulture]:
    """The same, drawn."""
    now, units = setting.now, outlook.room.units

    def drawn(course: CultureCourse) -> DrawnCulture:
        counts = [at for at, _ in _noted(setting, "count", course.culture.name)]
        return DrawnCulture(course, pictures.culture(course, counts, now, units))

    return [drawn(course) for course in culture_courses(setting, outlook)]


def drawn_broods(setting: Setting, outlook: Outlook, only: str = "") -> list[DrawnBrood]:
    """The broods that live, in the order of the room.

    Args:
        only: the name of one brood, where no other is to be drawn.
    """
    room, now = outlook.room, setting.now
    found = []
    for brood in room.broods:
        if only not in ("", brood.name):
            continue
        course = BroodCourse.of(room, brood)
        dates = brood_dates(course, now.date(), now.date() + timedelta(days=42))
        measured = _noted(setting, "length", brood.name)
        drawn = pictures.brood(course, dates, measured, now, room.units)
        found.append(DrawnBrood(course, dates, drawn))
    return found


def _noted(setting: Setting, event: str, name: str) -> list[tuple[datetime, float]]:
    """When and what standing entries noted of something."""
    return [
        (e.when.astimezone(setting.room.timezone), e.amount or 0.0)
        for e in setting.present.entries
        if e.event == event and e.subject == name
    ]
