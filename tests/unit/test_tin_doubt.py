"""When the tin of cysts is in doubt by its last hatches, and what that makes of the chances.

The data have 210,000 nauplii of a gram, 133,000 to 332,000 in eight of ten, and hatches differ by a
fifth: two standard deviations of both below is 210,000 / exp(2 * hypot(0.357, 0.2)) = 93,000, where
0.357 is ln(332 / 133) / (2 * 1.2816). After 26 h at 27 °C 98 % of them are out.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from cultures.foods.kinds import HatchKind, shipped_kind
from cultures.learning.estimates import Estimate
from cultures.learning.tin import doubt_of_tin
from cultures.planning.trials import Theatre
from cultures.replay.observations import HatchEmpty, HatchObserved, Observations
from cultures.room.room import PoorHatch, TinDoubt

_DAY_H = 24.0
_NOW_H = 100 * _DAY_H


def _kind() -> HatchKind:
    kind = shipped_kind("brine_shrimp")
    assert isinstance(kind, HatchKind)
    return kind


def _estimate(used: float = 210_000.0, *, learned: bool = False) -> Estimate:
    usual = (210_000.0, 133_000.0, 332_000.0)
    narrow = (used, used / 1.2, used * 1.2)
    return Estimate(
        "nauplii_per_gram", "brine_shrimp", "nauplii/g", usual, 1, None,
        narrow if learned else (150_000.0, 95_000.0, 222_000.0), used, learned, "",
    )  # fmt: skip


def _empty(day: float) -> HatchEmpty:
    return HatchEmpty("bottle 1", (day - 1) * _DAY_H, day * _DAY_H, 0)


def _seen(day: float, per_gram: float, hours: float = 26.0, batch: str = "") -> HatchObserved:
    name = batch or f"bottle 2 {day}"
    return HatchObserved(name, day * _DAY_H, hours, 1.0, per_gram, 0.1, 0)


def _doubt(
    *hatches: HatchObserved | HatchEmpty, bought: float = 0.0, estimate: Estimate | None = None
) -> list[float] | None:
    """What the poor hatches gave, or None where the tin is not in doubt."""
    seen = Observations(
        hatches=[h for h in hatches if isinstance(h, HatchObserved)],
        empty=[h for h in hatches if isinstance(h, HatchEmpty)],
        bought_h=[bought * _DAY_H] if bought else [],
    )
    found = doubt_of_tin(seen, estimate or _estimate(), _kind(), _NOW_H)
    return None if found is None else [hatch.per_gram for hatch in found.hatches]


def test_poor_hatches_in_a_row_put_the_tin_in_doubt_until_a_good_one_or_another_tin() -> None:
    assert _doubt(_empty(94), _seen(100, 22_000)) == [0.0, 22_000]
    assert _doubt(_seen(94, 90_000), _seen(97, 90_000)) == [90_000, 90_000]
    assert _doubt(_empty(94), _seen(97, 94_000)) is None
    assert _doubt(_empty(92), _seen(94, 150_000), _seen(98, 22_000)) == [22_000]
    assert _doubt(_empty(94), _seen(100, 22_000), bought=99.5) is None
    assert _doubt(_empty(94), _seen(100, 22_000), bought=96) == [22_000]


def test_a_hatch_that_is_hardly_out_tells_nothing_and_a_later_count_of_it_holds() -> None:
    """Within 20 h at 27 °C half of them have hatched."""
    assert _doubt(_empty(94), _seen(97, 22_000, hours=19.0)) is None
    early, late = (_seen(d, n, h, "b x") for d, n, h in ((97, 2e4, 24.0), (97.2, 2e5, 28.8)))
    assert _doubt(_empty(94), early, late) is None


def test_one_poor_hatch_is_spoken_of_for_some_days_and_two_far_apart_are_one() -> None:
    assert _doubt(_seen(97, 22_000)) == [22_000]
    assert _doubt(_seen(95, 22_000)) is None
    assert _doubt(_empty(70), _seen(99, 22_000)) == [22_000]


def test_of_a_tin_that_is_known_to_give_little_little_is_no_doubt() -> None:
    """Of 40,000 that were learned, 22,000 are more than half."""
    known = _estimate(40_000.0, learned=True)
    assert _doubt(_seen(98, 22_000), _seen(99, 22_000), estimate=known) is None
    assert _doubt(_seen(98, 15_000), _seen(99, 15_000), estimate=known) == [15_000, 15_000]


class _Coin:
    def __init__(self, toss: float) -> None:
        self.toss = toss

    def gauss(self, mean: float, sd: float) -> float:
        return sd / 2.0 + mean  # so that the factor of 0.2 is exp(0.2 * 0.5 - 0.02)

    def random(self) -> float:
        return self.toss


@pytest.mark.parametrize(("toss", "shares"), [(0.6, (1, 1, 1, 1)), (0.4, (1, 0.1, 1, 1))])
def test_in_half_of_the_draws_a_tin_in_doubt_gives_as_little_as_its_best_poor_hatch(
    toss: float, shares: tuple[float, ...]
) -> None:
    """Not a jar, nor a hatch that stands and was counted, nor one of cysts that are to come."""
    doubt = TinDoubt(
        (PoorHatch("a", 0.0, 24.0, 0.0), PoorHatch("b", 30.0, 54.0, 20_000.0)), 200_000.0
    )
    batches = [
        SimpleNamespace(held=held, standing=stands, set_h=set_h, vessel=SimpleNamespace(name=name))
        for name, set_h, stands, held in (
            ("a", 10.0, False, True), ("a", 60.0, False, False), ("b", 30.0, True, False),
            ("a", 90.0, False, False),
        )
    ]  # fmt: skip
    theatre: Any = object.__new__(Theatre)
    theatre.hatch_energy_j, theatre.hatch_sigma, theatre.cultures = [100.0] * 4, 0.0, []
    theatre.doubt, theatre.end_h = doubt, 200.0
    theatre.outlook = SimpleNamespace(
        room=SimpleNamespace(tin=SimpleNamespace(parcels=((80.0, 50.0),))),
        feeding=SimpleNamespace(hatches=SimpleNamespace(batches=batches)),
    )
    found = theatre.draw(_Coin(toss)).hatches
    assert found == pytest.approx([100.0 * share for share in shares])
    theatre.doubt = TinDoubt(doubt.hatches[:1], 200_000.0)  # one alone may be the bottle's
    assert theatre.draw(_Coin(toss)).hatches == pytest.approx([100.0] * 4)
