"""A worm culture: standing stock on a medium that sours.

Stock is counted in milligrams of wet worms, time in physiological days (see
:mod:`cultures.foods.temperature`), so one set of parameters serves every temperature.
"""

from __future__ import annotations

import math
from functools import lru_cache

from attrs import evolve, frozen

from cultures.errors import RangeError

#: exp() of more than this is taken as spent medium rather than risking an overflow.
_LARGEST_EXPONENT = 650.0


def carrying_capacity(
    age: float, *, capacity: float, half_spent_age: float, souring_width: float
) -> float:
    """K(tau): what a medium of this age still carries, in the unit of ``capacity``.

    A logistic decline around the age at which the medium is half spent [physiological d].

    References:
        This project's choice of form (docs/models.md); the ages behind it are data.
    """
    exponent = (age - half_spent_age) / souring_width
    if exponent > _LARGEST_EXPONENT:
        return 0.0
    return capacity / (1.0 + math.exp(exponent))


#: (a, c) of one stretch of growth: a stock N becomes N / (a + c N).
GrowthStep = tuple[float, float]


def growth_step(
    from_age: float,
    to_age: float,
    growth_rate: float,
    capacity: float,
    half_spent_age: float,
    souring_width: float,
) -> GrowthStep:
    """What a culture left alone between two ages does to any stock: N becomes N / (a + c N).

    Exact solution of dN/dtau = r N (1 - N / K(tau)) with K(tau) as in
    :func:`carrying_capacity`; linear in 1/N, so no solver is needed, and the pair serves
    every stock that goes through the same stretch.

    Args:
        from_age, to_age: ages in physiological days.
        growth_rate: r [1/physiological day].
        capacity: K0 of fresh medium, above 0.
        half_spent_age, souring_width: tau_half and w [physiological days].

    Returns:
        (a, c), c in the inverse of the unit of ``capacity``; (1, 0) when no time passes,
        (1, infinity) when the culture is so old that nothing is left of it.

    References:
        Verhulst's logistic with a time-varying capacity, solved as a Bernoulli
        equation; derivation in docs/models.md, section "A worm culture".
    """
    elapsed = to_age - from_age
    if elapsed <= 0.0:
        return 1.0, 0.0
    late = (to_age - half_spent_age) / souring_width
    if late > _LARGEST_EXPONENT:
        return 1.0, math.inf
    grown = -math.expm1(-growth_rate * elapsed)
    decayed = math.exp(-growth_rate * elapsed)
    sour = math.exp((from_age - half_spent_age) / souring_width)
    if elapsed > souring_width:
        soured = math.exp(late) - decayed * sour
    else:  # the same difference without its cancellation
        soured = sour * (math.expm1(elapsed / souring_width) + grown)
    return decayed, (grown + soured * growth_rate / (growth_rate + 1.0 / souring_width)) / capacity


def through(step: GrowthStep, stock: float) -> float:
    """The stock after a stretch of growth.

    References:
        As :func:`growth_step`.
    """
    decayed, crowded = step
    below = decayed + crowded * stock
    if stock <= 0.0 or below == math.inf:
        return 0.0
    # Both terms vanish for a trace of worms over a very long time: they fill the medium.
    return stock / below if below > 0.0 else 1.0 / crowded


@frozen
class WormModel:
    """The parameters of one culture on its own medium, ready to compute with.

    They lie within the limits of data/specs, which are checked where they are read.

    Attributes:
        growth_rate: r [1/physiological day].
        lag: physiological days before the stock grows.
        capacity_mg: K0, worms the fresh medium carries [mg wet].
        half_spent_age, souring_width: tau_half and w [physiological days].
        climbing_fraction: share of the stock that one harvest can take at most.
        climbing_density: share of K0 that must be reached before worms climb.
        daily_fraction: share of the stock that a keeper takes in a day at most.
        drawn_mg: worms in the whole of a liquid as they are drawn from its neck; of it no
            larger share is drawn than of the stock. Infinite for a solid medium [mg wet].
    """

    growth_rate: float
    lag: float
    capacity_mg: float
    half_spent_age: float
    souring_width: float
    climbing_fraction: float
    climbing_density: float
    daily_fraction: float = 1.0
    drawn_mg: float = math.inf

    def capacity_at(self, age: float) -> float:
        """K(tau) [mg]."""
        return carrying_capacity(
            age, capacity=self.capacity_mg, half_spent_age=self.half_spent_age,
            souring_width=self.souring_width,
        )  # fmt: skip

    def step(self, from_age: float, to_age: float, pace: float = 1.0) -> GrowthStep:
        """One stretch of growth, for :func:`through`; none during the lag.

        Args:
            pace: days of growth for each day by which the medium ages, less than 1 in heat.
        """
        if from_age < self.lag:
            from_age = min(self.lag, to_age)
        return growth_step(
            from_age, to_age, pace * self.growth_rate, self.capacity_mg, self.half_spent_age,
            self.souring_width,
        )  # fmt: skip

    def grow(self, stock_mg: float, from_age: float, to_age: float, pace: float = 1.0) -> float:
        """Stock at ``to_age`` when left alone; during the lag it neither grows nor shrinks."""
        return through(self.step(from_age, to_age, pace), stock_mg)

    def climbing(self, stock_mg: float, age: float) -> float:
        """The most that one harvest can take now [mg]; 0 until the worms climb.

        Worms climb once the lag is over and the stock has reached its climbing density:
        that of the fresh medium while young, of what the medium still carries when old,
        so that a fading culture is thin but not shut.
        """
        if age < self.lag or stock_mg < self.climbing_density * self.capacity_at(age):
            return 0.0
        return self.climbing_fraction * stock_mg

    def harvest_share(self, rounds: int = 1) -> float:
        """Share that a careful keeper takes at each of so many rounds a day at most."""
        return min(self.climbing_fraction, self.daily_fraction / rounds)

    def harvestable(self, stock_mg: float, rounds: int = 1) -> float:
        """What a careful keeper takes of worms that climb, at each of so many rounds a day [mg].

        No more than climbs, than a day's share allows, and than may be drawn of a liquid.
        """
        return self.harvest_share(rounds) * min(stock_mg, self.drawn_mg)


