"""Tasks that are alike are told as one, with nothing of any of them lost."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from attrs import evolve

from cultures.tasks.task import HarvestWorms, SetHatch, Split, Task, task_of
from cultures.words.grouped import (
    alike,
    group_text,
    harvests_text,
    names,
    reasons,
    runs,
    together,
)
from cultures.words.tasks import brief_text, for_spawns, left_out, soaked_ml, task_text, why_text
from cultures.words.tools import USUAL
from tests.unit.test_replay_by_hand import ROOM

_AT = datetime(2027, 1, 8, 7, 30, tzinfo=UTC)
_SETTING = {"cysts_g": 1.5, "spoons": 0.5, "water_l": 1.0, "salt_g": 25.0, "nauplii": 1e5}
_ONTO = "10 g onto 150 g of new medium each, label"


def _task(what: str, subject: str, amounts: dict[str, float] | None = None, *, other: str = "",
          why: str = "Because.", **more: Any) -> Task:  # fmt: skip
    return task_of(what, amounts or {}, id=f"{what}/{subject}/{other}", at=_AT, until=_AT,
                   subject=subject, why=why, other=other, **more)  # fmt: skip


def _worms(subject: str, swipes: float = 3.0, other: str = "the wall") -> HarvestWorms:
    found = _task("harvest_worms", subject, {"mg": 20 * swipes, "swipes": swipes}, other=other)
    assert isinstance(found, HarvestWorms)
    return found


def _split(parent: str, child: str, starter_g: float = 10.0, why: str = "Because.") -> Task:
    return _task("split", parent, {"starter_g": starter_g, "medium_g": 150.0}, other=child, why=why)


@pytest.mark.parametrize(
    ("every", "said"),
    [
        (["A1"], "A1"), (["A1", "A2"], "A1 and A2"), (["A1", "A2", "A3"], "A1 to A3"),
        (["A1", "A2", "A3", "B4"], "A1 to A3 and B4"), (["A1", "A3", "A5"], "A1, A3 and A5"),
        (["A2", "A1", "A0"], "A2, A1 and A0"), (["A9", "A10", "A11", "A12"], "A9 to A12"),
        (["A1", "B2", "C3"], "A1, B2 and C3"), (["left", "right"], "left and right"),
        (["A1", "A1", "A1"], "A1, A1 and A1"),
    ],
)  # fmt: skip
def test_names_numbered_one_after_another_are_a_range(every: list[str], said: str) -> None:
    assert names(every) == said


def test_runs_are_cut_where_a_number_is_left_out() -> None:
    assert runs(["GW-1", "GW-2", "MW-7", "MW-9"]) == [["GW-1", "GW-2"], ["MW-7"], ["MW-9"]]
    assert runs([]) == []


def test_groups_stand_where_their_first_one_stood() -> None:
    assert together([3, 1, 5, 2], lambda n: n % 2) == [(3, 1, 5), (2,)]


def test_what_is_told_as_one_agrees_in_all_that_is_said() -> None:
    worms, split = _worms("MW-1"), _split("MW-1", "MW-3")
    setting = _task("set_hatch", "a", _SETTING)
    assert isinstance(split, Split)
    assert isinstance(setting, SetHatch)
    for one, other, same in (
        (worms, _worms("MW-2"), True), (worms, _worms("MW-2", other="the glass"), False),
        (worms, evolve(worms, at=_AT + timedelta(minutes=1)), False),
        (split, _split("MW-2", "MW-4"), True), (split, _split("MW-1", "MW-4", 12.0), False),
        (split, evolve(split, medium_g=200.0), False), (split, evolve(split, onto="oats"), False),
        (split, evolve(split, spawns=(("x", "A1"),)), False),
        (setting, evolve(setting, subject="b", id="other"), True),
        (setting, evolve(setting, cysts_g=2.0), False),
        (setting, evolve(setting, water_l=2.0), False),
        (setting, evolve(setting, salt_g=2.0), False),
        (_task("feed", "x", {"tanks": 2.0}), _task("feed", "y", {"tanks": 2.0}), False),
    ):  # fmt: skip
        assert (alike(one, "microworm") == alike(other, "microworm")) is same
    assert alike(split, "microworm") != alike(split, "grindal_worm")
    for what in ("retire", "count", "sort", "lid", "move_on"):
        fish = {"fry": 5.0, "length_mm": 9.0} if what != "retire" else {}
        fish = {"fry": 5.0} if what == "count" else fish
        assert alike(_task(what, "a", fish), "") == alike(_task(what, "b", fish), ""), what
    food = {"length_mm": 9.0}
    assert alike(_task("switch_food", "a", food, other="dry"), "") != alike(
        _task("switch_food", "a", food, other="microworm"), ""
    )


def _spawned(task: Task, *tanks: str) -> Task:
    return evolve(task, spawns=tuple((f"of {tank}", tank) for tank in tanks))


@pytest.mark.parametrize(
    ("tasks", "said"),
    [
        ([_worms("MW-1"), _worms("MW-2")],
         "MW-1 and MW-2: 3 swipes each off the wall, into the cup"),
        ([_worms("MW-1", 1.0)], "MW-1: 1 swipe off the wall, into the cup"),
        ([_worms("MW-1"), _worms("MW-2", 1.5)],
         "MW-1: 3 swipes, MW-2: 1 1/2 swipes off the wall, into the cup"),
        ([_split("MW-1", "MW-3"), _split("MW-2", "MW-4")],
         f"split MW-1 and MW-2: {_ONTO} MW-3 and MW-4"),
        ([_split("MW-1", "MW-3"), _split("MW-1", "MW-4")],
         f"split MW-1 twice: {_ONTO} MW-3 and MW-4"),
        ([_split("MW-1", f"MW-{n}") for n in (3, 4, 5)],
         f"split MW-1 3 times: {_ONTO} MW-3 to MW-5"),
        ([_split(p, f"MW-{n}") for n, p in enumerate(["MW-1", "MW-2"] * 2, 3)],
         f"split 4 of MW-1 and MW-2: {_ONTO} MW-3 to MW-6"),
        ([_split(p, f"MW-{n}") for n, p in enumerate(["MW-1", "MW-2", "MW-1"], 3)],
         f"split 3 of MW-1 (2), MW-2: {_ONTO} MW-3 to MW-5"),
        ([_task("start", "microworm", {"starter_g": 15.0, "medium_g": 150.0}, other=f"MW-{n}")
          for n in (1, 2)],
         "start MW-1 and MW-2 from a bought starter, each on 150 g of medium"),
        ([_task("retire", "MW-1"), _task("retire", "MW-2")], "discard MW-1 and MW-2"),
        ([_task("switch_food", x, {"length_mm": 9.0}, other="dry") for x in ("a", "b")],
         "make dry food the main food from now on: a and b"),
        ([_task("first_food", x, {"fry": 9.0}, other=t) for x, t in (("a", "A1"), ("b", "A2"))],
         "first food for a in A1, b in A2"),
        ([_task("lid", x, {"fry": 9.0, "length_mm": 9.0}, other=t)
          for x, t in (("a", "A1"), ("b", "A2"))], "put a tight lid over a in A1, b in A2"),
        ([_task("sort", x, {"fry": 9.0, "length_mm": 9.0}, other="A1") for x in ("a", "b")],
         "sort a in A1, b in A1 by size"),
        ([_spawned(_split("MW-1", "MW-3"), "A1"), _spawned(_split("MW-2", "MW-4"), "A1")],
         f"split MW-1 and MW-2: {_ONTO} MW-3 and MW-4, for the spawn planned in A1"),
        ([_spawned(_task("retire", x), "A1", "A2") for x in ("a", "b")],
         "discard a and b, for the spawns planned in A1 and A2"),
    ],
)  # fmt: skip
def test_a_group_says_who_what_and_how(tasks: list[Task], said: str) -> None:
    assert group_text(tasks, USUAL) == said


def test_settings_that_are_alike_say_what_goes_into_each() -> None:
    both = [_task("set_hatch", name, _SETTING) for name in ("a", "b")]
    tools = evolve(USUAL, g_per_ml=ROOM.tools.g_per_ml, spoons=())
    assert group_text(both, tools) == "set a and b, each with 1.5 g cysts, 1 L water, 25 g salt"


def test_what_was_noted_of_a_harvest_keeps_it_apart() -> None:
    worms = [_worms("MW-1"), _worms("MW-2"), _worms("MW-3")]
    said = harvests_text(worms, USUAL, lambda t: "done: " if t.subject == "MW-2" else "")
    assert said == "MW-1 and MW-3: 3 swipes each, done: MW-2: 3 swipes"


def test_of_reasons_what_holds_for_each_is_said_at_the_end() -> None:
    one, two, other = (
        _task("retire", subject, why=why)
        for subject, why in (
            ("MW-1", "It is old. It smells; throw it out."),
            ("MW-2", "It is old. It smells; throw it out."),
            ("MW-3", "It is young. It smells; throw it out."),
        )
    )
    assert reasons([one, two], "metric") == ["It is old. It smells; throw it out."]
    assert reasons([one, two, other], "metric") == [
        "MW-1 and MW-2: It is old.", "MW-3: It is young.", "It smells; throw it out."
    ]  # fmt: skip
    alone = _task("retire", "MW-4", why="It is done.")
    assert reasons([one, alone], "metric") == [
        "MW-1: It is old. It smells; throw it out.", "MW-4: It is done."
    ]  # fmt: skip
    split, more = _split("MW-1", "MW-3", why="A. Z."), _split("MW-2", "MW-4", why="B. Z.")
    assert reasons([split, more], "metric") == ["A.", "B.", "Z."]


# --- one task


def test_a_task_hangs_on_one_spawning_or_on_several() -> None:
    assert for_spawns(_spawned(_task("retire", "x"), "A1")) == "for the spawn planned in A1"
    first = _task("first_food", "x", {"fry": 9.0}, other="A1")
    assert for_spawns(_spawned(first, "A1")) == "if it spawns as planned"
    assert task_text(_spawned(first, "A1")).endswith("in A1, if it spawns as planned")


def test_a_reason_has_large_numbers_to_three_digits() -> None:
    task = _task("retire", "x", why="Of 123,456 fry 1,234.5 are 1,999,999 and 999; 12,345 g.")
    assert why_text(task) == "Of 123,000 fry 1,234.5 are 2,000,000 and 999; 12,300 g."


def test_who_has_done_it_before_needs_no_word_on_rinsing() -> None:
    draw = _task("harvest_worms", "VE-1", {"mg": 9.0, "draws": 3.0}, caution="It is vinegar.")
    assert task_text(draw) == (
        "VE-1: 30 mL from the neck, sieve, pour the vinegar back into the bottle, rinse the eels"
        " well"
    )
    assert brief_text(draw) == "VE-1: 30 mL from the neck, sieve, rinse"
    water = evolve(draw, caution="")
    assert task_text(water).endswith(
        ": 30 mL, sieve, pour the water back into the culture, rinse the catch well"
    )
    assert brief_text(_worms("MW-1")) == "MW-1: 3 swipes off the wall, into the cup"


def test_dry_food_is_soaked_in_half_a_litre_a_gram_up_to_a_gram() -> None:
    """5 mL for each 0.01 g; more than a gram is weighed out tank by tank (docs/wording.md)."""
    assert soaked_ml(0.01, 0.5) == 5.0
    assert soaked_ml(0.2, 1.0) == 100.0
    assert soaked_ml(0.2, 1.01) is None
    one = _task("soak", "", {"dry_g": 1.0, "spoons": 0.4})
    assert " 500 mL water" in task_text(one)
    assert "weighed out for each tank" in task_text(
        _task("soak", "", {"dry_g": 1.01, "spoons": 0.4})
    )


@pytest.mark.parametrize(
    ("water_ml", "said"), [(99.0, "99 mL"), (101.0, "100 mL"), (103.0, "105 mL"), (100.0, "100 mL")]
)
def test_of_a_hundred_millilitres_on_five_are_not_seen(water_ml: float, said: str) -> None:
    task = _task("soak", "", {"dry_g": 0.2, "spoons": 0.1, "water_ml": water_ml})
    assert task_text(task).partition(" in ")[2] == f"{said} water"


def test_nothing_is_left_out_where_all_can_be_measured() -> None:
    assert left_out(()) == ""
