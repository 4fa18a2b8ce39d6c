"""Plans, draws and writes a sheet."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from cli.files import refuse_own, said
from cli.options import Setting, UsageProblemError
from cli.progress import planned
from cli.screens.text import wrapped
from cli.sheet.page import Sheet, sheet_days, sheet_page
from cli.sheet.rounds import count_boxes
from cli.telling import tell
from cultures import files
from cultures.errors import FileProblemError
from cultures.record.store import SHEET
from cultures.words.quantities import many

#: Stands in every sheet; a file without it is not ours to replace.
_MARK = b'<meta name="generator" content="livefood sheet">'


def write_sheet(
    setting: Setting, *, out: Path, week: bool, paper: str | None, helper: bool,
    start: date | None, end: date | None, force: bool,
) -> dict[str, Any]:  # fmt: skip
    """Writes the page; what was written, for the message and for other programs.

    Args:
        paper: ``a4``, ``letter`` or None for what goes with the room's units.
        start, end: first and last day of the absence, where given.

    Raises:
        LivefoodError: options that do not go together, or a file that is not ours to replace.
    """
    paper = paper_for(setting, out, paper, force=force)
    if helper:
        from cli.sheet.helper import helper_sheet

        if week:
            raise UsageProblemError("--week does not go with --helper; say --from and --to instead")
        sheet = helper_sheet(setting, (start, end), paper=paper)
    else:
        if start or end:
            raise UsageProblemError("--from and --to go with --helper; for a week say --week")
        sheet = _daily(setting, paper=paper, count=7 if week else 1)
    wrote = write_page(out, sheet.html)
    sheet.tell()
    boxes = f"{sheet.boxes} box{'es' if sheet.boxes != 1 else ''}"
    return {
        "out": str(out), "boxes": sheet.boxes, "days": sheet.days, "paper": paper,
        "message": wrapped(
            f"{wrote}: {boxes} to tick on {many(sheet.days, 'day')}. Open it in a browser, or print"
            f" it on {paper.capitalize()}."
        ) + (f"\n{wrapped(sheet.more)}" if sheet.more else ""),
    }  # fmt: skip


def _daily(setting: Setting, *, paper: str, count: int) -> Sheet:
    outlook, plan = planned(setting)
    days = sheet_days(outlook, plan, count)
    printed = {one.day for one in days}
    tasks = [task for one in days for task in one.tasks()]

    asked = setting.present.open_questions(on_paper=True)
    html = sheet_page(setting, outlook, plan, days, paper=paper, asked=asked)

    def told() -> None:
        tell(
            setting, outlook, tasks, SHEET,
            lambda t: t.due_at.date() in printed, asked,
            printed=(days[0].day, days[-1].day),
        )  # fmt: skip

    return Sheet(html, count_boxes(days), len(days), told)


def paper_for(setting: Setting, out: Path, paper: str | None, *, force: bool) -> str:
    """The paper of a page that may be written: the one that is asked for, or what goes with the
    room's units. A file that no sheet command wrote is replaced only with ``force``, the room's own
    never.

    Raises:
        FileProblemError: one stands there.
    """
    refuse_own(out, setting.path)
    before = None if force else files.read(out)
    if before is not None and _MARK not in before[:2000]:
        raise FileProblemError(
            f"{out} exists and was not made by this program; choose another name, or say"
            " --force to replace it"
        )
    return paper or ("letter" if setting.room.units == "us" else "a4")


def write_page(out: Path, html: str) -> str:
    """Writes a page; how that is said."""
    shown = said(out)
    files.write(out, html.encode("utf-8"))
    return f"Wrote {shown}"
