"""Examples for the calendar tests: texts, and plans of many days."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from hypothesis import strategies as st

from cultures.tasks.plan import Plan
from tests.calendars.plans import weeks_of_change, year_of_plans
from tests.examples import thorough

#: Any text a keyboard or a hostile file can hold, surrogates included.
ANY_TEXT = st.text(max_size=300) | st.text(
    alphabet=st.sampled_from("a,;:\\\n\r\t\"'éñ\u202e\u05d0\u0645🐟👩‍🔬\u2028\x00\x07\ufeff n^"),
    max_size=200,
)


def daily_plans(seed: int) -> Iterator[tuple[datetime, Plan]]:
    """Some weeks around the changes of the clocks; in the thorough profile the whole year."""
    return year_of_plans(seed, 365) if thorough() else weeks_of_change(seed)
