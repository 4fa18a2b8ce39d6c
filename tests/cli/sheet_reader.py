"""Reads a sheet back: its figures, times, boxes, and the words that are not the plan's."""

from __future__ import annotations

from html.parser import HTMLParser

from attrs import define, field

_VOID = {"meta", "input", "path", "rect", "circle", "polygon", "polyline"}


@define
class Sheet(HTMLParser):
    """What a sheet holds.

    Attributes:
        figures: (data-of, value, shown) of every ``<data>``. times: (data-of, datetime, shown).
        boxes: what each box completes. tasks: the ids of all that. undone: the ids of what
            is asked for whether it was not done. plan_words: text marked as the
            plan's own.
        other: all visible text outside figures, times, plan words and pictures.
        drawn: text in pictures. marks: attributes of every box in pictures that carries
            ``data-of``.
    """

    figures: list[tuple[str, float, str]] = field(factory=list)
    times: list[tuple[str, str, str]] = field(factory=list)
    boxes: list[str] = field(factory=list)
    tasks: list[str] = field(factory=list)
    undone: list[str] = field(factory=list)
    plan_words: list[str] = field(factory=list)
    other: list[str] = field(factory=list)
    drawn: list[str] = field(factory=list)
    marks: list[dict[str, str]] = field(factory=list)
    tags: list[tuple[str, dict[str, str]]] = field(factory=list)
    open: list[tuple[str, dict[str, str]]] = field(factory=list)

    def __attrs_pre_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.tags.append((tag, found))
        if tag == "input" and "data-undone" in found:
            self.undone.append(found["data-undone"])
        elif tag == "input":
            self.boxes.append(found["data-task"])
            self.tasks += found["data-task"].split("\n")
        if tag == "rect" and "data-of" in found:
            self.marks.append(found)
        if tag not in _VOID:
            self.open.append((tag, found))

    def handle_endtag(self, tag: str) -> None:
        if tag in _VOID:
            return
        opened, _ = self.open.pop()
        assert opened == tag, f"<{opened}> is closed by </{tag}>"

    def handle_data(self, data: str) -> None:
        if not data.strip():
            return
        names = [tag for tag, _ in self.open]
        if "style" in names or names[-1] == "title":
            return
        tag, found = self.open[-1]
        if tag == "data":
            self.figures.append((found["data-of"], float(found["value"]), data))
        elif tag == "time":
            self.times.append((found["data-of"], found["datetime"], data))
        elif found.get("class") == "plan":
            self.plan_words.append(data)
        else:
            (self.drawn if "svg" in names else self.other).append(data)


def read_sheet(html: str) -> Sheet:
    """A sheet's content; fails on tags that do not match."""
    sheet = Sheet()
    sheet.feed(html)
    sheet.close()
    assert sheet.open == []
    return sheet
