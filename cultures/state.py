"""The room at any moment: its file, and what the journal says was done up to then."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable
from datetime import datetime, time
from pathlib import Path

from attrs import evolve, frozen

from cultures.beliefs import Beliefs, with_beliefs
from cultures.counting import BARE_TOTAL_SD, read_drops
from cultures.evidence import CultureSpan, Evidence, HatchSeen, SwipeSeen, YieldSeen
from cultures.fry import FryClass
from cultures.journal import Entry, read_journal
from cultures.journal_limits import brood_doubt, drawn_doubt, hatch_doubt, most_nauplii, worms_doubt
from cultures.kinds import WormKind
from cultures.planning.hatch_plan import Holding, vessel_model
from cultures.room import Culture, Cysts, HeldNauplii, Room, RunningHatch, hours
from cultures.state_broods import Broods
from cultures.state_hatches import blended, still_held
from cultures.state_times import counting, worth_replaying
from cultures.state_worms import Life, started_at

#: Entries to which only the hour matters, not the local day.
_BY_THE_HOUR = frozenset({"harvest", "hatched", "set", "discard", "bought"})
#: A draw from a liquid culture [mL].
DRAW_ML = 10.0


@frozen
class Replayed:
    """A room at a moment, and what the journal showed on the way.

    ``doubts``: entries not recorded yet (line 0) that say what cannot be, and why not.
    """

    room: Room
    seen: Evidence
    culture_names: frozenset[str]
    doubts: tuple[tuple[Entry, str], ...] = ()


def room_at(
    room: Room, entries: Iterable[Entry], now: datetime, *, beliefs: Beliefs | None = None
) -> Room:
    """The room as it stood at ``now``, with what had been learned by then.

    Args:
        room: of the file. entries: standing ones in order, as ``Journal.effective`` gives.
        beliefs: values to use instead of learning them from the entries.
    """
    if beliefs is None:
        from cultures.learning import learn

        return learn(room, entries, now).replayed.room
    return replay(room, worth_replaying(entries, now), now, beliefs).room


def with_journal(room: Room, path: Path, now: datetime) -> Room:
    """The room of a file with the journal beside it, at ``now``.

    Raises:
        FileProblemError: the journal cannot be read.
        BadFileError: lines of it cannot be understood.
    """
    journal = read_journal(path, room.timezone)
    found = room_at(room, journal.effective(), now)
    if journal.torn:
        note = (
            f"{path.name} ends in a torn line, not used and set aside at the next entry:"
            f" '{journal.torn[:60]}'. Note it again if it matters."
        )
        found = evolve(found, notes=(note, *found.notes))
    return found


def replay(room: Room, entries: Iterable[Entry], now: datetime, beliefs: Beliefs) -> Replayed:
    """Carries the room file through the journal up to ``now``."""
    plain = {b.name: b.fry_class for b in room.broods}
    run = _Replay(with_beliefs(room, beliefs), now, beliefs, plain)
    entries = list(entries)
    entries = entries[: bisect_right(entries, now, key=lambda e: e.when)]
    standing, state_at = counting(room, entries, now)
    if room.state_at is not None:
        state_at = max(state_at or room.state_at, room.state_at)
    for entry in standing:
        run.do(entry)
    return run.result(state_at)


class _Replay:
    """The state while entries are taken in one by one."""

    def __init__(
        self, room: Room, now: datetime, beliefs: Beliefs, plain: dict[str, FryClass]
    ) -> None:
        self.room, self.now, self.beliefs = room, now.astimezone(room.timezone), beliefs
        self.until = self.now.date()
        self.seen = Evidence()
        self.notes: list[str] = []
        self.unknown: dict[str, list[int]] = {}
        self.as_of_h = hours(room.state_at or room.local(room.as_of, time(0)))
        self.stated_h = self.as_of_h if room.as_of_stated else -math.inf
        self.first_h: float | None = None
        self.lives: dict[str, Life] = {}
        for culture in room.cultures:
            begun = started_at(room, culture)
            self.lives[culture.name] = Life.begin(
                room, culture, begun_h=begun, until=self.until, since_h=max(begun, self.stated_h)
            )
        self.names = {c.name for c in room.cultures}
        self.broods = Broods(
            room, {b.name: b for b in room.broods}, plain, beliefs.growth, self.seen,
            self.stated_h, self.notes,
        )  # fmt: skip
        self.vessels = {v.name: v for v in room.vessels}
        self.hatches = {h.vessel: h for h in room.hatches}
        #: When vessels were drawn off that were not set since, and the line that says so.
        self.drawn: dict[str, tuple[datetime, int]] = {}
        self.held: list[HeldNauplii] = []
        self.tin_g = room.cysts.grams if room.cysts else 0.0
        self.bought = False
        self.doubts: list[tuple[Entry, str]] = []

    def do(self, entry: Entry) -> None:
        """Takes in one entry."""
        at, at_h = entry.when, hours(entry.when)
        if entry.event not in _BY_THE_HOUR:
            at = at.astimezone(self.room.timezone)
        if self.first_h is None:
            self.first_h = at_h
        if entry.line == 0:
            doubt = self._doubt(entry, at.astimezone(self.room.timezone), at_h)
            if doubt is not None:
                self.doubts.append((entry, doubt))
        handler: Callable[[Entry, datetime, float], bool] | None = getattr(
            self, f"_{entry.event}", None
        )
        known = handler(entry, at, at_h) if handler else self.broods.handle(entry, at)
        if not known and at_h >= self.as_of_h:
            self.unknown.setdefault(entry.subject, []).append(entry.line)

    def _doubt(self, entry: Entry, at: datetime, at_h: float) -> str | None:
        """Why an entry cannot be true by all that is known, or None."""
        hatch, brood = self.hatches.get(entry.subject), self.broods.now.get(entry.subject)
        if entry.event == "hatched" and hatch is None and entry.subject in self.drawn:
            return drawn_doubt(entry, *self.drawn[entry.subject], at)
        if entry.event in ("set", "hatched", "count") and hatch is not None and hatch.set_at <= at:
            return hatch_doubt(entry, hatch, at, self.room.hatch_kind, self.room.cysts)
        if brood is not None and at_h >= self.stated_h:
            return brood_doubt(entry, brood, at)
        if entry.event not in ("harvest", "count", "split") or entry.subject in self.vessels:
            return None
        life = self._life(entry.subject, at_h)
        if life is None:
            return None
        kind = life.culture.kind
        each = kind.values["individual_mass_ug"] / 1000.0
        unit = each if entry.unit == "worms" else _mg_per(entry.unit, kind)
        return worms_doubt(entry, life, (entry.amount or 0.0) * unit, each)

    # --- worm cultures

    def _life(self, name: str, at_h: float) -> Life | None:
        life = self.lives.get(name)
        if life is None or at_h < life.since_h:
            return None
        life.advance(at_h)
        return life

    def _split(self, entry: Entry, at: datetime, at_h: float) -> bool:
        parent = self._life(entry.subject, at_h)
        if parent is None:
            return entry.subject in self.names
        starter = entry.amount if entry.amount is not None else parent.culture.starter_g
        child = self.lives.get(entry.other)
        if child is not None and child.culture.started != at.date():
            if child.since_h <= at_h:
                self.notes.append(
                    f"Journal line {entry.line}: there was a {entry.other} already when"
                    f" {entry.subject} was split; give each culture its own name."
                )
            return True
        given = parent.give_starter(starter)
        culture = child.culture if child is not None else evolve(
            parent.culture, name=entry.other, started=at.date(), starter_g=starter, mark=None
        )  # fmt: skip
        self._begin(culture, at_h, given)
        return True

    def _start(self, entry: Entry, at: datetime, at_h: float) -> bool:
        if entry.subject in self.lives:
            return True
        kind = self.room.kinds.get(entry.other)
        if not isinstance(kind, WormKind):
            return False
        alike = [x.culture for x in self.lives.values() if x.culture.kind.name == kind.name]
        solid = kind.medium == "solid"
        pattern = alike[-1] if alike else Culture(
            "", kind, at.date(), 150.0 if solid else 1500.0, 180.0 if solid else None,
            15.0 if solid else 150.0,
        )  # fmt: skip
        starter = entry.amount if entry.amount is not None else pattern.starter_g
        culture = evolve(
            pattern, name=entry.subject, started=at.date(), starter_g=starter, mark=None
        )
        self._begin(culture, at_h, None)
        return True

    def _begin(self, culture: Culture, at_h: float, stock_mg: float | None) -> None:
        life = Life.begin(self.room, culture, begun_h=at_h, until=self.until, stock_mg=stock_mg)
        life.touched = True
        self.lives[culture.name] = life
        self.names.add(culture.name)

    def _discard(self, entry: Entry, _at: datetime, at_h: float) -> bool:
        life = self._life(entry.subject, at_h)
        if life is None:
            return entry.subject in self.names
        del self.lives[entry.subject]
        self._span(life, at_h, crashed=entry.other == "crashed")
        return True

    def _span(self, life: Life, to_h: float, *, crashed: bool) -> None:
        if self.first_h is None:
            return
        from_h = max(life.begun_h, self.first_h)
        name = life.culture.kind.name
        self.seen.spans.append(
            CultureSpan(name, life.culture.name, from_h, max(from_h, to_h), crashed)
        )

    def _harvest(self, entry: Entry, at: datetime, at_h: float) -> bool:
        if entry.subject in self.vessels:
            return self._hatched(entry, at, at_h)
        life = self._life(entry.subject, at_h)
        if life is None:
            return entry.subject in self.names
        expected = life.climbing()
        if entry.amount is None:
            taken = expected if entry.other == "all" else 0.0
        else:
            taken = entry.amount * _mg_per(entry.unit, life.culture.kind)
            every = entry.other == "all"
            possible = taken <= life.state.stock_mg
            if expected > 0 and possible and (every or taken > 1.15 * expected):
                self.seen.yields.append(
                    YieldSeen(life.culture.kind.name, entry.subject, at_h, taken, expected,
                              life.ripe(), not every, entry.unit != "mg", entry.line)
                )  # fmt: skip
        life.take(taken)
        return True

    # --- hatches

    def _set(self, entry: Entry, at: datetime, at_h: float) -> bool:
        assert entry.amount is not None
        if at_h >= self.as_of_h:
            self.tin_g = max(0.0, self.tin_g - entry.amount)
        if entry.subject not in self.vessels:
            return False
        standing = self.hatches.get(entry.subject)
        if standing is None or standing.set_at < at:
            self.hatches[entry.subject] = RunningHatch(entry.subject, at, entry.amount)
            self.drawn.pop(entry.subject, None)
        return True

    def _hatched(self, entry: Entry, at: datetime, at_h: float) -> bool:
        if entry.subject not in self.vessels:
            return False
        hatch = self.hatches.get(entry.subject)
        counted = entry.amount if entry.unit in ("nauplii", "") else None
        if hatch is None or hatch.set_at > at:
            if counted:
                energy = counted * self.room.hatch_kind.values["energy_j"]
                self._hold(HeldNauplii(entry.subject, at, counted, energy))
            return True
        del self.hatches[entry.subject]
        self.drawn[entry.subject] = at, entry.line
        sd = self._count_hatch(entry, hatch, at_h) if counted is not None else None
        model = vessel_model(self.room, self.vessels[entry.subject])
        waited = round(at_h - hours(hatch.set_at), 6)
        nauplii = hatch.cysts_g * model.nauplii(waited)
        energy = hatch.cysts_g * model.energy(waited)
        if counted is not None and sd is not None and nauplii > 0:
            share = blended(nauplii, counted, sd, self.room.hatch_kind.values["yield_spread"])
            nauplii, energy = nauplii * share, energy * share
        self._hold(HeldNauplii(entry.subject, at, nauplii, energy))
        return True

    def _hold(self, held: HeldNauplii) -> None:
        longest = Holding.of(self.room).longest_h
        if held.nauplii >= 1 and hours(self.now) - hours(held.harvested_at) <= longest:
            self.held.append(held)

    def _count_hatch(self, entry: Entry, hatch: RunningHatch, at_h: float) -> float:
        """Notes a count of a vessel; its relative s.d."""
        assert entry.amount is not None
        drops = read_drops(entry.other)
        sd = drops.relative_sd if drops is not None else BARE_TOTAL_SD
        vessel = self.vessels[entry.subject]
        model = vessel_model(self.room, vessel)
        share = self.room.hatch_kind.salinity_share(vessel.salinity_g_per_l)
        waited = at_h - hours(hatch.set_at)
        most = most_nauplii(self.room.hatch_kind, self.room.cysts, hatch.cysts_g)
        if 0 < entry.amount <= most and waited > 0:
            batch = f"{entry.subject} {hatch.set_at.isoformat()}"
            self.seen.hatches.append(
                HatchSeen(batch, at_h, waited, model.rate, entry.amount / hatch.cysts_g / share,
                          sd, entry.line)
            )  # fmt: skip
        return sd

    # --- counts, temperatures, purchases

    def _count(self, entry: Entry, at: datetime, at_h: float) -> bool:
        unit = entry.unit or self._unit_of_count(entry.subject)
        if unit == "nauplii":
            hatch = self.hatches.get(entry.subject)
            if hatch is not None and hatch.set_at < at:
                self._count_hatch(entry, hatch, at_h)
            return entry.subject in self.vessels
        if unit in ("worms", "mg"):
            life = self.lives.get(entry.subject)
            if life is None or not entry.amount:
                return entry.subject in self.names
            kind = life.culture.kind
            each = kind.values["individual_mass_ug"] / 1000.0 if unit == "worms" else 1.0
            drops = read_drops(entry.other)
            sd = drops.relative_sd if drops is not None else BARE_TOTAL_SD
            mg = entry.amount * each
            life = self._life(entry.subject, at_h)
            if life is None or mg <= life.state.stock_mg:
                self.seen.swipes.append(SwipeSeen(kind.name, at_h, mg, sd, entry.line))
            return True
        return self.broods.handle(entry, at)

    def _unit_of_count(self, subject: str) -> str:
        """What was counted, where the entry does not say."""
        return "nauplii" if subject in self.vessels else "worms" if subject in self.lives else "fry"

    def _temperature(self, entry: Entry, _at: datetime, at_h: float) -> bool:
        assert entry.amount is not None
        degrees, name = entry.amount, entry.subject
        if at_h < self.stated_h:
            return True
        tank = next((t for t in self.broods.room.tanks if t.name == name), None)
        if name == "room":
            for life in self.lives.values():
                if life.culture.temperature_c is None and at_h >= life.begun_h:
                    life.advance(at_h)
            self.room = evolve(self.room, temperatures_c=(degrees,))
            for life in self.lives.values():
                if life.culture.temperature_c is None:
                    life.stand_at(self.room, None, self.until)
        elif name in self.lives:
            found = self._life(name, at_h)
            if found is not None:
                found.stand_at(self.room, degrees, self.until)
        elif name in self.vessels:
            self.vessels[name] = evolve(self.vessels[name], temperature_c=degrees)
        elif tank is not None:
            self.broods.tank_stands_at(tank, degrees, at_h)
        else:
            return name in self.names
        return True

    def _bought(self, entry: Entry, _at: datetime, at_h: float) -> bool:
        assert entry.amount is not None
        if entry.subject == "cysts":
            self.seen.bought_h.append(at_h)
            if at_h >= self.as_of_h:
                self.tin_g += entry.amount
                self.bought = True
            return True
        return entry.subject in self.room.kinds

    def _learn(self, entry: Entry, _at: datetime, _at_h: float) -> bool:
        change = self.seen.off.add if entry.other == "off" else self.seen.off.discard
        change(entry.subject)
        if entry.subject == "all" and entry.other == "on":
            self.seen.off.clear()
        return True

    # --- the room that comes of it

    def result(self, state_at: datetime | None) -> Replayed:
        """The room at ``now``; the plan goes on from ``state_at``."""
        for life in self.lives.values():
            self._span(life, hours(self.now), crashed=False)
        for subject, lines in self.unknown.items():
            where = f"line {lines[0]}" if len(lines) == 1 else (
                f"{len(lines)} lines from {lines[0]} on"
            )  # fmt: skip
            self.notes.append(
                f"Journal {where}: '{subject}' is not in the room file (any more); not used."
            )
        cysts = self.room.cysts
        if cysts is not None or self.bought:
            cysts = evolve(cysts or Cysts(0.0), grams=self.tin_g)
        room = evolve(
            self.room,
            tanks=self.broods.room.tanks,
            broods=tuple(self.broods.now.values()),
            cultures=tuple(life.marked() for life in self.lives.values()),
            vessels=tuple(self.vessels.values()),
            hatches=tuple(self.hatches.values()),
            cysts=cysts,
            state_at=None if state_at is None else state_at.astimezone(self.room.timezone),
            notes=tuple(self.notes),
        )
        if state_at is not None:
            room = evolve(room, held=tuple(still_held(room, self.held, state_at)))
        return Replayed(room, self.seen, frozenset(self.names), tuple(self.doubts))


def _mg_per(unit: str, kind: WormKind) -> float:
    """Worms in one unit of a harvest [mg]."""
    portion = kind.values["portion_mg"]
    return {"mg": 1.0, "mL": portion / DRAW_ML}.get(unit, portion)
