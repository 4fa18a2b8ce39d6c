"""Other media and other ways to harvest: factors on a kind, and the words that follow them."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cultures.errors import BadFileError, UnknownNameError
from cultures.foods.kinds import WormKind, kind_names, read_kind, shipped_kind
from cultures.foods.parameters import ParameterError
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.worms import first_harvest_age
from cultures.foods.yields import Setup, daily_yield, yield_interval
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.record.store import append_telling, as_told, read_record
from cultures.room.editing import add, change
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import HarvestWorms, Split
from cultures.words.tasks import plain, worms_method
from tests.cli.invented import run, run_json
from tests.simulation import simulate

_TODAY = date(2027, 1, 20)
_AT_24 = TemperatureSeries.constant(24)
_ROOM = """\
[room]
name = "Loft"
timezone = "Europe/Lisbon"
temperature_c = 24
spare_cultures = 2
as_of = 2027-01-20

[[tank]]
name = "A1"
litres = 40
temperature_c = 25

[[brood]]
name = "one"
tank = "A1"
class = "bubble_nest"
count = 150
spawned = 2027-01-13

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-01-08
medium_g = 150
surface_cm2 = 180
starter_g = 15
"""


def microworm(medium: str | None = None, harvest: str | None = None) -> WormKind:
    kind = shipped_kind("microworm")
    assert isinstance(kind, WormKind)
    return kind.kept(medium, harvest)


def setup(medium: str | None = None, harvest: str | None = None) -> Setup:
    return Setup(microworm(medium, harvest), 150, 180, 200)


def room(*lines: str) -> Room:
    return read_room("\n".join([_ROOM.rstrip(), *lines]), name="room.toml", today=_TODAY)


def planned(of: Room, days: int = 14) -> Plan:
    now = datetime(2027, 1, 20, 7, 0, tzinfo=of.timezone)
    return plan_of(make_outlook(of, now=now, days=days), remedies=False)


def problems(*lines: str) -> list[str]:
    with pytest.raises(BadFileError) as error:
        room(*lines)
    return [str(problem) for problem in error.value.problems]


@pytest.mark.parametrize("name", kind_names())
def test_the_first_medium_and_way_of_a_kind_are_those_of_its_parameters(name: str) -> None:
    kind = shipped_kind(name)
    if not isinstance(kind, WormKind):
        return
    for known, keep in ((kind.media, "medium"), (kind.harvests, "harvest")):
        usual = [v.name for v in known.values() if not v.factors]
        assert usual == list(known)[:1]
        for each in usual:
            assert kind.kept(**{keep: each}) is kind


@pytest.mark.parametrize("name", kind_names())
def test_a_recipe_belongs_to_every_other_medium(name: str) -> None:
    kind = shipped_kind(name)
    for medium in kind.media.values() if isinstance(kind, WormKind) else ():
        assert bool(medium.recipe) == bool(medium.factors)


def test_factors_multiply_what_they_name_and_nothing_else() -> None:
    usual, other = microworm().values, microworm("cornmeal", "scraping").values
    times = {key: other[key] / usual[key] for key in usual if usual[key] != other[key]}
    assert times == {
        "capacity_mg_per_g": pytest.approx(0.7), "capacity_mg_per_cm2": pytest.approx(0.7),
        "half_spent_days": pytest.approx(0.61), "souring_width_days": pytest.approx(0.61),
        "climbing_fraction": pytest.approx(2), "climbing_density": pytest.approx(0.5),
    }  # fmt: skip


def test_a_range_widens_as_that_of_a_product_of_two_unsure_numbers() -> None:
    """1.6 (0.8 to 3.2) times 1.5 (0.75 to 3): both a factor of two either way, so 2 ** sqrt(2)."""
    table = {
        "like": "microworm", "name": "x",
        "parameters": {"growth_rate_per_day": {"value": 1.6, "range": [0.8, 3.2]}},
        "media": {"y": {"factors": {"growth": {"value": 1.5, "range": [0.75, 3]}}}},
    }  # fmt: skip
    kind = read_kind(table)
    assert isinstance(kind, WormKind)
    found = kind.kept("y").parameters["growth_rate_per_day"]
    wide = 2 ** math.sqrt(2)
    assert found.value == pytest.approx(2.4)
    assert found.low == pytest.approx(2.4 / wide)
    assert found.high == pytest.approx(min(5, 2.4 * wide))


def test_a_short_lived_medium_ends_sooner_and_a_scraped_one_gives_sooner() -> None:
    assert (
        daily_yield(setup("cornmeal"), series=_AT_24).last_useful_day
        < daily_yield(setup(), series=_AT_24).last_useful_day
        < daily_yield(setup("wheat_flour"), series=_AT_24).last_useful_day
    )
    wall, scraped = setup().model(), setup(harvest="scraping").model()
    assert first_harvest_age(scraped, 200) < first_harvest_age(wall, 200)


def test_an_unsure_medium_makes_an_interval_wider() -> None:
    of = {
        name: yield_interval(setup(name), series=_AT_24, fraction=0.1, draws=100)["total"]
        for name in ("oats", "bread")
    }
    low, high = of["oats"]
    other_low, other_high = of["bread"]
    assert other_high / other_low > 1.1 * high / low


def test_a_name_that_is_not_known_is_refused_with_those_that_are() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'bread'"):
        microworm("breed")


@pytest.mark.parametrize(
    ("media", "wrong"),
    [
        ({"y": {"factors": {"speed": 2}}}, "media.y speed: unknown factor"),
        ({"y": {"factors": {"life": 0}}}, "media.y life: 0 times is not possible"),
        ({"y": {"colour": "red"}}, "colour: unknown key"),
        ({"y": {"label": 3}}, "media.y label: must be text"),
        ({"y": {"label": "a\x07b"}}, "media.y label"),
        ({"y": 3}, "media.y: must be a table"),
        (3, "media: must be tables"),
    ],
)
def test_a_medium_of_ones_own_is_checked(media: object, wrong: str) -> None:
    with pytest.raises(ParameterError, match=wrong):
        read_kind({"like": "microworm", "name": "x", "media": media})


def test_a_room_that_names_the_usual_ones_has_the_plan_of_one_that_names_none() -> None:
    named = planned(room('medium = "oats"', 'harvest = "wall"'))
    assert named.to_json() == planned(room()).to_json()


def test_a_split_goes_onto_the_medium_of_its_parent_and_says_so() -> None:
    mine = room('medium = "cornmeal"', 'harvest = "scraping"')
    plan = planned(mine)
    split = next(task for task in plan.tasks if isinstance(task, Split))
    harvest = next(task for task in plan.tasks if isinstance(task, HarvestWorms))
    assert split.onto == "corn porridge"
    assert "Medium: cooled corn porridge" in split.why
    assert split.to_json()["onto"] == "corn porridge"
    assert plain(worms_method(harvest)) == " off the surface, into the cup"
    assert "fine sieve" in harvest.caution
    assert simulate(mine, plan.tasks, plan.lines).violations == []


def other_box(started: str, medium: str) -> list[str]:
    return [
        "", "[[culture]]", 'name = "MW-2"', 'kind = "microworm"', f"started = {started}",
        "medium_g = 150", "surface_cm2 = 180", "starter_g = 15", f'medium = "{medium}"',
    ]  # fmt: skip


def test_cultures_of_one_kind_on_two_media_are_planned_each_on_its_own() -> None:
    """Old corn porridge beside young flour paste, for so many fry that both give starters."""
    text = _ROOM.replace("count = 150", "count = 1500").replace("2027-01-08", "2027-01-01")
    lines = [text.rstrip(), 'medium = "cornmeal"', *other_box("2027-01-14", "wheat_flour")]
    mine = read_room("\n".join(lines), name="room.toml", today=_TODAY)
    plan = planned(mine, days=40)
    assert {task.onto for task in plan.tasks if isinstance(task, Split)} == {
        "corn porridge", "wheat flour paste"
    }  # fmt: skip
    assert simulate(mine, plan.tasks, plan.lines).violations == []


def test_worms_on_another_medium_count_as_there() -> None:
    """Fry that also take dry food are given worms as on oats, and not dry food in their place."""
    given = []
    for medium in ("oats", "potato"):
        text = _ROOM.replace("spawned = 2027-01-13", "length_mm = 11\nmeasured_on = 2027-01-20")
        lines = planned(
            read_room(f'{text}medium = "{medium}"', name="room.toml", today=_TODAY), days=3
        ).lines
        worms = sum(line.given_j for line in lines if line.food == "microworm")
        given.append(worms / sum(line.given_j for line in lines))
    assert 0.2 < given[0] < 0.9
    assert given[1] == pytest.approx(given[0], abs=0.05)


def test_a_short_lived_medium_is_split_and_discarded_sooner() -> None:
    never = datetime(9999, 1, 1, tzinfo=UTC)
    corn, oats, flour = (
        planned(room(f'medium = "{medium}"')).cultures[0].spent_on or never
        for medium in ("cornmeal", "oats", "wheat_flour")
    )
    assert corn < oats < flour


def test_what_a_split_goes_onto_is_recorded_as_it_was_told(tmp_path: Path) -> None:
    mine, path = room('medium = "bread"'), tmp_path / "told.jsonl"
    split = next(task for task in planned(mine).tasks if isinstance(task, Split))
    append_telling(path, split.at, "today", [as_told(split, (), split.at)])
    kept = read_record(path, mine.timezone, split.at).tasks[split.id].task
    assert isinstance(kept, Split)
    assert kept.onto == "damp bread"


@pytest.mark.parametrize(
    ("line", "wrong"),
    [
        ('medium = "breed"', "there is no 'breed' for microworm; did you mean 'bread'?"),
        ('harvest = "magnet"', "known: scraping, strip, wall"),
        ("medium = 150", 'must be a name in quotes, like "bread"; its amount is medium_g'),
        ("harvest = 3", "must be text in quotes"),
    ],
)
def test_a_wrong_word_is_told_once_with_its_line_and_what_is_possible(
    line: str, wrong: str
) -> None:
    (found,) = problems(line)
    number = len(_ROOM.rstrip().splitlines()) + 1
    key = line.partition(" ")[0]
    assert found.startswith(f"room.toml:{number}: ")
    assert f"[[culture]] MW-1 {key}" in found
    assert wrong in found


def test_a_kind_without_other_media_says_so() -> None:
    (found,) = problems(
        "", "[[culture]]", 'name = "GW-1"', 'kind = "grindal_worm"', "started = 2027-01-01",
        "medium_g = 100", "surface_cm2 = 100", "starter_g = 10", 'medium = "oats"',
    )  # fmt: skip
    assert "leave it out: no other is known of this kind" in found


def test_add_and_change_know_the_keys_and_tell_a_name_from_an_amount() -> None:
    now = datetime(2027, 1, 20, 8, 0).astimezone()
    text = change(_ROOM, "culture", "MW-1", {"medium": "bread", "harvest": "strip"}, now)
    kind = read_room(text, name="room.toml", today=_TODAY).cultures[0].kind
    assert kind.as_kept == ("bread", "strip")
    amount = change(text, "culture", "MW-1", {"medium": "200"}, now)
    culture = read_room(amount, name="room.toml", today=_TODAY).cultures[0]
    assert (culture.medium_g, culture.kind.as_kept) == (200, ("bread", "strip"))
    typed = {
        "kind": "microworm", "started": "today", "medium_g": "150", "medium": "potato",
        "surface": "180", "starter": "15",
    }  # fmt: skip
    more = read_room(add(text, "culture", "MW-2", typed, now), name="room.toml", today=_TODAY)
    assert more.culture("MW-2").kind.as_kept == ("potato", "")


def test_screens_show_them(tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    path.write_text(f'{_ROOM}medium = "bread"\nharvest = "scraping"\n', "utf-8")
    now = "2027-01-20T07:00"
    assert "microworm, damp bread, scraping the surface" in run(path, "check", now=now).output
    (culture,) = run_json(path, "check", now=now)["cultures"]
    assert (culture["medium"], culture["harvest"]) == ("bread", "scraping")
    assert "150 g of damp bread" in run(path, "yield", "MW-1", now=now).output
    other = run(path, "yield", "MW-1", "--medium", "oats", "--range", now=now).output
    assert "150 g, 180 cm2" in other
    assert "harvested by scraping the surface" in other
    known = run_json(path, "kinds", "microworm", now=now)
    assert next(each["name"] for each in known["media"]) == "oats"
    told = run(path, "plan", now=now).output
    assert "onto 150 g of new damp bread" in " ".join(told.split())
