"""Plans, draws and writes a sheet."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from attrs import frozen

from cli.files import said
from cli.options import Setting, UsageProblemError
from cli.progress import planned
from cli.screens.text import wrapped
from cli.sheet.page import Sheet, sheet_days, sheet_page
from cli.sheet.rounds import count_boxes
from cli.telling import tell
from cultures import files
from cultures.errors import FileProblemError

#: Stands in every sheet; a file without it is not ours to replace.
_MARK = b'<meta name="generator" content="livefood sheet">'


@frozen
class Wanted:
    """What the keeper asked for.

    Attributes:
        paper: ``a4``, ``letter`` or None for what goes with the room's units.
        away: first and last day of the absence, where given.
    """

    out: Path
    week: bool
    paper: str | None
    helper: bool
    away: tuple[date | None, date | None]
    force: bool


def write_sheet(setting: Setting, wanted: Wanted) -> dict[str, Any]:
    """Writes the page; what was written, for the message and for other programs.

    Raises:
        LivefoodError: options that do not go together, or a file that is not ours to replace.
    """
    paper = wanted.paper or ("letter" if setting.room.units == "us" else "a4")
    refuse_strange(wanted.out, force=wanted.force)
    if wanted.helper:
        from cli.sheet.helper import helper_sheet

        if wanted.week:
            raise UsageProblemError("--week does not go with --helper; say --from and --to instead")
        sheet = helper_sheet(setting, wanted.away, paper=paper)
    else:
        if any(wanted.away):
            raise UsageProblemError("--from and --to go with --helper; for a week say --week")
        sheet = _daily(setting, paper=paper, count=7 if wanted.week else 1)
    files.write(wanted.out, sheet.html.encode("utf-8"))
    sheet.tell()
    boxes, days = sheet.boxes, sheet.days
    many = "es" if boxes != 1 else "", "s" if days != 1 else ""
    spell = f"{boxes} box{many[0]} to tick on {days} day{many[1]}"
    return {
        "out": str(wanted.out), "boxes": boxes, "days": days, "paper": paper,
        "message": wrapped(
            f"Wrote {said(wanted.out)}: {spell}. Open it in a browser, or print it on"
            f" {paper.capitalize()}."
        ) + (f"\n{wrapped(sheet.more)}" if sheet.more else ""),
    }  # fmt: skip


def _daily(setting: Setting, *, paper: str, count: int) -> Sheet:
    outlook, plan = planned(setting)
    days = sheet_days(outlook, plan, count)
    printed = {one.day for one in days}
    tasks = [task for one in days for task in one.tasks()]

    html = sheet_page(setting, outlook, plan, days, paper=paper)

    def write() -> None:
        tell(
            setting, outlook, tasks, "sheet",
            lambda t: (t.round_at or t.task.at).date() in printed,
            printed=(days[0].day, days[-1].day),
        )  # fmt: skip

    return Sheet(html, count_boxes(days), len(days), write)


def refuse_strange(out: Path, *, force: bool) -> None:
    """A file that no sheet command wrote is replaced only with ``force``.

    Raises:
        FileProblemError: one stands there.
    """
    before = None if force else files.read(out)
    if before is not None and _MARK not in before[:2000]:
        raise FileProblemError(
            f"{out} exists and was not made by this program; choose another name, or say"
            " --force to replace it"
        )
