"""Options that several commands share, and what they turn into."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click
from attrs import evolve, frozen

from cultures.errors import LivefoodError, UnitError
from cultures.moments import parse_day, parse_moment
from cultures.room import Room
from cultures.roomfile import load_room
from cultures.told import with_told

#: Years that times may lie in.
_FIRST_YEAR, _LAST_YEAR = 1970, 2200
_F = TypeVar("_F", bound=Callable[..., Any])


class MomentType(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """A date and time such as ``2027-01-05T07:00``, with or without an offset."""

    name = "moment"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime:
        if isinstance(value, datetime):
            return value
        try:
            moment = parse_moment(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)
        if not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
            limits = f"{_FIRST_YEAR} to {_LAST_YEAR}"
            self.fail(f"'{value}' lies too far off; years from {limits} are known", param, ctx)
        return moment


class DayType(click.ParamType):  # type: ignore[type-arg]
    """A day such as ``2027-01-05``."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return parse_day(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


class Whole(click.IntRange):
    """A whole number within limits, with words for what is wrong."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        try:
            number = int(str(value))
        except ValueError:
            self.fail(f"'{value}' is not a whole number", param, ctx)
        if (self.min is not None and number < self.min) or (
            self.max is not None and number > self.max
        ):
            self.fail(f"{number} is not possible; {self._describe_range()} is", param, ctx)
        return number

    def _describe_range(self) -> str:
        """The limits as click shows them in the help."""
        return f"{self.min} or more" if self.max is None else f"{self.min} to {self.max}"


MOMENT = MomentType()
DAY = DayType()


def room_option(function: _F) -> _F:
    """``--room PATH``, by default room.toml here or $LIVEFOOD_ROOM."""
    return click.option(
        "--room", "room_path",
        type=click.Path(path_type=Path, dir_okay=False), envvar="LIVEFOOD_ROOM",
        default=Path("room.toml"), help="Room file (room.toml, or $LIVEFOOD_ROOM).",
    )(function)  # fmt: skip


def now_option(function: _F) -> _F:
    """``--now``, by default this moment."""
    return click.option(
        "--now", type=MOMENT, metavar="TIME",
        help="Another time than this moment, like 2027-01-05T07:00.",
    )(function)  # fmt: skip


def days_option(function: _F) -> _F:
    """``--days``, by default the room's horizon."""
    return click.option(
        "--days", type=Whole(1, 400), help="Days to look ahead (the room's horizon_days)."
    )(function)


def json_option(function: _F) -> _F:
    """``--json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for other programs.")(
        function
    )


@frozen
class Setting:
    """A room and the moment at which a command looks at it."""

    room: Room
    now: datetime
    path: Path


def load(room_path: Path, now: datetime | None) -> Setting:
    """The room of the options as file and journal make it, ``now`` in the room's own zone.

    Raises:
        LivefoodError: a file cannot be read or is wrong.
    """
    setting = load_file(room_path, now)
    journal = room_path.with_name("journal.csv")
    if not journal.exists():
        return setting
    from cultures.state import with_journal

    return evolve(setting, room=with_journal(setting.room, journal, setting.now))


def optional_room(room_path: Path, now: datetime | None) -> Room | None:
    """The room for a command that can do without: None if the default file is not there.

    Raises:
        LivefoodError: as :func:`load`; also if a file was asked for that is not there.
    """
    source = click.get_current_context().get_parameter_source("room_path")
    if source is not click.core.ParameterSource.DEFAULT or room_path.exists():
        return load(room_path, now).room
    return None


def load_file(room_path: Path, now: datetime | None) -> Setting:
    """As :func:`load`, without the journal.

    Raises:
        LivefoodError: the file cannot be read or is wrong.
    """
    today = now.date() if now is not None else date.today()  # noqa: DTZ011 (the zone is in the file)
    room = with_told(load_room(room_path, today=today), room_path)
    if now is None:
        moment = datetime.now(room.timezone).replace(microsecond=0)
    elif now.tzinfo is None:
        moment = now.replace(tzinfo=room.timezone)
    else:
        moment = now.astimezone(room.timezone)
    return Setting(room=room, now=moment, path=room_path)


def localise(moment: datetime, room: Room) -> datetime:
    """A moment typed by the user, in the room's zone."""
    return (
        moment.replace(tzinfo=room.timezone)
        if moment.tzinfo is None
        else moment.astimezone(room.timezone)
    )


def print_json(data: object) -> None:
    """JSON on standard output."""
    import json

    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


class UsageProblemError(LivefoodError):
    """Options that do not go together."""
