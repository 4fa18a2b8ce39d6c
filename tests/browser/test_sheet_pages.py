"""The sheet as a browser shows and prints it: nothing overflows, all can be read."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.commands.demo_room import demo_text
from cli.main import main
from tests.browser.chromium import Browser, find_chromium
from tests.cli.sheet_reader import read_sheet

if find_chromium() is None or sys.platform == "win32":
    pytest.skip("no Chromium that speaks over pipes is on this machine", allow_module_level=True)

_SHEETS = {
    "day": [],
    "week": ["--week"],
    "helper": ["--helper", "--from", "2027-01-10", "--to", "2027-01-14"],
}
_SCREENS = {"desktop": 1200, "tablet": 768, "phone": 390, "small phone": 320}

#: Boxes of all visible elements that reach outside the page.
OVERFLOWING = """
[...document.querySelectorAll('body *')].filter(e => {
  const r = e.getBoundingClientRect();
  if (!r.width || !r.height || e.closest('defs')) return false;
  return r.left < -0.5 || r.right > innerWidth + 0.5;
}).map(e => e.tagName + ' ' + e.textContent.slice(0, 40))
"""
#: Text that is wider than the cell or box it stands in.
_CLIPPED = """
[...document.querySelectorAll('td, th, li, p, h1, h2, h3, label, figcaption')]
  .filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0)
  .map(e => e.textContent.slice(0, 60))
