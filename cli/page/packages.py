"""Whether the packages that serve the page are there; imports none of them."""

from __future__ import annotations

from importlib.util import find_spec

from cli.options import UsageProblemError

#: Page and feed listen here unless told otherwise, so that addresses stay the same.
PORT = 8742
_NEEDED = ("flask", "waitress", "segno")


def need_packages() -> None:
    """Refuses to go on without them.

    Raises:
        UsageProblemError: says what to install.
    """
    if any(find_spec(name) is None for name in _NEEDED):
        raise UsageProblemError(
            "serving needs more packages; install them with: pip install 'livefood[page]'"
        )
