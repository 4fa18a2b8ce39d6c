"""What was told and what is, at the very moments at which a rule changes its answer."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cultures.foods.vessels import Vessel
from cultures.journal.entries import Entry, Journal
from cultures.record.carried_out import as_entry, steps_of
from cultures.record.fates import Fate, fates
from cultures.record.history import (
    history_path,
    keep_and_replace,
    read_history,
    remember,
    version,
)
from cultures.record.present import present
from cultures.record.store import append_telling, read_record
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import Buy
from cultures.tasks.told import ToldTask
from tests.unit.recorded import lines, record_of, told_task
from tests.unit.test_record import (
    _MORNING,
    _NIGHT,
    _SECOND,
    _ZONE,
    _at,
    _draw,
    _fate,
    _feed,
    _set,
    _split,
    _worms,
)

_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(
        """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 24
as_of = 2027-03-08
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
""",
        today=date(2027, 3, 8),
    )


@pytest.mark.parametrize(
    ("off", "answered"),
    [
        (-3 * _DAY, True),
        (-3 * _DAY - _SECOND, False),
        (7 * _DAY - _SECOND, True),
        (7 * _DAY, False),
    ],
)
def test_a_reminder_is_answered_three_days_before_and_a_week_after(
    off: timedelta, answered: bool
) -> None:
    """docs/journal.md; longest of all, since nobody buys or moves to the hour."""
    at = _at(10, 9)
    for told, event, subject in (
        (told_task("buy", at, "salt", key="buy/salt"), "bought", "salt"),
        (told_task("sell", at, "one"), "sold", "one"),
        (told_task("move_on", at, "one"), "move", "one"),
        (told_task("count", at, "one"), "count", "one"),
    ):
        entry = Entry(at + off, event, subject, "", 5, line=2)
        known = fates(record_of([told]), [entry], _at(28))
        assert (_fate(known, told) is Fate.DONE) == answered, event


@pytest.mark.parametrize(("line", "amended"), [(2, {2}), (4, set()), (0, set())])
def test_a_tick_is_amended_by_what_was_noted_after_it_for_an_earlier_time(
    line: int, amended: set[int]
) -> None:
    """Line 3 says less, for twenty minutes before; the tick stands where it was noted later."""
    told = _worms(_MORNING)
    less = Entry(_at(10, 7, 10), "harvest", "MW-1", "", 2, "swipes", line=3)
    tick = Entry(_MORNING, "harvest", "MW-1", "", 120.0, "mg", line=line)
    known = fates(record_of([told]), [less, tick], _NIGHT)
    assert known.answer[told.task.id] == less
    assert known.amended == amended


@pytest.mark.parametrize(("line", "amended"), [(2, set()), (4, {3}), (0, {3})])
def test_another_amount_amends_a_tick_where_it_is_noted_after_it(
    line: int, amended: set[int]
) -> None:
    told = _worms(_MORNING)
    tick = Entry(_MORNING, "harvest", "MW-1", "", 120.0, "mg", line=3)
    less = Entry(_at(10, 7, 50), "harvest", "MW-1", "", 2, "swipes", line=line)
    known = fates(record_of([told]), [tick, less], _NIGHT)
    assert known.amended == amended
    assert known.answer[told.task.id] == (less if amended else tick)


def test_at_one_moment_what_is_taken_comes_first_then_what_is_noted_then_what_is_made() -> None:
    """And a hatch is set, a culture begun, in the order of a keeper's round."""
    at = _at(10, 8)
    split, setting, worms, feed = _split(at, "MW-1", "MW-3"), _set(at), _worms(at), _feed(at)
    drawn = _draw(at, at)
    noted = Entry(at, "harvest", "MW-2", "", 5, "mg", line=2)
    earlier = Entry(at - _SECOND, "harvest", "MW-4", "", 5, "mg", line=3)
    known = fates(record_of([]), [earlier, noted], _NIGHT)
    told = [split, setting, feed, worms, drawn]
    steps = [s.entry for s in steps_of([earlier, noted], known, told, _NIGHT)]
    places = [steps.index(as_entry(t)) for t in (drawn, worms, feed)]
    assert sorted(places) == [1, 2, 3]
    assert steps[0] == earlier
    assert steps[4] == noted
    assert {steps[5], steps[6]} == {as_entry(split), as_entry(setting)}


