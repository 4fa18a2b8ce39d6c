"""The sheet for the person who minds the room."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from functools import cache
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory
from types import SimpleNamespace
from typing import Any

import pytest

from cli.sheet.helper import plainly
from cli.sheet.helper_words import times
from cultures.foods.kinds import shipped_kind
from cultures.tasks.task import HarvestWorms
from cultures.words.tasks import plain
from cultures.words.tools import Syringe, Tools
from tests.cli.invented import at, room_file, run, shown_json
from tests.cli.sheet_reader import Sheet, read_sheet

_FROM, _TO = "2027-01-10", "2027-01-14"
_AWAY = f"\n[[away]]\nfrom = {_FROM}\nto = {_TO}\nhelper = true\n"
_MAY = {"feed", "soak", "harvest_worms", "first_food"}


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path)


@cache
def _html_of(text: str, *options: str) -> str:
    """The sheet of a room file, printed once for all tests."""
    with TemporaryDirectory() as folder:
        room = Path(folder) / "room.toml"
        room.write_text(text, "utf-8")
        out = room.with_name("helper.html")
        run(room, "sheet", "--helper", "--out", str(out), *options)
        assert room.read_text("utf-8") == text
        return out.read_text("utf-8")


def _html(room: Path, *options: str) -> str:
    return _html_of(room.read_text("utf-8"), *options)


def _helper(room: Path) -> Sheet:
    return read_sheet(_html(room, "--from", _FROM, "--to", _TO))


def _plan(room: Path) -> dict[str, Any]:
    """The plan of the same room with the absence written into its file."""
    plan = shown_json(room.read_text("utf-8") + _AWAY, "plan")
    assert isinstance(plan, dict)
    return plan


@pytest.mark.parametrize(
    ("draws", "caution", "said"),
    [
        (11.0, "vinegar", "bottle C: take about 110 mL from the neck with a jug or a beaker, pour"),
        (1.0, "", "culture C: take 10 mL with the syringe, pour"),
    ],
)
def test_what_takes_many_fillings_is_taken_with_a_jug(
    draws: float, caution: str, said: str
) -> None:
    """110 mL are 22 fillings of 5 mL."""
    at = datetime(2027, 1, 10, 7, 30, tzinfo=UTC)
    task = HarvestWorms(id="harvest_worms/1", at=at, until=at, subject="C", why="", mg=60.0,
                        draws=draws, caution=caution)  # fmt: skip
    room = SimpleNamespace(tools=Tools(syringes=(Syringe(5.0, 0.2),)))
    absence: Any = SimpleNamespace(outlook=SimpleNamespace(room=room))
    assert plain(plainly(absence, task)).startswith(said)


@pytest.mark.parametrize(("away", "says"), [
    (_AWAY, ""), (_AWAY.replace("helper = true\n", ""), "or the journal says that nobody feeds"),
    ("", "does not know of this"),
])  # fmt: skip
def test_a_sheet_for_a_helper_whom_the_room_does_not_know_of_says_so(
    room: Path, away: str, says: str, tmp_path: Path
) -> None:
    room.write_text(room.read_text("utf-8") + away, "utf-8")
    out = tmp_path / "helper.html"
    said = run(room, "sheet", "--helper", "--out", str(out), "--from", _FROM, "--to", _TO).stdout
    for text in (" ".join(said.split()), unescape(out.read_text("utf-8"))):
        assert f"The room file {says}" in text if says else "The room file" not in text


def test_there_is_a_box_for_each_task_that_a_helper_may_do(room: Path) -> None:
    tasks = [t for t in _plan(room)["tasks"] if _FROM <= t["at"][:10] <= _TO]
    assert not {t["what"] for t in tasks} & {"set_hatch", "harvest_hatch", "split", "start"}
    wanted = sorted(t["id"] for t in tasks if t["what"] in _MAY)
    assert sorted(_helper(room).boxes) == wanted


def test_its_numbers_are_those_of_the_plan_with_the_days_away(room: Path) -> None:
    plan = _plan(room)
    values = {f"{t['id']}#{k}": v for t in plan["tasks"] for k, v in t["amounts"].items()}
    away: dict[tuple[str, str], float] = {}
    for line in plan["rounds"]:
        values[f"{line['at']}/{line['brood']}/{line['food']}#amount"] = line["amount"]
        if _FROM <= line["at"][:10] <= _TO:
            for key in ("need_j", "given_j"):
                name = line["food"], key
                away[name] = away.get(name, 0.0) + line[key]
    for food, key in list(away):
        if key == "given_j" and away[food, "need_j"] > 0:
            values[f"away/{food}#share"] = away[food, key] / away[food, "need_j"]
    seen = 0
    for of, value, shown in _helper(room).figures:
        if re.match(r"shortfall/|hatch#|kind/", of) or of.endswith("#jar_ml"):
            continue
        assert value == pytest.approx(values[of], rel=2e-5), (of, shown)
        seen += 1
    assert seen > 100


def test_the_helper_is_asked_for_nothing_but_feeding(room: Path) -> None:
    html = _html(room, "--from", _FROM, "--to", _TO)
    for_helper = html[html.index("<main>") : html.index('id="keeper"')]
    words = re.sub(r"<[^>]+>", " ", for_helper)
    assert not re.search(r"\b(split|of cysts|of salt|retire|label it)\b", words)
    assert "Leave alone" in words
    assert "no water change" in words
    assert for_helper.count('class="blank"') >= 2


def test_an_envelope_holds_what_its_round_soaks(room: Path) -> None:
    sheet = _helper(room)
    plan = _plan(room)
    soaks = {t["until"]: t["amounts"]["dry_g"] for t in plan["tasks"] if t["what"] == "soak"}
    twists: dict[str, float] = {}
    html = _html(room, "--from", _FROM, "--to", _TO)
    keeper = read_sheet("<div>" + html[html.index("<h2>For the keeper") :].split("</section>")[0]
                        + "</div>")  # fmt: skip
    for of, value, _ in keeper.figures:
        if of.endswith("/dry#amount"):
            twists[of.split("/")[0]] = twists.get(of.split("/")[0], 0.0) + value
    assert len(twists) == 10
    for when, total in twists.items():
        assert (
            soaks[when] - 0.01 < total <= soaks[when] + 1e-9
        )  # weighed in whole steps, then halved
    numbers = [int(n) for t in sheet.other for n in re.findall(r"[Oo]pen envelope (\d+)", t)]
    assert numbers == list(range(1, 11))


def test_of_a_gram_that_is_halved_by_eye_the_rest_goes_back_into_the_tin(room: Path) -> None:
    """So the stock takes it: of a round's weighed gram only the twists leave the tin."""
    room.write_text(room.read_text("utf-8") + "\n[tools]\nscale_g = 1\n", "utf-8")
    html = _html(room, "--from", _FROM, "--to", _TO)
    table = html[html.index("Dry food: number the envelopes") :].split("</table>")[0]
    assert "put what is left back into the tin" in table
    assert ">weigh<" in table
    assert "in all" not in table
    assert "of 1 g" in table


