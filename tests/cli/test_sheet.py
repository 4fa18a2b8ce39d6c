"""The sheet says what the plan says, and nothing else."""

from __future__ import annotations

import json
import re
import tomllib
from datetime import datetime, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.cli import rooms
from tests.cli.invented import at as then
from tests.cli.invented import room_file, run, run_json
from tests.cli.sheet_reader import Sheet, read_sheet

#: Exact by definition: NIST Special Publication 811 (2008), appendix B.
_UNITS = {
    "g": 1.0, "oz": 28.349523125, "lb": 453.59237, "mL": 1.0, "tsp": 4.92892159375,
    "drop": 0.05, "drops": 0.05, "fl oz": 29.5735295625, "L": 1.0, "qt": 0.946352946,
    "gal": 3.785411784, "%": 0.01, "": 1.0,
}  # fmt: skip
_SHOWN = re.compile(
    r"^(?:(\d+) )?(?:(\d+)/(\d+)|([\d,]*\.?\d+)) ?(g|oz|mL|drops?|tsp|fl oz|L|qt|gal|%|)$"
)
#: So many of a spoon: "1/2 tsp level", "2 1/2 x 1/4 tsp level", "1 1/2 tbsp level"
_SPOONS = re.compile(r"^(?:([\d /]+) x )?([\d /]+) (tsp|tbsp) level$")


def _mixed(text: str) -> float:
    return float(sum(Fraction(part) for part in text.split()))


def _read_shown(text: str) -> tuple[float, str]:
    """A shown figure as a number in the unit it is shown in, and that unit."""
    if spoons := _SPOONS.match(text):
        count, size, unit = spoons.groups()
        return _mixed(count or "1") * _mixed(size) * (3 if unit == "tbsp" else 1), "tsp"
    match = _SHOWN.match(text)
    assert match is not None, text
    whole, upper, lower, plain, unit = match.groups()
    if upper:
        return float(int(whole or 0) + Fraction(int(upper), int(lower))), unit
    assert whole is None
    return float(plain.replace(",", "")), unit


@pytest.fixture(name="room", params=["metric", "us"])
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_file(tmp_path, units=f'"{request.param}"', horizon_days="10")


def _sheet(room: Path, *options: str) -> Sheet:
    out = room.with_name("sheet.html")
    run(room, "sheet", "--out", str(out), *options)
    return read_sheet(out.read_text("utf-8"))


def _plan_values(plan: dict[str, Any], room: Path) -> dict[str, float]:
    """Every number of ``plan --json`` by the name the sheet gives it.

    What follows from a number is worked out here: the salt of a jar by the vessel's salinity, and
    the water of dry food by 1 mL for each 0.002 g.
    """
    file = tomllib.loads(room.read_text("utf-8"))
    salinity = {v["name"]: v["salinity_g_per_l"] for v in file["vessel"]}
    found: dict[str, float] = {}
    for task in plan["tasks"]:
        for key, value in task["amounts"].items():
            found[f"{task['id']}#{key}"] = value
        if "jar_ml" in task["amounts"] and task["what"] == "harvest_hatch":
            jar_l = task["amounts"]["jar_ml"] / 1000
            found[f"{task['id']}#jar_salt_g"] = jar_l * salinity[task["subject"]]
        if "dry_g" in task["amounts"]:
            found[f"{task['id']}#soak_ml"] = task["amounts"]["dry_g"] * 500
        if "fed_g" in task["amounts"]:
            found[f"{task['id']}#fed_soak_ml"] = task["amounts"]["fed_g"] * 500
    for line in plan["rounds"]:
        found[f"{line['at']}/{line['brood']}/{line['food']}#amount"] = line["amount"]
        if line["food"] == "dry":
            of = f"{line['at']}/{line['brood']}/dry#soaked_ml"
            found[of] = line["amount"] * 500
    for day in plan["supply"]:
        for key in ("need_j", "given_j"):
            found[f"supply/{day['food']}/{day['day']}#{key}"] = day[key]
        if day["need_j"]:
            share = min(1.0, day["given_j"] / day["need_j"])
            found[f"supply/{day['food']}/{day['day']}#share"] = share
    for use in plan["supplies"]:
        found[f"supplies/{use['item']}#stock_g"] = use["stock_g"]
        for n, week in enumerate(use["weeks_g"]):
            found[f"supplies/{use['item']}#weeks_g/{n}"] = week
    now = datetime.fromisoformat(plan["from"]).date()
    for culture in plan["cultures"]:
        of = f"culture/{culture['name']}"
        found[f"{of}#age_days"] = (now - datetime.fromisoformat(culture["started"]).date()).days
        if culture["spent_on"]:
            spent = datetime.fromisoformat(culture["spent_on"]).date()
            found[f"{of}#days_left"] = (spent - now).days
    for i, short in enumerate(plan["shortfalls"]):
        found[f"shortfall/{i}#rounds"] = short["rounds"]
        found[f"shortfall/{i}#short_j/need_j"] = min(1.0, short["short_j"] / short["need_j"])
        for n, remedy in enumerate(short["remedies"]):
            share = min(1.0, remedy["effect_j"] / short["short_j"])
            found[f"shortfall/{i}#remedies/{n}/effect_j"] = share
    return found


