"""``python -m cli`` is ``livefood``."""

from cli.main import run

run()
