"""The gate finds each of the faults that readers are known to choke on."""

from __future__ import annotations

import re

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


def one_uid_twice() -> bytes:
    first, second = re.findall(rb"BEGIN:VEVENT\r\nUID:(\S+)", good())[:2]
    return once(second, first)


#: Each with the words of its finding.
FAULTS = {
    "byte order mark": lambda: b"\xef\xbb\xbf" + good(),
    "line end that is not CRLF": lambda: once(b"\r\n", b"\n"),
    "more than 75 octets": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:" + b"x" * 70),
    "control character": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:\x07"),
    "not UTF-8": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:\xff"),
    "split by a fold": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:\xc3\r\n \xa9"),
    "no zone, an unknown one": lambda: once(
        b"DTSTART;TZID=Europe/Lisbon:2027", b"DTSTART;TZID=Europe/Lisboa:2027"
    ),
    "do not ascend": lambda: once(
        b"DTEND;TZID=Europe/Lisbon:2027", b"DTEND;TZID=Europe/Lisbon:2026"
    ),
    "have no zone": lambda: once(b"DTSTART;TZID=Europe/Lisbon:2027", b"DTSTART:2027"),
    "its UID stands twice": one_uid_twice,
}
#: Of the frame around the components.
FRAMES = {
    "another version": lambda: once(b"VERSION:2.0", b"VERSION:1.0"),
    "a METHOD": lambda: once(b"VERSION:2.0", b"VERSION:2.0\r\nMETHOD:PUBLISH"),
    "an END without its BEGIN": lambda: once(b"BEGIN:VEVENT\r\n", b""),
    "a line outside VCALENDAR": lambda: good() + b"X-A:1\r\n",
    "two calendars": lambda: good() + good(),
    "a BEGIN without its END": lambda: good().removesuffix(b"END:VCALENDAR\r\n"),
    "an unknown component": lambda: good().replace(b":VEVENT", b":VJOURNAL"),
}
#: Of a component's lines.
LINES = {
    "no DTSTAMP": lambda: once(b"\r\nDTSTAMP:", b"\r\nX-DTSTAMP:"),
    "an RRULE": lambda: once(b"\r\nSTATUS:", b"\r\nRRULE:FREQ=DAILY\r\nSTATUS:"),
    "two summaries": lambda: once(b"\r\nSTATUS:", b"\r\nSUMMARY:x\r\nSTATUS:"),
    "another UID": lambda: once(b"\r\nUID:", b"\r\nUID:0@default"),
    "another STATUS": lambda: once(b"STATUS:CONFIRMED", b"STATUS:DONE"),
    "two times of change": lambda: once(b"\r\nLAST-MODIFIED:2", b"\r\nLAST-MODIFIED:1").replace(
        b"\r\nDTSTAMP:2", b"\r\nDTSTAMP:3"
    ),
    "an absolute alarm": lambda: once(b"TRIGGER:-PT", b"TRIGGER:20270101T000000Z;-PT"),
    "a zone without offsets": lambda: once(b"TZOFFSETFROM", b"X-FROM"),
    "two alarms": lambda: good().replace(
        b"END:VALARM\r\n", b"END:VALARM\r\nBEGIN:VALARM\r\nACTION:DISPLAY\r\nEND:VALARM\r\n", 1
    ),
    "an alarm of a cancelled entry": lambda: once(b"STATUS:CONFIRMED", b"STATUS:CANCELLED"),
    "a comma that is not escaped": lambda: once(b"\r\nSUMMARY:", b"\r\nSUMMARY:x,"),
}


@pytest.mark.parametrize("words", FAULTS)
def test_fault_is_found(words: str) -> None:
    found = lint.findings(FAULTS[words]())
    assert any(words in message for message in found), found


@pytest.mark.parametrize("name", FRAMES)
def test_fault_of_the_frame_is_found(name: str) -> None:
    assert lint.findings(FRAMES[name]())[0].startswith("not one VCALENDAR of known components")


@pytest.mark.parametrize("name", LINES)
def test_fault_of_a_line_is_found(name: str) -> None:
    assert lint.findings(LINES[name]())[0].endswith("missing, not allowed or not of its form")


def test_refusal_names_the_first_findings() -> None:
    data = good().replace(b"STATUS:CONFIRMED", b"STATUS:DONE")
    with pytest.raises(
        CalendarError, match=r"was not published.*VEVENT.*not of its form.*\(and \d+ more\)"
    ):
        lint.check(data)
