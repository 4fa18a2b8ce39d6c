"""Where each key of a TOML file stands, which :mod:`tomllib` does not say."""

from __future__ import annotations

import re
from collections.abc import Iterator

#: (table name, index in an array of tables, key); key "" is the table's own header.
Place = tuple[str, int, str]

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*(?:\.[^=]*)?=""")
#: What a bracket or line end may hide in, and those themselves.
_TOKEN = re.compile(
    r"""\"\"\"(?:\\.|[^\\])*?\"\"\" | \'{3}.*?\'{3} | "(?:\\.|[^"\\\n])*" | \'[^\'\n]*\'
        | \#[^\n]* | [][{}\n]""",
    re.DOTALL | re.VERBOSE,
)


def key_lines(text: str) -> dict[Place, int]:
    """Line numbers, counted from 1, of the headers and keys of a TOML text.

    Dotted keys count under their first part. Meant for text that tomllib accepts.
    """
    lines: dict[Place, int] = {}
    counts: dict[str, int] = {}
    table, index = "", 0
    for number, line in _beginnings(text.replace("\r\n", "\n")):
        header = _HEADER.match(line)
        key = _KEY.match(line)
        if header is not None:
            table = header[2].replace('"', "")
            if header[1] == "[[":
                counts[table] = index = counts.get(table, -1) + 1
            else:  # [brood.extra] belongs to the last [[brood]]
                index = counts.get(table.split(".")[0], 0) if "." in table else 0
            lines.setdefault((table, index, ""), number)
        elif key is not None:
            lines.setdefault((table, index, key[1] or key[2] or key[3]), number)
    return lines


def _beginnings(text: str) -> Iterator[tuple[int, str]]:
    """Lines that do not begin within a string or a list, with their numbers."""
    text = f"{text}\n"
    depth, begun, number, counted = 0, 0, 1, 0
    for token in _TOKEN.finditer(text):
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(token[0], 0)
        if token[0] == "\n":
            if begun >= 0:
                number += text.count("\n", counted, begun)
                counted = begun
                yield number, text[begun : token.start()]
            begun = token.end() if depth <= 0 else -1
