"""What a day's food makes of a fry: what it eats of it, grows, burns, excretes, and leaves.

The balance of fish energetics, intake = growth + upkeep + costs of feeding + what is excreted
(Winberg 1956, Kitchell et al. 1977), turned round: full food gives growth by the curve of the
class, and so the intake that pays for it. Less than that pays upkeep first and grows with the
rest; what upkeep lacks is burnt out of the fish's reserves, down to the point of no return.
"""

from __future__ import annotations

import math

from attrs import frozen

from cultures.fry.classes import FryClass
from cultures.fry.feeding import energy_per_day_j, feeding_values


@frozen
class Condition:
    """How far a fry has come.

    Attributes:
        growth_days: on the curve of its class [d at the reference].
        reserve: 1 in full condition, 0 at the point of no return, below it still alive for a time.
    """

    growth_days: float
    reserve: float = 1.0


@frozen
class Coming:
    """What a brood that was not fed in full loses yet, between now and its next meal.

    Attributes:
        lag_days: in all [d at the reference]. from_h, to_h: the time [h since the epoch].
        reserve: what it has left at the end of it, as in :class:`Condition`.
    """

    lag_days: float
    from_h: float
    to_h: float
    reserve: float = 1.0

    def after(self, time_h: float) -> float:
        """What of it is still to be lost at a time [d at the reference]."""
        left = (self.to_h - time_h) / (self.to_h - self.from_h)
        return self.lag_days * min(1.0, max(0.0, left))


@frozen
class Fed:
    """What the meals of a brood have made of it by now.

    Attributes:
        lag_days: how far it is behind the curve of its class at its next meal, which is decided by
            the last one [d at the reference]. reserve: as in :class:`Condition`.
        share: of its need that it was given over the last ``days``, since it was first short.
        coming: the part of ``lag_days`` that it loses only from now on, or None.
        never: it has been given nothing since its anchor.
    """

    lag_days: float = 0.0
    reserve: float = 1.0
    share: float = 1.0
    days: float = 0.0
    coming: Coming | None = None
    never: bool = False

    def lag_at(self, time_h: float) -> float:
        """How far it is behind at a time from now on [d at the reference]."""
        return self.lag_days - (self.coming.after(time_h) if self.coming else 0.0)


#: As all are of which nothing else is known.
WELL_FED = Fed()


@frozen
class Budget:
    """One fry over a time, all in [J]; :attr:`after` is its condition then.

    What is given is eaten or left. What is eaten, and what is drawn from reserves, is grown,
    excreted (faeces and urine) or burnt: nothing is lost or made.

    Attributes:
        stored_j: into the reserves, below 0 where they were drawn upon.
    """

    given_j: float
    eaten_j: float
    grown_j: float
    stored_j: float
    after: Condition


def upkeep_j(weight_mg: float, temperature_c: float) -> float:
    """Energy that a fry burns a day without growing [J/d].

    References:
        Bleak of 2 to 350 mg at 20 °C (Keckeis & Schiemer 1990); by weight flat up to 5 mg and
        falling from there (Oikawa et al. 1991, Wieser 1995); by temperature Aguilar et al. 2017.
    """
    v = feeding_values()
    size = max(1.0, weight_mg / v["upkeep_flat_mg"]) ** v["upkeep_exponent"]
    return float(weight_mg * v["upkeep_j_per_mg"] * size * _warmth(temperature_c))


def _warmth(temperature_c: float) -> float:
    v = feeding_values()
    return float(v["upkeep_q10"] ** ((temperature_c - v["upkeep_ref_c"]) / 10.0))


def kept_share() -> float:
    """Share of what is eaten that is left for upkeep and growth.

    References:
        Faeces and urine of minnows (Cui & Wootton 1988), cost of feeding of a cyprinid.
    """
    v = feeding_values()
    return 1.0 - v["egested_share"] - v["excreted_share"] - v["feeding_cost"]


def days_to_no_return(fry: FryClass, length_mm: float, temperature_c: float) -> float:
    """How long fry in full condition can go without any food and still be saved [d].

    References:
        At first food and the class's reference temperature the class's own ``starve_days``;
        larger fry have larger reserves and burn them more slowly (``starve_exponent``), and all
        burn them as upkeep goes with warmth.
    """
    v = feeding_values()
    first = fry.weight_mg(fry.values["length_first_food_mm"])
    larger = max(1.0, fry.weight_mg(length_mm) / first) ** v["starve_exponent"]
    warmer = _warmth(temperature_c) / _warmth(fry.values["t_ref_c"])
    return float(fry.values["starve_days"] * larger / warmer)


def days_to_death(fry: FryClass, length_mm: float, temperature_c: float) -> float:
    """After how long without food the last of them are dead [d].

    References:
        ``death_over_no_return``, from silver carp, a Tibetan carp and zebrafish.
    """
    beyond = feeding_values()["death_over_no_return"]
    return beyond * days_to_no_return(fry, length_mm, temperature_c)


@frozen
class Fill:
    """What full food is for a fry of one size for some time.

    Attributes:
        grown_j: growth by its class. upkeep_j: what it burns besides. intake_j: what it eats
            for both. offered_j: what is to be given for that, its need.
        reserve_j: what it can burn before the point of no return. unfed_j: of that, unfed.
    """

    grown_j: float
    upkeep_j: float
    intake_j: float
    offered_j: float
    reserve_j: float
    unfed_j: float

    @property
    def eaten_of_need(self) -> float:
        """Share of its need that it eats; the rest is what it does not find in time."""
        return self.intake_j / self.offered_j

    def taken(self, share: float) -> float:
        """What it eats, over what it eats at full food, of a share of its need.

        Of little nearly all is found, of plenty less: the law that two points fix, everything
        eaten where there is next to nothing, and ``eaten_of_need`` where the need is given.

        References:
            Holling 1959, The components of predation, Canadian Entomologist 91:293-320, type II
            (from memory). That growth rises ever less with the ration: Cui & Wootton 1988.
        """
        return share / (self.eaten_of_need + (1.0 - self.eaten_of_need) * share)


