"""``livefood journal``: note what was done, look it up, take it back, tick off what is due."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from contextlib import nullcontext, suppress
from datetime import datetime, timedelta
from itertools import chain, takewhile
from pathlib import Path
from typing import Any

import click

from cli.completion import names_of
from cli.groups import Group
from cli.journal import brood_events, culture_events, room_events
from cli.journal.counts import drop_count, drops_json, drops_text
from cli.journal.event import EventCommand, Noting, at_option, event, note_option, sure_option
from cli.journal.lists import (
    called_of,
    choose,
    chosen_entries,
    due_json,
    due_text,
    entries_json,
    entry_lines,
    import_summary,
    refuse_either,
    reminders_text,
    with_ids,
)
from cli.journal.recording import moment_of, open_book, record, say, writing
from cli.option_types import FILE, LINES, MOMENT, SPOKEN, Typed, Whole, number
from cli.options import UsageProblemError, Where, answer, json_option, localise, where_options
from cli.screens.entry import TANK_WORD, line_of, typed_numbers, typed_tank
from cli.screens.paint import echo
from cli.screens.text import wrapped
from cultures.errors import LivefoodError, RangeError, nearest
from cultures.journal.entries import BadLine, Entry, undo_of
from cultures.journal.events import EVENTS
from cultures.record.answers import answers_path, read_answers, together
from cultures.record.book import Book, Noted
from cultures.record.book import names_of as things_of
from cultures.record.carried_out import somebody_there
from cultures.record.present import Present, ahead_words, noted_ahead
from cultures.tasks.task import (
    Feed,
    HarvestHatch,
    HarvestWorms,
    MoveOn,
    Retire,
    SetHatch,
    Soak,
    Split,
    Work,
)
from cultures.tasks.told import ToldTask
from cultures.words.moments import when
from cultures.words.quantities import many
from cultures.words.tasks import brief_text
from cultures.words.text import capital, listed

#: Words that a hand types for what the journal calls otherwise, since it notes what is over.
_SAID = {
    "sell": "sold", "die": "died", "dead": "died", "lose": "lost", "feed": "fed", "fail": "failed",
    "buy": "bought", "order": "ordered", "hatch": "hatched", "measure": "length",
    "join": "merge", "mix": "merge",
    "crash": "failed", "throw": "discard", "bin": "discard", "sour": "note",
    "delete": "undo", "remove": "undo", "absent": "away", "holiday": "away", "leave": "away",
}  # fmt: skip


#: What is told further apart is not done at one visit (assumption).
_SAME_VISIT = timedelta(hours=3)
#: A round by twelve hours, its words apart or not.
_TWELVE_HOURS = re.compile(
    r"^(\d{1,2})(?::(\d\d))?\s?([ap])m(?:\sround)?$", re.IGNORECASE | re.MULTILINE
)
#: So many lines that are taken back are shown each.
_MOST_UNDOS = 12
#: What nobody does who does not feed.
_FOR_FEEDING = (HarvestHatch, HarvestWorms)


class _Group(Group):
    """Takes ``free-swimming`` for ``free_swimming``, and names the nearest command."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        name = cmd_name.lower()
        names = (name, name.replace("-", "_"), name.replace("_", "-"))
        return next((self.commands[n] for n in names if n in self.commands), None)

    def unknown(self, word: str) -> str:
        meant = _SAID.get(word.lower())
        hint = f"did you mean '{meant}'?" if meant else nearest(word, self.commands)
        return f"there is no event '{word}'; {hint}"

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            rows = [(n, c.get_short_help_str(limit=200)) for n, c in self.commands.items()]
            formatter.write_dl(rows)

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's signature)
        return list(self.commands)


@click.group("journal", cls=_Group)
def command() -> None:
    """Note what was really done and counted: the plan goes on from there.

    The journal is journal.csv beside the room file; it is only ever added to. What
    'livefood today' told you and you do not note is taken as done; 'journal done'
    confirms it, 'journal skip' says that it was not.

    Example: livefood journal harvest MW-1 6 swipes
    """


for _module in (culture_events, brood_events, room_events):
    for _each in vars(_module).values():  # in the order in which they stand there
        if isinstance(_each, EventCommand):
            command.add_command(_each)


