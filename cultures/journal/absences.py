"""Rounds at which the keeper is away, as the room file or the journal says it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date, datetime, time, timedelta

from attrs import frozen

from cultures.errors import RangeError
from cultures.words.moments import WEEKDAYS, clock_text, day_text, when
from cultures.words.text import listed

_DAY = r"\d{4}-\d\d-\d\d"
_CLOCK = r"[0-2]\d:[0-5]\d"
#: ``2027-02-05T18:30 to 2027-02-07 at 07:30, 18:30 with helper giving dry, microworm``
_SAID = re.compile(
    rf"(?P<start>{_DAY})(?:T(?P<since>{_CLOCK}))? to (?P<end>{_DAY})(?:T(?P<until>{_CLOCK}))?"
    rf"(?: at (?P<rounds>{_CLOCK}(?:, {_CLOCK})*))?"
    r"(?P<helper> with helper(?: giving (?P<foods>\w+(?:, \w+)*))?)?",
    re.ASCII,
)
_FORTNIGHT = 14


@frozen
class Away:
    """Rounds at which the keeper is away: all from one to another, but where it names some.

    Attributes:
        start, end: both count as away. helper: somebody feeds at these rounds.
        rounds: the feeding times that it covers, none for all. weekdays: the days that it covers,
            0 is Monday; none for all.
        since, until: on its first and last day the times from and to which it lasts.
        foods: all that a helper gives; none for whatever is planned.
    """

    start: date
    end: date
    helper: bool = False
    rounds: tuple[time, ...] = ()
    weekdays: tuple[int, ...] = ()
    since: time = time.min
    until: time = time.max
    foods: tuple[str, ...] = ()

    @property
    def in_part(self) -> bool:
        """Whether the keeper is there at rounds between those that it covers."""
        return bool(self.rounds or self.weekdays)

    @property
    def is_exact(self) -> bool:
        """Whether it says more than whole days."""
        return self.in_part or self.since > time.min or self.until < time.max

    def spans(self, first: date, last: date) -> bool:
        """Whether it has a day, of those from its first to its last, in common with some days."""
        return self.start <= last and first <= self.end

    def covers(self, day: date, at: time) -> bool:
        """Whether the keeper is away at a round."""
        return (
            self.start <= day <= self.end
            and (not self.rounds or at in self.rounds)
            and (not self.weekdays or day.weekday() in self.weekdays)
            and (day > self.start or at >= self.since)
            and (day < self.end or at <= self.until)
        )

    def slip(self, rounds_on: Callable[[date], Sequence[time]]) -> str | None:
        """What is wrong with its rounds, or None; ``rounds_on``: the feeding times of a day."""
        days = [self.start + timedelta(days=n) for n in range(_FORTNIGHT)]
        known = sorted({at for day in days for at in rounds_on(day)})
        for at in self.rounds:
            if at not in known:
                fed_at = listed([f"{each:%H:%M}" for each in known])
                return f"the room is not fed at {at:%H:%M}, but at {fed_at}"
        missed = any(self.covers(day, at) for day in days for at in rounds_on(day))
        return None if missed else f"no round of the room lies in {self.text()}"

    def text(self, units: str = "metric") -> str:
        """As it is said: ``Fri 5 Feb 18:30 to Sun 7 Feb``.

        Examples:
            >>> Away(date(2027, 2, 1), date(2027, 2, 28), False, (time(18, 30),), (1, 3)).text()
            'Mon 1 Feb to Sun 28 Feb, Tue and Thu, at 18:30'
            >>> Away(date(2027, 2, 5), date(2027, 2, 5), since=time(18, 30)).text()
            'Fri 5 Feb from 18:30'
        """
        if self.start == self.end:
            ends = day_text(self.start, units)
            ends += f" from {clock_text(self.since, units)}" * (self.since > time.min)
            ends += f" until {clock_text(self.until, units)}" * (self.until < time.max)
        else:
            ends = " to ".join(
                day_text(day, units) if at is None else when(datetime.combine(day, at), units)
                for day, at in self._ends
            )
        days = listed([WEEKDAYS[n] for n in self.weekdays])
        rounds = listed([clock_text(at, units) for at in self.rounds])
        return ", ".join(part for part in (ends, days, rounds and f"at {rounds}") if part)

    @property
    def _ends(self) -> tuple[tuple[date, time | None], tuple[date, time | None]]:
        """Its first and last day, each with the time that is said of it."""
        since = self.since if self.since > time.min else None
        return (self.start, since), (self.end, self.until if self.until < time.max else None)

    @property
    def _written(self) -> list[str]:
        return [f"{day}" if at is None else f"{day}T{at:%H:%M}" for day, at in self._ends]

    def to_json(self) -> dict[str, object]:
        """As other programs read it: with its rounds and weekdays, where it names some."""
        first, last = self._written
        some = {"rounds": [f"{at:%H:%M}" for at in self.rounds],
                "days": [WEEKDAYS[n].lower() for n in self.weekdays],
                "foods": [*self.foods]}  # fmt: skip
        named = {key: words for key, words in some.items() if words}
        return {"from": first, "to": last, "helper": self.helper, **named}

    @property
    def noted(self) -> str:
        """As the journal writes it, which knows no weekdays; :func:`read_away` reads it."""
        ends = " to ".join(self._written)
        rounds = ", ".join(f"{at:%H:%M}" for at in self.rounds)
        foods = f" giving {', '.join(self.foods)}" if self.foods else ""
        return f"{ends}{rounds and f' at {rounds}'}{f' with helper{foods}' * self.helper}"


def read_away(text: str) -> Away:
    """An absence as the journal has it.

    Raises:
        RangeError: it says none, or one that ends before it begins.
    """
    match = _SAID.fullmatch(text)
    try:
        if match is None:
            raise ValueError
        rounds = match["rounds"].split(", ") if match["rounds"] else ()
        found = Away(
            date.fromisoformat(match["start"]), date.fromisoformat(match["end"]),
            bool(match["helper"]), tuple(map(time.fromisoformat, rounds)),
            since=time.fromisoformat(match["since"] or "00:00"),
            until=time.fromisoformat(match["until"]) if match["until"] else time.max,
            foods=tuple(match["foods"].split(", ")) if match["foods"] else (),
        )  # fmt: skip
    except ValueError:
        raise RangeError(
            "away needs 'DAY to DAY' in the column 'other', like '2027-02-05T18:30 to 2027-02-07'"
        ) from None
    if (found.end, found.until) < (found.start, found.since):
        raise RangeError(f"away ends on {found.end}, before it begins ({found.start})")
    return found
