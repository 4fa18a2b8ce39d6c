"""What is used up a week, and when to buy more."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from attrs import frozen

from cultures.planning.hatch_plan import jar_ml
from cultures.planning.task_ids import SHORT
from cultures.planning.tasks import SupplyUse, Task
from cultures.room import BRINE_SHRIMP, DRY

if TYPE_CHECKING:
    from cultures.planning.plan import Outlook

#: What is bought should last so long.
_LASTS = timedelta(days=28)
#: The rate of use is that of so long before it runs out.
_RATE_OVER = timedelta(days=14)
#: And be there so long before it is needed.
_AHEAD = timedelta(days=2)


@frozen(eq=False)
class Use:
    """Some of a supply used at a time; ``item`` is ``cysts``, ``salt``, ``dry`` or ``medium``."""

    item: str
    at: datetime
    grams: float


def uses(outlook: Outlook) -> list[Use]:
    """Every planned use of a supply, by time; what is in hand counts as used."""
    found: list[Use] = []
    room, hatches = outlook.room, outlook.feeding.hatches
    for number, batch in enumerate(hatches.batches):
        jar = None if batch.held else jar_ml(room, hatches, number)
        if jar is not None:
            salt_g = jar / 1000.0 * batch.vessel.salinity_g_per_l
            found.append(Use("salt", room.at_hour(batch.harvest_h), salt_g))
        if batch.standing:
            continue
        at = room.at_hour(batch.set_h)
        found.append(Use("cysts", at, batch.cysts_g))
        found.append(Use("salt", at, batch.vessel.litres * batch.vessel.salinity_g_per_l))
    found += [Use("cysts", room.at_hour(at_h), grams) for at_h, grams in hatches.tin_short]
    for plan in outlook.feeding.worms.values():
        for split in plan.splits:
            feeding = outlook.feedings[split.at_index]
            own = f"{split.culture.kind.name}_medium"
            found.append(
                Use(own if own in room.stock_g else "medium", feeding.at, split.culture.medium_g)
            )
    for feeding, row in zip(outlook.feedings, outlook.lines, strict=True):
        grams = sum(line.amount for line in row if line.food == DRY)
        if grams > 0:
            found.append(Use(DRY, feeding.at, grams))
    return sorted(found, key=lambda use: (use.at, use.item))


def stocks(outlook: Outlook) -> dict[str, float]:
    """What is in stock now, where the room file or the journal says so [g]."""
    held = dict(outlook.room.stock_g)
    if outlook.room.vessels:
        held["cysts"] = outlook.room.cysts.grams if outlook.room.cysts is not None else 0.0
    return held


def supply_uses(outlook: Outlook) -> tuple[SupplyUse, ...]:
    """Use by week within the shown time, stock now, and the day by which to buy."""
    result = []
    every = uses(outlook)
    held = stocks(outlook)
    for item in sorted({use.item for use in every}):
        mine = [use for use in every if use.item == item]
        weeks = [0.0] * math.ceil((outlook.until - outlook.now) / timedelta(days=7))
        for use in mine:
            if use.at < outlook.until:
                weeks[max(0, int((use.at - outlook.now) / timedelta(days=7)))] += use.grams
        left = held.get(item)
        out = _runs_out(mine, left)
        result.append(
            SupplyUse(
                item=item,
                weeks_g=tuple(weeks),
                stock_g=left,
                buy_by=_buy_at(outlook, out).date() if out is not None else None,
            )
        )
    return tuple(result)


def supply_tasks(outlook: Outlook) -> Iterator[Task]:
    """A task for each supply that runs out within the shown time, in time to get more."""
    every = uses(outlook)
    for item, stock in stocks(outlook).items():
        mine = [use for use in every if use.item == item]
        out = _runs_out(mine, stock)
        if out is None:
            continue
        at = _buy_at(outlook, out)
        wanted = _wanted(mine, stock, outlook.now, out)
        name = "brine shrimp cysts" if item == "cysts" else {DRY: "dry food"}.get(item, item)
        key = f"{BRINE_SHRIMP}_cysts" if item == "cysts" else item
        yield Task(
            id=f"buy/{key}",
            what="buy",
            at=at,
            until=max(out, at + SHORT),
            subject=name,
            amounts={f"{item}_g": round(wanted, 1)},
            why=(
                f"What is left runs out on {out:%a} {out.day} {out:%b} {out:%H:%M};"
                f" four weeks at that rate want {wanted:.0f} g."
            ),
        )


def _runs_out(uses_of_item: list[Use], stock: float | None) -> datetime | None:
    """The first use that the stock does not cover."""
    if stock is None:
        return None
    left = stock
    for use in uses_of_item:
        left -= use.grams
        if left < -1e-6:
            return use.at
    return None


def _wanted(uses_of_item: list[Use], stock: float, start: datetime, out: datetime) -> float:
    """What four weeks want at the rate before running out, less what is still left then.

    The rate is that of the last two weeks up to that day, since what comes after it may still
    change when the plan looks further.
    """
    since, end = max(start, out - _RATE_OVER), out + timedelta(days=1)
    used = sum(use.grams for use in uses_of_item if since <= use.at < end)
    before = sum(use.grams for use in uses_of_item if use.at < out)
    return max(0.0, used * (_LASTS / (end - since)) - max(0.0, stock - before))


def _buy_at(outlook: Outlook, out: datetime) -> datetime:
    """A round well before a moment at which the keeper is there, or the nearest there is."""
    present = [r.at for r in outlook.feedings if r.keeper and r.at <= out]
    early = [at for at in present if at <= out - _AHEAD]
    ahead = [at for at in present if at >= outlook.now]
    return early[-1] if early else (ahead[0] if ahead else out)