@command.command("done", cls=EventCommand)
@click.argument("names", nargs=-1, metavar="[TASK]...")
@click.option("--except", "but", multiple=True, metavar="TASK", help="All but this; repeatable.")
@click.option("--dry-run", is_flag=True, help="Show what is due and note nothing.")
@click.option("--since", type=SPOKEN, metavar="TIME", help="Only what was told for then or later.")
@sure_option
@where_options
@at_option
@note_option
def done(
    names: tuple[str, ...], but: tuple[str, ...], dry_run: bool, since: Typed | None,
    where: Where, at: Typed | None, note: str,
) -> None:  # fmt: skip
    """Tick off what was told: all that is due, or TASKs by number, id or name.

    The name of a culture of which a harvest is due means that, and not a split told with it.

    \b
    Examples:
      livefood journal done
      livefood journal done MW-1 "bottle 1"
      livefood journal done --except MW-1
    """
    with nullcontext(open_book(where)) if dry_run else writing(where) as book:
        start = None if since is None else moment_of(book, since)
        every = book.present(book.now, pending=True).due()
        due = [t for t in every if start is None or t.task.at >= start]
        if dry_run or not (due or names):
            echo(due_text(due, book, book.shown_numbers(every)))
            return
        numbers = book.numbering(every).of
        but = tuple(with_ids(but, due, book, numbers))
        left_out = choose(due, but, book, numbers, but=True) if but else []
        wanted = with_ids(names, due, book, numbers)
        chosen = [t for t in choose(due, wanted, book, numbers) if t not in left_out]
        besides = _besides_harvests(chosen, wanted, numbers)
        chosen = [t for t in chosen if t not in besides]
        if not names:  # what is still to come is ticked off only by its name
            begun = {t.task.id for t in book.present(book.now, pending=True).in_hand}
            chosen = [t for t in chosen if t.task.at <= book.now or t.task.id in begun]
        noted = record(book, _ticks(book, chosen, at, note, named=bool(names)))
    left, more = len(due) - noted.count - len(left_out), ""
    if not names and left > 0:
        what = "It is" if left == 1 else "They are"
        more = wrapped(
            f"Not ticked off: {many(left, 'task')} still to come. {what} noted when done, or now by"
            " name."
        )
    if besides:
        more = _not_ticked(besides, book, numbers)
    after = (more,) if names else (_earlier_rounds(book, noted, chosen), more, reminders_text(book))
    say(book, noted, more="\n".join(filter(None, after)))


def _earlier_rounds(book: Book, noted: Noted, chosen: Sequence[ToldTask]) -> str:
    """That rounds before the last one were noted with it, which nobody had ticked off; "" for
    none. Who ticks off the round at hand may not have seen that one before it was left out.
    """
    rounds = sorted(t.task.at for t in chosen if isinstance(t.task, Feed))[:-1]
    lines = [e.line for e in book.written(noted) if rounds and rounds[0] <= e.when <= rounds[-1]]
    if not lines:
        return ""
    called = listed([when(at, book.room.units) for at in rounds])
    _, span = _called(lines[0], lines[-1])
    of, each = ("round", "") if len(rounds) == 1 else ("rounds", " for each")
    return wrapped(
        f"Noted with it as fed, though nobody had ticked it off: the {of} of {called}. Not fed"
        f" then: livefood journal undo --line {span}, and then{each} livefood journal skip round"
        f' --at "{when(rounds[0])}"'
    )


def _besides_harvests(
    chosen: Sequence[ToldTask], names: Sequence[str], numbers: Mapping[str, int]
) -> list[ToldTask]:
    """What was told of a culture besides a harvest that its name ticks off or skips, and is named
    by no number, id or new name: the name of a culture in a round means its worms.
    """
    said = {name.lower() for name in names}
    taken = {t.task.subject for t in chosen if isinstance(t.task, HarvestWorms)}
    return [
        t for t in chosen
        if isinstance(t.task, Split | Retire) and t.task.subject in taken
        and t.task.subject.lower() in said
        and said.isdisjoint({t.task.id.lower(), t.task.other.lower(), str(numbers.get(t.task.id))})
    ]  # fmt: skip


def _not_ticked(besides: Sequence[ToldTask], book: Book, numbers: Mapping[str, int]) -> str:
    """What was told of cultures besides their harvests, and how it is ticked off."""
    what = listed([brief_text(t.task, book.room.tools) for t in besides])
    typed = typed_numbers(book.room, [numbers[t.task.id] for t in besides], numbers.values())
    return wrapped(f"Not ticked off: {what}. Done as well: livefood journal done {typed}")


