"""What a room file says, one change at a time: what is read of it, and what is told against it."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from cultures.errors import BadFileError
from cultures.room.file import read_room
from cultures.room.room import Room, SellAt

_TODAY = date(2027, 1, 5)
_GOOD = """\
[room]
timezone = "Europe/Lisbon"
temperature_c = 24

[[tank]]
name = "A1"
litres = 20
temperature_c = 26

[[brood]]
name = "one"
tank = "A1"
class = "egg_scatterer"
count = 100
spawned = 2027-01-02

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = 150
surface_cm2 = 200
starter_g = 15

[[vessel]]
name = "V1"
litres = 1
temperature_c = 27

[[hatch]]
vessel = "V1"
set_at = 2027-01-04T18:30:00
cysts_g = 2

[cysts]
grams = 30

[[away]]
from = 2027-01-10
to = 2027-01-14
"""


def _text(*changes: tuple[str, str]) -> str:
    text = _GOOD
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def _read(*changes: tuple[str, str], now: datetime | None = None) -> Room:
    return read_room(_text(*changes), today=_TODAY, now=now)


def _told(*changes: tuple[str, str], now: datetime | None = None) -> str:
    """All that is told against a file; "" where it is fine."""
    try:
        _read(*changes, now=now)
    except BadFileError as error:
        return str(error)
    return ""


def _head(lines: str) -> tuple[str, str]:
    return ("temperature_c = 24\n", f"temperature_c = 24\n{lines}\n")


def test_what_is_left_out_is_as_the_page_says() -> None:
    room = _read()
    assert (room.rounds, room.awake) == ((time(7, 30), time(18, 30)), (time(6, 30), time(22, 30)))
    assert (room.name, room.units, room.as_of_stated, room.stated_at) == ("fish room", "metric",
                                                                         False, None)  # fmt: skip
    assert (room.horizon_days, room.variety, room.spare_cultures) == (28, 1, 2)
    assert (room.split_weekdays, room.fridge_c, room.shelf, room.sell_at) == ((), None, None, None)
    assert (room.effort_g, room.move_g) == (3.0, 1.0)
    assert (room.hatch_margin, room.makeup_ml) == (0.15, 100.0)
    assert room.as_of == date(2027, 1, 4)  # the latest day of which it speaks
    brood = room.brood("one")
    assert brood.survival_per_day == brood.fry_class.values["survival_per_day"]
    assert (brood.counted_on, brood.chance, brood.foods) == (date(2027, 1, 2), 1.0, None)
    assert room.vessel("V1").salinity_g_per_l == 25
    assert room.away[0].helper is False


#: What stands in the file, what in its place, and what is told then; "" where it is fine.
_CHANGES = [
    # Rounds and hours.
    *(("temperature_c = 24", f"temperature_c = 24\n{lines}", said) for lines, said in (
        ('rounds = ["07:30", "07:30"]', "must ascend, each time once"),
        ('awake = ["07:00", "07:00"]', "the first time must be earlier than the second"),
        ('awake = ["07:30", "18:30"]', ""),
        ('awake = ["07:31", "18:30"]', "07:30 lies outside awake (07:31 to 18:30)"),
        ('awake = ["07:30", "18:29"]', "18:30 lies outside awake"),
        ('awake = ["07:30"]', "awake: must be two times"),
        ("temperature_by_month_c = [1,2,3,4,5,6,7,8,9,10,11,12]", "not both"),
    )),
    # Cultures.
    ("starter_g = 15", "starter_g = 150", ""),
    ("starter_g = 15", "starter_g = 150.1", "150.1 g is more than the medium itself (150 g)"),
    ("surface_cm2 = 200\n", "", "the worms of this kind live at the surface"),
    ("surface_cm2 = 200", "surface_cm2 = 5", "30 cm deep"),
    ('kind = "microworm"', 'kind = "brine_shrimp"', "there is no 'brine_shrimp'"),
    ("started = 2026-12-20", "planned = 2027-02-01", ""),
    ("started = 2026-12-20", "started = 2026-12-20\nplanned = 2027-02-01",
     "goes without started"),
    ("starter_g = 15", 'starter_g = 15\nmedium = "bred"', "there is no 'bred' for microworm"),
    ("starter_g = 15", "starter_g = 15\ntemperature_c = 45", "45 °C: microworm dies"),
    ('kind = "microworm"\n', 'kind = "vinegar_eel"\nmedium = "bread"\n',
     "there is no 'bread' for vinegar_eel; known: apple"),
    # Bottles and hatches.
    ("temperature_c = 27", "temperature_c = 27\nsalinity_g_per_l = 2.9", "is fresh water"),
    ("temperature_c = 27", "temperature_c = 27\nsalinity_g_per_l = 3", ""),
    # Hatching ends in a line from all at 36 to none at 85 g/L: 3 and 2 of 49 parts.
    ("temperature_c = 27", "temperature_c = 27\nsalinity_g_per_l = 82", ""),
    ("temperature_c = 27", "temperature_c = 27\nsalinity_g_per_l = 83", "next to nothing hatches"),
    ("cysts_g = 2", "cysts_g = 20", ""), ("cysts_g = 2", "cysts_g = 20.1", "for a slip"),
    ("set_at = 2027-01-04T18:30:00", "set_at = 2027-01-05T23:59:00", ""),
    ("set_at = 2027-01-04T18:30:00", "set_at = 2027-01-06T00:01:00", "lies in the future"),
    ("grams = 30", 'grams = 30\nstrain = "moon"', "strain of brine_shrimp"),
    # Broods.
    ("count = 100", "count = 100.5", "use a whole number"),
    ("spawned = 2027-01-02", "spawned = 2027-01-02\nchance = 0.5", "goes with planned only"),
    ("spawned = 2027-01-02", "planned = 2027-02-01\nchance = 0.5", ""),
    ("spawned = 2027-01-02", "wetted = 2027-02-01", ""),
    ("spawned = 2027-01-02", "wetted = 2027-02-01\ncollected = 2026-12-01", ""),
    ("spawned = 2027-01-02", "wetted = 2027-02-01\nspawned = 2027-01-02", "goes alone or with"),
    ("spawned = 2027-01-02", "wetted = 2027-02-01\ncollected = 2028-12-01", "in the future"),
    ("spawned = 2027-01-02", 'spawned = 2027-01-02\nsell_at = "900 mm"', "use 5 to 300 mm"),
    ("spawned = 2027-01-02", 'spawned = 2027-01-02\nsell_at = "250 mm"', "is never reached"),
    ('class = "egg_scatterer"\n', 'species = "Danio rerio"\n', ""),
    ('class = "egg_scatterer"\n', 'species = "Danio rerio"\nclass = "egg_scatterer"\n', ""),
    ('class = "egg_scatterer"\n', 'species = "Danio rerio"\nclass = "bubble_nest"\n',
     "does not go with species"),
    ('class = "egg_scatterer"\n', "", "class: is missing; or give its species"),
    ("temperature_c = 26", "temperature_c = 8", "[[tank]] A1 temperature_c: at 8 °C eggs of"),
    # Names.
    ('name = "one"', 'name = "dry"', "there is a word of the journal of this name"),
    ('name = "one"', 'name = "microworm_medium"', "there is a word of the journal"),
    ('name = "one"', 'name = "MW-1"', "there is a brood of this name"),
    ('name = "MW-1"', 'name = "V1"', "there is a culture of this name"),
    ('name = "one"', 'name = " A1 "', ""),  # a tank may be called as its fish
    # Absences.
    ("to = 2027-01-14", "to = 2027-01-10", ""),
    ("to = 2027-01-14", "to = 2027-01-09", "before"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said"), _CHANGES)
def test_one_change_at_a_time(old: str, new: str, said: str) -> None:
    told = _told((old, new))
    assert (said in told) if said else (told == ""), told


def test_a_hatch_of_a_minute_ahead_is_in_the_future_where_the_clock_is_known() -> None:
    """In the room's zone, where the clock has none of its own."""
    for hour, minute, fine in ((18, 30, True), (18, 29, False)):
        now = datetime(2027, 1, 4, hour, minute)  # noqa: DTZ001
        assert (_told(now=now) == "") is fine


