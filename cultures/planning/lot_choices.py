"""Which batches may be harvested together at a round, and which vessels are free before them.

That hangs on what can be set and not on how much is wanted, so it is worked out once for all
problems that differ by that alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate, combinations_with_replacement
from operator import mul
from typing import NamedTuple

from cultures.planning.lots import LotProblem, Option

#: Of vessels that do as well the first is taken, so that a plan made later takes the same.
FIRST_VESSELS = 1e-7
#: So many batches at most are harvested at one round here.
_AT_ONCE = 3


class Choice(NamedTuple):
    """Batches harvested at a round.

    Attributes:
        steps: (batch, energy of round 0 per gram, cost of its work) of each. last: for each vessel
            the last round at which it can be harvested before; the count of all rounds where none
            of them takes it.
    """

    steps: tuple[tuple[Option, float, float], ...]
    last: tuple[int, ...]


class Ways(NamedTuple):
    """What may be harvested at a round with the same vessels free.

    Attributes:
        free: for each vessel the last usable round where nothing is harvested. choices: the steps
            of each choice, and the last usable rounds where it is made.
    """

    free: tuple[int, ...]
    choices: Sequence[tuple[tuple[tuple[Option, float, float], ...], tuple[int, ...]]]


def choices_of(problem: LotProblem) -> Choices:
    """The choices of a problem, the same for all that differ by what is wanted."""
    rounds = len(problem.demand)
    decay = problem.decay[: max(0, rounds - 1)]
    return _choices(problem.options, decay, problem.setup_cost, rounds)


@lru_cache(maxsize=4)
def _choices(
    options: tuple[Option, ...], decay: tuple[float, ...], setup_cost: float, rounds: int
) -> Choices:
    return Choices(options, decay, setup_cost, rounds)


class Choices:
    """The batches that can be set, by round of harvest.

    Attributes:
        scale: amounts are compared in energy of round 0: an amount of round r divided by scale[r].
        at: by round, the best first. twins: for each vessel the first one that can do exactly the
            same. unlike: how many vessels differ. before: for each batch the last round at which
            its vessel can be harvested before it.
    """

    def __init__(
        self, options: Sequence[Option], decay: Sequence[float], setup_cost: float, rounds: int
    ) -> None:
        self.options, self.setup_cost, self.rounds = options, setup_cost, rounds
        self.scale = [*accumulate(decay, mul, initial=1.0)]
        self.at: list[list[Option]] = [[] for _ in range(rounds)]
        for option in options:
            if option.most_g > 0 and option.energy_per_g > 0:
                self.at[option.at_index].append(option)
        for batches in self.at:
            batches.sort(key=_best_first)
        self.vessels = 1 + max((o.vessel for o in options), default=-1)
        self.before = self._rounds_before()
        self.twins = self._twins()
        self.unlike = len(set(self.twins))
        self.has_twins = self.unlike < self.vessels
        self._known: dict[tuple[int, tuple[bool, ...]], list[Choice]] = {}

    def ways(self, free: tuple[int, ...], index: int) -> Ways:
        """What may be harvested at a round with these vessels free, and which are free then."""
        then = tuple([min(f, index - 1) for f in free])
        return Ways(then, [(c.steps, self.after(then, c)) for c in self.choices(free, index)])

    def choices(self, free: tuple[int, ...], index: int) -> list[Choice]:
        """What may be harvested at a round with these vessels free."""
        usable = tuple([last >= index for last in free])
        found = self._known.get((index, usable))
        if found is None:
            options = [o for o in self.at[index] if usable[o.vessel]]
            found = [self.choice(chosen, index) for chosen in self._subsets(options)]
            self._known[index, usable] = found
        return found

    def choice(self, chosen: tuple[Option, ...], index: int) -> Choice:
        """Some batches, harvested at a round."""
        steps = tuple(
            [(o, o.energy_per_g / self.scale[index],
             self.setup_cost * (o.effort + FIRST_VESSELS * o.vessel)) for o in chosen]
        )  # fmt: skip
        last = [self.rounds] * self.vessels
        for option in chosen:
            last[option.vessel] = self.before[option]
        return Choice(steps, tuple(last))

    def after(self, free: tuple[int, ...], choice: Choice) -> tuple[int, ...]:
        """For each vessel the last usable round, where some are taken from an earlier one on."""
        free = tuple(map(min, free, choice.last))
        return self.twins_in_order(free) if self.has_twins else free

    def twins_in_order(self, free: tuple[int, ...]) -> tuple[int, ...]:
        """Twin vessels by when they are free, so that labels that differ in names only meet."""
        groups: dict[int, list[int]] = {}
        for vessel, twin in enumerate(self.twins):
            groups.setdefault(twin, []).append(free[vessel])
        for group in groups.values():
            group.sort()
        return tuple(groups[twin].pop() for twin in self.twins)

    def _twins(self) -> list[int]:
        signatures: dict[tuple[tuple[float, ...], ...], int] = {}
        twins = []
        for vessel in range(self.vessels):
            mine = sorted(
                (o.at_index, o.start_h, o.end_h, o.energy_per_g, o.most_g, o.effort)
                for o in self.options
                if o.vessel == vessel
            )
            twins.append(signatures.setdefault(tuple(mine), vessel))
        return twins

    def _rounds_before(self) -> dict[Option, int]:
        by_vessel: dict[int, list[Option]] = {}
        for option in self.options:
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


def _best_first(option: Option) -> tuple[float, float, int]:
    return -option.energy_per_g, -option.most_g, option.vessel
