"""The room at a moment: each event by what it must change, by hand where possible."""

from __future__ import annotations

import math
import re
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.foods.worms import carrying_capacity, growth_step, through
from cultures.journal.events import EVENTS, Entry
from cultures.needs.need import BroodCourse
from cultures.planning.build import build_tasks
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import make_plan
from cultures.record.carried_out import as_entry
from cultures.record.present import present
from cultures.record.store import Record
from cultures.replay.observations import Observations
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Step
from cultures.room.file import read_room
from cultures.room.room import Culture, Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import FirstFood, HarvestHatch, SetHatch, Split
from cultures.tasks.told import Draw, ToldTask
from cultures.words.moments import hours
from tests.simulation import simulate
from tests.unit.recorded import all_told, lines, record_of, replay, room_at, told_task

_ZONE = ZoneInfo("Europe/Lisbon")
_TODAY = date(2027, 1, 5)
_NOW = datetime(2027, 1, 7, 12, 0, tzinfo=_ZONE)


@pytest.fixture(scope="module")
def room() -> Room:
    """The demo room, true as of 4 January."""
    return read_room(demo_text(_TODAY), today=_TODAY)


def _at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2027, 1, day, hour, minute, tzinfo=_ZONE)


def _entries(*rows: tuple[datetime, str, str] | tuple[object, ...]) -> list[Entry]:
    return [Entry(*row)._replace(line=i + 2) for i, row in enumerate(rows)]  # type: ignore[arg-type]


def _state(room: Room, *rows: tuple[object, ...], now: datetime = _NOW) -> Room:
    return room_at(room, _entries(*rows), now, own_values=OwnValues())


def test_no_entries_leave_the_room_as_it_is(room: Room) -> None:
    assert _state(room) == room


def _stock(culture: Culture, at_h: float, stock: float, from_h: float, from_age: float) -> float:
    """Left alone, by the closed form with the room's constant temperature."""
    kind = culture.kind
    rate = kind.rate(23.5)
    to_age = from_age + (at_h - from_h) / 24 * rate
    model = kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
    start = max(from_age, min(model.lag, to_age))
    step = growth_step(
        start, to_age, model.growth_rate, model.capacity_mg, model.half_spent_age,
        model.souring_width,
    )  # fmt: skip
    return through(step, stock)


def test_a_harvest_lowers_the_stock_by_what_was_taken(room: Room) -> None:
    at = _at(6, 10)
    state = _state(room, (at, "harvest", "MW-2", "", 5, "swipes"))
    culture = room.culture("MW-2")
    begun_h = hours(datetime.combine(culture.started, datetime.min.time(), _ZONE)) + 12
    starter = culture.starter_g * culture.kind.values["starter_mg_per_g"]
    expected = _stock(culture, hours(at), starter, begun_h, 0.0) - 5 * 20
    mark = state.culture("MW-2").mark
    assert mark is not None
    assert mark.stock_mg == pytest.approx(expected, rel=1e-12)
    assert mark.age == pytest.approx((hours(at) - begun_h) / 24 * culture.kind.rate(23.5))
    assert state.culture("MW-1").mark is None


def test_no_harvest_takes_more_than_climbs(room: Room) -> None:
    state = _state(room, (_at(6, 10), "harvest", "MW-2", "", 1e6, "mg"))
    untouched = _state(room, (_at(6, 10), "harvest", "MW-2", "", 0, "mg"))
    left, all_of_it = (s.culture("MW-2").mark for s in (state, untouched))
    assert left is not None
    assert all_of_it is not None
    fraction = room.culture("MW-2").kind.values["climbing_fraction"]
    assert left.stock_mg == pytest.approx((1 - fraction) * all_of_it.stock_mg)


def test_a_split_moves_worms_and_loses_none(room: Room) -> None:
    before = _state(room, (_at(6, 10), "harvest", "MW-2", "", 0, "mg"))
    after = _state(room, (_at(6, 10), "split", "MW-2", "MW-9", 12, "g"))
    whole = before.culture("MW-2").mark
    parent, child = (after.culture(name).mark for name in ("MW-2", "MW-9"))
    assert whole is not None
    assert parent is not None
    assert child is not None
    assert parent.stock_mg + child.stock_mg == pytest.approx(whole.stock_mg, rel=1e-12)
    assert child.stock_mg == pytest.approx(whole.stock_mg * 12 / 150)
    assert child.age == 0
    assert after.culture("MW-9").started == date(2027, 1, 6)


def test_a_start_and_a_discard(room: Room) -> None:
    state = _state(
        room,
        (_at(5, 10), "start", "MW-9", "microworm", 15, "g"),
        (_at(6, 10), "discard", "MW-1", "crashed"),
    )
    assert [c.name for c in state.cultures] == ["MW-2", "VE-1", "VE-2", "MW-9"]
    mark = state.culture("MW-9").mark
    assert mark is not None
    assert mark.stock_mg == pytest.approx(15 * 20)


def test_a_set_hatch_stands_and_uses_the_tin(room: Room) -> None:
    state = _state(room, (_at(7, 10), "set", "bottle 2", "", 2.5, "g"))
    assert {h.vessel: h.cysts_g for h in state.hatches}["bottle 2"] == 2.5
    assert state.cysts is not None
    assert state.cysts.grams == pytest.approx(30 - 2.5)
    plan = make_plan(state, now=_NOW, remedies=False)
    harvest = next(t for t in plan.tasks if isinstance(t, HarvestHatch) and t.subject == "bottle 2")
    assert harvest.at - _at(7, 10) < timedelta(hours=36)


def test_a_drawn_vessel_is_empty_and_its_nauplii_wait(room: Room) -> None:
    state = _state(
        room,
        (_at(6, 18), "set", "bottle 2", "", 2.0, "g"),
        (_at(7, 18), "harvest", "bottle 2"),
        now=_at(7, 18, 10),
    )
    assert "bottle 2" not in {h.vessel for h in state.hatches}
    (held,) = state.held
    model = room.hatch_kind.model(temperature_c=27, salinity_g_per_l=25, nauplii_per_gram=210000)
    assert held.nauplii == pytest.approx(2.0 * model.nauplii(24.0))
    later = _state(
        room,
        (_at(6, 18), "set", "bottle 2", "", 2.0, "g"),
        (_at(7, 18), "harvest", "bottle 2"),
        (_at(7, 19, 5), "set", "bottle 2", "", 1.0, "g"),
        now=_at(7, 20),
    )
    assert later.held == (held,)  # as it was when drawn off, until something is fed of it
    long_after = _state(
        room,
        (_at(4, 18), "harvest", "bottle 1"),
        (_at(7, 10), "set", "bottle 2", "", 1.0, "g"),
    )
    assert long_after.held == ()