def test_each_hatch_beyond_the_first_of_a_vessel_is_told() -> None:
    more = (
        "cysts_g = 2\n"
        + '[[hatch]]\nvessel = "V1"\nset_at = 2027-01-04T19:00:00\ncysts_g = 1\n' * 2
    )
    assert _told(("cysts_g = 2\n", more)).count("holds a hatch already") == 2


@pytest.mark.parametrize(
    ("line", "anchor", "day", "counted"),
    [
        ("hatched = 2027-01-02", "hatched", 2, 2),
        ("free_swimming = 2027-01-03", "free_swimming", 3, 3),
        ("length_mm = 9\nmeasured_on = 2027-01-04", "length", 4, 4),
        ("collected = 2027-01-01", "collected", 1, 1),
        ("wetted = 2027-01-20", "wetted", 20, 20),
        ("spawned = 2027-01-02\ncounted_on = 2027-01-04", "spawned", 2, 4),
        ("planned = 2027-01-20\ncounted_on = 2027-01-04", "planned", 20, 20),
    ],
)  # fmt: skip
def test_what_is_known_of_the_age_of_a_brood(
    line: str, anchor: str, day: int, counted: int
) -> None:
    """Nothing is lost of eggs before they are wetted, nor of a spawning that is planned."""
    (brood,) = _read(("spawned = 2027-01-02", line)).every_brood
    assert (brood.anchor, brood.anchor_date) == (anchor, date(2027, 1, day))
    assert brood.counted_on == date(2027, 1, counted)
    assert brood.chance == (0.7 if anchor == "planned" else 1.0)
    assert brood.length_mm == (9.0 if anchor == "length" else None)


