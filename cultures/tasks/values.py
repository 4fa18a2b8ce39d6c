"""What a plan is made of: tasks, feeding lines, shortfalls. Values only, no planning.

The JSON that the command line prints is made here, so that every reader sees one contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any, Literal

from attrs import frozen

What = Literal[
    "first_food", "set_hatch", "harvest_hatch", "soak", "harvest_worms", "split", "start", "feed",
    "retire", "count", "sort", "lid", "move_on", "switch_food", "buy",
]  # fmt: skip

#: A round, and any other task, is still in hand for so long after its time.
LATE = timedelta(hours=2)

#: Order of tasks that fall on one moment: the order in which they are done.
ORDER: Mapping[str, int] = {
    what: i
    for i, what in enumerate(
        ("first_food", "switch_food", "buy", "harvest_hatch", "soak", "harvest_worms", "feed",
         "split", "start", "set_hatch", "retire", "count", "sort", "lid", "move_on")
    )
}  # fmt: skip


@frozen
class Task:
    """One thing to do.

    Attributes:
        id: stable for the same intention: it does not change when the task moves in time.
        what: kind of task.
        at, until: when to begin and when it is done, aware, in the room's zone.
        subject: what it is done to: a vessel, culture, brood, round or supply.
        other: what it makes or needs besides (the new culture of a split), or "".
        amounts: numbers by name with the unit in the name (``cysts_g``, ``water_l``).
        why: one plain sentence with the numbers behind it.
        caution: shown with the step, or "".
    """

    id: str
    what: What
    at: datetime
    until: datetime
    subject: str
    amounts: Mapping[str, float]
    why: str
    caution: str = ""
    other: str = ""

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {
            "id": self.id, "what": self.what,
            "at": self.at.isoformat(),
            "until": self.until.astimezone(UTC).astimezone(self.until.tzinfo).isoformat(),
            "subject": self.subject, "other": self.other,
            "amounts": {k: tidy(v) for k, v in self.amounts.items()},
            "why": self.why, "caution": self.caution,
        }  # fmt: skip


@frozen
class FeedLine:
    """One food for one brood at one round.

    Attributes:
        need_j: energy this food should bring by the ideal diet [J].
        given_j: energy that the plan gives with it [J].
        amount, unit: what the keeper measures.
    """

    at: datetime
    tank: str
    brood: str
    food: str
    need_j: float
    given_j: float
    amount: float
    unit: str

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {
            "at": self.at.isoformat(), "tank": self.tank, "brood": self.brood, "food": self.food,
            "need_j": tidy(self.need_j), "given_j": tidy(self.given_j),
            "amount": tidy(self.amount), "unit": self.unit,
        }  # fmt: skip


@frozen
class Draw:
    """What one harvest of nauplii gives to one round.

    Attributes:
        vessel: where it was hatched. harvested: when, in the room's zone.
        jar_ml: what the harvest was made up to, or None when all of it goes into one round.
        take_ml: out of the jar. part: of the whole harvest that is.
    """

    vessel: str
    harvested: datetime
    jar_ml: float | None
    take_ml: float
    part: float = 1.0


@frozen
class ToldTask:
    """A task as a person was told it.

    Attributes:
        told_at: when it was told so. round_at: the round that it belongs to, or None.
        opens, closes: an entry about its subject in this time is about it.
        lines, draws: of a feeding, tank by tank, and where its nauplii come from.
        kind: of the worms that it is about, or "". harvest_at: of a setting, when its hatch is
            to be drawn off. by: the screen that told it.
    """

    task: Task
    told_at: datetime
    opens: datetime
    closes: datetime
    round_at: datetime | None = None
    lines: tuple[FeedLine, ...] = ()
    draws: tuple[Draw, ...] = ()
    kind: str = ""
    harvest_at: datetime | None = None
    by: str = ""

    @property
    def over_at(self) -> datetime:
        """When it is over: from then on it is taken as done unless something else is noted."""
        return (self.round_at or self.task.at) + LATE


@frozen
class Remedy:
    """Something that would still help, and the latest moment at which it does.

    Attributes:
        what: plain words. by: latest time to act.
        effect_j: how much less would be missing [J], as tried in the model.
    """

    what: str
    by: datetime
    effect_j: float

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {"what": self.what, "by": self.by.isoformat(), "effect_j": tidy(self.effect_j)}


@frozen
class Shortfall:
    """Rounds in a row at which a food cannot cover the need.

    Attributes:
        at, until: first and last round. rounds: how many.
        food: the food that is missing, or ``any`` where no kept food fits the mouth.
        need_j, short_j: over those rounds, after all substitution [J].
        tanks: who goes short. cause: plain words. remedies: best first.
        probability: that some round of it is short, None where it was not worked out.
        thin: the plan covers it, but a usual mishap would not leave enough; ``short_j`` is
            then what is missing on average.
    """

    at: datetime
    until: datetime
    rounds: int
    food: str
    need_j: float
    short_j: float
    tanks: tuple[str, ...]
    cause: str
    remedies: tuple[Remedy, ...] = ()
    probability: float | None = None
    thin: bool = False

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {
            "at": self.at.isoformat(), "until": self.until.isoformat(), "rounds": self.rounds,
            "food": self.food, "need_j": tidy(self.need_j), "short_j": tidy(self.short_j),
            "tanks": list(self.tanks), "cause": self.cause,
            "remedies": [remedy.to_json() for remedy in self.remedies],
            "probability": None if self.probability is None else tidy(self.probability),
            "thin": self.thin,
        }  # fmt: skip


@frozen
class Supply:
    """Supply against need of one food on one day, for charts and tables.

    Attributes:
        day: local date as text. need_j: by the ideal diet. given_j: by the plan.
    """

    day: str
    food: str
    need_j: float
    given_j: float


@frozen
class SupplyUse:
    """What is used of a supply.

    Attributes:
        item: ``cysts``, ``salt``, ``dry`` or ``medium``. weeks_g: used in each week from now
            on [g]. stock_g: in stock now, None where the room file does not say [g].
        buy_by: the day by which more is to be bought, None when it lasts or is not known.
    """

    item: str
    weeks_g: tuple[float, ...]
    stock_g: float | None
    buy_by: date | None

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "item": self.item,
            "weeks_g": [tidy(g) for g in self.weeks_g],
            "stock_g": None if self.stock_g is None else tidy(self.stock_g),
            "buy_by": None if self.buy_by is None else self.buy_by.isoformat(),
        }


@frozen
class CultureSpan:
    """A culture, standing or planned: from when it gives until when it is spent."""

    name: str
    kind: str
    started: datetime
    usable_from: datetime | None
    spent_on: datetime | None

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "name": self.name, "kind": self.kind, "started": self.started.isoformat(),
            "usable_from": self.usable_from.isoformat() if self.usable_from else None,
            "spent_on": self.spent_on.isoformat() if self.spent_on else None,
        }  # fmt: skip


@frozen
class Plan:
    """Everything that is to be done from one moment on.

    Attributes:
        room: its name. start, end: the time covered.
        tasks: by time. lines: feeding table in the order of the rounds and tanks.
        shortfalls: by time. cost: hatches, splits, cysts_g, medium_g.
        notes: remarks for the keeper that are no task (a slow temperature, an old file).
        supply: need and supply by food and day. supplies: what is used up.
        cultures: standing and planned.
    """

    room: str
    start: datetime
    end: datetime
    tasks: tuple[Task, ...]
    lines: tuple[FeedLine, ...]
    shortfalls: tuple[Shortfall, ...]
    cost: Mapping[str, float]
    notes: tuple[str, ...] = ()
    supply: tuple[Supply, ...] = ()
    supplies: tuple[SupplyUse, ...] = ()
    cultures: tuple[CultureSpan, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {
            "room": self.room,
            "from": self.start.isoformat(),
            "to": self.end.isoformat(),
            "tasks": [task.to_json() for task in self.tasks],
            "rounds": [line.to_json() for line in self.lines],
            "shortfalls": [shortfall.to_json() for shortfall in self.shortfalls],
            "cost": {k: tidy(v) for k, v in self.cost.items()},
            "notes": list(self.notes),
            "supply": [
                {"day": s.day, "food": s.food, "need_j": tidy(s.need_j), "given_j": tidy(s.given_j)}
                for s in self.supply
            ],
            "supplies": [use.to_json() for use in self.supplies],
            "cultures": [span.to_json() for span in self.cultures],
        }


def tidy(value: float) -> float:
    """A number for output: six significant digits, whole numbers without a point."""
    if isinstance(value, int):
        return value
    rounded = float(f"{value:.6g}")
    return int(rounded) if rounded == int(rounded) and abs(rounded) < 1e15 else rounded