def _held_by_model(room: Room, grams: float, waited_h: float) -> tuple[float, float]:
    """(nauplii, energy) of a harvest of the demo room's bottles, by the model alone."""
    model = room.hatch_kind.model(temperature_c=27, salinity_g_per_l=25, nauplii_per_gram=210000)
    return grams * model.nauplii(waited_h), grams * model.energy(waited_h)


@pytest.mark.parametrize("share", [1.0, 1.3, 0.6, 0.05, 20.0])
def test_a_count_of_a_harvest_sets_what_is_held(room: Room, share: float) -> None:
    """Exactly so many are held, near what was expected or far off it, each with its energy."""
    nauplii, energy = _held_by_model(room, 2.0, 24.0)
    count = round(share * nauplii)
    set_ = (_at(6, 18), "set", "bottle 2", "", 2.0, "g")
    draw = (_at(7, 18), "harvest", "bottle 2")
    for rows in (
        (set_, (_at(7, 18), "hatched", "bottle 2", "", count, "nauplii")),
        (set_, draw, (_at(7, 18, 5), "count", "bottle 2", "", count, "nauplii")),
        (set_, draw, (_at(7, 18, 5), "hatched", "bottle 2", "", count, "nauplii")),
    ):
        state = _state(room, *rows, now=_at(7, 18, 10))
        (held,) = state.held
        assert held.harvested_at == _at(7, 18)
        assert held.nauplii == pytest.approx(count, rel=1e-12)
        assert held.energy_j == pytest.approx(count * energy / nauplii, rel=1e-9)
        assert state.hatches == room.hatches


def test_a_harvest_counted_as_none_holds_none(room: Room) -> None:
    set_ = (_at(6, 18), "set", "bottle 2", "", 2.0, "g")
    draw = (_at(7, 18), "harvest", "bottle 2")
    for rows in (
        (set_, (_at(7, 18), "hatched", "bottle 2", "", 0, "nauplii")),
        (set_, draw, (_at(7, 18, 5), "hatched", "bottle 2", "", 0, "nauplii")),
        (set_, draw, (_at(7, 18, 5), "count", "bottle 2", "", 0, "nauplii")),
        (set_, draw, (_at(7, 18, 5), "failed", "bottle 2")),
        (set_, (_at(7, 18), "failed", "bottle 2")),
    ):
        state = _state(room, *rows, now=_at(7, 18, 10))
        assert state.held == ()
        assert "bottle 2" not in {h.vessel for h in state.hatches}


def test_learning_keeps_its_own_rule_for_what_cannot_be(room: Room) -> None:
    def seen(count: float) -> Observations:
        rows = ((_at(6, 18), "set", "bottle 2", "", 2.0, "g"),
                (_at(7, 18), "hatched", "bottle 2", "", count, "nauplii"))  # fmt: skip
        return replay(room, _entries(*rows), _NOW + timedelta(days=1), OwnValues()).seen

    (reading,) = seen(3e5).hatches
    assert reading.per_gram == pytest.approx(1.5e5)
    assert reading.line == 3
    assert seen(3e5).set_aside == []
    for count, why in (
        (1e9, "more nauplii than the cysts can give"),
        (0, "the hatch gave nothing"),
    ):
        found = seen(count)
        assert found.hatches == []
        ((line, subject, said),) = found.set_aside
        assert (line, subject) == (3, "bottle 2")
        assert said.startswith(why)


def test_a_count_of_a_hatch_that_goes_on_sets_what_it_will_give(room: Room) -> None:
    expected, _ = _held_by_model(room, 2.0, 20.0)
    later, energy = _held_by_model(room, 2.0, 24.0)
    set_ = (_at(6, 18), "set", "bottle 2", "", 2.0, "g")
    draw = (_at(7, 18), "harvest", "bottle 2")
    for share in (0.0, 0.4, 1.2):
        count = (_at(7, 14), "count", "bottle 2", "", share * expected, "nauplii")
        state = _state(room, set_, count, now=_at(7, 14))
        assert {h.vessel: h.share for h in state.hatches}["bottle 2"] == pytest.approx(share)
        drawn = _state(room, set_, count, draw, now=_at(7, 18))
        if share == 0:
            assert drawn.held == ()
            batches = make_outlook(state, now=_at(7, 14)).feeding.hatches.batches
            assert all(b.nauplii == 0 for b in batches if b.vessel.name == "bottle 2"
                       and b.standing)  # fmt: skip
        else:
            assert drawn.held[0].nauplii == pytest.approx(share * later)
            assert drawn.held[0].energy_j == pytest.approx(share * energy)
    early = _state(room, set_, (_at(6, 21), "count", "bottle 2", "", 0, "nauplii"), now=_at(6, 21))
    assert {h.vessel: h.share for h in early.hatches}["bottle 2"] == 1
    assert any("too early to tell" in n for n in early.notes)


@pytest.mark.parametrize("wrong", [140, 9])
def test_a_wrong_count_that_the_next_one_corrects_tells_nothing_of_deaths(
    room: Room, wrong: int
) -> None:
    """Fish only get fewer: the count in the middle is the wrong one, of a later day or the same."""
    right = (_at(6, 9), "count", "acara 5", "", 80, "fry")
    alone = _state(room, right).brood("acara 5")
    for when in (_at(5, 9), _at(6, 8)):
        found = _state(room, (when, "count", "acara 5", "", wrong, "fry"), right).brood("acara 5")
        assert (found.count, found.survival_per_day) == (80, alone.survival_per_day)


