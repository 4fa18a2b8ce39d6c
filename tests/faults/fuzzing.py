"""Hostile rooms, journals, records, tables and arguments, and what holds of any command on them.

The oracle: exit code 0, 1 or 2; no traceback; on refusal one message, which names the place, and no
file changed; nothing said without its files read; nothing on the screen that cannot be seen; a
bound on work, in calls of functions or, which costs half, in seconds of the processor; and what was
noted can be read again.

A corpus goes along: what broke a promise, or reached a function or message that nothing before it
reached, is mutated further, and but for new messages it is kept as a file of ``corpus``.
"""

from __future__ import annotations

import cProfile
import json
import os
import random
import re
import shutil
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from time import process_time

import click
from attrs import define, field, frozen
from click.testing import CliRunner

from cli.main import COMMANDS, main
from cultures import files
from tests.cli.invented import at

CORPUS = Path(__file__).with_name("corpus")
#: The file that is mutated, by kind; arguments are a list in JSON.
KINDS = {
    "room": "room.toml", "journal": "journal.csv", "record": "told.jsonl", "table": "table.csv",
    "arguments": "",
}  # fmt: skip
#: No command on the tiny room calls more functions; an ordinary one calls 3,000 to 30,000. What
#: tries broods of many weeks may do so many times as much.
MOST_CALLS = 3_000_000
_TRIES = {"carry": 8}
#: What makes so many calls takes the processor a few seconds; this allows a slow machine much more.
_LONGEST_S = 30.0
_NOW = "2027-01-05T12:00"

#: What hands and programs put where they should not.
TOKENS = (
    "", " ", "\n", "\r", "\t", "\x00", "\x1b[31m", "\u202e", "\ufeff", "\u00b2", "\u0663", "é",
    "e\u0301", "\U0001f41f", "'", '"', '"""', ",", ";", "=", "=1+1", "@x", "-", "--", "-1", "0",
    "0.5", "1e9", "1e309", "-0", "nan", "inf", "9" * 30, "9" * 400, "9" * 5000, "1/0", "1/3 tsp",
    "78 F", "0001-01-01", "1985-01-05", "2027-02-30", "9999-12-31", "9999-12-31T23:59",
    "2027-01-05T07:30+99:00", "[", "[[", "]" * 3, "[" * 2000, "{", "}", "a.b.c", "[room]",
    "[[tank]]", "MW-1", "bottle 1", "danios", "room", "cysts", "undo", "true", "x" * 400,
    "../..", "/dev/null", "$(id)", "`id`", "%s%n", "\\", "\\u0000", "#", "1", "2", "400", "true",
)  # fmt: skip
_NAMES = (
    "MW-1", "VE-1", "bottle 1", "danios", "annuals", "A1", "B1", "room", "cysts", "new one", "salt",
    "1", "2", "5 fry", "2 g", "3 swipes", "07:50", "2027-01-05", "microworm",
)  # fmt: skip
_WORD = re.compile(rb"[^\s,;=\"\[\]{}:]+")
#: A tab at the beginning of a line is how click lists choices.
_UNSEEN = re.compile(
    "(?<!\n)\t|[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b\u2028-\u202e\u2060\u2066-\u2069\ufeff]"
)

