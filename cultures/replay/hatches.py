"""Hatches on their way through the journal: set, counted, drawn off, held and fed, or failed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.hatching import BEGUN_SHARE, HatchModel
from cultures.foods.vessels import Vessel
from cultures.journal.counting import relative_sd
from cultures.journal.entries import Entry
from cultures.journal.events import APART
from cultures.limits import cysts_slip
from cultures.replay.doubts import cysts_doubt, drawn_doubt, hatch_doubt, most_nauplii, stale_doubt
from cultures.replay.meals import unasked_dry_g
from cultures.replay.observations import HatchEmpty, HatchObserved
from cultures.replay.shared import Deed, Shared
from cultures.replay.stocks import CYSTS, SALT
from cultures.room.jars import CRUMB, vessel_model, whole_jar_ml
from cultures.room.room import HeldNauplii, Room, RunningHatch
from cultures.tasks.task import Feed, HarvestHatch, SetHatch
from cultures.tasks.told import EARLY, Draw, FeedLine, ToldTask, few_shared
from cultures.words.moments import hours, spoken_when

#: A count tells what a hatch will give once so much of it should have hatched (assumption).
_TELLING_SHARE = 0.25
#: A hatch of which no more than this share is out has nothing to draw off or count.
_UNHATCHED = 0.005
#: A vessel drawn off and set anew at one visit is counted within so long (assumption).
_AT_ONCE_H = 1.0
_WENT_WRONG = "noted with --apart; fed as counted, and not taken for what cysts give"
_PRESUMED = "{}. That is taken as done; if it was not: journal skip '{vessel}' first"
#: What a bottle loses past its best is not modelled: of one that stood longer than nauplii are held
#: warm, nobody knows which part of what hatched was still alive to be counted (assumption).
TOO_OLD = "it stood too long past its best; fed as counted, and not taken for what cysts give"
#: What can be wrong with a hatch of which nothing comes (common practice, no source).
CHECK_HATCH = (
    "check air, salt and heat of the bottle (unplug the heater before you reach in). If these were"
    " right, the tin may be bad: try a pinch of it in a warm, lit glass of salt water at once, and"
    " count what comes."
)
_GAVE_NOTHING = "the hatch gave nothing; fed as such, and not taken for what cysts give"
#: A vessel of which nobody knows how warm it stood (common practice, no source) [°C].
_GONE_C = 27.0
#: A harvest told for one time and made at another is the same within half a day.
_SAME_HARVEST = timedelta(hours=12)
#: Cysts that stand still in the cold count as so slow: how far they were is told at this rate, and
#: hours of cold add next to nothing (assumption).
_STILL = 0.01
#: A hatch that stood cold is drawn off for this share of what was told, or more (assumption).
_WORTH_DRAWING = 0.4
#: Less than this share of the nauplii of a feeding: they did not come.
_LEAST_COME = 0.1
#: So much fewer than told are made up for out of a jar that was counted.
_FEWER = 0.25
#: Of one failure two people do not tell further apart (assumption).
_FAILED_AGAIN = timedelta(hours=24)
#: Set so much later than told, a hatch holds less at its rounds.
_LATE = timedelta(minutes=30)


class _Drawn(NamedTuple):
    """A vessel that was drawn off: when, by which line, of which hatch, and whether counted.

    ``jar_at``: by which its jar is called.
    """

    at: datetime
    line: int
    hatch: RunningHatch
    counted: bool
    jar_at: datetime


class _Taken(NamedTuple):
    """What was taken out of a jar, and the nauplii alive in it."""

    draw: Draw
    nauplii: float


class Hatches:
    """The vessels of a room, and the nauplii that are held.

    Attributes:
        vessels: by name. gone: those that the file does not have any more, by what was told of
            them. standing: hatches in them. lines: of the journal, those that set them. keys: of
            those whose told setting is over, set then or not. drawn: vessels drawn off and not set
            since. failures: the last of each that is noted.
        held: harvests that may still be fed. drawn_of: by the id of each feeding, what it took of
            which jar; came: which share of the nauplii told was there; missed: ids of those told of
            a jar that was not; few: who got what where far fewer were known to be there.
    """

    def __init__(self, room: Room, shared: Shared) -> None:
        self.room, self.shared, self.holding = room, shared, room.holding
        self.vessels = {v.name: v for v in room.vessels}
        self.gone: set[str] = set()
        self.standing = {h.vessel: self._of_its_tin(h) for h in room.hatches}
        self.lines: dict[str, int] = {}
        self.keys: set[str] = set()
        self.drawn: dict[str, _Drawn] = {}
        self.failures: dict[str, Entry] = {}
        self.held: list[HeldNauplii] = []
        self.missed: set[str] = set()
        self.drawn_of: dict[str, tuple[Draw, ...]] = {}
        self.came: dict[str, float] = {}
        self.few: dict[str, tuple[FeedLine, ...]] = {}
        #: Dry food for which none was told, by the id of the feeding and the tank [g].
        self.unasked_g: dict[tuple[str, str], float] = {}

    def may_be(self, entry: Entry, told: ToldTask | None) -> bool:
        """Whether a told setting or harvest can have been done as told."""
        hatch = self.standing.get(entry.subject)
        if entry.event == "set":
            if told is not None:
                self.keys.add(told.hatch)
            return hatch is None and entry.subject in self.vessels.keys() - self.gone
        if hatch is None or (told is not None and not self._is_of(hatch, told)):
            return False
        # Nobody draws off what has hardly begun to hatch.
        begun = self._is_out(hatch, hours(entry.when), BEGUN_SHARE)
        return begun and not (told is not None and self._is_unripe(hatch, told, entry))

    def _is_unripe(self, hatch: RunningHatch, told: ToldTask, entry: Entry) -> bool:
        """Whether a hatch that stood colder than it was told for is so far from ripe that it is
        left to stand.
        """
        task, model = told.task, self._model(hatch.vessel)
        if not isinstance(task, HarvestHatch) or hatch.aged_at is None:
            return False
        waited_h = self._waited(hatch, hours(entry.when))
        there = hatch.cysts_g * hatch.share * model.nauplii(waited_h)
        return waited_h < model.best_hours() and there < _WORTH_DRAWING * task.nauplii

    def _is_of(self, hatch: RunningHatch, told: ToldTask) -> bool:
        """Whether a told harvest is of the hatch that stands, and not of one before or none."""
        return hatch.is_of(told) and (bool(hatch.key) or told.hatch not in self.keys)

    def doubt(self, entry: Entry, at: datetime, told: ToldTask | None = None) -> str | None:
        """Why a vessel cannot be set, drawn off or hold so many, or None."""
        match entry.event:
            case "temperature":
                return self._warmth(entry)
            case "failed":
                return self._failed_again(entry, at)
            case "harvest":
                return self._empty(entry, at)
            case "hatched" | "count":
                return self._count_doubt(entry, at)
            case "set":
                hatch = self._stands(entry.subject, at)
                if slip := self._slip(entry, told):
                    return f"{entry.subject}: {slip}"
                return None if hatch is None else self._too_many(entry, hatch, at)
        return None

    def _count_doubt(self, entry: Entry, at: datetime) -> str | None:
        """Why so many cannot have been counted in a vessel, or of its last harvest, or None."""
        hatch, drawn = self.standing.get(entry.subject), self.drawn.get(entry.subject)
        if entry.event == "hatched" and hatch is None:
            if drawn is None:
                return self._empty(entry, at)
            if drawn.counted or not self._keeps(drawn.at, hours(at)):
                return drawn_doubt(entry, drawn.at, drawn.line, at)
            return self._too_many(entry, drawn.hatch, at)
        if drawn is not None and self._is_of_drawn(entry.subject, hours(at)):
            return self._too_many(entry, drawn.hatch, at)
        if hatch is None:
            return None
        if entry.event == "hatched" and entry.amount and (stale := self._too_old(hatch, at)):
            return stale
        return self._too_many(entry, hatch, at) if hatch.set_at <= at else None

    def _failed_again(self, entry: Entry, at: datetime) -> str | None:
        """Why a hatch cannot have failed that is not ripe yet, where the one before it did; None.

        The same failure may be noted by another person, who does not know that the vessel was set.
        """
        hatch, failed = self._stands(entry.subject, at), self.failures.get(entry.subject)
        if hatch is None or failed is None or at - failed.when > _FAILED_AGAIN:
            return None
        if self._waited(hatch, hours(at)) >= self._model(hatch.vessel).best_hours():
            return None
        begun = spoken_when(hatch.set_at.astimezone(at.tzinfo), at)
        return (
            f"{entry.subject} was set on {begun} and cannot be ripe yet; that it failed is noted"
            f" already (line {failed.line}, of a hatch before this one)"
        )

    def _slip(self, entry: Entry, told: ToldTask | None) -> str | None:
        """Why so many cysts look like a slip of the pen, or None."""
        set_g, litres = entry.amount or 0.0, self.vessels[entry.subject].litres
        task = told.task if told is not None else None
        if (slip := cysts_slip(set_g, litres)) or not isinstance(task, SetHatch):
            return slip
        return cysts_doubt(set_g, litres, self.room.hatch_kind.most_grams(litres), task.cysts_g)

    def _warmth(self, entry: Entry) -> str | None:
        """Why no hatch is set at a temperature, at which one may stand for a while; or None."""
        degrees = entry.amount or 0.0
        why = self.room.hatch_kind.check_temperature(degrees)
        return f"{entry.subject} at {degrees:.4g} °C: {why}" if why else None

    def _too_many(self, entry: Entry, hatch: RunningHatch, at: datetime) -> str | None:
        line = self.lines.get(entry.subject, 0)
        return hatch_doubt(entry, hatch, at, self.room.hatch_kind, self.room.cysts, line)

    def _too_old(self, hatch: RunningHatch, at: datetime) -> str | None:
        """Why the nauplii of a hatch that stands are no food any more, or None."""
        model, keeps_h = self._model(hatch.vessel), self.room.hatch_kind.keeps_at_most_h
        waited_h = self._waited(hatch, hours(at))
        if not model.is_stale(waited_h, keeps_h):
            return None
        ripe = (at - timedelta(hours=waited_h - model.best_hours())).replace(minute=0, second=0)
        return stale_doubt(hatch.vessel, ripe, keeps_h, at)

    def _empty(self, entry: Entry, at: datetime) -> str | None:
        """Why there is nothing to draw off, or None; what was before the file it does not say."""
        if self._stands(entry.subject, at) is not None or hours(at) < self.shared.as_of_h:
            return None
        drawn = self.drawn.get(entry.subject)
        if drawn is not None and drawn.at <= at:
            again = drawn_doubt(entry, drawn.at, 0, at)
            return again if drawn.line else _PRESUMED.format(again, vessel=entry.subject)
        return f"as far as is known no hatch stands in {entry.subject}; note first that it was set"

    def set(self, deed: Deed) -> bool:
        """Cysts are set in a vessel."""
        entry = deed.entry
        assert entry.amount is not None
        self.shared.stocks.use(CYSTS, entry.amount, deed.at_h)
        vessel = self.vessels.get(entry.subject) or self._told_vessel(deed)
        if vessel is None:
            return False
        salt_g = vessel.litres * vessel.salinity_g_per_l
        self.shared.stocks.use(SALT, salt_g, deed.at_h)
        hatch = self.standing.get(entry.subject)
        if hatch is None or hatch.set_at < deed.at:
            new = RunningHatch(entry.subject, deed.at, entry.amount)
            if (told := deed.told) is not None:
                key = told.task.id.partition("/")[2]
                late = deed.at - told.task.at > _LATE
                new = evolve(new, key=key, harvest_at=told.harvest_at, late=late)
                self.keys.add(told.hatch)
            self.standing[entry.subject] = self._of_its_tin(new)
            self.lines[entry.subject] = entry.line
            if hatch is not None:  # which nobody drew off
                self.drawn.pop(entry.subject, None)
        return True

    def _of_its_tin(self, hatch: RunningHatch) -> RunningHatch:
        """A hatch that gives what the tin gave that it was set from, whatever was bought since."""
        cysts = self.room.cysts
        gave = cysts.gave(hours(hatch.set_at)) if cysts is not None else None
        if cysts is None or gave is None:
            return hatch
        gives = cysts.nauplii_per_gram or self.room.hatch_kind.values["nauplii_per_gram"]
        return evolve(hatch, share=hatch.share * gave / gives)

    def _told_vessel(self, deed: Deed) -> Vessel | None:
        """A vessel that was told to be set and is not in the file any more.

        How warm it stood is not on record; the harvests that come of it are told or counted.
        """
        told = deed.told.task if deed.told is not None else None
        if not isinstance(told, SetHatch):
            return None
        vessel = Vessel(told.subject, told.water_l, _GONE_C, told.salt_g / told.water_l)
        self.vessels[told.subject] = vessel
        self.gone.add(told.subject)
        return vessel

    def still_there(self) -> tuple[tuple[Vessel, ...], tuple[RunningHatch, ...]]:
        """The vessels of the file, and the hatches that stand in them."""
        return (
            tuple(v for name, v in self.vessels.items() if name not in self.gone),
            tuple(h for name, h in self.standing.items() if name not in self.gone),
        )

    def draw_off(self, deed: Deed) -> bool:
        """A vessel is drawn off, its nauplii counted or not."""
        entry = deed.entry
        if entry.subject not in self.vessels:
            return False
        told = deed.told.task if deed.told is not None else None
        if isinstance(told, HarvestHatch) and told.jar_ml:
            salt_g = told.jar_ml / 1000.0 * self.vessels[entry.subject].salinity_g_per_l
            self.shared.stocks.use(SALT, salt_g, deed.at_h)
        counted = entry.amount if entry.unit in ("nauplii", "") else None
        hatch = self._stands(entry.subject, deed.at)
        own = hatch is not None and deed.told is not None and self._is_of(hatch, deed.told)
        if counted is not None and not own and self._is_of_drawn(entry.subject, deed.at_h):
            return self._count_of_drawn(entry, counted, deed.at_h)
        if hatch is None:
            if counted is not None and not self._count_of_drawn(entry, counted, deed.at_h):
                energy = counted * self.room.hatch_kind.values["energy_j"]
                self._hold(HeldNauplii(entry.subject, deed.at, counted, energy))
            return True
        del self.standing[entry.subject]
        if counted is not None:
            self._observe(entry, hatch, deed.at_h)
        jar_at, jar_ml = deed.at, None
        if isinstance(told, HarvestHatch):
            jar_ml = told.jar_ml
            # Its label is written by then, as it was told.
            jar_at = told.at if timedelta() < told.at - deed.at <= EARLY else deed.at
        self.drawn[entry.subject] = _Drawn(deed.at, entry.line, hatch, counted is not None, jar_at)
        self._hold(evolve(self._harvest_of(hatch, jar_at, counted), jar_ml=jar_ml))
        return True

    def _stands(self, vessel: str, at: datetime) -> RunningHatch | None:
        """The hatch that stands in a vessel and was set by then."""
        hatch = self.standing.get(vessel)
        return hatch if hatch is not None and hatch.set_at <= at else None

    def _model(self, vessel: str) -> HatchModel:
        model = vessel_model(self.room, self.vessels[vessel])
        return evolve(model, rate=max(model.rate, _STILL))

    def _waited(self, hatch: RunningHatch, at_h: float) -> float:
        """For how long it has stood, had its vessel always been as warm as it is [h]."""
        return round(at_h - hatch.begun_h(self._model(hatch.vessel).rate), 6)

    def stands_at(self, vessel: str, degrees: float, at: datetime) -> None:
        """A vessel is warmer or colder from a moment on."""
        hatch = self._stands(vessel, at)
        if hatch is not None:
            self.standing[vessel] = hatch.warmed(self._model(vessel).rate, at)
        self.vessels[vessel] = evolve(self.vessels[vessel], temperature_c=degrees)

    def _is_out(self, hatch: RunningHatch, at_h: float, share: float) -> bool:
        """Whether so much of what a hatch will ever give has hatched; of nothing, all has."""
        return self._model(hatch.vessel).is_out(self._waited(hatch, at_h), share)

    def _harvest_of(self, hatch: RunningHatch, at: datetime, counted: float | None) -> HeldNauplii:
        """What a harvest holds: as many as were counted, else as many as the model says, and none
        of one that stood so long past its best that nauplii do not keep.
        """
        model = self._model(hatch.vessel)
        waited = self._waited(hatch, hours(at))
        nauplii = hatch.cysts_g * hatch.share * model.nauplii(waited)
        energy = hatch.cysts_g * hatch.share * model.energy(waited)
        if counted is not None:
            each = energy / nauplii if nauplii > 0 else self.room.hatch_kind.values["energy_j"]
            nauplii, energy = counted, counted * each
        elif model.is_stale(waited, self.room.hatch_kind.keeps_at_most_h):
            nauplii = energy = 0.0
        return HeldNauplii(hatch.vessel, at, nauplii, energy)

    def _is_of_drawn(self, vessel: str, at_h: float) -> bool:
        """Whether nauplii noted of a vessel are those of its last harvest, as nothing that was set
        in it since can have hatched yet, unless the harvest of that was told by then.
        """
        drawn, hatch = self.drawn.get(vessel), self.standing.get(vessel)
        if drawn is None or drawn.counted or hatch is None or hatch.set_at < drawn.at:
            return False
        return self._keeps(drawn.at, at_h) and not self._is_out(hatch, at_h, _UNHATCHED)

    def _count_of_drawn(self, entry: Entry, counted: float, at_h: float) -> bool:
        """A count of what was drawn off before: it sets what that harvest held."""
        drawn, hatch = self.drawn.get(entry.subject), self.standing.get(entry.subject)
        if drawn is None or drawn.counted or not self._keeps(drawn.at, at_h):
            return False
        if hatch is not None and at_h - hours(hatch.set_at) > _AT_ONCE_H:
            day = entry.when.astimezone(drawn.at.tzinfo)
            self.shared.tell(
                entry,
                f"what was set in {entry.subject} on {spoken_when(hatch.set_at, day)} cannot have"
                f" hatched by then; taken for the jar of {spoken_when(drawn.jar_at, day)}. If the"
                f" hatch is lost: journal failed '{entry.subject}'.",
            )
        self._observe(entry, drawn.hatch, hours(drawn.at))
        whole = self._harvest_of(drawn.hatch, drawn.jar_at, counted)
        self.held = [
            evolve(h, nauplii=whole.nauplii * h.share, energy_j=whole.energy_j * h.share)
            if (h.vessel, h.harvested_at) == (entry.subject, drawn.jar_at)
            else h
            for h in self.held
        ]
        self.drawn[entry.subject] = drawn._replace(counted=True, line=entry.line)
        return True

    def _hold(self, held: HeldNauplii) -> None:
        """Holds a harvest, and no more what is too old beside it to be fed."""
        self.held = [*self._fit(hours(held.harvested_at)), held]

    def _fit(self, at_h: float) -> list[HeldNauplii]:
        return [h for h in self.held if self._keeps(h.harvested_at, at_h)]

    def still_held(self) -> tuple[HeldNauplii, ...]:
        """The harvests that can still be fed now."""
        return tuple(h for h in self._fit(hours(self.shared.now)) if h.nauplii >= 1)

    def given_up(self) -> tuple[HeldNauplii, ...]:
        """The harvests that count as no food any more, of which some may still swim."""
        now_h = hours(self.shared.now)
        return tuple(
            h for h in self.held
            if not self._keeps(h.harvested_at, now_h) and h.share > CRUMB and h.nauplii >= 1
        )  # fmt: skip

    def fed(self, deed: Deed) -> bool:
        """A round was fed as told: so much out of each jar, and of the dry food what was soaked.

        Noted tank by tank, the first that was fed empties jar and cup: they are made up for all.
        """
        if deed.told is None or not isinstance(told := deed.told.task, Feed):
            if not deed.entry.other:  # which would be the food of one tank
                self.shared.stocks.use(DRY, deed.entry.amount or 0.0, deed.at_h)
            return True
        self._use_unasked(deed, deed.told)
        if told.id in self.drawn_of:
            return True
        self.shared.stocks.use(DRY, told.dry_used_g, deed.at_h)
        draws = [self._from_jar(draw, deed) for draw in deed.told.draws]
        missed = [d for d, drawn in zip(deed.told.draws, draws, strict=True) if drawn is None]
        drawn = [taken for taken in draws if taken is not None]
        if missed:
            self.missed.add(told.id)
            if told.nauplii and not any(map(self._comes_late, missed)):
                wanted = told.nauplii - sum(taken.nauplii for taken in drawn)
                drawn += self._instead(wanted, deed)
        elif told.nauplii and drawn:
            drawn = self._as_counted(drawn, told.nauplii, deed)
        self.drawn_of[told.id] = tuple(taken.draw for taken in drawn)
        if told.nauplii:
            share = self.came[told.id] = sum(taken.nauplii for taken in drawn) / told.nauplii
            if share < 1.0 - _FEWER and any(self._was_counted(x.draw, deed) for x in drawn):
                shared = self._shared(deed.told.lines, share)
                if shared != deed.told.lines:
                    self.few[told.id] = shared
        return True

    def _use_unasked(self, deed: Deed, told: ToldTask) -> None:
        """Dry food that a tank got and that was not told for it; the later word of it holds."""
        entry = deed.entry
        noted = {entry.other: (entry.amount or 0.0, entry.unit)}
        grams, key = unasked_dry_g(told, entry.subject, noted), (told.task.id, entry.subject)
        if entry.other == DRY and (grams > 0.0 or key in self.unasked_g):
            self.shared.stocks.use(DRY, grams - self.unasked_g.get(key, 0.0), deed.at_h)
            self.unasked_g[key] = grams

    def _shared(self, lines: Sequence[FeedLine], share: float) -> tuple[FeedLine, ...]:
        largest_ml = max([x.amount for x in lines if x.food == BRINE_SHRIMP], default=0.0)
        return few_shared(lines, BRINE_SHRIMP, share, self.room.tools.mark_ml(largest_ml))

    def unfed(self) -> frozenset[str]:
        """Ids of the feedings for which the nauplii did not come."""
        return frozenset(key for key, share in self.came.items() if share < _LEAST_COME)

    def _as_counted(self, drawn: list[_Taken], wanted: float, deed: Deed) -> list[_Taken]:
        """What a round took, with more out of each jar that was counted before the round was noted,
        where that held far fewer nauplii than told: as many as were told, or all that it has.
        """
        came = sum(taken.nauplii for taken in drawn)
        if not 0.0 < came < (1.0 - _FEWER) * wanted:
            return drawn
        times, found = wanted / came - 1.0, []
        for draw, nauplii in drawn:
            more = None
            if self._was_counted(draw, deed):
                again = evolve(draw, part=times * draw.part, take_ml=times * draw.take_ml)
                more = self._from_jar(again, deed)
            if more is not None:
                draw = evolve(
                    draw, take_ml=draw.take_ml + more.draw.take_ml, part=draw.part + more.draw.part
                )
                nauplii += more.nauplii
            found.append(_Taken(draw, nauplii))
        return found

    def _was_counted(self, draw: Draw, deed: Deed) -> bool:
        """Whether the harvest of a jar was counted before a round was noted that draws from it."""
        last = self.drawn.get(draw.vessel)
        if last is None or not last.counted or last.jar_at != draw.harvested:
            return False
        return deed.presumed or last.line < deed.entry.line

    def _comes_late(self, draw: Draw) -> bool:
        """Whether the hatch of a jar stands still, and so was drawn off after its round."""
        hatch = self.standing.get(draw.vessel)
        told_at = hatch.harvest_at if hatch is not None else None
        return told_at is not None and abs(told_at - draw.harvested) < _SAME_HARVEST

    def _instead(self, wanted: float, deed: Deed) -> Iterator[_Taken]:
        """So many nauplii out of the jars that are there, in their turn."""
        harvested_h = {n: hours(held.harvested_at) for n, held in enumerate(self.held)}
        for number in self.holding.in_turn(harvested_h, deed.at_h):
            held = self.held[number]
            alive = held.nauplii * self.holding.alive(harvested_h[number], deed.at_h)
            fit = held.harvested_at - EARLY <= deed.at and self._feeds(held, deed)
            if not fit or alive < 1.0 or wanted < 1.0:
                continue
            part = held.share * min(1.0, wanted / alive)
            whole_ml = whole_jar_ml(held.jar_ml, held.nauplii, held.share, self.room.units)
            draw = Draw(
                held.vessel, held.harvested_at, whole_ml * held.share, whole_ml * part, part
            )
            taken = _Taken(draw, self._take(number, part, deed.at_h))
            wanted -= taken.nauplii
            yield taken

    def _from_jar(self, draw: Draw, deed: Deed) -> _Taken | None:
        """Takes a told part out of the jar of a harvest, or what is left there; None where there is
        no such jar.
        """
        jars = [
            (abs(h.harvested_at - draw.harvested), i) for i, h in enumerate(self.held)
            if h.vessel == draw.vessel and h.harvested_at - EARLY <= deed.at and h.share > 0
            and abs(h.harvested_at - draw.harvested) < _SAME_HARVEST and self._feeds(h, deed)
        ]  # fmt: skip
        if not jars:
            return None
        number = min(jars)[1]
        held = self.held[number]
        draw = evolve(draw, harvested=held.harvested_at)
        told_ml = draw.jar_ml
        if told_ml is not None:
            left_ml = held.share * whole_jar_ml(
                held.jar_ml, held.nauplii, held.share, self.room.units
            )
            if draw.part > held.share:
                draw = evolve(draw, jar_ml=left_ml, take_ml=left_ml, part=held.share)
            elif left_ml > (1.0 + CRUMB) * told_ml:
                # An earlier round left in it what it was told to take.
                draw = evolve(draw, jar_ml=left_ml)
        return _Taken(draw, self._take(number, draw.part, deed.at_h))

    def _feeds(self, held: HeldNauplii, deed: Deed) -> bool:
        """Whether a harvest may be fed at a round: by its age when that begins, however late the
        round is noted.
        """
        begins_h = hours(deed.told.task.at) if deed.told is not None else deed.at_h
        return self._keeps(held.harvested_at, min(deed.at_h, begins_h))

    def _keeps(self, harvested_at: datetime, at_h: float) -> bool:
        """Whether what was drawn off at a moment may still be fed."""
        return self.holding.still_feeds(hours(harvested_at), at_h)

    def _take(self, number: int, part: float, at_h: float) -> float:
        """Takes a part of a whole harvest out of its jar, as far as it goes; the nauplii alive."""
        held = self.held[number]
        used = min(1.0, part / held.share)
        left = 1.0 - used if held.share * (1.0 - used) > CRUMB else 0.0
        self.held[number] = evolve(
            held, nauplii=held.nauplii * left, energy_j=held.energy_j * left,
            share=held.share * left,
        )  # fmt: skip
        return used * held.nauplii * self.holding.alive(hours(held.harvested_at), at_h)

    def failed(self, deed: Deed) -> bool:
        """A hatch gave nothing, or its harvest turns out to be no food."""
        vessel = deed.entry.subject
        if deed.entry.line:
            self.failures[vessel] = deed.entry
        hatch = self._stands(vessel, deed.at)
        if hatch is not None:
            del self.standing[vessel]
            self.drawn[vessel] = _Drawn(deed.at, deed.entry.line, hatch, True, deed.at)
            self._gave_nothing(deed.entry, hatch, deed.at_h)
        else:
            last = max((h.harvested_at for h in self.held if h.vessel == vessel), default=None)
            self.held = [h for h in self.held if (h.vessel, h.harvested_at) != (vessel, last)]
        return True

    def count(self, deed: Deed) -> bool:
        """Nauplii in a vessel that goes on, or of its last harvest, are counted."""
        entry, counted = deed.entry, deed.entry.amount or 0.0
        hatch = self.standing.get(entry.subject)
        early = self._is_of_drawn(entry.subject, deed.at_h)
        if hatch is not None and hatch.set_at < deed.at and not early:
            self._observe(entry, hatch, deed.at_h)
            self._holds(hatch, counted, deed.at_h)
        else:
            self._count_of_drawn(entry, counted, deed.at_h)
        return entry.subject in self.vessels

    def _holds(self, hatch: RunningHatch, counted: float, at_h: float) -> None:
        """A count sets what a hatch will give, once enough of it should have hatched to tell."""
        if self._is_out(hatch, at_h, _TELLING_SHARE):
            now = self._model(hatch.vessel).nauplii(self._waited(hatch, at_h))
            share = counted / (hatch.cysts_g * now)
            self.standing[hatch.vessel] = evolve(hatch, share=share)
        else:
            self.shared.notes.append(
                f"{hatch.vessel}: too early to tell from a count what the hatch will give;"
                " count again when it should be well hatched."
            )

    def _observe(self, entry: Entry, hatch: RunningHatch, at_h: float) -> None:
        """What a count of a vessel teaches of nauplii a gram and of the time they take."""
        assert entry.amount is not None
        kind = self.room.hatch_kind
        vessel = self.vessels[entry.subject]
        share = kind.hatching_share(vessel.temperature_c, vessel.salinity_g_per_l)
        waited = self._waited(hatch, at_h)
        most = most_nauplii(kind, self.room.cysts, hatch.cysts_g)
        batch = f"{entry.subject} {hatch.set_at.isoformat()}"
        # Who looked at it before knows a slow hatch, which is not past its best yet.
        watched = any(seen.batch == batch for seen in self.shared.seen.hatches)
        keeps_h = kind.keeps_at_most_h if watched else kind.values["warm_hold_h"]
        if entry.other == APART:
            self.shared.set_aside(entry, _WENT_WRONG)
        elif self._model(entry.subject).is_stale(waited, keeps_h):
            self.shared.set_aside(entry, TOO_OLD)
        elif 0 < entry.amount <= most and waited > 0:
            self.shared.seen.hatches.append(
                HatchObserved(
                    batch=batch, at_h=at_h, hours=waited,
                    rate=self._model(entry.subject).rate,
                    per_gram=entry.amount / hatch.cysts_g / share,
                    relative_sd=relative_sd(entry.other), line=entry.line,
                )
            )  # fmt: skip
        elif entry.amount <= 0:
            self._gave_nothing(entry, hatch, at_h)
        elif entry.amount > most:
            self.shared.set_aside(entry, "more nauplii than the cysts can give")

    def _gave_nothing(self, entry: Entry, hatch: RunningHatch, at_h: float) -> None:
        """A hatch of which nothing came, which is odd once enough should have hatched to tell."""
        self.shared.set_aside(entry, _GAVE_NOTHING)
        if self._is_out(hatch, at_h, _TELLING_SHARE):
            self.shared.seen.empty.append(
                HatchEmpty(entry.subject, hours(hatch.set_at), at_h, entry.line)
            )