def test_counts_losses_and_the_end_of_a_brood(room: Room) -> None:
    brood = room.brood("acara 5")
    state = _state(room, (_at(6, 9), "count", "acara 5", "", 80, "fry"))
    assert (state.brood("acara 5").count, state.brood("acara 5").counted_on) == (
        80, date(2027, 1, 6),
    )  # fmt: skip
    state = _state(room, (_at(6, 9), "lost", "acara 5", "", 10, "fry"))
    days = (date(2027, 1, 6) - brood.counted_on).days
    expected = brood.count * brood.survival_per_day**days - 10
    left = state.brood("acara 5")
    assert left.alive(date(2027, 1, 6)) == pytest.approx(expected)
    assert left.counted_on == brood.counted_on  # nobody counted
    for row in (
        (_at(6, 9), "lost", "acara 5", "all"),
        (_at(6, 9), "lost", "acara 5", "", 500, "fry"),
        (_at(6, 9), "count", "acara 5", "", 0, "fry"),
    ):
        assert "acara 5" not in {b.name for b in _state(room, row).broods}


def test_a_new_brood_is_planned_for(room: Room) -> None:
    row = (_at(5, 9), "spawn", "danio 9", "A5 egg_scatterer", 60, "fry")
    state = _state(room, row)
    brood = state.brood("danio 9")
    assert (brood.tank, brood.anchor, brood.anchor_date) == ("A5", "spawned", date(2027, 1, 5))
    plan = make_plan(state, now=_NOW, remedies=False)
    assert any(isinstance(t, FirstFood) and t.subject == "danio 9" for t in plan.tasks)
    swimming = _state(room, row, (_at(7, 9), "free_swimming", "danio 9", "", 40, "fry"))
    assert swimming.brood("danio 9").anchor == "free_swimming"
    assert swimming.brood("danio 9").count == 40


def test_a_moved_brood_keeps_the_warmth_it_had(room: Room) -> None:
    state = _state(room, (_at(6, 12), "move", "pearl danio 3", "B5"))
    brood = state.brood("pearl danio 3")
    assert brood.tank == "B5"
    before, after = (BroodCourse.of(r, r.brood("pearl danio 3")) for r in (room, state))
    same = hours(_at(6, 12))
    assert after.length_mm(same) == pytest.approx(before.length_mm(same))
    assert after.first_food_h == pytest.approx(before.first_food_h)
    assert after.length_mm(same + 240) < before.length_mm(same + 240)


def test_part_of_a_brood_moves_and_can_be_joined(room: Room) -> None:
    state = _state(
        room,
        (_at(6, 12), "move", "pearl danio 3", "B5", 40, "fry"),
        (_at(6, 13), "move", "pearl danio 3", "B5", 10, "fry"),
    )
    total = sum(b.count for b in state.broods if b.name.startswith("pearl danio 3"))
    whole = room.brood("pearl danio 3")
    days = (date(2027, 1, 6) - whole.counted_on).days
    assert total == pytest.approx(whole.count * whole.survival_per_day**days)
    assert state.brood("pearl danio 3 (B5)").count == pytest.approx(50)


def test_broods_that_are_one_have_the_fry_of_both_and_the_age_of_the_one_that_stays(
    room: Room,
) -> None:
    """40 of a brood live apart in B5 for an hour, and come back: one brood, as many as before."""
    apart = (_at(6, 12), "move", "pearl danio 3", "B5", 40, "fry")
    back = (_at(6, 13), "move", "pearl danio 3 (B5)", "A3")
    whole, part = "pearl danio 3", "pearl danio 3 (B5)"
    state = _state(room, apart, back, (_at(6, 14), "merge", part, whole))
    assert part not in [b.name for b in state.broods]
    days = (date(2027, 1, 6) - room.brood(whole).counted_on).days
    alive = room.brood(whole).count * room.brood(whole).survival_per_day ** days
    assert state.brood(whole).count == pytest.approx(alive)
    assert state.brood(whole).anchor_date == room.brood(whole).anchor_date
    # Who is in another tank, or is not there, joins nobody.
    for rows in (
        (apart, (_at(6, 14), "merge", part, whole)),
        (apart, back, (_at(6, 14), "merge", part, "nobody")),
    ):
        there = _state(room, *rows)
        assert part in [b.name for b in there.broods]
        assert any("they stay as they are" in note for note in there.notes)
    # The file is newer than the entry: both are as it says.
    assert _state(room, (_at(1, 9), "merge", "acara 5", "platies 9")).broods == room.broods


def test_a_length_moves_the_curve_part_of_the_way(room: Room) -> None:
    course = BroodCourse.of(room, room.brood("acara 5"))
    noon = hours(_at(7, 12))
    expected = course.length_mm(noon)
    state = _state(room, (_at(7, 9), "length", "acara 5", "8 fish", 1.2 * expected, "mm"))
    brood = state.brood("acara 5")
    assert brood.anchor == "length"
    assert brood.length_mm is not None
    assert expected < brood.length_mm < 1.2 * expected
    absurd = _state(room, (_at(7, 9), "length", "acara 5", "8 fish", 5 * expected, "mm"))
    assert absurd.brood("acara 5").anchor == "free_swimming"
    assert any("too far off to be used" in note for note in absurd.notes)


def test_temperatures_hold_from_then_on(room: Room) -> None:
    state = _state(
        room,
        (_at(6, 12), "temperature", "room", "", 20, "C"),
        (_at(6, 12), "temperature", "bottle 1", "", 24, "C"),
        (_at(6, 12), "temperature", "B1", "", 23, "C"),
        (_at(6, 12), "temperature", "VE-1", "", 21, "C"),
    )
    assert state.temperatures_c == (20,)
    assert state.vessel("bottle 1").temperature_c == 24
    assert state.tank("B1").temperature_c == 23
    assert state.culture("VE-1").temperature_c == 21
    mark = state.culture("MW-1").mark
    assert mark is not None
    begun_h = hours(datetime.combine(room.culture("MW-1").started, datetime.min.time(), _ZONE)) + 12
    rate = room.culture("MW-1").kind.rate(23.5)
    assert mark.at_h == pytest.approx(hours(_at(6, 12)))
    assert mark.age == pytest.approx((mark.at_h - begun_h) / 24 * rate)


def test_bought_cysts_fill_the_tin(room: Room) -> None:
    state = _state(room, (_at(6, 12), "bought", "cysts", "", 50, "g"))
    assert state.cysts is not None
    assert state.cysts.grams == 80


