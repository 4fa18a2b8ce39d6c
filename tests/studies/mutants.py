"""How many small changes of ``cultures`` the tests notice.

Run: python -m tests.studies.mutants --mutants 300 --seed 1 [--work FOLDER]

Mutations are drawn among all that :mod:`tests.studies.mutating` finds on lines which a test runs.
Each is tried in a copy of the tree, against the tests that run its line, fastest first, until one
fails or ``--budget`` seconds of them have passed. What takes far longer than it should counts as
noticed. The folder holds what was measured: a study that was stopped goes on from there, and after
a change of tests only the changed files are traced again.
"""

from __future__ import annotations

import argparse
import difflib
import hashlib
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from attrs import define, field, frozen

from tests.studies.mutating import Mutant, mutants_of
from tests.studies.traced import sha_of

_ROOT = Path(__file__).resolve().parents[2]
#: Folders whose tests are used; more can be named (``--folders``), but take long to trace.
_FOLDERS = ("unit", "published", "properties", "oracle")
#: At most so many tests are tried against a mutant.
_MOST_TESTS = 250
#: So many of so many files, up to so many seconds, are tried before all others.
_CLOSE_TESTS, _CLOSE_FILES, _CLOSE_S = 250, 4, 15.0
_COPIED = ("cultures", "calendars", "cli", "tests", "docs", "pyproject.toml", "README.md",
           "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "MANIFEST.in")  # fmt: skip


@frozen
class Site:
    """A mutant and where it stands."""

    path: str
    mutant: Mutant
    source: bytes = field(repr=False)

    @property
    def id(self) -> str:
        """The same for the same change of the same source."""
        text = f"{self.path}:{self.mutant.start}:{self.mutant.text}".encode()
        return hashlib.sha1(text + self.source).hexdigest()[:16]

    @property
    def room(self) -> str:
        """The room of the house in which it stands."""
        return ".".join(Path(self.path).parts[:2]).removesuffix(".py")

    def diff(self) -> str:
        """What changed, as a diff."""
        old = self.source.decode().splitlines()
        new = self.mutant.applied(self.source).decode().splitlines()
        lines = difflib.unified_diff(old, new, self.path, self.path, n=1, lineterm="")
        return "\n".join(list(lines)[2:])


@define
class Traces:
    """Which tests run which line.

    Attributes:
        lines: by file and line, the tests, and test files whose fixtures run it.
        seconds: of each test that passes. texts: of each test file.
    """

    lines: dict[str, dict[int, set[str]]]
    seconds: dict[str, float]
    texts: dict[str, str]
    modules: dict[str, set[str]] = field(factory=dict)
    breadth: dict[str, int] = field(factory=dict)
    usable: set[str] = field(factory=set)

    def closest(self, names: Sequence[str], path: str) -> list[str]:
        """Some tests of few files that name the module and run little else, tried before others.

        Else a number of a module that all use would be tried against any of thousands.
        """
        named = f"from {path.removesuffix('.py').replace('/', '.')} import"
        files = {name.partition("::")[0] for name in names}
        other = {file: named not in self.texts[file] for file in files}
        if not self.breadth:
            for by_line in self.lines.values():
                for found in by_line.values():
                    for name in found:
                        self.breadth[name] = self.breadth.get(name, 0) + 1
        found_in: list[str] = []
        close: list[str] = []
        left_s = _CLOSE_S

        def order(name: str) -> tuple[bool, int, str]:
            file = name.partition("::")[0]  # what its import runs, each of its tests runs
            return other[file], self.breadth.get(name, 0) + self.breadth.get(file, 0), name

        for name in sorted(names, key=order):
            file = name.partition("::")[0]
            if file not in found_in and len(found_in) < _CLOSE_FILES:
                found_in.append(file)
            if file in found_in and len(close) < _CLOSE_TESTS and self.seconds[name] <= left_s:
                close.append(name)
                left_s -= self.seconds[name]
        return close

    def run(self, site: Site) -> bool:
        """Whether any test runs a site."""
        if not self.usable:
            self.usable = {*self.seconds, *(n.partition("::")[0] for n in self.seconds)}
        return not self.usable.isdisjoint(self._found(site))

    def tests_of(self, site: Site) -> list[str]:
        """Tests that run a site, fastest first; for a line that an import runs, of its module."""
        found = self._found(site)
        files = {x for x in found if "::" not in x}
        names = {x for x in found if "::" in x and x in self.seconds}
        names |= {x for x in self.seconds if x.partition("::")[0] in files}
        return sorted(names, key=lambda x: (self.seconds[x], x))

    def _found(self, site: Site) -> set[str]:
        lines = self.lines.get(site.path, {})
        m = site.mutant
        found: set[str] = set()
        if m.inside:
            found = set().union(*(lines.get(n, set()) for n in range(m.at[0], m.at[1] + 1)))
            if not found:
                found = set().union(*(lines.get(n, set()) for n in range(m.line, m.end_line + 1)))
        elif lines:
            if site.path not in self.modules:
                self.modules[site.path] = set().union(*lines.values())
            found = self.modules[site.path]
        return found


def _sha(*paths: Path) -> str:
    return hashlib.sha1(b"".join(p.read_bytes() for p in paths)).hexdigest()


def copy_of(folder: Path) -> Path:
    """A copy of the tree in which mutations are made."""
    tree = folder / "tree"
    tree.mkdir(parents=True, exist_ok=True)
    for name in _COPIED:
        source, target = _ROOT / name, tree / name
        if source.is_dir():
            for stale in (p for p in target.rglob("*") if p.suffix != ".pyc" and p.is_file()):
                if not (source / stale.relative_to(target)).exists():
                    stale.unlink()
            skipped = shutil.ignore_patterns("__pycache__")
            shutil.copytree(source, target, ignore=skipped, dirs_exist_ok=True)
        else:
            shutil.copy2(source, target)
    return tree


def _environment(tree: Path) -> dict[str, str]:
    return {
        **os.environ,
        "PYTHONPATH": str(tree),
        "PYTHONHASHSEED": "0",
        "PYTHONDONTWRITEBYTECODE": "",
    }


def _is_current(held: Path, tree: Path) -> bool:
    """Whether neither a test file nor what it runs has changed since it was traced."""
    if not held.exists():
        return False
    shas = json.loads(held.read_text())["shas"]
    return all(sha_of(tree / path) == sha for path, sha in shas.items())


def traces(tree: Path, folder: Path, folders: Sequence[str], *, as_traced: bool = False) -> Traces:
    """Runs the tests of files that changed, with coverage, and reads what all files run."""
    store = folder / "traces"
    store.mkdir(exist_ok=True)
    kept: dict[str, Any] = {}
    texts: dict[str, str] = {}
    for name in folders:
        for path in sorted((tree / "tests" / name).glob("test_*.py")):
            file = str(path.relative_to(tree))
            held = store / (file.replace("/", ".") + ".json")
            if not _is_current(held, tree):
                if as_traced:
                    print("left out", file, flush=True)
                    continue
                print("tracing", file, flush=True)
                command = [sys.executable, "-m", "tests.studies.trace_file", file, str(held)]
                subprocess.run(command, cwd=tree, env=_environment(tree), check=False)
            kept[file] = json.loads(held.read_text())
            texts[file] = path.read_text("utf-8")
    lines: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
    seconds: dict[str, float] = {}
    for trace in kept.values():
        seconds |= trace["seconds"]
        for source, by_line in trace["lines"].items():
            for line, names in by_line.items():
                lines[source][int(line)] |= set(names)
    return Traces(lines, seconds, texts)


def sites(tree: Path, known: Traces) -> list[Site]:
    """All mutations on lines that a test runs."""
    found = []
    for path in sorted((tree / "cultures").rglob("*.py")):
        name, source = str(path.relative_to(tree)), path.read_bytes()
        found += [Site(name, m, source) for m in mutants_of(source)]
    return [site for site in found if known.run(site)]


def _within(names: list[str], known: Traces, budget: float) -> list[str]:
    """The tests to try: fastest first, of each file in turn."""
    taken: list[str] = []
    total = 0.0
    of_file: Counter[str] = Counter()
    turn = {}
    for name in names:
        file = name.partition("::")[0]
        turn[name] = of_file[file]
        of_file[file] += 1
    for name in sorted(names, key=lambda n: turn[n])[:_MOST_TESTS]:
        total += known.seconds[name]
        if taken and total > budget:
            break
        taken.append(name)
    return taken


def trial(site: Site, tree: Path, names: list[str], limit_s: float) -> str:
    """What the tests make of a mutant: the name of the test that noticed, or nothing."""
    path = tree / site.path
    stat = path.stat()
    reader, writer = os.pipe()
    path.write_bytes(site.mutant.applied(site.source))
    os.utime(path, (stat.st_atime, stat.st_mtime + 1000))  # its compiled form is not used
    try:
        child = os.fork()
        if child == 0:
            _in_child(tree, names, limit_s, writer)
        os.close(writer)
        with os.fdopen(reader) as lines:
            said = lines.read()
        _, status = os.waitpid(child, 0)
    finally:
        path.write_bytes(site.source)
        os.utime(path, (stat.st_atime, stat.st_mtime))
    if said:
        return said if said != "lived" else ""
    return f"stopped ({status})"


def _in_child(tree: Path, names: list[str], limit_s: float, writer: int) -> None:
    """Runs the tests and leaves; what it prints goes nowhere."""
    resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s) + 1, int(limit_s) + 2))
    signal.alarm(int(20.0 * limit_s))  # what waits for ever takes no processor's time
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    said = "crashed"
    try:
        os.chdir(tree)
        os.environ |= _environment(tree) | {"PYTHONDONTWRITEBYTECODE": "1"}
        sys.dont_write_bytecode = True
        for name in [n for n in sys.modules if n.partition(".")[0] == "tests"]:
            del sys.modules[name]
        sys.path[:] = [str(tree), *(p for p in sys.path if p not in ("", str(_ROOT)))]
        import pytest

        from tests.studies.traced import FirstFailure, InOrder, fewer_examples

        fewer_examples()
        first = FirstFailure()
        files = sorted({name.partition("::")[0] for name in names})
        base = tempfile.mkdtemp()
        code = pytest.main(
            [
                "-x",
                "-q",
                "-n0",
                "-p",
                "no:cacheprovider",
                "-Wignore::pytest.PytestAssertRewriteWarning",
                "--basetemp",
                base,
                *files,
            ],
            plugins=[first, InOrder(names)],
        )
        said = first.name or ("lived" if code == 0 else f"pytest {code}")
        shutil.rmtree(base, ignore_errors=True)
    finally:
        os.write(writer, said.encode())
        os._exit(0)


