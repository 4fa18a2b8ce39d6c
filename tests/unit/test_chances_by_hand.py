"""Chances worked out by hand from docs/planning.md: of one round, of a spell, of what stands."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

import pytest
from attrs import evolve

from cultures.foods.worms import first_harvest_age
from cultures.planning import risk
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.risk import (
    DRAWS,
    RoundRisk,
    _mean_risk,
    _risk,
    chances,
    round_risks,
    spare_effects,
    thin_spells,
    with_probability,
)
from cultures.planning.trials import Played, Theatre, Trial, Trials, certainty_of
from cultures.planning.unknowns import Guess
from cultures.planning.worm_course import culture_clock
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.plan import Shortfall
from cultures.tasks.told import FeedLine

_TODAY = date(2027, 1, 5)
_ROOM = """
[room]
timezone = "UTC"
temperature_c = 23
as_of = 2027-01-05
rounds = ["07:30", "18:30"]
hatch_margin = 0
[[tank]]
name = "T"
litres = 40
temperature_c = 26
[[tank]]
name = "U"
litres = 40
temperature_c = 26
[[brood]]
name = "b"
tank = "T"
class = "annual_killifish"
count = 400
length_mm = 12
measured_on = 2027-01-04
foods = ["brine_shrimp"]
[[vessel]]
name = "one"
litres = 4
temperature_c = 27
[cysts]
grams = 900
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = 150
surface_cm2 = 180
starter_g = 15
temperature_c = {degrees}
"""


def _outlook(*, degrees: float = 20.0, days: int = 4, away: str = "") -> Outlook:
    room = read_room(_ROOM.format(degrees=degrees) + away, today=_TODAY)
    return make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=days)


def _played(*missing: tuple[float, str]) -> list[Played]:
    return [Played(short_j, food, (1.0,)) for short_j, food in missing]


def test_a_round_is_short_as_often_as_something_is_missing() -> None:
    """Short in five of eight draws, by 60 J; nauplii are missing three times, worms twice."""
    at, none = datetime(2027, 1, 5, 7, 30, tzinfo=UTC), [(0.0, "")]
    luck = [(10.5, "worm"), (28.0, "worm"), *[(0.5, "nauplii")] * 2, (20.5, "nauplii"), *none * 3]
    told = _risk(at, _played(*luck), _played((1.0, "worm"), *none * 7))
    assert (told.at, told.probability, told.food, told.all_told) == (at, 0.625, "nauplii", 0.125)
    assert told.expected_short_j == 7.5
    assert told.error == pytest.approx(math.sqrt(0.625 * 0.375 / 8))


def test_a_round_that_was_never_short_may_be_so_once_in_many_draws() -> None:
    """None of 400 is not nothing: the error is that of half a draw; at most it is 2.5 %."""
    at, fed = datetime(2027, 1, 5, tzinfo=UTC), _played(*[(0.0, "")] * DRAWS)
    never = _risk(at, fed, fed)
    assert (never.probability, never.expected_short_j, never.food) == (0.0, 0.0, "")
    assert never.error == pytest.approx(0.5 / 400)
    half = [*fed[:200], *_played(*[(1.0, "worm")] * 200)]
    assert _risk(at, half, half).error == pytest.approx(0.025)


def test_the_mean_risk_is_that_of_all_rounds_at_which_somebody_feeds() -> None:
    outlook = _outlook(away="[[away]]\nfrom = 2027-01-07\nto = 2027-01-07\n")
    risks = round_risks(outlook, draws=DRAWS // 2)
    fed = [r.at for r in outlook.feedings if r.fed and outlook.now <= r.at < outlook.until]
    assert [r.at for r in risks] == fed
    assert {at.day for at in fed} == {5, 6, 8}
    assert 0.0 < _mean_risk(outlook) < 1.0
    assert _mean_risk(outlook) == pytest.approx(sum(r.probability for r in risks) / len(fed))
    assert _mean_risk(_outlook(days=1, away="[[away]]\nfrom = 2027-01-05\nto = 2027-01-06\n")) == 0


def test_the_chance_of_a_shortfall_counts_its_first_round_and_its_last() -> None:
    moments = [datetime(2027, 1, day, tzinfo=UTC) for day in (5, 6, 7)]
    chance = dict(zip(moments, (0.3, 0.5, 0.1), strict=True))
    risks = [RoundRisk(at, p, 0.0, 1.0, "worm", p) for at, p in chance.items()]
    short = Shortfall(at=moments[0], until=moments[1], rounds=2, food="worm", need_j=1.0,
                      short_j=1.0, tanks=(), cause="")  # fmt: skip
    spans = [(0, 1), (1, 2), (1, 1), (2, 2)]
    found = [evolve(short, at=moments[a], until=moments[b]) for a, b in spans]
    assert [s.probability for s in with_probability(found, risks)] == [0.5, 0.5, 0.5, 0.1]
    assert thin_spells(risks[1:2], found, []) == ()
    assert [len(spell) for spell in thin_spells(risks, found[3:], [])] == [2]


def test_between_rounds_of_one_shortfall_other_foods_may_be_thin() -> None:
    """Worms are short on the 5th and the 7th. Of a thin 6th it is said where that is of nauplii,
    and not on a day that is short itself, whichever food the trials blame.
    """
    moments = [datetime(2027, 1, day, tzinfo=UTC) for day in (5, 6, 7)]
    short = Shortfall(at=moments[0], until=moments[2], rounds=2, food="worm", need_j=1.0,
                      short_j=1.0, tanks=(), cause="")  # fmt: skip
    days = [(at, at) for at in moments[::2]]
    for food, told in (("worm", []), ("nauplii", [moments[1]])):
        risks = [RoundRisk(at, 0.5, 0.0, 1.0, food, 0.5) for at in moments]
        assert [r.at for spell in thin_spells(risks, [short], days) for r in spell] == told


def test_more_of_everything_is_one_culture_a_fifth_and_the_largest_vessel(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each is planned for as many days as are shown, and at least for one."""
    tried: list[tuple[Room, int]] = []

    def noted(room: Room, *, now: datetime, days: int) -> Room:
        assert now == outlook.now
        tried.append((room, days))
        return room

    monkeypatch.setattr(risk, "make_outlook", noted)
    monkeypatch.setattr(risk, "_mean_risk", lambda room: len(room.vessels))
    outlook = _outlook()
    small = evolve(outlook.room.vessels[0], name="small", litres=1.0)
    room = evolve(outlook.room, vessels=(*outlook.room.vessels, small))
    effects = spare_effects(evolve(outlook, room=room))
    assert list(effects.values()) == [2, 2, 2, 3]
    (usual, four), (spare, _), (fifth, _), (vessel, _) = tried
    assert (usual, four) == (room, 4)
    assert spare.spare_cultures == room.spare_cultures + 1
    assert fifth.hatch_margin == pytest.approx(room.hatch_margin + 0.2)
    assert [v.litres for v in vessel.vessels] == [4.0, 1.0, 4.0]
    hours_only = evolve(outlook, room=evolve(room, vessels=()), until=outlook.now)
    assert list(spare_effects(hours_only).values()) == [0, 0, 0]
    assert tried[-1][1] == 1


