"""Turns the plan's numbers into dated tasks, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from cultures.fry import feeding_values
from cultures.need import BroodCourse, Round
from cultures.planning.hatch_plan import Batch, Holding, vessel_model, window_times
from cultures.planning.tasks import ORDER, Task
from cultures.planning.worm_course import Split
from cultures.room import BRINE_SHRIMP, DRY
from cultures.units import TEASPOON_ML

if TYPE_CHECKING:
    from cultures.planning.plan import Outlook

_SET = timedelta(minutes=15)
_FEED = timedelta(minutes=30)
_SPLIT = timedelta(minutes=30)
_SHORT = timedelta(minutes=10)


def build_tasks(outlook: Outlook) -> tuple[Task, ...]:
    """All tasks of an outlook by time, and in the order of doing at one time."""
    tasks = [
        *_hatch_tasks(outlook),
        *_worm_tasks(outlook),
        *_round_tasks(outlook),
        *_brood_tasks(outlook),
        *_supply_tasks(outlook),
    ]
    return tuple(sorted(tasks, key=lambda t: (t.at, ORDER[t.what], t.id)))


def stamp(moment: datetime) -> str:
    """A local time for use in ids."""
    return f"{moment:%Y-%m-%dT%H:%M}"


def _hatch_tasks(outlook: Outlook) -> Iterator[Task]:
    room, hatches = outlook.room, outlook.feeding.hatches
    numbers: dict[int, int] = {}
    uses: dict[int, list[tuple[Round, float]]] = {}
    for feeding, portions in zip(outlook.feedings, hatches.portions, strict=True):
        for portion in portions:
            uses.setdefault(portion.batch, []).append((feeding, portion.nauplii))
    for number, batch in enumerate(hatches.batches):
        if batch.held:
            continue
        used = uses.get(number, [])
        feeding = outlook.feedings[batch.at_index]
        numbers[batch.at_index] = numbers.get(batch.at_index, 0) + 1
        key = f"{stamp(feeding.at)}/{numbers[batch.at_index]}"
        set_at, harvest_at = room.at_hour(batch.set_h), room.at_hour(batch.harvest_h)
        if not batch.standing:
            yield Task(
                id=f"set_hatch/{key}",
                what="set_hatch",
                at=set_at,
                until=set_at + _SET,
                subject=batch.vessel.name,
                amounts=_set_amounts(outlook, batch),
                why=_why_set(outlook, batch, used),
                caution=" ".join(room.hatch_kind.cautions),
            )
        taken = sum(nauplii for _, nauplii in used)
        yield Task(
            id=f"harvest_hatch/{key}",
            what="harvest_hatch",
            at=harvest_at,
            until=max(harvest_at + _SHORT, feeding.at),
            subject=batch.vessel.name,
            amounts={
                "nauplii": batch.nauplii,
                "energy_j": batch.energy_j,
                "fed_nauplii": taken,
                "left_over": max(0.0, batch.nauplii - taken),
            },
            why=_why_harvest(outlook, batch, used),
            caution=room.hatch_kind.cautions[0] if room.hatch_kind.cautions else "",
        )


def _set_amounts(outlook: Outlook, batch: Batch) -> dict[str, float]:
    kind = outlook.room.hatch_kind
    return {
        "cysts_g": batch.cysts_g,
        "spoons": round(kind.spoons(batch.cysts_g), 2),
        "water_l": batch.vessel.litres,
        "salt_g": round(batch.vessel.litres * batch.vessel.salinity_g_per_l, 1),
        "nauplii": round(batch.nauplii),
    }


def _why_set(outlook: Outlook, batch: Batch, used: list[tuple[Round, float]]) -> str:
    model = vessel_model(outlook.room, batch.vessel)
    hours_in = batch.harvest_h - batch.set_h
    low, high = window_times(outlook.room, batch)
    rounds = ", ".join(f"{r.at:%a %H:%M}" for r, _ in used) or "no round"
    return (
        f"{batch.nauplii:,.0f} nauplii for {rounds}: {hours_in:.1f} h at"
        f" {batch.vessel.temperature_c:g} °C, where the best is {model.best_hours():.1f} h"
        f" and {low:%a %H:%M} to {high:%a %H:%M} gives nine tenths of it or more."
    )


def _why_harvest(outlook: Outlook, batch: Batch, used: list[tuple[Round, float]]) -> str:
    holding = Holding.of(outlook.room)
    if not used:
        return "It stands in the vessel and no round needs it; harvest it to free the vessel."
    first, last = used[0][0], used[-1][0]
    text = f"Ripe for the round of {first.at:%a %H:%M}"
    if last.index != first.index:
        kept = holding.share(batch.harvest_h, last.at_h)
        where = "in the fridge with a little air" if holding.cold else "aerated at room temperature"
        text += (
            f"; keep the rest {where} until {last.at:%a %H:%M},"
            f" when {kept:.0%} of its energy is left"
        )
    return text + "."


def _worm_tasks(outlook: Outlook) -> Iterator[Task]:
    for name in sorted(outlook.feeding.worms):
        plan = outlook.feeding.worms[name]
        kind = plan.kind
        stages = {s.culture.name: s for s in plan.stages}
        for split in plan.splits:
            yield _split_task(outlook, split)
        for stage in plan.stages:
            if stage.spent_from < len(outlook.feedings):
                at = _keeper_round(outlook, stage.spent_from)
                if at is not None:
                    yield Task(
                        id=f"retire/{stage.culture.name}",
                        what="retire",
                        at=at.at,
                        until=at.at + _SHORT,
                        subject=stage.culture.name,
                        amounts={},
                        why=(
                            "Its medium carries less than"
                            f" {kind.values['retire_share']:.0%} of what it did:"
                            " bin it closed, wash the box."
                        ),
                        caution=kind.cautions[0] if kind.cautions else "",
                    )
        for feeding, harvests in zip(outlook.feedings, plan.course.harvests, strict=True):
            for harvest in harvests:
                culture = stages[harvest.culture].culture
                amounts = {"mg": harvest.taken_mg}
                if kind.medium == "solid":
                    amounts["swipes"] = round(harvest.taken_mg / kind.values["portion_mg"], 2)
                else:
                    amounts["draws"] = round(harvest.taken_mg / kind.values["portion_mg"], 1)
                yield Task(
                    id=f"harvest_worms/{stamp(feeding.at)}/{harvest.culture}",
                    what="harvest_worms",
                    at=feeding.at,
                    until=feeding.at + _SHORT,
                    subject=harvest.culture,
                    amounts=amounts,
                    why=(
                        f"{kind.label} culture of"
                        f" {(feeding.at.date() - culture.started).days} days,"
                        f" the oldest that still gives."
                    ),
                    caution=kind.cautions[0] if kind.cautions else "",
                )


def _split_task(outlook: Outlook, split: Split) -> Task:
    feeding = outlook.feedings[split.at_index]
    kind = split.culture.kind
    what = "split" if split.parent else "start"
    plan = outlook.feeding.worms[kind.name]
    stage = next(s for s in plan.stages if s.culture.name == split.culture.name)
    first = next(
        (
            outlook.feedings[i].at
            for i, row in enumerate(plan.course.harvests)
            if any(h.culture == split.culture.name for h in row)
        ),
        None,
    )
    spent = outlook.room.at_hour(stage.spent_h) if stage.spent_h < 1e9 else None
    reason = f"{split.culture.name} will first be harvested on {first:%a %d %b}" if first else (
        f"keeps {outlook.room.spare_cultures} {kind.label} cultures in use"
    )  # fmt: skip
    ends = f" and is good until about {spent:%d %b}" if spent else ""
    return Task(
        id=f"{what}/{split.culture.name}",
        what="split" if split.parent else "start",
        at=feeding.at,
        until=feeding.at + _SPLIT,
        subject=split.parent or split.culture.name,
        other=split.culture.name,
        amounts={
            "starter_g": split.culture.starter_g,
            "medium_g": split.culture.medium_g,
            **({"surface_cm2": split.culture.surface_cm2} if split.culture.surface_cm2 else {}),
        },
        why=f"{reason}{ends}. Medium: {kind.recipe}.",
        caution=" ".join(kind.cautions),
    )


def _keeper_round(outlook: Outlook, index: int) -> Round | None:
    return next((r for r in outlook.feedings[index:] if r.keeper), None)


def _round_tasks(outlook: Outlook) -> Iterator[Task]:
    v = feeding_values()
    for feeding, lines in zip(outlook.feedings, outlook.lines, strict=True):
        given = [line for line in lines if line.amount > 0]
        if not given or not feeding.fed:
            continue
        amounts: dict[str, float] = {"tanks": len({line.tank for line in given})}
        for (index, food), cup in outlook.cups.items():
            if index == feeding.index:
                amounts[f"{food}_ml"] = cup.volume_ml
        nauplii = sum(p.nauplii for p in outlook.feeding.hatches.portions[feeding.index])
        if nauplii > 0:
            amounts["nauplii"] = nauplii
        grams = sum(line.amount for line in given if line.food == DRY)
        if grams > 0:
            amounts["dry_g"] = round(grams, 2)
            soak = timedelta(minutes=v["soak_min"])
            yield Task(
                id=f"soak/{stamp(feeding.at)}",
                what="soak",
                at=feeding.at - soak,
                until=feeding.at,
                subject=f"{feeding.at:%H:%M} round",
                amounts={
                    "dry_g": round(grams, 2),
                    "spoons": round(grams / (v["dry_g_per_ml"] * TEASPOON_ML), 2),
                },
                why="Soaked crumble swells in the cup and not in the fry.",
            )
        yield Task(
            id=f"feed/{stamp(feeding.at)}",
            what="feed",
            at=feeding.at,
            until=feeding.at + _FEED,
            subject=f"{feeding.at:%H:%M} round",
            amounts=amounts,
            why=_why_feed(outlook, feeding),
        )


def _why_feed(outlook: Outlook, feeding: Round) -> str:
    needs = outlook.needs[feeding.index]
    fry = sum(need.count for need in needs)
    energy = sum(need.energy_j for need in needs)
    return f"{fry:,.0f} fry in {len(needs)} broods need {energy:,.0f} J at this round."


def _brood_tasks(outlook: Outlook) -> Iterator[Task]:
    room = outlook.room
    for brood in room.broods:
        course = BroodCourse.of(room, brood)
        if brood.anchor in ("spawned", "hatched"):
            day = course.first_food_day()
            feeding = next((r for r in outlook.feedings if r.at.date() == day), None)
            if feeding is not None:
                foods = ", ".join(
                    f.name.replace("_", " ") for f in room.foods_of(brood) if f.name != DRY
                )
                yield Task(
                    id=f"first_food/{brood.name}",
                    what="first_food",
                    at=feeding.at,
                    until=feeding.at + _FEED,
                    subject=brood.name,
                    other=brood.tank,
                    amounts={"fry": round(course.count(day))},
                    why=(
                        f"By {brood.fry_class.label} figures they eat"
                        f" {(day - brood.anchor_date).days} days after being {brood.anchor} at"
                        f" {course.temperature_c:g} °C;"
                        " look for free-swimming fry from the day before."
                        f" Kept here: {foods or 'none'}."
                    ),
                )


def _supply_tasks(outlook: Outlook) -> Iterator[Task]:
    room, hatches = outlook.room, outlook.feeding.hatches
    if not hatches.tin_short:
        return
    at_h, _ = hatches.tin_short[0]
    by = room.at_hour(at_h)
    shown = [g for h, g in hatches.tin_short if room.at_hour(h) < outlook.until]
    if not shown:
        return
    present = [r for r in outlook.feedings if r.keeper and r.at_h <= at_h - 24.0]
    at = present[-1].at if present else by
    grams = sum(shown)
    yield Task(
        id=f"buy/{BRINE_SHRIMP}_cysts",
        what="buy",
        at=at,
        until=by if by > at else at + _SHORT,
        subject="brine shrimp cysts",
        amounts={"cysts_g": round(grams, 1)},
        why=(
            f"The tin is empty when the hatch of {by:%a %d %b %H:%M} is to be set;"
            f" the hatches until {outlook.until:%d %b} want {grams:.0f} g more."
        ),
    )
