"""Remarks of a plan that are no task: too warm, too old, too much, or in another's place."""

from __future__ import annotations

import shlex
from collections.abc import Container, Iterable, Iterator, Sequence
from datetime import date, datetime, time, timedelta
from itertools import groupby

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import Vessel
from cultures.fry.bioenergetics import WELL_FED
from cultures.needs.meals import hunger_words, past_saving, saving_days, starving
from cultures.needs.need import BroodCourse, rounds_between
from cultures.planning.brood_tasks import count_due
from cultures.planning.changes import (
    BATH_CARE,
    bath_words,
    hatch_hours,
    slow_vessels,
    warm_words,
)
from cultures.planning.harvests import Batch
from cultures.planning.lone_foods import lone_foods
from cultures.planning.outlook import Outlook
from cultures.planning.servings import Serving, is_grown
from cultures.planning.shortfalls import Limits
from cultures.planning.supplies import Purchase, cysts_to_buy
from cultures.planning.tin import poor_hatch
from cultures.planning.water import water_warnings
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Room
from cultures.tasks.plan import OfCounting, OfWarmth, OfWater, Remark, Stop
from cultures.tasks.told import WEIGHED, FeedLine
from cultures.words.grouped import names
from cultures.words.moments import hours, spoken_day, when
from cultures.words.quantities import food_words, many
from cultures.words.text import listed
from cultures.words.tools import NEAR

#: A day ahead that was said of eggs is asked about for so long once it is over.
_ASKED_FOR = timedelta(days=7)
#: Water is looked at for so long ahead.
_WATER = timedelta(days=7)
#: A split within so long makes up for a culture that died.
_SPLIT_SOON = timedelta(days=2)
#: A round that begins so soon feeds them itself (common practice, no source).
_AT_HAND = timedelta(hours=1)
#: A part of a pinch more or less of dry food in a day is not worth a word, as a share of the need.
_TWISTED = 0.25
#: Doses are looked at for so long ahead.
_COARSE = timedelta(days=1)
#: A hatch on trial takes so long until it is counted, and is meant to give so many nauplii
#: (common practice, no source).
_TRIAL, _TRIAL_NAUPLII = timedelta(days=2), 20000
#: A food has stopped when it gives less than this share of the ideal for so many days on end, and
#: from when to when it gives less than half: that holds while the shares of single days do not.
_STOPPED_BELOW = 0.25
_STOPPED_DAYS = 2
_LITTLE_BELOW = 0.5
#: A culture of which nothing is taken for so long is left to grow (assumption).
LEFT_ALONE = timedelta(days=3)
#: So many tanks are named.
_MOST_NAMED = 12
#: A day with what is needed and given of a food on it [J].
_Day = tuple[str, float, float]
#: Where fry stand too cold or too warm is new for so long.
_FRESH = timedelta(days=2)
#: Cultures that develop at less than this share of their reference rate are remarked on.
_SLUGGISH = 0.15
#: So far above where they do best they stand too warm by any reading of a thermometer (assumption)
#: [°C].
_CLEARLY_C = 2.0
#: What cultures do where it does not suit them, of one and of several.
_SLOW, _WARM, _DYING = "hardly grows", "stands", "dies"
#: What to do about cultures in heat (common practice, no source).
_IN_HEAT = (
    ", and its medium sours sooner in heat. Put {them} on the floor or into the coolest room, and"
    " note how warm it is there: livefood journal temperature {name} DEGREES. Split {them} as soon"
    " as that is asked for, and keep a spare elsewhere."
)
_OF_SEVERAL = {_SLOW: "hardly grow", _WARM: "stand", _DYING: "die"}


def notes_of(outlook: Outlook, stops: Iterable[Stop]) -> tuple[Remark, ...]:
    """All remarks, the most pressing first; ``stops`` as :func:`stopped_foods` gives them."""
    room, now = outlook.room, outlook.now
    stops = [*stops]
    found: Iterable[Remark | str] = (
        *starving_broods(room, now),
        *overdue_first_food(outlook),
        *dying_cultures(room, now),
        *_of_fry(room, now, fresh=True),
        *(stop.note for stop in stops if stop.item),
        *room.notes,
        *_unconfirmed(room, now),
        *_first_food_away(outlook),
        *(stop.note for stop in stops if not stop.item),
        *_temperatures(room, now, {b.vessel.name for b in _hatches(outlook)}),
        *_of_fry(room, now, fresh=False),
        *lone_foods(room, now, outlook.until),
        *_last_ones(outlook),
        *_untried_cysts(outlook),
        *poor_hatch(outlook),
        *_coarse(outlook),
        *_water(outlook),
        *_grown(room, now),
        *_stale(room, now),
    )
    return tuple(Remark(note) if isinstance(note, str) else note for note in found)