def _supplied(room: Room) -> Room:
    return evolve(room, stock_g={"salt": 500.0, "dry": 100.0, "medium": 1000.0})


def _grams(state: Room) -> dict[str, float]:
    assert state.cysts is not None
    return {"cysts": state.cysts.grams, **state.stock_g}


def test_stocks_fall_by_what_is_done_and_used_and_rise_by_what_is_bought(room: Room) -> None:
    """To the gram: 30 g of cysts, 500 g of salt, 100 g of dry food and 1000 g of oats stood.

    Of 150 g of porridge 18 % are oats, 27 g; the vinegar of an eel bottle is no oats.
    """
    room = _supplied(room)
    assert _grams(_state(room)) == {"cysts": 30, "salt": 500, "dry": 100, "medium": 1000}
    state = _state(
        room,
        (_at(6, 8), "set", "bottle 2", "", 2.5, "g"),  # 1 L of 25 g/L
        (_at(6, 9), "split", "MW-2", "MW-9", 12, "g"),  # on 150 g of medium, as its parent
        (_at(6, 10), "start", "VE-9", "vinegar_eel"),  # on 1500 g
        (_at(6, 11), "used", "dry", "", 7.5, "g"),
        (_at(6, 12), "bought", "dry", "", 40, "g"),
        (_at(6, 13), "used", "cysts", "", 1.5, "g"),
    )
    assert _grams(state) == {"cysts": 26, "salt": 475, "dry": 132.5, "medium": 973}
    weighed = _state(room, (_at(6, 8), "used", "dry", "", 7, "g"),
                     (_at(6, 9), "count", "dry", "", 80, "g"),
                     (_at(6, 10), "used", "dry", "", 3, "g"),
                     (_at(6, 11), "count", "cysts", "", 12, "g"))  # fmt: skip
    assert _grams(weighed) == {"cysts": 12, "salt": 500, "dry": 77, "medium": 1000}


def test_a_stock_that_nobody_stated_is_not_known_until_it_is_bought_or_weighed(room: Room) -> None:
    assert _grams(_state(room, (_at(6, 8), "used", "salt", "", 20, "g"))) == {"cysts": 30}
    bought = _state(room, (_at(6, 8), "bought", "salt", "", 300, "g"),
                    (_at(6, 9), "set", "bottle 2", "", 2.5, "g"))  # fmt: skip
    assert _grams(bought) == {"cysts": 27.5, "salt": 275}
    own = _state(_supplied(room), (_at(6, 8), "bought", "microworm_medium", "", 400, "g"),
                 (_at(6, 9), "split", "MW-2", "MW-9", 12, "g"),
                 (_at(6, 8), "bought", "vinegar_eel_medium", "", 900, "g"),
                 (_at(6, 10), "split", "VE-2", "VE-9", 100, "g"))  # fmt: skip
    assert own.stock_g["microworm_medium"] == 400 - 27
    assert own.stock_g["vinegar_eel_medium"] == 900 - 750  # half of a bottle is water
    assert own.stock_g["medium"] == 1000


def test_a_stock_of_which_more_was_used_than_there_was_is_said_until_it_is_weighed(
    room: Room,
) -> None:
    rows = ((_at(6, 8), "used", "dry", "", 900, "g"),)
    (note,) = [n for n in _state(_supplied(room), *rows).notes if "than there was" in n]
    before = _grams(_supplied(room))["dry"]
    assert f" {900 - before:,.0f} g more dry food went than there was: note" in note
    weighed = (*rows, (_at(7, 8), "count", "dry", "", 200, "g"))
    assert not [n for n in _state(_supplied(room), *weighed).notes if "than there was" in n]


def test_the_remark_ends_with_a_purchase_by_the_time_that_it_says(room: Room) -> None:
    rows = ((_at(6, 8), "used", "dry", "", 900, "g"),)
    (note,) = [n for n in _state(_supplied(room), *rows).notes if "than there was" in n]
    said = re.search(r"'journal bought dry 500 g --at (\S+)'", note)
    assert said is not None
    by = datetime.fromisoformat(said[1]).replace(tzinfo=_ZONE)
    assert f"by {by:%a} {by.day} {by:%b} {by:%H:%M} (" in note
    for minutes, left in ((0, 0), (1, 1)):
        bought = (by + timedelta(minutes=minutes), "bought", "dry", "", 900, "g")
        done = sorted((bought, *rows), key=lambda row: (row[0], row[1]))
        notes = _state(_supplied(room), *done).notes
        assert len([n for n in notes if "than there was" in n]) == left


def test_a_stock_used_before_the_room_file_was_true_stands_as_stated(room: Room) -> None:
    rows = ((_at(3, 23), "used", "dry", "", 7, "g"), (_at(3, 23), "bought", "cysts", "", 9, "g"))
    assert _grams(_state(_supplied(room), *rows)) == _grams(_supplied(room))


@pytest.mark.parametrize("event", sorted(EVENTS.keys() - {"undo"}))
def test_each_event_has_its_place(room: Room, event: str) -> None:
    units = EVENTS[event].units
    amount = 1.0 if units else None
    _state(room, (_at(6, 9), event, "ghost", "x", amount, units[0] if units else "", "words"))


def test_eggs_in_peat_have_no_length(room: Room) -> None:
    state = _state(
        room, (_at(5, 9), "collected", "acara 5"), (_at(6, 9), "length", "acara 5", "", 8, "mm")
    )
    assert [b.name for b in state.waiting] == ["acara 5"]
    assert any("acara 5 rests in peat" in note for note in state.notes)


def test_eggs_counted_before_they_are_wetted_are_as_many_then(room: Room) -> None:
    state = _state(
        room, (_at(5, 9), "wetted", "acara 5", "2027-01-20"),
        (_at(6, 9), "count", "acara 5", "", 60, "fry"),
    )  # fmt: skip
    brood = state.brood("acara 5")
    assert (brood.count, brood.counted_on) == (60, date(2027, 1, 20))


