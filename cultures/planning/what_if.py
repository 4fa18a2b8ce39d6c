"""What would change if: a supposition in words, the room it makes, and the difference.

The grammar, one supposition a text, words in this order::

    spawn CLASS COUNT [in TANK] on DAY        CLASS may be a species, or a brood to copy
    lose NAME [on DAY]                        a culture, brood or vessel; without a day: now
    count BROOD COUNT                         it was counted now
    temperature DEGREES [of TANK] from DAY to DAY     of the air, or of one tank
    buy GRAMS cysts                           they are in the tin now
    buy KIND [on DAY]                         a starter, put on new medium; no ripe culture
    vessel LITRES [at DEGREES]                one more vessel
    warm VESSEL                               it stands in warm water from now on
    away from DAY to DAY [with helper]
    helper from DAY to DAY

Names are as in the room file, in quotes or not. Days are 2027-01-08 or "8 Jan 2027".
Quantities may have units, in quotes: "66 F", "2 qt".
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Collection, Container, Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar

from attrs import evolve, frozen

from cultures.errors import LivefoodError, RangeError, UnitError, nearest
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import USUAL_SALINITY_G_PER_L, Vessel
from cultures.fry.species import species_named
from cultures.journal.absences import Away
from cultures.planning.changes import (
    bought_culture,
    free_name,
    home_for,
    spawned,
    whom_like,
    with_brood,
    with_culture,
    with_cysts,
    with_vessel,
    with_warm_vessels,
)
from cultures.planning.gaps import ANY
from cultures.planning.servings import falls_short
from cultures.planning.shortfalls import UNMEASURED
from cultures.room.room import Brood, Culture, Room, Spell, Tank, Told
from cultures.tasks.plan import Plan
from cultures.tasks.task import (
    Count,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Listed,
    SetHatch,
    Soak,
    Split,
    Start,
    Task,
    tidy,
)
from cultures.tasks.told import totals_j
from cultures.words.moments import hours, parse_day
from cultures.words.numbers import whole_number
from cultures.words.units import Dimension, parse_quantity

#: Tasks that follow from others and would only lengthen a comparison.
_FOLLOWING = (Feed, Soak, HarvestWorms, HarvestHatch, Count)

_T = TypeVar("_T", Brood, Culture, Vessel)

#: By (what, name, tank) the day on which it ends.
_Ends = dict[tuple[str, str, str], date]

#: A food that is wanted and not given for so long has ended.
_STOPS = timedelta(days=1)


class SuppositionError(LivefoodError):
    """A supposition that cannot be understood, or is impossible in this room."""


@frozen
class Lasting(Listed):
    """How long something lasts, before and after.

    Attributes:
        what: ``stock`` runs out, ``food`` is given no more, ``short``: a round lacks it first.
        name: a supply or a food. tanks: which; none of a supply.
        before, after: the day; None where it lasts to the end of the shown time.
    """

    what: str
    name: str
    tanks: tuple[str, ...]
    before: date | None
    after: date | None


@frozen
class Difference:
    """How a changed plan differs from the present one.

    Attributes:
        suppositions: as typed. before, after: the plans.
        added, dropped: tasks of one plan only. moved: (before, after) at another time or amount.
    """

    suppositions: tuple[str, ...]
    before: Plan
    after: Plan
    added: tuple[Task, ...]
    dropped: tuple[Task, ...]
    moved: tuple[tuple[Task, Task], ...]

    def lasting(self) -> list[Lasting]:
        """Each supply, and each food in each tank, that ends or falls short on another day."""
        before, after = _ends(self.before), _ends(self.after)
        unnamed = {tank for _, food, tank in (*before, *after) if food == ANY}
        before, after = _of_any_food(before, unnamed), _of_any_food(after, unnamed)
        tanks: dict[tuple[str, str, date | None, date | None], list[str]] = {}
        first = self.before.start + _STOPS
        given = {(x.food, x.tank) for x in self.before.lines if x.given_j > 0 and x.at < first}
        for what, name, tank in dict.fromkeys([*after, *before]):
            if what == "food" and (name, tank) not in given:
                continue  # a new brood gets it, or it is yet to come
            days = before.get((what, name, tank)), after.get((what, name, tank))
            if days[0] != days[1]:
                tanks.setdefault((what, name, *days), []).append(tank)
        return [
            Lasting(what, name, tuple(filter(None, where)), *days)
            for (what, name, *days), where in tanks.items()
        ]

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        keys = sorted({*self.before.cost, *self.after.cost})
        return {
            "if": list(self.suppositions),
            "added": [t.to_json() for t in self.added],
            "dropped": [t.to_json() for t in self.dropped],
            "moved": [{"from": a.to_json(), "to": b.to_json()} for a, b in self.moved],
            "shortfalls_before": [s.to_json() for s in self.before.shortfalls],
            "shortfalls_after": [s.to_json() for s in self.after.shortfalls],
            "cost_change": {
                k: tidy(self.after.cost.get(k, 0.0) - self.before.cost.get(k, 0.0)) for k in keys
            },
            "lasting": [lasting.to_json() for lasting in self.lasting()],
            "plan": self.after.to_json(),
        }


def _ends(plan: Plan) -> _Ends:
    """By (what, name, tank) the day on which it ends or first falls short, of all that does."""
    ends = {("stock", use.item, ""): use.out for use in plan.supplies if use.out is not None}
    given: dict[tuple[str, str], tuple[datetime, datetime]] = {}
    energy = totals_j(plan.lines, lambda line: (line.at, line.tank))
    for line in plan.lines:
        key = line.food, line.tank
        last, asked = given.get(key, (plan.start, plan.start))
        last, asked = (line.at, asked) if line.given_j > 0 else (last, line.at)
        given[key] = last, asked
    for (food, tank), (last, asked) in given.items():
        if asked - last >= _STOPS:
            ends["food", food, tank] = last.date()
    for short in plan.shortfalls:
        # What cannot be measured out is given in its turn: which round is left out says nothing.
        for tank in () if short.thin or short.limit == UNMEASURED else short.tanks:
            mine = (
                at for (at, name), (need, got) in energy.items()
                if name == tank and short.at <= at <= short.until and falls_short(need - got, need)
            )  # fmt: skip
            ends.setdefault(("short", short.food, tank), min(mine, default=short.at).date())
    return ends


def _of_any_food(ends: _Ends, tanks: Container[str]) -> _Ends:
    """The same, but of some tanks only when they fall short of any food.

    Where no food fits, what falls short has no name; with one that will, it has.
    """
    found: _Ends = {}
    for (what, name, tank), day in ends.items():
        key = (what, ANY if what == "short" and tank in tanks else name, tank)
        found[key] = min(day, found.get(key, day))
    return found


def settings_and_splits(plan: Plan, told: Collection[Told] = ()) -> tuple[Told, ...]:
    """The settings and splits of a plan, by time; of settings those whose harvest it has too.

    Args:
        told: what was told of them already, of which the grams are told too.
    """
    weighed = {(t.name, t.at, t.harvest_at): t.grams for t in told}
    harvests = {t.id.partition("/")[2]: t.at for t in plan.tasks if isinstance(t, HarvestHatch)}
    kinds = {span.name: span.kind for span in plan.cultures}
    found = []
    for task in plan.tasks:
        harvest_at = harvests.get(task.id.partition("/")[2])
        if isinstance(task, SetHatch) and harvest_at is not None:
            grams = weighed.get((task.subject, task.at, harvest_at), 0.0)
            found.append(Told(task.subject, task.at, harvest_at, grams=grams))
        elif isinstance(task, Split) and task.other in kinds:
            found.append(Told(kinds[task.other], task.at))
    return tuple(sorted(found, key=lambda t: (t.at, t.name)))


def compare(suppositions: Sequence[str], before: Plan, after: Plan) -> Difference:
    """The difference between two plans of the same time, by the ids of their tasks.

    New cultures are numbered by the order of their starts, so one more of them renames all later
    ones; what is done at the same time to the same end is the same task under another name.
    """
    old = {t.id: t for t in before.tasks if not isinstance(t, _FOLLOWING)}
    new = {t.id: t for t in after.tasks if not isinstance(t, _FOLLOWING)}
    both: list[tuple[Task, Task]] = []
    names: dict[str, str] = {}
    for task in [t for t in old.values() if t.other and isinstance(t, Split | Start)]:
        twin = next((t for t in new.values() if (t.what, t.at) == (task.what, task.at)), None)
        if twin is not None:
            both.append((task, twin))
            names[task.other] = twin.other
            del old[task.id], new[twin.id]
            end, twin_end = old.get(f"retire/{task.other}"), new.get(f"retire/{twin.other}")
            if end is not None and twin_end is not None and end.at == twin_end.at:
                del old[end.id], new[twin_end.id]
    both += [(old[k], new[k]) for k in old if k in new]
    moved = sorted(
        ((a, b) for a, b in both if _shown(a, names) != _shown(b, {})), key=lambda p: p[0].at
    )
    return Difference(
        suppositions=tuple(suppositions),
        before=before,
        after=after,
        added=tuple(t for k, t in new.items() if k not in old),
        dropped=tuple(t for k, t in old.items() if k not in new),
        moved=tuple(moved),
    )


def _shown(task: Task, names: Mapping[str, str]) -> tuple[object, ...]:
    return (
        task.at,
        names.get(task.subject, task.subject),
        {k: tidy(v) for k, v in task.amounts.items()},
    )


def suppose(room: Room, text: str, now: datetime) -> Room:
    """The room as it would be if a supposition held.

    Raises:
        SuppositionError: it is not understood, or names what is not there.
    """
    try:
        words = shlex.split(text)
    except ValueError:
        raise SuppositionError(f"'{text}': a quote is not closed") from None
    if not words:
        forms = "; ".join(form for _, form in _VERBS.values())
        raise SuppositionError(f"suppose something: {forms}")
    verb = words[0].lower()
    if verb not in _VERBS:
        hint = nearest(verb, _VERBS)
        more = f"; {hint}" if hint.startswith("did") else ""
        raise SuppositionError(f"'{text}': it begins with one of {', '.join(_VERBS)}{more}")
    reader = _Words(text, words[1:], room, now)
    try:
        changed = _VERBS[verb][0](reader)
    except SuppositionError:
        raise
    except LivefoodError as error:
        raise SuppositionError(f"'{text}': {error}") from None
    if reader.left:
        raise reader.wrong(f"'{' '.join(reader.left)}' is left over")
    return changed


class _Words:
    """The words of a supposition, taken one by one."""

    def __init__(self, text: str, words: list[str], room: Room, now: datetime) -> None:
        self.text, self.left, self.room, self.now = text, words, room, now

    def wrong(self, message: str) -> SuppositionError:
        _, form = _VERBS[self.text.split()[0].lower()]
        return SuppositionError(f"'{self.text}': {message}; write: {form}")

    def word(self, what: str) -> str:
        """The next word."""
        if not self.left:
            raise self.wrong(f"{what} is missing")
        return self.left.pop(0)

    def name(self, what: str, known: Iterable[str], *, counted: bool = False) -> str:
        """The next words that are a name, in quotes or not; the next word if none are.

        Args:
            counted: a number must come behind it, which is no part of it: of "betta 1".
        """
        names = set(known)
        for count in range(len(self.left), 1, -1):
            joined, behind = " ".join(self.left[:count]), "".join(self.left[count : count + 1])
            if joined in names and (not counted or whole_number(behind) is not None):
                del self.left[:count]
                return joined
        return self.word(what)

    def tank(self) -> Tank:
        """A tank of the room."""
        return self.room.tank(self.name("a tank", (tank.name for tank in self.room.tanks)))

    def follows(self, word: str) -> bool:
        """Takes a small word if it comes next."""
        if self.left and self.left[0].lower() == word:
            self.left.pop(0)
            return True
        return False

    def need(self, word: str) -> None:
        """Takes a small word that must come next."""
        if not self.follows(word):
            raise self.wrong(f"'{word}' is missing")

    def count(self) -> float:
        """A number of fry."""

        def refused(word: str) -> float:
            raise self.wrong(f"a count must be a number, not '{word}'")

        return self._within("a count", refused, 1, 1e6)

    def quantity(
        self, what: str, dimension: Dimension, unit: str, low: float, high: float
    ) -> float:
        """A number in ``unit``, or text with a unit, which may be a word of its own."""

        with_unit = " ".join(self.left[:2])
        try:
            parse_quantity(with_unit, dimension, unit)
            self.left[:2] = [with_unit]
        except UnitError:
            pass
        return self._within(what, lambda word: parse_quantity(word, dimension, unit), low, high)

    def _within(
        self, what: str, otherwise: Callable[[str], float], low: float, high: float
    ) -> float:
        """A number within limits; ``otherwise`` reads what is no bare number."""
        word = self.word(what)
        try:
            value = float(word)
        except ValueError:
            value = otherwise(word)
        if not low <= value <= high:
            raise self.wrong(f"{what} must be from {low:g} to {high:g}")
        return value

    def day(self) -> date:
        """A day, not before today."""
        word = self.word("a day")
        try:
            found = parse_day(word)
        except UnitError as error:
            try:  # 28 Nov 2026, without quotes
                found = parse_day(" ".join([word, *self.left[:2]]))
            except UnitError:
                raise self.wrong(str(error)) from None
            del self.left[:2]
        if found < self.now.date():
            raise self.wrong(f"{found} is past")
        return found

    def span(self) -> tuple[date, date]:
        """From a day to another."""
        self.need("from")
        start = self.day()
        self.need("to")
        end = self.day()
        if end < start:
            raise self.wrong(f"{end} is before {start}")
        return start, end

    def hour(self, day: date) -> float:
        """Midnight of a day [h since the epoch]."""
        return hours(self.room.local(day, time(0)))


def _spawn(w: _Words) -> Room:
    words = _species_of_words(w) or w.name(
        "a class", (brood.name for brood in w.room.broods), counted=True
    )
    like = whom_like(w.room, words)
    count = w.count()
    try:
        tank = w.tank().name if w.follows("in") else home_for(w.room, *like)
    except RangeError as error:
        raise w.wrong(str(error)) from None
    w.need("on")
    return with_brood(w.room, spawned(w.room, words, like, count, w.day(), tank))


def _species_of_words(w: _Words) -> str | None:
    """A species of several words that need no quotes; one of one word may be a brood's first."""
    for count in range(min(4, len(w.left)), 1, -1):
        if (key := species_named(" ".join(w.left[:count]))) is not None:
            del w.left[:count]
            return key
    return None


