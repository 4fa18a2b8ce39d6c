"""Profiles of Hypothesis: the suite as it is run each time, and a thorough run of it.

``python -m pytest --hypothesis-profile=thorough`` looks at many more examples where an example is
dear; see `tests.examples`. No example has a deadline by the clock: on a busy machine that would
say something of the machine.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator

import pytest
from hypothesis import settings

from tests.examples import THOROUGH

settings.register_profile("suite", settings(), deadline=None, max_examples=40)
settings.load_profile("suite")
settings.register_profile("thorough", settings(), max_examples=THOROUGH)


@pytest.fixture(autouse=True, scope="session")
def _nothing_left_behind(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Folders that an example makes go with those of pytest."""
    before, tempfile.tempdir = tempfile.tempdir, str(tmp_path_factory.mktemp("made"))
    yield
    tempfile.tempdir = before


@pytest.fixture(autouse=True, scope="session")
def _programs_are_compiled_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Where no compiled modules may be left beside the code, programs keep them with the tests."""
    with pytest.MonkeyPatch.context() as patch:
        if sys.dont_write_bytecode:
            patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
            patch.setenv("PYTHONPYCACHEPREFIX", str(tmp_path_factory.mktemp("compiled")))
        yield


@pytest.fixture(autouse=True, scope="session")
def _printed_is_not_folded() -> Iterator[None]:
    """What a test reads is as if it were piped, whatever the terminal of who runs it is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("COLUMNS", raising=False)
        yield
