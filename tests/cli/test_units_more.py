"""US units on the screens of single commands; JSON and metric rooms stay metric."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cli.screens.us_units import in_us_unit
from cultures.words.quantities import in_units, milligrams, plain
from tests.cli.invented import NOW, at, room_file, run, run_json
from tests.cli.us_contract import METRIC, dated_otherwise, too_fine

_SCREENS = [
    ["yield", "MW-1", "--range"],
    ["yield", "VE-1"],
    ["yield", "--kind", "microworm", "--medium-g", "150", "--surface-cm2", "180", "--range",
     *(f"--temperature-c={t}" for t in (18, 20.5, 22.5, 24, 26))],
    ["hatch", "--at", "2027-01-06T07:30", "--range"],
    ["hatch", "--nauplii", "100000", "--at", "2027-01-06T07:30", "--temperature-c", "31"],
    ["need"],
    ["need", "--brood", "honey gourami 7"],
    ["need", "--brood", "acara 5", "--why"],
    ["need", "--brood", "platies 9", "--why"],
    ["check"],
    ["year"],
    ["ready", "betta 120", "--on", "2027-02-16"],
    ["plan", "--if", "lose MW-1"],
    ["kinds", "microworm"],
    ["kinds", "brine_shrimp"],
    ["kinds", "substrate_spawner"],
]  # fmt: skip
#: Where the keeper's own units end: notes and sources speak as they were printed.
_INDENT = re.compile(r"^    .*\n", re.MULTILINE)


@pytest.fixture
def us(tmp_path: Path) -> Path:
    return room_file(tmp_path, units='"us"', horizon_days="10")


@pytest.fixture
def metric(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return room_file(tmp_path_factory.mktemp("metric"), horizon_days="10")


def _own_words(args: list[str], text: str) -> str:
    """A screen without what is quoted from sources."""
    if args[0] == "kinds":
        return _INDENT.sub("", text)
    if "--why" in args:
        head, tail = text.split("Where the numbers come from")
        return head + "\n".join(re.findall(r"^  \w+ +\w+, [^;]*;", tail, re.MULTILINE))
    return text


@pytest.mark.parametrize("args", _SCREENS, ids=" ".join)
def test_a_us_screen_has_no_metric_unit_and_fits(us: Path, args: list[str]) -> None:
    text = run(us, *args).stdout.replace(str(us), us.name)
    own = _own_words(args, text)
    assert METRIC.findall(own) == too_fine(own) == dated_otherwise(own) == []
    assert re.search(r"°F|\boz\b|\btsp\b|\binch\b|\bin\b", text)
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize("args", _SCREENS, ids=" ".join)
def test_a_metric_screen_has_no_us_unit_and_fits(metric: Path, args: list[str]) -> None:
    text = run(metric, *args).stdout.replace(str(metric), metric.name)
    assert not re.search(r"°F|\boz\b|\d in\b|fl oz|\bqt\b|\bgal\b", _own_words(args, text))
    assert re.search(r"\d (?:°C|mm|mL|mg|g)\b", text)
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize(
    "args",
    [["yield", "MW-1"], ["hatch", "--at", "2027-01-06T07:30"], ["need"],
     ["need", "--brood", "acara 5"], ["kinds", "microworm"], ["check"]],
    ids=" ".join,
)  # fmt: skip
def test_json_is_metric_in_both(us: Path, metric: Path, args: list[str]) -> None:
    assert run_json(us, *args) == run_json(metric, *args)


def _number(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found is not None, text
    return float(found[1].replace(",", ""))


# Factors looked up in NIST Special Publication 811 (2008), appendix B.8: 1 oz = 28.349 52 g,
# 1 in = 25.4 mm, 1 US tsp = 4.928 922 mL.
def test_the_numbers_of_both_screens_are_the_same_amounts(us: Path, metric: Path) -> None:
    day = r"(?m)^ +14 +([\d.]+) +[\d.]+ +#"
    anew = ["yield", "MW-1", "--days", "40"]
    stock_us = _number(day, run(us, *anew).stdout)
    stock_mg = _number(day, run(metric, *anew).stdout)
    alike = r"Worms in wet weight. An estimate: cultures started alike differ by\s+about 50%\."
    assert re.search(alike, run(us, *anew).stdout)
    assert stock_us == stock_mg  # both by a pocket scale
    day = r"(?m)^  Tue (?:5 Jan|Jan 5) +([\d,.]+) mg +[\d /]+ swipes +[#-]+ <- today$"
    own_us = _number(day, run(us, "yield", "MW-1").stdout)
    own_mg = _number(day, run(metric, "yield", "MW-1").stdout)
    assert own_us == own_mg
    args = ["hatch", "--nauplii", "100000", "--at", "2027-01-06T07:30"]
    per_ml_us = _number(r"\(([\d,]+)\s+to\s+the\s+mL", run(us, *args).stdout)
    per_ml = _number(r"\(([\d,]+)\s+to\s+the\s+mL", run(metric, *args).stdout)
    assert per_ml_us == per_ml  # a syringe has marks in mL
    length = r"acara 5 +([\d.]+) "
    inches = _number(length, run(us, "need").stdout)
    assert inches == pytest.approx(_number(length, run(metric, "need").stdout) / 25.4, abs=0.008)


def test_the_sums_of_why_come_out_in_us_units_too(us: Path) -> None:
    text = re.sub(r"\s+", " ", run(us, "need", "--brood", "acara 5", "--why").stdout)
    weight = re.search(r"weight ([\d.]+) x ([\d.]+)\^([\d.]+) = ([\d.]+) mg", text)
    assert weight is not None
    a, length, b, milligram = map(float, weight.groups())
    assert a * length**b == pytest.approx(milligram, rel=0.02)
    ration = re.search(r"ration ([\d.]+)% x ([\d.]+)\^(-[\d.]+) = (\d+)% of", text)
    assert ration is not None
    share, mass, power, percent = map(float, ration.groups())
    assert mass == milligram
    assert share * mass**power == pytest.approx(percent, abs=0.7)
    level = _number(r"= (\d+)% of its weight", text) / 100
    warm, joules = _number(r"day, x ([\d.]+) for", text), _number(r"x ([\d.]+) J/mg", text)
    each = _number(r"= ([\d.]+) J a fry", text)
    assert milligram * level * warm * joules == pytest.approx(each, rel=0.02)
    growth = re.search(
        r"length ([\d.]+) x \(([\d.]+) / [\d.]+\)\^\(1 - exp\(-([\d.]+) x ([\d.]+)\)\) =", text
    )
    assert growth is not None
    start, limit, rate, days = map(float, growth.groups())
    reached = start * (limit / start) ** (1 - 2.718281828 ** (-rate * days))
    assert reached == pytest.approx(length, rel=0.01)


def test_the_journal_speaks_us_units(us: Path) -> None:
    for words, said in [
        (["harvest", "MW-1", "500", "mg"], "harvest MW-1 500 mg"),
        (["set", "bottle 2", "2", "g"], "set bottle 2 2 1/2 x 1/4 tsp level (2 g)"),
        (["length", "acara 5", "0.4", "in"], "length acara 5 0.40 in"),
        (["temperature", "room", "72.5", "F"], "temperature room 72.5 °F"),
        (["bought", "cysts", "50", "g"], "bought cysts 1.76 oz"),
        (["hatched", "bottle 1", "--drops", "12 9 15", "--drop-ml", "0.05", "--of-ml", "1000"],
         "bottle 1 12 9 15 in"),
    ]:  # fmt: skip
        text = run(us, "journal", *words).stdout
        assert said in re.sub(r"\s+", " ", text)
        if words[0] != "hatched":
            assert METRIC.findall(text) == []
    text = run(us, "journal", "show").stdout
    assert [m for m in METRIC.findall(text) if "mL" not in m] == []
    units = {entry["unit"] for entry in run_json(us, "journal", "show")["entries"]}
    assert {"mg", "g", "mm", "C"} <= units


def test_the_journal_of_a_metric_room_is_metric(metric: Path) -> None:
    for words, said in [
        (["harvest", "MW-1", "500", "mg"], "harvest MW-1 500 mg"),
        (["length", "acara 5", "0.4", "in"], "length acara 5 10.16 mm"),
        (["temperature", "room", "21.5"], "temperature room 21.5 °C"),
    ]:
        assert said in run(metric, "journal", *words).stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["length", "acara 5", "900", "mm"], "35.43 in is not the length of a fry"),
        (["temperature", "A1", "60"], "A1 at 140 °F: nothing in this room lives"),
        (["temperature", "A1", "60"], "use 35.6 to 108 °F"),
    ],
)
def test_mistakes_are_answered_in_the_same_units(us: Path, words: list[str], said: str) -> None:
    assert said in run(us, "journal", *words, code=2).stderr


def test_what_cannot_be_hatched_is_said_in_gallons(us: Path) -> None:
    args = ["hatch", "--nauplii", "100000000", "--at", "2027-01-06T07:30"]
    assert re.search(r"add a vessel of [\d.]+ gal or more", run(us, *args, code=2).stderr)


def test_a_first_harvest_after_the_days_shown_is_not_never(metric: Path) -> None:
    assert re.search(r"first harvest +after day 2\b", run(metric, "yield", "MW-1",
                                                          "--days", "2").stdout)  # fmt: skip


def test_a_room_that_was_asked_for_has_to_be_there(tmp_path: Path) -> None:
    args = ["yield", "--kind", "microworm", "--medium-g", "150"]
    assert "missing.toml" in run(tmp_path / "missing.toml", *args, code=2, now=NOW).stderr


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("use -5 to 45 °C", "use 23 to 113 °F"),
        ("known from 26 to 28.5 °C", "known from 78.8 to 83.3 °F"),
        ("10-15 °C", "50-59 °F"),
        ("at -3 °C", "at 26.6 °F"),
        ("1 cm deep", "3/8 in deep"),
        ("29 ± 1 °C", "29 ± 1 °C"),
        ("MW-5 g", "MW-5 g"),
    ],
)
def test_both_ends_of_a_range_are_converted(text: str, expected: str) -> None:
    assert in_units(text, "us") == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0, "0"), (0.00001058, "0.0000106"), (12.345, "12.3"), (79400, "79400"), (-0.5, "-0.5")],
)
def test_small_numbers_are_written_without_powers(value: float, expected: str) -> None:
    assert plain(value) == expected


# NIST Special Publication 811 (2008), appendix B.8, as above; 1 US gal = 3.785 412 L.
@pytest.mark.parametrize(
    ("value", "unit", "expected", "shown"),
    [
        (25.4, "mm", 1.0, "in"),
        (25.0, "°C", 77.0, "°F"),
        # Pocket scales show grams.
        (2.5, "mg wet", 2.5, "mg wet"),
        (1.0, "mg/cm2", 6.4516, "mg/in2"),
        (0.65, "g/mL", 0.65 * 4.928922, "g/tsp"),
        (3.785412, "L", 1.0, "gal"),
        (25.4, "mm/L", 3.785412, "in/gal"),
        (25.0, "g/L", 25.0, "ppt"),
        (3.0, "d", 3.0, "d"),
    ],
)
def test_units_of_the_data(value: float, unit: str, expected: float, shown: str) -> None:
    number, us_unit = in_us_unit(value, unit)
    assert number == pytest.approx(expected, rel=1e-6)
    assert us_unit == shown


def test_a_length_to_weight_law_gives_the_same_weight_in_inches() -> None:
    # one inch of a fish with W = 0.01 mg L^3.1 (L in mm)
    factor, unit = in_us_unit(0.01, "mg/mm^b", 3.1)
    assert unit == "mg/in^b"
    assert factor == pytest.approx(0.01 * 25.4**3.1, rel=1e-6)
    assert milligrams(28349.53, "us") == "1 oz"


def test_days_are_said_as_in_the_room_wherever_they_are_listed(us: Path) -> None:
    """Of earlier room files, and of what the journal says of a day ahead."""
    at(us, NOW, "today")
    assert "from Tue Jan 5, 2027, 7 am on" in run(us, "history").stdout
    planned = "planned danio 9 --on 2027-01-20 --tank A4 --class egg_scatterer --count 80"
    noted = at(us, NOW, "journal", *planned.split()).stdout
    assert "egg_scatterer on Wed Jan 20 80 fry" in " ".join(noted.split())
    assert "2027-01-20" not in run(us, "journal", "show").stdout


def test_what_is_to_be_set_on_another_day_names_it(us: Path) -> None:
    shown = run(us, "today", now="2027-01-08T19:00").stdout
    going = shown.partition("TO SET GOING")[2].partition("\n\n")[0]
    assert re.search(r" \d(:\d\d)? am on Sat, ", going), going


def test_many_nauplii_are_told_with_their_thousands(us: Path) -> None:
    noted = at(us, NOW, "journal", "hatched", "bottle 1", "80000", "--sure").stdout
    assert "hatched bottle 1 80,000 nauplii" in noted
