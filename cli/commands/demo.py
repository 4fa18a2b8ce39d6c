"""``livefood demo``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.options import MOMENT


@click.command("demo")
@click.argument(
    "folder", type=click.Path(path_type=Path, file_okay=False), default=Path("livefood-demo")
)
@click.option("--now", type=MOMENT, metavar="TIME", help="Act as if it were this time.")
@click.option("--force", is_flag=True, help="Replace the demo room if it is there.")
def command(folder: Path, now: datetime | None, force: bool) -> None:
    """Write a demo room into FOLDER and show the whole job on it.

    Example: livefood demo livefood-demo
    """
    from cli.commands.demo_steps import run_demo

    click.echo(run_demo(folder, now, force=force))
