"""What must hold for any journal, however it came about."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from cli.commands.demo_room import demo_text
from cultures.errors import LivefoodError
from cultures.journal.entries import Entry, append, read_journal, undo_of
from cultures.journal.events import EVENTS, LEAVING, check_entry
from cultures.learning.survival import by_class, survival
from cultures.replay.own_values import OwnValues
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.text import plain, seen
from tests.unit.recorded import learn, room_at

_ZONE = ZoneInfo("Europe/Lisbon")
_TODAY = date(2027, 1, 5)
_START = datetime(2027, 1, 4, 6, 0, tzinfo=_ZONE)
_NOW = datetime(2027, 1, 12, 6, 0, tzinfo=_ZONE)
_ROOM: Room = read_room(demo_text(_TODAY), today=_TODAY)

_CULTURES = st.sampled_from(["MW-1", "MW-2", "VE-1", "MW-3", "MW-4"])
_VESSELS = st.sampled_from(["bottle 1", "bottle 2"])
_BROODS = st.sampled_from(["acara 5", "pearl danio 3", "honey gourami 7", "new 1"])
_TANKS = st.sampled_from(["A1", "B3", "C1", "Z9"])
_WHEN = st.integers(0, 7 * 24 * 12).map(lambda n: _START + timedelta(minutes=5 * n))


def _row(event: str) -> st.SearchStrategy[Entry]:
    def amounts(low: float, high: float) -> st.SearchStrategy[float]:
        return st.floats(low, high).map(lambda x: round(x, 3))

    none = st.none()
    stocks = st.sampled_from(["cysts", "salt", "dry", "medium", "microworm_medium"])
    told = st.sampled_from(
        ["set_hatch/2027-01-06T18:30", "split/MW-3", "split/VE-3", "feed/2027-01-06T07:30"]
    )
    table: dict[str, tuple[st.SearchStrategy[str], st.SearchStrategy[str], object, str]] = {
        "split": (_CULTURES, _CULTURES, amounts(1, 30), "g"),
        "start": (_CULTURES, st.just("microworm"), amounts(1, 30), "g"),
        "discard": (_CULTURES, st.sampled_from(["", "crashed"]), none, ""),
        "harvest": (_CULTURES, st.sampled_from(["", "all"]), amounts(0.5, 20), "swipes"),
        "fed": (_TANKS, st.sampled_from(["microworm", "dry"]), amounts(0, 40), "mL"),
        "skip": (st.one_of(_CULTURES, _VESSELS, _TANKS), told, none, ""),
        "failed": (st.one_of(_CULTURES, _VESSELS), st.just(""), none, ""),
        "note": (st.one_of(_CULTURES, _VESSELS, _BROODS), st.just(""), none, ""),
        "leftover": (_BROODS, st.sampled_from(["none", "some", "much"]), none, ""),
        "set": (_VESSELS, st.just(""), amounts(0.1, 5), "g"),
        "hatched": (_VESSELS, st.just(""), st.one_of(st.just(0.0), amounts(1, 1e6)), "nauplii"),
        "spawn": (_BROODS, st.just("A2 egg_scatterer"), amounts(1, 200), "fry"),
        "eggs_hatched": (_BROODS, st.just(""), amounts(1, 200), "fry"),
        "not_swimming": (_BROODS, st.just(""), none, ""),
        "free_swimming": (_BROODS, st.just(""), amounts(1, 200), "fry"),
        "collected": (_BROODS, st.just("A2 annual_killifish"), amounts(1, 200), "fry"),
        "wetted": (_BROODS, st.sampled_from(["", "2027-01-09"]), amounts(1, 200), "fry"),
        "drop": (_BROODS, st.just(""), none, ""),
        "planned": (_BROODS, st.just("A2 egg_scatterer on 2027-01-09"), amounts(1, 200), "fry"),
        "count": (_BROODS, st.just(""), amounts(0, 200), "fry"),
        "length": (_BROODS, st.just("5 fish"), amounts(2, 40), "mm"),
        **dict.fromkeys(("lid", "sorted"), (_BROODS, st.just(""), none, "")),
        "move": (_BROODS, _TANKS, amounts(1, 50), "fry"),
        "merge": (_BROODS, _BROODS, none, ""),
        **dict.fromkeys(
            LEAVING, (_BROODS, st.sampled_from(["", "", "all"]), amounts(0, 50), "fry")
        ),
        "temperature": (
            st.sampled_from(["room", "B1", "bottle 1", "MW-1"]), st.just(""), amounts(18, 28), "C",
        ),
        "bought": (stocks, st.just(""), amounts(1, 100), "g"),
        "ordered": (
            stocks, st.sampled_from(["", "2027-01-11", "2027-01-14"]), amounts(1, 100), "g",
        ),
        "used": (stocks, st.just(""), amounts(1, 100), "g"),
        "away": (
            st.just("room"),
            st.sampled_from(
                ["2027-01-08T18:30 to 2027-01-10", "2027-01-09 to 2027-01-12 with helper"]
            ),
            none, "",
        ),
        "learn": (st.just("yield"), st.sampled_from(["on", "off"]), none, ""),
    }  # fmt: skip
    subject, other, amount, unit = table[event]
    words = "smells sour" if event == "note" else ""
    return st.builds(
        lambda when, s, o, a: Entry(when, event, s, o, a, unit if a is not None else "", words),
        _WHEN, subject, other, amount,  # type: ignore[arg-type]
    )  # fmt: skip


#: Counts of nauplii, of worms on a tray and of a weighed stock, which set what is.
_COUNT = st.one_of(
    st.builds(lambda when, s, n: Entry(when, "count", s, "", n, "nauplii"),
              _WHEN, _VESSELS, st.sampled_from([0.0, 1e3, 2.5e5])),
    st.builds(lambda when, s, n: Entry(when, "count", s, "tray", n, "worms"),
              _WHEN, _CULTURES, st.sampled_from([0.0, 1e3, 1e6])),
    st.builds(lambda when, s, n: Entry(when, "count", s, "", n, "g"),
              _WHEN, st.sampled_from(["cysts", "salt", "dry"]), st.sampled_from([0.0, 0.5, 300])),
)  # fmt: skip
_ENTRY = st.one_of(
    st.sampled_from([e for e in EVENTS if e != "undo"]).flatmap(_row), _COUNT
)  # fmt: skip


def _file() -> Path:
    return Path(tempfile.mkdtemp(prefix="journal-")) / "journal.csv"


def _state(path: Path) -> Room:
    return room_at(_ROOM, read_journal(path, _ZONE).effective(), _NOW, own_values=OwnValues())


@given(st.lists(_ENTRY, max_size=12))
@settings(max_examples=60, deadline=None)
def test_line_by_line_and_at_once_are_the_same(entries: list[Entry]) -> None:
    one_by_one, at_once = _file(), _file()
    for entry in entries:
        append(one_by_one, [entry])
        _state(one_by_one)
    append(at_once, entries)
    assert read_journal(one_by_one, _ZONE).entries == read_journal(at_once, _ZONE).entries
    assert _state(one_by_one) == _state(at_once)


@given(st.lists(_ENTRY, max_size=8), _ENTRY)
@settings(max_examples=60, deadline=None)
def test_undo_restores_the_state_exactly(entries: list[Entry], mistake: Entry) -> None:
    path = _file()
    append(path, entries)
    before = _state(path)
    learned = learn(_ROOM, read_journal(path, _ZONE).effective(), _NOW)
    append(path, [mistake])
    journal = read_journal(path, _ZONE)
    append(path, [undo_of(journal.entries[-1], _NOW)])
    after = read_journal(path, _ZONE)
    assert _state(path) == before
    again = learn(_ROOM, after.effective(), _NOW)
    assert again.estimates == learned.estimates
    assert again.replayed.room == learned.replayed.room
    day = _NOW.date()
    assert survival(again.replayed, day) == survival(learned.replayed, day)


@given(st.lists(_ENTRY, max_size=25))
@settings(max_examples=60, deadline=None)
def test_fish_add_up_whatever_is_noted(entries: list[Entry]) -> None:
    path = _file()
    append(path, entries)
    learned = learn(_ROOM, read_journal(path, _ZONE).effective(), _NOW)
    fared = survival(learned.replayed, _NOW.date())
    for one in fared:
        parts = (one.now, one.sold, one.died, one.lost, one.unaccounted)
        assert min(parts) >= 0
        assert one.start == sum(parts)
        value, low, high = one.share()
        assert 0 <= low <= value <= high <= 1
    for of_class in by_class(fared):
        assert 0 <= of_class.share()[1] <= of_class.share()[2] <= 1


@given(st.lists(_ENTRY, min_size=1, max_size=8), st.data())
@settings(max_examples=40, deadline=None)
def test_later_entries_do_not_change_the_past(entries: list[Entry], data: st.DataObject) -> None:
    moment = data.draw(_WHEN)
    path, early = _file(), _file()
    append(path, entries)
    append(early, [e for e in entries if e.when <= moment])
    full = room_at(_ROOM, read_journal(path, _ZONE).effective(), moment, own_values=OwnValues())
    past = room_at(_ROOM, read_journal(early, _ZONE).effective(), moment, own_values=OwnValues())
    assert full.broods == past.broods
    assert full.cultures == past.cultures
    assert full.hatches == past.hatches
    assert full.held == past.held
    assert (full.cysts, full.stock_g) == (past.cysts, past.stock_g)
    assert (full.not_before, full.remarks) == (past.not_before, past.remarks)


@given(st.lists(_ENTRY, max_size=20))
@settings(max_examples=80, deadline=None)
def test_no_journal_makes_an_impossible_room(entries: list[Entry]) -> None:
    ordered = sorted(entries, key=lambda e: e.when)
    room = learn(_ROOM, ordered, _NOW).replayed.room
    for brood in room.broods:
        assert brood.count > 0
    for culture in room.cultures:
        if culture.mark is not None:
            capacity = culture.kind.model(
                medium_g=culture.medium_g, surface_cm2=culture.surface_cm2
            ).capacity_mg
            assert 0 <= culture.mark.stock_mg <= capacity * (1 + 1e-9)
            assert culture.mark.age >= 0
    assert room.cysts is not None
    assert room.cysts.grams >= 0
    assert all(grams >= 0 for grams in room.stock_g.values())
    assert all(h.nauplii >= 1 and h.energy_j > 0 and 0 < h.share <= 1 for h in room.held)
    assert len({c.name for c in room.cultures}) == len(room.cultures)
    assert len({h.vessel for h in room.hatches}) == len(room.hatches)


_ANY = st.text(
    st.one_of(st.characters(), st.sampled_from("\",;'é=+-@\ufb01 \u0301\n\x1b")), max_size=40
)


#: What cannot be seen stands as U+FFFD: half of all texts hold some, and all would be left out.
_CELL = _ANY.map(lambda text: plain(seen(text)))


@given(
    st.lists(
        st.tuples(_WHEN, _CELL.map(lambda text: text or "x"), _CELL, st.floats(0, 1e7)), max_size=6
    )
)
@settings(max_examples=80, deadline=None)
def test_any_text_reads_back_as_it_was_written(
    rows: list[tuple[datetime, str, str, float]],
) -> None:
    path = _file()
    entries = [
        Entry(when, "lost", subject, other, amount, "fry", other)
        for when, subject, other, amount in rows
    ]
    for entry in entries:
        check_entry(entry)
        append(path, [entry])
    found = read_journal(path, _ZONE)
    assert [e._replace(line=0) for e in found.entries] == entries
    assert found.torn == ""


@given(_WHEN, _ANY, _ANY, _ANY, st.floats(), st.datetimes(timezones=st.just(_ZONE)))
@settings(max_examples=300, deadline=None)
def test_what_the_writer_takes_the_reader_takes(
    when: datetime, subject: str, other: str, note: str, amount: float, strange: datetime
) -> None:
    """One check for both: whatever is not refused at once is read again, by any year and text."""
    path = _file()
    for entry in (
        Entry(when, "note", subject, other, None, "", note),
        Entry(strange, "discard", "MW-1", note=note),
        Entry(when, "lost", subject, "", amount, "fry"),
        Entry(when, "planned", "acara 9", f"A2 egg_scatterer on {strange:%Y-%m-%d}", 5, "fry"),
    ):
        with suppress(LivefoodError):
            append(path, [entry])
    read_journal(path, _ZONE)


@given(st.lists(_ENTRY, min_size=1, max_size=5), st.integers(1, 60))
@settings(max_examples=80, deadline=None)
def test_a_file_cut_anywhere_loses_only_what_was_cut(entries: list[Entry], cut: int) -> None:
    path = _file()
    append(path, entries)
    whole = path.read_bytes()
    kept = whole[: max(0, len(whole) - cut)]
    path.write_bytes(kept)
    if kept.startswith(b"when,event,subject,other,amount,unit,note\n"):
        before = read_journal(path, _ZONE)
        sure = kept.count(b"\n") - 1
        assert [e[:4] for e in before.entries[:sure]] == [e[:4] for e in entries[:sure]]
        assert len(before.entries) in (sure, sure + 1)
        append(path, [Entry(_NOW, "discard", "MW-1")])
        after = read_journal(path, _ZONE)
        assert after.entries[: len(before.entries)] == before.entries
        assert after.entries[-1].subject == "MW-1"


_FIELDS = st.one_of(
    st.sampled_from(["", "2027-01-05T07:30", "0001-01-01", "MW-1", "1e999", "-1", "g", "2"]),
    st.sampled_from(list(EVENTS)),
    st.text(max_size=6),
)


@given(st.one_of(
    st.binary(max_size=200),
    st.lists(st.lists(_FIELDS, min_size=5, max_size=8).map(",".join), max_size=5).map(
        lambda rows: "\n".join(["when,event,subject,other,amount,unit,note", *rows, ""]).encode()
    ),
))  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_no_file_makes_the_reader_stumble(content: bytes) -> None:
    path = _file()
    path.write_bytes(content)
    with suppress(LivefoodError):
        room_at(_ROOM, read_journal(path, _ZONE).effective(), _NOW)
