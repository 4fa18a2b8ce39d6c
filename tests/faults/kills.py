"""Commands on a small room, killed at every call that writes, and what must then be there."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from attrs import define, field

from calendars import lint
from cli.main import main
from cultures.journal.entries import journal_path, read_journal
from cultures.keeping.backup import read_backup
from cultures.record.answers import answers_path, read_answers
from cultures.record.store import read_record, record_path
from tests.faults.dying import deaths, dies
from tests.page.room import KEYS, ORIGIN

_ROOM = """\
[room]
name = "Kelp Lane"
timezone = "UTC"
temperature_c = 24
horizon_days = 1
as_of = 2027-01-04
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[brood]]
name = "danios"
tank = "A1"
class = "egg_scatterer"
count = 60
spawned = 2026-12-01
foods = ["dry"]
"""
_BEGIN = datetime(2027, 1, 5, 7, tzinfo=UTC)
_FAR = datetime(2100, 1, 1, tzinfo=UTC)
#: No command makes more calls that write.
_MOST_CALLS = 200


@define
class Seen:
    """What stands in the files of a room: lines, ids of told tasks and of answers."""

    lines: list[str]
    told: set[str]
    answers: list[str]
    whole: dict[str, bytes]


@define
class Killing:
    """A room of which commands are killed; each finds what the finished ones before it left.

    Attributes:
        room: its file. power: the power is cut. each: as `deaths` has it. kills: how many there
            were.
    """

    room: Path
    power: bool = False
    each: bool = False
    kills: int = field(default=0, init=False)
    _number: int = field(default=0, init=False)

    def begin(self) -> None:
        """Writes the room file."""
        self.room.write_text(_ROOM, "utf-8")

    def cycle(self) -> Iterator[str]:
        """Kills one of each command at each of its calls; what was lost, in words."""
        self._number += 1
        clock = (_BEGIN + timedelta(hours=12 * self._number)).isoformat()
        words = "w" * (self._number * 37 % 90)
        for args in (
            ["journal", "note", "danios", f"n{self._number}", words],
            ["today"],
            ["sheet", "--out", "sheet.html", "--force"],
            ["calendar", "--out", "food.ics"],
            ["backup", "kept.zip", "--force"],
        ):
            yield from self._killed(clock, partial(self._command, args), args[0] == "journal")
        yield from self._killed(clock, self._tap, True)

    def _command(self, args: list[str]) -> None:
        os.chdir(self.room.parent)
        main([*args, "--room", str(self.room)], prog_name="livefood")

    def _tap(self) -> None:
        """An answer of the page, as the script sends it."""
        from cli.options import Where
        from cli.page.app import make_app
        from cli.page.desk import Desk
        from cli.page.door import Door

        client = make_app(Desk(Where(self.room, None)), Door(KEYS)).test_client()
        found = client.post(
            f"/{KEYS.keeper}/answer", headers={"Origin": ORIGIN, "Accept": "application/json"},
            data={"id": f"tap-{self._number}", "kind": "event", "event": "note",
                  "subject": "danios", "words": f"tap-{self._number}"},
        )  # fmt: skip
        assert found.status_code == 200, found.text
        print(found.text)  # noqa: T201 (what was answered)

    def _killed(self, clock: str, doing: Callable[[], None], notes: bool) -> Iterator[str]:
        """One command, killed at its first call, its second, and so on, to its end."""
        os.environ["LIVEFOOD_NOW"] = clock
        before = self.seen()
        each_call = deaths(doing, self.room.parent, power=self.power, each=self.each)
        for step, (died, said) in enumerate(each_call):
            self.kills += died
            after = self.seen()
            must = notes and (not died or "oted" in said)
            yield from (f"step {step}: {x}" for x in lost(before, after, must))
            if not died:
                return
            if step % 6 == 3:  # the next one finds all in order, and notes it once
                dies(doing, 10_000)
                found = lost(before, self.seen(), notes)
                yield from (f"step {step}, again: {x}" for x in found)
                if left := [p.name for p in self.room.parent.glob(".*livefood-new")]:
                    yield f"step {step}: {left} is left behind"
            assert step < _MOST_CALLS

    def seen(self) -> Seen:
        """What stands in the files; what cannot be read raises."""
        journal = read_journal(journal_path(self.room), UTC)
        record = read_record(record_path(self.room), UTC, _FAR)
        answers = read_answers(answers_path(self.room), UTC)
        whole = {}
        for name, check in (
            ("sheet.html", _check_page), ("food.ics", lint.check), ("kept.zip", None),
        ):  # fmt: skip
            path = self.room.with_name(name)
            if path.exists():
                whole[name] = path.read_bytes()
                read_backup(path) if check is None else check(whole[name])
        lines = [f"{e.when:%d%H} {e.event} {e.subject} {e.note}" for e in journal.entries]
        return Seen(lines, set(record.tasks) | record.withdrawn, [a.id for a in answers], whole)


def _check_page(data: bytes) -> None:
    assert data.rstrip().endswith(b"</html>")


def lost(before: Seen, after: Seen, noted: bool) -> Iterator[str]:
    """What was there or answered, and is not, or is there twice; ``noted``: that was answered."""
    new = after.lines[len(before.lines) :]
    if after.lines[: len(before.lines)] != before.lines:
        yield f"lines of the journal changed: {before.lines} {after.lines}"
    if not before.told <= after.told:
        yield f"told and lost: {before.told - after.told}"
    if after.answers[: len(before.answers)] != before.answers:
        yield f"answers changed: {before.answers} {after.answers}"
    twice = len(new) > 1 and "tap" in new[0]  # what has no id may be typed again
    if len(new) > 2 or noted > len(new) or twice:
        yield f"noted: {noted}, and the journal has {new} more"
    if not before.whole.keys() <= after.whole.keys():
        yield f"gone: {before.whole.keys() - after.whole.keys()}"
