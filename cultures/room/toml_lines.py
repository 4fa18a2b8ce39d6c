"""Where each key of a TOML file stands, which :mod:`tomllib` does not say."""

from __future__ import annotations

import re
from collections.abc import Iterator

from attrs import frozen

#: (table name, index in an array of tables, key); key "" is the table's own header.
Place = tuple[str, int, str]

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*(\.[^=]*)?=""")
_NESTING = {"[": 1, "{": 1, "]": -1, "}": -1}
#: What a bracket or line end may hide in, and those themselves.
_TOKEN = re.compile(
    r"""\"\"\"(?:\\.|[^\\])*?\"{3,5} | \'{3}.*?\'{3,5} | "(?:\\.|[^"\\\n])*" | \'[^\'\n]*\'
        | \#[^\n]* | [][{}\n]""",
    re.DOTALL | re.VERBOSE,
)


@frozen
class Line:
    """A header or a key of a TOML text, over as many lines as its value has.

    Attributes:
        number: of its first line, counted from 1. start, end: where in the text it begins, and
            ends with its line end. value: where the value of a key begins; -1 of a header, and
            of a dotted key, which is placed under its first part.
    """

    place: Place
    number: int
    start: int
    end: int
    value: int = -1


def key_lines(text: str) -> dict[Place, int]:
    """Line numbers, counted from 1, of the headers and keys of a TOML text.

    Dotted keys count under their first part. Meant for text that tomllib accepts.
    """
    lines: dict[Place, int] = {}
    for line in toml_lines(text):
        lines.setdefault(line.place, line.number)
    return lines


def toml_lines(text: str) -> Iterator[Line]:
    """The headers and keys of a TOML text, in its order. Meant for text that tomllib accepts."""
    counts: dict[str, int] = {}
    table, index = "", 0
    for number, start, end in _statements(text):
        header = _HEADER.match(text[start:end])
        key = _KEY.match(text, start, end)
        if header is not None:
            table = header[2].replace('"', "")
            if header[1] == "[[":
                counts[table] = index = counts.get(table, -1) + 1
            else:  # [brood.extra] belongs to the last [[brood]]
                index = counts.get(table.split(".")[0], 0) if "." in table else 0
            yield Line((table, index, ""), number, start, end)
        elif key is not None:
            place = (table, index, key[1] or key[2] or key[3])
            yield Line(place, number, start, end, -1 if key[4] else key.end())


def value_span(text: str, line: Line) -> tuple[int, int]:
    """Where the value of a key stands, without the blanks and the remark around it."""
    depth, end = 0, line.end
    for token in _TOKEN.finditer(text, line.value, line.end):
        depth += _NESTING.get(token[0], 0)
        if depth == 0 and token[0][0] in "#\n":
            end = token.start()
            break
    value = text[line.value : end]
    return end - len(value.lstrip()), line.value + len(value.rstrip())


def _statements(text: str) -> Iterator[tuple[int, int, int]]:
    """Lines, as many together as a string or a list has: the number of the first, start, end."""
    depth, begun, number = 0, 0, 1
    for token in _TOKEN.finditer(text if text.endswith("\n") else f"{text}\n"):
        depth += _NESTING.get(token[0], 0)
        if token[0] == "\n" and depth <= 0:
            end = min(token.end(), len(text))
            yield number, begun, end
            number += text.count("\n", begun, end)
            begun = end
