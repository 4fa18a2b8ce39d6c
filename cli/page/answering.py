"""What a post of the page says, turned into entries by the functions of the journal's commands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from attrs import frozen

from cli.journal import brood_events as broods
from cli.journal import culture_events as cultures
from cli.journal import room_events as things
from cli.journal.event import EventCommand
from cli.journal.recording import writing
from cli.options import Where
from cli.page.cards import doses
from cli.screens.entry import line_of
from cultures.errors import LivefoodError, RangeError
from cultures.journal.entries import Entry, undo_of
from cultures.record.answers import (
    Answer,
    answers_path,
    append_answer,
    read_answers,
)
from cultures.record.book import Book
from cultures.tasks.task import (
    HELPERS_WORK,
    Buy,
    Count,
    HarvestHatch,
    HarvestWorms,
    Lid,
    MoveOn,
    Reminder,
    Sell,
    SetHatch,
    Sort,
    Split,
    Work,
    rank_of,
)
from cultures.tasks.told import ToldTask
from cultures.words.moments import day_text
from cultures.words.numbers import whole_number
from cultures.words.quantities import food_words

_NO_DROPS: dict[str, Any] = {"counts": None, "drop_ml": None, "of_ml": None, "diluted": 1.0}
#: An answer that waited on a phone may be so old.
_OLDEST = timedelta(days=14)
#: What a page may note of things besides told tasks, and what of it the helper's may.
_HELPERS = ("count", "note")


class AskError(LivefoodError):
    """An answer that may be a slip: it contradicts what was noted, or its page is of another day.

    Attributes:
        more: what the answer must say besides to be noted all the same.
    """

    def __init__(self, message: str, more: dict[str, str]) -> None:
        super().__init__(message)
        self.more = more


class NotYoursError(LivefoodError):
    """The helper's page may not note this."""


@frozen
class Post:
    """A form as it came.

    Attributes:
        by: which page. ago_s: how long it waited on the phone [s].
    """

    by: str
    id: str
    ago_s: float
    form: Mapping[str, str]

    def text(self, name: str) -> str:
        """A field without blanks around it."""
        return self.form.get(name, "").strip()


def take_in(where: Where, post: Post) -> list[str]:
    """Notes what a post says, and says what was noted; what came before is noted once.

    Raises:
        AskError: it contradicts what was noted. DoubtError: it cannot be by all that is known.
        LivefoodError: something else is wrong. Nothing was recorded.
    """
    path, sure = answers_path(where.path), post.text("sure") == "1"
    with writing(where) as book:
        answers = read_answers(path, book.room.timezone)
        before = next((a for a in answers if a.id == post.id), None)
        if before is not None:
            noted = book.note(before.missing(book.journal), sure=sure)
        else:
            made = tuple(_made(book, post, answers))
            answer = Answer(post.id, book.now, post.by, made, len(book.journal.entries))
            noted = book.note(answer.entries, sure=sure, ahead=lambda: append_answer(path, answer))
    return [line_of(entry, book.room) for entry in book.written(noted)]


def moment_of(book: Book, post: Post) -> datetime:
    """When an answer was given, to the second.

    Raises:
        RangeError: too long ago to be believed.
    """
    ago = timedelta(seconds=max(0, round(post.ago_s)))
    if ago > _OLDEST:
        raise RangeError("this answer is more than two weeks old; note it on the Notes page")
    return book.now - ago


def _made(book: Book, post: Post, answers: Sequence[Answer]) -> list[Entry]:
    """The entries that an answer makes."""
    when, kind = moment_of(book, post), post.text("kind")
    _check_day(post, when, book.room.units)
    if kind == "round":
        return _whole_round(book, post)
    if kind == "tasks":
        return _ticked_all(book, post, set(post.text("task").splitlines()))
    if kind == "undo":
        return _undone(book, post, answers, when)
    if kind == "event":
        return _event(book, post, when)
    told = _told(book, post)
    if kind == "tank":
        return _tank(book, post, told, answers, when)
    if kind == "task":
        return _task(book, post, told, answers, when)
    raise RangeError("this form is unknown; load the page again")


