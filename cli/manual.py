"""The pages of docs/, as they are installed with the command, and what stands in them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from cultures import files
from cultures.errors import FileProblemError

#: Pages for keepers in the order in which they are read -> one line on each. The others in docs/
#: are found by their name too.
TOPICS: Mapping[str, str] = {
    "install": "Getting livefood onto a computer, for people who do not program.",
    "quick-start": "The first evening and the first morning, on one page.",
    "guide": "Two weeks with an invented keeper, from the first line to the phone.",
    "fortnight": "Another two, on which things go wrong.",
    "room-file": "Every key of the room file.",
    "year": "The year on one page, and when fish can go.",
    "journal": "Noting what was done and counted, and what was not.",
    "page": "The round on a phone, to read and to tick off.",
    "calendar": "Reminders: files, feeds and calendar servers, step by step.",
    "learning": "What your own counts teach, and what they change.",
    "models": "Worms and hatches: equations, numbers and sources.",
    "models-fry": "Fry: growth, mouths and need, with sources.",
    "planning": "How the plan is made, and how good it is.",
    "carry": "How large a brood the room can feed, week by week.",
    "ten-rooms": "Small rooms, and what a good keeper would do in them.",
    "safety": "Salt water and mains, cyst dust, mould, bleach; who could do harm.",
    "glossary": "The words of screens and pages, one for each thing.",
}


def page_text(name: str) -> str | None:
    """The source of a page, or None where there is none of that name.

    Raises:
        FileProblemError: no page at all is found, or it cannot be read.
    """
    path = _folder() / f"{name}.md"
    found = files.read(path)
    return None if found is None else found.decode("utf-8")


def page_names() -> list[str]:
    """Every page, those for keepers first."""
    there = {path.stem for path in _folder().glob("*.md")}
    return [*(name for name in TOPICS if name in there), *sorted(there - TOPICS.keys())]


def terms() -> dict[str, str]:
    """What the glossary says its words mean, those for keepers first."""
    found = dict[str, str]()
    for line in (page_text("glossary") or "").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split(" | ")]
        if line.startswith("|") and len(cells) > 1:
            found.setdefault(cells[0], cells[1])
    return found


def term_of(word: str) -> tuple[str, str]:
    """A word of the glossary and what it means there, one or several of it; else the word, ""."""
    known = terms()
    for form in (word, word.removesuffix("s"), f"{word}s"):
        if form in known:
            return form, known[form]
    return word, ""


def _folder() -> Path:
    """In a checkout beside the packages; else where the installer put it.

    Raises:
        FileProblemError: it is in neither place.
    """
    from importlib import metadata

    checkout = Path(__file__).parents[1] / "docs"
    if (checkout / "glossary.md").is_file():
        return checkout
    try:
        installed = metadata.files("livefood") or ()
    except metadata.PackageNotFoundError:
        installed = ()
    for each in installed:
        if each.name == "glossary.md" and Path(str(each.locate())).is_file():
            return Path(str(each.locate())).parent
    raise FileProblemError("the pages were not installed with livefood; install it anew")
