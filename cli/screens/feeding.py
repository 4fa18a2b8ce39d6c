"""Who is fed what at a round: the tanks in the order of the walk, and what all get together."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from cli.screens.shortfalls import in_tanks
from cli.screens.text import table, wrapped
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.dates import growth_dates
from cultures.needs.need import BroodCourse
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import dose_phrase, jar_label, live_foods
from cultures.planning.telling import bare_needs
from cultures.planning.worm_course import first_harvest
from cultures.tasks.task import Feed
from cultures.tasks.told import LATE, Draw, FeedLine
from cultures.words.moments import hours, spoken_day, when
from cultures.words.quantities import food_name, number
from cultures.words.tasks import Figure, Phrase, by_tank, plain, wet_ml
from cultures.words.text import listed
from cultures.words.tools import USUAL, Tools

#: More tanks than these stand in two columns.
_MANY_TANKS = 20
#: So many broods that do not eat yet are named.
_MOST_FIRST = 3


def walk(lines: Sequence[FeedLine], tools: Tools = USUAL, *, total: bool = False) -> str:
    """Tank by tank, in the order of the room, one column for each food; of many tanks two side by
    side; a list where that is too wide.

    ``total`` adds a last row with what all tanks get together: what the cups hold.
    """
    heads, every = food_heads(lines), [*feed_rows(lines)]
    cells = [
        [plain(dose_phrase(x, lines, tools)) if x is not None else "-" for x in given]
        for _, _, given in every
    ]  # fmt: skip
    sums = [[*map(plain, totals(lines, tools))]] if total and len(every) > 1 else []

    def rows(named: Sequence[list[str]], in_all: list[str]) -> list[list[str]]:
        names = [*named, *(in_all for _ in sums)]
        return [[*name, *row] for name, row in zip(names, [*cells, *sums], strict=True)]

    # By their tank alone where that says enough.
    alone = Counter(tank for tank, _, _ in every)
    places = [[tank if alone[tank] == 1 else f"{tank} {brood}"] for tank, brood, _ in every]
    many = len(places) > _MANY_TANKS
    beside = _side_by_side(heads, rows(places, ["all"])) if many else None
    whole = [["tank", "brood", *heads], *rows([[t, b] for t, b, _ in every], ["", "in all"])]
    shown = beside or table(whole, right=range(2, len(heads) + 2), head=True)
    return shown or _as_list(heads, rows(places, ["in all"]))


def _as_list(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    heads = [head.replace("dry, soaked", "soaked dry food") for head in heads]

    def told(place: str, *cells: str) -> str:
        each = zip(heads, cells, strict=True)
        given = (f"{head} {cell}" for head, cell in each if cell != "-")
        return wrapped(", ".join(given), 6, f"  {place}: ")

    return "\n".join(told(*row) for row in rows)


def _side_by_side(heads: Sequence[str], rows: list[list[str]]) -> str | None:
    """Two halves of the tanks beside each other, each unit once at the head of its column; None
    where that is too wide.
    """
    heads = ["tank", *(head.replace("microworm", "micro- worm") for head in heads)]
    for i in range(1, len(heads)):
        split = [row[i].partition(" (")[0].rpartition(" ") for row in rows]
        measures = {unit for value, _, unit in split if value}
        if len(measures) == 1:
            heads[i] += f" {measures.pop()}"
            for row, (value, _, unit) in zip(rows, split, strict=True):
                row[i] = value or unit
    half = -(-len(rows) // 2)
    left, right = rows[:half], rows[half:]
    right += [[""] * len(heads)] * (half - len(right))
    n = len(heads)
    beside = [[*heads, "", *heads], *([*a, "", *b] for a, b in zip(left, right, strict=True))]
    numbers = [i for i in range(2 * n + 1) if i not in (0, n, n + 1)]
    return table(beside, right=numbers, head=True)


def lost_words(outlook: Outlook, at: datetime) -> list[str]:
    """The foods of a round in hand that are not there, and of worms who could give them."""
    found = []
    for food in outlook.room.lost_foods.get(at, ()):
        worms = food not in (DRY, BRINE_SHRIMP)
        name = f"{food_name(food)}s" if worms else food_name(food)
        text = f"no {name} at this round: what was planned for it is not there"
        plan = outlook.feeding.worms.get(food)
        here = {culture.name for culture in outlook.room.cultures}
        stages = [s for s in plan.stages if s.culture.name in here] if plan else []
        ripe = [s.culture.name for s in stages if first_harvest(s) == 0]
        found.append(f"{text}; {listed(ripe)} would give some" if ripe else text)
    return found


def bare_words(
    outlook: Outlook, at: datetime, tank: str | None = None, *, command: bool = True
) -> str:
    """Whose fry should eat at a round, or those of a tank, and have nothing; "" where all have.

    Args:
        command: say what to type if they were fed all the same.
    """
    told = outlook.told_round(at)
    if told is not None:
        noted = outlook.room.fed_tanks.get(told.task.id, {})
        given = {x.brood for x in told.lines if x.amount > 0 or x.skipped_g}
        names = {brood for brood, (need_j, _) in told.plates.items() if need_j > 0.0} - given
        mine = [b.tank for b in outlook.room.broods if b.name in names and b.tank not in noted]
    else:
        mine = [need.brood.tank for need in bare_needs(outlook) if need.at == at]
    tanks = [*dict.fromkeys(name for name in mine if tank in (None, name))]
    if not tanks:
        return ""
    soon = "now" if abs(at - outlook.now) < LATE else "then"
    unless = (
        f", unless you note after the round that they were fed (livefood journal fed {tanks[0]})"
    )
    return (
        f"the fry {in_tanks(tanks)} should eat {soon}, and there is nothing for them: they count as"
        f" unfed{unless if command else ''}{_stopgap(outlook, at)}"
    )


def _stopgap(outlook: Outlook, at: datetime) -> str:
    """The jars that are given up, of which some may still swim at a round, as a sentence more."""
    room, at_h, holding = outlook.room, hours(at), outlook.room.holding
    jars = [
        jar_label(Draw(h.vessel, h.harvested_at, None, 0.0), (), room.units)
        for h in room.given_up
        if at_h - hours(h.harvested_at) <= holding.may_swim_h(hours(h.harvested_at))
    ]  # fmt: skip
    if not jars:
        return ""
    return (
        f". Look into the jar of {listed(jars)}, which is too old to be counted on: sieve and rinse"
        " what still swims, and feed that"
    )


def overtaken_words(outlook: Outlook, at: datetime, tank: str | None = None) -> list[str]:
    """The broods of a round in hand, or of one tank, that need more or less than was told."""
    room, told = outlook.room, outlook.told_round(at)
    tanks = {brood.name: brood.tank for brood in room.broods}
    tanks |= {line.brood: line.tank for line in told.lines} if told is not None else {}
    after = next((r.at for r in outlook.feedings if r.fed and r.at > at), None)
    from_then = f"; they get it from {when(after, room.units)} on" if after else ""
    since = "these doses, by what is known now"

    def said(times: float) -> str:
        if not times:
            return "give nothing, they are gone"
        if math.isinf(times):
            return "nothing was told for them; give them some of what is in the cups"
        if times < 1.0:
            return f"give only about {times:.0%} of {since}"
        return f"they need about {number(times, 2)} times {since}{from_then}"

    return [
        f"{tanks[brood]} {brood}: {said(times)}"
        for brood, times in room.overtaken.get(at, {}).items() if tank in (None, tanks[brood])
    ]  # fmt: skip


def feed_rows(lines: Sequence[FeedLine]) -> Iterator[tuple[str, str, list[FeedLine | None]]]:
    """Tank, brood, and of each food its line, None where none is given; a row for each tank."""
    lines = by_tank(lines)
    foods = live_foods(lines)
    given = {(x.tank, x.brood, x.food): x for x in lines if x.amount > 0}
    for tank, brood in dict.fromkeys((x.tank, x.brood) for x in lines):
        yield tank, brood, [given.get((tank, brood, food)) for food in foods]


def food_heads(lines: Sequence[FeedLine]) -> list[str]:
    """The heads of the columns of foods; dry food is given as it was soaked."""
    dry = next((line for line in lines if line.food == DRY and line.amount > 0), None)
    soaked = ", soaked" if dry is not None and wet_ml(dry, lines) is not None else ""
    return [food_name(food) + (soaked if food == DRY else "") for food in live_foods(lines)]


def totals(lines: Sequence[FeedLine], tools: Tools, feed: Feed | None = None) -> list[Phrase]:
    """What all tanks get of each food together, as the task of the round has it."""
    return [_in_all(lines, food, tools, feed) for food in live_foods(lines)]


def _in_all(lines: Sequence[FeedLine], food: str, tools: Tools, feed: Feed | None) -> Phrase:
    feed_id = feed.id if feed is not None else ""
    mine = [line for line in lines if line.food == food]
    whole = round(sum(line.amount for line in mine), 6)
    if mine[0].unit == "mL":
        if feed is not None:
            whole = feed.fed_ml.get(food, feed.cups_ml[food])
        elif abs(tools.poured_ml(whole) - whole) > 1e-6:
            whole = math.ceil(whole)  # less than a mark stays in a cup of which drops are taken
        key = f"{food}_fed_ml" if feed is not None and food in feed.fed_ml else f"{food}_ml"
        return (Figure(tools.poured(whole).text, whole, f"{feed_id}#{key}"),)
    each = [wet_ml(line, lines) for line in mine]
    if None in each:
        return (Figure(tools.one(whole, DRY).text, whole, f"{feed_id}#dry_g"),)
    water = sum(ml for ml in each if ml is not None)
    return (Figure(tools.poured(water).text, water, f"{feed_id}#soak_ml"),)


def first_meals(outlook: Outlook, tank: str | None = None) -> str:
    """When the broods that do not eat yet first do, and when their eggs hatch; "" for none.

    Args:
        tank: only those in it.
    """
    room, now = outlook.room, outlook.now
    courses = [BroodCourse.of(room, b) for b in room.broods if tank in (None, b.tank)]
    ahead = [course for course in courses if room.at_hour(course.fed_since_h()) > now]
    ahead.sort(key=lambda course: course.fed_since_h())
    said = [f"{_named(c)} on {_day_of(c.first_food_day(), outlook)}{_hatch(c, outlook)}"
            for c in ahead[:_MOST_FIRST]]  # fmt: skip
    more = len(ahead) - len(said)
    rest = [f"{more} more later"] if more else []
    return f"First food for {listed([*said, *rest])}." if said else ""


def _named(course: BroodCourse) -> str:
    return f"{course.brood.name} in {course.brood.tank}"


def _day_of(day: date, outlook: Outlook) -> str:
    return spoken_day(day, outlook.now, outlook.room.units)


def _hatch(course: BroodCourse, outlook: Outlook) -> str:
    """On which day eggs hatch, in brackets, where that lies ahead."""
    ends = course.first_food_day() + timedelta(days=1)
    dates = growth_dates(course, outlook.now.date(), ends)
    found = next((each.day for each in dates if each.what == "hatching"), None)
    return "" if found is None else f" (they hatch on {_day_of(found, outlook)})"
