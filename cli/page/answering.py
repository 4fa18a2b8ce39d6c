"""What a post of the page says, turned into entries by the functions of the journal's commands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from attrs import evolve, frozen

from cli.journal import brood_events as broods
from cli.journal import culture_events as cultures
from cli.journal import recording
from cli.journal import room_events as things
from cli.journal.amounts import dosed
from cli.journal.effect import newly_unequal, nothing_hatched, tin_doubted, unusual_yield
from cli.journal.event import EventCommand
from cli.option_types import AHEAD, CHANCE, DAY, SPOKEN, number
from cli.options import Where
from cli.page.cards import doses
from cli.screens.entry import line_of
from cultures.errors import LivefoodError, RangeError
from cultures.journal.entries import Entry, undo_of
from cultures.journal.events import APART, DATED
from cultures.record.answers import Answer, answers_path, append_answer, read_answers, together
from cultures.record.book import Book
from cultures.record.present import present
from cultures.tasks.task import HELPERS_WORK, Arrival, Buy, HarvestHatch, Reminder, Work
from cultures.tasks.told import ToldTask
from cultures.words.moments import day_text
from cultures.words.numbers import whole_number
from cultures.words.quantities import food_words

#: The event that notes another amount of a told task, and the one that notes it as done, by the
#: kind of task; others are ticked off.
_OTHERWISE = {"harvest_worms": "harvest", "harvest_hatch": "hatched", "set_hatch": "set",
              "split": "split"}  # fmt: skip
_DONE = {"buy": "bought", "arrival": "bought", "count": "count", "sell": "sold",
         "move_on": "move", "sort": "move", "lid": "lid"}  # fmt: skip
#: Events of broods that may be new.
_BEGINNINGS = {"spawn": broods.spawn, "planned": broods.planned, "collected": broods.collected}
#: An answer that waited on a phone may be so old.
_OLDEST = timedelta(days=14)
#: What is noted on the room of rounds that nobody looked at, where the fry were fed.
_AS_USUAL = "the fry were fed as usual, though nobody looked"
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


@frozen
class Taken:
    """What a post came to.

    Attributes:
        noted: a line for each entry. mind: what is to be known about it besides, as a terminal
            says it. more: what another post would say to set it right, or nothing. line: of the
            journal, the last that was written; 0 where none was.
    """

    noted: Sequence[str]
    mind: Sequence[str] = ()
    more: Mapping[str, str] = {}
    line: int = 0


def take_in(where: Where, post: Post) -> Taken:
    """Notes what a post says, and says what was noted; what came before is noted once.

    Raises:
        AskError: it contradicts what was noted, or puts fry among fish that eat them.
        DoubtError: it cannot be by all that is known.
        LivefoodError: something else is wrong. Nothing was recorded.
    """
    path, sure = answers_path(where.path), post.text("sure") == "1"
    with recording.writing(where) as book:
        answers = read_answers(path, book.room.timezone)
        before = next((a for a in answers if a.id == post.id), None)
        if before is not None:
            noted = book.note(before.missing(book.journal), sure=sure)
        else:
            made = tuple(_made(book, post, answers))
            if not sure:
                _ask_of_company(book, made)
            first = len(book.journal.entries)
            noted = book.note(made, sure=sure, ahead=lambda entries: append_answer(
                path, Answer(post.id, book.now, post.by, entries, first)
            ))  # fmt: skip
        written = book.written(noted)
        lines = [line_of(entry, book.room) for entry in written]
        last = max((entry.line for entry in written), default=0)
        return _minded(Taken(lines, [*noted.edits], line=last), written, book)


def _ask_of_company(book: Book, made: Sequence[Entry]) -> None:
    """Asks before fry come into a tank with much larger fish, moved there or spawned.

    Raises:
        AskError: they would be.
    """
    if not any(entry.event in ("move", *DATED) for entry in made):
        return
    before = book.present(book.now, pending=True)
    entries = sorted([*before.entries, *made], key=lambda entry: entry.when)
    after = present(book.room, entries, before.record, book.now)
    texts = [*newly_unequal(before.room, after.room, book.now)]
    if texts:
        raise AskError(f"Nothing is noted yet. If so, {' '.join(texts)}", {"sure": "1"})


def _minded(taken: Taken, written: Sequence[Entry], book: Book) -> Taken:
    """With what a count says that is far from usual, and how it is kept apart."""
    counts = [entry for entry in written if entry.event == "hatched" and entry.other != APART]
    failed = [entry for entry in written if entry.event == "failed"]
    if not (counts or failed):
        return taken
    after, every = book.present(book.now, pending=True), (*counts, *failed)
    mind = [said for entry in every if (said := nothing_hatched(entry, after))]
    mind += [said for entry in every if (said := tin_doubted(entry, after))]
    for entry in counts:
        how = "keep it apart: the plan learns nothing of it then."
        if said := unusual_yield(entry, after, how):
            more = {"kind": "apart", "line": str(entry.line)}
            return evolve(taken, mind=[*taken.mind, *mind, said], more=more)
    return evolve(taken, mind=[*taken.mind, *mind])


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
        return _whole_round(book, post, when)
    if kind == "tasks":
        return _all_of(book, post, set(post.text("task").splitlines()), when)
    if kind == "undo":
        return _undone(book, post, answers, when)
    if kind == "apart":
        return _kept_apart(book, post)
    if kind == "silent":
        return _of_silent(book, post)
    if kind == "event":
        return _event(book, post, when)
    told = _told(book, post)
    if not told.opens <= when < told.closes:
        when = min(told.task.at, book.now)
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
    by = next((a.by for a in answers if a.by and known[-1]._replace(line=0) in a.entries), "")
    whose = f"on the {by}'s page" if by else "at a terminal"
    said = "; ".join(line_of(e, book.room) for e in known)
    return AskError(
        f"Something else was noted of {what} before, {whose}: {said}."
        " Yours is not noted yet.", {"over": str(known[-1].line)},
    )  # fmt: skip


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
    if what == "skip":
        return [book.skipped(told, when)._replace(when=when)]
    if what == "failed" and isinstance(task, HarvestHatch):
        return _noted(book, "failed", task.subject, when)
    if what == "done":
        return _done(book, post, told, when)
    if what in ("ordered", "cancel") and isinstance(task, Buy | Arrival):
        return _ordered(book, post, task, when)
    if what != "other":
        raise RangeError("say done, another amount, or not done")
    if not amount:
        raise _not_written(f"it was of {task.subject}")
    if task.what not in _OTHERWISE:
        raise RangeError(f"{task.subject}: no other amount can be noted for this")
    return _noted(book, _OTHERWISE[task.what], task.subject, when, amount, task.other)


def _done(book: Book, post: Post, told: ToldTask, when: datetime) -> list[Entry]:
    task, amount = told.task, post.text("amount")
    if isinstance(task, Buy | Arrival):
        if "amount" in post.form and not amount:
            raise _not_written(f"{task.item} was bought")
        return _noted(book, "bought", task.item, when, amount or f"{task.grams:g} g")
    if task.what in _DONE:
        amount = amount or post.text("fry")
        return _noted(book, _DONE[task.what], task.subject, when, amount, post.text("tank"))
    if isinstance(task, Reminder):
        raise RangeError(f"{task.subject}: there is nothing to note about this")
    ahead = task.at > book.now
    return [book.ticked(told, book.state(book.now), when if ahead else None)]


def _ordered(book: Book, post: Post, task: Buy | Arrival, when: datetime) -> list[Entry]:
    """What is ordered in place of buying it, or comes on another day, or not at all."""
    if isinstance(task, Buy):
        if not post.text("amount"):
            raise _not_written(f"{task.item} was ordered")
        amount, day = post.text("amount"), post.text("day")
        return _noted(book, "ordered", task.item, when, amount, day=day)
    key = task.id.partition("#")[0]
    order = next((o for o in book.state(book.now).orders if o.key == key), None)
    line = None if order is None else book.journal.at_line(order.line)
    if order is None or not isinstance(line, Entry):
        raise RangeError("this is not on order any more")
    back = undo_of(line, book.now)
    if post.text("what") == "cancel":
        return [back]
    if not post.text("day"):
        raise RangeError("say on which day it is to come; nothing is noted yet")
    amount, day = f"{order.grams:g} g", post.text("day")
    return [back, *_noted(book, "ordered", task.item, when, amount, day=day)]


def _not_written(what: str) -> RangeError:
    """Of a field that was sent empty: nobody can mean what was told by it."""
    return RangeError(f"write how much {what}; nothing is noted yet")


def _whole_round(book: Book, post: Post, when: datetime) -> list[Entry]:
    """All that is open of one round, done as told."""
    at = post.text("round")
    tasks = book.present(book.now, pending=True).record.tasks
    mine = {k for k, t in tasks.items() if t.round_at is not None and t.round_at.isoformat() == at}
    return _all_of(book, post, mine, when)


def _of_silent(book: Book, post: Post) -> list[Entry]:
    """What is noted of rounds of which nothing was told or noted: that nobody fed, of each as
    ``skip round --at`` does; or a word on the room at the last of them, that all was as usual.

    Raises:
        RangeError: there is a word of one by now.
    """
    if post.by == "helper":
        raise NotYoursError("this is for the keeper to note")
    wanted, fed = post.text("round").splitlines(), post.text("what") == "fed"
    silent = {r.at.isoformat(): r for r in book.present(book.now, pending=True).silent()}
    if not wanted or not silent.keys() >= {*wanted}:
        raise RangeError("this is no longer asked: something was noted of these rounds since")
    rounds = [silent[at] for at in wanted]
    if fed:
        return _noted(book, "note", "room", rounds[-1].at, words=_AS_USUAL)
    return [book.unfed(each) for each in rounds]


def _all_of(book: Book, post: Post, keys: set[str], when: datetime) -> list[Entry]:
    """All of some told tasks that is open, as ``journal done`` notes it, or ``skip``: each at its
    own time, or when it was pressed, if that was before.
    """
    found = book.present(book.now, pending=True)
    mine = [
        t for key, t in found.record.tasks.items()
        if key in keys and isinstance(t.task, Work)
        and key not in found.fates.answer and key not in found.contradicted
        and (post.by == "keeper" or isinstance(t.task, HELPERS_WORK))
    ]  # fmt: skip
    room, skips = book.state(book.now), post.text("what") == "skip"
    return [
        (book.skipped(t, t.task.at) if skips else book.ticked(t, room))._replace(
            when=min(t.task.at, when)
        )
        for t in sorted(mine, key=lambda t: t.order)
    ]


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
    whole = fates.answer.get(told.task.id)
    known = mine or ([whole] if whole is not None else [])
    if post.text("what") == "besides":
        return _besides(book, post, told, known, when)
    made = _of_tank(book, post, told, when)
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
    if what == "skip":
        return [book.skipped(told, when, tank)._replace(when=when)]
    if what not in ("done", "other"):
        raise RangeError("say done, another amount, or not done")
    foods = doses(told.lines, tank, book.room.units) if what == "other" else {}
    for food in foods:
        if f"food {food}" in post.form and not post.text(f"food {food}"):
            raise _not_written(f"{food_words(food)} tank {tank} got")
    given: list[tuple[str, ...]] = [
        (food, text, dose.unit) for food, dose in foods.items()
        if (text := post.text(f"food {food}")) and text != dose.value
    ]  # fmt: skip
    fed = broods.fed.entries
    return [entry for dose in given or [()] for entry in fed(book, tank, when, what=dose)]


def _besides(
    book: Book, post: Post, told: ToldTask, known: Sequence[Entry], when: datetime
) -> list[Entry]:
    """What ``fed TANK FOOD AMOUNT`` writes of a tank that got more than it had at a round.

    Args:
        known: what is noted of the tank, or of its whole round; none where it was fed as told.
    """
    tank, foods = post.text("tank"), doses(told.lines, post.text("tank"), book.room.units)
    more = {food: dosed(f"{text} {dose.unit}") for food, dose in foods.items()
            if (text := post.text(f"food {food}"))}  # fmt: skip
    words = post.text("words").split()
    if not (words or any(amount for amount, _ in more.values())):
        raise RangeError(f"write how much more tank {tank} got; nothing is noted yet")
    noted = {e.other: (e.amount or 0.0, e.unit) for e in known if e.event == "fed" and e.other}
    unfed = bool(known) and known[-1].event == "skip"
    made: list[Entry] = []
    if words:
        made += things.note_.entries(book, tank, book.now, words=("extra meal:", *words))
    for food in foods if unfed and more else more:
        had, unit = noted.get(food) or dosed(f"{foods[food].value} {foods[food].unit}")
        extra, its = more.get(food, (0.0, unit))
        if its != unit:
            raise RangeError(f"the {food_words(food)} that tank {tank} got is noted in {unit}, and"
                             " can be added to at the computer")  # fmt: skip
        total = f"{round((0.0 if unfed else had) + extra, 4):g} {unit}"
        made += broods.fed.entries(book, tank, when, what=(food, total))
    return made


def _undone(book: Book, post: Post, answers: Sequence[Answer], when: datetime) -> list[Entry]:
    """The entries that take a line back, if it stands, or all that one tap or command noted."""
    line = post.text("line")
    target = book.journal.at_line(whole_number(line) or 0)
    if not isinstance(target, Entry):
        raise RangeError(f"line {line} is not an entry")
    lines = together(target, book.journal, answers) if post.text("all") == "1" else [target]
    undone = book.journal.undone()
    return [_back(post, e, answers, when) for e in reversed(lines) if e.line not in undone]


def _kept_apart(book: Book, post: Post) -> list[Entry]:
    """The entries that note a count of a hatch anew, of which the plan learns nothing."""
    line = post.text("line")
    entry = book.journal.at_line(whole_number(line) or 0)
    if post.by == "helper":
        raise NotYoursError("this is for the keeper to note")
    if not isinstance(entry, Entry) or entry.event != "hatched":
        raise RangeError(f"line {line} is no count of a hatch")
    if entry.line in book.journal.undone():
        return []
    return [undo_of(entry, book.now), entry._replace(line=0, other=APART)]


def _back(post: Post, entry: Entry, answers: Sequence[Answer], when: datetime) -> Entry:
    """The entry that takes one back; a helper's page takes back only its own."""
    own = {e for a in answers if a.by == post.by for e in a.entries}
    if post.by == "helper" and entry._replace(line=0) not in own:
        raise NotYoursError("only what this page noted can be taken back here")
    return undo_of(entry, when)