def _compile(tree: Path, folders: Sequence[str]) -> None:
    """Has Python and pytest compile all files once, so that no trial does."""
    command = [sys.executable, "-m", "pytest", "--collect-only", "-qq", "-n0"]
    command += [f"tests/{name}" for name in folders]
    subprocess.run(
        command, cwd=tree, env=_environment(tree), check=False, stdout=subprocess.DEVNULL
    )


def _load_outside() -> None:
    """What tests import besides the project, once for all trials."""
    import importlib

    for name in ("pytest", "hypothesis", "hypothesis.stateful", "numpy", "scipy.integrate",
                 "scipy.optimize", "scipy.stats", "click.testing", "icalendar", "tabulate",
                 "coverage", "jsonschema"):  # fmt: skip
        importlib.import_module(name)
    assert not any(name.partition(".")[0] == "cultures" for name in sys.modules)


def study(
    folder: Path,
    count: int,
    seed: int,
    budget: float,
    folders: Sequence[str] = _FOLDERS,
    *,
    as_traced: bool = False,
) -> list[dict[str, Any]]:
    """Tries a random sample; what was tried before is taken from the folder."""
    tree = copy_of(folder)
    known = traces(tree, folder, folders, as_traced=as_traced)
    every = sites(tree, known)
    sample = random.Random(seed).sample(every, min(count, len(every)))
    tests = _sha(*sorted(p for p in (tree / "tests").rglob("*.py") if p.parent.name != "studies"))
    log = folder / f"seed{seed}.jsonl"
    tried = {}
    if log.exists():
        held = [json.loads(x) for x in log.read_text().splitlines()]
        tried = {x["id"]: x for x in held if x["tests"] == tests or x["noticed"]}
    _compile(tree, folders)
    _load_outside()
    results = []
    for i, site in enumerate(sample):
        if site.id not in tried:
            names = known.tests_of(site)
            began = time.monotonic()
            close = known.closest(names, site.path)
            rest = _within([name for name in names if name not in close], known, budget)
            taken, noticed = [*close, *rest], ""
            for some in filter(None, (close, rest)):
                needed = sum(known.seconds[n] for n in some)
                noticed = noticed or trial(site, tree, some, 3 * needed + 20)
            tried[site.id] = {
                "id": site.id, "tests": tests, "room": site.room, "noticed": noticed,
                "of": len(names), "tried": len(taken), "seconds": time.monotonic() - began,
                "operator": site.mutant.operator, "diff": site.diff(), "path": site.path,
            }  # fmt: skip
            with log.open("a") as out:
                out.write(json.dumps(tried[site.id]) + "\n")
            print(f"{i + 1}/{len(sample)} {site.path}:{site.mutant.at[0]}",
                  noticed or "LIVED", f"{tried[site.id]['seconds']:.1f} s", flush=True)  # fmt: skip
        results.append(tried[site.id])
    print(f"{len(every)} mutations on lines that {len(known.seconds)} tests run")
    return results


