"""Kills commands on a small room at each of their calls that write, until there were so many.

    python -m tests.studies.kills [KILLS]

Half of them are kills, half are cuts of the power. Prints what was lost of what was answered;
docs/safety.md quotes what was seen.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.faults.kills import Killing


def main(kills: int) -> int:
    """Runs cycles of commands; how many losses there were."""
    done = losses = 0
    for power in (False, True):
        with tempfile.TemporaryDirectory() as place:
            (Path(place) / "room").mkdir()
            killing = Killing(Path(place) / "room" / "room.toml", Path(place) / "kept", power)
            killing.begin()
            while killing.kills < kills / 2:
                for loss in killing.cycle():
                    losses += 1
                    print(loss[:300])
                print(f"{done + killing.kills} kills, {losses} lost", flush=True)
            done += killing.kills
    return losses


if __name__ == "__main__":
    sys.exit(main(int((sys.argv[1:] or ["1000"])[0])) > 0)
