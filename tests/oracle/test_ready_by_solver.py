"""Ready against the models: begun on the date told it is ripe on the day, two days later it is not.

The cultures are grown here by SciPy's ODE solver on the plain equation with the numbers of the data
files, read by themselves: nothing of the command's own reckoning is used.
"""

from __future__ import annotations

import json
import math
import tomllib
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from scipy.integrate import solve_ivp

from cli.main import main

_DATA = Path(__file__).parents[2] / "cultures" / "data"
_NOW = "2027-01-05T07:00"
_SPAWN = date(2027, 4, 20)
_FIVE = (18.0, 20.5, 23.0, 25.5, 28.0)
_MEDIUM_G, _SURFACE_CM2, _STARTER_G = 120.0, 150.0, 8.0
_ROOM = """
[room]
name = "Any attic"
timezone = "UTC"
temperature_c = {degrees}
as_of = 2027-01-04
rounds = ["07:30", "18:30"]

[[tank]]
name = "T1"
litres = 20
temperature_c = {degrees}

[[culture]]
name = "old"
kind = "{kind}"
started = 2025-01-01
medium_g = 120
surface_cm2 = 150
starter_g = 8

[[vessel]]
name = "jar"
litres = 1
temperature_c = {degrees}

[cysts]
grams = 50
"""


def _values(file: str) -> dict[str, float]:
    raw = tomllib.loads((_DATA / file).read_text("utf-8"))["parameters"]
    return {name: row["value"] for name, row in raw.items()}


def _briere(v: dict[str, float], degrees: float) -> float:
    """Briere's rate over that at the reference temperature."""

    def level(t: float) -> float:
        return t * (t - v["t_min_c"]) * math.sqrt(v["t_max_c"] - t)

    return level(degrees) / level(v["t_ref_c"])


def _ripe(v: dict[str, float], degrees: float, begun: datetime, at: datetime) -> bool:
    """Whether a culture begun at a moment gives worms at another, by the solver."""
    age = (at - begun).total_seconds() / 86400.0 * _briere(v, degrees)
    if age <= v["lag_days"]:
        return False
    full_mg = min(
        _MEDIUM_G * v["capacity_mg_per_g"],
        _SURFACE_CM2 * v["capacity_mg_per_cm2"] if v["capacity_mg_per_cm2"] > 0 else math.inf,
    )

    def carried(tau: float) -> float:
        sour = (tau - v["half_spent_days"]) / v["souring_width_days"]
        return full_mg / (1.0 + math.exp(sour))

    def slope(tau: float, stock: Any) -> Any:
        return v["growth_rate_per_day"] * stock * (1.0 - stock / carried(tau))

    started_mg = _STARTER_G * v["starter_mg_per_g"]
    grown = solve_ivp(slope, (v["lag_days"], age), [started_mg], rtol=1e-10, atol=1e-10)
    return bool(grown.y[0, -1] >= v["climbing_density"] * carried(age))


def _answer(folder: Path, degrees: float, kind: str) -> dict[str, Any]:
    room = folder / "room.toml"
    room.write_text(_ROOM.format(degrees=degrees, kind=kind), "utf-8")
    result = CliRunner().invoke(
        main, ["ready", "bubble_nest 40", "--on", f"{_SPAWN}", "--in", "T1", "--json",
               "--room", str(room), "--now", _NOW],
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.stdout)
    return found


@pytest.mark.parametrize("degrees", _FIVE)
@pytest.mark.parametrize("kind", ["microworm", "banana_worm", "vinegar_eel"])
def test_a_culture_begun_on_its_date_is_ripe_and_two_days_later_is_not(
    degrees: float, kind: str, tmp_path: Path
) -> None:
    found = _answer(tmp_path, degrees, kind)
    first = datetime.fromisoformat(found["first_food"])
    (step,) = (s for s in found["foods"] if s["food"] == kind)
    assert (step["how"], step["too_late"]) == ("start", False)
    told, v = datetime.fromisoformat(step["begin_by"]), _values(f"kinds/{kind}.toml")
    assert _ripe(v, degrees, told, first)
    assert not _ripe(v, degrees, told + timedelta(days=2), first)
    assert date.fromisoformat(step["buy_by"]) == told.date() - timedelta(days=1)
    assert step["slack_days"] == (told.date() - date(2027, 1, 5)).days - 1


@pytest.mark.parametrize("degrees", _FIVE)
def test_first_food_is_where_the_line_of_the_class_has_it(degrees: float, tmp_path: Path) -> None:
    v = _values("classes/bubble_nest.toml")
    speed = (min(degrees, v["t_max_c"]) - v["development_t0_c"]) / (
        v["t_ref_c"] - v["development_t0_c"]
    )
    noon = datetime.combine(_SPAWN, time(12), UTC)
    first = noon + timedelta(days=v["first_food_days"] / speed)
    found = _answer(tmp_path, degrees, "microworm")
    assert date.fromisoformat(found["first_food"][:10]) == first.date()
    hatching = noon + timedelta(days=v["hatch_days"] / speed)
    assert date.fromisoformat(found["hatching"]) == hatching.date()


@pytest.mark.parametrize("degrees", [23.0, 28.0])
def test_begun_today_a_late_culture_is_ripe_on_the_day_told(degrees: float, tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(_ROOM.format(degrees=degrees, kind="microworm"), "utf-8")
    result = CliRunner().invoke(
        main, ["ready", "bubble_nest 40", "--on", "2027-01-04", "--json", "--room", str(room),
               "--now", _NOW],
    )  # fmt: skip
    found = json.loads(result.stdout)
    (step,) = (s for s in found["foods"] if s["food"] == "microworm")
    assert step["too_late"]
    v, ripe = _values("kinds/microworm.toml"), date.fromisoformat(step["ripe_on"])
    begun = datetime(2027, 1, 6, 12, tzinfo=UTC)  # a starter is to be fetched
    midnight = datetime.combine(ripe, time(), UTC)
    assert _ripe(v, degrees, begun, midnight + timedelta(days=1))
    assert not _ripe(v, degrees, begun, midnight)
    late = ripe - date.fromisoformat(found["first_food"][:10])
    assert date.fromisoformat(found["spawn_from"]) <= date(2027, 1, 4) + late
