"""Tasks in plain words: see `cultures.phrases`."""

from cultures.phrases import (
    DRAW_ML,
    Figure,
    Part,
    Phrase,
    Words,
    cysts,
    figure,
    in_vinegar,
    line_figure,
    plain,
    soak,
    soaked_ml,
    task_phrase,
    why_text,
    worms,
)

__all__ = [
    "DRAW_ML",
    "Figure",
    "Part",
    "Phrase",
    "Words",
    "cysts",
    "figure",
    "in_vinegar",
    "line_figure",
    "plain",
    "soak",
    "soaked_ml",
    "task_phrase",
    "why_text",
    "worms",
]
