"""Labels to cut out for boxes and bottles: what is in it, since when, and by when to see to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from urllib.parse import quote, urljoin

from attrs import frozen
from markupsafe import Markup

from cli.drawing.courses import culture_courses
from cli.options import Setting
from cli.progress import planned
from cli.sheet.page import PAPERS
from cli.sheet.parts import Moment, Said
from cli.templates import anchor, render
from cultures.errors import UnknownNameError
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import Vessel
from cultures.room.room import Room
from cultures.tasks.plan import CultureSpan
from cultures.words.moments import spoken_day
from cultures.words.quantities import celsius, litres
from cultures.words.tasks import Figure, Words
from cultures.words.tools import SALT

#: A culture that is a good parent for longer than this is not split by a day.
_ANY_TIME = timedelta(days=300)


@frozen
class Label:
    """One label.

    Attributes:
        kind: what is in it. lines: what else stands on it. address: of its card on the page, or "".
    """

    name: str
    kind: str
    lines: Sequence[Said]
    address: str = ""

    @property
    def code(self) -> Markup:
        """A QR code of the address, as a picture within the page."""
        import segno

        return Markup(segno.make(self.address, micro=False).svg_inline(scale=2, border=2))


def labels_of(setting: Setting, names: Sequence[str], days: int, page: str) -> list[Label]:
    """Labels of what stands and is to be started within some days, or of what is named.

    Args:
        page: address of the keeper's page, for codes, or "".

    Raises:
        UnknownNameError: nothing of a name stands or is planned.
    """
    outlook, plan = planned(setting)
    ripe = {c.culture.name: c.ripe_from for c in culture_courses(setting, outlook)}
    room, until = setting.room, setting.now + timedelta(days=days)
    found = [_of_culture(span, room, setting.now, page, ripe) for span in plan.cultures
             if span.started <= until or span.name in names]  # fmt: skip
    found += [_of_vessel(vessel, room, page) for vessel in room.vessels]
    known = [label.name for label in found]
    for name in names:
        if name not in known:
            raise UnknownNameError("culture or vessel", name, known)
    return [label for label in found if not names or label.name in names]


def _of_culture(
    span: CultureSpan, room: Room, now: datetime, page: str, ripe: Mapping[str, date | None]
) -> Label:
    kind = room.kinds[span.kind]
    assert isinstance(kind, WormKind)

    def dated(words: str, at: date, of: str) -> Said:
        return (words, Moment(spoken_day(at, now), at, f"culture/{span.name}#{of}"))

    lines = [dated("started ", span.started, "started")]
    ripe_from = ripe.get(span.name, span.usable_from)
    if ripe_from is not None:
        lines.append(dated("ripe from ", ripe_from, "ripe_from"))
    parent_for = timedelta(days=kind.values["parent_until_days"])
    if parent_for < _ANY_TIME and span.started + parent_for > now:
        lines.append(dated("split by ", span.started + parent_for, "split_by"))
    if span.spent_on is not None:
        lines.append(dated("discard about ", span.spent_on, "spent_on"))
    return Label(span.name, kind.label, lines, _address(page, "cultures", span.name))


def _of_vessel(vessel: Vessel, room: Room, page: str) -> Label:
    of, salt_g = f"vessel/{vessel.name}", vessel.litres * vessel.salinity_g_per_l
    water = Figure(litres(vessel.litres, room.units), vessel.litres, f"{of}#litres")
    salt = Figure(room.tools.one(salt_g, SALT).text, salt_g, f"{of}#salt_g")
    lines: list[Said] = [(water, " water, ", salt, " salt")]
    if vessel.temperature_c is not None:
        lines.append((Words(celsius(vessel.temperature_c, room.units)),))
    return Label(vessel.name, room.hatch_kind.label, lines, _address(page, "todo", ""))


def _address(page: str, where: str, name: str) -> str:
    """Where a thing stands on the page, of the address that 'livefood serve' prints."""
    if not page:
        return ""
    return urljoin(f"{page.rstrip('/')}/", where) + (f"#{quote(anchor(name))}" if name else "")


def labels_page(room: Room, labels: Sequence[Label], *, paper: str) -> str:
    """The labels as one page of HTML."""
    return render("cli.sheet", "labels.html", paper=PAPERS[paper], title=f"{room.name}: labels",
                  labels=labels, units=room.units)  # fmt: skip
