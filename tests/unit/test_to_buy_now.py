"""What is to be bought at once stands with what must be acted on, and in full."""

from __future__ import annotations

from datetime import UTC, date, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from cli.screens import remarks
from cli.screens.remarks import new_remarks, pressing_stops, short_notes, to_buy_now, waiting
from cli.screens.today import _not_yet_said
from cultures.room.file import read_room
from cultures.tasks.plan import Act, Remedy, Shortfall, Stop
from cultures.tasks.task import Buy

_NOW = datetime(2027, 1, 9, 19, 30, tzinfo=UTC)
_ROOM = """
[room]
timezone = "UTC"
temperature_c = 20
as_of = 2027-01-09
"""
_BUY = ": buy 400 g of cysts"
_SAID = "buy 400 g of cysts (hardly any nauplii from Tue 19 Jan on)"


def _look(monkeypatch: pytest.MonkeyPatch, *, by: date | None, due: date | None = None) -> Any:
    text = f"Hardly any nauplii from Tue 19 Jan on{_BUY} (the cysts run out on Mon 18 Jan)."
    stop = Stop("brine_shrimp", text, "cysts", by=by, buy=_BUY)
    salt = Buy(
        id="buy/salt", at=_NOW, until=_NOW, subject="salt", why="", item="salt", grams=500.0,
        due=due,
    )  # fmt: skip
    monkeypatch.setattr(remarks, "tasks_of", lambda _: (salt,))
    monkeypatch.setattr(remarks, "pressing", lambda _: [])
    room = SimpleNamespace(units="metric", tools=read_room(_ROOM, today=_NOW.date()).tools)
    look = SimpleNamespace(room=room, now=_NOW, round_j=lambda: 1.0)
    return look, [stop.note]


@pytest.mark.parametrize(("day", "now"), [(7, True), (9, True), (11, True), (12, False)])
def test_what_nearly_stops_is_bought_at_once_within_two_days(
    monkeypatch: pytest.MonkeyPatch, day: int, now: bool
) -> None:
    """On the evening of the 9th; it stands in one place alone."""
    plan: Any = SimpleNamespace(shortfalls=())
    look, notes = _look(monkeypatch, by=date(2027, 1, day))
    assert to_buy_now(plan, look, notes) == ([_SAID] if now else [])
    left = waiting(notes, _NOW)
    assert [len(left), len(short_notes(left, "metric"))] == [0 if now else 1] * 2


def test_what_must_only_be_known_of_a_food_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    look, notes = _look(monkeypatch, by=None)
    plan: Any = SimpleNamespace(shortfalls=())
    assert to_buy_now(plan, look, notes) == []
    assert len(waiting(notes, _NOW)) == 1


def test_an_overdue_purchase_is_named_unless_a_shortfall_names_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    look, notes = _look(monkeypatch, by=None, due=date(2027, 1, 8))
    plan: Any = SimpleNamespace(shortfalls=())
    assert to_buy_now(plan, look, notes) == ["buy salt: 500 g, due since Fri 8 Jan"]
    buy = Remedy("buy salt", _NOW, 1.0, act=Act.BUY, of="salt")
    short = Shortfall(_NOW, _NOW, 1, "brine_shrimp", 1.0, 1.0, ("T",), "", (buy,))
    told: Any = SimpleNamespace(shortfalls=(short,))
    assert to_buy_now(told, look, notes) == []
    today, notes = _look(monkeypatch, by=None, due=_NOW.date())
    assert to_buy_now(plan, today, notes) == []


@pytest.mark.parametrize(("day", "once"), [(9, True), (11, True), (12, False)])
def test_what_is_bought_at_once_stands_once_on_the_screen(
    monkeypatch: pytest.MonkeyPatch, day: int, once: bool
) -> None:
    """With what must be acted on, and not among what is set going; what else is there stays."""
    _, notes = _look(monkeypatch, by=date(2027, 1, day))
    cysts, salt = (
        Buy(id=f"buy/{item}", at=_NOW, until=_NOW, subject=item, why="", item=item, grams=400.0)
        for item in ("cysts", "salt")
    )
    said = {stop.item for stop in pressing_stops(notes, _NOW)}
    assert said == ({"cysts"} if once else set())
    assert list(_not_yet_said([cysts, salt], said)) == ([salt] if once else [cysts, salt])
    # The block never says that there is nothing to set going where there is a purchase.
    assert list(_not_yet_said([cysts], said)) == [cysts]


@pytest.mark.parametrize(("buys_by", "once"), [(9, True), (13, False)])
def test_what_a_shortfall_has_bought_at_once_is_said_with_it_alone(
    monkeypatch: pytest.MonkeyPatch, buys_by: int, once: bool
) -> None:
    """A food is short from the 15th, against which cysts are bought at once; that nauplii nearly
    stop can wait, and asks for no second purchase. What haste does not say yet is said here.
    """
    buy = Remedy("", _NOW.replace(day=buys_by), 1.0, act=Act.BUY, of="cysts")
    start = _NOW.replace(day=15)
    short = Shortfall(start, start, 1, "microworm", 90.0, 100.0, ("T",), "", (buy,))
    look, notes = _look(monkeypatch, by=date(2027, 1, 9))
    plan: Any = SimpleNamespace(shortfalls=(short,), notes=notes)
    found = new_remarks(plan, look)
    assert to_buy_now(plan, look, found) == ([] if once else [_SAID])
    waits = waiting(found, _NOW)
    assert [_BUY in note.text for note in waits] == ([False] if once else [])
