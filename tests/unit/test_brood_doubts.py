"""What is doubted of broods, to the day; the room is that of `test_replay_by_hand`.

Its eggs were spawned at noon of 5 January and eat from the 11th on; its fry swim since the 5th.
"""

from __future__ import annotations

import re
from datetime import datetime

import pytest

from cultures.journal.entries import Entry
from cultures.replay.own_values import OwnValues
from tests.unit.recorded import replay
from tests.unit.test_replay_by_hand import ROOM, _at


def _doubt(entry: Entry, *before: Entry, now: datetime | None = None) -> str:
    """What is said against an entry that is noted at its time, or now, after others."""
    numbered = [e._replace(line=i + 2) for i, e in enumerate(before)]
    found = replay(ROOM, [*numbered, entry], now or entry.when, OwnValues()).doubts
    return found[-1][1] if found else ""


def _count(day: int, fry: float, brood: str = "eggs") -> Entry:
    return Entry(_at(day), "count", brood, "", fry, "fry")


def test_few_of_a_brood_that_was_fed_for_a_day_are_asked_about() -> None:
    """100 eggs, of which a quarter is 25."""
    assert _doubt(_count(7, 10)) == ""  # eggs
    assert _doubt(_count(11, 10)) == ""  # the fry as they first swim
    assert "10 fry of eggs can hardly be all that are left" in (said := _doubt(_count(12, 10)))
    assert "fed since Mon 11 Jan" in said
    assert _doubt(_count(12, 25)) == ""
    assert "10 fry" in _doubt(_count(10, 10), _count(9, 90))  # whose fry were counted
    assert _doubt(_count(12, 10), Entry(_at(12, 8), "died", "eggs", "", 3, "fry")) == ""


@pytest.mark.parametrize(
    ("counted", "now", "asked"),
    [
        (60, 16, True),  # a quarter and a little more: another tank's fry, or a slip
        (60, 19, True), (60, 21, False),
        (13, 4, False), (13, 3, True),  # of a few a quarter: two or three die unseen
    ],
)  # fmt: skip
def test_a_count_of_less_than_a_third_of_many_is_asked_about(
    counted: int, now: int, *, asked: bool
) -> None:
    """Next to none die within a day: of 60 so many live, and a third of them is 20."""
    said = _doubt(_count(13, now), _count(12, counted))
    assert said.startswith(f"{now} fry of eggs can hardly be all that are left") is asked
    assert bool(said) is asked
    assert _doubt(_count(13, now), _count(12, counted), _lost(12)) == ""


@pytest.mark.parametrize(
    ("counted", "now", "asked"),
    [
        (33, 48, True),  # another tank's
        (33, 37, False), (33, 38, True),  # a tenth, and one more: 37.3
        (8, 9, False), (8, 10, False), (8, 11, True),  # of a few one or two were overlooked: 9.8
        (300, 330, False), (300, 340, True),
    ],
)  # fmt: skip
def test_fry_that_were_counted_do_not_become_more(counted: int, now: int, *, asked: bool) -> None:
    said = _doubt(_count(13, now), _count(12, counted))
    assert bool(said) is asked
    assert said.startswith(f"{now} fry of eggs cannot be there" if asked else "")


def test_of_eggs_and_of_a_number_that_nobody_counted_half_as_many_more_are_a_miscount() -> None:
    """100 eggs, and 100 fry by the room file."""
    for brood in ("eggs", "fry"):
        assert _doubt(_count(12, 150, brood)) == ""
        assert f"151 fry of {brood} cannot be there" in _doubt(_count(12, 151, brood))


def test_a_number_that_fits_one_other_brood_names_its_tank() -> None:
    """Of 80 fry 78 are most of them; 300 are more than any tank has."""
    fry = _count(12, 80, "fry")
    assert _doubt(_count(13, 78), fry, _count(12, 40)).endswith(". It would fit fry in B")
    assert "It would fit" not in _doubt(_count(13, 300), fry, _count(12, 40))


def _lost(day: int) -> Entry:
    return Entry(_at(day, 20), "died", "eggs", "", 1, "fry")


def test_a_rise_is_refused_by_what_is_left_and_not_by_a_count_that_nobody_made() -> None:
    """Of 60 that were counted 20 were sold since: 40 are left, and nobody counted 40."""
    sold = Entry(_at(12, 20), "sold", "eggs", "", 20, "fry")
    said = _doubt(_count(13, 100), _count(12, 60), sold)
    left = re.search(r"about (\d+) are left of those counted on Tue 12 Jan", said)
    assert left is not None
    assert 38 <= int(left[1]) <= 40
    assert "40 were counted" not in said


@pytest.mark.parametrize("event", ["spawn", "wetted"])
def test_a_brood_that_eats_is_not_made_eggs_unasked(event: str) -> None:
    said = _doubt(Entry(_at(9), event, "fry"))
    assert said.startswith("fry first ate on Tue 5 Jan; ")
    assert "on Sat 9 Jan it would be eggs, and not be fed before" in said
    assert _doubt(Entry(_at(9), event, "eggs")) == ""  # which do not eat yet
    # By a day so long ago it eats today too.
    assert _doubt(Entry(_at(5, 8), event, "fry"), now=_at(20)) == ""
    assert _doubt(Entry(_at(9), "free_swimming", "fry")) == ""


def test_eggs_that_are_put_in_peat_or_planned_do_not_eat() -> None:
    said = _doubt(Entry(_at(9), "collected", "fry"))
    assert said.endswith("put aside on Sat 9 Jan it would be eggs, and not be fed")
    planned = Entry(_at(9), "planned", "fry", "B paper_fish on 2027-01-12", 90, "fry")
    assert "first ate on Tue 5 Jan" in _doubt(planned)