def test_what_the_file_states_wins_over_older_entries(room: Room) -> None:
    state = _state(
        room,
        (_at(3, 12), "discard", "MW-1"),
        (_at(3, 12), "lost", "acara 5", "all"),
        (_at(3, 12), "set", "bottle 2", "", 5, "g"),
        (_at(3, 12), "temperature", "room", "", 18, "C"),
    )
    assert "MW-1" in {c.name for c in state.cultures}
    assert "acara 5" in {b.name for b in state.broods}
    assert state.temperatures_c == (23.5,)
    assert state.cysts == room.cysts


def test_fry_that_were_moved_stay_where_they_are_when_the_file_is_edited(room: Room) -> None:
    """The file counts those that stayed; what was noted of the others since then holds."""
    rows = (
        (_at(2, 9), "move", "acara 5", "B3", 30, "fry"),
        (_at(3, 9), "lost", "acara 5 (B3)", "", 4, "fry"),
    )  # fmt: skip
    state = _state(room, *rows)
    moved = state.brood("acara 5 (B3)")
    assert (moved.tank, moved.anchor_date) == ("B3", room.brood("acara 5").anchor_date)
    assert moved.alive(date(2027, 1, 3)) == pytest.approx(30 * moved.survival_per_day - 4)
    assert state.brood("acara 5") == room.brood("acara 5")
    # Where the file has other fry in that tank by now, they are what is there.
    taken = (_at(2, 9), "move", "acara 5", room.broods[-1].tank, 30, "fry")
    assert [b.name for b in _state(room, taken).broods] == [b.name for b in room.broods]


def test_what_is_noted_of_a_brood_that_only_the_journal_knows_holds(room: Room) -> None:
    tank = room.broods[0].tank
    rows = (
        (_at(1, 9), "spawn", "new 1", f"{tank} egg_scatterer", 80, "fry"),
        (_at(3, 9), "count", "new 1", "", 60, "fry"),
    )  # fmt: skip
    assert _state(room, *rows).brood("new 1").count == 60


def test_a_name_given_anew_before_the_file_was_edited_stands(room: Room) -> None:
    """Split, failed and split again, all before the day on which the file was true."""
    rows = (
        (_at(1, 9), "split", "MW-1", "MW-8", 10, "g"), (_at(2, 9), "failed", "MW-8"),
        (_at(3, 9), "split", "MW-1", "MW-8", 10, "g"),
    )  # fmt: skip
    (culture,) = [c for c in _state(room, *rows).cultures if c.name == "MW-8"]
    assert culture.started == _at(3, 9).date()
    assert "MW-8" not in {c.name for c in _state(room, *rows[:2]).cultures}


def test_without_as_of_only_the_thing_itself_is_newer() -> None:
    text = demo_text(_TODAY).replace("as_of = 2027-01-04", "")
    loose = read_room(text, today=_TODAY)
    assert not loose.as_of_stated
    state = _state(loose, (_at(2, 12), "discard", "MW-1"))
    assert "MW-1" not in {c.name for c in state.cultures}


def test_the_past_shows_what_was_true_then(room: Room) -> None:
    rows = ((_at(5, 10), "lost", "acara 5", "", 10, "fry"), (_at(6, 10), "discard", "MW-1"))
    assert "MW-1" in {c.name for c in _state(room, *rows, now=_at(5, 12)).cultures}
    assert _state(room, *rows, now=_at(5, 9)).broods == room.broods


def test_unknown_names_are_noted_with_their_lines(room: Room) -> None:
    state = _state(
        room,
        (_at(6, 10), "harvest", "MW-7", "", 2, "swipes"),
        (_at(6, 11), "harvest", "MW-7", "", 2, "swipes"),
        (_at(6, 12), "move", "acara 5", "Z9"),
    )
    assert any("2 lines from 2 on: 'MW-7' is not in the room file" in n for n in state.notes)
    assert any("no tank 'Z9'" in n for n in state.notes)
    said = make_plan(state, now=_NOW, remedies=False).notes
    assert set(state.notes) <= {note.text for note in said}


def _lived(room: Room, *, noted: bool) -> tuple[list[Entry], Record]:
    """Two days of looking and doing as told, each round noted at its time or not at all."""
    entries: list[Entry] = []
    told: dict[str, ToldTask] = {}
    moment = _at(4, 8)
    while moment <= _at(6, 8):
        found = present(room, lines(*entries), record_of(told.values()), moment)
        outlook = make_outlook(found.room, now=moment)
        mine = {t.task.id for t in found.in_hand}
        fresh = [t for t in all_told(outlook, moment + timedelta(hours=14))
                 if t.task.id not in mine]  # fmt: skip
        told |= {t.task.id: t for t in fresh}
        moment += timedelta(hours=3)
        if noted:
            now = present(room, lines(*entries), record_of(told.values()), moment)
            entries += [
                as_entry(t, min(t.task.at, moment)) for t in now.due() if t.task.at <= moment
            ]
    return lines(*entries), record_of(told.values())


def test_ticking_off_what_was_told_leaves_the_plan_as_it_is(room: Room) -> None:
    """Two days done exactly as told: the plan goes on the same, noted or not noted.

    Every three hours of the two days, so that each round is once in hand, look a week ahead only;
    the plans at the end look on as far as the room does.
    """
    near = evolve(room, horizon_days=7)
    lives = {noted: _lived(near, noted=noted) for noted in (True, False)}
    (entries, record), (nothing, alike) = lives[True], lives[False]
    assert {"set", "harvest", "fed"} <= {e.event for e in entries}
    assert nothing == []
    shown = [{k: (t.task.at, t.task.subject, dict(t.task.amounts)) for k, t in r.tasks.items()}
             for r in (record, alike)]  # fmt: skip
    assert shown[0] == shown[1]
    now = _at(6, 10)
    rooms = [present(room, e, r, now).room for e, r in lives.values()]
    for name in ("hatches", "held", "cysts", "cultures", "broods", "fed_until"):
        assert getattr(rooms[0], name) == getattr(rooms[1], name), name
    days = room.horizon_days
    plans: list[Plan] = [make_plan(each, now=now, days=days, remedies=False) for each in rooms]
    assert plans[0].tasks == plans[1].tasks
    assert plans[0].lines == plans[1].lines


