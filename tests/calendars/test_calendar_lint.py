"""The gate finds each of the faults that readers are known to choke on."""

from __future__ import annotations

import pytest

from calendars import lint
from calendars.entries import CalendarError
from calendars.from_plan import entries_of
from calendars.ics import Header, calendar_bytes
from tests.calendars.plans import LISBON, ledger_of, ordinary_plan, wishes


def good() -> bytes:
    ledger = ledger_of(entries_of(ordinary_plan(days=2), wishes()))
    return calendar_bytes(ledger.published(), ledger, Header("Shed", LISBON))


def once(old: bytes, new: bytes) -> bytes:
    data = good()
    assert old in data
    return data.replace(old, new, 1)


def test_nothing_to_find() -> None:
    assert lint.findings(good()) == []


FAULTS = {
    "byte order mark": lambda: b"\xef\xbb\xbf" + good(),
    "line end that is not CRLF": lambda: once(b"\r\n", b"\n"),
    "more than 75 octets": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:" + b"x" * 70),
    "control character": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:\x07"),
    "not UTF-8": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:\xff"),
    "split by a fold": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:\xc3\r\n \xa9"),
    "PRODID and VERSION": lambda: once(b"VERSION:2.0", b"VERSION:1.0"),
    "METHOD": lambda: once(b"VERSION:2.0", b"VERSION:2.0\r\nMETHOD:PUBLISH"),
    "without its BEGIN": lambda: once(b"BEGIN:VEVENT\r\n", b""),
    "outside VCALENDAR": lambda: good() + b"X-A:1\r\n",
    "exactly one VCALENDAR": lambda: good() + good(),
    "without its END": lambda: good().removesuffix(b"END:VCALENDAR\r\n"),
    "unknown component": lambda: good().replace(b":VEVENT", b":VJOURNAL"),
    "is missing or not": lambda: once(b"\r\nDTSTAMP:", b"\r\nX-DTSTAMP:"),
    "RRULE is missing or not allowed": lambda: once(
        b"\r\nSTATUS:", b"\r\nRRULE:FREQ=DAILY\r\nSTATUS:"
    ),
    "stands twice": lambda: once(b"\r\nSTATUS:", b"\r\nSUMMARY:x\r\nSTATUS:"),
    "UID": lambda: once(b"\r\nUID:", b"\r\nUID:0@default"),
    "STATUS or SEQUENCE": lambda: once(b"STATUS:CONFIRMED", b"STATUS:DONE"),
    "time of the last change": lambda: once(b"\r\nLAST-MODIFIED:2", b"\r\nLAST-MODIFIED:1").replace(
        b"\r\nDTSTAMP:2", b"\r\nDTSTAMP:3"
    ),
    "no zone, an unknown one": lambda: once(
        b"DTSTART;TZID=Europe/Lisbon:2027", b"DTSTART;TZID=Europe/Lisboa:2027"
    ),
    "do not ascend": lambda: once(
        b"DTEND;TZID=Europe/Lisbon:2027", b"DTEND;TZID=Europe/Lisbon:2026"
    ),
    "have no zone": lambda: once(b"DTSTART;TZID=Europe/Lisbon:2027", b"DTSTART:2027"),
    "its alarm": lambda: once(b"TRIGGER:-PT", b"TRIGGER:20270101T000000Z;-PT"),
    "onset and offsets": lambda: once(b"TZOFFSETFROM", b"X-FROM"),
    "more alarms": lambda: good().replace(
        b"END:VALARM\r\n", b"END:VALARM\r\nBEGIN:VALARM\r\nACTION:DISPLAY\r\nEND:VALARM\r\n", 1
    ),
}


@pytest.mark.parametrize("words", FAULTS)
def test_fault_is_found(words: str) -> None:
    found = lint.findings(FAULTS[words]())
    assert any(words in message for message in found), found


def test_refusal_names_the_first_findings() -> None:
    data = good().replace(b"STATUS:CONFIRMED", b"STATUS:DONE")
    with pytest.raises(
        CalendarError, match=r"was not published.*STATUS or SEQUENCE.*\(and \d+ more\)"
    ):
        lint.check(data)
