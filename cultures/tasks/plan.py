"""A plan: its tasks and feeding lines, what falls short, and what is used up. Values only.

The JSON that the command line prints is made here, so that every reader sees one contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from enum import Enum
from typing import Any

from attrs import evolve, field, frozen

from cultures.tasks.task import Listed, Task, as_json, spawns_json, tidy
from cultures.tasks.told import FeedLine


class Act(Enum):
    """What a keeper does about a shortfall, and what it is about (:attr:`Remedy.of`)."""

    #: Somebody is asked to feed.
    ASK = "ask"
    #: A supply is bought; its item.
    BUY = "buy"
    #: A culture is started, or got ripe; its kind.
    START = "start"
    RIPE = "ripe"
    #: Brine shrimp are hatched for the first time.
    HATCH = "hatch"
    #: Hatching vessels are stood warmer.
    WARM = "warm"
    #: Foods that the room has are given to more broods; both, in words.
    ADD = "add"
    #: A hatching vessel is got; its size in words.
    VESSEL = "vessel"
    #: A finer scale or syringe is got; which.
    TOOL = "tool"
    #: Food is got from elsewhere at once; which.
    FETCH = "fetch"


@frozen
class Advice:
    """A remedy as a person was told it: see there."""

    act: Act
    of: str
    what: str
    by: datetime
    amount: float = 0.0

    @property
    def key(self) -> tuple[Act, str]:
        """What is the same in two tellings of one remedy."""
        return self.act, self.of


@frozen
class Method:
    """What is to be done, in words, where it takes more words how that is done.

    Attributes:
        what: with a bracket that is still open. how: what stands last in it. more: behind it.
    """

    what: str
    how: str
    more: str = ""

    def words(self, where: str = "") -> str:
        """All of it; or, in the place of how it is done, where that is said.

        Examples:
            >>> hatch = Method("hatch (buy a bottle", "it stands in warm water", " and feed them")
            >>> hatch.words()
            'hatch (buy a bottle; it stands in warm water) and feed them'
            >>> hatch.words("livefood today --why")
            'hatch (buy a bottle; how: livefood today --why) and feed them'
        """
        return f"{self.what}; {f'how: {where}' if where else self.how}){self.more}"


@frozen
class Remedy:
    """Something that would still help, and the latest moment at which it does.

    Attributes:
        what: plain words. by: latest time to act.
        act, of: what that is, for programs. amount: how much is fetched, as ``what`` says.
        effect_j: how much less would be missing [J], as tried in the model.
        fetch: what it needs is to be bought or asked for so long before ``by``.
        helps_from: the first round at which it helps, where it comes too late for the first.
        told: the same was told before. was: the time until which, where it is another by now.
        still: once ``by`` is over, until when it helps all the same.
        method: what ``what`` says, where that says how it is done besides.
    """

    what: str
    by: datetime
    effect_j: float
    fetch: timedelta = timedelta(0)
    helps_from: datetime | None = None
    act: Act = field(kw_only=True)
    of: str = field(kw_only=True, default="")
    amount: float = 0.0
    told: bool = False
    was: datetime | None = None
    still: datetime | None = None
    method: Method | None = None

    @property
    def helps_later(self) -> datetime | None:
        """The first round at which it helps, where that is later than the first that is short and
        than the moment at which it is done.
        """
        return None if self.still is None and self.helps_from == self.by else self.helps_from

    @property
    def brings_nauplii(self) -> bool:
        """Whether there are hatches by it where there were none, for want of a bottle or cysts."""
        return self.act is Act.HATCH or (self.act is Act.BUY and self.of == "cysts")

    @property
    def advice(self) -> Advice:
        """The same as it is told."""
        return Advice(self.act, self.of, self.what, self.by, self.amount)

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it; ``told_for`` where another time was told before, and
        ``still`` until when it helps once its time is over.
        """
        found = {"what": self.what, "by": self.by.isoformat(), "effect_j": tidy(self.effect_j),
                 "act": self.act.value, "of": self.of}  # fmt: skip
        more = {"told_for": self.was, "still": self.still}
        return found | {key: at.isoformat() for key, at in more.items() if at is not None}


