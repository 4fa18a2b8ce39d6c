"""``livefood kinds`` as text."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING

from tabulate import tabulate

from cli.yield_report import wrapped
from cultures.parameters import sources

if TYPE_CHECKING:
    from cli.kinds_command import Entry

_STATUSES = """Status: read, seen in the named text; derived, worked out from what was read;
practice, common practice without a source; memory, recalled and not looked up;
assumption, a choice; keeper, yours."""


def overview(entries: Sequence[Entry]) -> str:
    """One line for each kind and class."""
    rows = [[entry.name, entry.what, entry.about] for entry in entries]
    table = tabulate(rows, headers=["name", "what", "species"], tablefmt="plain",
                     maxcolwidths=[None, None, 32])  # fmt: skip
    return f"{table}\n\nEvery parameter of one: livefood kinds NAME"


def details(entry: Entry, *, with_sources: bool) -> str:
    """Every parameter of one kind or class."""
    lines = [f"{entry.label} ({entry.about}), {entry.what}"]
    if entry.strains:
        lines.append(wrapped("Strains: " + ", ".join(entry.strains) + "."))
    lines.append("")
    for key, parameter in entry.parameters.items():
        low, high = (f"{value:g}" for value in (parameter.low, parameter.high))
        span = f"({low} to {high})" if parameter.low < parameter.high else ""
        unit = f" {parameter.unit}" if parameter.unit else ""
        lines.append(f"{key} = {parameter.value:g}{unit} {span}".rstrip())
        origin: str = parameter.status
        if parameter.sources:
            origin += ": " + ", ".join(parameter.sources)
        lines.append(_indented(f"{entry.specs[key].meaning} [{origin}]"))
        if parameter.note:
            lines.append(_indented(parameter.note))
    lines += ["", _STATUSES]
    if with_sources:
        known = sources()
        used = sorted({s for p in entry.parameters.values() for s in p.sources})
        lines += ["", *(wrapped(f"{source}: {known.get(source, 'not listed')}") for source in used)]
    else:
        lines.append("Sources in full: --sources")
    lines += [wrapped(f"Caution: {caution}") for caution in entry.cautions]
    return "\n".join(lines)


def _indented(text: str) -> str:
    return fill(text, 80, initial_indent="    ", subsequent_indent="    ")
