"""Many entries of one kind and time, as one with a list."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable

from attrs import evolve

from calendars.entries import Entry, clean
from calendars.wording import MANNERS

#: From so many on entries that are alike are one: two a phone shows one below the other.
_MANY = 3
_CAUTION = "Caution: "
_SENTENCE = re.compile(r"(?<=[.!]) ")


def as_one(entries: Iterable[Entry], stood: Container[str] = ()) -> list[Entry]:
    """Entries, of which many that are alike are one.

    Args:
        stood: keys of what stands on the calendar. What stood as one stays so, under the same key,
            when fewer are left of it: who counted one of four broods finds the others there.
    """
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.alike or entry.key, []).append(entry)
    return [
        entry for key, those in found.items()
        for entry in ([_one(key, those)] if _together(key, those, stood) else those)
    ]  # fmt: skip


def _together(key: str, those: list[Entry], stood: Container[str]) -> bool:
    made = those[0].key == key  # it is one already, or always stands alone
    return not made and (key in stood or len(those) >= _MANY)


def _one(key: str, those: list[Entry]) -> Entry:
    first, alarms = those[0], [e.alarm_min for e in those if e.alarm_min is not None]
    title = first.title
    if len(those) > 1:
        title = MANNERS[key.split("/")[1]].several.format(n=len(those))
    return evolve(
        first, key=key, parts=tuple(e.key for e in those), title=title,
        end=max(e.end for e in those), text=_texts(those),
        alarm_min=max(alarms) if alarms else None,
    )  # fmt: skip


def _texts(those: list[Entry]) -> str:
    """Their texts below each other; cautions, and sentences that all have, once at the end."""
    texts = [[_SENTENCE.split(line) for line in entry.text.split("\n")] for entry in those]
    every = [{said for line in text for said in line} for text in texts]
    shared = set.intersection(*every) if len(every) > 1 else set()
    last = dict.fromkeys(
        said for text in texts for line in text
        for said in ([" ".join(line)] if line[0].startswith(_CAUTION) else line)
        if said and (said in shared or said.startswith(_CAUTION))
    )  # fmt: skip
    own = (
        [" ".join(said for said in line if said not in shared) for line in text
         if not line[0].startswith(_CAUTION)]
        for text in texts
    )  # fmt: skip
    told = ["\n".join(line for line in lines if line) for lines in own]
    return clean("\n\n".join([*filter(None, told), *(["\n".join(last)] if last else [])]))
