"""Imports point inward, formulas name their source, commands stay thin: read from the syntax."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

_ROOT = Path(__file__).resolve().parents[2]
_PACKAGES = ("cultures", "calendars", "cli")
#: What each package may import besides the standard library and itself.
_ALLOWED = {
    "cultures": {"attrs", "dateutil"},
    "calendars": {"attrs", "dateutil", "icalendar", "cultures"},
    "cli": {
        "attrs",
        "click",
        "dateutil",
        "tabulate",
        "cultures",
        "calendars",
        "flask",
        "jinja2",
        "markupsafe",
        "segno",
        "waitress",
        "werkzeug",
    },
}
#: Modules that hold the formulas of the models.
_FORMULAS = (
    "foods/temperature", "foods/worms", "foods/hatching", "foods/yields", "fry/nitrogen",
    "fry/classes", "fry/feeding", "fry/diet", "learning/posterior", "journal/counting",
)  # fmt: skip
#: Bookkeeping in those modules that is no formula: it looks up, reads or tests.
_NO_FORMULA = (
    "read_",
    "shipped_",
    "class_names",
    "dry_food",
    "feeding_values",
    "nearest",
    "logistic",
)
_LONGEST_BODY = 35


def _modules(package: str) -> list[Path]:
    return sorted((_ROOT / package).rglob("*.py"))


def _imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative import"
            yield (node.module or "").split(".")[0]


@pytest.mark.parametrize("package", _PACKAGES)
def test_a_package_imports_only_what_it_may(package: str) -> None:
    import sys

    known = sys.stdlib_module_names | _ALLOWED[package] | {package}
    assert _modules(package)
    for path in _modules(package):
        unknown = set(_imported(ast.parse(path.read_text("utf-8")))) - known
        assert not unknown, f"{path.relative_to(_ROOT)} imports {sorted(unknown)}"


def test_nothing_imports_a_calendar_library_or_table_at_the_top_of_the_command_line() -> None:
    for name in ("main", "options", "commands/today", "screens/today", "screens/text"):
        tree = ast.parse((_ROOT / "cli" / f"{name}.py").read_text("utf-8"))
        top = {n for node in tree.body for n in _imported(node) if isinstance(node, ast.ImportFrom)}
        assert top.isdisjoint({"tabulate", "icalendar", "calendars"}), name


@pytest.mark.parametrize("package", _PACKAGES)
def test_every_module_class_and_public_function_says_what_it_is(package: str) -> None:
    missing = []
    for path in _modules(package):
        tree = ast.parse(path.read_text("utf-8"))
        if not ast.get_docstring(tree):
            missing.append(f"{path.relative_to(_ROOT)}")
        for node in ast.walk(tree):
            if not isinstance(node, ast.ClassDef | ast.FunctionDef) or node.name.startswith("_"):
                continue
            if not ast.get_docstring(node) and not _is_inner(tree, node):
                missing.append(f"{path.relative_to(_ROOT)}:{node.lineno} {node.name}")
    assert missing == []


def _is_inner(tree: ast.Module, node: ast.AST) -> bool:
    """Inside a function, in a private class, or a method that another library asks for."""
    for outer in ast.walk(tree):
        if isinstance(outer, ast.FunctionDef) and node is not outer and node in ast.walk(outer):
            return True
        if (
            isinstance(outer, ast.ClassDef)
            and node in outer.body
            and (outer.name.startswith("_") or outer.bases)
        ):
            return True
    return False


@pytest.mark.parametrize("module", _FORMULAS)
def test_every_formula_names_where_it_comes_from(module: str) -> None:
    """A public function with only numbers in and a number out is a formula."""
    tree = ast.parse((_ROOT / "cultures" / f"{module}.py").read_text("utf-8"))
    whole = ast.get_docstring(tree) or ""
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef) or node.name.startswith(("_", *_NO_FORMULA)):
            continue
        arguments = [*node.args.args, *node.args.kwonlyargs]
        kinds = {ast.unparse(a.annotation) for a in arguments if a.annotation is not None}
        returned = ast.unparse(node.returns) if node.returns is not None else ""
        if kinds and kinds <= {"float", "int"} and returned == "float":
            text = ast.get_docstring(node) or ""
            assert "References" in text or "References" in whole, f"{module}.{node.name}"


def test_bodies_of_commands_stay_short() -> None:
    found = 0
    for path in _modules("cli"):
        tree = ast.parse(path.read_text("utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and any(
                "command(" in ast.unparse(d) or ".command" in ast.unparse(d)
                for d in node.decorator_list
            ):
                found += 1
                body = node.body[1:] if ast.get_docstring(node) else node.body
                lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0  # type: ignore[operator]
                assert lines <= _LONGEST_BODY, f"{path.name} {node.name}: {lines} lines"
    assert found >= 14
