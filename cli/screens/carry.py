"""What ``livefood carry`` prints."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from cli.screens.text import block, bullets, columns, joined, screen_width, wrapped
from cultures.limits import most
from cultures.planning.brood_trials import MOST_LOOK
from cultures.planning.carry import Carried, Carry, Crowded, Wish, crowded
from cultures.room.room import Brood, Room
from cultures.words.moments import day_text, month_day
from cultures.words.quantities import (
    celsius,
    food_name,
    food_words,
    in_units,
    litres,
    many,
    number,
    percent,
)
from cultures.words.text import listed

#: A narrower screen has no columns.
_TABLE = 76
#: A smaller share of what a brood eats is not named.
_LEAST_EATEN = 0.01
#: By the day of spawning, from when the tank is too small, if it is.
_Full = Mapping[date, Crowded | None]
_LIMITS = {
    "away": "nobody to feed", "mouth": "no food so small", "meagre": "foods too small",
    "learning": "dry food not learnt", "no vessel": "no vessel", "cold": "vessels too cold",
    "tin": "cysts", "early": "no hatch ripe yet", "absent": "nobody to set hatches",
    "vessels": "vessels", "uneven": "hatches",
    "given": "what the helper gives",
}  # fmt: skip


def carry_json(carry: Carry, wishes: Sequence[Wish], weeks: Sequence[Carried]) -> dict[str, Any]:
    """For other programs."""
    brood = weeks[0].brood if weeks else None
    return {
        "class": brood.fry_class.name if brood else None, "tank": brood.tank if brood else None,
        "warning": brood.fry_class.warn_temperature(carry.room.tank(brood.tank).temperature_c)
        if brood else None,
        "tried_up_to": most("carried"), "planned": [b.name for b in carry.hoped],
        "unlikely": [b.name for b in carry.unlikely], "wishes": [wish.to_json() for wish in wishes],
        "weeks": [
            {**week.to_json(), "crowded_from": full.day.isoformat() if full else None}
            for week in weeks for full in (crowded(carry.room, week),)
        ],
    }  # fmt: skip


def screen(
    carry: Carry, words: str | None, wishes: Sequence[Wish], weeks: Sequence[Carried]
) -> str:
    """The wishes, and what is left of them week by week.

    Args:
        words: the class as it was typed, to ask for a plan with; None where none can be asked.
    """
    room = carry.room
    told = [_wish(wish, room.units) for wish in wishes]
    parts = [block("WISHES, added one after the other", bullets(told))]
    parts.append(planned_words(carry.hoped, carry.unlikely))
    if weeks:
        full = {week.brood.anchor_date: crowded(room, week) for week in weeks}
        parts += [
            _answer(room, weeks, left=bool(wishes)), _table(room, weeks, full),
            _crowding(room, weeks, full), _first_eaten(weeks, room.units),
            _tin(weeks, room.units), _how(words, weeks),
        ]  # fmt: skip
    return joined(parts)


def planned_words(hoped: Sequence[Brood], unlikely: Sequence[Brood]) -> str:
    """The spawnings that are planned: which of them are in it."""
    told = []
    if hoped:
        told.append(f"Planned spawns come first, as if they were certain: {_names(hoped)}.")
    if unlikely:
        told.append(f"Too unlikely to count: {_names(unlikely)}.")
    return wrapped(" ".join(told)) if told else ""


def verdict(wish: Wish, room: Room, if_what: str = "") -> str:
    """Whether all of a brood is fed, how long that was looked at, and what is missing first."""
    found, units = wish.carried, room.units
    count = number(wish.wanted)
    if wish.fed:
        said = f"All {count} would be fed in full {fed_until(found)}{if_what}."
        ends = _ends(found.tin_out, units) if found.tin_out is not None else ""
        eaten = f"They {_eaten(found.given_j)}" if found.given_j else ""
        return " ".join(part for part in (said, eaten, ends) if part)
    assert found.gap is not None
    since, cause = day_text(found.gap.feeding.at, units), in_units(wish.trial.cause, units)
    if found.other is not None:
        whom = f"{found.other} would go short because of them"
    else:
        share = percent(wish.missing)
        if wish.nearly_fed:
            said = f"All {count} would be fed, but for {share} of their need{if_what}."
            return f"{said} It is first missing on {since}: {cause}. Looked at {fed_until(found)}."
        whom = f"{share} of their need would be missing"
    said = f"NOT ENOUGH for {count} fry: {whom}, first on {since}: {cause}."
    return f"{said} Looked at {fed_until(found)}."


def _eaten(given_j: Mapping[str, float]) -> str:
    """What a brood lives on, most first: often not on what it would best."""
    total_j = sum(given_j.values())
    ordered = sorted(given_j, key=lambda food: (-given_j[food], food))
    shares = [
        f"{percent(given_j[food] / total_j)} {food_words(food)}" for food in ordered
        if given_j[food] >= _LEAST_EATEN * total_j
    ]  # fmt: skip
    return f"would live on {listed(shares)}."


def _first_eaten(weeks: Sequence[Carried], units: str) -> str:
    """The same of the first brood of which any is fed, and when that spawns."""
    week = next((week for week in weeks if week.largest and week.given_j), None)
    if week is None:
        return ""
    day = month_day(week.brood.anchor_date, units)
    return wrapped(f"The {number(week.largest)} spawned on {day} {_eaten(week.given_j)}")


def _ends(out: datetime, units: str, more: str = "") -> str:
    day = f"{day_text(out, units)}{more}"
    return f"The cysts run out on {day}: from then on other foods take the place of nauplii."


def _tin(weeks: Sequence[Carried], units: str) -> str:
    """When the tin runs out before the broods are through, where that is not what limits them."""
    ends = [
        week.tin_out for week in weeks if week.tin_out is not None and week.largest
        and not (week.limited is not None and week.limited.limit == "tin")
    ]  # fmt: skip
    more = " at the soonest" if len({out.date() for out in ends}) > 1 else ""
    return wrapped(_ends(min(ends), units, more)) if ends else ""


def fed_until(found: Carried) -> str:
    """How long a brood is looked at."""
    days = (found.until.date() - found.first_food).days
    if found.weaned:
        return f"until they can live on dry food, for {days} days"
    outgrown = ": then they have outgrown all that they get here" if days < MOST_LOOK.days else ""
    return f"for {days} days{outgrown}"


def _names(broods: Sequence[Brood]) -> str:
    return ", ".join(f"{brood.name} in {brood.tank}" for brood in broods)


def _wish(wish: Wish, units: str) -> str:
    if wish.fed:
        out = wish.trial.tin_out
        ends = f"; the cysts run out on {day_text(out, units)}" if out is not None else ""
        return f"{wish.text}: fed{ends}."
    found = wish.carried
    some = f"only {number(found.largest)} of them fed" if found.largest else "not fed"
    then = "not all of it in any week looked at"
    if wish.from_day is not None:
        then = f"all of it if spawned on {day_text(wish.from_day, units)}"
    return f"{wish.text}: {some}, for want of {_limit(found, units)}; {then}."


def _answer(room: Room, weeks: Sequence[Carried], *, left: bool) -> str:
    brood = weeks[0].brood
    degrees = celsius(room.tank(brood.tank).temperature_c, room.units)
    what = f"{brood.fry_class.label}, in {brood.tank} at {degrees}"
    sizes = [week.largest for week in weeks]
    beside = "alongside what is here" + (" and wished for" if left else "")
    if max(sizes) == 0:
        text = f"no brood can be fed {beside}, in {many(len(weeks), 'week')}"
    elif all(week.limited is None for week in weeks):
        text = f"food for {number(min(sizes))} fry and more {beside}, in every week"
    else:
        best = next(week for week in weeks if week.largest == max(sizes))
        ends = [number(size) for size in dict.fromkeys((min(sizes), max(sizes)))]
        on = day_text(best.brood.anchor_date, room.units)
        text = f"food for {' to '.join(ends)} fry {beside}; most if spawned on {on}"
    return "\n".join([wrapped(f"{what}: {text}."), *_warm(room, brood)])


def _warm(room: Room, brood: Brood) -> list[str]:
    """What is wrong with the temperature of the tank for such fry."""
    degrees = room.tank(brood.tank).temperature_c
    warning = brood.fry_class.warn_temperature(degrees)
    return [wrapped(in_units(f"At {degrees:.3g} °C: {warning}.", room.units))] if warning else []


def _crowding(room: Room, weeks: Sequence[Carried], full: _Full) -> str:
    """That the tank does not bear so many for so long, and which would."""
    found = next(((w, at) for w in weeks if (at := full[w.brood.anchor_date])), None)
    if found is None:
        return ""
    week, at = found
    size = litres(room.tank(week.brood.tank).litres, room.units)
    text = (
        f"{week.brood.tank} ({size}) is too small for {number(week.largest)} of them from"
        f" {day_text(at.day, room.units)} on: thin out, move them, or change water more often."
    )
    if at.roomier is not None:
        text += f" {at.roomier.name} ({litres(at.roomier.litres, room.units)}) would bear them."
    return wrapped(text)


def _table(room: Room, weeks: Sequence[Carried], full: _Full) -> str:
    rows = [["spawned", "first food", "largest", "what limits it", "and with"]]
    units = room.units
    for week in weeks:
        gain = week.gain
        more = f"{in_units(gain.text, units)}: {number(gain.largest)}" if gain else ""
        size = number(week.largest) + ("+" if week.limited is None else " ")
        rows.append([month_day(week.brood.anchor_date, units), day_text(week.first_food, units),
                     size, _limit(week, units, full[week.brood.anchor_date]), more])  # fmt: skip
    if screen_width() >= _TABLE:
        return columns(rows, right=[2], head=True)
    return "\n".join(
        wrapped(f"{size.strip()} fry; {limit}{'; with ' + more if more else ''}", 10, f"  {day}:")
        for day, _, size, limit, more in rows[1:]
    )


def _limit(week: Carried, units: str, full: Crowded | None = None) -> str:
    """What limits, when first, and whom if not the brood itself; its tank where food does not."""
    if full is not None and week.limited is None:
        return f"the tank, {month_day(full.day, units)}"
    if week.limited is None or week.gap is None:
        return f"nothing up to {number(week.largest)}"
    word, food = week.limited.limit, food_name(week.gap.food)
    what = _LIMITS.get(word) or {
        "none": f"no {food} culture", "unripe": f"{food}s not ripe", "thin": f"{food}s",
    }[word]  # fmt: skip
    whom = f" ({week.other})" if week.other is not None else ""
    return f"{what}, {month_day(week.gap.feeding.at, units)}{whom}"


def _how(words: str | None, weeks: Sequence[Carried]) -> str:
    until = fed_until(weeks[0])
    parts = [f"Numbers of fry on the day of spawning; fed at every round {until}."]
    if any(week.other for week in weeks):
        parts.append("In brackets: who would go short.")
    if any(week.limited is None for week in weeks):
        parts.append(f"+: more than {number(most('carried'))} was not tried.")
    best = max(weeks, key=lambda week: week.largest).brood
    if best.count and words:
        text = f"spawn {shlex.quote(words)} {best.count:.0f} in {shlex.quote(best.tank)}"
        text += f" on {best.anchor_date}"
        parts.append(f'What it takes: livefood plan --if "{text}"')
    return "\n".join(wrapped(part) for part in parts)
