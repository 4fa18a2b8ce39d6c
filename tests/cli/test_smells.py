"""Of a culture that smells the step to harvest it says what to look for."""

from __future__ import annotations

from pathlib import Path

import pytest

from cultures.foods.kinds import WormKind, kinds_with
from tests.cli.invented import at, jotted
from tests.cli.rooms import small


def _step(room: Path, clock: str) -> str:
    said = " ".join(at(room, clock, "today").stdout.split())
    return said.partition("ROUND")[2].partition("TO SET GOING")[0]


@pytest.mark.parametrize("noted", ["smells off", "a bad odour", "sour!"])
def test_a_culture_that_smells_is_told_apart_from_one_that_crashed(
    tmp_path: Path, noted: str
) -> None:
    room = small(tmp_path)
    jotted(room, "2027-01-05T07:00", "note", "MW-1", *noted.split())
    step = _step(room, "2027-01-05T07:10")
    assert "it has crashed; feed none of it. If so: livefood journal failed MW-1" in step


@pytest.mark.parametrize("noted", ["is it mould?", "Mold perhaps", "may be grey fuzz at the rim"])
def test_of_a_culture_that_may_be_mouldy_nothing_is_taken_and_it_is_binned_closed(
    tmp_path: Path, noted: str
) -> None:
    """Spores can harm the lungs, and a starter carries them on: common practice, no source."""
    room = small(tmp_path)
    answer = at(room, "2027-01-05T07:00", "journal", "note", "MW-1", *noted.split()).stdout
    for said in (" ".join(answer.split()), _step(room, "2027-01-05T07:10")):
        assert "MW-1: leave it closed and take nothing of it, also no starter; bin it" in said
        assert "livefood journal failed MW-1" in said


def test_other_words_say_nothing_of_it(tmp_path: Path) -> None:
    room = small(tmp_path)
    jotted(room, "2027-01-05T07:00", "note", "MW-1", "new", "lid")
    assert "crashed" not in _step(room, "2027-01-05T07:10")


def test_every_worm_has_its_signs() -> None:
    worms = [kind for kind in kinds_with(()).values() if isinstance(kind, WormKind)]
    assert all(kind.signs.endswith("feed none of it.") for kind in worms)
