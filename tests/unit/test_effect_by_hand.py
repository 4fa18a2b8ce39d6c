"""What an entry changed, said of two plans by hand: what is short in all, and what stays."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cli.journal.effect import _mistaken, _notes, _same, _shortfalls, _tasks, _touched
from cultures.planning.shortfalls import UNMEASURED, Short, short_of
from cultures.room.file import read_room
from cultures.tasks.plan import (
    OfCounting,
    OfWarmth,
    OfWater,
    Plan,
    Remark,
    Shortfall,
    Stop,
    Supply,
)
from cultures.tasks.task import SetHatch
from cultures.tasks.told import FeedLine
from cultures.words.tools import USUAL
from tests.unit.recorded import told_task

_NOW = datetime(2027, 3, 1, 7, tzinfo=UTC)
_DAY = timedelta(days=1)


def _lack(food: str, day: int, short_j: float, limit: str = "thin", **more: Any) -> Shortfall:
    at = _NOW + day * _DAY
    plain = Shortfall(at, at, 1, food, short_j, short_j, ("A1",), "", limit=limit)
    return evolve(plain, **more)


def _plan(*lacks: Shortfall) -> Plan:
    supply = (
        Supply("2027-03-01", "microworm", 600.0, 0.0),
        Supply("2027-03-02", "dry", 400.0, 0.0),
    )
    return Plan("loft", _NOW, _NOW + 14 * _DAY, (), (), lacks, {}, supply=supply)


def test_what_is_short_in_all_is_dated_by_any_food_and_summed_over_all() -> None:
    """30 and 20 of 1000 J are missing, first on the second day."""
    plan = _plan(_lack("microworm", 3, 30.0), _lack("dry", 2, 20.0), _lack("microworm", 2, 0.0))
    at = _NOW + 2 * _DAY
    assert short_of(plan) == Short(at, ("dry", "microworm"), ("microworm", "dry"), 0.05)


def test_what_an_entry_has_no_part_in_or_what_may_not_come_is_not_short_in_all() -> None:
    left_out = [
        _lack("any", 0, 90.0, "away"), _lack("dry", 0, 90.0, UNMEASURED),
        _lack("dry", 0, 90.0, thin=True), _lack("dry", 0, 90.0, spawns=(("b", "A1"),)),
    ]  # fmt: skip
    assert short_of(_plan(*left_out)) is None
    found = short_of(_plan(*left_out, _lack("dry", 4, 10.0)))
    assert found == Short(_NOW + 4 * _DAY, ("dry",), ("dry",), 0.01)


def test_more_missing_than_is_said_to_be_needed_is_all_of_it() -> None:
    found = short_of(_plan(_lack("dry", 1, 2000.0)))
    assert found is not None
    assert found.share == 1.0


_BEFORE = _plan(_lack("dry", 3, 100.0))


_SAID = "dry food will be short from Thu 4 Mar 07:00: {} of all food until Mon 15 Mar{}"
_SOONER = (
    "dry food and microworm will be short from Wed 3 Mar 07:00 (was Thu 4 Mar 07:00): 15% of all"
    " food until Mon 15 Mar (was 10%)"
)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (_plan(), _plan(), ""),
        (_BEFORE, _BEFORE, ""),
        # Another food that is furthest behind at the same round is no news, nor half a hundredth.
        (_BEFORE, _plan(_lack("microworm", 3, 104.0)), ""),
        (_plan(), _BEFORE, _SAID.format("10%", "")),
        (_BEFORE, _plan(), "no longer short: dry food"),
        (_BEFORE, _plan(_lack("dry", 2, 100.0), _lack("microworm", 2, 50.0)), _SOONER),
        (_BEFORE, _plan(_lack("dry", 3, 4.0)), _SAID.format("less than 1%", " (was 10%)")),
    ],
)
def test_when_anybody_first_goes_short_and_how_much_is_missing_is_said(
    old: Plan, new: Plan, said: str
) -> None:
    assert [*_shortfalls(old, new, "metric")] == ([said] if said else [])


def test_of_a_food_that_stops_how_much_of_it_there_is_is_no_news() -> None:
    def stopping(day: str, left_mg: int) -> Plan:
        text = f"Hardly any eels from {day} on ({left_mg} of 15 mg)"
        return evolve(_plan(), notes=(Stop("dry", f"{text}.", "", _NOW.date()).note,))

    assert [*_notes(stopping("Mon", 12), stopping("Mon", 9), set(), None, "metric")] == []
    sooner = stopping("Sun", 9)
    assert [*_notes(stopping("Mon", 12), sooner, set(), None, "metric")] == [sooner.notes[0].text]


def test_that_others_are_still_to_be_counted_is_no_news_of_a_count() -> None:
    """One of sixteen was counted; the other fifteen were as much uncounted before."""
    old, new = (evolve(_plan(), notes=(OfCounting(f"{n} broods not counted."),)) for n in (16, 15))
    assert [*_notes(old, new, set(), None, "metric")] == []
    plain = evolve(_plan(), notes=(Remark("15 broods not counted."),))
    assert [*_notes(_plan(), plain, set(), None, "metric")] != []


def test_a_remark_whose_figures_moved_by_a_tenth_or_less_is_no_news() -> None:
    def water(day: str, total: str, free: str, tank: str = "T 4") -> Plan:
        text = (
            f"Tank {tank} from {day}: a day's food brings {total} mg/L of ammonia nitrogen into"
            f" 20 L, {free} of it un-ionised at 26 °C."
        )
        return evolve(_plan(), notes=(OfWater(text, tank, day, "measure"),))

    def news(old: Plan, new: Plan) -> bool:
        return [*_notes(old, new, set(), None, "metric")] != []

    first = water("today", "0.7", "0.028")
    assert not news(first, water("today", "0.7", "0.027"))
    assert not news(first, water("today", "0.64", "0.026"))
    assert news(first, water("today", "0.7", "0.024"))
    assert news(first, water("today", "0.6", "0.028"))
    assert news(first, water("Fri 19 Mar", "0.7", "0.028"))
    assert news(water("Fri 19 Mar", "1", "0.1"), water("Fri 20 Mar", "1", "0.1"))
    assert news(water("today", "1", "0.1", "T 14"), water("today", "1", "0.1", "T 15"))
    warm, cold = (evolve(_plan(), notes=(Remark(f"A1 is cold ({t} °C)."),)) for t in (12, 11))
    assert [*_notes(warm, cold, set(), None, "metric")] == ["A1 is cold (11 °C)."]


def test_an_answer_says_nothing_of_the_water_of_a_tank_that_the_entry_is_not_about() -> None:
    """20 fry of A1 are sold; A2 gets more for it. Where nauplii fail, that is news of any tank."""
    texts = [f"Tank {name} from Sat 3 Apr: 1.5 times the ration is given. It fouls the water."
             for name in ("A1", "A2")]  # fmt: skip
    notes = (OfWater(text, f"A{n}", "Sat 3 Apr", "times", 1.5) for n, text in enumerate(texts, 1))
    new = evolve(_plan(), notes=tuple(notes))
    assert [*_notes(_plan(), new, set(), {"A1"}, "metric")] == texts[:1]
    assert [*_notes(_plan(), new, set(), None, "metric")] == texts
    # A room whose brood is another in its count; one in which another tank is colder.
    demo = read_room(demo_text(date(2027, 1, 5)), today=date(2027, 1, 5))
    brood, *others = demo.broods
    sold = evolve(demo, broods=(evolve(brood, count=brood.count / 2.0), *others))
    assert _touched(demo, sold) == {brood.tank}
    tank, *rest = demo.tanks
    cold = evolve(demo, tanks=(evolve(tank, temperature_c=tank.temperature_c - 4.0), *rest))
    assert _touched(demo, cold) == {tank.name}
    assert _touched(demo, evolve(demo, cultures=())) is None


def test_a_tank_that_is_warm_again_is_no_news_of_the_others() -> None:
    cold = "too cold at 18 °C: below 20 °C paradise fish fry do not grow"
    two_tanks = OfWarmth(f"2 tanks {cold} (H1 and H2).", ("H1", "H2"), cold)
    two = evolve(_plan(), notes=(two_tanks,))
    one = evolve(_plan(), notes=(OfWarmth(f"H1 {cold} (paradise 1).", ("H1",), cold),))
    assert [*_notes(two, one, set(), {"H2"}, "metric")] == []
    assert [*_notes(one, two, set(), {"H2"}, "metric")] == [two_tanks.text]


def _line(amount: float, day: float = 1.0) -> FeedLine:
    return FeedLine(_NOW + day * _DAY, "A1", "b", "dry", 9.0, 9.0, amount, "g")


def _set(grams: float, day: float = 1.0) -> SetHatch:
    at = _NOW + day * _DAY
    return SetHatch(
        id="set/1", at=at, until=at, subject="V1", why="", cysts_g=grams, spoons=0.0, water_l=1.0,
        salt_g=25.0, nauplii=1000,
    )  # fmt: skip


def test_what_stays_the_same_is_said_to_do_so_and_no_more() -> None:
    plan = evolve(_plan(), tasks=(_set(2.0),), lines=(_line(1.0),))

    def said(**changes: Any) -> str:
        return _same(plan, evolve(plan, **changes), USUAL)

    same = "The plan for the coming week stays the same."
    assert said() == same
    # A fortieth of a dose is not measured; a tenth is. What is noted just now, or lies beyond the
    # week, is neither.
    assert said(lines=(_line(1.02),)) == same
    assert "doses change" in said(lines=(_line(1.1),))
    assert "doses change" in said(lines=(_line(1.0), evolve(_line(1.0), brood="c")))
    assert said(lines=(_line(1.0), _line(3.0, 8.0))) == same
    assert said(tasks=(_set(2.0), _set(2.0, 8.0))) == same
    assert said(tasks=(_set(2.0), _set(2.0, 0.0))) == same
    assert said(tasks=(_set(2.1),)) == f"{same[:-1]}; amounts move by less than a twentieth."


def test_a_sorting_that_slides_to_a_round_of_today_is_not_gone() -> None:
    """It was told for Saturday, planned for tomorrow, and stands today at half past seven."""
    tomorrow, today = (
        told_task("sort", _NOW + wait, "gourami a", {"fry": 40.0}, key="sort/gourami a").task
        for wait in (_DAY, timedelta(minutes=30))
    )
    old, new = (evolve(_plan(), tasks=(task,)) for task in (tomorrow, today))
    told = {tomorrow.id: evolve(tomorrow, at=_NOW - 2 * _DAY)}
    assert [*_tasks(old, new, told, USUAL)] == []
    gone = [change.text for change in _tasks(old, _plan(), told, USUAL)]
    assert len(gone) == 1
    assert gone[0].startswith("no longer: ")


def test_what_was_in_hand_by_a_mistake_that_is_taken_back_is_said_to_be_done_no_longer() -> None:
    """A hatch that the plan still sets, at another time, is said there."""
    hatch = SetHatch(id="set_hatch/1", at=_NOW - timedelta(hours=1), until=_NOW, subject="V1",
                     why="", cysts_g=3.0, spoons=1.0, water_l=1.0, salt_g=25.0,
                     nauplii=1.0)  # fmt: skip
    told: Any = SimpleNamespace(task=hatch)

    def known(withdrawn: set[str]) -> Any:
        return SimpleNamespace(in_hand=(told,), record=SimpleNamespace(withdrawn=withdrawn))

    before, after = known({"x"}), known({"x", "set_hatch/1"})
    (said,) = _mistaken(before, after, _plan(), USUAL)
    assert said.text.startswith("no longer: Mon 1 Mar 06:00 set V1: ")
    assert not [*_mistaken(before, before, _plan(), USUAL)]
    assert not [*_mistaken(before, after, evolve(_plan(), tasks=(hatch,)), USUAL)]