def _ticks(
    book: Book, chosen: Sequence[ToldTask], at: Typed | None, note: str, *, named: bool
) -> list[Entry]:
    if not chosen:
        raise UsageProblemError(
            "nothing is waiting to be ticked off now; what was told for later, and is done already,"
            " is noted by its name or number"
        )
    moment = None if at is None else moment_of(book, at)
    if moment is not None:
        _refuse_other_times(book, chosen, moment, named=named)
    room = book.state(book.now)
    return [book.ticked(t, room, moment)._replace(note=note) for t in chosen]


def _refuse_other_times(
    book: Book, chosen: Sequence[ToldTask], moment: datetime, *, named: bool
) -> None:
    """Refuses to note tasks at a moment at which they were not done.

    What was told for another visit is done then only where it is named; and what is noted outside
    of the time of a task would not be about it, which would count as done besides.

    Raises:
        UsageProblemError: which tasks, and what to do instead.
    """
    others = [
        t for t in chosen
        if not t.opens <= moment < t.closes or (not named and abs(t.task.at - moment) > _SAME_VISIT)
    ]  # fmt: skip
    if not others:
        return
    units, first = book.room.units, min(others, key=lambda t: t.task.at)
    verb = "was" if len(others) == 1 else "were"
    raise UsageProblemError(
        f"{many(len(others), 'task')} {verb} told for other times than {when(moment, units)} (the"
        f" first for {when(first.task.at, units)}): without --at each is noted at its own time;"
        " what was done then is noted by its name, or with its own word (journal harvest, journal"
        " fed, journal set)"
    )


@command.command("due", cls=EventCommand)
@where_options
@json_option
def due_(where: Where, as_json: bool) -> None:
    """What was told and is not noted: taken as done, or still to be done.

    Example: livefood journal due
    """
    book = open_book(where)
    due = book.present(book.now, pending=True).due()
    numbers = book.shown_numbers(due)
    answer(as_json, lambda: due_json(due, book), lambda: due_text(due, book, numbers))


@event("skip", [], click.argument("names", nargs=-1, required=True, metavar="TASK..."))
def skip(noting: Noting, names: tuple[str, ...]) -> list[Entry]:
    """TASKs that were told were not done, or TANKs of a round not fed: by number, id or name.

    round is the whole feeding at hand, or that at the time of --at, told or not: nobody fed,
    nor took what was told for it. With --at TANK is one that was not fed then; without, where
    its feeding is noted, it is that a brood of it is to be moved. So is BROOD, where it is.
    Where a tank has a number of the list for its name say which: number 2, or tank 2. all is
    all that is taken as done, or has begun where nothing is. The name of a culture of which a
    harvest is due means that, and not a split told with it; where a harvest and a setting of
    VESSEL are told at once it is asked which.

    \b
    Examples:
      livefood journal skip MW-1
      livefood journal skip 2
      livefood journal skip 1-6
      livefood journal skip all
      livefood journal skip B1
      livefood journal skip round --at "yesterday 18:30"
    """
    book, found = noting.book, noting.book.present(noting.book.now, pending=True)
    due = found.due()
    numbers = book.numbering(due).of
    given = with_ids(_by_clock(names), due, book, numbers)
    told = {name for t in found.record.tasks.values() for name in called_of(t)}
    there = things_of(noting.room, "tank")
    tanks = {t.lower(): t for t in there if t.lower() not in told}
    tanks |= {f"{TANK_WORD} {t}".lower(): t for t in there}
    _refuse_numbers(given, tanks, numbers, found, book)
    unfed = [tanks[name.lower()] for name in given if name.lower() in tanks]
    tasks = [name for name in given if name.lower() not in tanks]
    if noting.when >= book.now:
        moves = [t.task for t in found.asked_of_broods() if isinstance(t.task, MoveOn)]
        of_tank = {t.other: t.id for t in moves if _is_fed(found, t.other)}
        tasks = [next((t.id for t in moves if t.subject.lower() == name.lower()), name)
                 for name in tasks]  # fmt: skip
        tasks += [of_tank[tank] for tank in unfed if tank in of_tank]
        unfed = [tank for tank in unfed if tank not in of_tank]
    untold, whole = book.untold(noting.when), list[ToldTask]()
    if untold is not None:
        # What names the round means all its tanks.
        called = ("round", untold.name, untold.name.removesuffix(" round"))
        every = [name for name in tasks if name.lower() in called]
        tasks = [name for name in tasks if name not in every]
        made = [book.unfed(untold, tank) for tank in ([""] if every else unfed)]
    else:
        if any(name.lower() == "round" for name in tasks):
            tasks = [name for name in tasks if name.lower() != "round"]
            whole = _of_round(book, found, noting.when)
        if noting.when < book.now:
            tasks = [_that_day(found, name, noting.when) for name in tasks]
        made = [_unfed_tank(book, found, tank, noting.when) for tank in unfed]
    until = noting.when if noting.when < book.now else None
    named = [t for t in _skipped(book, found, tasks, until) if t not in whole]
    made += [book.skipped(t, noting.when) for t in (*whole, *named)]
    return [entry._replace(note=noting.note) for entry in made]


