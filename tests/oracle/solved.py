"""Programmes that HiGHS has solved, so that it need not solve the same again in each run.

The least that a plan of a drawn room costs hangs on the room, the data and the programme, and on
nothing that the planner decides. It is looked up by all numbers of the programme: one that is not
in the table, since anything of these changed, is solved; the thorough profile solves each and
compares.

``python -m tests.oracle.solved`` solves what `test_joint` asks for and is not in the table, and
leaves in it what is asked for.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from attrs import asdict, define, field, frozen

from tests.examples import thorough

TABLE = Path(__file__).with_name("solved.json")


@frozen
class Answer:
    """What HiGHS says of a programme.

    Attributes:
        cost: of the best that it found. bound: that nothing costs less than. proven: to the gap
            that was asked for. given: some of its variables, in an order of who asked.
    """

    cost: float
    bound: float
    proven: bool
    given: list[float]


@define
class Solved:
    """The table, and what it was asked for.

    Attributes:
        known: what the table holds, by digest. anew: it is solved all the same, and compared.
        asked: what was asked for, with its answer.
    """

    known: Mapping[str, Answer]
    anew: bool = False
    asked: dict[str, Answer] = field(factory=dict)

    def answer(self, numbers: Iterable[object], solve: Callable[[], Answer]) -> Answer:
        """The answer to a programme, looked up or solved."""
        key = digest(numbers)
        known = self.known.get(key)
        if known is not None and not self.anew:
            self.asked[key] = known
            return known
        found = self.asked[key] = solve()
        if known is not None:
            _agree(known, found)
        return found


def _agree(one: Answer, other: Answer) -> None:
    """Nothing that was found costs less than what was proven that nothing costs less than."""
    within = 1e-6 * (1.0 + abs(one.cost))
    assert one.bound <= other.cost + within, (one, other)
    assert other.bound <= one.cost + within, (one, other)


def digest(numbers: Iterable[object]) -> str:
    """Of all numbers of a programme, to nine digits, since processors differ in the last ones."""
    told = (f"{x:.9g}" if isinstance(x, float) else str(x) for x in numbers)
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:24]


@cache
def table() -> Solved:
    """What the tests look up."""
    return Solved(read(), anew=thorough())


def read() -> dict[str, Answer]:
    """The table as it was written."""
    found: dict[str, dict[str, Any]] = json.loads(TABLE.read_text("utf-8"))
    return {key: Answer(**answer) for key, answer in found.items()}


def write(answers: Mapping[str, Answer]) -> None:
    """What is proven, a programme a line."""
    lines = [
        f'"{key}": {json.dumps(asdict(answers[key]))}'
        for key in sorted(answers) if answers[key].proven
    ]  # fmt: skip
    TABLE.write_text("{\n" + ",\n".join(lines) + "\n}\n", "utf-8")


def main() -> None:
    """Solves what the tests ask for."""
    from tests.oracle import solved as asked_there  # not this module, which is run
    from tests.oracle import test_joint

    solved = asked_there.table()
    solved.anew = False
    test_joint.ask_all()
    write(solved.asked)
    print(f"{sum(a.proven for a in solved.asked.values())} of {len(solved.asked)} proven")  # noqa: T201


if __name__ == "__main__":
    main()