ROOM = """\
[room]
name = "Kelp Lane"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
as_of = 2027-01-04
horizon_days = 2
fridge_c = 5
shelf = 9
split_days = ["sat", "sun"]
[[away]]
from = 2027-01-09
to = 2027-01-10
helper = true
[[tank]]
name = "A1"
litres = "10 gal"
temperature_c = 26
[[tank]]
name = "B1"
litres = 20
temperature_c = "76 F"
[[brood]]
name = "danios"
tank = "A1"
class = "egg_scatterer"
count = 60
spawned = 2026-12-28
survival_per_day = 0.99
foods = ["own worm", "brine_shrimp", "dry"]
[[brood]]
name = "annuals"
tank = "B1"
class = "own fry"
count = 20
length_mm = 8
measured_on = 2027-01-03
[[culture]]
name = "MW-1"
kind = "own worm"
started = 2026-12-20
medium_g = 150
surface_cm2 = 180
starter_g = 10
temperature_c = 22
[[vessel]]
name = "bottle 1"
litres = 1.0
temperature_c = 27
salinity_g_per_l = 25
[[hatch]]
vessel = "bottle 1"
set_at = 2027-01-04T06:50:00
cysts_g = 0.5
[cysts]
grams = 60
nauplii_per_gram = 200000
opened = 2026-11-01
[supplies]
salt_g = 500
dry_g = 40
medium_g = 900
[alarms]
feed = 10
[[kind]]
name = "own worm"
like = "microworm"
label = "own worms"
[[fry_class]]
name = "own fry"
like = "annual_killifish"
"""
_TABLE = """\
when,event,subject,amount,note
2027-01-05 07:30,harvest,MW-1,3 swipes,
2027-01-05,lost,danios,2,good
2027-01-05,note,room,,=1+1
"""
#: What is asked of a room with a mutated file; none of them tells or notes.
_READ = (
    ("need", "--days", "1"), ("journal", "show"), ("journal", "due"), ("learn",), ("repair",)
)  # fmt: skip
#: The same of those that plan, which cost ten times as much.
_PLAN = (
    ("check",), ("year",), ("today", "--days", "1"), ("plan", "--days", "1"), ("plan", "--json"),
    ("shortfalls", "--days", "1"), ("yield", "MW-1"), ("hatch",), ("journal", "show", "--json"),
)  # fmt: skip
_WRITE = (
    ("repair", "--mend"), ("repair", "--mend"), ("journal", "done"),
    ("journal", "undo"), ("journal", "note", "MW-1", "hello"),
    ("journal", "lost", "danios", "2"), ("journal", "sold", "danios", "2"),
    ("journal", "skip", "1"), ("today",),
    ("sheet", "--out", "sheet.html", "--force"), ("calendar", "--out", "food.ics"),
    ("backup", "kept.zip", "--force"), ("journal", "import", "table.csv"),
)  # fmt: skip
#: Of a file of the corpus: what is taken back is a note where one can be made, and else what the
#: file ends with. To take back a spawning costs ten times as much.
_FIRST_WRITE = (
    ("repair", "--mend"), ("repair", "--mend"), ("journal", "done"),
    ("journal", "note", "MW-1", "hello"), ("journal", "undo"),
)  # fmt: skip

#: Lines as a keeper types them, of the commands that ask for much or change much; some of their
#: words are then put otherwise.
_TYPED = (
    "carry|egg_scatterer|--tank|B1|--weeks|1",
    "carry|own fry|--temperature|26|--weeks|2|--json",
    "carry|danios|--weeks|1|--tank|B1|--with|bubble_nest 20 in B1 on 2027-01-09",
    "carry|--with|goldfish 20 in A1 on 2027-01-09|--with|'own fry' 5 in B1 on 2027-01-06|--weeks|1",
    "ready|egg_scatterer 40|--on|2027-01-20|--in|B1",
    "ready|bubble_nest 400|--first-food|2027-01-09|--temperature|76 F",
    "ready|danios|--on|2027-02-01|--in|A1|--json",
    "year", "year|--json", "year|--out|year.html|--force|--paper|a4",
    "add|tank|T4|volume=20L|temperature=25|--yes",
    "add|brood|betta 3|tank=B1|class=bubble_nest|count=120|hatched=today|--yes",
    "add|brood|new one|tank=A1|species=Betta splendens|count=20|planned=2027-02-01|--yes",
    "add|culture|OW-9|kind=own worm|started=2027-01-02|medium=150|surface=180|starter=10|--yes",
    "add|vessel|jar|volume=1 L|temperature=27|--yes", "add|stock|salt|1 kg|--yes",
    "add|away|from=2027-01-20|to=2027-01-22|helper=yes|--yes",
    "change|culture|MW-1|temperature=21|--yes", "change|tank|B1|name=B2|volume=5 gal|--yes",
    "change|brood|annuals|count=19|sell_at=30 mm|--yes", "change|vessel|bottle 1|litres=0.7|--yes",
    "change|room|temperature=24|rounds=07:30, 18:30|--yes", "change|stock|cysts|50 g|--yes",
    "retire|culture|MW-1|--yes", "retire|vessel|bottle 1|--yes", "retire|tank|B1|--yes",
    "retire|brood|annuals|--yes",
    "journal|planned|new 2|--on|2027-02-01|--tank|B1|--class|bubble_nest|--count|40|--chance|50%",
    "journal|drop|hope", "journal|spawn|hope", "journal|sold|danios|2", "journal|died|danios|2",
    "journal|sold|annuals|--all", "journal|died|annuals|--all|--at|2027-01-05T11:00",
)  # fmt: skip

