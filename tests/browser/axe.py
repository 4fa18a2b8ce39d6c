"""axe-core in a page of the test browser: what it finds wrong, of any impact.

The script comes with the package ``axe-core-python`` and enters through the debugging protocol,
which a page's content security policy does not concern.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

from tests.browser.chromium import Browser
from tests.examples import thorough

WIDTHS = (360, 390, 768, 1280)
SCHEMES = ("light", "dark")


@cache
def _script() -> str:
    return files("axe_core_python").joinpath("axe.min.js").read_text("utf-8")


def violations(browser: Browser, **options: Any) -> list[str]:
    """What axe-core finds on the open page, as ``impact rule: element``."""
    if browser.run("typeof axe") == "undefined":
        browser.run(f"{_script()}; 0")
    wanted = json.dumps({"resultTypes": ["violations"], "preload": False, **options})
    found = browser.run(
        f"axe.run(document, {wanted}).then(r => r.violations.flatMap(v => v.nodes.map("
        "n => `${v.impact} ${v.id}: ${n.html.slice(0, 120)} ${n.any.map(a => a.message)}`)))"
    )
    assert isinstance(found, list)
    return found


def everywhere(browser: Browser, url: str) -> list[str]:
    """The same with all that can be opened open, in each width.

    The suite looks at each width once, by turns light and dark; the thorough run at all of both.
    """
    browser.visit(url, width=WIDTHS[0], phone=True)
    browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
    found = []
    try:
        for number, width in enumerate(WIDTHS):
            browser.resize(width, phone=width < 500)
            for scheme in SCHEMES if thorough() else (SCHEMES[number % 2],):
                browser.scheme(scheme)
                found += [f"{width} {scheme} {each}" for each in violations(browser)]
    finally:
        browser.scheme("")
    return found
