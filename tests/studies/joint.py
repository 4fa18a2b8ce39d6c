"""How far our plans of all foods are from the joint optimum, worst rooms first.

Run: python -m tests.studies.joint [rooms]

Rooms of two to four broods, one to three cultures and none to two bottles over 4 to 8 days, about a
third of which have more need than food. Costs are those of `tests/oracle/joint_milp.py`, less what
no plan can help. Ours and what HiGHS found are both counted by the square of what is missing; what
it proved, and ours beside that, by its chords.
"""

from __future__ import annotations

import sys

from tests.oracle.joint_case import compared

_FIRST, _SECONDS = 0, 30.0


def main(rooms: int) -> None:
    """Prints the table."""
    found = [compared(seed, seconds=_SECONDS) for seed in range(_FIRST, _FIRST + rooms)]
    print("| room | ours, g | least, g | ratio | by chords, g | proven, g | what stands in it |")
    print("| ---: | ---: | ---: | ---: | ---: | ---: | --- |")
    for one in sorted(found, key=lambda each: -each.ratio):
        print(
            f"| {one.seed} | {one.ours:.0f} | {one.least:.0f} | {one.ratio:.3f} |"
            f" {one.chorded:.0f} | {one.bound:.0f} | {one.room} |"
        )
    ratios = sorted(one.ratio for one in found)
    for share in (0.5, 0.75, 0.9):
        print(f"{share:.0%} of the rooms cost at most {ratios[int(share * len(ratios)) - 1]:.3f}")
    print(f"within 3 %: {sum(ratio <= 1.03 for ratio in ratios)} of {len(ratios)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
