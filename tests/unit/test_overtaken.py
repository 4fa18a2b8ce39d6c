"""What a brood needs over what it was told to need, from the parts that were told."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.foods.food import DRY
from cultures.journal.entries import Entry
from cultures.needs.need import room_needs, rounds_between
from cultures.record.known import Known
from cultures.record.overtaken import overtaken, times_told, untouched
from cultures.record.present import Present, present
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch
from cultures.tasks.told import Draw, FeedLine, few_shared, totals_j
from tests.unit.recorded import record_of, told_task

_ZONE = ZoneInfo("Europe/Lisbon")
_AT = datetime(2027, 1, 28, 7, 0, tzinfo=_ZONE)
_ROOM = """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 24
rounds = ["07:00", "19:00"]
awake = ["06:30", "22:30"]
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 26
[cysts]
grams = 50
[[brood]]
name = "one"
tank = "A1"
class = "egg_scatterer"
count = COUNT
free_swimming = 2027-01-08
foods = ["brine_shrimp", "dry"]
"""


@pytest.mark.parametrize("foods", [(), (DRY,)])
def test_a_need_is_compared_with_the_need_that_was_told(foods: tuple[str, ...]) -> None:
    """Told for a hundred, of whom half are gone; so too where a helper gives dry food alone, which
    is a small part of what they are usually given.
    """
    away = f"\n[[away]]\nfrom = 2027-01-28\nto = 2027-01-29\nhelper = true\nfoods = {[*foods]}\n"
    hundred, fifty = (
        read_room(_ROOM.replace("COUNT", str(count)) + (away if foods else ""), name="room.toml",
                  today=date(2027, 1, 28)) for count in (100, 50)
    )  # fmt: skip
    ((need,),) = room_needs(hundred, rounds_between(hundred, _AT, _AT + timedelta(seconds=1)))
    assert (set(need.foods) == {DRY}) is bool(foods)
    lines = tuple(
        FeedLine(_AT, "A1", "one", food, part_j, part_j, 1.0, "mL")
        for food, part_j in need.foods.items() if part_j > 0.0
    )  # fmt: skip
    told = evolve(told_task("feed", _AT, "07:00 round"), lines=lines,
                  needs_j={"one": need.energy_j})  # fmt: skip
    assert times_told(told, hundred) == {"one": pytest.approx(1.0)}
    assert times_told(told, fifty) == {"one": pytest.approx(0.5)}


@pytest.mark.parametrize(("both", "times"), [(True, 1.0), (False, 0.5)])
def test_what_was_told_for_a_brood_that_is_gone_is_the_others_of_its_tank(
    both: bool, times: float
) -> None:
    """Two of fifty in one tank: one of a hundred needs as much, one of fifty half."""
    count = 100 if both else 50
    room = read_room(_ROOM.replace("COUNT", str(count)), name="room.toml", today=date(2027, 1, 28))
    half = read_room(_ROOM.replace("COUNT", "50"), name="room.toml", today=date(2027, 1, 28))
    ((need,),) = room_needs(half, rounds_between(half, _AT, _AT + timedelta(seconds=1)))
    lines = tuple(
        FeedLine(_AT, "A1", brood, DRY, need.energy_j, need.energy_j, 1.0, "mL")
        for brood in ("one", "other")
    )
    told = evolve(told_task("feed", _AT, "07:00 round"), lines=lines,
                  needs_j={"one": need.energy_j, "other": need.energy_j})  # fmt: skip
    assert times_told(told, room) == {"one": pytest.approx(times)}
    alone = evolve(told, lines=(evolve(lines[1], tank="A2"),))
    assert times_told(alone, room) == {"other": 0.0}


@pytest.mark.parametrize(("cold_h", "anew"), [(0.0, False), (1.0, False), (5.0, True)])
def test_a_hatch_in_hand_that_stood_cold_is_told_with_what_it_gives(
    cold_h: float, anew: bool
) -> None:
    """Noted at 06:40, when its first step is over: the doses of 07:00 are planned anew too."""
    found = _after_cold(cold_h)
    in_hand = {t.task.what: t.task for t in found.in_hand}
    drawn = in_hand["harvest_hatch"]
    assert isinstance(drawn, HarvestHatch)
    assert ("feed" in in_hand) is not anew
    assert "harvest_hatch" in {t.task.what for t in found.due()}
    assert (drawn.nauplii == 400_000.0) is not anew
    if anew:
        (held,) = found.room.held
        assert drawn.nauplii == held.nauplii < 300_000


def test_a_hatch_in_hand_that_is_hardly_out_after_the_cold_is_left_to_stand() -> None:
    """Nine hours at 17 °C, less than half as fast as 26 °C, leave the day at some 18 of its hours:
    a tenth are out after 17 at 27 °C, half after 20.
    """
    found = _after_cold(9.0)
    assert {t.task.what for t in found.in_hand} == set()
    assert "harvest_hatch" not in {t.task.what for t in found.due()}
    assert (len(found.room.hatches), found.room.held) == (1, ())


def _after_cold(cold_h: float) -> Present:
    """A room in which a hatch of a day is in hand that stood at 17 °C for some hours."""
    room = read_room(_ROOM.replace("COUNT", "200"), name="room.toml", today=date(2027, 1, 28))
    draw_at, now = _AT - timedelta(minutes=30), _AT - timedelta(minutes=20)
    evening = _AT - timedelta(hours=12)
    told = [
        told_task("harvest_hatch", draw_at, "bottle", {"nauplii": 400_000.0}, until=_AT,
                  rounds=[_AT], told_at=evening),
        told_task("feed", _AT, "07:00 round", {"tanks": 1.0}, rounds=[_AT], told_at=evening),
    ]  # fmt: skip
    rows = [Entry(_AT - timedelta(hours=24), "set", "bottle", "", 2.0, "g")]
    if cold_h:
        came = _AT - timedelta(hours=2)
        rows += [
            Entry(came - timedelta(hours=cold_h), "temperature", "bottle", "", 17.0, "°C"),
            Entry(came, "temperature", "bottle", "", 26.0, "°C"),
        ]
    entries = [row._replace(line=number) for number, row in enumerate(rows, 2)]
    return present(room, entries, record_of(told), now)


@pytest.mark.parametrize(("fed_min", "take_ml"), [(None, 312.5), (1, 125.0), (5, 312.5)])
def test_of_a_hatch_counted_at_its_round_as_few_more_is_drawn(
    fed_min: int | None, take_ml: float
) -> None:
    """160,000 for 400,000: two and a half times as much of the jar, unless it was fed already."""
    room = read_room(_ROOM.replace("COUNT", "200"), name="room.toml", today=date(2027, 1, 28))
    draw_at, evening = _AT - timedelta(minutes=30), _AT - timedelta(hours=12)
    feed = told_task("feed", _AT, "07:00 round", {"tanks": 1.0, "nauplii": 100_000.0},
                     rounds=[_AT], told_at=evening)  # fmt: skip
    told = [
        told_task("harvest_hatch", draw_at, "bottle", {"nauplii": 400_000.0, "jar_ml": 500.0},
                  until=_AT, rounds=[_AT], told_at=evening),
        evolve(feed, draws=(Draw("bottle", draw_at, 500.0, 125.0, 0.25),)),
    ]  # fmt: skip
    rows = [
        Entry(_AT - timedelta(hours=24), "set", "bottle", "", 2.0, "g"),
        Entry(_AT + timedelta(minutes=2), "hatched", "bottle", "", 160_000.0, "nauplii"),
    ]
    if fed_min is not None:
        rows.append(Entry(_AT + timedelta(minutes=fed_min), "fed", "07:00 round"))
    rows.sort(key=lambda row: row.when)
    entries = [row._replace(line=number) for number, row in enumerate(rows, 2)]
    found = present(room, entries, record_of(told), _AT + timedelta(minutes=6))
    (draw,) = next(t for t in found.in_hand if t.task.what == "feed").draws
    assert draw.take_ml == pytest.approx(take_ml)
    (held,) = found.room.held
    assert held.share == pytest.approx(1.0 - take_ml / 500.0)


def _line(brood: str, food: str, amount: float, given_j: float = 100.0) -> FeedLine:
    return FeedLine(_AT, f"tank of {brood}", brood, food, 100.0, given_j, amount, "mL")


def test_need_and_what_is_given_are_summed_over_lines_that_are_alike() -> None:
    """100 J are needed by each of three lines, of which 30, 50 and 90 J are given."""
    lines = [_line("a", "dry", 1.0, 30.0), _line("b", "nauplii", 1.0, 50.0),
             _line("a", "nauplii", 1.0, 90.0)]  # fmt: skip
    assert totals_j(lines, lambda x: x.food) == {"dry": (100.0, 30.0), "nauplii": (200.0, 140.0)}
    assert [*totals_j(lines, lambda x: x.brood)] == ["a", "b"]
    assert totals_j([], lambda x: x.food) == {}


def test_few_nauplii_go_first_to_who_gets_no_other_food() -> None:
    """Of a cup of 100 mL told as 60 for the large, who get dry food too, and 40 for the small.

    Where half came the cup holds 50 mL as it was told: 40 for the small, 10 for the large, and it
    is filled to 100: 80 and 20. Where three tenths came, all of it is for the small, who get three
    quarters of what was told. With nobody, or everybody, on another food all get less alike.
    """
    lines = [
        _line("large", "nauplii", 60.0),
        _line("large", "dry", 5.0),
        _line("small", "nauplii", 40.0),
    ]
    half = few_shared(lines, "nauplii", 0.5, 1.0)
    assert [(x.food, x.amount) for x in half] == [
        ("nauplii", 20.0),
        ("dry", 5.0),
        ("nauplii", 80.0),
    ]
    assert [x.given_j for x in half] == pytest.approx([100.0 * 10 / 60, 100.0, 100.0])
    few = few_shared(lines, "nauplii", 0.3, 1.0)
    assert [x.amount for x in few] == [0.0, 5.0, 100.0]
    assert few[2].given_j == pytest.approx(75.0)
    alike = [_line("a", "nauplii", 60.0), _line("b", "nauplii", 40.0)]
    both = [*alike, _line("a", "dry", 1.0), _line("b", "dry", 1.0)]
    for same in (alike, both):
        assert few_shared(same, "nauplii", 0.5, 1.0) == tuple(same)


@pytest.mark.parametrize("share", [0.2, 0.37, 0.5, 0.61, 0.74])
@pytest.mark.parametrize("mark_ml", [1.0, 2.0, 5.0])
def test_few_nauplii_are_dosed_in_whole_marks_that_add_up(share: float, mark_ml: float) -> None:
    lines = [_line("a", "nauplii", 35.0), _line("a", "dry", 2.0), _line("b", "nauplii", 25.0),
             _line("c", "nauplii", 40.0)]  # fmt: skip
    found = [x for x in few_shared(lines, "nauplii", share, mark_ml) if x.food == "nauplii"]
    assert sum(x.amount for x in found) == pytest.approx(100.0)
    assert all(abs(x.amount / mark_ml - round(x.amount / mark_ml)) < 1e-9 for x in found)
    # No more is given than came, and the share of who has nothing else is no smaller.
    assert sum(x.given_j * x.amount / 100.0 for x in found) <= 100.0
    assert sum(share * x.amount for x in found) == pytest.approx(share * 100.0)
    parts = {x.brood: x.given_j for x in found}
    assert parts["a"] <= min(parts["b"], parts["c"]) + 100.0 * share * mark_ml / 25.0


@pytest.mark.parametrize("harvest_first", [False, True])
@pytest.mark.parametrize("counted_min", [2, 6])
def test_a_round_whose_hatch_was_counted_as_few_feeds_who_has_nothing_else_first(
    harvest_first: bool, counted_min: int
) -> None:
    """Of 400,000 told 100,000 were for the round; 20,000 came: 4 in 10 of what the small were told.

    So it is whether the harvest was noted before the count or not, and whenever that was.
    """
    room = read_room(_ROOM.replace("COUNT", "200"), name="room.toml", today=date(2027, 1, 28))
    draw_at, evening = _AT - timedelta(minutes=30), _AT - timedelta(hours=12)
    feed = told_task("feed", _AT, "07:00 round", {"tanks": 2.0, "nauplii": 100_000.0},
                     rounds=[_AT], told_at=evening)  # fmt: skip
    lines = (_line("large", "brine_shrimp", 50.0), _line("large", "dry", 5.0),
             _line("small", "brine_shrimp", 50.0))  # fmt: skip
    told = [
        told_task("harvest_hatch", draw_at, "bottle", {"nauplii": 400_000.0, "jar_ml": 500.0},
                  until=_AT, rounds=[_AT], told_at=evening),
        evolve(feed, draws=(Draw("bottle", draw_at, 500.0, 125.0, 0.25),), lines=lines),
    ]  # fmt: skip
    count = Entry(
        _AT + timedelta(minutes=counted_min), "hatched", "bottle", "", 20_000.0, "nauplii"
    )
    rows = [Entry(_AT - timedelta(hours=24), "set", "bottle", "", 2.0, "g"), count]
    if harvest_first:
        rows.insert(1, Entry(_AT + timedelta(minutes=1), "harvest", "bottle"))
    entries = [row._replace(line=number) for number, row in enumerate(rows, 2)]
    found = present(room, entries, record_of(told), _AT + timedelta(minutes=8))
    fed = next(t for t in found.in_hand if t.task.what == "feed")
    assert fed.draws[0].take_ml == pytest.approx(500.0)
    assert [x.amount for x in fed.lines] == [0.0, 5.0, 100.0]
    assert fed.lines[2].given_j == pytest.approx(40.0, rel=0.02)


@pytest.mark.parametrize(("harvest_by", "anew"), [("calendar", True), ("today", False)])
def test_a_round_is_told_anew_once_it_has_begun_where_only_a_calendar_told_it(
    harvest_by: str, anew: bool
) -> None:
    """A look told what to take of a culture, and a calendar the doses otherwise since: the worms
    may be in the cup, so that the round stays.
    """
    room = read_room(_ROOM.replace("COUNT", "100"), name="room.toml", today=date(2027, 1, 28))
    feed = evolve(told_task("feed", _AT, "07:00 round", rounds=[_AT]), by="calendar")
    worms = evolve(told_task("harvest_worms", _AT, "BW-1", rounds=[_AT]), by=harvest_by)
    begun = _AT + timedelta(minutes=5)
    found = untouched([feed, worms], Known.of(room, [], record_of([feed, worms]), begun))
    assert found == ({_AT} if anew else set())


@pytest.mark.parametrize(
    ("as_many", "measured", "times"),
    [
        # As many as then, and nobody measured them: they grew less, since they were fed less.
        (1.0, False, {}),
        (1.0, True, {"one": 0.5}),
        (2.0, False, {"one": 0.5}),
    ],
)
def test_fry_that_were_fed_too_little_are_not_given_less(
    as_many: float, measured: bool, times: dict[str, float]
) -> None:
    room = read_room(_ROOM.replace("COUNT", "100"), name="room.toml", today=date(2027, 1, 28))
    ((need,),) = room_needs(room, rounds_between(room, _AT, _AT + timedelta(seconds=1)))
    lines = (FeedLine(_AT, "A1", "one", DRY, 1.0, 1.0, 1.0, "mL"),)
    feed = told_task("feed", _AT, "07:00 round")
    fry, needs_j = {"one": as_many * need.count}, {"one": 2.0 * need.energy_j}
    told = evolve(feed, lines=lines, fry=fry, needs_j=needs_j)
    entries = [Entry(told.told_at + timedelta(minutes=1), "length", "one", "", 9.0, "mm")]
    known: Any = SimpleNamespace(
        fates=SimpleNamespace(answer={}, tanks={}), entries=entries if measured else []
    )
    found = overtaken([told], known, room)
    assert found == ({_AT: pytest.approx(times, abs=0.01)} if times else {})
