"""Damages rooms, journals, records, tables and arguments at random, many times.

    python -m tests.studies.fuzz [TRIALS] [SEED]

Prints how many commands ran, and each one that broke a promise with what is needed to see it
again: its seed and its arguments. docs/safety.md quotes what was seen.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.faults.fuzzing import prepared, trial


def main(trials: int, first: int) -> int:
    """Runs so many trials, each of a seed of its own; the number that broke a promise."""
    broken = 0
    seen: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as place:
        start = Path(place) / "start"
        start.mkdir()
        prepared(start)
        for seed in range(first, first + trials):
            found = trial(start, Path(place) / "room", random.Random(seed))
            broken += bool(found)
            for each in found:
                seen[each.what[:80]] += 1
                if seen[each.what[:80]] <= 3:
                    print(f"seed {seed}: {' '.join(each.args)[:200]!r} {each.what}")
    print(f"{trials} trials, {broken} broke a promise")
    for what, count in seen.most_common():
        print(f"  {count} x {what}")
    return broken


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    sys.exit(main(*(numbers + [2000, 1][len(numbers) :])) > 0)
