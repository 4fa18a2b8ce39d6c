"""Splits where the obvious one does harm."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

import pytest
from attrs import evolve

from cultures.foods.kinds import WormKind
from cultures.journal.entries import Entry
from cultures.needs.need import rounds_between
from cultures.planning.notes import notes_of
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import make_plan
from cultures.planning.split_plan import could_wait, plan_worms
from cultures.record.carried_out import as_entry
from cultures.record.present import present
from cultures.room.file import read_room
from cultures.room.room import Room, Told
from cultures.tasks.task import Split, Work
from tests.unit.recorded import all_told, lines, record_of

_TODAY = date(2027, 1, 5)
_ROOM = """
[room]
name = "One bottle"
timezone = "Europe/Lisbon"
as_of = 2027-01-05
temperature_c = 22
rounds = ["07:30", "18:30"]
spare_cultures = 2

[[tank]]
name = "T1"
litres = 40
temperature_c = 26

[[brood]]
name = "b"
tank = "T1"
class = "bubble_nest"
count = 200
free_swimming = 2027-01-01

[[culture]]
name = "VE-1"
kind = "vinegar_eel"
started = 2026-10-01
medium_g = 1500
starter_g = 150
"""


#: So thick in the neck that the stock is the limit, and not what may be drawn.
_THICK_EEL = """
[[kind]]
name = "thick_eel"
like = "vinegar_eel"

[kind.parameters]
portion_mg = 30
climbing_fraction = 0.15
daily_fraction = 0.3
"""


def test_a_last_culture_is_split_though_the_fry_miss_its_worms() -> None:
    """A kind whose only culture dies is gone; what the starter takes is made up for by others."""
    room = read_room(_ROOM.replace("vinegar_eel", "thick_eel") + _THICK_EEL, today=_TODAY)
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 6, tzinfo=room.timezone))
    plan = outlook.feeding.worms["thick_eel"]
    given = sum(h.taken_mg for row in plan.course.harvests for h in row)
    assert sum(plan.wanted_mg) > 1.1 * given  # so that none can be spared
    assert [s.at_index for s in plan.splits][:1] == [0]


def _after_a_death(text: str) -> Outlook:
    """The room of :data:`_ROOM` with a second bottle that was thrown out at noon."""
    other = _ROOM[_ROOM.index("[[culture]]") :].replace("VE-1", "VE-2")
    room = read_room(f"{text}\n{other}", today=_TODAY)
    noon = datetime(2027, 1, 5, 12, tzinfo=room.timezone)
    gone = lines(Entry(noon, "failed", "VE-2"))
    return make_outlook(present(room, gone, record_of([]), noon).room, now=noon)


def test_a_dead_bottle_leaves_its_name_to_none_and_is_made_up_for_at_once() -> None:
    outlook = _after_a_death(_ROOM)
    (split, *_) = outlook.feeding.worms["vinegar_eel"].splits
    assert (split.culture.name, split.at_index) == ("VE-3", 0)
    assert not [note for note in notes_of(outlook, ()) if "VE-1 is the last" in note.text]


def test_a_name_of_the_journal_that_the_file_has_no_more_is_given_to_none() -> None:
    room = read_room(_ROOM, today=_TODAY)
    noon = datetime(2027, 1, 5, 12, tzinfo=room.timezone)
    noted = lines(Entry(noon, "harvest", "VE-2", "", 5.0, "mL"))
    outlook = make_outlook(present(room, noted, record_of([]), noon).room, now=noon)
    (split, *_) = outlook.feeding.worms["vinegar_eel"].splits
    assert split.culture.name == "VE-3"


def test_the_last_bottle_that_is_too_young_to_split_is_said() -> None:
    outlook = _after_a_death(_ROOM.replace("started = 2026-10-01", "started = 2027-01-01"))
    (split, *_) = outlook.feeding.worms["vinegar_eel"].splits
    assert outlook.feedings[split.at_index].at > outlook.now + timedelta(days=2)
    (note,) = [x.text for x in notes_of(outlook, ()) if "VE-1 is the last" in x.text]
    assert note.startswith("VE-1 is the last vinegar eel culture, and is not split before ")


@pytest.mark.parametrize("noted", [True, False])
def test_a_culture_that_ripens_already_is_not_started_once_more(noted: bool) -> None:
    """After a split was noted or presumed as told, the next one is the next one of that plan."""
    text = _ROOM.replace(
        '"vinegar_eel"\nstarted = 2026-10-01', '"banana_worm"\nstarted = 2026-12-20'
    )
    text = text.replace("medium_g = 1500\nstarter_g = 150", "medium_g = 150\nstarter_g = 10")
    room = read_room(text + "surface_cm2 = 180\n", today=_TODAY)
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 8, tzinfo=room.timezone))
    splits = outlook.feeding.worms["banana_worm"].splits
    planned = [(s.culture.name, outlook.feedings[s.at_index].at) for s in splits]
    first = outlook.feedings[0].at
    assert planned[0][1] == first
    told = all_told(outlook, until=datetime(2027, 1, 5, 12, tzinfo=room.timezone))
    work = [t for t in told if t.task.at == first and isinstance(t.task, Work)]
    assert {t.task.what for t in work} == {"harvest_worms", "feed", "split"}
    entries = lines(*(as_entry(t) for t in work)) if noted else []
    later = datetime(2027, 1, 5, 17, tzinfo=room.timezone)
    after = make_outlook(present(room, entries, record_of(told), later).room, now=later)
    splits = after.feeding.worms["banana_worm"].splits
    left = [(s.culture.name, after.feedings[s.at_index].at) for s in splits]
    until = planned[0][1] + timedelta(days=room.horizon_days)
    assert [each for each in left if each[1] < until] == [e for e in planned[1:] if e[1] < until]


_OLD_BOX = """
[room]
name = "Old box"
timezone = "Europe/Lisbon"
as_of = 2027-03-01
temperature_c = 22
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
horizon_days = 28

