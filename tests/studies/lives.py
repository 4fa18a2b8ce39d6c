"""Many long lives of invented rooms, each step checked: the record's promises, broken or kept.

Run::

    python -m tests.studies.lives --lives 1000 --days 30 --workers 2

It prints each broken promise with what was done before it, and how many lives were lived.
"""

from __future__ import annotations

import argparse
import tempfile
import traceback
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.record.lives import Broken, live


def one(job: tuple[int, int]) -> tuple[int, int, str]:
    """(steps, questions, what was broken) of a life."""
    seed, days = job
    with tempfile.TemporaryDirectory() as folder:
        try:
            life = live(Path(folder), seed, days, full=True)
        except Broken as broken:
            return 0, 0, str(broken)
        except Exception:  # the other lives go on
            return 0, 0, f"seed {seed}: {traceback.format_exc()}"
        return len(life.log), len(life.questions), ""


def main() -> None:
    """Prints the study."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lives", type=int, default=100)
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--workers", type=int, default=1)
    options = parser.parse_args()
    jobs = [(seed, options.days) for seed in range(options.first, options.first + options.lives)]
    steps = broken = questions = 0
    with ProcessPoolExecutor(options.workers) as pool:
        for done, asked, wrong in pool.map(one, jobs):
            steps, questions, broken = steps + done, questions + asked, broken + bool(wrong)
            if wrong:
                print(wrong, flush=True)
    print(f"{options.lives} lives of {options.days} days: {broken} broken promises; {steps} things"
          f" done, {questions} questions asked")  # fmt: skip


if __name__ == "__main__":
    main()