def _unfed_tank(book: Book, found: Present, tank: str, moment: datetime) -> Entry:
    """The entry that says that a tank was not fed at the told round of a moment.

    Raises:
        RangeError: nothing was told for it, or that is noted already.
    """
    bare = None if book.told_feeding(tank, moment) else book.without(tank, moment)
    if bare is not None:
        return book.unfed(bare, tank)
    feeding = book.feeding(tank, moment)
    said = found.fates.tanks.get(feeding.task.id, {}).get(tank, ())
    last = max(said, key=lambda entry: entry.line, default=None)
    if last is not None and last.event == "skip":
        raise RangeError(
            f"that {tank} was not fed then is noted already, in line {last.line}; if that is"
            f" wrong: livefood journal undo --line {last.line}"
        )
    return book.skipped(feeding, moment, tank)


def _refuse_numbers(
    names: Sequence[str],
    tanks: Mapping[str, str],
    numbers: Mapping[str, int],
    found: Present,
    book: Book,
) -> None:
    """Asks back of a tank's name that is a number of the list, or was one until it was noted.

    Raises:
        RangeError: one is.
    """
    numbered = {str(number): key for key, number in numbers.items()}
    for name in names:
        mine = found.record.tasks.get(numbered.get(name, ""))
        if mine is not None and name in tanks:
            refuse_either(name, mine, f"tank {name}, not fed", f"{TANK_WORD} {name}", book)


def _is_fed(found: Present, tank: str) -> bool:
    """Whether the feeding of a tank at hand is noted, so that it is not what is skipped."""
    feeding = next((t for t in found.feedings(found.now) if tank in t.tanks), None)
    if feeding is None:
        return True
    said = found.fates.tanks.get(feeding.task.id, {}).get(tank, ())
    return any(e.event == "fed" for e in said) or feeding.task.id in found.fates.answer


def _by_clock(names: Sequence[str]) -> list[str]:
    """Names of tasks, with rounds by twelve hours as they are called: ``6:30 pm round``.

    Examples:
        >>> _by_clock(["MW-1", "6:30", "pm", "round"]), _by_clock(["12 am round"])
        (['MW-1', '18:30 round'], ['00:00 round'])
    """

    def called(found: re.Match[str]) -> str:
        hour = int(found[1]) % 12 + 12 * (found[3].lower() == "p")
        return f"{hour:02}:{found[2] or '00'} round"

    return _TWELVE_HOURS.sub(called, "\n".join(names)).split("\n")


def _that_day(found: Present, name: str, moment: datetime) -> str:
    """The id of the open feeding of a name that was told for a moment; else the name."""
    mine = (
        t.task.id for t in found.feedings(moment)
        if t.task.subject.lower() == name.lower() and t.task.id not in found.fates.answer
    )  # fmt: skip
    return next(mine, name)


def _of_round(book: Book, found: Present, moment: datetime) -> list[ToldTask]:
    """All that was told for the feeding of the round at a moment and is open.

    Of a round at which, as was noted since, nobody was there that is what was told and not noted.

    Raises:
        RangeError: that feeding is noted, or none was told.
    """
    feeding = next(iter(found.feedings(moment)), None)
    if feeding is None:
        raise RangeError("no round was told for this time; see 'livefood today'")
    for_it = [t for t in found.record.tasks.values()
              if isinstance(t.task, _FOR_FEEDING) and t.round_at == feeding.task.at]  # fmt: skip
    answer = found.fates.answer
    if feeding.task.id in answer:
        noted = {answer[t.task.id].line for t in (*for_it, feeding) if t.task.id in answer}
        raise RangeError(_noted_round(book, noted, answer[feeding.task.id]))
    due, nobody = found.due(), not somebody_there(found.room, feeding)
    open_ = [t for t in for_it if t in due or (nobody and t.task.id not in answer)]
    return [*open_, feeding]