[[tank]]
name = "A1"
litres = 40
temperature_c = 25

[[brood]]
name = "b"
tank = "A1"
class = "egg_scatterer"
count = 60
free_swimming = 2027-02-25
foods = ["microworm"]
"""


def _box(name: str, days: int, today: date) -> str:
    return (
        f'\n[[culture]]\nname = "{name}"\nkind = "microworm"\nstarted = {today - timedelta(days)}\n'
        "medium_g = 150\nsurface_cm2 = 180\nstarter_g = 10\n"
    )


@pytest.mark.parametrize("days", [26, 28, 29, 31, 33])
def test_a_box_past_its_best_is_split_before_the_worms_end(days: int) -> None:
    """Split missed by a day or a week: the kind lives on, and what is missing is the days that a
    child takes to come in (about five at this temperature), not the rest of the month.
    """
    today = date(2027, 3, 1)
    room = read_room(_OLD_BOX + _box("MW-1", days, today), today=today)
    plan = make_plan(room, now=datetime(2027, 3, 1, 7, tzinfo=room.timezone), remedies=False)
    splits = [t for t in plan.tasks if isinstance(t, Split)]
    assert splits
    assert splits[0].subject == "MW-1"
    assert sum(s.rounds for s in plan.shortfalls) <= 2 * 6
    if days >= 29:
        assert "MW-1 is souring already" in splits[0].why
    later = [t for t in splits if t.subject != "MW-1"]
    assert later
    assert "is souring already" not in " ".join(t.why for t in later)


def test_a_ripe_box_goes_before_one_that_sours() -> None:
    today = date(2027, 3, 1)
    text = _OLD_BOX + _box("MW-1", 31, today) + _box("MW-2", 12, today)
    room = read_room(text, today=today)
    outlook = make_outlook(room, now=datetime(2027, 3, 1, 7, tzinfo=room.timezone))
    plan = outlook.feeding.worms["microworm"]
    assert plan.splits
    assert "MW-1" not in {s.parent for s in plan.splits}


def _cool_room(days: str, ages: Sequence[int]) -> Room:
    """Boxes of microworms of so many days at 15 °C."""
    boxes = (
        f'\n[[culture]]\nname = "MW-{number}"\nkind = "microworm"\nmedium_g = 180\n'
        f"surface_cm2 = 200\nstarter_g = 12\nstarted = {_TODAY - timedelta(days=age)}\n"
        for number, age in enumerate(ages, start=1)
    )
    text = _ROOM[: _ROOM.index("[[brood]]")].replace("temperature_c = 22", "temperature_c = 15")
    return read_room(text.replace("spare", f"{days}\nspare") + "".join(boxes), today=_TODAY)


@pytest.mark.parametrize("days", ["", 'split_days = ["sat", "sun"]'])
@pytest.mark.parametrize(
    ("ages", "first_mg", "more_mg"),
    [((24, 14), 200, 4), ((24, 14, 6), 200, 8), ((30, 20, 10), 200, 8), ((20, 5), 140, 4)],
)
def test_a_plan_is_the_same_once_its_first_splits_were_told(
    days: str, ages: Sequence[int], first_mg: float, more_mg: float
) -> None:
    """A split that was told stands; it is no reason for one more, or for another later."""
    room = _cool_room(days, ages)
    kind, since = room.kinds["microworm"], room.local(_TODAY, time(0))
    assert isinstance(kind, WormKind)
    rounds = rounds_between(room, since, since + timedelta(days=45))
    wanted_mg = [min(first_mg + more_mg * r.index, 2.5 * first_mg) for r in rounds]

    def planned(room: Room) -> list[tuple[str, str, int]]:
        plan = plan_worms(room, kind, rounds, wanted_mg)
        return [(s.parent, s.culture.name, s.at_index) for s in plan.splits]

    first = planned(room)
    soonest = min(at for _, _, at in first)
    told = tuple(Told(kind.name, rounds[at].at) for _, _, at in first if at == soonest)
    assert planned(evolve(room, told=told)) == first


def test_a_split_on_no_day_that_is_kept_for_splits_says_why() -> None:
    """The only bottle is split at once, on a Tuesday: on Saturday a second one is ripe later."""

    def why(days: str) -> str:
        room = read_room(_ROOM.replace("spare", f"{days}\nspare"), today=_TODAY)
        plan = make_plan(room, now=datetime(2027, 1, 5, 6, tzinfo=room.timezone), remedies=False)
        first = next(t for t in plan.tasks if isinstance(t, Split))
        assert first.at.date() == _TODAY
        return first.why

    late = "On Sat 9 Jan, the next of split_days, it would be too late."
    assert late in why('split_days = ["sat"]')
    assert "split_days" not in why('split_days = ["tue"]') + why("")


def test_a_start_can_wait_for_a_round_as_long_as_nothing_gets_worse() -> None:
    """A box started weeks before it is wanted may be started a day later, but not on the eve."""
    room = _cool_room("", [12])
    kind, since = room.kinds["microworm"], room.local(_TODAY, time(0))
    assert isinstance(kind, WormKind)
    room = evolve(room, spare_cultures=1)
    rounds = rounds_between(room, since, since + timedelta(days=75))
    plan = plan_worms(room, kind, rounds, [10.0] * len(rounds))
    (split,) = plan.splits
    assert could_wait(room, plan, split, split.at_index, rounds)
    assert not could_wait(room, plan, split, len(rounds) - 2, rounds)
