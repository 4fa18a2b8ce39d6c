"""What entries make of worm cultures, case by case; the room is that of `test_replay_by_hand`.

Its box MW-1 was begun on 20 December with 15 g in 150 g; a swipe holds 20 mg.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from attrs import evolve

from cultures.journal.entries import Entry
from cultures.record.carried_out import as_entry
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, Step
from cultures.replay.worms import Life
from cultures.room.room import Culture, Room
from tests.unit.recorded import replay, told_task
from tests.unit.test_replay_by_hand import ROOM, _at

_STATED = evolve(ROOM, as_of_stated=True)


def _noted(day: int, *steps: Entry | Step, room: Room = ROOM) -> Replayed:
    numbered = [s if isinstance(s, Step) else s._replace(line=i + 2) for i, s in enumerate(steps)]
    return replay(room, numbered, _at(day), OwnValues())


def _life(day: int, *steps: Entry | Step, name: str = "MW-1") -> Life:
    return _noted(day, *steps).lives[name]


def _culture(day: int, name: str, *steps: Entry | Step, room: Room = ROOM) -> Culture:
    return _noted(day, *steps, room=room).room.culture(name)


def _notes(day: int, *steps: Entry | Step, room: Room = ROOM) -> str:
    return " ".join(_noted(day, *steps, room=room).room.notes)


def _split(
    at_day: int, child: str = "MW-2", parent: str = "MW-1", grams: float | None = 30.0
) -> Entry:
    return Entry(_at(at_day), "split", parent, child, grams, "g" if grams is not None else "")


# --- splits


def test_a_split_gives_a_share_of_its_worms_to_a_child_of_that_day() -> None:
    """30 of 150 g are a fifth; the child has the medium and surface of its parent."""
    before = _life(8, Entry(_at(8), "harvest", "MW-1", "", 0, "mg")).state.stock_mg
    got = _noted(8, _split(8))
    parent, child = got.lives["MW-1"], got.lives["MW-2"]
    assert parent.state.stock_mg == pytest.approx(0.8 * before)
    assert child.state.stock_mg == pytest.approx(0.2 * before)
    culture = got.room.culture("MW-2")
    assert (culture.started, culture.starter_g) == (date(2027, 1, 8), 30.0)
    assert (culture.medium_g, culture.surface_cm2) == (150.0, 200.0)
    assert got.room.stock_g["medium"] == 1000.0 - 27.0  # of 150 g of porridge 18 % are oats
    assert [t.what for t in parent.log] == ["split MW-2"]
    assert _culture(8, "MW-2", _split(8, grams=None)).starter_g == 15.0


def test_a_name_that_stands_already_is_told_and_not_begun_again() -> None:
    first, again = _split(8), _split(9)
    got = _noted(10, first, again)
    assert got.room.culture("MW-2").started == date(2027, 1, 8)
    assert "there was a MW-2 already when MW-1 was split" in _notes(10, first, again)
    assert got.room.stock_g["medium"] == 1000.0 - 27.0  # of 150 g of porridge 18 % are oats
    same_day = _notes(10, first, _split(8))
    assert "already" not in same_day  # begun anew on that day


def test_a_split_of_what_is_gone_counts_all_the_same_and_is_told() -> None:
    gone = Entry(_at(7), "discard", "MW-1")
    got = _noted(9, gone, _split(8))
    assert [c.name for c in got.room.cultures] == ["MW-2"]
    assert "MW-1 was split after it was gone by another line" in _notes(9, gone, _split(8))
    assert got.room.stock_g["medium"] == 1000.0 - 27.0  # of 150 g of porridge 18 % are oats
    unknown = _notes(9, _split(8, parent="GW-9"))
    assert "'GW-9' is not in the room file" in unknown


@pytest.mark.parametrize(
    ("child", "kind"), [("MW-7", "microworm"), ("GW-7", "grindal_worm"), ("XX-7", None)]
)
def test_a_child_of_what_left_the_file_lives_on_by_its_label(child: str, kind: str | None) -> None:
    """The file is of the 5th; on the 4th something was split that it does not have."""
    got = _noted(9, _split(4, child, "OLD-1"))
    found = [c for c in got.room.cultures if c.name == child]
    assert [c.kind.name for c in found] == ([kind] if kind else [])
    if kind == "grindal_worm":  # of which there is no other: as one usually is
        assert (found[0].medium_g, found[0].surface_cm2, found[0].starter_g) == (150.0, 180.0, 30.0)
    if kind == "microworm":
        assert (found[0].medium_g, found[0].surface_cm2) == (150.0, 200.0)


def test_a_child_split_since_the_file_stands_though_its_parent_was_deleted_from_it() -> None:
    """The file is of the 5th, without the parent's table; the child was split on the 8th."""
    split = _split(8, "MW-7", "OLD-1")
    parent = evolve(ROOM.culture("MW-1"), name="OLD-1", medium_g=90.0)
    room = evolve(ROOM, earlier={"OLD-1": parent})
    got = _noted(9, split, room=room).room
    assert (got.culture("MW-7").kind.name, got.culture("MW-7").medium_g) == ("microworm", 90.0)
    assert got.culture("MW-7").started == date(2027, 1, 8)
    assert any("MW-7, split from it, counts on as microworm on 90 g" in x for x in got.notes)
    # Of a kind that the file does not have any more nothing can be planned.
    bare = evolve(
        room, kinds={k: v for k, v in room.kinds.items() if k != "microworm"}, cultures=()
    )
    lost = _noted(9, split, room=bare).room
    assert (lost.cultures, any("MW-7 is not used" in x for x in lost.notes)) == ((), True)


