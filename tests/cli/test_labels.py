"""``livefood labels``: what stands on each, where its code leads, and what is refused."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from cultures.room.file import load_room
from tests.cli.invented import TODAY, room_file, run, run_json
from tests.page.room import KEYS, demo_page

_PAGE = f"http://192.168.1.20:8742/{KEYS.keeper}/"


def _labels(html: str) -> dict[str, str]:
    """The words of each label by its name."""
    found = {}
    for item in re.findall(r"(?s)<li>(.*?)</li>", html):
        name = re.search(r"<h2>(.*?)</h2>", item)
        assert name is not None
        text = re.sub(r"(?s)<svg.*?</svg>|<[^>]+>", " ", item)
        found[unescape(name[1])] = " ".join(unescape(text).split())
    return found


def _written(room: Path, *options: str) -> dict[str, str]:
    out = room.with_name("labels.html")
    run(room, "labels", "--out", str(out), *options)
    return _labels(out.read_text("utf-8"))


def test_what_stands_has_its_dates(tmp_path: Path) -> None:
    """Dates of the plan, and how long the data call a culture a good parent."""
    room = room_file(tmp_path)
    found, known = _written(room), load_room(room, today=TODAY)
    plan = run_json(room, "plan")
    spans = {span["name"]: span for span in plan["cultures"]}
    soon = {n for n, s in spans.items() if date.fromisoformat(s["started"][:10]) <= TODAY
            + timedelta(days=14)}  # fmt: skip
    assert set(found) == soon | {v.name for v in known.vessels}
    for name in soon:
        started = date.fromisoformat(spans[name]["started"][:10])
        kind = known.kinds[spans[name]["kind"]]
        split_by = started + timedelta(days=kind.values["parent_until_days"])
        assert f"started {_spoken(started)}" in found[name]
        assert (f"split by {_spoken(split_by)}" in found[name]) == (split_by >= TODAY)
        discard = date.fromisoformat(spans[name]["spent_on"][:10])
        assert f"discard about {_spoken(discard)}" in found[name]
    assert "1 L water, 25 g salt" in found["bottle 1"]


def _spoken(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def test_only_what_is_named(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    assert list(_written(room, "VE-1", "bottle 1")) == ["VE-1", "bottle 1"]
    assert len(_written(room, "--days", "0")) < len(_written(room, "--days", "60"))
    said = run(room, "labels", "--out", str(tmp_path / "x.html"), "MW-99", code=2).output
    assert "MW-99" in said
    assert not (tmp_path / "x.html").exists()


def test_a_code_opens_the_card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Segno writes the code (ISO/IEC 18004); here that the address in it is the card's."""
    page = demo_page(tmp_path, monkeypatch, whole=True)
    out = tmp_path / "labels.html"
    run(page.room, "labels", "--out", str(out), "--page", _PAGE)
    html = out.read_text("utf-8")
    addresses = re.findall(r'<a href="([^"]+)"', html)
    assert len(addresses) == html.count("<svg") == len(_labels(html))
    standing = {c.name for c in load_room(page.room, today=TODAY).cultures}
    for address in addresses:
        parts = urlsplit(unescape(address))
        answer, name = page.client.get(parts.path), unquote(parts.fragment)
        assert answer.status_code == 200, address
        # What is still to be started gets its card once it stands.
        assert not name or (f'id="{name}"' in answer.text) == (name in standing)
    assert standing <= {unquote(urlsplit(unescape(a)).fragment) for a in addresses}


@pytest.mark.parametrize(
    "page", ["192.168.1.20:8742", "javascript:alert(1)", "http://" + "a" * 400]
)
def test_what_is_no_address_is_refused(tmp_path: Path, page: str) -> None:
    room, out = room_file(tmp_path), tmp_path / "labels.html"
    assert "livefood serve --lan" in run(room, "labels", "--out", str(out), "--page", page,
                                         code=2).output  # fmt: skip
    assert not out.exists()


def test_names_stay_text_and_strange_files_stay(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    text = room.read_text("utf-8").replace('"VE-1"', '"<b>VE & 1"')
    room.write_text(text, "utf-8")
    assert "<b>VE & 1" in _written(room)
    strange = tmp_path / "diary.html"
    strange.write_text("mine")
    run(room, "labels", "--out", str(strange), code=2)
    run(room, "labels", "--out", str(room), "--force", code=2)
    assert strange.read_text() == "mine"
    assert room.read_text("utf-8") == text
    run(room, "labels", "--out", str(strange), "--force")