def _changed(things: Iterable[_T], name: str, **changes: Any) -> tuple[_T, ...]:
    """Things of which the one of a name is otherwise."""
    return tuple(evolve(one, **changes) if one.name == name else one for one in things)


def _lose(w: _Words) -> Room:
    room = w.room
    known = [
        *(c.name for c in room.cultures), *(v.name for v in room.vessels),
        *(b.name for b in (*room.broods, *room.hoped)),
    ]  # fmt: skip
    name = w.name("a name", known)
    lost_h, day = hours(w.now), w.now.date()
    if w.follows("on"):
        day = w.day()
        lost_h = w.hour(day)
    if any(c.name == name for c in room.cultures):
        return evolve(room, cultures=_changed(room.cultures, name, lost_h=lost_h))
    if any(v.name == name for v in room.vessels):
        at_once = day <= w.now.date()
        hatches = tuple(h for h in room.hatches if h.vessel != name or not at_once)
        return evolve(room, vessels=_changed(room.vessels, name, lost_h=lost_h), hatches=hatches)
    if any(b.name == name for b in room.broods):
        return evolve(room, broods=_changed(room.broods, name, gone_on=day))
    if any(b.name == name for b in room.hoped):
        return evolve(room, hoped=tuple(b for b in room.hoped if b.name != name))
    raise w.wrong(f"there is no culture, vessel or brood '{name}'; {nearest(name, known)}")


