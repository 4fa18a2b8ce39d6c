"""The plan of a command, with a sign of life where it takes long."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.working import working

if TYPE_CHECKING:
    from cli.options import Setting
    from cultures.planning.outlook import Outlook
    from cultures.tasks.plan import Plan


def planned(
    setting: Setting, days: int | None = None, *, risk: bool = False
) -> tuple[Outlook, Plan]:
    """The outlook of a room from the moment of a command on, and its plan."""
    from cultures.planning.outlook import make_outlook
    from cultures.planning.plan import plan_of

    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        return outlook, plan_of(outlook, risk=risk)
