"""Which days the keeper is away, and the plan of the room for them with a helper."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from attrs import evolve, frozen

from cli.options import Setting, UsageProblemError
from cli.progress import settled_outlook
from cli.screens.today import spoilt_text
from cultures.foods.food import DRY
from cultures.needs.need import rounds_between
from cultures.planning.leaving import is_last_harvest, sheet_until, spoilt_hatches
from cultures.planning.outlook import Outlook
from cultures.planning.plan import plan_of
from cultures.room.orders import Order
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import HELPERS_WORK, Buy, HarvestHatch, SetHatch, Soak, Split, Start, Task
from cultures.tasks.told import FeedLine

_LONGEST_DAYS = 60
_BEFORE = (SetHatch, HarvestHatch, Split, Start, Buy)
#: Tasks of so many days before leaving are the ones that prepare for it.
_PREPARES = timedelta(days=4)


@frozen
class Absence:
    """The days away with the plan that holds for them.

    Attributes:
        first, last: both count as away. plan: of the room with a helper on these days.
        unknown: that all else is planned as if there were none, in words; "" where it is not.
        begun: the first day of it where that is past.
    """

    first: date
    last: date
    outlook: Outlook
    plan: Plan
    unknown: str = ""
    begun: date | None = None

    def days(self) -> list[date]:
        """Every day of it on which the helper feeds."""
        days = (self.first + timedelta(days=i) for i in range((self.last - self.first).days + 1))
        return [day for day in days if self.outlook.room.helped(day, day)]

    def covers(self, moment: datetime) -> bool:
        """Whether the helper feeds at a moment of it."""
        here = self.first <= moment.date() <= self.last
        return here and self.outlook.room.helped_at(moment)

    def parcels(self) -> list[Order]:
        """What is on order for these days."""
        return [
            order for order in self.outlook.room.orders
            if order.day is not None and not order.late and self.first <= order.day <= self.last
        ]  # fmt: skip

    def helper_tasks(self) -> tuple[Task, ...]:
        """What the helper is to do, by time."""
        return tuple(
            t for t in self.plan.tasks if isinstance(t, HELPERS_WORK) and self.covers(t.at)
        )  # fmt: skip

    def envelopes(self) -> dict[str, int]:
        """Number of the envelope of dry food by the id of its soak task.

        Each round has one, used or not, so that on every later day a number means what it meant
        when the keeper wrote it on the paper.
        """
        room = self.outlook.room
        start, end = self.begun or self.first, self.last + timedelta(days=1)
        rounds = rounds_between(room, room.local(start, time.min), room.local(end, time.min))
        mine = (feeding.at for feeding in rounds if room.helped_at(feeding.at))
        numbers = {at: number for number, at in enumerate(mine, start=1)}
        return {t.id: numbers[t.until] for t in self.helper_tasks() if isinstance(t, Soak)}

    def spoilt(self) -> list[str]:
        """What is to be done before leaving with hatches that nobody draws off while away."""
        room = self.outlook.room
        if self.outlook.now >= self.leaving:
            return []
        cold = room.holding.cold
        found = spoilt_hatches(room, self.plan, self.leaving, self.last)
        return [spoilt_text(each, cold=cold, units=room.units) for each in found]

    def twists(self, soak: Soak) -> list[FeedLine]:
        """What is in the envelope of a soak task: the dry food of each tank."""
        lines = self.plan.lines_at(soak.until)
        return [x for x in lines if x.food == DRY and x.amount > 0]

    @property
    def leaving(self) -> datetime:
        """When the keeper leaves."""
        room = self.outlook.room
        return room.leaving(self.first)

    def before(self) -> list[Task]:
        """What the keeper sets, harvests and buys before leaving, on that morning too."""
        room, leaving = self.outlook.room, self.leaving
        return [
            t for t in self.plan.tasks
            if isinstance(t, _BEFORE) and leaving - _PREPARES <= t.at
            and (t.at < leaving or is_last_harvest(room, t))
        ]  # fmt: skip


def plan_absence(setting: Setting, first: date | None, last: date | None) -> Absence:
    """The absence that was asked for, or the next one of the room file, planned.

    Raises:
        UsageProblemError: no days, or days that make no absence.
    """
    start, end = _days(setting, first, last)
    # A new print takes the place of one that the helper has.
    days = max(setting.room.horizon_days, (end - setting.now.date()).days + 2)
    outlook = settled_outlook(
        setting.present, days, setting.room,
        lambda room: evolve(room.with_helper(start, end), by_paper=()),
    )  # fmt: skip
    begun = next((a.start for a in setting.room.away if a.helper and a.spans(start, start)), None)
    return Absence(start, end, outlook, plan_of(outlook), _unknown(setting.room, start, end), begun)


def _unknown(room: Room, start: date, end: date) -> str:
    """Where the room file does not say that a helper feeds on all of these days."""
    if room.helped(start, end):
        return ""
    if any(a.spans(start, end) for a in room.away):
        return (
            "The room file or the journal says that nobody feeds on these days, and every other"
            " screen plans so. If somebody does, put helper = true under [[away]] there; then all"
            " plan as this sheet does."
        )
    return (
        "The room file does not know of this absence, and every other screen plans as if you were"
        " there. Put it in with helper = true under [[away]]; then all plan as this sheet does."
    )


def _days(setting: Setting, first: date | None, last: date | None) -> tuple[date, date]:
    today = setting.now.date()
    if first is None and last is None:
        coming = [a for a in setting.room.away if a.end >= today]
        if not coming:
            raise UsageProblemError("no absence lies ahead: say --from 2027-01-10 --to 2027-01-14")
        start, away = min(
            ((max(a.start, today), a) for a in coming), key=lambda of: (of[0], not of[1].helper)
        )
        return start, sheet_until(away, start)
    if first is None or last is None:
        raise UsageProblemError("say both days: --from the first away and --to the last")
    if last < first:
        raise UsageProblemError(f"--to {last} lies before --from {first}; turn them round")
    if first < today:
        raise UsageProblemError(f"--from {first} lies in the past; today is {today}")
    if (last - today).days > _LONGEST_DAYS:
        raise UsageProblemError(
            f"--to {last} is more than {_LONGEST_DAYS} days ahead; make the sheet nearer the time"
        )
    return first, last
