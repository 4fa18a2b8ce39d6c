"""What the keeper was told already: settings and splits that stand on a calendar.

Moving one of them costs the keeper ``move_g`` of the room file, so a small change moves little.
The file beside the room holds what the last calendar said; without it nothing was told.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from attrs import evolve

from cultures.errors import FileProblemError
from cultures.room import Room, Told

if TYPE_CHECKING:
    from cultures.planning.tasks import Plan


def told_path(room_path: Path) -> Path:
    """Where what was told is kept."""
    return room_path.resolve().parent / f".{room_path.name}.told.livefood"


def told_of(plan: Plan) -> tuple[Told, ...]:
    """The settings and splits of a plan, by time; of settings those whose harvest it has too."""
    harvests = {t.id.partition("/")[2]: t.at for t in plan.tasks if t.what == "harvest_hatch"}
    kinds = {span.name: span.kind for span in plan.cultures}
    found = []
    for task in plan.tasks:
        harvest_at = harvests.get(task.id.partition("/")[2])
        if task.what == "set_hatch" and harvest_at is not None:
            found.append(Told(task.subject, task.at, harvest_at))
        elif task.what == "split" and task.other in kinds:
            found.append(Told(kinds[task.other], task.at))
    return tuple(sorted(found, key=lambda t: (t.at, t.name)))


def told_bytes(told: Sequence[Told]) -> bytes:
    """The content of the file."""
    import json

    rows = [
        {"name": t.name, "at": t.at.isoformat()}
        | ({"harvest_at": t.harvest_at.isoformat()} if t.harvest_at is not None else {})
        for t in told
    ]
    return (json.dumps({"livefood": 1, "told": rows}, ensure_ascii=False) + "\n").encode()


def with_told(room: Room, room_path: Path) -> Room:
    """A room with what was told of it.

    Raises:
        FileProblemError: the file cannot be read, or is damaged.
    """
    path = told_path(room_path)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return room
    except OSError as error:
        raise FileProblemError(f"cannot read {path}: {error.strerror or error}") from None
    import json

    try:
        rows = json.loads(data)["told"]
        told = tuple(
            Told(
                str(row["name"]),
                _moment(row["at"]),
                _moment(row["harvest_at"]) if "harvest_at" in row else None,
            )
            for row in rows
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        raise FileProblemError(
            f"{path} is damaged; delete it: it only says what the last calendar held"
        ) from None
    return evolve(room, told=told)


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(text)
    return moment
