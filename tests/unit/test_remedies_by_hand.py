"""What is tried against what falls short, step by step: small rooms, rounds twelve hours apart."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age
from cultures.fry.diet import suitability
from cultures.journal.absences import Away
from cultures.needs.need import BroodNeed, Round, rounds_between
from cultures.planning import changes, finer, open_gaps, remedies
from cultures.planning.asking import ASK_HELP, help_by, helped_until, with_help
from cultures.planning.elsewhere import Elsewhere
from cultures.planning.gaps import ANY, Gap
from cultures.planning.offers import Change, Offers
from cultures.planning.remedies import _Finder
from cultures.planning.servings import Serving
from cultures.planning.shortfalls import Lack, Toll
from cultures.planning.supplies import Purchase
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.tasks.plan import Act, Advice, Remedy
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _START, _rounds, _stage
from tests.unit.test_shortfall_limits import _TEXT

_near: Any = pytest.approx

_ROUNDS = _rounds(40)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=date(2027, 1, 5))


def _gap(room: Room, index: int, short_j: float = 100.0, *, brood: int = 0, length_mm: float = 6.0,
         rounds: list[Round] = _ROUNDS) -> Gap:  # fmt: skip
    need = BroodNeed(room.broods[brood], rounds[index].at, length_mm, 10, 100.0, {})
    return Gap(rounds[index], need, "microworm", short_j)


def _finder(room: Room, *lacks: Lack, worms: Any = None, limit: str = "tin", now: datetime = _START,
            rounds: list[Round] = _ROUNDS, want_j: float = 0.0, given_j: float = 0.0
            ) -> _Finder:  # fmt: skip
    needs = [[gap.need for lack in lacks for gap in lack.gaps if gap.feeding is r] for r in rounds]
    want, given = {BRINE_SHRIMP: want_j}, {BRINE_SHRIMP: given_j}
    outlook: Any = SimpleNamespace(
        room=room, now=now, feedings=rounds, until=now + timedelta(days=6), needs=[],
        feeding=SimpleNamespace(
            worms=worms or {}, hatches=SimpleNamespace(batches=(), tin_short=()), memo={},
            servings=[[Serving(need, want, {**given}) for need in row] for row in needs],
        ),
    )  # fmt: skip
    limits: Any = SimpleNamespace(of_food=lambda _, index: limit if index < 20 else "early")
    return _Finder(outlook, limits, list(lacks))


def _offers(room: Room, *lacks: Lack, **more: Any) -> Offers:
    return Offers(_finder(room, *lacks, **more).open)


def _lack(*gaps: Gap, limit: str = "thin") -> Lack:
    return Lack("microworm", limit, list(gaps))


def _change(room: Room, saves: dict[tuple[int, str], float], *against: str) -> Change:
    return Change(room, saves, against, lambda *_: ("do", _START), Act.BUY)


def _advice(act: Act, of: str = "", by: datetime = _START) -> Advice:
    return Advice(act, of, "do", by)


# --- what is tried


def test_a_change_is_tried_where_it_may_save_a_twentieth_of_what_is_missing(room: Room) -> None:
    """60 and 40 J are missing: from 5 J on."""
    finder = _finder(room, _lack(_gap(room, 2, 60.0), _gap(room, 3, 40.0)))
    for first, second, helps in ((5.0, 0.0, True), (2.5, 2.5, True), (2.5, 2.4, False),
                                 (0.0, 4.9, False), (0.0, 0.0, False)):  # fmt: skip
        change = _change(room, {(2, "one"): first, (3, "one"): second})
        assert finder._may_help(change) is helps, (first, second)
    assert not finder._may_help(_change(room, {(9, "one"): 50.0}))
    # What helps from the 4th round on saves nothing of 10 J that are missing before.
    late = _finder(room, _lack(_gap(room, 2, 10.0)))
    for by, helps in ((2, True), (3, False)):
        change = _change(room, {(2, "one"): 10.0})
        assert late._may_help(evolve(change, helps_at=_ROUNDS[by].at)) is helps
    # One lack of several is enough.
    two = _finder(room, _lack(_gap(room, 2)), _lack(_gap(room, 8)))
    assert two._may_help(_change(room, {(8, "one"): 50.0}))


def test_what_is_saved_already_counts_no_more_but_for_what_is_meant_against_it(room: Room) -> None:
    finder = _finder(room, _lack(_gap(room, 2)))
    change = _change(room, {(2, "one"): 50.0}, "mouth")
    meant = _change(room, {(2, "one"): 50.0, (3, "one"): 9.0}, "mouth", "thin")
    finder.open.left_j[2, "one"] = 3.0
    assert finder._saved(change, (2, "one")) == 3.0
    assert finder._saved(meant, (2, "one")) == 50.0
    assert finder._saved(_change(room, {(2, "one"): 500.0}, "thin"), (2, "one")) == 100.0
    assert finder._saved(_change(room, {}, "thin"), (2, "one")) == 0.0


def test_four_changes_are_planned_at_most_and_told_by_what_they_bring(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """docs/planning.md: at most four plannings. Of two that bring as much the sooner one first."""
    tried: list[Change] = []
    helps = _change(room, {(2, "one"): 50.0})

    class Finder(_Finder):
        def _confirm(self, change: Change) -> None:
            tried.append(change)
            effect, day = [(3.0, 2), (9.0, 3), (9.0, 1), (5.0, 1)][len(tried) - 1]
            by = _START + timedelta(days=day)
            self.found[0].append(Remedy(f"{effect:g} {day}", by, effect, act=Act.BUY))

    monkeypatch.setattr(remedies, "Offers", lambda _: [_change(room, {}), *[helps] * 7])
    plain = _finder(room, _lack(_gap(room, 2)))
    (found,) = Finder(plain.outlook, plain.open.known, plain.lacks).find()
    assert tried == [helps] * 4
    assert [remedy.what for remedy in found] == ["9 1", "9 3", "5 1", "3 2"]


def _confirmed(
    room: Room, monkeypatch: pytest.MonkeyPatch, *, before_j: float, after_j: float,
    missing: tuple[Gap, ...], by: datetime = _START, outside_j: float = 0.0, act: Act = Act.BUY,
) -> tuple[list[Remedy], dict[tuple[int, str], float]]:  # fmt: skip
    """A change at rounds of which the second is short by 60 J and the third by 40 J."""
    lack = _lack(_gap(room, 1, 60.0), _gap(room, 2, 40.0))
    finder = _finder(room, lack)
    need = lack.gaps[0].need

    def plan(missing_j: float, late_j: float = 0.0) -> Any:
        rows: list[list[Serving]] = [[] for _ in _ROUNDS]
        rows[1] = [Serving(need, {}, {"x": 100.0 - missing_j})]
        rows[30] = [Serving(need, {}, {"x": 100.0 - late_j})]  # after the shown time
        return SimpleNamespace(servings=rows)

    finder.outlook.feeding.servings = plan(before_j).servings
    finder.outlook.needs = [[need] if i in (1, 30) else [] for i in range(40)]
    monkeypatch.setattr(remedies, "reshare", lambda *_, **__: plan(after_j, outside_j))
    monkeypatch.setattr(remedies, "measure", lambda *_: ([], {}))
    monkeypatch.setattr(remedies, "find_gaps", lambda *_: list(missing))
    change = Change(room, {(1, "one"): 100.0}, ("thin",), lambda *_: ("do", by), act,
                     fetch=timedelta(days=3))  # fmt: skip
    finder._confirm(change)
    return finder.found[0], finder.open.left_j


def test_a_remedy_is_told_by_what_a_plan_with_it_gains(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 60 and 40 J 25 are still missing, and 70 J at a round of no lack: 75 J are gained."""
    missing = (_gap(room, 1, 25.0), _gap(room, 9, 70.0))
    found, left = _confirmed(room, monkeypatch, before_j=60.0, after_j=20.0, missing=missing)
    assert found == [Remedy("do", _START, 75.0, timedelta(days=3), act=Act.BUY)]
    assert left == {(1, "one"): 25.0, (2, "one"): 0.0}


