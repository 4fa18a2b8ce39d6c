"""The thermal curves of the live foods fitted to published times, with residuals.

Run this file to write the page: ``python tests/published/test_published_food_fits.py``.
Figures are those that the named texts print; each source has a level of its own, since only
the shape with temperature is compared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from attrs import frozen
from scipy.optimize import least_squares

from cultures.foods.kinds import shipped_kind
from cultures.foods.temperature import Briere

PAGE = Path(__file__).parents[2] / "docs" / "thermal-fits-food.md"


@frozen
class Series:
    """Times of one source: (temperature [°C], duration); None where nothing developed."""

    label: str
    source: str
    times: tuple[tuple[float, float | None], ...]


#: Two definitions of hatched, each with a level of its own [h].
HATCH = (
    Series("full hatch", "hatch-times", ((21.0, 36.0), (27.0, 24.0))),
    Series("first hatch", "hatch-times, marine-hatchery", ((25.0, 17.5), (30.0, 15.0))),
)
#: A batch that keepers report as slow: most of the hatch after 48 h at 21 °C.
SLOW_BATCH = (
    Series("full hatch", "hatch-times, hatch-pages", ((21.0, 36.0), (27.0, 24.0), (21.0, 48.0))),
    HATCH[1],
)
#: Relatives of the microworm: days from egg to adult, or a generation.
WORMS = (
    Series("Pristionchus maupasi", "gronvold2011", ((5, None), (10, 7), (25, 3), (30, None))),
    Series("Monhystera denticulata", "monhystera", ((5, 188.5), (15, 18), (25, 11))),
)
#: The same without the sterile adults at 30 °C, where microworms are kept.
COOL = tuple(Series(s.label, s.source, tuple(p for p in s.times if p[0] < 30)) for s in WORMS)
#: Thresholds measured in Panagrolaimus davidi, by stage [°C] (pdavidi2004).
DAVIDI_C = (4.1, 7.6)


def rate_residuals(data: Sequence[Series], rate: Callable[[float], float]) -> list[float]:
    """Model minus data as rates over each source's fastest, its level fitted."""
    result: list[float] = []
    for series in data:
        rates = [0.0 if time is None else 1.0 / time for _, time in series.times]
        seen = [value / max(rates) for value in rates]
        curve = [rate(temperature) for temperature, _ in series.times]
        square = sum(value * value for value in curve)
        level = sum(a * b for a, b in zip(curve, seen, strict=True)) / square if square else 0.0
        result += [level * a - b for a, b in zip(curve, seen, strict=True)]
    return result


def time_residuals(data: Sequence[Series], rate: Callable[[float], float]) -> list[float]:
    """Logarithm of data over model as durations, each source's level fitted."""
    result: list[float] = []
    for series in data:
        logs = [
            math.log(time * max(rate(temperature), 1e-9))
            for temperature, time in series.times
            if time is not None
        ]
        mean = sum(logs) / len(logs)
        result += [value - mean for value in logs]
    return result


def fit_hatch(data: Sequence[Series], t_max_c: float) -> float:
    """T_min of a Briere curve with a given T_max, least squares on log durations."""
    found = least_squares(
        lambda p: time_residuals(data, Briere(float(p[0]), t_max_c, 20.9)), [9.0], bounds=(-5, 20)
    )
    return float(found.x[0])


def fit_worms_freely() -> tuple[float, float]:
    """(T_min, T_max) of a Briere curve, least squares on relative rates."""
    best = min(
        (
            least_squares(
                lambda p: rate_residuals(WORMS, Briere(float(p[0]), float(p[1]), 20.0)),
                start,
                bounds=([-10.0, 26.0], [15.0, 45.0]),
            )
            for start in ([1.0, 31.0], [4.0, 31.0], [1.0, 34.0], [4.0, 29.0])
        ),
        key=lambda found: float(found.cost),
    )
    return float(best.x[0]), float(best.x[1])


def fit_worms_within(t_max_c: float) -> float:
    """T_min with T_max given, held within the measured thresholds."""
    found = least_squares(
        lambda p: rate_residuals(COOL, Briere(float(p[0]), t_max_c, 20.0)),
        [6.0],
        bounds=DAVIDI_C,
    )
    return float(found.x[0])


def optimum_c(rate: Callable[[float], float]) -> float:
    """Temperature of the fastest development, on a grid of 0.01 °C."""
    return max((i / 100 for i in range(5000)), key=rate)


def test_hatching_times_agree_with_the_measured_threshold() -> None:
    """Four texts' times give the threshold measured in another study, 9.07 °C, to 1 °C."""
    assert fit_hatch(HATCH, 36.0) == pytest.approx(9.07, abs=1.0)


def test_shipped_hatching_curve_is_the_fit_and_has_the_published_optimum() -> None:
    rate = shipped_kind("brine_shrimp").rate
    assert abs(rate.t_min_c - fit_hatch(HATCH, rate.t_max_c)) < 0.5
    assert 28.0 <= optimum_c(rate) <= 30.0  # 29 ± 1 (kkt1)


def test_shipped_worm_curve_is_the_fit_within_the_measured_thresholds() -> None:
    rate = shipped_kind("microworm").rate
    assert rate.t_min_c == pytest.approx(fit_worms_within(rate.t_max_c), abs=0.05)
    assert 25.0 <= optimum_c(rate) <= 30.0  # pdavidi2004