def starving_broods(room: Room, now: datetime) -> Iterator[str]:
    """Broods that went short for so long that they are in danger; several in one remark."""
    found = endangered(room, now)
    if len(found) > 1:
        each = ", ".join(
            f"{course.brood.name} in {course.brood.tank} ({past_saving(course, hours(now))})"
            for course in found
        )
        yield (
            "Feed these first, little and often, and see how many still eat; they went short, and"
            f" without food half of them are past saving: {each}."
            f"{if_not_swimming(course.brood for course in found)}"
        )
    elif found:
        (course,) = found
        swim = if_not_swimming([course.brood])
        yield (
            f"Feed {course.brood.name} in {course.brood.tank} first, little and often, and see"
            f" how many still eat: {hunger_words(course, hours(now))}.{swim}"
        )


def if_not_swimming(broods: Iterable[Brood]) -> str:
    """What to note of broods that were reckoned to eat and have had nothing, where they do not swim
    yet, as a sentence after others; "" where all have eaten, or are known to swim.
    """
    mine = [
        brood.name for brood in broods
        if brood.fed.never and brood.anchor not in ("length", "free_swimming")
    ]  # fmt: skip
    if not mine:
        return ""
    lines = listed([f"livefood journal not_swimming {shlex.quote(name)}" for name in mine])
    return f" If they do not swim yet: {lines}."


def overdue_first_food(outlook: Outlook) -> Iterator[str]:
    """Broods that should eat and have been given nothing yet, with what is there for them; none
    whose round is at hand.
    """
    room, now = outlook.room, outlook.now
    first = next(((f.at, row) for f, row in zip(outlook.feedings, outlook.lines, strict=True)
                  if f.at > now), None)  # fmt: skip
    if first is None or first[0] - now <= _AT_HAND:
        return
    at, row = first
    for brood in room.broods:
        mine = [x for x in row if x.brood == brood.name and x.amount > 0]
        if not brood.fed.never or brood.anchor == "length" or not mine:
            continue
        course = BroodCourse.of(room, brood)
        if course.first_food_day() > now.date():  # they do not swim yet
            continue
        foods = " or ".join(food_words(food) for food in dict.fromkeys(x.food for x in mine))
        noted = shlex.quote(brood.tank)
        yield (
            f"{brood.name} in {brood.tank} have had nothing, and their first food was due on"
            f" {spoken_day(course.first_food_day(), now)}: feed them now, not only at the round of"
            f" {when(at)}. There is {foods}; then note 'journal fed {noted}'."
            f"{if_not_swimming([brood])}"
        )


def endangered(room: Room, now: datetime) -> list[BroodCourse]:
    """Those broods, the one with the least time first; none that first eats on a later day."""
    found = [
        course for brood in room.broods if brood.fed != WELL_FED
        and starving(course := BroodCourse.of(room, brood), hours(now))
        and not (brood.fed.never and course.first_food_day() > now.date())
    ]  # fmt: skip
    return sorted(found, key=lambda course: saving_days(course, hours(now)))


def _unconfirmed(room: Room, now: datetime) -> Iterator[str]:
    """Spawnings and wettings said of a day: it is today, or over, or nobody is there then."""
    today = now.date()
    for brood in room.broods:
        day = brood.anchor_date
        if brood.anchor != "wetted" or brood.seen:
            continue
        put = f"'journal wetted {brood.name}'"
        if room.as_of < day < today <= day + _ASKED_FOR:
            yield (
                f"{brood.name} is taken to have been in water since {spoken_day(day, now)},"
                f" the day that was set: note {put}, with --on DAY if it was another."
            )
        elif day >= today and room.away_on(day) is not None:
            yield (
                f"{brood.name} is to be put in water on {spoken_day(day, now)}, when you are away:"
                f" choose another day with {put} --on DAY."
            )
    for brood in room.hoped:
        if brood.anchor_date == now.date():
            yield (
                f"{brood.name} is planned to spawn today: note 'journal spawn {brood.name}' when"
                f" it did, or 'journal drop {brood.name}' when it is not to come."
            )
    for brood in room.waiting:
        if brood.anchor == "planned":
            yield (
                f"{brood.name} was to spawn on {spoken_day(brood.anchor_date, now)}: note 'journal"
                f" spawn {brood.name}' if it did, or 'journal drop {brood.name}'; until then it is"
                " not fed."
            )


