"""A room that was planned for a moment is not planned for it again by the tests of screens.

Hundreds of tests begin with one room and one look at it, and most of what such a test costs is
that plan. It depends on the room, the moment and the days alone, so who asks again with the same
gets the same. Tests of what a plan is, and the thorough profile, plan each time.
"""

from __future__ import annotations

import hashlib
import io
import pickle
from collections import OrderedDict
from datetime import datetime
from typing import Any, Protocol
from weakref import WeakKeyDictionary

from attrs import define, field

from cultures.foods.kinds import HatchKind, WormKind, kind_names, shipped_kind
from cultures.fry.classes import FryClass, class_names, shipped_class
from cultures.planning.outlook import Outlook
from cultures.room.room import Room
from cultures.tasks.plan import Plan

#: Of so many plans the last ones asked for are kept.
_KEPT = 48
#: The folders whose tests read what is made of a plan.
OF_SCREENS = frozenset({"browser", "calendars", "cli", "docs", "faults", "page"})


class MakeOutlook(Protocol):
    """`make_outlook`."""

    def __call__(self, room: Room, *, now: datetime, days: int | None = None) -> Outlook: ...


class PlanOf(Protocol):
    """`plan_of`."""

    def __call__(self, outlook: Outlook, *, remedies: bool = True, risk: bool = False) -> Plan: ...


@define
class PlannedOnce:
    """Makes outlooks and plans, or gives those that it made.

    Attributes:
        on: whether it gives any that it made.
    """

    make: MakeOutlook
    plan: PlanOf
    on: bool = False
    _made: OrderedDict[bytes, Outlook] = field(factory=OrderedDict, init=False)
    _plans: WeakKeyDictionary[Outlook, dict[tuple[bool, bool], Plan]] = field(
        factory=WeakKeyDictionary, init=False
    )

    def make_outlook(self, room: Room, *, now: datetime, days: int | None = None) -> Outlook:
        """In the place of `make_outlook`."""
        if not self.on:
            return self.make(room, now=now, days=days)
        key = _digest((room, now, days))
        made = self._made.pop(key, None)
        if made is None:
            made = self.make(room, now=now, days=days)
        self._made[key] = made
        while len(self._made) > _KEPT:
            self._made.popitem(last=False)
        return made

    def plan_of(self, outlook: Outlook, *, remedies: bool = True, risk: bool = False) -> Plan:
        """In the place of `plan_of`."""
        if not self.on:
            return self.plan(outlook, remedies=remedies, risk=risk)
        plans = self._plans.setdefault(outlook, {})
        if (remedies, risk) not in plans:
            plans[remedies, risk] = self.plan(outlook, remedies=remedies, risk=risk)
        return plans[remedies, risk]


def _digest(asked: object) -> bytes:
    """Another one for whatever differs by so much as a bit."""
    written = io.BytesIO()
    _Writer(written, protocol=5).dump(asked)
    return hashlib.sha256(written.getbuffer()).digest()


class _Writer(pickle.Pickler):
    """Writes of a shipped kind or class only which one it is; nobody reads it."""

    def reducer_override(self, obj: Any) -> Any:
        shipped = False
        if isinstance(obj, WormKind | HatchKind):
            shipped = obj.name in kind_names() and shipped_kind(obj.name) is obj
        elif isinstance(obj, FryClass):
            shipped = obj.name in class_names() and shipped_class(obj.name) is obj
        return (str, (type(obj).__name__, obj.name)) if shipped else NotImplemented
