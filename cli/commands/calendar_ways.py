"""The ways of ``livefood calendar``, and what each says when it is done."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import evolve, field, frozen

from calendars.ended import ended
from calendars.entries import MOST_ENTRIES, Entry, Wishes, end_of
from calendars.export import Outcome, notes_path, write_calendar
from calendars.from_plan import entries_of, plan_for_calendar, wishes_of
from calendars.ics import Header
from calendars.identity import identity_path, namespace
from calendars.wording import group_of
from cli.files import said
from cli.options import Setting, UsageProblemError, Where, answer, clock, localise
from cli.page.packages import PORT, need_packages
from cli.screens.paint import echo
from cli.screens.text import wrapped
from cli.telling import tell
from cultures.planning.plan import tasks_of
from cultures.planning.telling import as_if_told, begun_since, record_telling, tellings
from cultures.record.store import Written
from cultures.room.room import Room
from cultures.tasks.task import KINDS, Task
from cultures.tasks.told import CALENDAR, ToldTask
from cultures.words.moments import when
from cultures.words.text import seen

if TYPE_CHECKING:
    from calendars.publish.caldav import Collection
    from calendars.publish.feed_source import FeedSource
    from calendars.publish.server import OnServer, Published

_IMPORT_ADVICE = """\
Import it into a calendar of its own, emptied first: many phones do not update
an entry that they already hold. See 'livefood help calendar'."""
_EXPOSED = """\
Warning: everybody on this network who learns the address can read the plan:
names of tanks and broods, and when somebody is or is not in the room. It is
sent without encryption. Serve on a network you trust, never on the internet."""
_OLDER = (
    "This calendar was written to later than the notes beside the room say, as after a restored"
    " backup or from a copy of the folder. What is missing there is not taken for deleted on the"
    " phone, and stands there again where it is still planned."
)

#: A plan is looked at so often until its own telling changes nothing of it.
_LOOKS = 5
#: Options that make of it the calendar it is: with a value, and without.
_VALUES = ("out", "sync", "publish", "user", "only", "per_day", "days")
_FLAGS = ("todos", "tzid", "split")


@frozen
class Made:
    """What stands on a calendar.

    Attributes:
        tell: puts what it shows into the record. end: up to when it goes, where the whole plan
            would be too much; else None. undone: told tasks that were not done as they stood.
            ended: why tasks are not to be done any more, by id.
    """

    entries: list[Entry]
    tell: Callable[[], None]
    end: datetime | None = None
    undone: frozenset[str] = frozenset()
    ended: Mapping[str, str] = field(factory=dict)

    def said(self) -> str:
        """That it is cut short, in words."""
        if self.end is None:
            return ""
        return wrapped(
            f"The whole plan is more than {MOST_ENTRIES:,} entries, so it goes up to"
            f" {when(self.end)} for now; --only or --per-day makes them fewer."
        )

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {"shortened_to": None if self.end is None else self.end.isoformat()}


@frozen
class Job:
    """One call of the command.

    Attributes:
        options: those of the command besides.
    """

    setting: Setting
    days: int | None
    as_json: bool
    options: Mapping[str, Any]

    def made(self, setting: Setting, notes: Path | None = None) -> Made:
        """What stands on it at the moment of a setting.

        Args:
            notes: what is kept of it; None of a feed, which follows the plan by itself.
        """
        only = tuple(word.strip() for word in self.options["only"].split(",") if word.strip())
        room, present, now = setting.room, setting.present, setting.now
        wishes = wishes_of(
            room, only=only, todos=self.options["todos"], per_day=self.options["per_day"]
        )
        for _ in range(_LOOKS):
            known = present.record.tasks.values()
            plan, draws, outlook = plan_for_calendar(room, now, self.days, known, present.undone)
            entries = entries_of(plan, wishes, now, draws)
            end = end_of(entries, setting.room.timezone)
            until = min(outlook.until, end or outlook.until)
            ahead = [t for t in tasks_of(outlook) if t.at < until and _wanted(t, wishes)]

            def covers(told: ToldTask, until: datetime = until) -> bool:
                return told.task.at < until and _wanted(told.task, wishes)

            told_so = tellings(outlook, ahead, now)
            found = as_if_told(present, told_so, covers) if setting.tells else None
            if found is None:
                break
            room, present = found.room, found

        kinds = frozenset(kind.what for kind in KINDS if group_of(kind.what) in wishes.groups)
        written = None if notes is None else Written(kinds, self._again(), _beside(setting, notes))
        last = (until - timedelta(microseconds=1)).date()
        days = (now.date(), last) if written is not None else None

        outlook.begun = begun_since(setting.present, present)

        def told() -> None:
            tell(setting, outlook, ahead, CALENDAR, covers, printed=days, written=written)

        kept = [e for e in entries if end is None or e.start < end]
        return Made(kept, told, end, present.undone, ended(present))

    def _again(self) -> str:
        """The words after ``livefood`` that bring it up to date."""
        words = ["calendar"]
        options = {**self.options, "days": self.days}
        for name in (*_VALUES, *_FLAGS):
            if options[name]:
                words.append(f"--{name.replace('_', '-')}")
                words += [] if name in _FLAGS else [str(options[name])]
        return seen(shlex.join(words))

    def header(self, room: Room, *, feed: bool = False) -> Header:
        """What the calendar says of itself."""
        zone = room.timezone if self.options["tzid"] else None
        return Header(f"{room.name}: live food", zone, feed, room.name)


def _beside(setting: Setting, notes: Path) -> str:
    """Where notes stand from the folder of a room, which may be moved with them."""
    target = notes.resolve()
    try:
        return seen(Path(os.path.relpath(target, setting.path.resolve().parent)).as_posix())
    except ValueError:  # on another drive
        return seen(str(target))


def _wanted(task: Task, wishes: Wishes) -> bool:
    """Whether a task stands on the calendar, by itself or as a step of its round."""
    return group_of(task.what) in wishes.groups


def write_file(job: Job) -> None:
    """``--out``."""
    setting = job.setting
    identity = identity_path(setting.path)
    known = identity.exists()
    out = job.options["out"]
    made, shown = job.made(setting, notes_path(out)), said(out)
    outcome = write_calendar(
        out, made.entries, header=job.header(setting.room), now=setting.now,
        identity=lambda: namespace(setting.path), replace_foreign=job.options["replace"],
        split=job.options["split"], undone=made.undone, ended=made.ended,
    )  # fmt: skip
    made.tell()
    answer(
        job.as_json,
        lambda: {**outcome.to_json(), **made.to_json()},
        lambda: _lines(_report(outcome, shown, None if known else identity), made.said()),
    )


def _report(outcome: Outcome, shown: str, made: Path | None) -> str:
    """What was done; ``made``: the file beside the room file, if it was made just now."""
    changes = outcome.changes
    entries = "1 entry" if outcome.entries == 1 else f"{outcome.entries} entries"
    more = f", {outcome.cancelled} more marked as cancelled" if outcome.cancelled else ""
    lines = [f"{shown}: {entries}{more}"]
    if outcome.kept_as is not None:
        lines.append(f"The file that stood there was kept as {said(outcome.kept_as)}.")
    if outcome.parts is not None:
        lines.append(f"Each of them as a file of its own in {said(outcome.parts)}/.")
    if not outcome.written:
        lines.append("Nothing changed since the last export; the file stands as it was.")
        return "\n".join(lines)
    lines.append(f"{changes.added} new, {changes.changed} changed, {changes.withdrawn} withdrawn.")
    lines.append(_IMPORT_ADVICE)
    if outcome.first:
        notes = seen(notes_path(outcome.path).name)
        lines.append(wrapped(f"Kept beside it: {notes}, so that changes are recognised next time."))
    if made is not None:
        name = seen(made.name)
        lines.append(
            wrapped(f"Kept beside the room file: {name}, so that entries keep their identity.")
        )
    return "\n".join(lines)


def _lines(*texts: str) -> str:
    return "\n".join(text for text in texts if text)


def feed_of(job: Job) -> FeedSource:
    """The feed of a room, which is planned once it is asked for."""
    from calendars.publish.feed_source import FeedSource, Produced, feed_token

    room_path = job.setting.path

    def produce(now: datetime) -> Produced:
        setting = evolve(Where(room_path, now).load(aloud=False), tells=job.setting.tells)
        made = job.made(setting)
        made.tell()
        return Produced(made.entries, job.header(setting.room, feed=True), made.undone)

    stands = not job.setting.tells or clock() is not None  # by --now, or for a test
    return FeedSource(
        room_path, produce, namespace=namespace(room_path),
        token=feed_token(room_path, renew=job.options["new_address"]),
        clock=lambda: job.setting.now if stands else localise(None, job.setting.room.timezone),
        report=partial(echo, err=True),
    )  # fmt: skip


def serve_feed(job: Job) -> None:
    """``--serve``: until interrupted."""
    need_packages()
    from calendars.publish.loopback import check_address, is_loopback
    from cli.page.app import feed_app
    from cli.page.serve import listen

    address = check_address(job.options["bind"] or "127.0.0.1")
    feed = feed_of(job)
    feed.first()
    port = PORT if job.options["port"] is None else job.options["port"]
    listening = listen(feed_app(feed), address, port)
    if not is_loopback(address):
        echo(_EXPOSED, err=True)
    url = listening.url(feed.path)
    told = "Whoever has this address can read the plan. Stop with Ctrl-C."
    answer(
        job.as_json,
        lambda: {"url": url, "loopback": is_loopback(address)},
        lambda: f"Subscribe to {url}\n{told}",
    )
    sys.stdout.flush()
    listening.run()
    echo("The feed has stopped.", err=True)


def publish_plan(job: Job) -> None:
    """``--publish``."""
    setting = job.setting
    remove = job.options["remove"]
    with _collection(job.options["publish"], job) as collection:
        place = _on_server(job, setting, collection)
        if remove:
            made = Made([], lambda: _tell_no_longer(setting))
        else:
            made = job.made(setting, place.notes)
        done = place.withdraw() if remove else place.publish(made.entries, undone=made.undone)
        made.tell()
    url = collection.address.url
    answer(
        job.as_json,
        lambda: {"calendar": url, **done.to_json(), **made.to_json()},
        lambda: _lines(_done_text(url, done, setting.room), made.said()),
    )


def sync_plan(job: Job) -> None:
    """``--sync``: reads, then plans, then writes."""
    from calendars.publish.answering import take_in
    from cli.journal.recording import writing
    from cli.screens.entry import line_of

    setting = job.setting
    if not setting.tells:
        raise UsageProblemError("--sync notes what was done, so it goes without --now")
    where = Where(setting.path, None)
    with _collection(job.options["sync"], job) as collection:
        heard = _on_server(job, setting, collection).hear()
        with writing(where) as book:
            answers = take_in(book, heard.touched)
        setting = where.load(aloud=False)
        place = _on_server(job, setting, collection)
        made = job.made(setting, place.notes)
        done = place.publish(made.entries, heard, undone=made.undone, open_again=answers.open_again)
        made.tell()
    url, room = collection.address.url, setting.room
    lines = [line_of(entry, room) for entry in answers.noted]
    answer(
        job.as_json,
        lambda: {
            "calendar": url, "noted": lines, "questions": answers.questions,
            "older_notes": heard.older, **done.to_json(), **made.to_json(),
        },
        lambda: "\n".join([
            *(wrapped(f"Noted, line {entry.line}: {line}")
              for entry, line in zip(answers.noted, lines, strict=True)),
            *(wrapped(f"Question: {text}") for text in answers.questions),
            *([wrapped(_OLDER)] if heard.older else []),
            _lines(_done_text(url, done, room), made.said()),
        ]),
    )  # fmt: skip


def _collection(url: str, job: Job) -> Collection:
    from calendars.publish.caldav import Collection, parse_address
    from calendars.publish.credentials import password_of, user_of

    address = parse_address(url)
    user = user_of(address, job.options["user"])
    return Collection(address, user, password_of(address, user, _ask_password))


def _on_server(job: Job, setting: Setting, collection: Collection) -> OnServer:
    from calendars.publish.server import OnServer

    header = job.header(setting.room)
    return OnServer(collection, setting.path, header, setting.now, lambda: namespace(setting.path))


def _done_text(url: str, done: Published, room: Room) -> str:
    did = f"{done.created} created, {done.updated} updated, {done.deleted} deleted"
    lines = [f"{url}: {did}, {done.unchanged} unchanged."]
    if done.merged:
        lines.append(
            f"{done.merged} had been changed on the server; what was changed there was kept."
        )
    for left in done.left:
        local = left.at and left.at.astimezone(room.timezone)
        at = f", {when(local, room.units)}" if local else ""
        lines.append(wrapped(f"Left as it is: {left.title}{at}: {left.reason}."))
    return "\n".join(lines)


def _tell_no_longer(setting: Setting) -> None:
    """What only the calendar told and lies ahead is told no longer, and no day of it holds."""
    if setting.tells:
        today = setting.now.date()
        record_telling(
            setting.path, setting.present, CALENDAR, (), lambda t: t.by == CALENDAR,
            printed=(today, today - timedelta(days=1)),
            written=Written(frozenset(kind.what for kind in KINDS), "", ""),
        )  # fmt: skip


def _ask_password(question: str) -> str | None:
    if not sys.stdin.isatty():
        return None
    return str(click.prompt(question, hide_input=True, err=True))