#: How easily something is had: what only needs to be warmed, what anybody can buy, and what must be
#: found at somebody's; 1 where nothing is said. Of these an easier one that fills as much does.
_EASE = {Act.WARM: 0, Act.RIPE: 2, Act.FETCH: 2}
_REPLACED = (Act.START, Act.VESSEL, Act.HATCH, Act.RIPE, Act.FETCH)
#: What takes away so many times as much of a shortfall helps far more.
_FAR_MORE = 2.0
#: What takes away so much of it fills it all.
_FILLS = 0.95


@frozen
class Shortfall:
    """Rounds at which for one cause a food cannot cover the need.

    Attributes:
        at, until: first and last round. rounds: how many, which may be fewer than lie between.
        food: the food that is missing, or ``any`` where no kept food fits the mouth.
        need_j, short_j: of all foods of the broods that go short, at those rounds, after all
            substitution [J]. tanks: who they are in. cause: plain words. remedies: best first.
        probability: that some round of it is short, None where it was not worked out.
        thin: the plan covers it, but a usual mishap would not leave enough; ``short_j`` is
            then what is missing on average.
        spawns: (brood, tank) of the planned spawnings without which nothing is missing.
        chance: that they come.
        behind_days: how many days of growth it costs the broods. starves_at: from when on they
            can no longer all be saved, None where they can. starving: the tanks where that is so.
        limit: what limits it, a word of the plan's; "" where it says none. slight: so little is
            missing that nothing is got for it alone, and nobody asked to feed.
    """

    at: datetime
    until: datetime
    rounds: int
    food: str
    need_j: float
    short_j: float
    tanks: tuple[str, ...]
    cause: str
    remedies: tuple[Remedy, ...] = ()
    probability: float | None = None
    thin: bool = False
    spawns: tuple[tuple[str, str], ...] = ()
    chance: float = 1.0
    behind_days: float = 0.0
    starves_at: datetime | None = None
    starving: tuple[str, ...] = ()
    limit: str = ""
    slight: bool = False

    @property
    def steps(self) -> tuple[Remedy, ...]:
        """What is to be done about it: all that was told before, or else what is most urgent; and
        what is most urgent of what helps far more than these; that alone, where nothing was told
        and it fills all. Where fry starve, also what helps most of what is there at half of the
        time until they do, if none of these is, or else before they do, and what brings nauplii.
        What is found at somebody's only is no step where what can be bought fills as much, nor is
        either where it is enough to warm a vessel.
        """
        wanted = [r for r in self.remedies if not self._has_easier(r)]
        ordered = sorted(wanted, key=lambda r: (r.by, -r.effect_j))
        first = [r for r in ordered if r.told] or ordered[:1]
        much_j = _FAR_MORE * max((r.effect_j for r in first), default=0.0)
        more = [r for r in ordered if r.effect_j > much_j]
        chosen = [*first, *more[:1]]
        if more and not first[0].told and more[0].effect_j >= _FILLS * self.short_j:
            chosen = more[:1]
        if self.starves_at is not None:
            # What is there at the last moment only is no rescue where something is there sooner.
            for by in (self.at + (self.starves_at - self.at) / 2, self.starves_at):
                saving = [r for r in ordered if (r.helps_from or self.at) <= by]
                if saving and not any(r in chosen for r in saving):
                    chosen.append(max(saving, key=lambda r: r.effect_j))
                if saving:
                    break
            nauplii = [r for r in wanted if r.brings_nauplii]
            if nauplii and not any(r in chosen for r in nauplii):
                chosen.insert(0, max(nauplii, key=lambda r: r.effect_j))
        return tuple(chosen)

    def _has_easier(self, remedy: Remedy) -> bool:
        """Whether something that is had more easily fills as much, and as early."""

        def does(other: Remedy) -> bool:
            sooner = (other.helps_from or self.at) <= (remedy.helps_from or self.at)
            as_much = other.effect_j >= _FILLS * remedy.effect_j
            return as_much and sooner and _EASE.get(other.act, 1) < _EASE.get(remedy.act, 1)

        return remedy.act in _REPLACED and any(does(other) for other in self.remedies)

    @property
    def certain(self) -> bool:
        """Whether the plan itself is short, whatever spawns."""
        return not self.thin and not self.spawns

    @property
    def passes(self) -> bool:
        """Whether it is a meal missed for want of somebody who feeds, from which no fry suffer."""
        return self.limit == "away" and self.slight

    @property
    def share(self) -> float:
        """How much of the need is missing, of 1."""
        return min(1.0, self.short_j / self.need_j) if self.need_j > 0 else 1.0

    @property
    def act_by(self) -> datetime:
        """By when something must be done; where nothing helps, when it begins."""
        return min((remedy.by for remedy in self.remedies), default=self.at)

    def covered_by(self, remedy: Remedy) -> float:
        """How much of what is missing a remedy covers, of 1."""
        return min(1.0, remedy.effect_j / self.short_j)

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        always = ("at", "until", "rounds", "food", "need_j", "short_j", "tanks", "cause")
        more = {"behind_days": self.behind_days, "starves_at": self.starves_at,
                "starving": self.starving}  # fmt: skip
        return {
            **{name: as_json(getattr(self, name)) for name in always},
            "remedies": [remedy.to_json() for remedy in self.remedies],
            "probability": as_json(self.probability), "thin": self.thin,
            **spawns_json(self.spawns), **({"chance": tidy(self.chance)} if self.spawns else {}),
            **{name: as_json(value) for name, value in more.items() if value},
        }  # fmt: skip


