"""No sentence stands twice on a screen, on a page of the sheet or in an entry of the calendar."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import icalendar
import pytest

from tests.cli import rooms
from tests.cli.invented import room_file, run
from tests.cli.test_screen_size import sentences

_ROOMS = {
    "small": rooms.small, "demo": room_file, "american": rooms.american, "large": rooms.large,
}  # fmt: skip
_SHORT_OF_CYSTS = re.compile(r"(?m)^grams = .*")


def _twice(screen: str) -> list[str]:
    return [said for said, often in Counter(sentences(screen)).items() if often > 1]


@pytest.fixture(name="room", params=_ROOMS)
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return _ROOMS[request.param](tmp_path)


@pytest.mark.parametrize("short", [False, True])
def test_shortfalls(room: Path, short: bool) -> None:
    if short:
        room.write_text(_SHORT_OF_CYSTS.sub("grams = 1.5", room.read_text("utf-8")), "utf-8")
    screen = run(room, "shortfalls", "--days", "6").stdout
    # Each shortfall has its own cause and list of what helps, and each thin margin its own odds,
    # which may happen to be equal.
    screen = re.sub(r"enough\s+is\s+planned,\s+but\s[^.]* of\s+trials\.", "", screen)
    assert [_twice(part) for part in re.split(r"(?m)^  - ", screen) if _twice(part)] == []
    screen = re.sub(r"(?m)^ {6}> .*(?:\n {8}.*)*", "", screen)
    assert _twice(re.sub(r"in \d+%\s+of\s+trials\):[^.]*\.", "", screen)) == []


@pytest.mark.parametrize("options", [(), ("--why",)])
def test_a_day_of_the_plan_and_what_stands_below_the_days(
    room: Path, options: tuple[str, ...]
) -> None:
    screen = run(room, "plan", "--days", "4", *options).stdout
    assert [_twice(part) for part in _days(screen) if _twice(part)] == []


def _days(screen: str) -> list[str]:
    """A round of a day has its own steps, so each clock time is looked at by itself."""
    times = re.sub(
        r"(?m)^  (\d\d:\d\d|[\d:]+ [ap]m|noon|midnight) +", lambda m: f"  {m[1]}  {m[1]} ", screen
    )
    day = r"[A-Z][a-z]{2} (?:\d{1,2} [A-Z][a-z]{2}|[A-Z][a-z]{2} \d{1,2})"
    return re.split(rf"(?m)^(?={day}$)", times)


def test_a_page_of_the_sheet(room: Path) -> None:
    out = room.with_name("sheet.html")
    run(room, "sheet", "--out", str(out))
    for section in re.findall(r"<section.*?</section>", out.read_text("utf-8"), re.DOTALL):
        items = [m[0] for m in re.finditer(r"<(li|p)\b.*?</\1>", section, re.DOTALL)]
        assert items
        texts = [" ".join(re.sub(r"<[^>]+>", " ", item).split()) for item in items]
        # The shares of the days are the words of a picture.
        spoken = [t for t in texts if len(t.split()) > 3 and not re.search(r" : \d+%$", t)]
        assert [text for text, often in Counter(spoken).items() if often > 1] == []


def test_an_entry_of_the_calendar(room: Path) -> None:
    out = room.with_name("jobs.ics")
    run(room, "calendar", "--out", str(out), "--days", "5")
    calendar = icalendar.Calendar.from_ical(out.read_bytes())
    texts = [str(entry.get("description", "")) for entry in calendar.walk("VEVENT")]
    assert len(texts) > 5
    # What tanks get may be alike, and stands with each of them.
    texts = [re.sub(r"(?m)^.+ \(.+\): .*$", "", text) for text in texts]
    assert [_twice(text) for text in texts if _twice(text)] == []