def _plan_times(plan: dict[str, Any]) -> dict[str, str]:
    found = {"plan#from": plan["from"], "plan#to": plan["to"]}
    for task in plan["tasks"]:
        for key in ("at", "until"):
            found[f"{task['id']}#{key}"] = task[key]
        if task["what"] == "harvest_hatch":
            later = datetime.fromisoformat(task["at"]) + timedelta(minutes=15)
            ends = min(later, datetime.fromisoformat(task["until"]))
            found[f"{task['id']}#at+settle"] = ends.isoformat()
    for use in plan["supplies"]:
        found[f"supplies/{use['item']}#buy_by"] = use["buy_by"]
    for culture in plan["cultures"]:
        for key in ("usable_from", "spent_on"):
            found[f"culture/{culture['name']}#{key}"] = culture[key]
    for i, short in enumerate(plan["shortfalls"]):
        found[f"shortfall/{i}#at"] = short["at"]
        found[f"shortfall/{i}#until"] = short["until"]
        for n, remedy in enumerate(short["remedies"]):
            found[f"shortfall/{i}#remedies/{n}/by"] = remedy["by"]
    return found


@pytest.mark.parametrize("options", [[], ["--week"]])
def test_every_figure_is_the_one_in_plan_json(room: Path, options: list[str]) -> None:
    values = _plan_values(run_json(room, "plan"), room)
    sheet = _sheet(room, *options)
    assert len(sheet.figures) > 100
    from_jars: dict[str, float] = {}
    for of, value, shown in sheet.figures:
        if of.startswith("feed/") and of.endswith("#jar_ml"):
            # A round that draws from two jars names both; the plan has what they give together.
            from_jars[of] = from_jars.get(of, 0.0) + value
            continue
        # A day without a line for a food has none of it asked and none given.
        wanted = values.get(of, 0.0) if of.startswith("supply/") else values[of]
        assert value == pytest.approx(wanted, rel=2e-5, abs=1e-9), (of, shown)
    assert from_jars == {of: pytest.approx(values[of], rel=2e-5) for of in from_jars}
    assert from_jars


@pytest.mark.parametrize("options", [[], ["--week"]])
def test_what_is_shown_is_the_number_behind_it(room: Path, options: list[str]) -> None:
    sheet = _sheet(room, *options)
    for of, value, shown in sheet.figures:
        number, unit = _read_shown(shown)
        number *= _UNITS[unit]
        if of.endswith("#draws"):
            value *= 10.0  # a draw is 10 mL
        if of.endswith("#spoons"):
            number /= _UNITS["tsp"]
        step = {"fl oz": _UNITS["fl oz"] / 4, "%": 0.005}.get(unit, 0.0)
        if of.endswith("#spoons"):  # within a tenth, and the plan's to the hundredth of a spoon
            step = 0.1 * value + 0.005
        loose = 0.5 if of.endswith("#jar_ml") and unit == "mL" else step
        # Rounded to two or three digits, a count of nauplii to two.
        assert number == pytest.approx(value, rel=0.05, abs=loose + 1e-9), (of, shown)


