"""The screens of the weeks ahead: days, charts, shortfalls, cost."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from cli.commands.demo_room import demo_text
from cli.screens.balance import balance
from cli.screens.plan import _wanting
from cli.screens.shortfalls import all_shortfalls, certainty_text
from cli.screens.text import columns
from cli.screens.what_if import screen as what_if_screen
from cultures.planning.plan import make_plan
from cultures.planning.what_if import compare
from cultures.room.orders import Order
from cultures.room.room import Cysts
from cultures.tasks.plan import Certainty, Plan, Shortfall, Stop, Supply
from cultures.tasks.task import SetHatch, Task
from tests.cli import rooms
from tests.cli.invented import TODAY, outlook, room_file, run, run_json, shown, shown_json

_DEMO = demo_text(TODAY)


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path)


@pytest.mark.parametrize(
    "args", [["plan"], ["plan", "--why", "--feeding"], ["plan", "--days", "40"], ["shortfalls"]],
    ids=" ".join,
)  # fmt: skip
def test_no_line_is_longer_than_eighty_columns(args: list[str]) -> None:
    for line in shown(_DEMO, *args).splitlines():
        assert len(line) <= 80, line


def test_every_task_outside_the_rounds_stands_under_its_day() -> None:
    plan = shown_json(_DEMO, "plan")
    screen = shown(_DEMO, "plan")
    tasks = [t for t in plan["tasks"] if t["what"] not in ("feed", "soak", "harvest_worms")]
    # What is alike is one line: here the amounts tell apart what is not.
    alike = {(t["at"], t["what"], t["what"] != "switch_food" and str(t["amounts"])) for t in tasks}
    assert len(re.findall(r"^  \d\d:\d\d  ", screen, re.MULTILINE)) == len(alike)
    for task in tasks:
        day = date.fromisoformat(task["at"][:10])
        block = screen.split(f"{day:%a} {day.day} {day:%b}\n", 1)[1].split("\n\n")[0]
        assert f"  {task['at'][11:16]}  " in block
        assert task["subject"] in " ".join(block.split())


@pytest.mark.parametrize("days", [3, 28])
def test_what_is_used_in_all_adds_up_to_what_is_needed_by_week(days: int) -> None:
    """Cysts that the tin does not hold stand in the table, and so does medium without its water."""
    plan = shown_json(_DEMO, "plan", "--days", str(days))
    weeks = {use["item"]: sum(use["weeks_g"]) for use in plan["supplies"]}
    last = " ".join(shown(_DEMO, "plan", "--days", str(days)).split()).rsplit("In all: ", 1)[1]
    splits = re.search(r"([\d,]+) g of medium, ([\d.]+) g of it as bought, the rest water", last)
    assert splits is not None
    assert float(splits[2]) == pytest.approx(weeks["medium"], abs=0.5)
    assert float(splits[1].replace(",", "")) == plan["cost"]["medium_g"]
    more = re.search(
        r"([\d.]+) g of cysts"
        r"(?: \(([\d.]+) g (?:more are needed until|less than is wanted))?",
        last,
    )
    assert more is not None
    assert sum(float(g) for g in more.groups("0")) == pytest.approx(weeks["cysts"], abs=0.1)


@pytest.mark.parametrize(("tin_g", "said"), [
    (3.0, "0.6 g less than is wanted, for the tin is shared out"),
    (1.5, "0.6 g more are needed until Wed 17 Feb, and the tin holds 1.5 g"),
    (None, "0.6 g more are needed until Wed 17 Feb, and there are none"),
])  # fmt: skip
def test_a_tin_that_is_kept_for_later_holds_more_than_is_set(
    tin_g: float | None, said: str
) -> None:
    """What is set and what more is needed come to what is needed, beside what the tin holds."""
    room = SimpleNamespace(units="metric", cysts=Cysts(tin_g) if tin_g else None, orders=())
    now, until = (datetime(2027, *day, 7, tzinfo=UTC) for day in ((1, 20), (2, 17)))
    outlook = SimpleNamespace(room=room, now=now, until=until)
    assert _wanting(outlook, 1.0, 0.6) == said  # type: ignore[arg-type]


def test_what_more_would_be_set_where_nothing_falls_short_yet_is_for_later_days() -> None:
    """All of the tin is set, 5.5 g more are wanted, and 50 g come on Monday: nobody goes short in
    the time shown, so it is not said that more is needed by its end.
    """
    now, until = (datetime(2027, 1, day, 7, tzinfo=UTC) for day in (8, 10))
    order = Order("cysts", 50.0, 50.0, date(2027, 1, 4), date(2027, 1, 11))
    room = SimpleNamespace(units="metric", cysts=Cysts(4.9), orders=(order,))
    outlook: Any = SimpleNamespace(room=room, now=now, until=until)
    held = "and the tin holds 4.9 g; 50 g are to come on Mon 11 Jan"
    assert _wanting(outlook, 4.9, 5.5, short=False) == (
        f"5.5 g more would be set for the days after Sun 10 Jan, {held}"
    )
    assert _wanting(outlook, 4.9, 5.5, short=True).endswith(f"until Sun 10 Jan, {held}")


def test_the_reason_of_each_task_can_be_asked_for() -> None:
    told = " ".join(shown(_DEMO, "plan", "--why").split())
    plan = shown_json(_DEMO, "plan")
    sets = [t for t in plan["tasks"] if t["what"] == "set_hatch"]
    assert sets
    for task in sets:
        count, reason = task["why"].split(" nauplii ", 1)
        digits = count.replace(",", "")
        # Three digits of the count are told, the rest of the reason as it stands.
        counts = re.findall(rf"([\d,]+) nauplii {re.escape(reason)}", told)
        rounded = [count.replace(",", "") for count in counts]
        assert all(len(count.rstrip("0")) <= 3 for count in rounded)
        off = min(abs(int(count) - int(digits)) for count in rounded)
        assert off <= 10 ** (len(digits) - 3) / 2


def test_suppositions_are_told_in_few_lines(room: Path) -> None:
    for text in ("lose 'bottle 1'", "spawn gourami 900 on 2027-01-08"):
        screen = run(room, "plan", "--if", text).stdout
        for block in screen.split("\n\n")[1:]:
            if block.startswith(("TO DO", "NO LONGER")):
                rows = [x for x in block.splitlines()[1:] if re.match(r"  \S", x)]
                assert len(rows) <= 9
                assert len(rows) < 9 or re.fullmatch(r"  and \d+ more", rows[-1])


def test_hatches_that_only_change_their_vessel_share_a_line(tmp_path: Path) -> None:
    now = datetime(2027, 1, 5, 7, tzinfo=UTC)

    def hatch(day: int, vessel: str, cysts_g: float = 2.0) -> Task:
        at = now + timedelta(days=day)
        return SetHatch(
            id=f"set_hatch/{day}", at=at, until=at, subject=vessel, cysts_g=cysts_g, spoons=0.6,
            water_l=1.0, salt_g=25.0, nauplii=4e5, why="why",
        )  # fmt: skip

    plan = make_plan(outlook(tmp_path).room, now=now, days=2, remedies=False)
    before = evolve(plan, tasks=tuple(hatch(d, "bottle 1") for d in range(1, 11)))
    changed = [*(hatch(d, "bottle 2") for d in range(1, 10)), hatch(10, "bottle 2", 2.5)]
    difference = compare(["x"], before, evolve(before, tasks=tuple(changed)))
    block = what_if_screen(outlook(tmp_path).room, difference).split("TO DO DIFFERENTLY\n")[1]
    lines = block.split("\n\n")[0].splitlines()
    assert lines[0].endswith("9 hatches move from bottle 1 to bottle 2")
    assert "set bottle 2: 2.5 g" in lines[1]


def test_feeding_is_not_shown_with_a_supposition(room: Path) -> None:
    result = run(room, "plan", "--feeding", "--if", "lose MW-1", code=2)
    assert "--feeding does not go with --if" in result.stderr
    assert result.stdout == ""


def test_a_food_that_stops_is_told_where_dry_food_takes_its_place(room: Path) -> None:
    # Without annual killifish every mouth takes dry food.
    text = room.read_text("utf-8")
    start = text.index('[[brood]]\nname = "annuals 2"')
    end = text.index("\n[[", start + 5)
    room.write_text(text[:start] + text[end + 1 :], "utf-8")
    told = run(room, "plan", "--if", "lose 'bottle 1'", "--if", "lose 'bottle 2'").stdout
    assert "Nothing would fall short in energy, but:\n  - Hardly any nauplii from " in told
    assert "Nothing would fall short." not in told
    short = run(room, "shortfalls").stdout
    assert "Nothing falls short until" in short
    assert "FOODS THAT NEARLY STOP\n  - Hardly any nauplii from " in short


def test_what_the_screen_says_of_scarce_foods_stands_in_json_too(tmp_path: Path) -> None:
    """A tin of 4 g and mouths that take dry food too: nothing falls short, and cysts are to be
    bought by a day that a program can read.
    """
    room = room_file(tmp_path)
    text = room.read_text("utf-8")
    start = text.index('[[brood]]\nname = "annuals 2"')
    text = text[:start] + text[text.index("\n[[", start + 5) + 1 :]
    room.write_text(re.sub(r"(?m)^grams = .*$", "grams = 4", text), "utf-8")
    short = " ".join(run(room, "shortfalls").stdout.split())
    assert "where the plan ends: others take the place of nauplii." in short
    (stop,) = [s for s in run_json(room, "shortfalls") if s.get("scarce")]
    assert (stop["food"], stop["thin"], stop["probability"]) == ("brine_shrimp", False, None)
    assert {"at", "until", "rounds", "need_j", "short_j", "tanks", "cause"} <= stop.keys()
    assert stop["text"].removesuffix(".") in short
    assert stop["remedies"] == []  # none was tried in the model
    buy = stop["buy"]
    assert f"buy {buy['grams']:g} g of cysts" in short
    plan = run_json(room, "plan")
    assert plan["scarce"] == [stop]
    (use,) = [u for u in plan["supplies"] if u["item"] == "cysts"]
    assert (buy["item"], buy["by"]) == ("cysts", use["buy_by"])


def test_margins_that_were_looked_for_and_not_found_are_told() -> None:
    at = datetime(2027, 1, 10, tzinfo=UTC)
    assert "No thin margins in 400 trials." in all_shortfalls([], at, "metric", risk=True)
    assert "trials" not in all_shortfalls([], at, "metric")


def test_supplies_are_told_as_wanted_and_not_as_used() -> None:
    screen = shown(_DEMO, "plan")
    assert "NEEDED, by week" in screen
    assert "USED UP" not in screen


def test_the_cost_is_told() -> None:
    cost = shown_json(_DEMO, "plan")["cost"]
    last = " ".join(shown(_DEMO, "plan").split()).rsplit("In all: ", 1)[1]
    assert last.startswith(f"{cost['hatches']} hatches with")


def test_shortfalls_say_how_likely_they_are() -> None:
    found = [s for s in shown_json(_DEMO, "shortfalls") if not s.get("scarce")]
    assert found
    assert all(0.0 <= s["probability"] <= 1.0 for s in found)
    screen = " ".join(shown(_DEMO, "shortfalls").split())
    for short in found:
        if not short["thin"]:
            assert f"of the need, in {short['probability']:.0%} of trials)" in screen


def test_what_is_only_thin_is_called_thin_and_is_no_failure() -> None:
    at = datetime(2027, 1, 10, 7, 30, tzinfo=UTC)
    thin = Shortfall(at=at, until=at, rounds=1, food="microworm", need_j=10.0, short_j=1.0,
                     tanks=("A1",), cause="a poor yield leaves a round short in 24% of trials",
                     probability=0.24, thin=True)  # fmt: skip
    told = all_shortfalls([thin], at, "metric")
    assert told.startswith("Nothing falls short until Sun 10 Jan 2027, where the plan ends.")
    assert told.split("THIN MARGINS\n")[1] == (
        "  - microworm thin in A1, Sun 10 Jan 07:30: a poor yield leaves a round short in\n"
        "    24% of trials."
    )


def test_what_hardly_anybody_misses_stands_after_what_all_do() -> None:
    """Some milligrams of one tank come after the famine of another and after a food that stops;
    tanks stand in the order in which they are counted, A2 before A10.
    """
    at = datetime(2027, 1, 10, 7, 30, tzinfo=UTC)
    crumb = Shortfall(at=at, until=at, rounds=1, food="dry", need_j=2.0, short_j=1.0,
                      tanks=("A7",), cause="so little cannot be measured out")  # fmt: skip
    lack = evolve(crumb, at=at + timedelta(days=2), food="microworm", need_j=900.0, short_j=400.0)
    told = all_shortfalls([crumb, lack], at + timedelta(days=9), "metric")
    assert told.index("microworm short") < told.index("dry food short")
    stop = Stop("brine_shrimp", "Hardly any nauplii.", need_j=5000.0, given_j=100.0)
    told = all_shortfalls([crumb], at + timedelta(days=9), "metric", stops=[stop])
    assert told.index("Hardly any nauplii") < told.index("dry food short")
    harm = evolve(crumb, starves_at=at + timedelta(days=3))
    told = all_shortfalls([harm], at + timedelta(days=9), "metric", stops=[stop])
    assert told.index("dry food short") < told.index("Hardly any nauplii")
    thin = [evolve(crumb, tanks=(tank,), thin=True) for tank in ("A10", "A2", "A1")]
    assert " thin in A1, A2, A10, " in all_shortfalls(thin, at, "metric")


def test_thin_spells_of_a_food_are_told_at_once_with_the_thinnest() -> None:
    def thin(day: int, hour: int, tank: str, odds: float, food: str = "microworm") -> Shortfall:
        at = datetime(2027, 1, day, hour, 30, tzinfo=UTC)
        return Shortfall(
            at=at, until=at + timedelta(hours=11), rounds=2, food=food, need_j=9.0, short_j=1.0,
            tanks=(tank,), cause=f"short in {odds:.0%} of trials", probability=odds, thin=True,
        )  # fmt: skip

    spells = [thin(8, 7, "B1", 0.22), thin(9, 7, "C1", 0.3, "dry"), thin(11, 7, "A1", 0.26)]
    end = datetime(2027, 1, 20, tzinfo=UTC)
    metric, us = (all_shortfalls(spells, end, units) for units in ("metric", "us"))
    assert " ".join(metric.split("THIN MARGINS\n")[1].split()) == (
        "- microworm thin in A1, B1, 4 rounds between Fri 8 Jan 07:30 and Mon 11 Jan 18:30: short"
        " in 26% of trials, most of all at that of Mon 11 Jan 07:30."
        " - dry food thin in C1, 2 rounds between Sat 9 Jan 07:30 and Sat 9 Jan 18:30: short in"
        " 30% of trials."
    )
    assert "at that of Mon Jan 11, 7:30 am." in " ".join(us.split())


@pytest.mark.parametrize("short", [True, False])
def test_how_sure_it_is_is_joined_to_what_falls_short(short: bool) -> None:
    """Sixty to ninety-five of a hundred beside "nothing falls short" is no contradiction."""
    at = datetime(2027, 1, 10, 7, 30, tzinfo=UTC)
    gap = Shortfall(at=at, until=at, rounds=1, food="microworm", need_j=10.0, short_j=1.0,
                    tanks=("A1",), cause="it is")  # fmt: skip
    plan = Plan(
        "attic", at, at + timedelta(days=7), (), (), (gap, evolve(gap, thin=True)) if short else
        (evolve(gap, thin=True),), {}, certainty=Certainty((0.6, 0.95), (1.0, 1.0)),
    )  # fmt: skip
    told = " ".join(certainty_text(plan, "metric").split())
    joined = "HOW SURE: by the plan nothing falls short, but cultures and hatches may give"
    assert (joined in told) is not short
    assert "8 in 10 that the broods get 60% to 95% of what they need until Sun 17 Jan" in told


def _supply(values: list[tuple[float, float]], food: str = "dry") -> list[Supply]:
    first = date(2027, 1, 1)
    return [
        Supply((first + timedelta(days=i)).isoformat(), food, need, given)
        for i, (need, given) in enumerate(values)
    ]


def _marks(text: str, food: str = "dry") -> str:
    """The marks of one food, a day each."""
    row = next(line for line in text.splitlines() if line.startswith(f"  {food} "))
    return row[15:]


def test_a_mark_is_the_share_of_the_need() -> None:
    text = balance(
        _supply([(100, 100), (100, 50), (100, 49), (100, 0), (0, 0), (25, 25), (5, 9)]), "metric"
    )
    assert _marks(text) == "#+-. ##"


def test_a_little_shows_and_nothing_does_not() -> None:
    assert (
        _marks(balance(_supply([(1000, 6), (1, 0), (0, 1), (0, 0), (9, 9)]), "metric")) == "-.# #"
    )


def test_without_supplies_there_is_no_chart() -> None:
    assert balance([], "metric") == ""
    assert balance(_supply([(0, 0)]), "metric") == ""


_JOULES = st.floats(0, 1e6, allow_subnormal=False)
_PAIRS = st.lists(st.tuples(_JOULES, _JOULES), min_size=1, max_size=400)


@given(_PAIRS)
def test_marks_fit_the_screen_and_never_fall_while_the_share_rises(
    pairs: list[tuple[float, float]],
) -> None:
    text = balance(_supply(pairs), "metric")
    assert all(len(line) <= 80 for line in text.splitlines())
    if text and len(pairs) <= 60:
        marks = _marks(text).ljust(len(pairs))
        shares = [given / need for need, given in pairs if need > 0]
        asked = [mark for mark, (need, _) in zip(marks, pairs, strict=True) if need > 0]
        worth = [".-+#".index(mark) for mark in asked]
        ordered = [rank for _, rank in sorted(zip(shares, worth, strict=True))]
        assert ordered == sorted(ordered)


_HEAD = ["tank", "brood", "banana worm", "nauplii", "dry, soaked", "microworm", "vinegar eel"]


def test_heads_of_a_wide_table_stand_below_each_other() -> None:
    row = ["Left by the door", "a brood of many words", "30 mL", "100 mL", "5 mL (0.05 g)", "62 mL",
           "100 mL"]  # fmt: skip
    lines = columns([_HEAD, row], right=range(2, 7), head=True).splitlines()
    assert max(map(len, lines)) <= 80
    assert "banana" in lines[0]
    assert "worm" in lines[1]
    assert " ".join(lines[-1].split()).endswith(" 30 100 5 mL (0.05 g) 62 100")
    heads = " ".join(lines[:-1])
    assert heads.count("mL") == 4  # of the columns that have that unit alone


def test_a_table_that_is_a_little_too_wide_is_made_narrower_and_no_list() -> None:
    """Units go into the heads; where that is too little "about" is a sign."""
    foods = ["about 240 mL", "about 56 mL", "about 48 mL", "about 100 mL", "about 30 mL"]
    row = ["A1", "goldies", *foods]
    lines = columns([_HEAD, row], right=range(2, 7), head=True).splitlines()
    assert max(map(len, lines)) <= 80
    said = "A1 goldies about 240 about 56 about 48 about 100 about 30"
    assert " ".join(lines[-1].split()) == said
    assert " ".join(lines[:-1]).count("mL") == 5
    wider = ["behind the door", "white clouds of two spawnings", *foods]
    lines = columns([_HEAD, wider], right=range(2, 7), head=True).splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[-1].split()[-5:] == ["~240", "~56", "~48", "~100", "~30"]


def test_on_a_narrow_screen_a_table_that_does_not_fit_is_a_list(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    row = ["A1", "goldies", *["about 24 mL"] * 5]
    text = columns([_HEAD, row], right=range(2, 7), head=True)
    assert text.startswith("  A1: brood goldies, banana worm about")


def test_tasks_that_are_alike_are_told_as_one(tmp_path: Path) -> None:
    room = rooms.large(tmp_path)
    tasks = [t for t in run_json(room, "plan", "--days", "2")["tasks"] if t["what"] == "count"]
    screen = run(room, "plan", "--days", "2", "--why").stdout
    told = re.findall(r"(?m)^  \d\d:\d\d  count .*(?:\n {9}\S.*)*", screen)
    assert len(tasks) > len(told) == len({t["at"] for t in tasks})
    every = " ".join(" ".join(told).split())
    assert all(f"{t['subject']} in {t['other']}" in every for t in tasks)
    assert screen.count("Last counted on") == len(tasks)


def test_a_food_that_comes_back_is_told_with_the_days_between(room: Path) -> None:
    """A helper feeds for six days and sets no hatch; then the keeper is back, and sets some."""
    text = re.sub(r"(?m)^grams = .*", "grams = 300", room.read_text("utf-8"))
    away = "\n[[away]]\nfrom = 2027-01-12\nto = 2027-01-17\nhelper = true\n"
    room.write_text(text + away, "utf-8")
    told = " ".join(run(room, "plan").stdout.split())
    assert re.search(r"Hardly any nauplii from \w+ 1[345] Jan to \w+ 1[78] Jan \(", told), told


def test_a_tin_that_ends_is_told_with_what_to_buy_by_when(room: Path) -> None:
    found = run_json(room, "plan")
    (buy,) = [t for t in found["tasks"] if t["what"] == "buy" and "cysts" in t["subject"]]
    day = date.fromisoformat(buy["at"][:10])
    said = f": buy {buy['amounts']['cysts_g']:g} g of cysts by {day:%a} {day.day} {day:%b} ("
    assert said in " ".join(run(room, "shortfalls").stdout.split())


def test_what_buying_a_kind_means_is_said(room: Path) -> None:
    starter = "What is bought is a starter, put on new medium; no ripe culture."
    for bought, said in (("microworm", True), ("100 cysts", False)):
        shown = run(room, "plan", "--days", "3", "--if", f"buy {bought}").stdout
        assert (starter in shown) is said
    assert "buy KIND is a starter" in run(room, "plan", "--help").stdout
