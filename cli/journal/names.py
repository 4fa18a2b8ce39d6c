"""Names of several words that are typed without quotes: ``hatched bottle 1 0``."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from cli.completion import named_rows
from cultures import files
from cultures.errors import LivefoodError, RangeError, closest
from cultures.words.moments import is_spoken
from cultures.words.text import plain

#: Options that take a time, and all behind which no name stands.
_TIMES = ("--at", "--since")
_OWN_WORDS = (*_TIMES, "--note")
#: A time is at most so many words: Sat Nov 28 at 7 am.
_MOST_WORDS = 6
#: Words of the journal that take a name and a number.
_OF_HOW_MANY = ("count", "died", "lost", "sold")
#: Columns of a journal that hold names.
_SUBJECT, _OTHER = 2, 3


class NamedCommand(click.Command):
    """A command that takes names of several words without quotes."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        given = list(args)  # click uses the list up
        try:
            return super().parse_args(ctx, _number_last(self.name, joined(args)))
        except click.UsageError as error:
            if type(error) is click.UsageError and (wrong := _misspelt(given)):
                raise RangeError(wrong) from None
            raise


def _number_last(command: str | None, args: list[str]) -> list[str]:
    """``sold 20 endlers`` as ``sold endlers 20``, where nothing in the room is called 20."""
    if command not in _OF_HOW_MANY or len(args) < 2 or not args[0].isdecimal():
        return args
    number, name, *rest = args
    if name[0].isdecimal() or name.startswith("-") or number in _called(_room_path(args)):
        return args
    return [name, number, *rest]


def _called(room_path: Path) -> set[str]:
    return {row["name"] for _, row in named_rows(room_path)} if room_path.name else set()


def _misspelt(args: Sequence[str]) -> str:
    """That words among arguments are no name and nearly one of as many words; "" if none are."""
    names = {" ".join(words) for words in _names(_room_path(args))}
    there = {name.lower() for name in names}
    for many in range(len(args), 1, -1):
        alike = [name for name in names if name.count(" ") == many - 1]
        for i in range(len(args) - many + 1):
            said = " ".join(args[i : i + many])
            if said.lower() not in there and (meant := closest(said, alike)):
                return f"there is no '{said}'; did you mean '{meant}'?"
    return ""


def joined(args: Sequence[str]) -> list[str]:
    """Arguments with the words of a known name put together, the longest name first."""
    rest = _times(args)
    if sum(1 for arg in rest if not arg.startswith("-")) < 2:
        return rest
    names = sorted(_names(_room_path(rest)), key=len, reverse=True)
    lower = {words: [*map(str.lower, words)] for words in names}
    found: list[str] = []
    while rest:
        begins = (w for w in names if [*map(str.lower, rest[: len(w)])] == lower[w])
        words = () if found and found[-1] in _OWN_WORDS else next(begins, ())
        found.append(" ".join(words) or rest[0])
        del rest[: len(words) or 1]
    return found


def _times(args: Sequence[str]) -> list[str]:
    """``--at yesterday 18:30`` and ``--at Nov 28, 7 am`` as one time."""
    found: list[str] = []
    rest = [*args]
    while rest:
        found.append(rest.pop(0))
        if found[-1] in _TIMES:
            longest = range(min(_MOST_WORDS, len(rest)), 1, -1)
            words = next((n for n in longest if is_spoken(" ".join(rest[:n]))), 0)
            found += [" ".join(rest[:words])] if words else []
            del rest[:words]
    return found


def _room_path(args: Sequence[str]) -> Path:
    for i, arg in enumerate(args):
        if arg == "--room" and i + 1 < len(args):
            return Path(args[i + 1])
        if arg.startswith("--room="):
            return Path(arg.partition("=")[2])
    return Path(os.environ.get("LIVEFOOD_ROOM") or "room.toml")


def _names(room_path: Path) -> set[tuple[str, ...]]:
    """All names of several words that a room, its journal and what was told know.

    A file that cannot be read has none here; the command itself says what is wrong with it.
    """
    if not room_path.name:  # empty, or the root of the disk
        return set()
    mine = (row["name"] for _, row in named_rows(room_path))
    found = {*mine, *_journal_names(room_path), *_told_names(room_path)}
    return {tuple(words) for name in found if len(words := name.split()) > 1}


def _journal_names(room_path: Path) -> Iterable[str]:
    from cultures.journal.entries import journal_path
    from cultures.journal.file import read_rows

    path = journal_path(room_path)
    try:
        rows = read_rows(path, files.read(path) or b"").rows
    except LivefoodError:
        return
    for row in rows:
        yield from map(plain, row.cells[_SUBJECT : _OTHER + 1])


def _told_names(room_path: Path) -> Iterable[str]:
    from cultures.record.store import record_path

    try:
        lines = (files.read(record_path(room_path)) or b"").splitlines()
    except LivefoodError:
        return
    for line in lines[-200:]:
        try:
            yield from (str(row["subject"]) for row in json.loads(line).get("told", ()))
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            continue
