"""The last page of the helper's sheet, for the keeper: what to prepare, and what stays open."""

from __future__ import annotations

from datetime import timedelta

from cli.screens.shortfalls import stopped_foods
from cli.sheet.absence import Absence
from cli.sheet.markup import bullets, data, moment_text, phrase, plan_words, table
from cli.sheet.tables import shortfall_blocks
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.preparation import draws_at
from cultures.room.jars import holding_of
from cultures.tasks.task import Feed, Soak
from cultures.words.quantities import food_name, grams, in_units, millilitres, number, spoons
from cultures.words.tasks import figure, line_figure, task_phrase


def keeper_page(absence: Absence) -> str:
    """What to set, pack and label before leaving, and what the plan cannot cover."""
    parts = [
        "<h2>For the keeper, before leaving</h2>", _before(absence), _keeps(absence),
        _jars(absence), _envelopes(absence), _diet(absence), _open(absence),
    ]  # fmt: skip
    return f'<section class="sheetpage" id="keeper">{"".join(parts)}</section>'


def _before(absence: Absence) -> str:
    units = absence.outlook.room.units
    items = [
        f"{moment_text(t.at, f'{t.id}#at')}: {phrase(task_phrase(t, units))}"
        for t in absence.before()
    ]
    if not items:
        return "<p>Nothing needs to be set or bought in the last days before.</p>"
    return f"<h3>Set, harvest and buy in the last days</h3>{bullets(items)}"


def _keeps(absence: Absence) -> str:
    """Which foods keep, and for how long, from the data of each kind."""
    room = absence.outlook.room
    rows = [["dry food", "for weeks, dry, dark and closed", "weigh it now, an envelope a round"]]
    fed = {line.food for line in absence.plan.lines if absence.covers(line.at)}
    if BRINE_SHRIMP in fed:
        holding = holding_of(room)
        key, where = "warm_hold_h", "in salt water with air; without a fridge no longer"
        if holding.cold:
            key, where = "cold_hold_h", "in the fridge, in salt water with a little air"
        hours = data(number(holding.longest_h), holding.longest_h, f"kind/{BRINE_SHRIMP}#{key}")
        rows.append(["nauplii", f"{hours} hours after the harvest", where])
    for kind in room.worm_kinds():
        if kind.name in fed:
            life_h = kind.values["water_life_h"]
            hours = data(number(life_h), life_h, f"kind/{kind.name}#water_life_h")
            so = "not ahead of time: the helper takes them fresh at each round"
            rows.append([plan_words(kind.label), f"about {hours} hours once rinsed", so])
    return table("Which foods keep", ["food", "keeps", "so"], rows)


def _jars(absence: Absence) -> str:
    units = absence.outlook.room.units
    rows = []
    for feed in absence.helper_tasks():
        for draw in draws_at(absence.outlook, feed.at) if isinstance(feed, Feed) else ():
            jar, made_up, taken = draw.jar_ml, "", "all of it"
            if jar:
                made_up = f", made up to {data(millilitres(jar, units), jar, 'hatch#jar_ml')}"
                take = millilitres(round(draw.take_ml), units)
                taken = data(take, draw.take_ml, f"{feed.id}#jar_ml")
            harvest = f"harvest of {moment_text(draw.harvested, 'hatch#harvest')}{made_up}"
            rows.append([harvest, moment_text(feed.at, f"{feed.id}#at"), taken])
    if not rows:
        return "<p>No nauplii are planned for these days: none keep so long.</p>"
    caption = "Nauplii: a labelled jar of clean salt water for each harvest, kept as above"
    return table(caption, ["jar", "for the round", "take"], rows, right=(2,))


def _envelopes(absence: Absence) -> str:
    units, envelopes = absence.outlook.room.units, absence.envelopes()
    rows = []
    for task in absence.helper_tasks():
        if not isinstance(task, Soak):
            continue
        twists = ", ".join(
            f"{plan_words(line.tank)} {phrase((line_figure(line, grams(line.amount, units)),))}"
            for line in absence.plan.lines
            if line.at == task.until and line.food == DRY and line.amount > 0
        )
        weighed = figure(task, "dry_g", grams(task.dry_g, units))
        spooned = figure(task, "spoons", spoons(task.spoons))
        rows.append([
            str(envelopes[task.id]), moment_text(task.until, f"{task.id}#until"),
            phrase((weighed, " (", spooned, ")")), twists,
        ])  # fmt: skip
    if not rows:
        return "<p>No dry food is fed on these days.</p>"
    return table("Dry food: number the envelopes; inside, a twist of paper for each tank",
                 ["no.", "round", "in all", "twists"], rows)  # fmt: skip


def _diet(absence: Absence) -> str:
    """What the days away bring against the ideal diet, food by food."""
    totals: dict[str, list[float]] = {}
    for line in absence.plan.lines:
        if absence.covers(line.at):
            pair = totals.setdefault(line.food, [0.0, 0.0])
            pair[0] += line.need_j
            pair[1] += line.given_j
    rows = [
        [food_name(food), data(number(need), need, f"away/{food}#need_j"),
         data(number(given), given, f"away/{food}#given_j")]
        for food, (need, given) in sorted(totals.items())
    ]  # fmt: skip
    caption = "Joules over the days away: what the ideal diet asks, and what the plan gives"
    return table(caption, ["food", "asked", "given"], rows, right=(1, 2))


def _open(absence: Absence) -> str:
    """Shortfalls that touch the days away or the two days after, with their place in the plan."""
    after, units = absence.last + timedelta(days=2), absence.outlook.room.units
    found = [
        (i, s) for i, s in enumerate(absence.plan.shortfalls)
        if s.at.date() <= after and s.until.date() >= absence.first
    ]  # fmt: skip
    told = shortfall_blocks(found, units) if found else (
        "<p>By this plan every round is covered, as far as energy goes; what a poor yield or a"
        " crash can do says livefood shortfalls.</p>"
    )  # fmt: skip
    stops = [plan_words(in_units(n, units)) for n in stopped_foods(absence.plan.notes)]
    return f"<h3>What cannot be covered</h3>{told}{bullets(stops) if stops else ''}"
