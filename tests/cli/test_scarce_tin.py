"""Hatches of a tin that does not last: as few as with a full one, and as they were told."""

from __future__ import annotations

import random
import re
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from cli import progress
from cultures.planning import matching
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch, SetHatch
from tests.cli.invented import at, jotted
from tests.examples import examples

_FIRST = date(2027, 3, 2)
#: Looks at all hours, by day.
_CLOCKS = ("06:45", "07:35", "10:10", "15:20", "17:50", "21:50")
#: Rooms in which something moved by the hour of the look alone, or that set a hatch a day.
_ROOMS = (4, 6, 7, 8, 9, 3)
_OF_HATCH = (HarvestHatch, SetHatch)
_SETTING = tuple[str, datetime, float]


def _room_text(seed: int) -> str:
    """A room of one to three broods and a tin of 2 to 5 g."""
    rng = random.Random(seed)
    fridge = "fridge_c = 5\n" if rng.random() < 0.6 else ""
    rounds = rng.choice([["07:30", "18:30"], ["08:00", "20:00"], ["07:00", "13:00", "19:30"]])
    text = (
        f'[room]\nname = "Drawn"\ntimezone = "UTC"\nas_of = {_FIRST}\nhorizon_days = 9\n'
        f"temperature_c = {rng.choice([20, 22, 24])}\nrounds = {rounds}\n"
        f"awake = ['06:30', '22:30']\n{fridge}"
    )
    for number in range(rng.choice([1, 1, 2, 2])):
        text += (
            f"[[vessel]]\nname = 'V{number}'\nlitres = {rng.choice([0.5, 1, 1.5])}\n"
            f"temperature_c = {rng.choice([25, 26, 28])}\n"
        )
    text += f"[cysts]\ngrams = {rng.choice([2, 3, 3.5, 4, 4, 5])}\n"
    foods = rng.choice([
        ["brine_shrimp"], ["brine_shrimp", "dry"], ["brine_shrimp", "microworm", "dry"], None
    ])  # fmt: skip
    if rng.random() < 0.5:
        text += (
            "[[culture]]\nname = 'MW-1'\nkind = 'microworm'\nstarted = 2027-02-21\n"
            "medium_g = 60\nsurface_cm2 = 60\nstarter_g = 6\n"
        )
    for number in range(rng.choice([1, 2, 3])):
        text += f"[[tank]]\nname = 'T{number}'\nlitres = 60\n"
        text += f"temperature_c = {rng.choice([24, 26])}\n"
        fry = rng.choice(
            ["egg_scatterer", "bubble_nest", "substrate_spawner", "rainbowfish", "mouthbrooder"]
        )
        text += (
            f"[[brood]]\nname = 'b{number}'\ntank = 'T{number}'\nclass = '{fry}'\n"
            f"count = {rng.choice([60, 120, 300])}\n"
            f"free_swimming = {_FIRST - timedelta(days=rng.choice([2, 5, 9, 14]))}\n"
        )
        text += f"foods = {foods}\n" if foods else ""
    return text


def _full(text: str) -> str:
    """The same room with a tin that lasts."""
    return re.sub(r"(?<=\[cysts\]\n)grams = .*", "grams = 500", text)