def _first_food_away(outlook: Outlook) -> Iterator[str]:
    """Broods that first eat while nobody is there."""
    room, now = outlook.room, outlook.now
    for brood in (b for b in room.broods if b.anchor != "length"):  # those eat already
        course = BroodCourse.of(room, brood)
        day = course.first_food_day()
        away = room.away_on(day)
        rounds = rounds_between(room, room.local(day, time.min), room.local(day, time.max))
        if away is None or any(r.fed for r in rounds):
            continue
        if not now.date() <= day <= outlook.until.date():
            continue
        days = max(1, round(course.lives_unfed_days()))
        yield (
            f"{brood.name} in {brood.tank} first eats on {spoken_day(day, now)}, when"
            f" nobody is there to feed until {spoken_day(away.end, now)}: ask somebody to; without"
            f" food half of them are past saving after about {many(days, 'day')}."
        )


def _last_ones(outlook: Outlook) -> Iterator[str]:
    """Cultures that are the last of their kind since another died, and cannot be split soon."""
    room, now = outlook.room, outlook.now
    for name in sorted({*room.gone.values()} & {*outlook.feeding.worms}):
        left = [c for c in (*room.cultures, *room.coming) if c.kind.name == name]
        if len(left) != 1 or room.spare_cultures < 2:
            continue
        plan = outlook.feeding.worms[name]
        starts = [outlook.feedings[s.at_index].at for s in plan.splits]
        if starts and starts[0] < now + _SPLIT_SOON:
            continue
        until = f"before {spoken_day(starts[0], now)}" if starts else "in the time planned for"
        yield (
            f"{left[0].name} is the last {plan.kind.label} culture, and is not split {until}:"
            " should it die, none is left. A bought starter would make a second one."
        )


def _untried_cysts(outlook: Outlook) -> Iterator[str]:
    """A tin in the house that nobody counted, before anything of it is set: a hatch on trial while
    the vessels are free long enough, and else a pinch beside the first hatch.
    """
    room, cysts, hatches = outlook.room, outlook.room.cysts, outlook.feeding.hatches
    set_at = [b.set_h for b in hatches.batches if not b.standing]
    there = cysts is not None and cysts.grams > 0.0
    known = cysts is None or cysts.nauplii_per_gram is not None
    taken = len(set_at) < len(hatches.batches)
    if not there or known or taken or not set_at or room.away_on(outlook.now.date()):
        return
    if room.tin_doubt is not None:  # of which more is said
        return
    first = room.at_hour(min(set_at))
    if first - outlook.now >= _TRIAL:
        yield (
            f"Try the tin of cysts before {spoken_day(first, outlook.now)} (livefood hatch"
            f" --nauplii {_TRIAL_NAUPLII}); nobody has counted what it gives, old or damp cysts"
            " give less, and until then the vessels are free. Count a few drops of what hatches."
        )
    elif not room.given_up:
        yield (
            "Try a pinch of the tin of cysts in a warm, lit glass of salt water now; nobody has"
            " counted what it gives, old or damp cysts give less, and the first hatch is set on"
            f" {spoken_day(first, outlook.now)}. Count a few drops of what hatches of both."
        )


def _coarse(outlook: Outlook) -> Iterator[str]:
    """Doses of the coming day that the keeper's tools put off by more than a tenth of a need."""
    if not outlook.room.tools.stated:
        return
    tanks: dict[str, float] = {}
    found = [(tank, off, NEAR) for tank, off in _doses_off(outlook)]
    found += [(tank, off, _TWISTED) for tank, off in _twists_off(outlook)]
    for tank, off, bears in found:
        if off > bears + 1e-9:
            tanks[tank] = max(off, tanks.get(tank, 0.0))
    if tanks:
        yield (
            f"Doses are off by up to {max(tanks.values()):.0%} of the need in {', '.join(tanks)}:"
            " the syringe or scale of [tools] shows no finer steps; a finer one would help."
        )