def test_a_plan_from_a_state_delivers_what_it_promises(room: Room) -> None:
    state = _state(
        room,
        (_at(6, 18, 10), "set", "bottle 2", "", 2.0, "g"),
        (_at(7, 7, 5), "harvest", "MW-1", "", 3, "swipes"),
        (_at(7, 8, 30), "split", "MW-2", "MW-3", 10, "g"),
        (_at(7, 10), "harvest", "bottle 2"),
    )
    outlook = make_outlook(state, now=_NOW, days=14)
    lines = [line for row in outlook.lines for line in row]
    outcome = simulate(state, build_tasks(outlook), lines)
    assert outcome.violations == []
    for line in lines:
        given = outcome.given_j.get((line.at, line.brood, line.food), 0.0)
        assert given == pytest.approx(line.given_j, rel=1e-9, abs=1e-9)


def test_a_mark_is_where_the_planner_goes_on(room: Room) -> None:
    state = _state(room, (_at(6, 10), "harvest", "MW-2", "", 5, "swipes"))
    outlook = make_outlook(state, now=_NOW, days=3)
    stage = next(s for s in outlook.feeding.worms["microworm"].stages if s.culture.name == "MW-2")
    mark = state.culture("MW-2").mark
    assert mark is not None
    first = outlook.feedings[stage.first]
    expected = _stock(state.culture("MW-2"), first.at_h, mark.stock_mg, mark.at_h, mark.age)
    assert stage.start_mg == pytest.approx(expected, rel=1e-9)
    age = mark.age + (first.at_h - mark.at_h) / 24 * stage.culture.kind.rate(23.5)
    capacity = carrying_capacity(
        age, capacity=stage.model.capacity_mg, half_spent_age=stage.model.half_spent_age,
        souring_width=stage.model.souring_width,
    )  # fmt: skip
    assert stage.keeps_mg[0] == pytest.approx(capacity / 2, rel=1e-9)
    assert math.isfinite(stage.spent_h)


def test_a_brood_of_an_unknown_class_or_tank_is_noted_not_planned(room: Room) -> None:
    state = _state(
        room,
        (_at(5, 9), "spawn", "danio 9", "A5 egg_scaterer", 60, "fry"),
        (_at(5, 9), "spawn", "danio 8", "Z9 egg_scatterer", 60, "fry"),
    )
    assert state.broods == room.broods
    assert any("no fry class 'egg_scaterer'" in n for n in state.notes)
    assert any("'Z9 egg_scatterer' is not a tank" in n for n in state.notes)


def test_a_count_without_a_unit_is_of_what_its_subject_holds(room: Room) -> None:
    state = _state(room, (_at(6, 9), "count", "acara 5", "", 80))
    assert state.brood("acara 5").count == 80
    rows = (
        (_at(6, 18), "set", "bottle 2", "", 2.0, "g"),
        (_at(7, 18), "hatched", "bottle 2", "", 5e5),
    )
    held = _state(room, *rows, now=_at(7, 18, 5)).held[0]
    assert held.nauplii == 5e5
    swipe = replay(room, _entries((_at(6, 9), "count", "MW-1", "", 14000)), _NOW, OwnValues()).seen
    assert swipe.swipes[0].mg == pytest.approx(14000 * 1.2 / 1000, rel=0.5)


def test_worms_counted_on_a_tray_or_all_taken_set_what_stands(room: Room) -> None:
    kind = room.culture("MW-2").kind
    each_mg, climbs = kind.values["individual_mass_ug"] / 1000, kind.values["climbing_fraction"]

    def stock(*row: object) -> float:
        mark = _state(room, (_at(6, 10), *row)).culture("MW-2").mark
        assert mark is not None
        assert mark.at_h == hours(_at(6, 10))
        return mark.stock_mg

    assert stock("count", "MW-2", "tray", 2e6, "worms") == pytest.approx(2e6 * each_mg)
    assert stock("count", "MW-2", "tray", 700, "mg") == pytest.approx(700)
    assert stock("count", "MW-2", "swipe", 0, "worms") == 0
    assert stock("count", "MW-2", "tray", 0, "worms") == 0
    # All that climbed was 300 mg: so many stood, of which they were taken.
    left = stock("harvest", "MW-2", "all", 300, "mg")
    assert left == pytest.approx(300 / climbs - 300)
    most = kind.model(medium_g=150, surface_cm2=180).capacity_mg
    assert stock("count", "MW-2", "tray", 1e12, "worms") == pytest.approx(most)


def test_a_culture_that_stands_empty_gives_nothing(room: Room) -> None:
    now = _at(6, 10)
    rows = [(now, "count", name, "tray", 0, "worms") for name in ("MW-1", "MW-2", "VE-1", "VE-2")]
    state = _state(room, *rows, now=now)
    outlook = make_outlook(state, now=now, days=7)
    first = {f.at for f in outlook.feedings if f.at <= now + timedelta(days=3)}
    given = [x for row in outlook.lines for x in row
             if x.at in first and x.food in ("microworm", "vinegar_eel")]  # fmt: skip
    assert sum(x.given_j for x in given) == 0


def test_what_failed_is_gone(room: Room) -> None:
    steps = _entries((_at(6, 9), "failed", "bottle 1"), (_at(6, 10), "failed", "MW-1"))
    found = replay(room, steps, _NOW, OwnValues())
    assert found.room.hatches == ()
    assert [c.name for c in found.room.cultures] == ["MW-2", "VE-1", "VE-2"]
    assert [row[:2] for row in found.seen.set_aside] == [(2, "bottle 1")]
    crashed = [(s.kind, s.crashed) for s in found.seen.spans if s.crashed]
    assert crashed == [("microworm", True)]
    alike = replay(room, _entries((_at(6, 10), "discard", "MW-1", "crashed")), _NOW, OwnValues())
    assert alike.room.cultures == found.room.cultures
    # A hatch set after the failure is another one.
    again = _state(room, (_at(5, 9), "failed", "bottle 1"),
                   (_at(5, 10), "set", "bottle 1", "", 1.5, "g"))  # fmt: skip
    assert [(h.vessel, h.set_at, h.cysts_g) for h in again.hatches] == [
        ("bottle 1", _at(5, 10), 1.5)
    ]


