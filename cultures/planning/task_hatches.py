"""Tasks of hatches: set, harvest, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import strains
from cultures.needs.need import Round
from cultures.planning.harvests import Batch, jar_ml, window_times
from cultures.planning.outlook import Outlook
from cultures.planning.standing_hatches import late_h
from cultures.planning.task_ids import SET, SHORT
from cultures.room.jars import holding_of, vessel_model
from cultures.tasks.task import HarvestHatch, SetHatch, Task, stamp


def hatch_tasks(outlook: Outlook) -> Iterator[Task]:
    """Settings and harvests."""
    room, hatches = outlook.room, outlook.feeding.hatches
    keys = {batch.key for batch in hatches.batches}
    keys.update(
        key.partition("/")[2] for key in room.settled
        if key.startswith(("set_hatch/", "harvest_hatch/"))
    )  # fmt: skip
    uses = _uses(outlook)
    for number, batch in enumerate(hatches.batches):
        if batch.held:
            continue
        used = uses.get(number, [])
        feeding = outlook.feedings[batch.at_index]
        key = batch.key or _free_key(stamp(feeding.at), keys)
        set_at, harvest_at = room.at_hour(batch.set_h), room.at_hour(batch.harvest_h)
        if not batch.standing:
            yield SetHatch(
                id=f"set_hatch/{key}",
                at=set_at,
                until=set_at + SET,
                subject=batch.vessel.name,
                cysts_g=batch.cysts_g,
                spoons=round(room.hatch_kind.spoons(batch.cysts_g), 2),
                water_l=batch.vessel.litres,
                salt_g=round(batch.vessel.litres * batch.vessel.salinity_g_per_l, 1),
                nauplii=round(batch.nauplii),
                strain=strains(BRINE_SHRIMP).get(room.hatch_kind.strain, ""),
                why=_why_set(outlook, batch, used),
                caution=" ".join(room.hatch_kind.cautions),
            )
        taken = sum(nauplii for _, nauplii in used)
        yield HarvestHatch(
            id=f"harvest_hatch/{key}",
            at=harvest_at,
            until=max(harvest_at + SHORT, feeding.at),
            subject=batch.vessel.name,
            nauplii=batch.nauplii,
            energy_j=batch.energy_j,
            fed_nauplii=taken,
            left_over=max(0.0, batch.nauplii - taken),
            jar_ml=jar_ml(room, hatches, number) or None,
            late_h=late_h(room, batch),
            why=_why_harvest(outlook, batch, used),
            caution=room.hatch_kind.cautions[0] if room.hatch_kind.cautions else "",
        )


def first_fed(outlook: Outlook, harvest: HarvestHatch) -> datetime:
    """The first round at which something of a harvest is fed; where none is, the one it is of."""
    uses = _uses(outlook)
    for number, batch in enumerate(outlook.feeding.hatches.batches):
        drawn_at = outlook.room.at_hour(batch.harvest_h)
        if (batch.vessel.name, drawn_at) == (harvest.subject, harvest.at) and number in uses:
            return uses[number][0][0].at
    return harvest.until


def _uses(outlook: Outlook) -> dict[int, list[tuple[Round, float]]]:
    """Of each batch the rounds that it feeds, and with how many nauplii."""
    uses: dict[int, list[tuple[Round, float]]] = {}
    for feeding, portions in zip(outlook.feedings, outlook.feeding.hatches.portions, strict=True):
        for portion in portions:
            uses.setdefault(portion.batch, []).append((feeding, portion.nauplii))
    return uses


def _free_key(round_stamp: str, taken: set[str]) -> str:
    """The next free name of a hatch for a round."""
    number = 1
    while f"{round_stamp}/{number}" in taken:
        number += 1
    taken.add(f"{round_stamp}/{number}")
    return f"{round_stamp}/{number}"


def _why_set(outlook: Outlook, batch: Batch, used: list[tuple[Round, float]]) -> str:
    model = vessel_model(outlook.room, batch.vessel)
    hours_in = batch.harvest_h - batch.set_h
    low, high = window_times(outlook.room, batch)
    rounds = ", ".join(f"{r.at:%a %H:%M}" for r, _ in used) or "no round"
    return (
        f"{batch.nauplii:,.0f} nauplii for {rounds}: {hours_in:.1f} h at"
        f" {batch.vessel.temperature_c:.3g} °C. {model.best_hours():.1f} h would be best; any time"
        f" from {low:%a %H:%M} to {high:%a %H:%M} gives at least nine tenths of that."
    )


def _why_harvest(outlook: Outlook, batch: Batch, used: list[tuple[Round, float]]) -> str:
    holding = holding_of(outlook.room)
    if batch.nauplii <= 0:
        return "It has stood too long to be food; pour it out and wash the vessel."
    if not used:
        return "No round needs it; pour it out to free the vessel."
    first, last = used[0][0], used[-1][0]
    ripe = "Ripe" if late_h(outlook.room, batch) is None else "Past its best, but there"
    text = f"{ripe} for the round of {first.at:%a %H:%M}"
    if last.index != first.index:
        kept = holding.share(batch.harvest_h, last.at_h)
        where = "in the fridge with a little air" if holding.cold else "aerated at room temperature"
        text += (
            f"; keep the rest {where} for the rounds up to {last.at:%a %H:%M},"
            f" when {kept:.0%} of its food value is left"
        )
    return text + "."