def _doses_off(outlook: Outlook) -> Iterator[tuple[str, float]]:
    """By how much of a need each dose of the coming day is off, with its tank."""
    for serving, food, dose in _doses_ahead(outlook):
        if dose.amount > 0 and dose.way != WEIGHED:
            off_j = abs(dose.given_j - serving.dosed_j[food])
            yield serving.need.brood.tank, off_j / serving.need.energy_j


def _twists_off(outlook: Outlook) -> Iterator[tuple[str, float]]:
    """The same of what is weighed for each tank: in turn, so over the day; of grown fish never."""
    off_j: dict[str, float] = {}
    needs_j: dict[str, float] = {}
    for serving, food, dose in _doses_ahead(outlook):
        if dose.way == WEIGHED and not is_grown(serving.need):
            tank = serving.need.brood.tank
            off_j[tank] = off_j.get(tank, 0.0) + dose.given_j - serving.dosed_j[food]
            needs_j[tank] = needs_j.get(tank, 0.0) + serving.need.energy_j
    yield from ((tank, abs(more_j) / needs_j[tank]) for tank, more_j in off_j.items())


def _doses_ahead(outlook: Outlook) -> Iterator[tuple[Serving, str, FeedLine]]:
    """What is dosed in the coming day, with what it is to bring."""
    for servings, row in zip(outlook.feeding.servings, outlook.lines, strict=True):
        doses = {(x.brood, x.food): x for x in row}
        for serving in servings:
            if outlook.now <= serving.need.at < outlook.now + _COARSE:
                for food in serving.dosed_j:
                    dose = doses.get((serving.need.brood.name, food))
                    if dose is not None:
                        yield serving, food, dose


def stopped_foods(outlook: Outlook) -> Iterator[Stop]:
    """A food that stops, or nearly, while others take its place."""
    days: dict[str, list[_Day]] = {}
    for supply in outlook.supply():
        if supply.need_j > 0:
            days.setdefault(supply.food, []).append((supply.day, supply.need_j, supply.given_j))
    for food in sorted(days):
        coming = {c.kind.name for c in outlook.room.coming}
        if food == DRY or food in coming - {c.kind.name for c in outlook.room.cultures}:
            continue
        first, last = days[food][0][0], days[food][-1][0]
        for run in _spells(outlook, food, days[food]):
            stop = _stopped(outlook, food, run, begins=run[0][0] != first, ends=run[-1][0] != last)
            if stop is not None:
                yield stop


def _spells(outlook: Outlook, food: str, days: Iterable[_Day]) -> Iterator[list[_Day]]:
    """The days of the first spell almost without a food, and of the first for want of cysts.

    Days on which nobody feeds at all neither make a spell nor end one.
    """
    first_of = {r.at.date().isoformat(): r.index for r in reversed(outlook.feedings) if r.fed}
    limits = Limits(outlook.room, outlook.feeding, outlook.now)

    def lacks(of: _Day) -> str:
        day, need_j, given_j = of
        if given_j >= _LITTLE_BELOW * need_j:
            return ""
        return "tin" if limits.of_food(food, first_of[day]) == "tin" else "hardly"

    found: set[str] = set()
    for lack, spell in groupby((of for of in days if of[0] in first_of), lacks):
        run = [*spell]
        worst = groupby(given_j < _STOPPED_BELOW * need_j for _, need_j, given_j in run)
        longest = max((len([*same]) for stopped, same in worst if stopped), default=0)
        if lack and longest >= _STOPPED_DAYS and lack not in found:
            found.add(lack)
            yield run


