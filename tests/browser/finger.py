"""A keeper's finger on a phone: presses what a screen reader names, and counts."""

from __future__ import annotations

import json

from attrs import define

from tests.browser.chromium import Browser

#: Where the thing stands that is called so, or begins so; scrolled to the middle of the window.
_FIND = """
(() => {
  const name = NAME, called = e => (e.getAttribute('aria-label') ||
    e.labels?.[0]?.firstElementChild?.textContent || e.textContent).trim().replace(/\\s+/g, ' ');
  const all = [...document.querySelectorAll('button, summary, select, a, input:not([type=hidden])')]
    .filter(e => e.getClientRects().length);
  const found = all.find(e => called(e) === name) || all.find(e => called(e).startsWith(name));
  if (!found) return null;
  found.scrollIntoView({block: 'center', behavior: 'instant'});
  const box = found.getBoundingClientRect(), x = box.x + box.width / 2, y = box.y + box.height / 2;
  return found.contains(document.elementFromPoint(x, y)) ? [x, y] : null;
})()
"""
_QUIET = "!document.querySelector('.waits') && document.getElementById('wait')?.hidden"


@define
class Finger:
    """One finger.

    Attributes:
        taps: so often it came down, on the page and on the phone's keyboard.
    """

    browser: Browser
    taps: int = 0

    def tap(self, name: str) -> None:
        """Presses what is called so, which nothing may cover, and waits until it is answered."""
        place = self.browser.run(_FIND.replace("NAME", json.dumps(name)))
        assert place is not None, f"there is no '{name}' to be touched"
        self.browser.touch(*place)
        self.taps += 1
        self.browser.until(_QUIET)

    def type(self, signs: str) -> None:
        """Writes on the phone's keyboard, key by key."""
        for sign in signs:
            self.browser.key(sign)
            self.taps += 1