def _check_day(post: Post, when: datetime, units: str) -> None:
    """Asks about a tick that was pressed on a page that shows another day's tasks.

    Raises:
        AskError: it was.
    """
    shown, today = post.text("shown"), when.date().isoformat()
    if not shown or shown == today or post.text("kind") not in ("task", "tank", "round"):
        return
    try:
        day = day_text(date.fromisoformat(shown), units)
    except ValueError:
        raise RangeError("this form is unknown; load the page again") from None
    raise AskError(
        f"This page has been open since {day}: your answer is about what it showed then, and"
        " nothing is noted yet.", {"shown": today},
    )  # fmt: skip


def _noted_otherwise(
    what: str, known: Sequence[Entry], book: Book, answers: Sequence[Answer]
) -> AskError:
    """The question that a contradiction raises: what was noted before, and by whom."""
    by = next((a.by for a in answers if known[-1]._replace(line=0) in a.entries), "")
    said = "; ".join(line_of(e, book.room) for e in known)
    return AskError(
        f"Something else was noted of {what} before, {_by_whom(by)}: {said}."
        " Yours is not noted yet.", {"over": str(known[-1].line)},
    )  # fmt: skip


def _by_whom(by: str) -> str:
    return f"on the {by}'s page" if by else "at a terminal"


def _told(book: Book, post: Post) -> ToldTask:
    told = book.present(book.now, pending=True).record.tasks.get(post.text("task"))
    if told is None:
        raise RangeError("this is no longer asked for: the plan has changed since it was shown")
    if post.by == "helper" and not isinstance(told.task, HELPERS_WORK):
        raise NotYoursError("this is for the keeper to do")
    return told


def _task(
    book: Book, post: Post, told: ToldTask, answers: Sequence[Answer], when: datetime
) -> list[Entry]:
    """The entries of one of the answers to a told task, and what they take the place of."""
    made = _entries(book, post, told, when)
    known = book.present(book.now, pending=True).fates.answer.get(told.task.id)
    if known is None:
        return made
    if _agrees(known, made[0]):
        return []
    if post.text("over") != str(known.line):
        raise _noted_otherwise(told.task.subject, [known], book, answers)
    return [undo_of(known, book.now), *made]


def _agrees(known: Entry, new: Entry) -> bool:
    if known.event == "hatched" and new.event == "harvest":
        return True
    same = (known.amount or 0.0, new.amount or 0.0)
    return known.event == new.event and abs(same[0] - same[1]) <= 1e-3 * max(same)


def _entries(book: Book, post: Post, told: ToldTask, when: datetime) -> list[Entry]:
    what, task, amount = post.text("what"), told.task, post.text("amount")
    if not told.opens <= when < told.closes:
        when = min(task.at, book.now)
    if what == "skip":
        return [book.skipped(told, when)]
    if what == "failed" and isinstance(task, HarvestHatch):
        return _by(things.failed, book, task.subject, when)
    if what == "done":
        return _done(book, post, told, when)
    if what != "other":
        raise RangeError("say done, another amount, or not done")
    _check_written(post, "amount", f"it was of {task.subject}")
    if isinstance(task, HarvestWorms):
        return _by(cultures.harvest, book, task.subject, when, amount=(amount,), every=False,
                   instead_of=None)  # fmt: skip
    if isinstance(task, HarvestHatch):
        return _by(cultures.hatched, book, task.subject, when, nauplii=amount, **_NO_DROPS)
    if isinstance(task, SetHatch):
        return _by(cultures.set_hatch, book, task.subject, when, amount=(amount,), instead_of=None)
    if isinstance(task, Split):
        return _by(cultures.split, book, task.subject, when, new=task.other, starter=amount)
    raise RangeError(f"{task.subject}: no other amount can be noted for this")