def _stopped(
    outlook: Outlook, food: str, run: Sequence[_Day], *, begins: bool, ends: bool
) -> Stop | None:  # fmt: skip
    """What stops on the first of some days, or is not there yet, and why.

    Args:
        begins: there is a day before them. ends: it comes again after them.
    """
    day, last = run[0][0], run[-1][0]
    on = {of[0]: [r.index for r in outlook.feedings if r.at.date().isoformat() == of[0]]
          for of in run}  # fmt: skip
    every_index = [index for of_day in on.values() for index in of_day]
    first = outlook.feedings[on[day][0]].at
    name = "nauplii" if food == BRINE_SHRIMP else outlook.room.kinds[food].labels
    row = [line for index in on[day] for line in outlook.lines[index]]
    tanks = [*dict.fromkeys(x.tank for x in row if x.food == food and x.need_j > 0)]
    if not tanks:  # nobody feeds then, which is said elsewhere
        return None
    limits = Limits(outlook.room, outlook.feeding, outlook.now)
    worst = next((day for day, need_j, given_j in run if given_j < _STOPPED_BELOW * need_j), day)
    limit = limits.of_food(food, on[worst][0])
    cause = _cause(limits, limit, food, every_index)
    yet = not begins and limit == "unripe"
    until = f"to {spoken_day(date.fromisoformat(last), outlook.now)}" if ends else "on"
    when = "yet" if yet else f"from {spoken_day(first, outlook.now)} {until}"
    buys = _cysts_for(outlook, first) if food == BRINE_SHRIMP and limit == "tin" else None
    buy = _to_buy_words(outlook, buys)
    given = [x for x in row if x.food != food and x.given_j > 0.0 and x.tank in tanks]
    others = {x.tank for x in given}
    fed = {tank: [x for x in row if x.food == food and x.tank == tank] for tank in tanks}
    got = {
        tank for tank, mine in fed.items()
        if sum(x.given_j for x in mine) >= _STOPPED_BELOW * sum(x.need_j for x in mine)
    }  # fmt: skip
    stead, bare = [t for t in tanks if t in others], [t for t in tanks if t not in others | got]
    none = not stead and all(x.given_j <= 0.0 for x in row if x.food == food and x.tank in bare)
    little = sum(of[2] for of in run) < _STOPPED_BELOW * sum(of[1] for of in run)
    much = "No" if none else "Hardly any" if little else "Few"
    told = []
    if stead:
        foods = listed(sorted({food_words(x.food) for x in given}))
        told.append(
            f"{_in(stead, outlook.room)} as far as the mouths allow they get {foods} instead"
        )
    if bare:
        told.append(f"{_in(bare, outlook.room)} nothing takes their place")
    grows = _left_to_grow(outlook, food)
    what = f"{much} {name} {when}{buy}{grows} ({cause})"
    text = f"{what}{'; ' if told else ''}{', '.join(told)}."
    return Stop(
        food, text, "cysts" if buys else "", first.date(), at=first,
        until=outlook.feedings[every_index[-1]].at, rounds=len(every_index),
        need_j=sum(of[1] for of in run), given_j=sum(of[2] for of in run), tanks=tuple(tanks),
        cause=cause, grams=buys.grams if buys else 0.0,
        by=(buys.due or buys.at.date()) if buys else None, buy=buy,
        grows=grows,
    )  # fmt: skip


def _left_to_grow(outlook: Outlook, food: str) -> str:
    """Cultures of a kind that would give now and are left alone for days, since more is had of
    them later, and until when, after the worms that are scarce; "" where there are none.
    """
    worms = outlook.feeding.worms.get(food) if outlook.feeding is not None else None
    if worms is None:
        return ""
    first = dict[str, datetime]()
    for feeding, harvests in zip(outlook.feedings, worms.course.harvests, strict=False):
        for harvest in harvests:
            first.setdefault(harvest.culture, feeding.at)
    here = [c.name for c in outlook.room.cultures if worms.course.usable_from.get(c.name) == 0]
    told = [
        f"{name} grows until {spoken_day(first[name], outlook.now)}" for name in here
        if name in first and first[name] >= outlook.now + LEFT_ALONE
    ]  # fmt: skip
    return f": {listed(told)}" if told else ""


def _in(tanks: Sequence[str], room: Room) -> str:
    """In which tanks; of many in how many of those in which there are fry."""
    if len(tanks) <= _MOST_NAMED:
        return f"in {', '.join(tanks)}"
    every = {brood.tank for brood in room.broods}
    return "in all tanks" if every <= {*tanks} else f"in {len(tanks)} of {len(every)} tanks"


