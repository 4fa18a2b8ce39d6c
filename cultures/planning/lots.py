"""Batches of a perishable good: what can be set, what is set, and what is held of it."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen


@frozen
class Option:
    """A batch that could be harvested at a round.

    Attributes:
        vessel: its number. at_index: the round. start_h, end_h: the vessel is taken [h].
        energy_per_g: energy for that round per gram set [J/g]. most_g: fills the vessel [g].
        effort: work of setting it, in usual settings.
    """

    vessel: int
    at_index: int
    start_h: float
    end_h: float
    energy_per_g: float
    most_g: float
    effort: float = 1.0


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


@frozen(eq=False)
class Lot:
    """A batch that is set: which, and how many grams."""

    option: Option
    grams: float


@frozen(eq=False)
class LotPlan:
    """The batches, what is left unmet, and the cost.

    Attributes:
        lots: by round. short: unmet at each round [J]. cost: in the problem's unit.
        bound: what every plan costs at least. proven: the cost meets it.
    """

    lots: tuple[Lot, ...]
    short: tuple[float, ...]
    cost: float
    proven: bool
    bound: float


def unmet(problem: LotProblem, lots: Sequence[Lot]) -> list[float]:
    """What stays unmet at each round when every round takes what it wants, oldest harvest first.

    Serving the earlier round first wastes least to decay, so no other way of sharing these
    batches leaves less unmet.
    """
    made = list(problem.supply) or [0.0] * len(problem.demand)
    for lot in lots:
        made[lot.option.at_index] += lot.grams * lot.option.energy_per_g
    pantry = Pantry(problem)
    return [pantry.feed(t, wanted, made[t]) for t, wanted in enumerate(problem.demand)]


def stock_at(problem: LotProblem, made: Sequence[float], index: int) -> list[tuple[int, float]]:
    """(round of harvest, energy left) held when a round begins.

    Args:
        made: energy harvested at each round, what comes anyway included [J].
    """
    pantry = Pantry(problem)
    for t in range(index):
        pantry.feed(t, problem.demand[t], made[t])
    return [(int(harvested), energy) for harvested, energy in pantry.stock]


class Pantry:
    """Harvests as they are held, given out oldest first."""

    def __init__(self, problem: LotProblem) -> None:
        self.problem = problem
        self.stock: list[list[float]] = []  # [round of harvest, energy left]

    def feed(self, t: int, asked: float, made: float) -> float:
        """Takes in a round's harvest, feeds the round, lets the rest age; what was unmet."""
        wanted = asked
        if made > 0:
            self.stock.append([t, made])
        oldest = self.problem.oldest[t]
        for batch in self.stock:
            if wanted > 0 and batch[0] >= oldest:
                used = min(wanted, batch[1])
                batch[1] -= used
                wanted -= used
        share = self.problem.decay[t] if t < len(self.problem.decay) else 1.0
        for batch in self.stock:
            batch[1] *= share
        self.stock = [batch for batch in self.stock if batch[1] > 1e-9]
        return wanted if wanted > 1e-9 * max(1.0, asked) else 0.0

    def usable(self, t: int) -> float:
        """Energy held when a round begins that may still be fed at it [J]."""
        oldest = self.problem.oldest[t]
        return sum(batch[1] for batch in self.stock if batch[0] >= oldest)

    def same_as(self, other: Pantry) -> bool:
        """Whether two pantries hold the same, so that what follows is the same."""
        return len(self.stock) == len(other.stock) and all(
            a[0] == b[0] and abs(a[1] - b[1]) <= 1e-9 * max(1.0, a[1])
            for a, b in zip(self.stock, other.stock, strict=True)
        )
