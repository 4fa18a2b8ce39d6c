"""Hatches and cultures on a line of days, as inline SVG."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from attrs import frozen

from cli.sheet.markup import bullets, esc, moment_text, plan_words
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
                of = f"hatch/{outlook.feedings[batch.at_index].at:%Y-%m-%dT%H:%M}"
                found.append(Bar(vessel.name, begins, None, ends, of, hatch=True))
    return found + [
        Bar(c.name, c.started, c.usable_from, c.spent_on, f"culture/{c.name}", hatch=False)
        for c in plan.cultures
        if c.spent_on is None or c.spent_on > plan.start
    ]


def timeline(outlook: Outlook, plan: Plan) -> str:
    """The figure, drawn twice: for paper and desktop, and for a narrow screen."""
    bars = bars_of(outlook, plan)
    if not bars:
        return ""
    wide = _drawing(plan, bars, width=760, label=104, css="wide")
    narrow = _drawing(plan, bars, width=352, label=70, css="narrow")
    return (
        f"<figure><figcaption>Hatches and cultures</figcaption>{wide}{narrow}"
        '<p class="soft">Dark bar: a hatch, from set to harvest. Pale bar: a culture that'
        " can be harvested; empty bar: not yet. Diamond and line: a split. Cross: spent.</p>"
        f"{_in_words(plan.tasks)}</figure>"
    )


def _in_words(tasks: Iterable[Task]) -> str:
    items = (
        f"{moment_text(t.at, f'{t.id}#at')}: {t.what.replace('_', ' ')} {plan_words(t.subject)}"
        for t in tasks
        if isinstance(t, SetHatch | HarvestHatch | Split | Start | Retire)
    )
    return f"<details><summary>The same in words</summary>{bullets(items)}</details>"


def _drawing(plan: Plan, bars: list[Bar], *, width: int, label: int, css: str) -> str:
    rows = list(dict.fromkeys(bar.row for bar in bars))
    scale = Scale(plan.start, plan.end, label, width - label - 12)
    height = _TOP + _ROW * len(rows) + 6
    hatches = sum(bar.hatch for bar in bars)
    told = (
        f"Timeline: {hatches} hatches and {len(bars) - hatches} cultures from"
        f" {day_text(plan.start)} to {day_text(plan.end)}"
    )
    drawn = _axis(plan, scale, height)
    for i, row in enumerate(rows):
        y = _TOP + _ROW * i
        drawn += f'<text class="plan" x="0" y="{y + 15}">{esc(_short(row, label))}</text>'
        drawn += "".join(_bar(bar, scale, y) for bar in bars if bar.row == row)
    drawn += "".join(
        _link(task, scale, rows)
        for task in plan.tasks
        if isinstance(task, Split) and {task.subject, task.other} <= {*rows}
    )
    return (
        f'<svg class="{css}" viewBox="0 0 {width} {height}" role="img"'
        f' aria-label="{told}">{drawn}</svg>'
    )


def _short(name: str, label: int) -> str:
    room_for = label // 7
    return name if len(name) <= room_for else name[: room_for - 1] + "…"


def _axis(plan: Plan, scale: Scale, height: int) -> str:
    """A line for each day, and each week its date."""
    drawn, number = "", 0
    day = plan.start.replace(hour=0, minute=0, second=0)
    while day < plan.end:
        x, first = scale.x(day), number % 7 == 0
        stroke = "#6d7875" if first else "#d5dad7"
        drawn += f'<path d="M{x} {_TOP - 4}V{height - 4}" stroke="{stroke}" stroke-width="1"/>'
        if first and x < scale.left + scale.width - 30:
            drawn += f'<text class="axis" x="{x + 2}" y="13">{day.day} {day:%b}</text>'
        day, number = day + timedelta(days=1), number + 1
    return drawn


def _bar(bar: Bar, scale: Scale, y: int) -> str:
    x0, x1 = scale.x(bar.begins), scale.x(bar.ends or scale.end)
    width = max(2.0, round(x1 - x0, 1))
    told = f"{bar.row}: from {when(bar.begins)}" + (f" to {when(bar.ends)}" if bar.ends else "")
    drawn = _rect(x0, y, width, 'fill="#20403b"' if bar.hatch else 'fill="#fff" stroke="#20403b"')
    if bar.ready is not None and scale.x(bar.ready) < x1:
        ready = scale.x(bar.ready)
        drawn += _rect(ready, y, round(x1 - ready, 1), 'fill="#b9c9c3" stroke="#20403b"')
    if not bar.hatch and bar.ends is not None and bar.ends < scale.end:
        cross = f"M{x1 - 4} {y + 7}l8 9m0 -9l-8 9"
        drawn += f'<path d="{cross}" stroke="#16211f" stroke-width="2"/>'
    return (
        f'<g class="bar" data-of="{esc(bar.of)}" data-from="{bar.begins.isoformat()}"'
        f' data-to="{bar.ends.isoformat() if bar.ends else ""}"><title>{esc(told)}</title>'
        f"{drawn}</g>"
    )


def _rect(x: float, y: int, width: float, look: str) -> str:
    return f'<rect x="{x}" y="{y + 5}" width="{width}" height="13" {look}/>'


def _link(split: Split, scale: Scale, rows: list[str]) -> str:
    """A split: from the row of the parent to the row of the new culture."""
    x = scale.x(split.at)
    y0, y1 = (_TOP + _ROW * rows.index(name) + 11 for name in (split.subject, split.other))
    line = 'stroke="#16211f" stroke-width="1.5"'
    return (
        f'<g class="split" data-of="{esc(split.id)}#at" data-at="{split.at.isoformat()}">'
        f"<title>split {esc(split.subject)} into {esc(split.other)}, {when(split.at)}</title>"
        f'<path d="M{x} {y0}V{y1}" {line}/>'
        f'<path d="M{x} {y0 - 6}l6 6l-6 6l-6 -6z" fill="#fff" {line}/>'
        "</g>"
    )
