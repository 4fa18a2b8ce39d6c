"""A function in the place of another, that notes what it is asked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def noting(
    into: list[Any], gives: Any = None, of: Callable[..., Any] = lambda *args, **_: args
) -> Callable[..., Any]:
    """Notes ``of`` what it is asked with, and gives the same each time."""

    def noted(*args: Any, **kinds: Any) -> Any:
        into.append(of(*args, **kinds))
        return gives

    return noted
