"""Chances against a second drawing of the same luck, written on its own with NumPy.

It steps from round to round with all draws side by side, where :mod:`cultures.planning.risk`
draws one whole course of events after the other. What is to be drawn is that of docs/planning.md:
lognormal yields (of a child in part its parent's), crashes by a daily hazard, splits that wait
for their parent.
"""

from __future__ import annotations

from datetime import date, datetime

import numpy as np
from hypothesis import given, settings

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.worms import first_harvest_age
from cultures.planning.gaps import find_gaps
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.risk import round_risks
from cultures.planning.servings import STAND_IN_FROM, Suits
from cultures.planning.split_plan import swipe_step_mg
from cultures.planning.worm_course import run_course
from cultures.words.moments import hours
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.strategies import RoomCase, room_cases

_DRAWS = 4000
#: So long past their keeping nauplii are still fed [h].
_LATE_H = 1.0
_Array = np.ndarray[tuple[int], np.dtype[np.float64]]


class _Cultures:
    """The cultures of one kind in all draws: their luck, and from when each gives (again)."""

    def __init__(self, outlook: Outlook, kind: str, rng: np.random.Generator) -> None:
        self.plan, self.rng, self.at_h = outlook.feeding.worms[kind], rng, hours(outlook.now)
        v = self.plan.kind.values
        self.hazard_h, self.rho = v["crash_per_day"] / 24.0, v["yield_inherited"]
        self.sigma = np.sqrt(np.log1p(v["yield_spread"] ** 2))
        self.per_mg = v["energy_j_per_mg"]
        self.ripening: dict[str, float] = {}
        self.z: dict[str, _Array] = {}
        self.back: dict[str, _Array] = {}
        children = {s.culture.name for s in self.plan.splits}
        air = outlook.room.room_temperature_c(outlook.now.date())
        for stage in self.plan.stages:
            culture = stage.culture
            degrees = air if culture.temperature_c is None else culture.temperature_c
            age = first_harvest_age(stage.model, culture.starter_g * v["starter_mg_per_g"])
            self.ripening[culture.name] = age / max(1e-3, self.plan.kind.rate(degrees)) * 24.0
            if culture.name not in children:
                self._stand(culture.name, rng.standard_normal(_DRAWS), np.full(_DRAWS, self.at_h))
        self.spare = run_course(
            self.plan.stages, self.plan.splits, self.plan.demand_mg,
            swipe_step_mg(self.plan.kind), spare=True,
        ).spare_mg  # fmt: skip

    def _stand(self, name: str, z: _Array, back: _Array) -> None:
        self.z[name], self.back[name] = z, back

    def go_to(self, at_h: float) -> None:
        """Lets time pass: what stands may crash, at most once from one round to the next."""
        for name, back in self.back.items():
            since = np.maximum(back, self.at_h)
            crash = since + self.rng.exponential(1.0 / max(self.hazard_h, 1e-12), _DRAWS)
            self.back[name] = np.where(crash < at_h, crash + self.ripening[name], back)
        self.at_h = max(self.at_h, at_h)

    def split(self, index: int) -> None:
        for split in self.plan.splits:
            if split.at_index == index:
                z, back = self.rng.standard_normal(_DRAWS), np.full(_DRAWS, self.at_h)
                if split.parent:
                    z = self.rho * self.z[split.parent] + np.sqrt(1 - self.rho**2) * z
                    parent = self.back[split.parent]
                    late = parent + self.ripening[split.culture.name]
                    back = np.where(parent > self.at_h, late, back)
                self._stand(split.culture.name, z, back)

    def give_j(self, index: int) -> _Array:
        """All that can be taken at a round [J]."""
        could = np.zeros(_DRAWS)
        planned = {h.culture: h.taken_mg for h in self.plan.course.harvests[index]}
        for name in {*planned, *self.spare[index]}:
            mg = planned.get(name, 0.0) + self.spare[index].get(name, 0.0)
            factor = np.exp(self.sigma * self.z[name] - self.sigma**2 / 2)
            could += np.where(self.back[name] <= self.at_h, factor * mg * self.per_mg, 0.0)
        return could


