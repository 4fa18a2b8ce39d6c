"""A sign of life of what takes more than two seconds, on a terminal only."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

#: Quicker work stays silent.
AFTER_S = 2.0
_EVERY_S = 1.0


@contextmanager
def working(what: str) -> Iterator[None]:
    """Says on standard error what is going on, and for how long, once it takes a while.

    Silent where standard error is no terminal, so that piped output and logs stay clean.
    """
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()
    thread = threading.Thread(target=_tell, args=(what, done), daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _tell(what: str, done: threading.Event) -> None:
    begun = time.monotonic()
    if done.wait(AFTER_S):
        return
    while True:
        sys.stderr.write(f"\r{what}, {time.monotonic() - begun:.0f} s ...")
        sys.stderr.flush()
        if done.wait(_EVERY_S):
            break
    sys.stderr.write("\r" + " " * (len(what) + 16) + "\r")
    sys.stderr.flush()