def _cause(limits: Limits, limit: str, food: str, indices: Sequence[int]) -> str:
    """What limits a food at some rounds; of cultures that ripen meanwhile, from when on too."""
    ripe = [i for i in indices if limits.of_food(food, i) != "unripe"]
    if limit != "unripe" or not ripe:
        return limits.words(limit, food, indices)
    label = limits.room.kinds[food].label
    since = when(limits.plan.feedings[ripe[0]].at)
    return f"no {label} culture is ripe before {since}, and what is then gives little at first"


def _cysts_for(outlook: Outlook, first: datetime) -> Purchase | None:
    """The cysts that are to be bought against what is short from a round on; None where that would
    be after it, since a parcel that is a few days late is waited for.
    """
    buys = cysts_to_buy(outlook)
    waits = any(order.late for order in outlook.room.waits_for("cysts"))
    return None if waits and buys is not None and buys.at >= first else buys


def _to_buy_words(outlook: Outlook, buys: Purchase | None) -> str:
    if buys is None:
        return ""
    return f": buy {buys.grams:g} g of cysts{buys.by_words(outlook.now)}"


def _hatches(outlook: Outlook) -> list[Batch]:
    """Hatches that stand or are to be set."""
    return [batch for batch in outlook.feeding.hatches.batches if not batch.held]


def vessels_to_mind(room: Room, used: Container[str] | None = None) -> Iterator[str]:
    """Vessels that stand too warm or too cold to hatch in, or to hatch in well.

    Args:
        used: names of those in which hatches stand or are to be set, of which alone the latter is
            said; None for all, and for those too in which hatches are only slow.
    """
    for vessel in room.vessels:
        kind, degrees = room.hatch_kind, vessel.temperature_c
        warning = kind.check_temperature(degrees)
        if warning is None and (used is None or vessel.name in used):
            warning = kind.warn_temperature(degrees)
            if warning is None and used is None and kind.is_slow(degrees):
                warning = _slow_words(room, vessel)
        if warning is not None:
            yield f"{vessel.name} at {degrees:.3g} °C: {warning}."


def _slow_words(room: Room, vessel: Vessel) -> str:
    """How long a hatch takes in a vessel, and how long in warm water."""
    warm = evolve(vessel, temperature_c=room.hatch_kind.warm_c)
    return (
        f"a hatch is at its best after about {hatch_hours(room, vessel):.0f} h there, and after"
        f" about {hatch_hours(room, warm):.0f} h in {bath_words(room)} ({BATH_CARE})"
    )


def _temperatures(room: Room, now: datetime, used: Container[str]) -> Iterator[str]:
    yield from vessels_to_mind(room, used)
    yield from (text for kind, text in _of_cultures(room, now) if kind != _DYING)


def _of_fry(room: Room, now: datetime, *, fresh: bool) -> Iterator[OfWarmth]:
    """Tanks that are too cold or too warm for their fry, those alike in one remark.

    Args:
        fresh: those of fry that stand so for a few days only, since a heater failed say; else all
            others.
    """
    since_h, alike = hours(now - _FRESH), dict[str, list[Brood]]()
    for brood in room.broods:
        degrees = room.tank(brood.tank).temperature_c
        warning = brood.fry_class.warn_temperature(degrees)
        log = brood.temperature_log
        if warning is not None and fresh == bool(log and log[-1][0] >= since_h):
            cold = degrees < brood.fry_class.values["t_min_c"]
            says = f"too {'cold' if cold else 'warm'} at {degrees:.3g} °C: {warning}"
            alike.setdefault(says, []).append(brood)
    for says, mine in alike.items():
        tanks = tuple(dict.fromkeys(brood.tank for brood in mine))
        if len(tanks) > 1:
            text = f"{many(len(tanks), 'tank')} {says} ({names(tanks)})."
        else:
            text = f"{tanks[0]} {says} ({names([brood.name for brood in mine])})."
        yield OfWarmth(text, tanks, says)


