"""Options that several commands share, and what they turn into."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from datetime import UTC, date, datetime, tzinfo
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import evolve, frozen

from cli.files import said
from cli.option_types import FILE, MOMENT, Whole, read_moment
from cli.screens.paint import echo
from cli.shipped import is_unfilled
from cultures.errors import BadFileError, FileProblemError, LivefoodError, UnitError
from cultures.limits import most
from cultures.room.file import load_room, read_room
from cultures.room.room import Room
from cultures.words.moments import in_zone, once

if TYPE_CHECKING:
    from cultures.record.present import Present


@frozen
class Where:
    """The room file that a command is about, and the time at which it looks: None for now."""

    path: Path
    now: datetime | None

    def load(self, text: str | None = None, *, pending: bool = True, aloud: bool = True) -> Setting:
        """The room as file, journal and record make it, in the room's own zone.

        Args:
            text: in the place of what the file holds. pending: take what was told and is not over
                as done, as a plan does. aloud: that the journal ends in a torn line is said on
                standard error; else it is a note of the room.

        Raises:
            LivefoodError: a file cannot be read or is wrong.
        """
        from cli.working import working
        from cultures.record.file_edits import of_edits
        from cultures.record.present import present_of

        stated = self.load_file(text)
        now = self.moment(stated)
        with working("Reading what was told and done"):
            present = present_of(stated, self.path, now, pending=pending)
            edits = of_edits(present, self.path) if text is None else ()
        torn = (present.torn,) if present.torn and not aloud else ()
        if aloud and text is None:
            say_torn(present.torn)
        room = evolve(present.room, notes=(*edits, *torn, *present.room.notes), edits=edits)
        return Setting(room, now, self.path, present, self.tells, self.unfilled)

    @property
    def tells(self) -> bool:
        """Whether what is shown counts as told: ``--now`` only looks at another time, and the
        example that `new` wrote is nobody's room.
        """
        return self.now is None and not self.unfilled

    @property
    def unfilled(self) -> bool:
        """Whether the file is as `new` wrote it."""
        return is_unfilled(self.path.read_text("utf-8-sig"))

    def moment(self, room: Room) -> datetime:
        """The moment that is looked at, in the zone of a room.

        Raises:
            UnitError: a clock change skips it.
        """
        try:
            return localise(self.now or clock(), room.timezone)
        except UnitError as error:
            from cultures.words.quantities import in_units

            raise UnitError(in_units(str(error), room.units)) from None

    def time(self) -> datetime:
        """The moment that is looked at, in the zone of this machine where it has none."""
        moment = self.now or clock() or datetime.now(UTC).replace(microsecond=0)
        return moment.astimezone()

    def load_if_there(self) -> Room | None:
        """The room for a command that can do without: None if the default file is not there.

        Raises:
            LivefoodError: as :meth:`load`; also if a file was asked for that is not there.
        """
        source = click.get_current_context().get_parameter_source("room_path")
        if source is not click.core.ParameterSource.DEFAULT or self.path.exists():
            return self.load().room
        return None

    def load_file(self, text: str | None = None) -> Room:
        """The room as the file alone has it.

        Raises:
            LivefoodError: the file cannot be read or is wrong.
        """
        now = self.now or clock()
        today = now.date() if now is not None else date.today()  # noqa: DTZ011 (the zone is in the file)
        standing = None if self.now else now or datetime.now(UTC)  # --now looks at another time
        if text is None:
            try:
                return load_room(self.path, today=today, now=standing)
            except BadFileError as error:
                raise BadFileError(error.problems, _way_back(self.path)) from None
        return read_room(text, name=str(self.path), today=today, now=standing)


def _way_back(path: Path) -> str:
    """How to see what was edited since a room file was last told or noted from; "" for never."""
    from cultures.record.history import read_history, text_now

    try:
        now, known = text_now(path), read_history(path)
    except FileProblemError:
        return ""
    number = max((n for n, each in enumerate(known, 1) if each.text != now), default=None)
    if number is None:
        return ""
    room = room_typed(path)
    return (
        f"What was edited since it was last right: livefood history {number}{room}; to put that"
        f" back: livefood history {number} --restore{room}"
    )


def room_typed(path: Path) -> str:
    """The option that names a room file, with a blank before it; "" for the one that is meant
    where none is named.
    """
    return "" if path == Path("room.toml") else f" --room {shlex.quote(said(path))}"


@frozen
class Setting:
    """A room and the moment at which a command looks at it.

    Attributes:
        present: the room as it is with all that was noted and told. tells: what is shown counts as
            told. unfilled: the file is as `new` wrote it.
    """

    room: Room
    now: datetime
    path: Path
    present: Present
    tells: bool
    unfilled: bool = False


room_option = click.option(
    "--room", "room_path", type=FILE, envvar="LIVEFOOD_ROOM", default=Path("room.toml"),
    help="Room file (room.toml, or $LIVEFOOD_ROOM).",
)  # fmt: skip
now_option = click.option(
    "--now", type=MOMENT, metavar="TIME", help="As if it were this time, like 2027-01-05T07:00."
)
days_option = click.option(
    "--days", type=Whole(1, most("days")), help="Days to look ahead (the room's horizon_days)."
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for other programs.")
#: Those of commands that write a page to print.
paper_option = click.option(
    "--paper", type=click.Choice(["a4", "letter"]), help="Paper size (letter with US units)."
)
force_option = click.option("--force", is_flag=True, help="Replace a file that is no sheet.")
report_option = click.option(
    "--json", "as_json", is_flag=True, help="Say what was written, as JSON."
)


def where_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--room`` and ``--now``, which the command gets together as ``where``."""

    @room_option
    @now_option
    @wraps(function)
    def with_where(*, room_path: Path, now: datetime | None, **others: Any) -> Any:
        return function(where=Where(room_path, now), **others)

    return with_where


def say_torn(said: str) -> None:
    """Says that the journal ends in a torn line, if it does, beside what a command prints."""
    if said:
        from cli.screens.text import wrapped

        echo(wrapped(said, 0), err=True)


def clock() -> datetime | None:
    """The time that $LIVEFOOD_NOW sets in the place of the clock's, for tests and time travel.

    Raises:
        UsageProblemError: it holds no time.
    """
    import os

    text = os.environ.get("LIVEFOOD_NOW", "")
    try:
        return read_moment(text) if text else None
    except UnitError as error:
        raise UsageProblemError(f"LIVEFOOD_NOW: {error}") from None


def localise(moment: datetime | None, zone: tzinfo) -> datetime:
    """A moment typed by the user, in a zone; the clock's for None. It is looked at from there.

    Raises:
        UnitError: a clock change skips it.
    """
    if moment is None:
        return once(datetime.now(zone).replace(microsecond=0))
    return once(in_zone(moment, zone))


def answer(
    as_json: bool, data: Callable[[], object], text: Callable[[], str],
    show: Callable[[str], None] = echo,
) -> None:  # fmt: skip
    """Prints JSON or, by ``show``, a screen; only the one that is wanted is made."""
    if as_json:
        print_json(data())
    else:
        show(text())


def print_json(data: object) -> None:
    """JSON on standard output, in ASCII where that could not hold every letter."""
    import json
    import sys

    encoding = str(getattr(sys.stdout, "encoding", "")).lower().replace("-", "")
    click.echo(json.dumps(data, ensure_ascii=encoding != "utf8", indent=2))


class UsageProblemError(LivefoodError):
    """Options that do not go together."""
