"""Hypothesis strategies for whole rooms, written as room files so that the reader is used too."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from attrs import frozen
from hypothesis import strategies as st

from cultures.room.file import read_room
from cultures.room.room import Room

CLASSES = ("annual_killifish", "armoured_catfish", "bubble_nest", "egg_scatterer", "goldfish",
           "livebearer", "mouthbrooder", "non_annual_killifish", "rainbowfish", "rock_dweller",
           "substrate_spawner", "tiny_scatterer")  # fmt: skip
SOLID = ("microworm", "banana_worm", "grindal_worm")
LIQUID = ("vinegar_eel", "rotifer", "paramecium")
#: Surfaces on which so many grams lie neither in a film nor in a tower [cm2].
_SURFACES = {20: [5, 180], 150: [8, 180, 900], 1500: [180, 900, 80]}
_PREFIX = {"microworm": "MW", "banana_worm": "BW", "grindal_worm": "GW", "vinegar_eel": "VE",
           "rotifer": "RO", "paramecium": "PA"}  # fmt: skip
#: A zone with a day on which its clocks change (IANA time zone database), and two without.
ZONES_AND_DAYS = (
    ("Europe/Lisbon", date(2027, 3, 28)),
    ("Europe/Lisbon", date(2027, 10, 31)),
    ("America/New_York", date(2027, 3, 14)),
    ("America/New_York", date(2027, 11, 7)),
    ("Australia/Lord_Howe", date(2027, 10, 3)),
    ("Australia/Lord_Howe", date(2027, 4, 4)),
    ("Asia/Kathmandu", date(2027, 6, 1)),
    ("UTC", date(2027, 1, 15)),
)
_ROUNDS = (
    (("07:30", "18:30"), ("06:30", "22:30")),
    (("08:00",), ("07:00", "21:00")),
    (("06:45", "12:30", "19:00"), ("06:00", "22:30")),
    (("06:00", "10:00", "14:00", "18:00"), ("06:00", "18:00")),
    (("01:30", "13:30"), ("00:30", "23:30")),
)
#: Feeding times of Saturdays and Sundays, which lie within each of these waking days.
_WEEKENDS = (("09:00", "13:00", "18:00"), ("12:00",))


@frozen
class RoomCase:
    """A room file and the moment at which it is looked at.

    Attributes:
        text: the TOML. today: the day it is read on. at: wall time of the look.
    """

    text: str
    today: date
    at: str

    def room(self) -> Room:
        """The room of the text."""
        return read_room(self.text, today=self.today + timedelta(days=60))

    def now(self, *, days: int = 0) -> datetime:
        """The moment of the look, or some days later, in the room's zone."""
        day = self.today + timedelta(days=days)
        zone = self.room().timezone
        return datetime.fromisoformat(f"{day}T{self.at}").replace(tzinfo=zone)


@st.composite
def room_cases(
    draw: st.DrawFn, *, longest_days: int = 14, most_broods: int = 5, most_vessels: int = 3
) -> RoomCase:
    """Any room that a file may describe, most of them such that something is short."""
    zone, change = draw(st.sampled_from(ZONES_AND_DAYS))
    today = change - timedelta(days=draw(st.integers(0, 12)))
    rounds, awake = draw(st.sampled_from(_ROUNDS))
    head: dict[str, Any] = {
        "name": '"Any room"',
        "timezone": f'"{zone}"',
        "as_of": today - timedelta(days=draw(st.sampled_from([0, 0, 1, 3, 20]))),
        "rounds": _listed(rounds),
        "awake": _listed(awake),
        "horizon_days": draw(st.integers(min(3, longest_days), longest_days)),
        "makeup_ml": draw(st.sampled_from([5, 60, 100, 500])),
        "effort_g": draw(st.sampled_from([0, 1, 3, 20])),
        "spare_cultures": draw(st.integers(1, 3)),
        "units": draw(st.sampled_from(['"metric"', '"us"'])),
        "variety": draw(st.integers(1, 3)),
    }
    _temperatures(draw, head)
    if draw(st.booleans()):
        head["fridge_c"] = draw(st.sampled_from([1, 5, 9.5, 12]))
    if draw(st.integers(0, 3)) == 0:
        head["weekend_rounds"] = _listed(draw(st.sampled_from(_WEEKENDS)))
    if draw(st.integers(0, 2)) == 0:
        head["shelf"] = draw(st.integers(1, 6))
    if draw(st.booleans()):
        head["split_days"] = _listed(draw(st.sampled_from([("sat", "sun"), ("wed",)])))
    parts = [_table("[room]", head)]
    foods: set[str] = set()
    parts += _cultures(draw, today, foods)
    parts += _vessels(draw, today, str(zone), most_vessels)
    if any(p.startswith("[[vessel]]") for p in parts):
        foods.add("brine_shrimp")
    parts += _broods(draw, today, most_broods, sorted({*foods, "dry", "microworm"}))
    parts += _absences(draw, today)
    at = draw(st.sampled_from(["00:00", "05:00", "07:00", "07:30", "12:15", "23:59"]))
    return RoomCase("\n".join(parts), today, at)


def _temperatures(draw: st.DrawFn, head: dict[str, Any]) -> None:
    if draw(st.booleans()):
        head["temperature_c"] = draw(st.sampled_from([23.5, 18.5, 27, 12, 30, 3]))
    else:
        cold, warm = draw(st.integers(2, 20)), draw(st.integers(20, 30))
        half = [cold + (warm - cold) * i / 6 for i in range(6)]
        head["temperature_by_month_c"] = [round(t, 1) for t in [*half, *reversed(half)]]


