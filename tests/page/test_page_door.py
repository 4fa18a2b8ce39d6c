"""Who comes in: the key, the Host, the origin; what is said to everybody else."""

from __future__ import annotations

import re
import stat
import sys
from pathlib import Path

import pytest

from cli.page.door import Door, is_our_host, keys_path, page_keys
from cultures.errors import FileProblemError
from tests.page.room import KEYS, ORIGIN, Page, demo_page


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    return demo_page(tmp_path, monkeypatch)


def _addresses(page: Page) -> list[str]:
    rules = page.client.application.url_map.iter_rules()
    names = [re.sub(r"<any\(([^)]*)\)[^>]*>", lambda m: m[1].split(",")[0], str(r)) for r in rules]
    assert len(names) >= 6
    return names


def test_nothing_opens_without_the_key(page: Page) -> None:
    addresses = [re.sub("<key>", "x" * 32, name) for name in _addresses(page)]
    for address in ["/", "/robots.txt", "/static/page.css", "/..%2f", "//", *addresses]:
        page.door.keys = KEYS
        page.door._wrong.clear()
        for method in ("get", "post", "head", "put", "delete", "options"):
            answer = getattr(page.client, method)(address, headers={"Origin": ORIGIN})
            assert answer.status_code == 404, (method, address)
            assert answer.text in ("404\n", "")
            assert "x" * 32 not in str(answer.headers)


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "localhost.elsewhere.example",
        "127.0.0.1.elsewhere.example",
        "",
        "[",
        "a b",
    ],
)
def test_a_foreign_host_opens_nothing(page: Page, host: str) -> None:
    for address in _addresses(page):
        answer = page.client.get(address.replace("<key>", KEYS.keeper), headers={"Host": host})
        assert answer.status_code in (400, 404), address


def test_our_hosts() -> None:
    for host in ("localhost", "LOCALHOST:8743", "127.0.0.1:1", "[::1]:8743", "192.168.1.20"):
        assert is_our_host(host), host
    assert not is_our_host("127.0.0.1, localhost")


def test_a_name_is_compared_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """Anybody may register a name that begins like this machine's."""
    for hostname in ("attic", "Attic.example.net"):
        monkeypatch.setattr("socket.gethostname", lambda hostname=hostname: hostname)
        for host in ("attic", "attic.local:8743", "ATTIC.home.arpa", hostname):
            assert is_our_host(host), host
        for host in ("attic.elsewhere.example", "attic.local.elsewhere.example", "atticlocal"):
            assert not is_our_host(host), host
    assert not is_our_host("attic.example.org")


@pytest.mark.parametrize("origin", [None, "null", "http://elsewhere.example", "http://localhost:1",
                                    "https://localhost"])  # fmt: skip
def test_a_post_from_elsewhere_is_refused(page: Page, origin: str | None) -> None:
    key = page.task("harvest_worms/MW-1")
    head = {} if origin is None else {"Origin": origin}
    for address in ("answer", "asked"):
        answer = page.client.post(
            f"/{KEYS.keeper}/{address}", headers=head,
            data={"id": "1", "kind": "task", "task": key, "what": "done"},
        )  # fmt: skip
        assert answer.status_code == 403
    assert page.journal() == []


def test_nothing_is_noted_by_get(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    for name in ("answer", "asked"):
        answer = page.client.get(
            f"/{KEYS.keeper}/{name}", query_string={"kind": "task", "task": key, "what": "done"}
        )
        assert answer.status_code == 404
    assert page.journal() == []


def test_wrong_keys_are_slowed_down() -> None:
    now = [0.0]
    door = Door(KEYS, clock=lambda: now[0])
    for n in range(20):
        assert door.who(f"wrong-{n}", "192.0.2.7") is None
    assert door.who(KEYS.keeper, "192.0.2.7") is None  # not heard, so no guess tells anything
    assert door.who(KEYS.keeper, "192.0.2.8") == "keeper"
    now[0] = 61.0
    assert door.who(KEYS.helper, "192.0.2.7") == "helper"


def test_every_answer_carries_the_headers(page: Page) -> None:
    for name in ("", "todo", "page.css", "page.js", "version", "nowhere"):
        head = page.client.get(f"/{KEYS.keeper}/{name}").headers
        policy = head["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert head["Referrer-Policy"] == "same-origin"
        assert head["X-Content-Type-Options"] == "nosniff"


def test_no_script_or_style_stands_in_the_markup(page: Page) -> None:
    for name in ("", "todo", "ahead", "cultures", "fry", "notes"):
        html = page.get(name)
        assert not re.search(r"<script(?! src=\"page.js\")|<style|\bstyle=|\bon\w+=|https?:", html)


def test_the_key_file_is_for_its_owner_alone(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    first = page_keys(room)
    assert page_keys(room) == first
    assert len({first.keeper, first.helper}) == 2
    assert min(len(first.keeper), len(first.helper)) >= 32
    renewed = page_keys(room, renew=True)
    assert not {renewed.keeper, renewed.helper} & {first.keeper, first.helper}
    if sys.platform != "win32":
        assert stat.S_IMODE(keys_path(room).stat().st_mode) == 0o600
    keys_path(room).write_text("{}", "utf-8")
    with pytest.raises(FileProblemError, match="--new-key"):
        page_keys(room)
    assert page_keys(room, renew=True) != renewed


def test_names_from_the_room_stay_text(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Names that would be markup, script or an address anywhere else."""
    page = demo_page(tmp_path, monkeypatch)
    text = page.room.read_text("utf-8")
    bad = "<img src=x onerror=alert(1)>"
    for name, worse in (
        ("A3", f"A3{bad}"), ("MW-1", "MW'\\\"-1&lt;"), ("acara 5", "{{7*7}}</script><script>"),
        ("bottle 1", "bottle & <b>1"),
    ):  # fmt: skip
        text = text.replace(f'"{name}"', f'"{worse}"')
    page.room.write_text(text, "utf-8")
    for name in ("", "todo", "ahead", "cultures", "fry", "notes"):
        html = page.get(name)
        assert "<img" not in html
        assert "</script><script>" not in html
        assert "<b>1" not in html
    assert "{{7*7}}&lt;/script&gt;" in page.get()
    key = page.task("harvest_worms/")
    import html as entities

    page.post(kind="task", task=entities.unescape(key), what="done")
    assert page.journal()


def test_a_room_file_with_a_mistake_is_told_in_one_message(page: Page) -> None:
    page.get()
    page.room.write_text(page.room.read_text("utf-8").replace("litres", "liters", 1), "utf-8")
    said = page.get(code=503)
    assert "liters" in said
    assert "Traceback" not in said


def test_who_opens_the_page_while_the_room_file_is_wrong_sees_the_round_as_it_was(
    page: Page,
) -> None:
    whole, task = page.room.read_text("utf-8"), page.task("harvest_worms/")
    page.room.write_text(whole.replace("litres", "liters", 1), "utf-8")
    said = page.get(code=503)
    assert "before a mistake at the computer" in said
    assert "liters" in said
    assert task in said
    for name in ("todo", "ahead", "cultures", "fry", "notes"):
        assert "liters" in page.get(name, code=503)
    assert "liters" in page.get(key=KEYS.helper, code=503)
    assert "liters" in page.post(code=503, kind="task", task=task, what="done")["text"]
    assert not page.journal()
    page.room.write_text(whole, "utf-8")
    assert "a mistake at the computer" not in page.get()
