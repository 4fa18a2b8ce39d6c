"""What ``livefood year`` prints: a row for each brood and each food, a column a week."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from attrs import evolve

from cli.screens.as_json import picked
from cli.screens.brood import in_brackets
from cli.screens.need import amount_text
from cli.screens.text import block, bullets, joined, screen_width, wrapped
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.food_units import natural_amount
from cultures.planning.year import BroodYear, FoodYear, Load, Stage, Year, away_in
from cultures.tasks.task import as_json, tidy
from cultures.words.moments import spoken_day
from cultures.words.quantities import food_name, many
from cultures.words.text import cut, listed

#: The letter of each stage, and what it is called.
LETTERS: dict[Stage, tuple[str, str]] = {
    "eggs": ("o", "eggs"), "first_food": ("f", "first food"), "nauplii": ("n", "nauplii"),
    "weaning": ("w", "weaning"), "grow_out": ("g", "grow-out"), "can_go": (">", "can go"),
}  # fmt: skip
_AWAY = {"": " ", "helper": "h", "away": "a"}
#: So many broods are drawn; of more, those with most of their year ahead.
MOST_BROODS = 18
#: So many stretches that ask too much are told, and so many broods of each.
_STRETCHES, _EATERS = 4, 3
_LEAST_SHARE = 0.05
#: So many of those that can go next are told.
_NEXT = 3
_WEEK, _TO_SUNDAY = timedelta(days=7), timedelta(days=6)
#: From so many times the dry food on it is said what those ask for that are kept.
_KEPT = 1.1


def screen(year: Year) -> str:
    """The whole page, at most about forty lines."""
    table = _Table(year)
    title = wrapped(
        f"{year.room.name}: the year from {_day(year.weeks[0], year)}, "
        + ("a column a week." if table.step == 1 else f"a column for {table.step} weeks.")
    )
    shown, older = table.split()
    return joined([
        title,
        "\n".join([table.months(), *map(table.brood, shown), *table.absences(),
                   *map(table.food, year.foods)]),
        "\n".join([*_legend(year), *(wrapped(text, 2, "  ") for text in besides(year, older))]),
        block("TOO MUCH", bullets(too_much(year))) or wrapped(
            enough(year) if year.foods else "Nothing here needs live food."),
    ])  # fmt: skip


def enough(year: Year) -> str:
    """That bottles and cultures can give all; of the tin, which is bought, others say that."""
    text = "At no time do the broods need more than the room's bottles and cultures can give."
    if any(food.food == BRINE_SHRIMP for food in year.foods):
        text += " How far the tin of cysts goes: livefood shortfalls."
    return text


class _Table:
    """Rows of the page, fitted to the screen."""

    def __init__(self, year: Year) -> None:
        width = screen_width()
        self.year, self.step = year, 1 if width >= len(year.weeks) + 22 else 2
        columns = -(-len(year.weeks) // self.step)
        self.label = width - columns - 2
        mondays = year.weeks[:: self.step]
        self.columns = [(monday, monday + self.step * _WEEK) for monday in mondays]

    def split(self) -> tuple[Sequence[BroodYear], Sequence[BroodYear]]:
        """The broods that are drawn, and those that there is no room for."""
        late = sorted(self.year.broods, key=lambda b: b.end)[-MOST_BROODS:]
        return ([b for b in self.year.broods if b in late],
                [b for b in self.year.broods if b not in late])  # fmt: skip

    def row(self, label: str, mark: Callable[[date, date], str]) -> str:
        marks = "".join(mark(*column) for column in self.columns)
        return f"{cut(label, self.label):<{self.label}} {marks}".rstrip()

    def months(self) -> str:
        """The name of each month over the column in which it begins."""
        names = {
            i: f"{end - timedelta(days=1):%b}"[: 3 if self.step == 1 else 1]
            for i, (start, end) in enumerate(self.columns)
            if (end - timedelta(days=1)).day <= (end - start).days or i == 0
        }
        # The rest of a month in which the year begins may be too short for its whole name.
        second = min((i for i in names if i > 0), default=len(self.columns))
        if second <= len(names[0]):
            names[0] = names[0][: second - 1]
        line = ""
        for i, name in names.items():
            if i <= len(self.columns) - len(name):
                line = line.ljust(i) + name
        return " " * (self.label + 1) + line

    def brood(self, brood: BroodYear) -> str:
        """Its stages; a planned one with a question mark behind its name."""
        tank = f" {brood.tank}"
        room = self.label - len(tank)
        name = cut(f"{brood.name}{'?' if brood.planned else ''}", room)

        def mark(start: date, end: date) -> str:
            stage = brood.stage(start, end)
            return LETTERS[stage][0] if stage else " "

        return self.row(f"{name:<{room}}{tank}", mark)

    def absences(self) -> Iterator[str]:
        """One row, where there are any."""
        room = self.year.room
        row = self.row("away", lambda start, end: _AWAY[away_in(room, start, end)])
        if row != "away":
            yield row

    def food(self, food: FoodYear) -> str:
        """Its load in tenths of what the room can give."""

        def mark(start: date, end: date) -> str:
            loads = [load for load in food.loads if start <= load.week < end]
            if any(load.too_much for load in loads):
                return "!"
            share = max(load.share for load in loads)
            return " " if share <= 0 else "." if share < 0.1 else str(min(9, int(10 * share)))

        return self.row(food_name(food.food), mark)


def _legend(year: Year) -> list[str]:
    used = {span.stage for brood in year.broods for span in brood.spans}
    signs = [f"{sign} {name}" for stage, (sign, name) in LETTERS.items() if stage in used]
    signs += ["? still to spawn"] * bool(year.planned)
    some = " (at some rounds of a week)" * any(a.is_exact for a in year.room.away)
    away = f"Away{some}: a nobody is there, h a helper feeds."
    tenths = "Foods: tenths of what the room can give a day, ! more than it can."
    lines = [f"{', '.join(signs)}." * bool(signs), away * bool(year.room.away),
             tenths * bool(year.foods)]  # fmt: skip
    return [wrapped(line, 2, "  ") for line in lines if line]


def besides(year: Year, older: Sequence[BroodYear] = ()) -> Iterator[str]:
    """What is not drawn; ``older`` broods, of which there is no room for a row."""
    if older:
        names = ", ".join(brood.name for brood in older[:4])
        more = f" and {len(older) - 4} more" if len(older) > 4 else ""
        yield f"Worked out but not drawn: {names}{more}; --out draws all."
    if year.room.waiting:
        names = ", ".join(brood.name for brood in year.room.waiting)
        yield f"Left out, as there are no fry yet: {names}."
    sales = sorted(
        (b.sale.day, b.name, b.sale) for b in year.broods
        if b.sale is not None and year.now.date() <= b.sale.day < year.end
    )[:_NEXT]  # fmt: skip
    if sales:
        each = (
            f"{name} on {_day(on, year)}{in_brackets(sale, year.room.units)}"
            for on, name, sale in sales
        )
        yield f"Next to go: {', '.join(each)}."
    if year.dry_total_j > 0:
        most, week = max(zip(year.dry_j, year.weeks, strict=True))
        total, heaviest = (_amount(year, DRY, j) for j in (year.dry_total_j, most))
        yield (
            f"Dry food: {total} in all by the ideal diet, at most {heaviest} a day (week of"
            f" {_day(week, year)}){_kept_longer(year)}. What live food lacks comes on top."
        )


def _kept_longer(year: Year) -> str:
    """What dry food it takes where no brood goes on its day, as a plan has it."""
    if year.dry_kept_j < _KEPT * year.dry_soon_j:
        return ""
    kept, until = _amount(year, DRY, year.dry_kept_j), year.planned_to - timedelta(days=1)
    return (
        f", with each brood gone on its day; if none goes, {kept} up to {_day(until, year)} alone,"
        " as 'livefood plan' has it"
    )


def too_much(year: Year) -> list[str]:
    """Whom no food of the room fits, then each stretch that asks for more than the room can give:
    how much, whose, and what helps.
    """
    runs = [(food, run) for food in year.foods for run in food.too_much()]
    runs.sort(key=lambda pair: pair[1][0].week)
    told = [_stretch(year, food, run) for food, run in runs[:_STRETCHES]]
    more = len(runs) - len(told)
    return [*_bare(year), *told, *([f"And {many(more, 'time')} more, later."] if more else [])]


def _bare(year: Year) -> list[str]:
    """Broods of which no food of the room fits the mouth, the first ones first."""
    rows = sorted((days, name) for name, days in year.bare.items())
    told = [
        f"{name}, {_day(first, year)} to {_day(last, year)}: no food of the room fits its mouth, so"
        " it would starve (what could be kept for it: livefood ready)."
        for (first, last), name in rows[:_STRETCHES]
    ]
    more = len(rows) - len(told)
    return [*told, *([f"So it is with {many(more, 'more brood')}, later."] if more else [])]


def _stretch(year: Year, food: FoodYear, run: Sequence[Load]) -> str:
    """Some weeks that ask for more of a food than the room can give: by how much, and by whom."""
    none = [load for load in run if load.gives_j <= 0]
    some = [load for load in run if load.gives_j > 0]
    first, last = run[0].week, run[-1].week + _TO_SUNDAY
    said = f"{food_name(food.food)}, {_day(first, year)} to {_day(last, year)}: "
    if none:
        worst = max(none, key=lambda load: load.need_j)
        until = f"until {_day(none[-1].week + _TO_SUNDAY, year)} " if some else ""
        said += (
            f"{until}nothing in the room gives it; up to {_amount(year, food.food, worst.need_j)}"
            f" a day is needed{_eaten_by(worst)}"
        )
    if some:
        worst = max(some, key=lambda load: (load.share, load.need_j))
        asked, gives = (_amount(year, food.food, j) for j in (worst.need_j, worst.gives_j))
        said += (
            f"{'; from then on ' if none else ''}up to {worst.share:.1f} times what the room can"
            f" give, {asked} a day when {gives} is all there is{_eaten_by(worst)}"
            f"{_planned(year, worst, sorted(worst.by, key=lambda name: -worst.by[name]))}"
        )
    return f"{said}. {_short(year, run)}"


def _eaten_by(load: Load) -> str:
    """Who asks for most of it, in brackets with a space before them."""
    eaters = sorted(load.by.items(), key=lambda item: -item[1])
    names = [
        f"{name} {energy_j / load.need_j:.0%}" for name, energy_j in eaters[:_EATERS]
        if energy_j >= _LEAST_SHARE * load.need_j
    ]  # fmt: skip
    return f" ({', '.join(names)})"


def _short(year: Year, run: Sequence[Load]) -> str:
    """Who would go short, or that other foods take the place of this one; of days that the plan
    covers where it says so.
    """
    later = [load for load in run if load.day >= year.planned_to]
    if len(later) == len(run):
        return _short_later(year, run)
    until = f"Who goes short until {_day(year.planned_to, year)}: see 'livefood shortfalls'."
    if not later:
        return until
    said = _short_later(year, later)
    return f"{until} Later: {said[0].lower() if said.startswith('Other') else said[0]}{said[1:]}"


def _short_later(year: Year, run: Sequence[Load]) -> str:
    """The same of days past the plan."""
    missing = sorted(year.missing(run).items(), key=lambda item: -item[1])
    if not missing:
        return "Other foods would take its place."
    named = [name for name, _ in missing[:_EATERS]]
    more = f", and {len(missing) - len(named)} more," if len(missing) > len(named) else ""
    return f"{listed(named)}{more} would miss up to {missing[0][1]:.0%} of what they eat."


def _planned(year: Year, worst: Load, eaters: Sequence[str]) -> str:
    """What the load of the worst day would be without a spawning that is still planned."""
    spared = [name for name in eaters if name in year.planned][:_EATERS]
    each = [(name, f"{worst.without(name):.1f}") for name in spared]
    first = [f"; without {name} it would be {share}" for name, share in each[:1]]
    return "".join([*first, *(f", without {name} {share}" for name, share in each[1:])])


def _amount(year: Year, food: str, energy_j: float) -> str:
    """Energy as an amount of a food, in words."""
    amount = natural_amount(year.room, food, energy_j)
    return amount_text(evolve(amount, value=float(f"{amount.value:.2g}")), year.room.units)


def _day(day: date, year: Year) -> str:
    return spoken_day(day, year.now.date(), year.room.units)


def year_json(year: Year) -> dict[str, Any]:
    """For other programs."""
    return {
        "room": year.room.name, "from": year.weeks[0].isoformat(), "to": year.end.isoformat(),
        "broods": [
            {
                "name": b.name, "tank": b.tank, "class": b.course.fry_class.name,
                "planned": b.planned,
                "stages": [
                    {"stage": s.stage, "from": s.start.isoformat(), "to": s.end.isoformat()}
                    for s in b.spans
                ],
                "can_go": b.sale and picked(b.sale, "day", "early", "late"),
            }
            for b in year.broods
        ],
        "foods": [
            {"food": food.food, "weeks": [_load_json(load) for load in food.loads]}
            for food in year.foods
        ],
        "nothing_fits": [
            {"brood": name, "from": first.isoformat(), "to": last.isoformat()}
            for name, (first, last) in year.bare.items()
        ],
        "dry": {
            "need_j": tidy(year.dry_total_j),
            "weeks": [{"week": monday.isoformat(), "need_j": tidy(need_j)}
                      for monday, need_j in zip(year.weeks, year.dry_j, strict=True)],
        },
        "away": [a.to_json() for a in year.room.away
                 if a.end >= year.weeks[0] and a.start < year.end],
        "too_much": [
            {
                "food": food.food, "from": run[0].week.isoformat(),
                "to": (run[-1].week + timedelta(days=6)).isoformat(),
                "worst": _load_json(worst),
                "broods": as_json(worst.by), "missing": as_json(year.missing(run)),
            }
            for food in year.foods for run in food.too_much()
            for worst in (max(run, key=lambda load: (load.share, load.need_j)),)
        ],
    }  # fmt: skip


def _load_json(load: Load) -> dict[str, Any]:
    """A load; null where nothing gives what is asked for."""
    share = None if load.share == float("inf") else tidy(load.share)
    return {**picked(load, "week", "day", "need_j", "gives_j"), "load": share}