def _count(w: _Words) -> Room:
    name = w.room.brood(w.name("a brood", (brood.name for brood in w.room.broods))).name
    broods = _changed(w.room.broods, name, count=w.count(), counted_on=w.now.date())
    return evolve(w.room, broods=broods)


def _temperature(w: _Words) -> Room:
    room = w.room
    degrees = w.quantity("degrees", "temperature", "c", 0, 45)
    tank = w.tank() if w.follows("of") else None
    start, end = w.span()
    start_h, end_h = w.hour(start), w.hour(end + timedelta(days=1))
    if tank is None:
        for culture in (c for c in room.cultures if c.temperature_c is None):
            if wrong := culture.kind.check_temperature(degrees):
                raise SuppositionError(
                    f"'{w.text}': {culture.name}: {wrong}; suppose: lose {culture.name}"
                )
        return evolve(room, spells=(*room.spells, Spell(start_h, end_h, degrees)))
    broods = room.broods
    for brood in broods:
        if brood.tank == tank.name:
            log = brood.temperature_log or ((0.0, tank.temperature_c),)
            before = [point for point in log if point[0] < start_h]
            after = [point for point in log if point[0] > end_h]
            last = [point for point in log if point[0] <= end_h][-1][1]
            spell = (*before, (start_h, degrees), (end_h, last), *after)
            broods = _changed(broods, brood.name, temperature_log=spell)
    return evolve(room, broods=broods)


