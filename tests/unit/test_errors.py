"""What an error says, as whole sentences."""

from __future__ import annotations

import pytest

from cultures.errors import UnknownNameError, nearest


@pytest.mark.parametrize(
    ("name", "known", "said"),
    [
        ("Q", ["A2", "A1"], "there is no tank named 'Q'. Known: A1, A2."),
        ("A3", ["A1"], "there is no tank named 'A3'; did you mean 'A1'? Known: A1."),
        ("zebras", ["rams"], "there is no tank named 'zebras'. Known: rams."),
        ("rains", ["rams"], "there is no tank named 'rains'; did you mean 'rams'? Known: rams."),
        ("Q", [], "there is no tank named 'Q'."),
        ("", ["A1"], "there is no tank named ''. Known: A1."),
    ],
)
def test_a_name_that_is_not_there(name: str, known: list[str], said: str) -> None:
    error = UnknownNameError("tank", name, known)
    assert str(error) == said
    assert error.exit_code == 2


def test_the_nearest_name_or_all() -> None:
    assert nearest("spilt", ["split", "start"]) == "did you mean 'split'?"
    assert nearest("q", ["split", "start"]) == "known: split, start"
