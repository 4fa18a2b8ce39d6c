"""Live-food models against figures printed elsewhere.

Each check names its source and takes its tolerance from the source's own spread. Run this
file to write the table of all of them: ``python tests/published/test_published_food.py``.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from attrs import frozen
from scipy.optimize import least_squares

from cultures.foods.hatching import held_share
from cultures.foods.kinds import HatchKind, Kind, WormKind, kind_names, shipped_kind, strains
from cultures.foods.parameters import Parameter, data_table, sources
from cultures.foods.temperature import Briere, TemperatureSeries
from cultures.foods.worms import growth_step, last_useful_age, through
from cultures.foods.yields import Setup, daily_yield

#: A capacity that no stock here comes near.
PLENTY = 1e12

TABLE = Path(__file__).parents[2] / "docs" / "published-checks-food.md"


@frozen
class Check:
    """One published figure.

    Attributes:
        key: names the model output. what: what is compared. source: id in the data.
        published: the printed figure; low, high: what its source's spread allows.
        why: where that tolerance comes from.
        gap: why the model misses it, where it is known to.
    """

    key: str
    what: str
    unit: str
    source: str
    published: float
    low: float
    high: float
    why: str
    gap: str


def read_checks() -> list[Check]:
    """All figures of food_checks.toml."""
    data = tomllib.loads((Path(__file__).parent / "food_checks.toml").read_text("utf-8"))
    return [
        Check(
            key=key,
            what=raw["what"],
            unit=raw["unit"],
            source=raw["source"],
            published=raw["published"],
            low=raw["range"][0],
            high=raw["range"][1],
            why=raw["why"],
            gap=raw.get("gap", ""),
        )
        for key, raw in data.items()
    ]


def hatch_kind(strain: str | None = None) -> HatchKind:
    kind = shipped_kind("brine_shrimp", strain)
    assert isinstance(kind, HatchKind)
    return kind


def worm_kind(name: str = "microworm") -> WormKind:
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    return kind


def hatch_hours(temperature_c: float, share: float, strain: str | None = None) -> float:
    """Hours to a share of the hatchable cysts, by bisection on the model's own curve."""
    model = hatch_kind(strain).model(temperature_c=temperature_c)
    low, high = 0.0, 500.0
    for _ in range(60):
        middle = (low + high) / 2
        if model.nauplii(middle) < share * model.nauplii_per_gram:
            low = middle
        else:
            high = middle
    return high


def optimum_c(rate: Briere) -> float:
    return max((i / 100 for i in range(5000)), key=rate)


def per_gram(salinity: float) -> float:
    return hatch_kind().model(temperature_c=27, salinity_g_per_l=salinity).nauplii_per_gram


def energy_left(hours: float, temperature_c: float) -> float:
    return held_share(hours, loss_per_h=hatch_kind().loss_per_h(temperature_c), death_per_h=0.0)


def rewetted(times: int) -> float:
    wetted = hatch_kind().model(temperature_c=27.0, wettings=times)
    return wetted.nauplii_per_gram / hatch_kind().model(temperature_c=27.0).nauplii_per_gram


def tray(temperature_c: float) -> tuple[float, float, float]:
    """(first day, last useful day, mg a day per 100 cm2) of a tray with a tenth as starter."""
    setup = Setup(kind=worm_kind(), medium_g=600, surface_cm2=600, starter_mg=60 * 20)
    curve = daily_yield(setup, series=TemperatureSeries.constant(temperature_c))
    assert curve.first_harvest_day is not None
    return curve.first_harvest_day, curve.last_useful_day, curve.daily_mg / 6.0


def last_day_on(medium: str) -> float:
    """Last useful day of a tray on a medium, at the reference temperature."""
    kind = worm_kind().kept(medium)
    model = kind.model(medium_g=150, surface_cm2=180)
    return last_useful_age(model, kind.values["retire_share"])


def jar(kind: str, medium_g: float, starter_g: float, temperature_c: float) -> tuple[float, float]:
    """(first harvest day, last useful day) of a liquid culture."""
    worms = worm_kind(kind)
    starter_mg = starter_g * worms.values["starter_mg_per_g"]
    setup = Setup(kind=worms, medium_g=medium_g, surface_cm2=None, starter_mg=starter_mg)
    curve = daily_yield(setup, series=TemperatureSeries.constant(temperature_c))
    assert curve.first_harvest_day is not None
    return curve.first_harvest_day, curve.last_useful_day


