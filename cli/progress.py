"""The plan of a command, with a sign of life where it takes more than two seconds."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cli.options import Setting
    from cultures.planning.outlook import Outlook
    from cultures.tasks.plan import Plan

#: Quicker work stays silent.
AFTER_S = 2.0
_EVERY_S = 1.0


def planned(
    setting: Setting, days: int | None = None, *, risk: bool = False
) -> tuple[Outlook, Plan]:
    """The outlook of a room from the moment of a command on, and its plan."""
    from cultures.planning.outlook import make_outlook
    from cultures.planning.plan import plan_of

    with working("Planning"):
        outlook = make_outlook(setting.room, now=setting.now, days=days)
        return outlook, plan_of(outlook, risk=risk)


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
