"""The round read aloud: what the tanks get adds up to what is harvested and made up."""

from __future__ import annotations

import math
import re
from datetime import date, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cli.screens.feeding import walk
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.feeding import feeding_values
from cultures.planning.build import build_tasks
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.preparation import draws_at, steps_of
from cultures.room.file import read_room
from cultures.tasks.task import Task
from cultures.words.tasks import plain
from tests.examples import examples

_TODAY = date(2027, 3, 1)
#: Days that are planned; two weeks hold a split and what comes of it.
_AHEAD = examples(suite=8, thorough_run=30)
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "livebearer",
            "annual_killifish")  # fmt: skip


@st.composite
def rooms(draw: st.DrawFn) -> str:
    """A room file with one to six broods, worms of both kinds, and up to two vessels."""
    rounds = draw(st.sampled_from([["07:30", "18:30"], ["08:00"], ["06:45", "12:30", "19:00"]]))
    head = (
        '[room]\nname = "Any"\ntimezone = "Europe/Lisbon"\nas_of = 2027-03-01\n'
        f'rounds = {rounds}\nawake = ["06:00", "22:30"]\nhorizon_days = {_AHEAD}\n'
        f"temperature_c = {draw(st.floats(20, 26)):.1f}\nmakeup_ml = {draw(st.integers(40, 400))}\n"
    )
    parts = [head + ("fridge_c = 5\n" if draw(st.booleans()) else "")]
    for i in range(draw(st.integers(1, 6))):
        born = _TODAY - timedelta(days=draw(st.integers(0, 30)))
        parts.append(f'[[tank]]\nname = "T{i}"\nlitres = 40\ntemperature_c = 26\n')
        fry_class = draw(st.sampled_from(_CLASSES))
        parts.append(
            f'[[brood]]\nname = "b{i}"\ntank = "T{i}"\nclass = "{fry_class}"\n'
            f"count = {draw(st.integers(5, 400))}\nfree_swimming = {born}\n"
        )
    for prefix, kind, medium in (("MW", "microworm", 150), ("VE", "vinegar_eel", 1500)):
        surface = "surface_cm2 = 180\n" if kind == "microworm" else ""
        for i in range(draw(st.integers(0, 3))):
            born = _TODAY - timedelta(days=draw(st.integers(1, 25)))
            parts.append(
                f'[[culture]]\nname = "{prefix}-{i}"\nkind = "{kind}"\nstarted = {born}\n'
                f"medium_g = {medium}\n{surface}starter_g = {medium // 12}\n"
            )
    for i in range(draw(st.integers(0, 2))):
        parts.append(f'[[vessel]]\nname = "V{i}"\nlitres = {draw(st.sampled_from([0.7, 1, 2]))}\n'
                     "temperature_c = 27\nsalinity_g_per_l = 25\n")  # fmt: skip
    parts.append(f"[cysts]\ngrams = {draw(st.integers(1, 80))}\n")
    return "\n".join(parts)


def _outlook(text: str, units: str = "metric") -> Outlook:
    text = text.replace("[room]\n", f'[room]\nunits = "{units}"\n', 1)
    room = read_room(text, name="room.toml", today=_TODAY)
    now = datetime(2027, 3, 1, 5, 0, tzinfo=room.timezone)
    return make_outlook(room, now=now)


def _of_round(tasks: tuple[Task, ...], what: str, at: datetime) -> list[Task]:
    return [t for t in tasks if t.what == what and (t.until if what == "soak" else t.at) == at]


@settings(max_examples=examples(suite=12, thorough_run=25), deadline=None)
@given(rooms())
def test_doses_add_up_to_the_cups_and_the_cups_hold_what_was_harvested(text: str) -> None:
    outlook = _outlook(text)
    tasks = build_tasks(outlook)
    _check_jars(outlook)
    _check_table(outlook, tasks)
    for feeding, lines in zip(outlook.feedings, outlook.lines, strict=True):
        dosed: dict[str, float] = {}
        brought: dict[str, float] = {}
        for line in lines:
            dosed[line.food] = dosed.get(line.food, 0.0) + line.amount
            brought[line.food] = brought.get(line.food, 0.0) + line.given_j
        feeds = _of_round(tasks, "feed", feeding.at)
        if not feeds:
            assert sum(dosed.values()) == 0
            continue
        (feed,) = feeds
        for food, total in dosed.items():
            if food == DRY:
                soaked = sum(t.amounts["dry_g"] for t in _of_round(tasks, "soak", feeding.at))
                # The least is half of an eighth teaspoon, 0.31 mL, where no scale is named.
                least_g = 0.31 * feeding_values()["dry_g_per_ml"]
                assert soaked - max(0.01, least_g) < total <= soaked * (1 + 1e-9)
            elif total > 0:  # where doses are measured apart less than a mark stays in the cup
                assert _fed_ml(feed, food) - 1.0 <= total <= _fed_ml(feed, food) * (1 + 1e-9)
        for food, energy in brought.items():
            kind = outlook.room.kinds.get(food)
            if isinstance(kind, WormKind):
                taken = [
                    t.amounts["mg"] for t in _of_round(tasks, "harvest_worms", feeding.at)
                    if _kind_of(outlook, t.subject) == food
                ]  # fmt: skip
                share = dosed[food] / feed.amounts.get(f"{food}_ml", math.inf)
                fed_j = sum(taken) * kind.values["energy_j_per_mg"] * share
                assert energy == pytest.approx(fed_j, rel=1e-9)
        portions = outlook.feeding.hatches.portions[feeding.index]
        assert feed.amounts.get("nauplii", 0.0) == sum(p.nauplii for p in portions)
        fed_ml = dosed.get(BRINE_SHRIMP, 0.0)
        made_ml = feed.amounts.get("brine_shrimp_ml", math.inf)
        fed_j = sum(p.energy_j for p in portions) * fed_ml / made_ml
        assert brought.get(BRINE_SHRIMP, 0.0) == pytest.approx(fed_j, rel=1e-9)


