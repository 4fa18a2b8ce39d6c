"""What HiGHS said is looked up for that very programme alone."""

from __future__ import annotations

from functools import partial

import pytest

from tests.oracle.joint_milp import _Programme
from tests.oracle.solved import Answer, Solved, digest

_NUMBERS = (1e-3, 2.0, 3, float("inf"))


def _solver(asked: list[int], answer: Answer) -> Answer:
    asked.append(1)
    return answer


def test_a_programme_that_is_known_is_not_solved_again() -> None:
    known, asked = Answer(5.0, 4.9, True, [1.0]), list[int]()
    solved = Solved({digest(_NUMBERS): known})
    assert solved.answer(_NUMBERS, lambda: _solver(asked, known)) is known
    assert asked == []
    for other in ((1e-3, 2.0, 4, float("inf")), (1e-3, 2.00000001, 3, float("inf")), _NUMBERS[1:]):
        solved.answer(other, lambda: _solver(asked, known))
    assert len(asked) == 3
    # What processors differ in is no other programme.
    assert digest((0.1 + 0.2,)) == digest((0.3,))


def test_what_is_solved_anew_must_agree_with_what_is_known() -> None:
    """Of two that were proven neither costs less than the bound of the other."""
    known = Answer(5.0, 4.9, True, [1.0])
    solved = Solved({digest(_NUMBERS): known}, anew=True)
    better = Answer(4.95, 4.95, True, [1.0])
    assert solved.answer(_NUMBERS, lambda: better) is better
    for wrong in (Answer(4.8, 4.7, True, [1.0]), Answer(6.0, 5.5, True, [1.0])):
        with pytest.raises(AssertionError):
            solved.answer(_NUMBERS, partial(_solver, [], wrong))


def test_every_number_of_a_programme_tells_it_from_others() -> None:
    def of(cost: float = 2.0, upper: float = 9.0, high: float = 4.0, whole: bool = True) -> str:
        programme = _Programme()
        programme.given["a", 0, "dry"] = programme.variable(cost, upper, whole=whole)
        programme.at_most({0: -1.0}, high)
        return digest(programme._numbers(1e-3))

    assert of() == of()
    others = {of(cost=2.1), of(upper=9.1), of(high=4.1), of(whole=False)}
    assert len(others | {of()}) == 5
