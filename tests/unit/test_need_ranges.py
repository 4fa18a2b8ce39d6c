"""How sure a need is: by hand from the laws of what is not known of a brood, and on the screens."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cultures.fry.feeding import feeding_parameters
from cultures.needs.need import room_needs, rounds_between
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.unknowns import efforts, law_of, need_ranges
from cultures.room.file import read_room
from cultures.room.room import Brood, Room
from tests.cli.invented import TODAY, room_file, run, run_json


@pytest.fixture
def room(tmp_path: Path) -> Room:
    return read_room(room_file(tmp_path).read_text("utf-8"), today=TODAY)


def _ends(room: Room, brood: Brood, days: int = 0) -> tuple[float, float]:
    alone = evolve(room, broods=(brood,))
    at = datetime(2027, 1, 5, 7, 30, tzinfo=room.timezone) + timedelta(days=days)
    rounds = rounds_between(alone, at, at + timedelta(minutes=1))
    return need_ranges(alone, rounds, room_needs(alone, rounds))[0, brood.name]


def _measured(brood: Brood) -> Brood:
    return evolve(
        brood, anchor="length", anchor_date=TODAY, length_mm=11.0, counted_on=TODAY,
    )  # fmt: skip


def test_of_a_brood_counted_and_measured_today_it_is_appetite_and_counting(room: Room) -> None:
    """Logarithms of independent factors add up by their squares, on each side."""
    low, high = _ends(room, _measured(room.broods[0]))
    laws = [law_of(feeding_parameters()["ration_at_1mg"]), law_of(efforts()["counted_share"])]
    assert low == pytest.approx(math.exp(-math.hypot(*(math.log(x.low) for x in laws))), rel=0.07)
    assert high == pytest.approx(math.exp(math.hypot(*(math.log(x.high) for x in laws))), rel=0.07)


def test_it_widens_with_the_days_since_it_was_counted_and_measured(room: Room) -> None:
    widths = [
        high / low for low, high in (_ends(room, _measured(room.broods[0]), d) for d in (0, 14, 28))
    ]
    assert widths[0] < widths[1] < widths[2]


def test_guessed_fry_are_less_sure_than_counted_ones(room: Room) -> None:
    counted = _measured(room.broods[0])
    guessed = evolve(counted, counted_on=TODAY - timedelta(days=1))
    low, high = _ends(room, counted)
    assert _ends(room, guessed)[1] / _ends(room, guessed)[0] > 1.2 * high / low


def test_what_the_keeper_learned_takes_the_place_of_the_book(room: Room) -> None:
    brood = _measured(room.broods[0])
    ends = {("count", brood.name): (1.0, 1.0)}
    sure = evolve(room, sure=evolve(room.sure, ranges=ends))
    low, high = _ends(sure, brood)
    assert high / low < _ends(room, brood)[1] / _ends(room, brood)[0]


def test_screens_and_json_say_it(tmp_path: Path) -> None:
    path = room_file(tmp_path)
    rows = run_json(path, "need", "--range")["rounds"]
    assert rows
    assert all(row["range"][0] < 1.0 < row["range"][1] for row in rows)
    assert all("range" not in row for row in run_json(path, "need")["rounds"])
    said = " ".join(run(path, "need", "--range").stdout.split())
    first = next(row for row in rows if row["at"] == rows[0]["at"])
    low, high = (f"{end:.2g}" for end in first["range"])
    words = f"{first['brood']} {low} to {high}"
    assert words in said
    assert words in " ".join(run(path, "today", "--why").stdout.split())
    refused = run(path, "need", "--range", "--brood", first["brood"], code=2)
    assert "leave out --range or --brood" in refused.output


def test_a_plan_is_no_surer_than_the_rounds_at_which_somebody_is_there(tmp_path: Path) -> None:
    """Two of seven days away, with nobody to feed: by luck alone no more than the rest is there."""
    text = room_file(tmp_path, horizon_days="7").read_text("utf-8")
    away = "\n[[away]]\nfrom = 2027-01-08\nto = 2027-01-09\n"
    room = read_room(text + away, today=TODAY)
    now = datetime(2027, 1, 5, 7, 0, tzinfo=room.timezone)
    outlook = make_outlook(room, now=now)
    shown = [
        (r.fed, len(needs)) for r, needs in zip(outlook.feedings, outlook.needs, strict=True)
        if now <= r.at < outlook.until
    ]  # fmt: skip
    most = sum(n for fed, n in shown if fed) / sum(n for _, n in shown)
    assert most < 0.8
    plan = plan_of(outlook, remedies=False, risk=True)
    assert plan.certainty is not None
    assert 0.5 * most < plan.certainty.by_luck[1] <= most + 1e-9
