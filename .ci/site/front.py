"""Pages of the site that stand beside docs/: the README in front, and two for contributors."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

_ROOT = Path(__file__).parents[2]
_PAGES = {"README.md": "index.md", "DEVELOPERS.md": "developers.md", "CHANGELOG.md": "changelog.md"}


def on_files(files: Any, config: Any) -> Any:
    """Adds the three, their links as seen from docs/."""
    from mkdocs.structure.files import File

    for name, page in _PAGES.items():
        text = (_ROOT / name).read_text("utf-8").replace("](docs/", "](").replace('"docs/', '"')
        # What the site does not have stands as text.
        text = re.sub(r"\[([^\]]+)\]\(LICENSE\)", r"\1", text)
        files.append(File.generated(config, page, content=_as_pages(text)))
    return files


def on_page_markdown(markdown: str, **_: Any) -> str:
    """Links out of docs/ lead to those pages."""
    return _as_pages(markdown)


def _as_pages(text: str) -> str:
    for name, page in _PAGES.items():
        text = text.replace(f"](../{name}", f"]({page}").replace(f"]({name}", f"]({page}")
    return text
