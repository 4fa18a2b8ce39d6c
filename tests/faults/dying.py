"""A command that is killed, or whose power is cut, at its n-th call that writes.

A process of its own is forked for it, so that each death is one of the system's: nothing of Python
is run after it, no buffer is written out. A power cut loses besides what was not yet on the disk:
of a file what was written since its last ``fsync``, which is left out or full of zeros, and a new
name since the last ``fsync`` of its folder.
"""

from __future__ import annotations

import os
import signal
import sys
import traceback
import warnings
from collections.abc import Callable
from io import BufferedWriter, FileIO
from pathlib import Path
from typing import Any

from attrs import define, field

from cultures import files


def dies(doing: Callable[[], object], step: int, *, power: bool = False) -> tuple[bool, str]:
    """Whether something was killed at its call number ``step``, and what it had said by then.

    Args:
        doing: what is done, in a process of its own. power: the power is cut.
    """
    read, write = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that threads of a test runner are not forked
        pid = os.fork()
    if not pid:
        code = 1
        try:
            os.dup2(write, 1)
            sys.stdout = os.fdopen(1, "w", encoding="utf-8", buffering=1)
            _Death(step, power).stand_by()
            doing()
            code = 0
        except SystemExit as ended:
            code = int(ended.code or 0)
        except BaseException:
            traceback.print_exc(file=sys.stdout)
        finally:
            os._exit(code)
    os.close(write)
    with os.fdopen(read, encoding="utf-8") as said:
        text = said.read()
    status = os.waitpid(pid, 0)[1]
    if not os.WIFSIGNALED(status):
        assert os.WEXITSTATUS(status) == 0, text
    return os.WIFSIGNALED(status), text


@define
class _Death:
    """Counts the calls that write, and ends the process at one of them.

    Attributes:
        unsynced: what of files is not on the disk, by inode: a name, and how much of it is.
        renamed: names that are not: the file, and what it held before.
    """

    left: int
    power: bool
    unsynced: dict[int, tuple[Path, int]] = field(factory=dict)
    renamed: list[tuple[Path, bytes | None]] = field(factory=list)

    def tick(self) -> None:
        self.left -= 1
        if self.left >= 0:
            return
        if self.power:
            self.left = sys.maxsize  # what the cut does itself is no call of the command
            self._cut()
        os.kill(os.getpid(), signal.SIGKILL)

    def _cut(self) -> None:
        for path, size in self.unsynced.values():
            written = path.stat().st_size
            os.truncate(path, size)
            if size % 2:  # what some file systems make of it
                os.truncate(path, max(size, written))
        for path, before in reversed(self.renamed):
            if before is None:
                path.unlink()
            else:
                path.write_bytes(before)

    def stand_by(self) -> None:
        """From here on the calls of this process count."""
        death, fsync, swap, opened, path_open = self, os.fsync, os.replace, os.open, Path.open

        def counted(real: Callable[..., Any]) -> Callable[..., Any]:
            def call(*args: Any, **named: Any) -> Any:
                death.tick()
                return real(*args, **named)

            return call

        class Dying(FileIO):
            def write(self, data: Any) -> int:
                death.tick()
                seen = os.fstat(self.fileno())
                if isinstance(self.name, str | Path):
                    names[seen.st_ino] = Path(self.name)
                death.unsynced.setdefault(seen.st_ino, (names[seen.st_ino], seen.st_size))
                half = super().write(data[: len(data) // 2]) or 0
                death.tick()
                return half + (super().write(data[half:]) or 0)

            def truncate(self, size: int | None = None) -> int:
                death.tick()
                return super().truncate(size)

        names: dict[int, Path] = {}

        def open_(path: Any, flags: int, *more: Any) -> int:
            if flags & os.O_CREAT:
                death.tick()
            found = opened(path, flags, *more)
            names[os.fstat(found).st_ino] = Path(path)
            return found

        def sync(descriptor: int) -> None:
            death.tick()
            fsync(descriptor)
            inode = os.fstat(descriptor).st_ino
            death.unsynced.pop(inode, None)
            if names[inode].is_dir():
                death.renamed.clear()

        def replace(old: Any, new: Any) -> None:
            death.tick()
            target, inode = Path(new), Path(old).stat().st_ino
            death.renamed.append((target, target.read_bytes() if target.exists() else None))
            swap(old, new)
            names[inode] = target
            if inode in death.unsynced:
                death.unsynced[inode] = (target, death.unsynced[inode][1])

        def fdopen(descriptor: int, mode: str, *more: Any, **named: Any) -> Any:
            assert mode == "wb", (mode, more, named)
            return BufferedWriter(Dying(descriptor, mode))

        def open_path(self: Path, mode: str = "r", *more: Any, **named: Any) -> Any:
            if mode == "ab":
                death.tick()
                return BufferedWriter(Dying(self, mode))
            return path_open(self, mode, *more, **named)

        patches: dict[tuple[Any, str], Any] = {
            (files, "FileIO"): Dying, (os, "open"): open_, (os, "fsync"): sync,
            (os, "replace"): replace, (os, "fdopen"): fdopen, (Path, "open"): open_path,
            (os, "unlink"): counted(os.unlink), (os, "chmod"): counted(os.chmod),
        }  # fmt: skip
        for (owner, name), made in patches.items():
            setattr(owner, name, made)
