"""Phones and terminals that note things in one room all at once, and whether its files agree.

What is looked for is found from the outside: in what each request was answered, and in the lines of
the journal and of the answers' file.
"""

from __future__ import annotations

import csv
import http.client
import json
import os
import random
import re
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import urlencode

from attrs import define, field, frozen

from cli.options import Where
from cli.page.app import make_app
from cli.page.desk import Desk
from cli.page.door import Door
from tests.page.room import KEYS
from tests.page.serving import serving

_PAGES = ("", "todo", "notes", "version", "ahead", "cultures", "fry")
_TICKS = ("harvest", "hatched", "fed", "skip")
_CLOCK = "LIVEFOOD_NOW"
_ROOT = Path(__file__).parents[2]


@frozen
class Sent:
    """One request: what was asked of which subject, in which round, and what came back.

    Attributes:
        name: of the page, or the id of the answer. words: of a note, else "".
    """

    round: int
    name: str
    subject: str
    words: str
    status: int
    took_s: float


@define
class Crowd:
    """What a crowd did.

    Attributes:
        typed: notes that terminals were told are noted. ends: lines of the journal after each
            round, from before the first on.
    """

    folder: Path
    sent: list[Sent] = field(factory=list)
    typed: list[str] = field(factory=list)
    ends: list[int] = field(factory=list)

    def lines(self) -> list[list[str]]:
        """The journal without its head."""
        path = self.folder / "journal.csv"
        text = path.read_text("utf-8") if path.exists() else "\n"
        assert text.endswith("\n"), "the last line is torn"
        return list(csv.reader(text.splitlines()[1:]))

    def posts(self) -> list[Sent]:
        """Requests that wanted something noted."""
        return [s for s in self.sent if s.subject]

    def faults(self) -> list[str]:
        """All that is wrong; an empty list is what is hoped for."""
        lines, found = self.lines(), []
        for s in self.sent:
            asked = s.status == 409 and s.subject and not s.words
            found += [] if s.status == 200 or asked else [f"{s.name} gave {s.status}"]
        found += [f"a line of {len(row)} cells: {row}" for row in lines if len(row) != 7]
        noted = {s.words for s in self.posts() if s.words and s.status == 200} | set(self.typed)
        notes = Counter(row[6] for row in lines if row[1] == "note")
        if notes != Counter(noted):
            found.append(f"lost or doubled: {set(noted) ^ set(notes) or notes.most_common(3)}")
        ticks = 0
        for number, (first, last) in enumerate(zip(self.ends, self.ends[1:], strict=False)):
            mine = Counter(row[2] for row in lines[first:last] if row[1] in _TICKS)
            told = {s.subject for s in self.posts()
                    if not s.words and s.round == number and s.status == 200}  # fmt: skip
            ticks += sum(mine.values())
            if mine != Counter(told):
                found.append(f"round {number}: answered {sorted(told)}, in the journal {mine}")
        if ticks + sum(notes.values()) != len(lines):
            found.append(f"{len(lines)} lines, of which {ticks} ticks and {len(notes)} notes")
        return [*found, *self._wrong_answers()]

    def _wrong_answers(self) -> list[str]:
        raw = (self.folder / "answers.jsonl").read_text("utf-8").splitlines()
        kept = Counter(str(json.loads(line)["id"]) for line in raw)
        good = {s.name for s in self.posts() if s.status == 200}
        return [] if kept == Counter(good) else [f"answers.jsonl: {set(kept) ^ good}"]


