"""The search for the cheapest batches: labels carried backwards from the last round.

A label is what later rounds still want from earlier batches. Of two labels with the same vessels
free, one that costs no more and wants no more makes the other needless. The uncapacitated
problem, solved forwards first, bounds what the remaining rounds must cost.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import combinations_with_replacement
from typing import NamedTuple

from attrs import define, field

from cultures.planning.lots import (
    Lot,
    LotPlan,
    LotProblem,
    Option,
    Pantry,
    by_round,
    priced,
)

EPS = 1e-9
#: Costs, and what is wanted in all, so near to each other are the same.
_LEVEL = 1e-12
#: Of vessels that do as well the first is taken, so that a plan made later takes the same.
_FIRST_VESSELS = 1e-7
#: So many batches at most are harvested at one round here.
_AT_ONCE = 3


@define(eq=False)
class _Label:
    """What later rounds still want from batches not yet chosen.

    Attributes:
        index: round before which batches are still open. cost: so far.
        wants: (round, amount) wanted, latest round first, in energy of round 0; total: their sum.
        free: for each vessel the last usable round.
        made: batches chosen at this step.
    """

    index: int
    cost: float
    wants: tuple[tuple[int, float], ...]
    total: float
    free: tuple[int, ...]
    made: tuple[tuple[Option, float], ...] = ()
    parent: _Label | None = field(default=None, repr=False)


class _Choice(NamedTuple):
    """Batches harvested at a round: (batch, energy of round 0 per gram, cost of its work) of each;
    and for each vessel taken the last round at which it can be harvested before.
    """

    steps: tuple[tuple[Option, float, float], ...]
    taken: Mapping[int, int]


class Search:
    """Everything that is fixed while labels of one problem are carried back.

    Attributes:
        lower: least cost of the first k rounds alone, by k; the last bounds every plan.
        unlike: how many vessels differ. cut: labels were dropped for want of room.
    """

    def __init__(self, problem: LotProblem) -> None:
        self.p = problem
        count = len(problem.demand)
        # Amounts are compared in energy of round 0: an amount of round r divided by scale[r].
        self.scale = [1.0]
        for share in problem.decay[: count - 1]:
            self.scale.append(self.scale[-1] * share)
        self.at: list[list[Option]] = [[] for _ in range(count)]
        for option in problem.options:
            if option.most_g > 0 and option.energy_per_g > 0:
                self.at[option.at_index].append(option)
        for options in self.at:
            options.sort(key=_best_first)
        self.vessels = 1 + max((o.vessel for o in problem.options), default=-1)
        self.before = self._rounds_before()
        #: For each round the last one that a harvest at it may still be given at.
        self.reach = [
            max(t for t in range(i, count) if problem.oldest[t] <= i) for i in range(count)
        ]
        self.twins = self._twins()
        self.unlike = len(set(self.twins))
        self.has_twins = self.unlike < self.vessels
        self.best_energy = [
            max((o.energy_per_g for o in options), default=0.0) for options in self.at
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
        self.choices: dict[tuple[int, tuple[bool, ...]], list[_Choice]] = {}

    def _twins(self) -> list[int]:
        """For each vessel the first vessel that can do exactly the same."""
        signatures: dict[tuple[tuple[float, ...], ...], int] = {}
        twins = []
        for vessel in range(self.vessels):
            mine = sorted(
                (o.at_index, o.start_h, o.end_h, o.energy_per_g, o.most_g, o.effort)
                for o in self.p.options
                if o.vessel == vessel
            )
            twins.append(signatures.setdefault(tuple(mine), vessel))
        return twins

    def _twins_in_order(self, free: tuple[int, ...]) -> tuple[int, ...]:
        """Twin vessels by when they are free, so that labels that differ in names only meet."""
        groups: dict[int, list[int]] = {}
        for vessel, twin in enumerate(self.twins):
            groups.setdefault(twin, []).append(free[vessel])
        for group in groups.values():
            group.sort()
        return tuple(groups[twin].pop() for twin in self.twins)

    def _rounds_before(self) -> dict[Option, int]:
        """For each option the last round at which its vessel can be harvested before it."""
        by_vessel: dict[int, list[Option]] = {}
        for option in self.p.options:
            by_vessel.setdefault(option.vessel, []).append(option)
        before: dict[Option, int] = {}
        for options in by_vessel.values():
            options.sort(key=lambda o: o.at_index)
            for i, option in enumerate(options):
                j = i - 1
                while j >= 0 and options[j].end_h > option.start_h + 1e-9:
                    j -= 1
                before[option] = options[j].at_index if j >= 0 else -1
        return before

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
        least = [min((o.effort for o in options), default=math.inf) for options in self.at]
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
        count, most = len(self.p.demand), most * (1 + _FIRST_VESSELS) + _FIRST_VESSELS
        labels = [_Label(count, 0.0, (), 0.0, (count - 1,) * self.vessels)]
        for index in range(count - 1, -1, -1):
            found: dict[tuple[int, ...], list[_Label]] = {}
            for label in labels:
                for new in self._extend(label, index):
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

    def _extend(self, label: _Label, index: int) -> list[_Label]:
        p, scale = self.p, self.scale[index]
        wants = label.wants
        if p.demand[index] > 0:
            wants = (*wants, (index, p.demand[index] / scale))
        if p.supply and p.supply[index] > 0:
            wants = _serve(wants, p.supply[index] / scale)
        total = sum([amount for _, amount in wants])
        free = tuple([min(f, index - 1) for f in label.free])
        results = [self._closed(label, index, wants, 0.0, (), free)]
        if total <= 0:
            return results
        targets = self._targets(wants, total, index)
        for choice in self._choices(label.free, index):
            after = self._after(free, choice.taken)
            for target in targets:
                left, cost, made = target, 0.0, []
                for option, energy, effort_cost in choice.steps:
                    grams = min(option.most_g, left / energy)
                    if grams <= 1e-12:
                        break
                    made.append((option, grams))
                    left = max(0.0, left - grams * energy)
                    cost += effort_cost + p.gram_cost * grams
                else:
                    rest = _serve(wants, target - left)
                    results.append(self._closed(label, index, rest, cost, tuple(made), after))
        return results

    def _choices(self, free: tuple[int, ...], index: int) -> list[_Choice]:
        """What may be harvested at a round with these vessels free."""
        usable = tuple([last >= index for last in free])
        if (index, usable) not in self.choices:
            options = [o for o in self.at[index] if usable[o.vessel]]
            found = [self._choice(chosen, index) for chosen in self._subsets(options)]
            self.choices[index, usable] = found
        return self.choices[index, usable]

    def _choice(self, chosen: tuple[Option, ...], index: int) -> _Choice:
        steps = tuple(
            (o, o.energy_per_g / self.scale[index],
             self.p.setup_cost * (o.effort + _FIRST_VESSELS * o.vessel)) for o in chosen
        )  # fmt: skip
        return _Choice(steps, {o.vessel: self.before[o] for o in chosen})

    def _after(self, free: tuple[int, ...], taken: Mapping[int, int]) -> tuple[int, ...]:
        """For each vessel the last usable round, where some are taken from an earlier one on."""
        free = tuple([min(f, taken.get(v, f)) for v, f in enumerate(free)])
        return self._twins_in_order(free) if self.has_twins else free

    def _subsets(self, options: Sequence[Option]) -> list[tuple[Option, ...]]:
        """All choices but the empty one; of twin vessels the first ones only."""
        twins: dict[int, dict[int, list[Option]]] = {}
        for option in options:
            alike = twins.setdefault(self.twins[option.vessel], {})
            alike.setdefault(option.vessel, []).append(option)
        results: list[tuple[Option, ...]] = [()]
        for rows in map(tuple, (vessels.values() for vessels in twins.values())):
            of_these = [
                tuple([row[which] for row, which in zip(rows, chosen, strict=False)])
                for size in range(min(len(rows), _AT_ONCE) + 1)
                for chosen in combinations_with_replacement(range(len(rows[0])), size)
            ]
            results = [
                (*one, *other)
                for one in results
                for other in of_these
                if len(one) + len(other) <= _AT_ONCE
            ]
        if len(twins) > 1:
            results = [tuple(sorted(chosen, key=_best_first)) for chosen in results]
        return sorted(results, key=len)[1:]

    def _targets(
        self, wants: tuple[tuple[int, float], ...], total: float, index: int
    ) -> list[float]:
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

    def _closed(
        self,
        label: _Label,
        index: int,
        wants: tuple[tuple[int, float], ...],
        cost: float,
        made: tuple[tuple[Option, float], ...],
        free: tuple[int, ...],
    ) -> _Label:
        """The label before this round: what was made is served, what is too late is short."""
        oldest = self.p.oldest
        while wants and oldest[wants[0][0]] >= index:
            late, amount = wants[0]
            cost += self.p.short_cost[late] * amount * self.scale[late]
            wants = wants[1:]
        total = sum([amount for _, amount in wants])
        return _Label(index, label.cost + cost, wants, total, free, made, label)

    def plan_of(self, label: _Label, bound: float) -> LotPlan:
        """The plan that a label of the first round stands for, at its true cost."""
        lots: list[Lot] = []
        step: _Label | None = label
        while step is not None:
            lots.extend(Lot(option, grams) for option, grams in step.made)
            step = step.parent
        return priced(self.p, self._named(lots), bound)

    def _named(self, lots: list[Lot]) -> list[Lot]:
        """Gives each batch a vessel of its own among the twins: of those that are free the one that
        was told, else the first.
        """
        if not self.has_twins:
            return sorted(lots, key=by_round)
        lots = sorted(lots, key=lambda lot: (lot.option.start_h, lot.option.vessel))
        free_h = [-math.inf] * self.vessels
        option_of = {(o.vessel, o.at_index, o.start_h): o for o in self.p.options}
        named = []
        for lot in lots:
            twin = self.twins[lot.option.vessel]
            free = (
                option_of[v, lot.option.at_index, lot.option.start_h]
                for v in range(self.vessels)
                if self.twins[v] == twin and free_h[v] <= lot.option.start_h + 1e-9
            )
            option = min(free, key=lambda o: not o.own)
            free_h[option.vessel] = option.end_h
            named.append(Lot(option, lot.grams))
        return sorted(named, key=by_round)


def _best_first(option: Option) -> tuple[float, float, int]:
    return -option.energy_per_g, -option.most_g, option.vessel


def _serve(wants: tuple[tuple[int, float], ...], amount: float) -> tuple[tuple[int, float], ...]:
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
