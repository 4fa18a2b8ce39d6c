"""The words of tasks say the amounts that were planned."""

from __future__ import annotations

from datetime import UTC, datetime
from fractions import Fraction

import pytest

from cultures.foods.kinds import shipped_kind
from cultures.planning.preparation import jar_label
from cultures.tasks.task import HarvestWorms, Soak
from cultures.tasks.told import Draw
from cultures.words.tasks import plain, soak, worms, worms_method
from cultures.words.tools import USUAL

_AT = datetime(2027, 1, 8, 7, 30, tzinfo=UTC)


@pytest.mark.parametrize("quarters", range(1, 13))
def test_swipes_are_said_to_the_quarter(quarters: int) -> None:
    swipes = quarters / 4
    task = HarvestWorms(
        id="harvest_worms/x", at=_AT, until=_AT, subject="MW-1", mg=60 * swipes, swipes=swipes,
        why="",
    )  # fmt: skip
    text = plain(worms(task, USUAL))
    said, unit = text.removeprefix("MW-1: ").split(" off ")[0].rsplit(" ", 1)
    assert sum(Fraction(part) for part in said.split()) == Fraction(quarters, 4)
    assert unit == ("swipes" if swipes > 1 else "swipe")


@pytest.mark.parametrize(
    ("fed_g", "said"),
    [(None, "275 mL water"),
     (0.4, "275 mL water, feed 200 mL of it"),
     (0.55, "275 mL water"), (0.552, "276 mL water")],
)  # fmt: skip
def test_no_more_is_fed_of_what_is_soaked_than_there_is(fed_g: float | None, said: str) -> None:
    """5 mL for each 0.01 g; the marks of a syringe may come to a millilitre more."""
    task = Soak(id="soak/x", at=_AT, until=_AT, subject="", dry_g=0.55, spoons=0.25, fed_g=fed_g,
                why="")  # fmt: skip
    assert plain(soak(task, USUAL)).partition(" in ")[2] == said


def test_two_jars_of_one_time_are_told_apart() -> None:
    one, other = (Draw(name, _AT, 500.0, 100.0, 0.2) for name in ("bottle", "cone"))
    assert jar_label(one, (), "metric") == "Fri 07:30"
    labels = {jar_label(draw, {_AT}, "metric") for draw in (one, other)}
    assert labels == {"Fri 07:30 from bottle", "Fri 07:30 from cone"}


def test_what_runs_through_the_sieve_goes_back_to_where_it_was_drawn() -> None:
    """Unless somebody is told who has done it before; vinegar is known by the caution."""
    said = {}
    for caution in ("Mind the vinegar.", ""):
        task = HarvestWorms(id="harvest_worms/x", at=_AT, until=_AT, subject="X-1", mg=60.0,
                            draws=1.0, why="", caution=caution)  # fmt: skip
        said[caution] = plain(worms(task, USUAL))
        assert "back" not in plain(worms_method(task, brief=True))
    assert said["Mind the vinegar."].endswith(
        " from the neck, sieve, pour the vinegar back into the bottle, rinse the eels well"
    )
    assert said[""].endswith(", sieve, pour the water back into the culture, rinse the catch well")


def test_worms_are_wiped_off_what_their_kind_gathers_on() -> None:
    """Grindal worms gather under a plate of glass (common practice, no source)."""
    said = []
    for kind in ("grindal_worm", "microworm"):
        task = HarvestWorms(id="harvest_worms/x", at=_AT, until=_AT, subject="X-1", mg=60.0,
                            swipes=3.0, why="", other=shipped_kind(kind).taken_off)  # fmt: skip
        said.append(plain(worms(task, USUAL)))
    assert said == ["X-1: 3 swipes off the glass, into the cup",
                    "X-1: 3 swipes off the wall, into the cup"]  # fmt: skip
