"""Long work says so on a terminal, and only there."""

from __future__ import annotations

import io
import sys
import time

import pytest

from cli import working as progress


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "AFTER_S", 0.05)
    monkeypatch.setattr(progress, "_EVERY_S", 0.02)


def test_long_work_is_told_and_wiped_away(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = _Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    with progress.working("Planning"):
        time.sleep(0.15)
    told = screen.getvalue()
    assert told.count("Planning, 0 s ...") >= 2
    assert told.rsplit("\r", 2)[1].strip() == ""
    assert "\n" not in told


def test_quick_work_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = _Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    with progress.working("Planning"):
        pass
    assert screen.getvalue() == ""


def test_a_pipe_stays_clean(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = io.StringIO()
    monkeypatch.setattr(sys, "stderr", screen)
    with progress.working("Planning"):
        time.sleep(0.1)
    assert screen.getvalue() == ""


def test_an_error_ends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", _Terminal())
    with pytest.raises(ZeroDivisionError), progress.working("Planning"):
        _ = 1 / 0