def test_a_child_of_which_nobody_knows_the_parent_is_named_as_lost() -> None:
    said = _notes(9, _split(8, "MW-7", "OLD-1"))
    assert "MW-7 is not used: 'OLD-1', of which it was split, is not in the room file" in said


@pytest.mark.parametrize("to_come", [True, False])
def test_a_split_told_of_a_culture_that_is_still_to_come_was_not_made(*, to_come: bool) -> None:
    """Told of the box of the untouched template, which the file says by now is in the post."""
    told = told_task("split", _at(4), "PW-1", other="MW-2", kind="microworm")
    coming = (evolve(ROOM.culture("MW-1"), name="PW-1", planned=True),)
    room = evolve(ROOM, coming=coming if to_come else ())
    got = _noted(5, Step(as_entry(told), told, True), room=room)
    assert ("MW-2" in got.lives, told.task.id in got.contradicted) == (not to_come, to_come)


def test_a_bottle_of_which_there_is_no_other_is_of_a_litre_and_a_half() -> None:
    got = _culture(9, "VE-1", Entry(_at(8), "start", "VE-1", "vinegar_eel"))
    assert (got.medium_g, got.surface_cm2, got.starter_g) == (1500.0, None, 150.0)


# --- starts and ends


def test_a_start_is_like_another_of_its_kind_or_like_the_one_that_was_to_come() -> None:
    plain = _culture(9, "MW-2", Entry(_at(8), "start", "MW-2", "microworm", 40.0, "g"))
    assert (plain.started, plain.starter_g, plain.medium_g) == (date(2027, 1, 8), 40.0, 150.0)
    coming = tuple(
        evolve(ROOM.culture("MW-1"), name=name, medium_g=grams, planned=True)
        for name, grams in (("MW-2", 300.0), ("MW-3", 90.0))
    )
    ahead = evolve(ROOM, coming=coming)
    got = _noted(9, Entry(_at(8), "start", "MW-2", "microworm"), room=ahead).room
    assert got.culture("MW-2").medium_g == 300.0
    assert got.culture("MW-2").planned is False
    assert [c.name for c in got.coming] == ["MW-3"]
    twice = _noted(9, Entry(_at(7), "start", "MW-2", "microworm"),
                   Entry(_at(8), "start", "MW-2", "microworm"))  # fmt: skip
    assert twice.room.culture("MW-2").started == date(2027, 1, 7)
    assert "'MW-4' is not in the room file" in _notes(9, Entry(_at(8), "start", "MW-4", "bread"))