def _noted_round(book: Book, lines: set[int], last: Entry) -> str:
    """That a round is noted, and how all of its lines that stand together are taken back."""
    whole = lines == {*range(min(lines), last.line + 1)}
    called, span = _called(min(lines) if whole else last.line, last.line)
    return (
        f"that round is noted already ({called}: {line_of(last, book.room)}); if that is wrong,"
        f" take it back first: livefood journal undo --line {span}"
    )


def _called(first: int, last: int) -> tuple[str, str]:
    """How a line is called, or several that stand together; and as ``--line`` takes them."""
    if first == last:
        return f"line {first}", f"{first}"
    return f"lines {first} to {last}", f"{first}-{last}"


def _skipped(
    book: Book, found: Present, names: Sequence[str], until: datetime | None = None
) -> list[ToldTask]:
    """Of several tasks of one name that lie ahead, the next is meant.

    Args:
        until: where a moment was given that is past, no task is meant whose time came later.
    """
    if not names:
        return []
    now, due = found.now, found.due()
    ahead = [
        t for t in found.record.tasks.values()
        if now < t.task.at and t.task.at.date() == now.date()
        and t.task.id not in found.fates.answer and t not in due
    ]  # fmt: skip
    ahead += [t for t in found.asked_of_broods() if t not in ahead and t not in due]
    ahead.sort(key=lambda t: t.task.at)
    known = [*due, *ahead]
    numbers = book.numbering(due).of
    chosen = choose(due, names, book, numbers, ahead=ahead, latest=True, until=until)
    besides = _besides_harvests(chosen, names, numbers)
    chosen = [t for t in chosen if t not in besides]
    later = [
        t for t in chosen
        if t.task.at > now and t.task.id not in names
        and any(x.task.subject == t.task.subject and x.due_at < t.due_at for x in known)
    ]  # fmt: skip
    meant = [t for t in chosen if t not in later] or chosen
    _refuse_both(meant, names, book, numbers)
    fed = {t.round_at for t in meant if isinstance(t.task, Feed)}
    # What is soaked for a feeding is answered with it.
    return [t for t in meant if not (isinstance(t.task, Soak) and t.round_at in fed)]


def _refuse_both(
    meant: Sequence[ToldTask], names: Sequence[str], book: Book, numbers: Mapping[str, int]
) -> None:
    """Asks back of a vessel's name where both its harvest and its setting are told: who set no
    hatch may have drawn the last one off, and the other way round.

    Raises:
        RangeError: so it is.
    """
    for name in names:
        mine = [t for t in meant if t.task.subject.lower() == name.lower()
                and isinstance(t.task, HarvestHatch | SetHatch)]  # fmt: skip
        if {type(t.task) for t in mine} != {HarvestHatch, SetHatch}:
            continue
        tools, units = book.room.tools, book.room.units
        typed = [
            typed_numbers(book.room, [numbers[t.task.id]], numbers.values())
            if t.task.id in numbers else t.task.id
            for t in mine
        ]  # fmt: skip
        ways = listed([
            f"livefood journal skip {how} ({brief_text(t.task, tools)}, {when(t.task.at, units)})"
            for how, t in zip(typed, mine, strict=True)
        ])  # fmt: skip
        raise RangeError(f"more than one task of {name} was told; say which, or each: {ways}")


command.add_command(skip)