@frozen
class Supply(Listed):
    """Supply against need of one food on one day, for charts and tables.

    Attributes:
        day: local date as text. need_j: by the ideal diet. given_j: by the plan.
    """

    day: str
    food: str
    need_j: float
    given_j: float


@frozen
class SupplyUse(Listed):
    """What is used of a supply.

    Attributes:
        item: ``cysts``, ``salt``, ``dry`` or ``medium``. weeks_g: used in each week from now
            on [g]. stock_g: in stock now, None where the room file does not say [g].
        buy_by, out: the day by which more is to be bought, and the day on which there is too
            little; None when it lasts or is not known.
        on_order_g, arrives: what was ordered and is waited for [g], and the first day on which any
            of it is to come, None where nobody said. overdue_g: what should have come [g].
    """

    item: str
    weeks_g: tuple[float, ...]
    stock_g: float | None
    buy_by: date | None
    out: date | None = None
    on_order_g: float = 0.0
    arrives: date | None = None
    overdue_g: float = 0.0


@frozen
class CultureSpan(Listed):
    """A culture, standing or planned: from when it gives until when it is spent.

    Attributes:
        spent_on: None where that is more than a year after all that is planned.
    """

    name: str
    kind: str
    started: datetime
    usable_from: datetime | None
    spent_on: datetime | None


@frozen
class Stop:
    """A food of which there is hardly any while others take its place: which, and how it is said.

    ``note`` is the remark on it among the notes of a plan.

    Attributes:
        item: a supply that it says is to be bought, or ""; grams: how much of it; by: the day by
            which, which may be over; buy: the words of its text that say so;
            grows: those that say which cultures are left to grow.
        since: the first day of it; at, until: its first and last round; rounds: how many.
        need_j, given_j: by the ideal diet and by the plan, of this food alone [J]. tanks: of those
            that would get it. cause: plain words.
    """

    food: str
    text: str
    item: str = ""
    since: date | None = None
    at: datetime | None = field(kw_only=True, default=None)
    until: datetime | None = field(kw_only=True, default=None)
    rounds: int = field(kw_only=True, default=0)
    need_j: float = field(kw_only=True, default=0.0)
    given_j: float = field(kw_only=True, default=0.0)
    tanks: tuple[str, ...] = field(kw_only=True, default=())
    cause: str = field(kw_only=True, default="")
    grams: float = field(kw_only=True, default=0.0)
    by: date | None = field(kw_only=True, default=None)
    buy: str = field(kw_only=True, default="")
    grows: str = field(kw_only=True, default="")

    def is_told_by(self, shortfall: Shortfall) -> bool:
        """Whether a shortfall says as much: that food is short then too, and the same helps."""
        bought = any(r.act is Act.BUY and r.of == self.item for r in shortfall.remedies)
        reaches = self.since is None or self.since <= shortfall.until.date()
        return shortfall.food == self.food and reaches and (bought or not self.item)

    @property
    def note(self) -> OfStop:
        """The remark, with where more is said."""
        return OfStop(f"{self.text} See 'livefood shortfalls'.", self)

    def without_buying(self) -> Stop:
        """The same beside a purchase that is asked for already."""
        return evolve(self, text=self.text.replace(self.buy, "", 1), buy="")

    def to_json(self) -> dict[str, Any]:
        """With the keys of a shortfall, ``scarce``, and what is to ``buy``, or None.

        No remedy was tried in the model.
        """
        buy = {"item": self.item, "grams": tidy(self.grams), "by": as_json(self.by)}
        return {
            "at": as_json(self.at), "until": as_json(self.until), "rounds": self.rounds,
            "food": self.food, "need_j": tidy(self.need_j),
            "short_j": tidy(self.need_j - self.given_j), "tanks": list(self.tanks),
            "cause": self.cause, "remedies": [], "buy": buy if self.item else None,
            "probability": None, "thin": False, "scarce": True, "text": self.text,
        }  # fmt: skip


