"""Invented rooms on a fixed day: a small one, the demo, one in US units, and one of forty tanks."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

from tests.cli.invented import TODAY, room_file

_CLASSES = (
    "bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "annual_killifish",
)  # fmt: skip
#: One tank of labyrinths hatched this morning, and nothing to give them.
CELLAR = """
[room]
name = "cellar"
timezone = "UTC"
temperature_c = 24
as_of = 2027-02-01T07:00:00
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]

[[tank]]
name = "A1"
litres = 40
temperature_c = 24

[[brood]]
name = "labyrinths"
tank = "A1"
class = "bubble_nest"
count = 100
hatched = 2027-02-01
"""
_SMALL = """\
[room]
name = "Fernwick shelf"
timezone = "Europe/Lisbon"
as_of = 2027-01-04
temperature_c = 24
horizon_days = 14

[[tank]]
name = "A1"
litres = 30
temperature_c = 26

[[brood]]
name = "barbs"
tank = "A1"
class = "egg_scatterer"
count = 60
spawned = 2026-12-26

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""


def small(folder: Path) -> Path:
    """One tank and one culture."""
    path = folder / "room.toml"
    path.write_text(_SMALL, "utf-8")
    return path


def american(folder: Path) -> Path:
    """The demo room in US units."""
    return room_file(folder, units='"us"')


def large(folder: Path, *, cysts_g: float = 500, cultures: int = 14) -> Path:
    """Forty tanks, each with a brood, in five rows of eight."""
    text = (
        '[room]\nname = "Tollgate hall"\ntimezone = "Europe/Lisbon"\nas_of = 2027-01-04\n'
        "temperature_c = 24\nhorizon_days = 14\nfridge_c = 5\n"
    )
    for i in range(40):
        tank, form = f"{'ABCDE'[i // 8]}{i % 8 + 1}", _CLASSES[i % len(_CLASSES)]
        text += f'[[tank]]\nname = "{tank}"\nlitres = 40\ntemperature_c = 26\n'
        text += (
            f'[[brood]]\nname = "{form.replace("_", " ")} {i}"\ntank = "{tank}"\nclass = "{form}"\n'
            f"count = {30 + 7 * i % 90}\nspawned = {TODAY - timedelta(days=5 * i % 60)}\n"
        )
    for i in range(cultures):
        kind, medium, mark = ("microworm", 150, "MW") if i % 2 else ("vinegar_eel", 1500, "VE")
        born = TODAY - timedelta(days=(3 + 5 * i) % (24 if i % 2 else 120))
        surface = "surface_cm2 = 180\n" if i % 2 else ""
        text += (
            f'[[culture]]\nname = "{mark}-{i // 2 + 1}"\nkind = "{kind}"\nstarted = {born}\n'
            f"medium_g = {medium}\n{surface}starter_g = {medium / 12:g}\n"
        )
    for i in range(3):
        text += f'[[vessel]]\nname = "bottle {i + 1}"\nlitres = {1 + i}\ntemperature_c = 27\n'
    path = folder / "room.toml"
    path.write_text(f"{text}[cysts]\ngrams = {cysts_g}\n", "utf-8")
    return path


def grown(folder: Path) -> Path:
    """The same, with fry that eat dry food alone: forty broods that are planned in no time."""
    path = large(folder, cultures=0)
    text = path.read_text("utf-8").replace("horizon_days = 14", "horizon_days = 1")
    text = re.sub(r"(?m)^spawned = .*", 'spawned = 2026-11-20\nfoods = ["dry"]', text)
    path.write_text(text, "utf-8")
    return path
