"""What differs in the last digit of an amount rings on no phone: RFC 5546, section 2.1.4, has
SEQUENCE rise with what changes for who reads an entry.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from attrs import evolve

from calendars.entries import Entry
from calendars.ledger import Ledger, revise

_NOW = datetime(2027, 1, 5, 8, tzinfo=UTC)
_AT = _NOW + timedelta(days=1)
_TEXT = "1. 06:55 nauplii: stir the jar of Tue 06:30, sieve 295 mL\nT1: 20 mL"
_ROUND = Entry(
    "feed/a", "rounds", _AT, _AT + timedelta(minutes=15), "Feed the fry: 16 tanks", _TEXT, 30
)
_NAMES = UUID("11111111-1111-4111-8111-111111111111")


def _again(*entries: Entry) -> list[int]:
    """The SEQUENCE after each further export of one entry."""
    ledger, found = Ledger(), list[int]()
    for day, entry in enumerate(entries):
        now = _NOW + timedelta(minutes=day)
        ledger, _ = revise(ledger, [entry], now=now, namespace=_NAMES)
        found.append(ledger.records[entry.key].sequence)
    return found


@pytest.mark.parametrize("other", [
    _TEXT.replace("295", "294"), _TEXT.replace("20 mL", "22 mL"),
    _TEXT.replace("295", "266"),  # 29 of 295 is a tenth less
])  # fmt: skip
def test_a_tenth_of_an_amount_changes_no_entry(other: str) -> None:
    assert _again(_ROUND, evolve(_ROUND, text=other)) == [0, 0]


@pytest.mark.parametrize("other", [
    {"text": _TEXT.replace("20 mL", "25 mL")},  # a fifth of the larger is no trifle
    {"text": _TEXT.replace("06:55", "06:56")}, {"text": _TEXT.replace("T1", "T2")},
    {"text": _TEXT.replace("Tue 06:30", "Tue 06:31")},
    {"text": f"{_TEXT}\nT3: 1 mL"}, {"title": "Feed the fry: 17 tanks"}, {"alarm_min": 31},
    {"start": _AT + timedelta(minutes=1)},
])  # fmt: skip
def test_what_a_keeper_sees_changes_the_entry(other: dict[str, Any]) -> None:
    assert _again(_ROUND, evolve(_ROUND, **other)) == [0, 1]


def test_small_steps_do_not_add_up() -> None:
    """20, 22 and 24 mL: the third is a sixth more than what stands on the phone, so it is told."""
    steps = [evolve(_ROUND, text=_TEXT.replace("20 mL", f"{ml} mL")) for ml in (20, 22, 24)]
    assert _again(*steps) == [0, 0, 1]


def test_a_harvest_is_about_so_many() -> None:
    """Of 120,000 and 110,000 the last digit that is said differs: 10 of 120 are a twelfth."""
    text = "bottle 1: draw off the nauplii (about 120,000); put them in a jar."
    entry = evolve(_ROUND, text=text)
    assert _again(entry, evolve(entry, text=text.replace("120", "110"))) == [0, 0]
    assert _again(entry, evolve(entry, text=text.replace("120", "100"))) == [0, 1]
