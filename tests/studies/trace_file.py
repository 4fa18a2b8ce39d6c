"""Traces one test file for :mod:`tests.studies.mutants`; run by it, in the copy of the tree."""

from __future__ import annotations

import json
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import coverage
import pytest

from tests.studies.traced import PLAINLY, InOrder, Timing, Tracing, fewer_examples, sha_of


def main(file: str, held: str) -> None:
    """Runs the tests of a file and writes which of them runs which line of ``cultures``."""
    fewer_examples()
    root = Path.cwd()
    data = tempfile.mkdtemp()
    cover = coverage.Coverage(
        data_file=str(Path(data) / "data"), source=[str(root / "cultures")], config_file=False
    )
    tracing = Tracing(cover)
    cover.start()
    pytest.main(["-q", *PLAINLY, file], plugins=[tracing])
    cover.stop()
    timing = Timing()
    if tracing.bad:
        pytest.main(["-q", *PLAINLY, file], plugins=[timing, InOrder(sorted(tracing.bad))])
    found = cover.get_data()
    lines: dict[str, dict[int, list[str]]] = defaultdict(dict)
    for path in found.measured_files():
        for line, contexts in found.contexts_by_lineno(path).items():
            lines[str(Path(path).relative_to(root))][line] = [c for c in contexts if c]
    seconds = tracing.passed() | timing.passed()
    shas = {path: sha_of(root / path) for path in (file, *lines)}
    Path(held).write_text(json.dumps({"shas": shas, "seconds": seconds, "lines": lines}))


if __name__ == "__main__":
    main(*sys.argv[1:])
