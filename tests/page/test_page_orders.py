"""What is ordered, comes, comes later or not at all, by a tap."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.page.room import KEYS, Page, demo_page

_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    """The demo room with so little in its tin that cysts are to be bought."""
    page = demo_page(tmp_path, monkeypatch, _MORNING)
    text = page.room.read_text("utf-8").replace("\ngrams = 30\n", "\ngrams = 1.5\n")
    page.room.write_text(text, "utf-8")
    return page


def _order(page: Page, day: str = "2027-01-07") -> None:
    page.post(kind="event", event="ordered", subject="cysts", amount="50 g", day=day)


def _said(page: Page) -> list[str]:
    """The journal without its times."""
    return [line.partition(",")[2] for line in page.journal()]


def test_an_order_is_noted_on_the_notes_page_and_listed_there(page: Page) -> None:
    assert '<option value="ordered">ordered, still to come</option>' in page.get("notes")
    assert "On order</h3>" not in page.get("notes")
    _order(page)
    page.post(kind="event", event="ordered", subject="salt", amount="1 kg", day="")
    assert _said(page) == ["ordered,cysts,2027-01-07,50,g,", "ordered,salt,,1000,g,"]
    shown = page.get("notes")
    assert "<li>brine shrimp cysts, 50 g to come on Thu 7 Jan</li>" in shown
    assert "<li>salt, 1,000 g ordered on Tue 5 Jan</li>" in shown
    page.post(key=KEYS.helper, code=403, kind="event", event="ordered", subject="cysts",
              amount="50 g")  # fmt: skip


def test_an_order_for_a_day_that_is_over_is_refused(page: Page) -> None:
    page.post(code=409, kind="event", event="ordered", subject="cysts", amount="50 g",
              day="2027-01-03")  # fmt: skip
    assert page.journal() == []


def test_what_is_to_be_bought_can_be_noted_as_ordered(page: Page) -> None:
    page.room.write_text(page.room.read_text("utf-8").replace("= 1.5\n", "= 0\n"), "utf-8")
    key = page.task("buy/brine_shrimp_cysts", "todo")
    assert "Ordered, still to come" in page.get("todo")
    page.post(code=409, kind="task", task=key, what="ordered", amount="", day="")
    page.post(kind="task", task=key, what="ordered", amount="60 g", day="2027-01-06")
    assert _said(page) == ["ordered,cysts,2027-01-06,60,g,"]
    assert "buy/brine_shrimp_cysts" not in page.get("todo")


def test_what_came_is_noted_as_bought(page: Page) -> None:
    _order(page)
    page.at("2027-01-07T07:20")
    key = page.task("arrival/cysts/2", "todo")
    assert "should arrive" in page.get("todo")
    page.post(kind="task", task=key, what="done")
    assert _said(page)[1:] == ["bought,cysts,,50,g,"]
    assert "arrival/cysts" not in page.get("todo")


def test_another_amount_that_came_leaves_the_rest_on_order(page: Page) -> None:
    _order(page)
    page.at("2027-01-07T07:20")
    key = page.task("arrival/cysts/2", "todo")
    page.post(kind="task", task=key, what="done", amount="20 g")
    assert _said(page)[1:] == ["bought,cysts,,20,g,"]
    assert "brine shrimp cysts, 30 g to come on Thu 7 Jan" in page.get("notes")


@pytest.mark.parametrize("day", ["2027-01-07", "2027-01-08"])
def test_what_comes_later_is_on_order_for_that_day_alone(page: Page, day: str) -> None:
    """On its day, and once it is overdue."""
    _order(page)
    page.at(f"{day}T07:20")
    key = page.task("arrival/cysts/2", "todo")
    assert "They come later" in page.get("todo")
    page.post(code=409, kind="task", task=key, what="ordered", day="")
    page.post(kind="task", task=key, what="ordered", day="2027-01-11")
    assert _said(page)[1:] == [
        "undo,2,ordered cysts,,,", "ordered,cysts,2027-01-11,50,g,",
    ]  # fmt: skip
    shown = page.get("notes")
    assert "<li>brine shrimp cysts, 50 g to come on Mon 11 Jan</li>" in shown


def test_what_is_not_to_come_is_taken_back(page: Page) -> None:
    _order(page)
    page.at("2027-01-08T07:20")
    key = page.task("arrival/cysts/2", "todo")
    page.post(kind="task", task=key, what="cancel")
    assert _said(page)[1:] == ["undo,2,ordered cysts,,,"]
    assert "On order</h3>" not in page.get("notes")
    page.post(code=409, kind="task", task=key, what="cancel", over="3")