"""
_TABLES_OUTSIDE = """
[...document.querySelectorAll('table')].filter(t => {
  if (!t.getClientRects().length) return false;
  const r = t.getBoundingClientRect(), m = document.querySelector('main').getBoundingClientRect();
  return r.left < m.left - 0.5 || r.right > m.right + 0.5;
}).length
"""
#: Contrast of every visible text against what lies behind it, by WCAG 2.1, "contrast ratio" and
#: "relative luminance": https://www.w3.org/TR/WCAG21/#dfn-contrast-ratio
POOR_CONTRAST = """
(() => {
  const rgb = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const lum = c => { const [r, g, b] = c.slice(0, 3).map(v => { v /= 255;
    return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = e => { for (; e; e = e.parentElement) {
    const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0.99) return c; } return [255, 255, 255]; };
  const poor = [];
  let seen = 0;
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !e.getClientRects().length) continue;
    const svg = e.namespaceURI.endsWith('svg');
    if (svg && e.tagName === 'title') continue;
    const style = getComputedStyle(e);
    const a = lum(rgb(svg ? style.fill : style.color));
    const b = lum(behind(svg ? e.closest('svg').parentElement : e));
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    seen += 1;
    if (ratio < 4.5) poor.push(ratio.toFixed(2) + ' ' + walk.currentNode.data.trim().slice(0, 40));
  }
  return seen > 50 ? poor : ['only ' + seen + ' texts seen'];
})()
"""
_SMALLEST_TEXT = """
Math.min(...[...document.querySelectorAll('body *')].filter(e =>
  [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && e.getClientRects().length &&
  e.tagName !== 'title').map(e => {
    const size = parseFloat(getComputedStyle(e).fontSize);
    const svg = e.closest('svg');
    return svg ? size * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : size;
  }))
"""


@pytest.fixture(name="browser", scope="module")
def _browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


@pytest.fixture(name="pages", scope="module")
def _pages(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Path]:
    """Every sheet of the demo room, in metric and in US units."""
    folder = tmp_path_factory.mktemp("sheets")
    made = {}
    for units in ("metric", "us"):
        room = folder / f"{units}.toml"
        head = f'[room]\nunits = "{units}"\n'
        room.write_text(demo_text(date(2027, 1, 5)).replace("[room]\n", head, 1), "utf-8")
        for name, options in _SHEETS.items():
            out = folder / f"{units}-{name}.html"
            args = ["sheet", "--room", str(room), "--now", "2027-01-05T07:00", "--out", str(out)]
            result = CliRunner().invoke(main, [*args, *options])
            assert result.exit_code == 0, result.output
            made[units, name] = out
        # What lies far ahead makes a large room dear to plan, and no part of its sheet wider.
        text = room.read_text("utf-8").replace("horizon_days = 28", "horizon_days = 10")
        room.write_text(text + _more(), "utf-8")
        out = folder / f"{units}-large.html"
        args = ["sheet", "--room", str(room), "--now", "2027-01-05T07:00", "--out", str(out)]
        assert CliRunner().invoke(main, args).exit_code == 0
        made[units, "large"] = out
    return made


def _more() -> str:
    """Twelve tanks and two kinds of worm besides, with long names."""
    parts = []
    for kind, grams in (("banana_worm", 150), ("grindal_worm", 300)):
        parts.append(
            f'[[culture]]\nname = "{kind} on the upper shelf"\nkind = "{kind}"\nmedium_g = {grams}'
            "\nstarted = 2026-12-01\nsurface_cm2 = 180\nstarter_g = 10\n"
        )
    for i in range(12):
        parts.append(
            f'[[tank]]\nname = "rack {i}"\nlitres = 40\ntemperature_c = 26\n[[brood]]\n'
            f'name = "second spawning of pair {i}"\ntank = "rack {i}"\nclass = "egg_scatterer"\n'
            f"count = {40 + i * 7}\nfree_swimming = 2026-12-{10 + i}\n"
        )
    return "\n" + "\n".join(parts)


_EVERY = [(units, name) for units in ("metric", "us") for name in (*_SHEETS, "large")]


@pytest.mark.parametrize("screen", _SCREENS)
@pytest.mark.parametrize("which", _EVERY, ids="-".join)
def test_nothing_overflows(
    browser: Browser, pages: dict[tuple[str, str], Path], which: tuple[str, str], screen: str
) -> None:
    browser.open(pages[which], width=_SCREENS[screen], phone="phone" in screen)
    assert browser.run("document.documentElement.scrollWidth") <= _SCREENS[screen]
    assert browser.run(OVERFLOWING) == []
    assert browser.run(_CLIPPED) == []
    assert browser.run(_TABLES_OUTSIDE) == 0


@pytest.mark.parametrize("screen", ["desktop", "phone"])
@pytest.mark.parametrize("name", [*_SHEETS, "large"])
def test_text_can_be_read(
    browser: Browser, pages: dict[tuple[str, str], Path], name: str, screen: str
) -> None:
    browser.open(pages["metric", name], width=_SCREENS[screen], phone=screen == "phone")
    browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
    for scheme in ("dark", "light"):
        browser.scheme(scheme)
        assert browser.run(POOR_CONTRAST) == [], scheme
    assert browser.run(_SMALLEST_TEXT) >= 10.5
    assert browser.run(OVERFLOWING) == []


def test_the_page_asks_for_nothing_but_itself(
    browser: Browser, pages: dict[tuple[str, str], Path]
) -> None:
    for page in pages.values():
        browser.open(page, width=1200)
        assert browser.requested() == [page.resolve().as_uri()]


def test_boxes_can_be_ticked(browser: Browser, pages: dict[tuple[str, str], Path]) -> None:
    browser.open(pages["metric", "day"], width=390, phone=True)
    count = browser.run("document.querySelectorAll('input[type=checkbox]').length")
    report = read_sheet(pages["metric", "day"].read_text("utf-8"))
    assert count == len(report.boxes) > 5
    browser.run("document.querySelectorAll('input[type=checkbox]').forEach(b => b.click())")
    assert browser.run("document.querySelectorAll('input:checked').length") == count


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("day", 1 + 2),  # the day, the weeks ahead, cultures and fry in pictures
        ("week", 7 + 2),  # a page a day, the same
        ("helper", 1 + 5 + 1),  # the rules, a page a day, the keeper's own page
    ],
)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_printing_takes_the_pages_it_should(
    browser: Browser, pages: dict[tuple[str, str], Path], units: str, name: str, expected: int
) -> None:
    """Metric rooms print on A4 (210 x 297 mm), rooms with US units on Letter (8.5 x 11 in)."""
    browser.open(pages[units, name], width=1200)
    paper = (216, 279) if units == "us" else (210, 297)
    assert browser.print_pdf() == [paper] * expected


def test_in_print_all_is_inside_the_page(
    browser: Browser, pages: dict[tuple[str, str], Path]
) -> None:
    # A4 less two margins of 11 mm, at 96 CSS pixels an inch.
    width = int((210 - 22) / 25.4 * 96)
    browser.call("Emulation.setEmulatedMedia", media="print")
    try:
        for page in pages.values():
            browser.open(page, width=width)
            assert browser.run(OVERFLOWING) == []
            assert browser.run(_CLIPPED) == []
            assert browser.run("[...document.querySelectorAll('details')].every("
                               "d => getComputedStyle(d).display === 'none')")  # fmt: skip
    finally:
        browser.call("Emulation.setEmulatedMedia", media="")
