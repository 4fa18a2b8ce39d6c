"""A command that is killed, or whose power is cut, at its n-th call that writes.

A process of its own is forked for it, so that each death is one of the system's: nothing of Python
is run after it, no buffer is written out. A power cut loses besides what was not yet on the disk:
of a file what was written since its last ``fsync``, which is left out or full of zeros, and a new
name since the last ``fsync`` of its folder.

All deaths of one command cost one run of it: a death runs nothing of Python any more, so what it
leaves at a call is what is on the disk at that call. The thorough profile lets it die each of them.
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
import traceback
import warnings
from collections.abc import Callable, Iterator
from io import BufferedWriter, FileIO
from itertools import count
from pathlib import Path
from typing import Any

from attrs import define, field

from cultures import files


def dies(doing: Callable[[], object], step: int, *, power: bool = False) -> tuple[bool, str]:
    """Whether something was killed at its call number ``step``, and what it had said by then.

    Args:
        doing: what is done, in a process of its own. power: the power is cut.
    """
    with tempfile.TemporaryDirectory() as made:
        said = Path(made) / "said"
        killed = _forked(doing, said, _Death(power, step))
        return killed, said.read_text("utf-8")


def deaths(
    doing: Callable[[], object], folder: Path, *, power: bool = False, each: bool = False
) -> Iterator[tuple[bool, str]]:
    """The same of each call in turn, and at last of the whole, which no death ends.

    Each time the folder is as such a death leaves it, whatever became of it since the one before.

    Args:
        folder: where all is that is written. each: it dies each death, in a process of its own.
    """
    with tempfile.TemporaryDirectory() as made:
        kept, said = Path(made), Path(made) / "said"
        if each:
            shutil.copytree(folder, kept / "before")
            for step in count():
                _put_back(kept / "before", folder)
                died, text = dies(doing, step, power=power)
                yield died, text
                if not died:
                    return
        assert not _forked(doing, said, _Copies(power, folder.resolve(), kept, said))
        shutil.copytree(folder, kept / "end")
        for step in count():
            left = kept / str(step)
            if not left.exists():
                break
            _put_back(left, folder)
            yield True, left.with_suffix(".said").read_text("utf-8")
        _put_back(kept / "end", folder)
        yield False, said.read_text("utf-8")


def _put_back(kept: Path, folder: Path) -> None:
    shutil.rmtree(folder)
    shutil.copytree(kept, folder)


def _forked(doing: Callable[[], object], said: Path, calls: _Calls) -> bool:
    """Whether something was killed that is done in a process of its own, and says into a file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that threads of a test runner are not forked
        pid = os.fork()
    if not pid:
        code = 1
        try:
            os.dup2(os.open(said, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), 1)
            sys.stdout = os.fdopen(1, "w", encoding="utf-8", buffering=1)
            calls.stand_by()
            doing()
            code = 0
        except SystemExit as ended:
            code = int(ended.code or 0)
        except BaseException:
            traceback.print_exc(file=sys.stdout)
        finally:
            os._exit(code)
    status = os.waitpid(pid, 0)[1]
    if not os.WIFSIGNALED(status):
        assert os.WEXITSTATUS(status) == 0, said.read_text("utf-8")
    return os.WIFSIGNALED(status)


