"""All HTML of the project: templates that escape by themselves and know every name they use."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

from cultures.tasks.task import tidy
from cultures.words import moments, quantities, tasks
from cultures.words.text import capital
from cultures.words.units import fahrenheit

#: Times and amounts as people say them; what they take besides stands in the brackets.
_SAID = (
    moments.moments_in, moments.day_text, moments.spoken_day, moments.when, moments.hours,
    quantities.food_words, quantities.in_units, quantities.milligrams, quantities.millimetres,
    quantities.number, tasks.task_text, tasks.brief_text, fahrenheit,
)  # fmt: skip


def render(package: str, name: str, **values: Any) -> str:
    """A template of a package filled in; it may use those of :mod:`cli.drawing` too."""
    return _environment(package).get_template(name).render(**values)


def anchor(name: str) -> str:
    """The id of a thing on a page, which may hold no blanks."""
    return "-".join(name.split())


@cache
def _environment(package: str) -> Environment:
    found = Environment(
        loader=ChoiceLoader([PackageLoader(package), PackageLoader("cli.drawing")]),
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    found.filters |= {"tidy": tidy, "anchor": anchor, "capital": capital}
    found.filters |= {each.__name__: each for each in _SAID}
    return found
