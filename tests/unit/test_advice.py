"""Advice that was told stays what it is while it can be followed, and ends when it is done."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.journal.entries import Entry
from cultures.planning.advised import as_advised, is_advised, stands_by
from cultures.record.advice import open_advice
from cultures.record.fates import Fates
from cultures.record.since import _as_told, since_advised
from cultures.record.store import Advised, append_telling, read_record
from cultures.tasks.plan import Act, Advice, Remedy, Shortfall
from cultures.tasks.task import Buy, Feed, HarvestWorms
from tests.unit.test_planning_by_hand import _START

_HOUR, _DAY = timedelta(hours=1), timedelta(days=1)
_MORNING = _START.replace(hour=7)


def _advice(act: Act, by: datetime, of: str = "x", amount: float = 0.0) -> Advice:
    return Advice(act, of, f"do {amount:g}", by, amount)


def _room(*advised: Advice, **more: Any) -> Any:
    fetched_in = {"starter": timedelta(days=1)}.__getitem__
    return SimpleNamespace(advised=advised, **{"to_buy": {}, "fetched_in": fetched_in, **more})


def _remedy(act: Act, by: datetime, of: str = "x", amount: float = 0.0) -> Remedy:
    return Remedy(f"now {amount:g}", by, 9.0, act=act, of=of, amount=amount)


# --- while it stands


@pytest.mark.parametrize(
    ("act", "told_h", "fresh_h", "by_h", "was_h"),
    [
        (Act.START, 24, 36, 24, None),  # a starter takes a day: that is no reason for another day
        (Act.START, 24, 24, 24, None),
        (Act.START, 35, 24, 35, None),  # of one day the time that was told
        (Act.START, 60, 24, 24, 60),  # it is wanted a day sooner
        (Act.START, 300, 200, 200, 300),  # however far off that is
        (Act.START, 24, 192, 24, None),  # a week later, and
        (Act.START, 24, 193, 193, 24),  # more: that is for another time of want
        (Act.BUY, 24, 193, 193, 24),
        (Act.START, -1, 24, 24, -1),  # its time is over
        (Act.START, 1, 24, 1, None),  # a starter is in the house by then, or is not
        (Act.RIPE, 12, 24, 12, None),  # a ripe culture that comes in a day is still to be had
        (Act.RIPE, 11, 24, 24, 11),  # at the last minute it is not
        (Act.BUY, 12, 24, 12, None),
        (Act.FETCH, 12, 24, 24, None),  # that was for another round, which is still to come
        (Act.FETCH, 0, 12, 0, None),
        (Act.FETCH, -1, 12, 12, -1),
        (Act.ASK, 24, 24, 24, None),  # the moment that was told, or another one is told anew
    ],
)
def test_a_time_that_was_told_stands_while_it_is_no_later_and_not_over(
    act: Act, told_h: int, fresh_h: int, by_h: int, was_h: int | None
) -> None:
    """Told for so many hours from now, where it would be told for so many by now."""
    room = _room(_advice(act, _MORNING + told_h * _HOUR))
    fresh = _MORNING + fresh_h * _HOUR
    found = as_advised(room, _MORNING, _remedy(act, fresh))
    assert (found.by, found.told) == (_MORNING + by_h * _HOUR, True)
    assert found.was == (None if was_h is None else _MORNING + was_h * _HOUR)
    assert stands_by(room, _MORNING, act, "x", fresh) == found.by


def test_what_was_not_told_is_as_it_would_be_told_now() -> None:
    remedy = _remedy(Act.START, _MORNING + _DAY)
    for told in (_advice(Act.RIPE, _MORNING), _advice(Act.START, _MORNING, "y")):
        assert as_advised(_room(told), _MORNING, remedy) == remedy
        assert not is_advised(_room(told), Act.START, "x")
    assert is_advised(_room(_advice(Act.START, _MORNING)), Act.START, "x")


@pytest.mark.parametrize(("fresh", "amount"), [(100.0, 90.0), (75.0, 90.0), (74.0, 74.0),
                                               (113.0, 113.0)])  # fmt: skip
def test_an_amount_that_was_told_stands_within_a_fifth(fresh: float, amount: float) -> None:
    room = _room(_advice(Act.FETCH, _MORNING, amount=90.0))
    found = as_advised(room, _MORNING, _remedy(Act.FETCH, _MORNING, amount=fresh))
    assert found.amount == amount
    assert found.what == (f"do {amount:g}" if amount == 90.0 else f"now {amount:g}")


def test_an_amount_that_was_told_stands_for_another_time_too() -> None:
    """What is fetched for the round after is no other amount; of two the nearer one."""
    room = _room(*(_advice(Act.FETCH, _MORNING - _HOUR, amount=a) for a in (90.0, 105.0)))
    found = as_advised(room, _MORNING, _remedy(Act.FETCH, _MORNING + _DAY, amount=102.0))
    assert (found.by, found.was) == (_MORNING + _DAY, _MORNING - _HOUR)
    assert (found.amount, found.what) == (105.0, "do 105")


def test_a_purchase_that_was_told_as_a_task_was_told() -> None:
    task = Buy(id="buy/x", at=_MORNING - _HOUR, until=_MORNING, subject="x", why="", item="x",
               grams=5.0)  # fmt: skip
    found = as_advised(_room(to_buy={"x": task}), _MORNING, _remedy(Act.BUY, _MORNING + _DAY))
    assert (found.by, found.was) == (_MORNING + _DAY, _MORNING - _HOUR)


def test_all_that_was_told_is_done_before_what_is_more_urgent() -> None:
    sooner, told, later = (
        evolve(_remedy(Act.BUY, _MORNING + n * _DAY), told=n == 1) for n in range(3)
    )
    short = Shortfall(at=_MORNING, until=_MORNING, rounds=1, food="f", need_j=1.0, short_j=1.0,
                      tanks=(), cause="", remedies=(later, sooner, told))  # fmt: skip
    assert short.steps == (told,)
    assert evolve(short, remedies=(later, sooner)).steps == (sooner,)
    assert evolve(short, remedies=(later, evolve(sooner, told=True), told)).steps == (
        evolve(sooner, told=True), told
    )  # fmt: skip
    assert evolve(short, remedies=()).steps == ()


def test_what_helps_far_more_is_done_besides() -> None:
    """More than twice as much: of that the most urgent, whether the others were told or not."""
    little, twice, much, most = (
        evolve(_remedy(Act.BUY, _MORNING + n * _DAY), effect_j=j)
        for n, j in enumerate((3.0, 6.0, 7.0, 60.0))
    )
    short = Shortfall(at=_MORNING, until=_MORNING, rounds=1, food="f", need_j=90.0,
                      short_j=90.0, tanks=(), cause="",
                      remedies=(most, much, twice, little))  # fmt: skip
    assert short.steps == (little, much)
    told = evolve(little, told=True)
    assert evolve(short, remedies=(twice, told)).steps == (told,)
    assert evolve(short, remedies=(most, twice, told)).steps == (told, most)
    late = evolve(much, told=True)
    assert evolve(short, remedies=(late, told)).steps == (told, late)


def test_what_fills_all_is_done_alone_unless_another_was_told() -> None:
    """19 of 20 parts are all of it; what was told stands beside."""
    little, nearly, whole = (
        evolve(_remedy(Act.BUY, _MORNING + n * _DAY), effect_j=j)
        for n, j in enumerate((35.0, 94.0, 95.0))
    )
    short = Shortfall(at=_MORNING, until=_MORNING, rounds=1, food="f", need_j=100.0,
                      short_j=100.0, tanks=(), cause="", remedies=(whole, little))  # fmt: skip
    assert short.steps == (whole,)
    assert evolve(short, remedies=(nearly, little)).steps == (little, nearly)
    told = evolve(little, told=True)
    assert evolve(short, remedies=(whole, told)).steps == (told, whole)


def test_what_is_there_as_the_fry_starve_is_no_rescue_where_something_is_there_sooner() -> None:
    """Fry that starve two days after their first meal, as neon tetras do: worms that come in as
    they do are begun, and something is got for their first day.
    """
    worms, jar = (
        evolve(_remedy(Act.BUY, _MORNING + n * _DAY), effect_j=j, helps_from=_MORNING + h * _HOUR)
        for n, j, h in ((0, 85.0, 120), (3, 70.0, 72))
    )
    short = Shortfall(at=_MORNING + 3 * _DAY, until=_MORNING + 9 * _DAY, rounds=9, food="any",
                      need_j=100.0, short_j=100.0, tanks=(), cause="", remedies=(worms, jar),
                      starves_at=_MORNING + 5 * _DAY)  # fmt: skip
    assert short.steps == (worms, jar)
    assert evolve(short, remedies=(worms,)).steps == (worms,)
    in_time = evolve(worms, helps_from=_MORNING + 4 * _DAY)
    assert evolve(short, remedies=(in_time, jar)).steps == (in_time,)
    late = evolve(worms, helps_from=_MORNING + 6 * _DAY)
    barely = evolve(jar, helps_from=_MORNING + 5 * _DAY)
    assert evolve(short, remedies=(late, barely)).steps == (late, barely)


# --- as it is kept, and when it is done


def test_advice_reads_back_as_it_was_told_and_the_last_holds(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    advice = (_advice(Act.START, _MORNING + _DAY), _advice(Act.FETCH, _MORNING, "y", 2.5))
    append_telling(path, _MORNING, "today", advised=Advised(_MORNING, 3, advice))
    append_telling(path, _MORNING + _HOUR, "sheet", asked=["a"])
    assert read_record(path, UTC, _MORNING + _DAY).advised == Advised(_MORNING, 3, advice)
    assert read_record(path, UTC, _MORNING - _HOUR).advised is None
    append_telling(path, _MORNING + _DAY, "today", advised=Advised(_MORNING + _DAY, 4, ()))
    assert read_record(path, UTC, _MORNING + _DAY).advised == Advised(_MORNING + _DAY, 4, ())


def test_what_was_to_be_fetched_for_one_food_that_is_short_is_one_thing_for_all(
    tmp_path: Path,
) -> None:
    path = tmp_path / "told.jsonl"
    old = (_advice(Act.FETCH, _MORNING, "brine_shrimp for microworm", 2.5),
           _advice(Act.RIPE, _MORNING, "eels for all"))  # fmt: skip
    append_telling(path, _MORNING, "today", advised=Advised(_MORNING, 3, old))
    found = read_record(path, UTC, _MORNING + _DAY).advised
    assert found is not None
    assert [advice.of for advice in found.advice] == ["brine_shrimp", "eels for all"]


def test_an_act_that_is_not_known_damages_its_line_alone(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    line = (
        '{"at":"2027-01-05T07:00:00+00:00","by":"today","noted":0,'
        '"advice":[["dance","","x","2027-01-06T07:00:00+00:00",0]]}\n'
    )
    path.write_text(line, "utf-8")
    found = read_record(path, UTC, _MORNING + 9 * _DAY)
    assert (found.advised, found.damaged) == (None, 1)


def _entry(event: str, subject: str, other: str = "", line: int = 9, amount: float = 50.0) -> Any:
    return SimpleNamespace(event=event, subject=subject, other=other, line=line, amount=amount)


def _culture(name: str, kind: str, started: date) -> Any:
    return SimpleNamespace(name=name, kind=SimpleNamespace(name=kind), started=started)


def test_a_purchase_is_done_once_one_of_that_or_an_order_is_noted() -> None:
    advice = (_advice(Act.BUY, _MORNING, "cysts"), _advice(Act.FETCH, _MORNING, "cysts"))
    record: Any = SimpleNamespace(advised=Advised(_MORNING, 5, advice), tasks={})
    room: Any = SimpleNamespace(cultures=(), coming=())
    for entry, left in (
        (_entry("bought", "cysts"), advice[1:]), (_entry("bought", "dry"), advice),
        (_entry("used", "cysts"), advice), (_entry("bought", "cysts", line=5), advice),
        (_entry("ordered", "cysts"), advice[1:]), (_entry("ordered", "cysts", amount=0.0), advice),
    ):  # fmt: skip
        assert open_advice(record, [entry], room) == left
    assert open_advice(SimpleNamespace(advised=None), [], room) == ()  # type: ignore[arg-type]


def test_a_culture_is_started_once_one_of_its_kind_is_that_no_split_made() -> None:
    today = _MORNING.date()
    advice = (_advice(Act.START, _MORNING, "worm"),)
    split = SimpleNamespace(task=SimpleNamespace(other="W-3"))
    record: Any = SimpleNamespace(advised=Advised(_MORNING, 0, advice), tasks={"s": split})
    for cultures, coming, done in (
        ((_culture("W-9", "worm", today),), (), True),
        ((), (_culture("W-9", "worm", today + _DAY),), True),
        ((_culture("W-9", "worm", today - _DAY),), (), False),
        ((_culture("E-9", "eel", today),), (), False),
        ((_culture("W-2", "worm", today),), (), False),
    ):
        room: Any = SimpleNamespace(cultures=cultures, coming=coming)
        found = open_advice(record, [_entry("split", "W-1", "W-2")], room)
        assert found == (() if done else advice), (cultures, coming)


def test_what_is_ticked_off_at_its_own_time_is_as_told() -> None:
    """In whatever unit; of a hatch that failed, or work that was skipped, it is not."""
    at, task = _MORNING, HarvestWorms(id="h", at=_MORNING, until=_MORNING, subject="W-1", why="",
                                      mg=9.0)  # fmt: skip
    told: Any = SimpleNamespace(task=task, kind="worm")
    for event, when, same in (
        ("harvest", at, True), ("harvest", at + _HOUR, False), ("skip", at, False),
        ("failed", at, False),
    ):  # fmt: skip
        entry = Entry(when, event, "W-1", "", 2.5, "draws")
        assert _as_told(entry, Fates({}, {}, {entry: told})) is same, (event, when)
        assert not _as_told(entry, Fates({}, {}, {}))


def test_since_advice_was_told_counts_what_was_noted_otherwise_and_an_edited_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cultures.record.since._as_told", lambda e, _: e.event == "set")
    path = tmp_path / "room.toml"
    path.write_text("x", "utf-8")
    entries = [_entry("failed", "b", line=8), _entry("set", "b", line=7),
               _entry("count", "t", line=6), _entry("died", "t", line=5)]  # fmt: skip
    day = _MORNING.date()
    buys = [SimpleNamespace(subject=f"{days} days on", by=day + timedelta(days=days))
            for days in (-1, 0, 1, 2)]  # fmt: skip
    told = [SimpleNamespace(name=name, at=_MORNING, harvest_at=harvest_at)
            for name, harvest_at in (("V", _MORNING), ("worms", None))]  # fmt: skip
    # A tank fed a while after its round is no reason; one fed with something else may be.
    feed = Feed(id="f", at=_MORNING, until=_MORNING, subject="round", why="", tanks=2.0, cups_ml={})
    fed = Entry(_MORNING + _HOUR, "fed", "T", line=9)
    entries += [fed, fed._replace(when=_MORNING + 3 * _HOUR, line=10),
                fed._replace(other="dry", amount=1.0, unit="g", line=11)]  # fmt: skip
    tasks = {"f": SimpleNamespace(task=feed)}
    found: Any = SimpleNamespace(
        record=SimpleNamespace(advised=Advised(_MORNING, 5, ()), looked=_MORNING, tasks=tasks),
        entries=entries,
        fates=None, room=SimpleNamespace(told=told, to_buy=dict(enumerate(buys))),
        now=_MORNING + timedelta(days=2),
    )  # fmt: skip
    since = since_advised(found, path)
    assert since is not None
    assert [e.line for e in since.noted] == [6, 8, 10, 11]
    assert (since.at, since.edited) == (_MORNING, False)
    assert since.sets == (("V", _MORNING),)
    assert since.overdue == ("0 days on", "1 days on")
    # Told last by a look: what a calendar told on the way is none.
    found.record.last = found.now
    again = since_advised(found, path)
    assert again is not None
    assert again.overdue == since.overdue
    found.record.looked = _MORNING + _DAY
    later = since_advised(found, path)
    assert later is not None
    assert later.overdue == ("1 days on",)
    path.with_name(".room.toml.history.livefood").write_text(
        '{"at":"2027-01-01T00:00:00+00:00","text":"y"}\n', "utf-8"
    )
    edited = since_advised(found, path)
    assert edited is not None
    assert edited.edited
    found.record.advised = None
    assert since_advised(found, path) is None
