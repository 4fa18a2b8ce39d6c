"""The page of all fry in a large room: each brood is a line, and its forms come when wanted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.rooms import grown
from tests.page.room import Page

#: What docs/page.md promises of any page [bytes].
_LARGEST = 150_000
_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    """Forty tanks, each with a brood."""
    page = Page(grown(tmp_path), monkeypatch)
    page.at(_MORNING)
    return page


def test_no_page_of_forty_broods_is_larger_than_is_promised(page: Page) -> None:
    shown = page.get("fry")
    assert len(shown.encode()) <= _LARGEST
    assert shown.count('<details data-keep="brood-') == 40
    for name in re.findall(r' href="(fry\?brood=[^"]+)"', shown):
        assert len(page.get(name).encode()) <= _LARGEST


def test_a_line_leads_to_the_brood_with_all_that_can_be_noted_of_it(page: Page) -> None:
    """Without script a link does; with it, what has the id of the folded part is put there."""
    shown = page.get("fry")
    folded = r'<div id="(brood-[^"]+)">\s*<p id="(note-[^"]+)"><a class="button" href="([^"]+)">'
    link = re.search(folded, shown)
    assert link is not None
    assert link[3] == "fry?brood=bubble%20nest%200"
    assert f'data-more="{link[3]}"' in shown
    own = page.get(link[3])
    assert f'<div id="{link[1]}">' in own
    assert f'<div id="{link[2]}">' in own
    assert 'href="fry">All broods</a>' in own
    assert "Measure bubble nest 0" in own
    assert "egg scatterer 1" not in own
    form = re.search(r'name="event" value="count">\s*<input[^>]*value="([^"]+)"', own)
    assert form is not None
    page.post(kind="event", event="count", subject=form[1], amount="28")
    assert page.journal()[-1].split(",")[1:3] == ["count", "bubble nest 0"]
    assert "about 28 fry" in page.get("fry")


def test_a_brood_that_is_gone_leads_to_all(page: Page) -> None:
    assert page.get("fry?brood=nobody").count('<details data-keep="brood-') == 40