def test_no_nauplii_are_promised_for_longer_than_they_keep(room: Path) -> None:
    kept_h = shipped_kind("brine_shrimp").values["cold_hold_h"]
    for line in _plan(room)["rounds"]:
        if _FROM <= line["at"][:10] <= _TO and line["food"] == "brine_shrimp" and line["amount"]:
            fed = datetime.fromisoformat(line["at"])
            left = datetime.fromisoformat(f"{_FROM}T00:00:00+00:00")
            assert (fed - left).total_seconds() / 3600 <= kept_h
    shown = [v for of, v, _ in _helper(room).figures if of == "kind/brine_shrimp#cold_hold_h"]
    assert shown == [kept_h]


def test_what_cannot_be_covered_is_said(room: Path) -> None:
    short = [
        s for s in _plan(room)["shortfalls"]
        if s["at"][:10] <= "2027-01-16" and s["until"][:10] >= _FROM
    ]  # fmt: skip
    assert short
    html = _html(room, "--from", _FROM, "--to", _TO)
    for one in short:
        assert one["cause"] in html
    assert "By this plan every round is covered" not in html
    stops = [
        n
        for n in _plan(room)["notes"]
        if n.startswith(("No ", "Hardly any ", "Few ")) and " instead" in n
    ]
    assert stops
    assert all(n.removesuffix(" See 'livefood shortfalls'.") in unescape(html) for n in stops)


def test_what_stands_in_for_others_is_no_percentage_above_all(room: Path) -> None:
    """Dry food takes the place of nauplii here: 382 % of it would say nothing to anybody."""
    figures = _helper(room).figures
    shown = {of: text for of, _, text in figures if of.startswith("away/")}
    shares = {of: value for of, value, _ in figures if of.startswith("away/")}
    assert max(shares.values()) > 1.25
    for of, share in shares.items():
        assert (shown[of] == "all, and more") is (share >= 1.25)


def test_dry_food_stands_in_for_nauplii_where_mouths_allow(room: Path) -> None:
    values = {of: value for of, value, _ in _helper(room).figures if of.startswith("away/")}
    assert values["away/brine_shrimp#share"] < 1
    assert values["away/dry#share"] > 1


def test_the_next_absence_of_the_room_file_is_taken(room: Path) -> None:
    room.write_text(room.read_text("utf-8") + _AWAY, "utf-8")
    assert _html(room) == _html(room, "--from", _FROM, "--to", _TO)


