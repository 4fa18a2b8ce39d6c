"""Tasks of the rounds: soak, feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta

from cultures.foods.food import DRY
from cultures.fry.feeding import feeding_values
from cultures.needs.need import Round
from cultures.planning.amounts import soaked_g, weighed_dry_g
from cultures.planning.harvests import from_jars_ml
from cultures.planning.outlook import Outlook
from cultures.planning.task_ids import FEED
from cultures.tasks.task import Feed, Soak, Task, feeding_id, stamp
from cultures.tasks.told import WEIGHED, FeedLine
from cultures.words.quantities import many
from cultures.words.units import TEASPOON_ML


def round_tasks(outlook: Outlook) -> Iterator[Task]:
    """Soaking and feeding, round by round."""
    v = feeding_values()
    for feeding, lines in zip(outlook.feedings, outlook.lines, strict=True):
        given = [line for line in lines if line.amount > 0]
        if not given or not feeding.fed:
            continue
        nauplii = sum(p.nauplii for p in outlook.feeding.hatches.portions[feeding.index])
        from_jars = from_jars_ml(outlook.room, outlook.feeding.hatches, feeding)
        cups = [cup for (index, _), cup in outlook.cups.items() if index == feeding.index]
        dry = [line for line in given if line.food == DRY]
        grams = round(sum(line.amount for line in dry), 6)
        used_g = weighed_dry_g(outlook.room.tools, feeding, dry)
        if grams > 0:
            tools = outlook.room.tools
            weighed = soaked_g(tools, feeding, grams, dry)
            each = {line.tank for line in dry if line.way == WEIGHED}
            waking = outlook.room.local(feeding.at.date(), outlook.room.awake[0])
            yield Soak(
                id=f"soak/{stamp(feeding.at)}",
                at=max(feeding.at - timedelta(minutes=v["soak_min"]), min(waking, feeding.at)),
                until=feeding.at,
                subject=feeding.name,
                dry_g=weighed,
                spoons=round(weighed / (tools.g_per_ml[DRY] * TEASPOON_ML), 2),
                fed_g=grams if grams < weighed - 1e-6 else None,
                water_ml=_water_ml(dry, weighed),
                tanks=len(each) or None,
                why="Soaked crumble swells in the cup, not in the fry. What is not fed spoils in a"
                " day: pour it down the drain.",
            )
        yield Feed(
            id=feeding_id(feeding.at),
            at=feeding.at,
            until=feeding.at + FEED,
            subject=feeding.name,
            tanks=len({line.tank for line in given}),
            cups_ml={cup.food: cup.volume_ml for cup in cups},
            fed_ml={cup.food: cup.fed_ml for cup in cups if cup.fed_ml < cup.volume_ml - 1e-6},
            nauplii=nauplii if nauplii > 0 else None,
            jar_ml=from_jars if from_jars > 0 else None,
            dry_g=grams if grams > 0 else None,
            soaked_g=used_g if used_g > grams + 1e-6 else None,
            why=_why_feed(outlook, feeding),
        )


def _water_ml(dry: Sequence[FeedLine], weighed_g: float) -> float | None:
    """What dry food is soaked in, where its lines have it thinner than usual [mL]."""
    wet_ml = sum(line.wet_ml or 0.0 for line in dry)
    return round(weighed_g * wet_ml / sum(line.amount for line in dry), 6) if wet_ml else None


def _why_feed(outlook: Outlook, feeding: Round) -> str:
    needs = outlook.needs[feeding.index]
    fry = sum(need.count for need in needs)
    return f"{fry:,.0f} fry in {many(len(needs), 'brood')}."
