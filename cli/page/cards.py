"""Rounds, steps, tanks and tasks as the cards that the page shows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import evolve, frozen

from cli.page.desk import Look
from cli.page.wording import on_page
from cli.screens.care import cautions_of, is_fresh
from cli.screens.entry import amount_text, not_as_told, of_tank
from cli.screens.feeding import (
    bare_words,
    feed_rows,
    first_meals,
    food_heads,
    lost_words,
    overtaken_words,
)
from cli.screens.salt_and_jars import all_steps
from cli.screens.shown import harvests_ahead
from cli.screens.signs import signs
from cli.screens.today import after_round, failed_hatches
from cultures.foods.food import DRY
from cultures.journal.entries import Entry
from cultures.needs.meals import past_saving
from cultures.needs.need import rounds_between
from cultures.planning.notes import endangered
from cultures.planning.plan import tasks_of
from cultures.planning.preparation import Step, dose_phrase
from cultures.tasks.task import (
    Arrival,
    Buy,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    SetHatch,
    Split,
    Task,
)
from cultures.tasks.told import EARLY, FeedLine, ToldTask
from cultures.words.grouped import together
from cultures.words.moments import clock_text, hours, when
from cultures.words.quantities import OUNCE_G, food_words, in_units, number
from cultures.words.tasks import begun, left_out, plain, task_phrase, task_text, wet_ml, why_text
from cultures.words.text import capital, listed
from cultures.words.units import DRAW_ML


@frozen
class Other:
    """The stepper of another amount: what stands in it, the unit beside it, and its step.

    Attributes:
        named: what is asked, as a screen reader says it. value: "" where nothing is suggested.
    """

    named: str
    value: str
    unit: str
    step: float


@frozen
class Card:
    """One thing to do, with what may be answered and what was.

    Attributes:
        key: the id of the told task, "" where there is nothing to answer. at: the clock.
        said: what was answered, "" while it is open. line: of the journal, which holds it.
        done: what the first answer says. other: the second; None where no amount can differ.
        fails: a hatch that can have failed. asks: ``count`` or ``move``, which need a number or a
            tank to be done. open: answers are taken now. short, brief: what it is about, in a line
            and in a few words. orders: ``new`` of what may be ordered, ``moved`` of what was.
            larvae: broods that first eat, and may not swim yet.
    """

    key: str
    at: str
    text: str
    why: str = ""
    cautions: Sequence[str] = ()
    said: str = ""
    line: int = 0
    done: str = "Done"
    other: Other | None = None
    fails: bool = False
    asks: str = ""
    open: bool = True
    short: str = ""
    brief: str = ""
    orders: str = ""
    larvae: Sequence[str] = ()


@frozen
class TankCard:
    """One tank of a round.

    Attributes:
        doses: (food, amount) of each brood, by its name. said: what was noted of it, or "".
        others: another amount of each food, by the food. notes: on it or its broods, of the last
            two days. first: of broods that are to be fed before all others, why.
    """

    tank: str
    broods: Sequence[tuple[str, Sequence[tuple[str, str]]]]
    said: str = ""
    others: Mapping[str, Other] = {}
    notes: Sequence[str] = ()
    first: Sequence[str] = ()


#: How what was noted of a feeding begins where tanks were left out.
_BUT_NOT = "done, but not in "


@frozen
class RoundView:
    """A round as cards.

    Attributes:
        at: its time, as posts name it. head: for people. feed: its feeding, with its answer.
        open: it may be answered; opens: from when on. left: steps and tanks that are not answered.
        skipped: what is left out of it, or "". unfed: nobody is there to feed.
        ahead: when fry first eat, where none do yet.
    """

    at: str
    head: str
    steps: Sequence[Card]
    tanks: Sequence[TankCard]
    feed: Card | None
    open: bool
    opens: str
    lost: Sequence[str] = ()
    skipped: str = ""
    unfed: bool = False
    ahead: str = ""

    @property
    def left(self) -> int:
        """So many answers are open."""
        steps = sum(1 for c in self.steps if c.key and not c.said)
        fed = self.feed is None or bool(self.feed.said)
        return steps + (0 if fed else sum(1 for t in self.tanks if not t.said))

    @property
    def fed(self) -> str:
        """What was noted of its tanks as a whole, as a tank of which nothing else was says it."""
        said = self.feed.said if self.feed is not None else ""
        return "done" if said.startswith(_BUT_NOT) else said


def round_view(
    look: Look, at: datetime, tasks: Sequence[Task] | None = None,
    words: Mapping[str, str] | None = None,
) -> RoundView:  # fmt: skip
    """The cards of one round, steps in the order of doing and tanks in that of the walk.

    Args:
        tasks: those that may be shown; None for all. words: what to say of tasks, by id, to
            somebody who has never done them and gets dry food in twists.
    """
    outlook, now = look.outlook, look.setting.now
    mine = tasks_of(outlook) if tasks is None else tasks
    steps = all_steps(outlook, mine, at)
    first = min((s.at for s in steps), default=at)
    opens = first - EARLY
    feed = next((t for t in mine if isinstance(t, Feed) and t.at == at), None)
    lines = next((row for time, row in outlook.rows() if time == at), ())
    tools, units = outlook.room.tools, outlook.room.units
    cards = [
        Card("", clock_text(s.at, units), plain(begun(s.text))) if s.task is None
        else _first_foods(look, group) if group[1:]
        else evolve(
            _card(look, s.task, (words or {}).get(s.task.id) or plain(begun(s.text)),
                  clock_text(s.at, units), open_=opens <= now),
            larvae=_larvae([s.task]) if words is None else (),
        )
        for group in together(steps, lambda step: _alike(step, words)) for s in group[:1]
    ]  # fmt: skip
    # A hatch that was counted before its round is not among the round's steps any more.
    shown = {t.id for t in mine}
    cards[:0] = [
        _card(look, t, "", clock_text(t.at, units))
        for t in look.answered_for(at) if t.id not in shown
    ]  # fmt: skip
    told = _card(look, feed, task_text(feed, tools), clock_text(at, units)) if feed else None
    given = [line for line in lines if line.amount > 0]
    said = outlook.room.fed_tanks.get(feed.id, {}) if feed else {}
    tanks = _tanks(look, given, said, now, twists=words is not None)
    besides = (
        left_out(lines),
        *overtaken_words(outlook, at),
        bare_words(outlook, at, command=False),
    )
    return RoundView(
        at.isoformat(), f"Round {clock_text(at, units)}", cards, tanks, told, opens <= now,
        clock_text(opens, units) if opens.date() == now.date() else when(opens, units),
        [capital(text) for text in (*lost_words(outlook, at), *failed_hatches(outlook, at, lines))],
        ". ".join(capital(text) for text in besides if text),
        any(r.at == at and not r.fed for r in outlook.feedings),
        "" if lines else first_meals(outlook),
    )  # fmt: skip


def _alike(step: Step, words: Mapping[str, str] | None) -> tuple[object, ...]:
    """What steps have in common that are one card: first foods of one round, for one reason."""
    if isinstance(step.task, FirstFood) and words is None:
        return step.at, step.task.why
    return (id(step),)


def _first_foods(look: Look, steps: Sequence[Step]) -> Card:
    """Broods that first eat at one round, with what is said of them all said once."""
    units = look.outlook.room.units
    tasks = [step.task for step in steps if isinstance(step.task, FirstFood)]
    broods = listed([f"{task.subject} in {task.other}" for task in tasks])
    text = f"First food today for {broods}. {why_text(tasks[0], units)}"
    return Card(
        "", clock_text(steps[0].at, units), text, "", cautions_of(tasks), larvae=_larvae(tasks)
    )


def _larvae(tasks: Iterable[Task]) -> tuple[str, ...]:
    """The broods of which it can be noted at their first food that they do not swim yet."""
    return tuple(t.subject for t in tasks if isinstance(t, FirstFood) and not t.spawns)


def _tanks(
    look: Look, lines: Sequence[FeedLine], said: Mapping[str, Sequence[Entry]], now: datetime,
    *, twists: bool,
) -> list[TankCard]:  # fmt: skip
    room = look.outlook.room
    heads = food_heads(lines)
    found: dict[str, list[tuple[str, list[tuple[str, str]]]]] = {}
    for tank, brood, given in feed_rows(lines):
        given_doses = [
            ("dry food", "its twist") if twists and x.food == DRY
            else (head, plain(dose_phrase(x, lines, room.tools)))
            for head, x in zip(heads, given, strict=True) if x is not None
        ]  # fmt: skip
        found.setdefault(tank, []).append((brood, given_doses))
    measured = [x for x in lines if not (twists and x.food == DRY)]
    first = fed_first(look)
    return [
        TankCard(tank, broods, ", ".join(of_tank(e, room) for e in said.get(tank, ())),
                 doses(measured, tank, room.units),
                 _remarks(look, [tank, *(name for name, _ in broods)], now),
                 [first[name] for name, _ in broods if name in first])
        for tank, broods in found.items()
    ]  # fmt: skip


def fed_first(look: Look) -> dict[str, str]:
    """Of each brood in danger, the one with the least time first: what is to be done, and why."""
    room, now = look.outlook.room, look.setting.now
    return {
        course.brood.name: f"Feed {course.brood.name} first, little and often: without food half of"
        f" them are past saving {in_units(past_saving(course, hours(now)), room.units)}"
        for course in endangered(room, now)
    }


def _remarks(look: Look, names: Iterable[str], now: datetime) -> list[str]:
    remarks = look.outlook.room.remarks
    return [
        f"{text} ({when(at, look.outlook.room.units)})"
        for name in dict.fromkeys(names)
        for at, text in remarks.get(name, ())[-1:]
        if is_fresh(look.outlook.room, at, now)
    ]


def doses(lines: Sequence[FeedLine], tank: str, units: str) -> dict[str, Other]:
    """How another amount of each food of a tank is asked for, in the unit of its dose."""
    found = {}
    for food in dict.fromkeys(x.food for x in lines if x.tank == tank and x.amount > 0):
        named = f"{food_words(food).capitalize()} in tank {tank}"
        amount = sum(x.amount for x in lines if (x.tank, x.food) == (tank, food))
        each = [wet_ml(x, lines) for x in lines if (x.tank, x.food) == (tank, food)]
        ml = sum(x or 0.0 for x in each) if food == DRY else amount
        if food == DRY and None in each:
            found[food] = mass(named, amount, units, 0.05)
        else:
            found[food] = Other(named, f"{ml:g}", "mL", 1 if ml % 5 or ml <= 20 else 5)
    return found


@frozen
class LastRound:
    """The round of a room that was last, and what an extra meal after it is besides.

    Attributes:
        at: its time. told: by tank, the feeding that was told for it at that round, or at the one
            ahead where it is fed already.
    """

    at: datetime
    told: Mapping[str, ToldTask]


def last_round(look: Look) -> LastRound:
    """What each tank was told to get last."""
    room, now = look.outlook.room, look.setting.now
    at = max(r.at for r in rounds_between(room, now - timedelta(days=2), now))
    every = look.setting.present.record.tasks.values()
    feeds = [t for t in every if isinstance(t.task, Feed) and t.task.at >= at]
    return LastRound(at, {
        tank: told for told in sorted(feeds, key=lambda t: t.order) for tank in told.tanks
        if told.task.at <= now or told.task.id in room.answered
        or tank in room.fed_tanks.get(told.task.id, {})
    })  # fmt: skip


def task_cards(look: Look, tasks: Iterable[Task], *, open_: bool = True) -> list[Card]:
    """Tasks besides a round as cards, in their order.

    Args:
        open_: they may be answered.
    """
    outlook, now = look.outlook, look.setting.now
    units, tools = outlook.room.units, outlook.room.tools
    return [
        _card(look, t, plain(begun((after_round(t, outlook, look.rounds), *task_phrase(t, tools)))),
              clock_text(t.at, units) if t.at.date() == now.date() else when(t.at, units),
              why=on_page(why_text(t, units)), open_=open_)
        for t in tasks
    ]  # fmt: skip


@frozen
class Going:
    """What is to be set going, on the page of the round.

    Attributes:
        now: cards of what is to be set going now, apart from a round that is shown; said: of what
            of that was answered today. with_round: cards of what goes with a round, by its time as
            posts name it; of a round that is noted, what was answered. later: what stands until the
            round after the next, in a line each.
    """

    now: Sequence[Card]
    said: Sequence[Card]
    with_round: Mapping[str, Sequence[Card]]
    later: Sequence[str]


def going(look: Look, rounds: Sequence[RoundView]) -> Going:
    """What is to be set going around the rounds that are shown.

    Args:
        rounds: those, and those of the day that are noted.
    """
    outlook, units, tools = look.outlook, look.outlook.room.units, look.outlook.room.tools
    with_round = dict[str, list[Card]]()
    answered = look.answered_today()
    for r in rounds:
        at = datetime.fromisoformat(r.at)
        said = [t for t in answered if t.at == at]
        left = look.set_with(at) if at in look.rounds else []
        with_round[r.at] = task_cards(look, [*said, *left], open_=r.open)
        answered = [t for t in answered if t not in said]
    later = [f"{when(t.at, units)}: {task_text(t, tools)}" for t in look.set_later()]
    later += harvests_ahead(tasks_of(outlook), look.rounds, outlook)
    return Going(task_cards(look, look.set_before()), task_cards(look, answered), with_round, later)


def _card(look: Look, task: Task, text: str, at: str, *, why: str = "", open_: bool = True) -> Card:
    room = look.outlook.room
    why = " ".join(filter(None, (why, _noted_of(look, task))))
    entry = room.answered.get(task.id)
    whole = entry is not None and (not isinstance(task, Feed) or entry.subject == task.subject)
    return Card(
        "" if task.what in _ONLY_SAID else task.id, at, text, why, cautions_of([task]),
        _said(entry, look, task), entry.line if entry and whole else 0,
        _DONE.get(task.what, "Done"), _other(task, look), isinstance(task, HarvestHatch),
        _ASKS.get(task.what, ""), open_, task_text(task, room.tools),
        f"{_VERBS[task.what]} {task.subject}" if task.what in _VERBS else "",
        _ORDERS.get(task.what, ""),
    )  # fmt: skip


def _noted_of(look: Look, task: Task) -> str:
    """What was noted lately of a culture that is to be harvested, and what to look for then."""
    if not isinstance(task, HarvestWorms):
        return ""
    room = look.outlook.room
    noted = _remarks(look, [task.subject], look.setting.now)
    seen = (signs(c, " ".join(noted)) for c in room.cultures if noted and c.name == task.subject)
    return on_page(in_units(". ".join(filter(None, (*noted, *seen))), room.units))


#: What is asked of orders.
_ORDERS = {"buy": "new", "arrival": "moved"}
#: What is to be set going, in a word.
_VERBS = {"set_hatch": "set", "split": "split", "start": "start", "retire": "discard"}
#: What cannot be answered.
_ONLY_SAID = ("soak", "first_food", "switch_food", "wet")
_ASKS = {"count": "count", "move_on": "move", "sort": "move", "sell": "sold"}
_DONE = {"buy": "Bought", "arrival": "They came", "retire": "Discarded", "start": "Started"}


def _said(entry: Entry | None, look: Look, task: Task) -> str:
    """What was noted of a task, in a word or two; an amount only where it is another one."""
    if entry is None:
        return ""
    if failed := not_as_told(entry):
        return failed
    room = look.outlook.room
    if isinstance(task, Feed):
        tanks = room.fed_tanks.get(task.id, {})
        unfed = [tank for tank, said in tanks.items() if any(e.event == "skip" for e in said)]
        return f"{_BUT_NOT}{listed(unfed)}" if unfed else "done"
    if entry.amount is None:
        return "done"
    amount = amount_text(entry, room)
    told = f" {amount.partition(' (')[0]} " in f"{task_text(task, room.tools)} "
    return "done" if told else f"done, {amount}"


def _other(task: Task, look: Look) -> Other | None:
    """How another amount of a task is asked for."""
    units, name = look.outlook.room.units, task.subject
    if isinstance(task, HarvestWorms):
        if task.swipes is not None:
            return Other(f"Swipes from {name}", f"{task.swipes:g}", "swipes", 0.5)
        return Other(f"Millilitres from {name}", f"{(task.draws or 0) * DRAW_ML:g}", "mL", 5)
    if isinstance(task, HarvestHatch):
        return Other(f"Nauplii counted in {name}", "", "nauplii", 0)
    if isinstance(task, SetHatch):
        return mass(f"Cysts in {name}", task.cysts_g, units, 0.1)
    if isinstance(task, Split):
        return mass(f"Starter from {name}", task.starter_g, units, 1)
    if isinstance(task, Buy | Arrival) and task.grams:
        came = "came" if isinstance(task, Arrival) else "bought"
        return mass(f"{name} {came}", task.grams, units, 10)
    return None


def mass(named: str, grams: float, units: str, step_g: float) -> Other:
    """A weight as the cards say it: under an ounce in grams in any room."""
    us = units == "us" and grams >= OUNCE_G
    value = number(grams / OUNCE_G if us else grams).replace(",", "")
    return Other(named, value, "oz" if us else "g", step_g / 10 if us else step_g)
