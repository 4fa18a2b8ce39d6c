"""What was told stands while it does, and what of a printed sheet does not hold any more."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import DRY
from cultures.planning import telling as telling_module
from cultures.planning.amounts import AsTold, kept, told_ahead
from cultures.planning.telling import (
    _amounts,
    _changed,
    _differs,
    _news,
    _on_sheet,
    _with_its_helper,
    as_if_told,
    keeps_told,
    record_telling,
    stale_sheets,
    tellings,
)
from cultures.record.store import Advised, Printed, Written
from cultures.room.room import Told
from cultures.tasks.plan import Act, Advice
from cultures.tasks.task import Count, Feed, HarvestHatch, SetHatch, Soak, Split, Start, Task
from cultures.tasks.told import Draw, FeedLine, ToldTask
from tests.unit.noting import noting

_NOW = datetime(2027, 1, 5, 9, tzinfo=UTC)
_DAY = timedelta(days=1)


def _line(brood: str, amount: float, food: str = "worm", **more: Any) -> FeedLine:
    return FeedLine(at=_NOW, tank=f"T{brood}", brood=brood, food=food, need_j=1.0, given_j=1.0,
                    amount=amount, unit="mL", **more)  # fmt: skip


def _feed(days: float = 1.0, key: str = "feed/1") -> Feed:
    at = _NOW + days * _DAY
    return Feed(id=key, at=at, until=at, subject="round", why="", tanks=1.0, cups_ml={"worm": 50.0})


def _set(days: float = 1.0, key: str = "set_hatch/1", grams: float = 3.0) -> SetHatch:
    at = _NOW + days * _DAY
    return SetHatch(id=key, at=at, until=at, subject="V1", why="", cysts_g=grams, spoons=1.0,
                    water_l=1.0, salt_g=25.0, nauplii=1.0)  # fmt: skip


def _count(days: float = 1.0, key: str = "count/1") -> Count:
    at = _NOW + days * _DAY
    return Count(id=key, at=at, until=at, subject="b", why="", fry=9.0)


def _told(task: Task, *lines: FeedLine, round_at: datetime | None = None,
          draws: tuple[Draw, ...] = ()) -> ToldTask:  # fmt: skip
    return ToldTask(task, _NOW, task.at, task.at, round_at=round_at, lines=lines, draws=draws)


# --- doses as they were told


def test_what_was_told_of_a_feeding_is_known_by_food_and_brood() -> None:
    told = AsTold.of(_told(_feed(), _line("a", 5.0), _line("b", 7.0)))
    assert (told.cups_ml, set(told.lines)) == ({"worm": 50.0}, {("worm", "a"), ("worm", "b")})
    for none in (None, _told(_set())):
        assert AsTold.of(none) == AsTold({}, {})
    room: Any = SimpleNamespace(told_rounds=[_told(_feed(1.0)), _told(_feed(2.0, "feed/2"))])
    assert {at: t.task.id for at, t in told_ahead(room).items()} == {
        _NOW + _DAY: "feed/1", _NOW + 2 * _DAY: "feed/2"
    }  # fmt: skip


def test_doses_that_were_told_are_whole_marks_of_the_same_broods() -> None:
    told = AsTold.of(_told(_feed(), _line("a", 10.0), _line("b", 2.5), _line("c", 9.0, "eel")))
    assert told.marks("worm", ["a", "b"], 2.5) == [4, 1]
    assert told.marks("worm", ["b", "x", "a"], 0.5) == [5, 0, 20]  # who is new was told nothing
    assert told.marks("worm", ["a"], 2.5) is None  # another got some of it
    assert told.marks("worm", ["a", "b"], 2.0) is None  # 1.25 marks
    assert told.marks("rotifer", ["a", "b"], 1.0) is None
    near = AsTold.of(_told(_feed(), _line("a", 10.0009)))
    assert near.marks("worm", ["a"], 1.0) == [10]
    assert AsTold.of(_told(_feed(), _line("a", 10.002))).marks("worm", ["a"], 1.0) is None
    mixed = AsTold.of(_told(_feed(), _line("a", 10.5), _line("b", 3.0)))
    assert mixed.marks("worm", ["a", "b"], 1.0) is None


def test_dry_food_was_soaked_so_many_times_as_strong() -> None:
    """5 mL for each 0.01 g is usual: 0.02 g in 10 mL; in 40 mL a quarter of that, in 2 mL five
    times.
    """

    def strong(*lines: FeedLine, broods: tuple[str, ...] = ("a", "b")) -> float | None:
        return AsTold.of(_told(_feed(), *lines)).strength(broods)

    usual, none = _line("a", 0.02, DRY), _line("b", 0.0, DRY)
    thin, thick = _line("b", 0.02, DRY, wet_ml=40.0), _line("b", 0.02, DRY, wet_ml=2.0)
    assert strong(usual, none) == 1
    assert strong(usual, thin) == 0.25
    assert strong(thick, broods=("b",)) == 5
    assert strong(_line("a", 0.02, DRY, wet_ml=10.0), none) == 1
    assert strong(none, _line("a", 0.0, DRY)) is None
    assert strong(usual, thin, broods=("a",)) is None
    assert strong(usual, thin, broods=("a", "b", "c")) is None
    assert strong(usual, _line("b", 9.0)) is None
    assert strong() is None


@pytest.mark.parametrize(
    ("told", "fresh", "exact", "felt", "stays"),
    [
        ([19, 31], [20, 30], [20.0, 30.0], [2.0, 3.0], True),
        ([18, 32], [20, 30], [20.0, 30.0], [9.0, 9.0], False),  # two marks off
        ([19, 31], [20, 30], [20.0, 30.0], [0.9, 3.0], False),  # one would feel it
        ([19, 31], [19, 31], [20.0, 30.0], [0.0, 0.0], True),  # as far off as it would be anyway
        ([19, 30], [20, 30], [20.0, 30.0], [2.0, 3.0], True),  # one mark less in all
        ([19, 29], [20, 30], [20.0, 30.0], [2.0, 3.0], False),  # two
        ([21, 31], [20, 30], [20.0, 30.0], [2.0, 3.0], False),
        ([0, 0], [0, 0], [0.0, 0.0], [0.0, 0.0], True),
        ([40, 60], [40, 60], [2.0, 3.0], [0.0, 0.0], True),  # shares of what is made up
        ([42, 58], [40, 60], [2.0, 3.0], [9.0, 9.0], False),
        ([41, 59], [40, 60], [2.0, 3.0], [1.0, 1.0], True),
    ],
)
def test_marks_stand_while_each_is_less_than_two_off_and_nobody_feels_it(
    told: list[int], fresh: list[int], exact: list[float], felt: list[float], *, stays: bool
) -> None:
    assert kept(told, fresh, exact, felt) == (told if stays else fresh)


def test_nothing_was_told_and_more_may_be_spared() -> None:
    assert kept(None, [3, 4], [3.0, 4.0], [1.0, 1.0]) == [3, 4]
    for spare, stands in ((2.0, [19, 29]), (1.9, [20, 30])):
        assert kept([19, 29], [20, 30], [20.0, 30.0], [2.0, 3.0], spare) == stands


# --- a sheet


def _draw(take_ml: float) -> Draw:
    return Draw("V1", _NOW, 500.0, take_ml)


def test_a_tenth_more_or_less_and_five_minutes_are_no_change() -> None:
    one = _told(_set(grams=10.0))
    for grams, other in ((11.1, False), (11.2, True), (9.0, False), (8.9, True)):
        assert _differs(one, _told(_set(grams=grams)), None) is other
    for minutes, other in ((5, False), (-5, False), (5.1, True), (-6, True)):
        assert _differs(one, _told(_set(1.0 + minutes / 1440, grams=10.0)), None) is other
    assert _differs(one, _told(evolve(_set(grams=10.0), subject="V2")), None)


def test_of_a_feeding_its_doses_and_draws_are_compared() -> None:
    lines = (_line("a", 10.0), _line("b", 0.0), _line("c", 0.02, DRY, wet_ml=7.0))
    told = _told(_feed(), *lines, draws=(_draw(120.0),))
    assert _amounts(told) == {
        ("Ta", "a", "worm"): 10.0, ("Tc", "c", DRY): 7.0, ("V1", _NOW): 120.0
    }  # fmt: skip
    assert _amounts(_told(_set()))["cysts_g"] == 3.0
    assert not _differs(told, _told(_feed(), *lines, draws=(_draw(125.0),)), None)
    assert _differs(told, _told(_feed(), *lines, draws=(_draw(150.0),)), None)
    assert _differs(told, _told(_feed(), *lines), None)
    assert _differs(told, _told(_feed(), *lines[:2], draws=(_draw(120.0),)), None)


def test_what_changed_is_new_gone_or_otherwise() -> None:
    shown = {"a": _told(_set(key="a")), "b": _told(_set(key="b")), "c": _told(_set(key="c"))}
    now = {"a": shown["a"], "b": _told(_set(key="b", grams=9.0)), "d": _told(_set(key="d"))}
    assert [t.task.id for t in _changed(shown, now, None)] == ["b", "d", "c"]


def _known(*done: str, in_hand: tuple[ToldTask, ...] = (), tasks: Any = None, **more: Any) -> Any:
    record = SimpleNamespace(**{"tasks": tasks or {}, "advised": None, "line": 7, "printed": (),
                                **more})  # fmt: skip
    return SimpleNamespace(fates=SimpleNamespace(answer=dict.fromkeys(done)), in_hand=in_hand,
                           record=record, now=_NOW, reopened=(),
                           entries=[SimpleNamespace(line=7), SimpleNamespace(line=2)])  # fmt: skip


_ADVICE = Advice(Act.BUY, "cysts", "buy 40 g of cysts", _NOW + _DAY)


def test_on_a_sheet_stands_work_ahead_on_its_days_that_nobody_noted() -> None:
    """From 6 to 7 January; a feeding by its round, also where it begins the evening before."""
    sheet = Printed(_NOW, "sheet", date(2027, 1, 6), date(2027, 1, 7))
    soak = Soak(id="soak/1", at=_NOW + _DAY, until=_NOW + _DAY, subject="x", why="", dry_g=1.0,
                spoons=0.1)  # fmt: skip
    in_hand = _told(_set(1.0, "held"))
    told = [
        _told(_set(0.5, "early")), _told(_set(1.0, "first")), _told(_set(2.5, "last")),
        _told(_set(3.0, "late")), _told(_set(1.0, "done")), in_hand, _told(_count(1.0)),
        _told(soak), _told(_set(0.5, "eve"), round_at=_NOW + _DAY),
        _told(_set(2.9, "after"), round_at=_NOW + 3 * _DAY),
    ]  # fmt: skip
    known, end = _known("done", in_hand=(in_hand,)), _NOW + 9 * _DAY
    assert list(_on_sheet(sheet, told, known, end)) == ["first", "last", "soak/1", "eve"]
    assert "last" not in _on_sheet(sheet, told, known, _NOW + 2.5 * _DAY)  # past what is planned
    late = _known()
    late.now += _DAY
    assert list(_on_sheet(sheet, told, late, end)) == ["last"]
    helper = _on_sheet(evolve(sheet, by="helper"), told, _known(), end)
    assert "first" not in helper  # a helper sets no hatch


def test_on_a_calendar_of_some_groups_stands_their_work_alone() -> None:
    """And of a round that a helper feeds by a sheet of their own nothing, on whatever else."""
    days, soak_at = (date(2027, 1, 5), date(2027, 1, 9)), _NOW + _DAY
    soak = Soak(id="soak/1", at=soak_at, until=soak_at, subject="x", why="", dry_g=1.0, spoons=0.1)
    told, end = [_told(_set(1.0, "set")), _told(soak)], _NOW + 9 * _DAY
    helped = _known(printed=[Printed(_NOW, "helper", *days)])
    helped.room = SimpleNamespace(helped_at=lambda *_: True)
    for kinds, alone, with_a_helper in (
        ({"set_hatch"}, ["set"], ["set"]), ({"soak"}, ["soak/1"], []),
        ({"soak", "set_hatch", "feed"}, ["set", "soak/1"], ["set"]),
    ):  # fmt: skip
        one = Printed(_NOW, "calendar", *days, Written(frozenset(kinds), "calendar", "notes"))
        assert list(_on_sheet(one, told, _known(), end)) == alone
        assert list(_on_sheet(one, told, helped, end)) == with_a_helper


def _room(*, helped: bool) -> Any:
    asked: list[Any] = []
    return SimpleNamespace(
        helped=noting(asked, helped), horizon_days=21, asked=asked,
        with_helper=lambda *days: SimpleNamespace(days=days),
    )  # fmt: skip


def test_a_helpers_sheet_is_held_against_a_room_with_a_helper(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """From the first day of it that is not over; planned two days past its last, or as usual."""
    made: list[Any] = []

    def make(room: Any, *, now: datetime, days: int) -> Any:
        made.append((room.days, now, days))
        return "outlook"

    monkeypatch.setattr(telling_module, "make_outlook", make)
    monkeypatch.setattr(telling_module, "tasks_of", lambda _: ())
    monkeypatch.setattr(telling_module, "tellings", lambda *_: ["told"])
    sheet = Printed(_NOW, "helper", date(2027, 1, 3), date(2027, 1, 8))
    for first, last, days in ((3, 8, 21), (7, 8, 21), (3, 30, 27)):
        here: Any = SimpleNamespace(room=_room(helped=False), now=_NOW)
        one = evolve(sheet, first=date(2027, 1, first), last=date(2027, 1, last))
        ahead: Any = _with_its_helper(one, here)
        assert ahead == ["told"]
        span = date(2027, 1, max(first, 5)), date(2027, 1, last)
        assert made.pop() == (span, _NOW, days)
        assert here.room.asked == [span]
    other: Any = SimpleNamespace(room=_room(helped=True), now=_NOW)
    assert _with_its_helper(sheet, other) == ()
    other.room = _room(helped=False)
    assert _with_its_helper(evolve(sheet, by="sheet"), other) == ()
    assert made == []


def test_a_sheet_is_stale_while_its_days_last_and_something_on_it_changed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    day = date(2027, 1, 5)
    sheets = [Printed(_NOW, "sheet", day - _DAY, last) for last in (day - _DAY, day, day + _DAY)]
    then = {"a": _told(_set(0.1, "a")), "r": _told(_set(0.2, "r"), round_at=_NOW + 0.3 * _DAY)}
    now = [_told(_set(0.1, "a", 9.0)), _told(_set(0.2, "r", 9.0), round_at=_NOW + 0.3 * _DAY),
           _told(_set(0.05, "b"))]  # fmt: skip
    outlook: Any = SimpleNamespace(
        now=_NOW, until=_NOW + 9 * _DAY, room=SimpleNamespace(timezone=UTC, cultures=())
    )
    planned: list[Any] = []
    monkeypatch.setattr(telling_module, "tasks_of", lambda _: ())
    monkeypatch.setattr(telling_module, "tellings", noting(planned, now, lambda *_: 1))
    monkeypatch.setattr(telling_module, "read_record", lambda *_: SimpleNamespace(tasks=then))
    found = stale_sheets(outlook, _known(printed=sheets), tmp_path / "room.toml")
    assert [stale.printed for stale in found] == sheets[1:]
    assert found[0].rounds == (_NOW + 0.3 * _DAY,)
    assert [task.id for task in found[0].tasks] == ["b", "a"]
    assert planned == [1]
    now[:] = then.values()
    assert stale_sheets(outlook, _known(printed=sheets), tmp_path / "room.toml") == []
    planned.clear()
    assert stale_sheets(outlook, _known(printed=sheets[:1]), tmp_path / "room.toml") == []
    assert planned == []  # nothing is asked where no sheet lasts


# --- telling


def test_a_task_is_told_with_what_belongs_to_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rounds from two days before the first to a day after the last; doses that are given or given
    in their turn; a culture's kind; when a hatch is harvested.
    """
    feed, hatch, count = _feed(3.0), _set(1.0, "set_hatch/V1"), _count(1.0)
    new: Any = {"at": _NOW, "until": _NOW, "why": "", "starter_g": 10.0, "medium_g": 90.0}
    begun = Start(id="start/B", subject="shop", other="B", **new)
    split = Split(id="split/C", subject="A", other="C", **new)
    hatched: Any = {"nauplii": 1.0, "energy_j": 1.0, "fed_nauplii": 1.0, "left_over": 0.0}
    harvest = HarvestHatch(
        id="harvest_hatch/V1", at=_NOW + 2 * _DAY, until=_NOW, subject="V1", why="", **hatched
    )
    other = evolve(harvest, id="harvest_hatch/V2", at=_NOW + 5 * _DAY)
    rows = [_line("a", 1.0), _line("b", 0.0), _line("c", 0.0, skipped_g=0.1), _line("d", 0.5)]

    def worms(*names: str) -> Any:
        return SimpleNamespace(
            stages=[SimpleNamespace(culture=SimpleNamespace(name=n)) for n in names]
        )

    room = SimpleNamespace(in_hand=[_told(_feed(3.0, "feed/2"))], by_paper=(), tools=None)
    outlook: Any = SimpleNamespace(
        room=room, feedings=(), rows=lambda: [(_NOW + day * _DAY, rows) for day in (3, 1, 6)],
        feeding=SimpleNamespace(worms={"micro": worms("A", "X"), "grindal": worms("B", "C")}),
        begun=(),
    )  # fmt: skip
    spans: list[Any] = []
    monkeypatch.setattr(
        telling_module, "rounds_between", noting(spans, [SimpleNamespace(at="round")])
    )
    monkeypatch.setattr(telling_module, "tasks_of", lambda _: [other, harvest, hatch])
    monkeypatch.setattr(telling_module, "draws_at", lambda _, at: [at])
    monkeypatch.setattr(telling_module, "as_sieved", lambda draw, _: draw)
    monkeypatch.setattr(telling_module, "as_told", lambda *args, **kinds: (*args, kinds))
    tasks: list[Task] = [feed, _feed(3.0, "feed/2"), hatch, count, begun, split]
    found: Any = tellings(outlook, tasks, _NOW)
    assert [told[:3] for told in found] == [
        (task, ["round"], _NOW) for task in (feed, hatch, count, begun, split)
    ]
    none: dict[str, Any] = {
        "lines": (), "draws": (), "kind": "", "harvest_at": None, "fry": None, "needs_j": None,
    }  # fmt: skip
    assert [told[3] for told in found] == [
        {**none, "lines": [rows[0], rows[2], rows[3]], "draws": [feed.at]},
        {**none, "harvest_at": harvest.at}, none, {**none, "kind": "grindal"},
        {**none, "kind": "micro"},
    ]  # fmt: skip
    outlook.begun = (_told(_feed(3.0, "feed/2")),)  # which this look tells
    assert tellings(outlook, tasks[:2], _NOW)[1] is outlook.begun[0]
    outlook.begun = ()
    late: Any = tellings(outlook, [_feed(4.0)], _NOW + 2 * _DAY)  # nothing is fed then
    assert late[0][3]["lines"] == []
    outlook.rows = list
    tellings(outlook, tasks, _NOW)
    assert spans == [
        *[(room, _NOW - 2 * _DAY, _NOW + 7 * _DAY)] * 2, (room, _NOW - _DAY, _NOW + 7 * _DAY),
        (room, _NOW - 2 * _DAY, _NOW + _DAY),
    ]  # fmt: skip


