"""What ``livefood plan --if`` prints: the difference to the present plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from cli.screens.carry import planned_words, verdict
from cli.screens.shortfalls import shortfall_text, stops_text
from cli.screens.text import at_most, block, bullets, joined, moment_width, wrapped
from cultures.planning.carry import Wish
from cultures.planning.hopes import as_if_come, likely
from cultures.planning.shortfalls import UNMEASURED
from cultures.planning.supplies import supply_name
from cultures.planning.what_if import Difference
from cultures.room.room import Room
from cultures.tasks.plan import Shortfall
from cultures.tasks.task import SetHatch, Task
from cultures.words.moments import day_text, when
from cultures.words.quantities import food_name, food_words, grams, number
from cultures.words.tasks import task_text
from cultures.words.tools import Tools

#: More lines than this under a heading are only counted.
_MOST_LINES = 8

_Row = tuple[datetime, str]


def screen(
    room: Room, difference: Difference, spawned: Sequence[Wish] = (), *, risk: bool = False
) -> str:
    """The difference, tasks first, then what falls short, then the cost.

    Args:
        spawned: of each brood that is supposed, whether it is fed.
    """
    units = room.units
    added, dropped = (
        [(t.at, task_text(t, room.tools)) for t in tasks]
        for tasks in (difference.added, difference.dropped)
    )
    changes = [
        _listed("ALSO TO DO", added, units),
        _listed("NO LONGER TO DO", dropped, units),
        _listed("TO DO DIFFERENTLY", _moved(difference.moved, room.tools), units),
    ]
    before, after = difference.before.cost, difference.after.cost
    cost = (
        f"Hatches {number(before['hatches'])} -> {number(after['hatches'])}, cysts"
        f" {grams(before['cysts_g'], units)} -> {grams(after['cysts_g'], units)}, splits"
        f" {number(before['splits'])} -> {number(after['splits'])}."
    )
    return joined([
        f"IF {' AND '.join(difference.suppositions)}{_bought(difference.suppositions)}",
        *(changes if any(changes) else ["No task changes."]),
        _lasting(difference, units),
        block("WHETHER THEY WOULD BE FED", [_spawned(wish, room) for wish in spawned]),
        planned_words(likely(room), as_if_come(room).hoped) if spawned else "",
        _shortfalls(difference, units, risk=risk),
        cost,
    ])  # fmt: skip


def _spawned(wish: Wish, room: Room) -> str:
    brood = wish.carried.brood
    return wrapped(f"{brood.fry_class.label} in {brood.tank}: {verdict(wish, room)}", 4, "  - ")


def _bought(suppositions: Iterable[str]) -> str:
    """What a kind is bought as, where one is."""
    words = [text.split() for text in suppositions]
    if any(w[:1] == ["buy"] and "cysts" not in w for w in words):
        return "\n" + wrapped("What is bought is a starter, put on new medium; no ripe culture.")
    return ""


def _listed(title: str, rows: Iterable[_Row], units: str) -> str:
    """Rows by time under a heading, the later of many only counted."""
    width = moment_width(units)
    lines = [wrapped(text, width, f"  {when(at, units)}") for at, text in sorted(rows)]
    return block(title, at_most(lines, _MOST_LINES, "  and {} more"))


def _moved(pairs: Sequence[tuple[Task, Task]], tools: Tools) -> Iterable[_Row]:
    """Changed tasks; hatches that only change their vessel are told together."""
    vessels: dict[tuple[str, str], list[Task]] = {}
    for before, after in pairs:
        if _other_vessel_only(before, after):
            vessels.setdefault((before.subject, after.subject), []).append(after)
            continue
        now, was = task_text(after, tools), task_text(before, tools)
        how = [when(before.at, tools.units)] * (after.at != before.at) + [was] * (now != was)
        yield after.at, f"{now} (instead of {': '.join(how)})" if how else now
    for (old, new), tasks in vessels.items():
        many = f"{len(tasks)} hatches move" if len(tasks) > 1 else "1 hatch moves"
        yield min(t.at for t in tasks), f"{many} from {old} to {new}"


def _other_vessel_only(before: Task, after: Task) -> bool:
    if not (isinstance(before, SetHatch) and isinstance(after, SetHatch)):
        return False
    same = before.at == after.at and abs(before.cysts_g - after.cysts_g) < 1e-6
    return same and before.subject != after.subject


def _lasting(difference: Difference, units: str) -> str:
    """What supplies and foods last to, where that changes."""
    ways = {
        "stock": ("enough until", "enough beyond this plan"),
        "food": ("given until", "given to the end of this plan"),
        "short": ("short from", "never short"),
    }
    lines = []
    for found in difference.lasting():
        until, never = ways[found.what]
        name = supply_name(found.name) if found.what == "stock" else food_name(found.name)
        before, after = (
            never if day is None else f"{until} {day_text(day, units)}"
            for day in (found.before, found.after)
        )
        where = f" in {', '.join(found.tanks)}" if found.tanks else ""
        lines.append(f"{name}{where}: {after}; as things are, {before}")
    return block("HOW LONG THINGS LAST", bullets(lines))


def _shortfalls(difference: Difference, units: str, *, risk: bool) -> str:
    before, after = difference.before.shortfalls, difference.after.shortfalls
    told = stops_text(
        (s for s in difference.after.stops if s not in difference.before.stops), units
    )
    if not after:
        gone = " any more" if any(s.limit != UNMEASURED for s in before) else ""
        if told:
            return block(f"Nothing would fall short{gone} in energy, but:", told)
        thin = " and no margin would be thin" if risk else ""
        return f"Nothing would fall short{gone}{thin}."
    known = {_key(s): s for s in before}
    lines = []
    for shortfall in after:
        same = known.get(_key(shortfall))
        if same is not None and abs(same.short_j - shortfall.short_j) <= 0.01 * same.short_j:
            since = when(shortfall.at, units)
            lines += bullets([f"as now: {food_words(shortfall.food)} from {since}"])
        else:
            lines += shortfall_text(shortfall, units)
    return block("WOULD FALL SHORT", [*lines, *told])


def _key(shortfall: Shortfall) -> tuple[object, ...]:
    return shortfall.at, shortfall.food, shortfall.until