def _settings(outlook: Outlook) -> set[_SETTING]:
    return {(t.subject, t.at, t.cysts_g) for t in tasks_of(outlook) if isinstance(t, SetHatch)}


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The room of each look, with what was told before, and its outlook."""
    seen: list[Any] = []
    settled = progress.settled_outlook

    def noted(setting: Any, days: int | None = None, *room: Any) -> Outlook:
        outlook = settled(setting, days, *room)
        seen.append((setting.room, outlook))
        return outlook

    monkeypatch.setattr(progress, "settled_outlook", noted)
    return seen


@pytest.mark.parametrize("seed", _ROOMS[: examples(suite=2, thorough_run=5)])
def test_what_was_told_stays_at_whatever_hour_one_looks(
    tmp_path: Path, looked: list[Any], seed: int
) -> None:
    """Settings stay as they were told, and hatches that stand are drawn off as they were."""
    file, rng, told_of = tmp_path / "room.toml", random.Random(seed), 0
    file.write_text(_room_text(seed), "utf-8")
    for day in range(3):
        for clock in sorted(rng.sample(_CLOCKS, 4)):
            at(file, f"{_FIRST + timedelta(days=day)}T{clock}", "today")
            room, outlook = looked[-1]
            told = {(t.name, t.at, t.grams) for t in room.told if t.harvest_at}
            assert told <= _settings(outlook), f"day {day}, {clock}"
            drawn = {(t.subject, t.at) for t in tasks_of(outlook) if isinstance(t, HarvestHatch)}
            stand = {(h.vessel, h.harvest_at) for h in room.hatches if h.harvest_at is not None}
            assert stand <= drawn, f"day {day}, {clock}"
            told_of += len(told)
    assert told_of


def _look_at(folder: Path, seed: int, *moments: str) -> None:
    """Looks at a drawn room at some moments of March; so warm that nothing keeps over night."""
    file = folder / "room.toml"
    text = _room_text(seed)
    warm = re.sub(r"(?m)^temperature_c = [\d.]+", "temperature_c = 27", text, count=1)
    file.write_text(warm, "utf-8")
    for moment in moments:
        at(file, f"2027-03-{moment}", "today")


@pytest.mark.parametrize("seed", [2])
def test_who_looks_late_at_a_round_finds_its_draw_off_and_setting_as_they_were_told(
    tmp_path: Path, looked: list[Any], seed: int
) -> None:
    """Told the evening before; the round itself is told first while it is in hand."""
    _look_at(tmp_path, seed, "03T20:15", "04T20:15", "05T08:30", "05T08:31")
    (_, evening), *late = looked[-3:]
    soon = evening.now + timedelta(hours=12)
    told = {(t.id, t.at) for t in tasks_of(evening) if isinstance(t, _OF_HATCH) and t.at <= soon}
    assert {key.partition("/")[0] for key, _ in told} == {"harvest_hatch", "set_hatch"}
    for _, outlook in late:
        now = tasks_of(outlook)
        assert told == {(t.id, t.at) for t in now if isinstance(t, _OF_HATCH) and t.at <= soon}


@pytest.mark.parametrize("seed", _ROOMS)
def test_a_small_tin_is_no_more_work_than_a_full_one(seed: int) -> None:
    """And what it is for is set: of what it holds, nearly all within the week."""
    set_of = []
    for grams in (None, 500):
        text = _full(_room_text(seed)) if grams else _room_text(seed)
        room = read_room(text, today=_FIRST)
        now = room.local(_FIRST, room.awake[0])
        outlook = make_outlook(room, now=now)
        set_of.append([g for _, when, g in _settings(outlook) if when < now + timedelta(days=7)])
        if grams is None:
            assert room.cysts is not None
            assert outlook.feeding.hatches.rationed
            assert sum(set_of[0]) >= 0.9 * room.cysts.grams
    small, full = set_of
    assert len(small) <= len(full) + 1


@pytest.mark.parametrize("seed", [7])
def test_what_is_drawn_off_is_shared_out_as_it_was_while_it_stood(
    tmp_path: Path, looked: list[Any], seed: int
) -> None:
    """The look before a draw-off and the one after it."""
    _look_at(tmp_path, seed, "02T06:40", "02T12:40", "02T18:40", "02T21:50", "03T06:30", "03T07:10")
    (before, first), (after, again) = looked[-2:]
    assert before.hatches
    assert not after.hatches
    assert after.held
    soon = first.now + timedelta(days=2)
    assert {s for s in _settings(first) if s[1] < soon} == {
        s for s in _settings(again) if s[1] < soon
    }


def test_once_the_day_for_buying_is_over_what_is_left_is_for_a_week_from_it() -> None:
    room = read_room(_room_text(8), today=_FIRST)
    now = room.local(_FIRST, room.awake[0])

    def last(days_ago: int) -> datetime:
        since = _FIRST - timedelta(days=days_ago)
        outlook = make_outlook(evolve(room, to_buy_since={"cysts": since}), now=now)
        return max(when for _, when, _ in _settings(outlook))

    assert last(0) > last(3) > last(5)


#: Looks at a room, at the last of which V0 is set or drawn off an hour before it was told.
_EARLY = (
    (9, ("02T06:45", "02T07:00", "04T07:00", "04T19:00"), "set"),
    (10, ("02T06:45", "03T06:30", "05T06:30", "06T06:30"), "harvest"),
    (21, ("02T06:45", "03T06:00"), "set"),
    (14, ("02T06:45", "04T06:00", "04T12:00"), "set"),
    (14, ("02T06:45", "03T05:30", "05T05:30", "06T05:30"), "harvest"),
)


@pytest.mark.parametrize(("seed", "looks", "event"), _EARLY[: examples(suite=2, thorough_run=5)])
def test_what_is_done_an_hour_early_moves_no_later_hatch(
    tmp_path: Path, looked: list[Any], seed: int, looks: tuple[str, ...], event: str
) -> None:
    """It holds less than the plan had it: the margin of earlier ones, or as it was told."""
    file, now = tmp_path / "room.toml", f"2027-03-{looks[-1]}"
    file.write_text(_full(_room_text(seed)), "utf-8")
    for look in looks:
        at(file, f"2027-03-{look}", "today")
    before, early = looked[-1][1], looked[-1][1].now + timedelta(hours=1)
    grams = [str(g) for name, when, g in _settings(before) if (name, when) == ("V0", early)]
    jotted(file, now, event, "V0", *grams)
    at(file, f"{now[:-1]}1", "today")
    assert _times(before) - {("V0", early)} == _times(looked[-1][1])


@pytest.mark.parametrize("seed", [17, 33, 40][: examples(suite=1, thorough_run=3)])
def test_what_is_set_two_hours_late_moves_no_later_hatch_while_it_does_for_its_rounds(
    tmp_path: Path, looked: list[Any], seed: int
) -> None:
    """Riper or not it brings what its rounds need, if no margin: none is set sooner for that."""
    file = tmp_path / "room.toml"
    file.write_text(_full(_room_text(seed)), "utf-8")
    at(file, "2027-03-02T06:45", "today")
    before = looked[-1][1]
    when, name, grams = min((when, name, grams) for name, when, grams in _settings(before))
    late = when.replace(tzinfo=None) + timedelta(hours=2)
    jotted(file, f"{late}", "set", name, str(grams))
    at(file, f"{late + timedelta(minutes=1)}", "today")
    assert _times(before) - {(name, when)} == _times(looked[-1][1])


def test_who_looks_twice_at_one_moment_finds_the_same_hatches(
    tmp_path: Path, looked: list[Any]
) -> None:
    """Of all that is planned, also those that the look did not tell."""
    file = tmp_path / "room.toml"
    file.write_text(_room_text(20), "utf-8")
    for _ in range(2):
        at(file, f"{_FIRST}T05:30", "today")
    first, again = (_settings(outlook) for _, outlook in looked)
    assert first == again


def _times(outlook: Outlook) -> set[tuple[str, datetime]]:
    """Of the settings of nine days."""
    until = outlook.now.date() + timedelta(days=9)
    return {(name, when) for name, when, _ in _settings(outlook) if when.date() < until}


@pytest.mark.parametrize("seed", [33])
def test_why_a_setting_moves_is_said_once_where_cysts_did_not_come(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    """Told to be bought on the first day; what is left is for a week more from the next. Settings
    are not tried otherwise: what was told would stay here.
    """
    monkeypatch.setattr(matching._Matching, "set_anew", lambda plan: plan)
    file = tmp_path / "room.toml"
    file.write_text(_room_text(seed), "utf-8")

    def said(clock: str) -> bool:
        text = " ".join(at(file, f"2027-03-{clock}", "today").output.split())
        why = "(no purchase of brine shrimp cysts is noted)"
        return "Set otherwise than you were told: V0 on " in text and why in text

    assert not said("02T07:35")
    assert not said("02T21:50")
    assert said("03T07:35")
    assert not said("03T07:36")


def test_among_many_broods_what_was_told_is_tried_at_least(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same room, taken as one of so many broods that no other settings are tried."""
    monkeypatch.setattr(matching, "_NOT_LARGE", 0)
    file = tmp_path / "room.toml"
    file.write_text(_room_text(33).replace("Drawn", "Crowded"), "utf-8")
    for clock in ("02T07:35", "02T21:50", "03T07:35", "03T07:36"):
        assert "Set otherwise than" not in at(file, f"2027-03-{clock}", "today").output
