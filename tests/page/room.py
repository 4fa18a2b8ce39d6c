"""The page of the demo room as a test sees it: a client with the right key, at a set time."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from attrs import define, field

from cli.options import Where
from cli.page.app import make_app
from cli.page.desk import Desk
from cli.page.door import Door, Keys
from tests.cli.invented import quick_room, room_file

KEYS = Keys("keeper-" + "k" * 25, "helper-" + "h" * 25)
ORIGIN = "http://localhost"


@define
class Page:
    """One room's page.

    Attributes:
        room: its file. patch: sets the clock, which stands where it was put.
    """

    room: Path
    patch: pytest.MonkeyPatch
    client: Any = field(init=False)
    door: Door = field(init=False)
    _number: int = field(default=0, init=False)

    def __attrs_post_init__(self) -> None:
        self.door = Door(KEYS)
        self.client = make_app(Desk(Where(self.room, None)), self.door).test_client()

    def at(self, clock: str) -> None:
        """Sets the clock."""
        self.patch.setenv("LIVEFOOD_NOW", clock)

    def get(self, name: str = "", *, key: str = KEYS.keeper, code: int = 200) -> str:
        """A page."""
        answer = self.client.get(f"/{key}/{name}")
        assert answer.status_code == code, answer.text[:2000]
        return str(answer.text)

    def post(
        self, *, key: str = KEYS.keeper, code: int = 200, **form: str | float
    ) -> dict[str, Any]:
        """An answer as the script sends it; with an id of its own unless one is given."""
        self._number += 1
        found = self.client.post(
            f"/{key}/answer", data={"id": f"test-{self._number}", **form},
            headers={"Origin": ORIGIN, "Accept": "application/json"},
        )  # fmt: skip
        assert found.status_code == code, found.text[:2000]
        return dict(found.json) if found.is_json else {}

    def journal(self) -> list[str]:
        """The lines of the journal without its head."""
        path = self.room.with_name("journal.csv")
        return path.read_text("utf-8").splitlines()[1:] if path.exists() else []

    def task(self, begins: str, name: str = "") -> str:
        """The id of a told task that the page offers to answer."""
        found: list[str] = re.findall(r'name="task" value="([^"]+)"', self.get(name))
        what, _, name = begins.partition("/")
        return next(k for k in found if k.startswith(f"{what}/") and k.endswith(name))


def demo_page(
    folder: Path, patch: pytest.MonkeyPatch, clock: str = "2027-01-05T07:00", *,
    whole: bool = False,
) -> Page:  # fmt: skip
    """The page of the demo room, which looks three days ahead.

    Args:
        whole: with its vinegar eels and its days for splits, which cost two thirds of a plan.
    """
    room = room_file(folder, horizon_days="3") if whole else quick_room(folder)
    page = Page(room, patch)
    page.at(clock)
    return page
