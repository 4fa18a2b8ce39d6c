"""What is missing, and who could eat something else in its place."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence

from cultures.foods.food import BRINE_SHRIMP
from cultures.fry.diet import suitability
from cultures.planning.advised import is_advised
from cultures.planning.gaps import WORTH_GETTING, Gap, missed_meals
from cultures.planning.outlook import Outlook
from cultures.planning.servings import STAND_IN_FROM, Fit
from cultures.planning.shortfalls import Hunger, Lack, Limits
from cultures.tasks.plan import Act

#: What is got from elsewhere, and not to be got anyhow.
_ERRANDS = (Act.START, Act.RIPE, Act.VESSEL, Act.HATCH, Act.FETCH)
#: Nauplii that somebody else hatched are asked for from so many whole meals on (common practice,
#: no source); a meal and a half until a hatch is ripe hurts no fry that do not starve.
_WORTH_FETCHING = 2.0
#: A gap: the index of its round, and its brood.
Key = tuple[int, str]


class OpenGaps:
    """The gaps of some lacks, and what of each is still open.

    Attributes:
        left_j: by gap what is missing with what was found so far [J]. keepers: the rounds ahead
            at which the keeper is there.
        starving: the gaps of shortfalls in which fry starve.
    """

    def __init__(
        self, outlook: Outlook, limits: Limits, lacks: Sequence[Lack], hunger: Hunger | None = None
    ) -> None:
        self.outlook, self.room, self.known = outlook, outlook.room, limits
        self.keepers = [r for r in outlook.feedings if r.keeper and r.at >= outlook.now]
        self.by_key = {gap.key: gap for lack in lacks for gap in lack.gaps}
        self.limit_of = {gap.key: lack.limit for lack in lacks for gap in lack.gaps}
        self.left_j = {key: gap.short_j for key, gap in self.by_key.items()}
        self.starving = {
            gap.key for lack in lacks if hunger and hunger.toll(lack.gaps).starves_at
            for gap in lack.gaps
        }  # fmt: skip
        self._known_suits: dict[tuple[str, float, str], float] = {}

    def is_worth(self, act: Act, of: str, gaps: Iterable[Gap], left_j: Mapping[Key, float]) -> bool:
        """Whether what a change fills of some gaps is worth the errand; where fry starve all is.

        What was told stays for half of that.
        """
        if act not in _ERRANDS:
            return True
        gaps = list(gaps)
        filled = (g.key for g in gaps if left_j.get(g.key, 0.0) < g.short_j)
        least = _WORTH_FETCHING if act is Act.FETCH else WORTH_GETTING
        least = least / 2.0 if is_advised(self.room, act, of) else least
        return not self.starving.isdisjoint(filled) or missed_meals(gaps, left_j) >= least

    def takes(self, gap: Gap, food: str) -> bool:
        """Whether a food can stand in for what is missing at a gap."""
        return gap.feeding.fed and self._suits(gap, food) >= STAND_IN_FROM

    def _suits(self, gap: Gap, food: str) -> float:
        need = gap.need
        known = need.brood.fry_class.name, need.length_mm, food
        if known not in self._known_suits:
            found = suitability(self.room.food(food), need.brood.fry_class, need.length_mm)
            self._known_suits[known] = found
        return self._known_suits[known]

    def open_to(self, gap: Gap, food: str) -> float:
        """How much of a gap more of a food would fill, were there any [J]: the mouths take as much
        as the plan would give them, and no more.
        """
        need, servings = gap.need, self.outlook.feeding.servings[gap.feeding.index]
        mine = next(s for s in servings if s.need.brood.name == need.brood.name)
        share = Fit.of({food: self._suits(gap, food)}).stands_in.get(food, 0.0)
        most_j = max(mine.want_j.get(food, 0.0), share * need.energy_j)
        return min(gap.short_j, max(0.0, most_j - mine.given_j.get(food, 0.0)))

    def eaten(self, food: str, from_h: float, round_j: float) -> dict[Key, float]:
        """How much of each gap a food may fill that comes from a time on, so much a round [J]."""
        saves: dict[Key, float] = {}
        rounds: dict[int, float] = {}
        for key, gap in self.by_key.items():
            if gap.feeding.at_h >= from_h and self.takes(gap, food):
                saves[key] = min(gap.short_j, rounds.get(key[0], round_j))
                rounds[key[0]] = rounds.get(key[0], round_j) - saves[key]
        return saves

    def hatched(self, limits: Container[str], round_j: float) -> dict[Key, float]:
        """The same of nauplii, where a limit of theirs is lifted."""
        rounds = {index for index, _ in self.by_key}
        held_up = {i for i in rounds if self.known.of_food(BRINE_SHRIMP, i) in limits}
        eaten = self.eaten(BRINE_SHRIMP, 0.0, round_j)
        return {key: j for key, j in eaten.items() if key[0] in held_up}