@pytest.mark.parametrize(("event", "other", "crashed"), [("discard", "", False),
                                                        ("discard", "crashed", True),
                                                        ("failed", "", True)])  # fmt: skip
def test_what_is_thrown_out_was_watched_from_the_first_entry_on(
    event: str, other: str, crashed: bool
) -> None:
    first = Entry(_at(6), "note", "room", note="all well")
    got = _noted(9, first, Entry(_at(8), event, "MW-1", other))
    assert got.room.cultures == ()
    (span,) = got.seen.spans
    assert (span.kind, span.crashed) == ("microworm", crashed)
    assert span.to_h - span.from_h == 48.0
    standing = _noted(9, first).seen.spans
    assert [s.to_h - s.from_h for s in standing] == [72.0]
    assert _noted(9).seen.spans == []  # nobody watched


def test_what_a_newer_file_has_is_not_thrown_out_by_an_older_line() -> None:
    old = Entry(_at(4), "discard", "MW-1")
    got = _noted(9, old, room=_STATED)
    assert [c.name for c in got.room.cultures] == ["MW-1"]
    assert "take it out of the file if it is gone" in _notes(9, old, room=_STATED)
    at = Entry(_at(5, 0), "discard", "MW-1")
    assert _noted(9, at, room=_STATED).room.cultures == ()


# --- harvests and counts


def _after(*steps: Entry) -> float:
    return _life(8, *steps).state.stock_mg


_NOTHING = Entry(_at(8), "harvest", "MW-1", "", 0, "mg")


def test_all_that_climbs_is_that_share_of_what_stands() -> None:
    stood = _after(_NOTHING)
    share = _life(8).model.climbing_fraction
    assert _after(Entry(_at(8), "harvest", "MW-1", "all")) == pytest.approx((1 - share) * stood)
    # Measured, it is a count of what stood there: 30 mg are all that climbed.
    measured = _after(Entry(_at(8), "harvest", "MW-1", "all", 30.0, "mg"))
    assert measured == pytest.approx(30.0 / share - 30.0)
    for amount, unit, taken in ((2, "swipes", 40), (25, "mg", 25), (None, "", 0)):
        left = _after(Entry(_at(8), "harvest", "MW-1", "", amount, unit))
        assert stood - left == pytest.approx(taken)


@pytest.mark.parametrize(("times", "taught"), [(1.14, 0), (1.16, 1)])
def test_more_than_was_thought_to_climb_tells_of_what_it_carries(times: float, taught: int) -> None:
    life = _life(8, _NOTHING)
    expected = life.climbing()
    entry = Entry(_at(8), "harvest", "MW-1", "", times * expected, "mg")
    assert len(_noted(8, entry).seen.yields) == taught
    every = entry._replace(other="all")
    (seen,) = _noted(8, every).seen.yields
    assert (seen.taken_mg, seen.expected_mg) == pytest.approx((times * expected, expected))
    assert (seen.at_least, seen.in_portions, seen.ripe) == (False, False, True)
    swiped = Entry(_at(8), "harvest", "MW-1", "all", 1.0, "swipes")
    assert _noted(8, swiped).seen.yields[0].in_portions
    told = told_task("harvest_worms", _at(8), "MW-1", {"mg": 2 * expected})
    presumed = Step(as_entry(told), told, True)
    assert _noted(8, presumed).seen.yields == []


def test_more_than_stands_there_teaches_nothing() -> None:
    stood = _after(_NOTHING)
    for taken, taught in ((stood, 1), (stood * 1.001, 0), (0.0, 0)):
        entry = Entry(_at(8), "harvest", "MW-1", "all", taken, "mg")
        assert len(_noted(8, entry).seen.yields) == taught


