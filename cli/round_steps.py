"""What comes before the first tank of a round: see `cultures.round_steps`."""

from cultures.round_steps import (
    Step,
    dose_phrase,
    draws_at,
    live_foods,
    steps_of,
)

__all__ = [
    "Step",
    "dose_phrase",
    "draws_at",
    "live_foods",
    "steps_of",
]
