"""The fish room: tanks, broods, cultures, vessels and cysts, checked and ready to plan with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

from attrs import evolve, field, frozen

from cultures.errors import UnknownNameError
from cultures.foods.food import BRINE_SHRIMP, DRY, Food
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, Kind, WormKind
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.vessels import Vessel
from cultures.foods.worms import WormModel, first_harvest_age
from cultures.fry.bioenergetics import WELL_FED, Fed
from cultures.fry.classes import FryClass, shipped_class
from cultures.fry.feeding import dry_food
from cultures.journal.absences import Away
from cultures.room.orders import Order, RisingStock
from cultures.tasks.told import LATE
from cultures.words.moments import hours
from cultures.words.text import key_named
from cultures.words.tools import CYSTS, Tools

if TYPE_CHECKING:
    from cultures.journal.entries import Entry
    from cultures.tasks.plan import Advice
    from cultures.tasks.task import Buy
    from cultures.tasks.told import FeedLine, ToldTask, Way

#: The stock of medium, and how that of one kind of worms is called, after the kind's name.
MEDIUM, MEDIUM_OF = "medium", "_medium"
#: What is bought is there so long before it is needed, a starter that somebody is asked for sooner,
#: unless the room file says how long a shop takes.
_FETCH_DAYS, _STARTER_DAYS = 2, 1
#: A hatch set at another time than was told is drawn off within so long after it (assumption).
_DAY_AFTER = timedelta(hours=36)
_SATURDAY = 5
#: The steps of a round begin no sooner before it.
_STEPS = timedelta(hours=1)
#: A week to count the rounds of.
_A_MONDAY, _WEEK_D = date(2001, 1, 1), 7


def rounds_of(
    day: date, rounds: tuple[time, ...], weekend: tuple[time, ...],
    by_weekday: Mapping[int, tuple[time, ...]],
) -> tuple[time, ...]:  # fmt: skip
    """The feeding times of a day: those of its weekday, where these are others, or of weekends, or
    of the week.
    """
    usual = weekend if weekend and day.weekday() >= _SATURDAY else rounds
    return by_weekday.get(day.weekday(), usual)


@frozen
class Tank:
    """A numbered tank; volumes in litres."""

    name: str
    litres: float
    temperature_c: float


@frozen
class SellAt:
    """When a brood can be sold or given away: at a length, at an age, or never where both are None.

    Attributes:
        length_mm: mean total length [mm]. age_days: since its first food [d].
    """

    length_mm: float | None = None
    age_days: float | None = None


@frozen
class Brood:
    """The fry of one spawning in one tank.

    Attributes:
        anchor: what is known of its age: ``spawned``, ``hatched``, ``free_swimming``,
            ``length``; ``wetted`` or ``planned`` (to spawn), which may lie ahead; or
            ``collected``: eggs that rest in peat and are no fry yet.
        anchor_date: the day that the anchor speaks of.
        length_mm: total length on that day, for the anchor ``length`` [mm]; measured_mm: as it was
            noted, where that was weighed against the curve.
        count: fry alive on ``counted_on``.
        foods: what this keeper will give, or None for all that the room keeps.
        temperature_log: where it has lived, as (from [h since the epoch], °C) pairs; empty
            for its tank's temperature throughout.
        gone_on: the day from which it is not there any more.
        seen: that it was wetted is noted; else it is only said of a day.
        chance: that it comes at all, below 1 for a spawning that is planned.
        sell_at: when it can go; None where nobody says. fed_since: of one known by its length,
            the day of its first food, where that was known before.
        fed: what its meals have made of it since it was measured, by what was told and noted.
        nth: which of its name it is, where one of that name is gone. not_before: on that day it is
            fed first at the soonest, since it did not swim on the day before.
    """

    name: str
    tank: str
    fry_class: FryClass
    count: float
    counted_on: date
    anchor: str
    anchor_date: date
    length_mm: float | None = None
    survival_per_day: float = 1.0
    foods: tuple[str, ...] | None = None
    temperature_log: tuple[tuple[float, float], ...] = ()
    gone_on: date | None = None
    seen: bool = False
    chance: float = 1.0
    sell_at: SellAt | None = None
    fed_since: date | None = None
    measured_mm: float | None = None
    fed: Fed = WELL_FED
    nth: int = 1
    not_before: date | None = None

    @property
    def key(self) -> str:
        """By what tasks know it from others that had its name."""
        return self.name if self.nth == 1 else f"{self.name}#{self.nth}"

    def alive(self, day: date) -> float:
        """Fry alive on a day, by the survival since they were counted."""
        return float(self.count * self.survival_per_day ** max(0, (day - self.counted_on).days))

    def waits(self, today: date) -> bool:
        """Whether it is no fry to plan for: resting eggs, or a spawning that nobody confirmed."""
        return self.anchor == "collected" or (self.anchor == "planned" and self.anchor_date < today)


def by_certainty(
    broods: Iterable[Brood], today: date
) -> tuple[tuple[Brood, ...], tuple[Brood, ...], tuple[Brood, ...]]:
    """Broods as a room keeps them apart: ``broods``, ``hoped`` and ``waiting``."""
    every = tuple(broods)
    ahead = [b for b in every if not b.waits(today)]
    return (
        tuple(b for b in ahead if b.anchor != "planned"),
        tuple(b for b in ahead if b.anchor == "planned"),
        tuple(b for b in every if b.waits(today)),
    )


@frozen
class CultureMark:
    """What is known of a culture at a moment.

    Attributes:
        at_h: the moment [h since the epoch]. age: its medium's age [physiological d].
        stock_mg: worms standing in it [mg wet].
        gave: ages at which starters were taken from it [physiological d]. sour_gave: the cultures
            begun of those that were taken when it soured.
    """

    at_h: float
    age: float
    stock_mg: float
    gave: tuple[float, ...] = ()
    sour_gave: tuple[str, ...] = ()


@frozen
class Culture:
    """One container of worms.

    Attributes:
        started: day of the inoculation, taken as noon.
        medium_g, surface_cm2, starter_g: medium [g], surface [cm²] and starter [g].
        temperature_c: where it stands; None for the room's [°C].
        mark: its state after what was last done to it; None when it was left alone since
            its start.
        lost_h: when it is lost [h since the epoch]; None while nobody supposes so.
        planned: it is to be bought on the day ``started``, and does not stand yet.
    """

    name: str
    kind: WormKind
    started: date
    medium_g: float
    surface_cm2: float | None
    starter_g: float
    temperature_c: float | None = None
    mark: CultureMark | None = None
    lost_h: float | None = None
    planned: bool = False

    @property
    def bought_g(self) -> float:
        """What its medium takes out of the cupboard [g]; the rest is water."""
        return self.medium_g * self.kind.values["bought_share"]

    @property
    def starter_mg(self) -> float:
        """The worms that its starter brings [mg wet]."""
        return self.starter_g * self.kind.values["starter_mg_per_g"]

    def model(self) -> WormModel:
        """How its worms grow on its own medium."""
        return self.kind.model(medium_g=self.medium_g, surface_cm2=self.surface_cm2)

    def ripe_age(self) -> float:
        """How old its medium is when it first gives, left alone till then [physiological d]."""
        return first_harvest_age(self.model(), self.starter_mg)


@frozen
class Spell:
    """A time in which the air of the room has another temperature [h since the epoch, °C]."""

    start_h: float
    end_h: float
    temperature_c: float


@frozen
class Cysts:
    """The tin of cysts: what is in it, what a gram gives by the keeper, and how it is labelled.

    Attributes:
        before: of tins bought of late, in their order, when [h since the epoch], and what a gram of
            the one before gives.
    """

    grams: float
    nauplii_per_gram: float | None = None
    strain: str | None = None
    before: tuple[tuple[float, float], ...] = ()

    def gave(self, set_h: float) -> float | None:
        """What a gram gives of the tin that was there at a time; None where that is this one."""
        return next((per_gram for bought_h, per_gram in self.before if set_h < bought_h), None)


@frozen
class PoorHatch:
    """A hatch that gave nothing, or far less than is planned on.

    Attributes:
        set_h, at_h: when it was set and looked at [h since the epoch]. per_gram: nauplii of a gram.
    """

    vessel: str
    set_h: float
    at_h: float
    per_gram: float


@frozen
class TinDoubt:
    """The last hatches of the tin in use, all of them poor.

    Attributes:
        hatches: one or more, by time. planned: nauplii of a gram that the plan counts on.
    """

    hatches: tuple[PoorHatch, ...]
    planned: float

    @property
    def serious(self) -> bool:
        """Whether it was more than one, so that the bottle alone is hardly at fault."""
        return len(self.hatches) > 1

    @property
    def share(self) -> float:
        """What the best of them gave over what is planned on."""
        return max(hatch.per_gram for hatch in self.hatches) / self.planned


@frozen
class HowSure:
    """How sure the keeper's own values are that stand in the place of the data's.

    Attributes:
        ranges: by quantity and kind or brood, what eight in ten of the truth over the value that is
            used lie within. counted_h: physiological hours at which the hatches were counted that
            the nauplii of a gram come from, where nothing was learned of their times; then what
            they give at that age is known better than how many there are in the end [h].
    """

    ranges: Mapping[tuple[str, str], tuple[float, float]] = field(factory=dict)
    counted_h: float | None = None


@frozen
class RunningHatch:
    """A hatch that stands in a vessel.

    Attributes:
        key: under which its setting was told, so that its harvest keeps its name; else "".
        share: of what it should give, by a count of it, or by the tin before. harvest_at: when it
            was told to be drawn off, or None; told_today: that is today, and was not taken back.
            aged_h: physiological hours behind it at ``aged_at``, since when its vessel has been as
            warm as it is; None: since it was set. late: it was set well after the time for which
            that was told.
    """

    vessel: str
    set_at: datetime
    cysts_g: float
    key: str = ""
    share: float = 1.0
    harvest_at: datetime | None = None
    aged_h: float = 0.0
    aged_at: datetime | None = None
    told_today: bool = False
    late: bool = False

    def begun_h(self, rate: float) -> float:
        """Since when it would stand, as warm all the time, to be as old as it is [h].

        Args:
            rate: physiological hours per real hour in its vessel now.
        """
        since_h = hours(self.aged_at or self.set_at)
        return since_h - self.aged_h / rate if rate > 0.0 else since_h

    def warmed(self, rate: float, at: datetime) -> RunningHatch:
        """The same at a moment at which its vessel gets warmer or colder; ``rate``: until then."""
        since_h = hours(self.aged_at or self.set_at)
        return evolve(self, aged_h=self.aged_h + (hours(at) - since_h) * rate, aged_at=at)

    def is_of(self, told: ToldTask) -> bool:
        """Whether a told harvest can be that of this hatch, and not of another one.

        Of one that nobody told to be set it is one told since, or of the day after: set at another
        time than was told it is drawn off as told.
        """
        mine = self.key.partition("#")[0]
        until = self.set_at + _DAY_AFTER
        known = told.hatch == mine if mine else self.set_at <= told.told_at or told.task.at <= until
        return known and self.set_at < told.task.at


@frozen
class HeldNauplii:
    """What is still to be fed of a rinsed harvest, as it was when harvested [J].

    ``share`` is how much of the harvest that is: what is left in its jar. ``jar_ml``: what the
    whole of it was told to be made up to, or None.
    """

    vessel: str
    harvested_at: datetime
    nauplii: float
    energy_j: float
    share: float = 1.0
    jar_ml: float | None = None


@frozen
class Told:
    """A setting or a split of which the keeper was told already, or that was planned last.

    Attributes:
        name: the vessel that is set, or the kind of the culture that is split.
        at: when. harvest_at: of a hatch; None for a split.
        hoped: it is for a spawning that is planned. grams: of cysts, 0 where that is free.
    """

    name: str
    at: datetime
    harvest_at: datetime | None = None
    hoped: bool = False
    grams: float = 0.0


@frozen
class Room:
    """Everything that the plan works from.

    Attributes:
        name, timezone: of the room; ``timezone`` is an IANA zone.
        as_of: the day at which the file is true.
        temperatures_c: air temperature, one value or twelve (January first) [°C].
        rounds: feeding times. weekend_rounds: those of Saturday and Sunday, where they are others.
        weekday_rounds: those of single days of the week, Monday 0, before both.
        awake: no task outside.
        fridge_c: None when nauplii cannot be held cold. fridge_before: what it was in earlier
            versions of the file, each with the moment until which it was so, by time.
        effort_g: cysts that the keeper would rather waste than set one more hatch [g].
        makeup_ml: volume to which a rinsed harvest is made up for a round [mL].
        spare_cultures: cultures of a kind to keep in use at least.
        split_weekdays: preferred days for splits, 0 is Monday; empty for any.
        variety: foods that a brood should get at least, where its mouth takes so many.
        stock_g: salt, dry food and medium in stock on ``as_of``, where known [g].
        orders: what is on its way of stocks, the oldest order first; one that is overdue too.
        fetch_days: from buying to having it, by stock or ``starter``, where the keeper says [d].
        alarms_min: lead time of alarms by task, where the keeper set one [min].
        as_of_stated: the file itself says what day it is true at.
        stated_at: the moment at which the file is true, where it names a time of day.
        spells: times with another air temperature. hatch_margin: nauplii hatched beyond the
            need, as a share of it.
        move_g: cysts that moving a task must save which the keeper was told of already [g].
        told: those tasks. drafted: the settings that the last plan had besides, and nobody was
            told. told_rounds: feedings that were told and lie ahead; by_paper: the work of those of
            them that a helper feeds by a printed sheet that still does. held: harvests still to be
            fed; given_up: those that count as no food any more. notes: what a keeper should look
            at. edits: those of them about an edit of the file that nobody looked at yet;
            noted_ahead: those that name lines of the journal that are to come; unspoken: those
            that ask about rounds of which nothing was told or noted.
        in_hand: told tasks that have begun, or belong to a round that has, and are not over: the
            room is as if they were done. answered: what was noted of
            told tasks, by id. fed_tanks: by the id of a feeding, what was noted of single tanks.
            fed_today: what the rounds of this day gave that are over or in hand.
        fed_until: rounds up to then are done with, or in hand. unfed: rounds, not over, of which it
            is noted that nobody feeds. dry_way: how dry food was told to be
            measured at the last round of the keeper's that has come; dry_strength: how many times
            as strong as usual it was told to be soaked last. settled: ids of tasks that are
            over or answered, and are not given again. unanswered: for when first and main
            foods, counts, sortings, lids and moves were told that nobody noted, by id; put_off: of
            what was told for a later time when its own had come, that one; put_to: of what a person
            put to a later time on a phone, that one. to_buy: what
            was told to be bought, by item, where nothing was noted of that stock since; and
            to_buy_since: on which day it was told first, or has been due since.
        advised: what was told to help against what falls short, where it is not done.
        not_before: when a vessel may be set or drawn off, or worms of a kind split, again after a
            task that was skipped, or after its draw-off that is in hand. remarks: what the keeper
            wrote down about anything, by its name.
        few_hatched: by the id of its harvest, how many nauplii were told of a hatch that
            was to be fed and was counted as far fewer, or none.
        lost_foods: foods told for a round in hand that did not come, by its time. overtaken: by
            its time and brood, what is needed now over what was needed when it was told.
        bare: by brood, from when to when it was told of its rounds that there was nothing to give,
            as far as they have come.
        gone: the kind of each culture that was thrown out, by its name; and "" by names of the
            journal that are in the file no more. earlier: cultures that the file does not have any
            more and of which others were split, as it last had them.
        hoped: spawnings that are planned, whose day is not over. waiting: eggs that rest, and
            spawnings planned and not confirmed. coming: cultures that are to be bought.
        sell_at: when broods can go that do not say it themselves.
        tools: what there is to measure with. sure: how sure the keeper's own values are.
        tin_doubt: that the last hatches of the tin in use were poor; None where they were not.
    """

    name: str
    timezone: ZoneInfo
    as_of: date
    temperatures_c: tuple[float, ...]
    rounds: tuple[time, ...]
    awake: tuple[time, time]
    horizon_days: int
    tanks: tuple[Tank, ...]
    broods: tuple[Brood, ...]
    cultures: tuple[Culture, ...]
    vessels: tuple[Vessel, ...]
    cysts: Cysts | None
    hatch_kind: HatchKind
    kinds: Mapping[str, Kind] = field(repr=False)
    fry_classes: Mapping[str, FryClass] = field(repr=False)
    fridge_c: float | None = None
    fridge_before: tuple[tuple[datetime, float | None], ...] = ()
    weekend_rounds: tuple[time, ...] = ()
    weekday_rounds: Mapping[int, tuple[time, ...]] = field(factory=dict)
    away: tuple[Away, ...] = ()
    hatches: tuple[RunningHatch, ...] = ()
    effort_g: float = 3.0
    makeup_ml: float = 100.0
    spare_cultures: int = 2
    shelf: int | None = None
    split_weekdays: tuple[int, ...] = ()
    units: str = "metric"
    variety: int = 1
    stock_g: Mapping[str, float] = field(factory=dict)
    orders: tuple[Order, ...] = ()
    fetch_days: Mapping[str, int] = field(factory=dict)
    alarms_min: Mapping[str, int] = field(factory=dict)
    as_of_stated: bool = False
    stated_at: datetime | None = None
    spells: tuple[Spell, ...] = ()
    hatch_margin: float = 0.15
    move_g: float = 1.0
    told: tuple[Told, ...] = field(default=(), repr=False)
    drafted: tuple[Told, ...] = field(default=(), repr=False)
    told_rounds: tuple[ToldTask, ...] = field(default=(), repr=False)
    by_paper: tuple[ToldTask, ...] = field(default=(), repr=False)
    held: tuple[HeldNauplii, ...] = ()
    given_up: tuple[HeldNauplii, ...] = ()
    notes: tuple[str, ...] = ()
    edits: tuple[str, ...] = ()
    noted_ahead: tuple[str, ...] = ()
    unspoken: tuple[str, ...] = ()
    in_hand: tuple[ToldTask, ...] = field(default=(), repr=False)
    answered: Mapping[str, Entry] = field(factory=dict, repr=False)
    fed_today: tuple[FeedLine, ...] = field(default=(), repr=False)
    fed_tanks: Mapping[str, Mapping[str, Sequence[Entry]]] = field(factory=dict, repr=False)
    fed_until: datetime | None = None
    unfed: frozenset[datetime] = field(default=frozenset(), repr=False)
    dry_way: Way | None = None
    dry_strength: float | None = None
    settled: frozenset[str] = field(default=frozenset(), repr=False)
    unanswered: Mapping[str, datetime] = field(factory=dict, repr=False)
    put_off: Mapping[str, datetime] = field(factory=dict, repr=False)
    put_to: Mapping[str, datetime] = field(factory=dict, repr=False)
    to_buy: Mapping[str, Buy] = field(factory=dict, repr=False)
    to_buy_since: Mapping[str, date] = field(factory=dict, repr=False)
    advised: tuple[Advice, ...] = ()
    not_before: Mapping[str, datetime] = field(factory=dict)
    remarks: Mapping[str, tuple[tuple[datetime, str], ...]] = field(factory=dict)
    few_hatched: Mapping[str, float] = field(factory=dict)
    lost_foods: Mapping[datetime, tuple[str, ...]] = field(factory=dict)
    overtaken: Mapping[datetime, Mapping[str, float]] = field(factory=dict)
    bare: Mapping[str, tuple[tuple[datetime, datetime], ...]] = field(factory=dict, repr=False)
    gone: Mapping[str, str] = field(factory=dict, repr=False)
    earlier: Mapping[str, Culture] = field(factory=dict, repr=False)
    hoped: tuple[Brood, ...] = ()
    waiting: tuple[Brood, ...] = ()
    coming: tuple[Culture, ...] = ()
    sell_at: SellAt | None = None
    tools: Tools = field(factory=Tools, repr=False)
    sure: HowSure = field(factory=HowSure, repr=False)
    tin_doubt: TinDoubt | None = None

    @property
    def true_at(self) -> datetime:
        """The moment at which the file is true; of a whole day its beginning."""
        return self.stated_at or self.local(self.as_of, time(0))

    def tank(self, name: str) -> Tank:
        """The tank of a name.

        Raises:
            UnknownNameError: no such tank.
        """
        return _named(self.tanks, name, "tank")

    def culture(self, name: str) -> Culture:
        """The culture of a name.

        Raises:
            UnknownNameError: no such culture.
        """
        return _named(self.cultures, name, "culture")

    def vessel(self, name: str) -> Vessel:
        """The vessel of a name.

        Raises:
            UnknownNameError: no such vessel.
        """
        return _named(self.vessels, name, "vessel")

    def brood(self, name: str) -> Brood:
        """The brood of a name.

        Raises:
            UnknownNameError: no such brood.
        """
        return _named((*self.broods, *self.hoped), name, "brood")

    @property
    def every_brood(self) -> tuple[Brood, ...]:
        """All that have a name: those that are certain, are hoped for, or wait."""
        return (*self.broods, *self.hoped, *self.waiting)

    def free_tank(self, fry_class: FryClass) -> Tank | None:
        """The first tank without fry in which those of a class would grow, or None."""
        taken = {brood.tank for brood in (*self.broods, *self.hoped)}
        free = (tank for tank in self.tanks if tank.name not in taken)
        suits = (t for t in free if fry_class.warn_temperature(t.temperature_c) is None)
        return next(suits, None)

    def away_from(self, day: date, at: time) -> Away | None:
        """The absence that covers a round, or None: of several the first."""
        return next((a for a in self.away if a.covers(day, at)), None)

    def away_on(self, day: date) -> Away | None:
        """The absence of a day at no round of which the keeper is there, or None."""
        found = [self.away_from(day, at) for at in self.rounds_on(day)]
        return found[0] if all(found) else None

    def away_at(self, at: datetime) -> Away | None:
        """The absence in which a moment lies, or None.

        Between two rounds of a day the keeper is there who is there at both; so shortly before a
        round that its steps have begun, who is there at that one.
        """
        day, clock = at.date(), at.time()
        if not any(a.spans(day, day) for a in self.away):
            return None
        rounds = self.rounds_on(day)
        near = [*[r for r in rounds if r <= clock][-1:], *[r for r in rounds if r >= clock][:1]]
        if at.replace(tzinfo=None) >= datetime.combine(day, near[-1]) - _STEPS:
            near = near[-1:]
        return next(filter(None, (self.away_from(day, r) for r in near)), None)

    def helped_at(self, at: datetime) -> bool:
        """Whether a helper is there in the keeper's place at a moment."""
        away = self.away_at(at)
        return away is not None and away.helper

    def day_there(self, day: date) -> date:
        """The day itself, or the first one after it on which the keeper is there at some round."""
        while self.away_on(day) is not None:
            day += timedelta(days=1)
        return day

    def leaving(self, day: date) -> datetime:
        """When the keeper leaves who is away from a day on: as they are up, or at the time from
        which on an absence of that day lasts; one of all rounds says more than one of some.
        """
        begin = ((a.in_part, a.since) for a in self.away if a.start == day)
        _, since = min(begin, default=(False, time.min))
        return self.local(day, max(self.awake[0], since))

    def leaves(self, at: datetime) -> bool:
        """Whether the keeper leaves a helper the room on a day, and not before its first round; who
        says a time is gone from it on.
        """
        away = self.away_at(at)
        if away is None or not away.helper or away.in_part or away.start != at.date():
            return False
        if time.min < away.since <= at.time():
            return False
        return at <= self.local(at.date(), self.rounds_on(at.date())[0])

    def rounds_on(self, day: date) -> tuple[time, ...]:
        """The feeding times of a day, ascending."""
        return rounds_of(day, self.rounds, self.weekend_rounds, self.weekday_rounds)

    def week(self) -> list[tuple[time, ...]]:
        """The feeding times of each day of a week, Monday first."""
        return [self.rounds_on(_A_MONDAY + timedelta(days=n)) for n in range(_WEEK_D)]

    def usual_rounds(self) -> float:
        """How many rounds a day has, as the mean of a week."""
        return sum(map(len, self.week())) / _WEEK_D

    def all_rounds(self) -> list[time]:
        """All feeding times that any day has, ascending."""
        mine = (self.rounds, self.weekend_rounds, *self.weekday_rounds.values())
        return sorted({at for times in mine for at in times})

    def helped(self, first: date, last: date) -> bool:
        """Whether a helper feeds at all rounds from one day to another, by the absences; where
        these name rounds or days, at some.
        """
        days = (first + timedelta(days=n) for n in range((last - first).days + 1))
        found = (self.away_from(day, at) for day in days for at in self.rounds_on(day))
        enough = any if any(a.is_exact and a.spans(first, last) for a in self.away) else all
        return enough(away is not None and away.helper for away in found)

    def with_helper(self, first: date, last: date) -> Room:
        """The same with a helper on these days, and no other absence that touches them; where
        some name rounds or days, with one at those.
        """
        mine = tuple(a for a in self.away if a.spans(first, last))
        if any(a.is_exact for a in mine):
            if self.helped(first, last):
                return self
            return evolve(
                self, away=tuple(evolve(a, helper=a.helper or a in mine) for a in self.away)
            )
        foods = next((a.foods for a in mine if a.foods), ())
        helped = Away(first, last, helper=True, foods=foods)
        away = (*(a for a in self.away if a not in mine), helped)
        return evolve(self, away=tuple(sorted(away, key=lambda a: a.start)))

    def local(self, day: date, at: time) -> datetime:
        """A wall-clock time of the room as an aware datetime.

        A time that a clock change skips moves forward by the gap; one that it repeats is
        the first of the two (RFC 5545, section 3.3.5).
        """
        return _local(self.timezone, day, at, at.fold)

    def at_hour(self, time_h: float) -> datetime:
        """The local time of a moment given in hours since the epoch, to the second."""
        return datetime.fromtimestamp(round(time_h * 3600.0), self.timezone)

    def series(
        self, temperature_c: float | None, from_day: date, to_day: date
    ) -> TemperatureSeries:
        """The temperature of something that stands in the room, or has its own."""
        if temperature_c is not None:
            return TemperatureSeries.constant(temperature_c)
        series = TemperatureSeries.constant(self.temperatures_c[0])
        if len(self.temperatures_c) > 1:
            starts, values = [], []
            month = from_day.replace(day=1)
            while month <= to_day:
                starts.append(hours(self.local(month, time(0))))
                values.append(self.temperatures_c[month.month - 1])
                month = (month + timedelta(days=32)).replace(day=1)
            series = TemperatureSeries(starts=tuple(starts), values_c=tuple(values))
        for spell in self.spells:
            series = series.with_spell(spell.start_h, spell.end_h, spell.temperature_c)
        return series

    def room_temperature_c(self, day: date) -> float:
        """Air temperature of a day, at noon [°C]."""
        if self.spells:
            noon = hours(self.local(day, time(12)))
            for spell in reversed(self.spells):
                if spell.start_h <= noon < spell.end_h:
                    return spell.temperature_c
        return self.temperatures_c[(day.month - 1) % len(self.temperatures_c)]

    @cached_property
    def holding(self) -> Holding:
        """How nauplii are held that were drawn off: in the fridge where there is one that is cold
        enough, else at room temperature. One for all who ask, since it remembers.
        """
        return Holding(
            kind=self.hatch_kind,
            fridge_c=self.fridge_c,
            warm_c=lambda at_h: self.room_temperature_c(self.at_hour(at_h).date()),
            before=tuple((hours(until), fridge_c) for until, fridge_c in self.fridge_before),
        )

    def worm_kinds(self) -> tuple[WormKind, ...]:
        """The worm kinds that the room keeps or its broods ask for, by name."""
        names = {c.kind.name for c in (*self.cultures, *self.coming)}
        for brood in self.broods:
            names.update(brood.foods or ())
        kept = (self.kinds[name] for name in sorted(names) if name in self.kinds)
        return tuple(kind for kind in kept if isinstance(kind, WormKind))

    def fetched_in(self, item: str) -> timedelta:
        """From buying a stock, or a ``starter``, to having it."""
        usual = _STARTER_DAYS if item == "starter" else _FETCH_DAYS
        return timedelta(days=self.fetch_days.get(item, usual))

    def had_at(self, item: str, now: datetime) -> datetime:
        """When a stock is there that is bought now; what was told to be bought, and is not over,
        is bought when it was told. Where an order without a day is waited for nothing is bought, so
        it is there once that is waited for too long.
        """
        told = self.to_buy.get(item)
        begun = told is not None and told.at <= now < told.at + LATE
        had = (told.at if told is not None and begun else now) + self.fetched_in(item)
        waits = (order.last_day + timedelta(days=1) for order in self.waits_for(item))
        return max([had, *(self.local(day, time(0)) for day in waits)])

    def parcels(self, item: str) -> tuple[tuple[float, float], ...]:
        """From when on [h since the epoch] how much more there is of a stock [g], by time: what was
        ordered for a day that is not over. It is counted on from the end of that day.
        """
        return tuple(sorted(
            (hours(self.local(order.day + timedelta(days=1), time(0))), order.grams)
            for order in self.orders
            if order.item == item and order.day is not None and not order.late
        ))  # fmt: skip

    def waits_for(self, item: str) -> tuple[Order, ...]:
        """What was ordered of a stock without a day, or is a few days late: nothing is counted on
        of it, and as much need not be bought.
        """
        return tuple(o for o in self.orders if o.item == item and o.is_hoped_for)

    @property
    def tin(self) -> RisingStock:
        """Cysts that there are, and that are on their way."""
        grams = self.cysts.grams if self.cysts is not None else 0.0
        return RisingStock(grams, self.parcels(CYSTS))

    def medium_of(self, kind: str) -> str:
        """The stock that the medium of a kind comes out of: a liquid one always of its own."""
        own = f"{kind}{MEDIUM_OF}"
        return own if own in self.stock_g or own in self.liquids else MEDIUM

    @cached_property
    def liquids(self) -> frozenset[str]:
        """The stocks of liquid media, which no porridge is made of."""
        kinds = (k for k in self.kinds.values() if isinstance(k, WormKind))
        return frozenset(f"{k.name}{MEDIUM_OF}" for k in kinds if k.medium == "liquid")

    def foods_of(self, brood: Brood) -> tuple[Food, ...]:
        """The foods that a brood may get: its own list, or all that the room keeps."""
        if brood.foods is not None:
            names = list(brood.foods)
        else:
            names = sorted({c.kind.name for c in (*self.cultures, *self.coming)})
            if self.vessels:
                names.append(BRINE_SHRIMP)
            names.append(DRY)
        return tuple(self.food(name) for name in names)

    def fry_class(self, name: str) -> FryClass:
        """A class by name, the room's own first; or a species by its key.

        Raises:
            UnknownNameError: no such class or species.
        """
        return self.fry_classes.get(name) or shipped_class(name)

    def food(self, name: str) -> Food:
        """A food by name, in words or as its key, as a mouth sees it.

        Raises:
            UnknownNameError: neither ``dry`` nor a kind of this room.
        """
        if name == DRY:
            return dry_food()
        if name == BRINE_SHRIMP:
            return self.hatch_kind.food
        if name not in self.kinds:
            key = key_named(name, [*self.kinds, DRY])
            if key == name:
                raise UnknownNameError("food", name, [*self.kinds, DRY])
            return self.food(key)
        return self.kinds[name].food


@lru_cache(maxsize=8192)  # each plan asks for the same rounds and days again and again
def _local(zone: ZoneInfo, day: date, at: time, _fold: int) -> datetime:
    """The moment; which of two it is that a clock change repeats, a time does not compare."""
    return datetime.combine(day, at, zone).astimezone(UTC).astimezone(zone)


_T = TypeVar("_T", Tank, Culture, Vessel, Brood)


def _named(things: tuple[_T, ...], name: str, what: str) -> _T:
    for thing in things:
        if thing.name == name:
            return thing
    raise UnknownNameError(what, name, [thing.name for thing in things])
