"""Damages rooms, journals, records, tables and arguments at random, many times.

    python -m tests.studies.fuzz [TRIALS] [--first SEED] [--workers N] [--keep FOLDER]

Prints how many trials and commands ran, and each command that broke a promise with its seed and
arguments. What broke one, or reached something new, is kept in ``--keep`` (tests/faults/corpus if
it is named without a folder) and mutated further. Trials are numbered by their seed: one that was
stopped is taken up again with ``--first``. docs/safety.md quotes what was seen.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import tempfile
import time
from collections import Counter
from multiprocessing import Pool
from pathlib import Path

from tests.faults.fuzzing import CORPUS, Fuzzer, prepared

#: Trials between two lines of progress.
_STEP = 500
#: No command of a trial takes so much time of the processor [s]; a trial that does is broken off.
_BACKSTOP_S = 60


class EndlessError(Exception):
    """A command that does not end."""


#: Of each worker process.
_fuzzers: list[Fuzzer] = []


def begin(place: str, keeps: Path | None) -> None:
    """Makes ready a worker."""
    start = Path(place) / f"start-{os.getpid()}"
    room = Path(place) / "some" / str(os.getpid()) / "room"
    start.mkdir()
    room.mkdir(parents=True)
    _fuzzers.append(Fuzzer(room / "room.toml", prepared(start), keeps))
    _fuzzers[0].prime()
    signal.signal(signal.SIGVTALRM, _endless)


def run(seeds: range) -> tuple[int, int, list[str]]:
    """Runs the trials of some seeds; how many, of how many commands, and what broke a promise."""
    said, (fuzzer,) = [], _fuzzers
    before = fuzzer.commands
    for seed in seeds:
        signal.setitimer(signal.ITIMER_VIRTUAL, _BACKSTOP_S)
        said += [f"seed {seed}: {found.args} {found.what}" for found in fuzzer.trial(seed)]
    signal.setitimer(signal.ITIMER_VIRTUAL, 0)
    return len(seeds), fuzzer.commands - before, said


def _endless(*_: object) -> None:
    raise EndlessError(f"no end after {_BACKSTOP_S} s of the processor")


def main() -> int:
    """Runs the study; the number of commands that broke a promise."""
    words = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    words.add_argument("trials", type=int, nargs="?", default=2000)
    words.add_argument("--first", type=int, default=1)
    words.add_argument("--workers", type=int, default=1)
    words.add_argument("--keep", type=Path, nargs="?", const=CORPUS)
    asked = words.parse_args()
    end = asked.first + asked.trials
    parts = [range(n, min(n + _STEP, end)) for n in range(asked.first, end, _STEP)]
    memory = Path("/dev/shm")
    done, commands, broken = 0, 0, Counter[str]()
    with (
        tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as place,
        Pool(asked.workers, begin, (place, asked.keep)) as pool,
    ):
        for trials, ran, said in pool.imap(run, parts):
            done, commands = done + trials, commands + ran
            for line in said:
                print(line[:400])
            broken.update(line.partition(") ")[2][:80] for line in said)
            print(f"{asked.first + done - 1}: {done} trials, {commands} commands,"
                  f" {broken.total()} broke a promise", flush=True)  # fmt: skip
    for what, count in broken.most_common():
        print(f"  {count} x {what}")
    return broken.total()


if __name__ == "__main__":
    begun = time.monotonic()
    found = main()
    used = sum(os.times()[:4])
    print(f"{used:.0f} s of the processor, {time.monotonic() - begun:.0f} s of the clock")
    sys.exit(found > 0)
