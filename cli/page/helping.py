"""What the helper's page holds besides the rounds: the days, the portions, whom to ask."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from cli.page.cards import round_view
from cli.page.desk import Look
from cli.screens.care import cautions_of
from cli.sheet.absence import Absence
from cli.sheet.helper import plainly
from cli.sheet.helper_words import (
    HOW,
    IF_WRONG,
    LEAVE_ALONE,
    MAINS,
    PAPER_IS_OLD,
    PARCEL,
    TAKE_IN,
)
from cli.telling import tell
from cultures.planning.supplies import supply_name
from cultures.planning.telling import HELPERS_PAGE
from cultures.record.store import HELPERS_SHEET
from cultures.tasks.task import HELPERS_WORK, Feed, Soak
from cultures.words.moments import day_text, when
from cultures.words.tasks import begun, plain, twist

#: What is said of the room stands so long on the helper's page.
_REMARKED = timedelta(days=14)


def helping(look: Look) -> dict[str, Any]:
    """The rounds of today, where it is one of the days away, and what goes with them."""
    room, now = look.outlook.room, look.setting.now
    coming = (a for a in room.away if a.helper and now.date() <= a.end)
    away = min(coming, key=lambda a: a.start, default=None)
    ask = [text for at, text in room.remarks.get("room", ()) if now - at < _REMARKED]
    view: dict[str, Any] = {
        "rounds": [], "over": [], "soon": [], "portions": [], "ask": ask, "how": HOW,
        "alone": LEAVE_ALONE, "wrong": IF_WRONG, "care": [MAINS],
        "paper": "",
        "days": "No days with a helper lie ahead. There is nothing to do.",
    }  # fmt: skip
    if away is None:
        return view
    absence = Absence(away.start, away.end, look.outlook, look.plan)
    tasks = absence.helper_tasks()
    words = {t.id: plain(begun(plainly(absence, t))) for t in tasks if not isinstance(t, Feed)}
    rounds = [r for r in look.rounds if absence.covers(r)]
    _tell(look, absence, rounds)
    over = [r for r in look.outlook.round_times() if look.outlook.is_noted(r)]
    return {
        **view,
        "paper": _of_paper(look, rounds),
        "days": f"You feed {'from' if away.start < away.end else 'on'} {away.text(room.units)}.",
        "how": [*HOW, *(
            f"{PARCEL}{day_text(o.day, room.units)}: {supply_name(o.item)}{TAKE_IN}"
            for o in absence.parcels() if o.day is not None
        )],
        "care": [*cautions_of(tasks), MAINS],
        "portions": [_portion(absence, t) for t in tasks if isinstance(t, Soak)],
        "rounds": [round_view(look, r, tasks, words) for r in rounds],
        "soon": [day_text(r.date(), room.units) for r in rounds],
        "over": [round_view(look, r, tasks, words) for r in over if absence.covers(r)],
    }  # fmt: skip


def _of_paper(look: Look, rounds: Sequence[datetime]) -> str:
    """That a sheet on paper is not to be followed any more; "" while it is, or where none is."""
    room, today = look.outlook.room, look.setting.now.date()
    printed = [
        p for p in look.setting.present.record.printed
        if p.by == HELPERS_SHEET and p.first <= today <= p.last
    ]  # fmt: skip
    on_paper = {told.round_at for told in room.by_paper}
    ahead = {at for at in rounds if look.outlook.told_round(at) is None}
    if not printed or ahead <= on_paper:
        return ""
    return f"{PAPER_IS_OLD}{when(printed[-1].at, room.units)}."


def _tell(look: Look, absence: Absence, rounds: Sequence[datetime]) -> None:
    """Records the rounds that the helper sees here in the place of those on paper."""
    tasks = [t for t in absence.helper_tasks() if {t.at, t.until} & {*rounds}]
    tell(look.setting, look.outlook, tasks, HELPERS_PAGE,
         lambda told: isinstance(told.task, HELPERS_WORK) and told.round_at in rounds)  # fmt: skip


def _portion(absence: Absence, soak: Soak) -> str:
    """One envelope of dry food, with the twist of each tank."""
    tools, number = absence.outlook.room.tools, absence.envelopes()[soak.id]
    twists = ", ".join(f"{x.tank} {twist(x, tools).shown}" for x in absence.twists(soak))
    return f"envelope {number}, {when(soak.until, tools.units)}: {twists}"