def test_what_is_told_for_the_first_time_or_no_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of what was told before, what lies ahead and would be shown; not what is noted or in hand."""
    ahead, over, noted, held, hidden = (
        _told(_set(days, key)) for days, key in
        ((1.0, "ahead"), (0.0, "over"), (1.0, "noted"), (1.0, "held"), (1.0, "hidden"))
    )  # fmt: skip
    tasks = {t.task.id: t for t in (ahead, over, noted, held, hidden)}
    known = _known("noted", in_hand=(held,), tasks=tasks)
    fresh, gone = _news(known, [], lambda t: t.task.id != "hidden", "helper's sheet")
    assert (fresh, gone) == ([], ["ahead"])
    monkeypatch.setattr(telling_module, "same", lambda one, other: one.task.id == other.task.id
                        and one.task.at == other.task.at)  # fmt: skip
    again, new = _told(_set(2.0, "ahead")), _told(_set(1.0, "new"))
    fresh, gone = _news(known, [again, new, over], lambda _: True, "helper's sheet")
    assert (fresh, gone) == ([again, new], ["hidden"])


def test_nothing_new_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Told work that has begun stands as it was; a reminder may be told anew."""
    seen: list[Any] = []
    monkeypatch.setattr(telling_module, "present", noting(seen, "present"))
    monkeypatch.setattr(telling_module, "same", lambda one, other: one is other)
    monkeypatch.setattr(telling_module, "evolve", lambda record, **to: (record, to))
    begun, reminder, lies_ahead = _told(_set(-0.1, "s")), _told(_count(-0.1)), _told(_set(1, "a"))
    known = _known(tasks={t.task.id: t for t in (begun, reminder, lies_ahead)})
    known.entries, known.stated = (), object()
    assert as_if_told(known, [begun, reminder, lies_ahead], lambda _: True) is None
    assert seen == []
    fresh = [_told(_set(-0.2, "s")), _told(_count(-0.2)), _told(_set(2, "a")), _told(_set(1, "n"))]
    found: Any = as_if_told(known, fresh, lambda _: True)
    assert found == "present"
    (_, _, (_, changed), at) = seen.pop()
    assert at == changed["last"] == _NOW
    assert changed["tasks"] == {"s": begun, "count/1": fresh[1], "a": fresh[2], "n": fresh[3]}
    gone: Any = as_if_told(known, [begun, reminder], lambda _: True)
    assert gone == "present"
    assert set(seen.pop()[2][1]["tasks"]) == {"s", "count/1"}


