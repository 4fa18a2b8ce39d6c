"""Survival from egg to sale: fish are conserved, and intervals are as published."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cultures.journal.events import Entry
from cultures.learning.survival import (
    Fared,
    by_class,
    design_effect,
    student,
    survival,
    wilson,
)
from cultures.replay.own_values import OwnValues
from cultures.room.file import read_room
from tests.unit.recorded import replay

_LISBON = ZoneInfo("Europe/Lisbon")
_TODAY = date(2027, 1, 10)
#: Pups that lived, of all, by litter: Weil 1970, as in Table 1 of Rao & Scott 1992.
_CONTROL = (
    (13, 13), (12, 12), (9, 9), (9, 9), (8, 8), (8, 8), (12, 13), (11, 12), (9, 10), (9, 10),
    (8, 9), (11, 13), (4, 5), (5, 7), (7, 10), (7, 10),
)  # fmt: skip
_TREATED = (
    (12, 12), (11, 11), (10, 10), (9, 9), (10, 11), (9, 10), (9, 10), (8, 9), (8, 9), (4, 5),
    (7, 9), (4, 7), (5, 10), (3, 6), (3, 10), (0, 7),
)  # fmt: skip


def _room(brood: str = "") -> str:
    tanks = "".join(
        f'\n[[tank]]\nname = "A{n}"\nlitres = 100\ntemperature_c = 26\n' for n in (1, 2, 3)
    )
    return (
        '[room]\nname = "loft"\ntimezone = "Europe/Lisbon"\ntemperature_c = 23.5\n'
        f"as_of = 2027-01-10\n{tanks}{brood}"
    )


_ONE = (
    '\n[[brood]]\nname = "one"\ntank = "A1"\nclass = "bubble_nest"\ncount = 200\n'
    "spawned = 2027-01-10\n"
)


def _fared(rows: list[tuple[int, str, str, str, float | None]], brood: str = _ONE) -> list[Fared]:
    """What became of the broods by entries of (days after the file, event, subject, other, n)."""
    begin = datetime(2027, 1, 10, 12, tzinfo=_LISBON)
    entries = [
        Entry(begin + timedelta(days=day), event, subject, other, n, "fry" if n else "", line=i + 2)
        for i, (day, event, subject, other, n) in enumerate(rows)
    ]
    now = begin + timedelta(days=max((row[0] for row in rows), default=0), hours=1)
    room = read_room(_room(brood), today=now.date())
    return list(survival(replay(room, entries, now, OwnValues()), now.date()))


@pytest.mark.parametrize(("litters", "printed"), [(_CONTROL, 1.232495), (_TREATED, 3.952861)])
def test_the_design_effect_is_the_published_one(
    litters: tuple[tuple[int, int], ...], printed: float
) -> None:
    """As printed for Rao & Scott's Table 1 in the manual of the R package PF (function rsb)."""
    assert design_effect(litters) == pytest.approx(printed, abs=5e-7)


def test_where_all_or_none_are_sold_nothing_is_known_of_how_broods_differ() -> None:
    assert design_effect([(0, 10), (0, 20)]) == 1.0
    assert design_effect([(10, 10), (20, 20)]) == 1.0


@given(trials=st.integers(1, 2000), part=st.floats(0, 1), level=st.floats(0.5, 0.99))
def test_the_interval_is_scipys_score_interval(trials: int, part: float, level: float) -> None:
    sold = round(trials * part)
    expected = stats.binomtest(sold, trials).proportion_ci(level, method="wilson")
    assert wilson(sold, trials, level=level) == pytest.approx(tuple(expected), abs=1e-9)


def test_the_interval_of_none_and_of_all_holds_the_share_to_the_bit() -> None:
    for trials in range(1, 400):
        assert wilson(0, trials)[0] == 0.0
        assert wilson(trials, trials)[1] == 1.0


@pytest.mark.parametrize(("freedom", "within"), [(1, 0.03), (2, 0.002), (4, 1e-4), (30, 1e-6)])
def test_students_quantile_is_near_scipys(freedom: int, within: float) -> None:
    found = student(stats.norm.ppf(0.9), freedom)
    assert found == pytest.approx(stats.t.ppf(0.9, freedom), rel=within)


def test_eight_in_ten_intervals_hold_the_truth_about_so_often_where_broods_differ() -> None:
    """Broods whose own shares are drawn from a beta law around 40 %."""
    generator = random.Random(7)
    for broods, tries in ((3, 400), (8, 400)):
        held = 0
        for _ in range(tries):
            start = [generator.randint(60, 400) for _ in range(broods)]
            shares = [generator.betavariate(0.4 * 9, 0.6 * 9) for _ in start]
            sold = [
                sum(generator.random() < p for _ in range(n))
                for p, n in zip(shares, start, strict=True)
            ]
            fared = [_gone(n, x) for n, x in zip(start, sold, strict=True)]
            (one,) = by_class(fared)
            low, high = one.share()[1:]
            held += low <= 0.4 <= high
        assert 0.7 < held / tries < 0.9


