"""Pages for contributors name what is there: files, classes, functions."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

_ROOT = Path(__file__).resolve().parents[2]
_MAP = (_ROOT / "DEVELOPERS.md").read_text("utf-8")
_GLOSSARY = (_ROOT / "docs" / "glossary.md").read_text("utf-8")
_FACT = (_ROOT / "docs" / "one-fact.md").read_text("utf-8")
_FOLDERS = ("cultures", "calendars", "cli", "tests", "docs")


def _paths(text: str) -> list[str]:
    """All paths that a page names, but for patterns and names to fill in."""
    found = re.findall(rf"`((?:{'|'.join(_FOLDERS)})/[\w./-]*)`", text)
    return [path for path in found if "NAME" not in path]


@pytest.mark.parametrize(
    "page", ["DEVELOPERS.md", "docs/one-fact.md", "docs/decisions.md", "docs/safety.md"]
)
def test_every_path_on_a_page_exists(page: str) -> None:
    paths = _paths((_ROOT / page).read_text("utf-8"))
    assert [path for path in paths if not (_ROOT / path).exists()] == []


def test_every_name_of_the_changes_stands_in_the_code() -> None:
    """Functions, tables and classes by which a contributor finds the place in a file."""
    changes = _MAP.partition("## Sixteen changes")[2].partition("## What is, and the clock")[0]
    names = set(re.findall(r"`(\w+)`", changes))
    every = (path.read_text("utf-8") for top in _FOLDERS[:4] for path in (_ROOT / top).rglob("*.*")
             if path.suffix in (".py", ".toml"))  # fmt: skip
    words = set(re.findall(r"\w+", " ".join(every)))
    assert len(names) > 30
    assert names - words - {"KEY"} == set()


def test_files_of_the_map_stand_in_their_rooms() -> None:
    rows = re.findall(r"^\| `([\w/]+/)` \|[^|]*\|([^|]*)\|$", _MAP, re.M)
    assert len(rows) >= 16
    missing = [
        f"{room}{name}" for room, cell in rows for name in re.findall(r"`([\w./]+)`", cell)
        if not (_ROOT / room / name).exists()
    ]  # fmt: skip
    assert missing == []


def test_the_map_has_every_room() -> None:
    for top in ("cultures", "calendars", "cli"):
        for path in (_ROOT / top).glob("*/__init__.py"):
            assert f"`{path.parent.relative_to(_ROOT).as_posix()}/`" in _MAP


def test_modules_of_the_planner_are_all_on_the_map() -> None:
    text = _MAP.partition("In `cultures/planning/`")[2].partition("Arrows point")[0] + _MAP
    left_out = [
        p.name for p in (_ROOT / "cultures" / "planning").glob("*.py")
        if f"`{p.name}`" not in text and not p.name.startswith(("__init__", "task_"))
    ]  # fmt: skip
    assert sorted(left_out) == sorted(_HELPERS)


#: Small modules that another one on the map leads to.
_HELPERS = ("lots.py", "notes.py", "preparation.py", "stretches.py", "supplies.py", "water.py")


@pytest.mark.parametrize("name", re.findall(r"`(cultures\.[\w.]+)`", _GLOSSARY))
def test_what_the_glossary_names_exists(name: str) -> None:
    module, _, attribute = name.rpartition(".")
    try:
        importlib.import_module(name)
    except ModuleNotFoundError:
        assert hasattr(importlib.import_module(module), attribute), name


def test_the_glossary_is_in_order_and_says_each_word_once() -> None:
    tables = re.findall(r"(?m)(?:^\|.*\n)+", _GLOSSARY)
    for_keepers, for_contributors, in_code = (
        re.findall(r"^\| ([a-z -]+) \|", table, re.M)[1:] for table in tables
    )
    for words in (for_keepers, for_contributors, in_code):
        assert words == sorted(set(words))
    assert not set(for_keepers) & set(for_contributors)
    assert set(in_code) <= set(for_keepers)
    assert len(for_keepers) > 60
    assert "`cultures." not in tables[0]


def test_one_fact_passes_at_most_eight_rooms() -> None:
    rooms = re.findall(r"^(\d+)\. \*\*`([\w/]+)`\*\* `(\w+\.py)`", _FACT, re.M)
    assert [int(n) for n, _, _ in rooms] == list(range(1, len(rooms) + 1))
    assert 1 < len(rooms) <= 8
    assert all((_ROOT / room / name).exists() for _, room, name in rooms)
    # Every module named in the text of a room stands in it.
    for part in re.split(r"^\d+\. ", _FACT, flags=re.M)[1:]:
        room = re.match(r"\*\*`([\w/]+)`", part)
        assert room is not None
        for name in re.findall(r"`(\w+\.py)`", part):
            assert (_ROOT / room[1] / name).exists(), f"{room[1]}{name}"


def test_one_version_everywhere() -> None:
    texts = {name: (_ROOT / name).read_text("utf-8") for name in
             ("pyproject.toml", "CITATION.cff", "CHANGELOG.md")}  # fmt: skip
    found = {
        re.search(r'^version = "([\d.]+)"$', texts["pyproject.toml"], re.M),
        re.search(r"^version: ([\d.]+)$", texts["CITATION.cff"], re.M),
        re.search(r"^## ([\d.]+) \(\d{4}-\d\d-\d\d\)$", texts["CHANGELOG.md"], re.M),
    }
    assert len({m[1] for m in found if m is not None}) == 1
    assert None not in found
    dated = re.findall(r"^## [\d.]+ \((.+)\)$", texts["CHANGELOG.md"], re.M)
    released = re.findall(r'^date-released: "(.+)"$', texts["CITATION.cff"], re.M)
    assert dated[:1] == released


def test_pictures_of_the_page_are_small_and_shown() -> None:
    shown = set(
        re.findall(r"\(img/([\w-]+\.png)\)", (_ROOT / "docs" / "page.md").read_text("utf-8"))
    )
    pictures = {p.name: p.stat().st_size for p in (_ROOT / "docs" / "img").glob("page-*.png")}
    assert shown == set(pictures)
    assert {name: size for name, size in pictures.items() if size > 60_000} == {}
