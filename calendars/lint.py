"""The gate before anything is published: a strict look at the finished bytes.

It reads the text by itself, not through what wrote it, and knows only the forms that livefood
writes, line by line in their order; anything else is a finding. The rules are those of RFC 5545,
narrowed to what every reader tried understands alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from calendars.entries import CalendarError

_LONGEST = 75
_SPLIT_CHARACTER = re.compile(rb"\r\n [\x80-\xbf]")
_BARE_BREAK = re.compile(rb"\r(?!\n)|(?<!\r)\n")
_CONTROL = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (counts wall time)

_TEXT = r"[^\\;,\n]*(?:\\[\\;,n][^\\;,\n]*)*"
_UTC = r"\d{8}T\d{6}Z"
_WHEN = r"(?:;TZID=[^:;\n]+)?:\d{8}T\d{6}Z?"
_MOMENT = re.compile(r"(?:;TZID=(.+))?:(.{15})(Z?)")
_UID = r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
_OFFSET = r"[+-]\d{4}(?:\d\d)?"
_ALARM = (
    rf"BEGIN:VALARM\nUID:{_UID}\nACTION:DISPLAY\n"
    rf"DESCRIPTION:(?!\n){_TEXT}\nTRIGGER:-?PT\d+M\nEND:VALARM"
)


def _form(*lines: str) -> re.Pattern[str]:
    """A component of these lines; one that begins with ``?`` may be missing."""
    return re.compile("".join(rf"(?:{x[1:]}\n)?" if x[0] == "?" else rf"{x}\n" for x in lines))


def _item(kind: str, end: str, going: str, *more: str) -> re.Pattern[str]:
    return _form(
        f"BEGIN:{kind}", f"UID:(?P<uid>{_UID})", r"SEQUENCE:\d+", f"DTSTAMP:(?P<stamp>{_UTC})",
        "LAST-MODIFIED:(?P=stamp)", f"DTSTART(?P<start>{_WHEN})", f"{end}(?P<end>{_WHEN})",
        f"SUMMARY:{_TEXT}", f"?DESCRIPTION:{_TEXT}", f"CATEGORIES:{_TEXT},{_TEXT}",
        f"STATUS:(?:{going}|(?P<cancelled>CANCELLED))", *more, f"?RELATED-TO:{_UID}",
        f"X-LIVEFOOD-KEY:{_TEXT}", f"X-LIVEFOOD-AS:{_UTC}/{_UTC}/[0-9a-f]+/\\d+/[0-9a-f]+",
        r"?X-LIVEFOOD-RUN:\d+",
        f"?(?(cancelled)never){_ALARM}", f"?(?(cancelled)never){_ALARM}", f"END:{kind}",
    )  # fmt: skip


_ITEMS = {
    "VEVENT": _item("VEVENT", "DTEND", "CONFIRMED", "TRANSP:TRANSPARENT"),
    "VTODO": _item("VTODO", "DUE", "NEEDS-ACTION"),
}
_CHANGE = (
    r"BEGIN:(?P<part>STANDARD|DAYLIGHT)\nDTSTART:\d{8}T\d{6}\n"
    rf"TZOFFSETFROM:{_OFFSET}\nTZOFFSETTO:{_OFFSET}\n(?:TZNAME:{_TEXT}\n)?END:(?P=part)\n"
)
_ZONE = _form("BEGIN:VTIMEZONE", f"TZID:(?P<tzid>{_TEXT})", f"(?:{_CHANGE})+END:VTIMEZONE")
_FRAME = _form(
    "BEGIN:VCALENDAR", r"VERSION:2\.0", "PRODID:.+",
    rf"?NAME:{_TEXT}\nX-WR-CALNAME:{_TEXT}\nCOLOR:[a-z]+", f"?LAST-MODIFIED:{_UTC}",
    r"?REFRESH-INTERVAL;VALUE=DURATION:PT(?P<min>\d+)M\nX-PUBLISHED-TTL:PT(?P=min)M",
    "END:VCALENDAR",
)  # fmt: skip
_COMPONENT = re.compile(
    r"^BEGIN:(VTIMEZONE|VEVENT|VTODO)\n(?:(?!END:\1\n).*\n)*END:\1\n", re.MULTILINE
)


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
    found = _named({
        "a byte order mark": data.startswith(b"\xef\xbb\xbf"),
        "a line of more than 75 octets": max(map(len, data.split(b"\r\n"))) > _LONGEST,
        "a character split by a fold": _SPLIT_CHARACTER.search(data),
        "a line end that is not CRLF": _BARE_BREAK.search(data),
        "a control character": _CONTROL.search(data),
        "a last line without an end": not data.endswith(b"\r\n"),
    })  # fmt: skip
    try:
        text = data.decode()
    except UnicodeDecodeError:
        return [*found, "text that is not UTF-8"]
    return found + list(_read(text.replace("\r\n ", "").replace("\r\n", "\n")))


def _named(faults: Mapping[str, object]) -> list[str]:
    return [name for name, wrong in faults.items() if wrong]


def _read(text: str) -> Iterator[str]:
    """What is wrong with the unfolded lines, component by component."""
    uids: set[str] = set()
    zones: set[str] = set()
    if not _FRAME.fullmatch(_COMPONENT.sub("", text)):
        yield "not one VCALENDAR of known components, with VERSION:2.0 and PRODID, without METHOD"
    for component in _COMPONENT.finditer(text):
        form = _ITEMS.get(component[1], _ZONE).fullmatch(component[0])
        if form is None:
            head = " ".join(component[0].split("\n")[:2])
            yield f"{head}: a line is missing, not allowed or not of its form"
        elif component[1] == "VTIMEZONE":
            zones.add(form["tzid"])
        else:
            moments = [_moment(form[end], zones) for end in ("start", "end")]
            yield from (f"{component[1]} {form['uid'][:8]}: {fault}" for fault in _named({
                "its UID stands twice": form["uid"] in uids,
                "its times have no zone, an unknown one, or do not ascend":
                    None in moments or not moments[0] < moments[1],  # type: ignore[operator]
            }))  # fmt: skip
            uids.add(form["uid"])


def _moment(text: str, zones: set[str]) -> timedelta | None:
    """Time since 1970 in UTC; None if it cannot be told."""
    match = _MOMENT.fullmatch(text)
    if match is None or bool(match[1]) == bool(match[3]) or match[1] not in (None, *zones):
        return None
    try:
        wall = datetime.fromisoformat(match[2])
    except ValueError:
        return None
    offset = wall.replace(tzinfo=ZoneInfo(match[1])).utcoffset() if match[1] else timedelta(0)
    assert offset is not None
    return wall - _EPOCH - offset