def _buy(w: _Words) -> Room:
    room = w.room
    cysts_first = w.follows("cysts")
    labels = {k.label: name for name, k in room.kinds.items() if isinstance(k, WormKind)}
    first = w.name("grams of cysts, or a kind,", labels)
    kind = room.kinds.get(labels.get(first, first)) if not cysts_first else None
    if isinstance(kind, WormKind):
        day = w.day() if w.follows("on") else w.now.date()
        return with_culture(room, bought_culture(room, kind, day, f"bought {kind.label}"))
    w.left.insert(0, first)
    try:
        grams = w.quantity("grams", "mass", "g", 0.1, 1e5)
    except LivefoodError:
        hint = nearest(first, labels.values())
        raise w.wrong(f"'{first}' is neither grams nor a kind; {hint}") from None
    if not cysts_first:
        w.need("cysts")
    return with_cysts(room, grams)


def _vessel(w: _Words) -> Room:
    room = w.room
    litres = w.quantity("litres", "volume", "l", 0.05, 2000)
    usual = room.vessels[0].temperature_c if room.vessels else room.hatch_kind.values["t_ref_c"]
    degrees = w.quantity("degrees", "temperature", "c", 0, 45) if w.follows("at") else usual
    wrong = room.hatch_kind.check_temperature(degrees)
    if wrong:
        raise w.wrong(wrong)
    salt = room.vessels[0].salinity_g_per_l if room.vessels else USUAL_SALINITY_G_PER_L
    name = free_name("supposed vessel", [v.name for v in room.vessels])
    return with_vessel(room, Vessel(name, litres, degrees, salt))