@command.command("show")
@click.option(
    "--event", type=click.Choice(list(EVENTS)), metavar="EVENT",
    help="Only this event: harvest, count, undo...",
)  # fmt: skip
@click.option(
    "--subject", metavar="NAME", help="Only entries about this.",
    shell_complete=names_of("room", "brood", "culture", "tank", "vessel"),
)  # fmt: skip
@click.option("--from", "start", type=MOMENT, metavar="TIME", help="Not before.")
@click.option("--to", "end", type=MOMENT, metavar="TIME", help="Not after.")
@click.option("--last", type=Whole(1), help="Only this many, those noted last.")
@click.option("--undone", is_flag=True, help="Show the lines that were taken back too.")
@where_options
@json_option
def show(
    where: Where, start: datetime | None, end: datetime | None, as_json: bool, **wanted: Any
) -> None:
    """What the journal says, by time.

    Example: livefood journal show --subject MW-1 --last 10
    """
    book = open_book(where)
    zone = book.room.timezone
    first, last = (None if t is None else localise(t, zone) for t in (start, end))
    entries = chosen_entries(book.journal, start=first, end=last or book.now, **wanted)
    answer(as_json, lambda: entries_json(entries, book), lambda: entry_lines(entries, book))
    ahead = noted_ahead(book.journal.effective(), book.now)
    if ahead and last is None and not as_json:
        said = ahead_words(ahead, book.now, book.room)
        echo(wrapped(f"Noted for later than now: {said}."))


@command.command("undo", cls=EventCommand)
@click.option(
    "--line", "lines", type=LINES, metavar="LINE",
    help="The line to take back, or several like 40-43, else all that was noted last.",
)  # fmt: skip
@where_options
@at_option
@note_option
def undo(where: Where, lines: tuple[int, int] | None, at: Typed | None, note: str) -> None:
    """Take back what the last command noted, or a line; once more, what was noted before it.

    To have a line again take the line of its undo back. A line that cannot be understood is
    taken back in the same way.

    \b
    Examples:
      livefood journal undo
      livefood journal undo --line 12
    """
    with writing(where, mends=True) as book:
        targets = _last(book) if lines is None else _on_lines(book, *lines)
        told: list[ToldTask] = []
        more = []
        if not book.journal.bad:
            known = book.present(book.now, pending=True).fates.told
            told = [known[e] for e in targets if isinstance(e, Entry) and e in known]
            more = [_of_one_round(targets[0], known)]
        undos = [undo_of(e, moment_of(book, at))._replace(note=note) for e in reversed(targets)]
        noted = record(book, undos)
        if targets[1:]:
            more.insert(0, _taken_together(targets, noted, book))
    tanks = things_of(book.room, "tank")
    fed = [e.subject for e in targets if isinstance(e, Entry) and e.subject in tanks]
    more.append(_still_told(told, book, noted, fed[0] if fed and not targets[1:] else ""))
    quiet = len(targets) > _MOST_UNDOS
    say(book, noted, quiet=quiet, more="\n".join(filter(None, more)))


def _last(book: Book) -> Sequence[Entry | BadLine]:
    """What the last command or tap noted, as far as it stands.

    Raises:
        UsageProblemError: nothing does.
    """
    target = book.journal.last()
    if target is None:
        raise UsageProblemError("there is nothing to take back")
    if isinstance(target, BadLine):
        return [target]
    answers = read_answers(answers_path(book.room_path), book.room.timezone)
    undone = book.journal.undone()
    return [e for e in together(target, book.journal, answers) if e.line not in undone]


def _on_lines(book: Book, first: int, last: int) -> Sequence[Entry | BadLine]:
    """What stands on a line, or on one of several.

    Raises:
        UsageProblemError: nothing does.
    """
    journal = book.journal
    every = chain[Entry | BadLine](journal.entries, journal.bad)
    found = sorted((e for e in every if first <= e.line <= last), key=lambda e: e.line)
    called, one = _called(first, last)[0], first == last
    if not found:
        none = f"{called} is not" if one else f"none of the {called} is"
        raise UsageProblemError(f"{none} an entry")
    undone = journal.undone()
    standing = [e for e in found if e.line not in undone]
    if not standing:
        raise UsageProblemError(
            f"{called} {'was' if one else 'were'} taken back already; see --undone"
        )
    return standing


def _taken_together(targets: Sequence[Entry | BadLine], noted: Noted, book: Book) -> str:
    """Which lines were taken back at once, and how to have them again."""
    made = [e.line for e in book.written(noted)]
    return wrapped(
        f"Taken back together: {many(len(targets), 'line')}, {targets[0].line} to"
        f" {targets[-1].line}. To have them again: livefood journal undo --line"
        f" {made[0]}-{made[-1]}"
    )


