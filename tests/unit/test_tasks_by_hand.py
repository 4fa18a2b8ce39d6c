"""Tasks against the numbers of the plan that they are made of."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.foods.food import DRY
from cultures.foods.kinds import WormKind
from cultures.fry.feeding import feeding_values
from cultures.needs.need import BroodCourse
from cultures.planning.build import _counts, _fresh
from cultures.planning.food_tasks import _free_key, _water_ml
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.servings import dry_j_per_g
from cultures.room.file import read_room
from cultures.room.room import CultureMark, Room
from cultures.tasks.task import (
    Count,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Soak,
    Split,
    Task,
)
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours

_TODAY = date(2027, 1, 5)
#: A sixth of a US fluid ounce (NIST Handbook 44, appendix C).
US_TEASPOON_ML = 29.5735295625 / 6


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(demo_text(_TODAY), today=_TODAY)


@pytest.fixture(scope="module")
def outlook(room: Room) -> Outlook:
    return make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=28)


def _of(outlook: Outlook, form: type[Task]) -> list[Task]:
    found = [task for task in tasks_of(outlook) if isinstance(task, form)]
    assert found
    return found


def test_a_setting_says_grams_water_salt_and_what_hatches(outlook: Outlook) -> None:
    batches = {(b.vessel.name, b.set_h): b for b in outlook.feeding.hatches.batches}
    for task in _of(outlook, SetHatch):
        assert isinstance(task, SetHatch)
        batch = batches[task.subject, task.at.timestamp() / 3600.0]
        assert task.cysts_g == batch.cysts_g
        assert task.water_l == batch.vessel.litres
        assert task.salt_g == pytest.approx(
            batch.vessel.litres * batch.vessel.salinity_g_per_l, abs=0.05
        )
        assert task.nauplii == pytest.approx(batch.nauplii, abs=0.5)
        level_g = outlook.room.hatch_kind.values["bulk_density_g_per_ml"] * US_TEASPOON_ML
        assert task.spoons == pytest.approx(batch.cysts_g / level_g, abs=0.0051)
        assert f"{batch.harvest_h - batch.set_h:.1f} h at" in task.why


def test_a_harvest_is_what_is_fed_of_it_and_what_is_left(outlook: Outlook) -> None:
    fed: dict[int, float] = {}
    for row in outlook.feeding.hatches.portions:
        for portion in row:
            fed[portion.batch] = fed.get(portion.batch, 0.0) + portion.nauplii
    open_batches = [b for b in outlook.feeding.hatches.batches if not b.held]
    tasks = [t for t in _of(outlook, HarvestHatch) if isinstance(t, HarvestHatch)]
    assert len(tasks) == len(open_batches)
    for number, batch in enumerate(outlook.feeding.hatches.batches):
        (task,) = (
            t for t in tasks
            if (t.subject, t.at) == (batch.vessel.name, outlook.room.at_hour(batch.harvest_h))
        )  # fmt: skip
        assert task.fed_nauplii == pytest.approx(fed.get(number, 0.0))
        assert task.left_over == pytest.approx(max(0.0, task.nauplii - fed.get(number, 0.0)))
        assert task.until == max(
            task.at + timedelta(minutes=10), outlook.feedings[batch.at_index].at
        )


def test_worms_are_swiped_or_drawn_in_portions_of_their_kind(outlook: Outlook) -> None:
    kinds = {s.culture.name: p.kind for p in outlook.feeding.worms.values() for s in p.stages}
    seen = set()
    for task in _of(outlook, HarvestWorms):
        assert isinstance(task, HarvestWorms)
        kind = kinds[task.subject]
        seen.add(kind.medium)
        portions = task.mg / kind.values["portion_mg"]
        if kind.medium == "solid":
            assert task.draws is None
            assert task.swipes == pytest.approx(portions, abs=0.005)
        else:
            assert task.swipes is None
            assert task.draws == pytest.approx(portions, abs=0.051)
    assert seen == {"solid", "liquid"}


def test_dry_food_is_soaked_a_while_before_its_round_but_not_before_anybody_is_up(
    outlook: Outlook,
) -> None:
    soaking = timedelta(minutes=feeding_values()["soak_min"])
    for task in _of(outlook, Soak):
        assert isinstance(task, Soak)
        (feeding,) = (r for r in outlook.feedings if r.at == task.until)
        waking = outlook.room.local(feeding.at.date(), outlook.room.awake[0])
        assert task.at == max(feeding.at - soaking, min(waking, feeding.at))
        fed_g = sum(x.amount for x in outlook.lines[feeding.index] if x.food == DRY)
        assert (task.fed_g or task.dry_g) == pytest.approx(fed_g)
        # No scale is named, so it is measured by half of an eighth teaspoon, 0.31 mL.
        assert -1e-9 <= task.dry_g - fed_g < 0.31 * feeding_values()["dry_g_per_ml"]
    late = evolve(outlook.room, awake=(outlook.room.rounds[0], outlook.room.awake[1]))
    first = next(t for t in tasks_of(make_outlook(late, now=outlook.now)) if isinstance(t, Soak)
                 and t.until.time() == outlook.room.rounds[0])  # fmt: skip
    assert first.at == first.until


def test_thin_soaked_food_says_its_water() -> None:
    """0.02 g that are fed in 20 mL, of 0.03 g that are weighed: 30 mL."""
    line = FeedLine(at=datetime(2027, 1, 5), tank="A", brood="b", food=DRY, need_j=1.0,  # noqa: DTZ001
                    given_j=dry_j_per_g() * 0.01, amount=0.01, unit="g", wet_ml=10.0)  # fmt: skip
    assert _water_ml([line, line], 0.03) == pytest.approx(30.0)
    assert _water_ml([evolve(line, wet_ml=None)], 0.03) is None


def test_a_round_counts_its_tanks_and_cups(outlook: Outlook) -> None:
    for task in _of(outlook, Feed):
        assert isinstance(task, Feed)
        (feeding,) = (r for r in outlook.feedings if r.at == task.at)
        given = [x for x in outlook.lines[feeding.index] if x.amount > 0]
        assert task.tanks == len({x.tank for x in given})
        assert set(task.cups_ml) == {x.food for x in given} - {DRY}
        for food, volume in task.cups_ml.items():
            dosed = sum(x.amount for x in given if x.food == food)
            # Of a cup of which drops are taken less than a mark stays in it.
            assert task.fed_ml.get(food, volume) == pytest.approx(dosed, abs=0.999)
        dry_g = sum(x.amount for x in given if x.food == DRY)
        assert (task.dry_g or 0.0) == pytest.approx(dry_g)
        portions = outlook.feeding.hatches.portions[feeding.index]
        assert (task.nauplii or 0.0) == pytest.approx(sum(p.nauplii for p in portions))


def test_a_culture_is_binned_once_it_is_spent_and_somebody_is_there(room: Room) -> None:
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=42)
    binned = {t.subject: t.at for t in _of(outlook, Retire)}
    for plan in outlook.feeding.worms.values():
        for stage in plan.stages:
            if stage.spent_from < len(outlook.feedings):
                first = next(r for r in outlook.feedings[stage.spent_from :] if r.keeper)
                assert binned[stage.culture.name] == first.at
                assert first.at_h >= stage.spent_h


_OLD = """
[room]
timezone = "UTC"
temperature_c = 20
as_of = 2027-01-05
[[tank]]
name = "A"
litres = 40
temperature_c = 25
[[brood]]
name = "one"
tank = "A"
class = "tiny_scatterer"
count = 600
free_swimming = 2027-01-03
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-01
medium_g = 150
surface_cm2 = 180
starter_g = 15
"""


def test_a_souring_parent_is_kept_until_its_last_child_gives() -> None:
    """Five weeks old it sours, and is split all the same: if that fails, there is nothing else to
    begin with. So it is once its children are made, whether they are planned or stand.
    """
    now = datetime(2027, 1, 5, 7, tzinfo=UTC)
    room = read_room(_OLD, today=now.date())
    outlook = make_outlook(room, now=now, days=28)
    plan = outlook.feeding.worms["microworm"]
    made = [split.culture for split in plan.splits if split.parent == "MW-1"]
    old = next(stage for stage in plan.stages if stage.culture.name == "MW-1")
    first = max(outlook.feedings[plan.course.usable_from[c.name]].at for c in made)
    assert outlook.feedings[old.spent_from].at < first
    (binned,) = [t for t in _of(outlook, Retire) if t.subject == "MW-1"]
    assert binned.at == first
    assert "was kept until" in binned.why
    # On the next day they stand, and it is known that they were begun of it.
    mark = CultureMark(hours(now), old.ages[0], old.start_mg, (old.ages[0],),
                       tuple(c.name for c in made))  # fmt: skip
    parent = evolve(room.cultures[0], mark=mark)
    children = tuple(evolve(c, started=now.date()) for c in made)
    later = now + timedelta(days=1)
    stands = make_outlook(evolve(room, cultures=(parent, *children)), now=later, days=28)
    plan = stands.feeding.worms["microworm"]
    assert not [split for split in plan.splits if split.culture.name in {c.name for c in made}]
    more = [split.culture for split in plan.splits if split.parent == "MW-1"]
    last = max(stands.feedings[plan.course.usable_from[c.name]].at for c in (*made, *more))
    (binned,) = [t for t in _of(stands, Retire) if t.subject == "MW-1"]
    assert binned.at == last > later + timedelta(days=2)
    # Of one that is supposed to be lost nothing is kept.
    lost_h = hours(later + timedelta(days=1))
    lost = make_outlook(
        evolve(room, cultures=(evolve(parent, lost_h=lost_h), *children)), now=later, days=28
    )
    (binned,) = [t for t in _of(lost, Retire) if t.subject == "MW-1"]
    assert lost_h <= hours(binned.at) < lost_h + 24.0


def test_a_split_says_what_it_takes_and_when_its_culture_will_be_harvested(room: Room) -> None:
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=42)
    splits = {t.other: t for t in _of(outlook, Split) if isinstance(t, Split)}
    for plan in outlook.feeding.worms.values():
        assert isinstance(plan.kind, WormKind)
        for split in plan.splits:
            task, name = splits[split.culture.name], split.culture.name
            assert (task.subject, task.starter_g, task.medium_g) == (
                split.parent, split.culture.starter_g, split.culture.medium_g,
            )  # fmt: skip
            assert task.at == outlook.feedings[split.at_index].at
            ripe = plan.course.usable_from.get(name)
            rounds = [
                i for i, row in enumerate(plan.course.harvests)
                if any(h.culture == name for h in row)
            ]  # fmt: skip
            if ripe is None or not rounds:
                continue
            ripe_on, first_on = (outlook.feedings[i].at.date() for i in (ripe, rounds[0]))
            soon = first_on - ripe_on <= timedelta(days=3)
            assert ("will first be harvested" in task.why) is soon
            assert ("is ripe from" in task.why) is not soon


# --- counts


def _due(outlook: Outlook, counted: list[date]) -> list[Task]:
    room = outlook.room
    broods = [evolve(room.broods[0], name=f"b{n}", counted_on=day) for n, day in enumerate(counted)]
    tasks = list(_counts(outlook, [BroodCourse.of(room, brood) for brood in broods]))
    assert all(isinstance(task, Count) for task in tasks)
    return tasks


def test_a_brood_is_counted_two_weeks_after_it_was_or_has_begun_to_eat(outlook: Outlook) -> None:
    room = outlook.room
    first = BroodCourse.of(room, room.broods[0]).first_food_day()
    for since in (_TODAY - timedelta(days=13), _TODAY - timedelta(days=2), _TODAY):
        (task,) = _due(outlook, [since])
        due = max(since + timedelta(days=14), first + timedelta(days=14), _TODAY)
        assert task.at.date() == due
    (late,) = _due(outlook, [_TODAY - timedelta(days=40)])
    assert late.at.date() >= _TODAY


def test_more_than_four_broods_are_spread_over_a_week(outlook: Outlook) -> None:
    """All are due on one day: up to four are counted on it, of eight two on each of four days."""
    since = _TODAY - timedelta(days=4)
    due = {t.at.date() for t in _due(outlook, [since])}
    assert {t.at.date() for t in _due(outlook, [since] * 4)} == due
    many = [t.at.date() for t in _due(outlook, [since] * 8)]
    (day,) = due
    assert sorted(many)[0] >= day
    assert sorted(many)[-1] < day + timedelta(days=7)
    assert len({*many}) == 4


# --- names of tasks


def test_a_task_whose_name_is_taken_gets_the_next_number(outlook: Outlook) -> None:
    task = _of(outlook, SetHatch)[0]
    settled = frozenset({task.id, f"{task.id}#2"})
    assert [t.id for t in _fresh([task], set(), frozenset())] == [task.id]
    assert [t.id for t in _fresh([task], set(), settled)] == [f"{task.id}#3"]
    assert not list(_fresh([task], {f"{task.id}#3"}, settled))
    assert not list(_fresh([task], {task.id}, frozenset()))
    taken = {"a/1", "a/2", "b/1"}
    assert [_free_key(name, taken) for name in ("a", "b", "c", "a")] == ["a/3", "b/2", "c/1", "a/4"]
    assert "c/1" in taken
