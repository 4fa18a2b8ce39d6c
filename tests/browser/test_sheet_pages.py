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
from tests.cli import rooms
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
  return seen > 10 ? poor : ['only ' + seen + ' texts seen'];
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

#: Parts of the sheet that can be seen.
_VISIBLE = """
[...document.querySelectorAll('section[id]')].filter(s => s.getClientRects().length)
  .map(s => '#' + s.id)
"""


@pytest.fixture(name="one_browser", scope="module")
def _one_browser() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


@pytest.fixture(name="browser")
def _browser(one_browser: Browser) -> Iterator[Browser]:
    yield one_browser
    one_browser.call("Emulation.setEmulatedMedia", media="")


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
    for part in _parts(browser):
        browser.run(f"location.hash = '{part}'")
        assert browser.run("document.documentElement.scrollWidth") <= _SCREENS[screen]
        assert browser.run(OVERFLOWING) == []
        assert browser.run(_CLIPPED) == []
        assert browser.run(_TABLES_OUTSIDE) == 0


def _parts(browser: Browser) -> list[str]:
    """The addresses of the parts of a sheet, a phone shows one of them at a time."""
    found = browser.run("[...document.querySelectorAll('.jump a')].map(a => a.hash)")
    assert len(found) > 2
    return [str(part) for part in found]


@pytest.mark.parametrize("which", [x for x in _EVERY if x[1] != "large"], ids="-".join)
def test_a_phone_shows_one_part_in_few_screens_and_reaches_all(
    browser: Browser, pages: dict[tuple[str, str], Path], which: tuple[str, str]
) -> None:
    browser.open(pages[which], width=390, height=844, phone=True)
    everything = browser.run("[...document.querySelectorAll('section[id]')].map(s => '#' + s.id)")
    assert set(everything) - {"#wall"} == set(_parts(browser))
    first = browser.run(_VISIBLE)
    for part in _parts(browser):
        browser.run(f"location.hash = '{part}'")
        assert browser.run(_VISIBLE) == [part]
        assert browser.run("document.documentElement.scrollHeight") <= 4.5 * 844, part
    assert first == _parts(browser)[:1]


@pytest.mark.parametrize("screen", ["desktop", "phone"])
@pytest.mark.parametrize("name", [*_SHEETS, "large"])
def test_text_can_be_read(
    browser: Browser, pages: dict[tuple[str, str], Path], name: str, screen: str
) -> None:
    browser.open(pages["metric", name], width=_SCREENS[screen], phone=screen == "phone")
    browser.run("document.querySelectorAll('details').forEach(d => d.open = true)")
    for part in _parts(browser):
        browser.run(f"location.hash = '{part}'")
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
        ("week", 1 + 7 + 2),  # the week across one page, a page a day, the same
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
    across = [(paper[1], paper[0])] if name == "week" else []
    assert browser.print_pdf() == across + [paper] * (expected - len(across))


#: The height of a part, and of what stands above it on its page [px].
_LOW = "document.querySelector('{}').getBoundingClientRect().bottom"
_HIGH = "document.querySelector('{}').getBoundingClientRect().height"


def test_forty_tanks_have_their_week_on_one_page(browser: Browser, tmp_path: Path) -> None:
    out = _sheet(rooms.large(tmp_path), tmp_path, "--week")
    _as_paper(browser, out)
    assert browser.run("document.querySelectorAll('.grid tbody tr').length") > 35
    assert browser.run(_LOW.format("#wall")) <= _PAGE_HIGH
    # The least that two letters of a pen need: 4 mm, common practice, no source.
    cells = "[...document.querySelectorAll('.grid td')].map(c => c.getBoundingClientRect().{})"
    assert min(browser.run(cells.format("height"))) >= 4 * 96 / 25.4
    assert min(browser.run(cells.format("width"))) >= 9 * 96 / 25.4


def test_a_small_room_is_printed_larger_and_no_page_runs_over(
    browser: Browser, tmp_path: Path, pages: dict[tuple[str, str], Path]
) -> None:
    out = _sheet(rooms.small(tmp_path), tmp_path, "--week")
    browser.open(out, width=1200)
    assert len(browser.print_pdf()) == 1 + 7 + 1
    _as_paper(browser, out)
    day = "#day-2027-01-05"
    assert 0.55 * _PAGE_HIGH < browser.run(_HIGH.format(day)) < _PAGE_HIGH
    size = f"parseFloat(getComputedStyle(document.querySelector('{day}')).zoom)"
    assert browser.run(size) > 1.4
    _as_paper(browser, pages["metric", "week"])
    assert browser.run(size) == 1


#: A4 less two margins of 11 mm, at 96 CSS pixels an inch.
_PAGE_WIDE, _PAGE_HIGH = (int((mm - 22) / 25.4 * 96) for mm in (210, 297))


def _sheet(room: Path, folder: Path, *options: str) -> Path:
    out = folder / "sheet.html"
    args = ["sheet", "--room", str(room), "--now", "2027-01-05T07:00", "--out", str(out)]
    assert CliRunner().invoke(main, [*args, *options]).exit_code == 0
    return out


def _as_paper(browser: Browser, page: Path) -> None:
    """Opens a page as it is printed, in the width of the paper."""
    browser.call("Emulation.setEmulatedMedia", media="print")
    browser.open(page, width=_PAGE_WIDE)


def test_in_print_all_is_inside_the_page(
    browser: Browser, pages: dict[tuple[str, str], Path]
) -> None:
    for page in pages.values():
        _as_paper(browser, page)
        assert browser.run(OVERFLOWING) == []
        assert browser.run(_CLIPPED) == []
        assert browser.run("[...document.querySelectorAll('details')].every("
                           "d => getComputedStyle(d).display === 'none')")  # fmt: skip