def _done(book: Book, post: Post, told: ToldTask, when: datetime) -> list[Entry]:
    task, amount = told.task, post.text("amount")
    if isinstance(task, Buy):
        _check_written(post, "amount", f"{task.item} was bought")
        return _by(things.bought, book, "", when, what=task.item,
                   amount=(amount or f"{task.grams:g} g",))  # fmt: skip
    if isinstance(task, Count):
        return _by(broods.count_, book, task.subject, when, amount=(amount,), tray=False,
                   **_NO_DROPS)  # fmt: skip
    if isinstance(task, Sell):
        return _by(broods.sold, book, task.subject, when, fry=amount or None, every=False)
    if isinstance(task, MoveOn | Sort):
        tank, fry = post.text("tank"), post.text("fry")
        return _by(broods.move, book, task.subject, when, tank=tank, fry=fry or None)
    if isinstance(task, Lid):
        return _by(broods.lid, book, task.subject, when)
    if isinstance(task, Reminder):
        raise RangeError(f"{task.subject}: there is nothing to note about this")
    ahead = task.at > book.now
    return [book.ticked(told, book.state(book.now), when if ahead else None)]


def _check_written(post: Post, name: str, what: str) -> None:
    """Refuses a field that was sent empty: nobody can mean what was told by it.

    Raises:
        RangeError: it is empty.
    """
    if name in post.form and not post.text(name):
        raise RangeError(f"write how much {what}; nothing is noted yet")


def _whole_round(book: Book, post: Post) -> list[Entry]:
    """All that is open of one round, done as told."""
    at = post.text("round")
    tasks = book.present(book.now, pending=True).record.tasks
    mine = {k for k, t in tasks.items() if t.round_at is not None and t.round_at.isoformat() == at}
    return _ticked_all(book, post, mine)


def _ticked_all(book: Book, post: Post, keys: set[str]) -> list[Entry]:
    """All of some told tasks that is open, as ``journal done`` notes it."""
    found = book.present(book.now, pending=True)
    mine = [
        t for key, t in found.record.tasks.items()
        if key in keys and isinstance(t.task, Work)
        and key not in found.fates.answer and key not in found.contradicted
        and (post.by == "keeper" or isinstance(t.task, HELPERS_WORK))
    ]  # fmt: skip
    room = book.state(book.now)
    order = sorted(mine, key=lambda t: (t.task.at, rank_of(t.task), t.task.id))
    return [book.ticked(t, room) for t in order]


def _tank(
    book: Book, post: Post, told: ToldTask, answers: Sequence[Answer], when: datetime
) -> list[Entry]:
    """One tank of a round; what is noted of the round holds for it until it is noted itself."""
    tank, fates = post.text("tank"), book.present(book.now, pending=True).fates
    if tank not in told.tanks:
        raise RangeError(f"there is no tank {tank} in this round")
    mine = fates.tanks.get(told.task.id, {}).get(tank, ())
    if post.text("what") == "back":
        return [_back(post, e, answers, book.now) for e in mine]
    made = _of_tank(book, post, told, when)
    whole = fates.answer.get(told.task.id)
    known = mine or ([whole] if whole is not None else [])
    if not known:
        return made
    if [_got(e) for e in known] == [_got(e) for e in made]:
        return []
    if post.text("over") != str(known[-1].line):
        raise _noted_otherwise(f"tank {tank}", known, book, answers)
    return [*(undo_of(e, book.now) for e in mine), *made]


def _got(entry: Entry) -> tuple[str, str, float | None]:
    """What an entry says that a tank got, whether it is about the tank or its whole round."""
    of_food = entry.event == "fed" and bool(entry.other)
    return (entry.event, entry.other, entry.amount) if of_food else (entry.event, "", None)


