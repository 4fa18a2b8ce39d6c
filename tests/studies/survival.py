"""How often the interval of a class holds the true share: ``python -m tests.studies.survival``.

Broods of 60 to 400 eggs whose own shares are drawn from a beta law around 40 %.
"""

from __future__ import annotations

import random

from cultures.learning.survival import design_effect, wilson

_SHARE = 0.4


def held(broods: int, correlation: float, draws: int, generator: random.Random) -> tuple[int, int]:
    """Of some draws, how many intervals of eight in ten held: as shown, and without the effect."""
    law = 1.0 / correlation - 1.0
    shown = plain = 0
    for _ in range(draws):
        groups = []
        for _ in range(broods):
            eggs, own = generator.randint(60, 400), generator.betavariate(
                _SHARE * law, (1.0 - _SHARE) * law
            )  # fmt: skip
            groups.append((sum(generator.random() < own for _ in range(eggs)), eggs))
        effect = max(1.0, design_effect(groups))
        sold, start = (sum(column) for column in zip(*groups, strict=True))
        low, high = wilson(sold / effect, start / effect, groups=broods)
        shown += low <= _SHARE <= high
        low, high = wilson(sold, start)
        plain += low <= _SHARE <= high
    return shown, plain


def main(draws: int = 2000) -> None:
    """Prints a line for each number of broods and correlation."""
    generator = random.Random(20270105)
    for broods in (2, 5, 20):
        for correlation in (0.05, 0.2):
            shown, plain = held(broods, correlation, draws, generator)
            print(f"{broods} broods, correlation {correlation}: {shown / draws:.1%} held,"
                  f" {plain / draws:.1%} without the effect")  # fmt: skip


if __name__ == "__main__":
    main()