def test_a_single_day_tomorrow(room: Path) -> None:
    sheet = read_sheet(_html(room, "--from", "2027-01-06", "--to", "2027-01-06"))
    assert sheet.boxes
    assert all("2027-01-06" in box or "first_food" in box for box in sheet.boxes)


@pytest.mark.parametrize(
    ("swipes", "said"),
    [
        (0.25, "once, a quarter as far"), (0.5, "once, half as far"), (1.0, "once"),
        (1.5, "once and once more half as far"), (4.0, "4 times"),
        (7.75, "7 times and once more three quarters as far"),
    ],
)  # fmt: skip
def test_nobody_is_told_to_wipe_half_a_time(swipes: float, said: str) -> None:
    assert times(swipes) == said


def test_a_caution_of_several_kinds_stands_once() -> None:
    kinds = [shipped_kind(name) for name in ("microworm", "grindal_worm", "banana_worm")]
    mould = {text for kind in kinds for text in kind.cautions if "mould" in text}
    assert len(mould) == 1


def test_jars_are_not_in_a_fridge_that_is_not_there(room: Path, tmp_path: Path) -> None:
    text = room.read_text("utf-8")
    assert "fridge_c = 5" in text
    room.write_text(re.sub(r"(?m)^fridge_c.*\n", "", text), "utf-8")
    out = tmp_path / "helper.html"
    run(room, "sheet", "--helper", "--from", "2027-01-06", "--to", "2027-01-07", "--out", str(out))
    assert "fridge" not in out.read_text("utf-8").partition("For the keeper")[0]


def test_a_jar_that_stands_holds_what_the_rounds_before_leave_in_it(tmp_path: Path) -> None:
    """The helper finds less in it than is in it now, and takes no more out of it than that. What
    the keeper takes hangs on who comes then, which the room file says.
    """
    room, out = room_file(tmp_path), tmp_path / "helper.html"
    away = "\n[[away]]\nfrom = 2027-01-06\nto = 2027-01-07\nhelper = true\n"
    room.write_text(room.read_text("utf-8") + away, "utf-8")
    screen = at(room, "2027-01-05T07:20", "today", "--all-day").stdout
    sieved = re.findall(r"stir the jar of Tue 07:00, sieve (\d+) mL", screen)
    days = ("--from", "2027-01-06", "--to", "2027-01-07")
    at(room, "2027-01-05T12:00", "sheet", "--helper", "--out", str(out), *days)
    html = out.read_text("utf-8")
    rows = re.findall(
        r'<time datetime="([^"]+)" data-of="hatch#harvest">.*?<data value="([\d.]+)"'
        r' data-of="hatch#jar_ml">[^<]*</data>( in it)?.*?data-of="feed/[^"]+#jar_ml">([^<]*)<',
        html, re.DOTALL,
    )  # fmt: skip
    stands = [row for row in rows if row[2]]
    # At the round of Thu 07:30 it is half an hour older than it keeps.
    assert len(stands) == 3
    assert 'data-of="kind/brine_shrimp#late_hold_h"' in html
    assert {row[0][:13] for row in stands} == {"2027-01-05T07"}
    assert len(sieved) == 2
    left = 500 - sum(map(int, sieved))
    assert all(float(holds) == pytest.approx(left, abs=1) for _, holds, _, _ in stands)
    takes = [take for *_, take in stands if take != "all of it"]
    assert sum(float(take.split()[-2]) for take in takes) <= left + 1


def test_what_a_helper_leaves_in_the_jar_is_less_by_what_was_fed_since_the_printing(
    tmp_path: Path,
) -> None:
    """500 mL when the sheet was printed; each round takes of what the one before has left."""
    room = room_file(tmp_path)
    away = "\n[[away]]\nfrom = 2027-01-07\nto = 2027-01-10\nhelper = true\n"
    room.write_text(room.read_text("utf-8") + away, "utf-8")
    for clock in ("05T07:10", "05T18:10", "06T07:10", "06T18:10"):
        at(room, f"2027-01-{clock}", "today")
        at(room, f"2027-01-{clock[:6]}40", "journal", "done")
    at(room, "2027-01-06T19:00", "sheet", "--helper", "--out", str(tmp_path / "helper.html"))
    there = 500
    for clock in ("07T07:10", "07T18:10", "08T07:10"):
        shown = at(room, f"2027-01-{clock}", "today").output
        taken, left = (
            int(re.search(words, shown)[1])  # type: ignore[index]
            for words in (r"sieve (\d+) mL", r"(\d+) mL left in the jar of Wed 18:00")
        )
        there -= taken
        assert left == pytest.approx(there, abs=1)
