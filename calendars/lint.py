"""The gate before anything is published: a strict look at the finished bytes.

It reads the text by itself, not through the library that wrote it, and knows only the forms
that livefood writes; anything else is a finding. The rules are those of RFC 5545, narrowed to
what every reader tried understands alike.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from calendars.entries import CalendarError

_LONGEST = 75
_SPLIT_CHARACTER = re.compile(rb"\r\n [\x80-\xbf]")
_BARE_BREAK = re.compile(rb"\r(?!\n)|(?<!\r)\n")
_CONTROL = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_MOMENT = re.compile(r"(DTSTART|DTEND|DUE)(?:;TZID=([^:;]+))?:(\d{8}T\d{6})(Z?)")
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (counts wall time)
_STAMP = re.compile(r"\d{8}T\d{6}Z")
_TRIGGER = re.compile(r"-?PT\d+M")
_UID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_ITEMS = {
    "VEVENT": ("DTEND", {"CONFIRMED", "CANCELLED"}),
    "VTODO": ("DUE", {"NEEDS-ACTION", "CANCELLED"}),
}
_ONCE = ("UID", "DTSTAMP", "DTSTART", "LAST-MODIFIED", "SEQUENCE", "SUMMARY", "STATUS")
_FORBIDDEN = {"ORGANIZER", "ATTENDEE", "ATTACH", "RRULE", "RDATE", "EXDATE", "DURATION", "METHOD"}
_ZONE_HAS = {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"}
_ZONE_HAS_NOT = {"RDATE", "RRULE", "COMMENT"}


def check(data: bytes) -> None:
    """Refuse a calendar that some reader could misread.

    Raises:
        CalendarError: with the first three findings.
    """
    found = findings(data)
    if found:
        more = f" (and {len(found) - 3} more)" if len(found) > 3 else ""
        first = "; ".join(found[:3])
        raise CalendarError(f"the calendar was not published, it would be wrong: {first}{more}")


def findings(data: bytes) -> list[str]:
    """Everything that is wrong with the bytes of a calendar."""
    found = [
        message
        for message, wrong in (
            ("a byte order mark", data.startswith(b"\xef\xbb\xbf")),
            ("a line of more than 75 octets", max(map(len, data.split(b"\r\n"))) > _LONGEST),
            ("a character split by a fold", _SPLIT_CHARACTER.search(data)),
            ("a line end that is not CRLF", _BARE_BREAK.search(data)),
            ("a control character", _CONTROL.search(data)),
            ("a last line without an end", not data.endswith(b"\r\n")),
        )
        if wrong
    ]
    try:
        text = data.decode()
    except UnicodeDecodeError:
        return [*found, "text that is not UTF-8"]
    return found + _Reader().read(text.replace("\r\n ", "").split("\r\n")[:-1])


class _Reader:
    """Walks the unfolded lines once, component by component."""

    def __init__(self) -> None:
        self.found: list[str] = []
        self.uids: set[str] = set()
        self.zones: set[str] = set()

    def read(self, lines: list[str]) -> list[str]:
        stack: list[tuple[str, list[str], list[list[str]]]] = []
        for line in lines:
            if line.startswith("BEGIN:"):
                stack.append((line[6:], [], []))
            elif line.startswith("END:"):
                if not stack or stack[-1][0] != line[4:]:
                    return [*self.found, f"{line} without its BEGIN"]
                name, own, inner = stack.pop()
                if name in ("VALARM", "STANDARD", "DAYLIGHT") and stack:
                    stack[-1][2].append([name, *own])
                elif name == "VCALENDAR":
                    self._header(own, len(stack))
                else:
                    self._component(name, own, inner)
            elif not stack:
                return [*self.found, "a line outside VCALENDAR"]
            else:
                stack[-1][1].append(line)
        if stack:
            self.found.append(f"BEGIN:{stack[-1][0]} without its END")
        elif lines.count("BEGIN:VCALENDAR") != 1:
            self.found.append("not exactly one VCALENDAR")
        return self.found

    def _header(self, lines: list[str], depth: int) -> None:
        values = dict(_parts(line) for line in lines)
        if depth or values.get("VERSION") != "2.0" or not values.get("PRODID"):
            self.found.append("VCALENDAR without PRODID and VERSION:2.0")
        if "METHOD" in values:
            self.found.append("a METHOD")

    def _component(self, name: str, lines: list[str], inner: list[list[str]]) -> None:
        if name == "VTIMEZONE":
            self._zone(lines, inner)
        elif name in _ITEMS:
            self._item(name, lines, inner)
        else:
            self.found.append(f"an unknown component {name}")

    def _zone(self, lines: list[str], inner: list[list[str]]) -> None:
        if len(lines) != 1 or not lines[0].startswith("TZID:") or not inner:
            self.found.append("a VTIMEZONE that is not a TZID with its parts")
            return
        self.zones.add(lines[0][5:])
        for part in inner:
            names = {_parts(line)[0] for line in part[1:]}
            if not names >= _ZONE_HAS or names & _ZONE_HAS_NOT:
                self.found.append(f"a {part[0]} without its onset and offsets")

    def _item(self, name: str, lines: list[str], inner: list[list[str]]) -> None:
        end, states = _ITEMS[name]
        values = dict(map(_parts, lines))
        uid = values.get("UID", "")
        where = f"{name} {uid[:8]}"
        if len(values) != len(lines):
            self.found.append(f"{where}: something stands twice")
        bad = [key for key in (*_ONCE, end) if key not in values]
        bad += _FORBIDDEN & values.keys()
        if bad:
            self.found.append(f"{where}: {bad[0]} is missing or not allowed")
            return
        if not _UID.fullmatch(uid) or uid in self.uids:
            self.found.append(f"{where}: its UID is not a plain one, or stands twice")
        self.uids.add(uid)
        if values["STATUS"] not in states or not values["SEQUENCE"].isdigit():
            self.found.append(f"{where}: STATUS or SEQUENCE")
        stamps = (values["DTSTAMP"], values["LAST-MODIFIED"])
        if stamps[0] != stamps[1] or not _STAMP.fullmatch(stamps[0]):
            self.found.append(f"{where}: DTSTAMP is not the time of the last change in UTC")
        moments = [self._moment(line) for line in lines if line.startswith(("DTSTART", end))]
        if None in moments or not moments[0] < moments[1]:  # type: ignore[operator]
            self.found.append(f"{where}: its times have no zone, an unknown one, or do not ascend")
        self._alarms(where, inner, values["STATUS"])

    def _moment(self, line: str) -> timedelta | None:
        """Time since 1970 in UTC; None if it cannot be told."""
        match = _MOMENT.fullmatch(line)
        if match is None or bool(match[2]) == bool(match[4]):
            return None
        if match[2] and match[2] not in self.zones:
            return None
        try:
            wall = datetime.fromisoformat(match[3])
        except ValueError:
            return None
        offset = wall.replace(tzinfo=ZoneInfo(match[2])).utcoffset() if match[2] else timedelta(0)
        assert offset is not None
        return wall - _EPOCH - offset

    def _alarms(self, where: str, inner: list[list[str]], status: str) -> None:
        if len(inner) > (status != "CANCELLED"):
            self.found.append(f"{where}: more alarms than one, or one on a cancelled entry")
        for part in inner:
            values = dict(_parts(line) for line in part[1:])
            wanted = values.get("ACTION") == "DISPLAY" and values.get("DESCRIPTION")
            if (
                part[0] != "VALARM"
                or not wanted
                or not _TRIGGER.fullmatch(values.get("TRIGGER", ""))
            ):
                self.found.append(f"{where}: its alarm")


def _parts(line: str) -> tuple[str, str]:
    """Name and value of a line; parameters hold no colon in what is written here."""
    name, _, value = line.partition(":")
    return name.partition(";")[0], value
