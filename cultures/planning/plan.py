"""The plan: needs, foods, tasks, shortfalls, from one moment on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from cultures.planning.build import build_tasks
from cultures.planning.notes import notes_of, stopped_foods
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.remedies import find_remedies
from cultures.planning.shortfalls import UNMEASURED, Hunger, Limits, begun_gaps, find_lacks
from cultures.planning.supplies import supply_uses
from cultures.room.room import Room
from cultures.tasks.plan import Certainty, Plan, Shortfall
from cultures.tasks.task import SetHatch, Split, Start, Task


def plan_of(outlook: Outlook, *, remedies: bool = True, risk: bool = False) -> Plan:
    """The plan from ``now`` on.

    Args:
        remedies: try what would still help. risk: work out how likely each shortfall is, and
            add what is covered by a thin margin only.
    """
    limits = Limits(outlook.room, outlook.feeding, outlook.now)
    lacks = find_lacks(outlook, limits)
    gaps = [gap for lack in lacks if lack.limit != UNMEASURED for gap in lack.gaps]
    hunger = Hunger(outlook.room, outlook.feedings, [*begun_gaps(outlook), *gaps])
    helps = find_remedies(outlook, limits, lacks, hunger) if remedies else [()] * len(lacks)
    found = [
        lack.shortfall(outlook.room, limits, what, hunger)
        for lack, what in zip(lacks, helps, strict=True)
    ]
    shortfalls = tuple(sorted(found, key=lambda s: (s.at, s.food)))
    certainty = None
    if risk:
        short = [days for lack in lacks for days in lack.days()]
        shortfalls, certainty = _with_risk(outlook, shortfalls, short)
    if outlook.hopes is not None:
        from cultures.planning.hoped_short import hoped_shortfalls

        shortfalls = (*shortfalls, *hoped_shortfalls(outlook, remedies=remedies))
    tasks = tuple(t for t in tasks_of(outlook) if t.at < outlook.until)
    made = [t for t in tasks if isinstance(t, Split | Start)]
    sets = [t for t in tasks if isinstance(t, SetHatch)]
    stops, doubt = tuple(stopped_foods(outlook)), outlook.room.tin_doubt
    return Plan(
        room=outlook.room.name,
        start=outlook.now,
        end=outlook.until,
        tasks=tasks,
        lines=tuple(line for at, row in outlook.rows() if at < outlook.until for line in row),
        shortfalls=shortfalls,
        cost={
            "hatches": len(sets),
            "splits": len(made),
            "cysts_g": sum(t.cysts_g for t in sets),
            "medium_g": sum(t.medium_g for t in made),
        },
        notes=notes_of(outlook, stops),
        stops=stops,
        supply=tuple(outlook.supply()),
        supplies=supply_uses(outlook),
        cultures=outlook.cultures(),
        certainty=certainty,
        doubted=doubt.planned if doubt is not None and doubt.serious else None,
    )


def tasks_of(outlook: Outlook) -> tuple[Task, ...]:
    """All tasks by time, what is in hand first among them; built once."""
    if outlook.built is None:
        outlook.built = build_tasks(outlook)
    return outlook.built


def make_plan(
    room: Room,
    *,
    now: datetime,
    days: int | None = None,
    remedies: bool = True,
    risk: bool = False,
) -> Plan:
    """The plan of a room from a moment on; see :func:`make_outlook`.

    Raises:
        RangeError: a brood whose eggs never develop.
    """
    return plan_of(make_outlook(room, now=now, days=days), remedies=remedies, risk=risk)


def _with_risk(
    outlook: Outlook, shortfalls: tuple[Shortfall, ...],
    short: Sequence[tuple[datetime, datetime]],
) -> tuple[tuple[Shortfall, ...], Certainty]:  # fmt: skip
    """The shortfalls with their probability, those that the plan avoids by little, and how sure it
    is in all.
    """
    from cultures.planning.risk import chances, thin_spells, with_probability

    all_told = chances(outlook)
    risks = all_told.rounds
    found = list(with_probability(shortfalls, risks))
    lines = [line for row in outlook.lines for line in row]
    doubt = outlook.room.tin_doubt
    bad_tin = doubt is not None and doubt.serious
    mishap = "a tin as bad as it seems" if bad_tin else "a poor yield or a crash"
    for spell in thin_spells(risks, shortfalls, short):
        worst = max(spell, key=lambda r: r.probability)
        fed = [line for line in lines if spell[0].at <= line.at <= spell[-1].at]
        inside = [line for line in fed if line.food == worst.food and line.amount > 0] or fed
        found.append(
            Shortfall(
                at=spell[0].at,
                until=spell[-1].at,
                rounds=len(spell),
                food=worst.food,
                need_j=sum(line.need_j for line in inside),
                short_j=sum(r.expected_short_j for r in spell),
                tanks=tuple(dict.fromkeys(line.tank for line in inside)),
                cause=(
                    f"enough is planned, but {mishap} leaves a round short in"
                    f" {worst.probability:.0%} (± {worst.error:.0%}) of trials"
                ),
                probability=worst.probability,
                thin=True,
            )
        )
    ordered = tuple(sorted(found, key=lambda s: (s.at, s.food)))
    return ordered, all_told.certainty
