"""Sizing a hatch: grams, vessels, times, and what to do when it cannot be done."""

from __future__ import annotations

import math
import re
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.hatch_request import HatchNotPossibleError, HatchRequest
from cultures.foods.hatch_sizing import SizedHatch, hatch_interval, size_hatch
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, shipped_kind
from cultures.foods.vessels import Vessel

LISBON = ZoneInfo("Europe/Lisbon")
ROUND = datetime(2027, 1, 6, 7, 30, tzinfo=LISBON)


def kind(strain: str | None = None) -> HatchKind:
    found = shipped_kind("brine_shrimp", strain)
    assert isinstance(found, HatchKind)
    return found


def bottle(name: str = "bottle", litres: float = 1.0, temperature_c: float = 27.0) -> Vessel:
    return Vessel(name, litres, temperature_c, 25.0)


def held(fridge_c: float | None = None, strain: str | None = None) -> Holding:
    return Holding(kind(strain), fridge_c, lambda _: 24.0)


def request(**changes: Any) -> HatchRequest:
    values: dict[str, Any] = {
        "at": ROUND,
        "vessels": (bottle(),),
        "awake": (time(6, 30), time(22, 30)),
        "holding": held(),
        "nauplii": 100_000,
        **changes,
    }
    return HatchRequest(**values)


def size(**changes: Any) -> SizedHatch:
    return size_hatch(request(**changes))


def test_a_hatch_is_set_the_morning_before_and_harvested_before_the_round() -> None:
    (setting,) = size().settings
    assert setting.harvest_at == ROUND - timedelta(minutes=30)
    assert timedelta(hours=18) <= setting.harvest_at - setting.set_at <= timedelta(hours=30)
    assert setting.window[0] <= setting.harvest_at <= setting.window[1]


def test_who_rises_less_than_half_an_hour_before_the_round_draws_off_then() -> None:
    """And can set one the morning before for it, as the plan does."""
    up = ROUND - timedelta(minutes=15)
    sized = size(awake=(up.time(), time(22, 30)), now=up - timedelta(days=1))
    (setting,) = sized.settings
    assert setting.harvest_at == up
    assert setting.set_at >= up - timedelta(days=1)


def test_a_smaller_jar_is_named_where_half_the_water_would_do() -> None:
    """A gram to the litre is not crowded by the range of the source."""

    def smaller(litres: float, nauplii: float) -> tuple[float, list[str]]:
        sized = size(vessels=(bottle(litres=litres),), nauplii=nauplii, nauplii_per_gram=2e5)
        return sized.cysts_g, [note for note in sized.notes if "a smaller jar" in note]

    said = (
        "a smaller jar than bottle would do: as many hatch in 250 mL of water, with {} of the salt"
    )
    assert smaller(1.0, 20_000)[1] == [said.format("25%")]
    assert smaller(0.5, 20_000)[1] == [said.format("50%")]
    assert smaller(0.45, 20_000)[1] == []  # no jar of less than 250 mL
    grams, (more,) = smaller(3.0, 200_000)
    found = re.search(r"in (\d+) mL", more)
    assert found is not None
    assert grams * 1000 <= int(found[1]) < grams * 1000 + 50
    assert smaller(grams * 1.9, 200_000)[1] == []


def test_grams_follow_from_the_count() -> None:
    sized = size(nauplii_per_gram=200_000)
    assert 0.5 <= sized.cysts_g <= 0.65
    assert sized.nauplii >= 100_000
    assert sized.left_over == pytest.approx(sized.nauplii - 100_000)
    assert sized.per_ml == pytest.approx(sized.nauplii / 200)
    assert size(nauplii_per_gram=100_000).cysts_g == pytest.approx(2 * sized.cysts_g, abs=0.11)


def test_energy_can_be_asked_for_instead() -> None:
    sized = size(nauplii=None, energy_j=3000.0)
    assert sized.energy_j >= 3000
    assert sized.left_over_j == pytest.approx(sized.energy_j - 3000)


def test_small_hatches_are_weighed_finely() -> None:
    assert size(nauplii=1000).cysts_g == pytest.approx(0.01)


def test_water_and_salt_fill_the_vessel() -> None:
    (setting,) = size(vessels=(bottle(litres=2.0),)).settings
    assert (setting.water_l, setting.salt_g) == (2.0, 50.0)


def test_the_smallest_vessel_that_is_large_enough_is_used() -> None:
    vessels = (bottle("large", 4.0), bottle("small", 0.5), bottle("middle", 1.0))
    assert [s.vessel for s in size(vessels=vessels).settings] == ["small"]
    assert [s.vessel for s in size(vessels=vessels, nauplii=6e5).settings] == ["middle"]


