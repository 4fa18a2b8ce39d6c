"""What a tap says of its time: a label on glass stays, and a skip bears the time of its press."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.page.room import Page, demo_page


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    """The demo room, in whose round of 07:30 bottle 1 is drawn off at 07:00 into a jar."""
    return demo_page(tmp_path, monkeypatch, "2027-01-05T06:50")


def _jars(page: Page) -> set[str]:
    text = " ".join(re.sub(r"<[^>]+>", " ", page.get()).split())
    return set(re.findall(r"the jar of (\w{3} \d\d:\d\d)", text))


@pytest.mark.parametrize("form", [{"what": "done"}, {"what": "other", "amount": "210000"}])
def test_a_jar_keeps_the_name_that_was_told_though_it_is_ticked_early(
    page: Page, form: dict[str, Any]
) -> None:
    """The label is on the glass by the time of the tick: whoever feeds at 18:30 looks for it."""
    assert _jars(page) == {"Tue 07:00"}
    page.post(kind="task", task=page.task("harvest_hatch/"), **form)
    assert page.journal()[0].startswith("2027-01-05T06:50:00")
    for clock in ("2027-01-05T06:50", "2027-01-05T07:20", "2027-01-05T18:10"):
        page.at(clock)
        assert _jars(page) == {"Tue 07:00"}, clock


def test_all_of_a_round_ticked_early_feeds_out_of_the_jar_of_its_label(page: Page) -> None:
    at = re.search(r'name="round" value="([^"]+)"', page.get())
    assert at is not None
    page.at("2027-01-05T06:50")
    page.post(kind="round", round=at[1])
    assert {line[:19] for line in page.journal()} == {"2027-01-05T06:50:00"}
    page.at("2027-01-05T18:10")
    assert _jars(page) == {"Tue 07:00"}


def test_a_skip_that_waited_bears_the_time_of_its_press(page: Page) -> None:
    """Pressed at 07:20, and brought at 08:05 by the network."""
    page.at("2027-01-05T07:20")
    worms, feed = page.task("harvest_worms/MW-1"), page.task("feed/")
    page.at("2027-01-05T08:05")
    page.post(kind="task", task=worms, what="skip", ago="2700")
    page.post(kind="tank", task=feed, tank="B1", what="skip", ago="2700")
    assert [line[:19] for line in page.journal()] == ["2027-01-05T07:20:00"] * 2


def test_none_of_a_round_pressed_before_it_bears_that_time(page: Page) -> None:
    """What was to be done by then bears its own time."""
    page.at("2027-01-05T07:20")
    keys = [page.task(each) for each in ("harvest_hatch/", "harvest_worms/MW-1", "feed/")]
    page.at("2027-01-05T08:05")
    page.post(kind="tasks", task="\n".join(keys), what="skip", ago="2700")
    times = {line.split(",")[3].partition("/")[0]: line[11:16] for line in page.journal()}
    assert times == {"harvest_hatch": "07:00", "harvest_worms": "07:20", "feed": "07:20"}