@pytest.mark.parametrize("options", [[], ["--week"]])
def test_every_time_is_one_of_the_plan_or_counted_back_from_a_round(
    room: Path, options: list[str]
) -> None:
    plan = run_json(room, "plan")
    times = _plan_times(plan)
    harvests = {t["at"] for t in plan["tasks"] if t["what"] == "harvest_hatch"}
    for of, stamp, shown in _sheet(room, *options).times:
        if re.match(r"day/|sheet#|supply/|supplies/|culture/|brood/", of):
            day = datetime.fromisoformat(stamp)
            assert shown in (f"{day:%a} {day.day} {day:%b}", f"{day:%a %b} {day.day}")
            assert not of.startswith(("culture/", "supplies/")) or stamp == times[of]
            continue
        if back := re.fullmatch(r"round/(.+)#-(\d+)", of):
            at = datetime.fromisoformat(back[1]) - timedelta(minutes=int(back[2]))
            assert stamp == at.isoformat()
        elif of.endswith("#settle"):
            assert stamp in harvests
        else:
            assert stamp == times[of], of
        clock = datetime.fromisoformat(stamp)
        twelve = f"{clock:%I:%M %p}".lower().lstrip("0").replace(":00", "")
        assert shown.endswith((f"{clock:%H:%M}", twelve, "noon"))


@pytest.mark.parametrize("options", [[], ["--week"]])
def test_each_task_of_the_days_has_one_box(room: Path, options: list[str]) -> None:
    days = 7 if options else 1
    wanted = {f"2027-01-{5 + i:02}" for i in range(days)}
    tasks = [t["id"] for t in run_json(room, "plan")["tasks"] if t["at"][:10] in wanted]
    assert sorted(_sheet(room, *options).tasks) == sorted(tasks)


def _to_three_digits(found: re.Match[str]) -> str:
    digits = found[0].replace(",", "")
    rounded = Decimal(digits).quantize(Decimal(1).scaleb(len(digits) - 3), ROUND_HALF_EVEN)
    return f"{int(rounded):,}"


