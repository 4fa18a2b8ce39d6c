"""No command prints a line that is wider than the terminal, at 80 and at 40 columns."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from cli.main import main
from tests.cli import rooms
from tests.cli.invented import room_file
from tests.examples import thorough

#: Every command that prints, in an order in which each can be: on a room with one brood and one
#: culture. What fails there says its one message, which is printed too.
_EVERY = """\
new other.toml --name "Back shed" --timezone Europe/Lisbon
demo demo
check
today --why --cautions
today --all-day
plan --feeding --why --days 4
plan --if "lose MW-1" --days 4
hatch --nauplii 100000 --at 2027-01-06T07:30 --litres 1
hatch --nauplii 100000 --range --litres 1
yield MW-1 --range --days 5
need --days 1
need --days 1 --energy
need --brood barbs --why --days 1
ready "barbs 80" --on 2027-02-16
shortfalls --days 6 --spares
year
year --out year.html
carry barbs --tank A1 --weeks 1
sheet --week --out sheet.html
labels --out labels.html
calendar --out jobs.ics
calendar --only fry,dust
add tank T4 volume=20L temperature=25 --yes
add brood "danios of the second pair" tank=T4 class=egg_scatterer count=80 spawned=2027-01-01 --yes
add vessel "bottle 9" volume=1L temperature=27 --yes
add away from=2027-02-01 to=2027-02-04 --yes
change away 2027-02-02 to=2027-02-05 --yes
retire away 2027-02-02 --yes
add culture VE-1 kind=vinegar_eel started=2026-12-20 medium=1000 starter=100 --yes
add stock cysts 30 g nauplii_per_gram=200000 --yes
change tank T4 temperature=26 --yes
change room temperature=23 --yes
change brood barbs count=70 --yes
change culture VE-1 medium=1100 --yes
change vessel "bottle 9" temperature=28 --yes
change stock cysts nauplii_per_gram=210000 --yes
retire brood "danios of the second pair" --yes
retire culture VE-1 --yes
retire vessel "bottle 9" --yes
retire tank T4 --yes
history
history 1
journal due
journal done --dry-run
journal skip MW-1
journal done
journal harvest MW-1 6 swipes
journal set "bottle 1" 1g
journal hatched "bottle 1" 200000 --sure
journal split MW-1
journal start BW-1 banana_worm
journal discard MW-2
journal count barbs 50
journal length barbs 12.5 --fish 4
journal spawn "dart 1" --tank A1 --class egg_scatterer --count 50
journal eggs_hatched "dart 1"
journal not_swimming "dart 1"
journal free_swimming "dart 1"
journal move barbs A9
journal merge barbs platies
journal sold barbs 10
journal died barbs 2
journal lost barbs 1
journal planned "hope 1" --on 2027-02-01 --tank A1 --class egg_scatterer --count 50
journal drop "hope 1"
journal collected "annual 9" --tank A1 --class annual_killifish --count 30
journal wetted "annual 9" --on 2027-02-20
journal fed A1
journal leftover A1 some
journal lid A1
journal sorted A1
journal temperature A1 25
journal bought dry 50g
journal ordered salt 1kg
journal away 2027-01-15 18:30 to 2027-01-17 --round 18:30 --helper
journal used dry 20g
journal note MW-1 "smells a little sharp today, and the lid was wet on the inside"
journal failed MW-1
journal show
journal undo
journal import counts.csv --dry-run
journal count-helper 12 9 14 --drop-ml 0.05 --of-ml 500
learn
backup room.zip
backup room.zip --check
repair
kinds
kinds microworm --sources
kinds brine_shrimp --strain great_salt_lake --sources
kinds betta
help
help quick-start
help guide
help room-file
help split
plan --days 2
"""
#: What draws a room of many broods, each of them cheap.
_LARGE = """\
check
today --all-day --why
plan --feeding --why --days 3
plan --if "lose MW-1" --days 3
need --days 1
need --days 1 --energy
shortfalls --days 4
year
ready "danio 80" --on 2027-02-16
learn
journal due
journal done
journal show
"""
#: It goes on until somebody stops it, and prints addresses.
_SERVERS = {("serve",)}
_WIDTHS = (80, 40)
#: How it is laid out at 80 columns the small and the large room show; here it is how it folds.
_NARROW = _WIDTHS if thorough() else (40,)
_ROOMS = {
    "small": (rooms.small, _EVERY, _WIDTHS), "demo": (room_file, _LARGE, _NARROW),
    "american": (rooms.american, _LARGE, _NARROW), "large": (rooms.large, _LARGE, _WIDTHS),
}  # fmt: skip


def _leaves(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The words of every command that does something."""
    if not isinstance(command, click.Group):
        yield path
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        found = command.get_command(context, name)
        assert found is not None
        yield from _leaves(found, (*path, name))


def _too_wide(text: str, width: int) -> list[str]:
    """Lines that go past the edge, but for a single word, which nothing can fold."""
    return [line for line in text.splitlines() if len(line) > width and " " in line.strip()]


def _printed(line: str, width: int, minute: int) -> str:
    env = {
        "COLUMNS": str(width), "LIVEFOOD_ROOM": None,
        "LIVEFOOD_NOW": f"2027-01-05T07:{min(minute, 59):02}",
    }  # fmt: skip
    result = CliRunner().invoke(main, shlex.split(line), env=env, prog_name="livefood")
    assert result.exit_code in (0, 1, 2), result.exception
    assert result.output.strip(), line
    return result.output


@pytest.mark.parametrize("name", _ROOMS)
def test_no_line_is_wider_than_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """The same life of a room in a folder for each width."""
    make, script, widths = _ROOMS[name]
    folders = {width: tmp_path / f"at {width}" for width in widths}
    for folder in folders.values():
        folder.mkdir()
        make(folder)
        (folder / "counts.csv").write_text(
            "when,event,subject,amount,unit\n2027-01-04T18:00,count,barbs,50,fry\n", "utf-8"
        )
    for minute, line in enumerate(script.splitlines()):
        for width, folder in folders.items():
            monkeypatch.chdir(folder)
            assert _too_wide(_printed(line, width, minute), width) == [], (width, line)


@pytest.mark.parametrize("width", [80, 40])
def test_no_help_is_wider_than_the_terminal(width: int) -> None:
    groups = {path[:1] for path in _leaves(main) if len(path) > 1}
    for path in (*_leaves(main), *groups, ()):
        line = shlex.join([*path, "--help"])
        assert _too_wide(_printed(line, width, 0), width) == [], line


def test_every_command_is_looked_at() -> None:
    told = {tuple(line.split()) for line in _EVERY.splitlines()}
    missing = [p for p in _leaves(main) if not any(words[: len(p)] == p for words in told)]
    assert set(missing) == _SERVERS


def test_a_command_that_is_folded_can_still_be_copied(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    text = CliRunner().invoke(main, ["help", "quick-start"]).stdout
    typed = text[text.index("livefood new") :].partition("\n\n")[0]
    joined = re.sub(r" \\\n +", " ", typed)
    assert shlex.split(typed.replace("\\\n", "")) == shlex.split(joined)
    assert '--name "My fish room"' in joined
