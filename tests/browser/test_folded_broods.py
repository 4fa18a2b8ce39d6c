"""A brood of a large room is unfolded on the phone: its forms come, are sent, and stay."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.browser.chromium import Browser, find_chromium
from tests.browser.morning import served
from tests.cli.rooms import grown

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)

_FOLD = "document.querySelector('[data-keep=\"brood-bubble-nest-0\"]')"
_COUNT = f"""[...{_FOLD}.querySelectorAll('form')].find(f =>
  f.elements.event?.value === 'count' && f.elements.subject.value === 'bubble nest 0')"""
_LENGTH = _COUNT.replace("'count'", "'length'")


def test_what_can_be_noted_of_a_brood_comes_when_it_is_unfolded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = grown(tmp_path)
    with served(room, monkeypatch) as url, Browser() as browser:
        browser.visit(url + "fry", width=390, height=844, phone=True)
        assert browser.run(f"{_FOLD}.querySelectorAll('form').length") == 0
        browser.run(f"{_FOLD}.querySelector('summary').click()")
        browser.until(f"Boolean({_COUNT})")
        browser.run(f"{_LENGTH}.elements.amount.value = '9'")
        browser.run(f"""(() => {{
          const form = {_COUNT};
          form.elements.amount.value = '28';
          form.requestSubmit();
        }})()""")
        browser.until(f"{_FOLD}.innerText.includes('about 28 fry') && Boolean({_COUNT})")
        assert browser.run(f"{_FOLD}.open")
        assert browser.run(f"{_LENGTH}.elements.amount.value") == "9"
        browser.run("location.hash = '#note-bubble-nest-5'")
        other = _FOLD.replace("nest-0", "nest-5")
        browser.until(f"{other}.open && {other}.querySelectorAll('form').length > 0")
    lines = room.with_name("journal.csv").read_text("utf-8").splitlines()[1:]
    assert [line.split(",")[1:3] for line in lines] == [["count", "bubble nest 0"]]