def test_notes_and_leftovers_are_remembered_with_what_they_are_about(room: Room) -> None:
    state = _state(
        room,
        (_at(6, 9), "note", "MW-1", "", None, "", "smells of acetone"),
        (_at(6, 10), "note", "MW-1", "", None, "", "pink at the rim"),
        (_at(6, 11), "leftover", "acara 5", "some"),
        (_at(6, 12), "leftover", "acara 5", "none"),
    )
    assert state.remarks == {
        "MW-1": ((_at(6, 9), "smells of acetone"), (_at(6, 10), "pink at the rim")),
        "acara 5": ((_at(6, 11), "some was left over"),),
    }
    assert evolve(state, remarks={}) == room
    unknown = _state(room, (_at(6, 11), "leftover", "acara 6", "some"))
    assert any("'acara 6' is not in the room file" in n for n in unknown.notes)


def test_eggs_rest_until_they_are_wetted_and_a_planned_spawning_waits(room: Room) -> None:
    eggs = (_at(5, 9), "collected", "peat 1", "A2 annual_killifish", 60, "fry")
    state = _state(room, eggs)
    (brood,) = state.waiting
    assert state.broods == room.broods
    assert (brood.name, brood.tank, brood.anchor, brood.count) == ("peat 1", "A2", "collected", 60)
    wetted = _state(room, eggs, (_at(7, 9), "wetted", "peat 1", "2027-01-20", 40, "fry"))
    assert wetted.waiting == ()
    brood = wetted.brood("peat 1")
    assert (brood.anchor, brood.anchor_date, brood.count) == ("wetted", date(2027, 1, 20), 40)
    planned = (_at(5, 9), "planned", "danio 9", "A5 egg_scatterer on 2027-01-08", 60, "fry")
    ahead = _state(room, planned).brood("danio 9")
    assert (ahead.anchor, ahead.anchor_date, ahead.tank) == ("planned", date(2027, 1, 8), "A5")
    over = _state(room, planned, now=_at(9, 12))
    assert [b.name for b in over.waiting] == ["danio 9"]
    assert "danio 9" not in {b.name for b in over.broods}
    spawned = _state(room, planned, (_at(9, 8), "spawn", "danio 9"), now=_at(9, 12))
    assert spawned.brood("danio 9").anchor_date == date(2027, 1, 9)


# --- told tasks, carried out or presumed


def _draw_told(at: datetime, **amounts: float) -> ToldTask:
    return told_task("harvest_hatch", at, "bottle 2", amounts, key="harvest_hatch/k/1")


def _drawn_feed(*parts: tuple[str, datetime, float], nauplii: float, dry_g: float = 0) -> ToldTask:
    draws = tuple(Draw(vessel, at, 100.0, 100.0 * part, part) for vessel, at, part in parts)
    feed = told_task("feed", _at(7, 7), "07:00 round", {"nauplii": nauplii, "dry_g": dry_g})
    return evolve(feed, draws=draws)


def test_feeding_as_told_takes_dry_food_and_the_told_part_of_each_jar(room: Room) -> None:
    """100,000 and 80,000 are held: all of the first jar is fed, and half of the other."""
    room = _supplied(room)
    rows = _entries((_at(7, 6), "hatched", "bottle 1", "", 1e5, "nauplii"),
                    (_at(7, 7), "hatched", "bottle 2", "", 8e4, "nauplii"))  # fmt: skip
    now = _at(7, 7)
    before = replay(room, rows, now, OwnValues()).room.held
    assert [h.nauplii for h in before] == [1e5, 8e4]  # each as counted when it was drawn off
    feed = _drawn_feed(("bottle 1", _at(7, 6), 1.0), ("bottle 2", _at(7, 6, 50), 0.5),
                       nauplii=1.4e5, dry_g=2.5)  # fmt: skip
    for step in (Step(as_entry(feed), feed), Step(as_entry(feed), feed, True)):
        found = replay(room, [*map(Step, rows), step], now, OwnValues())
        (left,) = found.room.held
        assert left.vessel == "bottle 2"
        assert left.nauplii == pytest.approx(4e4)
        assert left.share == pytest.approx(0.5)
        assert left.energy_j == pytest.approx(before[1].energy_j / 2)
        assert found.room.stock_g["dry"] == 97.5
        assert found.unfed == frozenset()
    more = _drawn_feed(("bottle 2", _at(7, 7), 0.25), nauplii=2e4)
    more = evolve(more, task=evolve(more.task, id="feed/the next round"))
    steps = [*map(Step, rows), Step(as_entry(feed), feed), Step(as_entry(more), more)]
    (left,) = replay(room, steps, now, OwnValues()).room.held
    assert left.share == pytest.approx(0.25)
    assert left.nauplii == pytest.approx(2e4)
    twice = replay(room, [*steps[:-1], Step(as_entry(feed), feed)], now, OwnValues())
    assert [h.share for h in twice.room.held] == [pytest.approx(0.5)]  # one cup, one drawing
    untold = replay(room, [*map(Step, rows), Step(as_entry(feed))], now, OwnValues())
    assert untold.room.held == before
    # The entry itself says how much dry food it was, so a lost record loses no stock.
    assert untold.room.stock_g["dry"] == 97.5


def test_a_feeding_whose_nauplii_were_not_there_is_said(room: Room) -> None:
    feed = _drawn_feed(("bottle 2", _at(7, 6), 1.0), nauplii=1e5)
    found = replay(room, [Step(as_entry(feed), feed, True)], _at(7, 8), OwnValues())
    assert found.unfed == {"feed/07:00 round"}
    for count, unfed in ((3e4, set()), (5e3, {"feed/07:00 round"})):  # a tenth at least came
        some = _entries((_at(7, 6, 59), "hatched", "bottle 2", "", count, "nauplii"))
        found = replay(room, [*map(Step, some), Step(as_entry(feed), feed)], _at(7, 8), OwnValues())
        assert found.unfed == unfed
        assert found.room.held == ()
    other = _entries((_at(7, 6), "hatched", "bottle 1", "", 1e5, "nauplii"))
    found = replay(room, [*map(Step, other), Step(as_entry(feed), feed)], _at(7, 8), OwnValues())
    # What is there in another jar is what was fed.
    assert not found.unfed
    assert not found.room.held