def rate_at(kind: str, temperature_c: float) -> float:
    """r of a kind at a temperature [1/d]."""
    worms = worm_kind(kind)
    return worms.values["growth_rate_per_day"] * worms.rate(temperature_c)


def rotifers_per_ml() -> float:
    """Number at capacity."""
    values = worm_kind("rotifer").values
    return 1000 * values["capacity_mg_per_g"] / values["individual_mass_ug"]


def logistic(stock: float, days: float, growth_rate: float, capacity: float) -> float:
    """Our closed form on a medium that never sours."""
    step = growth_step(0.0, days, growth_rate, capacity, half_spent_age=1e6, souring_width=10.0)
    return through(step, stock)


def doubling_days(growth_rate: float) -> float:
    """Days in which a thin stock doubles, by bisection on the closed form."""
    low, high = 0.0, 1000.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (
            (middle, high) if logistic(1, middle, growth_rate, PLENTY) < 2 else (low, middle)
        )
    return high


def best_growth(growth_rate: float, capacity: float) -> float:
    """Most that the closed form adds a day, over all stocks."""
    step = 1e-4
    return max(
        (logistic(capacity * i / 1000, step, growth_rate, capacity) - capacity * i / 1000) / step
        for i in range(1, 1000)
    )


def yeast_capacity() -> float:
    """K of the closed form fitted to six printed rows (hour, mass)."""
    rows = [(1, 9.6), (4, 47.2), (7, 174.6), (10, 441.0), (13, 594.8), (16, 651.1)]

    def residuals(p: list[float]) -> list[float]:
        return [logistic(p[2], t - 1, p[1], p[0]) - mass for t, mass in rows]

    return float(least_squares(residuals, [600, 0.5, 10], x_scale=[100, 0.1, 1]).x[0])


#: Published durations from egg to adult [d] by temperature [°C].
OLIGOTA = [
    (12, 114.41), (15, 51.66), (18, 33.45), (20, 23.21), (25, 13.43), (30, 11.54), (32, 17.18),
]  # fmt: skip


def oligota_threshold() -> float:
    """T_min of our Briere curve fitted to printed durations, as rates."""
    rates = [(t, 1 / days) for t, days in OLIGOTA]

    def residuals(p: list[float]) -> list[float]:
        curve = Briere(t_min_c=p[0], t_max_c=p[1], t_ref_c=25.0)
        return [p[2] * curve(t) - rate for t, rate in rates]

    return float(least_squares(residuals, [10, 34, 0.07], x_scale=[1, 1, 0.01]).x[0])


EXAMPLE = Briere(t_min_c=10.0, t_max_c=30.0, t_ref_c=25.0)

