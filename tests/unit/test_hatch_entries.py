"""What entries make of bottles, case by case; the room is that of `test_replay_by_hand`.

Its bottle holds a litre at 27 °C, where cysts hatch in 17 to 23 hours.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from cultures.journal.entries import Entry
from cultures.journal.events import APART
from cultures.record.carried_out import as_entry
from cultures.replay.doubts import cysts_doubt
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, Step
from cultures.room.room import HeldNauplii, Room, RunningHatch
from cultures.tasks.told import ToldTask
from cultures.words.moments import hours
from tests.unit.recorded import replay, told_task
from tests.unit.test_replay_by_hand import ROOM, _at

_EACH_J = ROOM.hatch_kind.values["energy_j"]
#: Until how long after a harvest a round may begin that is fed of it, there being no refrigerator:
#: an hour more than it keeps [h].
_HELD_H = int(3600 * (ROOM.holding.longest_h(hours(_at(6, 8))) + 1.0)) / 3600


def _set(at: datetime, grams: float = 2.0, vessel: str = "bottle") -> Entry:
    return Entry(at, "set", vessel, "", grams, "g")


def _counted(at: datetime, nauplii: float, event: str = "hatched") -> Entry:
    return Entry(at, event, "bottle", "", nauplii, "nauplii")


def _noted(now: datetime, *steps: Entry | Step, room: Room = ROOM) -> Replayed:
    numbered = [s if isinstance(s, Step) else s._replace(line=i + 2) for i, s in enumerate(steps)]
    return replay(room, numbered, now, OwnValues())


def _doubt(entry: Entry, *before: Entry) -> str | None:
    """What is said against an entry before it is recorded, after others."""
    numbered = [e._replace(line=i + 2) for i, e in enumerate(before)]
    found = replay(ROOM, [*numbered, entry], entry.when, OwnValues()).doubts
    return found[-1][1] if found else None


def _told_set(at: datetime, vessel: str = "bottle", key: str = "set_hatch/10/1") -> ToldTask:
    return told_task("set_hatch", at, vessel, {"cysts_g": 2.0, "water_l": 0.5, "salt_g": 10.0},
                     key=key, harvest_at=at + timedelta(hours=24))  # fmt: skip


# --- set


def test_a_hatch_that_was_told_has_the_key_and_the_harvest_it_was_told_with() -> None:
    told = _told_set(_at(6, 8))
    (hatch,) = _noted(_at(6, 9), Step(as_entry(told), told, True)).room.hatches
    assert hatch == RunningHatch("bottle", _at(6, 8), 2.0, key="10/1", harvest_at=_at(7, 8))
    (own,) = _noted(_at(6, 9), _set(_at(6, 8))).room.hatches
    assert own == RunningHatch("bottle", _at(6, 8), 2.0)


@pytest.mark.parametrize(("minutes", "late"), [(-30, False), (30, False), (31, True)])
def test_a_hatch_is_late_that_is_set_over_half_an_hour_after_it_was_told(
    minutes: int, *, late: bool
) -> None:
    told = _told_set(_at(6, 8))
    entry = as_entry(told)._replace(when=_at(6, 8) + timedelta(minutes=minutes))
    (hatch,) = _noted(_at(6, 9), Step(entry, told, True)).room.hatches
    assert hatch.late is late


def test_nothing_told_is_set_where_something_stands_or_in_no_bottle() -> None:
    told = _told_set(_at(6, 8))
    busy = _noted(_at(6, 9), _set(_at(6, 7), 1.0), Step(as_entry(told), told, True))
    assert busy.contradicted == {told.task.id}
    assert [h.cysts_g for h in busy.room.hatches] == [1.0]
    cone = _told_set(_at(6, 8), "cone")
    none = _noted(_at(6, 9), Step(as_entry(cone), cone, True))
    assert none.contradicted == {cone.task.id}
    free = _noted(_at(6, 9), Step(as_entry(told), told, True))
    assert free.contradicted == frozenset()


def test_a_later_setting_takes_the_place_of_what_nobody_drew_off() -> None:
    two = _noted(_at(8), _set(_at(6, 8), 1.0), _set(_at(7, 8), 2.0))
    assert [(h.set_at, h.cysts_g) for h in two.room.hatches] == [(_at(7, 8), 2.0)]
    same = _noted(_at(8), _set(_at(7, 8), 1.0), _set(_at(7, 8), 2.0))
    assert [h.cysts_g for h in same.room.hatches] == [1.0]  # at the same moment it is one
    assert two.room.cysts is not None
    assert two.room.cysts.grams == 47.0


def test_a_bottle_told_of_and_gone_from_the_file_takes_cysts_and_its_own_salt() -> None:
    """Half a litre with 10 g of salt, as it was told; it is in no list of the room."""
    told = _told_set(_at(6, 8), "cone")
    noted = Entry(_at(6, 8), "set", "cone", "", 2.0, "g")
    got = _noted(_at(6, 9), Step(noted._replace(line=2), told)).room
    assert got.cysts is not None
    assert (got.cysts.grams, got.stock_g["salt"]) == (48.0, 490.0)
    assert [v.name for v in got.vessels] == ["bottle"]
    assert got.hatches == ()
    assert not any("is not in the room file" in note for note in got.notes)
    unknown = _noted(_at(6, 9), noted).room
    assert any("'cone' is not in the room file" in note for note in unknown.notes)
    assert unknown.stock_g["salt"] == 500.0
    # What is told to be set in it next was not.
    again = _told_set(_at(8, 8), "cone", "set_hatch/12/1")
    later = _noted(_at(9), Step(noted._replace(line=2), told), Step(as_entry(again), again, True))
    assert later.contradicted == {again.task.id}


# --- doubts


def test_what_cannot_be_set_is_doubted() -> None:
    assert _doubt(_set(_at(6, 8), 20.0)) is None
    assert "more than 20 g/L is taken for a slip" in (_doubt(_set(_at(6, 8), 20.1)) or "")
    standing = _set(_at(6, 8))
    assert "holds a hatch of 2 g" in (_doubt(_set(_at(6, 9)), standing) or "")
    assert "holds a hatch of 2 g" in (_doubt(_set(_at(6, 8)), standing) or "")
    assert _doubt(_set(_at(6, 7)), standing) is None  # before it


_CROWDED = ", and more than 7.5 g is crowded in 1.5 L"


@pytest.mark.parametrize(
    ("set_g", "told_g", "said"),
    [
        (4.9, 2.0, None),  # more than told, and not crowded
        (7.0, 0.6, "7 g of cysts, where 0.6 g was told; did you mean 0.7 g?"),
        (8.0, 1.2, "8 g of cysts, where 1.2 g was told" + _CROWDED + "; did you mean 0.8 g?"),
        (3.0, 0.3, "3 g of cysts, where 0.3 g was told; did you mean 0.3 g?"),
        (7.6, 4.0, "7.6 g of cysts, where 4 g was told" + _CROWDED),
        (9.0, 9.0, None),  # as told
    ],
)  # fmt: skip
def test_far_more_cysts_than_told_are_asked_back(
    set_g: float, told_g: float, said: str | None
) -> None:
    """A tenth of what is noted, within half and twice what was told, is a point left out."""
    assert cysts_doubt(set_g, 1.5, 7.5, told_g) == said


def test_what_cannot_be_counted_is_doubted() -> None:
    most = 1.5 * 2.0 * ROOM.hatch_kind.parameters["nauplii_per_gram"].high
    standing = _set(_at(6, 8))
    for event in ("hatched", "count"):
        assert _doubt(_counted(_at(7, 8), most, event), standing) is None
        assert "at the very most" in (_doubt(_counted(_at(7, 8), most + 1, event), standing) or "")
    assert _doubt(Entry(_at(7, 8), "failed", "bottle"), standing) is None


def test_a_bottle_is_not_drawn_off_twice_but_counted_after_it() -> None:
    drawn = (_set(_at(6, 8)), Entry(_at(7, 8), "harvest", "bottle"))
    late = _at(7, 8) + timedelta(hours=_HELD_H)
    assert _doubt(_counted(late, 1e5), *drawn) is None
    assert "was drawn off" in (_doubt(_counted(late + timedelta(minutes=1), 1e5), *drawn) or "")
    counted = (_set(_at(6, 8)), _counted(_at(7, 8), 1e5))
    assert "journal undo --line 3 first" in (_doubt(_counted(_at(7, 9), 2e5), *counted) or "")
    assert "no hatch stands in bottle" in (_doubt(_counted(_at(7, 9), 1e5)) or "")


def test_more_than_the_cysts_give_is_doubted_also_once_it_is_drawn_off() -> None:
    most = 1.5 * 2.0 * ROOM.hatch_kind.parameters["nauplii_per_gram"].high
    drawn = (_set(_at(6, 8)), Entry(_at(7, 8), "harvest", "bottle"))
    anew = (*drawn, _set(_at(7, 9), 9.0))
    for before in (drawn, anew):
        for event in ("hatched", "count") if before is anew else ("hatched",):
            assert _doubt(_counted(_at(7, 10), most, event), *before) is None
            said = _doubt(_counted(_at(7, 10), most + 1, event), *before)
            assert "its 2 g of cysts give" in (said or "")


def test_an_empty_bottle_is_not_drawn_off() -> None:
    harvest = Entry(_at(7, 8), "harvest", "bottle")
    assert "no hatch stands in bottle" in (_doubt(harvest) or "")
    assert _doubt(harvest, _set(_at(6, 8))) is None
    assert "no hatch stands" in (_doubt(harvest, _set(_at(7, 9))) or "")  # which is set later
    again = harvest._replace(when=_at(7, 9))
    said = _doubt(again, _set(_at(6, 8)), harvest)
    assert "bottle was drawn off on Thu 7 Jan 08:00 and not set since" in (said or "")
    assert "undo" not in (said or "")
    assert "skip" not in (said or "")
    # What was before the day of the file it does not say.
    assert _doubt(harvest._replace(when=_at(4, 8))) is None


def test_a_bottle_that_is_only_taken_as_drawn_off_says_how_to_say_that_it_was_not() -> None:
    told = told_task("harvest_hatch", _at(7, 8), "bottle", {"nauplii": 1e5}, key="harvest_hatch/1")
    late = Entry(_at(8, 22), "harvest", "bottle")
    steps = [Step(_set(_at(6, 8))._replace(line=2)), Step(as_entry(told), told, True), Step(late)]
    ((_, said),) = replay(ROOM, steps, _at(8, 22), OwnValues()).doubts
    assert "bottle was drawn off on Thu 7 Jan 08:00" in said
    assert "if it was not: journal skip 'bottle' first" in said


# --- counts of what was drawn off


def _held(*steps: Entry, now: datetime) -> tuple[HeldNauplii, ...]:
    return _noted(now, *steps).room.held


def test_a_count_after_drawing_off_says_what_was_drawn_off() -> None:
    drawn = (_set(_at(6, 8)), Entry(_at(7, 8), "harvest", "bottle"))
    last = _at(7, 8) + timedelta(hours=_HELD_H)
    (held,) = _held(*drawn, _counted(_at(7, 9), 5e4, "count"), now=_at(7, 9))
    assert held.harvested_at == _at(7, 8)
    assert held.nauplii == pytest.approx(5e4)
    (model,) = _held(*drawn, now=_at(7, 9))
    assert held.energy_j / held.nauplii == pytest.approx(model.energy_j / model.nauplii)
    (latest,) = _held(*drawn, _counted(last, 5e4, "count"), now=last)
    assert latest.nauplii == pytest.approx(5e4)
    twice = _held(*drawn, _counted(_at(7, 9), 5e4, "count"), _counted(_at(7, 10), 7e4, "count"),
                  now=_at(7, 10))  # fmt: skip
    assert twice[0].nauplii == pytest.approx(5e4)  # the first count stands


def test_a_count_within_hours_of_setting_anew_is_of_the_harvest_before() -> None:
    """Until half in a hundred of the new one are out, 13.7 hours after it at 27 °C."""
    drawn = (_set(_at(6, 8)), Entry(_at(7, 8), "harvest", "bottle"), _set(_at(7, 8, 30)))
    for event in ("count", "hatched"):
        got = _noted(_at(7, 10), *drawn, _counted(_at(7, 10), 5e4, event)).room
        assert got.held[0].nauplii == pytest.approx(5e4)
        assert [h.share for h in got.hatches] == [1.0]
        assert [h.set_at for h in got.hatches] == [_at(7, 8, 30)]
    late = _noted(_at(8, 8), *drawn, _counted(_at(8, 8), 5e4, "hatched"))
    assert late.room.hatches == ()
    assert [h.harvested_at for h in late.room.held] == [_at(8, 8)]


def test_nauplii_counted_of_an_empty_bottle_are_there_with_the_energy_of_just_hatched_ones() -> (
    None
):
    (held,) = _held(_counted(_at(7, 8), 1000.0), now=_at(7, 9))
    assert (held.nauplii, held.energy_j) == pytest.approx((1000.0, 1000 * _EACH_J))
    assert _held(Entry(_at(7, 8), "harvest", "bottle"), now=_at(7, 9)) == ()


def test_a_hatch_of_nothing_is_known_as_such_once_it_had_its_time() -> None:
    """Half of the cysts have hatched within 20 h at 27 °C, none within three."""

    def empty(*rest: Entry) -> int:
        return len(_noted(_at(8, 9), _set(_at(6, 8)), *rest).seen.empty)

    none = _counted(_at(7, 8), 0.0, "hatched")
    assert empty(none) == 1
    assert empty(_counted(_at(6, 11), 0.0, "hatched")) == 0
    assert empty(none, _set(_at(7, 8, 30)), Entry(_at(8, 8, 30), "failed", "bottle")) == 2
    assert empty(none._replace(other=APART)) == 0


@pytest.mark.parametrize(
    ("degrees", "told_nauplii", "left"),
    [(18.0, 400_000.0, True), (18.0, 60_000.0, False), (24.0, 400_000.0, False)],
)
def test_a_hatch_that_stood_too_cold_to_be_ripe_is_left_to_stand(
    degrees: float, told_nauplii: float, *, left: bool
) -> None:
    """Told for 24 h at 27 °C, where 23 h bring nine tenths. After 12 h of it and 12 h at 18 °C, at
    less than half the speed, it is as old as 18 h make it, when a tenth (17 h) to a half (20 h) are
    out; at 24 °C hardly two hours behind. What was told of so few is drawn off.
    """
    told = told_task("harvest_hatch", _at(7, 8), "bottle", {"nauplii": told_nauplii},
                     key="harvest_hatch/10/1", harvest_at=_at(7, 8))  # fmt: skip
    cold = Entry(_at(6, 20), "temperature", "bottle", "", degrees, "C")
    got = _noted(_at(7, 9), _set(_at(6, 8)), cold, Step(as_entry(told), told, True))
    assert (told.task.id in got.contradicted) is left
    assert bool(got.room.hatches) is left
    assert bool(got.room.held) is not left
    seen = Entry(_at(7, 8), "harvest", "bottle")  # who notes that it was drawn off knows
    assert not _noted(_at(7, 9), _set(_at(6, 8)), cold, seen).room.hatches


def test_what_failed_gives_nothing_and_teaches_nothing() -> None:
    failed = Entry(_at(7, 8), "failed", "bottle")
    got = _noted(_at(7, 9), _set(_at(6, 8)), failed)
    assert (got.room.hatches, got.room.held) == ((), ())
    assert len(got.seen.set_aside) == 1
    # After it was drawn off, the harvest of it is no food; those before it are.
    two = _noted(
        _at(7, 9), _set(_at(5, 20)), Entry(_at(7, 6), "harvest", "bottle"),
        _set(_at(7, 6, 1)), Entry(_at(7, 7), "harvest", "bottle"), failed,
    ).room.held  # fmt: skip
    assert [h.harvested_at for h in two] == [_at(7, 6)]


def test_a_harvest_too_old_to_be_fed_is_held_no_more() -> None:
    drawn = (_set(_at(5, 8)), _counted(_at(6, 8), 1000.0))
    last = _at(6, 8) + timedelta(hours=_HELD_H)
    assert len(_held(*drawn, now=last)) == 1
    assert _held(*drawn, now=last + timedelta(minutes=1)) == ()
    newer = _held(*drawn, _counted(last, 10.0), now=last)
    assert len(newer) == 2


def test_the_jar_of_a_told_harvest_takes_its_salt() -> None:
    """A litre of the bottle's 25 g/L, besides what the bottle took."""
    for jar, left_g in (({"jar_ml": 1000.0}, 450.0), ({}, 475.0)):
        told = told_task("harvest_hatch", _at(7, 8), "bottle", {"nauplii": 1.0, **jar},
                         key="harvest_hatch/10/1")  # fmt: skip
        steps = (_set(_at(6, 8)), Step(as_entry(told), told, True))
        assert _noted(_at(7, 9), *steps).room.stock_g["salt"] == left_g


def test_what_is_noted_for_the_moment_of_its_setting_is_of_that_hatch() -> None:
    for event in ("failed", "harvest"):
        got = _noted(_at(7), _set(_at(6, 8)), Entry(_at(6, 8), event, "bottle")).room
        assert got.hatches == ()
