"""Batches of a perishable good: what can be set, what is set, and what is held of it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from attrs import evolve, frozen

_EPS = 1e-9
#: (energy, worth of a unit) that a batch could serve at a round.
Piece = tuple[float, float]


@frozen
class Option:
    """A batch that could be harvested at a round.

    Attributes:
        vessel: its number. at_index: the round. start_h, end_h: the vessel is taken [h].
        energy_per_g: energy for that round per gram set [J/g]. most_g: fills the vessel [g].
        effort: work of setting it, in usual settings. told_g: of it was told, 0 where nothing was.
        own: whether that was told of this very vessel. drafted: whether nobody was told and the
            last plan had it, in this vessel or one like it; own_draft: in this very vessel.
    """

    vessel: int
    at_index: int
    start_h: float
    end_h: float
    energy_per_g: float
    most_g: float
    effort: float = 1.0
    told_g: float = 0.0
    own: bool = False
    drafted: bool = False
    own_draft: bool = False


@frozen
class LotProblem:
    """Demand and possible batches.

    Attributes:
        demand: wanted at each round [J]. decay: share that is left from each round to the
            next, one fewer than rounds. oldest: for each round, the first round whose
            harvest may still be given.
        options: possible batches; of one vessel and round there may be several.
        setup_cost, gram_cost: per batch and per gram. short_cost: per J not met, by round; all
            in one unit.
        supply: energy that comes anyway at a round (batches that stand already) [J].
    """

    demand: tuple[float, ...]
    decay: tuple[float, ...]
    oldest: tuple[int, ...]
    options: tuple[Option, ...]
    setup_cost: float
    gram_cost: float
    short_cost: tuple[float, ...]
    supply: tuple[float, ...] = ()

    def until(self, rounds: int) -> LotProblem:
        """The same for its first rounds alone."""
        return LotProblem(
            self.demand[:rounds], self.decay[: max(0, rounds - 1)], self.oldest[:rounds],
            tuple(option for option in self.options if option.at_index < rounds),
            self.setup_cost, self.gram_cost, self.short_cost[:rounds], self.supply[:rounds],
        )  # fmt: skip


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


def as_set(problem: LotProblem) -> LotPlan:
    """The plan in which every option is set that is of any use, and no other way was looked for."""
    return priced(problem, amounts(problem, problem.options), 0.0)


def clash(one: Option, other: Option) -> bool:
    """Whether two settings take one vessel at the same time."""
    if one.vessel != other.vessel:
        return False
    return one.start_h < other.end_h - _EPS and other.start_h < one.end_h - _EPS


def in_told_vessels(problem: LotProblem, lots: Sequence[Lot]) -> list[Lot]:
    """The same batches, each in the vessel that was told for it: of vessels alike one does as well
    as another. The first keep theirs; what nobody was told takes none that a later one waits for,
    and after that stands in the vessel of the last plan.
    """

    def same(one: Option) -> tuple[float, ...]:
        return (one.at_index, one.start_h, one.end_h, one.energy_per_g, one.most_g, one.effort)

    alike: dict[tuple[float, ...], list[Option]] = {same(lot.option): [] for lot in lots}
    for option in problem.options:
        if (key := same(option)) in alike:
            alike[key].append(option)
    told = [way for ways in alike.values() for way in ways if way.own]
    drafted = [way for ways in alike.values() for way in ways if way.own_draft]

    def rank(way: Option) -> tuple[bool, ...]:
        in_way = (any(clash(way, other) for other in of) for of in (told, drafted))
        return (not way.own, next(in_way), not way.own_draft, next(in_way))

    placed: list[Lot] = []
    for lot in sorted(lots, key=lambda lot: lot.option.start_h):
        free = [
            way for way in (lot.option, *alike[same(lot.option)])
            if not any(clash(way, other.option) for other in placed)
        ]  # fmt: skip
        if not free:
            return [*lots]
        way = min(free, key=rank)
        placed.append(Lot(way, lot.grams))
    return sorted(placed, key=by_round)


def made_at(problem: LotProblem, lots: Iterable[Lot]) -> list[float]:
    """Energy that is harvested at each round, what comes anyway included [J]."""
    made = list(problem.supply) or [0.0] * len(problem.demand)
    for lot in lots:
        made[lot.option.at_index] += lot.grams * lot.option.energy_per_g
    return made


def unmet(problem: LotProblem, lots: Sequence[Lot]) -> list[float]:
    """What stays unmet at each round when every round takes what it wants, oldest harvest first.

    Serving the earlier round first wastes least to decay, so no other way of sharing these
    batches leaves less unmet.
    """
    made, pantry = made_at(problem, lots), Pantry(problem)
    return [pantry.feed(t, wanted, made[t]) for t, wanted in enumerate(problem.demand)]


def by_round(lot: Lot) -> tuple[int, int]:
    """The order of batches: by round of harvest, then by vessel."""
    return lot.option.at_index, lot.option.vessel


def priced(problem: LotProblem, lots: Sequence[Lot], bound: float) -> LotPlan:
    """The plan of some batches at its true cost; ``bound``: what every plan costs at least."""
    short = unmet(problem, lots)
    cost = (
        problem.setup_cost * sum(lot.option.effort for lot in lots)
        + problem.gram_cost * sum(lot.grams for lot in lots)
        + sum(price * amount for price, amount in zip(problem.short_cost, short, strict=True))
    )
    proven = cost <= bound * (1 + _EPS) + _EPS
    return LotPlan(tuple(lots), tuple(short), cost, proven, min(bound, cost))


def amounts(problem: LotProblem, options: Iterable[Option]) -> list[Lot]:
    """How many grams to set of each batch, from the last round backwards; none of no use.

    What a later round wants is made as late as may be, since held less it loses less.
    """
    at: dict[int, list[Option]] = {}
    for option in options:
        at.setdefault(option.at_index, []).append(option)
    lots: list[Lot] = []
    wants: list[list[float]] = []  # [round, energy wanted], the latest first
    for index in range(len(problem.demand) - 1, -1, -1):
        if wants:
            share = problem.decay[index]
            wants = [[t, amount / share] for t, amount in wants if problem.oldest[int(t)] <= index]
        if problem.demand[index] > 0:
            wants.append([index, problem.demand[index]])
        if problem.supply and problem.supply[index] > 0:
            wants = _less(wants, problem.supply[index])
        here = at.get(index, ())
        if len(here) > 1:
            total = sum([amount for _, amount in wants])
            here = sorted(here, key=lambda option: _price(problem, option, total))
        for option in here:
            grams = min(option.most_g, sum([a for _, a in wants]) / option.energy_per_g)
            if grams > 1e-9:
                lots.append(Lot(option, grams))
                wants = _less(wants, grams * option.energy_per_g)
    return sorted(lots, key=by_round)


def _price(problem: LotProblem, option: Option, wanted: float) -> float:
    """What a unit of energy costs of a batch that is to bring so much, as far as it holds that."""
    energy = min(wanted, option.most_g * option.energy_per_g) or 1.0
    return problem.setup_cost * option.effort / energy + problem.gram_cost / option.energy_per_g


def _less(wants: list[list[float]], amount: float) -> list[list[float]]:
    """Wants less an amount, the latest round first, since it can wait least."""
    for k, (t, wanted) in enumerate(wants):
        if amount < wanted:
            return [[t, wanted - amount], *wants[k + 1 :]]
        amount -= wanted
    return []


def worth_setting(problem: LotProblem, options: Sequence[Option], bearable: float) -> list[Lot]:
    """The batches without which more would be missing than is borne, each as large as it must be.

    Tried are the smallest first, where the others together have room for nearly as much.

    Args:
        bearable: so large a share of what the rounds of a batch want may be missing; of what
            spares a batch that was told, nothing, and half of it where the last plan had it: what
            was hardly worth setting would else come and go with every fish.
    """
    kept = amounts(problem, options)
    short = unmet(problem, kept)
    for option in [lot.option for lot in sorted(kept, key=_energy_j)]:
        lot = next((one for one in kept if one.option is option), None)
        bears = _bears(option, bearable)
        if lot is None or not _nearly_room(problem, kept, lot, bears):
            continue
        without = amounts(problem, [one.option for one in kept if one is not lot])
        then = unmet(problem, without)
        cheaper = _cost(problem, without) < _cost(problem, kept)
        if cheaper and borne(problem, option.at_index, short, then, bears):
            kept, short = without, then
    return kept


def _bears(option: Option, bearable: float) -> float:
    if option.drafted:
        return bearable / 2.0
    return bearable if option.effort >= 1.0 else 0.0


def _energy_j(lot: Lot) -> float:
    return lot.grams * lot.option.energy_per_g


def within(problem: LotProblem, least: Sequence[float], options: Sequence[Option]) -> LotProblem:
    """The same problem wanting no more than some batches hold, down to what is needed at least.

    Rounds fed from the same batches get the same part of what they want beyond that.
    """
    demand, made = list(problem.demand), {option.at_index for option in options}
    short = unmet(problem, amounts(problem, options))
    for t in range(len(demand) - 1, -1, -1):
        begins = next((i for i in range(problem.oldest[t], t + 1) if i in made), None)
        if short[t] <= 0 or begins is None:
            continue
        own = range(begins, _last_fed(problem, begins) + 1)
        lacking, more = sum(short[i] for i in own), sum(problem.demand[i] - least[i] for i in own)
        part = max(0.0, 1.0 - lacking / more) if more > 0 else 0.0
        for i in own:
            demand[i] = min(demand[i], least[i] + part * (problem.demand[i] - least[i]))
    return evolve(problem, demand=tuple(demand))


def _cost(problem: LotProblem, lots: Sequence[Lot]) -> float:
    """What batches cost, without what they leave unmet."""
    efforts, grams = sum(lot.option.effort for lot in lots), sum(lot.grams for lot in lots)
    return problem.setup_cost * efforts + problem.gram_cost * grams


def _nearly_room(problem: LotProblem, lots: Sequence[Lot], lot: Lot, bears: float) -> bool:
    """Whether batches that may be fed at a round with another could hold nearly all of it too."""
    index, last = lot.option.at_index, _last_fed(problem, lot.option.at_index)
    room_j = sum(
        (one.option.most_g - one.grams) * one.option.energy_per_g for one in lots
        if one.option is not lot.option
        and index <= _last_fed(problem, one.option.at_index) and one.option.at_index <= last
    )  # fmt: skip
    wanted_j = sum(problem.demand[problem.oldest[index] : last + 1])
    return _energy_j(lot) <= room_j + bears * wanted_j


def _last_fed(problem: LotProblem, index: int) -> int:
    """The last round at which a harvest of a round may be fed."""
    return bisect_right(problem.oldest, index) - 1


def borne(
    problem: LotProblem, index: int, short: Sequence[float], then: Sequence[float], bears: float
) -> bool:
    """Whether what would be missing without a batch of a round is little of what its rounds want.

    Its rounds share what there is, up to the last that would miss more.
    """
    more = [
        t for t, (now, before) in enumerate(zip(then, short, strict=True))
        if now > before * (1 + _EPS) + _EPS
    ]  # fmt: skip
    if not more:
        return True
    if not index <= more[-1] <= _last_fed(problem, index):  # which another batch passes on
        return False
    own = range(index, more[-1] + 1)
    return sum(then[t] for t in own) <= bears * sum(problem.demand[t] for t in own)


def hungry(problem: LotProblem, short: Sequence[float], *, supplied: bool = False) -> list[int]:
    """Rounds that stay short although some batch could reach them.

    Args:
        supplied: or something that comes anyway does, as a batch that could be set does once it is.
    """
    made_at = {o.at_index for o in problem.options}
    if supplied:
        made_at.update(t for t, energy_j in enumerate(problem.supply) if energy_j > 0.0)
    return [
        t
        for t, amount in enumerate(short)
        if amount > 0 and any(i in made_at for i in range(problem.oldest[t], t + 1))
    ]


def open_pieces(problem: LotProblem, lots: Sequence[Lot], *, paid: bool) -> list[list[Piece]]:
    """What one more batch could serve at each round, the dearest first.

    Args:
        paid: also what batches serve already, at what it costs on average.
    """
    made = made_at(problem, lots)
    cost = [0.0] * len(made)
    for lot in lots:
        cost[lot.option.at_index] += (
            problem.setup_cost * lot.option.effort + problem.gram_cost * lot.grams
        )
    pantry, pieces, since = Pantry(problem), [], [1.0]
    for t, wanted in enumerate(problem.demand):
        taken: list[tuple[int, float]] = []
        unmet_j = pantry.feed(t, wanted, made[t], taken)
        row = [(unmet_j, problem.short_cost[t])] if unmet_j > 0 else []
        if paid:
            row += [
                (amount, cost[i] / made[i] * since[i] / since[t])
                for i, amount in taken
                if cost[i] > 0
            ]
            row.sort(key=lambda piece: -piece[1])
        pieces.append(row)
        since.append(since[-1] * (problem.decay[t] if t < len(problem.decay) else 1.0))
    return pieces


def course_of(problem: LotProblem, made: Sequence[float]) -> list[tuple[float, bool]]:
    """For each round what stays unmet [J], and whether anything is left for the next.

    Args:
        made: energy harvested at each round, what comes anyway included [J].
    """
    pantry, course = Pantry(problem), []
    for t, wanted in enumerate(problem.demand):
        short = pantry.feed(t, wanted, made[t])
        course.append((short, pantry.passes_on(t)))
    return course


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

    def feed(
        self, t: int, asked: float, made: float, taken: list[tuple[int, float]] | None = None
    ) -> float:
        """Takes in a round's harvest, feeds the round, lets the rest age; what was unmet.

        Args:
            taken: is given (round of harvest, energy) of what was fed.
        """
        wanted, kept = asked, []
        if made > 0:
            self.stock.append([t, made])
        oldest = self.problem.oldest[t]
        share = self.problem.decay[t] if t < len(self.problem.decay) else 1.0
        for batch in self.stock:  # in one loop, since nothing is asked more often
            harvested, energy = batch
            if wanted > 0 and harvested >= oldest:
                used = energy if energy < wanted else wanted
                energy -= used
                wanted -= used
                if taken is not None and used > 0:
                    taken.append((int(harvested), used))
            energy *= share
            if energy > 1e-9:
                batch[1] = energy
                kept.append(batch)
        self.stock = kept
        return wanted if wanted > 1e-9 * max(1.0, asked) else 0.0

    def lacks(self, t: int, made: Sequence[float], course: Sequence[tuple[float, bool]]) -> float:
        """What one more batch harvested for a round would have to bring, for it and later ones [J].

        Args:
            made: harvested at each round without it. course: what was planned with it.
        """
        ahead, left, total = Pantry(self.problem), 1.0, 0.0
        ahead.stock = [[*batch] for batch in self.stock]
        for index in range(t, len(course)):
            short, passes_on = course[index]
            missing = ahead.feed(index, self.problem.demand[index], made[index]) - short
            total += max(0.0, missing) / left
            if not passes_on:
                break
            left *= self.problem.decay[index]
        return total

    def passes_on(self, t: int) -> bool:
        """Whether anything is left after a round that may still be fed at the next."""
        later = t + 1
        return later < len(self.problem.oldest) and any(
            batch[0] >= self.problem.oldest[later] for batch in self.stock
        )
