"""An application served from a thread of the test's own process."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Flask
from waitress import wasyncore

from cli.page.serve import listen


@contextmanager
def serving(app: Flask) -> Iterator[int]:
    """Serves an application on loopback; its port."""
    listening, over = listen(app, "127.0.0.1", 0), threading.Event()

    def run() -> None:
        while not over.is_set():
            wasyncore.loop(timeout=0.05, map=listening.server._map, count=1)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield listening.socket.getsockname()[1]
    finally:
        over.set()
        thread.join(timeout=10)
        listening.server.task_dispatcher.shutdown()
        listening.server.close()
        for channel in list(listening.server._map.values()):
            channel.close()