def _of_one_round(target: Entry | BadLine, known: Mapping[Entry, ToldTask]) -> str:
    """Lines right before one that note the same round, which go on standing."""
    round_at = known[target].round_at if isinstance(target, Entry) and target in known else None
    lines = {e.line for e, told in known.items() if round_at and told.round_at == round_at}
    before = [*takewhile(lines.__contains__, range(target.line - 1, 0, -1))]
    if not before:
        return ""
    (called, span), ends = _called(before[-1], before[0]), "" if before[1:] else "s"
    return wrapped(
        f"{capital(called)} note{ends} the same round, and still stand{ends}: livefood journal undo"
        f" --line {span}"
    )


def _still_told(every: Sequence[ToldTask], book: Book, noted: Noted, tank: str) -> str:
    """What is told counts as done without a note as well; how to say that it was not."""
    # What only reminds is never taken as done.
    over = [t for t in every if t.task.at <= book.now and isinstance(t.task, Work)]
    names = [t.task.id for t in over]
    with suppress(LivefoodError):  # by its name, where that says which
        if over:
            book.written(noted)
            found = book.present(book.now, pending=True)
            over = [t for t in over if t.task.id not in found.fates.answer]  # by another line
            names = [_name_of(t, book, found) for t in over]
    if not over:
        return ""
    if tank:
        return wrapped(
            f"{tank} was to be fed with the {over[0].task.subject}, so it still counts as fed. If"
            f" it was not: livefood journal skip {typed_tank(tank)}"
        )
    moments = listed([*dict.fromkeys(when(t.task.at, book.room.units) for t in over)])
    if over[1:]:
        return wrapped(
            f"They were told for {moments}, so they still count as done. Of one that was not:"
            " livefood journal skip NUMBER ('livefood journal due' has the numbers)."
        )
    return wrapped(
        f"It was told for {moments}, so it still counts as done. If it was not: livefood journal"
        f" skip {shlex.quote(names[0])}"
    )


def _name_of(told: ToldTask, book: Book, found: Present) -> str:
    """By what `skip` knows a task: its subject, where that says which, or its id."""
    meant = _skipped(book, found, [told.task.subject])
    return told.task.subject if [t.task.id for t in meant] == [told.task.id] else told.task.id


@command.command("import", cls=EventCommand)
@click.argument("file", type=FILE)
@click.option(
    "--dates", type=click.Choice(["iso", "dmy", "mdy"]), default="iso", show_default=True,
    help="How days are written: 2027-01-31, 31/01/2027 or 01/31/2027.",
)  # fmt: skip
@click.option("--dry-run", is_flag=True, help="Check every row and note nothing.")
@sure_option
@where_options
def import_(file: Path, dates: str, dry_run: bool, where: Where) -> None:
    """Take in a spreadsheet's CSV with the columns when, event, subject and more.

    All rows are checked first; with one mistake nothing is noted. Rows that the journal
    has already are left out.

    Example: livefood journal import march.csv --dates dmy --dry-run
    """
    from cultures.journal.spreadsheet import new_entries, read_import

    with nullcontext(open_book(where)) if dry_run else writing(where) as book:
        found = read_import(file, book.room.timezone, dates=dates, now=book.now, meant=book.meant)
        fresh = new_entries(found, book.journal.entries)
        echo(import_summary(found, fresh, dry_run=dry_run))
        noted = record(book, fresh) if fresh and not dry_run else None
    if noted is not None:
        say(book, noted, quiet=True)


@command.command("count-helper", cls=EventCommand)
@click.argument("counts", nargs=-1, required=True)
@click.option("--drop-ml", type=float, required=True, help="Volume of one drop.")
@click.option("--of-ml", type=float, required=True, help="Volume of the whole.")
@click.option("--diluted", type=float, default=1.0, help="How many times it was diluted first.")
@click.option("--grams", type=number(0.001, 10000), help="Cysts behind it.")
@json_option
def count_helper(
    counts: tuple[str, ...], drop_ml: float, of_ml: float, diluted: float, grams: float | None,
    as_json: bool,
) -> None:  # fmt: skip
    """From animals in each drop to a total, its interval, and how many more drops would halve it.

    Example: livefood journal count-helper 12 9 15 --drop-ml 0.05 --of-ml 1000
    """
    found = drop_count(counts, drop_ml, of_ml, diluted)
    answer(as_json, lambda: drops_json(found, grams), lambda: drops_text(found, grams))