def _gone(start: int, sold: int) -> Fared:
    return Fared("b", "bubble_nest", "eggs", start, _TODAY, None, sold, 0, 0, 0, start - sold,
                 miscounted=False)  # fmt: skip


def test_sales_losses_and_what_is_left_are_told_apart() -> None:
    (one,) = _fared([
        (5, "free_swimming", "one", "", 150), (20, "count", "one", "", 120),
        (21, "died", "one", "", 4), (21, "lost", "one", "", 6), (21, "sold", "one", "", 50),
        (21, "count", "one", "", 60),
    ])  # fmt: skip
    assert (one.began, one.start, one.swam) == ("eggs", 200, 150)
    assert (one.sold, one.died, one.lost, one.now, one.unaccounted) == (50, 4, 6, 60, 80)
    assert not one.gone
    assert one.share() == pytest.approx((50 / 200, 50 / 200, 110 / 200))
    assert by_class([one]) == ()


def test_a_brood_that_is_gone_has_a_share_with_its_interval() -> None:
    rows = [(21, "sold", "one", "", 50), (30, "sold", "one", "all", 40)]
    (one,) = _fared(rows)  # type: ignore[arg-type]
    assert (one.sold, one.now, one.unaccounted, one.gone) == (90, 0, 110, True)
    assert one.share() == pytest.approx((0.45, *wilson(90, 200)))
    (of_class,) = by_class([one])
    assert (of_class.broods, of_class.start, of_class.sold, of_class.effect) == (1, 200, 90, 1.0)


def test_all_without_a_number_is_what_there_was() -> None:
    (one,) = _fared([(20, "count", "one", "", 120), (20, "sold", "one", "all", None)])
    assert (one.sold, one.now, one.unaccounted) == (120, 0, 80)


def test_fish_that_were_moved_belong_to_their_family() -> None:
    rows: list[tuple[int, str, str, str, float | None]] = [
        (20, "count", "one", "", 100), (20, "move", "one", "A2", 30),
        (21, "sold", "one (A2)", "all", 30), (21, "sold", "one", "", 20),
        (21, "count", "one", "", 50),
    ]  # fmt: skip
    (one,) = _fared(rows)
    assert (one.sold, one.now, one.unaccounted) == (50, 50, 100)


def test_fish_moved_to_those_that_the_file_counts_apart_change_family() -> None:
    apart = (
        '\n[[brood]]\nname = "one (A2)"\ntank = "A2"\nclass = "bubble_nest"\ncount = 40\n'
        "free_swimming = 2027-01-10\n"
    )
    parent, child = sorted(
        _fared([(0, "move", "one", "A2", 30), (0, "sold", "one (A2)", "all", 70)], _ONE + apart),
        key=lambda f: f.brood,
    )
    assert (parent.brood, parent.start, parent.sold, parent.unaccounted) == ("one", 170, 0, 0)
    assert (child.start, child.sold, child.unaccounted, child.began) == (70, 70, 0, "fish")


def test_a_name_that_is_used_again_is_another_brood() -> None:
    first, second = _fared([
        (5, "sold", "one", "all", 100), (6, "spawn", "one", "A1 bubble_nest", 300),
        (40, "sold", "one", "all", 30),
    ])  # fmt: skip
    assert (first.start, first.sold) == (200, 100)
    assert (second.brood, second.start, second.sold) == ("one (2)", 300, 30)


def test_a_planned_number_is_no_count() -> None:
    planned = _ONE.replace("spawned = 2027-01-10", "planned = 2027-01-11")
    (one,) = _fared(
        [(1, "spawn", "one", "", None), (20, "count", "one", "", 90),
         (21, "sold", "one", "all", 45)], planned,
    )  # fmt: skip
    assert (one.began, one.start, one.sold) == ("fish", 90, 45)


def test_more_fish_than_were_counted_are_a_miscount_and_no_share_over_one() -> None:
    (one,) = _fared([(20, "sold", "one", "all", 230)])
    assert (one.start, one.unaccounted, one.miscounted) == (230, 0, True)
    assert one.share()[0] == 1.0


