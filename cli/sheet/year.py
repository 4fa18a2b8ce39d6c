"""The year as one page of HTML."""

from __future__ import annotations

from datetime import date, timedelta

from cli.drawing.seasons import BROODS_SAY, FOODS_SAY, IN_ONE, broods, food
from cli.screens.year import LETTERS, besides, enough, too_much
from cli.sheet.page import PAPERS
from cli.sheet.parts import Moment, Row, Said, Table, day
from cli.templates import render
from cultures.planning.year import STAGES, BroodYear, Year
from cultures.words.quantities import food_name
from cultures.words.tasks import Words


def year_page(year: Year, *, paper: str) -> str:
    """The page: what is too much, the broods, the foods, and the dates behind them.

    Args:
        paper: a key of :data:`cli.sheet.page.PAPERS`.
    """
    pictures = -(-len(year.broods) // IN_ONE)
    each = -(-len(year.broods) // max(1, pictures))
    some = [year.broods[i * each : (i + 1) * each] for i in range(pictures)]
    last = year.end - timedelta(days=1)
    return render(
        "cli.sheet", "year.html", paper=PAPERS[paper], units=year.room.units,
        room=Words(year.room.name),
        title=f"{year.room.name}: the year from {year.weeks[0]}",
        first=_dated(year.weeks[0], "year#from"), last=_dated(last, "year#to"),
        too_much=[Words(text) for text in too_much(year)], enough=Words(enough(year)),
        besides=[Words(text) for text in besides(year)],
        broods=[broods(year, part) for part in some], broods_say=BROODS_SAY, foods_say=FOODS_SAY,
        foods=[(food_name(one.food).capitalize(), food(year, one)) for one in year.foods],
        away=_away(year), dates=_dates(year), reckoned=day(year.now, "year#now"),
    )  # fmt: skip


def _dated(on: date, of: str) -> Moment:
    return Moment(f"{on.day} {on:%b %Y}", on, of)


def _away(year: Year) -> list[Said]:
    return [
        (_dated(a.start, "away#from"), " to ", _dated(a.end, "away#to"),
         f" ({a.text(year.room.units)})" * a.is_exact,
         ": a helper feeds" if a.helper else ": nobody is there")
        for a in year.room.away if a.end >= year.weeks[0] and a.start < year.end
    ]  # fmt: skip


def _dates(year: Year) -> Table:
    """The day on which each brood comes into each stage."""
    head = ["brood", *(LETTERS[stage][1] for stage in STAGES)]
    rows = [Row(Words(b.name), _days(b), aside=Words(b.tank)) for b in year.broods]
    return Table("First day of each stage; a dash where it is over", head, rows, name="many")


def _days(brood: BroodYear) -> list[Said]:
    begins = {span.stage: span.start for span in brood.spans}
    found: list[Said] = []
    for stage in STAGES:
        of = f"year/{brood.name}/{stage}"
        said: Said = _dated(begins[stage], of) if stage in begins else "-"
        if stage == "can_go" and brood.sale is not None and brood.sale.early < brood.sale.late:
            early, late = brood.sale.early, brood.sale.late
            parts = (_dated(early, f"{of}#early"), " to ", _dated(late, f"{of}#late"))
            said = (_dated(brood.sale.day, of), " (", *parts, ")")
        found.append(said)
    return found