def test_two_vessels_are_asked_for_when_one_is_too_small() -> None:
    sized = size(vessels=(bottle("a"), bottle("b"), bottle("c")), nauplii=1.5e6)
    assert len(sized.settings) == 2
    assert all(s.cysts_g <= 5.0 for s in sized.settings)
    assert sized.nauplii >= 1.5e6


def test_too_little_vessel_is_said_with_what_would_do() -> None:
    said = r"nauplii of the 2,000,000 needed; add a vessel of [0-9.]+ L or more"
    with pytest.raises(HatchNotPossibleError, match=said):
        size(nauplii=2e6)


def test_too_late_is_said_with_what_could_be_done() -> None:
    with pytest.raises(HatchNotPossibleError) as caught:
        size(now=datetime(2027, 1, 6, 3, 0, tzinfo=LISBON))
    text = str(caught.value)
    assert "no hatch can be ready at Wed 6 Jan 07:30" in text
    assert "it had to be set by Tue 5 Jan" in text
    assert "set at Wed 6 Jan 06:30 it can be fed from Thu 7 Jan" in text


def test_a_little_late_is_still_done_with_what_time_there_is() -> None:
    (setting,) = size(now=datetime(2027, 1, 5, 9, 0, tzinfo=LISBON)).settings
    assert setting.set_at >= datetime(2027, 1, 5, 9, 0, tzinfo=LISBON)


def test_no_waking_hour_that_fits_is_said() -> None:
    with pytest.raises(HatchNotPossibleError, match="no set and harvest time falls between"):
        size(awake=(time(12, 0), time(12, 10)))


def test_nothing_is_done_at_night() -> None:
    for hour in range(24):
        sized = size(at=datetime(2027, 1, 6, hour, 0, tzinfo=LISBON))
        for setting in sized.settings:
            for moment in (setting.set_at, setting.harvest_at):
                assert time(6, 30) <= moment.time() <= time(22, 30)


def test_a_round_at_dawn_is_served_from_the_evening_before() -> None:
    sized = size(at=datetime(2027, 1, 6, 6, 0, tzinfo=LISBON), holding=held(5.0))
    (setting,) = sized.settings
    assert setting.harvest_at.date() == datetime(2027, 1, 5).date()  # noqa: DTZ001 (a date)
    assert any("in the refrigerator" in note for note in sized.notes)


def test_a_warm_refrigerator_is_no_refrigerator() -> None:
    assert not held(12.0).cold
    rate = kind().rate(24.0)
    assert held(12.0).longest_h(0.0) == pytest.approx(kind().values["warm_hold_h"] / rate)
    assert held(5.0).longest_h(0.0) == kind().values["cold_hold_h"]


def test_cold_keeps_energy_longer_than_warmth() -> None:
    assert held(5.0).share(0, 12) > held().share(0, 12)


def test_what_is_left_over_fades_until_the_holding_limit() -> None:
    later = tuple(ROUND + timedelta(hours=h) for h in (6, 11, 30))
    fading = size(later=later).later
    assert [moment for moment, _ in fading] == list(later[:2])
    assert 1 > fading[0][1] > fading[1][1] > 0.7


def test_a_clock_change_in_between_does_not_shorten_the_incubation() -> None:
    sunday = datetime(2027, 3, 28, 7, 30, tzinfo=LISBON)  # clocks went forward at 01:00
    (setting,) = size(at=sunday).settings
    (plain,) = size(at=sunday + timedelta(days=7)).settings
    for s in (setting, plain):
        elapsed = s.harvest_at.timestamp() - s.set_at.timestamp()
        assert elapsed == pytest.approx(24 * 3600, abs=3600)


def test_damp_cysts_need_more_grams() -> None:
    assert size(wettings=3, nauplii=1e5).cysts_g > size(nauplii=1e5).cysts_g


def test_a_tin_that_is_nearly_empty_is_noted() -> None:
    assert any("the tin holds only 0.2 g" in note for note in size(cysts_g=0.2).notes)


def test_a_missing_count_is_noted() -> None:
    assert any("weigh the cysts of a hatch" in note for note in size().notes)
    assert size(nauplii_per_gram=200_000).notes == ()


def test_a_warm_vessel_is_noted() -> None:
    assert any("heater fault" in n for n in size(vessels=(bottle(temperature_c=31),)).notes)


def test_the_interval_holds_the_expected_and_is_the_same_each_time() -> None:
    asked = request()
    sized = size_hatch(asked)
    once = hatch_interval(asked, sized)
    assert once == hatch_interval(asked, sized)
    for key, value in (("nauplii", sized.nauplii), ("energy_j", sized.energy_j)):
        assert once[key][0] < value < once[key][1]
    assert once["cysts_g"][0] < sized.cysts_g < once["cysts_g"][1]


