"""Makes the pictures of the documentation from the demo room.

Run from the checkout: ``python -m tests.browser.screenshots [FOLDER]`` (default docs/img).
"""

from __future__ import annotations

import sys
import tempfile
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.commands.demo_room import demo_text
from cli.main import main
from tests.browser.chromium import Browser
from tests.browser.morning import morning, served

#: Spawnings for the picture of the year.
_PLANNED = "".join(
    f'\n[[brood]]\nname = "danio {number}"\ntank = "{tank}"\nclass = "egg_scatterer"\n'
    f"count = {count}\nplanned = {day}\n"
    for number, tank, count, day in (
        (4, "A4", 400, "2027-03-08"), (5, "A5", 400, "2027-03-10"), (6, "B2", 150, "2027-06-01"),
    )
)  # fmt: skip
_AWAY = ["--helper", "--from", "2027-01-10", "--to", "2027-01-14"]
#: Name, command, and the window in CSS pixels.
_SHOTS: tuple[tuple[str, list[str], int, int, bool], ...] = (
    ("sheet-desktop", ["sheet"], 860, 1100, False),
    ("sheet-phone", ["sheet"], 390, 844, True),
    ("sheet-week", ["sheet", "--week"], 1040, 760, False),
    ("helper-desktop", ["sheet", *_AWAY], 860, 1100, False),
    ("year-desktop", ["year"], 860, 900, False),
)


def take(folder: Path) -> None:
    """Writes every picture."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as work, Browser() as browser:
        room = Path(work, "room.toml")
        room.write_text(demo_text(date(2027, 1, 5)), "utf-8")
        for name, command, width, height, phone in _SHOTS:
            page = Path(work, f"{name}.html")
            if name == "year-desktop":
                room.write_text(demo_text(date(2027, 1, 5)) + _PLANNED, "utf-8")
            args = ["--room", str(room), "--now", "2027-01-05T07:00", "--out", str(page)]
            CliRunner().invoke(main, [*command, *args], catch_exceptions=False)
            browser.open(page, width=width, height=height, phone=phone)
            browser.picture(folder / f"{name}.png", whole=False)
        room.write_text(demo_text(date(2027, 1, 5)), "utf-8")
        with pytest.MonkeyPatch.context() as patch, served(room, patch) as url:
            morning(
                browser, url, lambda name: browser.picture(folder / f"{name}.png", whole=False)
            )  # fmt: skip


if __name__ == "__main__":
    take(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/img"))
