"""The file of answers: one line of JSON for each, only ever appended to.

An answer bears an id of its own. It is written down with the entries that it makes before these
go into the journal, both under the lock of the folder, so that one that is sent twice, even after a
server was killed between the two, is noted once. Besides it is known from it which page noted a
line, and which lines were noted together: a command that notes several is written down in it too.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime, tzinfo
from pathlib import Path

from attrs import frozen

from cultures import files
from cultures.journal.entries import Entry, Journal, entry_of, row_of
from cultures.limits import most_bytes

#: The file beside the room file.
ANSWERS_NAME = "answers.jsonl"


def answers_path(room_path: Path) -> Path:
    """The answers that belong to a room file."""
    return room_path.with_name(ANSWERS_NAME)


@frozen
class Answer:
    """What one tap or command said.

    Attributes:
        id: its own. at: when it was taken in. by: which page, "" for a terminal. entries: that it
            makes, with line 0.
        first: how many entries the journal had before.
    """

    id: str
    at: datetime
    by: str
    entries: tuple[Entry, ...]
    first: int

    def missing(self, journal: Journal) -> list[Entry]:
        """Its entries, if they never came into the journal; they go in together."""
        later = {e._replace(line=0) for e in journal.entries[self.first :]}
        return [] if all(e in later for e in self.entries) else [*self.entries]


def read_answers(path: Path, zone: tzinfo) -> list[Answer]:
    """All answers in the order in which they came; lines that cannot be read are left out.

    Raises:
        FileProblemError: the file cannot be read.
    """
    found = []
    for raw in (files.read(path, most_bytes("record")) or b"").split(b"\n"):
        try:
            row = json.loads(raw)
            entries = tuple(entry_of(cells, zone) for cells in row["rows"])
            at = datetime.fromisoformat(row["at"])
            found.append(Answer(str(row["id"]), at, str(row["by"]), entries, int(row["first"])))
        except files.NOT_AS_WRITTEN:
            continue
    return found


def together(line: Entry, journal: Journal, answers: Sequence[Answer]) -> list[Entry]:
    """The lines that one tap or command noted with one, itself among them, in their order.

    They are found by what they say and stand one after the other: so a journal that was edited by
    hand, or is older than its answers, takes nothing back that was not meant.
    """
    known, wanted = journal.entries, line._replace(line=0)
    if line not in known:
        return [line]
    at = known.index(line)
    for answer in reversed(answers):
        for place in (k for k, e in enumerate(answer.entries) if e == wanted and k <= at):
            block = known[at - place : at - place + len(answer.entries)]
            if tuple(e._replace(line=0) for e in block) == answer.entries:
                return [*block]
    return [line]


def append_answer(path: Path, answer: Answer) -> None:
    """Writes an answer down; returns once it is on the disk.

    Raises:
        RangeError: an entry says something impossible. FileProblemError: it cannot be written.
    """
    line = {
        "id": answer.id, "at": answer.at.isoformat(timespec="seconds"), "by": answer.by,
        "first": answer.first, "rows": [row_of(e) for e in answer.entries],
    }  # fmt: skip
    text = json.dumps(line, ensure_ascii=False, separators=(",", ":"))
    files.append_line(path, text, most_bytes("record"))
