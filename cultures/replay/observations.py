"""What a journal shows about a keeper's own cultures, hatches and fry; values only.

Made while the journal is replayed (:mod:`cultures.replay.replay`), judged in
:mod:`cultures.learning.learn`.
"""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from attrs import define, field


class HatchObserved(NamedTuple):
    """Nauplii counted in one hatch.

    ``batch`` names the hatch, so that counts of one hatch share its luck. ``hours``: real
    hours since the cysts were wet; ``rate``: physiological hours an hour; ``per_gram``:
    nauplii a gram, at full salinity; ``relative_sd``: of the counting alone.
    """

    batch: str
    at_h: float
    hours: float
    rate: float
    per_gram: float
    relative_sd: float
    line: int


class HatchEmpty(NamedTuple):
    """A hatch that gave nothing though it had its time; ``set_h``, ``at_h``: set, and looked at
    [h since the epoch]. ``line``: of the journal.
    """

    vessel: str
    set_h: float
    at_h: float
    line: int


class YieldObserved(NamedTuple):
    """All that climbed in a culture [mg], and what its curve says would.

    ``at_least``: more may have climbed; it was only more than the curve says. ``ripe``:
    before the medium begins to sour. ``in_portions``: told in swipes or draws, so that it is
    no surer than their size.
    """

    kind: str
    culture: str
    at_h: float
    taken_mg: float
    expected_mg: float
    ripe: bool
    at_least: bool
    in_portions: bool


class SwipeObserved(NamedTuple):
    """Worms counted in one swipe or draw [mg], with the relative s.d. of the count."""

    kind: str
    at_h: float
    mg: float
    relative_sd: float


class LengthObserved(NamedTuple):
    """A measured brood: growth days by the class's curve since its last anchor, real and expected.

    ``sd``: relative s.d. of the real ones, from how well a length can be measured;
    ``start_sd``: from how well the day of first food is known, the same for the whole brood.
    """

    brood: str
    fry_class: str
    grown_days: float
    expected_days: float
    sd: float
    start_sd: float


class FishNoted(NamedTuple):
    """A number of fish of a family, which is a brood and all that were moved out of it.

    ``event``: of the journal; ``stated`` in the room file; ``joined`` or ``left`` for fish that
    came out of another family or went to one. ``eggs``: they are eggs. ``alive``: by what was known
    before. ``amount``: None for all that there were.
    """

    family: str
    fry_class: str
    day: date
    event: str
    amount: float | None
    alive: float
    eggs: bool = False


class CultureWatched(NamedTuple):
    """A culture's life as far as the journal watched it, and whether it crashed."""

    kind: str
    from_h: float
    to_h: float
    crashed: bool


@define
class Observations:
    """Everything seen, by what it bears on; ``bought_h``: when new cysts came; ``empty``: hatches
    that gave nothing.

    ``set_aside``: readings that teach nothing, as (line, subject, why). ``families``: the family of
    each brood.
    """

    hatches: list[HatchObserved] = field(factory=list)
    yields: list[YieldObserved] = field(factory=list)
    swipes: list[SwipeObserved] = field(factory=list)
    lengths: list[LengthObserved] = field(factory=list)
    spans: list[CultureWatched] = field(factory=list)
    fish: list[FishNoted] = field(factory=list)
    families: dict[str, str] = field(factory=dict)
    bought_h: list[float] = field(factory=list)
    set_aside: list[tuple[int, str, str]] = field(factory=list)
    off: set[str] = field(factory=set)
    empty: list[HatchEmpty] = field(factory=list)
