"""``livefood today`` fits one screen, says nothing twice, and is as narrow as the terminal."""

from __future__ import annotations

import re
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest
from attrs import evolve

from cultures.tasks.task import Split
from cultures.words.grouped import alike, group_text, names, together
from cultures.words.tools import USUAL
from tests.cli import rooms
from tests.cli.invented import at, jotted, room_file, run

_ROOMS = {
    "small": rooms.small, "demo": room_file, "american": rooms.american, "large": rooms.large,
}  # fmt: skip
#: Lines on a morning on which everything was done before, and on the very first one, on which
#: recipes and cautions stand in full. 30 and 60 are asked for, in US units too.
#: By room: the most lines of a look, and of a first one. In the large one two broods are crowded.
_LINES = {"small": (15, 25), "demo": (30, 45), "american": (30, 48), "large": (62, 60)}
_LOOKS = ("2027-01-05T07:00", "2027-01-05T18:00", "2027-01-06T07:00", "2027-01-06T18:00")


def sentences(screen: str) -> list[str]:
    """All that is said in four words or more, folded lines put together."""
    items: list[str] = []
    for line in screen.splitlines():
        if line.startswith("    ") and items:
            items[-1] += f" {line.strip()}"
        else:
            items.append(re.sub(r"^ *(\d\d:\d\d|[\d:]+ [ap]m|noon|-|!|>)? +", "", line))
    said = (part for item in items for part in re.split(r"(?<=[.;:]) ", item))
    return [part.strip(" .;:!") for part in said if len(part.split()) > 3]


@pytest.mark.parametrize("name", _ROOMS)
def test_it_fits_one_screen_and_says_nothing_twice(tmp_path: Path, name: str) -> None:
    room = _ROOMS[name](tmp_path)
    known, first = _LINES[name]
    for number, now in enumerate(_LOOKS):
        screen = at(room, now, "today").stdout
        lines = screen.splitlines()
        assert len(lines) <= (first if number < 2 else known), screen
        assert max(map(len, lines)) <= 80
        twice = [said for said, often in Counter(sentences(screen)).items() if often > 1]
        assert not twice
        jotted(room, now.replace(":00", ":45"), "done")


@pytest.mark.parametrize("name", _ROOMS)
@pytest.mark.parametrize("options", [(), ("--why", "--cautions")])
def test_it_folds_to_forty_columns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, options: tuple[str, ...]
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    screen = run(_ROOMS[name](tmp_path), "today", *options).stdout
    assert [line for line in screen.splitlines() if len(line) > 40] == []


def test_what_is_urgent_stands_first_and_where_the_plan_ends_last(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    text = room.read_text("utf-8")
    room.write_text(re.sub(r"(?m)^grams = .*", "grams = 2", text), "utf-8")
    screen = run(room, "today").stdout
    headings = [
        line.split(",")[0].split(" 0")[0] for line in screen.splitlines()
        if re.match("[A-Z][A-Z ]{2}", line)
    ]  # fmt: skip
    assert headings[:4] == ["ACT NOW", "ROUND", "TO SET GOING", "TAKE CARE"]
    urgent = screen.split("\n\n")[1].splitlines()[1:]
    asked = re.compile(r"  - by \w{3} \d+ Jan \d\d:\d\d: ")
    assert urgent
    assert all(asked.match(line) or line.startswith("    ") for line in urgent)
    (tmp_path / "small").mkdir()
    last = run(rooms.small(tmp_path / "small"), "today").stdout.split("\n\n")[-1]
    assert last.startswith("CAN WAIT\n")
    assert "Nothing falls short until Tue 19 Jan 2027, where the plan ends." in last


def test_steps_that_were_done_lately_keep_only_a_mark(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    dust, mould = "Cyst dust is a known allergen", "mould spores can harm the lungs"
    first = at(room, "2027-01-05T07:00", "today").stdout
    assert dust in first
    assert mould in first
    at(room, "2027-01-05T18:00", "today")
    jotted(room, "2027-01-05T19:00", "done")
    known = at(room, "2027-01-07T07:00", "today").stdout
    assert re.search(r"(?m)^  18:30  set bottle 1: .*(?:\n {9}.*)? ?salt !$", known)
    assert re.search(r"(?m)^  07:20  MW-1: .* !$", known)
    assert dust not in known
    assert "TAKE CARE (all: livefood today --cautions)\n" in known
    everything = at(room, "2027-01-07T07:00", "today", "--cautions").stdout
    assert dust in everything
    assert mould in everything
    assert "livefood today --cautions" not in everything
    # Told and not done is no practice; neither is what was done more than a month ago.
    later = at(room, "2027-02-12T07:00", "today", "--days", "5").stdout
    assert dust in " ".join(later.split())


@pytest.mark.parametrize(
    ("told", "text"),
    [
        (["GW-1", "GW-2", "GW-3", "MW-7"], "GW-1 to GW-3 and MW-7"),
        (["A1", "A2"], "A1 and A2"), (["A1"], "A1"),
        (["tub", "A9", "A10", "A11"], "tub and A9 to A11"),
    ],
)  # fmt: skip
def test_names_that_follow_each_other_are_a_range(told: list[str], text: str) -> None:
    assert names(told) == text


def _split(parent: str, child: str) -> Split:
    at_ = datetime(2027, 1, 5, 18, 30, tzinfo=UTC)
    return Split(
        id=f"split/{child}", at=at_, until=at_, subject=parent, other=child, why="", starter_g=10,
        medium_g=150,
    )  # fmt: skip


def test_splits_that_are_alike_are_told_as_one() -> None:
    pairs = [(f"GW-{i % 3 + 1}", f"GW-{i + 4}") for i in range(6)]
    tasks = [_split(*pair) for pair in pairs]
    assert [len(group) for group in together(tasks, lambda t: alike(t, "grindal_worm"))] == [6]
    assert group_text(tasks, USUAL) == (
        "split 6 of GW-1 to GW-3: 10 g onto 150 g of new medium each, label GW-4 to GW-9"
    )
    assert group_text([tasks[0], tasks[3], tasks[1]], USUAL).startswith(
        "split 3 of GW-1 (2), GW-2: "
    )
    other = evolve(tasks[0], medium_g=200)
    assert len(together([*tasks, other], lambda t: alike(t, "grindal_worm"))) == 2
