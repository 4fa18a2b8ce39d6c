"""The page of the year in a browser: nothing overflows, all can be read, one page on paper."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.browser.chromium import Browser, find_chromium
from tests.cli import rooms
from tests.cli.invented import room_file, run

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)

from tests.browser.test_sheet_pages import OVERFLOWING, POOR_CONTRAST

_ROOMS: dict[str, Callable[[Path], Path]] = {"demo": room_file, "large": rooms.large}


@pytest.fixture(name="browser", scope="module")
def _browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


@pytest.fixture(name="page", params=_ROOMS)
def _page(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    room = _ROOMS[request.param](tmp_path)
    out = tmp_path / "year.html"
    run(room, "year", "--out", str(out))
    return out


def test_it_fits_and_can_be_read_in_each_width_and_on_paper(browser: Browser, page: Path) -> None:
    for width in (1200, 768, 390, 320):
        browser.open(page, width=width, phone=width < 500)
        browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
        assert browser.run("document.documentElement.scrollWidth") <= width
        assert browser.run(OVERFLOWING) == []
        for scheme in ("dark", "light"):
            browser.scheme(scheme)
            assert browser.run(POOR_CONTRAST) == [], scheme
    browser.open(page, width=1200)
    assert browser.requested() == [page.resolve().as_uri()]
    assert browser.print_pdf() == [(210, 297)]
