"""What has been published so far, and how a new plan changes it.

A record keeps the UID, SEQUENCE and time of the last visible change of one intention, and the
entry as it was last published. `revise` is the whole logic and touches no file:

* unchanged, but for the last digit of an amount: the record stays as it is, so the calendar stays
  byte for byte what it was;
* changed: SEQUENCE rises and the time of change moves on (RFC 5546, sections 2.1.4 and 2.1.5);
* withdrawn before it began: cancelled, and kept so for 30 days or until its time is past;
* begun: no longer the plan's affair, kept as it is for two days and never announced late, but
  changed where its task was told otherwise before it began, and cancelled where it was not done;
* one of several that stood as one: it stays there, though fewer are left;
* under another name, with the same title and time: it keeps its identity and goes on counting;
* past: only the number is kept, so that an intention that comes back goes on counting.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import Any, Literal, get_args
from uuid import UUID, uuid5

from attrs import evolve, field, frozen

from calendars.alike import as_one
from calendars.ended import NO_LONGER
from calendars.entries import OF_DAY, Entry
from cultures.words.text import same_but_figures

State = Literal["live", "cancelled", "gone"]
KEEP_PAST = timedelta(days=2)
#: What was withdrawn has long been fetched by then.
KEEP_WITHDRAWN = timedelta(days=30)
#: A number is remembered this long after the last change of its entry.
KEEP_NUMBER = timedelta(days=400)
#: An amount with its unit, or what a harvest is about. Clocks, dates, spoons and fry are none.
_AMOUNT = re.compile(
    r"(?<![\d.,/:])\d[\d,]*(?:\.\d+)?(?= (?:mL|L|g|fl oz|oz|h|nauplii)\b)"
    r"|(?<=\(about )[\d,]+(?=\))"
)
#: So much more or less of an amount stands, as in a round that was told (common practice, no
#: source): a noted count moves half of all later amounts in their last digit, and each new SEQUENCE
#: is another look, or another alarm, on every phone.
_FELT = 0.1


@frozen
class Record:
    """One intention as published.

    Attributes:
        uid: for life. sequence: 0 at first. modified: last visible change, UTC.
        state: live; cancelled (withdrawn, not past); gone (past, number kept).
        entry: as last published, None once gone.
    """

    key: str
    uid: str
    sequence: int
    modified: datetime
    state: State
    entry: Entry | None

    @property
    def shown(self) -> Entry:
        """The entry of a record that is not gone."""
        if self.entry is None:
            raise ValueError(f"{self.key} is past and has no entry")
        return self.entry


@frozen
class Ledger:
    """All records, by key."""

    records: Mapping[str, Record] = field(factory=dict)

    def live(self) -> list[Record]:
        """Records that stand on the calendar, by time."""
        return self._in("live")

    def published(self) -> list[Record]:
        """The same with what was withdrawn and is not past, by time."""
        return self._in("live", "cancelled")

    def _in(self, *states: State) -> list[Record]:
        found = (r for r in self.records.values() if r.state in states)
        return sorted(found, key=lambda r: (r.shown.start, r.key))

    def related_uid(self, entry: Entry) -> str | None:
        """The UID of what an entry follows from, if that was ever published."""
        record = self.records.get(entry.related)
        return record.uid if record is not None else None

    @classmethod
    def from_json(cls, data: Iterable[Mapping[str, Any]]) -> Ledger:
        """The ledger of the notes beside a calendar.

        Raises:
            KeyError, TypeError, ValueError: the data are not of that form.
        """
        return cls({record.key: record for record in map(_record_from_json, data)})


def _record_from_json(data: Mapping[str, Any]) -> Record:
    state, raw = data["state"], data["entry"]
    modified = datetime.fromisoformat(data["modified"])
    if state not in get_args(State) or (raw is None) != (state == "gone") or not modified.tzinfo:
        raise ValueError(f"state or time of {data['key']} is wrong")
    entry = None if raw is None else Entry.from_json(raw)
    return Record(**{**data, "uid": str(UUID(data["uid"])), "modified": modified, "entry": entry})


@frozen
class Changes:
    """How many entries a revision touched."""

    added: int = 0
    changed: int = 0
    withdrawn: int = 0
    unchanged: int = 0


def revise(
    ledger: Ledger, entries: Iterable[Entry], *, now: datetime, namespace: UUID,
    undone: Container[str] = frozenset(), ended: Mapping[str, str] = MappingProxyType({}),
) -> tuple[Ledger, Changes]:  # fmt: skip
    """The ledger after a new plan.

    Args:
        entries: all that the new plan holds. now: the time of the plan, aware.
        namespace: secret of the installation, from which new UIDs are derived.
        undone: ids of tasks that were not done as they stand: what has begun of them is cancelled.
        ended: why tasks are not to be done any more, by id, as `calendars.ended.ended` has it.
    """
    moment = now.astimezone(UTC).replace(microsecond=0)
    records: dict[str, Record] = {}
    count: Counter[str] = Counter()
    chosen = as_one(entries, {record.key for record in ledger.live()})
    ledger = _renamed(ledger, chosen, moment)
    taken = {record.uid for record in ledger.records.values()}
    for entry in chosen:
        old = ledger.records.get(entry.key)
        if entry.end <= moment and (old is None or old.state != "live"):
            continue
        if old is None:
            uid = _new_uid(entry.key, taken, namespace)
            records[entry.key] = Record(entry.key, uid, 0, moment, "live", entry)
            count["added"] += 1
        elif old.state == "live" and _stands(old, entry, moment):
            records[entry.key] = old
            count["unchanged"] += 1
        else:
            records[entry.key] = _bumped(old, moment, "live", entry)
            count["changed" if old.state == "live" else "added"] += 1
    for key, record in ledger.records.items():
        aged = _aged(record, moment, undone, records, ended) if key not in records else None
        if aged is not None:
            records[key] = aged
            count["withdrawn"] += aged.state == "cancelled" and record.state == "live"
    return Ledger(records), Changes(**count)


def _renamed(ledger: Ledger, entries: Sequence[Entry], now: datetime) -> Ledger:
    """The ledger with what lies ahead under the names by which the new entries call it.

    The count of a brood is named by its last date that is known: once that is another, the same
    entry would stand twice, cancelled and anew.
    """
    named, records = {entry.key for entry in entries}, dict(ledger.records)
    left = {
        _looks(record.shown): record for record in ledger.live()
        if record.key not in named and record.shown.start > now
    }  # fmt: skip
    for entry in entries:
        known = records.get(entry.key)
        if (known is None or known.state == "gone") and (old := left.pop(_looks(entry), None)):
            del records[old.key]
            records[entry.key] = evolve(old, key=entry.key)
    return Ledger(records)


def _looks(entry: Entry) -> tuple[object, ...]:
    return entry.group, entry.title, entry.start, entry.todo


def _new_uid(key: str, taken: Container[str], namespace: UUID) -> str:
    """The UID of a name, or another where an entry that was renamed has it."""
    while (uid := str(uuid5(namespace, key))) in taken:
        key += "'"
    return uid


def _of_day(key: str) -> bool:
    return key.removeprefix("todo:").startswith(OF_DAY)


def _stands(old: Record, entry: Entry, now: datetime) -> bool:
    """Whether what is published of an entry is left as it is: it differs in amounts by a tenth at
    most, and in nothing else; or it has begun. It is compared with what stands on the calendar, so
    that small steps do not add up to a large one.
    """
    same = evolve(old.shown, text="") == evolve(entry, text="")
    felt = not same_but_figures(old.shown.text, entry.text, _AMOUNT, _FELT)
    return (same and not felt) or _begun(old, entry, now)


def _begun(old: Record, entry: Entry, now: datetime) -> bool:
    """Whether an entry has begun, and stands as it was; a list of a day while it holds the same."""
    if _of_day(entry.key) and old.shown.parts != entry.parts:
        return False
    of_plan = entry.group in ("rounds", "warnings") or bool(entry.parts)
    same = of_plan or (old.shown.title, old.shown.start) == (entry.title, entry.start)
    return old.shown.start <= now and entry.start <= now and same


def _bumped(old: Record, now: datetime, state: State, entry: Entry) -> Record:
    later = max(now, old.modified + timedelta(seconds=1))
    return evolve(old, sequence=old.sequence + 1, modified=later, state=state, entry=entry)


def _aged(
    record: Record, now: datetime, undone: Container[str], named: Container[str],
    ended: Mapping[str, str],
) -> Record | None:  # fmt: skip
    """A record that the new plan does not name, as it stands now; None to forget it.

    Args:
        named: keys of what it names: of a list of a day what stands there by itself now.
    """
    if record.state == "gone":
        return record if now - record.modified <= KEEP_NUMBER else None
    entry = record.shown
    if record.state == "cancelled":
        late = record.modified >= entry.start  # cancelled when it had begun
        until = record.modified + KEEP_PAST if late else entry.end
        fresh = now < until and now - record.modified <= KEEP_WITHDRAWN
        return record if fresh else _gone(record)
    parts = entry.parts or (record.key,)
    apart = _of_day(record.key) and any(part in named for part in parts)
    if apart or entry.start > now or all(p.removeprefix("todo:") in undone for p in parts):
        said = {ended.get(part.removeprefix("todo:"), NO_LONGER) for part in parts}
        text = NO_LONGER if apart or len(said) > 1 else said.pop()
        return _bumped(record, now, "cancelled", evolve(entry, text=text))
    return record if now - entry.end < KEEP_PAST else _gone(record)


def _gone(record: Record) -> Record:
    return evolve(record, state="gone", entry=None)
