"""Content lines of RFC 5545: escaping of text and folding by octets."""

from __future__ import annotations

#: Octets in a line at most, its end not counted (RFC 5545, section 3.1).
LINE_OCTETS = 75


def escape(text: str) -> str:
    """A TEXT value (RFC 5545, section 3.3.11); the text has only ``\\n`` as line end."""
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def text_line(name: str, text: str) -> str:
    """A folded line with a TEXT value."""
    return fold(f"{name}:{escape(text)}")


def fold(line: str) -> str:
    """A line of any length as lines of at most 75 octets, no character split over two.

    References:
        RFC 5545 (2009), section 3.1.
    """
    if line.isascii():
        if len(line) <= LINE_OCTETS:
            return line
        step = LINE_OCTETS - 1
        rest = range(LINE_OCTETS, len(line), step)
        return "\r\n ".join([line[:LINE_OCTETS], *(line[i : i + step] for i in rest)])
    data = line.encode()
    pieces, start, room = [], 0, LINE_OCTETS
    while len(data) - start > room:
        end = start + room
        while data[end] & 0xC0 == 0x80:  # within a character
            end -= 1
        pieces.append(data[start:end])
        start, room = end, LINE_OCTETS - 1
    return b"\r\n ".join([*pieces, data[start:]]).decode()