def _event(book: Book, post: Post, when: datetime) -> list[Entry]:
    """Something noted of a thing of the room, whatever was told."""
    name, words, day = post.text("event"), post.text("words"), post.text("day")
    if post.by == "helper" and name not in _HELPERS:
        raise NotYoursError("this is for the keeper to note")
    if name == "note" and not words:
        raise RangeError("write a few words first")
    if name == "fed":  # of a round of which nothing was told
        when = recording.moment_of(book, SPOKEN.read(post.text("round")))
    if day and name not in ("planned", "ordered", "away") and DAY.read(day) <= when.date():
        if DAY.read(day) < when.date():  # as --at has it
            when = recording.moment_of(book, SPOKEN.read(day))
        day = ""
    if name in _BEGINNINGS:
        return _begun(book, post, when, day)
    if name == "away":
        return _gone(book, post, when)
    subject, amount, other = (post.text(each) for each in ("subject", "amount", "other"))
    return _noted(book, name, subject, when, amount, other, words, day)


def _gone(book: Book, post: Post, when: datetime) -> list[Entry]:
    """What is noted of days away."""
    day, only, who = (post.text(each) for each in ("day", "only", "other"))
    if not day or who not in ("nobody", "helper"):
        raise RangeError("say from which day on, and who feeds; nothing is noted yet")
    last = f"{post.text('end') or day} {post.text('until')}"
    return things.away.entries(
        book, "", when, days=(f"{day} {post.text('since')} to {last}",), helper=who == "helper",
        rounds=(only,) if only else (), foods=(),
    )  # fmt: skip