def live(
    room: Path, rounds: Sequence[str], *, requests: int, clients: int = 8, notes: int = 2,
    seed: int = 1,
) -> Crowd:  # fmt: skip
    """Lets clients and a terminal at a room, round by round.

    Args:
        rounds: the clock at each. requests: of all clients in all rounds, at least. notes: that the
            terminal takes down in each round.
    """
    before, rng = os.environ.get(_CLOCK), random.Random(seed)
    crowd = Crowd(room.parent)
    try:
        os.environ[_CLOCK] = rounds[0]
        with serving(make_app(Desk(Where(room, None)), Door(KEYS))) as port:
            crowd.ends.append(0)
            for number, clock in enumerate(rounds):
                os.environ[_CLOCK] = clock
                each = -(-requests // (len(rounds) * clients))
                _one_round(crowd, room, port, number, clients, each, notes, rng)
                crowd.ends.append(len(crowd.lines()))
    finally:
        os.environ.pop(_CLOCK)
        os.environ.update({_CLOCK: before} if before is not None else {})
    return crowd


def _one_round(
    crowd: Crowd, room: Path, port: int, number: int, clients: int, each: int, notes: int,
    rng: random.Random,
) -> None:  # fmt: skip
    # Without what is asked about earlier rounds.
    shown = _Client(crowd, port, number, rng).get("").rpartition('<section class="round">')[2]
    told = (room.parent / "told.jsonl").read_text("utf-8").splitlines()
    subjects = {t["id"]: t["subject"] for line in told for t in json.loads(line).get("told", ())}
    tasks = sorted(set(re.findall(r'name="task" value="(harvest[^"]+)"', shown)))
    feeding = next(iter(re.findall(r'name="task" value="(feed[^"]+)"', shown)), "")
    tanks = re.findall(r'"Fed as told: tank ([^"]+)"', shown)
    # What a tick is about goes with it for this study; the page does not read it.
    ticks = [{"kind": "task", "task": t, "subject": subjects[t]} for t in tasks]
    ticks += [{"kind": "tank", "task": feeding, "tank": t, "subject": t} for t in tanks]
    terminal = subprocess.Popen(
        [sys.executable, "-m", "tests.page.crowd", str(room), f"typed {number}", str(notes)],
        cwd=_ROOT, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    threads = [
        threading.Thread(
            target=_Client(crowd, port, number, random.Random(rng.random())).run,
            args=(f"{number} {name}", ticks, each),
        )
        for name in range(clients)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    crowd.typed += terminal.communicate()[0].splitlines()


@define
class _Client:
    crowd: Crowd
    port: int
    round: int
    rng: random.Random

    def run(self, name: str, ticks: Sequence[dict[str, str]], count: int) -> None:
        """Sends so many requests: half of them answers, of which some are sent twice."""
        last: dict[str, str] = {}
        for number in range(count):
            kind = self.rng.random()
            if kind < 0.5:
                self.get(self.rng.choice(_PAGES))
                continue
            form = {"kind": "event", "event": "note", "subject": "room",
                    "words": f"pressed {name} {number}"}  # fmt: skip
            if kind < 0.6 and last:
                form = last
            elif kind < 0.85 and ticks:
                what = self.rng.choice(("done", "done", "done", "skip"))
                form = {**self.rng.choice(ticks), "what": what}
            last = {"id": f"{name} {number}", **form}
            self.post(last)

    def get(self, page: str) -> str:
        """A page."""
        return self._send("GET", page, {}, "")

    def post(self, form: dict[str, str]) -> None:
        """An answer."""
        self._send("POST", "answer", form, form["subject"])

    def _send(self, method: str, page: str, form: dict[str, str], subject: str) -> str:
        head = {"Origin": f"http://127.0.0.1:{self.port}", "Accept": "application/json",
                "Content-Type": "application/x-www-form-urlencoded"}  # fmt: skip
        begun = time.perf_counter()
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=300)
        try:
            connection.request(method, f"/{KEYS.keeper}/{page}", urlencode(form), head)
            answer = connection.getresponse()
            text = answer.read().decode()
        finally:
            connection.close()
        took = time.perf_counter() - begun
        self.crowd.sent.append(
            Sent(self.round, form.get("id", page), subject, form.get("words", ""), answer.status,
                 took)
        )  # fmt: skip
        return text


def _type(room: str, name: str, count: int) -> None:
    """What a terminal takes down, each note printed once it is said to be noted."""
    from click.testing import CliRunner

    from cli.main import main

    for number in range(count):
        words = f"{name} {number}"
        done = CliRunner().invoke(main, ["journal", "note", "room", words, "--room", room])
        if done.exit_code == 0:
            sys.stdout.write(f"{words}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    _type(sys.argv[1], sys.argv[2], int(sys.argv[3]))
