"""Where each key of a TOML file stands, which :mod:`tomllib` does not say."""

from __future__ import annotations

import re

#: (table name, index in an array of tables, key); key "" is the table's own header.
Place = tuple[str, int, str]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*(?:"([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*(?:\.[^=]*)?=""")


def key_lines(text: str) -> dict[Place, int]:
    """Line numbers, counted from 1, of the headers and keys of a TOML text.

    Follows multi-line strings and arrays so that their contents are not taken for
    keys; dotted keys count under their first part. Meant for text that tomllib accepts.
    """
    lines: dict[Place, int] = {}
    counts: dict[str, int] = {}
    table, index, depth, quote = "", 0, 0, ""
    for number, line in enumerate(text.splitlines(), start=1):
        if not quote and depth == 0:
            header = _HEADER.match(line)
            if header is not None:
                table = header[2].replace('"', "")
                if header[1] == "[[":
                    index = counts.get(table, -1) + 1
                    counts[table] = index
                else:
                    index = 0
                    if "." in table:  # [brood.extra] belongs to the last [[brood]]
                        index = counts.get(table.split(".")[0], 0)
                lines.setdefault((table, index, ""), number)
                continue
            key = _KEY.match(line)
            if key is not None:
                lines.setdefault((table, index, key[1] or key[2] or key[3]), number)
        quote, depth = _scan(line, quote, depth)
    return lines


def _scan(line: str, quote: str, depth: int) -> tuple[str, int]:
    """The open multi-line quote and bracket depth after a line."""
    i = 0
    while i < len(line):
        if quote:
            if line.startswith(quote, i):
                i += len(quote)
                quote = ""
            else:
                i += 2 if line[i] == "\\" and quote.startswith('"') else 1
            continue
        if line[i] == "#":
            break
        if line.startswith(('"""', "'''"), i):
            quote = line[i : i + 3]
            i += 3
        elif line[i] in "\"'":
            quote = line[i]
            i += 1
        else:
            depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(line[i], 0)
            i += 1
    # A single quote never runs over a line end.
    return (quote if len(quote) == 3 else ""), max(0, depth)
