"""The last page of the helper's sheet, for the keeper: what to prepare, and what stays open."""

from __future__ import annotations

import math
from collections import defaultdict
from datetime import datetime, time, timedelta
from typing import Any

from cli.sheet.absence import Absence
from cli.sheet.parts import Row, Said, Table, moment
from cli.sheet.tables import shortfall_views
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.holding import Holding
from cultures.planning.preparation import as_sieved, draws_at
from cultures.tasks.task import Feed, Soak
from cultures.tasks.told import totals_j
from cultures.words.moments import hours
from cultures.words.quantities import food_name, in_units, millilitres, number
from cultures.words.tasks import Figure, Words, measured, task_phrase, twist

#: From so many times what the ideal diet asks on a food is given in the place of others.
_STANDS_IN = 1.25


def keeper_view(absence: Absence) -> dict[str, Any]:
    """What to set, pack and label before leaving, and what the plan cannot cover."""
    after, tools = absence.last + timedelta(days=2), absence.outlook.room.tools
    # Shortfalls that touch the days away or the two days after, with their place in the plan.
    found = [
        (i, s) for i, s in enumerate(absence.plan.shortfalls)
        if s.at.date() <= after and s.until.date() >= absence.first
    ]  # fmt: skip
    return {
        "before": [
            *((moment(t.at, f"{t.id}#at"), ": ", *task_phrase(t, tools)) for t in absence.before()),
            *map(Words, absence.spoilt()),
        ],
        "unknown": Words(absence.unknown), "keeps": _keeps(absence),
        "jars": _jars(absence), "envelopes": _envelopes(absence),
        "diet": _diet(absence), "shortfalls": shortfall_views(found, tools.units),
        "stops": [Words(in_units(stop.text, tools.units)) for stop in absence.plan.stops],
    }  # fmt: skip


def _keeps(absence: Absence) -> Table:
    """Which foods keep, and for how long, from the data of each kind."""
    room = absence.outlook.room
    rows = [
        Row("dry food", ["for weeks, dry, dark and closed", "weigh it now, an envelope a round"])
    ]
    fed = {line.food for line in absence.plan.lines if absence.covers(line.at)}
    if BRINE_SHRIMP in fed:
        holding = room.holding
        key, where = "warm_hold_h", "in salt water with air; without a fridge no longer"
        if holding.cold:
            key, where = "cold_hold_h", "in the fridge, in salt water with a little air"
        longest_h = math.floor(holding.longest_h(hours(room.local(absence.first, time(12)))))
        held = Figure(number(longest_h), longest_h, f"kind/{BRINE_SHRIMP}#{key}")
        keeps: list[Any] = [held, " hours after the harvest"]
        if _fed_late(absence, holding):
            late_h = room.hatch_kind.values["late_hold_h"]
            late = Figure(number(late_h), late_h, f"kind/{BRINE_SHRIMP}#late_hold_h")
            keeps += [", and ", late, " h more for a round that would else have none"]
        rows.append(Row("nauplii", [keeps, where]))
    for kind in room.worm_kinds():
        if kind.name in fed:
            life_h = kind.values["water_life_h"]
            lives = Figure(number(life_h), life_h, f"kind/{kind.name}#water_life_h")
            so = "not ahead of time: the helper takes them fresh at each round"
            rows.append(Row(Words(kind.label), [("about ", lives, " hours once rinsed"), so]))
    return Table("Which foods keep", ["food", "keeps", "so"], rows)


def _fed_late(absence: Absence, holding: Holding) -> bool:
    """Whether a round takes nauplii that are older by then than they keep."""
    return any(
        not holding.keeps(hours(draw.harvested), hours(feed.at))
        for feed in absence.helper_tasks() if isinstance(feed, Feed)
        for draw in draws_at(absence.outlook, feed.at)
    )  # fmt: skip


def _jars(absence: Absence) -> Table:
    tools = absence.outlook.room.tools
    rows, gone = [], _taken_before(absence)
    for feed in absence.helper_tasks():
        for draw in draws_at(absence.outlook, feed.at) if isinstance(feed, Feed) else ():
            jar = draw.jar_ml
            harvest: list[Any] = ["harvest of ", moment(draw.harvested, "hatch#harvest")]
            take: Said = "all of it"
            if jar:
                stands = draw.harvested <= absence.outlook.now
                holds = jar - gone[draw.vessel, draw.harvested] if stands else jar
                full = Figure(millilitres(holds, tools.units), holds, "hatch#jar_ml")
                harvest += [", ", full, " in it"] if stands else [", made up to ", full]
                sieved = as_sieved(draw, tools).take_ml
                shown = tools.poured(sieved).text if sieved < jar else "all of it"
                take = Figure(shown, draw.take_ml, f"{feed.id}#jar_ml")
            rows.append(Row(harvest, [moment(feed.at, f"{feed.id}#at"), take]))
    caption = "Nauplii: a labelled jar of clean salt water for each harvest, kept as above"
    return Table(caption, ["jar", "for the round", "take"], rows, (2,))


def _taken_before(absence: Absence) -> dict[tuple[str, datetime], float]:
    """What is sieved out of each jar before the helper comes [mL]."""
    outlook, found = absence.outlook, defaultdict[tuple[str, datetime], float](float)
    for at in outlook.round_times():
        if at.date() < absence.first and outlook.told_round(at) is None:
            for draw in draws_at(outlook, at):
                sieved = as_sieved(draw, outlook.room.tools)
                found[draw.vessel, draw.harvested] += sieved.take_ml
    return found


def _envelopes(absence: Absence) -> Table:
    tools, envelopes = absence.outlook.room.tools, absence.envelopes()
    rows, rest = [], False
    for task in absence.helper_tasks():
        if not isinstance(task, Soak):
            continue
        rest = rest or task.fed_g is not None
        twists: list[Any] = []
        for line in absence.twists(task):
            twists += [", " if twists else "", Words(line.tank), " ", twist(line, tools)]
        in_all = measured(task, "dry_g", DRY, "", tools)
        until = moment(task.until, f"{task.id}#until")
        rows.append(Row(str(envelopes[task.id]), [until, in_all, twists]))
    caption = "Dry food: number the envelopes; inside, a twist of paper for each tank"
    part = "a spoon" if tools.scale_g is None else "a weight"
    caption += f"; halve by eye what is a part of {part}"
    caption += ", and put what is left back into the tin" if rest else ""
    weigh = "measure" if tools.scale_g is None else "weigh"
    return Table(caption, ["no.", "round", weigh, "twists"], rows)


def _diet(absence: Absence) -> Table:
    """What the days away bring against the ideal diet, food by food."""
    mine = (line for line in absence.plan.lines if absence.covers(line.at))
    totals = totals_j(mine, lambda line: line.food)
    rows = [
        Row(food_name(food), [_share(food, given / need) if need > 0 else "given unasked"])
        for food, (need, given) in sorted(totals.items())
    ]  # fmt: skip
    caption = (
        "The days away: what the plan gives of what the ideal diet asks; more is in the place of"
        " others"
    )
    return Table(caption, ["food", "given"], rows, (1,))


def _share(food: str, share: float) -> Said:
    """What of a food is given; far more than was asked stands in for others."""
    shown = f"{share:.0%}" if share < _STANDS_IN else "all, and more"
    return Figure(shown, share, f"away/{food}#share")
