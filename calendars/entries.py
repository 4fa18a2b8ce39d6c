"""Calendar entries: what of a plan a person sees on a phone. Values only, no file format."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from attrs import evolve, field, frozen

from cultures.errors import LivefoodError
from cultures.room.room import Room
from cultures.words.moments import clock_text

#: Group of entries -> the word that a calendar shows as its category (no commas: some readers
#: split there). The order is the one in which a crowded day keeps its entries.
GROUPS: Mapping[str, str] = {
    "rounds": "Feeding rounds",
    "warnings": "Warnings",
    "hatches": "Hatches",
    "splits": "Cultures",
    "fry": "Fry",
    "supplies": "Supplies",
}
#: Entries of one local day at most, unless asked otherwise. A room has at most 8 rounds.
ENTRIES_A_DAY = 12
#: Of more than so many entries in all, only whole days are shown; phones grow slow with more
#: (common practice, no source).
MOST_ENTRIES = 1000
SHORTEST = timedelta(minutes=15)

#: How the name of a list of what is least urgent on a day begins.
OF_DAY = "several/"
#: Characters of a title that a phone shows.
LONGEST = 40


class CalendarError(LivefoodError):
    """A calendar that cannot be made, written or sent."""


@frozen
class Entry:
    """One event (or to-do) as a person sees it.

    Attributes:
        key: stable for one intention; the UID is derived from it.
        group: one of `GROUPS`.
        start, end: UTC, to the second, end later than start.
        title, text: clean text, the title on one line.
        alarm_min: minutes before the start at which it rings, or None [min].
        notice_min: the same of a first notice, long before, or None [min].
        related: key of the entry that this one follows from, or "".
        todo: a to-do instead of an event. parts: keys of the entries that it stands for.
        also: titles of what rings with it, without an alarm of its own.
        alike: the key of the one entry that would stand for it and those of its kind and time, or
            "" where it always stands alone.
    """

    key: str
    group: str
    start: datetime
    end: datetime
    title: str
    text: str
    alarm_min: int | None = None
    related: str = ""
    todo: bool = False
    notice_min: int | None = None
    parts: tuple[str, ...] = ()
    alike: str = field(default="", eq=False)
    also: tuple[str, ...] = field(default=(), eq=False)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Entry:
        """An entry from the notes kept beside a published calendar.

        Raises:
            KeyError, TypeError, ValueError: the data are not of that form.
        """
        start, end = datetime.fromisoformat(data["start"]), datetime.fromisoformat(data["end"])
        if start.tzinfo is None or not start < end:
            raise ValueError(f"times of {data['key']} are wrong")
        parts, also = (tuple(map(str, data.get(key, ()))) for key in ("parts", "also"))
        return cls(**{**data, "start": start, "end": end, "parts": parts, "also": also})


@frozen
class Wishes:
    """What the keeper wants to see on the calendar, and when it rings.

    Attributes:
        room: whose zone, waking hours, absences, tools and own lead times hold.
        groups: those of `GROUPS` that are wanted.
        todos: to-dos instead of events. per_day: entries of one local day at most.
    """

    room: Room
    groups: frozenset[str] = field(factory=lambda: frozenset(GROUPS))
    todos: bool = False
    per_day: int = ENTRIES_A_DAY

    @property
    def units(self) -> str:
        """Those of the room."""
        return self.room.units

    def local(self, moment: datetime) -> datetime:
        """A moment in the room's zone."""
        return moment.astimezone(self.room.timezone)


#: Line ends of every kind that a reader may break a line at (RFC 5545 knows only CRLF).
_LINE_END = re.compile("\r\n|[\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029]")
#: Control characters are not allowed in a TEXT (RFC 5545, section 3.3.11); tab and newline are.
#: A byte order mark within a text is dropped by some readers.
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\ufeff\ufffe\uffff]")
_SURROGATE = re.compile("[\ud800-\udfff]")


def clean(text: str) -> str:
    """Text that any reader gives back unchanged: one kind of line end, nothing unprintable."""
    text = _LINE_END.sub("\n", text)
    return _SURROGATE.sub("\ufffd", _CONTROL.sub("", text))


def clean_line(text: str) -> str:
    """The same on one line, for titles."""
    return " ".join(clean(text).split())


def shortened(text: str, longest: int = LONGEST) -> str:
    """A title of so many characters at most, cut at a word where there is one."""
    if len(text) <= longest:
        return text
    head, _, _ = text[: longest - 1].rpartition(" ")
    return f"{(head if len(head) > longest // 2 else text[: longest - 1]).rstrip(' ,:(')}…"


def setting_of(key: str) -> str:
    """The key of the setting that the harvest of a hatch follows from; "" of what is none."""
    what, slash, rest = key.partition("harvest_hatch/")
    return f"{what}set_hatch/{rest}" if slash and what in ("", "todo:") else ""


def instant(moment: datetime) -> datetime:
    """An aware moment in UTC, to the second.

    Raises:
        CalendarError: the moment has no zone, so nobody could tell when to ring.
    """
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise CalendarError(f"{moment.isoformat()} has no time zone; a calendar needs one")
    return moment.astimezone(UTC).replace(microsecond=0)


def fold_days(entries: Iterable[Entry], wishes: Wishes) -> list[Entry]:
    """Keep to the entries a day that were asked for: the least urgent become one list.

    Nothing is lost: the list holds the text of every entry that it stands for.
    """
    days: dict[str, list[Entry]] = {}
    for entry in entries:
        days.setdefault(f"{wishes.local(entry.start):%Y-%m-%d}", []).append(entry)
    kept: list[Entry] = []
    for day, those in days.items():
        kept += those if len(those) <= wishes.per_day else _folded(day, those, wishes)
    return sorted(kept, key=lambda e: (e.start, e.key))


def end_of(entries: Sequence[Entry], zone: ZoneInfo) -> datetime | None:
    """Up to when entries, by time, are few enough: a midnight, or None where all are."""
    if len(entries) <= MOST_ENTRIES:
        return None
    first, last = (e.start.astimezone(zone).date() for e in (entries[0], entries[MOST_ENTRIES]))
    return datetime.combine(max(last, first + timedelta(days=1)), time(0), zone)


def _named(entries: Sequence[Entry]) -> str:
    """A title that names one of several jobs: a purchase, which no round reminds of, first."""
    first, *others = sorted(entries, key=lambda e: e.group != "supplies")
    more = f" (+{len(others)})" if others else ""
    return f"{shortened(f'Also today: {first.title}', LONGEST - len(more))}{more}"


def _folded(day: str, entries: list[Entry], wishes: Wishes) -> list[Entry]:
    rank = list(GROUPS)
    by_urgency = sorted(entries, key=lambda e: (rank.index(e.group), e.start, e.key))
    keep, rest = by_urgency[: wishes.per_day - 1], by_urgency[wishes.per_day - 1 :]
    rest.sort(key=lambda e: (e.start, e.key))
    alarms = [e.start - timedelta(minutes=e.alarm_min) for e in rest if e.alarm_min is not None]
    start = rest[0].start
    pieces = [
        f"{clock_text(wishes.local(e.start), wishes.units)} {e.title}\n{e.text}".rstrip()
        for e in rest
    ]
    several = evolve(
        rest[0], key=f"{OF_DAY}{day}", parts=tuple(e.key for e in rest), end=start + SHORTEST,
        title=_named(rest), text="\n\n".join(pieces), related="", alike="",
        alarm_min=max(0, int((start - min(alarms)).total_seconds() // 60)) if alarms else None,
    )  # fmt: skip
    return [*keep, several]
