"""What a terminal answers with after a note, the page says too."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import at, quick_room
from tests.page.room import KEYS, ORIGIN, Page, demo_page

_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    page = demo_page(tmp_path, monkeypatch, _MORNING)
    page.get()
    return page


def _twin(page: Page, *command: str) -> str:
    """What a command says on a room like that of the page, as one line."""
    folder = page.room.parent / "twin"
    folder.mkdir(exist_ok=True)
    room = quick_room(folder)
    at(room, _MORNING, "today")
    return " ".join(at(room, _MORNING, "journal", *command).output.split())


def test_fry_are_not_put_among_fish_that_eat_them_without_a_question(page: Page) -> None:
    form: dict[str, Any] = {
        "kind": "event",
        "event": "move",
        "subject": "pearl danio 3",
        "other": "B4",
    }
    asked = page.post(code=409, **form)
    assert (asked["state"], asked["more"]) == ("ask", {"sure": "1"})
    assert "fish so much larger eat the small ones" in asked["text"]
    assert "annuals 2" in asked["text"]
    assert "livefood" not in asked["text"]
    assert not any(",move," in line for line in page.journal())
    page.post(**form, **asked["more"])
    assert any(",move," in line for line in page.journal())
    # What is as it was is not asked about again.
    page.post(kind="event", event="move", subject="platies 9", other="A3")


def test_a_poor_hatch_is_said_to_be_one_and_can_be_kept_apart(page: Page) -> None:
    poor: dict[str, Any] = {"kind": "task", "task": page.task("harvest_hatch/"), "what": "other"}
    said = page.post(**poor, amount="60000")
    terminal = _twin(page, "hatched", "bottle 1", "60000")
    usual = re.search(r"That is [\d,]+ a gram of cysts; [\d,]+ to [\d,]+ are usual\.", terminal)
    assert usual is not None
    assert usual[0] in said["mind"][0]
    assert not re.search(r"--apart|journal undo", said["mind"][0])
    line = page.journal()[-1]
    page.post(**said["more"])
    assert [x.split(",")[1] for x in page.journal()] == ["hatched", "undo", "hatched"]
    assert page.journal()[-1].split(",")[3] == "apart"
    assert page.journal()[-1].split(",")[4] == line.split(",")[4]
    page.post(**said["more"])  # twice is once
    assert len(page.journal()) == 3


def test_a_usual_hatch_needs_no_word(page: Page) -> None:
    said = page.post(
        kind="task", task=page.task("harvest_hatch/"), what="other", amount="310000"
    )  # fmt: skip
    assert said["mind"] == []


def test_without_script_a_poor_hatch_is_said_on_a_page_of_its_own(page: Page) -> None:
    form = {"kind": "task", "task": page.task("harvest_hatch/"), "what": "other", "amount": "60000"}
    done = page.client.post(f"/{KEYS.keeper}/answer", data=form, headers={"Origin": ORIGIN})
    assert done.status_code == 200
    assert "are usual" in done.text
    assert 'value="apart"' in done.text
    assert [x.split(",")[1] for x in page.journal()] == ["hatched"]


def test_without_script_what_cannot_be_is_asked_on_a_page_of_its_own(page: Page) -> None:
    form = {"kind": "event", "event": "used", "subject": "cysts", "amount": "5000 g"}
    asked = page.client.post(f"/{KEYS.keeper}/answer", data=form, headers={"Origin": ORIGIN})
    assert asked.status_code == 409
    assert "It is so all the same" in asked.text
    assert 'name="sure" value="1"' in asked.text
    assert page.journal() == []


def test_more_is_not_used_up_than_there_is_without_a_question(page: Page) -> None:
    form: dict[str, Any] = {"kind": "event", "event": "used", "subject": "cysts"}
    asked = page.post(code=409, amount="5000 g", **form)
    assert asked["more"] == {"sure": "1"}
    assert "of cysts, not 5,000 g" in asked["text"]
    assert page.journal() == []
    page.post(amount="1 g", **form)
    page.post(amount="5000 g", **form, **asked["more"])
    assert [line.split(",")[1:3] for line in page.journal()] == [["used", "cysts"]] * 2


def test_all_of_a_brood_is_sold_with_one_answer(page: Page) -> None:
    fields = re.search(r'value="sold".*?name="other" value="all"', page.get("fry"), re.DOTALL)
    assert fields is not None
    page.post(kind="event", event="sold", subject="platies 9", other="all")
    at_terminal = _twin(page, "sold", "platies 9", "--all")
    assert "sold platies 9" in at_terminal
    twin = page.room.parent / "twin" / "journal.csv"
    assert page.journal() == twin.read_text("utf-8").splitlines()[1:]
    assert "platies 9" not in page.get("fry").partition('<nav class="bar"')[0]


def test_that_a_culture_is_dead_takes_a_second_press(page: Page) -> None:
    shown = page.get("todo")
    before, _, form = shown.partition('aria-label="MW-1 is dead"')
    assert form
    assert before.rindex("<details") > before.rindex("</details>")
    assert before.rindex("<summary>Dead</summary>") > before.rindex("<details")


def test_an_amount_goes_in_the_steps_in_which_it_is_told(page: Page) -> None:
    shown = page.get()
    steps = re.findall(
        r'data-step="([\d.]+)">\s*<input name="food [a-z_]+"[^>]* value="([\d.]+)"', shown
    )
    assert len(steps) > 5
    assert all(float(value) % float(step) == 0 for step, value in steps if "." not in value)


def test_every_page_begins_to_lead_on_without_a_way_to_its_end(page: Page) -> None:
    """Pages, tanks and broods can be gone to from a bar that stays in the window."""
    for name in ("now", "todo", "ahead", "cultures", "fry", "notes"):
        shown = page.get(name)
        bar = shown.partition('<nav class="bar"')[2].partition("</nav>")[0]
        links = re.findall(r'href="(\w+)"', bar)
        assert sorted(links) == ["ahead", "cultures", "fry", "notes", "now", "todo"], name
        for target in re.findall(r'href="#([^"]+)"', bar):
            assert f'id="{target}"' in shown, (name, target)
    assert 'href="#tank-A3"' in page.get()
    assert 'href="#brood-platies-9"' in page.get("fry")


def test_what_changes_in_the_plan_is_said_as_at_a_terminal(page: Page) -> None:
    assert "The plan changes" not in page.get()
    page.post(kind="task", task=page.task("harvest_hatch/"), what="failed")
    terminal = _twin(page, "failed", "bottle 1")
    changes = re.findall(r" - (.+?)(?= - |$)", terminal.partition("The plan changes:")[2])
    assert changes
    shown = page.get()
    strip = shown.partition('data-keep="news"')[2].partition("</details>")[0]
    said = html.unescape(" ".join(re.sub(r"<[^>]+>", " ", strip).split())).lower()
    assert changes[0].lower() in said
    assert "the plan changes" in page.get("todo").lower()
    page.at("2027-01-05T07:50")
    assert "The plan changes" not in page.get()


def test_a_round_done_as_told_changes_nothing(page: Page) -> None:
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    assert "The plan changes" not in page.get()


def test_a_card_says_what_was_noted_of_its_culture_and_what_to_do_then(page: Page) -> None:
    page.post(kind="event", event="note", subject="MW-1", words="is that mould?")
    said = " ".join(html.unescape(page.get()).split())
    card = said.partition("MW-1")[2][:1500]
    assert "is that mould? (Tue 5 Jan 07:20)" in card
    assert "leave it closed and take nothing of it" in card
    assert "Then say so on the page To do" in card
    assert "livefood journal" not in said


def test_a_culture_that_is_noted_to_be_mouldy_is_asked_for_nothing_more(page: Page) -> None:
    """Its harvest of the round goes to the box beside it."""
    assert "MW-1" in page.get()
    page.post(kind="event", event="note", subject="MW-1", words="grey fur on the wall")
    assert page.journal()[-1].startswith("2027-01-05T07:20:00+00:00,failed,MW-1,")
    said = " ".join(html.unescape(page.get()).split())
    round_ = said.partition("Before the tanks")[2].partition("The walk")[0]
    assert "MW-2" in round_
    assert "MW-1:" not in round_
    assert "livefood journal" not in said