def _drawn_otherwise(outlook: Outlook) -> dict[float, float]:
    """The share of draws in which each round is short, by its time."""
    rng, feeding = np.random.default_rng(7), outlook.feeding
    kinds = {kind: _Cultures(outlook, kind, rng) for kind in feeding.worms}
    hatches, holding, suits = feeding.hatches, outlook.room.holding, Suits(outlook.room)
    sigma = np.sqrt(np.log1p(outlook.room.hatch_kind.values["yield_spread"] ** 2))
    jars = []
    for number, batch in enumerate(hatches.batches):
        before = sum(
            p.energy_j / holding.share(batch.harvest_h, r.at_h)
            for r, row in zip(outlook.feedings, hatches.portions, strict=True)
            for p in row if p.batch == number and r.at < outlook.now
        )  # fmt: skip
        luck = np.exp(sigma * rng.standard_normal(_DRAWS) - sigma**2 / 2)
        jars.append(max(0.0, batch.energy_j - before) * luck)
    gaps = {
        (g.feeding.index, g.need.brood.name)
        for g in find_gaps(outlook.feedings, outlook.needs, feeding, outlook.lines)
    }
    chances = {}
    for r, row, lines in zip(outlook.feedings, feeding.servings, outlook.lines, strict=True):
        for cultures in kinds.values():
            if r.at >= outlook.now:
                cultures.go_to(r.at_h)
        if r.fed and outlook.now <= r.at < outlook.until and row:
            broods = sorted(
                row, key=lambda s: (-s.need.length_mm, s.need.brood.name), reverse=False
            )
            gives: dict[str, dict[str, float]] = {s.need.brood.name: {} for s in row}
            for line in lines:
                gives[line.brood][line.food] = line.given_j
            lost = {name: np.zeros(_DRAWS) for name in gives}
            left = {kind: c.give_j(r.index) for kind, c in kinds.items()}
            wanted = {f: sum(g.get(f, 0.0) for g in gives.values()) for f in (*kinds, BRINE_SHRIMP)}
            nauplii = np.full(_DRAWS, wanted[BRINE_SHRIMP])
            over_h = [r.at_h - b.harvest_h - holding.longest_h(b.harvest_h) - 1e-9
                      for b in hatches.batches]  # fmt: skip
            for number, over in sorted(enumerate(over_h), key=lambda of: of[1] > 0.0):
                batch = hatches.batches[number]
                if batch.at_index <= r.index and over <= _LATE_H:
                    share = holding.share(batch.harvest_h, r.at_h)
                    used = np.minimum(nauplii, jars[number] * share)
                    jars[number] = jars[number] - used / share
                    nauplii = nauplii - used
            short = {kind: np.maximum(0.0, wanted[kind] - left[kind]) for kind in kinds}
            left = {kind: np.maximum(0.0, left[kind] - wanted[kind]) for kind in kinds}
            short[BRINE_SHRIMP] = nauplii
            failed = np.zeros(_DRAWS, dtype=bool)
            for serving in broods:
                name, need_j = serving.need.brood.name, serving.need.energy_j
                for food, missing in short.items():
                    part = np.minimum(missing, gives[name].get(food, 0.0))
                    short[food] = missing - part
                    lost[name] = lost[name] + part
                dry = suits.dry_cap_j(serving) - gives[name].get(DRY, 0.0)
                gap = np.maximum(0.0, lost[name] - max(0.0, dry))
                for kind in sorted(kinds, key=lambda k: -kinds[k].plan.kind.values["width_um"]):
                    if suits(serving, kind) >= STAND_IN_FROM:
                        used = np.minimum(gap, left[kind])
                        left[kind], gap = left[kind] - used, gap - used
                more = sum(gives[name].values()) - need_j
                failed |= gap - max(0.0, more) > 0.03 * need_j
                failed |= (r.index, name) in gaps
            chances[r.at_h] = float(failed.mean())
        for cultures in kinds.values():
            cultures.split(r.index)
    return chances


@settings(RELIABLE, max_examples=examples(suite=5, thorough_run=100))
@given(room_cases(longest_days=14, most_broods=3))
def test_chances_agree_with_a_second_drawing(case: RoomCase) -> None:
    _check(make_outlook(case.room(), now=case.now()), draws=1000)


def _check(outlook: Outlook, *, draws: int) -> None:
    expected = _drawn_otherwise(outlook)
    risks = round_risks(outlook, draws=draws)
    assert len(risks) == len(expected)
    for risk in risks:
        p = expected[hours(risk.at)]
        error = np.sqrt(max(p * (1 - p), 0.25 / _DRAWS) * (1 / draws + 1 / _DRAWS))
        assert abs(risk.probability - p) <= 4.5 * error, (risk.at, risk.probability, p)


_ONE_LINE = """
[room]
timezone = "UTC"
temperature_c = 23
as_of = 2027-01-05
spare_cultures = 1
horizon_days = 45
[[tank]]
name = "T"
litres = 40
temperature_c = 25
[[brood]]
name = "b"
tank = "T"
class = "tiny_scatterer"
count = 400
free_swimming = 2027-01-04
foods = ["microworm"]
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-26
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""


def test_a_line_of_splits_falls_with_its_first_culture() -> None:
    """Each culture comes from the one before: a crash before a split is the child's too."""
    room = RoomCase(_ONE_LINE, date(2027, 1, 5), "07:00").room()
    outlook = make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone))
    assert len(outlook.feeding.worms["microworm"].splits) >= 2
    _check(outlook, draws=4000)
