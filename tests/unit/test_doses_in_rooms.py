"""Doses in rooms of many small broods, of few fry, and of little dry food."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of, tasks_of
from cultures.planning.preparation import line_dose, steps_of
from cultures.planning.servings import Serving, dry_j_per_g
from cultures.room.file import read_room
from cultures.tasks.task import Feed, HarvestWorms, Soak
from cultures.tasks.told import FeedLine
from cultures.words.tasks import plain, task_text, twist
from cultures.words.tools import Tools
from tests.simulation import simulate

_TODAY = date(2027, 3, 1)
_HEAD = """\
[room]
name = "Attic"
timezone = "Europe/Lisbon"
as_of = 2027-03-01
temperature_c = 24
fridge_c = 5
horizon_days = 7
"""


def _brood(name: str, fry_class: str, count: int, days: int, foods: str = "") -> str:
    return (
        f'\n[[tank]]\nname = "T-{name}"\nlitres = 30\ntemperature_c = 26\n'
        f'\n[[brood]]\nname = "{name}"\ntank = "T-{name}"\nclass = "{fry_class}"\ncount = {count}\n'
        f"free_swimming = {_TODAY - timedelta(days=days)}\n{f'foods = {foods}' if foods else ''}\n"
    )


def _microworms(count: int) -> str:
    return "".join(
        f'\n[[culture]]\nname = "MW-{n}"\nkind = "microworm"\nstarted = '
        f"{_TODAY - timedelta(days=6 + n)}\nmedium_g = 300\nsurface_cm2 = 400\nstarter_g = 30\n"
        for n in range(1, count + 1)
    )


def _outlook(text: str) -> Outlook:
    room = read_room(_HEAD + text, today=_TODAY)
    return make_outlook(room, now=datetime(2027, 3, 1, 6, 0, tzinfo=room.timezone))


def _dosed(outlook: Outlook) -> Iterator[tuple[Serving, list[FeedLine]]]:
    """Each brood at each shown round with its lines."""
    for servings, row in zip(outlook.feeding.servings, outlook.lines, strict=True):
        for serving in servings:
            if outlook.now <= serving.need.at < outlook.until:
                yield serving, [x for x in row if x.brood == serving.need.brood.name]


def _many() -> str:
    """A hundred and three broods, some a fiftieth of the others, with enough for all."""
    broods = "".join(
        _brood(f"b{n}", fry_class, (6, 25, 80, 300)[n % 4], 3 + n % 9, '["brine_shrimp"]')
        for n, fry_class in enumerate(["substrate_spawner", "livebearer", "annual_killifish"] * 35)
        if n < 103
    )
    vessel = '\n[[vessel]]\nname = "V"\nlitres = 200\ntemperature_c = 27\nsalinity_g_per_l = 25\n'
    return f"{broods}{vessel}\n[cysts]\ngrams = 90000\n"


def test_in_a_room_of_many_broods_rounding_is_no_shortfall() -> None:
    outlook = _outlook(_many())
    ripe = min(b.harvest_h for b in outlook.feeding.hatches.batches)
    for shortfall in plan_of(outlook, remedies=False).shortfalls:
        assert "too small" not in shortfall.cause
        assert shortfall.until < outlook.room.at_hour(ripe + 1), shortfall.cause
    fed: dict[str, list[float]] = {}
    for serving, lines in _dosed(outlook):
        wanted = serving.given_j.get(BRINE_SHRIMP, 0.0)
        if wanted > 0:
            (line,) = lines
            mark_j = line.given_j / line.amount
            least = min(0.9 * wanted, wanted - 1.001 * mark_j)
            assert least <= line.given_j <= wanted + mark_j
            if wanted > 5 * mark_j:
                fed.setdefault(serving.need.brood.name, []).append(line.given_j / wanted)
    mean = [sum(shares) / len(shares) for shares in fed.values() if len(shares) >= 8]
    assert len(mean) > 30
    assert 0.95 < min(mean) <= max(mean) < 1.1


def test_of_the_least_that_can_be_harvested_twelve_fry_get_what_they_eat() -> None:
    outlook = _outlook(_brood("b", "bubble_nest", 12, 1, '["microworm"]') + _microworms(2))
    outcome = simulate(outlook.room, tasks_of(outlook), [x for r in outlook.lines for x in r])
    tasks = tasks_of(outlook)
    serving, (line,) = next(_dosed(outlook))
    swipe_mg = outlook.room.kinds["microworm"].values["portion_mg"]
    quarter_j = swipe_mg / 4 * outlook.room.kinds["microworm"].values["energy_j_per_mg"]
    (harvest,) = (t for t in tasks if isinstance(t, HarvestWorms) and t.at == line.at)
    assert harvest.swipes == 0.25
    assert quarter_j > 3 * serving.need.energy_j
    assert line.amount == round(100 * serving.need.energy_j / quarter_j)
    # What is thrown away is said with the cup.
    steps = [plain(s.text) for s in steps_of(outlook, tasks, line.at)]
    words = f"microworm to 100 mL, feed {line.amount:g} mL of it"
    assert any(words in step for step in steps), steps
    (feed,) = (t for t in tasks if isinstance(t, Feed) and t.at == line.at)
    assert feed.amounts["microworm_fed_ml"] == line.amount
    for serving, lines in _dosed(outlook):
        given = outcome.given_j[serving.need.at, "b", "microworm"]
        assert 0.97 <= given / serving.need.energy_j <= 1.26, lines


def test_little_dry_food_is_divided_by_the_water_it_is_soaked_in() -> None:
    outlook = _outlook(_brood("b", "livebearer", 5, 12, '["dry"]'))
    wanted = given = 0.0
    for serving, (line,) in _dosed(outlook):
        part_g = serving.given_j[DRY] / dry_j_per_g()
        assert part_g < 0.01  # less than the scale shows
        # By half a mark it is off by less than a tenth of what they eat.
        assert abs(line.amount - part_g) * dry_j_per_g() < 0.1 * serving.need.energy_j
        wanted, given = wanted + part_g, given + line.amount
    assert abs(given - wanted) < 0.1 * wanted
    steps = [plain(s.text) for s in steps_of(outlook, tasks_of(outlook), line.at)]
    # Half of an eighth teaspoon is the least where no scale is named: 0.31 mL of 0.45 g/mL.
    words = f"in 69 mL water, feed {line.amount * 500:g} mL of it"
    assert any(step.startswith("soak 1/2 x 1/8 tsp level") and words in step for step in steps), (
        steps
    )


@pytest.mark.parametrize(
    ("scale", "least_g"), [("", 0.005), ("\n[tools]\nscale_g = 0.1\n", 0.00625)]
)
def test_little_dry_food_of_an_envelope_is_halved_by_eye(scale: str, least_g: float) -> None:
    """A helper soaks nothing to measure; a step of the scale would be several meals at once.

    Halving a heap down to five milligrams is common practice, no source.
    """
    away = "\n[[away]]\nfrom = 2027-03-01\nto = 2027-03-31\nhelper = true\n"
    away += scale
    outlook = _outlook(_brood("b", "livebearer", 5, 12, '["dry"]') + away)
    wanted = given = 0.0
    for serving, (line,) in _dosed(outlook):
        part_g = serving.given_j[DRY] / dry_j_per_g()
        assert part_g < 0.01  # less than the scale shows
        parts = line.amount / least_g
        assert abs(parts - round(parts)) < 1e-6
        assert abs(line.amount - part_g) < least_g
        wanted, given = wanted + part_g, given + line.amount
    assert abs(given - wanted) <= 0.01
    causes = {s.cause for s in plan_of(outlook, remedies=False).shortfalls}
    assert causes == ({"so little cannot be measured out"} if scale else set())


_COARSE = "\n[tools]\nsyringes_ml = [[5, 0.5]]\nscale_g = 1\n"


@pytest.mark.parametrize("helper", [True, False])
def test_small_broods_get_their_dry_food_at_each_round_by_a_coarse_scale(helper: bool) -> None:
    """From a helper's twists, and where a big brood eats more than is soaked: 1/128 of a
    gram is seen by eye (common practice, no source), and what is left out is
    added later.
    """
    away = f"\n[[away]]\nfrom = {_TODAY}\nto = 2027-03-31\nhelper = true\n" if helper else ""
    broods = _brood("small", "livebearer", 12, 16, '["dry"]')
    broods += _brood("big", "livebearer", 800, 40, '["dry"]')
    outlook = _outlook(broods + _COARSE + away)
    shares = []
    for serving, (line,) in _dosed(outlook):
        part_g = serving.given_j[DRY] / dry_j_per_g()
        if serving.need.brood.name == "small":
            assert 0.01 < part_g < 0.03
            assert 0.5 * part_g < line.amount < 2.0 * part_g
            assert line.amount * 128 in (1.0, 2.0, 4.0)
            shares.append(line.amount / part_g)
        else:
            assert part_g > 1.0  # too much to soak
    assert sum(shares) / len(shares) == pytest.approx(1.0, abs=0.1)
    assert plan_of(outlook, remedies=False).shortfalls == ()


def test_dry_food_that_is_weighed_out_for_each_tank_goes_back_into_the_tin() -> None:
    """Nothing but what is fed leaves it: a part of a gram by eye is said as one, not as 2 g."""
    broods = _brood("small", "livebearer", 12, 16, '["dry"]')
    outlook = _outlook(broods + _brood("big", "livebearer", 800, 40, '["dry"]') + _COARSE)
    tasks = tasks_of(outlook)
    feed = next(t for t in tasks if isinstance(t, Feed))
    row = next(row for at, row in outlook.rows() if at == feed.at)
    assert feed.dry_g == pytest.approx(sum(x.amount for x in row))
    assert feed.soaked_g is None
    steps = [plain(s.text) for s in steps_of(outlook, tasks, feed.at)]
    (soak,) = (step for step in steps if step.startswith("soak"))
    total = f"{sum(x.amount for x in row):.3g} g"  # what its tanks add up to
    assert "." in total
    assert soak.startswith(f"soak about {total} dry food, weighed out for each tank"), soak
    small = next(x for x in row if x.brood == "small")
    assert line_dose(small, row, outlook.room.tools) in (
        "1/128 of 1 g",
        "1/64 of 1 g",
        "1/32 of 1 g",
    )


_SPOONS = "\n[tools]\nspoons_ml = ['1 tsp', '1/2 tsp', '1/4 tsp']\nsyringes_ml = [[60, 1]]\n"


@pytest.mark.parametrize("jug", [True, False])
def test_by_the_spoon_alone_more_is_soaked_than_a_gram(jug: bool) -> None:
    """Half a quarter teaspoon is the least; a hundredth of a gram of it nobody makes by eye.

    A tenth of a litre a gram, as docs/planning.md has it of much; without a jug a syringe of 60 mL
    would be filled a dozen times.
    """
    broods = _brood("small", "livebearer", 12, 16, '["dry"]')
    broods += _brood("big", "livebearer", 800, 40, '["dry"]')
    cups = "measuring_cups_ml = [[500, 25]]\n" if jug else ""
    outlook = _outlook(broods + _SPOONS + cups)
    tasks = tasks_of(outlook)
    soak = next(t for t in tasks if isinstance(t, Soak))
    assert 1.0 < (soak.fed_g or soak.dry_g) < 5.0
    row = next(row for at, row in outlook.rows() if at == soak.until)
    assert {line.way for line in row} == {"soaked" if jug else "weighed"}
    assert soak.water_ml == (pytest.approx(100.0 * soak.dry_g) if jug else None)
    told = task_text(soak, outlook.room.tools)
    assert "tsp level" in told
    assert "about about" not in told
    assert ("measured out for each tank" in told) is not jug
    assert (" mL water" in told) is jug


@pytest.mark.parametrize(
    ("grams", "said"),
    [
        (0.00625, "1/16 of 0.1 g"), (0.075, "3/4 of 0.1 g"), (0.1, "0.1 g"),
        (0.25, "1/2 of 0.5 g"), (0.8, "0.8 g"),
    ],
)  # fmt: skip
def test_parts_are_said_of_what_is_weighed(grams: float, said: str) -> None:
    """One weighing and one heap: 0.25 g is half of 0.5 g, and not 0.2 g and a half of 0.1."""
    line = FeedLine(datetime(2027, 3, 1, 7, 30, tzinfo=UTC), "T-b", "b", DRY, 0.0, 0.0, grams, "g")
    assert twist(line, Tools(scale_g=0.1, stated=True)).shown == said


def test_twists_are_of_few_sizes_and_two_grown_fish_wait_for_a_pinch() -> None:
    """A quarter of 0.1 g is a pinch (common practice, no source), of which two fish of two
    centimetres eat one in a few days; in all they get what they need.
    """
    away = f"\n[[away]]\nfrom = {_TODAY}\nto = 2027-03-31\nhelper = true\n"
    broods = _brood("many", "livebearer", 60, 20, '["dry"]')
    broods += _brood("grown", "livebearer", 2, 75, '["dry"]')
    outlook = _outlook(broods + away + "[tools]\nscale_g = 0.1\n")
    wanted = given = 0.0
    for serving, (line,) in _dosed(outlook):
        assert line.amount / 0.025 == pytest.approx(round(line.amount / 0.025))
        if serving.need.brood.name == "grown":
            assert serving.need.length_mm >= 20.0
            wanted += serving.given_j[DRY] / dry_j_per_g()
            given += line.amount
    assert abs(given - wanted) <= 0.025
    plan = plan_of(outlook, remedies=False)
    assert not plan.shortfalls
    assert "times the ration" not in " ".join(str(note) for note in plan.notes)


def test_what_cannot_be_measured_out_is_a_shortfall_that_a_finer_scale_prevents() -> None:
    """Three fry eat less than half of the least that is seen of a gram: some days they get none."""
    away = f"\n[[away]]\nfrom = {_TODAY}\nto = 2027-03-31\nhelper = true\n"
    text = _brood("b", "livebearer", 3, 12, '["dry"]') + away
    *_, short = plan_of(_outlook(text + _COARSE)).shortfalls
    assert (short.food, short.tanks) == (DRY, ("T-b",))
    assert "cannot be measured out" in short.cause
    assert short.starves_at is None  # it gets the same in all
    (remedy,) = short.remedies
    assert remedy.what == "get a scale that shows 0.01 g"
    finer = plan_of(_outlook(text + _COARSE.replace("= 1", "= 0.01"))).shortfalls
    assert not [s for s in finer if s.at <= short.at <= s.until]
