"""Tasks that bring food, each with its reason: hatches set and drawn off, rounds soaked for and
fed, worm cultures split, started, harvested and retired.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import strains
from cultures.fry.feeding import feeding_values
from cultures.needs.need import Round
from cultures.planning.amounts import Cup, soaked_g, weighed_dry_g
from cultures.planning.harvests import Batch, from_jars_ml, jar_ml, window_times
from cultures.planning.outlook import Outlook
from cultures.planning.split_plan import WormPlan, could_wait
from cultures.planning.standing_hatches import late_h
from cultures.planning.task_ids import FEED, SET, SHORT, SPLIT
from cultures.planning.worm_course import Split as PlannedSplit
from cultures.planning.worm_course import Stage
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.tasks.task import (
    Feed,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Soak,
    Split,
    Start,
    Task,
    feeding_id,
    stamp,
)
from cultures.tasks.told import SOAKED, WEIGHED, FeedLine
from cultures.words.moments import spoken_day
from cultures.words.quantities import many
from cultures.words.tasks import DRY_DOSE_G, MOST_SOAKED_G
from cultures.words.units import TEASPOON_ML


def hatch_tasks(outlook: Outlook) -> Iterator[Task]:
    """Settings and harvests; one that nothing would be fed of is not set, unless it was told."""
    room, hatches = outlook.room, outlook.feeding.hatches
    keys = {batch.key for batch in hatches.batches}
    keys.update(
        key.partition("/")[2] for key in room.settled
        if key.startswith(("set_hatch/", "harvest_hatch/"))
    )  # fmt: skip
    uses = _uses(outlook)
    for number, batch in enumerate(hatches.batches):
        if batch.held:
            continue
        used = uses.get(number, [])
        if not (batch.standing or batch.key or used):  # what it was for is fed of others
            continue
        feeding = outlook.feedings[batch.at_index]
        key = batch.key or _free_key(stamp(feeding.at), keys)
        set_at, harvest_at = room.at_hour(batch.set_h), room.at_hour(batch.harvest_h)
        if not batch.standing:
            yield SetHatch(
                id=f"set_hatch/{key}",
                at=set_at,
                until=set_at + SET,
                subject=batch.vessel.name,
                cysts_g=batch.cysts_g,
                spoons=round(room.hatch_kind.spoons(batch.cysts_g), 2),
                water_l=batch.vessel.litres,
                salt_g=round(batch.vessel.litres * batch.vessel.salinity_g_per_l, 1),
                nauplii=round(batch.nauplii),
                strain=strains(BRINE_SHRIMP).get(room.hatch_kind.strain, ""),
                why=_why_set(outlook, batch, used),
                caution=" ".join(room.hatch_kind.cautions),
            )
        taken = sum(nauplii for _, nauplii in used)
        yield HarvestHatch(
            id=f"harvest_hatch/{key}",
            at=harvest_at,
            until=max(harvest_at + SHORT, feeding.at),
            subject=batch.vessel.name,
            nauplii=batch.nauplii,
            energy_j=batch.energy_j,
            fed_nauplii=taken,
            left_over=max(0.0, batch.nauplii - taken),
            jar_ml=jar_ml(room, hatches, number) or None,
            late_h=late_h(room, batch),
            why=_why_harvest(outlook, batch, used) + _kept_whole(outlook, batch, used),
            caution=room.hatch_kind.cautions[0] if room.hatch_kind.cautions else "",
        )


def first_fed(outlook: Outlook, harvest: HarvestHatch) -> datetime:
    """The first round at which something of a harvest is fed; where none is, the one it is of."""
    uses = _uses(outlook)
    for number, batch in enumerate(outlook.feeding.hatches.batches):
        drawn_at = outlook.room.at_hour(batch.harvest_h)
        if (batch.vessel.name, drawn_at) == (harvest.subject, harvest.at) and number in uses:
            return uses[number][0][0].at
    return harvest.until


def _uses(outlook: Outlook) -> dict[int, list[tuple[Round, float]]]:
    """Of each batch the rounds that it feeds, and with how many nauplii."""
    uses: dict[int, list[tuple[Round, float]]] = {}
    for feeding, portions in zip(outlook.feedings, outlook.feeding.hatches.portions, strict=True):
        for portion in portions:
            uses.setdefault(portion.batch, []).append((feeding, portion.nauplii))
    return uses


def _free_key(round_stamp: str, taken: set[str]) -> str:
    """The next free name of a hatch for a round."""
    number = 1
    while f"{round_stamp}/{number}" in taken:
        number += 1
    taken.add(f"{round_stamp}/{number}")
    return f"{round_stamp}/{number}"


def _why_set(outlook: Outlook, batch: Batch, used: list[tuple[Round, float]]) -> str:
    model = vessel_model(outlook.room, batch.vessel)
    hours_in = batch.harvest_h - batch.set_h
    low, high = window_times(outlook.room, batch)
    rounds = ", ".join(f"{r.at:%a %H:%M}" for r, _ in used) or "no round"
    return (
        f"{batch.nauplii:,.0f} nauplii for {rounds}: {hours_in:.1f} h at"
        f" {batch.vessel.temperature_c:.3g} °C. {model.best_hours():.1f} h would be best; any time"
        f" from {low:%a %H:%M} to {high:%a %H:%M} gives at least nine tenths of that."
        f" Hatching: {_hatching(outlook.room, batch)}."
    )


def _hatching(room: Room, batch: Batch) -> str:
    """How a hatch stands: air, light and warmth, by the data of the kind."""
    lit_h, degrees = room.hatch_kind.values["light_first_h"], batch.vessel.temperature_c
    return f"strong air from below, light for the first {lit_h:g} h, water at {degrees:.3g} °C"


def _why_harvest(outlook: Outlook, batch: Batch, used: list[tuple[Round, float]]) -> str:
    holding = outlook.room.holding
    if batch.nauplii <= 0:
        return "It has stood too long to be food; pour it out and wash the vessel."
    if not used:
        return "No round needs it; pour it out to free the vessel."
    first, last = used[0][0], used[-1][0]
    ripe = "Ripe" if late_h(outlook.room, batch) is None else "Past its best, but there"
    text = f"{ripe} for the round of {first.at:%a %H:%M}"
    if last.index != first.index:
        kept = holding.share(batch.harvest_h, last.at_h)
        where = "in the fridge with a little air" if holding.cold else "aerated at room temperature"
        text += (
            f"; keep the rest {where} for the rounds up to {last.at:%a %H:%M},"
            f" when {kept:.0%} of its food value is left"
        )
    return text + "."


def _kept_whole(outlook: Outlook, batch: Batch, used: Sequence[tuple[Round, float]]) -> str:
    """A sentence on why a harvest waits for a later round; "" where it does not."""
    waits = used and used[0][0].index > batch.at_index
    why = why_waits(outlook, batch.at_index, used[0][0].index) if waits else ""
    return f" Nothing of it is fed before: {why}." if why else ""


def why_waits(outlook: Outlook, since: int, first: int, *, others: bool = False) -> str:
    """Why nothing of a harvest is fed from a round on until another.

    Args:
        since, first: their indices. others: another one is fed before.
    """
    if others or any(outlook.feeding.hatches.portions[since:first]):
        return "older go first"
    if not any(r.fed for r in outlook.feedings[since:first]):
        return "nobody is there to feed"
    if any(
        s.want_j.get(BRINE_SHRIMP) for row in outlook.feeding.servings[since:first] for s in row
    ):
        return "it is kept for who would go short later"
    return "no brood takes nauplii by then"


def round_tasks(outlook: Outlook) -> Iterator[Task]:
    """Soaking and feeding, round by round."""
    v = feeding_values()
    cups_at: dict[int, list[Cup]] = {}
    for (index, _), cup in outlook.cups.items():
        cups_at.setdefault(index, []).append(cup)
    for feeding, lines in zip(outlook.feedings, outlook.lines, strict=True):
        given = [line for line in lines if line.amount > 0]
        if not given or not feeding.fed:
            continue
        nauplii = sum(p.nauplii for p in outlook.feeding.hatches.portions[feeding.index])
        from_jars = from_jars_ml(outlook.room, outlook.feeding.hatches, feeding)
        cups = cups_at.get(feeding.index, [])
        dry, tools = [line for line in given if line.food == DRY], outlook.room.tools
        grams = round(sum(line.amount for line in dry), 6)
        used_g = weighed_dry_g(tools, feeding, dry)
        if grams > 0:
            weighed = soaked_g(tools, feeding, grams, dry)
            each = {line.tank for line in dry if line.way == WEIGHED}
            waking = outlook.room.local(feeding.at.date(), outlook.room.awake[0])
            yield Soak(
                id=f"soak/{stamp(feeding.at)}",
                at=max(feeding.at - timedelta(minutes=v["soak_min"]), min(waking, feeding.at)),
                until=feeding.at,
                subject=feeding.name,
                dry_g=weighed,
                spoons=round(weighed / (tools.g_per_ml[DRY] * TEASPOON_ML), 2),
                fed_g=grams if grams < weighed - 1e-6 else None,
                water_ml=_water_ml(dry, weighed),
                tanks=len(each) or None,
                why="Soaked crumble swells in the cup, not in the fry. What is not fed spoils in a"
                " day: pour it down the drain.",
            )
        yield Feed(
            id=feeding_id(feeding.at),
            at=feeding.at,
            until=feeding.at + FEED,
            subject=feeding.name,
            tanks=len({line.tank for line in given}),
            cups_ml={cup.food: cup.volume_ml for cup in cups},
            fed_ml={
                cup.food: cup.fed_ml for cup in cups if cup.fed_ml < cup.volume_ml - cup.rest_ml
            },
            nauplii=nauplii if nauplii > 0 else None,
            jar_ml=from_jars if from_jars > 0 else None,
            dry_g=grams if grams > 0 else None,
            soaked_g=used_g if used_g > grams + 1e-6 else None,
            why=_why_feed(outlook, feeding),
        )


def _water_ml(dry: Sequence[FeedLine], weighed_g: float) -> float | None:
    """What dry food is soaked in, thinner than usual or more than a gram of it [mL]; else None."""
    wet_ml = sum(line.wet_ml or 0.0 for line in dry)
    if not wet_ml and weighed_g > MOST_SOAKED_G and all(line.way == SOAKED for line in dry):
        return round(weighed_g / DRY_DOSE_G, 6)
    return round(weighed_g * wet_ml / sum(line.amount for line in dry), 6) if wet_ml else None


def _why_feed(outlook: Outlook, feeding: Round) -> str:
    needs = outlook.needs[feeding.index]
    fry = sum(need.count for need in needs)
    return f"{fry:,.0f} fry in {many(len(needs), 'brood')}."


#: A culture harvested so soon after it is ripe was started for that harvest.
_SOON = timedelta(days=3)
#: The rank of a parent whose medium sours.
_SOURS = 2
#: What was noted of a culture is said to who opens it for so long.
_REMARKED = timedelta(days=14)


def worm_tasks(outlook: Outlook) -> Iterator[Task]:
    """Splits, starts, ends and harvests of cultures."""
    for name in sorted(outlook.feeding.worms):
        plan = outlook.feeding.worms[name]
        kind = plan.kind
        stages = {s.culture.name: s for s in plan.stages}
        for split in plan.splits:
            yield _split_task(outlook, plan, stages, split)
        for stage in stages.values():
            yield from _retire_task(outlook, plan, stages, stage)
        for feeding, harvests in zip(outlook.feedings, plan.course.harvests, strict=True):
            for harvest in harvests:
                culture = stages[harvest.culture].culture
                kept = culture.kind
                portions = harvest.taken_mg / kind.values["portion_mg"]
                solid = kind.medium == "solid"
                yield HarvestWorms(
                    id=f"harvest_worms/{stamp(feeding.at)}/{harvest.culture}",
                    at=feeding.at,
                    until=feeding.at + SHORT,
                    subject=harvest.culture,
                    other=kept.taken_off if solid else "",
                    mg=harvest.taken_mg,
                    swipes=round(portions, 2) if solid else None,
                    draws=None if solid else round(portions, 1),
                    why=(
                        f"The oldest {kind.label} culture that still gives,"
                        f" {many((feeding.at.date() - culture.started).days, 'day')} old."
                        f"{_remarked(outlook, harvest.culture)}"
                    ),
                    caution=" ".join(kept.harvest_cautions),
                )


def _retire_task(
    outlook: Outlook, plan: WormPlan, stages: Mapping[str, Stage], stage: Stage
) -> Iterator[Task]:
    """The end of a culture: once it is spent, and what was begun of it when it soured gives."""
    kind, name, index, kept = plan.kind, stage.culture.name, stage.spent_from, ""
    for child in _sour_children(plan, stages, stage):
        gives = plan.course.usable_from.get(child, len(outlook.feedings))
        if gives > index:
            index, kept = gives, f", and was kept until {child} gives worms"
    at = outlook.keeper_round(index)
    if at is not None:
        yield Retire(
            id=f"retire/{name}",
            at=at.at,
            until=at.at + SHORT,
            subject=name,
            why=(
                f"It carries less than {kind.values['retire_share']:.0%} of the worms it"
                f" did{kept}: bin it closed, wash the box."
            ),
            caution=kind.cautions[0] if kind.cautions else "",
            spawns=_spawns(outlook, name),
        )


def _sour_children(plan: WormPlan, stages: Mapping[str, Stage], stage: Stage) -> list[str]:
    """The cultures that are begun of one as it sours, or were, and stand: they may fail. None of
    one that is lost itself.
    """
    culture = stage.culture
    if culture.lost_h is not None:
        return []
    made = [
        s.culture.name for s in plan.splits
        if s.parent == culture.name and stage.rank_at(s.at_index) == _SOURS
    ]  # fmt: skip
    before = culture.mark.sour_gave if culture.mark is not None else ()
    return [name for name in (*before, *made) if name in stages]


def _remarked(outlook: Outlook, culture: str) -> str:
    """What was noted of a culture of late, for who opens it."""
    for at, text in outlook.room.remarks.get(culture, ())[-1:]:
        if outlook.now - at < _REMARKED:
            return f" You noted on {spoken_day(at, outlook.now)}: {text.rstrip('.')}."
    return ""


def _split_task(
    outlook: Outlook, plan: WormPlan, stages: Mapping[str, Stage], split: PlannedSplit
) -> Task:
    feeding, kind, name = outlook.feedings[split.at_index], split.culture.kind, split.culture.name
    form, spent_h = Split if split.parent else Start, stages[name].spent_h
    harvested = (
        i for i, row in enumerate(plan.course.harvests) if name in {h.culture for h in row}
    )
    begins, usable = next(harvested, None), plan.course.usable_from.get(name)
    first = outlook.feedings[begins].at if begins is not None else None
    spent = outlook.room.at_hour(spent_h) if spent_h < 1e9 else None
    today = outlook.now.date()
    ripe = outlook.feedings[usable].at.date() if usable is not None else None
    reason = f"Keeps {outlook.room.spare_cultures} {kind.label} cultures going"
    if first is not None and ripe is not None and first.date() - ripe <= _SOON:
        reason = f"{name} will first be harvested on {spoken_day(first, today)}"
    elif ripe is not None:
        reason += f": {name} is ripe from {spoken_day(ripe, today)}"
        if first is not None:
            reason += f" and first needed on {spoken_day(first, today)}"
    spawns = _spawns(outlook, name)
    if spawns:
        reason = _hoped(outlook, name, ripe)
    ends = f", and good until about {spoken_day(spent, today)}" if spent else ""
    risk = ""
    if split.parent in stages and stages[split.parent].rank_at(split.at_index) == _SOURS:
        risk = (
            f" {split.parent} is souring already, so the starter may fail: keep it until"
            f" {name} gives worms."
        )
    recipe = kind.recipe_of(split.culture.medium_g, split.culture.surface_cm2)
    key = f"{form.what}/{name}"
    at = max(feeding.at, outlook.room.put_to.get(key, feeding.at))
    return form(
        id=key,
        at=at,
        until=at + SPLIT,
        subject=split.parent or name,
        other=name,
        starter_g=split.culture.starter_g,
        medium_g=split.culture.medium_g,
        surface_cm2=split.culture.surface_cm2 or None,
        onto=kind.on.label if kind.on is not None else "",
        why=(
            f"{reason}{ends}.{'' if spawns else _no_liked_day(outlook, plan, split)}{risk}"
            f"{_remarked(outlook, split.parent)} Medium: {recipe}."
        ),
        caution=" ".join(kind.cautions),
        spawns=spawns,
    )


def _no_liked_day(outlook: Outlook, plan: WormPlan, split: PlannedSplit) -> str:
    """Why a split is on no day that is kept for splits, where it is needed before the next."""
    feedings, days = outlook.feedings, outlook.room.split_weekdays
    if not split.parent or not days:
        return ""
    if feedings[split.at_index].at.weekday() in days:
        return ""
    later = next(
        (r for r in feedings[split.at_index :] if r.keeper and r.at.weekday() in days), None
    )
    if later is None or could_wait(outlook.room, plan, split, later.index, feedings):
        return ""
    day = spoken_day(later.at, outlook.now.date())
    return f" On {day}, the next of split_days, it would be too late."


def _spawns(outlook: Outlook, culture: str) -> tuple[tuple[str, str], ...]:
    """The planned spawnings that a culture is started for."""
    return outlook.hopes.spawns(culture) if outlook.hopes is not None else ()


def _hoped(outlook: Outlook, culture: str, ripe: date | None) -> str:
    """Why a culture is started for spawnings that are not certain."""
    assert outlook.hopes is not None
    today = outlook.now.date()
    told = [
        f"{c.brood.name} is planned to spawn in {c.brood.tank} on"
        f" {spoken_day(c.brood.anchor_date, today)}, and would first eat on"
        f" {spoken_day(c.first_food_day(), today)}"
        for c in outlook.hopes.cultures[culture]
    ]
    begins = f"; {culture} is ripe from {spoken_day(ripe, today)}" if ripe is not None else ""
    return f"{'; '.join(told)}{begins}"