def late_hatches(room: Room, now: datetime) -> Iterator[str]:
    """Hatches that stand slow since it got colder about them of late, when they are ripe, and what
    hastens them.
    """
    slow, cold = slow_vessels(room), dict[str, str]()
    for hatch in room.hatches:
        vessel = next((v for v in slow if v.name == hatch.vessel), None)
        if vessel is None or hatch.aged_at is None or now - hatch.aged_at > _FRESH:
            continue
        model = vessel_model(room, vessel)
        before_h = hours(hatch.aged_at) - hours(hatch.set_at)
        if model.rate <= 0.0 or hatch.aged_h <= model.rate * before_h:  # still, or no colder
            continue
        ripe = room.at_hour(hatch.begun_h(model.rate) + model.best_hours())
        if ripe > now:
            cold[f"{vessel.name} at {vessel.temperature_c:.3g} °C"] = when(
                ripe.replace(minute=0, second=0, microsecond=0)
            )
    if cold:
        late = listed([f"{name}, at its best about {at}" for name, at in cold.items()])
        yield (
            f"Late since it got colder: {late}. Let it stand until it is told to be drawn off, or"
            f" {warm_words(room, slow)}. What is set meanwhile takes as long."
        )


def dying_cultures(room: Room, now: datetime) -> Iterator[str]:
    """Cultures that stand where they die."""
    return (text for what, text in _of_cultures(room, now) if what == _DYING)


def _of_cultures(room: Room, now: datetime) -> Iterator[tuple[str, str]]:
    """What to mind with where cultures stand, those of a kind that stand alike in one remark."""
    air, alike = room.room_temperature_c(now.date()), dict[tuple[str, str], list[str]]()
    for culture in room.cultures:
        degrees = air if culture.temperature_c is None else culture.temperature_c
        found = _warmth(culture.kind, degrees)
        if found is not None:
            alike.setdefault(found, []).append(culture.name)
    for (what, text), mine in alike.items():
        one = len(mine) == 1
        verb, name = what if one else _OF_SEVERAL[what], mine[0] if one else "NAME"
        them = "it" if one else "them"
        yield what, text.format(names=", ".join(mine), verb=verb, name=name, them=them)


def _warmth(kind: WormKind, degrees: float) -> tuple[str, str] | None:
    """What a kind does at a temperature that does not suit it, and the remark on that."""
    low, high = kind.best_c
    wrong = kind.check_temperature(degrees)
    if wrong is not None:
        return _DYING, (
            f"{{names}} at {degrees:.3g} °C: {wrong}. Move what lives, and note 'journal failed"
            " {name}' of what is dead: until then it counts as living, and does not grow."
        )
    heat = _IN_HEAT if degrees > high else "."
    best = f"{kind.label} does best between {low:.0f} and {high:.0f} °C{heat}"
    if kind.rate(degrees) < _SLUGGISH:
        return _SLOW, f"{{names}} at {degrees:.3g} °C {{verb}}: {best}"
    if degrees > high + _CLEARLY_C:
        return _WARM, f"{{names}} at {degrees:.3g} °C {{verb}} too warm: {best}"
    return None


def _water(outlook: Outlook) -> Iterator[OfWater]:
    """Days in the coming week on which a tank is fed more than its water bears."""
    soon = min(outlook.until, outlook.now + _WATER)
    homes = {brood.tank for brood in outlook.room.broods}
    # A day's food is that of all its rounds; of a tank that they have left nothing is said.
    lines = [line for line in outlook.room.fed_today if line.tank in homes]
    lines += [x for row in outlook.lines for x in row if outlook.now <= x.at < soon]
    for warning in water_warnings(outlook.room, lines):
        tank, since = warning.tank, spoken_day(warning.day, outlook.now)
        for found in warning.too_much:
            text = f"Tank {tank} from {since}: {found.text}"
            yield OfWater(text, tank, since, found.says, found.times)


def _grown(room: Room, now: datetime) -> Iterator[str]:
    grown = [
        f"{brood.name} ({length_mm:.2g} mm)" for brood in room.broods
        if (length_mm := BroodCourse.of(room, brood).length_mm(hours(now)))
        >= brood.fry_class.values["fry_until_mm"]
    ]  # fmt: skip
    if grown:
        yield (
            f"Past fry age, and so fed on dry food if it is among their foods: {', '.join(grown)}."
        )


def _stale(room: Room, now: datetime) -> Iterator[Remark]:
    due = {b.name: count_due(BroodCourse.of(room, b)) for b in room.broods}
    uncounted = sorted((n for n in due if now.date() > due[n]), key=due.__getitem__)
    if uncounted:
        yield OfCounting(
            f"{many(len(uncounted), 'brood')} not counted for two weeks or more:"
            f" {', '.join(uncounted)}."
        )