def test_a_count_that_was_put_off_is_not_told_off_by_a_look_at_its_new_day() -> None:
    """Its time had come: it is asked for until it is noted. One that was told for a later day
    alone is told no more.
    """
    told = {f"count/{n}": _told(_count(key=f"count/{n}")) for n in (1, 2)}
    told["count/1"] = evolve(told["count/1"], came_at=_NOW - _DAY)
    known = _known(tasks=told)
    assert _news(known, [], lambda _: True, "today") == ([], ["count/2"])


def test_a_telling_is_recorded_where_there_is_something_to_record(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    written: list[Any] = []
    monkeypatch.setattr(
        telling_module, "append_telling",
        lambda *args, drafted: written.append((*args[3:], *(drafted or ()))),
    )  # fmt: skip
    monkeypatch.setattr(telling_module, "remember", lambda *args: written.append(args[1:]))
    monkeypatch.setattr(telling_module, "same", lambda one, other: one is other)
    told, path = _told(_set(1.0, "a")), tmp_path / "room.toml"
    known, days = _known(tasks={"a": told}), (date(2027, 1, 5), date(2027, 1, 6))
    record_telling(path, known, "today", [told], lambda _: True)
    assert written == []
    cases: Any = (
        ([_told(_set(2.0, "b")), told], {}, None),
        ([], {}, ([], ["a"], [], None, None, None, 7, set(), None)),
        ([told], {"asked": [told]}, ([], [], ["a"], None, None, None, 7, set(), None)),
        ([told], {"printed": days}, ([], [], [], days, None, None, 7, set(), None)),
        ([told], {"advice": [_ADVICE]},
         ([], [], [], None, Advised(_NOW, 7, (_ADVICE,)), None, 7, set(), None)),
        ([told], {"bare": []}, ([], [], [], None, None, [], 7, set(), None)),
    )  # fmt: skip
    for args, how, line in cases:
        record_telling(path, known, "today", args, lambda _: True, **how)
        assert written.pop() == (_NOW,)
        found = written.pop()
        assert line is None or found == line
    # Nobody need have looked at what a calendar told: a look says that it was shown.
    rung = _known(tasks={"a": evolve(told, by="calendar"), "b": told})
    record_telling(path, rung, "calendar", [], lambda _: False, shown=[told.task])
    assert written == []
    record_telling(path, rung, "today", [], lambda _: False, shown=[told.task])
    assert written[0] == ([], [], [], None, None, None, 7, {"a"}, None)
    written.clear()
    # What an answer told is told once more by a look: from then on grams cling to it.
    answered = evolve(told, looked=told)
    since = _known(tasks={"a": answered})
    record_telling(path, since, "journal", [answered], lambda _: True)
    assert written == []
    record_telling(path, since, "today", [answered], lambda _: True)
    assert [answered] in [*written[0]]
    written.clear()
    # The same as last time is not told again, and that nothing helps any more is.
    record_telling(path, known, "today", [told], lambda _: True, advice=[])
    assert written == []
    known.record.advised = Advised(_NOW - _DAY, 3, (_ADVICE,))
    record_telling(path, known, "today", [told], lambda _: True, advice=[_ADVICE])
    assert written == []
    record_telling(path, known, "today", [told], lambda _: True, advice=[])
    assert written[0][-5:] == (Advised(_NOW, 7, ()), None, 7, set(), None)


@pytest.mark.parametrize(("hours", "grams", "keeps"), [(0, 3.0, True), (1, 3.0, False),
                                                      (0, 3.1, False)])  # fmt: skip
def test_a_plan_keeps_what_was_told_where_each_hatch_is_set_so(
    monkeypatch: pytest.MonkeyPatch, hours: int, grams: float, keeps: bool
) -> None:
    """A split that was told may move by itself: nothing is weighed for it."""
    monkeypatch.setattr(telling_module, "tasks_of", lambda _: [_set(1.0), _set(2.0, "b")])
    told = Told("V1", _NOW + _DAY + timedelta(hours=hours), _NOW + 2 * _DAY, grams=grams)
    outlook: Any = SimpleNamespace(room=SimpleNamespace(told=(told, Told("worm", _NOW))))
    assert keeps_told(outlook) is keeps
