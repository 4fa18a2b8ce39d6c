"""Rooms of the house and the arrows between them: read from every import, also of types alone."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Sequence
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

_ROOT = Path(__file__).resolve().parents[2]

#: Each room, and those that it may import. DEVELOPERS.md has the same in words.
ARROWS: dict[str, tuple[str, ...]] = {
    "cultures.errors": (),
    "cultures.files": ("errors",),
    "cultures.limits": (),
    "cultures.tasks": (),
    "cultures.words": ("errors", "tasks"),
    "cultures.foods": ("errors", "words"),
    "cultures.fry": ("errors", "foods"),
    "cultures.journal": ("errors", "files", "limits", "words"),
    "cultures.room": ("errors", "files", "limits", "tasks", "words", "foods", "fry", "journal"),
    "cultures.needs": ("errors", "words", "foods", "fry", "room"),
    "cultures.replay": (
        "limits",
        "tasks",
        "words",
        "foods",
        "fry",
        "journal",
        "room",
        "needs",
    ),
    "cultures.learning": ("words", "foods", "journal", "room", "replay"),
    "cultures.record": (
        "errors",
        "files",
        "limits",
        "tasks",
        "words",
        "foods",
        "journal",
        "room",
        "needs",
        "replay",
        "learning",
    ),
    "cultures.keeping": ("errors", "files", "limits", "journal", "record"),
    "cultures.planning": (
        "errors",
        "limits",
        "tasks",
        "words",
        "foods",
        "fry",
        "journal",
        "room",
        "needs",
        "replay",
        "learning",
        "record",
    ),
}


def _name(path: Path) -> str:
    parts = path.relative_to(_ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _modules() -> dict[str, Path]:
    paths = (p for top in ("cultures", "calendars", "cli") for p in (_ROOT / top).rglob("*.py"))
    return {_name(path): path for path in paths}


MODULES = _modules()


@cache
def _imports(module: str) -> Sequence[str]:
    """Modules of the project that a module imports, wherever in it the import stands."""
    return [*_imported(module)]


def _imported(module: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(MODULES[module].read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in MODULES)
        elif isinstance(node, ast.ImportFrom) and node.module is not None:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                if inner in MODULES:
                    yield inner
                elif node.module in MODULES and node.module != module:
                    yield node.module


def _room(module: str) -> str:
    return ".".join(module.split(".")[:2])


@pytest.mark.parametrize("room", ARROWS)
def test_a_room_imports_only_rooms_below_it(room: str) -> None:
    allowed = {room, *(f"cultures.{name}" for name in ARROWS[room])}
    mine = [m for m in MODULES if m == room or m.startswith(f"{room}.")]
    assert mine
    strange = {
        (module, found) for module in mine for found in _imports(module)
        if _room(found) not in allowed
    }  # fmt: skip
    assert strange == set()


def test_every_arrow_is_walked() -> None:
    """So that the table does not allow more than there is."""
    walked = {
        (_room(m), _room(found)) for m in MODULES if m.startswith("cultures.")
        for found in _imports(m) if _room(m) != _room(found)
    }  # fmt: skip
    assert walked == {
        (room, f"cultures.{name}") for room, names in ARROWS.items() for name in names
    }


def test_every_module_stands_in_a_room() -> None:
    loose = {m for m in MODULES if m.startswith("cultures.") and _room(m) not in ARROWS}
    assert loose == set()


def test_what_screens_and_commands_may_import() -> None:
    for module in MODULES:
        found = {_room(x) for x in _imports(module)} - {module}
        top = {x.partition(".")[0] for x in found}
        if module.startswith("cultures"):
            assert top <= {"cultures"}, module
        elif module.startswith("calendars"):
            assert top <= {"cultures", "calendars"}, module
            inner = not module.startswith("calendars.publish")
            assert not (inner and "calendars.publish" in found), module
        elif module.startswith("cli.screens"):
            ours = {x for x in found if x.startswith("cli.")}
            assert ours <= {"cli.screens"}, module
        if module.startswith("cli") and module != "cli.main":
            assert "cli.commands" not in found or module.startswith("cli.commands"), module


def test_there_is_no_circle_of_modules() -> None:
    graph = {module: set(_imports(module)) - {module} for module in MODULES}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


def test_every_room_says_what_it_is_what_it_may_import_and_what_it_hands_out() -> None:
    rooms = [*ARROWS, "calendars.publish", "cli.commands", "cli.screens", "cli.journal", "cli.page",
             "cli.drawing", "cli.sheet"]  # fmt: skip
    for room in rooms:
        text = ast.get_docstring(ast.parse(MODULES[room].read_text("utf-8"))) or ""
        if room != "cultures.errors":
            assert "import" in text, room
            assert text.count(".") + text.count(";") >= 2, room
