"""``livefood journal EVENT`` for broods: spawned, counted, measured, moved, sold, lost."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile
from typing import Any

import click
from attrs import evolve

from cli.completion import brood_names, tank_names
from cli.journal.amounts import dosed, dry_dosed, grams, typed, whole
from cli.journal.counts import DROPS, counted_total
from cli.journal.event import ROUND, Noting, event, sure_option
from cli.option_types import AHEAD, CHANCE, Ahead, Whole, number
from cli.options import UsageProblemError
from cultures.errors import RangeError, UnitError
from cultures.foods.food import DRY
from cultures.fry.classes import class_named, class_names
from cultures.fry.diet import takes_dry
from cultures.journal.events import LEAVING, LEFTOVERS, Entry
from cultures.needs.need import BroodCourse
from cultures.record.book import names_of, refuse_known
from cultures.room.room import Brood
from cultures.tasks.task import Feed
from cultures.words.moments import hours
from cultures.words.quantities import food_name, food_words, in_units
from cultures.words.tasks import wet_ml
from cultures.words.text import listed, spoken_name
from cultures.words.units import parse_quantity

#: A brood that may be new, and what must be known of it then.
_NEW = click.argument(
    "words", nargs=-1, required=True, metavar="BROOD", shell_complete=brood_names
)  # fmt: skip
_TANK = click.option(
    "--tank", metavar="NAME", shell_complete=tank_names, help="Where a new brood is."
)
_CLASS = click.option(
    "--class", "--species", "fry_class", metavar="CLASS",
    help="Its fry class or species (see 'livefood kinds').",
)  # fmt: skip
_COUNT = click.option(
    "--count", type=number(1, 1e6, whole=True), help="Eggs or fry, as far as known."
)
#: How many, where that is known.
_FRY = click.argument("fry", required=False)
_WHOLE = click.option("--all", "every", is_flag=True, help="The whole brood.")


@event("spawn", [], _NEW, _TANK, _CLASS, _COUNT, sure_option)
def spawn(noting: Noting, **told: Any) -> Entry:
    """BROOD was spawned: a new one with its tank and class, or a known one's date put right.

    \b
    Example: livefood journal spawn "danio 4" --tank A4
        --class egg_scatterer --count 80
    """
    return _new_or_known(noting, **told)


def _new_or_known(
    noting: Noting, words: tuple[str, ...], tank: str | None, fry_class: str | None,
    count: float | None,
) -> Entry:  # fmt: skip
    """Of a brood that is new, with its tank and class, or of one that is known.

    Raises:
        LivefoodError: something of a new one is missing or unknown.
    """
    brood, room, place = typed(words), noting.room, ""
    if brood not in names_of(room, "brood"):
        if not (tank and fry_class and count):
            raise UsageProblemError(
                f"{brood} is a new brood: give its tank, class and count (--tank, --class,"
                " --count), or name one that is there"
            )
        refuse_known(room, brood)
        noting.book.known(tank, ["tank"], room)
        known = class_named(fry_class, room.fry_classes)
        if known is None:
            names = sorted({*class_names(), *room.fry_classes})
            noting.book.must_know("fry class or species", fry_class, names)
        place = f"{tank} {known}"
    return noting.entry(place, count, "fry" if count else "", subject=brood)


@event("free_swimming", ["brood"], _FRY, sure_option)
def free_swimming(noting: Noting, fry: str | None) -> Entry:
    """BROOD swims: its first food is due; FRY is how many, if you can say.

    Example: livefood journal free_swimming "danio 4" 60
    """
    return _of_fry(noting, "", fry)


@event("not_swimming", ["brood"], sure_option)
def not_swimming(noting: Noting) -> Sequence[Entry]:
    """BROOD does not swim yet: it is not fed today, and asked about again tomorrow.

    What was told for it at a round of the day that is not noted yet is noted as not given.

    Example: livefood journal not_swimming "danio 4"
    """
    brood, found = noting.room.brood(noting.subject), noting.book.present(noting.book.now)
    alone = [b.name for b in noting.room.every_brood if b.tank == brood.tank] == [brood.name]
    day = noting.when.astimezone(noting.room.timezone).date()
    skipped = [
        noting.book.skipped(told, noting.when, brood.tank)
        for told in (*found.presumed, *found.in_hand)
        if alone and isinstance(told.task, Feed) and told.task.at.date() == day
        and told.task.id not in found.fates.answer
        and brood.tank not in found.fates.tanks.get(told.task.id, {})
        and any(line.brood == brood.name and line.amount > 0 for line in told.lines)
    ]  # fmt: skip
    return [noting.entry(), *skipped]


@event("eggs_hatched", ["brood"], _FRY, sure_option)
def eggs_hatched(noting: Noting, fry: str | None) -> Entry:
    """Eggs of BROOD hatched, on another day than was reckoned; FRY is how many, if known.

    Example: livefood journal eggs_hatched "danio 4" 60 --at "yesterday 18:00"
    """
    return _of_fry(noting, "", fry)


def _of_fry(noting: Noting, other: str, fry: str | None) -> Entry:
    """The entry with a number of fry, where one is given.

    Raises:
        RangeError: none left by it.
    """
    if not fry:
        return noting.entry(other)
    count = whole(fry, "fry")
    if count == 0 and noting.event in (*LEAVING, "move"):
        raise RangeError(f"0 fry of {noting.subject} are none: there is nothing to note")
    return noting.entry(other, count, "fry")


@event(
    "count", ["brood", "vessel", "culture", "stock"],
    click.argument("amount", nargs=-1, metavar="[NUMBER]"),
    click.option("--tray", is_flag=True, help="All worms of the culture, not those of a swipe."),
    *DROPS, sure_option,
)  # fmt: skip
def count_(noting: Noting, amount: tuple[str, ...], tray: bool = False, **drops: Any) -> Entry:
    """Fry of a brood, nauplii in a vessel, worms in one swipe, or what is left of a stock.

    A count sets what is there. Eggs that rest in peat are counted like fry.

    \b
    Examples:
      livefood journal count "danio 4" 55
      livefood journal count cysts 38 g
    """
    subject, room = noting.subject, noting.room
    if subject in names_of(room, "stock"):
        if not amount:
            raise UsageProblemError(f"say how much of {subject} is left, like '38 g'")
        return noting.entry("", grams(typed(amount), room.tools.g_per_ml.get(subject, 1.0)), "g")
    unit = "fry"
    if subject in names_of(room, "vessel"):
        unit = "nauplii"
    elif subject in names_of(room, "culture"):
        unit = "worms"
    total, other = counted_total(typed(amount) or None, unit, **drops)
    if unit == "worms" and not other:
        other = "tray" if tray else "swipe"
    return noting.entry(other, total, unit)


@event(
    "length", ["brood"],
    click.argument("length", nargs=-1, required=True),
    click.option("--fish", type=Whole(1, 10000), help="How many were measured."),
)  # fmt: skip
def length_(noting: Noting, length: tuple[str, ...], fish: int | None = None) -> Entry:
    """Fry of BROOD were measured, total length, the mean of some.

    Example: livefood journal length "danio 4" 6.5 mm --fish 5
    """
    value = parse_quantity(typed(length), "length", "mm")
    if not 1 <= value <= 500:
        wrong = f"{value:g} mm is not the length of a fry; use 1 to 500 mm"
        raise UnitError(in_units(wrong, noting.room.units))
    return noting.entry(f"{fish} fish" if fish else "", value, "mm")


@event("move", ["brood"], click.argument("tank", shell_complete=tank_names), _FRY, sure_option)
def move(noting: Noting, tank: str, fry: str | None) -> Entry:
    """BROOD moved to TANK, or FRY of it (which then are a brood of their own).

    Example: livefood journal move "danio 4" B2
    """
    place = noting.book.known(tank, ["tank"], noting.room)
    if any(b.name == noting.subject and b.tank == place for b in noting.room.every_brood):
        raise RangeError(f"{noting.subject} is in tank {place} already; name the tank it moved to")
    return _of_fry(noting, place, fry)


@event("merge", ["brood"], click.argument("other", shell_complete=brood_names))
def merge(noting: Noting, other: str) -> Entry:
    """BROOD and OTHER, of one kind and mixed in one tank, are one brood from now on.

    The younger of the two, or the smaller, stays, with the fry of both: food is chosen for the
    smallest mouths. Nothing else is known of it than of that one.

    Example: livefood journal merge "danio 4" "danio 5"
    """
    if noting.when < noting.book.now:
        raise UsageProblemError(
            "two broods are one from when it is noted on, since until then each was told its own"
            " food: leave out --at"
        )
    name = noting.book.known(other, ["brood"], noting.room)
    pair = [noting.room.brood(each) for each in (noting.subject, name)]
    one, two = pair
    if one.name == two.name:
        raise RangeError(f"{one.name} is one brood already; name the other one")
    if one.tank != two.tank:
        raise RangeError(
            f"{one.name} is in {one.tank} and {two.name} in {two.tank}: only broods of one tank are"
            " one; first note the move"
        )
    if one.fry_class.name != two.fry_class.name:
        raise RangeError(f"{one.name} and {two.name} are not of one kind, and stay apart")
    if any(each not in noting.room.broods for each in pair):
        raise RangeError(f"{one.name} and {two.name} are not both there yet")
    stays = min(reversed(pair), key=lambda each: _size(noting, each))
    goes = one if stays is two else two
    return noting.entry(stays.name, subject=goes.name)


def _size(noting: Noting, brood: Brood) -> tuple[float, float]:
    """How large the fry of a brood are, and how old [mm, h]; the smallest is the first."""
    course = BroodCourse.of(noting.room, brood)
    return course.length_mm(hours(noting.when)), -course.first_food_h


@event("lid", ["brood"])
def lid(noting: Noting) -> Entry:
    """A tight lid lies over BROOD.

    Example: livefood journal lid "danio 4"
    """
    return noting.entry()


@event("sorted", ["brood"])
def sorted_(noting: Noting) -> Entry:
    """BROOD was sorted by size; 'journal move' says that some of it went to another tank.

    Example: livefood journal sorted "danio 4"
    """
    return noting.entry()


@event(
    "sold", ["brood"], _FRY,
    click.option("--all", "every", is_flag=True, help="None of the brood are left."), sure_option,
)  # fmt: skip
def sold(noting: Noting, fry: str | None, every: bool = False) -> Entry:
    """FRY of BROOD were sold or given away; with --all none of it are left.

    Take care: never release fish outdoors.

    \b
    Examples:
      livefood journal sold "danio 4" 20
      livefood journal sold "danio 4" 31 --all
    """
    if not (fry or every):
        raise UsageProblemError("say how many were sold, and --all if none of the brood are left")
    return _of_fry(noting, "all" if every else "", fry)


@event("died", ["brood"], _FRY, _WHOLE, sure_option)
def died(noting: Noting, fry: str | None, every: bool = False) -> Entry:
    """FRY of BROOD were found dead.

    Example: livefood journal died "danio 4" 3
    """
    return _loss(noting, "died", fry, every=every)


@event("lost", ["brood"], _FRY, _WHOLE, sure_option)
def lost(noting: Noting, fry: str | None, every: bool = False) -> Entry:
    """FRY of BROOD are missing: eaten, out of the tank, nobody knows.

    Example: livefood journal lost "danio 4" 5
    """
    return _loss(noting, "were lost", fry, every=every)


def _loss(noting: Noting, verb: str, fry: str | None, *, every: bool) -> Entry:
    if bool(fry) == every:
        raise UsageProblemError(f"say how many {verb}, or --all")
    return _of_fry(noting, "all" if every else "", fry)


@event("collected", [], _NEW, _TANK, _CLASS, _COUNT, sure_option)
def collected(noting: Noting, **told: Any) -> Entry:
    """Eggs of BROOD were put aside in damp peat: no fry until they are wetted.

    \b
    Example: livefood journal collected "annuals 3" --tank B4
        --class annual_killifish --count 60
    """
    return _new_or_known(noting, **told)


@event(
    "wetted", ["brood"], _FRY,
    click.option("--on", "day", type=AHEAD, metavar="DAY", help="The day, if it is still to come."),
    sure_option,
)  # fmt: skip
def wetted(noting: Noting, fry: str | None, day: Ahead | None) -> Entry:
    """Eggs of BROOD were put in water, or will be on a day ahead; FRY is how many, if known.

    Example: livefood journal wetted "annuals 3" --on 2027-02-01
    """
    today = noting.when.date()
    on = today if day is None else day(today)
    return _of_fry(noting, "" if on == today else f"{on}", fry)


@event(
    "planned", [], _NEW,
    click.option(
        "--on", "day", type=AHEAD, required=True, metavar="DAY", help="When it is to spawn."
    ),
    click.option(
        "--chance", type=CHANCE, metavar="SHARE", help="How likely it is, like 0.7 or '70 %'."
    ),
    _TANK, _CLASS, _COUNT, sure_option,
)  # fmt: skip
def planned(noting: Noting, day: Ahead, chance: float | None, **told: Any) -> Entry:
    """BROOD is planned to spawn on a day ahead; 'journal spawn' says when it did.

    Cultures are started for it beforehand; hatches wait until it has spawned. 'journal drop' says
    that it is not to come.

    \b
    Example: livefood journal planned "danio 5" --on 2027-02-01 --tank A4
        --class egg_scatterer --count 80 --chance 0.6
    """
    entry, room = _new_or_known(noting, **told), noting.room
    on = day(noting.when.date())
    if on < noting.when.date():
        raise UsageProblemError(f"{on} is over; 'journal spawn' notes what has spawned")
    place = entry.other
    if not place:
        known = next(b for b in room.every_brood if b.name == entry.subject)
        place = f"{known.tank} {known.fry_class.name}"
    said = "" if chance is None else f" chance {chance:g}"
    return entry._replace(other=f"{place} on {on}{said}")


@event("drop", ["brood"])
def drop(noting: Noting) -> Entry:
    """A spawning of BROOD that was planned is not to come; nothing is prepared for it any more.

    Example: livefood journal drop "danio 5"
    """
    hoped = [b.name for b in noting.room.every_brood if b.anchor == "planned"]
    if noting.subject not in hoped:
        raise RangeError(
            f"{noting.subject} is there, not only planned; fry that are lost or given away are"
            f" noted with 'journal lost {noting.subject} --all'"
        )
    return noting.entry()


@event(
    "fed", ["tank"], click.argument("what", nargs=-1, metavar="[TANK]... [FOOD AMOUNT]"),
    sure_option,
)  # fmt: skip
def fed(noting: Noting, what: tuple[str, ...]) -> list[Entry]:
    """TANK got what was told for this round, or another AMOUNT of one FOOD; so each of several.

    round is every tank that eats at the round at that time and of which nothing is noted.

    What is noted of a tank holds for it alone: 'journal done' notes the others. One that got
    nothing is noted with 'journal skip TANK'. Where nothing was told for it, since nobody looked,
    there was nothing to give, or nobody was to be there, it says that somebody fed it.

    \b
    Examples:
      livefood journal fed B1
      livefood journal fed B1 nauplii 20 mL
      livefood journal fed B1 B2 --at "yesterday 12:00"
    """
    there = names_of(noting.room, "tank")
    tanks = [noting.subject, *takewhile(there.__contains__, what)]
    food = what[len(tanks) - 1 :]
    if noting.subject.lower() == ROUND and ROUND not in there:
        if what:
            raise UsageProblemError("what a tank got otherwise than told is noted of that tank")
        tanks = noting.book.unnoted_tanks(noting.when)
    return [_fed(evolve(noting, subject=tank), food) for tank in dict.fromkeys(tanks)]


def _fed(noting: Noting, what: tuple[str, ...]) -> Entry:
    """That one tank was fed, as told or otherwise.

    Raises:
        LivefoodError: nothing was told for it, or not that food.
    """
    book, day = noting.book, noting.when.date()
    room = book.state(book.now)  # which also knows of an absence that was noted since
    rounds = [room.local(day, at) for at in room.rounds_on(day)]
    away = room.away_at(min(rounds, key=lambda at: abs(at - noting.when)))
    nobody = away is not None and not away.helper
    alone = nobody and book.told_feeding(noting.subject, noting.when) is None
    visit = noting.when if alone else book.visit(noting.subject, noting.when)
    if visit is not None:
        if what:
            raise UsageProblemError(
                f"nothing was told for {noting.subject}"
                f" {'at a round at which nobody is there' if alone else 'at that round'}, so only"
                f" that it was fed is noted: 'journal fed {noting.again}', with --note for what it"
                " got"
            )
        return noting.entry()._replace(when=visit)
    told = book.feeding(noting.subject, noting.when)
    if not what:
        return noting.entry()
    foods = {x.food for x in told.lines if x.tank == noting.subject and x.amount > 0}
    asked = sorted(map(food_words, foods))
    foods |= {x.food for x in told.lines if x.food != DRY and x.amount > 0}  # of another's cup
    if food_words(typed(what)).startswith(f"{DRY} "):
        foods.add(DRY)  # which whoever minds the tanks has at hand
    called = {
        spoken_name(name): food for food in foods
        for name in (food, food_name(food), food_words(food))
    }  # fmt: skip
    text = spoken_name(typed(what))
    names = sorted(called, key=len, reverse=True)
    name = next((name for name in names if text.startswith(f"{name} ")), None)
    if name is None:
        raise UsageProblemError(
            f"say a food that was told for {noting.subject}, or made up for others, and how much of"
            f" it, like '{asked[0]} 5 mL' (or {', '.join(asked)}), or dry food by its weight"
        )
    amount, food = text[len(name) :].strip(), called[name]
    if food != DRY:
        return noting.entry(food, *dosed(amount))
    dry = [x for x in told.lines if x.tank == noting.subject and x.food == DRY]
    if not dry:
        _must_take_dry(noting)
    soaked = bool(dry) and all(wet_ml(x, told.lines) is not None for x in dry)
    return noting.entry(food, *dry_dosed(amount, noting.room.tools.g_per_ml[DRY], soaked=soaked))


def _must_take_dry(noting: Noting) -> None:
    """Refuses dry food as a meal of a tank whose fry take none yet.

    Raises:
        RangeError: no brood of it does.
    """
    at_h = hours(noting.when)
    mine = [b for b in noting.room.broods if b.tank == noting.subject]
    courses = [BroodCourse.of(noting.room, brood) for brood in mine]
    if not any(takes_dry(c.fry_class, c.length_mm(at_h)) for c in courses):
        names = listed([brood.name for brood in mine]) or "nothing"
        raise RangeError(
            f"{names} in {noting.subject} can take no dry food yet, so it is no meal: note how much"
            " they got of each food that was told, or that they got none"
            f" (journal skip '{noting.subject}')"
        )


@event("leftover", ["brood"], click.argument("much", type=click.Choice(LEFTOVERS)),
       completes=["tank", "brood"])  # fmt: skip
def leftover(noting: Noting, much: str) -> Entry:
    """What a tank left of its food: none, some or much. It is shown with the tank.

    Example: livefood journal leftover A3 some
    """
    return noting.entry(much)