@pytest.mark.parametrize(("after", "settled"), [(-_SECOND, False), (timedelta(0), True)])
def test_a_reminder_is_settled_once_it_is_over(room: Room, after: timedelta, settled: bool) -> None:
    """Two hours after its time; one that is told until it is done never is."""
    told = told_task("switch_food", _at(10, 9), "one", key="switch_food/one")
    wet = told_task("buy", _at(10, 9), "salt", key="buy/salt")
    now = _at(10, 11) + after
    assert told.over_at == _at(10, 11)
    found = present(room, (), record_of([told, wet]), now).room.settled
    assert found == ({"switch_food/one"} if settled else frozenset())


@pytest.mark.parametrize(
    ("now", "asked"),
    [(_at(9, 8, 59), True), (_at(9, 9), True), (_at(23, 8, 59), True), (_at(23, 9), False)],
)
def test_of_a_move_is_asked_from_its_telling_on_until_two_weeks_after_its_time(
    room: Room, now: datetime, asked: bool
) -> None:
    told = told_task("move_on", _at(9, 9), "one", key="move_on/one")
    assert bool(present(room, (), record_of([told]), now).room.unanswered) is asked
    noted = lines(Entry(_at(9, 9), "move", "one", "A2", 5, "fry"))
    later = max(now, _at(9, 9))
    assert not present(room, noted, record_of([told]), later).room.unanswered


def test_what_a_person_put_to_a_later_time_is_told_for_that_time(tmp_path: Path) -> None:
    """Also once its own time has come; never to an earlier one, and nothing of an unknown task."""
    at, path, to = _at(10, 8), tmp_path / "told.jsonl", _at(11, 8)
    append_telling(path, _at(9, 9), "today", [_split(at, "MW-1", "MW-3")])
    append_telling(path, _at(10, 9), "calendar", put_off={"split/MW-3": to, "split/MW-9": to})
    append_telling(path, _at(10, 9), "calendar", put_off={"split/MW-3": _at(9, 8)})
    before = read_record(path, _ZONE, _at(10, 8, 30))
    assert (before.tasks["split/MW-3"].task.at, dict(before.put_to)) == (at, {})
    record = read_record(path, _ZONE, _at(10, 9))
    (told,) = record.tasks.values()
    assert (told.task.at, told.over_at) == (to, to + timedelta(hours=2))
    assert dict(record.put_to) == {"split/MW-3": to}
    # What is noted of it in the time between is about it all the same.
    assert told.opens <= _at(10, 20) < told.closes
    for now, fate in ((_at(10, 23), Fate.OPEN), (to + timedelta(hours=3), Fate.PRESUMED)):
        assert fates(read_record(path, _ZONE, now), (), now).of["split/MW-3"] is fate


def test_since_when_a_purchase_is_due_is_kept_and_told_other_programs(tmp_path: Path) -> None:
    at, path = _at(9, 9), tmp_path / "told.jsonl"
    told = told_task("buy", at, "salt", key="buy/salt")
    assert isinstance(told.task, Buy)
    assert "due" not in told.task.to_json()
    late = evolve(told, task=evolve(told.task, due=date(2027, 1, 4)))
    append_telling(path, at, "today", [late])
    (read,) = read_record(path, at.tzinfo or UTC, at).tasks.values()
    assert read.task == late.task
    assert read.task.to_json()["due"] == "2027-01-04"


