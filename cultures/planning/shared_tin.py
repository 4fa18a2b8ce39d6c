"""A tin that does not last: what work counts beside it.

With a tin that lasts a setting is worth a thousandth of a round: nobody goes short to save work.
Beside one that does not somebody goes short whatever is set, and one setting more brings but a
little more of the same tin. So there it must bring a tenth of a usual round of nauplii besides, at
what food is worth where so much of it is missing: by the square of the share that is missing, twice
that share. What is missing is reckoned from the diets, with a hatch a day. It is small against what
a brood misses that has nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cultures.planning.lots import LotProblem

#: The part of a usual round of nauplii that a setting must bring where the tin does not last
#: (common practice, no source).
_PART_OF_A_ROUND = 0.1
#: A gram costs no more than this share of what it costs to go without it.
_MOST = 0.5


def lacking(
    problem: LotProblem, diet_j: Sequence[float], there_j: float, tin_g: float, per_day: int,
    since: int | None = None,
) -> float:  # fmt: skip
    """The share of the nauplii of all diets that a tin does not bring with a hatch a day, held for
    the rounds of that day.

    Args:
        diet_j, there_j, tin_g, per_day: see :func:`gram_counts`. since: the first round with
            nauplii, where that is not the first for which a hatch may be set.
    """
    best_j = max((option.energy_per_g for option in problem.options), default=0.0)
    begin = min((option.at_index for option in problem.options), default=0)
    wanted_j = sum(diet_j[begin if since is None else since :])
    if not wanted_j:
        return 0.0
    day = [math.prod(problem.decay[begin : begin + k]) for k in range(per_day)]
    return max(0.0, 1.0 - (tin_g * best_j * sum(day) / per_day + there_j) / wanted_j)


def work_counts(lacks: float, usual: float, effort_g: float) -> float:
    """How many times its work a setting counts.

    Args:
        lacks: see :func:`lacking`. usual: what a round without any nauplii costs [g].
    """
    return 1.0 + 2.0 * lacks * _PART_OF_A_ROUND * usual / max(effort_g, 1.0)


def gram_counts(
    problem: LotProblem, diet_j: Sequence[float], there_j: float, tin_g: float, per_day: int,
    effort_g: float,
) -> float:  # fmt: skip
    """What a gram of a tin that does not last costs beside a setting at its usual cost.

    Args:
        diet_j: what diets want of nauplii at the rounds that the tin is for. there_j: what is held
            or stands of that. per_day: rounds. effort_g: work of a setting.
    """
    best_j = max((option.energy_per_g for option in problem.options), default=0.0)
    begin = min((option.at_index for option in problem.options), default=0)
    if not sum(diet_j[begin:]):
        return problem.gram_cost
    lacks = lacking(problem, diet_j, there_j, tin_g, per_day)
    costs = [want * cost for want, cost in zip(diet_j, problem.short_cost, strict=False)][begin:]
    usual = sum(costs) / sum(1 for cost in costs if cost > 0.0)
    work = work_counts(lacks, usual, effort_g)
    without = best_j * min(problem.short_cost)
    return max(problem.gram_cost, min(_MOST, 2.0 * lacks / work) * without)
