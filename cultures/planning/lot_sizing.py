"""Lot sizing of a perishable good in a few vessels: which batch to harvest at which round.

Knows nothing of shrimp. With one vessel that is never full this is the problem of
Wagner & Whitin; here batches occupy a vessel for a while, vessels are finite, and what is
held decays and may be kept only so long.

Labels are carried backwards from the last round. A label is what later rounds still want
from earlier batches; of two labels with the same vessels free, one that costs no more and
wants no more makes the other needless. The uncapacitated problem, solved forwards first,
bounds what the remaining rounds must cost, so that most labels are cut early. What comes
out is proven best unless the stated number of labels is exceeded (``LotPlan.proven``).

References:
    Wagner & Whitin 1958, Dynamic version of the economic lot size model, Management
    Science 5(1):89-96 (the recursion of :func:`_lower_bounds`, here with decay, deadlines
    and unmet demand).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from attrs import field, frozen

#: Labels kept at a round in the first, quick pass and at most in the exact one.
_QUICK_WIDTH = 24
_EXACT_WIDTH = 1500
_EPS = 1e-9


@frozen
class Option:
    """A batch that could be harvested at a round.

    Attributes:
        vessel: its number. at_index: the round. start_h, end_h: the vessel is taken [h].
        energy_per_g: energy for that round per gram set [J/g]. most_g: fills the vessel [g].
    """

    vessel: int
    at_index: int
    start_h: float
    end_h: float
    energy_per_g: float
    most_g: float


@frozen
class LotProblem:
    """Demand and possible batches.

    Attributes:
        demand: wanted at each round [J]. decay: share that is left from each round to the
            next, one fewer than rounds. oldest: for each round, the first round whose
            harvest may still be given.
        options: possible batches. setup_cost, gram_cost, short_cost: per batch, per gram
            and per J not met, in one unit.
        supply: energy that comes anyway at a round (batches that stand already) [J].
    """

    demand: tuple[float, ...]
    decay: tuple[float, ...]
    oldest: tuple[int, ...]
    options: tuple[Option, ...]
    setup_cost: float
    gram_cost: float
    short_cost: float
    supply: tuple[float, ...] = ()


@frozen
class Lot:
    """A batch that is set: which, and how many grams."""

    option: Option
    grams: float


@frozen
class LotPlan:
    """The batches, what is left unmet, and the cost.

    Attributes:
        lots: by round. short: unmet at each round [J]. cost: in the problem's unit.
        proven: no cheaper plan exists. bound: what every plan costs at least.
    """

    lots: tuple[Lot, ...]
    short: tuple[float, ...]
    cost: float
    proven: bool
    bound: float


@frozen(eq=False)
class _Label:
    """Attributes: cost so far; wants: (round, amount) still to come from earlier batches, the
    latest round first, in amounts of round 0; free: for each vessel the last usable round."""

    cost: float
    wants: tuple[tuple[int, float], ...]
    total: float
    free: tuple[int, ...]
    made: tuple[tuple[Option, float], ...] = ()
    short: tuple[tuple[int, float], ...] = ()
    parent: _Label | None = field(default=None, repr=False)


def solve(problem: LotProblem) -> LotPlan:
    """The cheapest set of batches.

    Returns:
        A plan that is best, or, when more labels would be needed than allowed, the best
        found with ``proven`` False and a valid lower ``bound``.
    """
    count = len(problem.demand)
    if count == 0:
        return LotPlan((), (), 0.0, True, 0.0)
    search = _Search(problem)
    bound = search.lower[count]
    best = search.run(_QUICK_WIDTH, math.inf)
    proven = best.cost <= bound * (1 + _EPS) + _EPS
    if not proven:
        search.cut = False
        exact = search.run(_EXACT_WIDTH, best.cost)
        if exact.cost < best.cost:
            best = exact
        proven = not search.cut
        if proven:
            bound = best.cost
    return search.plan_of(best, proven=proven, bound=bound)


class _Search:
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
            options.sort(key=lambda o: (-o.energy_per_g, -o.most_g, o.vessel))
        self.vessels = 1 + max((o.vessel for o in problem.options), default=-1)
        self.before = self._rounds_before()
        self.best_energy = [
            max((o.energy_per_g for o in options), default=0.0) for options in self.at
        ]
        self.lower, self.cheapest = self._lower_bounds()
        self.cut = False

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
            best = lower[k - 1] + p.short_cost * p.demand[t]
            amount = 0.0
            for first in range(t, p.oldest[t] - 1, -1):
                amount += p.demand[first] / scale[first] if first > free_until else 0.0
                price = min(unit[p.oldest[t] : first + 1], default=math.inf)
                if price < math.inf:
                    best = min(best, lower[first] + p.setup_cost + price * amount)
            lower[k] = best
        return lower, cheapest

    def run(self, width: int, limit: float) -> _Label:
        """Carries the labels back to the first round; the best of those that are left."""
        count = len(self.p.demand)
        labels = [_Label(0.0, (), 0.0, (count - 1,) * self.vessels)]
        for index in range(count - 1, -1, -1):
            found: dict[tuple[int, ...], list[_Label]] = {}
            for label in labels:
                for new in self._extend(label, index):
                    if self._bound(new, index) <= limit + _EPS:
                        _keep(found.setdefault(new.free, []), new)
            labels = [label for group in found.values() for label in group]
            if len(labels) > width:
                labels.sort(key=lambda label: self._bound(label, index))
                del labels[width:]
                self.cut = True
        if not labels:
            return _Label(math.inf, (), 0.0, ())
        return min(labels, key=lambda label: label.cost)

    def _bound(self, label: _Label, index: int) -> float:
        made = self.cheapest[index] * label.total if label.total > 0 else 0.0
        cheap = self.p.short_cost * label.total * self.scale[index] if label.total > 0 else 0.0
        return label.cost + self.lower[index] + min(made, cheap)

    def _extend(self, label: _Label, index: int) -> list[_Label]:
        p, scale = self.p, self.scale[index]
        wants = label.wants
        if p.demand[index] > 0:
            wants = (*wants, (index, p.demand[index] / scale))
        if p.supply and p.supply[index] > 0:
            wants = _serve(wants, p.supply[index] / scale)
        total = sum(amount for _, amount in wants)
        usable = [o for o in self.at[index] if label.free[o.vessel] >= index] if total > 0 else []
        results = []
        for chosen in _subsets(usable):
            if not chosen:
                results.append(self._closed(label, index, wants, 0.0, (), ()))
                continue
            for target in self._targets(wants, total, index):
                left, cost, made = target, 0.0, []
                for option in chosen:
                    energy = option.energy_per_g / scale
                    grams = min(option.most_g, left / energy)
                    if grams <= 1e-12:
                        break
                    made.append((option, grams))
                    left = max(0.0, left - grams * energy)
                    cost += p.setup_cost + p.gram_cost * grams
                if len(made) == len(chosen):
                    results.append(
                        self._closed(label, index, wants, cost, tuple(made), chosen, target - left)
                    )
        return results

    def _targets(
        self, wants: tuple[tuple[int, float], ...], total: float, index: int
    ) -> list[float]:
        """How much to make: all that is wanted; less where an earlier batch is cheaper."""
        low = self.p.oldest[wants[-1][0]] if wants else index
        here = self.best_energy[index] / self.scale[index]
        if not any(
            self.best_energy[i] / self.scale[i] > here * (1 + _EPS) for i in range(low, index)
        ):
            return [total]
        targets, running = [], 0.0
        for _, amount in wants:
            running += amount
            targets.append(running)
        return targets

    def _closed(
        self,
        label: _Label,
        index: int,
        wants: tuple[tuple[int, float], ...],
        cost: float,
        made: tuple[tuple[Option, float], ...],
        chosen: tuple[Option, ...],
        served: float = 0.0,
    ) -> _Label:
        """The label before this round: what was made is served, what is too late is short."""
        if served > 0:
            wants = _serve(wants, served)
        short = []
        while wants and self.p.oldest[wants[0][0]] >= index:
            round_index, amount = wants[0]
            unmet = amount * self.scale[round_index]
            if unmet > 1e-9:
                short.append((round_index, unmet))
                cost += self.p.short_cost * unmet
            wants = wants[1:]
        free = tuple(min(f, index - 1) for f in label.free)
        if chosen:
            taken = {o.vessel: self.before[o] for o in chosen}
            free = tuple(min(f, taken.get(v, f)) for v, f in enumerate(free))
        return _Label(
            cost=label.cost + cost,
            wants=wants,
            total=sum(amount for _, amount in wants),
            free=free,
            made=made,
            short=tuple(short),
            parent=label,
        )

    def plan_of(self, label: _Label, *, proven: bool, bound: float) -> LotPlan:
        lots: list[Lot] = []
        short = [0.0] * len(self.p.demand)
        cost = label.cost
        step: _Label | None = label
        while step is not None:
            lots.extend(Lot(option, grams) for option, grams in step.made)
            for index, amount in step.short:
                short[index] += amount
            step = step.parent
        lots.sort(key=lambda lot: (lot.option.at_index, lot.option.vessel))
        return LotPlan(tuple(lots), tuple(short), cost, proven, bound)


def _serve(wants: tuple[tuple[int, float], ...], amount: float) -> tuple[tuple[int, float], ...]:
    """Meets wants with an amount, the latest round first, since it can wait least."""
    rest = []
    for index, wanted in wants:
        used = min(wanted, amount)
        amount -= used
        if wanted - used > 1e-12 * max(1.0, wanted):
            rest.append((index, wanted - used))
    return tuple(rest)


def _subsets(options: Sequence[Option]) -> list[tuple[Option, ...]]:
    """The empty choice and all others; of equal vessels the first ones only."""
    results: list[tuple[Option, ...]] = [()]
    for size in range(1, len(options) + 1):
        seen = set()
        for chosen in combinations(options, size):
            key = tuple((o.start_h, o.end_h, o.energy_per_g, o.most_g) for o in chosen)
            if key not in seen:
                seen.add(key)
                results.append(chosen)
    return results


def _keep(group: list[_Label], new: _Label) -> None:
    """Adds a label to a group unless one there is as good; drops those it makes needless."""
    for old in group:
        if old.cost <= new.cost + 1e-12 and _wants_no_more(old, new):
            return
    group[:] = [
        old for old in group if not (new.cost <= old.cost + 1e-12 and _wants_no_more(new, old))
    ]
    group.append(new)


def _wants_no_more(one: _Label, other: _Label) -> bool:
    """Whether one label asks for no more than another by every deadline."""
    if one.total > other.total + 1e-12 * max(1.0, other.total):
        return False
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
