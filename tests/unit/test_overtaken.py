"""What a brood needs over what it was told to need, from the parts that were told."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.foods.food import DRY
from cultures.journal.entries import Entry
from cultures.needs.need import room_needs, rounds_between
from cultures.record.overtaken import times_told
from cultures.record.present import present
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch
from cultures.tasks.told import Draw, FeedLine
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


@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_a_brood_told_its_need_is_told_it_once_with_and_without_dry_food(times: float) -> None:
    """So few that dry food cannot be weighed get none; more get some; told so, or of other fish."""
    kinds = set()
    for count in (*range(2, 40), 200):
        room = read_room(_ROOM.replace("COUNT", str(count)), name="room.toml",
                         today=date(2027, 1, 28))  # fmt: skip
        ((need,),) = room_needs(room, rounds_between(room, _AT, _AT + timedelta(seconds=1)))
        foods = tuple(
            FeedLine(_AT, "A1", "one", food, part_j * times, part_j * times, 1.0, "mL")
            for food, part_j in need.foods.items() if part_j > 0.0
        )  # fmt: skip
        kinds.add(DRY in need.foods)
        told = evolve(told_task("feed", _AT, "07:00 round"), lines=foods)
        if times == 1.0 or count == 200:
            assert times_told(told, room) == {"one": pytest.approx(1.0 / times)}, count
    assert kinds == {True, False}


@pytest.mark.parametrize(("cold_h", "anew"), [(0.0, False), (1.0, False), (9.0, True)])
def test_a_hatch_in_hand_that_stood_cold_is_told_with_what_it_gives(
    cold_h: float, anew: bool
) -> None:
    """Noted at 06:40, when its first step is over: the doses of 07:00 are planned anew too."""
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
    found = present(room, entries, record_of(told), now)
    in_hand = {t.task.what: t.task for t in found.in_hand}
    drawn = in_hand["harvest_hatch"]
    assert isinstance(drawn, HarvestHatch)
    assert ("feed" in in_hand) is not anew
    assert "harvest_hatch" in {t.task.what for t in found.due()}
    assert (drawn.nauplii == 400_000.0) is not anew
    if anew:
        (held,) = found.room.held
        assert drawn.nauplii == held.nauplii < 300_000


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
