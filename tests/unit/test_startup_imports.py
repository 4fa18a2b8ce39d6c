"""What a process loads before it answers: commands must not pay for what they do not use."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from cli.commands.demo_room import demo_text

_PROGRAM = """
import sys
from cli.main import main
main(sys.argv[1:], standalone_mode=False)
print("\\n".join(sorted(sys.modules)), file=sys.stderr)
"""


def _loaded(*arguments: str) -> tuple[set[str], str]:
    """The modules that a command has loaded when it is done, and what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", _PROGRAM, *arguments],
        check=True,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    return set(done.stderr.split("\n")), done.stdout


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("startup") / "room.toml"
    path.write_text(demo_text(date(2027, 1, 5)), "utf-8")
    return path


def test_help_loads_nothing_that_only_a_command_needs() -> None:
    modules, shown = _loaded("--help")
    assert "shortfalls" in shown
    assert "cli.main" in modules
    assert modules.isdisjoint({"icalendar", "jinja2", "tabulate", "tomllib", "cultures.planning"})


def test_today_loads_no_calendar_table_or_server(room: Path) -> None:
    modules, shown = _loaded("today", "--room", str(room), "--now", "2027-01-05T07:00")
    assert "Quillharbour attic" in shown
    assert "cultures.planning.plan" in modules
    assert modules.isdisjoint({"icalendar", "jinja2", "tabulate", "http"})


def test_what_is_left_out_is_there_to_be_loaded() -> None:
    """So the names above are those that such a module is listed under."""
    modules, _ = _loaded("kinds")
    assert modules >= {"tabulate", "tomllib"}
    program = "import sys, calendars.publish.server, cli.templates; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True
    )
    assert set(done.stdout.split()) >= {"icalendar", "jinja2", "http"}
