"""The manual page that is installed says what the commands say, and its readers can read it."""

from __future__ import annotations

import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from cli.main import COMMANDS
from tests.docs.man_page import PAGE, man_page

_ROOT = Path(__file__).parents[2]


def test_it_is_current() -> None:
    assert PAGE.read_text("utf-8") == man_page(), "python -m tests.docs.man_page writes it anew"


def test_it_is_installed_where_manual_pages_are() -> None:
    project = tomllib.loads((_ROOT / "pyproject.toml").read_text("utf-8"))
    installed = project["tool"]["setuptools"]["data-files"]["share/man/man1"]
    assert installed == [str(PAGE.relative_to(_ROOT).as_posix())]
    assert "graft man\n" in (_ROOT / "MANIFEST.in").read_text("utf-8")


@pytest.mark.skipif(shutil.which("mandoc") is None, reason="mandoc is not on this machine")
def test_another_program_reads_it() -> None:
    lint = ["mandoc", "-T", "lint", "-W", "warning", str(PAGE)]
    # A page without a date is current on every day.
    found = subprocess.run(lint, capture_output=True, text=True, check=False).stdout.splitlines()
    assert [line for line in found if "missing date" not in line] == []
    told = subprocess.run(
        ["mandoc", "-T", "utf8", "-O", "width=78", str(PAGE)], capture_output=True, check=True
    ).stdout.decode()
    text = " ".join("".join(told.split("\b")).split())
    assert all(f"livefood {name}" in text for name in COMMANDS if name != "help")
