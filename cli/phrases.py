"""Tasks in plain words: see `cultures.phrases`."""

from cultures.phrases import (
    DRAW_ML,
    Figure,
    Part,
    Phrase,
    Words,
    cysts,
    figure,
    line_figure,
    plain,
    soak,
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
    "line_figure",
    "plain",
    "soak",
    "task_phrase",
    "why_text",
    "worms",
]