def test_no_number_stands_outside_the_plan(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    sheet = _sheet(room, "--week")
    plan = run_json(room, "plan")
    told = {plan["room"], *plan["notes"]}
    for task in plan["tasks"]:
        why = re.sub(r"\d+(?:,\d{3})+", _to_three_digits, task["why"])
        told |= {task["subject"], task["other"], why, task["caution"]}
    for line in plan["rounds"]:
        told |= {line["tank"], line["brood"]}
    for short in plan["shortfalls"]:
        told |= {short["cause"], *short["tanks"], *(r["what"] for r in short["remedies"])}
    names = {c["name"] for c in run_json(room, "check")["cultures"]}
    kinds = {"microworm", "vinegar eel", *(use["item"] for use in plan["supplies"])}
    labels = re.compile(r"[A-Z][a-z]{2} \d\d:\d\d")
    # What is told of several at once is put together from what is told of each.
    known = re.compile("|".join(map(re.escape, sorted(told | names | kinds, key=len)[::-1])))
    rest = [known.sub("", words) for words in sheet.plan_words if not labels.match(words)]
    assert [words for words in rest if re.search(r"\d", words)] == []
    year = re.compile(r" 2027\b")
    assert [t for t in sheet.other if re.search(r"\d", year.sub("", t))] == []


_BAR = re.compile(r"hatch/(?P<set>.+?T.+?)/(?P<harvest>.+)")


def _grid(html: str) -> list[list[str]]:
    """The page for the wall, cell by cell as text."""
    table = html.partition('<table class="grid')[2].partition("</table>")[0]
    rows = re.findall(r"<tr.*?</tr>", table, re.DOTALL)
    text = [re.findall(r"<t[hd].*?</t[hd]>", row, re.DOTALL) for row in rows]
    return [[" ".join(re.sub(r"<[^>]+>", " ", cell).split()) for cell in row] for row in text]


def _fed(plan: dict[str, Any], at: str) -> dict[str, set[str]]:
    """The first letters of what each tank gets at a round."""
    found: dict[str, set[str]] = {}
    for line in plan["rounds"]:
        if line["at"] == at and line["amount"] > 0:
            food = "nauplii" if line["food"] == "brine_shrimp" else line["food"]
            found.setdefault(f"{line['tank']} {line['brood']}", set()).add(food[0].upper())
    return found


@pytest.mark.parametrize("large", [False, True])
def test_the_week_on_one_page_has_a_cell_for_each_tank_and_round(
    tmp_path: Path, large: bool
) -> None:
    room = rooms.large(tmp_path) if large else room_file(tmp_path)
    plan = run_json(room, "plan")
    run(room, "sheet", "--week", "--out", str(tmp_path / "sheet.html"))
    _, times, before, *tanks, besides = _grid((tmp_path / "sheet.html").read_text("utf-8"))
    rounds = [t["at"] for t in plan["tasks"] if t["what"] == "feed" and t["at"] < "2027-01-12"]
    assert times == [at[11:16] for at in rounds]
    heads = [row[0] for row in tanks]
    assert heads == sorted(heads)  # these rooms are walked in the order of their names
    for number, at in enumerate(rounds):
        fed = _fed(plan, at)
        for head, *cells in tanks:
            letters = set(re.findall(r"\b[A-Z]\b", cells[number]))
            assert letters == fed.get(head, set()), (head, at)
            assert (cells[number] == "–") == (head not in fed)
            assert bool(re.search(r"\d", cells[number])) == (not large and head in fed)
    assert len(before) == len(besides) == 1 + len(rounds)
    split = [t["at"] for t in plan["tasks"] if t["what"] == "split" and t["at"] in rounds]
    assert all("split" in besides[1 + rounds.index(at)] for at in split)


def test_tasks_that_are_alike_have_one_box(tmp_path: Path) -> None:
    room = rooms.large(tmp_path)
    sheet = _sheet(room)
    tasks = [t for t in run_json(room, "plan")["tasks"] if t["at"].startswith("2027-01-05")]
    assert sorted(sheet.tasks) == sorted(t["id"] for t in tasks)
    counts = [box for box in sheet.boxes if box.startswith("count/")]
    assert len([t for t in tasks if t["what"] == "count"]) > 2
    assert len(counts) == len({t["at"] for t in tasks if t["what"] == "count"})


@pytest.mark.parametrize("units", ["metric", "us"])
def test_pictures_are_drawn_from_the_plan(tmp_path: Path, units: str) -> None:
    room = room_file(tmp_path, units=f'"{units}"')  # all four weeks of it
    plan = run_json(room, "plan")
    sheet = _sheet(room)
    ends = "2027-01-19"  # pictures of what lies ahead show two weeks
    when = {
        what: {t["at"] for t in plan["tasks"] if t["what"] == what and t["at"] < ends}
        for what in ("set_hatch", "harvest_hatch")
    }
    bars = [m for mark in sheet.marks if (m := _BAR.fullmatch(mark["data-of"]))]
    assert {m["set"] for m in bars if m["set"] >= plan["from"]} == when["set_hatch"]
    assert {m["harvest"] for m in bars if m["harvest"] < ends} == when["harvest_hatch"]
    splits = {f"{t['id']}#at" for t in plan["tasks"] if t["what"] == "split"}
    assert splits <= {of for of, _, _ in sheet.times}
    values = _plan_values(plan, room)
    shares = [m for m in sheet.marks if m["data-of"].startswith("supply/")]
    wanted = {of for of in values if of.endswith("#share") and of.split("/")[2] < ends}
    assert {m["data-of"] for m in shares} == wanted
    assert len(shares) > 40
    tallest = max(float(m["height"]) for m in shares)
    for mark in shares:  # one scale for all foods: the tallest bar is 100 %
        part = float(mark["height"]) / tallest
        assert part == pytest.approx(values[mark["data-of"]], abs=0.1 / tallest)


def test_each_culture_and_brood_has_its_picture(room: Path) -> None:
    file = tomllib.loads(room.read_text("utf-8"))
    _sheet(room)
    html = room.with_name("sheet.html").read_text("utf-8")
    captions = re.findall(r'<figcaption><span class="plan">(.*?)</span></figcaption><svg', html)
    assert captions == [each["name"] for each in (*file["culture"], *file["brood"])]


def test_the_dates_of_a_brood_are_those_of_its_screen(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    shown = {of: stamp for of, stamp, _ in _sheet(room).times if of.startswith("brood/acara 5/")}
    dates = run_json(room, "need", "--brood", "acara 5", "--days", "42")["dates"]
    mine = {f"brood/acara 5/{d['what']}": d["day"] for d in dates}
    assert len(shown) == 3
    assert shown == {of: mine[of] for of in shown}


def test_cultures_have_the_age_that_the_room_file_gives_them(room: Path) -> None:
    ages = {c["name"]: c["age_days"] for c in run_json(room, "check")["cultures"]}
    sheet = _sheet(room)
    shown = {of: value for of, value, _ in sheet.figures if of.startswith("culture/")}
    assert {n: shown[f"culture/{n}#age_days"] for n in ages} == ages


def test_the_page_needs_no_network_and_no_script(room: Path) -> None:
    _sheet(room, "--week")
    html = room.with_name("sheet.html").read_text("utf-8")
    assert not re.search(r"<script|<link|<img|<iframe|@import|https?:|\bon\w+=|src=", html)


def test_tables_and_pictures_can_be_heard(room: Path) -> None:
    sheet = _sheet(room, "--week")
    tables = [found for tag, found in sheet.tags if tag == "table"]
    assert len(tables) == sum(tag == "caption" for tag, _ in sheet.tags)
    scopes = {found["scope"] for tag, found in sheet.tags if tag == "th"}
    assert scopes <= {"col", "colgroup", "row"}
    pictures = [found for tag, found in sheet.tags if tag == "svg"]
    assert pictures
    assert all(found["role"] == "img" and found["aria-label"] for found in pictures)
    assert any(tag == "html" and found["lang"] == "en" for tag, found in sheet.tags)


def test_names_cannot_break_the_page(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    text = room.read_text("utf-8").replace('"acara 5"', "'<b>\"&amp; acara'")
    room.write_text(text.replace('"MW-1"', "'MW<1>\"'"), "utf-8")
    sheet = _sheet(room, "--week")
    assert '<b>"&amp; acara' in sheet.plan_words
    assert not any(tag == "b" for tag, _ in sheet.tags)


def test_the_same_plan_gives_the_same_bytes(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    _sheet(room)
    first = room.with_name("sheet.html").read_bytes()
    _sheet(room)
    assert room.with_name("sheet.html").read_bytes() == first


def test_in_the_evening_the_sheet_is_tomorrows(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    out = tmp_path / "sheet.html"
    run(room, "sheet", "--out", str(out), now="2027-01-05T21:30")
    sheet = read_sheet(out.read_text("utf-8"))
    assert sheet.boxes
    assert [stamp for of, stamp, _ in sheet.times if of == "sheet#first"] == ["2027-01-06"]


def test_a_file_that_is_no_sheet_is_not_replaced(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    other = tmp_path / "letters.html"
    other.write_text("dear aunt")
    result = run(room, "sheet", "--out", str(other), code=2)
    assert "exists and was not made by this program" in result.stderr
    assert other.read_text() == "dear aunt"
    run(room, "sheet", "--out", str(other), "--force")
    assert "livefood sheet" in other.read_text("utf-8")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--from", "2027-01-10"], "--from and --to go with --helper"),
        (["--helper"], "no absence lies ahead: say"),
        (["--helper", "--from", "2027-01-10"], "say both days"),
        (["--helper", "--from", "2027-01-10", "--to", "2027-01-09"], "lies before --from"),
        (["--helper", "--from", "2027-01-04", "--to", "2027-01-09"], "lies in the past"),
        (["--helper", "--from", "2027-01-10", "--to", "2027-09-09"], "more than 60 days ahead"),
        (["--helper", "--week"], "--week does not go with --helper"),
        (["--helper", "--from", "soon", "--to", "2027-01-09"], "'soon' is not a day"),
    ],
)
def test_options_that_make_no_sense_are_refused(
    tmp_path: Path, options: list[str], message: str
) -> None:
    room = room_file(tmp_path)
    out = tmp_path / "sheet.html"
    result = run(room, "sheet", "--out", str(out), *options, code=2)
    assert message in result.stderr
    assert "Traceback" not in result.stderr
    assert not out.exists()


def test_what_was_written_is_told_to_programs(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    out = tmp_path / "sheet.html"
    report = run_json(room, "sheet", "--week", "--out", str(out))
    assert report["boxes"] == len(read_sheet(out.read_text("utf-8")).boxes)
    assert (report["days"], report["paper"], report["out"]) == (7, "a4", str(out))


def test_in_the_evening_after_the_last_round_a_sheet_is_for_the_next_day(tmp_path: Path) -> None:
    """The round of 18:30 is noted at 18:40, within the two hours in which it is in hand."""
    room = room_file(tmp_path, horizon_days="3")
    then(room, "2027-01-05T18:20", "today")
    then(room, "2027-01-05T18:40", "journal", "done")
    then(room, "2027-01-05T18:41", "journal", "sorted", "annuals 2")
    made = then(room, "2027-01-05T18:45", "sheet", "--out", str(tmp_path / "s.html"), "--json")
    report = json.loads(made.output)
    assert report["boxes"] > 0
    text = (tmp_path / "s.html").read_text("utf-8")
    assert "Wed 6 Jan 2027" in text[text.index("<title>") : text.index("</title>")]