def _fed_ml(feed: Task, food: str) -> float:
    """How much of a cup is fed: all of it unless the task says otherwise."""
    return feed.amounts.get(f"{food}_fed_ml", feed.amounts.get(f"{food}_ml", 0.0))


def _kind_of(outlook: Outlook, culture: str) -> str:
    for name, plan in outlook.feeding.worms.items():
        if any(stage.culture.name == culture for stage in plan.stages):
            return name
    raise AssertionError(f"no culture {culture}")


def _check_jars(outlook: Outlook) -> None:
    """No jar gives more than it holds."""
    taken: dict[tuple[str, datetime], float] = {}
    for feeding in outlook.feedings:
        for drawn in draws_at(outlook, feeding.at):
            key = drawn.vessel, drawn.harvested
            share = 1.0 if drawn.jar_ml is None else drawn.take_ml / drawn.jar_ml
            taken[key] = taken.get(key, 0.0) + share
    assert all(share <= 1.0 + 1e-9 for share in taken.values())
    batches = {(b.vessel.name, outlook.room.at_hour(b.harvest_h))
               for b in outlook.feeding.hatches.batches}  # fmt: skip
    assert set(taken) <= batches


#: "100 mL", "1,500 mL", "0.03 g"
_SPOKEN = re.compile(r"(?<![\d/,.])(\d[\d,]*(?:\.\d+)?) (mL|g|oz|drop)s?\b")


def _amounts(text: str, wanted: str) -> Fraction:
    """All amounts of a unit in a text, added up."""
    found = _SPOKEN.findall(text)
    return sum((Fraction(n.replace(",", "")) for n, unit in found if unit == wanted), Fraction(0))


def _adds_up(spoken: Fraction, text: str, rest_ml: int) -> bool:
    """Whether volumes add up; from 100 mL on they are said in whole mL, and what is more than ten
    fillings in two digits, as "about". Of so many cups less than a mark of one mL may stay in each.
    """
    told = _amounts(text, "mL") + _amounts(text, "drop") / 20
    off = abs(told - spoken)
    return off <= rest_ml or (spoken > 100 and off <= 0.5) or (spoken > 600 and off <= spoken / 20)


def _part(found: re.Match[str]) -> str:
    """A part of a weight, such as "3/4 of 0.01", as the weight that it is."""
    part, whole, weight = found.groups()
    return f"{float(weight) * int(part) / int(whole):.6f}"


def _weighed_g(text: str) -> float:
    """All weights in a text [g]; an ounce is 28.349523125 g (NIST SP 811, appendix B)."""
    halved = re.sub(r"(\d+)/(\d+) of ([\d.]+)", _part, text)
    return float(_amounts(halved, "g")) + 28.349523125 * float(_amounts(text, "oz"))


def _each_cup(step: str) -> str:
    """A step with the cups apart that are filled alike."""
    alike = re.compile(
        r"(?:(?<=water: )|(?<=., ))([a-z ]+(?:, [a-z ]+)*) each to (\S+ mL(?:, feed \S+ mL)?)"
    )
    return alike.sub(
        lambda found: ", ".join(f"{x} to {found[2]}" for x in re.split(", | and ", found[1])), step
    )


@settings(max_examples=examples(suite=3, thorough_run=15), deadline=None)
@given(text=rooms())
def test_the_table_adds_up_in_a_us_room_too(text: str) -> None:
    outlook = _outlook(text, "us")
    _check_table(outlook, build_tasks(outlook))


def _check_table(outlook: Outlook, tasks: tuple[Task, ...]) -> None:
    """The table read aloud adds up to its last row and to the steps."""
    for feeding in outlook.feedings:
        lines = [x for x in outlook.lines[feeding.index] if x.amount > 0]
        if len({(x.tank, x.brood) for x in lines}) < 2 or not feeding.fed:
            continue
        *doses, last = walk(lines, outlook.room.tools, total=True).splitlines()[1:]
        spoken = sum((_amounts(row, "mL") for row in doses), Fraction(0))
        spoken += sum((_amounts(row, "drop") for row in doses), Fraction(0)) / 20
        apart = {x.food for x in lines if x.food != DRY and not float(x.amount).is_integer()}
        # Soaked dry food is said in whole marks where it is poured for all.
        rest = len(apart) + any(x.food == DRY for x in lines)
        assert _adds_up(spoken, last, rest)
        steps = steps_of(outlook, tasks, feeding.at)
        told = "; ".join(_each_cup(plain(step.text)) for step in steps)
        amount = r"(?:about )?([\d,.]+ (?:mL|drops?))"
        # Dry food is dealt out with the water that it was soaked in; not all of a cup may be fed.
        made = rf"(?:\bto|soak [^;]* in) {amount}(?: water)?(?:, feed {amount})?"
        cups = "; ".join(fed or whole for whole, fed in re.findall(made, told))
        assert _adds_up(spoken, cups, rest)
        # Weights are shown to three digits, in each row and in all.
        assert sum(map(_weighed_g, doses)) == pytest.approx(_weighed_g(last), rel=1e-2, abs=1e-9)