MODELS: dict[str, Callable[[], float]] = {
    "last_worms_on_oats": lambda: last_day_on("oats"),
    "last_worms_on_cornmeal": lambda: last_day_on("cornmeal"),
    "last_worms_on_wheat_flour": lambda: last_day_on("wheat_flour"),
    "output_of_the_kkt1_strain": (
        lambda: (
            hatch_kind("kkt1").values["nauplii_per_gram"]
            * hatch_kind("kkt1").values["individual_mass_ug"]
            * 0.16
            / 1000
        )
    ),
    "kkt1_t90_t10_at_29_c": lambda: hatch_hours(29, 0.9, "kkt1") - hatch_hours(29, 0.1, "kkt1"),
    "nine_tenths_hatched_at_27_c": lambda: hatch_hours(27, 0.9),
    "hatching_time_at_21_c_over_that_at_27_c": lambda: hatch_hours(21, 0.9) / hatch_hours(27, 0.9),
    "half_hatched_at_30_c": lambda: hatch_hours(30, 0.5),
    "no_hatching_at_or_below": lambda: hatch_kind().rate.t_min_c,
    "best_harvest_at_25_c": lambda: hatch_kind().model(temperature_c=25).best_hours(),
    "nauplii_per_gram": lambda: hatch_kind().values["nauplii_per_gram"],
    "hatch_at_35_g_l_over_that_at_5_g_l": lambda: per_gram(35) / per_gram(5),
    "hatch_at_12_g_l_over_that_at_36_g_l": lambda: per_gram(12) / per_gram(36),
    "hatch_at_90_g_l": lambda: per_gram(90),
    "most_cysts_in_a_small_vessel": lambda: hatch_kind().most_grams(1.0),
    "most_cysts_in_a_large_vessel": lambda: hatch_kind().most_grams(50.0) / 50,
    "kept_by_cysts_wetted_and_dried_three_times": lambda: rewetted(3),
    "energy_of_a_nauplius_just_hatched": lambda: hatch_kind().values["energy_j"],
    "energy_left_after_24_h_at_25_c": lambda: energy_left(24, 25),
    "energy_left_after_96_h_at_25_c": lambda: energy_left(96, 25),
    "loss_at_0_c_over_that_at_30_c": (
        lambda: hatch_kind().loss_per_h(0) / hatch_kind().loss_per_h(30)
    ),
    "alive_after_48_h_at_2_4_c": (
        lambda: held_share(48, loss_per_h=0, death_per_h=hatch_kind().values["cold_death_per_h"])
    ),
    "moult_to_the_second_stage": lambda: hatch_kind().values["warm_hold_h"],
    "life_in_fresh_water": lambda: hatch_kind().values["water_life_h"],
    "microworm_no_growth_at_or_below": lambda: worm_kind().rate.t_min_c,
    "microworm_fastest_at": lambda: optimum_c(worm_kind().rate),
    "microworm_rate_at_15_c_over_that_at_25_c": (
        lambda: worm_kind().rate(15) / worm_kind().rate(25)
    ),
    "microworm_rate_at_10_c_over_that_at_25_c": (
        lambda: worm_kind().rate(10) / worm_kind().rate(25)
    ),
    "microworm_r_at_20_c": (
        lambda: worm_kind().values["growth_rate_per_day"] * worm_kind().rate(20)
    ),
    "microworm_first_harvest_at_20_c": lambda: tray(20)[0],
    "microworm_first_harvest_at_29_c": lambda: tray(29)[0],
    "microworm_days_of_harvest_at_24_c": lambda: tray(24)[1] - tray(24)[0],
    "microworm_yield_of_a_tray_per_100_cm2": lambda: tray(24)[2],
    "microworm_energy_of_dry_matter": lambda: worm_kind().values["energy_j_per_mg"] / 0.24,
    "microworm_half_die_frozen_at": lambda: worm_kind().values["lethal_low_c"],
    "vinegar_eel_first_harvest_at_22_c": lambda: jar("vinegar_eel", 1000, 100, 22)[0],
    "vinegar_eel_a_bottle_s_life_at_22_c": lambda: jar("vinegar_eel", 1000, 100, 22)[1],
    "vinegar_eel_rate_at_36_c": lambda: worm_kind("vinegar_eel").rate(36),
    "vinegar_eel_most_in_a_bottle": lambda: worm_kind("vinegar_eel").values["capacity_mg_per_g"],
    "paramecium_100_ml_into_500_ml_ready_at_26_c": lambda: jar("paramecium", 600, 100, 26)[0],
    "paramecium_doubling_at_28_c": (
        lambda: doubling_days(
            worm_kind("paramecium").values["growth_rate_per_day"] * worm_kind("paramecium").rate(28)
        )
    ),
    "grindal_worm_increase_in_a_generation_of_28_days": (
        lambda: logistic(
            1,
            28,
            worm_kind("grindal_worm").values["growth_rate_per_day"]
            * worm_kind("grindal_worm").rate(21),
            PLENTY,
        )
    ),
    "rotifer_fastest_at": lambda: optimum_c(worm_kind("rotifer").rate),
    "rotifer_r_at_25_c": lambda: (
        worm_kind("rotifer").values["growth_rate_per_day"] * worm_kind("rotifer").rate(25)
    ),
    "rotifer_most_at_27_c": lambda: (
        1000
        * worm_kind("rotifer").values["capacity_mg_per_g"]
        / worm_kind("rotifer").values["individual_mass_ug"]
    ),
    "rotifer_rate_at_35_c_over_that_at_15_c": lambda: (
        worm_kind("rotifer").rate(35) / worm_kind("rotifer").rate(15)
    ),
    "rotifer_share_taken_a_day": lambda: worm_kind("rotifer").values["climbing_fraction"],
    "sfb_four_fifths_hatched_at_20_c": (lambda: hatch_hours(20, 0.8, "san_francisco_bay")),
    "sfb_four_fifths_hatched_at_24_c": (lambda: hatch_hours(24, 0.8, "san_francisco_bay")),
    "sfb_four_fifths_hatched_at_30_c": (lambda: hatch_hours(30, 0.8, "san_francisco_bay")),
    "covelong_nine_tenths_hatched": (lambda: hatch_hours(28, 0.9)),
    "covelong_t90_t10": (lambda: hatch_hours(28, 0.9) - hatch_hours(28, 0.1)),
    "pozos_tenth_hatched": (lambda: hatch_hours(28, 0.1)),
    "pozos_nine_tenths_hatched": (lambda: hatch_hours(28, 0.9)),
    "pozos_nauplii_per_gram": (lambda: hatch_kind().values["nauplii_per_gram"]),
    "hatch_at_5_g_l_over_that_at_30_g_l": (lambda: per_gram(5) / per_gram(30)),
    "hatch_at_15_g_l_over_that_at_30_g_l": (lambda: per_gram(15) / per_gram(30)),
    "pozos_dry_mass_of_a_nauplius": (lambda: hatch_kind().values["individual_mass_ug"] * 0.16),
    "grindal_worm_rate_at_8_c_over_that_at_20_c": (
        lambda: worm_kind("grindal_worm").rate(8) / worm_kind("grindal_worm").rate(20)
    ),
    "grindal_worm_r_at_20_c": (lambda: rate_at("grindal_worm", 20)),
    "grindal_worm_r_of_a_relative_at_20_c": (lambda: rate_at("grindal_worm", 20)),
    "grindal_worm_most_a_tray_gives_per_100_cm2": (
        lambda: (
            100
            * best_growth(
                rate_at("grindal_worm", 20), worm_kind("grindal_worm").values["capacity_mg_per_cm2"]
            )
        )
    ),
    "grindal_worm_most_in_the_medium": (
        lambda: worm_kind("grindal_worm").values["capacity_mg_per_g"]
    ),
    "rotifer_peak_without_yeast": rotifers_per_ml,
    "rotifer_peak_on_fed_chlorella": rotifers_per_ml,
    "rotifer_peak_fed_twice_a_day": rotifers_per_ml,
    "rotifer_peak_on_three_diets": rotifers_per_ml,
    "rotifer_peak_on_algae_and_yeast": rotifers_per_ml,
    "rotifer_r_on_three_foods": (lambda: rate_at("rotifer", 25)),
    "rotifer_r_by_feeding_interval": (lambda: rate_at("rotifer", 25)),
    "rotifer_r_of_a_relative_on_two_algae": (lambda: rate_at("rotifer", 25)),
    "rotifer_r_of_a_relative_at_20_c": (lambda: rate_at("rotifer", 20)),
    "rotifer_r_of_a_relative_at_10_c": (lambda: rate_at("rotifer", 10)),
    "rotifer_mass_of_a_relative": (lambda: worm_kind("rotifer").values["individual_mass_ug"]),
    "paramecium_fastest_at": (lambda: optimum_c(worm_kind("paramecium").rate)),
    "logistic_of_a_paramecium_jar_on_day_10": (
        lambda: logistic(4490 / (1 + math.exp(5.4094)), 10, 1.0235, 4490)
    ),
    "logistic_of_ceriodaphnia_on_day_20": (
        lambda: logistic(2220 / (1 + math.exp(6.239)), 20, 0.572, 2220)
    ),
    "ceriodaphnia_lambda_of_r_0_540": lambda: logistic(1, 1, 0.54, PLENTY),
    "yeast_k_of_a_fit": yeast_capacity,
    "doubling_at_r_0_279": lambda: doubling_days(0.279),
    "doubling_at_r_0_19": lambda: doubling_days(0.19),
    "doubling_at_r_0_0468": lambda: doubling_days(0.0468),
    "r0_after_one_generation_at_r_0_2324": lambda: logistic(1, 17.09, 0.2324, PLENTY),
    "most_a_logistic_stock_adds_r_0_4_k_1000": lambda: best_growth(0.4, 1000),
    "the_same_by_formula": lambda: 0.4 * 1000 / 4,
    "briere_10_30_c_rate_at_20_over_that_at_25": lambda: EXAMPLE(20),
    "briere_10_30_c_rate_at_32_c": lambda: EXAMPLE(32),
    "briere_10_30_c_optimum": lambda: optimum_c(EXAMPLE),
    "oligota_t_min_of_a_briere_fit": oligota_threshold,
}