@pytest.mark.parametrize(
    ("entry", "stands"),
    [
        (Entry(_at(8, 10), "bought", "salt", "", 5, "g"), False),
        (Entry(_at(8, 10), "count", "salt", "", 5, "g"), False),
        (Entry(_at(8, 8), "count", "salt", "", 5, "g"), True),
        (Entry(_at(8, 10), "bought", "dry", "", 5, "g"), True),
    ],
)
def test_what_was_told_to_be_bought_stands_until_something_is_noted_of_that_stock(
    room: Room, entry: Entry, stands: bool
) -> None:
    told = told_task("buy", _at(19, 9), "salt", key="buy/salt", told_at=_at(8, 9))
    found = present(room, lines(entry), record_of([told]), _at(9, 9)).room.to_buy
    assert list(found) == (["salt"] if stands else [])


@pytest.mark.parametrize(
    ("now", "since"),
    [
        (_at(6, 9), date(2027, 3, 4)),  # told then, and told for another day on the 5th
        (_at(7, 23), date(2027, 3, 4)),
        (_at(8, 1), date(2027, 3, 7)),  # the day is over, and nothing was bought
    ],
)
def test_what_is_to_be_bought_is_known_since_it_was_told_first(
    tmp_path: Path, room: Room, now: datetime, since: date
) -> None:
    path = tmp_path / "told.jsonl"
    for told_on, by in ((4, 8), (5, 7)):
        told = told_task("buy", _at(by, 9), "salt", key="buy/salt", told_at=_at(told_on, 9))
        append_telling(path, _at(told_on, 9), "today", [told])
    record = read_record(path, UTC, now)
    assert present(room, (), record, now).room.to_buy_since == {"salt": since}
    noted = lines(Entry(_at(5, 8), "count", "salt", "", 5, "g"))
    anew = max(since, date(2027, 3, 5))
    assert present(room, noted, record, now).room.to_buy_since == {"salt": anew}


@pytest.mark.parametrize(("hours", "said"), [(35.9, False), (36.0, True), (48, True)])
def test_a_day_and_a_half_without_a_word_is_said(room: Room, hours: float, said: bool) -> None:
    noted = lines(Entry(_at(9, 9), "note", "room", note="all well"))
    told = record_of([told_task("buy", _at(8, 9), "salt", key="buy/salt")])
    found = present(room, noted, told, _at(9, 9) + timedelta(hours=hours))
    assert any("Nothing was told or noted since" in note for note in found.room.notes) is said


def _tell(path: Path, at: datetime, *told: ToldTask, **more: tuple[date, date]) -> None:
    append_telling(path, at, "sheet", told, **more)  # type: ignore[arg-type]


