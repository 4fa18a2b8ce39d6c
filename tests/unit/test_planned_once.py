"""What the tests of screens get from memory is what they would get anew."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from attrs import define, evolve, field

from calendars import from_plan
from cli import progress
from cli.commands.demo_room import demo_text
from cultures.planning import telling
from cultures.planning.outlook import Outlook, make_outlook
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from tests.planned_once import PlannedOnce

_DAY = date(2027, 1, 5)


def _room() -> Room:
    return read_room(demo_text(_DAY), name="room.toml", today=_DAY)


@define
class _Made:
    """Stands for the planner, and counts."""

    asked: list[tuple[Room, datetime, int | None]] = field(factory=list)

    def __call__(self, room: Room, *, now: datetime, days: int | None = None) -> Outlook:
        self.asked.append((room, now, days))
        return Outlook(room, now, now, (), [], None, [], {})  # type: ignore[arg-type]


def _plan(outlook: Outlook, *, remedies: bool = True, risk: bool = False) -> Plan:
    return Plan(f"{remedies} {risk}", outlook.now, outlook.until, (), (), (), {})


def test_what_differs_in_anything_is_planned_anew() -> None:
    made, room = _Made(), _room()
    once, now = PlannedOnce(made, _plan, on=True), datetime(2027, 1, 5, 7, tzinfo=room.timezone)
    first = once.make_outlook(room, now=now)
    assert once.make_outlook(_room(), now=now) is first
    brood, culture = room.broods[0], room.cultures[0]
    fry_class, kind = brood.fry_class, culture.kind
    slower = evolve(fry_class, values={**fry_class.values, "growth_rate_per_day": 0.01})
    others = [
        evolve(room, broods=(evolve(brood, count=brood.count + 1e-9), *room.broods[1:])),
        evolve(room, broods=(evolve(brood, fry_class=slower), *room.broods[1:])),
        evolve(room, notes=("a remark",)),
        evolve(room, settled=frozenset({"a task"})),
        evolve(room, kinds={**room.kinds, kind.name: evolve(kind, label="of another name")}),
    ]
    for other in others:
        assert once.make_outlook(other, now=now) is not first
    assert once.make_outlook(room, now=now + timedelta(seconds=1)) is not first
    assert once.make_outlook(room, now=now, days=3) is not first
    assert len(made.asked) == 1 + len(others) + 2
    assert once.make_outlook(room, now=now) is first


def test_of_long_ago_it_is_planned_again() -> None:
    made, room = _Made(), _room()
    once, now = PlannedOnce(made, _plan, on=True), datetime(2027, 1, 5, 7, tzinfo=room.timezone)
    for minute in (*range(100), 0):
        once.make_outlook(room, now=now + timedelta(minutes=minute))
    assert len(made.asked) == 101


def test_tests_of_plans_plan_each_time() -> None:
    made, room = _Made(), _room()
    once, now = PlannedOnce(made, _plan), datetime(2027, 1, 5, 7, tzinfo=room.timezone)
    once.make_outlook(room, now=now)
    once.make_outlook(room, now=now)
    assert len(made.asked) == 2
    outlook = once.make_outlook(room, now=now)
    assert once.plan_of(outlook) is not once.plan_of(outlook)


def test_a_plan_is_of_its_outlook_and_of_what_was_asked() -> None:
    room = _room()
    once, now = PlannedOnce(_Made(), _plan, on=True), datetime(2027, 1, 5, tzinfo=room.timezone)
    first, other = once.make_outlook(room, now=now), once.make_outlook(room, now=now, days=3)
    plan = once.plan_of(first)
    assert once.plan_of(first) is plan
    assert once.plan_of(first, remedies=True) is plan
    assert once.plan_of(first, remedies=False).room == "False False"
    assert once.plan_of(first, risk=True).room == "True True"
    assert once.plan_of(other) is not plan


def test_screens_ask_it() -> None:
    for module in (progress, from_plan, telling):
        assert vars(module)["make_outlook"] is make_outlook
    assert isinstance(make_outlook.__self__, PlannedOnce)  # type: ignore[attr-defined]
    assert vars(progress)["plan_of"].__self__ is make_outlook.__self__  # type: ignore[attr-defined]