@pytest.mark.parametrize(("still_j", "told"), [(95.0, 1), (95.1, 0), (100.0, 0)])
def test_what_gains_less_than_a_twentieth_is_not_told(
    room: Room, monkeypatch: pytest.MonkeyPatch, still_j: float, told: int
) -> None:
    missing = (_gap(room, 1, 60.0), _gap(room, 2, still_j - 60.0))
    found, left = _confirmed(room, monkeypatch, before_j=60.0, after_j=20.0, missing=missing)
    assert len(found) == told
    assert left[2, "one"] == (still_j - 60.0 if told else 40.0)


def test_what_takes_elsewhere_what_it_gives_is_no_remedy(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Unfed by the plan in the shown time: no less than before is not enough."""
    for before_j, after_j, told in ((60.0, 60.0, 0), (60.0, 59.0, 1), (60.0, 61.0, 0)):
        found, _ = _confirmed(room, monkeypatch, before_j=before_j, after_j=after_j, missing=())
        assert len(found) == told
    late, _ = _confirmed(room, monkeypatch, before_j=60.0, after_j=50.0, missing=(), outside_j=90.0)
    assert len(late) == 1


def test_what_must_have_been_done_already_is_no_remedy(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    for minutes, told in ((-1, 0), (0, 1), (1, 1)):
        by = _START + timedelta(minutes=minutes)
        found, _ = _confirmed(room, monkeypatch, before_j=60.0, after_j=0.0, missing=(), by=by)
        assert len(found) == told


def test_what_is_cheapest_is_tried_first(room: Room) -> None:
    """Asking, warming, cysts, a starter, more foods, a starter, a vessel, brine shrimp at all,
    a ripe culture.
    """
    asked: list[str] = []
    offers = _offers(room, _lack(_gap(room, 2)))
    for name in ("_helper", "_warmer", "_cysts", "_wider", "_vessel", "_hatchery",
                 "_culture"):  # fmt: skip

        def offer(*_: Any, name: str = name, ripe: bool = False) -> Iterator[Change]:
            asked.append(name + (" ripe" if ripe else ""))
            return iter(())

        setattr(offers, name, offer)
    assert list(offers) == []
    assert asked == [
        "_helper", "_warmer", "_cysts", "_culture", "_wider", "_culture", "_vessel", "_hatchery",
        "_culture ripe",
    ]  # fmt: skip
    # What was told comes first, and a starter once for each that was.
    asked.clear()
    offers.room = evolve(room, advised=(_advice(Act.VESSEL), _advice(Act.START, "microworm")))
    assert list(offers) == []
    assert asked == [
        "_culture", "_vessel", "_helper", "_warmer", "_cysts", "_wider", "_culture", "_hatchery",
        "_culture ripe",
    ]  # fmt: skip


def test_what_is_told_already_is_tried_first_and_counts_from_half_as_much(room: Room) -> None:
    """Of 100 J from 2.5 J on, where others count from 5 J."""
    told = evolve(room, advised=(_advice(Act.BUY, "cysts"),))
    for of, saved_j, helps in (("cysts", 2.5, True), ("cysts", 2.4, False), ("dry", 2.5, False)):
        finder = _finder(told, _lack(_gap(room, 2)))
        change = evolve(_change(told, {(2, "one"): saved_j}), of=of)
        assert finder._may_help(change) is helps, (of, saved_j)


@pytest.mark.parametrize(
    ("act", "short_j", "saved_j", "helps"),
    [
        (Act.START, 7.0, 7.0, False), (Act.RIPE, 7.0, 7.0, False), (Act.VESSEL, 7.0, 7.0, False),
        (Act.BUY, 7.0, 7.0, True), (Act.ADD, 7.0, 7.0, True), (Act.ASK, 7.0, 7.0, True),
        (Act.START, 50.0, 50.0, True), (Act.START, 49.0, 49.0, False),
        (Act.START, 100.0, 14.0, True), (Act.START, 100.0, 13.0, False),
    ],
)  # fmt: skip
def test_nothing_is_got_for_less_than_half_of_one_meal(
    room: Room, act: Act, short_j: float, saved_j: float, helps: bool
) -> None:
    """By the square of the share that is missing, so a quarter of a meal that is missing wholly:
    of one that is, 0.14 fill 1 - 0.86^2 = 0.26, 0.13 fill 0.24. Cysts are bought anyhow.
    """
    finder = _finder(room, _lack(_gap(room, 2, short_j)))
    change = evolve(_change(room, {(2, "one"): saved_j}), act=act, of="x")
    assert finder._may_help(change) is helps
    # Many small ones count together: 7 J at fifty meals are 0.245, at fifty-two 0.255.
    if short_j == 7.0:
        for meals, worth in ((50, act not in open_gaps._ERRANDS), (52, True)):
            rounds = _rounds(60)
            many = [_gap(room, i, 7.0, rounds=rounds) for i in range(meals)]
            finder = _finder(room, _lack(*many), rounds=rounds)
            change = evolve(change, saves_j={gap.key: 7.0 for gap in many})
            assert finder._may_help(change) is worth


def test_for_fry_that_starve_anything_is_got_and_what_was_told_stays_for_half(room: Room) -> None:
    """A culture that was told for 36 J of 100 stays (0.13 of a meal), for 35 J (0.1225) not."""
    lack = _lack(_gap(room, 2, 7.0))
    change = evolve(_change(room, {(2, "one"): 36.0}), act=Act.START, of="worm")
    plain = _finder(room, lack)
    hunger: Any = SimpleNamespace(toll=lambda _: Toll(3.0, _START))
    starving = _Finder(plain.outlook, plain.open.known, [lack], hunger)
    assert not plain._may_help(change)
    assert starving._may_help(change)
    told = evolve(room, advised=(_advice(Act.START, "worm"),))
    for short_j, stays in ((36.0, True), (35.0, False)):
        assert _finder(told, _lack(_gap(room, 2, short_j)))._may_help(change) is stays


def test_what_turns_out_to_fill_little_is_not_told(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 60 and 40 J 52 and 38 are left: 0.09 and 0.016 of a meal are filled."""
    left = (_gap(room, 1, 52.0), _gap(room, 2, 38.0))
    for act, told in ((Act.START, 0), (Act.BUY, 1)):
        found, _ = _confirmed(
            room, monkeypatch, before_j=60.0, after_j=20.0, missing=left, act=act
        )  # fmt: skip
        assert len(found) == told


def _fetched(finder: _Finder) -> list[list[Remedy]]:
    got = list(Elsewhere(finder.open).nauplii(finder.lacks))
    return [[remedy for mine, remedy in got if mine is lack] for lack in finder.lacks]


def test_nobody_fetches_nauplii_for_a_few(room: Room) -> None:
    """Two whole meals of a brood are worth it; of those that would starve any."""
    for short_j, told in ((99.0, 0), (100.0, 1)):
        lack = _lack(_gap(room, 2), _gap(room, 3, short_j))
        assert [len(found) for found in _fetched(_finder(room, lack))] == [told]
    lack = _lack(_gap(room, 2, 49.0))
    starving = _finder(room, lack)
    starving.open.starving = {gap.key for gap in lack.gaps}
    assert [len(found) for found in _fetched(starving)] == [1]


def test_nauplii_are_fetched_for_what_the_plan_would_give_of_them_alone(room: Room) -> None:
    """At 3.8 mm an eighth of the mouths take them, so they stand in for a thirteenth of the need of
    100 J at most (none from a tenth, all from a half on); what the diet asks is taken besides. What
    is given of that already, with some to spare in the jar, no fetched ones give.
    """
    short = [_gap(room, i, 60.0, length_mm=3.8) for i in (2, 3)]
    suits = suitability(room.food(BRINE_SHRIMP), room.broods[0].fry_class, 3.8)
    least_j = 100.0 * (suits - 0.1) / 0.4
    assert 5.0 < least_j < 10.0
    for want_j, given_j, fills_j in ((90.0, 0.0, 60.0), (40.0, 0.0, 40.0), (40.0, 30.0, 10.0),
                                     (0.0, 0.0, least_j), (40.0, 40.0, 0.0)):  # fmt: skip
        finder = _finder(room, _lack(*short), want_j=want_j, given_j=given_j)
        finder.open.starving = {gap.key for gap in short}
        (found,) = _fetched(finder)
        assert [remedy.effect_j for remedy in found] == ([_near(2.0 * fills_j)] if fills_j else [])


def test_what_is_fetched_for_one_day_is_one_errand(room: Room) -> None:
    """A meal of each of two broods is missing at the 3rd round, half of one at the 4th of one that
    the other lack is about: 250 J at two rounds, of 100 J for a lack alone, which is too little
    for an errand.
    """
    one = _lack(_gap(room, 2))
    other = _lack(_gap(room, 2, brood=1), _gap(room, 3, 50.0, brood=1), limit="early")
    (first,), (second,) = _fetched(_finder(room, one, other))
    assert (first.what, first.by, first.amount) == (second.what, second.by, second.amount)
    assert first.what.endswith(" a round")
    # A nauplius is 0.0387 J (Paffenhöfer 1967).
    assert first.amount == _near(125.0 / 0.0387, rel=0.05)
    assert (first.effect_j, second.effect_j) == (100.0, 150.0)
    assert _fetched(_finder(room, one)) == [[]]
    # What is short later on the same day is got with it.
    evening = _lack(_gap(room, 3, brood=1), _gap(room, 4, brood=1), limit="early")
    (first,), (second,) = _fetched(_finder(room, one, evening))
    assert first.what == second.what
    assert first.by == second.by == _ROUNDS[2].at
    assert (first.helps_from, second.helps_from) == (None, None)
    # What is short days later is an errand of its own.
    later = _lack(_gap(room, 8), _gap(room, 9), limit="early")
    found = _fetched(_finder(room, _lack(_gap(room, 2), _gap(room, 3)), later))
    assert [remedy.by for (remedy,) in found] == [_ROUNDS[2].at, _ROUNDS[8].at]


def test_fetched_nauplii_count_while_they_live_and_the_keeper_gives_them(room: Room) -> None:
    """Nobody has a fridge: half a day later nauplii are as they were, in five days they
    have moulted and starved. A helper feeds at the rounds 4 and 5 what the sheet says:
    none of them.
    """
    rounds = [evolve(r, keeper=r.index not in (4, 5)) for r in _ROUNDS]

    def told(*indices: int) -> list[Remedy]:
        lack = _lack(*(_gap(room, i, rounds=rounds) for i in indices))
        (found,) = _fetched(_finder(room, lack, rounds=rounds))
        return found

    assert told(4, 5) == []
    (whole,) = told(2, 3)
    assert (whole.by, whole.effect_j, whole.helps_from) == (rounds[2].at, 200.0, None)
    (part,) = told(2, 3, 4, 5, 12)
    assert (part.by, part.effect_j, part.helps_from) == (rounds[2].at, 200.0, None)
    assert part.what == whole.what
    (after,) = told(4, 5, 6, 7)
    assert (after.by, after.effect_j, after.helps_from) == (rounds[6].at, 200.0, rounds[6].at)


def test_a_trial_plans_the_foods_of_a_change_alone(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """For the needs that were planned for, and at the rounds of the change where it has some."""
    seen: list[Any] = []

    def reshared(_: Any, before: Room, changed: Room, rounds: Any, **how: Any) -> Any:
        seen.append((before, changed, rounds, how))
        return SimpleNamespace(servings=[[]] * 40)

    monkeypatch.setattr(remedies, "reshare", reshared)
    monkeypatch.setattr(remedies, "measure", lambda *_: ([], {}))
    monkeypatch.setattr(remedies, "find_gaps", lambda *_: [])
    finder = _finder(room, _lack(_gap(room, 1)))
    finder._unfed = lambda *_: 0.0  # type: ignore[method-assign]
    finder.outlook.needs = [[]] * 40
    fewer, helped = evolve(room, broods=room.broods[:1]), _rounds(40)
    for rounds, foods, kind in (((), ("x",), ""), (helped, (), "microworm")):
        finder._confirm(Change(fewer, {}, (), lambda *_: None, Act.ADD, foods=foods, kind=kind,
                                feedings=rounds))  # fmt: skip
        before, changed, at, how = seen.pop()
        assert (before, changed) == (room, fewer)
        assert at is (rounds or finder.outlook.feedings)
        assert how == {"start": _START, "needs": [[]] * 40, "foods": foods, "added": kind}


def test_unfed_is_what_the_plan_leaves_open_in_the_shown_time(room: Room) -> None:
    """Twelve rounds are shown; where nobody feeds all of a need is missing."""
    rounds = _rounds(14, away=(3,))
    finder = _finder(room, _lack(_gap(room, 1)), now=rounds[2].at, rounds=rounds)
    finder.outlook.until = rounds[5].at
    need = _gap(room, 1).need
    plan: Any = SimpleNamespace(
        servings=[[Serving(need, {}, {"x": 100.0 - 10.0 * i})] if i != 3 else [] for i in range(14)]
    )
    finder.outlook.needs = [[need]] * 14
    # Rounds 2 and 4 miss 20 and 40 J, round 3 all of 100 J.
    assert finder._unfed(plan, rounds) == pytest.approx(160.0)


# --- how much something may save


def test_a_round_is_filled_up_to_what_there_is(room: Room) -> None:
    """50 J a round: 40 and 10 of two broods, 50 of 80 J of the next; nothing before it comes."""
    gaps = (
        _gap(room, 2, 40.0),
        _gap(room, 2, 30.0, brood=1),
        _gap(room, 3, 80.0),
        _gap(room, 4, 5.0),
    )
    finder = _finder(room, _lack(*gaps))
    eaten = finder.open.eaten("microworm", _ROUNDS[2].at_h, 50.0)
    assert eaten == {(2, "one"): 40.0, (2, "two"): 10.0, (3, "one"): 50.0, (4, "one"): 5.0}
    assert set(finder.open.eaten("microworm", _ROUNDS[3].at_h, 50.0)) == {(3, "one"), (4, "one")}
    one, two, three = (_gap(room, 2, short_j) for short_j in (40.0, 8.0, 30.0))
    named = [evolve(gap, need=evolve(gap.need, brood=evolve(gap.need.brood, name=name)))
             for gap, name in ((one, "a"), (two, "b"), (three, "c"))]  # fmt: skip
    assert _finder(room, _lack(*named)).open.eaten("microworm", 0.0, 50.0) == {
        (2, "a"): 40.0, (2, "b"): 8.0, (2, "c"): 2.0
    }  # fmt: skip


def test_nauplii_are_saved_where_that_is_what_limits_them(room: Room) -> None:
    finder = _finder(room, _lack(_gap(room, 2, 40.0), _gap(room, 25, 40.0)), limit="vessels")
    assert finder.open.hatched("vessels", 30.0) == {(2, "one"): 30.0}
    assert finder.open.hatched("early", 30.0) == {(25, "one"): 30.0}
    assert finder.open.hatched("tin", 30.0) == {}


def test_a_food_is_taken_by_who_can_use_a_tenth_of_it(room: Room) -> None:
    fry, nauplii = room.broods[0].fry_class, room.food(BRINE_SHRIMP)
    low, high = 2.0, 8.0
    assert suitability(nauplii, fry, low) < 0.1 < suitability(nauplii, fry, high)
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if suitability(nauplii, fry, middle) < 0.1 else (low, middle)
    finder = _finder(room, _lack(_gap(room, 2)))
    for length_mm, taken in ((low - 0.01, False), (low + 0.01, True)):
        assert finder.open.takes(_gap(room, 2, length_mm=length_mm), BRINE_SHRIMP) is taken
    away = _rounds(4, away=(2,))
    assert not finder.open.takes(_gap(room, 2, rounds=away), BRINE_SHRIMP)


def _kind(room: Room, name: str = "microworm") -> WormKind:
    kind = room.kinds[name]
    assert isinstance(kind, WormKind)
    return kind


def test_a_culture_gives_its_whole_stock_once_as_far_as_it_climbs(room: Room) -> None:
    kind = _kind(room)
    culture = changes.usual_culture(room, kind)
    model = kind.model(medium_g=150.0, surface_cm2=180.0)
    given_j = _offers(room, _lack(_gap(room, 2)))._gives_j(culture)
    assert given_j == pytest.approx(model.climbing_fraction * model.capacity_mg * kind.fed_j_per_mg)
    assert 0.0 < model.climbing_fraction < 1.0


# --- when a culture is begun


def _warm(room: Room, **more: Any) -> Room:
    """At the temperature at which a day of a microworm culture is a day."""
    return evolve(room, temperatures_c=(_kind(room).values["t_ref_c"],), **more)


def test_a_culture_is_begun_no_sooner_than_it_must_be(room: Room) -> None:
    """At the last round from which on it is ripe in time for the first gap it can serve at all."""
    warm = _warm(room)
    kind = _kind(warm)
    pattern = changes.usual_culture(warm, kind)
    model = kind.model(medium_g=150.0, surface_cm2=180.0)
    age = first_harvest_age(model, 15.0 * kind.values["starter_mg_per_g"])
    needed = math.ceil(age * 2)  # rounds, of half a day each
    assert 2 < needed < 20
    for indices, begins in (((needed + 4,), 4), ((needed + 9, needed + 4), 4),
                            ((5 if needed > 5 else 1, needed + 6), 6)):  # fmt: skip
        offers = _offers(warm, _lack(*(_gap(warm, i) for i in indices)))
        start = offers._start(pattern, Act.START)
        assert start is not None
        assert start[0].index == begins, indices
        assert start[1] == pytest.approx(_ROUNDS[begins].at_h + 24.0 * age, abs=0.01)
    # A starter is there after a day, at the third round; one round sooner is not in time.
    for index, found in ((needed + 2, 2), (needed + 1, None)):
        start = _offers(warm, _lack(_gap(warm, index)))._start(pattern, Act.START)
        assert (None if start is None else start[0].index) == found
    ripe = _offers(warm, _lack(_gap(warm, 7)))._start(pattern, Act.RIPE)
    assert ripe == (_ROUNDS[7], _near(_ROUNDS[7].at_h))
    tiny = _offers(warm, _lack(_gap(warm, 7, length_mm=1.0)))
    assert tiny._start(pattern, Act.RIPE) is None


def test_no_culture_is_begun_on_a_full_shelf_or_by_nobody(room: Room) -> None:
    pattern = changes.usual_culture(room, _kind(room))
    stages = {"x": SimpleNamespace(stages=[_stage("A", 9, spent=8, rounds=12)])}
    for shelf, found in ((1, None), (2, 7), (None, 7)):
        offers = _offers(evolve(room, shelf=shelf), _lack(_gap(room, 7)), worms=stages)
        start = offers._start(pattern, Act.RIPE)
        assert (None if start is None else start[0].index) == found
    rounds = _rounds(12, away=(5, 6, 7))
    offers = _offers(room, _lack(_gap(room, 8, rounds=rounds)), rounds=rounds)
    start = offers._start(pattern, Act.RIPE)
    assert start is not None
    assert start[0].index == 8
    helped = [evolve(r, fed=True) for r in rounds]
    offers = _offers(room, _lack(_gap(room, 7, rounds=helped)), rounds=helped)
    start = offers._start(pattern, Act.RIPE)
    assert start is not None
    assert start[0].index == 4


# --- what is offered


def _one(changes: Iterator[Change]) -> Change:
    (change,) = changes
    return change


def test_cysts_are_bought_where_the_tin_is_what_limits(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """60 g to the 30 g that there are, by the second day; not once the harm is done."""
    by = _START + timedelta(days=1)
    monkeypatch.setattr("cultures.planning.offers.cysts_to_buy", lambda _: Purchase(60.0, by, by))
    lack = _lack(_gap(room, 2), _gap(room, 25))
    change = _one(_offers(room, lack)._cysts())
    assert change.room.cysts is not None
    assert change.room.cysts.grams == 90.0
    assert (change.saves_j, change.against) == ({(2, "one"): 100.0}, ("tin",))
    plan: Any = None
    assert change.told(plan, lack) == ("buy 60 g of cysts", by)
    assert change.told(plan, _lack(_gap(room, 3))) is not None
    assert change.told(plan, _lack(_gap(room, 2))) is None  # a day later, the very round
    monkeypatch.setattr("cultures.planning.offers.cysts_to_buy", lambda _: None)
    assert list(_offers(room, lack)._cysts()) == []
    assert list(_offers(evolve(room, cysts=None), lack)._cysts()) == []


def test_one_more_vessel_is_like_the_largest_and_set_in_time(room: Room) -> None:
    small, large = room.vessels[0], evolve(room.vessels[0], name="V2", litres=2.0, lost_h=9.0)
    here, gap = evolve(room, vessels=(small, large)), _gap(room, 4, 1e9)
    change = _one(_offers(here, _lack(gap), limit="vessels")._vessel())
    added = change.room.vessels[-1]
    assert (added.name, added.litres, added.lost_h) == ("one more 2 L vessel", 2.0, None)
    assert (change.against, change.fetch) == (("vessels",), timedelta(days=1))
    # All that it holds at its best, a gram a time.
    model = vessel_model(room, large)
    full_j = model.energy(model.best_hours()) * room.hatch_kind.most_grams(2.0)
    assert change.saves_j == {(4, "one"): pytest.approx(full_j)}

    def told(*batches: tuple[str, float, int]) -> Any:
        now_h = hours(_START)
        found = [
            SimpleNamespace(vessel=SimpleNamespace(name=name), set_h=now_h + set_h, at_index=at)
            for name, set_h, at in batches
        ]
        plan: Any = SimpleNamespace(hatches=SimpleNamespace(batches=found))
        return change.told(plan, _lack(_gap(room, 2), gap))

    mine = added.name
    found = told(("V2", 1.0, 2), (mine, -1.0, 2), (mine, 9.0, 4), (mine, 5.0, 4), (mine, 0.5, 5))
    assert found == ("set hatches in one more 2 L vessel", _START + timedelta(hours=5))
    assert told((mine, 0.0, 4)) == (found[0], _START)
    assert told((mine, -1.0, 4)) is None
    cold = evolve(room, vessels=(evolve(small, temperature_c=1.0),))
    assert _one(_offers(cold, _lack(gap), limit="vessels")._vessel()).saves_j == {(4, "one"): 0.0}
    for none in (evolve(room, vessels=()), evolve(room, cysts=None)):
        assert list(_offers(none, _lack(gap))._vessel()) == []


def _listed(room: Room, *foods: str) -> Room:
    one, two = room.broods
    return evolve(room, broods=(evolve(one, foods=foods), two))


def test_what_the_room_has_is_given_to_who_gets_only_some_of_it(room: Room) -> None:
    """Dry food is no food of fry of 6 mm yet; nauplii are."""
    here = _listed(room, "microworm")
    gaps = (_gap(here, 2), _gap(here, 2, brood=1), _gap(here, 3, length_mm=1.0))
    lack = _lack(*gaps)
    change = _one(_offers(here, lack)._wider())
    assert change.saves_j == {(2, "one"): 100.0}  # the other gets all there is already
    assert change.against == ()
    assert change.room.broods[0].foods == ("microworm", BRINE_SHRIMP, DRY)

    def told(**given_j: float) -> Any:
        nauplii = {food: j for food, j in given_j.items() if food == BRINE_SHRIMP}
        pair = [Serving(gaps[0].need, {}, given_j), Serving(gaps[1].need, {}, nauplii)]
        served = [[], [], pair, []]
        plan: Any = SimpleNamespace(servings=served)
        return change.told(plan, lack)

    assert told(brine_shrimp=5.0) == ("add nauplii to the foods of one", _ROUNDS[2].at)
    assert told(brine_shrimp=5.0, dry=1.0)[0] == "add nauplii, dry food to the foods of one"
    assert told(brine_shrimp=0.0, microworm=5.0) is None
    first = _lack(_gap(here, 1), *gaps)
    served: Any = SimpleNamespace(servings=[[], [], [Serving(gaps[0].need, {}, {DRY: 1.0})], []])
    assert change.told(served, first) == ("add dry food to the foods of one", _ROUNDS[1].at)
    bare = _one(_offers(evolve(here, vessels=()), lack)._wider())
    assert BRINE_SHRIMP not in (bare.room.broods[0].foods or ())
    assert bare.saves_j == {}
    away = _rounds(4, away=(2,))
    assert _one(_offers(here, _lack(_gap(here, 2, rounds=away)))._wider()).saves_j == {}


def test_the_culture_that_may_save_most_is_begun(room: Room) -> None:
    here = _listed(_warm(room), DRY)
    gap, tried = _gap(here, 30), set[str]()
    offers = _offers(here, _lack(gap))
    change = _one(offers._culture(tried, ripe=False))
    assert tried == {change.kind}
    assert change.fetch == timedelta(days=1)
    assert "thin" in change.against
    kind = _kind(here, change.kind)
    gives = {
        k.name: min(100.0, offers._gives_j(changes.usual_culture(here, k)))
        for k in here.kinds.values()
        if isinstance(k, WormKind) and offers.open.takes(gap, k.name)
    }
    assert change.saves_j[30, "one"] == pytest.approx(max(gives.values()))
    plan: Any = None
    what, at = change.told(plan, _lack(gap)) or ("", _START)
    assert what == (
        f"start a {kind.label} culture from a bought starter and add it to the foods of one"
    )
    # It is one culture, so it is told alike against all that it helps, of one week by one time.
    lacks = [_lack(gap), _lack(_gap(here, 31, brood=1))]
    both = _offers(here, *lacks)
    one = _one(both._culture(set(), ripe=False))
    sooner, later = (one.told(plan, lack) or ("", _START) for lack in lacks)
    assert sooner == later
    assert sooner[1] == at
    # What is short more than a week later is told its own.
    longer = _rounds(60)
    lacks = [_lack(_gap(here, i, brood=b, rounds=longer)) for i, b in ((30, 0), (45, 1))]
    both = _offers(here, *lacks, rounds=longer)
    one = _one(both._culture(set(), ripe=False))
    sooner, later = (one.told(plan, lack) or ("", _START) for lack in lacks)
    assert sooner[0] == later[0]
    assert (sooner[1], later[1] - sooner[1]) == (at, longer[45].at - longer[30].at)
    added = change.room.cultures[-1]
    assert (added.kind.name, added.started) == (change.kind, at.date())
    assert change.room.broods[0].foods == (DRY, change.kind)
    # Where one culture cannot do it all it is the kind that gives most a round.
    much = _offers(here, _lack(_gap(here, 30, 1e9)))
    full = {name: offers._gives_j(changes.usual_culture(here, _kind(here, name))) for name in gives}
    first = _one(much._culture(set(), ripe=False))
    assert full[first.kind] == max(full.values())
    assert len(set(full.values())) > 1
    # Nothing is left to be saved of what the best would save: so another one is as good.
    again = _one(offers._culture(tried, ripe=False))
    assert again.kind != change.kind
    assert tried == {change.kind, again.kind}


def test_one_more_of_a_kind_is_said_so_and_a_ripe_one_gives(room: Room) -> None:
    kind = _kind(room)
    stands = evolve(changes.usual_culture(room, kind), name="MW-1")
    # All other kinds are tried already.
    others = {k for k in room.kinds if k != "microworm"}
    here = evolve(_warm(room), cultures=(stands,))
    here = evolve(here, kinds={"microworm": kind, BRINE_SHRIMP: room.kinds[BRINE_SHRIMP]})
    offers, plan = _offers(here, _lack(_gap(here, 30))), SimpleNamespace()
    more: Any = _one(offers._culture(set(others), ripe=False))
    what, _ = more.told(plan, _lack(_gap(here, 30)))
    assert what == "start one more microworm culture from a bought starter"
    assert more.room.cultures[-1].mark is None
    ripe: Any = _one(offers._culture({"microworm"}, ripe=True))
    what, at = ripe.told(plan, _lack(_gap(here, 30)))
    assert (what, at) == ("get a ripe microworm culture", _ROUNDS[30].at)
    mark, model = ripe.room.cultures[-1].mark, kind.model(medium_g=150.0, surface_cm2=180.0)
    # Worms climb from 0.3 of what the medium bears, so it holds 0.65 of that.
    assert kind.values["climbing_density"] == 0.3
    full = pytest.approx(0.65 * model.capacity_mg)
    assert (mark.at_h, mark.stock_mg) == (_ROUNDS[30].at_h, full)
    assert mark.age == pytest.approx(
        first_harvest_age(model, 15.0 * kind.values["starter_mg_per_g"])
    )
    assert list(offers._culture({"microworm"}, ripe=False)) == []


# --- somebody who feeds


def _away(room: Room, *days: tuple[int, int, bool]) -> Any:
    """A room with absences in January and its rounds, as an outlook has them."""
    absent = tuple(Away(date(2027, 1, a), date(2027, 1, b), helper=h) for a, b, h in days)
    here = evolve(room, away=absent)
    rounds = rounds_between(here, _START, _START + timedelta(days=12))
    return SimpleNamespace(room=here, feedings=rounds, now=_START)


def test_by_when_to_ask_for_help_is_one_moment_once_it_was_told(room: Room) -> None:
    """Told for the eve at seven, it is due since then, until the last round that nobody feeds."""
    outlook = _away(room, (8, 9, False), (12, 12, False))
    gaps = [_gap(room, r.index, rounds=outlook.feedings) for r in outlook.feedings if r.at.day >= 8]
    eve = datetime(2027, 1, 7, 19, 0, tzinfo=room.timezone)
    here, first = outlook.room, datetime(2027, 1, 8, 7, 30, tzinfo=room.timezone)
    for told, by in ((eve, eve), (eve + timedelta(minutes=1), first)):
        outlook.room = evolve(here, advised=(Advice(Act.ASK, "", "ask", told),))
        outlook.now = datetime(2027, 1, 8, 7, tzinfo=room.timezone)
        assert help_by(outlook, gaps) == by  # what was told of another absence is not about this
    outlook.room = evolve(here, advised=(Advice(Act.ASK, "", "ask", eve),))
    for now, still in (
        (eve - timedelta(hours=1), None), (eve + timedelta(hours=1), (8, 7, 30)),
        (datetime(2027, 1, 9, 12, tzinfo=room.timezone), (9, 19, 30)),
    ):  # fmt: skip
        outlook.now = now
        assert help_by(outlook, gaps) == eve
        until = helped_until(outlook, gaps, eve)
        assert until == (still and datetime(2027, 1, *still, tzinfo=room.timezone))
    outlook.now = datetime(2027, 1, 30, tzinfo=room.timezone)
    assert help_by(outlook, gaps) is None


def test_help_is_asked_for_two_evenings_before_the_first_absence(room: Room) -> None:
    """Who is asked is called until 19:00; once that is past, until 22:30 on the eve. Two absences
    without and one with a helper.
    """
    outlook = _away(room, (6, 6, True), (8, 9, False), (12, 12, False))
    rounds = outlook.feedings

    def by(*days: int) -> datetime | None:
        gaps = [_gap(room, r.index, rounds=rounds) for r in rounds if r.at.day in days]
        return help_by(outlook, gaps)

    assert by(9) == by(12, 9) == datetime(2027, 1, 6, 19, 0, tzinfo=room.timezone)
    assert by(12) == datetime(2027, 1, 10, 19, 0, tzinfo=room.timezone)
    assert by(6) is None  # somebody feeds then
    assert by(7) is None
    # On the morning of the first day, and once one of its rounds is over.
    leaving = datetime(2027, 1, 7, 22, 30, tzinfo=room.timezone)
    first, second = (datetime(2027, 1, 8, *at, tzinfo=room.timezone) for at in ((7, 30), (19, 30)))
    for now, latest in (
        (leaving, leaving), (leaving + timedelta(minutes=1), first), (first, first),
        (first + timedelta(minutes=1), second),
    ):  # fmt: skip
        outlook.now = now
        assert by(7, 8, 9) == latest
    outlook.now = datetime(2027, 1, 9, 20, tzinfo=room.timezone)
    assert by(8, 9) is None


def test_a_helper_feeds_in_the_absences_that_are_short_and_no_other(room: Room) -> None:
    outlook = _away(room, (6, 6, False), (8, 9, False))
    rounds = outlook.feedings
    short = [_gap(room, r.index, rounds=rounds) for r in rounds if r.at.day == 9]
    helped = with_help(outlook, short)
    assert helped is not None
    assert [away.helper for away in helped[0].away] == [False, True]
    assert [r.at for r in helped[1]] == [r.at for r in rounds]
    assert {r.at.day for r in helped[1] if not r.fed} == {6}
    assert with_help(outlook, [_gap(room, 0, rounds=rounds)]) is None
    # What that may save is all that is missing while nobody feeds.
    offers = _offers(outlook.room, _lack(*short, _gap(room, 0, 9.0, rounds=rounds)), rounds=rounds)
    change = _one(offers._helper())
    assert change.saves_j == {(gap.feeding.index, "one"): 100.0 for gap in short}
    assert change.against == ("away",)
    plan: Any = None
    assert change.told(plan, _lack(*short)) == (ASK_HELP, help_by(outlook, short))
    assert change.told(plan, _lack(_gap(room, 0, rounds=rounds))) is None
    fed = _offers(outlook.room, _lack(_gap(room, 0, rounds=rounds)), rounds=rounds)
    assert list(fed._helper()) == []
    assert ANY not in {gap.food for gap in short}


# --- finer tools


def test_a_scale_is_got_for_what_comes_on_three_days_and_not_for_one_round(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rounds twelve hours apart, so the even ones are each of another day."""
    monkeypatch.setattr(finer, "measure", lambda *_: ([], {}))
    monkeypatch.setattr(finer, "find_gaps", lambda *_: [])

    coarse = evolve(room, tools=evolve(room.tools, scale_g=1.0))

    def told(*indices: int, rounded: bool = True) -> int:
        mine = [evolve(_gap(room, i), food=DRY, rounded=True) for i in indices]
        every = [evolve(gap, rounded=rounded or gap is mine[0]) for gap in mine]
        outlook: Any = SimpleNamespace(
            room=coarse, now=_START, feedings=_ROUNDS, needs=[], gaps=every, feeding=None,
        )  # fmt: skip
        # Each is a shortfall of its own, more than a day after the one before.
        return len([*finer.finer_tools(outlook)(Lack(DRY, "unmeasured", mine[:1]))])

    assert told(28) == 0
    assert told(28, 29, 32) == 0  # on two days
    assert told(28, 32, 36) == 1
    assert told(28, 32, 36, rounded=False) == 0  # the others lack food, not a scale