def full_food(fry: FryClass, growth_days: float, temperature_c: float, days: float) -> Fill:
    """What a fry that has come so far wants for some days [d], at full food.

    Where growth by the class costs more than the ration law offers, its need is what growth costs.
    """
    v = feeding_values()
    length = fry.length_mm(growth_days)
    weight = fry.weight_mg(length)
    grown, upkeep = _costs_j(fry, growth_days, temperature_c, days)
    intake = (grown + upkeep) / kept_share()
    reserve = v["reserve_share"] * weight * v["body_j_per_mg"]
    return Fill(
        grown_j=grown,
        upkeep_j=upkeep,
        intake_j=intake,
        offered_j=max(intake, energy_per_day_j(weight, temperature_c) * days),
        reserve_j=reserve,
        unfed_j=reserve * days / days_to_no_return(fry, length, temperature_c),
    )


def _costs_j(
    fry: FryClass, growth_days: float, temperature_c: float, days: float
) -> tuple[float, float]:
    """What growth by its class puts on in some days, and what it burns besides [J]."""
    weight = fry.weight_mg(fry.length_mm(growth_days))
    grown = _grown_j(fry, growth_days, days * fry.growth(temperature_c))
    return grown, upkeep_j(weight, temperature_c) * days


def day_need_j(fry: FryClass, length_mm: float, temperature_c: float) -> float:
    """What to offer one fry of a length a day [J]: the ration, or what it eats where that is more.

    It is more in the fastest classes: their own growth, by the balance, costs more than a law
    that was drawn through larvae of all kinds. Neither is more than is eaten or was offered in
    trials, so nothing is added to the larger.
    """
    ration = energy_per_day_j(fry.weight_mg(length_mm), temperature_c)
    costs = _costs_j(fry, fry.growth_days(length_mm), temperature_c, 1.0)
    return max(ration, sum(costs) / kept_share())


def most_of_a_meal(weight_mg: float, temperature_c: float) -> float:
    """The most energy that one meal of live food brings one fry [J]: a full gut, and what the gut
    clears while the food is there.

    References:
        Clearing of the gut of carp at 9 and 26.5 °C; how full it gets and how long food lasts in
        a tank: data/feeding.toml.
    """
    v = feeding_values()
    warm = v["gut_q10"] ** ((temperature_c - v["gut_ref_c"]) / 10.0)
    guts = 1.0 + v["gut_clears_per_h"] * warm * v["food_stays_h"]
    return float(weight_mg * v["gut_share"] * guts * v["live_food_j_per_mg"])


def fed(
    fry: FryClass, before: Condition, temperature_c: float, share: float, days: float
) -> Budget:
    """One fry from one meal to the next, ``days`` later [d].

    Args:
        share: of its need for this time that the meal brings, 0 for none.

    Above its fill a fry eats only to make up its reserves, and no more than the gut holds; it
    never grows faster than its class.
    """
    full = full_food(fry, before.growth_days, temperature_c, days)
    taken = min(full.taken(share), _most(fry, before, full, temperature_c))
    paid = taken * (full.grown_j + full.upkeep_j)  # what is eaten, less its costs
    stored = _stored_j(before, full, paid)
    part = 0.0 if stored < 0.0 else _part_grown(full, paid - full.upkeep_j - stored)
    days_grown = part * days * fry.growth(temperature_c)
    return Budget(
        given_j=share * full.offered_j,
        eaten_j=taken * full.intake_j,
        grown_j=full.grown_j if part == 1.0 else _grown_j(fry, before.growth_days, days_grown),
        stored_j=stored,
        after=Condition(before.growth_days + days_grown, before.reserve + stored / full.reserve_j),
    )


def _most(fry: FryClass, before: Condition, full: Fill, temperature_c: float) -> float:
    """The most that it eats of one meal, over its fill."""
    weight = fry.weight_mg(fry.length_mm(before.growth_days))
    gut = most_of_a_meal(weight, temperature_c) / full.intake_j
    lacking = _lacking_j(before, full) / (full.grown_j + full.upkeep_j)
    return min(max(1.0, gut), 1.0 + lacking)


def _lacking_j(before: Condition, full: Fill) -> float:
    return max(0.0, 1.0 - before.reserve) * full.reserve_j


def _stored_j(before: Condition, full: Fill, paid_j: float) -> float:
    """What goes into the reserves, or out of them where the upkeep is not paid [J]."""
    if paid_j < full.upkeep_j:
        return -full.unfed_j * (1.0 - paid_j / full.upkeep_j)
    return min(paid_j - full.upkeep_j, _lacking_j(before, full))


def _part_grown(full: Fill, for_growth_j: float) -> float:
    """The part of its class's growth that energy pays for."""
    if full.grown_j <= 0.0:
        return 1.0
    return min(1.0, for_growth_j / full.grown_j)


def _grown_j(fry: FryClass, growth_days: float, days_grown: float) -> float:
    """What so many days of growth put on a fry that has come so far [J]."""
    before, after = (
        fry.weight_mg(fry.length_mm(days)) for days in (growth_days, growth_days + days_grown)
    )
    return (after - before) * feeding_values()["body_j_per_mg"]


def point_of_no_return(before: Condition, step: Budget) -> float | None:
    """When in a step the point of no return is passed, as a share of it; None where it is not."""
    start, end = before.reserve, step.after.reserve
    if not start > 0.0 >= end or math.isclose(start, end):
        return None
    return start / (start - end)
