"""The room at any moment: its file, and what was done up to then."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from datetime import UTC, datetime, timedelta

from attrs import evolve, field, frozen

from cultures.fry.classes import FryClass
from cultures.journal.events import Entry, begins, day_ahead
from cultures.needs.need import round_after
from cultures.replay.broods import Broods
from cultures.replay.cultures import Cultures
from cultures.replay.doubts import dose_doubt, purchase_doubt, stock_doubt
from cultures.replay.hatches import Hatches
from cultures.replay.meals import Meals
from cultures.replay.observations import Observations
from cultures.replay.own_values import OwnValues, with_own_values
from cultures.replay.shared import Deed, Shared
from cultures.replay.shared import Step as Step
from cultures.replay.stocks import CYSTS, Stocks
from cultures.replay.worms import Life
from cultures.room.orders import Order
from cultures.room.room import Cysts, Room, by_certainty
from cultures.tasks.task import Arrival, Buy, HarvestWorms, Split
from cultures.tasks.told import Draw, FeedLine
from cultures.words.grouped import by_key
from cultures.words.moments import hours
from cultures.words.quantities import food_words, plain

#: Entries to which only the hour matters, not the local day.
_BY_THE_HOUR = frozenset(
    {"harvest", "hatched", "set", "discard", "bought", "used", "fed", "skip", "failed"}
)
#: Harvests older than this neither teach nor tell of what stands now.
_FORGOTTEN = timedelta(days=400)


@frozen
class Replayed:
    """A room at a moment, and what the journal showed on the way.

    ``doubts``: entries not recorded yet (line 0) that say what cannot be, and why not.
    ``contradicted``: ids of told tasks that cannot have been done as told; ``unfed``: of
    feedings for which the nauplii were not there; ``missed``: of those told of a jar that was not
    there. ``drawn``: what each feeding took of which jar; ``few``: its lines where far fewer
    nauplii were known to be there than told. ``lives``: cultures with all done to
    them. ``grown``: what is known of the meals of its broods, which :meth:`as_fed` makes use of.
    """

    room: Room
    seen: Observations
    doubts: tuple[tuple[Entry, str], ...] = ()
    contradicted: frozenset[str] = frozenset()
    unfed: frozenset[str] = frozenset()
    missed: frozenset[str] = frozenset()
    drawn: Mapping[str, tuple[Draw, ...]] = field(factory=dict, repr=False)
    few: Mapping[str, tuple[FeedLine, ...]] = field(factory=dict, repr=False)
    lives: Mapping[str, Life] = field(factory=dict, repr=False)
    grown: Broods | None = field(default=None, repr=False)

    def as_fed(self) -> Replayed:
        """The same with each brood as large as its meals have made it."""
        if self.grown is None:
            return self
        broods = tuple(map(self.grown.with_meals, self.room.broods))
        return evolve(self, room=evolve(self.room, broods=broods))


def noted_steps(entries: Iterable[Entry], now: datetime) -> list[Step]:
    """Entries up to ``now`` as steps, without the harvests of years ago."""
    now = now.astimezone(UTC)  # whose offset is looked up soonest
    old = now - _FORGOTTEN
    return [
        Step(e) for e in entries
        if (e.when > old or e.event not in ("harvest", "hatched")) and e.when <= now
    ]  # fmt: skip


def replay(room: Room, steps: Sequence[Step], now: datetime, own_values: OwnValues) -> Replayed:
    """Carries the room file through all that was done, in the order given, up to ``now``."""
    plain = {b.name: b.fry_class for b in room.every_brood}
    as_of_h = hours(room.true_at)
    room = with_own_values(room, own_values)
    shared = Shared(
        now=now.astimezone(room.timezone),
        as_of_h=as_of_h,
        stated_h=as_of_h if room.as_of_stated else -math.inf,
        first_h=hours(steps[0].entry.when) if steps else None,
        stocks=Stocks.of(room, as_of_h),
    )
    run = _Replay(room, shared, own_values, plain, _begun_later(steps), _thrown_out(steps))
    for step in steps:
        run.do(step)
    return run.result()


def _begun_later(steps: Sequence[Step]) -> frozenset[str]:
    """Ids of told beginnings whose culture was begun later, as is noted.

    A label stands on one box: where the next that is noted of it is that it was begun, it was
    not begun before as told (the note that it was not may have been taken back).
    """
    told = {begins(s.entry): s for s in steps if s.presumed and s.told is not None}
    told.pop("", None)
    found: set[str] = set()
    for step in steps if told else ():
        label = begins(step.entry)
        mine = told.get(label or step.entry.subject)
        if mine is None or step.presumed or mine.told is None:
            continue
        if step.entry.when >= mine.entry.when:
            if label:
                found.add(mine.told.task.id)
            del told[label or step.entry.subject]
    return frozenset(found)


def _thrown_out(steps: Sequence[Step]) -> frozenset[str]:
    """Ids of told harvests and splits whose culture went out of the room while they were in hand.

    Who was not told to throw it out found it bad, and took nothing of it, unless that is noted.
    """
    ends = [s.entry for s in steps if s.entry.event in ("discard", "failed") and s.told is None]
    gone = by_key(ends, lambda entry: entry.subject)
    return frozenset(
        step.told.task.id for step in steps
        if step.presumed and step.told is not None
        and isinstance(step.told.task, HarvestWorms | Split)
        and any(step.told.task.at <= entry.when < step.told.over_at
                for entry in gone.get(step.told.task.subject, ()))
    )  # fmt: skip


def _of_told(deed: Deed) -> str:
    """How much of what a tank got of a food was told for its round, where it got more."""
    entry, lines = deed.entry, () if deed.told is None else deed.told.lines
    told = sum(x.amount for x in lines
               if (x.tank, x.food, x.unit) == (entry.subject, entry.other, entry.unit))  # fmt: skip
    more = 0.0 < told < (entry.amount or 0.0)
    return f" in all, {told:g} {entry.unit} of it told for the round" if more else ""


class _Replay:
    """The state while steps are taken one by one."""

    def __init__(
        self, room: Room, shared: Shared, own_values: OwnValues, plain: dict[str, FryClass],
        begun_later: Set[str], thrown_out: Set[str],
    ) -> None:  # fmt: skip
        self.room, self.shared = room, shared
        self.begun_later, self.thrown_out = begun_later, thrown_out
        self.cultures, self.hatches = Cultures(room, shared), Hatches(room, shared)
        self.meals = Meals(room)
        self.broods = Broods(
            room, shared, {b.name: b for b in room.every_brood}, plain,
            own_values.growth, self.meals,
        )  # fmt: skip
        self.unknown: dict[str, list[int]] = {}
        self.doubts: list[tuple[Entry, str]] = []
        self.contradicted: set[str] = set()
        self.not_before: dict[str, datetime] = {}
        self.remarks: dict[str, list[tuple[datetime, str]]] = {}
        #: Those of what a tank got at a told round, by tank and round, then by food.
        self.meal_remarks: dict[tuple[str, str], dict[str, tuple[datetime, str]]] = {}
        broods, cultures, hatches = self.broods, self.cultures, self.hatches
        #: What takes in each event; each says whether its subject is known.
        self.handlers: Mapping[str, Callable[[Deed], bool]] = {
            **dict.fromkeys(broods.handlers, broods.handle),
            "split": cultures.split, "start": cultures.start, "discard": cultures.discard,
            "harvest": self._either(hatches.draw_off, cultures.harvest),
            "failed": self._either(hatches.failed, cultures.discard),
            "set": hatches.set, "hatched": hatches.draw_off,
            "fed": self._fed, "count": self._count,
            "temperature": self._temperature, "bought": self._bought, "used": self._used,
            "ordered": self._ordered,
            "skip": self._skip, "note": self._note, "leftover": self._leftover,
            **dict.fromkeys(("lid", "sorted"), self._seen_to),
            "learn": self._learn,
            "away": lambda _: True,  # of which the room was told before all others
        }  # fmt: skip

    def do(self, step: Step) -> None:
        """Takes in one step."""
        entry, at = step.entry, step.entry.when
        if entry.event not in _BY_THE_HOUR:
            at = at.astimezone(self.room.timezone)
        deed = Deed(entry, at, hours(at), step.told, step.presumed)
        if entry.line == 0 and not step.presumed:
            doubt = self._doubt(deed._replace(at=at.astimezone(self.room.timezone)))
            if doubt is not None:
                self.doubts.append((entry, doubt))
        if step.presumed and not self._may_be(step):
            if step.told is not None:
                self.contradicted.add(step.told.task.id)
                if step.told.task.id in self.thrown_out:
                    self.meals.untaken_of(step.told)
            return
        known = self.handlers[entry.event](deed)
        if not known and deed.at_h >= self.shared.as_of_h and not step.presumed:
            self.unknown.setdefault(entry.subject, []).append(entry.line)

    def _may_be(self, step: Step) -> bool:
        """Whether a told task can have been done as told, by what is known of its subject."""
        entry = step.entry
        if step.told is not None and step.told.task.id in self.begun_later | self.thrown_out:
            return False
        hatched = entry.event == "harvest" and entry.subject in self.hatches.vessels
        if entry.event == "set" or hatched:
            return self.hatches.may_be(entry, step.told)
        return entry.event == "fed" or self.cultures.may_be(entry, step.told)

    def _doubt(self, deed: Deed) -> str | None:
        """Why an entry cannot be true by all that is known, or None."""
        entry, brood = deed.entry, self.broods.now.get(deed.entry.subject)
        if entry.subject in self.hatches.vessels:
            return self.hatches.doubt(entry, deed.at, deed.told)
        if brood is not None and deed.at_h >= self.shared.stated_h:
            return self.broods.doubt(entry, brood, deed.at)
        if entry.event == "temperature" and deed.at_h >= self.shared.stated_h:
            return self.cultures.warmth_doubt(entry)
        if entry.event == "used":
            return stock_doubt(entry, self.shared.stocks.left_g(entry.subject, deed.at_h))
        if entry.event == "bought":
            return purchase_doubt(entry, self._known_g(deed))
        if entry.event == "fed":
            return dose_doubt(entry, deed.told) if deed.told is not None else None
        return self.cultures.doubt(deed) if entry.event in ("harvest", "count", "split") else None

    def _known_g(self, deed: Deed) -> Iterator[float]:
        """How much of what was bought is left, is on order, and was told to be bought [g]."""
        stocks, task = self.shared.stocks, deed.told.task if deed.told is not None else None
        yield stocks.left_g(deed.entry.subject, deed.at_h) or 0.0
        yield from (order.ordered_g for order in stocks.orders if order.item == deed.entry.subject)
        if isinstance(task, Buy | Arrival):
            yield task.grams

    # --- entries that may be about one thing or another

    def _either(
        self, of_vessel: Callable[[Deed], bool], of_culture: Callable[[Deed], bool]
    ) -> Callable[[Deed], bool]:
        vessels = self.hatches.vessels
        return lambda deed: (of_vessel if deed.entry.subject in vessels else of_culture)(deed)

    def _count(self, deed: Deed) -> bool:
        entry = deed.entry
        unit = entry.unit
        if not unit:
            unit = "nauplii" if entry.subject in self.hatches.vessels else "fry"
            unit = "worms" if unit == "fry" and entry.subject in self.cultures.lives else unit
        if unit == "nauplii":
            return self.hatches.count(deed)
        if unit in ("worms", "mg"):
            return self.cultures.count(deed, unit)
        if unit == "g":
            self.shared.stocks.stand(entry.subject, entry.amount or 0.0, deed.at_h)
            return self.shared.stocks.knows(entry.subject)
        return self.broods.handle(deed)

    def _temperature(self, deed: Deed) -> bool:
        assert deed.entry.amount is not None
        degrees, name, at_h = deed.entry.amount, deed.entry.subject, deed.at_h
        if at_h < self.shared.stated_h:
            return True
        tank = self.broods.tanks.get(name)
        if name == "room":
            self.cultures.air_stands_at(degrees, at_h)
        elif name in self.cultures.lives:
            self.cultures.stands_at(name, degrees, at_h)
        elif name in self.hatches.vessels:
            self.hatches.stands_at(name, degrees, deed.at)
        elif tank is not None:
            self.broods.tank_stands_at(tank, degrees, at_h)
        else:
            return self.cultures.knows(name)
        return True

    # --- stocks, and what is only said

    def _stock(self, deed: Deed) -> str:
        """The stock that an entry is about: cysts are called by their kind too."""
        name = deed.entry.subject
        return CYSTS if name == self.room.hatch_kind.name else name

    def _ordered(self, deed: Deed) -> bool:
        name, grams = self._stock(deed), deed.entry.amount or 0.0
        if self.shared.stocks.knows(name):
            day, line = day_ahead(deed.entry), deed.entry.line
            self.shared.stocks.order(Order(name, grams, grams, deed.at.date(), day, line=line))
        return self.shared.stocks.knows(name)

    def _bought(self, deed: Deed) -> bool:
        name = self._stock(deed)
        if name == CYSTS:
            self.shared.seen.bought_h.append(deed.at_h)
        self.shared.stocks.buy(name, deed.entry.amount or 0.0, deed.at_h)
        return self.shared.stocks.knows(name) or name in self.room.kinds

    def _used(self, deed: Deed) -> bool:
        self.shared.stocks.use(deed.entry.subject, deed.entry.amount or 0.0, deed.at_h)
        return self.shared.stocks.knows(deed.entry.subject)

    def _skip(self, deed: Deed) -> bool:
        """A told task that was not done: not to be asked for again before the next round."""
        entry, life = deed.entry, self.cultures.lives.get(deed.entry.subject)
        what = entry.other.partition("/")[0]
        moment = max(entry.when, deed.told.due_at if deed.told is not None else entry.when)
        again = round_after(self.room, hours(moment)).at
        if what in ("set_hatch", "harvest_hatch"):
            self.not_before[entry.subject] = again
        elif what == "split" and life is not None:
            self.not_before[life.culture.kind.name] = again
        elif what == "feed":
            self._unfed(deed)
        self.meals.skipped(deed)
        return True

    def _unfed(self, deed: Deed) -> None:
        """A tank got nothing at a round, or no tank did."""
        tank = deed.entry.subject if deed.entry.subject in self.broods.tanks else ""
        if tank:
            self._remark_meal(deed, "not fed")
        for brood in self.broods.now.values() if deed.told is None else ():
            if tank in ("", brood.tank):
                self.meals.missed(brood.name, deed.at_h)

    def _fed(self, deed: Deed) -> bool:
        """A round, or one tank of it; what a tank got otherwise than told is remarked."""
        entry = deed.entry
        if entry.other:
            much = f"{plain(entry.amount or 0.0, 6)} {entry.unit}"
            self._remark_meal(
                deed, f"fed {much} of {food_words(entry.other)}{_of_told(deed)}", entry.other
            )
        known = self.hatches.fed(deed)
        if deed.told is None:
            for brood in self.broods.now.values():
                if brood.tank == entry.subject:
                    self.meals.visited(brood.name, deed.at_h)
        else:
            came = self.hatches.came.get(deed.told.task.id, 1.0)
            few = self.hatches.few.get(deed.told.task.id, ())
            self.meals.fed(deed, nauplii=came, fry=self.broods.fry(deed.told), few=few)
        return known

    def _note(self, deed: Deed) -> bool:
        return self._remark(deed, deed.entry.note)

    def _seen_to(self, deed: Deed) -> bool:
        """What changes nothing that a plan knows of, but that it is not asked for again."""
        return deed.entry.subject in self.broods.now

    def _leftover(self, deed: Deed) -> bool:
        if deed.entry.other != "none":
            self._remark(deed, f"{deed.entry.other} was left over")
            self.meals.leftover(deed)
        return deed.entry.subject in self.broods.now

    def _remark_meal(self, deed: Deed, text: str, food: str = "") -> None:
        """What was noted of a tank at a told round takes the place of what was noted before of that
        food, or of all of it.

        Args:
            food: that the tank got; "" where it got none.
        """
        self._remark(deed, text)
        if deed.told is None:
            return
        rows, key = self.remarks[deed.entry.subject], (deed.entry.subject, deed.told.task.id)
        said = self.meal_remarks.setdefault(key, {})
        for old in [each for each in said if not food or each in ("", food)]:
            rows.remove(said.pop(old))
        said[food] = rows[-1]

    def _remark(self, deed: Deed, text: str) -> bool:
        at = deed.at.astimezone(self.room.timezone)
        self.remarks.setdefault(deed.entry.subject, []).append((at, text))
        return True

    def _learn(self, deed: Deed) -> bool:
        off, subject = self.shared.seen.off, deed.entry.subject
        if deed.entry.other == "off":
            off.add(subject)
        elif subject == "all":
            off.clear()
        else:
            off.discard(subject)
        return True

    def result(self) -> Replayed:
        """The room at ``now``."""
        cultures, broods, shared = self.cultures.result(), self.broods.now.values(), self.shared
        for subject, lines in self.unknown.items():
            several = f"{len(lines)} lines from {lines[0]} on"
            where = several if len(lines) > 1 else f"line {lines[0]}"
            shared.notes.append(
                f"Journal {where}: '{subject}' is not in the room file (any more); not used."
            )
        shared.notes.extend(shared.stocks.remarks(self.room))
        cysts = self.room.cysts
        if cysts is not None or shared.stocks.bought:
            cysts = evolve(cysts or Cysts(0.0), grams=max(0.0, shared.stocks.grams[CYSTS]))
        stated = self.room.as_of if self.room.as_of_stated else None
        vessels, hatches = self.hatches.still_there()
        certain, hoped, waiting = by_certainty(broods, shared.until)
        room = evolve(
            self.cultures.room, tanks=tuple(self.broods.tanks.values()),
            broods=certain, hoped=hoped, waiting=waiting, cultures=cultures,
            coming=tuple(filter(self.cultures.is_to_come, self.room.coming)),
            gone=dict.fromkeys(self.unknown, "")
            | {name: culture.kind.name for name, (culture, _) in self.cultures.gone.items()},
            vessels=vessels, hatches=hatches, held=self.hatches.still_held(),
            given_up=self.hatches.given_up(),
            cysts=cysts, stock_g=shared.stocks.stated(), not_before=self.not_before,
            orders=shared.stocks.on_order(shared.now.date(), stated),
            remarks={name: tuple(rows) for name, rows in self.remarks.items()},
            notes=tuple(shared.notes),
        )  # fmt: skip
        return Replayed(
            room, shared.seen, tuple(self.doubts), frozenset(self.contradicted),
            self.hatches.unfed(), frozenset(self.hatches.missed), self.hatches.drawn_of,
            self.hatches.few, self.cultures.lives, self.broods,
        )  # fmt: skip
