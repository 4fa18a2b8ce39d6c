"""How many of the eggs, or of the fish first counted, come to be sold: by brood and by class.

Of a brood that is gone it is a share with its interval; of one that is still there only what it
cannot be less than, and more than. Sales are no losses.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date
from statistics import NormalDist
from typing import Any, Literal

from attrs import frozen

from cultures.journal.events import LEAVING
from cultures.learning.estimates import three
from cultures.learning.learn import LEVEL
from cultures.replay.observations import FishNoted
from cultures.replay.replay import Replayed
from cultures.words.grouped import by_key

#: Numbers that a later one of the same event puts right.
_PUT_RIGHT = ("spawn", "collected")

Began = Literal["eggs", "fish"]


@frozen
class Fared:
    """What became of the fish of a family.

    ``start`` = ``now`` + ``sold`` + ``died`` + ``lost`` + ``unaccounted``.

    Attributes:
        brood, fry_class: whose. began: what was counted first. start, start_on: how many, and when;
            more where more are known of than were counted. swam: that were counted when they swam.
        now: that live, by what the plan takes. unaccounted: that are missing by the counts.
        miscounted: more are known of than were counted at first.
    """

    brood: str
    fry_class: str
    began: Began
    start: int
    start_on: date
    swam: int | None
    sold: int
    died: int
    lost: int
    now: int
    unaccounted: int
    miscounted: bool

    @property
    def gone(self) -> bool:
        """Whether none of them are left, so that its share is known."""
        return self.now == 0

    def share(self) -> tuple[float, float, float]:
        """Share sold, low and high: an interval of eight in ten, or the bounds while some live."""
        if self.gone:
            return (self.sold / self.start, *wilson(self.sold, self.start))
        return (self.sold / self.start, self.sold / self.start, (self.sold + self.now) / self.start)

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "brood": self.brood, "class": self.fry_class, "began": self.began, "start": self.start,
            "start_on": self.start_on.isoformat(), "swam": self.swam, "sold": self.sold,
            "died": self.died, "lost": self.lost, "now": self.now, "unaccounted": self.unaccounted,
            "gone": self.gone, "share": three(self.share()),
        }  # fmt: skip


@frozen
class ClassFared:
    """What became of all families of a class that are gone and began alike.

    Attributes:
        broods: how many. start, sold: fish in all. effect: how many times as much the shares of the
            broods vary as those of fish that fare each by itself would, at least 1.
    """

    fry_class: str
    began: Began
    broods: int
    start: int
    sold: int
    effect: float

    def share(self) -> tuple[float, float, float]:
        """Share sold, low and high; the interval holds eight in ten."""
        low, high = wilson(self.sold / self.effect, self.start / self.effect, groups=self.broods)
        return self.sold / self.start, low, high

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "class": self.fry_class, "began": self.began, "broods": self.broods,
            "start": self.start, "sold": self.sold, "effect": float(f"{self.effect:.6g}"),
            "share": three(self.share()),
        }  # fmt: skip


def wilson(
    successes: float, trials: float, *, level: float = LEVEL, groups: int = 0
) -> tuple[float, float]:
    """The score interval of a share.

    Args:
        groups: from so many groups its variance was estimated, and Student's quantile takes the
            place of the normal one; 0 where each trial is by itself.

    References:
        Wilson 1927, Journal of the American Statistical Association 22:209-212.
    """
    z = NormalDist().inv_cdf((1.0 + level) / 2.0)
    z = student(z, groups - 1) if groups > 1 else z
    share, part = successes / trials, z * z / trials
    middle = share + part / 2.0
    half = z * math.sqrt(max(0.0, share * (1.0 - share)) / trials + part / (4.0 * trials))
    low, high = (middle - half) / (1.0 + part), (middle + half) / (1.0 + part)
    return max(0.0, min(low, share)), min(1.0, max(high, share))  # of none and of all, to the bit


def student(z: float, freedom: int) -> float:
    """Student's quantile from the normal one of the same tail, to 3 % at one degree of freedom.

    References:
        Abramowitz & Stegun 1964, Handbook of Mathematical Functions, formula 26.7.5.
    """
    terms = (
        (z**3 + z) / 4.0,
        (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0,
        (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0,
        (79.0 * z**9 + 776.0 * z**7 + 1482.0 * z**5 - 1920.0 * z**3 - 945.0 * z) / 92160.0,
    )
    return z + sum(term / float(freedom) ** power for power, term in enumerate(terms, start=1))


def design_effect(groups: Sequence[tuple[float, float]]) -> float:
    """How many times as large the variance of a pooled share is as that of a binomial one.

    Args:
        groups: successes and trials of each, two groups or more, with some trials in all.

    Returns:
        About 1 for groups that vary as chance has it, and 1 where none or all succeeded.

    References:
        Rao & Scott 1992, Biometrics 48:577-585: the variance of a ratio estimator over the
        binomial one, by which successes and trials are divided.
    """
    trials = sum(n for _, n in groups)
    share = sum(x for x, _ in groups) / trials
    if not 0.0 < share < 1.0:
        return 1.0
    squares = sum((x - n * share) ** 2 for x, n in groups)
    many = len(groups)
    variance = many / (many - 1) * squares / trials**2
    return variance / (share * (1.0 - share) / trials)


def survival(replayed: Replayed, today: date) -> tuple[Fared, ...]:
    """What became of each family of a room of which a number was ever known, by its beginning.

    Args:
        today: up to which those that live are taken to have survived.
    """
    rows = by_key(replayed.seen.fish, lambda row: row.family)
    living: dict[str, float] = {}
    for brood in replayed.room.every_brood:
        family = replayed.seen.families.get(brood.name, brood.name)
        living[family] = living.get(family, 0.0) + brood.alive(today)
    found = (_fared(name, of, living.get(name)) for name, of in rows.items())
    return tuple(sorted((f for f in found if f is not None), key=lambda f: f.start_on))


def by_class(fared: Iterable[Fared]) -> tuple[ClassFared, ...]:
    """Families that are gone, together by class and beginning, in alphabetical order."""
    groups = by_key((f for f in fared if f.gone), lambda f: (f.fry_class, f.began))
    return tuple(_class(*key, of) for key, of in sorted(groups.items()))


def _class(fry_class: str, began: Began, fared: Sequence[Fared]) -> ClassFared:
    effect = design_effect([(f.sold, f.start) for f in fared]) if len(fared) > 1 else 1.0
    start, sold = sum(f.start for f in fared), sum(f.sold for f in fared)
    return ClassFared(fry_class, began, len(fared), start, sold, max(1.0, effect))


def _fared(name: str, noted: Sequence[FishNoted], living: float | None) -> Fared | None:
    """Numbers of one family; None where none was ever counted."""
    rows = sorted(noted, key=lambda row: row.day)
    begins = next((i for i, row in enumerate(rows) if _counts(row)), None)
    if begins is None:
        return None
    first, after = rows[begins], rows[begins + 1 :]
    for row in after:
        if row.event in LEAVING:
            break
        if row.event == first.event and row.event in _PUT_RIGHT:
            first = row
    gone = dict.fromkeys((*LEAVING, "joined", "left"), 0.0)
    for row in after:
        if row.event in gone:
            gone[row.event] += round(row.alive) if row.amount is None else row.amount
    assert first.amount is not None
    now = 0 if living is None else max(1, round(living))
    counted = round(first.amount + gone["joined"] - gone["left"])
    sold, died, lost = (round(gone[event]) for event in ("sold", "died", "lost"))
    known = now + sold + died + lost
    start = max(counted, known, 1)
    swam = next((row.amount for row in reversed(after) if row.event == "free_swimming"), None)
    return Fared(
        name, first.fry_class, "eggs" if first.eggs else "fish", start, first.day,
        None if swam is None else round(swam), sold, died, lost, now, start - known,
        miscounted=known > counted,
    )  # fmt: skip


def _counts(row: FishNoted) -> bool:
    return row.amount is not None and row.amount > 0 and row.event not in (*LEAVING, "left")