#: How often a trial plans, and how often it writes after it looked.
_PLANS, _WRITES = 0.04, 0.08


@frozen
class Broken:
    """What broke a promise, with all that is needed to see it again."""

    args: tuple[str, ...]
    what: str


@frozen
class Ran:
    """A command that was run: its exit code, what it broke, and what it reached."""

    code: int
    broken: Broken | None
    reached: frozenset[str]


def prepared(folder: Path) -> dict[str, bytes]:
    """The files of a tiny room with a journal and a record, and a table to take in."""
    room = folder / "room.toml"
    room.write_text(ROOM, "utf-8")
    at(room, "2027-01-05T07:00", "today")
    at(room, "2027-01-05T09:00", "journal", "done")
    at(room, "2027-01-05T09:05", "journal", "lost", "danios", "3")
    at(room, "2027-01-05T09:06", "journal", "planned", "new 1", "--on", "2027-02-01", "--tank",
       "B1", "--class", "bubble_nest", "--count", "40")  # fmt: skip
    at(room, "2027-01-05T09:07", "journal", "undo")
    at(room, "2027-01-05T09:08", "journal", "planned", "hope", "--on", "2027-01-20", "--tank",
       "B1", "--class", "egg_scatterer", "--count", "40")  # fmt: skip
    at(room, _NOW, "today")
    room.with_name("table.csv").write_text(_TABLE, "utf-8")
    return _content(folder)


def judge(room: Path, args: Sequence[str], looks: bool = False, *, counts: bool = True) -> Ran:
    """Runs a command.

    Args:
        looks: it may change nothing at all. counts: its calls are counted, and what it reached.
    """
    before = _content(room.parent)
    more = [] if "--room" in args else ["--room", str(room)]
    with _read_names() as read, counting() if counts else _timing() as counted:
        result = CliRunner().invoke(
            main, [*args, *more], env={"LIVEFOOD_NOW": _NOW, "NO_COLOR": "1"}, color=True, input=""
        )
    said = result.stderr
    wrong = ""
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        wrong = f"raised {type(result.exception).__name__}: {str(result.exception)[:200]}"
    elif result.exit_code not in (0, 1, 2):
        wrong = f"ended with {result.exit_code}"
    elif result.exit_code == 2 and said.count("Error:") != 1:
        wrong = f"said: {said[:300]}"
    elif (looks or result.exit_code) and _content(room.parent) != before:
        wrong = f"changed a file, with exit code {result.exit_code}"
    elif counted.calls > MOST_CALLS * _TRIES.get(args[0] if args else "", 1):
        wrong = f"took {counted.calls} calls"
    elif counted.seconds > _LONGEST_S:
        wrong = f"took {counted.seconds:.0f} s"
    elif unseen := _UNSEEN.search(result.output):
        wrong = f"said {unseen[0]!r}: ...{result.output[max(0, unseen.start() - 60) :][:160]!r}"
    elif looks and result.exit_code == 0 and not read >= _NEEDED and args[0] != "yield":
        wrong = f"ended well without having read {sorted(_NEEDED - read)}"
    reached = counted.functions | {_shape(said)} if said else counted.functions
    return Ran(result.exit_code, Broken(tuple(args), wrong) if wrong else None, reached)


_NEEDED = frozenset({"room.toml", "journal.csv"})


@contextmanager
def _read_names() -> Iterator[set[str]]:
    """The names of the files that are read."""
    names, real = set[str](), files.read

    def read(path: Path, most_bytes: int | None = None) -> bytes | None:
        names.add(path.name)
        return real(path, most_bytes)

    files.read = read
    try:
        yield names
    finally:
        files.read = real


@define
class _Count:
    calls: int = 0
    functions: frozenset[str] = frozenset()
    seconds: float = 0.0


@contextmanager
def _timing() -> Iterator[_Count]:
    """How long the processor took."""
    count, began = _Count(), process_time()
    try:
        yield count
    finally:
        count.seconds = process_time() - began


@contextmanager
def counting() -> Iterator[_Count]:
    """How often functions of the project are called, and which."""
    count, profile = _Count(), cProfile.Profile(subcalls=False, builtins=False)
    profile.enable()
    try:
        yield count
    finally:
        profile.disable()
        seen = set()
        for row in profile.getstats():
            count.calls += row.callcount
            if not isinstance(row.code, str):
                seen.add(f"{row.code.co_filename[-30:]} {row.code.co_qualname}")
        count.functions = frozenset(seen)


