"""Profiles of Hypothesis: the suite as it is run each time, and a thorough run of it.

``python -m pytest --hypothesis-profile=thorough`` looks at many more examples where an example is
dear; see `tests.examples`. No example has a deadline by the clock: on a busy machine that would
say something of the machine.
"""

from __future__ import annotations

import gc
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from cultures.planning import outlook, plan
from tests.examples import THOROUGH, thorough
from tests.planned_once import OF_SCREENS, PlannedOnce

if TYPE_CHECKING:
    from cultures.planning.carry import Carried

#: Who imports `make_outlook` or `plan_of` after this asks here.
_PLANNED = PlannedOnce(outlook.make_outlook, plan.plan_of)
outlook.make_outlook, plan.plan_of = _PLANNED.make_outlook, _PLANNED.plan_of

settings.register_profile("suite", settings(), deadline=None, max_examples=40)
settings.load_profile("suite")
settings.register_profile("thorough", settings(), max_examples=THOROUGH)


def pytest_configure(config: pytest.Config) -> None:
    """Where no compiled modules may be left beside the code, tests and the programs that they start
    keep them where pytest keeps what it knows from run to run.
    """
    cache = getattr(config, "cache", None)
    if sys.dont_write_bytecode and cache is not None:
        sys.dont_write_bytecode, sys.pycache_prefix = False, str(cache.mkdir("compiled"))
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix


@pytest.fixture(autouse=True, scope="session")
def _nothing_left_behind(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Folders that an example makes go with those of pytest."""
    before, tempfile.tempdir = tempfile.tempdir, str(tmp_path_factory.mktemp("made"))
    yield
    tempfile.tempdir = before


@pytest.fixture(autouse=True, scope="session")
def _printed_is_not_folded() -> Iterator[None]:
    """What a test reads is as if it were piped, whatever the terminal of who runs it is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("COLUMNS", raising=False)
        yield


@pytest.fixture(autouse=True, scope="session")
def _no_waiting_for_the_disk() -> Iterator[None]:
    """Only a loss of power shows what was not flushed; where that is played, `tests.faults.dying`
    knows what was flushed by itself. A descriptor that is none is refused as ever, programs that
    a test starts flush, and so does the thorough profile.
    """
    with pytest.MonkeyPatch.context() as patch:
        if not thorough():
            patch.setattr(os, "fsync", _flushed)
        yield


def _flushed(descriptor: int) -> None:
    """In the place of `os.fsync`."""
    os.fstat(descriptor)


@pytest.fixture(name="carried", scope="session")
def _carried() -> Callable[[int], Carried]:
    """What a drawn small room carries, asked once for all tests that hold it against something."""
    from tests.carrying import carried_in  # which asks for plans, and so where it is to ask

    return cache(carried_in)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Tests of screens are not the ones that ask whether a plan is made as it should be."""
    _PLANNED.on = item.path.parent.name in OF_SCREENS and not thorough()


def pytest_collection_finish() -> None:
    """What was collected lives as long as the run: no search for garbage goes through it again."""
    gc.freeze()