def test_a_swipe_that_is_counted_teaches_and_a_tray_or_none_sets() -> None:
    """A worm of so many micrograms."""
    each_mg = ROOM.culture("MW-1").kind.values["individual_mass_ug"] / 1000
    got = _noted(8, Entry(_at(8), "count", "MW-1", "swipe", 30 / each_mg, "worms"))
    (swipe,) = got.seen.swipes
    assert swipe.mg == pytest.approx(30.0)
    assert got.lives["MW-1"].state.stock_mg == pytest.approx(_after(_NOTHING))
    assert _after(Entry(_at(8), "count", "MW-1", "tray", 700.0, "mg")) == pytest.approx(700.0)
    assert _after(Entry(_at(8), "count", "MW-1", "swipe", 0, "worms")) == 0.0
    stood = _after(_NOTHING)
    for mg, swipes in ((stood, 1), (stood * 1.001, 0)):
        seen = _noted(8, Entry(_at(8), "count", "MW-1", "swipe", mg, "mg")).seen
        assert (len(seen.swipes), len(seen.set_aside)) == (swipes, 1 - swipes)


# --- temperatures


def test_the_room_is_another_and_with_it_what_stands_at_the_rooms() -> None:
    """A box at its own temperature stays at that; days count at the warmth of each."""
    warm = Entry(_at(6), "temperature", "room", "", 20.0, "C")
    got = _noted(8, warm, _NOTHING)
    assert got.room.temperatures_c == (20.0,)
    rate = ROOM.culture("MW-1").kind.rate
    first, then = (_at(6) - _at(5)).total_seconds() / 86400, 2.0
    begun = 16.0 + first  # noon of 20 December to noon of the 5th, and on
    assert got.lives["MW-1"].state.age == pytest.approx(begun * rate(24.0) + then * rate(20.0))
    own = Entry(_at(6), "temperature", "MW-1", "", 18.0, "C")
    alone = _noted(8, own, _NOTHING)
    assert alone.room.culture("MW-1").temperature_c == 18.0
    assert alone.room.temperatures_c == (24.0,)
    assert alone.lives["MW-1"].state.age == pytest.approx(begun * rate(24.0) + then * rate(18.0))


# --- what was told


def test_a_told_harvest_or_split_is_that_of_the_culture_that_stood_then() -> None:
    told = told_task("harvest_worms", _at(8), "MW-2", {"mg": 20.0}, key="harvest_worms/1")
    step = Step(as_entry(told), told, True)
    assert _noted(9, _split(5), step).contradicted == frozenset()
    late = _noted(9, _split(6), step)  # begun within its three days: another one of the name
    assert late.contradicted == {"harvest_worms/1"}
    assert _noted(9, step).contradicted == {"harvest_worms/1"}
    empty = Entry(_at(7), "count", "MW-1", "tray", 0, "mg")
    mine = told_task("harvest_worms", _at(8), "MW-1", {"mg": 20.0}, key="harvest_worms/2")
    assert _noted(9, empty, Step(as_entry(mine), mine, True)).contradicted == {"harvest_worms/2"}
    split = told_task("split", _at(8), "MW-1", {"starter_g": 15.0, "medium_g": 150.0}, other="MW-2",
                      key="split/MW-2", kind="microworm")  # fmt: skip
    doubled = _noted(9, _split(7), Step(as_entry(split), split, True))
    assert doubled.contradicted == {"split/MW-2"}
    start = told_task("start", _at(8), "microworm", {"starter_g": 15.0, "medium_g": 150.0},
                      other="MW-2", key="start/MW-2", kind="microworm")  # fmt: skip
    there = _noted(9, _split(7), Step(as_entry(start), start, True))
    assert there.contradicted == {"start/MW-2"}
    assert _noted(9, Step(as_entry(start), start, True)).room.culture("MW-2").starter_g == 15.0


def test_what_was_gone_by_then_is_doubted_before_it_is_recorded() -> None:
    gone = Entry(_at(7), "discard", "MW-1", line=2)
    late = Entry(_at(7) + timedelta(hours=1), "harvest", "MW-1", "", 5, "mg")
    for event, doubted in (("harvest", True), ("split", True), ("count", True), ("note", False)):
        entry = late._replace(event=event, note="x")
        doubts = replay(ROOM, [gone, entry], entry.when, OwnValues()).doubts
        assert any("MW-1 was gone by then" in why for _, why in doubts) is doubted, event
    early = late._replace(when=_at(6))
    assert replay(ROOM, [early, gone], _at(8), OwnValues()).doubts == ()
