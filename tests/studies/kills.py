"""Kills commands on a small room at each of their calls that write, until there were so many.

    python -m tests.studies.kills [KILLS]

Half of them are kills, half are cuts of the power, at once. Prints what was lost of what was
answered; docs/safety.md quotes what was seen.
"""

from __future__ import annotations

import sys
import tempfile
from multiprocessing import Pool
from pathlib import Path

from tests.faults.kills import Killing


def half(power: bool, kills: int) -> tuple[int, int]:
    """So many kills, or cuts of the power; how many there were, and how many losses."""
    losses, what = 0, "cuts of the power" if power else "kills"
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "room").mkdir()
        killing = Killing(Path(place) / "room" / "room.toml", power, each=True)
        killing.begin()
        while killing.kills < kills:
            for loss in killing.cycle():
                losses += 1
                print(loss[:300])
            print(f"{killing.kills} {what}, {losses} lost", flush=True)
    return killing.kills, losses


def main(kills: int) -> int:
    """Both halves; how many losses there were."""
    with Pool(2) as pool:
        found = pool.starmap(half, [(power, -(-kills // 2)) for power in (False, True)])
    done, losses = map(sum, zip(*found, strict=True))
    print(f"{done} in all, {losses} lost")
    return losses


if __name__ == "__main__":
    sys.exit(main(int((sys.argv[1:] or ["1000"])[0])) > 0)