def test_how_sure_a_plan_is_counts_each_brood_at_each_round() -> None:
    """0.5, 1 and 0.9, and one that nobody fed: 2.4 of 4."""
    by_luck, really = [Played(0.0, "", (1.0, 1.0)), Played(0.0, "", (1.0,))], _played((0.0, ""))
    trial = Trial(by_luck, [Played(5.0, "", (0.5, 1.0)), Played(0.0, "", (0.9,))], Guess({}, {}), 1)
    assert trial.fed() == pytest.approx(0.6)
    assert trial.fed(by_luck=True) == 0.75
    assert Trial([], really[:0], Guess({}, {})).fed() == 1.0
    both = certainty_of([trial] * 10)
    assert both.fed == pytest.approx((0.6, 0.6))
    assert both.by_luck == (0.75, 0.75)
    away = "[[away]]\nfrom = 2027-01-07\nto = 2027-01-07\n"
    assert Trials.of(_outlook(away=away)).unfed == 2
    assert Trials.of(_outlook()).unfed == 0


@pytest.mark.parametrize("degrees", [12.0, 20.0, 24.0])
def test_what_crashed_is_replaced_once_one_begun_at_once_is_ripe(degrees: float) -> None:
    outlook = _outlook(degrees=degrees)
    (line,) = (x for x in Theatre(outlook).cultures if x.key == ("microworm", 0))
    (culture,) = outlook.room.cultures
    stage = outlook.feeding.worms["microworm"].stages[0]
    age = first_harvest_age(stage.model, 15.0 * culture.kind.values["starter_mg_per_g"])
    clock = culture_clock(outlook.room, culture, outlook.feedings)
    begun_h = outlook.feedings[0].at_h
    assert line.ripening_h == pytest.approx(clock.when(begun_h, age) - begun_h, rel=1e-6)
    assert line.crash_per_day == culture.kind.values["crash_per_day"]


def test_a_thin_margin_names_the_tanks_that_are_fed_the_food_then() -> None:
    """With no margin half of the hatches bring too little."""
    outlook = _outlook()
    plan = plan_of(outlook, remedies=False, risk=True)
    thin = [s for s in plan.shortfalls if s.thin]
    assert thin
    more = FeedLine(at=outlook.now, tank="U", brood="x", food="brine_shrimp", need_j=7.0,
                    given_j=0.0, amount=0.0, unit="mL")  # fmt: skip
    lines = [[*row, more] for row in outlook.lines]
    again = plan_of(evolve(outlook, lines=lines), remedies=False, risk=True)
    assert [s for s in again.shortfalls if s.thin] == thin
    for short in thin:
        inside = [
            line for feeding, row in zip(outlook.feedings, outlook.lines, strict=True)
            for line in row if short.at <= feeding.at <= short.until and line.amount > 0
        ]  # fmt: skip
        assert (short.tanks, short.food) == (("T",), "brine_shrimp")
        assert short.need_j == pytest.approx(sum(line.need_j for line in inside))
        risks = [
            r for r in chances(outlook).rounds
            if short.at <= r.at <= short.until and r.probability >= 0.2
        ]  # fmt: skip
        assert short.rounds == len(risks)
        assert short.probability == max(r.probability for r in risks)
        assert short.short_j == pytest.approx(sum(r.expected_short_j for r in risks))
        assert f"{short.probability:.0%}" in short.cause
    assert timedelta(0) <= thin[-1].until - thin[0].at < timedelta(days=4)
