"""Examples in docstrings run, and say what comes of them."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

_ROOT = Path(__file__).resolve().parents[2]
_WITH_EXAMPLES = sorted(
    ".".join(path.relative_to(_ROOT).with_suffix("").parts)
    for top in ("cultures", "calendars", "cli")
    for path in (_ROOT / top).rglob("*.py")
    if ">>> " in path.read_text("utf-8")
)


@pytest.mark.parametrize("module", _WITH_EXAMPLES)
def test_examples_of_a_module_run(module: str) -> None:
    found = doctest.testmod(importlib.import_module(module))
    assert found.attempted > 0
    assert found.failed == 0


def test_there_are_examples_in_most_rooms_with_formulas_and_words() -> None:
    rooms = {module.split(".")[1] for module in _WITH_EXAMPLES}
    assert rooms >= {"foods", "fry", "journal", "words", "planning"}