def _cultures(draw: st.DrawFn, today: date, foods: set[str]) -> list[str]:
    parts = []
    for kind in draw(_some(SOLID + LIQUID, draw(st.sampled_from([2, 1, 3, 0])))):
        foods.add(kind)
        for number in range(draw(st.sampled_from([2, 1, 3]))):
            medium = draw(st.sampled_from([150, 1500, 20]))
            age = draw(st.sampled_from([9, 16, 4, 22, 30, 60, 1, 0, 200, 3000]))
            entry: dict[str, Any] = {
                "name": f'"{_PREFIX[kind]}-{number + 1}"',
                "kind": f'"{kind}"',
                "started": today - timedelta(days=age),
                "medium_g": medium,
                "starter_g": medium * draw(st.sampled_from([0.06, 0.1, 0.1, 0.001, 1])),
            }
            if kind in SOLID or draw(st.booleans()):
                entry["surface_cm2"] = draw(st.sampled_from(_SURFACES[medium]))
            if draw(st.booleans()):
                entry["temperature_c"] = draw(st.sampled_from([5, 15, 22, 25, 29.5]))
            parts.append(_table("[[culture]]", entry))
    return parts


def _vessels(draw: st.DrawFn, today: date, zone: str, most: int) -> list[str]:
    parts = []
    for number in range(min(most, draw(st.sampled_from([1, 2, 3, 2, 1, 0])))):
        litres = draw(st.sampled_from([1, 0.7, 2, 0.1, 25]))
        entry: dict[str, Any] = {
            "name": f'"V{number}"',
            "litres": litres,
            "temperature_c": draw(st.sampled_from([27, 28.5, 25, 22, 16, 32])),
        }
        if draw(st.booleans()):
            entry["salinity_g_per_l"] = draw(st.sampled_from([25, 35, 10, 50]))
        parts.append(_table("[[vessel]]", entry))
        if draw(st.integers(0, 2)) == 0:
            day = today - timedelta(days=draw(st.integers(0, 4)))
            offset = draw(st.sampled_from(["", "+02:00", "Z"])) if zone else ""
            grams = min(draw(st.sampled_from([0.1, 1.3, 4])), 20 * litres)
            stands = {"vessel": f'"V{number}"', "cysts_g": grams,
                      "set_at": f"{day}T{draw(st.sampled_from(['00:10', '06:43', '18:30']))}:00"
                                f"{offset}"}  # fmt: skip
            parts.append(_table("[[hatch]]", stands))
    tin = draw(st.sampled_from([400, 60, 12, 60, 3, 400, 0.04, 0, None]))
    if tin is not None:
        cysts: dict[str, Any] = {"grams": tin}
        if draw(st.booleans()):
            cysts["nauplii_per_gram"] = draw(st.sampled_from([1500, 150000, 290000]))
        parts.append(_table("[cysts]", cysts))
    return parts


def _broods(draw: st.DrawFn, today: date, most: int, foods: list[str]) -> list[str]:
    parts = []
    for number in range(min(most, draw(st.sampled_from([2, 3, 1, 5, 4, 3, 2, 0])))):
        tank = {
            "name": f'"T{number}"',
            "litres": draw(st.sampled_from([0.5, 20, 200])),
            "temperature_c": draw(st.sampled_from([22, 24, 26.5, 29])),
        }
        parts.append(_table("[[tank]]", tank))
        for twin in range(draw(st.sampled_from([1, 1, 1, 2]))):
            day = today - timedelta(days=draw(st.sampled_from([6, 12, 2, 25, 0, 60, 150])))
            anchor = draw(st.sampled_from(["spawned", "hatched", "free_swimming", "length_mm"]))
            brood: dict[str, Any] = {
                "name": f'"b{number}.{twin}"',
                "tank": f'"T{number}"',
                "class": f'"{draw(st.sampled_from(CLASSES))}"',
                "count": draw(st.sampled_from([60, 300, 7, 1, 3000])),
            }
            if anchor == "length_mm":
                brood["length_mm"] = draw(st.sampled_from([2, 4.5, 9, 16, 40]))
                brood["measured_on"] = day
            else:
                brood[anchor] = day
            if draw(st.booleans()):
                brood["survival_per_day"] = draw(st.sampled_from([0.9, 0.99, 1]))
            if draw(st.sampled_from([0, 0, 0, 1])):
                chosen = st.lists(st.sampled_from(foods), min_size=1, max_size=3, unique=True)
                brood["foods"] = _listed(draw(chosen))
            parts.append(_table("[[brood]]", brood))
    return parts


def _absences(draw: st.DrawFn, today: date) -> list[str]:
    parts = []
    for _ in range(draw(st.sampled_from([0, 0, 1, 2]))):
        first = today + timedelta(days=draw(st.integers(-2, 15)))
        last = first + timedelta(days=draw(st.sampled_from([0, 1, 4, 20])))
        helper = draw(st.sampled_from(["true", "false"]))
        parts.append(_table("[[away]]", {"from": first, "to": last, "helper": helper}))
    return parts


def _some(words: tuple[str, ...], count: int) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from(words), min_size=count, max_size=count, unique=True)


def _listed(words: Any) -> str:
    return "[" + ", ".join(f'"{word}"' for word in words) + "]"


def _table(header: str, entries: dict[str, Any]) -> str:
    return "\n".join([header, *(f"{key} = {value}" for key, value in entries.items())]) + "\n"