CHECKS = read_checks()
MET = [check for check in CHECKS if not check.gap]
GAPS = [check for check in CHECKS if check.gap]


def test_every_figure_has_its_model_output() -> None:
    assert {check.key for check in CHECKS} == set(MODELS)


@pytest.mark.parametrize("check", MET, ids=[check.key for check in MET])
def test_model_agrees_with_the_published_figure(check: Check) -> None:
    assert within(check), (
        f"{check.what}: {MODELS[check.key]():g}, published {check.published:g}"
        f" ({check.low:g} to {check.high:g})"
    )


@pytest.mark.parametrize("check", GAPS, ids=[check.key for check in GAPS])
def test_what_is_called_a_gap_still_is_one(check: Check) -> None:
    assert not within(check), f"{check.what} is met now: it is no gap any more"


def within(check: Check) -> bool:
    """True when the model's output lies in the range, to rounding."""
    slack = 1e-9 * max(1.0, abs(check.published))
    return check.low - slack <= MODELS[check.key]() <= check.high + slack


def test_there_are_enough_checks_from_enough_sources() -> None:
    assert {check.source for check in CHECKS} <= set(sources())
    sourced = [check for check in MET if check.source != "practice"]
    assert len(sourced) >= 25
    assert len({check.source for check in sourced}) >= 8