def _of_tank(book: Book, post: Post, told: ToldTask, when: datetime) -> list[Entry]:
    """What ``fed TANK``, ``fed TANK FOOD AMOUNT`` and ``skip TANK`` write."""
    tank, what = post.text("tank"), post.text("what")
    if not told.opens <= when < told.closes:
        when = min(told.task.at, book.now)
    if what == "skip":
        return [book.skipped(told, when, tank)]
    if what not in ("done", "other"):
        raise RangeError("say done, another amount, or not done")
    foods = doses(told.lines, tank, book.room.units) if what == "other" else {}
    for food in foods:
        _check_written(post, f"food {food}", f"{food_words(food)} tank {tank} got")
    changed = {
        food: text for food, dose in foods.items()
        if (text := post.text(f"food {food}")) and text != dose.value
    }  # fmt: skip
    if not changed:
        return _by(broods.fed, book, tank, when, what=())
    made = []
    for food, text in changed.items():
        made += _by(broods.fed, book, tank, when, what=(food, text, foods[food].unit))
    return made


def _undone(book: Book, post: Post, answers: Sequence[Answer], when: datetime) -> list[Entry]:
    """The entry that takes a line back, if it stands."""
    line = post.text("line")
    target = book.journal.at_line(whole_number(line) or 0)
    if not isinstance(target, Entry):
        raise RangeError(f"line {line} is not an entry")
    if target.line in book.journal.undone():
        return []
    return [_back(post, target, answers, when)]


def _back(post: Post, entry: Entry, answers: Sequence[Answer], when: datetime) -> Entry:
    """The entry that takes one back; a helper's page takes back only its own."""
    own = {e for a in answers if a.by == post.by for e in a.entries}
    if post.by == "helper" and entry._replace(line=0) not in own:
        raise NotYoursError("only what this page noted can be taken back here")
    return undo_of(entry, when)


def _event(book: Book, post: Post, when: datetime) -> list[Entry]:
    """Something noted of a thing of the room, whatever was told."""
    name, subject, amount = post.text("event"), post.text("subject"), post.text("amount")
    if post.by == "helper" and name not in _HELPERS:
        raise NotYoursError("this is for the keeper to note")
    word: Sequence[str] = (amount,) if amount else ()
    known: dict[str, tuple[EventCommand, dict[str, Any]]] = {
        "harvest": (cultures.harvest, {"amount": word, "every": False, "instead_of": None}),
        "set": (cultures.set_hatch, {"amount": word, "instead_of": None}),
        "hatched": (cultures.hatched, {"nauplii": amount or None, **_NO_DROPS}),
        "failed": (things.failed, {}),
        "discard": (cultures.discard, {"crashed": False}),
        "split": (cultures.split, {"new": post.text("other") or None, "starter": amount or None}),
        "count": (broods.count_, {"amount": word, "tray": False, **_NO_DROPS}),
        "length": (broods.length_, {"length": word, "fish": None}),
        "move": (broods.move, {"tank": post.text("other"), "fry": amount or None}),
        "sold": (broods.sold, {"fry": amount or None, "every": False}),
        "died": (broods.died, {"fry": amount or None, "every": False}),
        "lost": (broods.lost, {"fry": amount or None, "every": False}),
        "leftover": (broods.leftover, {"much": post.text("other")}),
        "note": (things.note_, {"words": tuple(post.text("words").split())}),
        "bought": (things.bought, {"what": subject, "amount": word}),
        "used": (things.used, {"what": subject, "amount": word}),
    }
    if name not in known:
        raise RangeError("this form is unknown; load the page again")
    if name == "note" and not post.text("words"):
        raise RangeError("write a few words first")
    command, given = known[name]
    return _by(command, book, subject, when, **given)


def _by(
    command: EventCommand, book: Book, subject: str, when: datetime, **given: Any
) -> list[Entry]:
    """What a command of the journal would record."""
    assert command.entries is not None
    return command.entries(book, subject, when, **given)
