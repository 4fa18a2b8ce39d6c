"""Ammonia that a day's food brings into a tank, against what its water bears.

A planning figure for a tank without filter, plants or water change, to warn of small tanks
that are fed heavily. It says nothing about the health of a fish.
"""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from cultures.errors import RangeError
from cultures.foods.food import DRY
from cultures.fry.feeding import feeding_values


def un_ionised_share(temperature_c: float, ph: float) -> float:
    """Share of total ammonia that is un-ionised NH3, in fresh water.

    Raises:
        RangeError: outside 0 to 50 °C or pH 4 to 11.

    References:
        Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383:
        pKa = 0.09018 + 2729.92 / T (constants from memory; they reproduce an extension
        table made from the paper, which the misprint 2727.92 in circulation does not).

    Examples:
        At 25 °C and pH 8 the pKa is 9.246, so 1 in 1 + 10^1.246 = 18.6 parts.

        >>> round(1 / un_ionised_share(25.0, 8.0), 1)
        18.6
    """
    if not 0 <= temperature_c <= 50 or not 4 <= ph <= 11:
        raise RangeError("ammonia: use 0 to 50 °C and pH 4 to 11")
    pka = 0.09018 + 2729.92 / (temperature_c + 273.15)
    return float(1.0 / (1.0 + 10.0 ** (pka - ph)))


def ammonia_mg(foods: Mapping[str, float]) -> float:
    """Total ammonia nitrogen from energy given by food [J] -> [mg].

    References:
        feed x protein x 0.092 (Timmons & Ebeling), with the protein of dry and of live
        food from data/feeding.toml. What is left uneaten comes out too, only later.
    """
    v = feeding_values()
    protein_mg = 0.0
    for food, energy_j in foods.items():
        if food == DRY:
            feed_mg = 1000.0 * energy_j / (v["dry_j_per_g"] * v["dry_digested"])
            protein_mg += feed_mg * v["feed_protein"]
        else:
            wet_mg = energy_j / v["live_food_j_per_mg"]
            protein_mg += wet_mg * v["live_dry_matter"] * v["live_protein"]
    return protein_mg * v["nitrogen_of_protein"] * v["ammonia_share"]


def _fouled_mg(given_j: Mapping[str, float], need_j: float | None) -> float:
    """What food that nobody can eat adds to the ammonia of a day that is fed far too much [mg].

    Notes:
        Above its need a fry eats no more (:func:`cultures.fry.bioenergetics.fed`): all nitrogen of
        the rest comes out as it rots, where of what is fed within the need a part is kept.
    """
    v, all_j = feeding_values(), sum(given_j.values())
    if not need_j or all_j <= v["overfed_at"] * need_j:
        return 0.0
    whole_mg = ammonia_mg(given_j) / v["ammonia_share"]
    return whole_mg * (1.0 - v["ammonia_share"]) * (1.0 - need_j / all_j)


@frozen
class TooMuch:
    """In how far a tank is fed more than its water bears.

    Attributes:
        says: what is wrong, or to be done, in a sentence that is the same for other tanks.
        why: the rest. times: how many times the ration, which stands before it, in tenths; None
            where it is about something else.
    """

    says: str
    why: str
    times: float | None = None

    @property
    def text(self) -> str:
        """All of it."""
        times = "" if self.times is None else f"{self.times:.1f} "
        return f"{times}{self.says}. {self.why}"


@frozen
class TankLoad:
    """What a day's food means for a tank.

    Attributes:
        ammonia_mg_per_l: total ammonia nitrogen that a day's food brings [mg/L].
        un_ionised_mg_per_l: of it un-ionised, at the tank's temperature and a usual pH [mg/L].
        days_to_limit: days to the working limit if nothing took it away; infinite unfed.
        given_over_need: energy given over energy to be offered by the ration, or None.
    """

    tank: str
    litres: float
    temperature_c: float
    ammonia_mg_per_l: float
    un_ionised_mg_per_l: float
    days_to_limit: float
    given_over_need: float | None

    def warnings(self) -> list[TooMuch]:
        """What is to be said of it, with the source of each figure; empty if all is well."""
        v = feeding_values()
        found = []
        if self.given_over_need is not None and self.given_over_need > v["overfed_at"]:
            says = (
                f"times the ration is given; above {v['overfed_at']:g} times, larvae in a trial"
                " grew no better (Palinska-Zarska et al. 2015), and the rest fouls the water"
            )
            why = (
                "Give less there and note what it got (livefood journal fed TANK FOOD AMOUNT), or"
                " take out what is left."
            )
            found.append(TooMuch(says, why, round(self.given_over_need, 1)))
        if self.days_to_limit < 1.0:
            limit = v["ammonia_limit_mg_per_l"]
            why = (
                f"A day's food brings {self.ammonia_mg_per_l:.2g} mg/L of ammonia nitrogen into"
                f" {self.litres:g} L, {self.un_ionised_mg_per_l:.2g} of it un-ionised at"
                f" {self.temperature_c:.3g} °C and pH {v['usual_ph']:g} (Emerson et al. 1975), if"
                f" no filter, plants or water change took it; the usual working limit is {limit:g}."
            )
            found.append(TooMuch("measure, and change water before feeding more", why))
        return found


def tank_load(
    *,
    tank: str,
    litres: float,
    temperature_c: float,
    given_j: Mapping[str, float],
    need_j: float | None = None,
) -> TankLoad:
    """The load of one tank by one day's food, all its broods together.

    Args:
        given_j: energy given that day by food [J]. need_j: energy to be offered that day.

    Raises:
        RangeError: a temperature out of range.
    """
    v = feeding_values()
    total = (ammonia_mg(given_j) + _fouled_mg(given_j, need_j)) / litres
    free = total * un_ionised_share(temperature_c, v["usual_ph"])
    return TankLoad(
        tank=tank,
        litres=litres,
        temperature_c=temperature_c,
        ammonia_mg_per_l=total,
        un_ionised_mg_per_l=free,
        days_to_limit=v["ammonia_limit_mg_per_l"] / free if free > 0 else float("inf"),
        given_over_need=sum(given_j.values()) / need_j if need_j else None,
    )
