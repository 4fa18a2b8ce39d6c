"""What comes before the first tank of a round: see `cultures.round_steps`."""

from cultures.round_steps import (
    Draw,
    Step,
    dose_phrase,
    draws_at,
    live_foods,
    steps_of,
)

__all__ = [
    "Draw",
    "Step",
    "dose_phrase",
    "draws_at",
    "live_foods",
    "steps_of",
]