def _shape(said: str) -> str:
    """A message without what stands in it only this time."""
    return re.sub(r"'[^']*'|[\d.]+|\S*/\S*", "_", said.split("known:")[0])[:160]


def _content(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def mutated(data: bytes, chance: random.Random, others: Sequence[bytes]) -> bytes:
    """Some bytes otherwise: flipped, cut, doubled, moved, spliced, or a token in their place."""
    raw = bytearray(data)
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        start = chance.randrange(len(raw) + 1)
        end = min(len(raw), start + chance.choice((0, 1, 3, 10, 60)))
        kind = chance.randrange(12)
        if kind == 0 and start < len(raw):
            raw[start] ^= 1 << chance.randrange(8)
        elif kind == 1:
            del raw[start:end]
        elif kind == 2:
            raw[start:start] = raw[start:end]
        elif kind == 3 and chance.random() < 0.3:
            del raw[start:]
        elif kind == 4:
            lines = raw.split(b"\n")
            number = chance.randrange(len(lines))
            line = lines.pop(number)
            lines[chance.randrange(len(lines) + 1) : 0] = [line] * chance.choice((0, 1, 2))
            raw = bytearray(b"\n".join(lines))
        elif kind == 5:
            other = chance.choice(others)
            begun = chance.randrange(len(other) + 1)
            raw[start:end] = other[begun : begun + chance.choice((3, 20, 200))]
        elif kind == 6:
            raw[start:end] = chance.choice(TOKENS).encode()
        elif words := [m.span() for m in _WORD.finditer(raw)]:  # a word for another
            start, end = chance.choice(words)
            begun, ended = chance.choice(words)
            token = chance.choice(TOKENS).encode()
            raw[start:end] = chance.choice((token, token, bytes(raw[begun:ended])))
    return bytes(raw)


def options_of(command: click.Command) -> list[str]:
    """The options of a command; not those of the network."""
    closed = ("--serve", "--publish")
    return [o for p in command.params for o in p.opts if o.startswith("--") and o not in closed]


def random_arguments(chance: random.Random) -> list[str]:
    """A line as no sane keeper types it, of any command that ends."""
    name = chance.choice([n for n in (*COMMANDS, *["journal"] * len(COMMANDS)) if n != "serve"])
    found = main.get_command(click.Context(main), name)
    args = [name]
    if isinstance(found, click.Group):
        sub = chance.choice([*found.commands])
        found = found.commands[sub]
        args.append(sub)
    assert found is not None
    options = options_of(found)
    tokens = [token for token in TOKENS if "\x00" not in token]  # which no system passes on
    for _ in range(chance.randrange(6)):
        args.append(chance.choice(chance.choice((_NAMES, options or _NAMES, _NAMES, tokens))))
    return args


def mistyped(chance: random.Random) -> list[str]:
    """A line as a keeper types it, with some words put otherwise, twice, elsewhere or left out."""
    args = chance.choice(_TYPED).split("|")
    head = 2 if args[0] in ("add", "change", "retire", "journal") else 1
    tokens = [token for token in TOKENS if "\x00" not in token]
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3))):
        if len(args) <= head:
            break
        at = chance.randrange(head, len(args))
        key, mark, value = args[at].partition("=")
        odd = chance.choice((chance.choice(tokens), chance.choice(_NAMES)))
        kind = chance.randrange(6)
        if kind == 0:
            del args[at]
        elif kind == 1:
            args.insert(at, args[chance.randrange(head, len(args))])
        elif kind == 2:
            args.insert(at, odd)
        elif kind == 3 and mark:
            args[at] = chance.choice((f"{odd}={value}", f"--{key}={value}", f"{key}={value}{odd}"))
        else:
            args[at] = f"{key}={odd}" if mark else odd
    return args


