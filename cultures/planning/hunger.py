"""What going short costs a brood: how far it falls behind, and from when on it starves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from attrs import frozen

from cultures.needs.meals import Meal, Step, course_of_meals
from cultures.needs.need import BroodCourse, Round
from cultures.planning.gaps import Gap
from cultures.room.room import Brood, Room

#: Moments closer than that are one [h].
_SAME_H = 0.01


@frozen
class Toll:
    """What going short for a while costs the worst off of some broods.

    Attributes:
        behind_days: how many days of growth are lost [d at the temperature of its tank].
        starves_at: when the first passes the point of no return, or None. starving: the tanks of
            those that do, the first ones first.
    """

    behind_days: float
    starves_at: datetime | None
    starving: tuple[str, ...] = ()


class Hunger:
    """The broods of a plan that go short, each carried through all that it gets.

    Args:
        gaps: all of the time that is looked at; at every other round they get their fill.
    """

    def __init__(self, room: Room, feedings: Sequence[Round], gaps: Iterable[Gap]) -> None:
        self.room, self.feedings = room, feedings
        self.gaps: dict[str, dict[int, Gap]] = {}
        for gap in gaps:
            self.gaps.setdefault(gap.need.brood.name, {})[gap.feeding.index] = gap
        self._known: dict[str, tuple[float, Sequence[Step]]] = {}

    def toll(self, gaps: Sequence[Gap]) -> Toll:
        """What some of the gaps cost, those of a shortfall."""
        spans: dict[str, tuple[Brood, float, float]] = {}
        for gap in gaps:
            brood, at_h = gap.need.brood, gap.feeding.at_h
            first_h = spans[brood.name][1] if brood.name in spans else at_h
            spans[brood.name] = brood, first_h, at_h
        found = [(span[0].tank, *self._toll(*span)) for span in spans.values()]
        starve = sorted((h, tank) for tank, _, h in found if h is not None)
        return Toll(
            max(days for _, days, _ in found),
            self.room.at_hour(starve[0][0]) if starve else None,
            tuple(dict.fromkeys(tank for _, tank in starve)),
        )

    def _toll(self, brood: Brood, first_h: float, last_h: float) -> tuple[float, float | None]:
        speed, steps = self._steps(brood)
        lags = [step.lag_days for step in steps if step.from_h < first_h - _SAME_H]
        within = [s for s in steps if first_h - _SAME_H <= s.from_h <= last_h + _SAME_H]
        starve_h = next((s.no_return_h for s in within if s.no_return_h is not None), None)
        if not within or speed <= 0.0:
            return 0.0, starve_h
        return (within[-1].lag_days - (lags[-1] if lags else 0.0)) / speed, starve_h

    def _steps(self, brood: Brood) -> tuple[float, Sequence[Step]]:
        """How fast it grows on full food [d at the reference a day], and its steps."""
        if brood.name not in self._known:
            course = BroodCourse.of(self.room, brood)
            mine = self.gaps[brood.name]
            meals = [Meal(r.at_h, _share(mine, r.index)) for r in self.feedings]
            until_h = self.feedings[-1].at_h + 1.0
            steps = course_of_meals(
                course, meals, until_h, reserve=brood.fed.reserve,
                per_day=len(self.room.rounds),
            )  # fmt: skip
            speed = course.fry_class.growth(course.temperature_c)
            self._known[brood.name] = speed, [*steps]
        return self._known[brood.name]


def _share(gaps: Mapping[int, Gap], index: int) -> float:
    gap = gaps.get(index)
    if gap is None:
        return 1.0
    return max(0.0, 1.0 - gap.short_j / gap.need.energy_j)