def table(data: Sequence[Series], rate: Callable[[float], float], unit: str) -> str:
    """Published times against the curve's, set level at each source's fastest time."""
    lines = [
        f"| source | °C | published {unit} | curve {unit} | difference |",
        "|---|---|---|---|---|",
    ]
    for series in data:
        fastest, warm = min((time, t) for t, time in series.times if time is not None)
        level = fastest * rate(warm)
        for t, time in series.times:
            modelled = level / rate(t) if rate(t) > 0 else math.inf
            shown = "never" if math.isinf(modelled) else f"{modelled:.1f}"
            printed = "never" if time is None else f"{time:g}"
            both = time is not None and not math.isinf(modelled)
            relative = f"{modelled / time - 1:+.0%}" if both and time is not None else ""
            lines.append(
                f"| {series.label} ({series.source}) | {t:g} | {printed} | {shown} | {relative} |"
            )
    return "\n".join(lines)


TEXT = """# Thermal curves of live foods: fits and residuals

Written by `python tests/published/test_published_food_fits.py`; a test keeps it current.
Form: Briere-1, rate proportional to T (T - T_min) sqrt(T_max - T). Only the shape is fitted;
each source keeps a level of its own. Sources by id: `livefood kinds NAME --sources`.

## Brine shrimp

No text was found that prints T10 and T90 at several temperatures. With T_max at 36 °C the
round-number times of four pages give T_min = {hatch36:.1f} °C by least squares on log
durations. A laboratory study of another species measured 9.07 °C. With T_max at 34, 38 and
40 °C the fit gives {hatch34:.1f}, {hatch38:.1f} and {hatch40:.1f} °C.

Shipped: T_min {shrimp.t_min_c:g} °C, T_max {shrimp.t_max_c:g} °C, fastest at
{shrimp_best:.1f} °C (published optimum 29 ± 1 °C).

{shrimp_table}

With a batch that needs 48 h at 21 °C added, T_min would be {slow:.1f} °C and the worst
time is missed by {slow_miss:.0%}: batches differ as much as temperatures do, so the level is
the keeper's own to set.

## Microworm

No rate at more than one temperature was found for *Panagrellus redivivus*. Two relatives:

{worm_table}

Fitted freely on relative rates the two give T_min {free.t_min_c:.1f} and T_max
{free.t_max_c:.1f} °C (fastest at {free_best:.1f} °C; largest residual {free_worst:.2f} of the
fastest rate), because one of them has no fertile adults at 30 °C, where microworms are kept.

Shipped: T_max {worm.t_max_c:g} °C, and T_min by least squares within the thresholds measured
in *Panagrolaimus davidi* ({davidi[0]:g} to {davidi[1]:g} °C by stage; its population stops
at 6.8 °C): {worm.t_min_c:g} °C, the lower end. Largest residual {worm_worst:.2f}, at 30 °C,
where the relative above is sterile; at 5 to 25 °C {cool_worst:.2f}.

What this means: from 18 to 29 °C the curve is as good as its sources. Below 15 °C it is too
slow (see the table), so a culture in a cold room comes in sooner and lasts less long than
the plan says; between 30 and 33 °C nothing is known.

## Vinegar eel, banana worm, grindal worm, paramecium, rotifer

No times at several temperatures were found. The vinegar eel and the banana worm borrow the
microworm's lower end (same family); 36 °C stops the vinegar eel. The rotifer's
T_max puts its optimum at the published 30 °C; its lower end and the thresholds of grindal
worm and paramecium are assumptions and say so.
"""


def page() -> str:
    """The whole page."""
    shrimp, worm = shipped_kind("brine_shrimp").rate, shipped_kind("microworm").rate
    free = Briere(*fit_worms_freely(), 20.0)
    return TEXT.format(
        hatch34=fit_hatch(HATCH, 34.0),
        hatch36=fit_hatch(HATCH, 36.0),
        hatch38=fit_hatch(HATCH, 38.0),
        hatch40=fit_hatch(HATCH, 40.0),
        shrimp=shrimp,
        shrimp_best=optimum_c(shrimp),
        shrimp_table=table(HATCH, shrimp, "h"),
        slow=fit_hatch(SLOW_BATCH, 36.0),
        slow_miss=_slow_miss(),
        worm=worm,
        worm_table=table(WORMS, worm, "d"),
        worm_worst=_largest(WORMS, worm),
        cool_worst=_largest(COOL, worm),
        free=free,
        free_best=optimum_c(free),
        free_worst=_largest(WORMS, free),
        davidi=DAVIDI_C,
    )


def _slow_miss() -> float:
    rate = Briere(fit_hatch(SLOW_BATCH, 36.0), 36.0, 20.9)
    return math.expm1(max(abs(value) for value in time_residuals(SLOW_BATCH, rate)))


def _largest(data: Sequence[Series], rate: Callable[[float], float]) -> float:
    return max(abs(value) for value in rate_residuals(data, rate))


def test_the_page_in_the_docs_is_current() -> None:
    assert PAGE.read_text("utf-8") == page(), f"run python {Path(__file__).name} to renew it"


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
