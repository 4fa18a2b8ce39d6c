"""What was worked out of fry by their length, kept for whoever asks again.

What a mouth takes and a body burns hangs on the class and the length alone, and each plan of a
room asks it of the same broods at the same rounds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from cultures.fry.classes import FryClass
from cultures.fry.feeding import feeding_values

_T = TypeVar("_T")
#: Of so many lengths at most it is kept, some weeks of a room.
_MOST = 4096


class ByLength(dict[float, _T]):
    """Something of fry of a class by their length [mm], worked out where it is not known yet."""

    def __init__(self, work_out: Callable[[float], _T]) -> None:
        super().__init__()
        self._work_out = work_out

    def __missing__(self, length_mm: float) -> _T:
        if len(self) >= _MOST:
            self.clear()
        found = self[length_mm] = self._work_out(length_mm)
        return found


class Fry:
    """A class as a key: the same as that very class under the very same laws alone.

    It holds them, so that no others take their place in memory.
    """

    def __init__(self, fry_class: FryClass) -> None:
        self.fry_class = fry_class
        self._values: Mapping[str, float] = fry_class.values
        self._laws: Mapping[str, float] = feeding_values()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Fry) and (
            self.fry_class is other.fry_class
            and self._values is other._values
            and self._laws is other._laws
        )

    def __hash__(self) -> int:
        return id(self.fry_class)