@frozen
class Certainty(Listed):
    """How sure it is what a plan comes to.

    Attributes:
        fed: what eight in ten trials stay within of the share of its need that a brood gets at a
            round, over all rounds and broods. by_luck: the same if all were as the plan takes it.
    """

    fed: tuple[float, float]
    by_luck: tuple[float, float]


@frozen
class Remark:
    """What the keeper is to know and is no task, as it is said in full."""

    text: str


@frozen
class OfStop(Remark):
    """That there is hardly any of a food."""

    stop: Stop


@frozen
class OfCounting(Remark):
    """Which broods were not counted for long: it is so whatever is noted of another."""


@frozen
class OfWater(Remark):
    """That a tank is fed more than its water bears.

    Attributes:
        since: from which day on, as it is said. says: what is wrong, or to be done, in a sentence
            that is the same for other tanks. times: how many times what is meant they get, which
            stands before it; None where it is about something else.
    """

    tank: str
    since: str
    says: str
    times: float | None = None


@frozen
class OfWarmth(Remark):
    """That tanks are too cold or too warm for their fry; ``says``: how warm, and what fry do."""

    tanks: tuple[str, ...]
    says: str


@frozen
class Plan:
    """Everything that is to be done from one moment on.

    Attributes:
        room: its name. start, end: the time covered.
        tasks: by time. lines: feeding table in the order of the rounds and tanks.
        shortfalls: by time. cost: hatches, splits, cysts_g, medium_g.
        notes: remarks for the keeper that are no task (a slow temperature, an old file), those on
            ``stops`` among them: foods of which there is hardly any.
        supply: need and supply by food and day. supplies: what is used up.
        cultures: standing and planned. certainty: None where it was not worked out.
        doubted: nauplii of a gram that it counts on, of a tin that hatch after hatch has put in
            doubt; None of any other.
    """

    room: str
    start: datetime
    end: datetime
    tasks: tuple[Task, ...]
    lines: tuple[FeedLine, ...]
    shortfalls: tuple[Shortfall, ...]
    cost: Mapping[str, float]
    notes: tuple[Remark, ...] = ()
    stops: tuple[Stop, ...] = ()
    supply: tuple[Supply, ...] = ()
    supplies: tuple[SupplyUse, ...] = ()
    cultures: tuple[CultureSpan, ...] = ()
    certainty: Certainty | None = None
    doubted: float | None = None

    def lines_at(self, at: datetime) -> list[FeedLine]:
        """The feeding lines of a round."""
        return [line for line in self.lines if line.at == at]

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {
            "room": self.room,
            "from": self.start.isoformat(),
            "to": self.end.isoformat(),
            "tasks": [task.to_json() for task in self.tasks],
            "rounds": [line.to_json() for line in self.lines],
            "shortfalls": [shortfall.to_json() for shortfall in self.shortfalls],
            "scarce": [stop.to_json() for stop in self.stops],
            "cost": {k: tidy(v) for k, v in self.cost.items()},
            "notes": [note.text for note in self.notes],
            "supply": [supply.to_json() for supply in self.supply],
            "supplies": [use.to_json() for use in self.supplies],
            "cultures": [span.to_json() for span in self.cultures],
            **({"certainty": self.certainty.to_json()} if self.certainty else {}),
        }
