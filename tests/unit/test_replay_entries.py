"""Which thing an entry is about, and what is said of one about nothing.

The room is that of `test_replay_by_hand`.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from attrs import evolve

from cultures.foods.vessels import Vessel
from cultures.journal.entries import Entry
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, Step, noted_steps
from cultures.room.room import Room
from tests.unit.recorded import replay, told_task
from tests.unit.test_replay_by_hand import ROOM, _at

_STATED = evolve(ROOM, as_of_stated=True)


def _noted(*entries: Entry, now: datetime | None = None, room: Room = ROOM) -> Replayed:
    numbered = [e._replace(line=i + 2) for i, e in enumerate(entries)]
    return replay(room, numbered, now or _at(9), OwnValues())


def _notes(*entries: Entry, room: Room = ROOM) -> list[str]:
    return [note for note in _noted(*entries, room=room).room.notes if "not in the room" in note]


def test_a_count_without_its_unit_is_of_what_its_subject_is() -> None:
    """Fry of a brood, worms of a culture, nauplii of a bottle."""
    fry = _noted(Entry(_at(6), "count", "fry", "", 80.0)).room
    assert fry.brood("fry").count == 80
    worms = _noted(Entry(_at(6), "count", "MW-1", "tray", 0.0)).lives["MW-1"]
    assert worms.log[-1].what == "counted"
    got = _noted(Entry(_at(5), "set", "bottle", "", 2.0, "g"),
                 Entry(_at(6), "count", "bottle", "", 1000.0))  # fmt: skip
    assert [h.per_gram for h in got.seen.hatches] == [500.0]
    assert _notes(Entry(_at(6), "count", "Q", "", 80.0)) != []


@pytest.mark.parametrize(
    ("event", "subject", "unit", "known"),
    [
        ("harvest", "bottle", "", True), ("harvest", "MW-1", "", True), ("harvest", "Q", "", False),
        ("failed", "bottle", "", True), ("failed", "MW-1", "", True), ("failed", "Q", "", False),
        ("discard", "Q", "", False), ("note", "Q", "", True), ("skip", "Q", "", True),
        ("leftover", "fry", "", True), ("leftover", "Q", "", False), ("learn", "all", "", True),
        ("count", "Q", "worms", False), ("count", "Q", "nauplii", False),
        ("count", "Q", "g", False),
        ("used", "Q", "g", False), ("bought", "Q", "g", False), ("bought", "microworm", "g", True),
        ("temperature", "Q", "C", False), ("temperature", "room", "C", True),
        ("temperature", "bottle", "C", True), ("temperature", "A", "C", True),
        ("temperature", "MW-1", "C", True), ("lost", "Q", "fry", False),
    ],
)  # fmt: skip
def test_an_entry_about_nothing_in_the_room_is_told(
    event: str, subject: str, unit: str, known: bool
) -> None:
    amount = 20.0 if unit else None
    entry = Entry(_at(6), event, subject, "none" if event == "leftover" else "x", amount, unit, "x")
    assert (_notes(entry) == []) is known
    before = entry._replace(when=_at(4))
    assert _notes(before) == []  # before the file, which says what there is now


def test_entries_about_nothing_are_told_once_with_their_lines() -> None:
    one = Entry(_at(6), "lost", "Q", "", 1.0, "fry")
    two = one._replace(when=_at(7))
    assert _notes(one) == ["Journal line 2: 'Q' is not in the room file (any more); not used."]
    (both,) = _notes(one, two)
    assert both.startswith("Journal 2 lines from 2 on: 'Q' is not in the room file")


def test_a_thermometer_read_before_the_file_says_nothing() -> None:
    warm = Entry(_at(4), "temperature", "A", "", 20.0, "C")
    assert _noted(warm, room=_STATED).room.tank("A").temperature_c == 26.0
    at = Entry(_at(5, 0), "temperature", "A", "", 20.0, "C")
    assert _noted(at, room=_STATED).room.tank("A").temperature_c == 20.0
    bottle = Entry(_at(6), "temperature", "bottle", "", 20.0, "C")
    assert _noted(bottle).room.vessels == (Vessel("bottle", 1.0, 20.0, 25.0),)


def test_what_is_turned_off_and_on_again() -> None:
    off = [Entry(_at(6), "learn", name, "off") for name in ("yield", "swipe")]
    assert _noted(*off).seen.off == {"yield", "swipe"}
    assert _noted(*off, Entry(_at(7), "learn", "yield", "on")).seen.off == {"swipe"}
    assert _noted(*off, Entry(_at(7), "learn", "all", "on")).seen.off == set()
    assert _noted(Entry(_at(7), "learn", "yield", "on")).seen.off == set()


def test_words_are_kept_beside_what_they_are_about_at_their_time() -> None:
    got = _noted(
        Entry(_at(6), "note", "fry", note="pale"), Entry(_at(7), "leftover", "fry", "some"),
        Entry(_at(7, 13), "leftover", "fry", "none"), Entry(_at(8), "fed", "A", "dry", 2.0, "g"),
    ).room.remarks  # fmt: skip
    assert got == {
        "fry": ((_at(6), "pale"), (_at(7), "some was left over")),
        "A": ((_at(8), "fed 2 g of dry food"),),
    }


@pytest.mark.parametrize(
    ("what", "subject", "held"),
    [("set_hatch", "bottle", "bottle"), ("split", "MW-1", "microworm"), ("feed", "A", None),
     ("retire", "MW-1", None)],
)  # fmt: skip
def test_what_was_skipped_is_not_asked_for_again_before_the_next_round(
    what: str, subject: str, held: str | None
) -> None:
    entry = Entry(_at(6), "skip", subject, f"{what}/1")
    room = _noted(entry).room
    assert dict(room.not_before) == ({held: _at(6, 20)} if held else {})  # the next round
    assert ("A" in room.remarks) is (what == "feed")


def test_cysts_bought_are_a_new_tin_and_the_first_of_a_room_without_one() -> None:
    bought = Entry(_at(6), "bought", "cysts", "", 25.0, "g")
    got = _noted(bought)
    assert got.seen.bought_h == [_at(6).timestamp() / 3600]
    assert got.room.cysts is not None
    assert got.room.cysts.grams == 75
    first = _noted(bought, room=evolve(ROOM, cysts=None)).room.cysts
    assert first is not None
    assert first.grams == 25
    assert _noted(room=evolve(ROOM, cysts=None)).room.cysts is None
    salt = _noted(Entry(_at(6), "bought", "salt", "", 25.0, "g"))
    assert salt.seen.bought_h == []


def test_counts_of_hatches_and_harvests_are_forgotten_after_400_days_and_nothing_else() -> None:
    now = _at(9)
    for days, kept in ((400, False), (399.99, True)):
        when = now - timedelta(days=days)
        for event in ("harvest", "hatched", "split"):
            steps = noted_steps([Entry(when, event, "x")], now)
            assert bool(steps) is (kept or event == "split")
    assert noted_steps([Entry(now + timedelta(seconds=1), "split", "x")], now) == []


def test_what_cannot_be_is_doubted_only_before_it_is_recorded() -> None:
    many = Entry(_at(6), "lost", "fry", "", 101.0, "fry")
    assert _noted(many).doubts == ()
    ((entry, why),) = replay(ROOM, [many], _at(9), OwnValues()).doubts
    assert entry == many
    assert "101 fry of fry cannot be lost" in why
    told = told_task("harvest_worms", _at(6), "MW-9", {"mg": 5.0})
    presumed = Step(Entry(_at(6), "harvest", "MW-9", "", 5.0, "mg"), told, True)
    assert replay(ROOM, [presumed], _at(9), OwnValues()).doubts == ()
    early = many._replace(when=_at(4))
    assert replay(_STATED, [early], _at(9), OwnValues()).doubts == ()
