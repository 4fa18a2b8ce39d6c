"""One learned quantity, and a culture that gives less than it should; values only."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from attrs import frozen

from cultures.foods.parameters import TENTH_SDS
from cultures.replay.replay import Replayed
from cultures.words.moments import day_text, hours

#: Relative s.d. of one harvest as a reading of what climbed, and of one swipe against
#: another (assumptions).
HARVEST_SD = 0.3
SWIPE_SD = 0.3
#: So many s.d. from its level a single reading is nothing out of the ordinary (assumption).
_ORDINARY_SDS = 2.0
#: A culture is flagged when its last harvests are surely below this share of its curve.
_POOR_SHARE = 0.7
_POOR_DAYS = 10.0


@frozen
class Estimate:
    """One quantity: before, what was seen, after, and what the plan uses.

    Attributes:
        quantity: one of :data:`QUANTITIES`. subject: kind or brood, or "".
        prior, posterior: (middle, low, high); the interval holds eight in ten.
        readings: that were made. seen: their plain middle, or None.
        used: in the plan now. why: in plain words.
    """

    quantity: str
    subject: str
    unit: str
    prior: tuple[float, float, float]
    readings: int
    seen: float | None
    posterior: tuple[float, float, float]
    used: float
    learned: bool
    why: str

    def of_one(self, spread: float) -> tuple[float, float]:
        """Between what a single one is nothing out of the ordinary, by what was learned.

        Args:
            spread: by how much single ones differ from their level, relative s.d.
        """
        _, low, high = self.posterior
        sds = _ORDINARY_SDS * math.hypot(math.log(high / low) / (2.0 * TENTH_SDS), spread)
        return self.used * math.exp(-sds), self.used * math.exp(sds)

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "quantity": self.quantity, "subject": self.subject, "unit": self.unit,
            "prior": three(self.prior),
            "data": {"readings": self.readings,
                     "value": None if self.seen is None else float(f"{self.seen:.6g}")},
            "posterior": three(self.posterior), "used": float(f"{self.used:.6g}"),
            "learned": self.learned, "why": self.why,
        }  # fmt: skip


def three(values: tuple[float, float, float]) -> dict[str, float]:
    """A value and its interval, for other programs."""
    names = ("value", "low", "high")
    return {name: float(f"{value:.6g}") for name, value in zip(names, values, strict=True)}


def poor_cultures(replayed: Replayed, now: datetime) -> Iterator[str]:
    """Cultures whose last harvests are clearly less than their own curve says."""
    room = replayed.room
    for culture in room.cultures:
        rows = [
            y for y in replayed.seen.yields
            if y.culture == culture.name and not y.at_least
            and hours(now) - y.at_h <= _POOR_DAYS * 24.0
        ][-3:]  # fmt: skip
        if len(rows) < 2:
            continue
        logs = [math.log(max(y.taken_mg, 1e-3 * y.expected_mg) / y.expected_mg) for y in rows]
        upper = sum(logs) / len(logs) + TENTH_SDS * HARVEST_SD / math.sqrt(len(logs))
        if upper < math.log(_POOR_SHARE):
            given = " and ".join(
                f"{y.taken_mg:.0f} of {y.expected_mg:.0f} mg on {day_text(room.at_hour(y.at_h))}"
                for y in rows
            )
            yield f"{culture.name} gave {given}: likely souring early; split from another culture."
