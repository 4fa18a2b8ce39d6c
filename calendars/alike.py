"""Many entries of one kind and time, as one with a list."""

from __future__ import annotations

from collections.abc import Container, Iterable

from attrs import evolve

from calendars.entries import Entry, clean
from calendars.wording import MANNERS

#: From so many on entries that are alike are one: two a phone shows one below the other.
_MANY = 3
_CAUTION = "Caution: "


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
    """Their texts below each other; a caution that several have is said once, at the end."""
    lines = [entry.text.split("\n") for entry in those]
    cautions = dict.fromkeys(x for text in lines for x in text if x.startswith(_CAUTION))
    told = ("\n".join(x for x in text if not x.startswith(_CAUTION)) for text in lines)
    return clean("\n\n".join([*told, *(["\n".join(cautions)] if cautions else [])]))
