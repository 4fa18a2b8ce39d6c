"""What the page keeps of answers: nothing of one that was asked back, and all of the others."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from cultures.files import read
from tests.cli.invented import at
from tests.page.room import Page, demo_page

_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    folder = tmp_path / "room"
    folder.mkdir()
    return demo_page(folder, monkeypatch, _MORNING)


def _files(room: Path) -> tuple[bytes | None, ...]:
    return tuple(read(room.with_name(name)) for name in ("journal.csv", "answers.jsonl"))


def test_an_answer_that_is_asked_back_leaves_no_line(page: Page) -> None:
    worms, feeding = page.task("harvest_worms/MW-1"), page.task("feed/")
    page.post(kind="task", task=worms, what="done")
    page.post(kind="tank", task=feeding, tank="B1", what="done")
    before = _files(page.room)
    assert None not in before
    asked: list[tuple[dict[str, Any], str]] = [
        ({"kind": "event", "event": "lost", "subject": "acara 5", "amount": "500"}, "sure"),
        ({"kind": "event", "event": "hatched", "subject": "bottle 1", "amount": "9e6"}, "sure"),
        ({"kind": "event", "event": "harvest", "subject": "MW-1", "amount": "900 swipes"}, "sure"),
        ({"kind": "task", "task": worms, "what": "skip"}, "over"),
        ({"kind": "task", "task": worms, "what": "other", "amount": "3 swipes"}, "over"),
        ({"kind": "tank", "task": feeding, "tank": "B1", "what": "skip"}, "over"),
    ]
    for number, (form, key) in enumerate(asked):
        answer = page.post(id=f"asked {number}", code=409, **form)
        assert answer["state"] == "ask", form
        assert list(answer["more"]) == [key], form
        assert _files(page.room) == before, form
    # What was refused for good leaves none either.
    page.post(kind="event", event="count", subject="acara 5", amount="many", code=409)
    assert _files(page.room) == before
    # The id of one that was asked back is free: confirmed, it is noted.
    form, _ = asked[0]
    page.post(id="asked 0", sure="1", **form)
    assert page.journal()[-1].split(",")[1:3] == ["lost", "acara 5"]
    assert b'"asked 0"' in (_files(page.room)[1] or b"")


def test_an_answer_sent_again_after_a_restart_is_noted_once(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    forms: list[dict[str, Any]] = [
        {"kind": "task", "task": page.task("harvest_worms/MW-1"), "what": "done"},
        {"kind": "tank", "task": page.task("feed/"), "tank": "B1", "what": "skip"},
        {"kind": "event", "event": "count", "subject": "acara 5", "amount": "95"},
        {"kind": "round", "round": "2027-01-05T07:30:00+00:00"},
    ]
    for number, form in enumerate(forms):
        page.post(id=f"tap {number}", **form)
    before = _files(page.room)
    again = Page(page.room, monkeypatch)
    again.at("2027-01-05T09:00")
    for number, form in enumerate(forms):
        again.post(id=f"tap {number}", **form)
    assert _files(page.room) == before


def test_a_backup_brings_the_answers_back(
    page: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    form: dict[str, Any] = {"kind": "event", "event": "note", "subject": "room", "words": "hello"}
    page.post(id="tap", **form)
    kept, folder = tmp_path / "kept.zip", tmp_path / "again"
    at(page.room, _MORNING, "backup", str(kept))
    assert "answers.jsonl" in at(page.room, _MORNING, "backup", str(kept), "--check").stdout
    at(page.room, _MORNING, "backup", str(kept), "--restore", str(folder))
    room = folder / page.room.name
    assert _files(room) == _files(page.room)
    again = Page(room, monkeypatch)
    assert "by the keeper's page" in " ".join(again.get("notes").split()).replace("&#39;", "'")
    again.post(id="tap", **form)
    assert len(again.journal()) == 1
