"""The room as the page shows it: planned once, and again when a file or the minute changes."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from threading import Lock

from attrs import define, field, frozen

from cli.options import Setting, Where
from cli.progress import settled_outlook
from cli.screens.advice import other_advice
from cli.screens.today import shown_tasks, this_round
from cli.telling import tell_rounds
from cultures import files
from cultures.journal.entries import journal_path
from cultures.planning.outlook import Outlook
from cultures.planning.plan import plan_of
from cultures.record.since import since_advised
from cultures.record.store import record_path
from cultures.tasks.plan import Plan
from cultures.tasks.task import OF_ROUND, HarvestHatch, Task


@frozen(eq=False)
class Look:
    """What one state of the files comes to at one moment.

    Attributes:
        rounds: the round to do now, or the next; none past the horizon. other: what is advised
            otherwise than it was told, and why, or "".
    """

    setting: Setting
    outlook: Outlook
    plan: Plan
    rounds: Sequence[datetime]
    other: str = ""

    def answered_for(self, at: datetime) -> list[Task]:
        """Told tasks of a round that were answered, by time."""
        told = self.setting.present.record.tasks.values()
        mine = [t.task for t in told if t.round_at == at and isinstance(t.task, HarvestHatch)]
        answered = self.outlook.room.answered
        return sorted((t for t in mine if t.id in answered), key=lambda t: t.at)

    def to_do(self) -> list[Task]:
        """What is to be set going and seen to besides the round."""
        shown = shown_tasks(self.outlook, self.rounds)
        return [t for t in shown if not isinstance(t, OF_ROUND)]


@define
class Desk:
    """Looks at one room for all who ask, one at a time.

    Attributes:
        where: the room file, and the time at which the page looks: None for the clock's.
    """

    where: Where
    _lock: Lock = field(factory=Lock, init=False)
    _key: tuple[object, ...] = field(default=(), init=False)
    _look: Look | None = field(default=None, init=False)

    def look(self) -> Look:
        """The room as it is now; what it shows is told, unless the time was given.

        Raises:
            LivefoodError: a file cannot be read or is wrong.
        """
        with self._lock:
            now = self._now()
            if now is None or self._look is None or self._key != (_minute(now), *self._files()):
                before = self._files()
                self._look = self._fresh()
                # Only the record may have grown meanwhile by what was told here.
                now, after = self._look.setting.now, self._files()
                self._key = (_minute(now), *before[:2], *after[2:])
            return self._look

    def _now(self) -> datetime | None:
        """The moment, in the zone of the room that was looked at last."""
        return None if self._look is None else self.where.moment(self._look.setting.room)

    def version(self) -> str:
        """Another one whenever somebody noted, planned or was told something, and every ten
        minutes.
        """
        now = self._now() or self.look().setting.now
        slot = now.date(), now.hour, now.minute // 10
        return hashlib.sha256(repr((slot, self._files())).encode()).hexdigest()[:16]

    def _fresh(self) -> Look:
        setting = self.where.load()
        outlook = settled_outlook(setting)
        plan = plan_of(outlook)
        rounds = this_round(outlook)
        other = other_advice(plan, outlook, since_advised(setting.present, setting.path))
        tell_rounds(setting, outlook, rounds, plan)
        return Look(setting, outlook, plan, rounds, other)

    def _files(self) -> tuple[object, ...]:
        room = self.where.path
        return tuple(map(files.signature, (room, journal_path(room), record_path(room))))


def _minute(now: datetime) -> datetime:
    """The plan sees whole minutes: steps and rounds stand on them."""
    return now.replace(second=0)