def test_a_record_holds_up_to_its_moment_and_not_a_second_more(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    told = _set(_at(11, 8))
    _tell(path, _at(10, 8), told)
    assert read_record(path, _ZONE, _at(10, 8) - _SECOND).tasks == {}
    assert [*read_record(path, _ZONE, _at(10, 8)).tasks] == [told.task.id]


def test_a_setting_told_by_an_answer_holds_and_the_one_of_a_look_is_what_grams_cling_to(
    room: Room, tmp_path: Path
) -> None:
    """What an answer said in between is no fact: noted in another order it said something else."""
    path, bottle = tmp_path / "told.jsonl", Vessel("hatch 1", 1.0, 27.0, 25.0)
    room = evolve(room, vessels=(bottle,))

    def tell(hour: int, by: str, grams: float) -> tuple[float, float]:
        told = told_task("set_hatch", _at(11, 8), "hatch 1", {"cysts_g": grams}, key="set_hatch/x",
                         told_at=_at(10, hour), harvest_at=_at(12, 8))  # fmt: skip
        append_telling(path, _at(10, hour), by, [told])
        record = read_record(path, _ZONE, _at(10, hour))
        holds = record.tasks["set_hatch/x"].task.amounts["cysts_g"]
        (clings,) = present(room, [], record, _at(10, hour)).room.told
        return holds, clings.grams

    assert tell(7, "today", 3.0) == (3.0, 3.0)
    assert tell(8, "journal", 5.0) == (5.0, 3.0)
    assert tell(9, "journal", 4.0) == (4.0, 3.0)
    assert tell(10, "today", 4.0) == (4.0, 4.0)


@pytest.mark.parametrize(("at", "holds"), [(_at(11, 7, 59), 3.0), (_at(11, 8), 2.0)])
def test_what_is_told_at_its_own_time_is_told_too_late(
    tmp_path: Path, at: datetime, holds: float
) -> None:
    path = tmp_path / "told.jsonl"
    _tell(path, _at(10, 8), _set(_at(11, 8)))
    _tell(path, at, _set(_at(11, 8), grams=3.0))
    (told,) = read_record(path, _ZONE, _at(12)).tasks.values()
    assert told.task.amounts["cysts_g"] == holds
    append_telling(path, at, "today", (), [told.task.id])
    gone = read_record(path, _ZONE, _at(12))
    assert (told.task.id in gone.withdrawn) is (holds == 3.0)


def test_a_sheet_for_as_long_or_longer_takes_the_place_of_one_before(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    for hour, last in ((8, 16), (9, 15), (10, 16)):
        _tell(path, _at(10, hour), printed=(date(2027, 3, 10), date(2027, 3, last)))
        held = [(p.at.hour, p.last.day) for p in read_record(path, _ZONE, _at(12)).printed]
        assert held == {8: [(8, 16)], 9: [(8, 16), (9, 15)], 10: [(10, 16)]}[hour]
    raw = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    assert raw[0]["printed"] == ["2027-03-10", "2027-03-16"]


def test_a_torn_end_is_kept_beside_and_a_whole_one_is_no_part_of_the_next_line(
    tmp_path: Path,
) -> None:
    path = tmp_path / "told.jsonl"
    _tell(path, _at(10, 8), _set(_at(11, 8)))
    path.write_bytes(path.read_bytes() + b'{"at": "2027')
    _tell(path, _at(10, 9), _worms(_at(11, 7, 30)))
    found = read_record(path, _ZONE, _at(12))
    assert (len(found.tasks), found.damaged) == (2, 0)
    assert path.with_name("told.jsonl.torn").read_bytes() == b'{"at": "2027\n'


def test_a_room_file_is_kept_once_for_each_text_it_had(tmp_path: Path) -> None:
    room, now = tmp_path / "room.toml", _at(10, 8)
    assert keep_and_replace(room, "one", now) == 0  # there was none
    for _ in range(2):
        remember(room, now)
    room.write_text("two", "utf-8")
    # A line torn by a power cut is set aside, and the next one is whole.
    kept = history_path(room)
    kept.write_bytes(kept.read_bytes() + b'{"at": ')
    remember(room, now)
    assert [v.text for v in read_history(room)] == ["one", "two"]
    assert [version(room, number).text for number in (1, 2)] == ["one", "two"]
    for wrong in (0, 3):
        with pytest.raises(LookupError):
            version(room, wrong)
    assert keep_and_replace(room, "three", now) == 2
    assert room.read_text("utf-8") == "three"


def test_a_feeding_is_not_answered_by_what_is_a_day_away() -> None:
    """The first round has no neighbour before it: it is answered half a day before at most."""
    told = told_task("feed", _MORNING, "07:30", {"tanks": 1.0}, key="feed/a", rounds=[_MORNING])
    half = timedelta(hours=12)
    assert (told.opens, told.closes) == (_MORNING - half, _MORNING + half)
    apart = evolve(told, round_at=None)
    assert apart.over_at == _MORNING + timedelta(hours=2)


def test_the_last_round_that_is_over_needs_no_plan_and_those_before_it_do_not(room: Room) -> None:
    morning, evening, ahead = _feed(_at(9, 7, 30)), _feed(_at(9, 18, 30)), _feed(_at(10, 7, 30))
    told = record_of([morning, evening, ahead])
    for now, until in ((_at(9, 12), _at(9, 7, 30)), (_at(9, 20, 30), _at(9, 18, 30)),
                       (_at(9, 18, 29), _at(9, 7, 30))):  # fmt: skip
        assert present(room, (), told, now).room.fed_until == until


def test_plans_start_from_what_was_told_before_an_entry_that_was_taken_back(tmp_path: Path) -> None:
    """A delivery is noted on line 2, a count on line 3, and at nine the delivery is taken back.

    Who was told 3 g at eight was told so, but plans start from 2.9 g again. Once the taking back is
    taken back itself the delivery stands again, and what was told on it.
    """
    path = tmp_path / "told.jsonl"
    noted = [
        Entry(_at(10, 8), "bought", "cysts", "", 100.0, "g", "", 2),
        Entry(_at(10, 8), "count", "fry", "", 90.0, "", "", 3),
        Entry(_at(10, 9), "undo", "2", line=4), Entry(_at(10, 12), "undo", "4", line=5),
    ]  # fmt: skip

    def tell(hour: int, grams: float, line: int) -> None:
        append_telling(path, _at(10, hour), "today", [_set(_at(11, 8), grams=grams)], noted=line)

    def holds(hour: int) -> tuple[float, float]:
        known = Journal(path, tuple(e for e in noted if e.when <= _at(10, hour)))
        record = read_record(path, _ZONE, _at(10, hour), known)
        assert record.line == known.last_line
        (told,) = record.tasks.values()
        clings = told.looked or told
        return told.task.amounts["cysts_g"], clings.task.amounts["cysts_g"]

    tell(7, 2.9, 1)
    tell(8, 3.0, 3)
    assert holds(8) == (3.0, 3.0)
    assert holds(9) == (3.0, 2.9)
    tell(10, 2.8, 4)  # from then on it is told on what stands
    assert holds(11) == (2.8, 2.8)
    assert holds(12) == (2.8, 3.0)


def test_what_was_told_no_longer_on_an_entry_that_was_taken_back_is_told_again(
    tmp_path: Path,
) -> None:
    """A setting for the 11th at eight is withdrawn on line 2 of the 10th, which is taken back at
    nine; of one for the 10th at half past eight nobody knew any more that it was to be set. Once
    the taking back is taken back itself it is withdrawn; what was on another line stays so.
    """
    path = tmp_path / "told.jsonl"
    near, far, other = (
        evolve(told, task=evolve(told.task, id=f"set_hatch/{told.task.at:%d}"))
        for told in map(_set, (_at(10, 8, 30), _at(11, 8), _at(12, 8)))
    )
    ids = near.task.id, far.task.id, other.task.id
    noted = [
        Entry(_at(10, 7), "failed", "bottle", line=2),
        Entry(_at(10, 9), "undo", "2", line=3), Entry(_at(10, 12), "undo", "3", line=4),
    ]  # fmt: skip

    def holds(hour: int) -> tuple[set[str], set[str]]:
        known = Journal(path, tuple(e for e in noted if e.when <= _at(10, hour)))
        record = read_record(path, _ZONE, _at(10, hour), known)
        return set(record.tasks), set(record.withdrawn)

    append_telling(path, _at(10, 6), "today", [near, far, other], noted=1)
    append_telling(path, _at(10, 6, 30), "today", withdrawn=[ids[2]], noted=1)
    append_telling(path, _at(10, 8), "journal", withdrawn=ids[:2], noted=2)
    assert holds(8) == (set(), {*ids})
    assert holds(9) == ({ids[1]}, {ids[0], ids[2]})
    assert holds(12) == (set(), {*ids})


def test_a_look_is_known_from_what_a_calendar_told_later(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    append_telling(path, _at(10, 7), "today", asked=["a"])
    append_telling(path, _at(10, 8), "calendar", asked=["b"])
    record = read_record(path, _ZONE, _at(10, 9))
    assert (record.looked, record.last) == (_at(10, 7), _at(10, 8))
    assert read_record(path, _ZONE, _at(10, 6)).looked is None
