"""What there is to do: one small class for each kind of task, with its own amounts.

:data:`Task` is any of them. A ``match`` over it that ends in ``assert_never`` is proved complete
by the type checker, so a new kind of task shows every place that must know of it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any, ClassVar, Final, TypeAlias

from attrs import field, fields, frozen

#: Ends the name of how much of a cup is fed.
_FED = "_fed_ml"


@frozen(kw_only=True)
class _Common:
    """What every task has.

    Attributes:
        id: stable for the same intention: it does not change when the task moves in time.
        at, until: when to begin and when it is done, aware, in the room's zone.
        subject: what it is done to: a vessel, culture, brood, round or supply.
        why: one plain sentence with the numbers behind it.
        caution: shown with the step, or "".
        other: what it makes or needs besides (the new culture of a split), or "".
        spawns: (brood, tank) of the planned spawnings without which it would not be.
        what: the name of its kind, which is that of its class as ``set_hatch`` is of SetHatch.
        answered_by: the events of the journal that answer it; none for what is answered with its
            feeding.
    """

    what: ClassVar[str]
    answered_by: ClassVar[tuple[str, ...]] = ()

    id: str
    at: datetime
    until: datetime
    subject: str
    why: str
    caution: str = ""
    other: str = ""
    spawns: tuple[tuple[str, str], ...] = ()

    def __init_subclass__(cls) -> None:
        cls.what = re.sub(r"\B[A-Z]", r"_\g<0>", cls.__name__).lower()

    @property
    def amounts(self) -> dict[str, float]:
        """Its numbers by name with the unit in the name, as JSON and the record have them."""
        named = ((name, getattr(self, name)) for name in _AMOUNTS[type(self)])
        return {name: value for name, value in named if value is not None}

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {
            "id": self.id, "what": self.what,
            "at": self.at.isoformat(),
            "until": self.until.astimezone(UTC).astimezone(self.until.tzinfo).isoformat(),
            "subject": self.subject, "other": self.other,
            "amounts": {k: tidy(v) for k, v in self.amounts.items()},
            "why": self.why, "caution": self.caution, **spawns_json(self.spawns), **self.words,
        }  # fmt: skip

    @property
    def words(self) -> dict[str, str]:
        """What it says of its own in words, by name; nothing where that is usual."""
        return {name: said for name in sorted(_WORDS) if (said := getattr(self, name, ""))}


def spawns_json(spawns: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """The planned spawnings that something hangs on; nothing where it is certain."""
    listed = [{"brood": brood, "tank": tank} for brood, tank in spawns]
    return {"spawns": listed} if listed else {}


class Work(_Common):
    """Changes what is, so that it is taken as done when it was told and is over."""

    __slots__ = ()


class Reminder(_Common):
    """Changes nothing by itself, so it may be told again for later."""

    __slots__ = ()


@frozen(kw_only=True)
class SetHatch(Work):
    """Cysts into a vessel of salt water; ``spoons`` level teaspoons, ``nauplii`` expected.

    ``strain``: as the tin is labelled, "" where nobody said.
    """

    answered_by = ("set",)

    cysts_g: float
    spoons: float
    water_l: float
    salt_g: float
    nauplii: float
    strain: str = ""


@frozen(kw_only=True)
class HarvestHatch(Work):
    """A vessel is drawn off; ``jar_ml``: what is held of it is made up to, None if all is fed.

    ``late_h``: how long after its best, where nauplii do not keep in the vessel for so long.
    """

    answered_by = ("harvest", "hatched", "failed")

    nauplii: float
    energy_j: float
    fed_nauplii: float
    left_over: float
    jar_ml: float | None = None
    late_h: float | None = None


@frozen(kw_only=True)
class HarvestWorms(Work):
    """Worms off a culture [mg wet], in swipes off a solid medium or draws of 10 mL of a liquid.

    ``other``: what they are wiped off, "" for the wall.
    """

    answered_by = ("harvest",)

    mg: float
    swipes: float | None = None
    draws: float | None = None


@frozen(kw_only=True)
class Feed(Work):
    """A feeding round.

    Attributes:
        tanks: how many. cups_ml: what the cup of each live food is made up to [mL]. fed_ml: how
            much of it is fed, of cups that are not fed whole.
        nauplii: that are fed. jar_ml: of it taken out of jars. dry_g: dry food. soaked_g: what of
            it is weighed, where more is soaked than fed and the rest poured away.
    """

    answered_by = ("fed",)

    tanks: float
    cups_ml: Mapping[str, float]
    fed_ml: Mapping[str, float] = field(factory=dict)
    nauplii: float | None = None
    jar_ml: float | None = None
    dry_g: float | None = None
    soaked_g: float | None = None

    @property
    def amounts(self) -> dict[str, float]:
        """Its numbers by name, each cup under the name of its food."""
        cups = {f"{food}_ml": volume for food, volume in self.cups_ml.items()}
        cups |= {f"{food}{_FED}": volume for food, volume in self.fed_ml.items()}
        single = {k: v for k, v in super().amounts.items() if k not in ("cups_ml", "fed_ml")}
        return {"tanks": self.tanks, **cups, **single}

    @property
    def dry_used_g(self) -> float:
        """What the stock of dry food loses by it [g]."""
        return self.soaked_g or self.dry_g or 0.0


@frozen(kw_only=True)
class _NewCulture(Work):
    """``onto``: what the medium is, "" for the usual one of its kind."""

    starter_g: float
    medium_g: float
    surface_cm2: float | None = None
    onto: str = ""


@frozen(kw_only=True)
class Split(_NewCulture):
    """A starter of the subject goes onto new medium, labelled ``other``."""

    answered_by = ("split",)


@frozen(kw_only=True)
class Start(_NewCulture):
    """A bought starter goes onto new medium, labelled ``other``."""

    answered_by = ("start",)


@frozen(kw_only=True)
class Retire(Work):
    """A culture that is spent is thrown out."""

    answered_by = ("discard", "failed")


@frozen(kw_only=True)
class Soak(Reminder):
    """Dry food is put to soak before a round; ``spoons`` level teaspoons.

    ``fed_g``: how much of it is fed, where that is less than can be weighed. ``water_ml``: what it
    is soaked in, where that is more than 5 mL for each 0.01 g. ``tanks``: for how many it is
    weighed out, where it is not soaked for all; None too where that was not recorded yet.
    """

    dry_g: float
    spoons: float
    fed_g: float | None = None
    water_ml: float | None = None
    tanks: float | None = None


@frozen(kw_only=True)
class FirstFood(Reminder):
    """A brood eats for the first time."""

    fry: float


@frozen(kw_only=True)
class Wet(Reminder):
    """Eggs out of the peat are put in water."""

    answered_by = ("wetted",)

    fry: float


@frozen(kw_only=True)
class SwitchFood(Reminder):
    """Another food, ``other``, becomes the main one of a brood; the only one by ``alone``."""

    length_mm: float
    alone: float | None = None


@frozen(kw_only=True)
class Count(Reminder):
    """A brood is to be counted again."""

    answered_by = ("count",)

    fry: float


@frozen(kw_only=True)
class _OfItsSize(Reminder):
    fry: float
    length_mm: float


@frozen(kw_only=True)
class Sort(_OfItsSize):
    """A brood is to be sorted by size."""

    answered_by = ("sorted", "move")


@frozen(kw_only=True)
class Lid(_OfItsSize):
    """A tank needs a tight lid."""

    answered_by = ("lid",)


@frozen(kw_only=True)
class MoveOn(_OfItsSize):
    """A brood outgrows its tank."""

    answered_by = ("move",)


@frozen(kw_only=True)
class Sell(_OfItsSize):
    """Fish of a brood can be sold or given away."""

    answered_by = ("sold",)


@frozen(kw_only=True)
class _OfSupply(Reminder):
    """A supply comes into the room: ``item`` as stocks call it [g].

    ``due`` is the day by which it was to come, once that is over.
    """

    answered_by = ("bought",)

    item: str
    grams: float
    due: date | None = None

    @property
    def amounts(self) -> dict[str, float]:
        """How much, under the name of the supply."""
        return {f"{self.item}_g": self.grams}

    @property
    def words(self) -> dict[str, str]:
        """Since when it is due, where that is over."""
        return {} if self.due is None else {"due": self.due.isoformat()}


@frozen(kw_only=True)
class Buy(_OfSupply):
    """A supply is to be bought; ``due``: by which day it was told so, once that is over."""

    @property
    def by(self) -> date:
        """The day by which it was told to be bought."""
        return self.due or self.at.date()


@frozen(kw_only=True)
class Arrival(_OfSupply):
    """What was ordered should come on this day, or was to come on the day ``due``."""


Task: TypeAlias = (
    SetHatch | HarvestHatch | HarvestWorms | Feed | Split | Start | Retire
    | Soak | FirstFood | SwitchFood | Wet | Count | Sort | Lid | MoveOn | Sell | Buy
    | Arrival
)  # fmt: skip

#: All kinds, in the order in which tasks of one moment are done.
KINDS: Final[tuple[type[Task], ...]] = (
    FirstFood, SwitchFood, Buy, Arrival, HarvestHatch, Soak, HarvestWorms, Feed,
    Split, Start, SetHatch, Retire, Wet, Count, Sort, Lid, MoveOn, Sell,
)  # fmt: skip
_BY_NAME: Final = {kind.what: kind for kind in KINDS}
_RANK: Final = {kind: rank for rank, kind in enumerate(KINDS)}
_COMMON: Final = {f.name for f in fields(_Common)}
#: Fields of a kind of task that are words.
_WORDS: Final = {"onto", "strain"}
#: The fields of each kind that are its own.
_AMOUNTS: Final[Mapping[type, tuple[str, ...]]] = {
    kind: tuple(f.name for f in fields(kind) if f.name not in _COMMON | _WORDS) for kind in KINDS
}

#: Steps of a feeding round, in hand together once it has begun.
OF_ROUND: Final = (HarvestHatch, Soak, HarvestWorms, FirstFood, Feed)
#: What the word that notes a reminder asks for, behind the brood.
ASKS: Final[Mapping[str, str]] = {"count": "NUMBER", "move": "TANK"}
#: What a helper may do while the keeper is away.
HELPERS_WORK: Final = (Soak, HarvestWorms, FirstFood, Feed)


def stamp(moment: datetime) -> str:
    """A local time for use in ids."""
    return f"{moment:%Y-%m-%dT%H:%M}"


def feeding_id(at: datetime) -> str:
    """The id of the feeding of a round, by its local time."""
    return f"{Feed.what}/{stamp(at)}"


def rank_of(task: Task) -> int:
    """The place of a task among those of one moment, in the order of doing."""
    return _RANK[type(task)]


def task_of(what: str, amounts: Mapping[str, float], **common: Any) -> Task:
    """A task by the name of its kind and its amounts by name, as JSON and the record have them.

    Raises:
        KeyError: there is no such kind. TypeError: an amount is missing.
    """
    kind: Any = _BY_NAME[what]
    own: dict[str, Any] = {k: v for k, v in amounts.items() if k in _AMOUNTS[kind]}
    if kind is Feed:
        own["cups_ml"] = {
            key.removesuffix("_ml"): volume for key, volume in amounts.items()
            if key.endswith("_ml") and key != "jar_ml" and not key.endswith(_FED)
        }  # fmt: skip
        own["fed_ml"] = {
            key.removesuffix(_FED): volume for key, volume in amounts.items() if key.endswith(_FED)
        }
    elif kind in (Buy, Arrival):
        ((name, own["grams"]),) = amounts.items()
        own["item"] = name.removesuffix("_g")
    made: Task = kind(**common, **own)
    return made


def tidy(value: float) -> float:
    """A number for output: six significant digits, whole numbers without a point."""
    if isinstance(value, int):
        return value
    rounded = float(f"{value:.6g}")
    return int(rounded) if rounded == int(rounded) else rounded


def as_json(value: Any) -> Any:
    """Numbers, times, words, and lists and tables of them, as the JSON contract has them."""
    if isinstance(value, tuple):
        return [as_json(each) for each in value]
    if isinstance(value, Mapping):
        return {key: as_json(each) for key, each in value.items()}
    if isinstance(value, date):
        return value.isoformat()
    return tidy(value) if isinstance(value, float) else value


class Listed:
    """What is told to other programs field by field."""

    __slots__ = ()

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        kind: Any = type(self)
        return {f.name: as_json(getattr(self, f.name)) for f in fields(kind)}
