"""``livefood kinds`` as text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import field, frozen
from tabulate import tabulate

from cli.screens.text import columns, screen_width, wrapped
from cli.screens.us_units import in_us_unit
from cultures.foods.parameters import Parameter, Spec, sources
from cultures.foods.variants import HARVEST_SPECS, MEDIUM_SPECS, Variant
from cultures.fry.species import Species
from cultures.words.quantities import in_units, number, plain

_STATUSES = (
    "Status: read, seen in the named text; derived, worked out from what was read; practice,"
    " common practice without a source; memory, recalled and not looked up; assumption, a choice;"
    " keeper, yours."
)

#: For a screen in US units.
_OWN_UNITS = (
    "A value after a colon was converted: room files and --json have it in the unit that ends its"
    " name. Notes are in the units of their sources."
)


def overview(entries: Sequence[Entry], species: Sequence[Species]) -> str:
    """One line for each kind and class, then the species by class."""
    rows = [[entry.name, entry.what, entry.about] for entry in entries]
    head = ["name", "what", "species"]
    table = tabulate(rows, headers=head, tablefmt="plain", maxcolwidths=[None, None, 32])
    if max(map(len, table.splitlines())) > screen_width():
        table = columns([["name", "", ""], *rows], indent=0, head=True)
    by_class: dict[str, list[str]] = {}
    for one in species:
        by_class.setdefault(one.of, []).append(one.names[0])
    lines = [wrapped(", ".join(names), 4, f"{name}: ")
             for name, names in sorted(by_class.items())]  # fmt: skip
    others = f"{len(species)} species have values of their own (species = ... in a [[brood]]):"
    listed = "\n".join(lines)
    return f"{table}\n\n{others}\n{listed}\n\nEvery parameter of one: livefood kinds NAME"


def several(species: Sequence[Species]) -> str:
    """One line or two for each species that was found."""
    lines = [
        wrapped(f"({', '.join(one.names)}), {one.of}; own: {', '.join(one.parameters)}", 4,
                f"{one.scientific} ")
        for one in species
    ]  # fmt: skip
    return "\n".join([*lines, "", "Every parameter of one: livefood kinds NAME"])


def details(entry: Entry, *, with_sources: bool, units: str = "metric") -> str:
    """Every parameter of one kind or class; the notes are in the units of their sources."""
    about = f" ({entry.about})" if entry.about else ""
    lines = [wrapped(f"{entry.label}{about}, {entry.what}")]
    if entry.strains:
        lines.append(wrapped("Strains: " + ", ".join(entry.strains) + "."))
    lines.append("")
    # Of a species its own before those of its class.
    ordered = sorted(entry.parameters.items(), key=lambda item: item[0] not in entry.own)
    for at, (key, parameter) in enumerate(ordered):
        if at and at == len(entry.own):
            lines.append("")
        lines.append(_value(entry, key, parameter, units))
        lines += _origin(entry.specs[key].meaning, parameter)
    lines += _variants("Media (medium = ...):", entry.media, MEDIUM_SPECS, units)
    lines += _variants("Ways to harvest (harvest = ...):", entry.harvests, HARVEST_SPECS, units)
    lines += ["", wrapped(_STATUSES)]
    if units == "us":
        lines.append(wrapped(_OWN_UNITS))
    if with_sources:
        known = sources()
        used = sorted({s for p in entry.every_parameter() for s in p.sources})
        lines += ["", *(wrapped(f"{source}: {known.get(source, 'not listed')}") for source in used)]
    else:
        lines.append("Sources in full: --sources")
    lines += [wrapped(in_units(f"Caution: {caution}", units)) for caution in entry.cautions]
    return "\n".join(lines)


def _origin(meaning: str, parameter: Parameter, indent: int = 4) -> list[str]:
    """What a parameter means, where it is from, and what to know of it."""
    origin: str = parameter.status
    if parameter.sources:
        origin += ": " + ", ".join(parameter.sources)
    notes = [parameter.note] if parameter.note else []
    return [wrapped(text, indent) for text in (f"{meaning} [{origin}]", *notes)]


def _variants(
    title: str, found: Mapping[str, Variant], specs: Mapping[str, Spec], units: str
) -> list[str]:
    """Media, or ways to harvest, each with its factors on the parameters above."""
    lines = ["", title] if found else []
    for one in found.values():
        usual = "" if one.factors else ": the usual, which all above is for"
        lines.append(wrapped(f"{one.label}{usual}", 4, f"{one.name}: "))
        if one.recipe:
            lines.append(wrapped(f"{in_units(one.recipe, units)}.", 4))
        for key, factor in one.factors.items():
            span = f" ({factor.low:g} to {factor.high:g})" if factor.low < factor.high else ""
            lines.append(f"    {key} x {factor.value:g}{span}")
            lines += _origin(specs[key].meaning, factor, 8)
        if one.caution:
            lines.append(wrapped(f"Caution: {in_units(one.caution, units)}", 4))
    return lines


def _value(entry: Entry, key: str, parameter: Parameter, units: str) -> str:
    """A parameter with its range; ``=`` as a room file would have it, ``:`` in US units."""
    numbers, unit = (parameter.value, parameter.low, parameter.high), parameter.unit
    sign, shown = " =", [f"{value:g}" for value in numbers]
    weight_b = entry.parameters.get("weight_b")
    if units == "us":
        b = weight_b.value if weight_b is not None else 3.0
        converted = [in_us_unit(value, unit, b) for value in numbers]
        if converted[0][1] != unit:
            sign, unit = ":", converted[0][1]
            shown = [number(v) if v >= 1000 else plain(v) for v, _ in converted]
    span = f"({shown[1]} to {shown[2]})" if parameter.low < parameter.high else ""
    return f"{key}{sign} {shown[0]}{f' {unit}' if unit else ''} {span}".rstrip()


@frozen
class Entry:
    """A kind or class to show: what it is and its parameters with their meanings."""

    name: str
    label: str
    what: str
    about: str
    parameters: Mapping[str, Parameter]
    specs: Mapping[str, Spec]
    strains: Mapping[str, str]
    cautions: tuple[str, ...] = ()
    media: Mapping[str, Variant] = field(factory=dict)
    harvests: Mapping[str, Variant] = field(factory=dict)
    #: Of a species: its class, and which parameters are its own.
    of: str = ""
    own: frozenset[str] = frozenset()

    def every_parameter(self) -> Iterator[Parameter]:
        """Its parameters, and the factors of its media and ways to harvest."""
        yield from self.parameters.values()
        for variant in (*self.media.values(), *self.harvests.values()):
            yield from variant.factors.values()
