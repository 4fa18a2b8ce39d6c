"""The mutations of the study: what is changed, and that nothing else is."""

from __future__ import annotations

import ast

import pytest

from tests.studies.mutating import mutants_of


def _texts(source: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for mutant in mutants_of(source.encode()):
        text = mutant.applied(source.encode()).decode()
        ast.parse(text)
        found.setdefault(mutant.operator, []).append(text)
    return found


@pytest.mark.parametrize(
    ("source", "operator", "texts"),
    [
        ("x = 4.0", "number times 1.5", ["x = (6.0)"]),
        ("x = 4", "number plus 1", ["x = (5)"]),
        ("x = -4", "sign turned", ["x = (4)"]),
        ("x = a < b", "comparison flipped", ["x = (a >= b)"]),
        ("x = a < b", "boundary moved", ["x = (a <= b)"]),
        ("x = a is b", "comparison flipped", ["x = (a is not b)"]),
        ("x = a + b * c", "operator swapped", ["x = (a - b * c)", "x = a + (b / c)"]),
        ("x = a or b", "and and or swapped", ["x = (a and b)"]),
        ("x = not a", "not or minus removed", ["x = (a)"]),
        ("x = min(a, b)", "min to max", ["x = max(a, b)"]),
        ("x = True", "true and false swapped", ["x = False"]),
        ("x += 1", "statement removed", ["pass"]),
        ("f(x)", "statement removed", ["pass"]),
        ("if a:\n    pass", "condition turned", ["if (not a):\n    pass"]),
        ("def f():\n    if a < b:\n        return 1\n    return 2", "return removed",
         ["def f():\n    if a < b:\n        pass\n    return 2"]),
        ("é = 'é'; x = 4.0", "number times 1.5", ["é = 'é'; x = (6.0)"]),
    ],
)  # fmt: skip
def test_one_thing_is_changed(source: str, operator: str, texts: list[str]) -> None:
    assert _texts(source)[operator] == texts


@pytest.mark.parametrize(
    "source",
    [
        '"""A text of 4 words."""', "x: Literal[4]", "__all__ = ['x']", "raise Error(f'{x + 1}')",
        "@frozen(eq=False)\nclass A:\n    pass", "import a", "x = f'{y + 1:.3f}'",
    ],
)  # fmt: skip
def test_words_types_and_decorators_are_left(source: str) -> None:
    assert _texts(source) == {}


def test_a_mutant_knows_its_lines_and_whether_a_test_can_run_them() -> None:
    source = b"X = 4.0\n\n\ndef f(a):\n    if (a >\n            3):\n        return 1\n"
    places = {(m.operator, m.at, m.inside) for m in mutants_of(source)}
    assert ("number times 1.5", (1, 1), False) in places
    assert ("boundary moved", (5, 6), True) in places
    assert ("return removed", (7, 7), True) in places
