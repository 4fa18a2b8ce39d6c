"""How a command edits the room file: what was said, what it changes, a question, and the writing.

The commands of ``add``, ``change`` and ``retire`` are made here, one for each thing, out of the
table of the room file's keys.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from difflib import unified_diff
from itertools import takewhile
from typing import Any

import click
from attrs import frozen

from cli.completion import names_of
from cli.files import said
from cli.groups import Group
from cli.options import Setting, UsageProblemError, Where, room_typed, where_options
from cli.screens.paint import echo
from cultures import files
from cultures.errors import BadFileError, FileProblemError, Problem, nearest
from cultures.words.text import plain, seen

_GIVEN = re.compile(r"([A-Za-z0-9_-]+)=(.*)", re.DOTALL)
_HUNK = re.compile(r"@@ -(\d+)")


@frozen
class Said:
    """What was typed: the words before the first ``key=``, and what was said of each key."""

    name: str
    keys: Mapping[str, str]


#: Things with a name, and what stands in their place.
NAMED = ("tank", "brood", "culture", "vessel")
#: Makes of the old text and the room behind it the new text, and refuses what cannot be.
Make = Callable[[str, Setting], str]
#: Makes the new text of a file that is no room, at a moment.
Mend = Callable[[str, datetime], str]
#: Refuses by the room before and after.
Check = Callable[[Setting, Setting], None]


class KeyCommand(click.Command):
    """A command whose words are a name and ``key=value``; ``--key value`` is read alike."""

    def __init__(self, *args: Any, keys: tuple[str, ...], **more: Any) -> None:
        super().__init__(*args, **more)
        self.keys = keys

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        own = {name for param in self.params for name in param.opts}
        return super().parse_args(ctx, [self._as_word(arg, own) for arg in args])

    def _as_word(self, arg: str, own: set[str]) -> str:
        from cultures.room.typed import key_meant

        word, _, value = arg.partition("=")
        if word in own or not word.startswith("--"):
            return arg
        return f"{word[2:]}={value}" if key_meant(word[2:], self.keys) in self.keys else arg


class ThingGroup(Group):
    """A command with one of its own for each thing of a room; says what there is besides."""

    def fill(
        self, about: Mapping[str, Sequence[str]],
        carry_out: Callable[[str, Where, Said, bool], None],
        keys: Callable[[str], tuple[str, ...]], *, there: bool = True,
    ) -> None:  # fmt: skip
        """Makes the commands.

        Args:
            about: the help of each in paragraphs, the last of which is what an example says.
            keys: what can be said of it. there: its name is one that the room knows, for the shell
                to complete.
        """
        for thing, (*told, example) in about.items():
            text = "\n\n".join([*told, f"Example: livefood {self.name} {thing} {example}"])
            self.add_command(_key_command(thing, keys(thing), text, carry_out, there=there))

    def unknown(self, word: str) -> str:
        """The thing whose name is nearest."""
        return f"{self.name} knows no '{word}'; {nearest(word.lower(), self.commands)}"


def words_said(words: Sequence[str]) -> Said:
    """A name and keys out of the words of a command line; what follows a key is its value.

    Raises:
        UsageProblemError: a key stands twice.
    """
    name: list[str] = []
    keys: dict[str, str] = {}
    last = ""
    for word in words:
        match = _GIVEN.fullmatch(word)
        if match is not None:
            last = match[1]
            if last in keys:
                raise UsageProblemError(f"{last} is said twice")
            keys[last] = match[2]
        elif last:
            keys[last] = f"{keys[last]} {word}"
        else:
            name.append(word)
    return Said(plain(" ".join(name)), keys)


def _stock_said(said: Said) -> Said:
    """``salt 1 kg`` is the name of a stock and its grams."""
    name, _, amount = said.name.partition(" ")
    return Said(name, {"grams": amount, **said.keys} if amount else said.keys)


def keys_of(thing: str) -> tuple[str, ...]:
    """What can be said of a thing, as the room file calls it."""
    from cultures.room.keys import KEYS

    return ("grams", *(k for k in KEYS["cysts"] if k != "grams"), "days") if (
        thing == "stock") else tuple(KEYS[thing])  # fmt: skip


def _key_command(
    thing: str, keys: tuple[str, ...], about: str,
    carry_out: Callable[[str, Where, Said, bool], None], *, there: bool,
) -> click.Command:  # fmt: skip
    """The command for one thing: its name, what is said of it, and ``--yes``."""

    @where_options
    def run(where: Where, words: tuple[str, ...], yes: bool) -> None:
        said = words_said(words)
        carry_out(thing, where, _stock_said(said) if thing == "stock" else said, yes)

    named = "DAY" if there and thing == "away" else "NAME"
    parts = [
        *([named] if named == "DAY" or thing in (*NAMED, "stock") else []),
        *(["KEY=VALUE..."] if keys else []),
    ]
    words = click.Argument(
        ["words"], nargs=-1, metavar=" ".join(parts),
        shell_complete=names_of(thing) if there and thing in NAMED else None,
    )  # fmt: skip
    yes = click.Option(["--yes"], is_flag=True, help="Write it without asking.")
    epilog = f"Keys: {', '.join(key for key in keys if key != 'name')}." if keys else None
    params = [words, yes, *getattr(run, "__click_params__", ())]
    return KeyCommand(thing, callback=run, params=params, help=about, epilog=epilog, keys=keys)


def write_edit(
    where: Where, yes: bool, make: Make, check: Check, hint: str = "", mend: Mend | None = None
) -> None:
    """Makes an edit, checks and shows it, asks, and writes it; the old file is kept.

    Args:
        hint: what is said before the question. mend: makes it of a file with mistakes.

    Raises:
        LivefoodError: it cannot be; nothing was written.
    """
    if mend is not None and (wrong := _mistakes(where)):
        _write_mended(where, yes, mend, wrong)
        return
    old, new = _made(where, make, check, show=True)
    if old == new:
        echo(f"{said(where.path)} says so already; nothing was written.")
        return
    echo(hint, nl=bool(hint))
    _write(where, yes, new, lambda: _made(where, make, check) == (old, new), "or its journal ")


def _write(
    where: Where, yes: bool, new: str, stands: Callable[[], bool], besides: str = ""
) -> None:
    """Asks, and writes the file if it still ``stands`` as it was; the old one is kept, and it is
    said how to have it again.
    """
    from cultures.record.history import keep_and_replace

    if not yes:
        _ask()
    with files.locked(where.path.absolute().parent):
        if not stands():
            raise FileProblemError(
                f"{where.path} {besides}was changed meanwhile; nothing was written. Say it again"
            )
        kept = keep_and_replace(where.path, new, where.time())
    back = f"livefood history {kept} --restore{room_typed(where.path)}"
    echo(f"Wrote {said(where.path)}. To take it back: {back}")


def _mistakes(where: Where, text: str | None = None) -> tuple[Problem, ...]:
    """What is wrong with the room file, or with another text in its place."""
    try:
        where.load_file(text)
    except BadFileError as error:
        return error.problems
    return ()


def _write_mended(where: Where, yes: bool, mend: Mend, wrong: Sequence[Problem]) -> None:
    """Takes some of the mistakes out of a file with several, and says which are left.

    Raises:
        BadFileError: it would take none out, or bring another in.
    """
    from cultures.room.editing import is_shaped

    old = files.read(where.path) or b""
    was = old.decode("utf-8", errors="replace")
    if "\ufffd" in was or not is_shaped(was):
        raise BadFileError(wrong)
    new = mend(was, where.time())
    left = _mistakes(where, new.removeprefix("\ufeff"))
    before, after = (Counter((p.key, p.message) for p in each) for each in (wrong, left))
    if after - before or len(left) == len(wrong):
        raise BadFileError(left or wrong, f"{where.path} was left as it is.")
    for line in _shown(was, new, said(where.path)):
        echo(line)
    if left:
        echo(f"Then {str(BadFileError(left)).rstrip()}")
    _write(where, yes, new, lambda: files.read(where.path) == old)


def _made(where: Where, make: Make, check: Check, *, show: bool = False) -> tuple[str, str]:
    """The text of the file, and of the edited one, which was checked as the file is."""
    before = where.load()
    old = (files.read(where.path) or b"").decode("utf-8")
    new = make(old, before)
    if new == old:
        return old, new
    try:
        after = where.load(new.removeprefix("\ufeff"))
    except BadFileError as error:
        remedy = f"{where.path} was left as it is; lines are those of the edited one."
        raise BadFileError(error.problems, remedy) from None
    check(before, after)
    if show:
        for line in _shown(old, new, said(where.path)):
            echo(line)
        echo(_effect(before, after))
    return old, new


def _shown(old: str, new: str, name: str) -> Iterable[str]:
    """The lines that go and come, under the line at which they stand."""
    was, now = old.splitlines(), new.splitlines()
    same = _alike(was, now)
    rest = _alike(was[same:][::-1], now[same:][::-1])
    one = max(was, now, key=len)[same : max(len(was), len(now)) - rest]
    if min(len(was), len(now)) == same + rest:  # a block of lines: begin where a table does
        while same and one[-1] == was[same - 1] and not "".join(one).startswith("["):
            one, same, rest = [one[-1], *one[:-1]], same - 1, rest + 1
    was, now = was[same : len(was) - rest], now[same : len(now) - rest]
    for line in [*unified_diff(was, now, lineterm="", n=0)][2:]:
        hunk = _HUNK.match(line)
        at = same + max(1, int(hunk[1])) if hunk else 0
        yield f"{name}, line {at}:" if hunk else seen(f"  {line[0]} {line[1:]}".rstrip())


def _alike(was: Sequence[str], now: Sequence[str]) -> int:
    """How many lines are the same at the beginning of both."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(was, now, strict=False)))


def _effect(before: Setting, after: Setting) -> str:
    """What it changes of what is, and of the plan for the coming week."""
    from cli.journal.effect import effect_of
    from cli.screens.text import block, bullets
    from cli.working import working
    from cultures.record.edits import differences
    from cultures.words.quantities import in_units

    was, now = before.present, after.present
    said = (in_units(text, now.room.units) for text in differences(was, now))
    what = block("In the room:", bullets(said))
    with working("Planning with it"):
        plan = effect_of(was, now).text
    return f"{what}\n{plan}" if what else plan


def _ask() -> None:
    try:
        agreed = click.confirm("Write it?")
    except click.Abort:
        raise UsageProblemError(
            "nobody answered, and nothing was written; --yes writes without asking"
        ) from None
    if not agreed:
        echo("Nothing was written.")
        click.get_current_context().exit(1)
