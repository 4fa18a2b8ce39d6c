"""``livefood help``: the pages that explain it all, in the terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from datetime import date, datetime

import click

from cli.manual import TOPICS, page_names, page_text, term_of, terms
from cli.moved import GUIDE_BEGINS, moved
from cli.options import UsageProblemError, clock
from cli.screens.manual import page_screen
from cli.screens.paint import echo
from cli.screens.text import block, bullets, joined, wrapped
from cultures.errors import RangeError, closest

#: As like as this a word is taken for a slip of another ('sunset' is none of 'set').
_LIKE = 0.7


def _names(
    ctx: click.Context,  # noqa: ARG001 (click's signature)
    param: click.Parameter,  # noqa: ARG001
    incomplete: str,
) -> list[str]:
    return [name for name in page_names() if name.startswith(incomplete.lower())]


@click.command("help")
@click.argument("words", nargs=-1, metavar="[TOPIC]", shell_complete=_names)
@click.option("--today", is_flag=True, help="The guide with its dates moved: it begins today.")
@click.pass_context
def command(ctx: click.Context, words: tuple[str, ...], today: bool) -> None:
    """A page on TOPIC, what a word means, or the help of a command; alone, what there is.

    \b
    Examples:
      livefood help quick-start
      livefood help ripe
      livefood help guide --today
    """
    if today and words != ("guide",):
        raise UsageProblemError("--today goes with the guide: livefood help guide --today")
    begins = (clock() or datetime.now().astimezone()).date() if today else GUIDE_BEGINS
    text = _found(ctx, " ".join(words).lower(), begins) if words else _topics()
    if sys.stdout.isatty() and len(text.splitlines()) > 20:
        click.echo_via_pager(text)
    else:
        echo(text)


def _topics() -> str:
    rows = bullets((f"{name}: {said}" for name, said in TOPICS.items()), "  ")
    others = ", ".join(name for name in page_names() if name not in TOPICS)
    return joined([
        block("Pages to read, with 'livefood help TOPIC':", rows),
        wrapped("A word of the glossary is explained in the same way ('livefood help ripe'), and"
                " so is a command; 'livefood COMMAND --help' says its options."),
        wrapped(f"For contributors: {others}."),
    ])  # fmt: skip


def _found(ctx: click.Context, topic: str, begins: date) -> str:
    """A page, a word or a command of a name; a page and a word where it is both.

    Args:
        begins: the first day of the guide.

    Raises:
        RangeError: it is none of them.
    """
    name = topic.removesuffix(".md").replace(" ", "-").replace("_", "-")
    page, (word, meaning) = page_text(name), term_of(topic)
    parts = [wrapped(f"{word}: {meaning.replace('`', '')}")] if meaning else []
    assert ctx.parent is not None
    group = ctx.parent.command
    assert isinstance(group, click.Group)
    commands = group.list_commands(ctx.parent)
    if page is not None:
        parts.append(page_screen(moved(page, begins) if topic == "guide" else page))
    elif topic in commands and (found := group.get_command(ctx.parent, topic)) is not None:
        parts.append(found.get_help(click.Context(found, parent=ctx.parent, info_name=topic)))
    if not parts:
        raise RangeError(_unknown(topic, commands))
    return "\n\n".join(parts)


def _unknown(topic: str, commands: Iterable[str]) -> str:
    """That there is nothing of a name, and what is most like it of what keepers meet."""
    meant = closest(topic, [*TOPICS, *terms(), *commands], _LIKE)
    hint = f"did you mean '{meant}'?" if meant else (
        "'livefood help' lists the pages, 'livefood help glossary' has all words, and"
        " 'livefood kinds' all foods and fish"
    )  # fmt: skip
    return f"there is no page and no word '{topic}'; {hint}"
