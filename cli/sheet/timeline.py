"""Hatches and cultures on a line of days, as inline SVG."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from attrs import frozen

from cli.sheet.markup import esc
from cultures.planning.outlook import Outlook
from cultures.tasks.plan import Plan
from cultures.tasks.task import HarvestHatch, Retire, SetHatch, Split, Start, Task
from cultures.words.quantities import day_text, when

_ROW = 24
_TOP = 24


@frozen
class Bar:
    """Something that lasts: a hatch in a vessel, or a culture on the shelf.

    Attributes:
        ready: from when a culture can be harvested; None for a hatch, and where it never can.
        ends: it is spent, or harvested; None past what the plan can see. of: the plan's own
            name for it.
    """

    row: str
    begins: datetime
    ready: datetime | None
    ends: datetime | None
    of: str
    hatch: bool


@frozen
class Link:
    """A split: from the row of the parent to the row of the new culture."""

    at: datetime
    parent: str
    child: str
    of: str


@frozen
class Scale:
    """Time to picture coordinates."""

    start: datetime
    end: datetime
    left: float
    width: float

    def x(self, moment: datetime) -> float:
        """Where a moment lies, kept within the picture."""
        share = (moment - self.start) / (self.end - self.start)
        return round(self.left + self.width * min(1.0, max(0.0, share)), 1)


def bars_of(outlook: Outlook, plan: Plan) -> list[Bar]:
    """Hatches and cultures that stand at some time of the plan, by row."""
    room, found = outlook.room, []
    for vessel in room.vessels:
        for batch in outlook.feeding.hatches.batches:
            begins, ends = room.at_hour(batch.set_h), room.at_hour(batch.harvest_h)
            if batch.vessel.name == vessel.name and ends >= plan.start and begins < plan.end:
                key = f"{outlook.feedings[batch.at_index].at:%Y-%m-%dT%H:%M}"
                found.append(Bar(vessel.name, begins, None, ends, f"hatch/{key}", hatch=True))
    for span in plan.cultures:
        if span.spent_on is None or span.spent_on > plan.start:
            of = f"culture/{span.name}"
            found.append(
                Bar(span.name, span.started, span.usable_from, span.spent_on, of, hatch=False)
            )
    return found


def timeline(outlook: Outlook, plan: Plan) -> str:
    """The figure, drawn twice: for paper and desktop, and for a narrow screen."""
    bars = bars_of(outlook, plan)
    if not bars:
        return ""
    splits = [t for t in plan.tasks if isinstance(t, Split)]
    links = [Link(t.at, t.subject, t.other, f"{t.id}#at") for t in splits]
    wide = _drawing(plan, bars, links, width=760, label=104, css="wide")
    narrow = _drawing(plan, bars, links, width=352, label=70, css="narrow")
    return (
        f"<figure><figcaption>Hatches and cultures</figcaption>{wide}{narrow}"
        '<p class="soft">Dark bar: a hatch, from set to harvest. Pale bar: a culture that'
        " can be harvested; empty bar: not yet. Diamond and line: a split. Cross: spent.</p>"
        f"{_in_words(plan.tasks)}</figure>"
    )


def _in_words(tasks: Iterable[Task]) -> str:
    items = [
        f'<li><time datetime="{t.at.isoformat()}" data-of="{esc(t.id)}#at">{when(t.at)}</time>: '
        f'{t.what.replace("_", " ")} <span class="plan">{esc(t.subject)}</span></li>'
        for t in tasks
        if isinstance(t, SetHatch | HarvestHatch | Split | Start | Retire)
    ]
    return f"<details><summary>The same in words</summary><ul>{''.join(items)}</ul></details>"


def _drawing(
    plan: Plan, bars: list[Bar], links: list[Link], *, width: int, label: int, css: str
) -> str:
    rows = list(dict.fromkeys(bar.row for bar in bars))
    scale = Scale(plan.start, plan.end, label, width - label - 12)
    height = _TOP + _ROW * len(rows) + 6
    hatches = sum(bar.hatch for bar in bars)
    parts = [
        (
            f'<svg class="{css}" viewBox="0 0 {width} {height}" role="img"'
            f' aria-label="Timeline: {hatches} hatches and {len(bars) - hatches} cultures from'
            f' {day_text(plan.start)} to {day_text(plan.end)}">'
        )
    ]
    parts += _axis(plan, scale, height, every=7)
    for i, row in enumerate(rows):
        y = _TOP + _ROW * i
        parts.append(f'<text class="plan" x="0" y="{y + 15}">{esc(_short(row, label))}</text>')
        parts += [_bar(bar, scale, y) for bar in bars if bar.row == row]
    parts += [_link(link, scale, rows) for link in links if {link.parent, link.child} <= {*rows}]
    return "".join([*parts, "</svg>"])


def _short(name: str, label: int) -> str:
    room_for = label // 7
    return name if len(name) <= room_for else name[: room_for - 1] + "…"


def _axis(plan: Plan, scale: Scale, height: int, every: int) -> list[str]:
    parts = []
    day = plan.start.replace(hour=0, minute=0, second=0)
    number = 0
    while day < plan.end:
        x = scale.x(day)
        first = number % every == 0
        stroke = "#6d7875" if first else "#d5dad7"
        parts.append(f'<path d="M{x} {_TOP - 4}V{height - 4}" stroke="{stroke}" stroke-width="1"/>')
        if first and x < scale.left + scale.width - 30:
            parts.append(f'<text class="axis" x="{x + 2}" y="13">{day.day} {day:%b}</text>')
        day, number = day + timedelta(days=1), number + 1
    return parts


def _bar(bar: Bar, scale: Scale, y: int) -> str:
    x0, x1 = scale.x(bar.begins), scale.x(bar.ends or scale.end)
    ends = bar.ends.isoformat() if bar.ends else ""
    told = f"{bar.row}: from {when(bar.begins)}" + (f" to {when(bar.ends)}" if bar.ends else "")
    attributes = (
        f'data-of="{esc(bar.of)}" data-from="{bar.begins.isoformat()}" data-to="{ends}"'
    )  # fmt: skip
    title = f"<title>{esc(told)}</title>"
    if bar.hatch:
        return (
            f'<g class="bar" {attributes}>{title}<rect x="{x0}" y="{y + 5}"'
            f' width="{max(2.0, round(x1 - x0, 1))}" height="13" fill="#20403b"/></g>'
        )
    parts = [
        (
            f'<rect x="{x0}" y="{y + 5}" width="{max(2.0, round(x1 - x0, 1))}" height="13"'
            ' fill="#fff" stroke="#20403b"/>'
        )
    ]
    if bar.ready is not None and scale.x(bar.ready) < x1:
        xr = scale.x(bar.ready)
        parts.append(
            f'<rect x="{xr}" y="{y + 5}" width="{round(x1 - xr, 1)}" height="13" fill="#b9c9c3"'
            ' stroke="#20403b"/>'
        )
    if bar.ends is not None and bar.ends < scale.end:
        parts.append(
            f'<path d="M{x1 - 4} {y + 7}l8 9m0 -9l-8 9" stroke="#16211f" stroke-width="2"/>'
        )
    return f'<g class="bar" {attributes}>{title}{"".join(parts)}</g>'


def _link(link: Link, scale: Scale, rows: list[str]) -> str:
    x = scale.x(link.at)
    y0 = _TOP + _ROW * rows.index(link.parent) + 11
    y1 = _TOP + _ROW * rows.index(link.child) + 11
    return (
        f'<g class="split" data-of="{esc(link.of)}" data-at="{link.at.isoformat()}">'
        f"<title>split {esc(link.parent)} into {esc(link.child)}, {when(link.at)}</title>"
        f'<path d="M{x} {y0}V{y1}" stroke="#16211f" stroke-width="1.5"/>'
        f'<path d="M{x} {y0 - 6}l6 6l-6 6l-6 -6z" fill="#fff" stroke="#16211f" stroke-width="1.5"/>'
        "</g>"
    )
