"""Tasks and plans as values: as other programs read them, and as they are told and read back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cultures.record.store import append_telling, as_told, read_record, same
from cultures.tasks.plan import Act, Certainty, CultureSpan, Remedy, Shortfall, Stop, SupplyUse
from cultures.tasks.task import (
    HELPERS_WORK,
    KINDS,
    OF_ROUND,
    Buy,
    Feed,
    rank_of,
    spawns_json,
    task_of,
    tidy,
)
from cultures.tasks.told import Draw, FeedLine, ToldTask
from tests.unit.recorded import told_task

_AT = datetime(2027, 3, 10, 7, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (3, 3), (3.0, 3), (0.0, 0), (-2.0, -2), (0.5, 0.5), (1234567.0, 1234570),
        (0.12345678, 0.123457), (99999.96, 100000), (1e-9, 1e-9),
    ],
)  # fmt: skip
def test_a_number_has_six_digits_and_no_needless_point(value: float, shown: float) -> None:
    assert tidy(value) == shown
    assert isinstance(tidy(value), int) is isinstance(shown, int)


def test_tasks_of_one_moment_are_done_in_the_order_of_a_round() -> None:
    """Nauplii are drawn off and dry food soaked before worms are taken, and then it is fed."""
    names = [kind.what for kind in KINDS]
    order = ["harvest_hatch", "soak", "harvest_worms", "feed", "split", "set_hatch", "retire"]
    assert [name for name in names if name in order] == order
    ranks = [rank_of(told_task(what, _AT, "x").task) for what in ("harvest_hatch", "feed", "split")]
    assert ranks == sorted(set(ranks))
    assert {kind.what for kind in HELPERS_WORK} == {"soak", "harvest_worms", "first_food", "feed"}
    assert {kind.what for kind in OF_ROUND} - {kind.what for kind in HELPERS_WORK} == {
        "harvest_hatch"
    }


def test_amounts_of_a_feeding_and_of_a_purchase_have_the_names_of_what_they_are() -> None:
    feed = told_task("feed", _AT, "07:30", {"tanks": 2.0, "microworm_ml": 50.0, "jar_ml": 9.0,
                                            "microworm_fed_ml": 40.0}).task  # fmt: skip
    assert isinstance(feed, Feed)
    assert (dict(feed.cups_ml), dict(feed.fed_ml), feed.jar_ml) == (
        {"microworm": 50.0}, {"microworm": 40.0}, 9.0
    )  # fmt: skip
    buy = told_task("buy", _AT, "dry food", {"dry_g": 25.0}).task
    assert isinstance(buy, Buy)
    assert (buy.item, buy.grams, buy.amounts) == ("dry", 25.0, {"dry_g": 25.0})
    with pytest.raises(KeyError):
        task_of("dance", {}, id="x", at=_AT, until=_AT, subject="x", why="")


def _full() -> ToldTask:
    told = told_task("feed", _AT, "07:30", {"tanks": 2.0, "nauplii": 123456.789}, rounds=[_AT],
                     told_at=_AT - timedelta(hours=5))  # fmt: skip
    lines = (
        FeedLine(_AT, "A1", "one", "dry", 1.5, 1.25, 0.02, "g", 4.0, None),
        FeedLine(_AT, "A1", "one", "dry", 1.5, 1.25, 0.02, "g", None, 0.01),
        FeedLine(_AT, "A2", "two", "microworm", 3.0, 2.0, 10.0, "mL"),
    )
    draws = (Draw("bottle", _AT - timedelta(hours=1), 100.0, 50.0, 0.5),
             Draw("cone", _AT, None, 50.0, 1.0))  # fmt: skip
    return evolve(told, lines=lines, draws=draws, fry={"one": 60.0, "two": 20.0})


def test_what_is_told_reads_back_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "told.jsonl"
    early, ready = _AT - timedelta(hours=5), _AT + timedelta(hours=24)
    told = [
        evolve(_full(), needs_j={"one": 4.0, "three": 5.5}),
        told_task("set_hatch", _AT, "b", {"cysts_g": 0.3}, harvest_at=ready, told_at=early),
        told_task("split", _AT, "MW-1", other="MW-2", kind="microworm", told_at=early),
    ]
    append_telling(path, early, "today", told)
    found = [*read_record(path, UTC, _AT).tasks.values()]
    assert found == [evolve(t, by="today") for t in told]
    assert all(same(one, other) for one, other in zip(found, told, strict=True))
    changed = evolve(told[0], lines=told[0].lines[:2])
    assert not same(told[0], changed)
    assert same(told[0], evolve(told[0], told_at=_AT))


def test_of_a_told_feeding() -> None:
    told = _full()
    assert told.tanks == ("A1", "A2")
    assert told.plates == {"one": (3.0, 2.5), "two": (3.0, 2.0)}
    asked = evolve(told, needs_j={"one": 4.0, "three": 5.0})
    assert asked.plates == {"one": (4.0, 2.5), "two": (3.0, 2.0), "three": (5.0, 0.0)}
    assert told.over_at == _AT + timedelta(hours=2)
    none = evolve(told, lines=(evolve(told.lines[0], amount=0.0), *told.lines[2:]))
    assert none.tanks == ("A2",)
    draw = as_told(told_task("harvest_hatch", _AT - timedelta(minutes=30), "b", until=_AT).task,
                   [_AT], _AT)  # fmt: skip
    assert draw.round_at == _AT
    line = told.lines[0].to_json()
    assert (line["wet_ml"], line["need_j"], "skipped_g" in line) == (4, 1.5, False)


def _short(**more: object) -> Shortfall:
    return evolve(Shortfall(_AT, _AT, 1, "dry", 1.0, 0.5, ("A1",), "why"), **more)  # type: ignore[arg-type]


def test_a_shortfall_is_certain_unless_it_is_thin_or_hangs_on_a_spawning() -> None:
    assert _short().certain
    assert (_short().chance, _short().probability, _short().behind_days) == (1.0, None, 0.0)
    assert not _short(thin=True).certain
    hoped = _short(spawns=(("new", "A1"),), chance=0.5)
    assert not hoped.certain
    assert hoped.to_json()["chance"] == 0.5
    plain = _short().to_json()
    assert not {"chance", "behind_days", "starves_at"} & set(plain)
    assert plain["probability"] is None
    told = _short(behind_days=1.5, starves_at=_AT, probability=0.25).to_json()
    assert (told["behind_days"], told["starves_at"], told["probability"]) == (
        1.5, _AT.isoformat(), 0.25
    )  # fmt: skip


def test_a_spawning_is_named_for_other_programs_only_where_something_hangs_on_it() -> None:
    assert spawns_json(()) == {}
    assert spawns_json((("pair", "A1"),)) == {"spawns": [{"brood": "pair", "tank": "A1"}]}


def test_other_values_for_other_programs() -> None:
    assert Remedy("buy", _AT, 1234567.0, act=Act.BUY).to_json() == {
        "what": "buy", "by": _AT.isoformat(), "effect_j": 1234570, "act": "buy", "of": "",
    }  # fmt: skip
    late = Remedy("buy", _AT, 1.0, act=Act.BUY, of="dry", was=_AT - timedelta(days=1)).to_json()
    assert (late["of"], late["told_for"]) == ("dry", (_AT - timedelta(days=1)).isoformat())
    made = Remedy("buy", _AT, 1.0, act=Act.BUY)
    assert (made.fetch, made.told) == (timedelta(0), False)  # what was just found was not told yet
    use = SupplyUse("salt", (1.0, 2.5), None, None)
    assert use.to_json() == {
        "item": "salt", "weeks_g": [1, 2.5], "stock_g": None, "buy_by": None, "out": None,
        "on_order_g": 0, "arrives": None, "overdue_g": 0,
    }  # fmt: skip
    known = evolve(use, stock_g=9.0, buy_by=date(2027, 1, 5), out=date(2027, 1, 6)).to_json()
    assert (known["stock_g"], known["buy_by"], known["out"]) == (9, "2027-01-05", "2027-01-06")
    span = CultureSpan("MW-1", "microworm", _AT, None, _AT).to_json()
    assert (span["usable_from"], span["spent_on"]) == (None, _AT.isoformat())
    assert Certainty((0.5, 1.0), (0.75, 1.0)).to_json() == {"fed": [0.5, 1], "by_luck": [0.75, 1]}
    at = _AT.date()
    for since, until, helps, told in (
        (at, _AT, (), True), (at + timedelta(days=9), _AT, (), False),
        (at + timedelta(days=9), _AT + timedelta(days=9), (), True),
    ):  # fmt: skip
        short = _short(until=until, remedies=helps)
        assert Stop("dry", "None of it.", since=since).is_told_by(short) is told
    buys = Stop("dry", "None of it.", "dry", at)
    assert not buys.is_told_by(_short())
    for act, of, food, told in (
        (Act.BUY, "dry", "dry", True), (Act.FETCH, "dry", "dry", False),
        (Act.BUY, "cysts", "dry", False), (Act.BUY, "dry", "worm", False),
    ):  # fmt: skip
        remedy = Remedy("buy it", _AT, 1.0, act=act, of=of)
        assert buys.is_told_by(_short(food=food, remedies=(remedy,))) is told
    assert Stop("dry", "None of it.").note.text == "None of it. See 'livefood shortfalls'."
