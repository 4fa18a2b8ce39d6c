"""Hostile rooms, journals, records, tables and arguments, and what holds of any command on them.

The oracle: exit code 0, 1 or 2; no traceback; on refusal one message and no file changed.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Sequence
from pathlib import Path

from attrs import frozen
from click.testing import CliRunner

from cli.main import main
from tests.cli.invented import NOW, at, room_file

#: What hands and programs put where they should not.
TOKENS = (
    "", " ", "\n", "\r", "\t", "\x00", "\x1b[31m", "\u202e", "\ufeff", "\u00b2", "\u0663", "é",
    "e\u0301", "\U0001f41f", "'", '"', '"""', ",", ";", "=", "=1+1", "@x", "-", "--", "-1", "0",
    "0.5", "1e9", "1e309", "-0", "nan", "inf", "9" * 30, "9" * 400, "9" * 5000, "1/0", "1/3 tsp",
    "78 F", "0001-01-01", "1985-01-05", "2027-02-30", "9999-12-31", "9999-12-31T23:59",
    "2027-01-05T07:30+99:00", "[", "[[", "]" * 3, "[" * 2000, "{", "}", "a.b.c", "[room]",
    "[[tank]]", "MW-1", "bottle 1", "acara 5", "room", "cysts", "undo", "true", "x" * 400,
    "../..", "/dev/null", "$(id)", "`id`", "%s%n", "\\", "\\u0000", "#",
)  # fmt: skip
_EVENTS = (
    "split", "start", "discard", "harvest", "skip", "failed", "note", "leftover", "set", "hatched",
    "spawn", "free_swimming", "collected", "wetted", "planned", "count", "length", "move", "lost",
    "temperature", "bought", "used", "undo", "done", "show", "due", "import", "count-helper",
)  # fmt: skip
_NAMES = ("MW-1", "VE-1", "bottle 1", "acara 5", "annuals 2", "A1", "room", "cysts", "new one")
_OPTIONS = (
    "--at", "--note", "--tank", "--class", "--count", "--on", "--line", "--starter", "--all",
    "--drops", "--drop-ml", "--of-ml", "--fish", "--sure", "--instead-of", "--crashed", "--tray",
    "--days", "--json", "--except", "--since", "--event", "--last", "--room", "--now",
)  # fmt: skip
#: What is asked of a room whose files were mutated; none of them tells or notes.
LOOKS = (("check",), ("need", "--days", "1"), ("journal", "show"), ("journal", "due"), ("repair",))
_AFTER = (("journal", "undo"), ("journal", "note", "MW-1", "hello"), ("repair", "--mend"))


@frozen
class Broken:
    """What broke a promise, with all that is needed to see it again."""

    args: tuple[str, ...]
    what: str


def prepared(folder: Path) -> Path:
    """A room with a journal and a record."""
    room = room_file(folder, horizon_days="2")
    at(room, NOW, "today")
    at(room, "2027-01-05T09:00", "journal", "done")
    at(room, "2027-01-05T09:05", "journal", "lost", "acara 5", "3")
    at(room, "2027-01-05T09:06", "journal", "planned", "new 1", "--on", "2027-02-01", "--tank",
       "A2", "--class", "bubble_nest", "--count", "40")  # fmt: skip
    at(room, "2027-01-05T09:07", "journal", "undo")
    rows = "when,event,subject,amount,note\n2027-01-05 07:30,harvest,MW-1,3 swipes,\n"
    rows += "2027-01-05,set,bottle 2,2 g,good\n2027-01-05,note,room,,=1+1\n"
    room.with_name("table.csv").write_text(rows, "utf-8")
    return room


def mutated(data: bytes, chance: random.Random) -> bytes:
    """Some bytes otherwise: flipped, cut, doubled, moved, or a token in their place."""
    raw = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 4))):
        start = chance.randrange(len(raw) + 1)
        end = min(len(raw), start + chance.choice((0, 1, 3, 10, 60)))
        kind = chance.randrange(7)
        if kind == 0 and start < len(raw):
            raw[start] ^= 1 << chance.randrange(8)
        elif kind == 1:
            del raw[start:end]
        elif kind == 2:
            raw[start:start] = raw[start:end]
        elif kind == 3:
            del raw[start:]
        elif kind == 4:
            lines = raw.split(b"\n")
            chance.shuffle(lines) if len(lines) < 20 else lines.pop(chance.randrange(len(lines)))
            raw = bytearray(b"\n".join(lines))
        else:
            raw[start:end] = chance.choice(TOKENS).encode()
    return bytes(raw)


def random_arguments(chance: random.Random) -> list[str]:
    """A line of the journal as no sane keeper types it."""
    args = ["journal", chance.choice(_EVENTS)]
    tokens = [token for token in TOKENS if "\x00" not in token]  # which no system passes on
    for _ in range(chance.randrange(6)):
        args.append(chance.choice(chance.choice((_NAMES, _OPTIONS, tokens, tokens))))
    return args


def judge(room: Path, args: Sequence[str], looks: bool = False) -> Broken | None:
    """Runs a command; what it broke, or None. ``looks``: it may change nothing at all."""
    before = _content(room.parent)
    more = [] if "--room" in args else ["--room", str(room)]
    env = {"LIVEFOOD_NOW": "2027-01-05T12:00"}
    result = CliRunner().invoke(main, [*args, *more], env=env)
    wrong = ""
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        wrong = f"raised {type(result.exception).__name__}: {str(result.exception)[:200]}"
    elif result.exit_code not in (0, 1, 2):
        wrong = f"ended with {result.exit_code}"
    elif result.exit_code == 2 and result.stderr.count("Error:") != 1:
        wrong = f"said: {result.stderr[:300]}"
    elif (looks or result.exit_code) and _content(room.parent) != before:
        wrong = f"changed a file, with exit code {result.exit_code}"
    return Broken(tuple(args), wrong) if wrong else None


def _content(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def trial(start: Path, folder: Path, chance: random.Random) -> list[Broken]:
    """One mutation of one file of a room, or of the arguments, and the commands after it."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(start, folder)
    room = folder / "room.toml"
    name = chance.choice(("room.toml", "journal.csv", "told.jsonl", "table.csv", ""))
    if not name:
        calls = [(random_arguments(chance), False), (["need", "--days", "1"], True)]
    else:
        path = folder / name
        path.write_bytes(mutated(path.read_bytes(), chance))
        if name == "table.csv":
            calls = [
                (["journal", "import", str(path), *chance.choice(((), ("--dry-run",)))], False)
            ]
        else:
            calls = [([*args], True) for args in LOOKS]
        calls += [([*chance.choice(_AFTER)], False), (["need", "--days", "1"], True)]
    return [found for args, looks in calls if (found := judge(room, args, looks)) is not None]
