"""``livefood help``: the pages that explain it all, in the terminal."""

from __future__ import annotations

import sys

import click

from cli.manual import TOPICS, page_names, page_text, term_of
from cli.screens.manual import page_screen
from cli.screens.paint import echo
from cli.screens.text import block, bullets, wrapped
from cultures.errors import RangeError, nearest


def _names(
    ctx: click.Context,  # noqa: ARG001 (click's signature)
    param: click.Parameter,  # noqa: ARG001
    incomplete: str,
) -> list[str]:
    return [name for name in page_names() if name.startswith(incomplete.lower())]


@click.command("help")
@click.argument("words", nargs=-1, metavar="[TOPIC]", shell_complete=_names)
@click.pass_context
def command(ctx: click.Context, words: tuple[str, ...]) -> None:
    """A page on TOPIC, what a word means, or the help of a command; alone, what there is.

    \b
    Examples:
      livefood help quick-start
      livefood help ripe
    """
    text = _found(ctx, " ".join(words).lower()) if words else _topics()
    if sys.stdout.isatty() and len(text.splitlines()) > 20:
        click.echo_via_pager(text)
    else:
        echo(text)


def _topics() -> str:
    rows = bullets((f"{name}: {said}" for name, said in TOPICS.items()), "  ")
    return "\n".join([
        block("Pages to read, with 'livefood help TOPIC':", rows), "",
        wrapped("A word of the glossary is explained in the same way ('livefood help split'), and"
                " so is a command; 'livefood COMMAND --help' says its options."),
    ])  # fmt: skip


def _found(ctx: click.Context, topic: str) -> str:
    """A page, a word or a command of a name; a page and a word where it is both.

    Raises:
        RangeError: it is none of them.
    """
    name = topic.removesuffix(".md").replace(" ", "-").replace("_", "-")
    page, meaning = page_text(name), term_of(topic)
    parts = [wrapped(f"{topic}: {meaning}")] if meaning else []
    assert ctx.parent is not None
    group = ctx.parent.command
    assert isinstance(group, click.Group)
    commands = group.list_commands(ctx.parent)
    if page is not None:
        parts.append(page_screen(page))
    elif topic in commands and (found := group.get_command(ctx.parent, topic)) is not None:
        parts.append(found.get_help(click.Context(found, parent=ctx.parent, info_name=topic)))
    if not parts:
        raise RangeError(
            f"there is no page and no word '{topic}'; {nearest(topic, [*page_names(), *commands])}"
        )
    return "\n\n".join(parts)
