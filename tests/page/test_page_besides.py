"""What is noted besides the round: extra meals, temperatures and spawnings."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from cultures.files import read
from tests.cli.invented import at, jotted, room_file
from tests.page.room import KEYS, Page, demo_page

_MORNING, _NOON = "2027-01-05T07:20", "2027-01-05T10:00"
_ROUND = "2027-01-05T07:30:00+00:00"
_NEW: dict[str, Any] = {"other": "A4", "class": "egg_scatterer", "amount": "80"}


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    return demo_page(tmp_path, monkeypatch, _MORNING, whole=True)


def _same_as(
    page: Page, folder: Path, commands: list[list[str]], later: list[list[str]] | None = None
) -> None:
    """The journal of the page is, byte for byte, that of a room where the commands were typed.

    Args:
        later: those of the late morning.
    """
    other = folder / "other"
    other.mkdir()
    room = room_file(other, horizon_days="3")
    at(room, _MORNING, "today")
    for now, said in ((_MORNING, commands), (_NOON, later or [])):
        for words in said:
            jotted(room, now, *words)
    assert read(page.room.with_name("journal.csv")) == read(room.with_name("journal.csv"))


def _forms(shown: str, **fields: str) -> list[dict[str, Any]]:
    """The forms of a page that say so, by what they send as they stand."""
    found = [
        dict(re.findall(r'name="([^"]+)"[^>]*? value="([^"]*)"', f))
        for f in shown.split("<form")[1:]
    ]
    return [f for f in found if fields.items() <= f.items()]


def _extra(page: Page, tank: str, code: Any = 200, **more: Any) -> dict[str, Any]:
    """What the form of an extra meal answers, with amounts and words filled in."""
    form = _forms(page.get("fry"), tank=tank, what="besides")[0]
    foods = {name: value for name, value in form.items() if name.startswith("food ")}
    assert set(foods.values()) == {""}
    return page.post(code=code, **{k: v for k, v in form.items() if k != "id"} | more)


def _told(page: Page, tank: str, food: str) -> float:
    """What was told for a tank of a food for the first round [mL], of dry food [g]."""
    told = json.loads(at(page.room, _MORNING, "today", "--json").output)["rounds"]
    mine = [x for x in told if (x["at"], x["tank"], x["food"]) == (_ROUND, tank, food)]
    return sum(float(x["amount"]) for x in mine)


def test_temperatures_are_what_the_command_writes(page: Page, tmp_path: Path) -> None:
    said = [("B1", "24.5"), ("bottle 1", "27"), ("MW-1", "23"), ("room", "22")]
    for subject, degrees in said:
        where = {"B1": "fry", "MW-1": "cultures"}.get(subject, "todo")
        shown = page.get(where)
        assert subject == "room" or f"Temperature of {subject}" in shown
        form: dict[str, Any] = {"kind": "event", "event": "temperature", "subject": subject}
        assert subject == "room" or _forms(shown, **form)
        assert f"<option>{subject}</option>" in page.get("todo").partition("<h2>Temperature")[2]
        page.post(**form, amount=degrees, unit="°C")
    commands = [["temperature", *subject.split(), degrees] for subject, degrees in said]
    _same_as(page, tmp_path, commands)
    # The tank's own field stands at what it is now.
    form = _forms(page.get("fry"), event="temperature", subject="B1")[0]
    assert form["amount"] == "24.5"


def test_a_temperature_that_cannot_be_is_refused_or_asked_about(page: Page) -> None:
    form: dict[str, Any] = {"kind": "event", "event": "temperature", "unit": "°C"}
    answer = page.post(**form, subject="B1", amount="72", code=409)
    assert answer["state"] == "refused"
    assert "use 2 to 42 °C; for degrees Fahrenheit write '72 F'" in answer["text"]
    answer = page.post(**form, subject="MW-1", amount="44", code=409)
    assert answer["state"] == "ask"
    assert page.journal() == []
    page.post(**form, subject="MW-1", amount="44", **answer["more"])
    assert page.journal() == [f"{_MORNING}:00+00:00,temperature,MW-1,,44,C,"]


def test_a_room_in_us_units_takes_its_temperatures(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Page(room_file(tmp_path, horizon_days="3", units='"us"'), monkeypatch)
    page.at(_MORNING)
    form = _forms(page.get("fry"), event="temperature", subject="B1")[0]
    assert (form["amount"], form["unit"]) == ("77.9", "°F")
    page.post(**{k: v for k, v in form.items() if k != "id"} | {"amount": "78"})
    assert page.journal()[0].split(",")[4:6] == ["25.56", "C"]


def test_a_spawning_is_noted_from_expected_to_swimming(page: Page, tmp_path: Path) -> None:
    page.get()
    event: dict[str, Any] = {"kind": "event", "subject": "danio 4"}
    page.post(**event, **_NEW, event="planned", day="2027-01-05", chance="60")
    shown = page.get("fry")
    assert "expected on Tue 5 Jan" in shown
    assert _forms(shown, event="drop", subject="danio 4")
    form = _forms(shown, event="spawn", subject="danio 4")[0]
    page.post(**{k: v for k, v in form.items() if k != "id"} | {"amount": "90"})
    assert _forms(page.get("fry"), event="free_swimming", subject="danio 4")
    page.post(**event, event="free_swimming", amount="")
    new = ["--tank", "A4", "--class", "egg_scatterer", "--count", "80"]
    _same_as(page, tmp_path, [
        ["planned", "danio 4", "--on", "2027-01-05", "--chance", "60 %", *new],
        ["spawn", "danio 4", "--count", "90"], ["free_swimming", "danio 4"],
    ])  # fmt: skip


def test_at_their_first_food_it_is_noted_that_they_do_not_swim_yet(page: Page) -> None:
    """Offered on the page of the round and on Fry, and written as the command writes it."""
    new = ["--tank", "A4", "--class", "egg_scatterer", "--count", "80"]
    at(page.room, _MORNING, "journal", "spawn", "danio 4", "--at", "2027-01-01T08:00", *new)
    found = json.loads(at(page.room, _MORNING, "check", "--json").output)["broods"]
    first = next(b["first_food"] for b in found if b["name"] == "danio 4")
    page.at(f"{first}T07:10")
    event = {"event": "not_swimming", "subject": "danio 4"}
    assert _forms(page.get("fry"), **event)
    form = _forms(page.get(), **event)[0]
    before = page.journal()
    page.post(**{k: v for k, v in form.items() if k != "id"})
    noted = page.journal()[len(before) :]
    assert noted[0].split(",")[1:3] == ["not_swimming", "danio 4"]
    assert not _forms(page.get(), **event)


def test_a_spawning_of_yesterday_one_put_off_and_one_not_to_come(
    page: Page, tmp_path: Path
) -> None:
    page.get()
    page.post(kind="event", event="spawn", subject="danio 4", day="2027-01-04", **_NEW)
    page.post(kind="event", event="planned", subject="danio 5", day="2027-01-09", **_NEW)
    page.post(kind="event", event="planned", subject="danio 5", day="2027-01-11")
    page.post(kind="event", event="drop", subject="danio 5")
    new = ["--tank", "A4", "--class", "egg_scatterer", "--count", "80"]
    _same_as(page, tmp_path, [
        ["spawn", "danio 4", *new, "--at", "2027-01-04"],
        ["planned", "danio 5", "--on", "2027-01-09", *new],
        ["planned", "danio 5", "--on", "2027-01-11"], ["drop", "danio 5"],
    ])  # fmt: skip


def test_eggs_are_put_aside_in_peat_and_into_water(page: Page, tmp_path: Path) -> None:
    page.get()
    new = _NEW | {"class": "nothobranchius_furzeri"}
    page.post(kind="event", event="collected", subject="annuals 3", **new)
    shown = page.get("fry")
    assert "eggs put aside in peat" in shown
    assert _forms(shown, event="wetted", subject="annuals 3")
    page.post(kind="event", event="wetted", subject="annuals 3", amount="", day="2027-01-07")
    assert _forms(page.get("fry"), event="wetted", subject="annuals 3")
    page.post(kind="event", event="wetted", subject="annuals 3", amount="70", day="2027-01-05")
    assert not _forms(page.get("fry"), event="wetted", subject="annuals 3")
    species = ["--tank", "A4", "--class", "nothobranchius_furzeri", "--count", "80"]
    _same_as(page, tmp_path, [
        ["collected", "annuals 3", *species], ["wetted", "annuals 3", "--on", "2027-01-07"],
        ["wetted", "annuals 3", "70"],
    ])  # fmt: skip


def test_a_spawning_that_cannot_be_is_said_in_words(page: Page) -> None:
    said = [
        ({"event": "spawn", "subject": "danio 4", "other": "A4"}, "give its tank, class and count"),
        ({"event": "spawn", "subject": "B1", "other": "Z9", **_NEW} | {"other": "Z9"}, "Z9"),
        ({"event": "spawn", "subject": "MW-1", **_NEW}, "there is a culture MW-1 already"),
        ({"event": "spawn", "subject": "danio 4", "day": "2027-01-09", **_NEW}, "is expected"),
        ({"event": "planned", "subject": "danio 4", **_NEW}, "on which day"),
        ({"event": "planned", "subject": "danio 4", "day": "2027-01-01", **_NEW}, "is over"),
        ({"event": "planned", "subject": "danio 4", "day": "soon", **_NEW}, "is not a day"),
        ({"event": "spawn", "subject": "danio 4", **_NEW, "amount": "0"}, "is not possible"),
        ({"event": "drop", "subject": "acara 5"}, "is there, not only planned"),
    ]
    for form, words in said:
        answer = page.post(kind="event", code=409, **form)
        assert answer["state"] == "refused", form
        assert words in answer["text"], answer["text"]
        assert "--" not in answer["text"], answer["text"]
    # Among fish that eat them it is asked about, as a move is.
    answer = page.post(kind="event", event="spawn", subject="danio 4", code=409,
                       **_NEW | {"other": "C4"})  # fmt: skip
    assert (answer["state"], answer["more"]) == ("ask", {"sure": "1"})
    answer = page.post(kind="event", event="spawn", subject="acara 5", code=409)
    assert (answer["state"], answer["more"]) == ("ask", {"sure": "1"})
    assert page.journal() == []


def test_an_extra_meal_comes_on_top_of_what_the_tank_had(page: Page, tmp_path: Path) -> None:
    page.get()
    page.post(kind="round", round=_ROUND)
    page.at(_NOON)
    assert "Besides what it got at the round of Tue 5 Jan 07:30" in page.get("fry")
    had, dry_g = (_told(page, "B1", food) for food in ("brine_shrimp", "dry"))
    dry = 500.0 * dry_g  # it is soaked in 500 mL a gram
    assert had > 0.0
    assert dry > 0.0
    _extra(page, "B1", **{"food brine_shrimp": "7"})
    _extra(page, "B1", **{"food brine_shrimp": "2.5", "food dry": "1"})
    noted = [line.split(",")[2:6] for line in page.journal()[-3:]]
    assert noted == [
        ["B1", "brine_shrimp", f"{had + 7:g}", "mL"],
        ["B1", "brine_shrimp", f"{had + 9.5:g}", "mL"], ["B1", "dry", f"{dry + 1:g}", "mL"],
    ]  # fmt: skip
    foods = (f"nauplii {had + 7:g} mL", f"nauplii {had + 9.5:g} mL", f"dry {dry + 1:g} mL")
    _same_as(page, tmp_path, [["done"]], [["fed", "B1", *each.split()] for each in foods])
    # The second tap was one, and one take-back takes it back: the first counts again.
    page.post(kind="undo", line=str(len(page.journal()) + 1), all="1")
    _extra(page, "B1", **{"food brine_shrimp": "1"}, words="a few frozen cubes")
    assert [line.split(",")[1:7] for line in page.journal()[-2:]] == [
        ["note", "B1", "", "", "", "extra meal: a few frozen cubes"],
        ["fed", "B1", "brine_shrimp", f"{had + 8:g}", "mL", ""],
    ]  # fmt: skip


def test_an_extra_meal_is_asked_back_and_refused_as_by_the_command(page: Page) -> None:
    page.get()
    page.post(kind="round", round=_ROUND)
    page.at(_NOON)
    before, all_ml = page.journal(), f"{_told(page, 'B1', 'brine_shrimp') + 90:g}"
    answer = _extra(page, "B1", code=409)
    assert answer["text"] == "write how much more tank B1 got; nothing is noted yet"
    answer = _extra(page, "B1", code=409, **{"food brine_shrimp": "a drop"})
    assert answer["state"] == "refused"
    answer = _extra(page, "B1", code=409, **{"food brine_shrimp": "90"})
    assert f"{all_ml} mL of nauplii cannot have gone into B1" in answer["text"]
    assert page.journal() == before
    _extra(page, "B1", **{"food brine_shrimp": "90"}, **answer["more"])
    assert page.journal()[-1].split(",")[2:6] == ["B1", "brine_shrimp", all_ml, "mL"]
    key = page.task("feed/", "fry")
    page.post(key=KEYS.helper, code=403, kind="event", event="fed", subject="B1", round=_ROUND)
    page.post(kind="tank", task=key, tank="Z9", what="besides", code=409)


def test_a_tank_that_was_not_fed_got_its_extra_meal_alone(page: Page) -> None:
    page.get()
    page.post(kind="tank", task=page.task("feed/"), tank="C4", what="skip")
    _extra(page, "C4", **{"food brine_shrimp": "5"})
    fed = {line.split(",")[3]: line.split(",")[4:6] for line in page.journal()[1:]}
    assert fed.pop("brine_shrimp") == ["5", "mL"]
    assert fed
    assert all(amount == "0" for amount, _ in fed.values())


def test_a_tank_of_which_nothing_was_told_was_fed(page: Page, tmp_path: Path) -> None:
    shown = page.get("fry")
    assert "Nothing was told for B1 at the round of Mon 4 Jan 18:30." in shown
    form = _forms(shown, event="fed", subject="B1")[0]
    page.post(**{k: v for k, v in form.items() if k != "id"}, words="a pinch")
    assert page.journal() == ["2027-01-04T18:30:00+00:00,fed,B1,,,,a pinch"]
    _same_as(page, tmp_path, [["fed", "B1", "--at", "yesterday 18:30", "--note", "a pinch"]])


def test_one_tap_is_taken_back_with_one(page: Page) -> None:
    page.get()
    page.post(kind="round", round=_ROUND)
    made = len(page.journal())
    assert made >= 4
    form = _forms(page.get(), kind="undo", all="1")
    assert len(form) == 1, "the round's own, whatever else can be taken back"
    page.post(**{k: v for k, v in form[0].items() if k != "id"})
    undone = [line.split(",")[1:3] for line in page.journal()[made:]]
    assert sorted(undone) == sorted(["undo", str(n)] for n in range(2, made + 2))
    assert "All of this round done as told" in page.get()


def test_the_notes_list_what_one_tap_noted_as_one(page: Page) -> None:
    page.get()
    page.post(kind="event", event="note", subject="room", words="cold")
    page.post(kind="round", round=_ROUND)
    made = len(page.journal()) - 1
    listed = page.get("notes").partition("<h2>Noted today")[2]
    cards = listed.split('<li class="card')[1:]
    assert len(cards) == 2
    assert f"lines 3 to {made + 2}, by the keeper's page" in cards[0]
    assert cards[0].count('name="kind" value="undo"') == 1 + made
    assert "line 2, by the keeper's page" in cards[1]
    for words in "abcdefghij":
        page.post(kind="event", event="note", subject="room", words=words)
    assert "<summary>4 before these</summary>" in page.get("notes")


def test_what_is_answered_folds_and_many_broods_do(page: Page) -> None:
    page.get()
    key = page.task("feed/")
    for number, tank in enumerate(("A3", "B1", "B4", "C2"), 1):
        page.post(kind="tank", task=key, tank=tank, what="done")
        shown = page.get()
        assert shown.count("<b>fed</b>") == number
        assert ("4 tanks answered" in shown) == (number == 4)
    folded = shown.partition("4 tanks answered")[2].partition("</details>")[0]
    assert folded.count("<b>fed</b>") == 4
    assert shown.index('id="tank-C4"') < shown.index("4 tanks answered")
    unfolded = " open><summary><h2>"
    for name in ("fry", "cultures"):
        assert page.get(name).count('<details data-keep="') > 3
        assert unfolded not in page.get(name)
    broods = page.room.read_text("utf-8").partition("[[culture]]")[0].split("\n[[brood]]")
    page.room.write_text("\n[[brood]]".join(broods[:4]), "utf-8")
    assert page.get("fry").count(unfolded) == 3


def test_what_a_page_leads_to_stands_on_it_once(page: Page) -> None:
    page.get()
    page.post(kind="round", round=_ROUND)
    page.at("2027-01-05T08:00")
    for name in ("now", "todo", "ahead", "cultures", "fry", "notes"):
        shown = page.get(name)
        ids = re.findall(r' id="([^"]+)"', shown)
        assert len(ids) == len(set(ids)), name
        assert set(re.findall(r'href="#([^"]+)"', shown)) <= set(ids), name
    shown = page.get()
    over, _, ahead = shown.partition("over, and noted")[2].partition("Round 18:30")
    assert "tank A3:" in over
    assert 'id="tank-A3"' not in over
    assert 'id="tank-A3"' in ahead
    fry = page.get("fry")
    for link in re.findall(r'href="fry#([^"]+)"', shown):
        assert f' id="{link}"' in fry


def test_all_that_changes_stands_in_the_line_that_unfolds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Page(room_file(tmp_path, horizon_days="10"), monkeypatch)
    page.at(_MORNING)
    page.get()
    page.post(kind="event", event="spawn", subject="danio 4", **_NEW | {"amount": "900"})
    page.post(kind="event", event="failed", subject="bottle 1")
    strip = page.get().partition('data-keep="news"')[2].partition("</details>")[0]
    assert strip.count("<li>") > 4
    assert "more change" not in strip
