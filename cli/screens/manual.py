"""A page of docs/ on a screen: it is plain text already, but for links, tables and long lines."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cli.screens.text import bullets, fitted, screen_width, wrapped

_LINK = re.compile(r"!?\[((?:[^\[\]]|\[[^\]]*\])*)\]\(([^)\s]*)\)")
_NOTE = re.compile(r"<!--.*?-->\n?|</?(?:details|summary|img|p|br)[^>]*>", re.DOTALL)
_ITEM = re.compile(r"( *)([-*]|\d+\.) +")
_SIGNS = re.compile(r"\*\*|(?<!`)`(?!`)")


def page_screen(source: str) -> str:
    """A page, folded to the screen; what is typed or printed in it stays as it is."""
    return "\n\n".join(_part(part) for part in _parts(_NOTE.sub("", source))).strip("\n")


def _parts(source: str) -> Iterator[list[str]]:
    """Paragraphs, tables, lists and blocks of code, each by its lines."""
    part: list[str] = []
    code = False
    for line in source.splitlines():
        fence = line.lstrip().startswith("```")
        if part and not code and (fence or not line.strip() or line.startswith("#")):
            yield part
            part = []
        if line.strip() or code:
            part.append(line)
        if (fence and code) or line.startswith("#"):
            yield part
            part = []
        code = code != fence
    if part:
        yield part


def _part(lines: list[str]) -> str:
    first = lines[0].lstrip()
    if first.startswith("```"):
        return _typed(lines[1:-1])
    if first.startswith("#"):
        title, deep = _plain(first.lstrip("# ")), len(first) - len(first.lstrip("#"))
        return wrapped(title.upper() if deep < 3 else title)
    if first.startswith("|"):
        return _table([[_plain(c.strip()) for c in line.strip("|").split(" | ")] for line in lines])
    if _ITEM.match(lines[0]):
        return "\n".join(_items(lines))
    return wrapped(_plain(" ".join(lines)))


def _typed(lines: list[str]) -> str:
    """What is typed or printed, set in as far as the screen lets it be, and folded beyond that."""
    spare = screen_width() - max(map(len, lines), default=0)
    return "\n".join(fitted(f"{' ' * min(4, max(0, spare))}{line}") for line in lines)


def _plain(text: str) -> str:
    """Without marks; a link by its words, to elsewhere with its address."""
    text = _LINK.sub(lambda m: f"{m[1]} ({m[2]})" if "://" in m[2] else m[1], text)
    return _SIGNS.sub("", text).replace("\\|", "|").strip()


def _items(lines: list[str]) -> Iterator[str]:
    """Points of a list, each with the lines that go on from it."""
    points: list[tuple[int, str, list[str]]] = []
    for line in lines:
        if found := _ITEM.match(line):
            points.append((len(found[1]), found[2], [line[found.end() :]]))
        else:
            points[-1][2].append(line)
    for deep, mark, words in points:
        begin = " " * (deep + 2) + ("-" if mark == "*" else mark) + " "
        yield wrapped(_plain(" ".join(w.strip() for w in words)), len(begin), begin)


def _table(rows: list[list[str]]) -> str:
    """In columns where that fits; else a point a row, with the heads of the later cells."""
    head, *rows = (row for row in rows if not all(set(cell) <= set("-: |") for cell in row))
    widths = [max(len(row[i]) for row in [head, *rows] if i < len(row)) for i in range(len(head))]
    if sum(widths) + 2 * len(widths) <= screen_width():
        cells = [[cell.ljust(widths[i]) for i, cell in enumerate(row)] for row in [head, *rows]]
        return "\n".join(f"  {'  '.join(row)}".rstrip() for row in cells)
    texts = []
    for name, *more in rows:
        named = [
            f"{h}: {c}" if i else c
            for i, (h, c) in enumerate(zip(head[1:], more, strict=False))
            if c
        ]
        texts.append(f"{name}: {'; '.join(named)}" if named else name)
    return "\n".join(bullets(texts))
