"""The examples of docs/models.md run as printed."""

from __future__ import annotations

import doctest
import tomllib
from pathlib import Path

from cultures.foods.kinds import read_kind

PAGE = Path(__file__).parents[2] / "docs" / "models.md"


def test_examples_run_as_printed() -> None:
    result = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert result.attempted >= 8
    assert result.failed == 0


def test_the_kind_of_your_own_can_be_read() -> None:
    block = PAGE.read_text("utf-8").split("```toml\n")[1].split("```")[0]
    (table,) = tomllib.loads(block)["kind"]
    assert read_kind(table).values["growth_rate_per_day"] == 0.6
