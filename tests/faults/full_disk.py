"""A disk that is full from some call of the system on."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from io import FileIO
from pathlib import Path
from typing import Any

import pytest

from cultures import files


class FullDisk:
    """Lets so many writing calls of the system through and refuses all later ones."""

    def __init__(self, patch: pytest.MonkeyPatch, through: int) -> None:
        self.left, self.refused = through, False

        def guarded(real: Callable[..., Any]) -> Callable[..., Any]:
            def call(*args: Any, **named: Any) -> Any:
                self.left -= 1
                if self.left < 0:
                    self.refused = True
                    raise OSError(errno.ENOSPC, "No space left on device")
                return real(*args, **named)

            return call

        class Faulty(FileIO):
            write = guarded(FileIO.write)

        patch.setattr(files, "FileIO", Faulty)
        patch.setattr(os, "fsync", guarded(os.fsync))
        patch.setattr(Path, "replace", guarded(Path.replace))
        patch.setattr(files, "_write_new", guarded(files._write_new))