@define
class _Calls:
    """Stands by at the calls that write.

    Attributes:
        unsynced: what of files is not on the disk, by inode: a name, and how much of it is.
        renamed: names that are not: the file, and what it held before.
    """

    power: bool
    unsynced: dict[int, tuple[Path, int]] = field(factory=dict, init=False)
    renamed: list[tuple[Path, bytes | None]] = field(factory=list, init=False)
    _busy: bool = field(default=False, init=False)

    def tick(self) -> None:
        """Before each call; what is done at one itself is no call of the command."""
        if not self._busy:
            self._busy = True
            self.at_call()
            self._busy = False

    def at_call(self) -> None:
        """What is done at a call."""
        raise NotImplementedError

    def cut(self, at: Callable[[Path], Path]) -> None:
        """Takes away what was not yet on the disk, of the files that stand where ``at`` says."""
        for path, size in self.unsynced.values():
            written = at(path).stat().st_size
            os.truncate(at(path), size)
            if size % 2:  # what some file systems make of it
                os.truncate(at(path), max(size, written))
        for path, before in reversed(self.renamed):
            if before is None:
                at(path).unlink()
            else:
                at(path).write_bytes(before)

    def stand_by(self) -> None:
        """From here on the calls of this process count."""
        calls, fsync, swap, opened, path_open = self, os.fsync, os.replace, os.open, Path.open

        def counted(real: Callable[..., Any]) -> Callable[..., Any]:
            def call(*args: Any, **named: Any) -> Any:
                calls.tick()
                return real(*args, **named)

            return call

        class Dying(FileIO):
            def write(self, data: Any) -> int:
                calls.tick()
                seen = os.fstat(self.fileno())
                if isinstance(self.name, str | Path):
                    names[seen.st_ino] = Path(self.name)
                calls.unsynced.setdefault(seen.st_ino, (names[seen.st_ino], seen.st_size))
                half = super().write(data[: len(data) // 2]) or 0
                calls.tick()
                return half + (super().write(data[half:]) or 0)

            def truncate(self, size: int | None = None) -> int:
                calls.tick()
                return super().truncate(size)

        names: dict[int, Path] = {}

        def open_(path: Any, flags: int, *more: Any) -> int:
            if flags & os.O_CREAT:
                calls.tick()
            found = opened(path, flags, *more)
            names[os.fstat(found).st_ino] = Path(path)
            return found

        def sync(descriptor: int) -> None:
            calls.tick()
            fsync(descriptor)
            inode = os.fstat(descriptor).st_ino
            calls.unsynced.pop(inode, None)
            if names[inode].is_dir():
                calls.renamed.clear()

        def replace(old: Any, new: Any) -> None:
            calls.tick()
            target, inode = Path(new), Path(old).stat().st_ino
            calls.renamed.append((target, target.read_bytes() if target.exists() else None))
            swap(old, new)
            names[inode] = target
            if inode in calls.unsynced:
                calls.unsynced[inode] = (target, calls.unsynced[inode][1])

        def fdopen(descriptor: int, mode: str, *more: Any, **named: Any) -> Any:
            assert mode == "wb", (mode, more, named)
            return BufferedWriter(Dying(descriptor, mode))

        def open_path(self: Path, mode: str = "r", *more: Any, **named: Any) -> Any:
            if mode == "ab":
                calls.tick()
                return BufferedWriter(Dying(self, mode))
            return path_open(self, mode, *more, **named)

        patches: dict[tuple[Any, str], Any] = {
            (files, "FileIO"): Dying, (os, "open"): open_, (os, "fsync"): sync,
            (os, "replace"): replace, (os, "fdopen"): fdopen, (Path, "open"): open_path,
            (os, "unlink"): counted(os.unlink), (os, "chmod"): counted(os.chmod),
        }  # fmt: skip
        for (owner, name), made in patches.items():
            setattr(owner, name, made)


@define
class _Death(_Calls):
    """Ends the process at one of the calls."""

    left: int

    def at_call(self) -> None:
        self.left -= 1
        if self.left >= 0:
            return
        if self.power:
            self.cut(lambda path: path)
        os.kill(os.getpid(), signal.SIGKILL)


@define
class _Copies(_Calls):
    """Keeps what a death at each of the calls would leave of a folder, and what was said by it."""

    folder: Path
    kept: Path
    said: Path
    number: int = field(default=0, init=False)

    def at_call(self) -> None:
        left = self.kept / str(self.number)
        self.number += 1
        shutil.copytree(self.folder, left)
        shutil.copyfile(self.said, left.with_suffix(".said"))
        if self.power:
            self.cut(lambda path: left / path.resolve().relative_to(self.folder))
