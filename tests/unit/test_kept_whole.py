"""A harvest that is drawn off for a later round says why nothing of it is fed before."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from attrs import evolve

from cli.screens.salt_and_jars import jars_left
from cultures.planning.food_tasks import why_waits
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch

_ROOM = """
[room]
name = "loft"
timezone = "UTC"
as_of = 2027-03-02
horizon_days = 4
temperature_c = 26
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
fridge_c = 5
[cysts]
grams = 300
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 26
[[hatch]]
vessel = "bottle"
set_at = 2027-03-01T07:30:00
cysts_g = 1
[[tank]]
name = "G"
litres = 60
temperature_c = 26
[[brood]]
name = "guppies"
tank = "G"
class = "livebearer"
count = 80
free_swimming = 2027-02-22
foods = ["brine_shrimp", "dry"]
[[tank]]
name = "S"
litres = 40
temperature_c = 26
[[brood]]
name = "small"
tank = "S"
class = "substrate_spawner"
count = 200
free_swimming = 2027-03-01
foods = ["brine_shrimp"]
"""


@pytest.fixture(scope="module", name="outlook")
def _outlook() -> Outlook:
    room = read_room(_ROOM, today=date(2027, 3, 2))
    return make_outlook(room, now=datetime(2027, 3, 2, 6, 30, tzinfo=room.timezone))


def test_who_draws_off_what_waits_is_told_why(outlook: Outlook) -> None:
    """The first hatch fills a jar that lasts for four rounds; the next one is drawn off before the
    fourth, which empties that jar, and waits in the fridge until the fifth.
    """
    first, second, *_ = sorted(
        (t for t in tasks_of(outlook) if isinstance(t, HarvestHatch)), key=lambda t: t.at
    )
    assert "Nothing of it" not in first.why
    assert f"{second.at:%d %H:%M}" == "03 18:00"
    assert "Ripe for the round of Thu 07:30" in second.why
    assert second.why.endswith("Nothing of it is fed before: older go first.")
    rounds = {f"{r.at:%d %H}": r.at for r in outlook.feedings}
    said = [text for text in jars_left(outlook, rounds["03 18"]) if "whole" in text]
    (text,) = said
    assert "is kept whole until Thu 4 Mar 07:30: older go first" in text
    assert not [text for text in jars_left(outlook, rounds["03 07"]) if "whole" in text]
    assert not [text for text in jars_left(outlook, rounds["04 07"]) if "whole" in text]


def test_a_whole_jar_that_no_round_needs_is_named(outlook: Outlook) -> None:
    batch, *others = outlook.feeding.hatches.batches
    hatches = evolve(
        outlook.feeding.hatches, batches=[evolve(batch, held=True), *others],
        portions=[() for _ in outlook.feedings],
    )  # fmt: skip
    other = evolve(outlook, feeding=evolve(outlook.feeding, hatches=hatches))
    first = outlook.feedings[0].at
    (text,) = (t for t in jars_left(other, first) if "whole" in t or "needs" in t)
    assert text == "no round needs the jar of Tue 07:00; pour it out"


def test_why_a_harvest_waits(outlook: Outlook) -> None:
    """An older one is fed; else nobody is there; else nobody takes nauplii; else it is kept."""
    hatches, rows = outlook.feeding.hatches, outlook.feeding.servings
    assert why_waits(outlook, 0, 1) == "older go first"
    portions = hatches.portions
    hatches.portions = [() for _ in portions]
    try:
        assert why_waits(outlook, 0, 2) == "it is kept for who would go short later"
        assert why_waits(outlook, 0, 2, others=True) == "older go first"
        wanted = [[s.want_j for s in row] for row in rows]
        for row in rows:
            for serving in row:
                serving.want_j = {}
        assert why_waits(outlook, 0, 2) == "no brood takes nauplii by then"
        for row, of_row in zip(rows, wanted, strict=True):
            for serving, want_j in zip(row, of_row, strict=True):
                serving.want_j = want_j
        assert why_waits(outlook, 1, 1) == "nobody is there to feed"
    finally:
        hatches.portions = portions