def _report(results: list[dict[str, Any]]) -> Iterator[str]:
    tried = Counter(x["room"] for x in results)
    noticed = Counter(x["room"] for x in results if x["noticed"])
    yield "| room | mutants | noticed | lived |"
    yield "| --- | ---: | ---: | ---: |"
    for room in sorted(tried):
        yield f"| {room} | {tried[room]} | {noticed[room]} | {tried[room] - noticed[room]} |"
    a, n = noticed.total(), tried.total()
    yield f"| all | {n} | {a} ({a / n:.1%}) | {n - a} |"
    for x in results:
        if not x["noticed"]:
            yield f"\n{x['path']} ({x['operator']}; {x['tried']} of {x['of']} tests)\n{x['diff']}"


def main() -> None:
    """Reads the command line and prints the table and the survivors."""
    parser = argparse.ArgumentParser(prog="python -m tests.studies.mutants")
    parser.add_argument("--mutants", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--budget", type=float, default=40.0)
    parser.add_argument("--work", type=Path, default=Path(tempfile.gettempdir()) / "mutants")
    parser.add_argument("--folders", nargs="+", default=_FOLDERS)
    parser.add_argument("--as-traced", action="store_true", help="leave out what is not traced yet")
    given = parser.parse_args()
    results = study(
        given.work, given.mutants, given.seed, given.budget, given.folders,
        as_traced=given.as_traced,
    )  # fmt: skip
    for line in _report(results):
        print(line)


if __name__ == "__main__":
    main()
