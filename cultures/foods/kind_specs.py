"""Which parameters a kind of live food has: units, hard limits and meanings."""

from __future__ import annotations

from cultures.foods.parameters import Spec

_THERMAL = {
    "t_min_c": Spec("°C", -5, 25, "no development at or below"),
    "t_max_c": Spec("°C", 15, 50, "no development at or above"),
    "t_ref_c": Spec("°C", 5, 40, "temperature at which the rates below are stated"),
    "lethal_low_c": Spec("°C", -40, 20, "dies at or below"),
    "lethal_high_c": Spec("°C", 20, 60, "dies at or above"),
}

_BODY = {
    "width_um": Spec("um", 1, 5000, "width that a mouth must pass"),
    "individual_mass_ug": Spec("ug wet", 1e-4, 1e5, "mean wet mass of one"),
    "preference": Spec("", 0, 100, "how much a mixed diet leans to it (microworm: 1)", 1.0),
}

WORM_SPECS: dict[str, Spec] = {
    **_THERMAL,
    "growth_rate_per_day": Spec("1/d", 0.001, 5, "r, growth of a thin stock at the reference"),
    "lag_days": Spec("d", 0, 60, "days at the reference before the stock grows"),
    "capacity_mg_per_cm2": Spec("mg/cm2", 0, 1e4, "stock that a surface carries; 0: no limit", 0.0),
    "capacity_mg_per_g": Spec("mg/g", 1e-3, 1e3, "stock that the medium carries by its mass"),
    "half_spent_days": Spec("d", 1, 2000, "age at which the medium is half spent"),
    "souring_width_days": Spec("d", 0.1, 500, "how suddenly it sours"),
    "climbing_fraction": Spec("share", 0.001, 1, "largest share of the stock in one harvest"),
    "climbing_density": Spec("share", 0.001, 1, "share of capacity from which worms can be taken"),
    "starter_mg_per_g": Spec("mg/g", 1e-4, 1e3, "worms in a starter of unknown origin"),
    "energy_j_per_mg": Spec("J/mg wet", 0.1, 30, "energy of the wet worms"),
    **_BODY,
    "water_life_h": Spec("h", 0.05, 1000, "stays alive in the fry's water"),
    "portion_mg": Spec("mg wet", 0.1, 1e4, "worms in one swipe (roughly)"),
    "retire_share": Spec("share", 0.01, 0.9, "spent below this share of fresh medium"),
    "renew_days": Spec("d", 1, 1000, "usual interval between splits"),
    "yield_spread": Spec("share", 0, 5, "relative s.d. of a culture's yield", 0.3),
    "crash_per_day": Spec("1/d", 0, 1, "chance a day that a culture crashes", 0.01),
}

HATCH_SPECS: dict[str, Spec] = {
    **_THERMAL,
    "slow_below_c": Spec("°C", 0, 30, "slow and unreliable below"),
    "no_promise_below_c": Spec("°C", 0, 30, "no hatching time is promised below"),
    "warn_above_c": Spec("°C", 15, 45, "warn at or above"),
    "t10_h": Spec("h", 1, 200, "10 % of the hatchable cysts hatched, at the reference"),
    "t90_h": Spec("h", 1, 300, "90 % of the hatchable cysts hatched, at the reference"),
    "nauplii_per_gram": Spec("1/g", 1e3, 4e5, "nauplii that a gram of cysts gives"),
    "energy_j": Spec("J", 1e-3, 1, "energy of a nauplius just hatched"),
    "loss_per_h": Spec("1/h", 0, 0.5, "energy spent an hour at the loss reference"),
    "loss_ref_c": Spec("°C", 5, 40, "temperature of the loss"),
    "loss_q10": Spec("", 1, 5, "Q10 of the loss"),
    "cold_death_per_h": Spec("1/h", 0, 0.5, "deaths an hour while held cold"),
    "cold_below_c": Spec("°C", 0, 20, "cold holding means at or below"),
    "cold_hold_h": Spec("h", 0, 200, "longest cold holding"),
    "warm_hold_h": Spec("h", 0, 100, "longest holding at room temperature"),
    "salinity_low_g_per_l": Spec("g/L", 0.1, 60, "hatching suffers below"),
    "salinity_high_g_per_l": Spec("g/L", 10, 100, "hatching suffers above"),
    "salinity_stop_g_per_l": Spec("g/L", 30, 150, "nothing hatches at or above"),
    "fresh_water_share": Spec("share", 0, 1, "share that hatches with no salt"),
    "crowding_small_g_per_l": Spec("g/L", 0.1, 20, "most cysts a litre, small vessel"),
    "crowding_large_g_per_l": Spec("g/L", 0.1, 20, "most cysts a litre, large vessel"),
    "large_from_l": Spec("L", 1, 1000, "a vessel is large from"),
    "wetting_keeps_share": Spec("share", 0.1, 1, "hatch kept by cysts wetted and dried once", 1.0),
    "handling_h": Spec("h", 0, 6, "from the harvest to the first tank: settle, sieve, rinse", 0.5),
    "bulk_density_g_per_ml": Spec("g/mL", 0.1, 1.5, "dry cysts in a level spoon"),
    **_BODY,
    "water_life_h": Spec("h", 0.05, 1000, "stays alive in the fry's fresh water"),
    "yield_spread": Spec("share", 0, 5, "relative s.d. of a hatch's yield", 0.2),
}

#: Parameters that must ascend.
THERMAL_ORDERS = (("t_min_c", "t_ref_c", "t_max_c"), ("lethal_low_c", "t_ref_c", "lethal_high_c"))
SALT_ORDER = ("salinity_low_g_per_l", "salinity_high_g_per_l", "salinity_stop_g_per_l")
