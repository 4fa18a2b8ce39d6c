"""A sign of life of what takes more than two seconds, on a terminal only."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

#: Quicker work stays silent.
AFTER_S = 2.0
_EVERY_S = 1.0


@contextmanager
def working(what: str | Callable[[], str]) -> Iterator[None]:
    """Says on standard error what is going on, and for how long, once it takes a while.

    Args:
        what: in words, or what gives them anew each second.

    Silent where standard error is no terminal, so that piped output and logs stay clean.
    """
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()
    say = (lambda: what) if isinstance(what, str) else what
    thread = threading.Thread(target=_tell, args=(say, done), daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _tell(say: Callable[[], str], done: threading.Event) -> None:
    begun = time.monotonic()
    if done.wait(AFTER_S):
        return
    longest = 0
    while True:
        line = f"{say()}, {time.monotonic() - begun:.0f} s ..."
        longest = max(longest, len(line))
        sys.stderr.write(f"\r{line.ljust(longest)}")
        sys.stderr.flush()
        if done.wait(_EVERY_S):
            break
    sys.stderr.write("\r" + " " * longest + "\r")
    sys.stderr.flush()
