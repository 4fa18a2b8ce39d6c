"""Remarks of a plan, each from the day on which it is worth a word, and how long tasks take."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cli.screens.culture import _left_alone
from cli.screens.remarks import new_remarks, waiting
from cultures.fry.bioenergetics import Fed
from cultures.planning.notes import (
    _grown,
    _left_to_grow,
    _of_fry,
    _stale,
    _temperatures,
    _unconfirmed,
    notes_of,
    starving_broods,
    stopped_foods,
)
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.worm_course import Harvest
from cultures.room.file import read_room
from cultures.room.room import Brood, Room
from cultures.tasks.plan import Remark, Stop, Supply
from cultures.tasks.task import (
    Buy,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Lid,
    MoveOn,
    SetHatch,
    Sort,
    Split,
)

_TODAY = date(2027, 1, 5)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(demo_text(_TODAY), today=_TODAY)


def _at(room: Room, day: date = _TODAY) -> datetime:
    return datetime(day.year, day.month, day.day, 7, tzinfo=room.timezone)


def _with(room: Room, *broods: Brood, **changes: Any) -> Room:
    return evolve(room, broods=broods, **changes)


# --- hunger


def test_one_brood_that_starves_is_fed_first_and_several_in_the_order_of_their_days(
    room: Room,
) -> None:
    young = min(room.broods, key=lambda b: b.fry_class.values["starve_days"])
    lean, worse = (
        evolve(young, name=name, fed=Fed(1.0, reserve, 0.3, 4.0))
        for name, reserve in (("lean", 0.4), ("worse", 0.2))
    )
    assert list(starving_broods(_with(room, young), _at(room))) == []
    (one,) = starving_broods(_with(room, young, lean), _at(room))
    assert one.startswith(f"Feed lean in {lean.tank} first, little and often")
    (both,) = starving_broods(_with(room, lean, young, worse), _at(room))
    assert both.startswith("Feed these first, little and often")
    assert both.index("worse in") < both.index("lean in")
    assert young.name not in both


# --- days that were said of eggs


@pytest.mark.parametrize(("after", "asked"), [(0, False), (1, True), (7, True), (8, False)])
def test_eggs_whose_day_is_over_are_asked_about_for_a_week(
    room: Room, after: int, *, asked: bool
) -> None:
    day = _TODAY + timedelta(days=2)
    eggs = evolve(room.broods[0], name="eggs", anchor="wetted", anchor_date=day)
    said = list(_unconfirmed(_with(room, eggs), _at(room, day + timedelta(days=after))))
    assert any("is taken to have been in water since" in text for text in said) is asked
    assert not list(_unconfirmed(_with(room, evolve(eggs, seen=True)), _at(room, day)))
    # What was so when the room file was written is known.
    written = _with(room, eggs, as_of=day)
    assert not list(_unconfirmed(written, _at(room, day + timedelta(days=1))))


def test_eggs_are_not_put_in_water_while_nobody_is_there(room: Room) -> None:
    away = read_room(
        demo_text(_TODAY) + "\n[[away]]\nfrom = 2027-01-07\nto = 2027-01-08\n", today=_TODAY
    )
    for day, said in ((6, 0), (7, 1), (8, 1), (9, 0)):
        eggs = evolve(room.broods[0], anchor="wetted", anchor_date=date(2027, 1, day))
        found = list(_unconfirmed(_with(away, eggs), _at(room)))
        assert len(found) == said
        assert all("when you are away" in text for text in found)


# --- what is old, too warm, too large


def test_who_was_not_counted_for_more_than_two_weeks_is_named(room: Room) -> None:
    broods = [
        evolve(room.broods[0], name=f"{days} days", counted_on=_TODAY - timedelta(days=days),
               anchor="free_swimming", anchor_date=_TODAY - timedelta(days=30))
        for days in (13, 14, 15, 16)
    ]  # fmt: skip
    text = next(_stale(_with(room, *broods), _at(room))).text
    assert text.startswith("2 broods not counted")
    assert text.endswith("16 days, 15 days.")
    assert not list(_stale(_with(room, *broods[:2]), _at(room)))


def test_a_tank_outside_the_range_of_its_fry_is_named(room: Room) -> None:
    """A degree above it is near enough; below it they grow little, and in the end not at all."""
    brood = room.broods[0]
    low, high = (brood.fry_class.values[key] for key in ("t_min_c", "t_max_c"))
    tank = room.tank(brood.tank)
    found = []
    none = brood.fry_class.parameters["t_min_c"].low
    for degrees in (none, low - 0.1, low, high + 1.0, high + 1.1):
        one = _with(room, brood, tanks=(evolve(tank, temperature_c=degrees),), vessels=(),
                    cultures=())  # fmt: skip
        found.append(" ".join(note.text for note in _of_fry(one, _at(room), fresh=False)))
    assert ["do not grow" in text for text in found] == [True, False, False, False, False]
    assert ["grow little" in text for text in found] == [False, True, False, False, False]
    assert ["check the heater" in text for text in found] == [False, False, False, False, True]


def test_a_culture_that_hardly_grows_is_named(room: Room) -> None:
    """Below 0.15 of the speed at which its figures are given."""
    culture = room.cultures[0]
    for tenths in range(50, 250, 5):
        degrees = tenths / 10.0
        cold = evolve(culture, temperature_c=degrees)
        said = list(_temperatures(_with(room, vessels=(), cultures=(cold,)), _at(room), ()))
        assert bool(said) is (culture.kind.rate(degrees) < 0.15)
    v = culture.kind.values
    (text,) = _temperatures(
        _with(room, vessels=(), cultures=(evolve(culture, temperature_c=4.0),)), _at(room), ()
    )
    assert f"between {v['t_min_c'] + 8:.0f} and {v['t_max_c'] - 5:.0f} °C" in text


def test_who_is_past_fry_age_is_named(room: Room) -> None:
    brood = room.broods[0]
    limit_mm = brood.fry_class.values["fry_until_mm"]
    for length_mm, said in ((limit_mm - 0.5, 0), (limit_mm + 0.5, 1)):
        old = evolve(brood, anchor="length", length_mm=length_mm, anchor_date=_TODAY)
        assert len(list(_grown(_with(room, old), _at(room)))) == said


# --- foods that stop


def test_what_is_to_be_bought_is_no_remark_that_others_hide(room: Room) -> None:
    """A screen that shows four remarks shows the purchase, however many lines were not read."""
    busy = evolve(room, notes=("one", "two", "three", "four", "five"))
    buy = Stop("brine_shrimp", "Hardly any nauplii: buy 30 g of cysts.", "cysts", _TODAY)
    other = Stop("microworm", "Hardly any microworms.", "", _TODAY)
    found = notes_of(make_outlook(busy, now=_at(room), days=3), [other, buy])
    assert found[0] == buy.note
    assert found.index(other.note) > found.index(Remark("five"))


def test_a_purchase_that_is_asked_for_above_is_not_asked_for_in_a_remark(room: Room) -> None:
    """That the food stops is still said, and when; of another purchase all of it."""
    said = "Hardly any nauplii from Sun 24 Jan on: buy 30 g of cysts by Thu 14 Jan (the tin)."
    stop = Stop("brine_shrimp", said, "cysts", buy=": buy 30 g of cysts by Thu 14 Jan")
    plan: Any = SimpleNamespace(notes=(stop.note,), shortfalls=())
    outlook = make_outlook(room, now=_at(room), days=3)
    first = next(r.at for r in outlook.feedings)
    buys = [
        Buy(id=f"buy/{key}", at=first, until=first, subject=key, why="",
            item=key, grams=30.0)
        for key in ("cysts", "dry")
    ]  # fmt: skip
    remarks = new_remarks(plan, outlook)
    (short,) = waiting(remarks, outlook.now, buys[:1])
    assert short.text.startswith("Hardly any nauplii from Sun 24 Jan on (the tin).")
    for asked in ([], buys[1:]):
        (full,) = waiting(remarks, outlook.now, asked)
        assert full.text.startswith(said)


@pytest.mark.parametrize(
    ("shares", "stops"),
    [
        ((1.0, 0.24, 0.24, 1.0), True),
        ((1.0, 0.24, 0.25, 1.0), False),  # a quarter is something
        ((1.0, 0.0, 1.0, 0.0), False),  # two days in a row
        ((1.0, 1.0, 0.1, 0.1), True),
    ],
)
def test_a_food_has_stopped_when_it_gives_less_than_a_quarter_for_two_days(
    room: Room, monkeypatch: pytest.MonkeyPatch, shares: tuple[float, ...], *, stops: bool
) -> None:
    """Of nauplii, of which 100 J are wanted each day."""
    supply = [
        Supply((_TODAY + timedelta(days=n)).isoformat(), "brine_shrimp", 100.0, 100.0 * share)
        for n, share in enumerate(shares)
    ]
    monkeypatch.setattr(Outlook, "supply", lambda _: supply)
    found = list(stopped_foods(make_outlook(room, now=_at(room), days=7)))
    assert [stop.food for stop in found] == (["brine_shrimp"] if stops else [])
    for stop in found:  # on and on, or to the last of its days
        assert ("on (" in stop.note.text) is (shares[-1] < 0.25)
        assert ("to Thu 7 Jan" in stop.note.text) is (shares[-1] >= 0.25)


# --- tasks


def test_how_long_each_task_takes(room: Room) -> None:
    """Common practice, no source: half an hour to feed, to split and to sort, a quarter to set a
    hatch, ten minutes to swipe; a hatch is drawn off before the round that it is for.
    """
    minutes = {SetHatch: 15, Split: 30, Feed: 30, HarvestWorms: 10, Sort: 30, Lid: 30, MoveOn: 30}
    tasks = tasks_of(make_outlook(room, now=_at(room), days=42))
    seen = {type(task) for task in tasks}
    assert seen > {*minutes, HarvestHatch} - {MoveOn, Lid}
    for task in tasks:
        if type(task) in minutes:
            assert (task.until - task.at) == timedelta(minutes=minutes[type(task)]), task
        elif isinstance(task, HarvestHatch):
            assert timedelta(minutes=10) <= task.until - task.at <= timedelta(minutes=30)


def test_a_culture_that_is_left_to_grow_is_named_where_its_worms_are_scarce(room: Room) -> None:
    """MW-1 gives from the first round on and is taken from on the sixth day (Sun 10 Jan), MW-2
    tomorrow; one that is not ripe, or of which nothing is ever taken, is not left to grow.
    """
    now = _at(room)
    rounds = [SimpleNamespace(at=now + timedelta(days=n)) for n in range(8)]
    taken = {1: [Harvest("MW-2", 9.0)], 5: [Harvest("MW-1", 9.0), Harvest("MW-3", 9.0)],
             6: [Harvest("MW-1", 9.0)]}  # fmt: skip
    course = SimpleNamespace(
        harvests=[tuple(taken.get(n, ())) for n in range(8)],
        usable_from={"MW-1": 0, "MW-2": 0, "MW-3": 4, "MW-4": 0},
    )  # fmt: skip
    stand = [SimpleNamespace(name=f"MW-{n}") for n in (1, 2, 3, 4)]
    outlook: Any = SimpleNamespace(
        feeding=SimpleNamespace(worms={"microworm": SimpleNamespace(course=course)}),
        feedings=rounds, now=now, room=SimpleNamespace(cultures=stand),
    )  # fmt: skip
    assert _left_to_grow(outlook, "microworm") == ": MW-1 grows until Sun 10 Jan"
    assert _left_to_grow(outlook, "grindal_worm") == ""


def test_yield_says_that_a_ripe_culture_is_left_to_grow(room: Room) -> None:
    """Nothing is planned to be taken for three days or more, and then something is."""

    def said(*ahead_mg: float, ripe: date | None = _TODAY) -> str:
        days = [SimpleNamespace(day=_TODAY + timedelta(days=n), ahead_mg=mg)
                for n, mg in enumerate(ahead_mg)]  # fmt: skip
        course = SimpleNamespace(days=days, ripe_from=ripe)
        look: Any = SimpleNamespace(course=course, now=_at(room), room=room)
        return _left_alone(look)

    assert said(0.0, 0.0, 0.0, 5.0) == " It is left to grow until Fri 8 Jan."
    assert said(0.0, 0.0, 5.0) == ""
    assert said(0.0, 0.0, 0.0, 0.0) == ""
    assert said(0.0, 0.0, 0.0, 5.0, ripe=None) == ""
