"""What cannot be: more taken, lost or counted than is there by all that is known.

The keeper may know better (a forgotten spawn, a culture that carries far more than the data
say), so these are doubts, not errors: each says what is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from cultures.foods.food import DRY
from cultures.foods.kinds import HatchKind
from cultures.journal.events import LEAVING, Entry, counts_none
from cultures.replay.meals import measured
from cultures.replay.stocks import CYSTS, MISWEIGHED_G
from cultures.replay.worms import Life
from cultures.room.room import Brood, Cysts, RunningHatch
from cultures.tasks.task import Feed
from cultures.tasks.told import ToldTask
from cultures.words.moments import spoken_day, spoken_when
from cultures.words.quantities import food_words, number
from cultures.words.tasks import wet_ml

#: A count by eye or by drops is seldom further off than this (assumption).
MISCOUNT = 1.5
#: Who counts the same fry again seldom finds more than so many times as many, and this number more:
#: fish are not added by a count, and the number may be another tank's (assumption).
_RECOUNT, _RECOUNTED = 1.1, 1.0
#: A count may be another brood's that is no smaller than this part of it (assumption).
_FITS = 0.75
#: Seldom do fewer than this part of the fry live without somebody seeing the dead: of a few fry and
#: of eggs that were guessed, and of many that were counted (common practice, no source). A brood
#: that is taken for a third of what it is gets a third of its food.
UNSEEN, UNSEEN_OF_MANY = 1 / 4, 1 / 3
#: Who notes a loss of so many that less than this part is left is asked: the same dead may be noted
#: already (assumption).
_NEARLY_NONE = 1 / 10
#: So many fry are not all gone between two looks without a word of it (assumption).
_MANY_LEFT = 10
#: What is noted of a food is rounded.
_ROUNDED = 0.001
#: So much is sold in one pack of what keepers buy; more than that, and than so many times what is
#: there or was wanted, is a slip of the pen or a number of something else (common practice, no
#: source) [g].
_PACK_G, _LARGE_PACK_G, _TIMES = {CYSTS: 500.0, DRY: 1000.0}, 25_000.0, 10.0
#: Less than this part of what was told, or of what cysts usually give, is another unit or a point
#: in the wrong place (assumption).
_FAR_LESS = 1 / 100
#: Units of one scale, and a point between thousands, are so far apart.
_THOUSAND = 1000.0
#: Entries that say that fish left, and the word for it.
_LEAVES = {"sold": "sold", "died": "dead", "lost": "lost", "move": "moved"}
#: Events that are not said of eggs as they are called.
_LAID = {"spawn": "spawned", "collected": "put aside", "wetted": "put in water"}
#: And of larvae.
_LARVAE = {"eggs_hatched": "hatched", "not_swimming": "not swimming"}


def most_nauplii(kind: HatchKind, cysts: Cysts | None, cysts_g: float) -> float:
    """More nauplii than a count of a hatch can show: the best cysts, miscounted."""
    own = cysts.nauplii_per_gram if cysts is not None else None
    best = max(kind.parameters["nauplii_per_gram"].high, own or 0.0)
    return MISCOUNT * best * cysts_g


def brood_doubt(
    entry: Entry, brood: Brood, at: datetime, *, eggs: bool = False,
    fed_since: date | None = None, dying: bool = False, counted: bool = False,
    others: Sequence[Brood] = (),
) -> str | None:  # fmt: skip
    """Why so many fry cannot be lost, moved or counted, or None.

    Args:
        eggs: what is known of it are its eggs, of which any number may not have hatched.
        fed_since: its first food, where its fry were fed and never counted.
        dying: losses have been noted since it was counted, or it starved. counted: that number is a
            count that was noted. others: broods of the room that the number may be meant of.
    """
    day = at.date()
    if entry.amount is None or day < brood.counted_on:
        return None
    fry = f"{entry.amount:,.0f} fry"
    there = brood.alive(day)
    verb = _LEAVES.get(entry.event)
    # The count has been lowered by what was sold or lost since, and is no count any more.
    left = f"about {there:,.0f} are left of those counted on {spoken_day(brood.counted_on, at)}"
    if verb is not None and entry.amount > brood.count + 0.5:
        return f"{fry} of {brood.name} cannot be {verb}: {left}"
    if entry.event in LEAVING and not eggs and _nearly_all(entry, brood.count, there):
        rest = (brood.count if entry.event == "sold" else there) - entry.amount
        leaves = f"about {rest:,.0f}" if rest >= 0.5 else "none"
        return (
            f"{fry} of {brood.name} {verb} would leave {leaves}: {left};"
            f" if all of them are gone: journal {entry.event} '{brood.name}' --all"
        )
    most = most_counted(brood, counted=counted)
    if entry.event in ("count", "free_swimming") and entry.amount > most + 0.5:
        return (
            f"{fry} of {brood.name} cannot be there: {left}, and fry do not multiply; up to"
            f" {most:,.0f} are taken as a miscount, and a new spawn is a brood of its own"
            f"{_meant(entry, others, day)}"
        )
    if counts_none(entry) and not eggs and there >= _MANY_LEFT:
        return (
            f"{fry} of {brood.name} would be the end of it: {left}; if they died or are gone:"
            f" journal lost '{brood.name}' --all"
        )
    many = fed_since is None and there - entry.amount >= _MANY_LEFT
    few = entry.event == "count" and entry.amount < (UNSEEN_OF_MANY if many else UNSEEN) * there
    if few and not eggs and not dying:
        why = (
            f"{left}, and no loss has been noted since"
            if fed_since is None
            else f"about {there:,.0f} are reckoned to live, fed since {spoken_day(fed_since, at)},"
            " and no loss has been noted"
        )
        return f"{fry} of {brood.name} can hardly be all that are left: {why}"
    return None


def most_counted(brood: Brood, *, counted: bool) -> float:
    """As many of a brood as a count can show, by what was counted or stated, and added since.

    Args:
        counted: by a count that was noted; else the number may be one of eggs, or a guess.
    """
    return _RECOUNT * brood.count + _RECOUNTED if counted else MISCOUNT * brood.count


def _meant(entry: Entry, others: Sequence[Brood], day: date) -> str:
    """Of which other brood a number may be, where it fits one alone; else ""."""
    count = entry.amount or 0.0
    fit = [
        b for b in others
        if _FITS * b.alive(day) <= count <= most_counted(b, counted=True) + 0.5
    ]  # fmt: skip
    if len(fit) != 1:
        return ""
    return f". It would fit {fit[0].name} in {fit[0].tank}"


def _nearly_all(entry: Entry, count: float, there: float) -> bool:
    """Whether a loss, which is not said to be of all, leaves nearly none of many fry.

    Args:
        count: of the brood, as it was counted. there: as many as are reckoned to live.
    """
    known = count if entry.event == "sold" else there
    left = known - (entry.amount or 0.0)
    return entry.other != "all" and known >= _MANY_LEFT and left < _NEARLY_NONE * known


def eggs_doubt(
    entry: Entry, brood: Brood, was: date, first: date | None, at: datetime
) -> str:  # fmt: skip
    """Why a brood that eats cannot be eggs.

    Args:
        was: when it first ate. first: when it would by the entry; None of eggs that wait.
    """
    then = "not be fed" if first is None else f"not be fed before {spoken_day(first, at)}"
    done = _LAID.get(entry.event) or _LARVAE.get(entry.event, entry.event)
    stage = "no fry yet" if entry.event in _LARVAE else "eggs"
    return (
        f"{brood.name} first ate on {spoken_day(was, at)}; {done}"
        f" on {spoken_day(at, at)} it would be {stage}, and {then}"
    )


def dose_doubt(entry: Entry, told: ToldTask) -> str | None:
    """Why a tank cannot have got so much, or hardly so little, of a food at a round, or None."""
    here = measured(told, entry.subject, entry.other, entry.unit)
    if little := far_less(entry, f"of {food_words(entry.other)} for {entry.subject}", here):
        return little
    most = _whole(entry, told)
    if most is None or (entry.amount or 0.0) <= most * (1.0 + _ROUNDED):
        return None
    told_so = f"{number(most)} g was told for all tanks"
    if entry.unit == "mL":
        told_so = f"the whole cup was told to be {number(most)} mL"
    return (
        f"{number(entry.amount or 0.0)} {entry.unit} of {food_words(entry.other)} cannot have gone"
        f" into {entry.subject}: {told_so}"
    )


def far_less(entry: Entry, what: str, told: float, known: str = "was told") -> str | None:
    """Why an amount looks like one of another unit, with what may be meant; None where it does not.

    Args:
        what: the amount is of. told: what was, in the unit of the entry; 0 where nothing was.
        known: how that is said.
    """
    noted, unit = entry.amount or 0.0, entry.unit
    if not 0.0 < noted < _FAR_LESS * told:
        return None
    meant = noted * _THOUSAND
    asked = f"; did you mean {number(meant)} {unit}?" if told / 4 <= meant <= told * 4 else ""
    return f"{number(noted)} {unit} {what}, where {number(told)} {unit} {known}{asked}"


def _whole(entry: Entry, told: ToldTask) -> float | None:
    """All that was told of the food of an entry, in its unit; None where that is not known."""
    task = told.task
    if not isinstance(task, Feed):
        return None
    if entry.other == DRY and not any(
        x.tank == entry.subject and x.food == DRY and x.amount > 0 for x in told.lines
    ):
        return None  # it came from elsewhere than the round's own
    if entry.other != DRY:
        return task.cups_ml.get(entry.other) if entry.unit == "mL" else None
    if entry.unit == "g":
        return task.dry_used_g or None
    dry = next((x for x in told.lines if x.food == DRY and x.amount > 0), None)
    water_ml = wet_ml(dry, told.lines) if dry is not None else None
    return task.dry_used_g * water_ml / dry.amount if dry is not None and water_ml else None


def stock_doubt(entry: Entry, left_g: float | None) -> str | None:
    """Why so much of a stock cannot have been used, or None.

    Args:
        left_g: of it by all that is known [g]; None where it was never said.
    """
    used_g, what = entry.amount or 0.0, entry.subject.replace("_", " ")
    if left_g is None or used_g <= left_g + MISWEIGHED_G:
        return None
    return f"by all that is known there are {number(left_g)} g of {what}, not {number(used_g)} g"


def purchase_doubt(entry: Entry, known_g: Iterable[float]) -> str | None:
    """Why so much of a stock looks like something else, or None.

    Args:
        known_g: amounts of it that are known: what is left, was told to be bought, is on order [g].
    """
    grams, most_g = entry.amount or 0.0, max(known_g, default=0.0)
    if grams <= max(_PACK_G.get(entry.subject, _LARGE_PACK_G), _TIMES * most_g):
        return None
    what = entry.subject.replace("_", " ")
    there = f", where {number(most_g)} g is the most that was there or wanted" if most_g else ""
    return f"{number(grams)} g of {what} at once{there}"


def worms_doubt(entry: Entry, life: Life, taken_mg: float, each_mg: float) -> str | None:
    """Why so many worms cannot come out of a culture, or None.

    Args:
        taken_mg: what the entry says was taken or stood on one swipe [mg]. each_mg: a worm [mg].
    """
    name, stock_mg = life.culture.name, life.state.stock_mg
    if entry.event == "split":
        starter_g = entry.amount or 0.0
        if starter_g > life.culture.medium_g:
            return (
                f"a starter of {starter_g:g} g cannot come from {name}, which is"
                f" {life.culture.medium_g:g} g in all"
            )
        return None
    if taken_mg <= stock_mg:
        return None
    if entry.event == "count" and entry.unit == "worms":
        stand = f"about {number(stock_mg / each_mg, 2)} stand in the whole culture"
        return f"{entry.amount:,.0f} worms cannot be in one swipe or draw of {name}: {stand}"
    return (
        f"{_mass(taken_mg)} of worms cannot be taken from {name}: about {_mass(stock_mg)} stand"
        " in it"
    )


def hatch_doubt(
    entry: Entry, hatch: RunningHatch, at: datetime, kind: HatchKind, cysts: Cysts | None,
    line: int = 0,
) -> str | None:  # fmt: skip
    """Why a vessel cannot be set or hold so many nauplii, or None.

    Args:
        line: of the journal, that noted the setting; 0 where none did.
    """
    if entry.event == "set":
        begun = hatch.set_at.astimezone(at.tzinfo)
        return (
            f"{hatch.vessel} holds a hatch of {hatch.cysts_g:.3g} g, set on"
            f" {spoken_when(begun, at)}: note first that it was drawn off"
            f" (journal harvest '{hatch.vessel}')"
            + (f"; if that setting is the mistake: journal undo --line {line}" if line else "")
        )
    most = most_nauplii(kind, cysts, hatch.cysts_g)
    if entry.amount is not None and entry.amount > most:
        return (
            f"{entry.amount:,.0f} nauplii cannot be in {hatch.vessel}: its {hatch.cysts_g:.3g} g"
            f" of cysts give {most:,.0f} at the very most"
        )
    usual = most_nauplii(kind, cysts, hatch.cysts_g) / MISCOUNT
    return far_less(entry, f"in {hatch.vessel}", usual, "are what its cysts give at best")


def cysts_doubt(set_g: float, litres: float, most_g: float, told_g: float) -> str | None:
    """Why so many more cysts than were told look like a slip of the pen, or None.

    Args:
        litres: of the vessel. most_g: more than so much is crowded in it [g].
    """
    tenth = set_g / 10.0
    crowded = set_g > max(most_g, told_g)
    slipped = told_g <= 2.0 * tenth <= 4.0 * told_g
    if not (crowded or slipped):
        return None
    most = f", and more than {number(most_g)} g is crowded in {litres:g} L" if crowded else ""
    meant = f"; did you mean {number(tenth)} g?" if slipped else ""
    return f"{number(set_g)} g of cysts, where {number(told_g)} g was told{most}{meant}"


def drawn_doubt(entry: Entry, drawn: datetime, line: int, at: datetime) -> str:
    """Why a vessel cannot be drawn off twice."""
    when = drawn.astimezone(at.tzinfo)
    undo = (
        f". If this is the count of that harvest: journal undo --line {line} first" if line else ""
    )
    return (
        f"{entry.subject} was drawn off on {spoken_when(when, at)} and not set since:"
        f" note first when it was set (journal set '{entry.subject}' GRAMS){undo}"
    )


def stale_doubt(vessel: str, ripe: datetime, keeps_h: float, at: datetime) -> str:
    """Why what is drawn off a vessel is no food.

    Args:
        ripe: when it would have given most. keeps_h: longest that nauplii keep past that [h].
    """
    return (
        f"{vessel} was ripe on {spoken_when(ripe, at)}, and nauplii are food for {keeps_h:g} h"
        f" after that at most: pour it out and wash the vessel (journal failed '{vessel}')"
    )


def _mass(mg: float) -> str:
    return f"{number(mg / 1000, 2)} g" if mg >= 1000 else f"{number(mg, 2)} mg"
