"""What a keeper measures with, and how an amount is said in it.

Spoons, scoops, syringes, measuring cups and a scale. Every screen, sheet, page and calendar
says what somebody measures by :meth:`Tools.mass` and :meth:`Tools.poured`, so that all say it
alike and none says it finer than it can be measured.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import cache, cached_property, lru_cache
from typing import Literal

from attrs import field, frozen

from cultures.words.quantities import OUNCE_G, fraction, number
from cultures.words.quantities import grams as mass_text
from cultures.words.units import DROP_ML, POUND_G, TEASPOON_ML

Tool = Literal["spoon", "scale", "syringe", "cup", ""]
#: What is measured dry or moist, as stocks are called.
CYSTS, DRY, SALT, MEDIUM = "cysts", "dry", "salt", "medium"
SUBSTANCES = (CYSTS, DRY, SALT, MEDIUM)
#: Dry food is weighed in steps of this [g] (common practice, no source).
DRY_STEP_G = 0.01
#: A tool says an amount that it comes so near to, as a share of it; else another tool does.
NEAR = 0.1
#: One that is farther off than this is not named even with "about".
_FAR = 0.25
#: Amounts that differ by less are the same.
_SAME = 0.01
#: No spoon is levelled better than this (common practice, no source): who comes so near is near.
_LEVELLED = 0.05
#: A half is judged by eye: rather than one, so many more are counted out.
_HALF = 2
#: So many of a spoon are counted out, of the largest more; and so often a syringe is filled.
_SPOONFULS = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
_MORE_SPOONFULS = (*_SPOONFULS, *(float(n) for n in range(7, 21)))
_FILLS = 3
#: More often nobody fills it to the mark, one that holds as much as a cup a few times more (common
#: practice, no source): any jug takes its place.
_MOST_FILLS, _MOST_OF_LARGE, _LARGE_ML = 5, 10, 50.0
_COARSE_ML = 50.0
#: More than forty drops nobody counts (common practice, no source).
_MOST_DROPS_ML = 2.0
#: A dose should have so many marks of what it is measured with; of fewer a half is seen by eye
#: (common practice, no source).
_MARKS = 5
#: Nobody reads a syringe to less than a hundredth of what is in it; a millilitre is fine enough.
_READ, _FINE_ML = 0.01, 1.0


@frozen
class Spoon:
    """A spoon or a scoop.

    Attributes:
        label: as the keeper calls it. ml: that it holds when level, None where only ``holds_g``
            is known. holds_g: level, by substance, where the keeper weighed it [g].
    """

    label: str
    ml: float | None
    holds_g: Mapping[str, float] = field(factory=dict)

    def text(self, count: float) -> str:
        """So many of it: ``1/2 tsp``, ``1 1/2 tsp``, ``3 x 1/4 tsp``."""
        size, _, unit = self.label.partition(" ")
        if size == "1" and unit in ("tsp", "tbsp"):
            return f"{fraction(count, 2)} {unit}"
        if count == 1 and size[:1].isdigit():
            return self.label
        return f"{fraction(count, 2)} x {self.label}"


@frozen
class Syringe:
    """A syringe by what it holds and what its smallest mark is [mL]."""

    holds_ml: float
    mark_ml: float


@frozen
class MeasuringCup:
    """A measuring cup or jug for liquids.

    Attributes:
        holds_ml: full. mark_ml: its smallest mark, or all of it where it is filled [mL].
        label: as the keeper calls one that is filled, ``1/4 cup``; "" for one with marks.
    """

    holds_ml: float
    mark_ml: float
    label: str = ""

    def text(self, marks: int) -> str:
        """So many marks of it: ``125 mL``, ``1/4 cup``, ``2 x 1/4 cup``."""
        if not self.label:
            return f"{round(marks * self.mark_ml, 9):.9g} mL"
        return self.label if marks == 1 else f"{marks} x {self.label}"


@frozen
class Said:
    """An amount as it is measured.

    Attributes:
        text: with its unit. amount: what is measured so [g or mL]. off: how far that is from
            what is wanted, as a share of it. by: the tool, "" where there is none for it.
    """

    text: str
    amount: float
    off: float
    by: Tool = ""

    @property
    def near(self) -> bool:
        """Whether the tool comes near enough to say it."""
        return self.off <= NEAR + 1e-9


#: What a drawer and a table hold where nobody says otherwise (common practice, no source).
USUAL_SPOONS = (
    Spoon("1 tbsp", 3 * TEASPOON_ML),
    Spoon("1 tsp", TEASPOON_ML),
    Spoon("1/2 tsp", TEASPOON_ML / 2),
    Spoon("1/4 tsp", TEASPOON_ML / 4),
    Spoon("1/8 tsp", TEASPOON_ML / 8),
)
USUAL_SYRINGE = Syringe(60.0, 1.0)
USUAL_SCALE_G = 0.01
#: One for small doses that every chemist sells (common practice, no source).
FINE_SYRINGE = Syringe(5.0, 0.2)


@frozen
class Tools:
    """All that there is to measure with.

    Attributes:
        scale_g: the step of the scale, None where there is none. g_per_ml: how a level spoon of
            each substance weighs [g/mL]. units: in which weights are said, metric or us.
        stated: the keeper named them; else they are what is usual. cups: for more than syringes
            take.
    """

    spoons: tuple[Spoon, ...] = USUAL_SPOONS
    syringes: tuple[Syringe, ...] = (USUAL_SYRINGE,)
    scale_g: float | None = USUAL_SCALE_G
    g_per_ml: Mapping[str, float] = field(factory=dict)
    units: str = "metric"
    stated: bool = False
    cups: tuple[MeasuringCup, ...] = ()

    def level_g(self, spoon: Spoon, of: str) -> float | None:
        """What a level spoon holds of a substance [g], None where nobody knows."""
        if of in spoon.holds_g or spoon.ml is None or of not in self.g_per_ml:
            return spoon.holds_g.get(of)
        return spoon.ml * self.g_per_ml[of]

    def mass(self, grams: float, of: str) -> tuple[Said, ...]:
        """A mass by the nearest spoon and by the scale, of those that come near; else about.

        The spoon stands first where the keeper named it, and in a room with US units. One that was
        named beside a scale is said of what it holds alone, so that it always weighs the same.
        """
        ways = [way for way in (self.weighed(grams), self.spooned(grams, of)) if way]
        if self.stated and ways and ways[0].by == "scale" and ways[0].near:
            ways = [way for way in ways if way.by == "scale" or way.off <= _SAME]
        if self.stated or self.units == "us":
            ways.reverse()
        if not self.stated and of == DRY and grams <= self.least_over(0.0, DRY, 0.0) + 1e-6:
            ways = [way for way in ways if way.by == "spoon"] or ways  # no scale shows so little
        return tuple(way for way in ways if way.near) or (self._about(grams, ways),)

    def one(self, grams: float, of: str) -> Said:
        """A mass in one tool: the scale, or a spoon where the scale does not show it."""
        weighed = self.weighed(grams)
        return weighed if weighed is not None and weighed.near else self.mass(grams, of)[0]

    def weighed(self, grams: float) -> Said | None:
        """A mass by the scale, None without one; in US rooms in ounces from one on."""
        if self.scale_g is None:
            return None
        if self.units == "us" and grams >= OUNCE_G:
            unit_g = OUNCE_G if grams < POUND_G else POUND_G
            # Scales show ounces in powers of ten, and two digits of them are all that counts.
            digits = math.floor(math.log10(grams / unit_g)) - 1
            step_g = unit_g * 10.0 ** max(
                digits, math.ceil(math.log10(self.scale_g / unit_g) - 1e-9)
            )
            shown = round(grams / step_g) * step_g
            said = _said(mass_text(shown, "us"), shown, grams, "scale")
            if said.off <= _LEVELLED:
                return said
        shown = round(round(grams / self.scale_g) * self.scale_g, 9)
        return _said(f"{number(shown)} g", shown, grams, "scale")

    def spooned(self, grams: float, of: str) -> Said | None:
        """The nearest that spoons give, in as few as come near; None where none can be used."""
        found = [
            (_off(count * level, grams), count, spoon, count * level)
            for spoon, count, level in self._spoonfuls(of)
        ]
        if not found:
            return None
        least = min([off for off, *_ in found])
        alike = max(_LEVELLED, min(least + _LEVELLED / 2, max(least, NEAR)))
        near = [one for one in found if one[0] <= alike + 1e-9]
        _, count, spoon, held_g = min(near, key=lambda x: (x[1] + _HALF * (x[1] % 1 > 0), x[0]))
        return _said(f"{spoon.text(count)} level", held_g, grams, "spoon")

    def poured(self, ml: float) -> Said:
        """A volume by syringe, in millilitres in every room; much of it by a measuring cup."""
        if ml > _FILLS * self.largest_ml and (cups := self._by_cup(ml)):
            return cups
        most = _MOST_FILLS if self.largest_ml < _LARGE_ML else _MOST_OF_LARGE
        if ml > most * self.largest_ml:
            step_ml = _cup_step_ml(ml)
            shown = round(ml / step_ml) * step_ml
            return Said(f"about {shown:,.9g} mL", shown, 0.0)
        drawn, half_ml = self._drawn_ml(ml), self._half_ml(ml)
        between = abs(ml / half_ml - round(ml / half_ml)) < 1e-6  # two marks, by eye
        few = ml < 2 * _MARKS * half_ml and (ml > _MOST_DROPS_ML or ml >= 2 * half_ml - 1e-9)
        if between and few:
            drawn = ml
        elif ml <= _MOST_DROPS_ML and _off(drawn, ml) > NEAR + 1e-9:
            drops = max(1, round(ml / DROP_ML))
            return _said(f"{drops} drop{'s' * (drops > 1)}", drops * DROP_ML, ml, "syringe")
        said = _said(f"{drawn:,.9g} mL", drawn, ml, "syringe")
        return said if said.near else _said(f"about {number(ml, 2)} mL", ml, ml, "")

    @cached_property
    def poured_ml(self) -> Callable[[float], float]:
        """What is measured for a volume as :meth:`poured` says it [mL]; kept, since doses are whole
        marks, so few are asked for often.
        """
        return lru_cache(maxsize=1024)(self._measured_ml)

    def _measured_ml(self, ml: float) -> float:
        if ml > _FILLS * self.largest_ml or ml <= _MOST_DROPS_ML:
            return self.poured(ml).amount
        drawn = self._drawn_ml(ml)
        return drawn if _off(drawn, ml) <= NEAR + 1e-9 else ml

    def _drawn_ml(self, ml: float) -> float:
        drawn = (_nearest_ml(s.mark_ml, ml) for s in self._fitting(ml))
        return min(drawn, key=lambda x: abs(x - ml))

    def mark_ml(self, largest_ml: float) -> float:
        """In which steps doses are measured out, of which the largest is so much [mL]."""
        return _readable_ml(min(s.mark_ml for s in self._fitting(largest_ml)), largest_ml)

    def fine_ml(self, ml: float, mark_ml: float) -> float | None:
        """In which steps a dose is measured apart that has too few of the marks of all others: by
        a finer syringe, between two marks by eye, or in drops where that is more than a tenth off;
        None where it has enough [mL].
        """
        if ml >= _MARKS * mark_ml - 1e-9:
            return None
        marks = {s.mark_ml for s in self._fitting(ml) if s.mark_ml < mark_ml}
        fine = max((m for m in marks if ml >= _MARKS * m - 1e-9), default=None)
        if fine is not None:
            return fine
        if ml > _MOST_DROPS_ML:
            return min(marks, default=mark_ml) / 2.0
        half_ml = self._half_ml(ml)
        # Nobody counts drops where a mark, or half of one, does.
        seen = ml >= 2 * half_ml - 1e-9 and _off(round(ml / half_ml) * half_ml, ml) <= NEAR + 1e-9
        return half_ml if seen else DROP_ML

    def _half_ml(self, ml: float) -> float:
        """Half a mark of the finest that takes so much [mL]."""
        return min(s.mark_ml for s in self._fitting(ml)) / 2.0

    @cached_property
    def largest_ml(self) -> float:
        """What the largest syringe holds [mL]."""
        return max(s.holds_ml for s in self.syringes)

    def takes(self, ml: float) -> bool:
        """Whether so much is poured in few fillings of a syringe or a measuring cup [mL]."""
        largest_ml = max([self.largest_ml, *(cup.holds_ml for cup in self.cups)])
        return ml <= _FILLS * largest_ml + 1e-9

    def _by_cup(self, ml: float) -> Said | None:
        """The nearest that measuring cups give, in few fillings; None where none comes near."""
        found = [
            _said(cup.text(marks), marks * cup.mark_ml, ml, "cup")
            for cup in self.cups
            if (marks := round(ml / cup.mark_ml)) and marks * cup.mark_ml <= _FILLS * cup.holds_ml
        ]
        best = min(found, key=lambda said: said.off, default=None)
        return best if best is not None and best.near else None

    def _fitting(self, ml: float) -> list[Syringe]:
        """The syringes that take an amount in few fillings, a mark more or less; or the largest."""
        fit = [s for s in self.syringes if ml <= _FILLS * s.holds_ml + s.mark_ml + 1e-9]
        return fit or [max(self.syringes, key=lambda s: s.holds_ml)]

    def least_over(self, grams: float, of: str, usual_g: float) -> float:
        """The least that can be measured and is no less than this [g].

        Args:
            usual_g: in which steps it is asked for where the scale shows them.
        """
        if not self.stated and of == DRY and grams <= self._least_dry_g:
            return round(self._least_dry_g, 6)  # no scale that nobody named shows so little
        if self.scale_g is not None and self.scale_g <= usual_g + 1e-9:
            spoonful = self._spoonful_over(grams) if self.stated and of == CYSTS else None
            return spoonful or _steps_over(grams, usual_g)
        found = [n * g for _, n, g in self._spoonfuls(of) if n * g >= grams * (1 - 1e-6)]
        if self.scale_g is not None:
            found.append(_steps_over(grams, self.scale_g))
        if found:
            return round(min(found), 6)
        levels = [g for _, n, g in self._spoonfuls(of) if n == 1]
        return _steps_over(grams, max(levels, default=usual_g))

    def _spoonful_over(self, cysts_g: float) -> float | None:
        """The least that spoons hold as they are said, and that is hardly more than this [g]."""
        most_g = (1.0 + NEAR) * cysts_g
        held = {round(n * g, 6) for _, n, g in self._spoonfuls(CYSTS) if cysts_g <= n * g <= most_g}
        said = ((grams, self.spooned(grams, CYSTS)) for grams in sorted(held))
        return next((grams for grams, by in said if by is not None and by.off <= _SAME), None)

    @cached_property
    def dry_step_g(self) -> float:
        """The least dry food that can be measured at all, or the usual step of a scale that shows
        it [g].
        """
        if self.scale_g is not None and self.scale_g <= DRY_STEP_G:
            return DRY_STEP_G
        least = [n * g for _, n, g in self._spoonfuls(DRY)]
        least += [] if self.scale_g is None else [self.scale_g]
        return min(least, default=DRY_STEP_G)

    @cached_property
    def _least_dry_g(self) -> float:
        """The least dry food that spoons measure [g]; 0 without one for it."""
        return min((n * g for _, n, g in self._spoonfuls(DRY)), default=0.0)

    @cached_property
    def _spoonfuls(self) -> Callable[[str], Sequence[tuple[Spoon, float, float]]]:
        """Each spoon with each number of it, and what one of it holds of a substance [g]; kept,
        since every dose of dry food asks for it.
        """
        return cache(self._spoonfuls_of)

    def _spoonfuls_of(self, of: str) -> Sequence[tuple[Spoon, float, float]]:
        levels = [(s, g) for s in self.spoons if (g := self.level_g(s, of)) is not None]
        largest = max((g for _, g in levels), default=0.0)
        return [
            (spoon, count, level)
            for spoon, level in levels
            for count in (_MORE_SPOONFULS if level == largest else _SPOONFULS)
        ]

    def _about(self, grams: float, ways: list[Said]) -> Said:
        """The nearest of tools that do not come near, unless they are far off."""
        if ways and (nearest := min(ways, key=lambda way: way.off)).off <= _FAR:
            return Said(f"about {nearest.text}", nearest.amount, nearest.off)
        return Said(f"about {mass_text(grams, self.units, 2)}", grams, 0.0)


#: What is taken to be there where nobody says what is; weights in metric.
USUAL = Tools()


def _said(text: str, amount: float, wanted: float, by: Tool) -> Said:
    return Said(text, amount, _off(amount, wanted), by)


def _off(amount: float, wanted: float) -> float:
    return abs(amount - wanted) / wanted if wanted > 0 else 0.0


@lru_cache(maxsize=4096)  # doses are whole marks, so few are asked for often
def _nearest_ml(mark_ml: float, ml: float) -> float:
    """The nearest that a syringe draws up and somebody can read, in three digits [mL]."""
    drawn = round(round(ml / mark_ml) * mark_ml, 9)
    if math.isclose(drawn, float(f"{drawn:.3g}")):
        return drawn
    step_ml = _readable_ml(mark_ml, ml)
    return round(round(ml / step_ml) * step_ml, 9)


def _readable_ml(mark_ml: float, ml: float) -> float:
    """So many whole marks as somebody can tell apart where there is so much [mL]."""
    read = _READ * max(ml, 1e-9)
    least = min(_FINE_ML, 10.0 ** math.floor(math.log10(read) + 1e-9))
    return round(max(1, math.ceil(least / mark_ml - 1e-9)) * mark_ml, 9)


def _cup_step_ml(ml: float) -> float:
    """The steps in which a measuring cup shows so much [mL]: two digits, of litres 50 mL."""
    return min(_COARSE_ML, 10.0 ** (math.floor(math.log10(ml) + 1e-9) - 1))


def _steps_over(grams: float, step_g: float) -> float:
    return round(math.ceil(grams / step_g - 1e-6) * step_g, 6)
