"""A tin of cysts in doubt: what is said of it, and who goes short if it gives as little again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from attrs import frozen

from cultures.planning.outlook import Outlook
from cultures.planning.servings import falls_short
from cultures.planning.trials import Scene, Theatre, World, play
from cultures.room.room import PoorHatch, TinDoubt
from cultures.words.grouped import names
from cultures.words.moments import spoken_day, when
from cultures.words.quantities import number
from cultures.words.text import listed
from cultures.words.tools import CYSTS

#: A hatch of a pinch beside the others (common practice, no source).
_A_PINCH = "a pinch of it in a warm, lit glass of salt water"
#: What else can be wrong with hatches (common practice, no source).
_BOTTLES = "see to air, salt and heat of the bottles (unplug the heater before you reach in)"
#: So many tanks are named.
_MOST_NAMED = 8


@frozen
class GoesShort:
    """Who misses something that the plan gives, and at which round first."""

    at: datetime
    tanks: tuple[str, ...]


def tin_in_doubt(outlook: Outlook) -> str:
    """That hatch after hatch of the tin was poor, what to do and what falls short if the next ones
    are; "" where no more than one was. Worked out once.
    """
    doubt = outlook.room.tin_doubt
    if doubt is None or not doubt.serious:
        return ""
    if outlook.of_tin is None:
        outlook.of_tin = _words(outlook, doubt)
    return outlook.of_tin


def poor_hatch(outlook: Outlook) -> Iterator[str]:
    """That the last hatch was poor, of one alone, and what the plan makes of it."""
    doubt = outlook.room.tin_doubt
    if doubt is None or doubt.serious:
        return
    (hatch,) = doubt.hatches
    day = spoken_day(outlook.room.at_hour(hatch.at_h), outlook.now)
    much = "nothing" if hatch.per_gram <= 0.0 else f"{number(hatch.per_gram, 2)} nauplii a gram"
    yield (
        f"The last hatch gave {much} ({hatch.vessel}, {day}); the plan still counts on"
        f" {number(doubt.planned, 2)} a gram. Try {_A_PINCH} and count what comes; until then have"
        " other food ready."
    )


def _words(outlook: Outlook, doubt: TinDoubt) -> str:
    gave = listed([_of_hatch(outlook, hatch) for hatch in doubt.hatches])
    return (
        f"The tin of cysts is in doubt: its last {len(doubt.hatches)} hatches gave {gave}, and the"
        f" plan counts on {number(doubt.planned, 2)} a gram until you know better. Try {_A_PINCH}"
        f" at once and count what comes, {_BOTTLES}, and have other food ready: if the next hatches"
        f" give as little, {_if_as_little(outlook, doubt)}. The next hatch that you count says"
        " more."
    )


def _if_as_little(outlook: Outlook, doubt: TinDoubt) -> str:
    """What comes of it if the tin gives no more, and until when that lasts."""
    short = goes_short(outlook, doubt)
    if short is None:
        said = "worms and dry food take the place of nauplii as far as mouths allow"
    else:
        many_ = len(short.tanks) > _MOST_NAMED
        where = f"{len(short.tanks)} tanks" if many_ else names(short.tanks)
        said = f"nauplii are short from {when(short.at)} on in {where}"
    ordered = [order for order in outlook.room.orders if order.item == CYSTS]
    if not ordered:
        return f"{said}, and another tin is to be bought"
    parcels = outlook.room.tin.parcels
    there = outlook.room.at_hour(parcels[0][0]) - timedelta(days=1) if parcels else None
    day = f" ({spoken_day(there, outlook.now)})" if there is not None else ""
    return f"{said}; set of the cysts on order once they are there{day}"


def _of_hatch(outlook: Outlook, hatch: PoorHatch) -> str:
    much = "nothing" if hatch.per_gram <= 0.0 else f"{number(hatch.per_gram, 2)} nauplii a gram"
    return f"{much} ({hatch.vessel}, {spoken_day(outlook.room.at_hour(hatch.at_h), outlook.now)})"


def goes_short(outlook: Outlook, doubt: TinDoubt) -> GoesShort | None:
    """Who gets less than by the plan, by more than a shortfall takes, if all hatches of the tin
    give as little as its last ones and everything else what is planned; None where nobody does.
    """
    theatre = Theatre(outlook)
    planned = theatre.as_planned()
    poor = World(planned.factor, planned.gone, theatre.of_bad_tin(planned.hatches, doubt))
    homes = {brood.name: brood.tank for brood in outlook.room.every_brood}
    first: datetime | None = None
    tanks: dict[str, None] = {}
    for scene in theatre.scenes():
        usual, fewer = _fed(scene, planned), _fed(scene, poor)
        hit = [name for name in usual if falls_short(usual[name] - fewer[name], 1.0)]
        if hit and first is None:
            first = scene.at
        tanks |= dict.fromkeys(homes[name] for name in hit)
    order = [tank.name for tank in outlook.room.tanks]
    return None if first is None else GoesShort(first, tuple(sorted(tanks, key=order.index)))


def _fed(scene: Scene, world: World) -> dict[str, float]:
    """The share of its need that each brood gets at a round; the largest go without first."""
    played = play(scene, world)
    mouths = reversed(scene.mouths)
    return {mouth.brood: share for mouth, share in zip(mouths, played.fed, strict=True)}
