"""What is at a moment, at the very minutes at which it becomes something else.

Room, rounds and tasks are those of `test_record`: a brood in A1, the culture MW-1, two bottles.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.journal.absences import Away
from cultures.journal.entries import Entry, Journal, append
from cultures.record.book import Book, DoubtError
from cultures.record.carried_out import as_entry, steps_of
from cultures.record.fates import fates
from cultures.record.present import ASKED_FOR, Present, present, present_of
from cultures.record.store import append_telling, read_record, record_path
from cultures.room.file import read_room
from cultures.room.room import Room, Told
from cultures.tasks.told import CALENDAR, EARLY, LATE, Draw, FeedLine, ToldTask
from tests.unit.recorded import record_of, told_task
from tests.unit.test_record import (
    _EVENING,
    _MORNING,
    _NIGHT,
    _ROOM,
    _SECOND,
    _ZONE,
    _at,
    _draw,
    _feed,
    _ids,
    _present,
    _set,
    _split,
    _worms,
)

_MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_ROOM, today=date(2027, 3, 9))


@pytest.mark.parametrize(
    ("now", "due"),
    [
        (_MORNING - EARLY - _SECOND, False), (_MORNING - EARLY, True), (_MORNING, True),
        (_MORNING + LATE - _SECOND, True), (_MORNING + ASKED_FOR, True),
        (_MORNING + ASKED_FOR + _SECOND, False),
    ],
)  # fmt: skip
def test_work_may_be_ticked_off_from_three_quarters_of_an_hour_before_to_two_weeks_after(
    room: Room, now: datetime, due: bool
) -> None:
    told = [_feed(_MORNING)]
    assert timedelta(minutes=45) == EARLY
    assert timedelta(days=14) == ASKED_FOR
    assert (_ids(_present(room, told, now).due()) == ["feed/1007"]) is due


def test_reminders_are_no_work_and_are_not_ticked_off(room: Room) -> None:
    assert _present(room, [told_task("buy", _MORNING, "salt")], _MORNING).due() == []


def test_a_count_whose_day_has_come_is_asked_for_though_it_is_told_for_a_later_day(
    room: Room,
) -> None:
    """A calendar written on Wednesday tells Tuesday's count for Monday; not counted, it is asked
    for. What was put off before its day is not, nor a purchase that is due by another day now.
    """
    brood, week = room.broods[0].name, timedelta(days=7)

    def again(what: str, told_at: datetime) -> list[str]:
        amounts = {"fry": 30.0} if what == "count" else {"dry_g": 50.0}
        first, later = (
            told_task(what, at, brood, amounts, key=f"{what}/1", told_at=told)
            for at, told in ((_MORNING, _MORNING - week), (_MORNING + week, told_at))
        )
        day = _MORNING + timedelta(days=2)
        return _ids(_present(room, [later.after(first)], day).reminders())

    assert again("count", _MORNING + timedelta(days=1)) == ["count/1"]
    assert again("count", _MORNING - timedelta(days=1)) == []
    assert again("buy", _MORNING + timedelta(days=1)) == []


def test_what_a_calendar_alone_tells_to_be_counted_waits_for_what_was_asked_for_before(
    room: Room,
) -> None:
    """On Tuesday a look asked for one brood, and a calendar told another for Wednesday, since it
    takes Tuesday's count for done. It was not: on Wednesday the same one is asked for; once that
    is counted the other. Of two days of a calendar the first is asked for.
    """
    name, day = room.broods[0].name, timedelta(days=1)

    def count(key: str, at: datetime, by: str) -> ToldTask:
        told = told_task("count", at, name, {"fry": 30.0}, key=f"count/{key}", told_at=_MORNING)
        return evolve(told, by=by)

    asked = count("asked", _MORNING, "today")
    next_, later = (count(f"{n}", _MORNING + n * day, CALENDAR) for n in (1, 2))
    now = _MORNING + day
    assert _ids(_present(room, [asked, next_], now).reminders()) == ["count/asked"]
    assert [*_present(room, [asked, next_], now).room.unanswered] == ["count/asked"]
    assert "count/1" not in _ids(_present(room, [asked, next_], now).in_hand)
    assert _ids(_present(room, [next_, later], now + day).reminders()) == ["count/1"]


def _coming() -> tuple[ToldTask, Entry]:
    """Fifty grams of dry food, ordered on the 9th and told to come on the 10th."""
    ordered = Entry(_at(9, 8), "ordered", "dry", "2027-03-10", 50, "g")
    told = told_task("arrival", _at(10, 7), "dry food", {"dry_g": 50.0}, key="arrival/dry/2")
    return told, ordered


@pytest.mark.parametrize("event", ["bought", "used"])
def test_what_is_noted_of_a_stock_ends_the_purchase_that_was_told_and_is_in_hand(
    room: Room, event: str
) -> None:
    """What came is about the order, told for an hour before the purchase: neither stands."""
    told, ordered = _coming()
    buy = told_task("buy", _at(10, 9), "dry food", {"dry_g": 100.0}, key="buy/dry",
                    told_at=_at(10, 8))  # fmt: skip
    now = _at(10, 9, 30)
    assert "buy/dry" in _ids(_present(room, [told, buy], now, ordered).in_hand)
    noted = Entry(_at(10, 8, 50), event, "dry", "", 50, "g")
    assert "buy/dry" not in _ids(_present(room, [told, buy], now, ordered, noted).in_hand)


@pytest.mark.parametrize(("line", "stands"), [(3, False), (4, True), (None, True)])
def test_what_is_noted_later_for_before_the_look_ends_the_purchase_too(
    room: Room, line: int | None, stands: bool
) -> None:
    """It came at half past seven and is noted, on line 4, after or before the look of eight; where
    that is not recorded its time says that it was before.
    """
    told, ordered = _coming()
    buy = told_task("buy", _at(10, 9), "dry food", {"dry_g": 100.0}, key="buy/dry",
                    told_at=_at(10, 8))  # fmt: skip
    other = Entry(_at(10, 6), "note", "room", note="all well")
    came = Entry(_at(10, 7, 30), "bought", "dry", "", 50, "g")
    found = _present(room, [told, evolve(buy, line=line)], _at(10, 9, 30), ordered, other, came)
    assert [e.line for e in found.entries if e.event == "bought"] == [4]
    assert ("buy/dry" in _ids(found.in_hand)) is stands
    assert ("buy/dry" in _ids(found.reminders())) is stands


@pytest.mark.parametrize(("came_g", "open_g"), [((), 50.0), ((20.0,), 30.0), ((20.0, 20.0), 10.0),
                                                ((20.0, 20.0, 10.0), None)])  # fmt: skip
def test_what_is_to_arrive_is_what_is_still_on_order(
    room: Room, came_g: tuple[float, ...], open_g: float | None
) -> None:
    """Each parcel takes its grams off the order, until nothing of it is open."""
    told, ordered = _coming()
    noted = [Entry(_at(10, 6, 10 + i), "bought", "dry", "", g, "g") for i, g in enumerate(came_g)]
    asked = [t.task for t in _present(room, [told], _at(10, 8), ordered, *noted).reminders()]
    assert [t.amounts for t in asked] == ([] if open_g is None else [{"dry_g": open_g}])
    assert all(f"journal bought dry {open_g:g} g" in t.why for t in asked)


def test_what_is_to_arrive_and_is_in_hand_is_what_is_still_on_order(room: Room) -> None:
    """An earlier order of the same stock, overdue, is what the first grams were noted for."""
    late = told_task("arrival", _at(9, 20), "dry food", {"dry_g": 50.0}, key="arrival/dry/1")
    told, ordered = _coming()
    came = Entry(_at(10, 6, 10), "bought", "dry", "", 20, "g")
    (found,) = _present(room, [late, told], _at(10, 8), ordered, came).in_hand
    assert (found.task.id, found.task.amounts) == ("arrival/dry/2", {"dry_g": 30.0})


_OTHER_TANK = """
[[tank]]
name = "A2"
litres = 60
temperature_c = 26
"""


@pytest.mark.parametrize("what", ["count", "sort", "lid", "move_on"])
def test_what_is_asked_for_of_a_brood_names_the_tank_in_which_it_is(what: str) -> None:
    """It was told for A1, and the brood was moved since, by an entry that is not about it."""
    room = read_room(_ROOM + _OTHER_TANK, today=date(2027, 3, 9))
    told = told_task(what, _at(10, 18), "a brood", other="A1", key=f"{what}/a")
    if what in ("sort", "move_on"):
        told = evolve(told, opens=_at(10, 17))
    moved = Entry(_at(10, 9), "move", "a brood", "A2")
    found = _present(room, [told], _at(10, 18, 5), moved)
    for asked in (found.reminders(), found.asked_of_broods(), found.in_hand):
        assert [t.task.other for t in asked] == ["A2"]


def test_only_what_stands_can_be_done(room: Room) -> None:
    for told in (_worms(_EVENING, "MW-9"), _split(_EVENING, "MW-9", "MW-10"),
                 told_task("retire", _EVENING, "MW-9"), _draw(_at(10, 18), _EVENING)):  # fmt: skip
        assert _present(room, [told], _at(10, 17, 50)).due() == []
    set_ = Entry(_at(9, 18), "set", "bottle 1", "", 2.0, "g")
    found = _present(room, [_draw(_at(10, 18), _EVENING), _worms(_EVENING)], _at(10, 17, 50), set_)
    assert _ids(found.due()) == ["harvest_hatch/10/1", "harvest_worms/MW-1/1018"]


@pytest.mark.parametrize(("before", "begun"), [(timedelta(hours=3), True),
                                               (timedelta(hours=3) + _SECOND, False)])  # fmt: skip
def test_no_round_is_begun_more_than_three_hours_before_its_time(
    room: Room, before: timedelta, begun: bool
) -> None:
    """By a note of worms taken for it."""
    now = _EVENING - before
    noted = Entry(now, "harvest", "MW-1", "", 6, "swipes")
    found = _present(room, [_worms(_EVENING), _feed(_EVENING)], now, noted)
    assert bool(found.in_hand) is begun
    assert (found.room.fed_until == _EVENING) is begun


@pytest.mark.parametrize(("before", "kept"), [(EARLY, True), (EARLY + _SECOND, False)])
def test_a_hatch_drawn_off_long_before_it_was_told_was_for_another_round(
    room: Room, before: timedelta, kept: bool
) -> None:
    told = [_draw(_at(10, 7), _MORNING), _feed(_MORNING)]
    entries = (Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g"),
               Entry(_at(10, 7) - before, "harvest", "bottle 1"))  # fmt: skip
    found = _present(room, told, _MORNING, *entries)
    assert _ids(found.in_hand) == (["harvest_hatch/10/1"] if kept else []) + ["feed/1007"]


@pytest.mark.parametrize(
    ("off", "at"),
    [
        (-_MINUTE, -_MINUTE), (timedelta(0), timedelta(0)), (_MINUTE, timedelta(0)),
        (timedelta(minutes=30) + LATE - _SECOND, timedelta(0)),
        (timedelta(minutes=30) + LATE, timedelta(minutes=30) + LATE),
    ],
)  # fmt: skip
def test_a_hatch_noted_while_its_round_was_in_hand_was_drawn_off_in_time(
    off: timedelta, at: timedelta
) -> None:
    """Told for 07:00, half an hour before the round; counted in peace after feeding."""
    told = _draw(_at(10, 7), _MORNING)
    entry = Entry(_at(10, 7) + off, "hatched", "bottle 1", "", 1e5, "nauplii", line=2)
    known = fates(record_of([told]), [entry], _NIGHT)
    (step,) = steps_of([entry], known, (), _NIGHT)
    assert step.entry.when == _at(10, 7) + at


@pytest.mark.parametrize(
    ("helper", "what", "done"),
    [(False, "feed", False), (True, "feed", True), (True, "set", False), (False, "set", False)],
)
def test_nobody_did_what_was_told_for_a_day_away_but_a_helper_who_feeds(
    room: Room, helper: bool, what: str, done: bool
) -> None:
    told = _feed(_MORNING) if what == "feed" else _set(_at(10, 8))
    for day in (9, 10, 11):
        gone = evolve(room, away=(Away(date(2027, 3, day), date(2027, 3, day), helper),))
        found = _present(gone, [told], _NIGHT)
        assert bool(found.presumed) is (done or day != 10), day
        ahead = _present(gone, [told], _at(10, 8, 5))
        assert bool(ahead.in_hand) is (done or day != 10), day


def _feeding(told_at: datetime, brood: str = "a brood") -> ToldTask:
    line = FeedLine(_MORNING, "A1", brood, "microworm", 9.0, 9.0, 10.0, "mL")
    return evolve(_feed(_MORNING), lines=(line,), told_at=told_at)


@pytest.mark.parametrize(
    ("event", "other", "when", "kept"),
    [
        ("move", "A2", _at(10, 6), False), ("move", "A2", _at(9, 11), True),
        ("lost", "all", _at(10, 6), False), ("lost", "", _at(10, 6), True),
        ("count", "", _at(10, 6), True),
    ],
)  # fmt: skip
def test_a_round_told_before_a_brood_moved_or_went_is_planned_anew(
    room: Room, event: str, other: str, when: datetime, kept: bool
) -> None:
    """Begun by a note of its worms, told at 05:00 or before what happened."""
    two = evolve(room, tanks=(*room.tanks, evolve(room.tanks[0], name="A2")))
    told = [_worms(_MORNING), _feeding(_at(10, 5))]
    happened = Entry(when, event, "a brood", other, None if other else 5.0, "" if other else "fry")
    begun = Entry(_at(10, 7, 10), "harvest", "MW-1", "", 6, "swipes")
    found = _present(two, told, _at(10, 7, 20), happened, begun)
    assert ("feed/1007" in _ids(found.in_hand)) is kept
    dead = Entry(_at(10, 7, 15), "died", "a brood", "", 1, "fry")  # which moves it nowhere
    later = _present(two, told, _at(10, 7, 20), happened, begun, dead)
    assert ("feed/1007" in _ids(later.in_hand)) is kept
    over = _present(two, told, _MORNING, happened, begun)  # its time has come
    assert "feed/1007" in _ids(over.in_hand)


def test_splits_for_a_spawning_are_told_while_it_is_hoped_for_or_there(room: Room) -> None:
    split = _split(_at(12, 8), "MW-1", "MW-3")
    split = evolve(split, task=evolve(split.task, spawns=(("new", "A1"),)))
    planned = evolve(room.broods[0], name="new", anchor="planned", anchor_date=date(2027, 3, 20))
    for changed, told in (
        (evolve(room, hoped=(planned,)), (Told("microworm", _at(12, 8), hoped=True),)),
        (evolve(room, broods=(*room.broods, evolve(planned, anchor="spawned"))),
         (Told("microworm", _at(12, 8)),)),
        (room, ()),
    ):  # fmt: skip
        assert _present(changed, [split], _at(10)).room.told == told
    assert _present(evolve(room, hoped=(planned,)), [split], _at(12, 8)).room.told == ()


def test_a_hatch_has_the_time_at_which_it_was_told_to_be_drawn_off(room: Room) -> None:
    set_ = Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g")
    told = _draw(_at(10, 7), _MORNING)
    (hatch,) = _present(room, [told], _at(10, 6), set_).room.hatches
    assert hatch.harvest_at == _at(10, 7)
    other = _draw(_at(10, 7), _MORNING, "bottle 2")
    (hatch,) = _present(room, [other], _at(10, 6), set_).room.hatches
    assert hatch.harvest_at is None


def test_worms_of_another_culture_did_come(room: Room) -> None:
    """Those told of MW-1 were skipped; some of MW-2 were taken within the time of the round."""
    more = evolve(room, cultures=(*room.cultures, evolve(room.cultures[0], name="MW-2")))
    told = [_worms(_MORNING), _feed(_MORNING)]
    skip = Entry(_at(10, 7, 35), "skip", "MW-1", "harvest_worms/MW-1/1007")
    lost = _present(more, told, _at(10, 8), skip)
    assert lost.room.lost_foods == {_MORNING: ("microworm",)}
    for when, came in ((_at(10, 7, 40), True), (_at(10, 0, 30), False)):
        taken = Entry(when, "harvest", "MW-2", "", 6, "swipes")
        found = _present(more, told, _at(10, 8), skip, taken)
        assert (found.room.lost_foods == {}) is came, when


@pytest.mark.parametrize(("noted", "lost"), [(False, True), (True, False)])
def test_of_a_jar_that_turned_out_bad_in_its_round_nothing_more_is_fed(
    room: Room, noted: bool, lost: bool
) -> None:
    """Unless the round was noted as fed before that."""
    feed = evolve(_feed(_MORNING, nauplii=5e4), draws=(Draw("bottle 1", _at(10, 7), None, 50.0),))
    entries = [
        Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g"), Entry(_at(10, 7), "harvest", "bottle 1"),
        *([as_entry(feed)] if noted else []), Entry(_MORNING + _MINUTE, "failed", "bottle 1"),
    ]  # fmt: skip
    found = _present(room, [feed], _MORNING + 2 * _MINUTE, *entries).room.lost_foods
    assert found == ({_MORNING: (BRINE_SHRIMP,)} if lost else {})


def test_rounds_fed_without_being_told_need_no_plan_for_two_hours(room: Room) -> None:
    """By a note that it was fed, or of worms taken after its time."""
    fed = Entry(_at(10, 8), "fed", "07:30 round")
    worms = Entry(_at(10, 8), "harvest", "MW-1", "", 6, "swipes")
    for entry, until in ((fed, _at(10, 8)), (worms, _at(10, 7, 30))):
        for now, known in ((_at(10, 8), True), (_at(10, 10) - _SECOND, True), (_at(10, 10), False)):
            found = _present(room, [], now, entry).room.fed_until
            assert found == (until if known else None)
    early = Entry(_at(10, 7, 29), "harvest", "MW-1", "", 6, "swipes")
    assert _present(room, [], _at(10, 7, 40), early).room.fed_until is None


def test_without_a_record_nothing_but_notes_counts_and_that_is_said(room: Room) -> None:
    note = Entry(_at(10, 7), "note", "room", note="all well")
    found = _present(room, [], _at(10, 8), note)
    assert any("There is no record of what was told before" in n for n in found.room.notes)
    told = _present(room, [_feed(_MORNING)], _at(10, 8), note)
    assert not any("There is no record" in n for n in told.room.notes)
    new = _present(room, [], _at(9, 8))
    assert new.room.notes == ()


def test_what_is_damaged_or_torn_in_the_files_is_said(tmp_path: Path, room: Room) -> None:
    path = tmp_path / "room.toml"
    append(tmp_path / "journal.csv", [Entry(_at(10, 7), "note", "room", note="all well")])
    append_telling(record_path(path), _at(10, 6), "today", [_feed(_MORNING)])
    found = present_of(room, path, _at(10, 8))
    assert (found.room.notes, len(found.entries)) == ((), 1)
    for lines, said in ((1, "1 line of told.jsonl cannot be read and is left out"),
                        (2, "2 lines of told.jsonl cannot be read and are left out")):  # fmt: skip
        record = record_path(path)
        record.write_bytes(record.read_bytes() + b"{}\n")
        notes = " ".join(present_of(room, path, _at(10, 8)).room.notes)
        assert said in notes, lines
    torn = tmp_path / "journal.csv"
    torn.write_bytes(torn.read_bytes() + b"2027-03-10T0")
    first = present_of(room, path, _at(10, 8)).torn
    assert "ends in a torn line" in first
    assert "'2027-03-10T0'" in first


def test_pending_work_is_done_for_a_plan_and_not_for_who_asks_what_is_over(room: Room) -> None:
    record = record_of([_set(_at(10, 8))])
    for pending, hatches in ((True, 1), (False, 0)):
        found = present(room, [], record, _at(10, 8, 5), pending=pending)
        assert len(found.room.hatches) == hatches
        assert _ids(found.in_hand) == ["set_hatch/10/1"]


def test_what_nobody_was_there_to_do_is_no_doubt_of_what_is_noted(
    tmp_path: Path, room: Room
) -> None:
    """A bottle that was told to be set on a day away stands empty, and can be set."""
    path, again = tmp_path / "room.toml", Entry(_at(11, 9), "set", "bottle 1", "", 2.0, "g")
    append_telling(record_path(path), _at(9, 8), "today", [_set(_at(10, 18))])
    with pytest.raises(DoubtError, match="bottle 1 holds a hatch"):
        Book.open(room, path, _at(11, 9)).note([again])
    gone = evolve(room, away=(Away(date(2027, 3, 10), date(2027, 3, 10)),))
    assert Book.open(gone, path, _at(11, 9)).note([again]).count == 1


def test_an_entry_of_what_changes_nothing_is_none() -> None:
    with pytest.raises(ValueError, match="changes nothing"):
        as_entry(told_task("buy", _MORNING, "salt"))
    assert as_entry(_feed(_MORNING, dry_g=1.5))[1:6] == ("fed", "07:30 round", "", 1.5, "g")
    assert as_entry(_feed(_MORNING))[1:6] == ("fed", "07:30 round", "", None, "")
    moved = as_entry(_set(_at(10, 8)), _at(10, 9))
    assert (moved.when, moved.amount, moved.unit) == (_at(10, 9), 2.0, "g")


@pytest.mark.parametrize(
    ("undone", "noted", "in_hand", "presumed"),
    [
        (None, False, True, True),
        (_at(10, 8), False, False, False),  # its time has come
        (_at(10, 9, 59), False, False, False),
        (_at(10, 10), False, True, True),  # it is over, and was taken as done
        (_at(10, 9), True, False, False),  # it was set, which stands in the journal
    ],
)
def test_what_was_told_on_a_count_that_is_taken_back_while_it_is_in_hand_is_not_to_be_done(
    tmp_path: Path, room: Room, undone: datetime | None, noted: bool, in_hand: bool, presumed: bool
) -> None:
    """A count on line 2 is a tenth of what was counted: a look told a hatch at once, at eight. It
    is in hand for two hours.
    """
    path = tmp_path / "told.jsonl"
    entries = [Entry(_at(10, 7), "count", "jar", "", 56.0, "", "", 2)]
    if noted:
        entries.append(Entry(_at(10, 8, 30), "set", "bottle 1", "", 2.0, "g", "", 3))
    if undone is not None:
        entries.append(Entry(undone, "undo", "2", line=4))
    append_telling(path, _at(10, 8), "today", [_set(_at(10, 8))], noted=2)

    def found(now: datetime) -> Present:
        known = Journal(path, tuple(e for e in entries if e.when <= now))
        standing = [e for e in known.effective() if e.event != "count"]
        return present(room, standing, read_record(path, _ZONE, now, known), now)

    assert bool(found(_at(10, 9, 59)).in_hand) is in_hand
    assert bool(found(_NIGHT).presumed) is presumed
    assert (found(_NIGHT).record.tasks.keys() == {"set_hatch/10/1"}) is (presumed or noted)
    # Its id is given to no other work: a record holds what has begun as it was told.
    assert "set_hatch/10/1" in found(_NIGHT).room.settled


def test_what_was_told_sooner_on_such_a_count_is_to_be_done_as_it_was_told_before(
    tmp_path: Path, room: Room
) -> None:
    path, evening = tmp_path / "told.jsonl", _at(10, 19)
    entries = (Entry(_at(10, 7), "count", "jar", "", 56.0, "", "", 2),
               Entry(_at(10, 9), "undo", "2", line=3))  # fmt: skip
    append_telling(path, _at(9, 8), "today", [_set(evening)], noted=1)
    append_telling(path, _at(10, 8), "today", [_set(_at(10, 8))], noted=2)
    for hour, at in ((8, _at(10, 8)), (9, evening), (20, evening)):
        now = _at(10, hour, 30)
        known = Journal(path, tuple(e for e in entries if e.when <= now))
        record = present(room, (), read_record(path, _ZONE, now, known), now).record
        assert [t.task.at for t in record.tasks.values()] == [at]
