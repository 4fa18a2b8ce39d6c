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
    """The same with all that can be opened open, in each width, light and dark.

    The suite takes each width once, by turns light and dark. Contrast, two thirds of the time, is
    looked at in the first of each: no rule of a style sheet makes it depend on the width. The
    thorough run takes all of both and leaves nothing out.
    """
    browser.visit(url, width=WIDTHS[0], phone=True)
    browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
    found = []
    try:
        for number, width in enumerate(WIDTHS):
            browser.resize(width, phone=width < 500)
            contrast = {"enabled": thorough() or number < len(SCHEMES)}
            for scheme in SCHEMES if thorough() else (SCHEMES[number % len(SCHEMES)],):
                browser.scheme(scheme)
                wrong = violations(browser, rules={"color-contrast": contrast})
                found += [f"{width} {scheme} {each}" for each in wrong]
    finally:
        browser.scheme("")
    return found
