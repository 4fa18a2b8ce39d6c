"""Worm cultures as the journal says they were treated."""

from __future__ import annotations

from datetime import date

from attrs import define, evolve

from cultures.room import Culture, CultureMark, Room, hours
from cultures.thermal import Clock
from cultures.worms import CultureState, WormModel


@define
class Life:
    """One culture on its way through the journal.

    Attributes:
        at_h: the moment of ``state``. begun_h: its start. since_h: entries before it say
            nothing about it. touched: something was done to it.
    """

    culture: Culture
    model: WormModel
    clock: Clock
    state: CultureState
    at_h: float
    begun_h: float
    since_h: float
    touched: bool = False

    @classmethod
    def begin(
        cls, room: Room, culture: Culture, *, begun_h: float, until: date,
        since_h: float | None = None, stock_mg: float | None = None,
    ) -> Life:  # fmt: skip
        """A culture at its start; without ``stock_mg`` its starter is of unknown origin."""
        model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
        if stock_mg is None:
            stock_mg = culture.starter_g * culture.kind.values["starter_mg_per_g"]
        return cls(
            culture=culture,
            model=model,
            clock=_clock(room, culture, until),
            state=CultureState(min(model.capacity_mg, stock_mg)),
            at_h=begun_h,
            begun_h=begun_h,
            since_h=begun_h if since_h is None else since_h,
        )

    def advance(self, to_h: float) -> None:
        """Leaves it alone until a time."""
        if to_h > self.at_h:
            self.state = self.state.later(self.model, self.clock.days(self.at_h, to_h))
            self.at_h = to_h

    def take(self, taken_mg: float) -> None:
        """Takes worms; never more of what the model has than can climb."""
        most = self.model.climbing_fraction * self.state.stock_mg
        self.state = self.state.without(min(taken_mg, most))
        self.touched = True

    def give_starter(self, starter_g: float) -> float:
        """Gives a starter away and returns the worms in it [mg]."""
        share = min(1.0, starter_g / self.culture.medium_g)
        given = self.state.stock_mg * share
        self.state = self.state.without(given)
        self.touched = True
        return given

    def climbing(self) -> float:
        """What its curve says climbs now [mg]."""
        return self.model.climbing(self.state.stock_mg, self.state.age)

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
        mark = CultureMark(self.at_h, self.state.age, self.state.stock_mg)
        return evolve(self.culture, mark=mark)


def _clock(room: Room, culture: Culture, until: date) -> Clock:
    series = room.series(culture.temperature_c, culture.started, max(culture.started, until))
    return Clock.of(series, culture.kind.rate)


def started_at(room: Room, culture: Culture) -> float:
    """Noon of the day of its start [h since the epoch]."""
    from datetime import time

    return hours(room.local(culture.started, time(12)))
