"""The search for the cheapest batches: labels carried backwards from the last round.

A label is what later rounds still want from earlier batches. Of two labels with the same vessels
free, one that costs no more and wants no more makes the other needless. The uncapacitated
problem, solved forwards first, bounds what the remaining rounds must cost.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from attrs import define, field

from cultures.planning.lot_choices import FIRST_VESSELS, Ways, choices_of
from cultures.planning.lots import Lot, LotPlan, LotProblem, Option, Pantry, by_round, priced

EPS = 1e-9
#: Costs, and what is wanted in all, so near to each other are the same.
_LEVEL = 1e-12
#: (round, amount) wanted, latest round first, in energy of round 0.
_Wants = tuple[tuple[int, float], ...]


@define(eq=False)
class _Label:
    """What later rounds still want from batches not yet chosen.

    Attributes:
        index: round before which batches are still open. cost: so far.
        total: of all that is wanted.
        free: for each vessel the last usable round.
        made: batches chosen at this step.
    """

    index: int
    cost: float
    wants: _Wants
    total: float
    free: tuple[int, ...]
    made: tuple[tuple[Option, float], ...] = ()
    parent: _Label | None = field(default=None, repr=False)


class _Rest(NamedTuple):
    """What is still wanted before a round, that in all, and the cost of each that goes short."""

    wants: _Wants
    total: float
    late: Sequence[float]


class Search:
    """Everything that is fixed while labels of one problem are carried back.

    Attributes:
        choices: the batches, and which of them may be harvested together.
        lower: least cost of the first k rounds alone, by k; the last bounds every plan.
        cut: labels were dropped for want of room.
    """

    def __init__(self, problem: LotProblem) -> None:
        self.p = problem
        self.choices = choices_of(problem)
        count, self.scale = len(problem.demand), self.choices.scale
        #: For each round the last one that a harvest at it may still be given at.
        self.reach = [
            max(t for t in range(i, count) if problem.oldest[t] <= i) for i in range(count)
        ]
        self.best_energy = [
            max((o.energy_per_g for o in options), default=0.0) for options in self.choices.at
        ]
        #: The same in energy of round 0.
        self.best_scaled = [
            energy / share for energy, share in zip(self.best_energy, self.scale, strict=True)
        ]
        self.lower, self.cheapest = self._lower_bounds()
        #: What one unit of round-0 energy costs at least where it stays unmet.
        self.unmet_cost = [
            min(problem.short_cost[t] * self.scale[t] for t in range(i, self.reach[i] + 1))
            for i in range(count)
        ]
        self.comes = self._comes_before()
        self.left = self._left_over()
        self.cut = False

    def _lower_bounds(self) -> tuple[list[float], list[float]]:
        """lower[k]: least cost of the first k rounds alone, with vessels without limit.

        cheapest[k]: least cost of one unit of round-0 energy made in the first k rounds.
        """
        p, scale = self.p, self.scale
        count = len(p.demand)
        supply = list(p.supply) or [0.0] * count
        free_until = -1  # rounds that a standing batch might cover cost nothing in the bound
        lower = [0.0] * (count + 1)
        cheapest = [math.inf] * (count + 1)
        least = [min((o.effort for o in options), default=math.inf) for options in self.choices.at]
        unit = [
            p.gram_cost / (energy / scale[i]) if energy > 0 else math.inf
            for i, energy in enumerate(self.best_energy)
        ]
        for k in range(1, count + 1):
            t = k - 1
            cheapest[k] = min(cheapest[k - 1], unit[t])
            if supply[t] > 0:
                free_until = max([free_until, *(r for r in range(t, count) if p.oldest[r] <= t)])
            wanted = p.demand[t] / scale[t]
            if wanted <= 0 or t <= free_until:
                lower[k] = lower[k - 1]
                continue
            best = lower[k - 1] + p.short_cost[t] * p.demand[t]
            amount = 0.0
            for first in range(t, p.oldest[t] - 1, -1):
                amount += p.demand[first] / scale[first] if first > free_until else 0.0
                price = min(unit[p.oldest[t] : first + 1], default=math.inf)
                if price < math.inf:
                    effort = min(least[p.oldest[t] : first + 1])
                    best = min(best, lower[first] + p.setup_cost * effort + price * amount)
            lower[k] = best
        return lower, cheapest

    def _comes_before(self) -> list[float]:
        """For each round what comes anyway before it and may still be fed at it or later."""
        comes = [0.0] * (len(self.p.demand) + 1)
        for k, energy in enumerate(self.p.supply):
            if energy > 0:
                for index in range(k + 1, self.reach[k] + 1):
                    comes[index] += energy / self.scale[k]
        return comes

    def run(self, width: int, most: float) -> _Label | None:
        """Carries the labels back to the first round; the best of those that are left.

        Args:
            most: what some plan costs; None is returned where no label costs less.
        """
        count, most = len(self.p.demand), most * (1 + FIRST_VESSELS) + FIRST_VESSELS
        labels = [_Label(count, 0.0, (), 0.0, (count - 1,) * self.choices.vessels)]
        for index in range(count - 1, -1, -1):
            found: dict[tuple[int, ...], list[_Label]] = {}
            ways: dict[tuple[int, ...], Ways] = {}
            for label in labels:
                if label.free not in ways:
                    ways[label.free] = self.choices.ways(label.free, index)
                for new in self._extend(label, index, ways[label.free]):
                    if self._bound(new, index) <= most:
                        _keep(found.setdefault(new.free, []), new)
            labels = [label for group in found.values() for label in group]
            if len(labels) > width:
                self.cut = True
                labels.sort(key=lambda label: self._bound(label, index))
                del labels[width:]
        return min(labels, key=lambda label: label.cost, default=None)

    def _bound(self, label: _Label, index: int) -> float:
        wanted = label.total - self.comes[index]
        least = label.cost + self.lower[index]
        if wanted <= 0:
            return least
        return least + wanted * min(self.cheapest[index], self.unmet_cost[index])

    def _extend(self, label: _Label, index: int, ways: Ways) -> list[_Label]:
        """What may come of a label at a round, with nothing harvested there first.

        Args:
            ways: what may be harvested with the vessels that the label has free.
        """
        p, scale = self.p, self.scale[index]
        wants = label.wants
        if p.demand[index] > 0:
            wants = (*wants, (index, p.demand[index] / scale))
        if p.supply and p.supply[index] > 0:
            wants = _serve(wants, p.supply[index] / scale)
        total = sum([amount for _, amount in wants])
        results = [self._closed(label, index, self._rest(wants, index), 0.0, (), ways.free)]
        if total <= 0:
            return results
        targets = self._targets(wants, total, index)
        rests: dict[float, _Rest] = {}  # most choices bring just what is wanted
        for steps, after in ways.choices:
            for target in targets:
                left, cost, made = target, 0.0, []
                for option, energy, effort_cost in steps:
                    grams = min(option.most_g, left / energy)
                    if grams <= 1e-12:
                        break
                    made.append((option, grams))
                    left = max(0.0, left - grams * energy)
                    cost += effort_cost + p.gram_cost * grams
                else:
                    rest = rests.get(target - left)
                    if rest is None:
                        rest = self._rest(_serve(wants, target - left), index)
                        rests[target - left] = rest
                    results.append(self._closed(label, index, rest, cost, tuple(made), after))
        return results

    def _targets(self, wants: _Wants, total: float, index: int) -> list[float]:
        """How much to make: all that is wanted, or less where earlier energy is cheaper or free."""
        targets = [total]
        left_over = sum(
            min(left, sum(a for t, a in wants if self.p.oldest[t] <= k))
            for k, left in self.left[index]
        )
        if 0 < left_over < total:
            targets.append(total - left_over)
        low = self.p.oldest[wants[-1][0]]
        here = self.best_scaled[index] * (1 + EPS)
        if max(self.best_scaled[low:index], default=0.0) > here:
            running = 0.0
            for _, amount in wants[:-1]:
                running += amount
                targets.append(running)
        return targets

    def _left_over(self) -> list[list[tuple[int, float]]]:
        """For each round (round of coming, energy of round 0) of what comes anyway and was not
        eaten before it, if nothing else is fed."""
        pantry, left = Pantry(self.p), []
        for t, wanted in enumerate(self.p.demand):
            left.append([(int(k), energy / self.scale[t]) for k, energy in pantry.stock])
            pantry.feed(t, wanted, self.p.supply[t] if self.p.supply else 0.0)
        return left

    def _rest(self, wants: _Wants, index: int) -> _Rest:
        """What is still wanted before this round; what is too late by then is short."""
        oldest, late = self.p.oldest, []
        while wants and oldest[wants[0][0]] >= index:
            at, amount = wants[0]
            late.append(self.p.short_cost[at] * amount * self.scale[at])
            wants = wants[1:]
        return _Rest(wants, sum([amount for _, amount in wants]), late)

    def _closed(
        self, label: _Label, index: int, rest: _Rest, cost: float,
        made: tuple[tuple[Option, float], ...], free: tuple[int, ...],
    ) -> _Label:  # fmt: skip
        """The label before this round, with what was made and what it leaves."""
        for late in rest.late:
            cost += late
        return _Label(index, label.cost + cost, rest.wants, rest.total, free, made, label)

    def plan_of(self, label: _Label, bound: float) -> LotPlan:
        """The plan that a label of the first round stands for, at its true cost."""
        lots: list[Lot] = []
        step: _Label | None = label
        while step is not None:
            lots.extend(Lot(option, grams) for option, grams in step.made)
            step = step.parent
        return priced(self.p, self._named(lots), bound)

    def _named(self, lots: list[Lot]) -> list[Lot]:
        """Gives each batch a vessel of its own among the twins, the first that is free."""
        twins = self.choices.twins
        if not self.choices.has_twins:
            return sorted(lots, key=by_round)
        lots = sorted(lots, key=lambda lot: (lot.option.start_h, lot.option.vessel))
        free_h = [-math.inf] * self.choices.vessels
        option_of = {(o.vessel, o.at_index, o.start_h): o for o in self.p.options}
        named = []
        for lot in lots:
            twin = twins[lot.option.vessel]
            option = next(
                option_of[v, lot.option.at_index, lot.option.start_h]
                for v in range(self.choices.vessels)
                if twins[v] == twin and free_h[v] <= lot.option.start_h + 1e-9
            )
            free_h[option.vessel] = option.end_h
            named.append(Lot(option, lot.grams))
        return sorted(named, key=by_round)


def _serve(wants: _Wants, amount: float) -> _Wants:
    """Meets wants with an amount, the latest round first, since it can wait least."""
    rest = []
    for index, wanted in wants:
        used = min(wanted, amount)
        amount -= used
        if wanted - used > 1e-12 * max(1.0, wanted):
            rest.append((index, wanted - used))
    return tuple(rest)


def _keep(group: list[_Label], new: _Label) -> None:
    """Adds a label to a group unless one there is as good; drops those it makes needless."""
    cost, most = new.cost + _LEVEL, new.total + _LEVEL * max(1.0, new.total)
    for old in group:
        if old.cost <= cost and old.total <= most and _wants_no_more(old, new):
            return
    cost, total = new.cost - _LEVEL, new.total
    group[:] = [
        old for old in group
        if old.cost < cost
        or total > old.total + _LEVEL * max(1.0, old.total)
        or not _wants_no_more(new, old)
    ]  # fmt: skip
    group.append(new)


def _wants_no_more(one: _Label, other: _Label) -> bool:
    """Whether one label, which asks for no more in all, asks for no more by every deadline."""
    if not one.wants:
        return True
    theirs = iter(other.wants)
    current = next(theirs, None)
    mine_sum = theirs_sum = 0.0
    for index, amount in one.wants:
        mine_sum += amount
        while current is not None and current[0] >= index:
            theirs_sum += current[1]
            current = next(theirs, None)
        if mine_sum > theirs_sum + 1e-9 * max(1.0, theirs_sum):
            return False
    return True
