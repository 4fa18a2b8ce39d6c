"""Which test runs which line, how long each takes, and a trial of some of them.

A pytest plugin for :mod:`tests.studies.mutants`. What a fixture or the import of a test file runs
counts for every test of that file. Caches of the product are emptied before each test, so that the
second user of a value is seen as well as the first.
"""

from __future__ import annotations

import gc
import hashlib
import signal
import time
from collections.abc import Iterator
from functools import _lru_cache_wrapper
from pathlib import Path
from typing import Any

import coverage
import pytest
from hypothesis import Phase, settings

#: Examples of a property in this study; their own number makes the tests of the project slow.
EXAMPLES = 3
#: One process, nothing left behind; Hypothesis is imported before pytest here.
PLAINLY = ("-n0", "-pno:cacheprovider", "-Wignore::pytest.PytestAssertRewriteWarning")
#: A test that takes longer while it is traced is given up; what it ran up to then counts [s].
LONGEST_TRACE_S = 8.0
#: One that takes longer by itself is not used [s].
LONGEST_TEST_S = 10.0


def fewer_examples() -> None:
    """Every property with few examples, the same ones each time, and no search for a small one.

    Limits of time that tests set are held against the processor's time: a busy machine notices
    no mutant.
    """
    time.perf_counter = time.process_time
    phases = (Phase.explicit, Phase.generate)
    settings.register_profile(
        "mutants", max_examples=EXAMPLES, derandomize=True, database=None, deadline=None,
        phases=phases,
    )  # fmt: skip
    settings.load_profile("mutants")
    usual: Any = settings.__init__

    def limited(self: settings, parent: settings | None = None, **given: Any) -> None:
        if isinstance(given.get("max_examples"), int):
            given["max_examples"] = min(given["max_examples"], EXAMPLES)
        for name in ("derandomize", "database", "phases"):
            given.pop(name, None)
        usual(self, parent, **given)

    settings.__init__ = limited  # type: ignore[method-assign]


def sha_of(path: Path) -> str:
    """What a file holds, in short."""
    return hashlib.sha1(path.read_bytes()).hexdigest() if path.exists() else ""


def file_of(nodeid: str) -> str:
    """The file of a test."""
    return nodeid.partition("::")[0]


class _TooLong(BaseException):
    """Ends a test past what tests of their own catch."""


def _too_long(*_: object) -> None:
    raise _TooLong


class Timing:
    """How long each test takes that passes."""

    def __init__(self, longest_s: float = LONGEST_TEST_S) -> None:
        self.longest_s = longest_s
        self.seconds: dict[str, float] = {}
        self.bad: set[str] = set()
        signal.signal(signal.SIGVTALRM, _too_long)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        began = time.process_time()
        signal.setitimer(signal.ITIMER_VIRTUAL, self.longest_s)
        try:
            return (yield)
        except _TooLong:
            pytest.fail("takes too long for this study")
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
            self.seconds[item.nodeid] = time.process_time() - began

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.outcome != "passed":
            self.bad.add(report.nodeid)

    def passed(self) -> dict[str, float]:
        """Seconds of the tests that passed."""
        return {name: s for name, s in self.seconds.items() if name not in self.bad}


class Tracing(Timing):
    """Notes with coverage which lines each test runs, too."""

    def __init__(self, cover: coverage.Coverage) -> None:
        super().__init__(LONGEST_TRACE_S)
        self.cover = cover
        self.caches: list[Any] = []

    @pytest.hookimpl(wrapper=True)
    def pytest_make_collect_report(self, collector: pytest.Collector) -> Iterator[None]:
        self.cover.switch_context(file_of(collector.nodeid))
        return (yield)

    def pytest_collection_finish(self) -> None:
        self.caches = [
            o for o in gc.get_objects()
            if isinstance(o, _lru_cache_wrapper) and str(o.__module__).startswith("cultures")
        ]  # fmt: skip

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> Iterator[None]:
        for cache in self.caches:
            cache.cache_clear()
        self.cover.switch_context(file_of(item.nodeid))
        return (yield)

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_pyfunc_call(self, pyfuncitem: pytest.Function) -> Iterator[None]:
        self.cover.switch_context(pyfuncitem.nodeid)
        try:
            return (yield)
        finally:
            self.cover.switch_context(file_of(pyfuncitem.nodeid))


class FirstFailure:
    """The name of the first test that failed."""

    def __init__(self) -> None:
        self.name = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.name:
            self.name = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed and not self.name:
            self.name = report.nodeid


class InOrder:
    """Runs the given tests alone, in the order given."""

    def __init__(self, names: list[str]) -> None:
        self.place = {name: i for i, name in enumerate(names)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (x for x in items if x.nodeid in self.place), key=lambda x: self.place[x.nodeid]
        )
