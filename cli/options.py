"""Options that several commands share, and what they turn into."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click
from attrs import evolve, frozen

from cultures.errors import LivefoodError, UnitError
from cultures.room.file import load_room
from cultures.room.room import Room
from cultures.words.moments import parse_day, parse_moment, spoken_moment

if TYPE_CHECKING:
    from cultures.record.present import Present

#: Years that times may lie in.
_FIRST_YEAR, _LAST_YEAR = 1970, 2200
_F = TypeVar("_F", bound=Callable[..., Any])


@frozen
class Spoken:
    """A time said of today or yesterday (``yesterday 18:30``), once the moment is known."""

    text: str

    def at(self, now: datetime) -> datetime:
        """The time that is meant."""
        found = spoken_moment(self.text, now)
        assert found is not None
        return found


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


class SpokenType(MomentType):
    """The same, or a time of today or yesterday: ``07:50``, ``yesterday 18:30``."""

    def convert(  # type: ignore[override]
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime | Spoken:
        if isinstance(value, Spoken):
            return value
        if isinstance(value, str) and spoken_moment(value, datetime(2000, 1, 1)):  # noqa: DTZ001
            return Spoken(value)
        return super().convert(value, param, ctx)


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
SPOKEN = SpokenType()
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
        help="Look at another time, like 2027-01-05T07:00.",
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
    """A room and the moment at which a command looks at it.

    Attributes:
        present: the room as it is with all that was noted and told; None where only the file
            was read. tells: what is shown counts as told; not so with ``--now``.
    """

    room: Room
    now: datetime
    path: Path
    present: Present | None = None
    tells: bool = True


def load(room_path: Path, now: datetime | None) -> Setting:
    """The room of the options as file, journal and record make it, in the room's own zone.

    Raises:
        LivefoodError: a file cannot be read or is wrong.
    """
    from cultures.record.present import present_of

    setting = load_file(room_path, now)
    present, _ = present_of(setting.room, room_path, setting.now)
    return evolve(setting, room=present.room, present=present)


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
    """As :func:`load`, without journal and record.

    Raises:
        LivefoodError: the file cannot be read or is wrong.
    """
    looks = now is not None
    now = now or clock()
    today = now.date() if now is not None else date.today()  # noqa: DTZ011 (the zone is in the file)
    room = load_room(room_path, today=today)
    if now is None:
        moment = datetime.now(room.timezone).replace(microsecond=0)
    else:
        moment = localise(now, room)
    return Setting(room=room, now=moment, path=room_path, tells=not looks)


def clock() -> datetime | None:
    """The time that $LIVEFOOD_NOW sets in the place of the clock's, for tests and time travel.

    Raises:
        UsageProblemError: it holds no time.
    """
    import os

    text = os.environ.get("LIVEFOOD_NOW", "")
    if not text:
        return None
    try:
        moment = parse_moment(text)
    except UnitError as error:
        raise UsageProblemError(f"LIVEFOOD_NOW: {error}") from None
    if not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
        raise UsageProblemError(f"LIVEFOOD_NOW: {moment.year} lies too far off")
    return moment


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
