"""All HTML of the project: templates that escape by themselves and know every name they use."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context

from cultures.tasks.task import tidy
from cultures.words.moments import day_text, hours, moments_in, spoken_day, when
from cultures.words.quantities import food_words, in_units, milligrams, millimetres, number


def render(package: str, name: str, **values: Any) -> str:
    """A template of a package filled in; it may use those of :mod:`cli.drawing` too."""
    return _environment(package).get_template(name).render(**values)


@cache
def _environment(package: str) -> Environment:
    found = Environment(
        loader=ChoiceLoader([PackageLoader(package), PackageLoader("cli.drawing")]),
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    found.filters |= {"moments_in": moments_in, "tidy": tidy, "food_words": food_words,
                      "hours": hours, "number": number, "spoken": _spoken}  # fmt: skip
    said: dict[str, Callable[[Any, str], str]] = {
        "when": when, "day": day_text, "in_units": in_units, "milligrams": milligrams,
        "millimetres": millimetres,
    }  # fmt: skip
    found.filters |= {name: _in_units_of_page(say) for name, say in said.items()}
    return found


def _in_units_of_page(say: Callable[[Any, str], str]) -> Callable[[Context, Any], str]:
    return pass_context(lambda context, value: say(value, context["units"]))


@pass_context
def _spoken(context: Context, day: date) -> str:
    """A day by the time at which the page is looked at."""
    return spoken_day(day, context["now"], context["units"])
