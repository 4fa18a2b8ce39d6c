"""What is used up a week, and when to buy more."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from itertools import count, takewhile

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import Round
from cultures.planning.amounts import weighed_dry_g
from cultures.planning.gaps import Gap
from cultures.planning.harvests import HatchPlan, jar_ml
from cultures.planning.outlook import Outlook, rounds_there
from cultures.planning.servings import Served, dry_j_per_g
from cultures.planning.task_ids import SHORT
from cultures.room.orders import Draining, Order
from cultures.room.room import MEDIUM, Room
from cultures.tasks.plan import SupplyUse
from cultures.tasks.task import Arrival, Buy, Task
from cultures.words.moments import spoken_day, when
from cultures.words.quantities import OUNCE_G, many
from cultures.words.quantities import number as number_text
from cultures.words.units import POUND_G

#: What is bought should last so long.
_LASTS = timedelta(days=28)
#: A parcel is waited for that is to come within a week, or on the day on which what is bought now
#: would be there or the two after it; it counts from the end of its day (common practice, no
#: source).
_WAITED, _WAITED_AFTER = timedelta(days=8), timedelta(days=3)
#: A day that was told stands against one so much later; an amount, while so many times as much, or
#: so little of it, would be told now: it lasts from nearly three to eight weeks then (assumption).
_STANDS, _MORE, _LESS = timedelta(days=7), 1.5, 0.5
#: The rate of use is that of so long before it runs out.
_RATE_OVER = timedelta(days=14)
#: In what amounts things are sold, or make two or three packs (common practice, no source): so many
#: grams, and from ten grams on so many tens, hundreds and so on.
_GRAMS, _DIGITS = (1.0, 2.0, 3.0, 5.0), (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5)
#: The same by weight in ounces and in pounds; what is less than an ounce is in grams.
_OUNCES, _POUNDS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0), (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 8.0)


@frozen(eq=False)
class Use:
    """Some of a supply used at a time; ``item``: ``cysts``, ``salt``, ``dry``, ``medium``, or the
    medium of a kind that has its own.
    """

    item: str
    at: datetime
    grams: float


@frozen
class Purchase:
    """What is to be bought of a supply: how much [g], when, and when it would run out.

    ``due``: the day by which it was told to be bought, once that is over. ``weeks``: how long so
    much lasts.
    """

    grams: float
    at: datetime
    out: datetime
    due: date | None = None
    weeks: float = 4.0

    def by_words(self, now: datetime) -> str:
        """By when, after what is to be bought."""
        if self.due is not None and self.due < now.date():
            return f", due since {spoken_day(self.due, now)}"
        return f" by {spoken_day(self.due or self.at, now)}"


def uses(outlook: Outlook) -> list[Use]:
    """Every planned use of a supply, by time; what is in hand counts as used."""
    room, hatches = outlook.room, outlook.feeding.hatches
    found = cyst_uses(room, hatches)
    for number, batch in enumerate(hatches.batches):
        jar = None if batch.held else jar_ml(room, hatches, number)
        if jar is not None:
            salt_g = jar / 1000.0 * batch.vessel.salinity_g_per_l
            found.append(Use("salt", room.at_hour(batch.harvest_h), salt_g))
        if not batch.standing:
            salt_g = batch.vessel.litres * batch.vessel.salinity_g_per_l
            found.append(Use("salt", room.at_hour(batch.set_h), salt_g))
    for plan in outlook.feeding.worms.values():
        for split in plan.splits:
            feeding = outlook.feedings[split.at_index]
            item = room.medium_of(split.culture.kind.name)
            found.append(Use(item, feeding.at, split.culture.bought_g))
    for feeding, row in zip(outlook.feedings, outlook.lines, strict=True):
        grams = weighed_dry_g(room.tools, feeding, row)
        if grams > 0:
            found.append(Use(DRY, feeding.at, grams))
    for feeding, served in zip(outlook.feedings, outlook.feeding.servings, strict=True):
        out_j = sum(serving.dry_out_j for serving in served)
        if out_j > 0.0:
            found.append(Use(DRY, feeding.at, out_j / dry_j_per_g()))
    return sorted(found, key=lambda use: (use.at, use.item))


def cyst_uses(room: Room, hatches: HatchPlan) -> list[Use]:
    """Cysts that are set, and those that the tin does not hold, by time."""
    found = [
        Use("cysts", room.at_hour(b.set_h), b.cysts_g) for b in hatches.batches if not b.standing
    ]
    found += [Use("cysts", room.at_hour(at_h), grams) for at_h, grams in hatches.tin_short]
    return sorted(found, key=lambda use: use.at)


def purchase(
    uses_of_item: Sequence[Use], stock: float | None, feedings: Sequence[Round], now: datetime,
    fetch: timedelta, units: str = "metric", told: Buy | None = None,
    parcels: Sequence[tuple[datetime, float]] = (),
) -> Purchase | None:  # fmt: skip
    """What is to be bought of a supply that runs out, and when; None while it lasts.

    The one answer of every screen: a task, a remedy, the shopping list. It is to be had so long
    after it is bought. A time that was ``told`` stands while it is the earlier one, by a week at
    most, and its day once it is over; an amount, while it is near what is wanted now.

    Args:
        parcels: from when on what was ordered is there [g], by time. What lacks before one that
            comes within a week, or hardly later than anything that is bought now, is not to be
            bought; before a later one, what lacks until then, or what the later ones leave open of
            what is to last, so that one purchase does for both.
    """
    if stock is None:
        return None
    out = _runs_out(uses_of_item, stock, parcels, _waited_until(now, fetch, told))
    if out is None:
        return None
    ends = feedings[-1].at if feedings else out
    come = stock + sum(grams for at, grams in parcels if at <= out)
    wanted = _wanted(uses_of_item, come, now, out, ends)
    later = next((at for at, _ in parcels if at > out), None)
    if later is not None:
        until = sum(use.grams for use in uses_of_item if use.at < later)
        open_g = wanted - sum(grams for at, grams in parcels if at > out)
        wanted = min(wanted, max(0.0, until - come, open_g))
    found = Purchase(packed_g(wanted, units), _buy_at(feedings, now, out - fetch, out), out)
    if told is not None:
        found = _as_told(found, told, feedings, now, late=out - fetch < now)
    return evolve(found, weeks=_LASTS / timedelta(days=7) * found.grams / max(wanted, 0.1))


def _waited_until(now: datetime, fetch: timedelta, told: Buy | None) -> datetime:
    """By when a parcel is to come that is waited for, rather than that something is bought.

    What was told to be bought before one stands until what is bought comes no sooner: else it were
    told on one day and not to be bought on the next.
    """
    until = now + max(_WAITED, fetch + _WAITED_AFTER)
    return until if told is None else min(until, max(now, told.at) + fetch)


def _as_told(
    found: Purchase, told: Buy, feedings: Sequence[Round], now: datetime, *, late: bool
) -> Purchase:
    """A purchase as it was told, where that stands.

    Args:
        late: it comes too late by now.
    """
    if _LESS * told.grams <= found.grams <= _MORE * told.grams:
        found = evolve(found, grams=told.grams)
    first = told.by
    sooner = first < found.at.date() or (told.due is None and told.at < found.at)
    if not sooner or (found.at.date() > first + _STANDS and not late):
        return found
    there = [r.at for r in feedings if r.keeper and r.at >= now]
    in_time = [at for at in there if at.date() <= first]
    as_said = [at for at in in_time if told.due is None and at <= told.at]
    if in_time:
        return evolve(found, at=as_said[-1] if as_said else in_time[-1])
    if first == found.at.date():
        return found
    return evolve(found, at=next(iter(there), found.at), due=first)


def dry_wanting(gaps: Sequence[Gap], servings: Served, units: str) -> tuple[float, float]:
    """How much dry food would be given at the rounds of some gaps and is not there [g], as it is
    packed; and how much of what is missing it would take away [J].
    """
    short_j = {gap.key: gap.short_j for gap in gaps}
    out_j = {
        (i, s.need.brood.name): s.dry_out_j
        for i in {index for index, _ in short_j} for s in servings[i]
    }  # fmt: skip
    grams = packed_g(sum(out_j.values()) / dry_j_per_g(), units)
    return grams, sum(min(missing, out_j[key]) for key, missing in short_j.items())


def packed_g(wanted_g: float, units: str = "metric") -> float:
    """What is bought where so much is wanted [g]: no less, and no finer than anybody sells it.

    Examples:
        >>> packed_g(63.1), packed_g(1234.0), round(packed_g(63.1, "us") / OUNCE_G, 6)
        (75.0, 1500.0, 3.0)
    """
    return next(grams for grams in _sold_g(units) if grams >= wanted_g * (1.0 - 1e-6))


def _sold_g(units: str) -> Iterator[float]:
    """What things are sold in, ascending [g]."""
    tens = (digits * 10.0**n for n in count(1) for digits in _DIGITS)
    yield from _GRAMS
    if units != "us":
        yield from tens
    yield from takewhile(lambda grams: grams < OUNCE_G, tens)
    yield from (ounces * OUNCE_G for ounces in _OUNCES)
    yield from (pounds * 10.0**n * POUND_G for n in count() for pounds in _POUNDS)


def stocks(outlook: Outlook) -> dict[str, float]:
    """What is in stock now, where the room file or the journal says so [g]."""
    held = dict(outlook.room.stock_g)
    if outlook.room.vessels:
        held["cysts"] = outlook.room.cysts.grams if outlook.room.cysts is not None else 0.0
    return held


def supply_uses(outlook: Outlook) -> tuple[SupplyUse, ...]:
    """Use by week within the shown time, stock now, and the day by which to buy."""
    result = []
    every, held = uses(outlook), stocks(outlook)
    orders = outlook.room.orders
    for item in sorted({use.item for use in every} | {order.item for order in orders}):
        weeks = [0.0] * math.ceil((outlook.until - outlook.now) / timedelta(days=7))
        for use in every:
            if use.item == item and use.at < outlook.until:
                weeks[max(0, int((use.at - outlook.now) / timedelta(days=7)))] += use.grams
        found = _bought(outlook, item, every)
        mine = [order for order in orders if order.item == item]
        result.append(
            SupplyUse(
                item=item,
                weeks_g=tuple(weeks),
                stock_g=held.get(item),
                buy_by=(found.due or found.at.date()) if found is not None else None,
                out=found.out.date() if found is not None else None,
                on_order_g=sum(order.grams for order in mine if not order.late),
                arrives=min((o.day for o in mine if o.day and not o.late), default=None),
                overdue_g=sum(order.grams for order in mine if order.late),
            )
        )
    return tuple(result)


def supply_tasks(outlook: Outlook) -> Iterator[Task]:
    """A task for each supply that runs out within the shown time, in time to get more."""
    every = uses(outlook)
    for item in stocks(outlook):
        found = _bought(outlook, item, every)
        if found is None:
            continue
        out = found.out
        yield Buy(
            id=f"buy/{BRINE_SHRIMP}_cysts" if item == "cysts" else f"buy/{item}",
            at=found.at,
            until=max(out, found.at + SHORT),
            subject=supply_name(item),
            item=item,
            grams=found.grams,
            why=(
                f"What is left runs out on {when(out)}; {number_text(found.grams, 4)} g last about"
                f" {many(max(1, round(found.weeks)), 'week')} at that rate."
            ),
            due=found.due,
        )


def arrival_tasks(outlook: Outlook) -> Iterator[Task]:
    """A task for each order on the day on which it is to come, and a question once that is over."""
    room = outlook.room
    there = rounds_there(outlook)
    now = min([outlook.now, *(r.at for r in there[:1])])
    for order in room.orders:
        if order.day is None and not order.late:
            continue
        day = now.date() if order.late else order.last_day
        ahead = (r.at for r in there if r.at >= now and r.at.date() >= day)
        at = next(ahead, max(outlook.now, room.local(day, room.awake[0])))
        yield Arrival(
            id=order.key, at=at, until=at + SHORT, subject=supply_name(order.item),
            item=order.item, grams=order.grams, why=order.how_noted,
            due=order.last_day if order.late else None,
        )  # fmt: skip


def cysts_to_buy(outlook: Outlook) -> Purchase | None:
    """What is to be bought of cysts; None while they last."""
    return _bought(outlook, "cysts", cyst_uses(outlook.room, outlook.feeding.hatches))


def dry_to_buy(outlook: Outlook) -> Purchase | None:
    """The same of dry food."""
    return _bought(outlook, DRY, uses(outlook))


def supply_name(item: str) -> str:
    """How a supply is called on every screen."""
    names = {"cysts": "brine shrimp cysts", DRY: "dry food", MEDIUM: "dry medium"}
    return names.get(item, item.replace("_", " "))


def _runs_out(
    uses_of_item: Sequence[Use], stock: float, parcels: Sequence[tuple[datetime, float]],
    had: datetime,
) -> datetime | None:  # fmt: skip
    """The first use that the stock, and what comes by then, does not cover.

    Args:
        had: nothing is bought for before a parcel that is to come by then, and what lacked is not
            owed.
    """
    there = Draining(stock, parcels)
    for use in uses_of_item:
        there.left_g = there.at(use.at) - use.grams
        if there.left_g < -1e-6 and not there.next_by(had):
            return use.at
    return None


def _wanted(
    uses_of_item: Sequence[Use], stock: float, start: datetime, out: datetime, ends: datetime
) -> float:
    """What four weeks want at the rate before running out, less what is still left then.

    The rate is that of the last two weeks up to that day, since what comes after it may still
    change when the plan looks further; where it runs out sooner, that of the first two weeks.

    Args:
        ends: the last moment that is planned.
    """
    since = max(start, out - _RATE_OVER)
    end = max(out + timedelta(days=1), min(since + _RATE_OVER, ends))
    used = sum(use.grams for use in uses_of_item if since <= use.at < end)
    before = sum(use.grams for use in uses_of_item if use.at < out)
    return max(0.0, used * (_LASTS / (end - since)) - max(0.0, stock - before))


def _bought(outlook: Outlook, item: str, every: Sequence[Use]) -> Purchase | None:
    """What is to be bought of an item, among the uses of whatever supplies.

    Of an order without a day nothing is counted on, nor asked for. For one that is a few days late
    nobody goes out while it may come; what is to be bought later is bought in time without it.
    """
    room, there, stock = outlook.room, rounds_there(outlook), stocks(outlook).get(item)
    mine = [use for use in every if use.item == item]
    parcels = [(room.at_hour(at_h), grams) for at_h, grams in room.parcels(item)]
    begun = [r for r in there[:1] if r.at < outlook.feedings[0].at]
    now = min([outlook.now, *(r.at for r in begun)])

    def bought(hoped: Iterable[Order]) -> Purchase | None:
        held = None if stock is None else stock + sum(order.grams for order in hoped)
        return purchase(
            mine, held, [*begun, *outlook.feedings], now, room.fetched_in(item), room.units,
            room.to_buy.get(item), parcels,
        )  # fmt: skip

    hoped = room.waits_for(item)
    late = [order for order in hoped if order.late]
    found = bought(order for order in hoped if not order.late)
    in_grace = found is not None and any(found.at.date() <= order.lost_on for order in late)
    return bought(hoped) if in_grace else found


def _buy_at(feedings: Sequence[Round], now: datetime, before: datetime, out: datetime) -> datetime:
    """A round well before a moment at which the keeper is there, or the next there is: who is away
    until after what is left runs out buys on coming back.
    """
    present = [r.at for r in feedings if r.keeper]
    early = [at for at in present if at <= before]
    ahead = [at for at in present if at >= now]
    return early[-1] if early else (ahead[0] if ahead and now <= out else max(now, out))
