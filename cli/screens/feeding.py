"""Who is fed what at a round: the tanks in the order of the walk, and what all get together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cli.screens.text import columns
from cultures.foods.food import DRY
from cultures.planning.preparation import dose_phrase, live_foods
from cultures.tasks.task import Feed
from cultures.tasks.told import FeedLine
from cultures.words.quantities import dose, food_name, grams
from cultures.words.tasks import Figure, Phrase, plain, soaked_ml


def feed_table(lines: Sequence[FeedLine], units: str = "metric", *, total: bool = False) -> str:
    """Tank by tank, in the order of the room, one column for each food.

    ``total`` adds a last row with what all tanks get together: what the cups hold.
    """
    foods = live_foods(lines)
    rows = [["tank", "brood", *food_heads(foods, lines)]]
    for tank, brood, given in feed_rows(lines, foods):
        cells = (plain(dose_phrase(x, lines, units)) if x is not None else "-" for x in given)
        rows.append([tank, brood, *cells])
    if total and len(rows) > 2:
        rows.append(["", "in all", *(plain(in_all(lines, food, units)) for food in foods)])
    return columns(rows, right=range(2, 2 + len(foods)), head=True)


def feed_rows(
    lines: Sequence[FeedLine], foods: Sequence[str]
) -> Iterator[tuple[str, str, list[FeedLine | None]]]:
    """Tank, brood, and of each food its line, None where none is given."""
    given = {(x.tank, x.brood, x.food): x for x in lines if x.amount > 0}
    for tank, brood in dict.fromkeys((x.tank, x.brood) for x in lines):
        yield tank, brood, [given.get((tank, brood, food)) for food in foods]


def food_heads(foods: Sequence[str], lines: Sequence[FeedLine]) -> list[str]:
    """The heads of the columns of foods; dry food is given as it was soaked."""
    dry_g = sum(line.amount for line in lines if line.food == DRY)
    soaked = ", soaked" if dry_g > 0 and soaked_ml(dry_g, dry_g) is not None else ""
    return [food_name(food) + (soaked if food == DRY else "") for food in foods]


def in_all(lines: Sequence[FeedLine], food: str, units: str, feed: Feed | None = None) -> Phrase:
    """What all tanks get of a food together, as the task of the round has it."""
    feed_id = feed.id if feed is not None else ""
    mine = [line for line in lines if line.food == food]
    whole = round(sum(line.amount for line in mine), 6)
    if mine[0].unit == "mL":
        key = f"{food}_fed_ml" if feed is not None and food in feed.fed_ml else f"{food}_ml"
        return (Figure(dose(whole, "mL", units), whole, f"{feed_id}#{key}"),)
    weighed = Figure(grams(whole, units), whole, f"{feed_id}#dry_g")
    water = soaked_ml(whole, whole, units)
    if water is None:
        return (weighed,)
    wet = Figure(dose(water, "mL", units), water, f"{feed_id}#soak_ml")
    return (wet,) if units == "us" else (wet, " (", weighed, ")")
