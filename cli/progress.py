"""The plan of a command, with a sign of life where it takes long."""

from __future__ import annotations

from cli.options import Setting
from cli.working import working
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.tasks.plan import Plan


def planned(
    setting: Setting, days: int | None = None, *, risk: bool = False
) -> tuple[Outlook, Plan]:
    """The outlook of a room from the moment of a command on, and its plan."""
    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        return outlook, plan_of(outlook, risk=risk)
