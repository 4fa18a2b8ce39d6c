"""What must be acted on stands first, and what a page tells is what it has shown."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted, quick_room, room_file
from tests.page.room import Page, demo_page

_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    return demo_page(tmp_path, monkeypatch, _MORNING)


def _said(text: str) -> str:
    """What a page says, without its marks."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def _told(page: Page) -> set[str]:
    """The kinds of all tasks that were told."""
    record = page.room.with_name("told.jsonl")
    lines = record.read_text("utf-8").splitlines() if record.exists() else []
    return {t["id"].partition("/")[0] for x in lines for t in json.loads(x).get("told", ())}


def test_fry_in_danger_stand_above_the_round_and_on_their_cards(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = quick_room(tmp_path)
    away = "[[away]]\nfrom = 2027-01-05\nto = 2027-01-10\n"
    room.write_text(f"{room.read_text('utf-8')}\n{away}", "utf-8")
    at(room, "2027-01-04T18:00", "today")
    now = "2027-01-11T06:45"
    urgent = at(room, now, "today").stdout.partition("ACT NOW")[2].partition("\n\n")[0]
    hungry = re.findall(r"in\s+([A-Z]\d)\s+\(by", urgent)
    assert len(hungry) > 1
    page = Page(room, monkeypatch)
    page.at(now)
    shown = page.get()
    strip, _, rest = shown.partition("</details>")
    assert "Act now:" in strip
    assert "Feed these first, little and often" in _said(strip)
    assert strip.index("<summary>") < strip.index("first, little and often")
    assert 'class="round"' not in strip
    for tank in hungry:
        assert f'href="#tank-{tank}"' in strip
        card = rest.partition(f'id="tank-{tank}"')[2].partition("</li>")[0]
        assert "first, little and often: without food half of them are past saving" in card
    assert "Feed these first" not in rest, "it is said once"
    assert page.get("fry").count("first, little and often") >= len(hungry)


def test_a_trifle_is_no_matter_for_the_top_of_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only what today tells stands there: what can wait below what cannot."""
    page = Page(room_file(tmp_path, horizon_days="21"), monkeypatch)
    page.at(_MORNING)
    screen = at(page.room, _MORNING, "today").stdout
    said = _said(page.get())
    assert ("ACT NOW" in screen) == ("Act now:" in said)
    for when in re.findall(r"- by (\w+ \d+ Jan [\d:]+): ", screen):
        assert f"By {when}: " in said


def test_what_is_to_be_set_going_stands_with_its_round_and_is_ticked_there(page: Page) -> None:
    page.get()
    page.at("2027-01-05T18:25")
    shown = page.get()
    round_ = shown.partition('<section class="round">')[2].partition("</section>")[0]
    going = re.search(r'href="#(going-[^"]+)">To set going with it: ([^<]+)<', round_)
    assert going is not None
    assert "set bottle 1" in going[2]
    card = round_.partition(f'id="{going[1]}"')[2]
    assert "Set bottle 1: " in card
    key = page.task("set_hatch/")
    page.post(kind="task", task=key, what="done")
    assert [line.split(",")[1:3] for line in page.journal()] == [["set", "bottle 1"]]
    again = page.get().partition('<section class="round">')[2].partition("</section>")[0]
    assert "To set going with it: set bottle 1" not in again
    assert "Take back: After feeding" in again or "Take back: Set bottle 1" in again


def test_after_the_whole_round_the_page_shows_what_is_still_to_be_set(page: Page) -> None:
    page.get()
    page.at("2027-01-05T18:25")
    shown = page.get()
    at_ = re.search(r'name="round" value="([^"]+)"', shown)
    assert at_ is not None
    page.post(kind="round", round=at_[1])
    shown = page.get()
    over, _, after = shown.partition('class="over"')[2].partition("</details>")
    assert "over, and noted" in over
    before, _, rest = after.partition('<section class="round">')
    assert "<h2>To set going</h2>" in before
    assert "Set bottle 1: " in _said(before)
    assert rest, "the next round stands below"


def test_the_hatch_of_the_next_round_is_named_before_it_counts_as_told(page: Page) -> None:
    morning = "2027-01-06T07:20"
    for looked in (_MORNING, "2027-01-05T18:25", morning):
        page.at(looked)
        page.get()
    screen = " ".join(at(page.room, morning, "today").stdout.split())
    ripe = re.findall(r"(\w+ \d+) is ripe for the round of", screen)
    said = _said(page.get())
    assert ripe
    for vessel in ripe:
        assert f"{vessel} is ripe for the round of" in said


def test_a_page_tells_what_it_shows_and_nothing_else(page: Page) -> None:
    for name in ("ahead", "cultures", "fry", "notes"):
        page.get(name)
        assert _told(page) == set(), name
    page.get("todo")
    told = _told(page)
    assert told
    assert not told & {"feed", "harvest_worms", "harvest_hatch", "soak", "first_food"}
    page.get()
    assert {"feed", "harvest_worms", "harvest_hatch"} <= _told(page)
    # What was not shown is not taken as done.
    page.at("2027-01-05T12:00")
    assert "Taken as done" in page.get()


def test_a_round_that_only_the_page_of_fry_was_opened_for_is_not_taken_as_done(
    page: Page,
) -> None:
    page.get("fry")
    page.at("2027-01-05T12:00")
    assert "Taken as done" not in page.get()


def test_first_foods_of_one_round_that_are_alike_are_one_card(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = quick_room(tmp_path)
    more = "".join(
        f'\n[[brood]]\nname = "{name}"\ntank = "{tank}"\nclass = "substrate_spawner"\n'
        "count = 50\nspawned = 2026-12-29\n"
        for name, tank in (("acara 7", "B1"), ("acara 8", "B1"))
    )
    room.write_text(room.read_text("utf-8") + more, "utf-8")
    page = Page(room, monkeypatch)
    page.at("2027-01-06T07:20")
    said = _said(page.get())
    assert said.count("First food today for acara") == 1
    assert "First food today for acara 7 in B1 and acara 8 in B1. " in said


def test_what_a_count_brings_to_be_set_comes_after_the_round_that_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the middle of the round its steps and tanks stay at the top, as on `today`."""
    page = Page(room_file(tmp_path), monkeypatch)
    page.at("2027-01-05T07:20")
    page.get()
    page.at("2027-01-05T07:40")
    jotted(page.room, "2027-01-05T07:40", "hatched", "bottle 1", "5000", "--sure")
    shown = page.get()
    before, _, after = shown.partition('<section class="round">')
    round_ = after.partition("</section>")[0]
    assert "Set bottle 2" not in before
    assert "To set going with it: set bottle 2" in round_
    assert round_.index("Before the tanks") < round_.index("Set bottle 2: ")
    screen = at(page.room, "2027-01-05T07:40", "today").stdout
    assert screen.index("ROUND 07:30") < screen.index("set bottle 2: ")
