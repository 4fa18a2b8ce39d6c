"""The room at a moment: each event by what it must change, by hand where possible."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cli.demo_room import demo_text
from cultures.beliefs import Beliefs
from cultures.journal import Entry
from cultures.journal_due import due_tasks
from cultures.need import BroodCourse
from cultures.planning.build import build_tasks
from cultures.planning.plan import make_outlook, make_plan
from cultures.planning.simulate import simulate
from cultures.planning.tasks import Plan
from cultures.room import Culture, Room, hours
from cultures.roomfile import read_room
from cultures.state import replay, room_at
from cultures.state_times import counts_at
from cultures.worms import carrying_capacity, stock_after

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
    return room_at(room, _entries(*rows), now, beliefs=Beliefs())


def test_no_entries_leave_the_room_as_it_is(room: Room) -> None:
    state = _state(room)
    assert state.state_at is None
    assert evolve(state, cysts=room.cysts) == room


def _stock(culture: Culture, at_h: float, stock: float, from_h: float, from_age: float) -> float:
    """Left alone, by the closed form with the room's constant temperature."""
    kind = culture.kind
    rate = kind.rate(23.5)
    to_age = from_age + (at_h - from_h) / 24 * rate
    model = kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
    start = max(from_age, min(model.lag, to_age))
    return stock_after(
        stock, from_age=start, to_age=to_age, growth_rate=model.growth_rate,
        capacity=model.capacity_mg, half_spent_age=model.half_spent_age,
        souring_width=model.souring_width,
    )  # fmt: skip


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
    assert state.state_at == at
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
    harvest = next(t for t in plan.tasks if t.what == "harvest_hatch" and t.subject == "bottle 2")
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
    assert later.held[0].nauplii < held.nauplii
    long_after = _state(
        room,
        (_at(4, 18), "harvest", "bottle 1"),
        (_at(7, 10), "set", "bottle 2", "", 1.0, "g"),
    )
    assert long_after.held == ()


def test_a_count_moves_what_is_held_but_an_absurd_one_does_not(room: Room) -> None:
    def held(count: float | None) -> float:
        state = _state(
            room,
            (_at(6, 18), "set", "bottle 2", "", 2.0, "g"),
            (_at(7, 18), "hatched", "bottle 2", "", count, "nauplii") if count else
            (_at(7, 18), "harvest", "bottle 2"),
            now=_at(7, 18, 10),
        )  # fmt: skip
        return state.held[0].nauplii

    uncounted = held(None)
    assert uncounted < held(1.3 * uncounted) < 1.3 * uncounted
    assert held(20 * uncounted) == pytest.approx(uncounted)


def test_counts_losses_and_the_end_of_a_brood(room: Room) -> None:
    brood = room.brood("acara 5")
    state = _state(room, (_at(6, 9), "count", "acara 5", "", 80, "fry"))
    assert (state.brood("acara 5").count, state.brood("acara 5").counted_on) == (
        80, date(2027, 1, 6),
    )  # fmt: skip
    state = _state(room, (_at(6, 9), "lost", "acara 5", "", 10, "fry"))
    days = (date(2027, 1, 6) - brood.counted_on).days
    expected = brood.count * brood.survival_per_day**days - 10
    assert state.brood("acara 5").count == pytest.approx(expected)
    for row in (
        (_at(6, 9), "lost", "acara 5", "all"),
        (_at(6, 9), "lost", "acara 5", "", 500, "fry"),
        (_at(6, 9), "count", "acara 5", "", 0, "fry"),
    ):
        assert "acara 5" not in {b.name for b in _state(room, row).broods}
    assert state.state_at is None


def test_a_new_brood_is_planned_for(room: Room) -> None:
    row = (_at(5, 9), "spawn", "danio 9", "A5 egg_scatterer", 60, "fry")
    state = _state(room, row)
    brood = state.brood("danio 9")
    assert (brood.tank, brood.anchor, brood.anchor_date) == ("A5", "spawned", date(2027, 1, 5))
    plan = make_plan(state, now=_NOW, remedies=False)
    assert any(t.what == "first_food" and t.subject == "danio 9" for t in plan.tasks)
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
    assert set(state.notes) <= set(make_plan(state, now=_NOW, remedies=False).notes)


def test_a_round_stays_on_the_screen_until_it_is_over(room: Room) -> None:
    entry = Entry(_at(6, 7, 20), "harvest", "MW-1", "", 2, "swipes")
    assert counts_at(room, entry) == _at(6, 8)
    assert counts_at(room, entry._replace(event="set", subject="bottle 1")) == _at(6, 7, 20)
    assert counts_at(room, entry._replace(when=_at(6, 11))) == _at(6, 11)
    during = room_at(room, [entry], _at(6, 7, 50), beliefs=Beliefs())
    assert during.state_at is None
    over = room_at(room, [entry], _at(6, 8), beliefs=Beliefs())
    assert over.state_at == _at(6, 8)


def test_ticking_off_the_plan_leaves_the_plan_as_it_is(room: Room) -> None:
    """Three days done exactly as planned: the plan goes on as if nothing had been noted."""
    entries: list[Entry] = []
    moment = _at(4, 8)
    while moment <= _at(7, 8):
        state = room_at(room, entries, moment, beliefs=Beliefs())
        outlook = make_outlook(state, now=moment)
        due = due_tasks(state, build_tasks(outlook), entries, since=outlook.start, now=moment)
        entries += [each.entry._replace(line=len(entries) + i + 2) for i, each in enumerate(due)]
        moment += timedelta(hours=11) if moment.hour == 8 else timedelta(hours=13)
    assert {"set", "harvest"} <= {e.event for e in entries}
    now = _at(7, 9)
    noted = make_plan(room_at(room, entries, now, beliefs=Beliefs()), now=now, remedies=False)
    assumed = make_plan(room, now=now, remedies=False)
    week = now + timedelta(days=7)

    def given(plan: Plan) -> dict[tuple[datetime, str], float]:
        total: dict[tuple[datetime, str], float] = {}
        for line in plan.lines:
            if line.at < week:
                key = line.at, line.brood
                total[key] = total.get(key, 0.0) + line.given_j
        return total

    assert given(noted) == pytest.approx(given(assumed), rel=0.03)
    splits = [[t.id for t in p.tasks if t.what == "split"] for p in (noted, assumed)]
    assert splits[0] == splits[1]


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
    assert stage.capacity[0] == pytest.approx(capacity, rel=1e-9)
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
    drawn = (_at(7, 18), "harvest", "bottle 2")
    uncounted = _state(room, rows[0], drawn, now=_at(7, 18, 5)).held[0]
    assert held.nauplii > uncounted.nauplii
    swipe = replay(room, _entries((_at(6, 9), "count", "MW-1", "", 14000)), _NOW, Beliefs()).seen
    assert swipe.swipes[0].mg == pytest.approx(14000 * 1.2 / 1000, rel=0.5)
