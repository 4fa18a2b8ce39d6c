"""What a plan of all foods costs: cysts, work, and what broods miss; all in grams of cysts.

A J missed costs at a thousandth of a usual round as much as a setting, and less by the day. It
counts by the square of the share of its need that a brood misses, over the choice of one that has
no other food, so the smallest count the most; and a tenth of a J for each J of live food that a
diet wants and something else stands in for (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import Round
from cultures.planning.harvests import HatchPlan
from cultures.planning.hatch_problem import LATER_COUNTS, WORTH_A_SETTING
from cultures.planning.prices import choice_of
from cultures.planning.servings import Served, Serving, Suits
from cultures.planning.shared_tin import work_counts
from cultures.room.room import Room

#: What a J counts of live food that a diet wants and something else stands in for.
_REPLACED = 0.1


@frozen(eq=False)
class WholeCost:
    """What is missed at some rounds costs, and what a setting does.

    Attributes:
        replaced: what a J costs by round that something else stands in for [g/J]. missed: by
            round, of each brood, what a J costs of what it would miss without any food [g/J].
        setting_g: a usual setting.
    """

    replaced: Sequence[float]
    missed: Sequence[Mapping[str, float]]
    setting_g: float

    @classmethod
    def at(
        cls, room: Room, feedings: Sequence[Round], rows: Served, suits: Suits, lacks: float
    ) -> WholeCost:
        """What counts at some rounds.

        Args:
            rows: of these rounds. lacks: the share of nauplii that a tin does not bring that is
                shared out.
        """
        totals_j = [sum([serving.need.energy_j for serving in row]) for row in rows]
        usual_j = sum(totals_j) / max(1, sum(1 for total in totals_j if total > 0.0)) or 1.0
        a_round_g = max(room.effort_g, 1.0) / WORTH_A_SETTING
        replaced, missed, worth = [], [], []
        for feeding, row, total_j in zip(feedings, rows, totals_j, strict=True):
            later = LATER_COUNTS ** ((feeding.at_h - feedings[0].at_h) / 24.0)
            weight = a_round_g / usual_j * later
            urgent = {s.need.brood.name: _urgency(s, feeding.index, suits) for s in row}
            mean = sum([s.need.energy_j * urgent[s.need.brood.name] for s in row]) / (total_j or 1)
            each = {name: weight * one / mean for name, one in urgent.items()}
            replaced.append(_REPLACED * weight)
            missed.append(each)
            if feeding.index >= suits.ripe_from[BRINE_SHRIMP]:
                shrimp = ((s.need.foods.get(BRINE_SHRIMP, 0.0), s.need.brood.name) for s in row)
                worth.append(sum([want * each[name] for want, name in shrimp]))
        worth = [each for each in worth if each > 0.0]
        usual = sum(worth) / len(worth) if worth else 0.0
        work = work_counts(lacks, usual, room.effort_g)
        return cls(replaced, missed, max(room.effort_g, 1e-6) * work)

    def of(self, rows: Served, hatches: HatchPlan) -> float:
        """What servings cost, and the hatches behind them [g]."""
        return self._missed_g(rows) + self._hatched_g(hatches)

    def _missed_g(self, rows: Served) -> float:
        found = 0.0
        for row, replaced, missed in zip(rows, self.replaced, self.missed, strict=True):
            for serving in row:
                need, given_j = serving.need, serving.given_j
                share = 1.0 - sum(given_j.values()) / need.energy_j
                if share > 0.0:
                    found += missed[need.brood.name] * need.energy_j * share * share
                for food, want in need.foods.items():
                    if food != DRY:
                        found += replaced * max(0.0, want - given_j.get(food, 0.0))
        return found

    def _hatched_g(self, plan: HatchPlan) -> float:
        effort = {(lot.option.at_index, lot.option.start_h): lot.option.effort for lot in plan.lots}
        return sum(
            batch.cysts_g + self.setting_g * effort.get((batch.at_index, batch.set_h), 1.0)
            for batch in plan.batches if not (batch.standing or batch.held)
        )  # fmt: skip


def _urgency(serving: Serving, index: int, suits: Suits) -> float:
    need = serving.need
    return 1.0 / choice_of(suits.coming(need, index), need.length_mm)