def test_a_told_harvest_uses_the_salt_of_its_jar(room: Room) -> None:
    rows = _entries((_at(6, 18), "set", "bottle 2", "", 2.0, "g"))
    draw = _draw_told(_at(7, 18), jar_ml=500.0)
    for step in (Step(as_entry(draw), draw), Step(as_entry(draw), draw, True)):
        found = replay(_supplied(room), [*map(Step, rows), step], _at(7, 18), OwnValues())
        assert found.room.stock_g["salt"] == 500 - 25 - 12.5
        assert [h.vessel for h in found.room.held] == ["bottle 2"]


def test_a_told_setting_lends_its_name_to_its_harvest(room: Room) -> None:
    told = told_task("set_hatch", _at(6, 18), "bottle 2", {"cysts_g": 2.0}, key="set_hatch/k/7")
    for step in (Step(as_entry(told), told), Step(as_entry(told), told, True)):
        state = replay(room, [step], _at(7, 6), OwnValues()).room
        assert {h.vessel: h.key for h in state.hatches} == {"bottle 1": "", "bottle 2": "k/7"}
        tasks = make_plan(state, now=_at(7, 6), remedies=False).tasks
        draws = [t.id for t in tasks if isinstance(t, HarvestHatch) and t.subject == "bottle 2"]
        assert draws[0] == "harvest_hatch/k/7"


def test_what_is_skipped_is_not_asked_for_again_at_once(room: Room) -> None:
    """The first setting and the first split of the plan are skipped ahead of their time."""
    first = all_told(make_outlook(room, now=_NOW))
    setting = next(t for t in first if isinstance(t.task, SetHatch))
    split = next(t for t in first if isinstance(t.task, Split))
    assert min(setting.task.at, split.task.at) > _NOW
    skips = [Entry(_NOW, "skip", t.task.subject, t.task.id) for t in (setting, split)]
    state = present(room, lines(*skips), record_of(first), _NOW).room
    evening = room.rounds[-1]
    next_round = room.local(setting.task.at.date() + timedelta(days=1), room.rounds[0])
    assert setting.task.at.time() == split.task.at.time() == evening
    assert setting.task.at.date() == split.task.at.date()
    assert state.not_before == {setting.task.subject: next_round, split.kind: next_round}
    kinds = {c.name: c.kind.name for c in room.cultures}
    tasks = make_plan(state, now=_NOW, remedies=False).tasks
    assert {setting.task.id, split.task.id}.isdisjoint(t.id for t in tasks)
    sets = [t.at for t in tasks if isinstance(t, SetHatch) and t.subject == setting.task.subject]
    assert all(at > setting.task.at for at in sets)
    splits = [t.at for t in tasks if isinstance(t, Split) and kinds.get(t.subject) == split.kind]
    assert splits
    assert all(at > split.task.at for at in splits)


def test_presumed_is_only_what_can_have_been(room: Room) -> None:
    """Each of these contradicts what is: nothing changes, and its id is told."""
    crashed = _entries((_at(6, 9), "discard", "MW-1", "crashed"))
    amounts = {"cysts_g": 2.0, "mg": 100.0, "starter_g": 10.0}
    cannot = [
        told_task("set_hatch", _at(6, 10), "bottle 1", amounts),  # it stands full
        told_task("set_hatch", _at(6, 10), "bottle 9", amounts),
        told_task("harvest_hatch", _at(6, 10), "bottle 2", amounts),  # it stands empty
        told_task("harvest_worms", _at(6, 10), "MW-1", amounts),
        told_task("split", _at(6, 10), "MW-1", amounts, other="MW-9"),
        told_task("split", _at(6, 10), "MW-2", amounts, other="VE-1", key="split/VE-1"),
        told_task("start", _at(6, 10), "MW-2", amounts, other="MW-2", kind="microworm"),
        told_task("retire", _at(6, 10), "MW-1", amounts),
    ]
    nothing = replay(room, crashed, _NOW, OwnValues())
    for told in cannot:
        steps = [*map(Step, crashed), Step(as_entry(told), told, True)]
        found = replay(room, steps, _NOW, OwnValues())
        assert found.contradicted == {told.task.id}
        assert found.room == nothing.room, told.task.id
    old = told_task("retire", _at(3, 10), "MW-2", amounts)  # before the file was true
    found = replay(room, [Step(as_entry(old), old, True)], _NOW, OwnValues())
    assert (found.contradicted, found.room) == (frozenset(), room)


def test_presumed_changes_the_room_as_noted_does_and_teaches_nothing(room: Room) -> None:
    amounts = {"cysts_g": 2.0, "mg": 1e4, "starter_g": 10.0, "nauplii": 1e5}
    tasks = [
        told_task("set_hatch", _at(5, 10), "bottle 2", amounts, key="set_hatch/k/1"),
        told_task("harvest_hatch", _at(6, 12), "bottle 2", amounts, key="harvest_hatch/k/1"),
        told_task("harvest_worms", _at(6, 13), "MW-1", amounts),
        told_task("split", _at(6, 14), "MW-2", amounts, other="MW-9"),
        told_task("start", _at(6, 15), "BW", amounts, other="BW-1", kind="banana_worm"),
        told_task("retire", _at(6, 16), "VE-1", amounts),
    ]
    noted, presumed = (
        replay(room, [Step(as_entry(t), t, sure) for t in tasks], _NOW, OwnValues())
        for sure in (False, True)
    )
    assert presumed.room == noted.room
    assert presumed.contradicted == frozenset()
    assert [c.name for c in presumed.room.cultures] == ["MW-1", "MW-2", "VE-2", "MW-9", "BW-1"]
    seen = presumed.seen
    assert (seen.yields, seen.swipes, seen.hatches, seen.set_aside) == ([], [], [], [])


def test_nothing_is_taken_of_a_culture_that_failed_before(room: Room) -> None:
    """As when a round is ticked off in the evening for a time after its box was thrown out."""
    failed = Entry(_at(6, 8), "failed", "MW-1", line=2)
    for event, other in (("harvest", ""), ("split", "MW-9")):
        late = Entry(_at(6, 9), event, "MW-1", other, 10, "g" if event == "split" else "mg")
        (doubt,) = replay(room, [failed, late], _NOW, OwnValues()).doubts
        assert doubt[0] == late
        assert "was gone by then" in doubt[1]
        early = late._replace(when=_at(6, 7))
        assert replay(room, [early, failed], _NOW, OwnValues()).doubts == ()
