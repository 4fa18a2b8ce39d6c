"""Tasks of worm cultures: split, start, retire, harvest, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from cultures.planning.outlook import Outlook
from cultures.planning.task_ids import SHORT, SPLIT
from cultures.planning.worm_course import Split as PlannedSplit
from cultures.tasks.task import HarvestWorms, Retire, Split, Start, Task, stamp
from cultures.words.moments import spoken_day
from cultures.words.quantities import many

#: A culture harvested so soon after it is ripe was started for that harvest.
_SOON = timedelta(days=3)
#: What was noted of a culture is said to who opens it for so long.
_REMARKED = timedelta(days=14)


def worm_tasks(outlook: Outlook) -> Iterator[Task]:
    """Splits, starts, ends and harvests of cultures."""
    for name in sorted(outlook.feeding.worms):
        plan = outlook.feeding.worms[name]
        kind = plan.kind
        stages = {s.culture.name: s for s in plan.stages}
        for split in plan.splits:
            yield _split_task(outlook, split)
        for stage in plan.stages:
            if stage.spent_from < len(outlook.feedings):
                at = outlook.keeper_round(stage.spent_from)
                if at is not None:
                    yield Retire(
                        id=f"retire/{stage.culture.name}",
                        at=at.at,
                        until=at.at + SHORT,
                        subject=stage.culture.name,
                        why=(
                            "It carries less than"
                            f" {kind.values['retire_share']:.0%} of the worms it did:"
                            " bin it closed, wash the box."
                        ),
                        caution=kind.cautions[0] if kind.cautions else "",
                        spawns=_spawns(outlook, stage.culture.name),
                    )
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


def _remarked(outlook: Outlook, culture: str) -> str:
    """What was noted of a culture of late, for who opens it."""
    for at, text in outlook.room.remarks.get(culture, ())[-1:]:
        if outlook.now - at < _REMARKED:
            return f" You noted on {spoken_day(at, outlook.now)}: {text.rstrip('.')}."
    return ""


def _split_task(outlook: Outlook, split: PlannedSplit) -> Task:
    feeding = outlook.feedings[split.at_index]
    kind = split.culture.kind
    form = Split if split.parent else Start
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
    today = outlook.now.date()
    usable = plan.course.usable_from.get(split.culture.name)
    ripe = outlook.feedings[usable].at.date() if usable is not None else None
    reason = f"Keeps {outlook.room.spare_cultures} {kind.label} cultures going"
    if first is not None and ripe is not None and first.date() - ripe <= _SOON:
        reason = f"{split.culture.name} will first be harvested on {spoken_day(first, today)}"
    elif ripe is not None:
        reason += f": {split.culture.name} is ripe from {spoken_day(ripe, today)}"
        if first is not None:
            reason += f" and first needed on {spoken_day(first, today)}"
    spawns = _spawns(outlook, split.culture.name)
    if spawns:
        reason = _hoped(outlook, split.culture.name, ripe)
    ends = f", and good until about {spoken_day(spent, today)}" if spent else ""
    parent = next((s for s in plan.stages if s.culture.name == split.parent), None)
    risk = ""
    if parent is not None and parent.rank_at(split.at_index) == 2:
        risk = (
            f" {split.parent} is souring already, so the starter may fail: keep it until"
            f" {split.culture.name} gives worms."
        )
    recipe = kind.recipe_of(split.culture.medium_g, split.culture.surface_cm2)
    return form(
        id=f"{form.what}/{split.culture.name}",
        at=feeding.at,
        until=feeding.at + SPLIT,
        subject=split.parent or split.culture.name,
        other=split.culture.name,
        starter_g=split.culture.starter_g,
        medium_g=split.culture.medium_g,
        surface_cm2=split.culture.surface_cm2 or None,
        onto=kind.on.label if kind.on is not None else "",
        why=f"{reason}{ends}.{risk}{_remarked(outlook, split.parent)} Medium: {recipe}.",
        caution=" ".join(kind.cautions),
        spawns=spawns,
    )


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
