"""What became of each told task: cases by hand, with times and lines one can follow."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.journal.entries import Entry, append, read_journal, undo_of
from cultures.record.carried_out import as_entry, steps_of
from cultures.record.fates import Fate, Fates, fates
from cultures.record.present import Present, present
from cultures.record.store import Record, append_telling, read_record, record_path
from cultures.room.file import read_room
from cultures.room.room import Room, RunningHatch, Told
from cultures.tasks.task import Feed
from cultures.tasks.told import LATE, Draw, FeedLine, ToldTask
from tests.unit.recorded import lines, record_of, told_task

_ZONE = ZoneInfo("Europe/Lisbon")
_SECOND = timedelta(seconds=1)


def _at(day: int, hour: int = 0, minute: int = 0) -> datetime:
    return datetime(2027, 3, day, hour, minute, tzinfo=_ZONE)


#: Two rounds a day, of which those in the middle have neighbours on both sides.
_ROUNDS = [_at(day, *clock) for day in range(8, 13) for clock in ((7, 30), (18, 30))]
_MORNING, _EVENING = _at(10, 7, 30), _at(10, 18, 30)
_NIGHT = _at(10, 23)


def _worms(at: datetime, culture: str = "MW-1", mg: float = 120.0) -> ToldTask:
    key = f"harvest_worms/{culture}/{at:%d%H}"
    amounts = {"mg": mg, "portions": 6.0}
    return told_task("harvest_worms", at, culture, amounts, key=key, rounds=_ROUNDS,
                     kind="microworm")  # fmt: skip


def _feed(at: datetime, **amounts: float) -> ToldTask:
    return told_task("feed", at, f"{at:%H:%M} round", {"tanks": 2.0, **amounts},
                     key=f"feed/{at:%d%H}", rounds=_ROUNDS)  # fmt: skip


def _set(
    at: datetime, vessel: str = "bottle 1", key: str = "10/1", grams: float = 2.0,
    harvest_at: datetime | None = None,
) -> ToldTask:  # fmt: skip
    return told_task("set_hatch", at, vessel, {"cysts_g": grams}, key=f"set_hatch/{key}",
                     harvest_at=harvest_at)  # fmt: skip


def _draw(
    at: datetime, round_at: datetime, vessel: str = "bottle 1", key: str = "10/1"
) -> ToldTask:
    return told_task("harvest_hatch", at, vessel, {"nauplii": 3.7e5, "fed_nauplii": 1e5},
                     key=f"harvest_hatch/{key}",
                     until=round_at, rounds=_ROUNDS)  # fmt: skip


def _split(at: datetime, parent: str, child: str) -> ToldTask:
    return told_task("split", at, parent, {"starter_g": 10.0, "medium_g": 150.0}, other=child,
                     key=f"split/{child}", kind="microworm")  # fmt: skip


def _fate(known: Fates, told: ToldTask) -> Fate:
    return known.of[told.task.id]


# --- one fate each


def test_every_told_task_has_exactly_one_fate() -> None:
    told = {
        "done": _worms(_MORNING),
        "skipped": _set(_at(10, 8)),
        "presumed": _feed(_MORNING),
        "open": _feed(_EVENING),
        "reminder": told_task("buy", _at(10, 9), "brine shrimp cysts", {"cysts_g": 50.0},
                              key="buy/brine_shrimp_cysts"),
        "late": _split(_at(10, 20, 59), "MW-1", "MW-3"),
    }  # fmt: skip
    record = record_of(told.values())
    entries = lines(
        Entry(_at(10, 7, 25), "harvest", "MW-1", "", 6, "swipes"),
        Entry(_at(10, 9), "skip", "bottle 1", "set_hatch/10/1"),
        Entry(_at(10, 9), "lost", "a brood", "", 3, "fry"),
    )
    now = _EVENING
    known = fates(record, entries, now)
    assert {name: _fate(known, each) for name, each in told.items()} == {
        "done": Fate.DONE, "skipped": Fate.SKIPPED, "presumed": Fate.PRESUMED,
        "open": Fate.OPEN, "reminder": Fate.PRESUMED, "late": Fate.OPEN,
    }  # fmt: skip
    assert set(known.of) == set(record.tasks)
    assert known.answer == {
        told["done"].task.id: entries[0], told["skipped"].task.id: entries[1],
    }  # fmt: skip
    assert known.told == {entries[0]: told["done"], entries[1]: told["skipped"]}
    assert known.amended == frozenset()


def test_a_task_is_open_until_two_hours_after_its_round_and_then_presumed() -> None:
    feed, draw = _feed(_MORNING), _draw(_at(10, 7), _MORNING)
    alone = _set(_at(10, 8, 15))
    record = record_of([feed, draw, alone])
    over = _MORNING + LATE
    assert timedelta(hours=2) == LATE
    before, after = fates(record, (), over - _SECOND), fates(record, (), over)
    assert {_fate(before, feed), _fate(before, draw)} == {Fate.OPEN}
    assert {_fate(after, feed), _fate(after, draw)} == {Fate.PRESUMED}
    assert _fate(after, alone) is Fate.OPEN
    assert _fate(fates(record, (), _at(10, 10, 14)), alone) is Fate.OPEN
    assert _fate(fates(record, (), _at(10, 10, 15)), alone) is Fate.PRESUMED


def test_a_brood_that_is_moved_whole_is_moved_on_and_still_to_be_sorted() -> None:
    """Told anew in its new tank, the sorting was taken for what the move had answered."""
    moving = told_task("move_on", _MORNING, "a", other="A1")
    sort = told_task("sort", _MORNING + timedelta(days=1), "a", other="A2")
    record = record_of([moving, sort])
    moved = lines(Entry(_at(10, 13), "move", "a", "A2"))
    known = fates(record, moved, _at(10, 14))
    assert (_fate(known, moving), _fate(known, sort)) == (Fate.DONE, Fate.OPEN)
    apart = lines(Entry(_at(11, 8), "move", "a", "A3", 20.0, "fry"))
    known = fates(record_of([sort]), apart, _at(11, 9))
    assert _fate(known, sort) is Fate.DONE, "the larger ones go into a tank of their own"


def test_a_hatch_told_ahead_of_a_round_that_nobody_was_told_is_not_taken_as_drawn_off(
    room: Room,
) -> None:
    """Who looked in the morning alone was told that it ripens, and not to feed it to anybody."""
    setting, draw = _set(_at(9, 7)), _draw(_at(10, 18), _EVENING)
    record = record_of([setting, draw])
    assert _fate(fates(record, (), _EVENING + LATE - _SECOND), draw) is Fate.OPEN
    assert _fate(fates(record, (), _EVENING + LATE), draw) is Fate.LAPSED
    drawn = lines(Entry(_at(10, 18, 5), "harvest", "bottle 1"))
    assert _fate(fates(record, drawn, _NIGHT), draw) is Fate.DONE
    in_hand = _present(room, [setting, draw], _at(10, 19))
    assert (in_hand.room.hatches, len(in_hand.room.held)) == ((), 1)
    assert _ids(in_hand.in_hand) == [draw.task.id]
    over = _present(room, [setting, draw], _at(10, 23))
    assert [h.vessel for h in over.room.hatches] == ["bottle 1"]
    assert (over.room.held, _ids(over.due())) == ((), [setting.task.id])
    fed = _present(room, [setting, draw, _feed(_EVENING)], _NIGHT)
    assert (fed.room.hatches, len(fed.room.held)) == ((), 1)


def test_what_a_day_was_fed_is_of_rounds_over_and_in_hand_and_of_tanks_that_got_it(
    room: Room,
) -> None:
    def fed(at: datetime) -> ToldTask:
        row = tuple(FeedLine(at, tank, f"of {tank}", "microworm", 5.0, 5.0, 1.0, "mL")
                    for tank in ("A", "B"))  # fmt: skip
        return evolve(_feed(at), lines=row)

    told = [fed(_at(9, 18, 30)), fed(_MORNING), fed(_EVENING)]

    def tanks(now: datetime, *entries: Entry) -> list[tuple[int, str]]:
        return [(x.at.hour, x.tank) for x in _present(room, told, now, *entries).room.fed_today]

    assert tanks(_at(10, 3)) == []
    assert tanks(_at(10, 8)) == tanks(_at(10, 12)) == [(7, "A"), (7, "B")]
    assert tanks(_at(10, 19)) == [(7, "A"), (7, "B"), (18, "A"), (18, "B")]
    one = Entry(_at(10, 7, 40), "skip", "A", told[1].task.id)
    assert tanks(_at(10, 8), one) == tanks(_at(10, 12), one) == [(7, "B")]
    none = Entry(_at(10, 7, 40), "skip", told[1].task.subject, told[1].task.id)
    assert tanks(_at(10, 12), none) == []


def test_what_a_day_needed_is_all_that_its_rounds_needed(room: Room) -> None:
    """5 J each of two foods that were told, of 25 J: the other 15 J are needed too."""
    row = [FeedLine(_MORNING, "A", "fry", food, 5.0, 5.0, 1.0, "mL") for food in ("x", "y")]
    told = evolve(_feed(_MORNING), lines=tuple(row), needs_j={"fry": 25.0})
    fed = _present(room, [told], _at(10, 12)).room.fed_today
    assert [(line.food, line.need_j, line.given_j) for line in fed] == [
        ("x", 20.0, 5.0), ("y", 5.0, 5.0)
    ]  # fmt: skip


def test_an_entry_tells_of_one_task_only() -> None:
    morning, evening = _worms(_MORNING), _worms(_EVENING)
    entry = Entry(_at(10, 7, 31), "harvest", "MW-1", "", 6, "swipes", line=2)
    known = fates(record_of([morning, evening]), [entry], _NIGHT)
    assert (_fate(known, morning), _fate(known, evening)) == (Fate.DONE, Fate.PRESUMED)


# --- windows


@pytest.mark.parametrize(("when", "answers"), [
    (_at(10, 0, 59), None),  # nearer to the round of the evening before
    (_at(10, 1), "morning"),  # halfway between 18:30 and 07:30
    (_at(10, 12, 59), "morning"),
    (_at(10, 13), "evening"),  # halfway between 07:30 and 18:30
    (_at(11, 0, 59), "evening"),
    (_at(11, 1), None),
])  # fmt: skip
def test_a_round_is_answered_halfway_to_its_neighbours(when: datetime, answers: str | None) -> None:
    told = {"morning": _worms(_MORNING), "evening": _worms(_EVENING)}
    entry = Entry(when, "harvest", "MW-1", "", 6, "swipes", line=2)
    known = fates(record_of(told.values()), [entry], _at(12))
    assert [n for n, t in told.items() if _fate(known, t) is Fate.DONE] == (
        [answers] if answers else []
    )
    assert set(known.told) == ({entry} if answers else set())


@pytest.mark.parametrize(("off", "answered"), [
    (timedelta(hours=-12), True), (timedelta(hours=-12) - _SECOND, False),
    (timedelta(hours=12) - _SECOND, True), (timedelta(hours=12), False),
])  # fmt: skip
def test_a_hatch_is_answered_half_a_day_before_and_after(off: timedelta, answered: bool) -> None:
    for told, event, amount in (
        (_set(_at(10, 12)), "set", 2.5), (_draw(_at(10, 12), _EVENING), "hatched", 1e5),
        (_draw(_at(10, 12), _EVENING), "harvest", None),
        (_draw(_at(10, 12), _EVENING), "failed", None),
    ):  # fmt: skip
        entry = Entry(_at(10, 12) + off, event, "bottle 1", "", amount, line=2)
        known = fates(record_of([told]), [entry], _at(12))
        assert (_fate(known, told) is Fate.DONE) == answered, event


@pytest.mark.parametrize(("off", "answered"), [
    (timedelta(days=-1), True), (timedelta(days=-1) - _SECOND, False),
    (timedelta(days=3) - _SECOND, True), (timedelta(days=3), False),
])  # fmt: skip
def test_a_culture_may_wait_longer(off: timedelta, answered: bool) -> None:
    started = told_task("start", _at(10, 8), "MW", {"starter_g": 10.0}, other="MW-9")
    for told, entry in (
        (_split(_at(10, 8), "MW-1", "MW-3"), Entry(_at(10, 8), "split", "MW-1", "MW-3", 12, "g")),
        (started, Entry(_at(10, 8), "start", "MW-9", "microworm", 12, "g")),
        (told_task("retire", _at(10, 8), "MW-1"), Entry(_at(10, 8), "discard", "MW-1")),
        (told_task("retire", _at(10, 8), "MW-1"), Entry(_at(10, 8), "failed", "MW-1")),
    ):
        known = fates(record_of([told]), [entry._replace(when=_at(10, 8) + off, line=2)], _at(20))
        assert (_fate(known, told) is Fate.DONE) == answered, entry.event


def test_another_subject_or_event_answers_nothing() -> None:
    told = [_worms(_MORNING), _set(_at(10, 8)), _split(_at(10, 8), "MW-1", "MW-3")]
    entries = lines(
        Entry(_MORNING, "harvest", "MW-2", "", 6, "swipes"),
        Entry(_MORNING, "count", "MW-1", "", 900, "worms"),
        Entry(_at(10, 8), "set", "bottle 2", "", 2, "g"),
        Entry(_at(10, 8), "split", "MW-2", "MW-3", 10, "g"),
    )
    known = fates(record_of(told), entries, _NIGHT)
    assert set(known.of.values()) == {Fate.PRESUMED}
    assert (known.told, known.answer) == ({}, {})


# --- which of several


def test_of_several_open_tasks_the_earliest_is_answered_unless_the_minute_fits() -> None:
    early, late = _set(_at(10, 8), key="a"), _set(_at(10, 16), key="b")
    record = record_of([late, early])
    first = fates(record, lines(Entry(_at(10, 12, 30), "set", "bottle 1", "", 2, "g")), _NIGHT)
    assert (_fate(first, early), _fate(first, late)) == (Fate.DONE, Fate.PRESUMED)
    both = lines(Entry(_at(10, 12, 30), "set", "bottle 1", "", 2, "g"),
                 Entry(_at(10, 12, 45), "set", "bottle 1", "", 2, "g"))  # fmt: skip
    known = fates(record, both, _NIGHT)
    assert [known.answer[t.task.id] for t in (early, late)] == both
    ticked = fates(record, lines(Entry(_at(10, 16), "set", "bottle 1", "", 2, "g")), _NIGHT)
    assert (_fate(ticked, early), _fate(ticked, late)) == (Fate.PRESUMED, Fate.DONE)


@pytest.mark.parametrize(
    ("event", "amount"), [("failed", None), ("hatched", 100.0), ("harvest", None)]
)
def test_a_hatch_that_is_noted_is_the_last_whose_time_has_come(
    event: str, amount: float | None
) -> None:
    """The first was told of a hatch that never was; a vessel bears no two within half a day."""
    first, later, next_ = (
        _draw(_at(10, hour), _at(10, hour, 30), key=f"hatch/{hour}") for hour in (6, 12, 17)
    )
    entry = Entry(_at(10, 12, 36), event, "bottle 1", "", amount, line=2)
    known = fates(record_of([first, later, next_]), [entry], _NIGHT)
    assert known.told == {entry: later}
    early = entry._replace(when=_at(10, 5, 30))
    assert fates(record_of([later, first]), [early], _NIGHT).told == {early: first}


def test_a_split_is_matched_by_the_name_of_its_child() -> None:
    three, four = _split(_at(10, 8), "MW-1", "MW-3"), _split(_at(10, 19), "MW-1", "MW-4")
    entry = Entry(_at(10, 8), "split", "MW-1", "MW-4", 10, "g", line=2)
    known = fates(record_of([three, four]), [entry], _NIGHT)
    assert known.told == {entry: four}
    assert _fate(known, three) is Fate.PRESUMED
    other_child = fates(record_of([three, four]), [entry._replace(other="MW-7")], _NIGHT)
    assert list(other_child.told.values()) == [three]


def test_cysts_and_other_supplies_are_bought_by_what_they_are_called() -> None:
    cysts = told_task("buy", _at(10, 9), "brine shrimp cysts", {"cysts_g": 50.0},
                      key="buy/brine_shrimp_cysts")  # fmt: skip
    salt = told_task("buy", _at(10, 9), "salt", key="buy/salt")
    food = told_task("buy", _at(10, 9), "dry food", {"dry_g": 50.0}, key="buy/dry")
    entries = lines(*(Entry(_at(12, 9), "bought", name, "", 50, "g")
                      for name in ("cysts", "salt", "dry")))  # fmt: skip
    known = fates(record_of([cysts, salt, food]), entries, _at(13))
    assert [known.answer[t.task.id] for t in (cysts, salt, food)] == entries


# --- soaking and a first food


@pytest.mark.parametrize(("event", "fate"), [("fed", Fate.DONE), ("skip", Fate.SKIPPED)])
def test_soaking_and_a_first_food_go_with_their_feeding(event: str, fate: Fate) -> None:
    feed = _feed(_MORNING)
    soak = told_task("soak", _at(10, 7, 15), "07:30 round", key="soak/1007", until=_MORNING,
                     rounds=_ROUNDS)  # fmt: skip
    food = told_task("first_food", _MORNING, "a brood", other="A1", rounds=_ROUNDS)
    evening = told_task("soak", _at(10, 18, 15), "18:30 round", key="soak/1018", until=_EVENING,
                        rounds=_ROUNDS)  # fmt: skip
    entry = Entry(_at(10, 7, 40), event, "07:30 round", feed.task.id if event == "skip" else "",
                  line=2)  # fmt: skip
    known = fates(record_of([feed, soak, food, evening]), [entry], _at(10, 8))
    assert {_fate(known, t) for t in (feed, soak, food)} == {fate}
    assert _fate(known, evening) is Fate.OPEN
    assert known.told == {entry: feed}


# --- tank by tank


def _feed_of(*tanks: str, draws: tuple[Draw, ...] = (), **amounts: float) -> ToldTask:
    given = tuple(
        FeedLine(_MORNING, tank, f"brood of {tank}", food, 9.0, 9.0, 10.0, "mL")
        for tank in tanks
        for food in (BRINE_SHRIMP, "microworm")
    )
    return evolve(_feed(_MORNING, **amounts), lines=given, draws=draws)


_FED1, _FED2 = (Entry(_at(10, 7, 31), "fed", tank) for tank in ("A1", "A2"))
_UNFED1, _UNFED2 = (Entry(_at(10, 7, 32), "skip", tank, "feed/1007") for tank in ("A1", "A2"))
_LESS = Entry(_at(10, 7, 33), "fed", "A2", BRINE_SHRIMP, 4.0, "mL")
_WORMS_LESS = _LESS._replace(other="microworm")
_ROUND = Entry(_at(10, 7, 40), "fed", "07:30 round")


@pytest.mark.parametrize(
    ("entries", "early", "late", "tanks"),
    [
        ((_FED1,), Fate.OPEN, Fate.PRESUMED, {"A1": [_FED1]}),
        ((_UNFED1,), Fate.OPEN, Fate.PRESUMED, {"A1": [_UNFED1]}),
        ((_FED1, _FED2), Fate.DONE, Fate.DONE, {"A1": [_FED1], "A2": [_FED2]}),
        ((_FED1, _UNFED2), Fate.DONE, Fate.DONE, {"A1": [_FED1], "A2": [_UNFED2]}),
        ((_FED1, _LESS), Fate.DONE, Fate.DONE, {"A1": [_FED1], "A2": [_LESS]}),
        ((_UNFED1, _UNFED2), Fate.SKIPPED, Fate.SKIPPED, {"A1": [_UNFED1], "A2": [_UNFED2]}),
        ((_UNFED1, _ROUND), Fate.DONE, Fate.DONE, {"A1": [_UNFED1]}),
        # The later word on one tank takes the place of the earlier, food by food.
        ((_FED1, _UNFED1), Fate.OPEN, Fate.PRESUMED, {"A1": [_UNFED1]}),
        ((_FED2, _LESS), Fate.OPEN, Fate.PRESUMED, {"A2": [_LESS]}),
        ((_LESS, _WORMS_LESS), Fate.OPEN, Fate.PRESUMED, {"A2": [_LESS, _WORMS_LESS]}),
        ((_LESS, _LESS._replace(amount=6.0)), Fate.OPEN, Fate.PRESUMED,
         {"A2": [_LESS._replace(amount=6.0)]}),
        # Another tank, another round and another feeding's id are not about it.
        ((_FED1._replace(subject="A3"),), Fate.OPEN, Fate.PRESUMED, {}),
        ((_FED1._replace(when=_at(10, 13)),), Fate.OPEN, Fate.PRESUMED, {}),
        ((_UNFED1._replace(other="feed/0"),), Fate.OPEN, Fate.PRESUMED, {}),
    ],
)  # fmt: skip
def test_a_feeding_is_answered_once_all_of_its_tanks_are(
    entries: tuple[Entry, ...], early: Fate, late: Fate, tanks: dict[str, list[Entry]]
) -> None:
    feed = _feed_of("A1", "A2")
    soak = told_task("soak", _at(10, 7, 15), "07:30 round", key="soak/1007", until=_MORNING,
                     rounds=_ROUNDS)  # fmt: skip
    record = record_of([feed, soak])
    for now, fate in ((_at(10, 8), early), (_NIGHT, late)):
        known = fates(record, entries, now)
        assert {_fate(known, t) for t in (feed, soak)} == {fate}
    assert dict(known.tanks.get(feed.task.id, {})) == tanks


# --- skip


def test_skip_names_the_task_by_its_id() -> None:
    early, late = _set(_at(10, 8), key="a"), _set(_at(10, 16), key="b")
    record = record_of([early, late])
    skipped = Entry(_at(10, 9), "skip", "bottle 1", "set_hatch/b", line=2)
    known = fates(record, [skipped], _at(10, 9))
    assert (_fate(known, early), _fate(known, late)) == (Fate.OPEN, Fate.SKIPPED)
    unknown = fates(record, [skipped._replace(other="set_hatch/c")], _NIGHT)
    assert set(unknown.of.values()) == {Fate.PRESUMED}
    assert unknown.told == {}


def test_what_was_answered_first_stands() -> None:
    told = _set(_at(10, 8))
    set_ = Entry(_at(10, 8, 5), "set", "bottle 1", "", 2.0, "g", line=2)
    skip = Entry(_at(10, 9), "skip", "bottle 1", told.task.id, line=3)
    assert _fate(fates(record_of([told]), [set_, skip], _NIGHT), told) is Fate.DONE
    later = set_._replace(when=_at(10, 9, 30), line=4)
    known = fates(record_of([told]), [skip, later], _NIGHT)
    assert _fate(known, told) is Fate.SKIPPED
    assert later not in known.told


# --- a tick, amended


def test_a_later_amount_takes_the_place_of_a_tick_at_the_time_of_the_tick() -> None:
    told = _worms(_MORNING)
    tick, more = lines(as_entry(told), Entry(_at(10, 9), "harvest", "MW-1", "", 8, "swipes"))
    known = fates(record_of([told]), [tick, more], _NIGHT)
    assert _fate(known, told) is Fate.DONE
    assert known.answer == {told.task.id: more}
    assert known.told == {more: told}
    assert (known.amended, known.moved) == (frozenset({2}), {more: _MORNING})
    (step,) = steps_of([tick, more], known, (), _NIGHT)
    assert (step.entry, step.told, step.presumed) == (
        more._replace(when=_MORNING), told, False,
    )  # fmt: skip


def test_an_amended_tick_can_be_amended_again() -> None:
    told = _set(_at(10, 8))
    tick, once, twice = lines(
        as_entry(told), Entry(_at(10, 9), "set", "bottle 1", "", 1.5, "g"),
        Entry(_at(10, 9, 30), "set", "bottle 1", "", 1.8, "g"),
    )  # fmt: skip
    known = fates(record_of([told]), [tick, once, twice], _NIGHT)
    assert known.answer == {told.task.id: twice}
    assert known.amended == {2, 3}
    assert known.moved[twice] == _at(10, 8)
    (step,) = steps_of([tick, once, twice], known, (), _NIGHT)
    assert (step.entry.when, step.entry.amount) == (_at(10, 8), 1.8)


def test_what_is_no_mere_tick_is_not_amended() -> None:
    told = _worms(_MORNING)
    by_hand = Entry(_at(10, 7, 29), "harvest", "MW-1", "", 120.0, "mg")
    more = Entry(_at(10, 9), "harvest", "MW-1", "", 8, "swipes")
    first, second = lines(by_hand, more)
    known = fates(record_of([told]), [first, second], _NIGHT)
    assert (known.answer, known.amended) == ({told.task.id: first}, frozenset())
    assert [s.told for s in steps_of([first, second], known, (), _NIGHT)] == [told, None]
    # The same again is a second harvest, not an amendment.
    tick, again = lines(as_entry(told), as_entry(told, _at(10, 9)))
    known = fates(record_of([told]), [tick, again], _NIGHT)
    assert (known.answer, known.amended) == ({told.task.id: tick}, frozenset())
    # Nor is one that was written down before the tick.
    later_line = tick._replace(line=9)
    known = fates(record_of([told]), [later_line, more._replace(line=3)], _NIGHT)
    assert known.amended == frozenset()


# --- on the disk: told again, withdrawn, undone


def _read(path: Path, now: datetime) -> Record:
    return read_record(path, _ZONE, now)


def test_told_again_before_its_time_the_later_telling_holds(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    first, second, third = (_set(_at(10, 8), grams=g) for g in (2.0, 2.4, 9.0))
    moved = evolve(second, task=evolve(second.task, at=_at(10, 9)))
    append_telling(path, _at(9, 7), "today", [first])
    append_telling(path, _at(10, 7), "sheet", [moved])
    append_telling(path, _at(10, 9, 30), "today", [third])  # it has begun: too late
    grams = {h: _read(path, h).tasks["set_hatch/10/1"] for h in (_at(9, 7), _at(10, 7), _NIGHT)}
    assert [t.task.amounts["cysts_g"] for t in grams.values()] == [2.0, 2.4, 2.4]
    assert [t.task.at for t in grams.values()] == [_at(10, 8), _at(10, 9), _at(10, 9)]
    assert [(t.told_at, t.by) for t in grams.values()] == [
        (_at(9, 7), "today"), (_at(10, 7), "sheet"), (_at(10, 7), "sheet"),
    ]  # fmt: skip
    assert _read(path, _at(9, 6, 59)).tasks == {}


def test_a_line_with_what_cannot_be_seen_counts_as_damaged(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    told = told_task("buy", _at(9, 9), "salt", key="buy/salt")
    append_telling(path, _at(9, 7), "today", [told])
    assert _read(path, _NIGHT).damaged == 0
    whole = path.read_text("utf-8")
    for unseen in ("\ufeff", "\\u202e"):
        path.write_text(whole.replace('"salt"', f'"sa{unseen}lt"'), "utf-8")
        assert _read(path, _NIGHT).damaged == 1
        assert _read(path, _NIGHT).tasks == {}


def test_a_reminder_is_told_again_even_after_its_time(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    for day in (9, 10):
        told = told_task("buy", _at(day, 9), "salt", key="buy/salt")
        append_telling(path, _at(day, 12), "today", [told])
    assert _read(path, _NIGHT).tasks["buy/salt"].task.at == _at(10, 9)


def test_withdrawn_before_its_time_it_has_no_fate_and_nothing_answers_it(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    told, kept = _set(_at(10, 8)), _feed(_MORNING)
    append_telling(path, _at(9, 7), "today", [told, kept])
    append_telling(path, _at(9, 19), "today", withdrawn=[told.task.id])
    record = _read(path, _NIGHT)
    assert set(record.tasks) == {kept.task.id}
    assert record.withdrawn == {told.task.id}
    entry = Entry(_at(10, 8), "set", "bottle 1", "", 2, "g", line=2)
    known = fates(record, [entry], _NIGHT)
    assert (set(known.of), known.told) == ({kept.task.id}, {})
    assert set(_read(path, _at(9, 18)).tasks) == {told.task.id, kept.task.id}
    append_telling(path, _at(10, 7), "today", [told])
    back = _read(path, _NIGHT)
    assert (set(back.tasks), back.withdrawn) == ({told.task.id, kept.task.id}, frozenset())


def test_what_has_begun_cannot_be_withdrawn(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    told = _set(_at(10, 8))
    append_telling(path, _at(9, 7), "today", [told])
    append_telling(path, _at(10, 8), "today", withdrawn=[told.task.id, "set_hatch/never"])
    record = _read(path, _NIGHT)
    assert (set(record.tasks), record.withdrawn) == ({told.task.id}, frozenset())
    assert _fate(fates(record, (), _NIGHT), told) is Fate.PRESUMED


@pytest.mark.parametrize(
    ("minutes", "by", "shown", "stays"),
    [(1, "calendar", False, False), (119, "calendar", False, False), (120, "calendar", False, True),
     (1, "today", False, True), (1, "sheet", False, True), (1, "calendar", True, True)],
)  # fmt: skip
def test_what_only_a_calendar_told_of_a_round_is_told_otherwise_until_it_is_over(
    tmp_path: Path, minutes: int, by: str, shown: bool, stays: bool
) -> None:
    """A round is over two hours after its time; what was looked at has begun with its time."""
    path = tmp_path / "told.jsonl"
    feed, worms = _feed(_MORNING), _worms(_MORNING)
    append_telling(path, _at(8, 7), by, [feed, worms])
    if shown:
        append_telling(path, _at(9, 7), "today", shown=[feed.task.id, worms.task.id])
    more = evolve(feed, task=_feed(_MORNING, tanks=9.0).task)
    late = _MORNING + timedelta(minutes=minutes)
    append_telling(path, late, "today", [more], withdrawn=[worms.task.id])
    record = _read(path, _NIGHT)
    assert record.tasks[feed.task.id].task.amounts["tanks"] == (
        feed.task.amounts["tanks"] if stays else 9.0
    )
    assert (worms.task.id in record.tasks) is stays
    assert _read(path, _MORNING).tasks[worms.task.id].by == ("today" if shown else by)


def test_undo_gives_back_the_fate_that_was(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    told = _worms(_MORNING)
    record = record_of([told, _feed(_MORNING)])

    def known() -> Fates:
        return fates(record, read_journal(path, _ZONE).effective(), _NIGHT)

    def facts(known: Fates) -> tuple[object, ...]:
        return known.of, known.answer, known.told, known.amended, known.moved, known.tanks

    def undo() -> None:
        last = read_journal(path, _ZONE).last()
        assert last is not None
        append(path, [undo_of(last, _NIGHT)])

    append(path, [Entry(_at(9, 9), "lost", "a brood", "", 2, "fry")])
    nothing = facts(known())
    append(path, [as_entry(told)])
    ticked = facts(known())
    assert ticked != nothing
    append(path, [Entry(_at(10, 9), "harvest", "MW-1", "", 8, "swipes")])
    assert known().amended == {3}
    undo()
    assert facts(known()) == ticked
    undo()
    assert facts(known()) == nothing


# --- the present that comes of it

_ROOM = """
[room]
name = "By hand"
timezone = "Europe/Lisbon"
as_of = 2027-03-09
temperature_c = 23
fridge_c = 5
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[brood]]
name = "a brood"
tank = "A1"
class = "bubble_nest"
count = 100
free_swimming = 2027-03-04
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-25
medium_g = 150
surface_cm2 = 180
starter_g = 10
[[vessel]]
name = "bottle 1"
litres = 1
temperature_c = 27
[[vessel]]
name = "bottle 2"
litres = 1
temperature_c = 27
[cysts]
grams = 50
[supplies]
dry_g = 100
"""


@pytest.fixture(scope="module")
def room() -> Room:
    """One brood, one culture, two empty bottles."""
    return read_room(_ROOM, today=date(2027, 3, 9))


def _ids(tasks: object) -> list[str]:
    assert isinstance(tasks, list | tuple)
    return [t.task.id for t in tasks]


def _present(room: Room, told: list[ToldTask], now: datetime, *entries: Entry) -> Present:
    standing = [e for e in lines(*entries) if e.when <= now]
    return present(room, standing, record_of(told), now)


def test_presumed_is_done_as_told_unless_noted_otherwise(room: Room) -> None:
    told = [_set(_at(10, 8)), _feed(_MORNING, dry_g=1.5)]
    found = _present(room, told, _NIGHT)
    assert _ids(found.presumed) == ["feed/1007", "set_hatch/10/1"]
    (hatch,) = found.room.hatches
    assert (hatch.vessel, hatch.set_at, hatch.cysts_g) == ("bottle 1", _at(10, 8), 2.0)
    assert hatch.key == "10/1"
    assert found.room.cysts is not None
    assert found.room.cysts.grams == pytest.approx(48)
    assert found.room.stock_g["dry"] == pytest.approx(98.5)
    otherwise = _present(room, told, _NIGHT,
                         Entry(_at(10, 8, 40), "set", "bottle 1", "", 1.2, "g"),
                         Entry(_at(10, 9), "skip", "07:30 round", "feed/1007"))  # fmt: skip
    assert otherwise.presumed == ()
    assert [(h.set_at, h.cysts_g) for h in otherwise.room.hatches] == [(_at(10, 8, 40), 1.2)]
    assert otherwise.room.stock_g["dry"] == 100


def test_what_cannot_have_been_done_is_neither_presumed_nor_asked(room: Room) -> None:
    """A draw of a hatch that failed, a setting in a full bottle, a split of what has crashed."""
    draw = _draw(_at(11, 7), _at(11, 7, 30), key="11/1")
    told = [_set(_at(10, 8)), draw, _feed(_at(11, 7, 30)), _split(_at(10, 19), "MW-1", "MW-3")]
    found = _present(room, told, _at(12), Entry(_at(10, 12), "failed", "bottle 1"),
                     Entry(_at(10, 12), "failed", "MW-1"))  # fmt: skip
    assert found.contradicted == {"harvest_hatch/11/1", "split/MW-3"}
    assert _ids(found.presumed) == ["set_hatch/10/1", "feed/1107"]
    assert (found.room.hatches, found.room.held, found.room.cultures) == ((), (), ())
    full = _present(room, told[:1], _at(12), Entry(_at(10, 7), "set", "bottle 1", "", 3, "g"))
    assert full.fates.of["set_hatch/10/1"] is Fate.DONE  # half a day around it tells of it
    earlier = Entry(_at(9, 19), "set", "bottle 1", "", 3, "g")
    full = _present(room, told[:1], _at(10, 12), earlier)
    assert full.contradicted == {"set_hatch/10/1"}
    assert [(h.set_at, h.cysts_g) for h in full.room.hatches] == [(_at(9, 19), 3)]


def test_a_split_told_of_a_culture_is_not_one_of_the_next_of_its_name(room: Room) -> None:
    """MW-2 is thrown out, and MW-1 split into a new MW-2 when MW-2 was to be split."""
    told = [_split(_at(10, 19), "MW-2", "MW-3"), _split(_at(10, 19), "MW-1", "MW-2")]
    made = Entry(_at(9, 12), "split", "MW-1", "MW-2", 10.0, "g")
    gone = Entry(_at(10, 1), "discard", "MW-2")
    found = _present(room, told, _at(12), made, gone, as_entry(told[1]))
    assert found.contradicted == {"split/MW-3"}
    assert [c.name for c in found.room.cultures if c.kind.name == "microworm"] == ["MW-1", "MW-2"]
    assert found.due() == []
    kept = _present(room, told[:1], _at(12), made)
    assert "MW-3" in [c.name for c in kept.room.cultures]


def test_a_split_stays_though_its_parent_is_noted_as_gone_before_it(room: Room) -> None:
    """Noted is noted: the box stands, its medium is used, and the order of the notes is said."""
    room = evolve(room, stock_g={**room.stock_g, "microworm_medium": 500.0})
    split = Entry(_at(10, 8), "split", "MW-1", "MW-9", 10.0, "g")
    found = _present(room, [], _at(12), split, Entry(_at(10, 7), "discard", "MW-1"))
    (child,) = [c for c in found.room.cultures if c.kind.name == "microworm"]
    assert child.name == "MW-9"
    assert found.room.stock_g["microworm_medium"] == 500.0 - 0.18 * child.medium_g
    assert any("MW-1 was split after it was gone" in note for note in found.room.notes)


def test_what_was_told_for_a_time_before_the_room_file_counts_as_a_note_of_then(room: Room) -> None:
    """A hatch set before stands, as it would by a note, and so does the child of a split; stocks
    and the cultures of the file are as stated.
    """
    told = [_set(_at(8, 20)), _worms(_at(8, 18, 30)), _split(_at(8, 18, 30), "MW-1", "MW-3"),
            _feed(_at(8, 18, 30), dry_g=3.0)]  # fmt: skip
    presumed = _present(room, told, _at(10))
    noted = _present(room, told, _at(10), *(as_entry(t) for t in told))
    for found in (presumed, noted):
        assert [(h.vessel, h.set_at) for h in found.room.hatches] == [("bottle 1", _at(8, 20))]
        assert (found.room.cysts, found.room.stock_g) == (room.cysts, room.stock_g)
        assert found.room.cultures[: len(room.cultures)] == room.cultures
        assert [c.name for c in found.room.cultures[len(room.cultures) :]] == ["MW-3"]
    assert noted.presumed == ()


def test_done_twice_is_done_once_and_nothing_is_asked_again(room: Room) -> None:
    told = [_worms(_MORNING), _feed(_MORNING), _set(_at(10, 8))]
    before = _present(room, told, _NIGHT)
    due = before.due()
    assert _ids(due) == ["harvest_worms/MW-1/1007", "feed/1007", "set_hatch/10/1"]
    entries = [as_entry(t) for t in due]
    after = _present(room, told, _NIGHT, *entries)
    assert after.due() == []
    assert after.presumed == ()
    for name in ("hatches", "held", "cysts", "stock_g", "cultures", "fed_until"):
        assert getattr(after.room, name) == getattr(before.room, name), name


def test_of_two_harvests_told_for_one_moment_one_note_answers(room: Room) -> None:
    """The skip of the first was taken back after the second was told: the bottle is drawn once."""
    at, round_at = _at(10, 7), _at(10, 7, 30)
    told = [_set(_at(9, 7)), _draw(at, round_at), _draw(at, round_at, key="10/1#2"),
            _feed(round_at)]  # fmt: skip
    assert len([i for i in _ids(_present(room, told, _at(11)).due()) if "harvest" in i]) == 1
    noted = [as_entry(told[0]), as_entry(told[1])]
    found = _present(room, told, _at(11), *noted)
    assert _ids(found.due()) == [told[3].task.id]
    assert len(found.room.held) == 1


def test_what_is_drawn_off_and_set_anew_at_one_moment_was_drawn_off_first(room: Room) -> None:
    """Also where the setting was noted first, and the harvest ticked off later."""
    told, again = _draw(_at(10, 7), _MORNING), Entry(_at(10, 7), "set", "bottle 1", "", 1.0, "g")
    first, harvest = _at(9, 7), Entry(_at(10, 7), "harvest", "bottle 1", line=3)
    set_ = Entry(first, "set", "bottle 1", "", 2.0, "g")
    found = _present(room, [told], _at(10, 8), set_, again, harvest).room
    assert [(h.set_at, h.cysts_g) for h in found.hatches] == [(_at(10, 7), 1.0)]
    (jar,) = found.held
    (alone,) = _present(room, [told], _at(10, 8), set_, harvest).room.held
    assert jar.harvested_at == _at(10, 7)
    assert jar.nauplii == pytest.approx(alone.nauplii)


def test_a_count_is_of_the_jar_while_nothing_can_be_out_unless_the_harvest_was_told(
    room: Room,
) -> None:
    """Set late, ten hours before its harvest: counted then, it is of that hatch."""
    first, jar, again = _at(8, 7), _at(9, 7), Entry(_at(9, 21), "set", "bottle 1", "", 1.0, "g")
    set_ = Entry(first, "set", "bottle 1", "", 2.0, "g")
    draw = Entry(jar, "harvest", "bottle 1")
    none = Entry(_at(10, 7), "hatched", "bottle 1", "", 0.0, "nauplii")
    untold = _present(room, [], _at(10, 8), set_, draw, again, none).room
    assert ([h.set_at for h in untold.hatches], untold.held) == ([_at(9, 21)], ())
    own = _present(room, [_draw(_at(10, 7), _MORNING)], _at(10, 8), set_, draw, again, none).room
    assert (own.hatches, [h.harvested_at for h in own.held]) == ((), [jar])


def test_of_what_is_over_is_asked_once_and_for_two_weeks(room: Room) -> None:
    told = [_feed(_MORNING)]
    found = _present(room, told, _NIGHT)
    assert found.open_questions() == [told[0]]
    asked = evolve(record_of(told), asked=frozenset({"feed/1007"}))
    again = present(room, [], asked, _NIGHT)
    assert (again.open_questions(), _ids(again.unnoted())) == ([], ["feed/1007"])
    last, gone = (_present(room, told, _MORNING + timedelta(days=14) + off)
                  for off in (timedelta(0), _SECOND))  # fmt: skip
    assert (_ids(last.unnoted()), gone.unnoted()) == (["feed/1007"], [])
    assert _ids(gone.presumed) == ["feed/1007"]


def test_a_round_is_in_hand_from_its_time_or_its_first_note_until_it_is_over(room: Room) -> None:
    told = [_worms(_MORNING), _feed(_MORNING), _feed(_EVENING)]
    early = _present(room, told, _at(10, 7, 20))
    assert (early.in_hand, early.room.fed_until) == ((), None)
    assert _ids(early.due()) == ["harvest_worms/MW-1/1007", "feed/1007"]
    begun = Entry(_at(10, 7, 10), "harvest", "MW-1", "", 6, "swipes")
    noted = _present(room, told, _at(10, 7, 20), begun)
    assert _ids(noted.in_hand) == ["harvest_worms/MW-1/1007", "feed/1007"]
    assert noted.room.fed_until == _MORNING
    assert _ids(noted.due()) == ["feed/1007"]
    on = _present(room, told, _MORNING + LATE - _SECOND)
    assert _ids(on.in_hand) == ["harvest_worms/MW-1/1007", "feed/1007"]
    over = _present(room, told, _MORNING + LATE)
    assert (over.in_hand, over.room.fed_until) == ((), _MORNING)
    assert _ids(over.presumed) == ["harvest_worms/MW-1/1007", "feed/1007"]


def test_the_first_step_of_a_round_begins_it_unless_the_hatch_was_counted(room: Room) -> None:
    told = [_draw(_at(10, 7), _MORNING), _feed(_MORNING)]
    set_ = Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g")
    assert _present(room, told, _at(10, 6, 59), set_).in_hand == ()
    begun = _present(room, told, _at(10, 7), set_)
    assert _ids(begun.in_hand) == ["harvest_hatch/10/1", "feed/1007"]
    drawn = _present(room, told, _at(10, 7, 10), set_, Entry(_at(10, 7), "harvest", "bottle 1"))
    assert _ids(drawn.in_hand) == ["harvest_hatch/10/1", "feed/1007"]
    for event, amount in (("hatched", 3e4), ("failed", None)):
        counted = Entry(_at(10, 7), event, "bottle 1", "", amount)
        found = _present(room, told, _at(10, 7, 10), set_, counted)
        assert (found.in_hand, found.room.fed_until) == ((), None)
        assert sum(h.nauplii for h in found.room.held) == (amount or 0)
        assert _ids(_present(room, told, _MORNING, set_, counted).in_hand) == [
            "harvest_hatch/10/1", "feed/1007",
        ]  # fmt: skip


def test_a_hatch_set_too_late_is_left_for_another_round(room: Room) -> None:
    """By hand: at 27 °C half a hatch is out after some 18 h, and hardly any after 9 h."""
    told = [
        _set(_at(9, 7)), _draw(_at(10, 7), _MORNING), _feed(_MORNING, nauplii=9e4),
    ]  # fmt: skip
    feed = evolve(told[2], draws=(Draw("bottle 1", _at(10, 7), None, 0.0),))
    late = Entry(_at(9, 17, 59), "set", "bottle 1", "", 2.0, "g")
    for now in (_at(10, 7, 10), _MORNING + LATE):  # begun, and over
        found = _present(room, [told[0], told[1], feed], now, late)
        assert "harvest_hatch/10/1" in found.contradicted
        assert "harvest_hatch/10/1" not in _ids([*found.due(), *found.presumed])
        assert [h.set_at for h in found.room.hatches] == [late.when]
        # Its next harvest is told under another id, for what was told of 07:00 stays.
        assert "harvest_hatch/10/1" in found.room.settled
    assert _present(room, [told[0], told[1], feed], _at(10, 7, 10), late).in_hand == ()
    in_time = late._replace(when=_at(9, 12))
    found = _present(room, [told[0], told[1], feed], _at(10, 7, 10), in_time)
    assert _ids(found.in_hand) == ["harvest_hatch/10/1", "feed/1007"]


def test_a_round_planned_anew_keeps_the_harvest_that_has_begun(room: Room) -> None:
    told = [
        _draw(_at(10, 7), _MORNING), _draw(_at(10, 7), _MORNING, "bottle 2", "10/2"),
        _feed(_MORNING),
    ]  # fmt: skip
    entries = [Entry(_at(9, 7), "set", f"bottle {n}", "", 2.0, "g") for n in (1, 2)]
    counted = Entry(_at(10, 7, 5), "hatched", "bottle 1", "", 3e4, "nauplii")
    found = _present(room, told, _at(10, 7, 10), *entries, counted)
    assert _ids(found.in_hand) == ["harvest_hatch/10/2"]
    assert _ids(found.due()) == ["harvest_hatch/10/2", "feed/1007"]
    assert (found.room.hatches, len(found.room.held), found.room.fed_until) == ((), 2, None)


def test_a_harvest_that_was_told_before_is_not_of_a_hatch_that_nobody_told() -> None:
    """Told days before for the hatch of another day; told since, or of the morning after, it is."""
    hatch = RunningHatch("bottle 1", _at(8, 19), 1.0)
    draw = _draw(_at(13, 7), _MORNING)
    before, since = (evolve(draw, told_at=at) for at in (_at(8, 12), _at(8, 20)))
    assert (hatch.is_of(before), hatch.is_of(since)) == (False, True)
    assert hatch.is_of(evolve(_draw(_at(10, 7), _MORNING), told_at=_at(8, 12)))
    assert not evolve(hatch, key="11/1").is_of(since)


def test_a_harvest_of_a_hatch_that_could_not_be_set_is_of_no_other(room: Room) -> None:
    """Told to be set on the 8th, where one stood: on the 9th, when that had failed, it was not."""
    first = Entry(_at(7, 12), "set", "bottle 1", "", 2.0, "g")
    failed = Entry(_at(8, 20), "failed", "bottle 1")
    again = Entry(_at(9, 7, 30), "set", "bottle 1", "", 2.0, "g")
    told = [_set(_at(8, 7)), _draw(_at(10, 7), _MORNING), _feed(_MORNING)]
    found = _present(room, told, _at(10, 12), first, failed, again)
    assert "harvest_hatch/10/1" in found.contradicted
    assert [h.set_at for h in found.room.hatches] == [again.when]
    own = _present(room, told[1:], _at(10, 12), first, failed, again)
    assert _ids(own.presumed) == ["harvest_hatch/10/1", "feed/1007"]


@pytest.mark.parametrize(("noted", "given"), [("A1", 0.0), ("A2", 10.0)])
def test_of_a_round_in_hand_who_is_gone_gets_nothing(room: Room, noted: str, given: float) -> None:
    """Its time has come, so the round stands; of what others leave the rest is not fed."""
    lines = tuple(
        FeedLine(_MORNING, tank, brood, "microworm", 9.0, 9.0, 10.0, "mL")
        for tank, brood in (("A1", "a brood"), ("A2", "others"))
    )
    feed = evolve(_feed(_MORNING, microworm_ml=20.0), lines=lines)
    fed = Entry(_at(10, 7, 32), "fed", noted, "microworm", 10.0, "mL")
    lost = Entry(_at(10, 7, 35), "lost", "others", "all")
    (found,) = _present(room, [feed], _at(10, 7, 40), fed, lost).in_hand
    assert [(x.tank, x.amount) for x in found.lines] == [("A1", 10.0), ("A2", given)]
    assert isinstance(found.task, Feed)
    assert found.task.fed_ml == ({"microworm": 10.0} if given == 0.0 else {})
    assert found.task.cups_ml == {"microworm": 20.0}


def test_a_bottle_is_not_set_before_it_is_drawn_off(room: Room) -> None:
    """Taken as drawn off from seven on, it is free when its round comes, or once that is noted."""
    set_ = Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g")
    told = [_draw(_at(10, 7), _MORNING), _feed(_MORNING, nauplii=5e4)]
    assert _present(room, told, _at(10, 7, 10), set_).room.not_before == {"bottle 1": _MORNING}
    drawn = Entry(_at(10, 7, 8), "harvest", "bottle 1")
    for now, *noted in ((_at(10, 7, 10), drawn), (_at(10, 12),), (_at(10, 6, 50),)):
        assert _present(room, told, now, set_, *noted).room.not_before == {}


def test_a_hatch_told_without_its_round_is_in_hand_from_its_own_time(room: Room) -> None:
    set_ = Entry(_at(9, 7, 30), "set", "bottle 1", "", 2.0, "g", line=2)
    told = [_draw(_at(10, 7), _MORNING)]  # shown with its setting; nobody looked for the feeding
    assert _present(room, told, _at(10, 6, 59), set_).in_hand == ()
    found = _present(room, told, _at(10, 7), set_)
    assert _ids(found.in_hand) == _ids(found.due()) == ["harvest_hatch/10/1"]
    assert (found.room.hatches, len(found.room.held)) == ((), 1)


def test_ids_that_are_over_or_answered_are_not_given_again(room: Room) -> None:
    reminder = told_task("buy", _at(10, 9), "salt", key="buy/salt")
    told = [_set(_at(10, 8)), _set(_at(11, 8), key="11/1"), reminder]
    assert _present(room, told, _at(10, 10)).room.settled == {"set_hatch/10/1"}
    skipped = Entry(_at(10, 10), "skip", "bottle 1", "set_hatch/11/1")
    found = _present(room, told, _at(10, 10), skipped)
    assert found.room.settled == {"set_hatch/10/1", "set_hatch/11/1"}
    assert found.room.not_before == {"bottle 1": _at(11, 18, 30)}


def test_settings_and_splits_that_lie_ahead_are_what_moving_costs(room: Room) -> None:
    told = [
        _set(_at(10, 8), harvest_at=_at(11, 7)), _draw(_at(11, 7), _at(11, 7, 30)),
        _set(_at(11, 8), key="12/1", harvest_at=_at(12, 7)), _set(_at(11, 20), key="13/1"),
        _split(_at(12, 8), "MW-1", "MW-3"), _split(_at(13, 8), "MW-1", "MW-4"),
    ]  # fmt: skip
    gone = Entry(_at(10, 9), "skip", "MW-1", "split/MW-4")
    ahead = (
        Told("bottle 1", _at(11, 8), _at(12, 7), grams=2.0), Told("microworm", _at(12, 8))
    )  # fmt: skip
    assert _present(room, told, _at(10, 9), gone).room.told == ahead


def test_two_rounds_without_a_word_are_asked_about_and_add_nothing(room: Room) -> None:
    """Of the evening of the 10th and the morning of the 11th nothing was told; that morning is over
    two hours after its round, and asked about until the evening, told or not, is over too.
    """
    told = [evolve(_feed(_MORNING), told_at=_at(10, 7))]
    over = _MORNING + timedelta(days=1) + LATE
    assert _present(room, told, over - _SECOND).room.unspoken == ()
    (said,) = _present(room, told, over).room.unspoken
    assert said.startswith("Nothing was told or noted of the 2 rounds of Wed 10 Mar to Thu 11 Mar")
    assert said in _present(room, told, over).room.notes
    looked = [*told, _feed(_EVENING + timedelta(days=1))]
    assert _present(room, looked, _EVENING + timedelta(days=1)).room.unspoken == (said,)
    assert _present(room, looked, _EVENING + timedelta(days=1) + LATE).room.unspoken == ()
    never = _present(room, [], _at(11))
    assert any("since Tue 9 Mar, the day of the room file" in n for n in never.room.notes)
    assert never.room.hatches == ()
    assert never.room.held == ()
    assert never.room.cysts == room.cysts
    assert never.room.stock_g == room.stock_g


def test_a_food_that_did_not_come_is_not_dosed(room: Room) -> None:
    """The bottle of the morning was counted as 0: its nauplii are taken off the round in hand."""

    def line(food: str, amount: float) -> FeedLine:
        return FeedLine(_MORNING, "A1", "a brood", food, 9.0, 9.0, amount, "mL")

    feed = _feed(_MORNING, nauplii=5e4, jar_ml=50.0, brine_shrimp_ml=50.0, microworm_ml=20.0)
    feed = evolve(feed, lines=(line(BRINE_SHRIMP, 50.0), line("microworm", 20.0)),
                  draws=(Draw("bottle 1", _at(10, 7), 100.0, 50.0, 0.5),))  # fmt: skip
    told = [_draw(_at(10, 7), _MORNING), _worms(_MORNING), feed]
    set_ = Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g")
    came = _present(room, told, _at(10, 8), set_)
    assert came.room.lost_foods == {}
    assert [(h.vessel, h.share) for h in came.room.held] == [("bottle 1", 0.5)]
    zero = Entry(_at(10, 7), "hatched", "bottle 1", "", 0.0, "nauplii")
    found = _present(room, told, _at(10, 8), set_, zero)
    assert found.room.lost_foods == {_MORNING: (BRINE_SHRIMP,)}
    assert found.room.held == ()
    (fed,) = [t for t in found.in_hand if isinstance(t.task, Feed)]
    assert dict(fed.task.amounts) == {"tanks": 2.0, "microworm_ml": 20.0}
    assert [x.food for x in fed.lines] == ["microworm"]
    assert fed.draws == ()
    crashed = _present(room, told, _at(10, 8), set_, Entry(_at(10, 7), "failed", "MW-1"))
    assert crashed.room.lost_foods == {_MORNING: ("microworm",)}


@pytest.mark.parametrize(("more", "fed"), [((), False), (("microworm",), True)])
def test_a_round_of_a_jar_that_was_never_there_was_not_fed(
    room: Room, more: tuple[str, ...], *, fed: bool
) -> None:
    """Told long ago of a hatch that was drawn off and fed before; with worms besides it was fed."""
    lines = tuple(
        FeedLine(_MORNING, "A1", "a brood", food, 9.0, 9.0, 20.0, "mL")
        for food in (BRINE_SHRIMP, *more)
    )
    feed = evolve(_feed(_MORNING, nauplii=5e4), lines=lines,
                  draws=(Draw("bottle 1", _at(10, 7), 100.0, 50.0, 0.5),))  # fmt: skip
    for now in (_at(10, 7, 40), _at(10, 12)):
        found = _present(room, [feed], now)
        known = {t.task.id for t in (*found.presumed, *found.due())}
        assert (feed.task.id in known, feed.task.id in found.contradicted) == (fed, not fed)


def test_nauplii_of_a_presumed_feeding_are_out_of_the_jar(room: Room) -> None:
    """A quarter of the jar was told: a quarter is gone, or of far fewer as many as were told."""
    draw = Draw("bottle 1", _at(10, 7), 200.0, 50.0, 0.25)
    told = [_draw(_at(10, 7), _MORNING), evolve(_feed(_MORNING, nauplii=5e4), draws=(draw,))]
    set_ = Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g")
    for counted, left in ((2e5, 0.75), (1.6e5, 0.75), (1e5, 0.5), (1e4, 0.0)):
        count = Entry(_at(10, 7), "hatched", "bottle 1", "", counted, "nauplii")
        (whole,) = _present(room, told[:1], _at(10, 10), set_, count).room.held
        held = _present(room, told, _at(10, 10), set_, count).room.held
        assert (whole.nauplii, whole.share) == (counted, 1.0)
        assert len(held) == (left > 0.0)
        for rest in held:
            assert rest.nauplii == pytest.approx(left * counted, rel=0.02)
            assert rest.share == pytest.approx(left, rel=0.02)
            assert rest.energy_j == pytest.approx(left * whole.energy_j, rel=0.02)


@pytest.mark.parametrize(
    ("entries", "left"),
    [
        ((), 0.75),  # taken as done
        ((_FED1,), 0.75), ((_UNFED1,), 0.75), ((_FED1, _FED2), 0.75), ((_FED1, _UNFED2), 0.75),
        ((_FED1, _LESS, _ROUND), 0.75), ((_UNFED1, _UNFED2), 1.0),
    ],
)  # fmt: skip
def test_the_cup_of_a_round_is_out_of_the_jar_once_if_any_tank_was_fed(
    room: Room, entries: tuple[Entry, ...], left: float
) -> None:
    draw = Draw("bottle 1", _at(10, 7), 200.0, 50.0, 0.25)
    feed = _feed_of("A1", "A2", draws=(draw,), nauplii=5e4, dry_g=0.5)
    told = [_draw(_at(10, 7), _MORNING), feed]
    set_ = Entry(_at(9, 7), "set", "bottle 1", "", 2.0, "g")
    stocked = evolve(room, stock_g={"dry": 20.0})
    found = _present(stocked, told, _at(10, 10), set_, *entries).room
    assert [h.share for h in found.held] == [pytest.approx(left)]
    assert found.stock_g["dry"] == pytest.approx(20.0 if left == 1.0 else 19.5)


def test_a_tank_noted_otherwise_is_remarked(room: Room) -> None:
    found = _present(room, [_feed_of("A1", "A2")], _at(10, 8), _UNFED1, _LESS).room
    assert {n: [text for _, text in rows] for n, rows in found.remarks.items()} == {
        "A1": ["not fed"], "A2": ["fed 4 mL of nauplii"],
    }  # fmt: skip


def test_of_more_than_was_told_it_is_remarked_how_much_was(room: Room) -> None:
    more = _LESS._replace(amount=14.0)
    found = _present(room, [_feed_of("A1", "A2")], _at(10, 8), more).room
    (text,) = (text for _, text in found.remarks["A2"])
    assert text == "fed 14 mL of nauplii in all, 10 mL of it told for the round"


def test_the_record_lies_beside_the_room() -> None:
    assert record_path(Path("/a/room.toml")) == Path("/a/told.jsonl")
