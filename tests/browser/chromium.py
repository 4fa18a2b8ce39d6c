"""A small client for headless Chromium: opens a page, measures it, prints it.

Speaks the DevTools protocol over the two pipes of ``--remote-debugging-pipe`` (messages of
JSON, each ended by a zero byte), so no port is opened and nothing goes over a network.
"""

from __future__ import annotations

import base64
import json
import os
import re
import select
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Any

_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars", "--force-color-profile=srgb",
)  # fmt: skip
_WAIT_S = 60.0


def find_chromium() -> str | None:
    """The path of a Chromium, or None."""
    return next((path for name in _NAMES if (path := shutil.which(name))), None)


class Browser:
    """One headless browser with one page; use it in a ``with``."""

    def __init__(self) -> None:
        program = find_chromium()
        assert program is not None
        self._profile = tempfile.mkdtemp(prefix="livefood-browser-")
        to_read, self._to = os.pipe()
        self._from, from_write = os.pipe()

        def wire() -> None:
            os.dup2(to_read, 3)
            os.dup2(from_write, 4)

        # The browser wants to read from 3 and write to 4.
        os.set_inheritable(to_read, True)
        os.set_inheritable(from_write, True)
        self._process = subprocess.Popen(
            [program, *_FLAGS, "--remote-debugging-pipe", f"--user-data-dir={self._profile}"],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            preexec_fn=wire, close_fds=False,
        )  # fmt: skip
        os.close(to_read)
        os.close(from_write)
        self._number, self._buffer, self._events = 0, b"", list[dict[str, Any]]()
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = str(attached["sessionId"])
        self.call("Page.enable")
        self.call("Network.enable")

    _session = ""

    def __enter__(self) -> Browser:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self.close()

    def close(self) -> None:
        """Ends the browser and removes its profile."""
        for pipe in (self._to, self._from):
            os.close(pipe)
        self._process.terminate()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        shutil.rmtree(self._profile, ignore_errors=True)

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command; its result."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._receive()
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                result = answer["result"]
                assert isinstance(result, dict)
                return result
            self._events.append(answer)

    def _receive(self) -> dict[str, Any]:
        end = time.monotonic() + _WAIT_S
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._from], [], [], max(0.0, end - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser does not answer")
            piece = os.read(self._from, 1 << 16)
            if not piece:
                raise RuntimeError("the browser has ended")
            self._buffer += piece
        raw, self._buffer = self._buffer.split(b"\0", 1)
        answer = json.loads(raw)
        assert isinstance(answer, dict)
        return answer

    def open(self, path: Path, *, width: int, height: int = 900, phone: bool = False) -> None:
        """Opens a file in a window of a size [CSS px] and waits until it has loaded."""
        self.visit(path.resolve().as_uri(), width=width, height=height, phone=phone)

    def visit(
        self, url: str, *, width: int, height: int = 900, phone: bool = False, sharp: bool = True
    ) -> None:
        """The same for an address.

        Args:
            phone: it is one, that is touched. sharp: with two dots to a pixel, as phones have.
        """
        self.resize(width, height, phone=phone, sharp=sharp)
        self._events.clear()
        self.call("Page.navigate", url=url)
        while not any(e.get("method") == "Page.loadEventFired" for e in self._events):
            self._events.append(self._receive())

    def resize(
        self, width: int, height: int = 900, *, phone: bool = False, sharp: bool = True
    ) -> None:
        """Gives the window another size [CSS px]."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=2 if phone and sharp else 1, mobile=phone)  # fmt: skip
        self.call("Emulation.setTouchEmulationEnabled", enabled=phone, maxTouchPoints=1)

    def scheme(self, name: str) -> None:
        """Asks for ``light`` or ``dark`` colours; for those of the browser with ``""``."""
        wanted = [{"name": "prefers-color-scheme", "value": name}] if name else []
        self.call("Emulation.setEmulatedMedia", features=wanted)

    def requested(self) -> list[str]:
        """Every address that the open page asked for."""
        return [
            str(e["params"]["request"]["url"])
            for e in self._events
            if e.get("method") == "Network.requestWillBeSent"
        ]

    def run(self, script: str) -> Any:
        """The value of a JavaScript expression in the page, or what its promise keeps."""
        answer = self.call("Runtime.evaluate", expression=script, returnByValue=True,
                           awaitPromise=True)  # fmt: skip
        if "exceptionDetails" in answer:
            raise RuntimeError(str(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def until(self, script: str, *, seconds: float = 20.0) -> None:
        """Waits until a JavaScript expression in the page is true."""
        end = time.monotonic() + seconds
        while not self.run(script):
            if time.monotonic() > end:
                raise TimeoutError(script)
            time.sleep(0.1)

    def touch(self, x: float, y: float) -> None:
        """A finger comes down at a point of the window [CSS px] and goes up again."""
        self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def key(self, sign: str) -> None:
        """One key of the phone's keyboard."""
        self.call("Input.dispatchKeyEvent", type="keyDown", text=sign, key=sign)
        self.call("Input.dispatchKeyEvent", type="keyUp", key=sign)

    def offline(self, away: bool) -> None:
        """Takes the network away, or gives it back."""
        self.call("Network.emulateNetworkConditions", offline=away, latency=0,
                  downloadThroughput=-1, uploadThroughput=-1)  # fmt: skip

    def picture(self, target: Path, *, whole: bool = True) -> None:
        """A screenshot of the whole page, or of what the window shows of it."""
        shot = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        target.write_bytes(base64.b64decode(shot["data"]))

    def print_pdf(self, target: Path | None = None) -> list[tuple[int, int]]:
        """Prints with the page's own paper size; (width, height) of each sheet of paper [mm]."""
        answer = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        content = base64.b64decode(answer["data"])
        if target is not None:
            target.write_bytes(content)
        pages = re.findall(rb"/Type\s*/Page\b(?!s).*?endobj", content, re.DOTALL)
        return [_millimetres(page) for page in pages]


def _millimetres(page: bytes) -> tuple[int, int]:
    """Size of a page of a PDF, whose unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""
    box = re.search(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", page)
    assert box is not None
    return round(float(box[1]) / 72 * 25.4), round(float(box[2]) / 72 * 25.4)
