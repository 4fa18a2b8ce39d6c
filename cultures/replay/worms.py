"""Worm cultures as the journal says they were treated."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from typing import NamedTuple

from attrs import define, evolve, field

from cultures.foods.souring import CultureClock
from cultures.foods.worms import CultureState, WormModel
from cultures.room.room import Culture, CultureMark, Room
from cultures.words.moments import hours


class Touch(NamedTuple):
    """Something done to a culture: what, when [h], the worms after it and taken by it [mg wet].

    ``noted``: an entry says so; else it was told and is taken as done.
    """

    what: str
    at_h: float
    stock_mg: float
    taken_mg: float
    noted: bool


@define
class Life:
    """One culture on its way through the journal.

    Attributes:
        at_h: the moment of ``state``. by_data: the same had nothing been counted, against which
            readings are judged. begun_h: its start, with ``start_mg`` [mg wet]. since_h: entries
            before it say nothing about it. touched: something was done to it. log: all that was.
            gave: ages at which starters were taken from it. sour_gave: the cultures begun of those
            that were taken when it soured.
    """

    culture: Culture
    model: WormModel
    clock: CultureClock
    state: CultureState
    by_data: CultureState
    at_h: float
    begun_h: float
    start_mg: float
    since_h: float
    touched: bool = False
    log: list[Touch] = field(factory=list)
    gave: list[float] = field(factory=list)
    sour_gave: list[str] = field(factory=list)

    @classmethod
    def begin(
        cls, room: Room, culture: Culture, *, begun_h: float, until: date,
        since_h: float | None = None, stock_mg: float | None = None,
    ) -> Life:  # fmt: skip
        """A culture at its start; without ``stock_mg`` its starter is of unknown origin."""
        model = culture.model()
        if stock_mg is None:
            stock_mg = culture.starter_mg
        state = CultureState(min(model.capacity_mg, stock_mg))
        return cls(
            culture=culture,
            model=model,
            clock=_clock(room, culture, until),
            state=state,
            by_data=state,
            at_h=begun_h,
            begun_h=begun_h,
            start_mg=state.stock_mg,
            since_h=begun_h if since_h is None else since_h,
        )

    def advance(self, to_h: float) -> None:
        """Leaves it alone until a time."""
        if to_h > self.at_h:
            days, pace = self.clock.days(self.at_h, to_h), self.clock.pace(self.at_h, to_h)
            same = self.by_data is self.state
            self.state = self.state.later(self.model, days, pace)
            self.by_data = self.state if same else self.by_data.later(self.model, days, pace)
            self.at_h = to_h

    def take(self, taken_mg: float) -> None:
        """Takes worms; never more of what the model has than can climb."""
        self._both(
            lambda state: state.without(
                min(taken_mg, self.model.climbing_fraction * state.stock_mg)
            )
        )

    def note(self, what: str, before_mg: float, *, noted: bool) -> None:
        """Remembers what was done to it."""
        taken = before_mg - self.state.stock_mg
        self.log.append(Touch(what, self.at_h, self.state.stock_mg, taken, noted))

    def stand(self, stock_mg: float) -> None:
        """Sets what stands in it, as it was counted."""
        self.state = CultureState(max(0.0, min(self.model.capacity_mg, stock_mg)), self.state.age)
        self.touched = True

    def give_starter(self, starter_g: float, to: str) -> float:
        """Gives a starter away to a culture, and returns the worms in it [mg]."""
        share = min(1.0, starter_g / self.culture.medium_g)
        given = self.state.stock_mg * share
        self._both(lambda state: state.without(state.stock_mg * share))
        self.gave.append(self.state.age)
        if not self.ripe():
            self.sour_gave.append(to)
        return given

    def _both(self, change: Callable[[CultureState], CultureState]) -> None:
        same = self.by_data is self.state
        self.state = change(self.state)
        self.by_data = self.state if same else change(self.by_data)
        self.touched = True

    def climbing(self) -> float:
        """What its curve says climbs now, whatever was counted before [mg]."""
        return self.model.climbing(self.by_data.stock_mg, self.by_data.age)

    def ripe(self) -> bool:
        """Before its medium begins to sour."""
        return self.state.age < self.model.half_spent_age - self.model.souring_width

    def stand_at(self, room: Room, temperature_c: float | None, until: date) -> None:
        """Goes on at another temperature (None: the room's)."""
        self.culture = evolve(self.culture, temperature_c=temperature_c)
        self.clock = _clock(room, self.culture, until)
        self.touched = True

    def marked(self) -> Culture:
        """The culture with what is known of it."""
        if not self.touched:
            return self.culture
        mark = CultureMark(
            self.at_h, self.state.age, self.state.stock_mg, tuple(self.gave), tuple(self.sour_gave)
        )
        return evolve(self.culture, mark=mark)


def _clock(room: Room, culture: Culture, until: date) -> CultureClock:
    series = room.series(culture.temperature_c, culture.started, max(culture.started, until))
    return CultureClock.of(series, culture.kind)


def started_at(room: Room, culture: Culture) -> float:
    """Noon of the day of its start [h since the epoch]."""
    return hours(room.local(culture.started, time(12)))