def last_useful_age(model: WormModel, retire_share: float) -> float:
    """Age at which the medium carries only ``retire_share`` of what it carried fresh.

    From K(tau) = retire_share K0: tau_half + w ln(1 / retire_share - 1).

    Args:
        model: the culture.
        retire_share: share of fresh medium at which a culture is spent, above 0 and below 1.

    Returns:
        Physiological days since the start; not before the end of the lag.

    References:
        Inverse of :func:`carrying_capacity` (docs/models.md); the share is data.
    """
    age = model.half_spent_age + model.souring_width * math.log(1.0 / retire_share - 1.0)
    return max(model.lag, age)


@lru_cache(maxsize=4096)
def first_harvest_age(model: WormModel, starter_mg: float) -> float:
    """First age at which worms climb in a culture that is left alone from its start.

    Args:
        model: the culture.
        starter_mg: worms carried over into the fresh medium [mg wet].

    Returns:
        Physiological days since the start; infinity when there is nothing to grow from.

    References:
        N / K rises for ever while it is below 1, so there is one crossing of the climbing
        density; Newton's method on logit(N / K), which is straight for a fresh medium
        (Verhulst's logistic) and convex for one that sours.
    """
    if not starter_mg > 0:
        return math.inf

    def filled(age: float) -> float:
        carried = model.capacity_at(age)
        return model.grow(starter_mg, 0.0, age) / carried if carried > 0 else math.inf

    needed = model.climbing_density
    low = high = model.lag
    if filled(low) >= needed:
        return low
    step = 1.0 / model.growth_rate
    while filled(high) < needed:
        low, high, step = high, high + step, 2.0 * step
    age = high
    while high - low > 1e-9 * (1.0 + high):
        share = filled(age)
        if share < needed:
            low = age
        else:
            high = age
        age = _newton_step(model, age, share, needed)
        if not low < age < high:
            age = (low + high) / 2.0
    return high


def _newton_step(model: WormModel, age: float, share: float, needed: float) -> float:
    if not 0 < share < 1 or needed >= 1:
        return math.inf
    spent = 1.0 - model.capacity_at(age) / model.capacity_mg
    slope = model.growth_rate + spent / (model.souring_width * (1.0 - share))
    gap = math.log(share / (1.0 - share)) - math.log(needed / (1.0 - needed))
    # A hair beyond the root, so that the next look closes the bracket from the other side.
    return age - gap / slope - math.copysign(4e-10 * (1.0 + age), gap)


@frozen
class CultureState:
    """A culture at one moment.

    Attributes:
        stock_mg: worms standing in it [mg wet].
        age: physiological days since it was started.
    """

    stock_mg: float
    age: float = 0.0

    def later(self, model: WormModel, days: float, pace: float = 1.0) -> CultureState:
        """The state ``days`` physiological days later, left alone; ``pace`` as in `WormModel`."""
        to_age = self.age + days
        stock_mg = model.grow(self.stock_mg, self.age, to_age, pace)
        return CultureState(stock_mg=stock_mg, age=to_age)

    def without(self, taken_mg: float) -> CultureState:
        """The state after ``taken_mg`` worms were taken.

        Raises:
            RangeError: more than stands in it, or less than nothing.
        """
        if taken_mg < 0 or taken_mg > self.stock_mg * (1 + 1e-12):
            raise RangeError(
                f"cannot take {taken_mg:g} mg of worms"
                f" from a culture that holds {self.stock_mg:g} mg"
            )
        return evolve(self, stock_mg=max(0.0, self.stock_mg - taken_mg))


def age_of_medium(model: WormModel, age: float, fuller: WormModel, fresh_share: float) -> float:
    """Age of a medium after fresh medium was mixed in [physiological d].

    The mix carries, per gram, the mean of what its parts carry; it is given the age at
    which a medium of one piece would carry as much. Worms that grew through their lag do
    not fall back into it.

    Args:
        model: the culture before. age: its age then [physiological d].
        fuller: the culture with all its medium.
        fresh_share: share of the mixed medium that is fresh, 0 to 1.

    References:
        Own derivation (docs/models.md, section "Top-ups"); no published figure.
    """
    if fresh_share == 0:
        return age
    fresh = fuller.capacity_at(0.0) / fuller.capacity_mg
    old = model.capacity_at(age) / model.capacity_mg
    mixed = fresh_share * fresh + (1.0 - fresh_share) * old
    if mixed <= 0:
        return age
    spent = max(1.0 / mixed - 1.0, math.exp(-_LARGEST_EXPONENT))
    mixed_age = fuller.half_spent_age + fuller.souring_width * math.log(spent)
    return min(age, max(mixed_age, min(age, fuller.lag)))
