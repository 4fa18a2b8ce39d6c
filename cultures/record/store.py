"""The file of what was told: one line of JSON for each telling, only ever appended to.

A line says who told (``today``, ``sheet``, ``calendar``...) and when, which tasks are new or
other than they were told before, which are told no longer, which a person put to another time, and
of which was asked whether they were done. A line that cannot be read (a torn write, another
program) is left out and counted.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import lru_cache
from pathlib import Path
from typing import Any

from attrs import evolve, field, frozen

from cultures import files
from cultures.journal.entries import Entry, Journal
from cultures.limits import most_bytes
from cultures.room.room import Told
from cultures.tasks.plan import Act, Advice
from cultures.tasks.task import (
    OF_ROUND,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Reminder,
    Retire,
    SetHatch,
    Soak,
    Split,
    Start,
    Task,
    task_of,
)
from cultures.tasks.told import LATE, SOAKED, WEIGHED, Bare, Draw, FeedLine, ToldTask, Way
from cultures.words.text import seen

#: Who tells what an entry changed. That moves nothing later: the same facts, noted in another
#: order, would be answered otherwise in between, and then planned otherwise.
ANSWER = "journal"
#: The file beside the room file.
RECORD_NAME = "told.jsonl"
#: The screen that asks until it is answered, or told not to ask.
PAGE = "page"
#: The keeper's sheet, which asks on paper.
SHEET = "sheet"
#: The sheet for who minds the room.
HELPERS_SHEET = "helper"
#: Who tells what is to be done now, and says why that is another than was told: a look.
LOOK = "today"
#: Half a day on both sides of a hatch's setting or harvest an entry is about it; longer for
#: cultures, whose splits may wait; longest for reminders.
_HALF_DAY, _DAY = timedelta(hours=12), timedelta(hours=24)
_CULTURES = timedelta(days=1), timedelta(days=3)
_REMINDED = timedelta(days=3), timedelta(days=7)
#: So many lines of a record are read but once.
_MOST_LINES = 4096


def record_path(room_path: Path) -> Path:
    """The record that belongs to a room file."""
    return room_path.with_name(RECORD_NAME)


@frozen
class Written:
    """What is known of a calendar that was written, besides its days.

    Attributes:
        kinds: the kinds of tasks that stand on it. again: the words after ``livefood`` that bring
            it up to date. kept: its notes, from the folder of the room; they are deleted with it.
    """

    kinds: frozenset[str]
    again: str
    kept: str


@frozen
class Printed:
    """A sheet or a calendar that was made, and does not follow the plan by itself.

    Attributes:
        at: when. by: by which screen (``sheet``, ``helper``, ``calendar``). first, last: for which
            days; none where the last is before the first. written: of a calendar.
    """

    at: datetime
    by: str
    first: date
    last: date
    written: Written | None = None

    def replaces(self, other: Printed) -> bool:
        """Whether it takes the place of one made before: a sheet for as long or longer, a calendar
        with no less on it.
        """
        if self.written is not None and other.written is not None:
            return self.written.kinds >= other.written.kinds
        return self.by == other.by and self.last >= other.last


@frozen
class Advised:
    """What was told to help against what falls short: when, and what.

    Attributes:
        line: the last of the journal that was known then.
    """

    at: datetime
    line: int
    advice: tuple[Advice, ...]


@frozen(eq=False)
class Record:
    """What was told by a moment.

    Attributes:
        tasks: the telling that holds of each task, by id, withdrawn ones left out.
        withdrawn: ids told no longer. asked: ids of which was asked whether they were done. left:
            those of which a keeper said on the page not to ask. on_paper: when a sheet asked of
            those of which nobody had asked before.
        last: when anything was told last, or None; looked: by a look. damaged: lines that could
            not be read.
        printed: sheets and calendars that no later one of their sort replaces. advised: what was
            told last to help against what falls short, or None. bare: rounds for which there was
            nothing to give, as was told of them last. line: the last of the journal that is known.
            put_to: to when a person put what was told, by id. drafted: the settings that the last
            plan of which anything was told had besides; nobody was told those.
    """

    tasks: Mapping[str, ToldTask]
    withdrawn: frozenset[str] = frozenset()
    asked: frozenset[str] = frozenset()
    left: frozenset[str] = frozenset()
    last: datetime | None = None
    damaged: int = 0
    printed: tuple[Printed, ...] = ()
    advised: Advised | None = None
    bare: tuple[Bare, ...] = ()
    line: int = 0
    looked: datetime | None = None
    put_to: Mapping[str, datetime] = field(factory=dict)
    on_paper: Mapping[str, datetime] = field(factory=dict)
    drafted: tuple[Told, ...] = ()

    @property
    def fed_rounds(self) -> set[datetime | None]:
        """The rounds of which it was told what to feed."""
        return {t.round_at for t in self.tasks.values() if isinstance(t.task, Feed)}


def read_record(path: Path, zone: tzinfo, now: datetime, journal: Journal | None = None) -> Record:
    """The record as it was at a moment; a missing file is an empty one.

    A task told again holds as told last before its time; what has begun stays as it was told.
    Later plans start from it as a look told it that took no entry for noted that was taken back
    since; and what was told no longer on such an entry holds again, where that was taken back
    before its time.

    Args:
        journal: beside it, for what was taken back.

    Raises:
        FileProblemError: it cannot be read.
    """
    tasks: dict[str, ToldTask] = {}
    gone: dict[str, ToldTask] = {}
    asked: set[str] = set()
    left: set[str] = set()
    on_paper: dict[str, datetime] = {}
    printed: list[Printed] = []
    advised: Advised | None = None
    bare: list[Bare] = []
    put_to: dict[str, datetime] = {}
    drafted: Sequence[Told] = ()
    last, looked, damaged = None, None, 0
    undos = [e for e in journal.takings_back() if e.when <= now] if journal is not None else []
    for raw in (files.read(path, most_bytes("record")) or b"").split(b"\n"):
        if not raw.strip():
            continue
        line = _line(raw, zone)
        if line is None:
            damaged += 1
            continue
        at, known, sheet = line.at, line.noted, line.printed
        if at > now:
            continue
        last, looked = at, at if line.by == LOOK else looked
        void = _on_what_was_taken_back(undos, known)
        for each in line.told:
            before = tasks.get(each.task.id)
            if before is None or before.may_change(at) or isinstance(each.task, Reminder):
                found = evolve(each, line=known, mistaken=_is_mistaken(undos, known, each))
                tasks[each.task.id] = _clinging(found, before, void)
                gone.pop(each.task.id, None)
        for key in line.withdrawn:
            if (
                key in tasks
                and tasks[key].may_change(at)
                and not (void and _on_what_was_taken_back(undos, known, tasks[key].task.at))
            ):
                gone[key] = tasks.pop(key)
        for key, to in line.put_off.items():
            if key in tasks and tasks[key].task.at < to:
                tasks[key] = tasks[key].put_off(to)
                put_to[key] = to
        for key in line.shown & tasks.keys():
            tasks[key] = evolve(tasks[key], by=line.by)
        if line.by == SHEET:
            on_paper.update(dict.fromkeys({*line.asked} - asked, at))
        asked.update(line.asked)
        left.update(line.asked if line.by == PAGE else ())
        advised = line.advised or advised
        if line.drafted is not None and not void:
            drafted = line.drafted
        if line.bare is not None:  # what is over stays as it was told
            bare = [*bare_until(bare, at - LATE), *line.bare]
        if sheet is not None:
            printed = [*(p for p in printed if not sheet.replaces(p)), sheet]
    return Record(
        tasks, frozenset(gone), frozenset(asked), frozenset(left), last, damaged, tuple(printed),
        advised, tuple(bare), 0 if journal is None else journal.last_line, looked, put_to,
        on_paper, tuple(drafted),
    )  # fmt: skip


def _clinging(told: ToldTask, before: ToldTask | None, void: bool) -> ToldTask:
    """What is told after it was told before, with that from which later plans start.

    Args:
        void: it was told on an entry that was taken back since.
    """
    if before is None:
        return evolve(told, void=void)
    if void or told.by == ANSWER:
        return evolve(told.after(before), looked=before.looked or before, void=before.void)
    return told.after(before)


def _on_what_was_taken_back(
    undos: Iterable[Entry], known: int | None, before: datetime | None = None
) -> bool:
    """Whether something was told on an entry that was taken back since.

    Args:
        undos: entries that take back others. known: the last line of the journal that was known
            when it was told, None where that is not recorded. before: taken back by then; None
            for whenever.
    """
    return known is not None and any(
        int(e.subject) <= known < e.line and (before is None or e.when < before) for e in undos
    )


def _is_mistaken(undos: Iterable[Entry], known: int | None, told: ToldTask) -> bool:
    """Whether work of no round was told on an entry that was taken back while it was in hand.

    Args:
        undos, known: as `_on_what_was_taken_back` has them.
    """
    if isinstance(told.task, (Reminder, *OF_ROUND)):
        return False
    mine = [e for e in undos if told.task.at <= e.when < told.over_at]
    return _on_what_was_taken_back(mine, known)


def bare_until(bare: Iterable[Bare], moment: datetime) -> list[Bare]:
    """Of rounds for which there was nothing those up to a moment."""
    return [evolve(x, last=min(x.last, moment)) for x in bare if x.first <= moment]


@frozen
class _Line:
    """What one telling says; as `append_telling` has it."""

    at: datetime
    by: str
    told: Sequence[ToldTask]
    withdrawn: Sequence[str]
    asked: Sequence[str]
    printed: Printed | None
    advised: Advised | None
    bare: Sequence[Bare] | None
    noted: int | None
    shown: frozenset[str]
    put_off: Mapping[str, datetime]
    drafted: Sequence[Told] | None


@lru_cache(maxsize=_MOST_LINES)
def _line(raw: bytes, zone: tzinfo) -> _Line | None:
    """A line of the record; None where it cannot be read. Of one look the record is read for each
    sheet and calendar as it was then, and the page reads it each time: most of it is known.
    """
    try:
        line = json.loads(raw)
        at = _moment(line["at"], zone)
        told = [_task(row, at, zone, _seen(line["by"])) for row in line.get("told", ())]
        withdrawn, asked = ([*map(str, line.get(key, ()))] for key in ("withdrawn", "asked"))
        return _Line(
            at, _seen(line.get("by", "")), told, withdrawn, asked, _printed(line, at),
            _advised(line, at, zone), _bare(line, at, zone),
            int(line["noted"]) if "noted" in line else None,
            frozenset(map(str, line.get("shown", ()))),
            {str(key): _moment(to, zone) for key, to in line.get("put_off", {}).items()},
            _drafted(line, zone),
        )  # fmt: skip
    except files.NOT_AS_WRITTEN:
        return None


def _printed(line: Mapping[str, Any], at: datetime) -> Printed | None:
    if "printed" not in line:
        return None
    first, last = map(date.fromisoformat, line["printed"])
    return Printed(at, _seen(line["by"]), first, last, _written(line))


def _written(line: Mapping[str, Any]) -> Written | None:
    if "written" not in line:
        return None
    kinds, again, kept = line["written"]
    return Written(frozenset(map(_seen, kinds)), _seen(again), _seen(kept))


def _advised(line: Mapping[str, Any], at: datetime, zone: tzinfo) -> Advised | None:
    if "advice" not in line:
        return None
    advice = (
        Advice(act, _fetched(_seen(of)) if act is Act.FETCH else _seen(of), _seen(what),
               _moment(by, zone), float(amount))
        for act, of, what, by, amount in ((Act(name), *rest) for name, *rest in line["advice"])
    )  # fmt: skip
    return Advised(at, int(line.get("noted", 0)), tuple(advice))


def _fetched(of: str) -> str:
    """Which food is fetched: once it was recorded for each that is short, ``A for B``."""
    return of.partition(" for ")[0]


def _bare(line: Mapping[str, Any], at: datetime, zone: tzinfo) -> list[Bare] | None:
    if "bare" not in line:
        return None
    return [
        Bare(at, _seen(brood), _moment(first, zone), _moment(last, zone))
        for brood, first, last in line["bare"]
    ]


def _drafted(line: Mapping[str, Any], zone: tzinfo) -> list[Told] | None:
    if "drafted" not in line:
        return None
    return [
        Told(_seen(vessel), _moment(at, zone), _moment(harvest, zone))
        for vessel, at, harvest in line["drafted"]
    ]


def damaged_lines(data: bytes, zone: tzinfo) -> list[int]:
    """Numbers of the lines of a record that cannot be read."""
    lines = data.split(b"\n")
    return [n for n, raw in enumerate(lines, 1) if raw.strip() and _line(raw, zone) is None]


def append_telling(
    path: Path, at: datetime, by: str, told: Sequence[ToldTask] = (),
    withdrawn: Iterable[str] = (), asked: Iterable[str] = (),
    printed: tuple[date, date] | None = None, advised: Advised | None = None,
    bare: Iterable[Bare] | None = None, noted: int | None = None, shown: Iterable[str] = (),
    written: Written | None = None, put_off: Mapping[str, datetime] | None = None,
    drafted: Iterable[Told] | None = None,
) -> None:  # fmt: skip
    """Records a telling; returns once it is on the disk.

    Args:
        put_off: to when a person put what was told, by id.
        noted: the last line of the journal that is known. shown: what only a calendar had told and
            is shown unchanged.
        printed: first and last day of the sheet or calendar that tells it, where one does; written:
            what is known of the calendar. advised: all that is told to help, in the place of what
            was told before. bare: all rounds ahead for which there is nothing, likewise. drafted:
            the settings that the plan has besides, likewise.

    Raises:
        FileProblemError: it cannot be written; nothing is recorded.
    """
    line: dict[str, Any] = {"at": at.isoformat(timespec="seconds"), "by": by}
    for key, value in (
        ("told", [_row(each) for each in told]), ("withdrawn", sorted(withdrawn)),
        ("asked", sorted(asked)), ("printed", [day.isoformat() for day in printed or ()]),
        ("shown", sorted(shown)),
    ):  # fmt: skip
        if value:
            line[key] = value
    if put_off:
        line["put_off"] = {key: _text(to) for key, to in put_off.items()}
    if written is not None:
        line["written"] = [sorted(written.kinds), written.again, written.kept]
    if noted is not None or advised is not None:
        line["noted"] = max(noted or 0, advised.line if advised is not None else 0)
    if advised is not None:
        line["advice"] = [
            [a.act.value, a.of, a.what, _text(a.by), _number(a.amount)] for a in advised.advice
        ]
    if bare is not None:
        line["bare"] = [[x.brood, _text(x.first), _text(x.last)] for x in bare]
    if drafted is not None:
        line["drafted"] = [[x.name, _text(x.at), _text(x.harvest_at)] for x in drafted]
    text = json.dumps(line, ensure_ascii=False, separators=(",", ":"))
    files.append_line(path, text, most_bytes("record"))


def as_told(
    task: Task, rounds: Sequence[datetime], at: datetime, *, lines: Sequence[FeedLine] = (),
    draws: Sequence[Draw] = (), kind: str = "", harvest_at: datetime | None = None,
    fry: Mapping[str, float] | None = None, needs_j: Mapping[str, float] | None = None,
) -> ToldTask:  # fmt: skip
    """A task of a plan as it is told.

    Args:
        rounds: feeding times around it, ascending. lines, draws, fry, needs_j: of a
            feeding.
        kind: of the worms that it is about. harvest_at: of a setting.
    """
    round_at = _round_of(task, rounds)
    opens, closes = _window(task, round_at, rounds)
    return ToldTask(
        task, at, opens, closes, round_at, tuple(lines), tuple(draws), kind, harvest_at,
        fry=fry or {}, needs_j=needs_j or {},
    )  # fmt: skip


def same(one: ToldTask, other: ToldTask) -> bool:
    """Whether two tellings ask the same of a person."""
    return _row(one) == _row(other)


def _round_of(task: Task, rounds: Sequence[datetime]) -> datetime | None:
    if isinstance(task, Feed | HarvestWorms | FirstFood):
        return task.at if task.at in rounds else None
    if isinstance(task, HarvestHatch | Soak):
        return task.until if task.until in rounds else None
    return None


def _window(
    task: Task, round_at: datetime | None, rounds: Sequence[datetime]
) -> tuple[datetime, datetime]:
    """When an entry about the subject is about this task: of a round, halfway to its neighbours."""
    if isinstance(task, HarvestHatch | SetHatch):
        return _shifted(task.at, -_HALF_DAY), _shifted(task.at, _HALF_DAY)
    if round_at is not None:
        earlier = max((r for r in rounds if r < round_at), default=_shifted(round_at, -_DAY))
        later = min((r for r in rounds if r > round_at), default=_shifted(round_at, _DAY))
        at = round_at.astimezone(UTC)
        return _shifted(round_at, (earlier - at) / 2), _shifted(round_at, (later - at) / 2)
    before, after = _CULTURES if isinstance(task, Split | Start | Retire) else _REMINDED
    return _shifted(task.at, -before), _shifted(task.at, after)


def _shifted(moment: datetime, by: timedelta) -> datetime:
    """So much time later on the clock that runs evenly, in the same zone."""
    return (moment.astimezone(UTC) + by).astimezone(moment.tzinfo)


def _row(told: ToldTask) -> dict[str, Any]:
    task = told.task
    row = {
        "id": task.id, "what": task.what, "at": _text(task.at),
        "until": _text(task.until), "subject": task.subject,
        "amounts": {k: _number(v) for k, v in task.amounts.items()}, "why": task.why,
        "window": [_text(told.opens), _text(told.closes)],
    }  # fmt: skip
    more = {
        "caution": task.caution, "other": task.other, **task.words, "spawns": task.spawns,
        "round": _text(told.round_at), "kind": told.kind, "harvest": _text(told.harvest_at),
        "lines": [*map(_cells, told.lines)],
        "fry": {brood: _number(count) for brood, count in told.fry.items()},
        "needs": {brood: _number(need_j) for brood, need_j in told.needs_j.items()},
        "draws": [
            [d.vessel, _text(d.harvested), None if d.jar_ml is None else _number(d.jar_ml),
             _number(d.take_ml), _number(d.part)]
            for d in told.draws
        ],
    }  # fmt: skip
    return row | {key: value for key, value in more.items() if value}


def _cells(line: FeedLine) -> list[Any]:
    joules_and_amount = map(_number, (line.need_j, line.given_j, line.amount))
    more = (line.wet_ml, line.skipped_g, line.way)
    return [line.tank, line.brood, line.food, *joules_and_amount, line.unit,
            *(more if any(x is not None for x in more) else ())]  # fmt: skip


def _task(row: Mapping[str, Any], told_at: datetime, zone: tzinfo, by: str) -> ToldTask:
    at = _moment(row["at"], zone)
    task = task_of(
        row["what"], {str(k): float(v) for k, v in row["amounts"].items()},
        id=_seen(row["id"]), at=at, until=_moment(row["until"], zone),
        subject=_seen(row["subject"]), why=_seen(row.get("why", "")),
        caution=_seen(row.get("caution", "")), other=_seen(row.get("other", "")),
        spawns=tuple((_seen(brood), _seen(tank)) for brood, tank in row.get("spawns", ())),
        **({"due": date.fromisoformat(row["due"])} if "due" in row else {}),
        **{word: _seen(row[word]) for word in ("onto", "strain") if word in row},
    )  # fmt: skip
    opens, closes = row["window"]
    return ToldTask(
        task, told_at, _moment(opens, zone), _moment(closes, zone),
        _moment(row["round"], zone) if "round" in row else None,
        tuple(
            FeedLine(at, _seen(tank), _seen(brood), _seen(food), float(need), float(given),
                     float(amount), _seen(unit), *_dry_of(more))
            for tank, brood, food, need, given, amount, unit, *more in row.get("lines", ())
        ),
        tuple(
            Draw(_seen(vessel), _moment(harvested, zone), None if jar is None else float(jar),
                 float(take), float(part))
            for vessel, harvested, jar, take, part in row.get("draws", ())
        ),
        _seen(row.get("kind", "")),
        _moment(row["harvest"], zone) if "harvest" in row else None, by,
        {_seen(brood): float(count) for brood, count in row.get("fry", {}).items()},
        {_seen(brood): float(need_j) for brood, need_j in row.get("needs", {}).items()},
    )  # fmt: skip


def _dry_of(cells: Sequence[Any]) -> tuple[float | None, float | None, Way | None]:
    """What a line of dry food says besides; older ones do not say the way.

    Raises:
        ValueError: it says something else.
    """
    said: list[Any] = [*cells, *[None] * (3 - len(cells))]
    wet_ml, skipped_g, way = said
    if way not in (None, SOAKED, WEIGHED):
        raise ValueError(way)
    return (
        None if wet_ml is None else float(wet_ml),
        None if skipped_g is None else float(skipped_g), way,
    )  # fmt: skip


def _seen(value: object) -> str:
    """Text of which all can be seen.

    Raises:
        ValueError: something in it cannot.
    """
    text = str(value)
    if seen(text) != text:
        raise ValueError(text)
    return text


def _text(moment: datetime | None) -> str:
    """A moment as text; a wall time that a clock change skips is written as the time it is."""
    return "" if moment is None else _shifted(moment, timedelta()).isoformat()


def _number(value: float) -> float:
    """A number that reads back exactly, whole ones without a point."""
    return int(value) if value == int(value) else value


def _moment(text: str, zone: tzinfo) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(text)
    return moment.astimezone(zone)
