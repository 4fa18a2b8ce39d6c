"""The ``livefood`` command: a group whose commands are imported when they are called."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from importlib import import_module
from io import TextIOWrapper
from typing import IO, Any

import click

from cli.groups import Group
from cli.screens.paint import echo
from cli.screens.text import fitted, screen_width
from cultures.errors import LivefoodError
from cultures.words.text import seen

#: Command name -> one line of help. The module is ``cli.commands.<name>``, its
#: command ``command``.
COMMANDS: dict[str, str] = {
    "new": "Start a room file to fill in.",
    "demo": "Write a demo room and show the whole job on it.",
    "add": "Put a tank, brood, culture... into the room file.",
    "change": "Change what the room file says of one.",
    "retire": "Take one out of the room file.",
    "check": "Check the room file and say what was understood.",
    "today": "This round, what to set going, and what to watch.",
    "plan": "Tasks and feeding for the coming weeks.",
    "hatch": "Size a brine shrimp hatch for a number or for the room's need.",
    "yield": "What a culture gives, day by day.",
    "need": "What each tank needs, round by round.",
    "ready": "What to begin by when for a spawning, and what if it is late.",
    "shortfalls": "What will run short, why, and what still helps.",
    "year": "The year on one page: broods, and the load of each food.",
    "carry": "How large a brood can be fed, week by week.",
    "serve": "The round on a phone, to read and to tick off.",
    "sheet": "Rounds with boxes to tick, to print or open on a phone.",
    "labels": "Labels to cut out for boxes and bottles, with their dates.",
    "calendar": "Write the plan as a calendar file for a phone.",
    "journal": "Note what was really done and counted.",
    "learn": "What your own counts say, and what the plan uses now.",
    "backup": "Keep the room in one file, check it, restore it.",
    "history": "Earlier room files: see an edit, or take it back.",
    "repair": "Say what is wrong with journal or record, and mend it.",
    "kinds": "Live foods and fry classes with their parameters and sources.",
    "help": "The pages that explain it all, and what a word means.",
}

#: Commands that stand elsewhere: one bears a word of Python, one has a room of its own.
_MODULES = {"yield": "cli.commands.yields", "journal": "cli.journal.command"}


class _Group(Group):
    """Imports a command's module only when that command is wanted."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's signature)
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        command = import_module(_MODULES.get(cmd_name, f"cli.commands.{cmd_name}")).command
        assert isinstance(command, click.Command)
        return command

    def unknown(self, word: str) -> str:
        from cultures.errors import nearest

        return f"there is no command '{word}'; {nearest(word, COMMANDS)}"

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def make_context(self, *args: Any, **more: Any) -> click.Context:
        with _legible():
            return super().make_context(*args, **more)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            with _legible():
                return super().invoke(ctx)
        except LivefoodError as error:
            echo(f"Error: {seen(str(error))}", err=True)
            ctx.exit(error.exit_code)


class _MisusedError(click.ClickException):
    """What a command was given wrongly, in one message as all others are."""

    exit_code = 2

    def __init__(self, error: click.UsageError) -> None:
        path = error.ctx.command_path if error.ctx is not None else "livefood"
        said, see = error.format_message().rstrip("."), f"'{path} --help'"
        wrong = error.option_name if isinstance(error, click.NoSuchOption) else ""
        if wrong[1:2].isdigit():
            said = f"'{wrong}' begins with a minus sign: write {wrong[1:]}, not {wrong}"
        asks = said.endswith(("?", "?)"))
        super().__init__(f"{said} See {see}." if asks else f"{said}; see {see}")

    def show(self, file: IO[Any] | None = None) -> None:  # noqa: ARG002 (click's signature)
        echo(f"Error: {seen(self.message)}", err=True)


@contextmanager
def _legible() -> Iterator[None]:
    """What click says of an argument cannot colour the screen or turn it about."""
    try:
        yield
    except click.exceptions.NoArgsIsHelpError:
        raise
    except click.UsageError as error:
        raise _MisusedError(error) from None
    except click.ClickException as error:
        begin = "Error: "  # which click puts before it
        error.message = fitted(begin + seen(error.message))[len(begin) :]  # type: ignore[misc]
        raise


class _Formatter(click.HelpFormatter):
    """The help of a command, as narrow as the terminal, its examples too."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **{**more, "width": screen_width() - 2})

    def write_dl(
        self, rows: Iterable[tuple[str, str]], col_max: int = 30, col_spacing: int = 2
    ) -> None:
        super().write_dl(rows, min(col_max, self.width // 3), col_spacing)

    def getvalue(self) -> str:
        return fitted(super().getvalue())


click.Context.formatter_class = _Formatter


@click.group(
    cls=_Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80}
)
@click.version_option(package_name="livefood", prog_name="livefood")
def main() -> None:
    """Feed growing fry from live cultures without a gap.

    Reads a room file (tanks, broods, cultures, vessels), works out what each tank needs
    as the fry grow and what each culture and hatch will give, and says what to set,
    split, harvest and feed. Quantities are estimates to plan by, not veterinary advice.

    Begin with 'livefood demo', then 'livefood new'; 'livefood help' has all there is to read.
    To try another day: --now TIME only looks; LIVEFOOD_NOW=TIME before a command sets the clock.
    """


def run() -> None:
    """Entry point of the console script."""
    import sys

    for stream in (sys.stdout, sys.stderr):  # what a screen has no letter for is shown as ``?``
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    if "_LIVEFOOD_COMPLETE" in os.environ:
        from cli.bash import use

        use()
    try:
        main(prog_name="livefood")
    except OSError as error:  # most likely a screen sent to a disk that is full
        from cli.files import give_up_screen

        give_up_screen()
        named = f": {error.filename}" if error.filename else ""
        click.echo(f"Error: {error.strerror or error}{named}", err=True)
        sys.exit(2)
