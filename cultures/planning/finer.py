"""A scale and a syringe with finer steps, where little cannot be measured out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache

from attrs import evolve

from cultures.foods.food import DRY
from cultures.planning.advised import HELPS_FROM, SHOP, as_advised
from cultures.planning.amounts import measure
from cultures.planning.gaps import find_gaps
from cultures.planning.outlook import Outlook
from cultures.planning.shortfalls import Lack
from cultures.tasks.plan import Act, Remedy
from cultures.words.tools import FINE_SYRINGE, USUAL_SCALE_G, Tools

#: A tool is got for what comes again: on so many days (common practice, no source).
_AGAIN = 3


def finer_tools(outlook: Outlook) -> Callable[[Lack], Iterator[Remedy]]:
    """What helps against lacks of what cannot be measured out: the same food in finer steps."""
    room, now = outlook.room, outlook.now
    scales, draws = _coarse(room.tools)
    finer = evolve(
        room.tools, scale_g=USUAL_SCALE_G if scales else room.tools.scale_g,
        syringes=(*room.tools.syringes, FINE_SYRINGE) if draws else room.tools.syringes,
    )  # fmt: skip

    @cache
    def missing() -> Mapping[tuple[int, str], float]:
        """What is missing of each brood at each round with finer tools [J]."""
        lines, _ = measure(evolve(room, tools=finer), outlook.feeding)
        gaps = find_gaps(outlook.feedings, outlook.needs, outlook.feeding, lines)
        return {gap.key: gap.short_j for gap in gaps}

    def days_of(food: str) -> int:
        """On how many planned days a food cannot be measured out for somebody."""
        ahead = (gap for gap in outlook.gaps if gap.feeding.at >= now)
        return len({g.feeding.at.date() for g in ahead if g.rounded and g.food == food})

    def helps(lack: Lack) -> Iterator[Remedy]:
        ahead = [gap for gap in lack.gaps if gap.feeding.at >= now + SHOP]
        if not ahead or days_of(lack.food) < _AGAIN or not (scales if lack.food == DRY else draws):
            return
        effect_j = sum(gap.short_j - missing().get(gap.key, 0.0) for gap in ahead)
        if effect_j >= HELPS_FROM * sum(gap.short_j for gap in lack.gaps):
            first = ahead[0].feeding.at
            since = first if first > lack.gaps[0].feeding.at else None
            yield as_advised(room, now, Remedy(
                _tool(lack.food), first, effect_j, SHOP, since, act=Act.TOOL, of=lack.food
            ))  # fmt: skip

    return helps


def _coarse(tools: Tools) -> tuple[bool, bool]:
    """Whether the scale, and whether all syringes have steps that finer ones would divide."""
    scale = tools.scale_g is None or tools.scale_g > USUAL_SCALE_G + 1e-9
    return scale, all(s.mark_ml > FINE_SYRINGE.mark_ml + 1e-9 for s in tools.syringes)


def _tool(food: str) -> str:
    if food == DRY:
        return f"get a scale that shows {USUAL_SCALE_G:g} g"
    return f"get a syringe of {FINE_SYRINGE.holds_ml:g} mL in {FINE_SYRINGE.mark_ml:g} mL"
