"""A morning on the page of the demo room, by emulated touch: the test's, and the pictures'."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from cli.options import Where
from cli.page.app import make_app
from cli.page.desk import Desk
from cli.page.door import Door
from tests.browser.chromium import Browser
from tests.browser.finger import Finger
from tests.page.room import KEYS
from tests.page.serving import serving

#: A round done as told with one exception and one count takes no more, digits among them.
MOST_TAPS = 12
_SIZE = {"width": 360, "height": 640}


@contextmanager
def served(room: Path, patch: pytest.MonkeyPatch) -> Iterator[str]:
    """The address of a room's page at twenty past seven."""
    patch.setenv("LIVEFOOD_NOW", "2027-01-05T07:20")
    with serving(make_app(Desk(Where(room, None)), Door(KEYS))) as port:
        yield f"http://127.0.0.1:{port}/{KEYS.keeper}/"


def morning(
    browser: Browser, url: str, picture: Callable[[str], object] = lambda _: None
) -> int:  # fmt: skip
    """Counts the hatch, leaves one tank unfed, and ticks the rest; so many taps it took.

    Args:
        picture: takes one of what the window shows, by its name.
    """
    finger = Finger(browser)

    def shrunk(cards: int) -> None:
        browser.until(f"document.querySelectorAll('.round .card.said').length === {cards}")

    browser.visit(url, **_SIZE, phone=True, sharp=False)
    picture("page-now")
    finger.tap("Counted")
    finger.tap("Nauplii counted in bottle 1")
    finger.type("210000")
    picture("page-count")
    finger.tap("Note it")
    shrunk(1)
    browser.run("document.querySelector('.card.tank').scrollIntoView()")
    picture("page-walk")
    finger.tap("Not fed: tank B1")
    shrunk(2)
    browser.run("document.querySelector('.card.tank').scrollIntoView()")
    picture("page-answered")
    finger.tap("All of this round done as told")
    browser.until("document.querySelector('.over') !== null")
    browser.run("scrollTo(0, 0)")
    picture("page-over")
    return finger.taps
