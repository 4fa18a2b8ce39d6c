"""The room as the page shows it: planned once, and again when a file or the minute changes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from threading import Lock

from attrs import define, field, frozen

from cli.journal.effect import Effect, effect_between
from cli.options import Setting, Where
from cli.progress import settled_outlook
from cli.screens.advice import other_advice
from cli.screens.shown import shown_tasks, this_round
from cli.telling import tell_rounds, tell_to_do
from cultures import files
from cultures.journal.entries import journal_path
from cultures.planning.outlook import Outlook
from cultures.planning.plan import plan_of
from cultures.record.since import since_advised
from cultures.record.store import record_path
from cultures.tasks.plan import Plan
from cultures.tasks.task import OF_ROUND, HarvestHatch, Task, Work
from cultures.tasks.told import EARLY

#: So long what changed is said, and so much older the room may be that it is compared with.
_NEWS = timedelta(minutes=20)


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

    def to_set(self) -> list[Task]:
        """What of that changes the room, and so counts as done once it was told and is over."""
        return [t for t in self.to_do() if isinstance(t, Work)]

    def set_with(self, at: datetime) -> list[Task]:
        """What is to be set going with a round that is shown: not before it, and not after; nor
        what came up for now while it is done.
        """
        before, until = self.set_before(), max(at, self.setting.now + EARLY)
        return [t for t in self.to_set() if t not in before and t.at <= until]

    def set_before(self) -> list[Task]:
        """What is to be set going now, apart from any round that is shown: that of the last one
        stays when its feeding is noted. It never stands above a round that it comes after.
        """
        over = [at for at in self.outlook.round_times() if self.outlook.is_noted(at)]
        until = max([self.setting.now + EARLY, *over])
        first = min(self.rounds, default=None)
        return [
            t for t in self.to_set() if t.at <= until and (first is None or t.at < first)
        ]  # fmt: skip

    def set_later(self) -> list[Task]:
        """What is to be set going after the round that is shown, until the next."""
        last = self.rounds[-1] if self.rounds else self.setting.now
        now = [*self.set_before(), *self.set_with(last)]
        return [t for t in self.to_set() if t not in now]

    def answered_today(self) -> list[Task]:
        """What of today was set going, or seen to, and was noted for today, by time; a count of
        which a calendar told for today and that was made on an earlier day is not.
        """
        room, today = self.outlook.room, self.setting.now.date()
        told = [t.task for t in self.setting.present.record.tasks.values()]
        noted = {
            key for key, entry in room.answered.items()
            if entry.when.astimezone(room.timezone).date() == today
        }  # fmt: skip
        mine = [t for t in told if t.at.date() == today and t.id in noted]
        return sorted((t for t in mine if not isinstance(t, OF_ROUND)), key=lambda t: t.at)


@frozen
class News:
    """What an entry changed, and when that was seen."""

    at: datetime
    effect: Effect


def news_of(before: Look | None, after: Look) -> News | None:
    """What is other after an entry; None where nothing is, or the room was not seen shortly before.

    Args:
        before: the room without it, or None where that is not known.
    """
    if before is None or after.setting.now - before.setting.now > _NEWS:
        return None
    effect = effect_between(before.setting.present, before.plan, after.setting.present,
                            after.outlook, after.plan, most=None)  # fmt: skip
    return News(after.setting.now, effect) if effect.changes else None


#: What stands on the page Now of what `today` shows.
_ON_NOW = (*OF_ROUND, Work)
#: What a page shows as the keeper's to do is told; no other page tells anything.
_TELLS: dict[str, Callable[[Look], None]] = {
    "now": lambda x: tell_rounds(
        x.setting, x.outlook, x.rounds, x.plan, has=lambda task: isinstance(task, _ON_NOW)
    ),
    "todo": lambda x: tell_to_do(x.setting, x.outlook, x.rounds),
}


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
    _told: set[str] = field(factory=set, init=False)
    _news: News | None = field(default=None, init=False)

    def look(self, page: str = "") -> Look:
        """The room as it is now; what a page shows of it is told, unless the time was given.

        Args:
            page: for which; "" for somebody who only looks.

        Raises:
            LivefoodError: a file cannot be read or is wrong.
        """
        with self._lock:
            now = self._now()
            if now is None or self._look is None or self._key != (_minute(now), *self._files()):
                files_now, last = self._files(), self._look
                self._look, self._told = self._fresh(), set()
                noted = last is not None and self._key[2] != files_now[1]
                self._key = (_minute(self._look.setting.now), *files_now)
                self._news = news_of(last if noted else None, self._look) or self._news
            if page and page not in self._told:
                self._told.add(page)
                before = self._files()
                self._tell(self._look, page)
                # Only the record may have grown meanwhile by what was told here.
                if self._key[1:] == before:
                    self._key = (*self._key[:3], *self._files()[2:])
            return self._look

    @property
    def last(self) -> Look | None:
        """The room as it was looked at last; None before the first look."""
        return self._look

    def _tell(self, look: Look, page: str) -> None:
        """Records what a page shows, and what it says of changes."""
        if page in _TELLS:
            _TELLS[page](look)
        if self._news is not None and self._news.at == look.setting.now and look.setting.tells:
            self._news.effect.tell(look.setting.path, look.setting.present)

    def news(self) -> Sequence[str]:
        """What of the plan is other since something was noted a moment ago, a line each."""
        now, news = self._now(), self._news
        return () if news is None or now is None or now - news.at > _NEWS else news.effect.changes

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
        setting = self.where.load(aloud=False)
        outlook = settled_outlook(setting.present, room=setting.room)
        plan = plan_of(outlook)
        other = other_advice(plan, outlook, since_advised(setting.present, setting.path))
        return Look(setting, outlook, plan, this_round(outlook), other)

    def _files(self) -> tuple[object, ...]:
        room = self.where.path
        return tuple(map(files.signature, (room, journal_path(room), record_path(room))))


def _minute(now: datetime) -> datetime:
    """The plan sees whole minutes: steps and rounds stand on them."""
    return now.replace(second=0)