@define
class Fuzzer:
    """Trials in one folder, each of a seed of its own, with a corpus that grows.

    Attributes:
        room: the room file; its folder is filled anew for each trial. keeps: where what is new is
            kept as files, or None. counts: as `judge` has it; nothing is new without.
    """

    room: Path
    start: Mapping[str, bytes]
    keeps: Path | None = None
    counts: bool = True
    corpus: dict[str, list[bytes]] = field(init=False)
    seen: set[str] = field(factory=set, init=False)
    commands: int = field(default=0, init=False)

    def __attrs_post_init__(self) -> None:
        self.corpus = {kind: [self.start[name]] for kind, name in KINDS.items() if name}
        self.corpus["arguments"] = [json.dumps(["journal", "show"]).encode()]
        for path in sorted(CORPUS.glob("*/*")):
            self.corpus[path.parent.name].append(path.read_bytes())

    def prime(self) -> None:
        """Takes what all files that are known reach as nothing new."""
        every = [
            *((args, False) for args in _WRITE),
            *(([*a, "--now", _NOW], True) for a in (*_READ, *_PLAN)),
        ]
        for kind, known in self.corpus.items():
            for number, data in enumerate(known):
                calls = self.first_calls(kind, data) if number else every
                for ran in self.judged(kind, data, calls):
                    self.seen |= ran.reached

    def trial(self, seed: int) -> list[Broken]:
        """One mutation of one file of a room, or of the arguments, and the commands after it."""
        chance = random.Random(seed)
        kind = chance.choice(("room", "room", "room", "journal", "journal", "record", "table",
                              "arguments", "arguments"))  # fmt: skip
        known = self.corpus[kind]
        base = chance.choice((known[0], chance.choice(known)))
        if kind != "arguments":
            data = mutated(base, chance, known)
        else:
            args = (random_arguments if chance.random() < 0.5 else mistyped)(chance)
            if chance.random() < 0.2:
                args = [*json.loads(base)[:-1], *args[2:]]
            data = json.dumps(args).encode()
        found = self.judged(kind, data, self._calls(kind, data, chance))
        broken = [ran.broken for ran in found if ran.broken is not None]
        reached = frozenset[str]().union(*(ran.reached for ran in found))
        if (broken or not reached <= self.seen) and len(data) < 6000:
            known.append(data)
            if self.keeps is not None and (broken or any(".py " in x for x in reached - self.seen)):
                folder = self.keeps / kind
                folder.mkdir(parents=True, exist_ok=True)
                ending = Path(KINDS[kind] or "args.json").suffix
                (folder / f"{sha256(data).hexdigest()[:12]}{ending}").write_bytes(data)
        self.seen |= reached
        return broken

    def judged(
        self, kind: str, data: bytes, calls: Iterable[tuple[Sequence[str], bool]]
    ) -> list[Ran]:
        """What commands make of the room with one thing mutated, one after the other."""
        folder = self.room.parent
        content = dict(self.start)
        if KINDS[kind]:
            content[KINDS[kind]] = data
        for path in folder.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        for name, each in content.items():
            (folder / name).write_bytes(each)
        found = []
        with _inside(folder):
            for args, looks in calls:
                found.append(judge(self.room, args, looks, counts=self.counts))
                self.commands += 1
            last = found[-1]
            if kind in ("arguments", "table") and not looks and last.code == 0:
                after = judge(self.room, ["need", "--days", "1"], looks=True)
                if after.code and not {"new", "demo", "--room"} & {*args}:
                    broken = Broken(tuple(args), "was noted, and cannot be read")
                    after = Ran(after.code, broken, after.reached)
                found.append(after)
        return found

    def first_calls(self, kind: str, data: bytes) -> list[tuple[Sequence[str], bool]]:
        """What is asked of a file of the corpus: what reads, and then what writes a little."""
        if kind in ("arguments", "table"):
            return self._calls(kind, data, random.Random(1))
        looks = [([*args, "--now", _NOW], True) for args in _READ]
        return [*looks, *((args, False) for args in _FIRST_WRITE)]

    def _calls(
        self, kind: str, data: bytes, chance: random.Random
    ) -> list[tuple[Sequence[str], bool]]:
        if kind == "arguments":
            return [(json.loads(data), False)]
        if kind == "table":
            more = chance.choice(((), ("--dry-run",), ("--dry-run",), ("--dry-run",)))
            return [(["journal", "import", "table.csv", *more], False)]
        args = list(chance.choice(_PLAN if chance.random() < _PLANS else _READ))
        calls: list[tuple[Sequence[str], bool]] = [([*args, "--now", _NOW], True)]
        if chance.random() < _WRITES:
            calls.append((chance.choice(_WRITE), False))
        return calls


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    """With the folder as the one that names without a path are of."""
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