def test_an_own_count_narrows_the_interval() -> None:
    def width(asked: HatchRequest) -> float:
        low, high = hatch_interval(asked, size_hatch(asked))["nauplii"]
        return high / low

    assert width(request(nauplii_per_gram=200_000)) < 0.7 * width(request())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"nauplii": 0}, "the need must be above 0, got 0"),
        ({"nauplii": -5}, "the need must be above 0, got -5"),
        ({"nauplii": None, "energy_j": 0.0}, "the need must be above 0, got 0"),
        ({"nauplii": math.nan}, "the need must be above 0, got nan"),
        ({"nauplii": math.inf}, "the need must be above 0, got inf"),
        ({"energy_j": 5.0}, "give either a number of nauplii or an energy"),
        ({"wettings": -1}, "wettings must be 0 or more"),
        ({"makeup_ml": 0}, "the rinse volume must be above 0 mL"),
        ({"vessels": (bottle(temperature_c=33),)}, "bottle at 33 °C: .* stop or die"),
        ({"vessels": (bottle(temperature_c=10),)}, "promised below 15 °C"),
        ({"vessels": (Vessel("sea", 1.0, 27.0, 90.0),)}, "do not hatch at 90 g/L of salt"),
        ({"vessels": (Vessel("sea", 1.0, 27.0, math.nan),)}, "do not hatch at nan g/L"),
    ],
)
def test_a_bad_request_gets_one_clear_message(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        size(**changes)


def test_a_vessel_that_is_too_slow_or_in_use_is_left_out() -> None:
    now = ROUND - timedelta(hours=26)
    vessels = (bottle("cold", temperature_c=19.0), bottle("warm", litres=2.0))
    assert [s.vessel for s in size(vessels=vessels, now=now).settings] == ["warm"]
    busy = (("warm", ROUND - timedelta(hours=10)),)
    with pytest.raises(HatchNotPossibleError, match="it had to be set by"):
        size(vessels=vessels, now=now, busy=busy)
    with pytest.raises(HatchNotPossibleError, match="set at Tue 5 Jan 21:30 it can be fed from"):
        size(vessels=vessels[1:], busy=busy)


def test_a_vessel_in_use_is_said_where_there_is_time_to_set_it() -> None:
    """What had to be set by a moment ahead is no answer to why nothing can be ready."""
    now, until = ROUND - timedelta(days=3), ROUND - timedelta(hours=10)
    taken = "and warm is taken until Tue 5 Jan 21:30"
    with pytest.raises(HatchNotPossibleError, match=taken):
        size(vessels=(bottle("warm"),), now=now, busy=(("warm", until),))


def test_no_vessel_is_said() -> None:
    with pytest.raises(HatchNotPossibleError, match="there is no vessel"):
        size(vessels=())


def test_grams_have_no_end_where_a_batch_may_not_have_hatched_at_all() -> None:
    """One that hatches within seconds, of which nobody knows when."""
    steep = kind()
    known = {
        **steep.parameters,
        "t10_h": evolve(steep.parameters["t10_h"], value=17.0, low=10.0, high=40.0),
        "t90_h": evolve(steep.parameters["t90_h"], value=17.01, low=10.01, high=40.01),
    }
    values = {**steep.values, "t10_h": 17.0, "t90_h": 17.01}
    sudden = Holding(evolve(steep, parameters=known, values=values), None, lambda _: 24.0)
    asked = request(holding=sudden)
    sized = size_hatch(asked)
    found = hatch_interval(asked, sized, draws=60)
    assert found["nauplii"][0] == 0.0
    assert found["cysts_g"][1] > 1e9
    assert found["cysts_g"][0] < sized.cysts_g * 1.5


def test_the_interval_of_grams_goes_as_the_inverse_of_what_is_given() -> None:
    asked = request()
    sized = size_hatch(asked)
    found = hatch_interval(asked, sized, draws=100)
    low, high = found["nauplii"]
    assert low < sized.nauplii < high
    assert found["cysts_g"] == pytest.approx(
        (sized.cysts_g * 100_000 / high, sized.cysts_g * 100_000 / low), rel=0.05
    )
    energy = hatch_interval(request(nauplii=None, energy_j=4000.0), sized, draws=100)
    assert energy["energy_j"] == found["energy_j"]
    assert energy["cysts_g"][0] == pytest.approx(
        sized.cysts_g * 4000 / found["energy_j"][1], rel=0.05
    )