def _begun(book: Book, post: Post, when: datetime, day: str) -> list[Entry]:
    """What is noted of a brood that may be new: with its tank, its class and how many."""
    name, amount, chance = post.text("event"), post.text("amount"), post.text("chance")
    if name == "planned" and not day:
        raise RangeError("say on which day it is expected; nothing is noted yet")
    if name != "planned" and day:
        raise RangeError("that day is still to come: what is to spawn then is expected")
    count = number(1, 1e6, whole=True).read(amount) if amount else None
    told: dict[str, Any] = {"words": (post.text("subject"),), "tank": post.text("other"),
                            "fry_class": post.text("class"), "count": count}  # fmt: skip
    if name == "planned":
        told |= {"day": AHEAD.read(day), "chance": CHANCE.read(f"{chance} %") if chance else None}
    return _BEGINNINGS[name].entries(book, "", when, **told)


def _noted(
    book: Book, event: str, subject: str, when: datetime, amount: str = "", other: str = "",
    words: str = "", day: str = "",
) -> list[Entry]:  # fmt: skip
    """What an event's own command would record."""
    word = (amount,) if amount else ()
    some = amount or None
    fry: dict[str, Any] = {"fry": amount or None}
    gone = {**fry, "every": other == "all"}
    known: dict[str, tuple[EventCommand, dict[str, Any]]] = {
        "harvest": (cultures.harvest, {"amount": word}),
        "set": (cultures.set_hatch, {"amount": word}),
        "hatched": (cultures.hatched, {"nauplii": some}),
        "failed": (things.failed, {}), "discard": (cultures.discard, {}),
        "split": (cultures.split, {"new": other or None, "starter": some}),
        "count": (broods.count_, {"amount": word}), "length": (broods.length_, {"length": word}),
        "move": (broods.move, {"tank": other, **fry}), "lid": (broods.lid, {}),
        "merge": (broods.merge, {"other": other}),
        "sold": (broods.sold, gone), "died": (broods.died, gone), "lost": (broods.lost, gone),
        "leftover": (broods.leftover, {"much": other}), "fed": (broods.fed, {"what": ()}),
        "free_swimming": (broods.free_swimming, fry), "not_swimming": (broods.not_swimming, {}),
        "eggs_hatched": (broods.eggs_hatched, fry), "drop": (broods.drop, {}),
        "wetted": (broods.wetted, {**fry, "day": AHEAD.read(day) if day else None}),
        "temperature": (things.temperature, {"degrees": word}),
        "note": (things.note_, {"words": tuple(words.split())}),
        "bought": (things.bought, {"what": subject, "amount": word}),
        "used": (things.used, {"what": subject, "amount": word}),
        "ordered": (things.ordered, {"what": subject, "amount": word,
                                     "day": AHEAD.read(day) if day else None}),
    }  # fmt: skip
    if event not in known:
        raise RangeError("this form is unknown; load the page again")
    command, given = known[event]
    when = book.now if event == "merge" else when  # however long the tap waited
    return command.entries(book, subject, when, words if event == "fed" else "", **given)