def test_who_sells_some_sees_the_rest() -> None:
    """Two more counts than the plan would have left do not make an end of a brood."""
    (one,) = _fared([
        (1, "count", "one", "", 149), (4, "sold", "one", "", 144), (4, "count", "one", "", 5),
    ])  # fmt: skip
    assert (one.sold, one.now, one.unaccounted) == (144, 5, 51)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_fish_are_conserved(data: st.DataObject) -> None:
    """A tank room lived fish by fish: what is noted adds up to what began, whatever is done."""
    tanks = {"one": 200}  # the fish that truly live, by brood
    truth = {"sold": 0, "died": 0, "lost": 0, "unseen": 0}
    rows: list[tuple[int, str, str, str, float | None]] = []
    for day in range(1, data.draw(st.integers(2, 12)) + 1):
        name = data.draw(st.sampled_from(sorted(tanks)))
        there = tanks[name]
        what = data.draw(st.sampled_from(["sold", "died", "lost", "unseen", "move"]))
        n = data.draw(st.integers(0, max(0, there - 2)))
        if n == 0:
            continue
        rows.append((day, "count", name, "", there))
        if what == "move":
            if name != "one":
                continue
            tank = data.draw(st.sampled_from(["A2", "A3"]))
            child = f"one ({tank})"
            tanks[child] = tanks.get(child, 0) + n
            rows.append((day, "move", name, tank, n))
        else:
            truth[what] += n
            if what != "unseen":
                rows.append((day, what, name, "", n))
        tanks[name] -= n
        rows.append((day, "count", name, "", tanks[name]))
    rows += [(20, "count", name, "", there) for name, there in tanks.items()]
    (one,) = _fared(rows)
    assert (one.sold, one.died, one.lost) == (truth["sold"], truth["died"], truth["lost"])
    assert one.now == sum(tanks.values())
    assert one.unaccounted == truth["unseen"]
    assert one.start == one.now + one.sold + one.died + one.lost + one.unaccounted == 200


@pytest.mark.parametrize(
    ("z", "freedom", "quantile"),
    [
        # The terms 2/4, 24/96, 24/384 and -528/92160 of formula 26.7.5, and 10/4, 294/96,
        # 1098/384 and 169950/92160, each over its power of the freedom.
        (1.0, 1, 1 + 1 / 2 + 1 / 4 + 1 / 16 - 528 / 92160),
        (2.0, 1, 2 + 2.5 + 3.0625 + 2.859375 + 169950 / 92160),
        (2.0, 2, 2 + 2.5 / 2 + 3.0625 / 4 + 2.859375 / 8 + 169950 / 92160 / 16),
    ],
)
def test_students_quantile_term_by_term(z: float, freedom: int, quantile: float) -> None:
    assert student(z, freedom) == pytest.approx(quantile, rel=1e-12)


def test_a_spawning_noted_again_is_put_right_and_a_count_noted_again_is_not() -> None:
    (put_right,) = _fared([
        (1, "spawn", "two", "A2 bubble_nest", 300), (2, "spawn", "two", "", 250),
        (9, "sold", "two", "", 10),
    ], "")  # fmt: skip
    assert (put_right.start, put_right.sold) == (250, 10)
    planned = _ONE.replace("spawned = 2027-01-10", "planned = 2027-01-11")
    (counted,) = _fared([
        (1, "spawn", "one", "", None), (20, "count", "one", "", 90), (22, "count", "one", "", 80),
    ], planned)  # fmt: skip
    assert (counted.start, counted.now) == (90, 80)


def test_the_interval_of_several_groups_has_students_quantile_of_one_less() -> None:
    """Score interval of 40 of 100 with t of 2 degrees in the place of z."""
    t = student(stats.norm.ppf(0.9), 2)
    low, high = wilson(40, 100, groups=3)
    for bound in (low, high):  # where the score statistic is t
        assert abs(0.4 - bound) / (bound * (1 - bound) / 100) ** 0.5 == pytest.approx(t)
    assert wilson(40, 100, groups=1) == wilson(40, 100) == wilson(40, 100, groups=0)


def test_fish_that_join_a_family_are_counted_in_it_and_missed_in_it() -> None:
    """40 and 30 moved to them, of which 60 are sold: ten are missing, and nobody miscounted."""
    apart = (
        '\n[[brood]]\nname = "one (A2)"\ntank = "A2"\nclass = "bubble_nest"\ncount = 40\n'
        "free_swimming = 2027-01-10\n"
    )
    rows = [(0, "move", "one", "A2", 30), (0, "sold", "one (A2)", "all", 60)]
    parent, child = sorted(_fared(rows, _ONE + apart), key=lambda f: f.brood)  # type: ignore[arg-type]
    assert (child.start, child.sold, child.unaccounted, child.miscounted) == (70, 60, 10, False)
    assert (parent.start, parent.miscounted) == (170, False)


def test_a_spawning_is_not_put_right_once_fish_of_it_left() -> None:
    (one,) = _fared([
        (1, "spawn", "two", "A2 bubble_nest", 300), (9, "sold", "two", "", 10),
        (10, "spawn", "two", "", 250),
    ], "")  # fmt: skip
    assert one.start == 300


def test_the_share_of_a_class_is_of_all_that_began() -> None:
    (one,) = by_class([_gone(200, 50), _gone(100, 40)])
    assert one.share()[0] == pytest.approx(0.3)
    assert one.start == 300