def _warm(w: _Words) -> Room:
    room, vessels = w.room, {vessel.name: vessel for vessel in w.room.vessels}
    name = w.name("a vessel", vessels)
    if name not in vessels:
        raise w.wrong(f"there is no vessel '{name}'; {nearest(name, vessels)}")
    degrees, warm_c = vessels[name].temperature_c, room.hatch_kind.warm_c
    if degrees >= warm_c:
        raise w.wrong(f"{name} stands at {degrees:g} °C, and warm water has {warm_c:g} °C")
    return with_warm_vessels(room, [vessels[name]], w.now)


def _away(w: _Words) -> Room:
    start, end = w.span()
    helper = w.follows("with")
    if helper:
        w.need("helper")
    # Of two absences that cover a day the first counts.
    return evolve(w.room, away=(Away(start, end, helper), *w.room.away))


def _helper(w: _Words) -> Room:
    start, end = w.span()
    mine = [
        evolve(
            a, helper=True, start=max(a.start, start), end=min(a.end, end),
            since=a.since if a.start >= start else time.min,
            until=a.until if a.end <= end else time.max,
        )
        for a in w.room.away if a.spans(start, end)
    ]  # fmt: skip
    if not mine:
        raise w.wrong("you are not away on any of these days; is it 'away from DAY to DAY'?")
    return evolve(w.room, away=(*mine, *w.room.away))


#: By its first word how a supposition is read, and how it is to be written.
_VERBS: dict[str, tuple[Callable[[_Words], Room], str]] = {
    "spawn": (_spawn, "spawn CLASS COUNT [in TANK] on DAY"),
    "lose": (_lose, "lose NAME [on DAY]"),
    "count": (_count, "count BROOD COUNT"),
    "temperature": (_temperature, "temperature DEGREES [of TANK] from DAY to DAY"),
    "buy": (_buy, "buy GRAMS cysts, or: buy KIND [on DAY]"),
    "vessel": (_vessel, "vessel LITRES [at DEGREES]"),
    "warm": (_warm, "warm VESSEL"),
    "away": (_away, "away from DAY to DAY [with helper]"),
    "helper": (_helper, "helper from DAY to DAY"),
}