def test_a_moment_of_as_of_is_of_the_rooms_zone_and_a_day_is_none() -> None:
    day = _read(_head("as_of = 2027-01-03"))
    assert (day.as_of, day.as_of_stated, day.stated_at) == (date(2027, 1, 3), True, None)
    plain = _read(_head("as_of = 2027-01-03T09:30:00")).stated_at
    assert plain == datetime(2027, 1, 3, 9, 30, tzinfo=_read().timezone)
    far = _read(_head("as_of = 2027-01-03T09:30:00+02:00")).stated_at
    assert far is not None
    assert (far.hour, far.utcoffset()) == (7, timedelta(0))


def test_a_file_is_true_at_the_latest_day_that_is_past() -> None:
    assert _read(("grams = 30", "grams = 30\nopened = 2027-01-05")).as_of == _TODAY
    assert _read(("spawned = 2027-01-02", "planned = 2027-02-02")).as_of == date(2027, 1, 4)
    bare = read_room(_GOOD[: _GOOD.index("[[tank]]")], today=_TODAY)
    assert bare.as_of == _TODAY


def test_keys_of_the_room_are_those_of_the_room() -> None:
    room = _read(_head('split_days = ["sun", "mon"]\nsell_at = "8 weeks"\nfridge_c = 5\nshelf = 9\n'
                       'units = "us"\nvariety = 2'))  # fmt: skip
    assert room.split_weekdays == (0, 6)
    assert (room.fridge_c, room.shelf, room.units, room.variety) == (5, 9, "us", 2)
    assert room.sell_at == room.brood("one").sell_at == SellAt(None, 56.0)
    own = _read(_head('sell_at = "8 weeks"'),
                ("spawned = 2027-01-02", 'spawned = 2027-01-02\nsell_at = "never"'))  # fmt: skip
    assert own.brood("one").sell_at == SellAt()


def test_supplies_and_alarms_are_read_by_their_names() -> None:
    more = "\n[supplies]\nsalt_g = 500\nsalt_days = 0\nstarter_days = 9\n[alarms]\nfeed = 5\n"
    room = read_room(_GOOD + more, today=_TODAY)
    assert dict(room.stock_g) == {"salt": 500}
    assert dict(room.fetch_days) == {"salt": 0, "starter": 9}
    assert dict(room.alarms_min) == {"feed": 5}


def test_a_spoon_that_was_weighed_weighs_what_is_given_in_spoons() -> None:
    weighed = read_room(_GOOD.replace("cysts_g = 2", 'cysts_g = "1 tsp"')
                        + "\n[tools]\nteaspoon_g = { cysts = 4 }\n", today=_TODAY)  # fmt: skip
    assert weighed.hatches[0].cysts_g == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("x = " + "[" * 5000 + "\n", 1, "nested too deep"),
        ("y = 1\nx = " + "9" * 5000 + "\n", 2, "more digits than anything"),
        ('[room]\nname = "x', 2, ""), ("[room]\nname = Shed\n", 2, "text in quotes"),
        ("[room]\nname\n", 2, "write key = value"), ("[room]\n[room]\n", 2, "stands twice"),
        ("[room]\na = 1\na = 2\n", 3, "the same key stands twice"),
    ],
)  # fmt: skip
def test_what_is_no_toml_is_told_with_its_line(text: str, line: int, said: str) -> None:
    with pytest.raises(BadFileError) as caught:
        read_room(text, today=_TODAY)
    (problem,) = caught.value.problems
    assert problem.line == line
    assert said in problem.message


def test_no_more_feedings_are_planned_than_anybody_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rounds of a day, times days to look ahead, times broods and cultures: 2 x 28 x 2 are 112."""
    limits: dict[str, Any] = {"feedings": 112}
    monkeypatch.setattr("cultures.limits._limits", lambda: _Limits(limits))
    assert _told() == ""
    limits["feedings"] = 111
    assert "rounds of all broods and cultures" in _told()


class _Limits(dict[str, Any]):
    """Limits of a room, some of them set for a test."""

    def __missing__(self, key: str) -> float:
        return {"cysts_g_per_l": 20, "salinity_g_per_l": 3, "medium_thinnest_cm": 0.05}.get(
            key, 1e6
        )


def test_tables_of_an_unknown_name_are_told_once_at_the_line_of_the_first() -> None:
    text = _GOOD + '[[hutch]]\nvessel = "V1"\n[[hutch]]\nvessel = "V1"\n'
    with pytest.raises(BadFileError) as found:
        read_room(text, name="room.toml", today=_TODAY)
    line = 1 + _GOOD.count("\n")
    said = str(found.value).splitlines()[1:]
    assert said == [f"  room.toml:{line}: hutch: unknown table; did you mean 'hatch'?"]
