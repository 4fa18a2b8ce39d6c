"""``livefood backup``."""

from __future__ import annotations

from pathlib import Path

import click

from cli.files import refuse_own, refuse_taken, said
from cli.option_types import FILE, FOLDER
from cli.options import UsageProblemError, Where, where_options
from cli.screens.paint import echo
from cli.screens.text import wrapped
from cultures.words.quantities import many


@click.command("backup")
@click.argument("file", type=FILE, required=False)
@click.option("--check", is_flag=True, help="Read FILE again and say what it holds.")
@click.option("--restore", "folder", type=FOLDER, metavar="FOLDER",
              help="Write the files of FILE into a folder that has none of them.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace FILE if it is there.")
@where_options
def command(where: Where, file: Path | None, check: bool, folder: Path | None, force: bool) -> None:
    """Keep the room in one file: room file, journal, record, and what calendar and page keep.

    It is read again and checked once it is written. Keep it on another disk; whoever has it can
    read the plan, and the addresses of page and feed if you serve them.

    \b
    Examples:
      livefood backup room.zip
      livefood backup room.zip --check
      livefood backup room.zip --restore again
    """
    if check or folder is not None:
        if file is None or (check and folder is not None):
            raise UsageProblemError("name the backup, and one of --check or --restore FOLDER")
        echo(_checked(file) if folder is None else _restored(file, folder, where))
        return
    echo(_made(where, file, force=force))


def _made(where: Where, file: Path | None, *, force: bool) -> str:
    from cultures.keeping.backup import make_backup

    where.load_file()
    now = where.time()
    file = file or Path(f"livefood-{now:%Y-%m-%d}.zip")
    refuse_own(file, where.path)
    refuse_taken(file, force=force)
    shown = said(file)
    found = make_backup(where.path, file, now)
    return wrapped(
        f"Wrote {shown} with {many(len(found.content), 'file')}, and read it again: all is there."
    )


def _checked(file: Path) -> str:
    from cultures.keeping.backup import read_backup

    found = read_backup(file)
    lines = [f"  {len(data):>9,d} bytes  {name}" for name, data in found.content.items()]
    return "\n".join([f"{said(file)}, made {found.made}, is whole:", *lines])


def _restored(file: Path, folder: Path, where: Where) -> str:
    from attrs import evolve

    from cultures.keeping.backup import read_backup, restore

    path = restore(read_backup(file), folder)
    evolve(where, path=path).load()
    return wrapped(
        f"Wrote {said(path)} and what belongs to it; room, journal and record can be read."
    )