def test_every_tolerance_holds_the_published_figure() -> None:
    for check in CHECKS:
        assert check.low <= check.published <= check.high, check.what


def factors(kind: Kind) -> list[Parameter]:
    """All that other media, and other ways to harvest, do to the parameters of a kind."""
    variants = [*kind.media.values(), *kind.harvests.values()] if isinstance(kind, WormKind) else []
    return [factor for variant in variants for factor in variant.factors.values()]


def test_every_food_source_is_used_and_every_use_is_listed() -> None:
    kinds = [
        shipped_kind(name, strain) for name in kind_names() for strain in (None, *strains(name))
    ]
    used = {s for kind in kinds for p in kind.parameters.values() for s in p.sources}
    used |= {s for kind in kinds for p in factors(kind) for s in p.sources}
    used |= {each["source"] for each in data_table("measures.toml")["parameters"].values()}
    listed = set(data_table("sources", "food.toml"))
    assert listed - used - {check.source for check in CHECKS} == set()
    assert used <= listed


HEAD = """# Live-food models against published figures

Written by `python tests/published/test_published_food.py`; a test keeps it current.
The last column says where the tolerance comes from. A figure that a source gives as a
span stands here as its middle or its bound. Some parameters rest on the same texts
(`livefood kinds NAME` says which): such rows show that the data carry what was printed. First
harvests rest on climbing densities that were set by those same texts.
"""

COLUMNS = """
| what | model | published | difference | allowed | source | tolerance |
|---|---|---|---|---|---|---|
"""


def row(check: Check) -> str:
    """One line of the table."""
    value = MODELS[check.key]()
    difference = value - check.published
    if abs(difference) < 1e-6 * abs(check.published):
        difference = 0.0  # rounding of the machine would make the page change
    unit = f" {check.unit}" if check.unit else ""
    relative = f" ({difference / check.published:+.1%})" if check.published else ""
    return (
        f"| {check.what} | {value:.5g}{unit} | {check.published:.6g}{unit}"
        f" | {difference:+.2g}{relative}"
        f" | {check.low:.6g} to {check.high:.6g} | {check.source} | {check.why} |\n"
    )


def table() -> str:
    """All checks as a page."""
    known = sources()
    used = sorted({check.source for check in CHECKS})
    gaps = "".join(f"- {check.what}: {check.gap}.\n" for check in GAPS)
    listed = "".join(f"- `{source}`: {known[source]}\n" for source in used)
    return (
        HEAD
        + COLUMNS
        + "".join(row(check) for check in MET)
        + "\n## Where the models miss\n"
        + COLUMNS
        + "".join(row(check) for check in GAPS)
        + f"\n{gaps}\n## Sources\n\n{listed}"
    )


def test_the_table_in_the_docs_is_current() -> None:
    assert TABLE.read_text("utf-8") == table(), f"run python {Path(__file__).name} to renew it"


if __name__ == "__main__":
    TABLE.write_text(table(), "utf-8")
