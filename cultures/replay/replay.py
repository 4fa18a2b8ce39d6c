"""The room at any moment: its file, and what was done up to then."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime, time, timedelta
from typing import NamedTuple

from attrs import evolve, field, frozen

from cultures.foods.food import DRY
from cultures.foods.kinds import WormKind
from cultures.fry.classes import FryClass
from cultures.journal.counting import BARE_TOTAL_SD, read_drops
from cultures.journal.entries import Entry
from cultures.replay.broods import Broods
from cultures.replay.doubts import brood_doubt, drawn_doubt, hatch_doubt, most_nauplii, worms_doubt
from cultures.replay.observations import (
    CultureSpan,
    HatchObserved,
    Observations,
    SwipeObserved,
    YieldObserved,
)
from cultures.replay.own_values import OwnValues, with_own_values
from cultures.replay.stocks import CYSTS, MEDIUM_OF, SALT, Stocks
from cultures.replay.worms import Life, started_at
from cultures.room.jars import holding_of, vessel_model
from cultures.room.room import Culture, Cysts, HeldNauplii, Room, RunningHatch
from cultures.tasks.task import Feed, HarvestHatch
from cultures.tasks.told import Draw, ToldTask
from cultures.words.moments import hours

#: Entries to which only the hour matters, not the local day.
_BY_THE_HOUR = frozenset(
    {"harvest", "hatched", "set", "discard", "bought", "used", "fed", "skip", "failed"}
)
#: Harvests older than this neither teach nor tell of what stands now.
_FORGOTTEN = timedelta(days=400)
#: A count tells what a hatch will give once so much of it should have hatched; all has after so
#: many hours (assumptions).
_TELLING_SHARE = 0.25
_LAST_H = 120.0
_GAVE_NOTHING = "the hatch gave nothing; fed as such, and not taken for what cysts give"
#: A harvest told for one time and made at another is the same within half a day.
_SAME_HARVEST = timedelta(hours=12)
#: More of the nauplii of a feeding missing than this: they did not come.
_MOST_MISSING = 0.9
#: A draw from a liquid culture [mL].
DRAW_ML = 10.0


@frozen
class Replayed:
    """A room at a moment, and what the journal showed on the way.

    ``doubts``: entries not recorded yet (line 0) that say what cannot be, and why not.
    ``contradicted``: ids of told tasks that cannot have been done as told; ``unfed``: of
    feedings for which the nauplii were not there. ``lives``: cultures with all done to them.
    """

    room: Room
    seen: Observations
    culture_names: frozenset[str]
    doubts: tuple[tuple[Entry, str], ...] = ()
    contradicted: frozenset[str] = frozenset()
    unfed: frozenset[str] = frozenset()
    lives: Mapping[str, Life] = field(factory=dict, repr=False)


class Step(NamedTuple):
    """Something that was done: noted in the journal, or told and taken as done.

    ``told`` is the task that it carries out, if any; ``presumed``: no entry says so.
    """

    entry: Entry
    told: ToldTask | None = None
    presumed: bool = False


def noted_steps(entries: Iterable[Entry | Step], now: datetime) -> list[Step]:
    """Entries up to ``now`` as steps, without the harvests of years ago; steps as they are."""
    now = now.astimezone(UTC)  # whose offset is looked up soonest
    old = now - _FORGOTTEN
    return [
        e if isinstance(e, Step) else Step(e) for e in entries
        if isinstance(e, Step)
        or ((e.when > old or e.event not in ("harvest", "hatched")) and e.when <= now)
    ]  # fmt: skip


def replay(
    room: Room, steps: Iterable[Entry | Step], now: datetime, own_values: OwnValues
) -> Replayed:
    """Carries the room file through all that was done, in the order given, up to ``now``."""
    plain = {b.name: b.fry_class for b in (*room.broods, *room.waiting)}
    run = _Replay(with_own_values(room, own_values), now, own_values, plain)
    for step in noted_steps(steps, now):
        run.do(step)
    return run.result()


class _Replay:
    """The state while entries are taken in one by one."""

    def __init__(
        self, room: Room, now: datetime, own_values: OwnValues, plain: dict[str, FryClass]
    ) -> None:
        self.room, self.now, self.own_values = room, now.astimezone(room.timezone), own_values
        self.until = self.now.date()
        self.seen = Observations()
        self.notes: list[str] = []
        self.unknown: dict[str, list[int]] = {}
        self.as_of_h = hours(room.stated_at or room.local(room.as_of, time(0)))
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
            room, {b.name: b for b in (*room.broods, *room.waiting)}, plain, own_values.growth,
            self.seen, self.stated_h, self.notes,
        )  # fmt: skip
        self.vessels = {v.name: v for v in room.vessels}
        self.hatches = {h.vessel: h for h in room.hatches}
        #: Vessels that were drawn off and not set since.
        self.drawn: dict[str, _Drawn] = {}
        self.held: list[HeldNauplii] = []
        self.stocks = Stocks.of(room, self.as_of_h)
        self.holding = holding_of(self.room)
        self.doubts: list[tuple[Entry, str]] = []
        self.contradicted: set[str] = set()
        self.unfed: set[str] = set()
        self.not_before: dict[str, datetime] = {}
        self.remarks: dict[str, list[tuple[datetime, str]]] = {}
        #: Of the step being taken: the told task, and whether it is only presumed.
        self.told: ToldTask | None = None
        self.presumed = False

    def do(self, step: Step) -> None:
        """Takes in one step."""
        entry, self.told, self.presumed = step
        at, at_h = entry.when, hours(entry.when)
        if entry.event not in _BY_THE_HOUR:
            at = at.astimezone(self.room.timezone)
        if self.first_h is None:
            self.first_h = at_h
        if entry.line == 0 and not step.presumed:
            doubt = self._doubt(entry, at.astimezone(self.room.timezone), at_h)
            if doubt is not None:
                self.doubts.append((entry, doubt))
        if step.presumed and not self._may_be(entry):
            if step.told is not None:
                self.contradicted.add(step.told.task.id)
            return
        handler: Callable[[Entry, datetime, float], bool] | None = getattr(
            self, f"_{entry.event}", None
        )
        known = handler(entry, at, at_h) if handler else self.broods.handle(entry, at)
        if not known and at_h >= self.as_of_h and not step.presumed:
            self.unknown.setdefault(entry.subject, []).append(entry.line)

    def _may_be(self, entry: Entry) -> bool:
        """Whether a told task can have been done as told, by what is known of its subject."""
        name = entry.subject
        if entry.event == "set":
            return name in self.vessels and name not in self.hatches
        if entry.event == "harvest" and name in self.vessels:
            return name in self.hatches and self.hatches[name].set_at < entry.when
        if entry.event == "split":
            return name in self.lives and entry.other not in self.lives
        if entry.event == "start":
            return name not in self.lives
        if entry.event == "harvest":
            return name in self.lives and self.lives[name].state.stock_mg > 0
        return entry.event == "fed" or name in self.lives

    def _doubt(self, entry: Entry, at: datetime, at_h: float) -> str | None:
        """Why an entry cannot be true by all that is known, or None."""
        hatch, brood = self.hatches.get(entry.subject), self.broods.now.get(entry.subject)
        drawn = self.drawn.get(entry.subject)
        if entry.event == "hatched" and hatch is None and drawn is not None:
            late = at - drawn.at > timedelta(hours=self.holding.longest_h)
            return drawn_doubt(entry, drawn.at, drawn.line, at) if drawn.counted or late else None
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
            older = self.lives.get(entry.subject)
            if older is None or entry.other in self.names:
                return entry.subject in self.names
            # The file is newer than the split and knows the parent; the child lives on.
            culture = evolve(
                older.culture, name=entry.other, started=at.date(), mark=None,
                starter_g=older.culture.starter_g if entry.amount is None else entry.amount,
            )  # fmt: skip
            self._begin(culture, at_h, None)
            return True
        starter = entry.amount if entry.amount is not None else parent.culture.starter_g
        child = self.lives.get(entry.other)
        if child is not None and child.culture.started != at.date():
            if child.since_h <= at_h:
                self.notes.append(
                    f"Journal line {entry.line}: there was a {entry.other} already when"
                    f" {entry.subject} was split; give each culture its own name."
                )
            return True
        before = parent.state.stock_mg
        given = parent.give_starter(starter)
        parent.note(f"split {entry.other}", before, noted=not self.presumed)
        culture = child.culture if child is not None else evolve(
            parent.culture, name=entry.other, started=at.date(), starter_g=starter, mark=None
        )  # fmt: skip
        self.stocks.use(f"{culture.kind.name}{MEDIUM_OF}", culture.medium_g, at_h)
        self._begin(culture, at_h, given)
        return True

    def _start(self, entry: Entry, at: datetime, at_h: float) -> bool:
        if entry.subject in self.lives:
            return True
        kind = self.room.kinds.get(entry.other)
        if not isinstance(kind, WormKind):
            return False
        alike = [x.culture for x in self.lives.values() if x.culture.kind.name == kind.name]
        alike += [c for c in self.room.coming if c.name == entry.subject]
        solid = kind.medium == "solid"
        pattern = alike[-1] if alike else Culture(
            "", kind, at.date(), 150.0 if solid else 1500.0, 180.0 if solid else None,
            15.0 if solid else 150.0,
        )  # fmt: skip
        starter = entry.amount if entry.amount is not None else pattern.starter_g
        culture = evolve(
            pattern, name=entry.subject, started=at.date(), starter_g=starter, mark=None,
            planned=False,
        )  # fmt: skip
        self.stocks.use(f"{kind.name}{MEDIUM_OF}", culture.medium_g, at_h)
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
            if entry.subject in self.lives and not self.presumed:
                self.notes.append(
                    f"{entry.subject} stands in the room file, which is newer than journal line"
                    f" {entry.line}, where it was"
                    f" {'noted as failed' if entry.other else 'discarded'}:"
                    " take it out of the file if it is gone."
                )
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
        every = entry.other == "all"
        if entry.amount is None:
            taken = expected if every else 0.0
        else:
            taken = entry.amount * _mg_per(entry.unit, life.culture.kind)
            possible = taken <= life.state.stock_mg
            if (not self.presumed and expected > 0 and possible and taken > 0
                    and (every or taken > 1.15 * expected)):  # fmt: skip
                self.seen.yields.append(
                    YieldObserved(life.culture.kind.name, entry.subject, at_h, taken, expected,
                              life.ripe(), not every, entry.unit != "mg", entry.line)
                )  # fmt: skip
        if every and entry.amount is not None:
            # All that climbed was taken and measured: that is a count of what stood there.
            life.stand(taken / life.model.climbing_fraction)
        before = life.state.stock_mg
        life.take(taken)
        life.note("harvest", before, noted=not self.presumed)
        return True

    # --- hatches

    def _set(self, entry: Entry, at: datetime, at_h: float) -> bool:
        assert entry.amount is not None
        self.stocks.use(CYSTS, entry.amount, at_h)
        vessel = self.vessels.get(entry.subject)
        if vessel is None:
            return False
        self.stocks.use(SALT, vessel.litres * vessel.salinity_g_per_l, at_h)
        standing = self.hatches.get(entry.subject)
        if standing is None or standing.set_at < at:
            key = self.told.task.id.partition("/")[2] if self.told is not None else ""
            self.hatches[entry.subject] = RunningHatch(entry.subject, at, entry.amount, key)
            self.drawn.pop(entry.subject, None)
        return True

    def _hatched(self, entry: Entry, at: datetime, at_h: float) -> bool:
        if entry.subject not in self.vessels:
            return False
        told = self.told.task if self.told is not None else None
        jar_ml = told.jar_ml if isinstance(told, HarvestHatch) else None
        if jar_ml:
            salinity = self.vessels[entry.subject].salinity_g_per_l
            self.stocks.use(SALT, jar_ml / 1000.0 * salinity, at_h)
        hatch = self.hatches.get(entry.subject)
        counted = entry.amount if entry.unit in ("nauplii", "") else None
        if hatch is None or hatch.set_at > at:
            if counted is not None and not self._count_of_drawn(entry, counted, at_h):
                energy = counted * self.room.hatch_kind.values["energy_j"]
                self._hold(HeldNauplii(entry.subject, at, counted, energy))
            return True
        del self.hatches[entry.subject]
        if counted is not None:
            self._count_hatch(entry, hatch, at_h)
        held = self._drawn_off(hatch, at, at_h, counted)
        self.drawn[entry.subject] = _Drawn(at, entry.line, hatch, counted is not None)
        self._hold(held)
        return True

    def _drawn_off(
        self, hatch: RunningHatch, at: datetime, at_h: float, counted: float | None
    ) -> HeldNauplii:
        """What a harvest holds: as many as were counted, else as many as the model says."""
        model = vessel_model(self.room, self.vessels[hatch.vessel])
        waited = round(at_h - hours(hatch.set_at), 6)
        nauplii = hatch.cysts_g * hatch.share * model.nauplii(waited)
        energy = hatch.cysts_g * hatch.share * model.energy(waited)
        if counted is not None:
            each = energy / nauplii if nauplii > 0 else self.room.hatch_kind.values["energy_j"]
            nauplii, energy = counted, counted * each
        return HeldNauplii(hatch.vessel, at, nauplii, energy)

    def _count_of_drawn(self, entry: Entry, counted: float, at_h: float) -> bool:
        """A count of what was drawn off before: it sets what that harvest held."""
        drawn = self.drawn.get(entry.subject)
        if drawn is None or drawn.counted:
            return False
        if at_h - hours(drawn.at) > self.holding.longest_h:
            return False
        self._count_hatch(entry, drawn.hatch, hours(drawn.at))
        whole = self._drawn_off(drawn.hatch, drawn.at, hours(drawn.at), counted)
        self.held = [
            evolve(h, nauplii=whole.nauplii * h.share, energy_j=whole.energy_j * h.share)
            if (h.vessel, h.harvested_at) == (entry.subject, drawn.at)
            else h
            for h in self.held
        ]
        self.drawn[entry.subject] = drawn._replace(counted=True, line=entry.line)
        return True

    def _hold(self, held: HeldNauplii) -> None:
        if hours(self.now) - hours(held.harvested_at) <= self.holding.longest_h:
            self.held.append(held)

    def _fed(self, entry: Entry, at: datetime, at_h: float) -> bool:
        """A round was fed as told: so much out of each jar, and of the dry food."""
        told = self.told.task if self.told is not None else None
        if self.told is None or not isinstance(told, Feed):
            self.stocks.use(DRY, entry.amount or 0.0, at_h)
            return True
        self.stocks.use(DRY, told.dry_g or 0.0, at_h)
        given = sum(self._drawn_from_jar(draw, at, at_h) for draw in self.told.draws)
        if given < (1.0 - _MOST_MISSING) * (told.nauplii or 0.0):
            self.unfed.add(told.id)
        return True

    def _drawn_from_jar(self, draw: Draw, at: datetime, at_h: float) -> float:
        """Takes a told part out of the jar of a harvest; the nauplii alive in it."""
        jars = [
            (abs(h.harvested_at - draw.harvested), i) for i, h in enumerate(self.held)
            if h.vessel == draw.vessel and h.harvested_at <= at and h.share > 0
            and abs(h.harvested_at - draw.harvested) < _SAME_HARVEST
        ]  # fmt: skip
        if not jars:
            return 0.0
        number = min(jars)[1]
        held = self.held[number]
        from_h = hours(held.harvested_at)
        if at_h - from_h > self.holding.longest_h:
            return 0.0
        used = min(1.0, draw.part / held.share)
        left = 1.0 - used if used < 1.0 - 1e-9 else 0.0
        self.held[number] = evolve(
            held, nauplii=held.nauplii * left, energy_j=held.energy_j * left,
            share=held.share * left,
        )  # fmt: skip
        return used * held.nauplii * self.holding.alive(from_h, at_h)

    def _failed(self, entry: Entry, at: datetime, at_h: float) -> bool:
        """A hatch that gave nothing, or a culture that crashed."""
        if entry.subject in self.vessels:
            hatch = self.hatches.get(entry.subject)
            if hatch is not None and hatch.set_at <= at:
                del self.hatches[entry.subject]
                self.drawn[entry.subject] = _Drawn(at, entry.line, hatch, True)
                self._set_aside(entry, _GAVE_NOTHING)
            else:
                self._empty_jar(entry.subject)
            return True
        return self._discard(entry._replace(other="crashed"), at, at_h)

    def _set_aside(self, entry: Entry, why: str) -> None:
        """A reading that sets what is there, or is told, and teaches nothing."""
        self.seen.set_aside.append((entry.line, entry.subject, why))

    def _empty_jar(self, vessel: str) -> None:
        """The harvest of a vessel turns out to be no food."""
        last = max((h.harvested_at for h in self.held if h.vessel == vessel), default=None)
        self.held = [h for h in self.held if (h.vessel, h.harvested_at) != (vessel, last)]

    def _skip(self, entry: Entry, _at: datetime, _at_h: float) -> bool:
        """A told task that was not done: not to be asked for again before the next round."""
        what = entry.other.partition("/")[0]
        moment = max(entry.when, self.told.task.at if self.told is not None else entry.when)
        if what == "set_hatch":
            self.not_before[entry.subject] = moment + timedelta(minutes=1)
        elif what == "split" and (life := self.lives.get(entry.subject)) is not None:
            self.not_before[life.culture.kind.name] = moment + timedelta(minutes=1)
        return True

    def _note(self, entry: Entry, at: datetime, _at_h: float) -> bool:
        self._remark(entry.subject, at, entry.note)
        return True

    def _leftover(self, entry: Entry, at: datetime, _at_h: float) -> bool:
        if entry.other != "none":
            self._remark(entry.subject, at, f"{entry.other} was left over")
        return entry.subject in self.broods.now

    def _remark(self, subject: str, at: datetime, text: str) -> None:
        local = at.astimezone(self.room.timezone)
        self.remarks.setdefault(subject, []).append((local, text))

    def _count_hatch(self, entry: Entry, hatch: RunningHatch, at_h: float) -> None:
        """What a count of a vessel teaches of nauplii a gram and of the time they take."""
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
                HatchObserved(batch, at_h, waited, model.rate, entry.amount / hatch.cysts_g / share,
                          sd, entry.line)
            )  # fmt: skip
        elif entry.amount <= 0:
            self._set_aside(entry, _GAVE_NOTHING)
        elif entry.amount > most:
            self._set_aside(entry, "more nauplii than the cysts can give")

    # --- counts, temperatures, purchases

    def _count(self, entry: Entry, at: datetime, at_h: float) -> bool:
        unit = entry.unit or self._unit_of_count(entry.subject)
        if unit == "nauplii":
            hatch = self.hatches.get(entry.subject)
            if hatch is not None and hatch.set_at < at:
                self._count_hatch(entry, hatch, at_h)
                self._hatch_holds(hatch, entry.amount or 0.0, at_h)
            elif (drawn := self.drawn.get(entry.subject)) is not None and not drawn.counted:
                self._count_of_drawn(entry, entry.amount or 0.0, at_h)
            return entry.subject in self.vessels
        if unit in ("worms", "mg"):
            life = self._life(entry.subject, at_h)
            if life is None:
                return entry.subject in self.names
            kind = life.culture.kind
            before = life.state.stock_mg
            if not entry.amount:  # a swipe without a worm: nothing stands there to be taken
                life.stand(0.0)
                life.note("counted", before, noted=True)
                return True
            each = kind.values["individual_mass_ug"] / 1000.0 if unit == "worms" else 1.0
            drops = read_drops(entry.other)
            sd = drops.relative_sd if drops is not None else BARE_TOTAL_SD
            mg = entry.amount * each
            if entry.other == "tray":
                life.stand(mg)
                life.note("counted", before, noted=True)
            elif mg <= life.state.stock_mg:
                self.seen.swipes.append(SwipeObserved(kind.name, at_h, mg, sd, entry.line))
            else:
                self._set_aside(entry, "more worms than stand in the whole culture")
            return True
        if unit == "g":
            self.stocks.stand(entry.subject, entry.amount or 0.0, at_h)
            return self.stocks.knows(entry.subject)
        return self.broods.handle(entry, at)

    def _hatch_holds(self, hatch: RunningHatch, counted: float, at_h: float) -> None:
        """A count sets what a hatch will give, once enough of it should have hatched to tell."""
        model = vessel_model(self.room, self.vessels[hatch.vessel])
        waited = round(at_h - hours(hatch.set_at), 6)
        now, most = model.nauplii(waited), model.nauplii(_LAST_H)
        if now >= _TELLING_SHARE * most:
            share = counted / (hatch.cysts_g * now)
            self.hatches[hatch.vessel] = evolve(hatch, share=share)
        else:
            self.notes.append(
                f"{hatch.vessel}: too early to tell from a count what the hatch will give;"
                " count again when it should be well hatched."
            )

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
        if entry.subject == CYSTS:
            self.seen.bought_h.append(at_h)
        self.stocks.buy(entry.subject, entry.amount, at_h)
        return self.stocks.knows(entry.subject) or entry.subject in self.room.kinds

    def _used(self, entry: Entry, _at: datetime, at_h: float) -> bool:
        self.stocks.use(entry.subject, entry.amount or 0.0, at_h)
        return self.stocks.knows(entry.subject)

    def _learn(self, entry: Entry, _at: datetime, _at_h: float) -> bool:
        change = self.seen.off.add if entry.other == "off" else self.seen.off.discard
        change(entry.subject)
        if entry.subject == "all" and entry.other == "on":
            self.seen.off.clear()
        return True

    # --- the room that comes of it

    def result(self) -> Replayed:
        """The room at ``now``."""
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
        if cysts is not None or self.stocks.bought:
            cysts = evolve(cysts or Cysts(0.0), grams=max(0.0, self.stocks.grams[CYSTS]))
        broods = self.broods.now.values()
        room = evolve(
            self.room,
            tanks=self.broods.room.tanks,
            broods=tuple(b for b in broods if not b.waits(self.until)),
            waiting=tuple(b for b in broods if b.waits(self.until)),
            coming=tuple(c for c in self.room.coming if c.name not in self.names),
            cultures=tuple(life.marked() for life in self.lives.values()),
            vessels=tuple(self.vessels.values()),
            hatches=tuple(self.hatches.values()),
            cysts=cysts,
            stock_g=self.stocks.stated(),
            held=tuple(h for h in self.held if h.nauplii >= 1),
            not_before=self.not_before,
            remarks={name: tuple(rows) for name, rows in self.remarks.items()},
            notes=tuple(self.notes),
        )
        return Replayed(
            room, self.seen, frozenset(self.names), tuple(self.doubts),
            frozenset(self.contradicted), frozenset(self.unfed), self.lives,
        )  # fmt: skip


class _Drawn(NamedTuple):
    """A vessel that was drawn off: when, by which line, of which hatch, and whether counted."""

    at: datetime
    line: int
    hatch: RunningHatch
    counted: bool


def _mg_per(unit: str, kind: WormKind) -> float:
    """Worms in one unit of a harvest [mg]."""
    portion = kind.values["portion_mg"]
    return {"mg": 1.0, "mL": portion / DRAW_ML}.get(unit, portion)
