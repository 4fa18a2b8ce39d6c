"""Turns a plan into calendar entries: one a task, one a round, one a warning."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta

from attrs import evolve

from calendars.alike import as_one
from calendars.entries import (
    ENTRIES_A_DAY,
    GROUPS,
    LONGEST,
    SHORTEST,
    CalendarError,
    Entry,
    Wishes,
    fold_days,
    instant,
    setting_of,
    shortened,
)
from calendars.ledger import KEEP_PAST
from calendars.reminders import UP, early, last_good, ring
from calendars.wording import (
    HELPS,
    MANNERS,
    WARNING_ALARM_MIN,
    round_text,
    round_title,
    task_text,
    task_title,
    warning_text,
    warning_title,
)
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.preparation import draws_at, in_order, jar_step, steps_before
from cultures.room.room import Room
from cultures.tasks.plan import Plan, Remedy, Shortfall
from cultures.tasks.task import (
    Buy,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Soak,
    Task,
    feeding_id,
    rank_of,
)
from cultures.tasks.told import Draw, FeedLine, ToldTask
from cultures.words.text import capital

#: From which harvests the nauplii of each round (UTC) come.
Draws = Mapping[datetime, Sequence[Draw]]
#: Tasks that are steps of the next round, not entries of their own.
_STEPS = (Soak, HarvestWorms)
#: A step belongs to the first round within this time; a harvest within this time is named in it.
_STEP_REACH = timedelta(hours=12)
_HARVEST_REACH = timedelta(hours=2)
_SUNDAY = 6
#: To get to the room and wash hands before the first step of a round.
_GET_READY_MIN = 5
#: A chore longer than this is shown with this length: it is a reminder, not a booking.
_LONGEST = timedelta(hours=4)
#: What is known long before is said so long before.
_FIRST_NOTICE = timedelta(days=3)


def wishes_of(
    room: Room, *, only: tuple[str, ...] = (), todos: bool = False, per_day: int | None = None
) -> Wishes:
    """The room's settings with the options of one export.

    Args:
        only: groups wanted, all if empty. todos: to-dos instead of events.
        per_day: entries of one day at most.

    Raises:
        CalendarError: no such group.
    """
    unknown = [name for name in only if name not in GROUPS]
    if unknown:
        raise CalendarError(f"there is no group '{unknown[0]}'; known: {', '.join(GROUPS)}")
    return Wishes(room, frozenset(only or GROUPS), todos, per_day or ENTRIES_A_DAY)


def plan_for_calendar(
    room: Room, now: datetime, days: int | None, earlier: Iterable[ToldTask] = (),
    undone: Container[str] = frozenset(),
) -> tuple[Plan, Draws, Outlook]:  # fmt: skip
    """The plan of a moment, with what was told for earlier today, to the end of a whole day.

    So a calendar is the same all day long unless something changed: no round drops a step
    because its hour is past, and the far end moves on by whole days. With it comes what stands
    alone and was told for the days of which a calendar keeps the past.

    Args:
        now: aware. days: how far to look; None for the room's horizon. earlier: what was told.
        undone: ids of what of it was not done.

    Returns:
        The plan, from which jars the nauplii of its rounds come, and what is behind it.
    """
    today = now.astimezone(room.timezone).date()
    ahead = days or room.horizon_days
    until = room.local(today + timedelta(days=ahead), time(0))
    outlook = evolve(make_outlook(room, now=now, days=ahead), until=until)
    plan = plan_of(outlook)
    draws: dict[datetime, Sequence[Draw]] = {
        instant(at): draws_at(outlook, at) for at in outlook.round_times() if at < outlook.until
    }
    ids = {task.id for task in plan.tasks}
    drawn = {_hatch_of(task) for task in plan.tasks if isinstance(task, HarvestHatch)}
    rounds = (*_STEPS, Feed)
    over = [t for t in earlier if now - KEEP_PAST < t.task.at < now
            and (t.task.at.date() == today or not isinstance(t.task, rounds))
            and t.task.id not in ids and t.task.id not in undone
            and not (isinstance(t.task, HarvestHatch) and _hatch_of(t.task) in drawn)]  # fmt: skip
    draws |= {instant(t.task.at): t.draws for t in over if isinstance(t.task, Feed)}
    tasks = (*(t.task for t in over), *plan.tasks)
    lines = (*(line for t in over for line in t.lines), *plan.lines)
    return evolve(plan, tasks=tasks, lines=lines), draws, outlook


def _hatch_of(task: Task) -> tuple[str, str]:
    """What all harvests of one hatch share, however often they were put off."""
    return task.subject, task.id.partition("/")[2].partition("#")[0]


def entries_of(
    plan: Plan, wishes: Wishes, now: datetime | None = None, draws: Draws | None = None
) -> list[Entry]:
    """The entries of a plan, by time.

    Args:
        now: remedies whose time is past are left out; None for the start of the plan.
        draws: from which jars the nauplii of the rounds come.

    Raises:
        CalendarError: two tasks share an id, or a time has no zone.
    """
    draws = draws or {}
    rounds, apart = _rounds(plan)
    rung = {t.id for _, tasks in rounds.values() for t in tasks if "rounds" in wishes.groups}
    moment = instant(now or plan.start)
    entries = [_task_entry(task, moment, wishes, silent=task.id in rung) for task in apart]
    entries += [
        _round_entry(at, lines, tasks, draws.get(at, ()), wishes)
        for at, (lines, tasks) in rounds.items()
        if not lines or _asks(lines, tasks)  # a plan without its lines tells no doses
    ]
    entries += _warnings(plan, moment, wishes)
    seen: set[str] = set()
    for entry in entries:
        if entry.key in seen:
            raise CalendarError(f"two jobs of the plan share the name {entry.key}")
        seen.add(entry.key)
    wanted = [entry for entry in entries if entry.group in wishes.groups]
    if not wishes.todos:  # each of which can be ticked off
        wanted = as_one(wanted)
    folded = ring(fold_days(wanted, wishes), wishes)
    return [_as_todo(entry) for entry in folded] if wishes.todos else folded


def _as_todo(entry: Entry) -> Entry:
    key = f"todo:{entry.key}"
    return evolve(entry, key=key, related=setting_of(key), todo=True, alike="")


#: Of one round: its lines, and its own tasks with the feeding last.
_Round = tuple[list[FeedLine], list[Task]]


def _rounds(plan: Plan) -> tuple[dict[datetime, _Round], list[Task]]:
    """Rounds by their moment, and the tasks that stand alone."""
    lines: dict[datetime, list[FeedLine]] = {}
    for line in plan.lines:
        lines.setdefault(instant(line.at), []).append(line)
    feeds = {instant(task.at): task for task in plan.tasks if isinstance(task, Feed)}
    moments = sorted({*lines, *feeds})
    steps: dict[datetime, list[Task]] = {moment: [] for moment in moments}
    apart: list[Task] = []
    for task in sorted(plan.tasks, key=lambda t: (instant(t.at), rank_of(t), t.id)):
        if isinstance(task, Feed):
            continue
        at = instant(task.at)
        following = next((moment for moment in moments if at <= moment), None)
        is_step = isinstance(task, _STEPS)
        reach = _STEP_REACH if is_step else _HARVEST_REACH
        near = following is not None and following - at <= reach
        if near and following is not None and (is_step or isinstance(task, HarvestHatch)):
            steps[following].append(task)
        if not (is_step and near):
            apart.append(task)
    for moment, feed in feeds.items():
        steps[moment].append(feed)
    return {m: (lines.get(m, []), steps[m]) for m in moments}, apart


def _asks(lines: Sequence[FeedLine], tasks: Sequence[Task]) -> bool:
    """Whether there is anything to feed or to prepare at a round."""
    return any(line.amount > 0 for line in lines) or any(not isinstance(t, Feed) for t in tasks)


def _length(start: datetime, until: datetime) -> datetime:
    return start + min(max(until - start, SHORTEST), _LONGEST)


def _starts(task: Task, now: datetime, wishes: Wishes) -> datetime:
    """When an entry begins: a purchase that is asked for by a Sunday, on which fewer shops are
    open, on the day before (common practice, no source), where that lies ahead or did when it was
    told first.
    """
    start = instant(task.at)
    local = wishes.local(start)
    if not isinstance(task, Buy) or task.due is not None or local.weekday() != _SUNDAY:
        return start
    day = local.date() - timedelta(days=1)
    before = instant(wishes.room.local(day, local.time()))
    since = wishes.room.to_buy_since.get(task.item)
    in_time = before > now or (since is not None and since <= day)
    return before if in_time and wishes.room.away_on(day) is None else start


def _task_entry(task: Task, now: datetime, wishes: Wishes, *, silent: bool) -> Entry:
    """A task by itself; one that its round names rings with that, but where the room file has a
    lead time of its own for it.
    """
    form = MANNERS[task.what]
    start = _starts(task, now, wishes)
    alarm = wishes.room.alarms_min.get(task.what, None if silent else form.alarm_min)
    return Entry(
        key=task.id, group=form.group, start=start, end=_length(start, instant(task.until)),
        title=task_title(task, wishes.room.tools), text=task_text(task, wishes.room),
        alarm_min=alarm, related=setting_of(task.id),
        alike=f"alike/{task.what}/{start:%Y%m%dT%H%MZ}" if form.several else "",
    )  # fmt: skip


def _round_entry(
    at: datetime, lines: list[FeedLine], tasks: list[Task], draws: Sequence[Draw], wishes: Wishes
) -> Entry:
    local, room = wishes.local(at), wishes.room
    feed = next((task for task in tasks if isinstance(task, Feed)), None)
    # It rings before the first step, not before the food goes in.
    jars = [step for task in tasks for step in jar_step(task, room)]
    steps = in_order([*jars, *steps_before(tasks, at, draws, room.tools)])
    ahead = [int((at - step.at).total_seconds() // 60) + _GET_READY_MIN for step in steps]
    alarm = room.alarms_min.get("feed", max([MANNERS["feed"].alarm_min or 0, *ahead]))
    helped = room.helped_at(local)
    # Who is away has nothing to do at it.
    asks = not helped and (bool(steps) or any(line.amount > 0 for line in lines))
    return Entry(
        key=feed.id if feed is not None else feeding_id(local),
        group="rounds", start=at,
        end=_length(at, instant(feed.until) if feed is not None else at + SHORTEST),
        title=round_title(lines, helped=helped), text=round_text(lines, tasks, steps, wishes),
        alarm_min=alarm if asks else None,
    )  # fmt: skip


def _warnings(plan: Plan, now: datetime, wishes: Wishes) -> list[Entry]:
    """One entry for all warnings that stand on a day, at the time of the earliest."""
    days: dict[date, list[Entry]] = {}
    names: dict[str, int] = {}
    for shortfall in plan.shortfalls:
        if shortfall.passes:
            continue
        name = f"warning/{shortfall.food}/{wishes.local(shortfall.at):%Y-%m-%d}"
        names[name] = names.get(name, 0) + 1
        key = name if names[name] == 1 else f"{name}/{names[name]}"
        entry = _warning(key, shortfall, now, wishes)
        days.setdefault(wishes.local(entry.start).date(), []).append(entry)
    return [_as_one(those) for those in days.values()]


def _as_one(warnings: list[Entry]) -> Entry:
    """Warnings of one day: the first that asks for something leads, the rest is its list."""
    first, *others = sorted(warnings, key=lambda e: (e.alarm_min is None, e.start))
    if not others:
        return first
    asked: dict[str, list[Entry]] = {}
    for entry in (first, *others):
        asked.setdefault(_brief(entry), []).append(entry)
    more = f" (+{len(asked) - 1})" if len(asked) > 1 else ""
    title = first.title if len(f"{first.title}{more}") <= LONGEST else _brief(first)
    texts = [f"{those[0].title}\n{_asked_once(those)}" for those in asked.values()]
    return evolve(
        first, key=warnings[0].key, title=f"{shortened(title, LONGEST - len(more))}{more}",
        text="\n\n".join([_asked_once(asked[_brief(first)]), *texts[1:]]),
    )  # fmt: skip


def _brief(warning: Entry) -> str:
    """What it asks for, without what runs short."""
    return warning.title.partition(": ")[0]


def _asked_once(warnings: Sequence[Entry]) -> str:
    """The causes of warnings that ask for the same, and then what helps against them."""
    causes, helps, title = list[str](), dict[str, None](), warnings[0].title
    for entry in warnings:
        cause, _, asked = entry.text.partition(f"\n{HELPS}\n")
        what = entry.title.partition(": ")[2] if entry.title != title else ""
        causes.append(f"{capital(what)}:\n{cause}" if what else cause)
        helps |= dict.fromkeys(line for line in asked.split("\n") if line)
        title = entry.title
    asks = ["\n".join([HELPS, *helps])] if helps else []
    return "\n\n".join([*causes, *asks])


def _warning(key: str, shortfall: Shortfall, now: datetime, wishes: Wishes) -> Entry:
    """At the last good moment for the first step that still has one (as `today` asks it), or for
    another remedy, else at the shortfall.

    That leaves time to fetch what the remedy needs, as long as there is that time. Where nothing
    helps any more it asks for nothing, and does not ring.
    """
    steps = shortfall.steps
    still = [
        (remedy, moment) for remedy in (*steps, *(r for r in shortfall.remedies if r not in steps))
        if (moment := _good_moment(remedy, now, wishes)) is not None
    ]  # fmt: skip
    end = still[0][1] if still else instant(shortfall.at)
    start = end - UP
    return Entry(
        key=key, group="warnings", start=start, end=end,
        title=warning_title(shortfall, still[0][0] if still else None, start, wishes),
        text=warning_text(shortfall, still, start, wishes),
        alarm_min=wishes.room.alarms_min.get("warning", WARNING_ALARM_MIN) if still else None,
        notice_min=early(start, _FIRST_NOTICE, wishes) if still else None,
    )  # fmt: skip


def _good_moment(remedy: Remedy, now: datetime, wishes: Wishes) -> datetime | None:
    """The last good moment for a remedy, None if that is past.

    Who is away already can still ask somebody else.
    """
    by = instant(remedy.still or remedy.by)
    moments = [last_good(moment, wishes) for moment in (by - remedy.fetch, by)]
    if wishes.room.away_on(wishes.local(now).date()) is not None:
        moments.append(by)
    return next((moment for moment in moments if moment > now), None)
