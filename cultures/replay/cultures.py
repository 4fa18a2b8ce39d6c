"""Worm cultures on their way through the journal: split, started, harvested, counted, lost."""

from __future__ import annotations

from datetime import date

from attrs import define, evolve, field

from cultures.foods.kinds import WormKind
from cultures.journal.counting import relative_sd
from cultures.journal.entries import Entry
from cultures.replay.doubts import far_less, worms_doubt
from cultures.replay.observations import CultureWatched, SwipeObserved, YieldObserved
from cultures.replay.shared import Deed, Shared
from cultures.replay.worms import Life, started_at
from cultures.room.room import MEDIUM_OF, Culture, Room
from cultures.tasks.task import HarvestWorms
from cultures.tasks.told import ToldTask
from cultures.words.moments import hours
from cultures.words.units import DRAW_ML

#: A culture that fails on the day on which it was begun, or so many days later, was dead when it
#: came: worms on fresh medium do not crash so soon (common practice, no source).
_CAME_DEAD_DAYS = 1
#: All that climbed tells of a yield where it is so much more than was expected.
_MORE_THAN_EXPECTED = 1.15


@define
class Cultures:
    """The worm cultures of a room.

    Attributes:
        room: with its air as it is. lives: those that stand. gone: those that were thrown out, and
            when.
    """

    room: Room
    shared: Shared
    lives: dict[str, Life] = field(factory=dict)
    gone: dict[str, tuple[Culture, date]] = field(factory=dict)

    def __attrs_post_init__(self) -> None:
        for culture in self.room.cultures:
            begun = started_at(self.room, culture)
            since = max(begun, self.shared.stated_h)
            self._begin(culture, begun, since_h=since).touched = False

    def _begin(
        self, culture: Culture, at_h: float, stock_mg: float | None = None,
        since_h: float | None = None,
    ) -> Life:  # fmt: skip
        life = Life.begin(self.room, culture, begun_h=at_h, until=self.shared.until,
                          since_h=since_h, stock_mg=stock_mg)  # fmt: skip
        life.touched = True
        self.lives[culture.name] = life
        return life

    def knows(self, name: str) -> bool:
        """Whether there is or was such a culture."""
        return name in self.lives or name in self.gone

    def at(self, name: str, at_h: float) -> Life | None:
        """A culture as it is then; None where it does not stand, or the file is newer."""
        life = self.lives.get(name)
        if life is None or at_h < life.since_h:
            return None
        life.advance(at_h)
        return life

    def may_be(self, entry: Entry, told: ToldTask | None) -> bool:
        """Whether a told task can have been done as told.

        A culture begun within its time is not the one that it was told of, whatever its name; nor
        was one there that the file says is still to come.
        """
        life = self.lives.get(entry.subject)
        if life is None and any(c.name == entry.subject for c in self.room.coming):
            return entry.event == "start"
        if entry.event == "start":
            return life is None
        if life is None and entry.event == "split" and entry.subject not in self.gone:
            # Its parent left the file, which is newer; the child that was told of lives on.
            older = hours(entry.when) < self.shared.as_of_h
            return older and told is not None and entry.other not in self.lives
        if life is None or (told is not None and life.begun_h > hours(told.opens)):
            return False
        if entry.event == "harvest":
            return life.state.stock_mg > 0
        return entry.event != "split" or entry.other not in self.lives

    def doubt(self, deed: Deed) -> str | None:
        """Why a harvest, count or split cannot be true, or None."""
        entry, life = deed.entry, self.at(deed.entry.subject, deed.at_h)
        if life is None:
            name = entry.subject
            gone = name in self.gone and name not in self.lives
            if not gone or deed.at_h < self.shared.stated_h:
                return None
            return f"{name} was gone by then: note it for an earlier time"
        kind = life.culture.kind
        each = kind.values["individual_mass_ug"] / 1000.0
        unit = each if entry.unit == "worms" else _mg_per(entry.unit, kind)
        task = deed.told.task if deed.told is not None else None
        if isinstance(task, HarvestWorms) and entry.other != "all":  # of all that climbed any is
            little = far_less(entry, f"of {entry.subject}", task.mg / unit)
            if little is not None:
                return little
        return worms_doubt(entry, life, (entry.amount or 0.0) * unit, each)

    def warmth_doubt(self, entry: Entry) -> str | None:
        """Why cultures, or the room with those that have no temperature, cannot stand at one."""
        standing = [life.culture for life in self.lives.values()]
        degrees, wrong = entry.amount or 0.0, dict[str, list[str]]()
        for culture in standing:
            inside = entry.subject == "room" and culture.temperature_c is None
            why = culture.kind.check_temperature(degrees)
            if why is not None and (inside or culture.name == entry.subject):
                wrong.setdefault(why, []).append(culture.name)
        each = [*wrong]
        if entry.subject == "room":
            each = [f"{why} ({', '.join(names)})" for why, names in wrong.items()]
        return f"{entry.subject} at {degrees:.4g} °C: {'; '.join(each)}" if each else None

    def split(self, deed: Deed) -> bool:
        """A starter of one culture goes into new medium."""
        entry, begun = deed.entry, deed.at.date()
        parent = self.at(entry.subject, deed.at_h)
        if parent is None:
            return entry.other in self.lives or self._split_of_what_is_not_there(deed)
        child = self.lives.get(entry.other)
        if child is not None and child.culture.started != begun:
            if child.since_h <= deed.at_h:
                self.shared.tell(
                    entry, f"there was a {entry.other} already when {entry.subject} was split; give"
                    " each culture its own name."
                )  # fmt: skip
            return True
        before = parent.state.stock_mg
        new = _child(parent.culture, deed)
        given = parent.give_starter(new.starter_g, new.name)
        parent.note(f"split {entry.other}", before, noted=not deed.presumed)
        culture = child.culture if child is not None else new
        self._set_up(culture, deed, given)
        return True

    def _split_of_what_is_not_there(self, deed: Deed) -> bool:
        """Noted, a split was made, even if another note has its parent thrown out before it."""
        entry, before = deed.entry, deed.at_h < self.shared.as_of_h
        older, parent = self.lives.get(entry.subject), self.gone.get(entry.subject)
        if older is not None:  # the file is newer than the split and knows the parent
            self._begin(_child(older.culture, deed), deed.at_h)
            return True
        if parent is None:
            return self._split_of_what_left_the_file(deed)
        if before:
            return True
        self.shared.tell(
            entry, f"{entry.subject} was split after it was gone by another line; {entry.other}"
            " counts all the same. Take back the one that is wrong."
        )  # fmt: skip
        self._set_up(_child(parent[0], deed), deed)
        return True

    def _split_of_what_left_the_file(self, deed: Deed) -> bool:
        """A child lives on until something else is noted of it, whatever became of its parent: one
        that the file had once, or of a split before the file whatever its label says.
        """
        entry, before = deed.entry, deed.at_h < self.shared.as_of_h
        parent = self.room.earlier.get(entry.subject)
        if parent is not None and parent.kind.name in self.room.kinds:
            child = _child(parent, deed)
            if before:
                self._begin(child, deed.at_h)
            else:
                self._tell_of(child, entry)
                self._set_up(child, deed)
            return True
        kind = self._kind_of_child(deed)
        if before and kind is not None:
            self._begin(_child(self._pattern(kind, deed), deed), deed.at_h)
            return True
        if not deed.presumed:
            self.shared.tell(
                entry, f"{entry.other} is not used: '{entry.subject}', of which it was split, is"
                f" not in the room file (any more). If {entry.other} stands, put its parent back"
                f" (livefood history), or: livefood add culture '{entry.other}', with its kind and"
                " medium and started on that day."
            )  # fmt: skip
        return False

    def _tell_of(self, child: Culture, entry: Entry) -> None:
        """As what a child is taken whose parent was deleted from the file."""
        unit = "mL" if child.kind.medium == "liquid" else "g"
        self.shared.tell(
            entry, f"{entry.subject} is not in the room file any more; {child.name}, split from it,"
            f" counts on as {child.kind.label} on {child.medium_g:,g} {unit} of medium. If it is"
            f" gone: livefood journal discard '{child.name}'."
        )  # fmt: skip

    def _kind_of_child(self, deed: Deed) -> WormKind | None:
        """What a child is, as it was told, or by its label."""
        told = self.room.kinds.get(deed.told.kind) if deed.told is not None else None
        if isinstance(told, WormKind):
            return told
        label = deed.entry.other.partition("-")[0]
        kinds = [k for k in self.room.kinds.values() if isinstance(k, WormKind)]
        return next((k for k in kinds if k.prefix == label), None)

    def _pattern(self, kind: WormKind, deed: Deed) -> Culture:
        """Another culture of a kind, or how one usually is."""
        alike = [x.culture for x in self.lives.values() if x.culture.kind.name == kind.name]
        if alike:
            return alike[-1]
        size, begun = kind.usual_size, deed.at.date()
        return Culture("", kind, begun, size.medium_g, size.surface_cm2, size.starter_g)

    def _set_up(self, culture: Culture, deed: Deed, stock_mg: float | None = None) -> None:
        """A culture is begun on new medium."""
        self.shared.stocks.use(f"{culture.kind.name}{MEDIUM_OF}", culture.bought_g, deed.at_h)
        self._begin(culture, deed.at_h, stock_mg)

    def start(self, deed: Deed) -> bool:
        """A culture is started from a bought starter, like another of its kind."""
        entry, begun = deed.entry, deed.at.date()
        if entry.subject in self.lives:
            return True
        kind = self.room.kinds.get(entry.other)
        if not isinstance(kind, WormKind):
            return False
        coming = (c for c in self.room.coming if c.name == entry.subject)
        pattern = next(coming, None) or self._pattern(kind, deed)
        culture = evolve(
            pattern, name=entry.subject, started=begun, mark=None, planned=False,
            starter_g=pattern.starter_g if entry.amount is None else entry.amount,
        )  # fmt: skip
        self._set_up(culture, deed)
        return True

    def discard(self, deed: Deed) -> bool:
        """A culture is thrown out."""
        entry = deed.entry
        crashed = entry.event == "failed" or entry.other == "crashed"
        life = self.at(entry.subject, deed.at_h)
        if life is None:
            if entry.subject in self.lives and not deed.presumed:
                how = "noted as failed" if crashed or entry.other else "discarded"
                self.shared.notes.append(
                    f"{entry.subject} stands in the room file, which is newer than journal line"
                    f" {entry.line}, where it was {how}: take it out of the file if it is gone."
                )
            return self.knows(entry.subject)
        del self.lives[entry.subject]
        self.gone[entry.subject] = life.culture, deed.at.date()
        if not (crashed and came_dead(life.culture, deed.at.date())):
            self._watched(life, deed.at_h, crashed=crashed)
        return True

    def is_to_come(self, culture: Culture) -> bool:
        """Whether a culture that is planned is still to come: another than the one that went."""
        gone = self.gone.get(culture.name)
        return culture.name not in self.lives and (gone is None or culture.started > gone[1])

    def _watched(self, life: Life, to_h: float, *, crashed: bool) -> None:
        if self.shared.first_h is None:
            return
        from_h = max(life.begun_h, self.shared.first_h)
        self.shared.seen.spans.append(
            CultureWatched(life.culture.kind.name, from_h, max(from_h, to_h), crashed)
        )

    def harvest(self, deed: Deed) -> bool:
        """Worms are taken."""
        entry = deed.entry
        life = self.at(entry.subject, deed.at_h)
        if life is None:
            return self.knows(entry.subject)
        expected = life.climbing()
        every = entry.other == "all"
        taken = expected if every else 0.0
        if entry.amount is not None:
            taken = entry.amount * _mg_per(entry.unit, life.culture.kind)
            tells = every or taken > _MORE_THAN_EXPECTED * expected
            possible = expected > 0 and 0 < taken <= life.state.stock_mg
            if tells and possible and not deed.presumed:
                self.shared.seen.yields.append(
                    YieldObserved(life.culture.kind.name, entry.subject, deed.at_h, taken, expected,
                                  life.ripe(), not every, entry.unit != "mg")
                )  # fmt: skip
            if every:
                # All that climbed was taken and measured: that is a count of what stood there.
                life.stand(taken / life.model.climbing_fraction)
        before = life.state.stock_mg
        life.take(taken)
        life.note("harvest", before, noted=not deed.presumed)
        return True

    def count(self, deed: Deed, unit: str) -> bool:
        """Worms of a swipe, or all that stand on a tray, are counted or weighed."""
        entry = deed.entry
        life = self.at(entry.subject, deed.at_h)
        if life is None:
            return self.knows(entry.subject)
        kind, before = life.culture.kind, life.state.stock_mg
        each = kind.values["individual_mass_ug"] / 1000.0 if unit == "worms" else 1.0
        mg = (entry.amount or 0.0) * each
        # A swipe without a worm: nothing stands there to be taken.
        if not entry.amount or entry.other == "tray":
            life.stand(mg)
            life.note("counted", before, noted=True)
        elif mg <= before:
            sd = relative_sd(entry.other)
            self.shared.seen.swipes.append(SwipeObserved(kind.name, deed.at_h, mg, sd))
        else:
            self.shared.set_aside(entry, "more worms than the whole culture holds")
        return True

    def air_stands_at(self, temperature_c: float, at_h: float) -> None:
        """The room goes on at another temperature, and with it what stands at the room's."""
        inside = [x for x in self.lives.values() if x.culture.temperature_c is None]
        for life in inside:
            if at_h >= life.begun_h:
                life.advance(at_h)
        self.room = evolve(self.room, temperatures_c=(temperature_c,))
        for life in inside:
            life.stand_at(self.room, None, self.shared.until)

    def stands_at(self, name: str, temperature_c: float, at_h: float) -> None:
        """One culture goes on at another temperature."""
        life = self.at(name, at_h)
        if life is not None:
            life.stand_at(self.room, temperature_c, self.shared.until)

    def result(self) -> tuple[Culture, ...]:
        """What stands now, with what is known of it."""
        for life in self.lives.values():
            self._watched(life, hours(self.shared.now), crashed=False)
        return tuple(life.marked() for life in self.lives.values())


def came_dead(culture: Culture, gone_on: date) -> bool:
    """Whether a culture that failed on a day is taken as dead when it was begun.

    It is no crash then, of which the plan would learn.
    """
    return (gone_on - culture.started).days <= _CAME_DEAD_DAYS


def _child(parent: Culture, deed: Deed) -> Culture:
    entry = deed.entry
    starter = parent.starter_g if entry.amount is None else entry.amount
    return evolve(parent, name=entry.other, started=deed.at.date(), starter_g=starter, mark=None)


def _mg_per(unit: str, kind: WormKind) -> float:
    """Worms in one unit of a harvest [mg]."""
    portion = kind.values["portion_mg"]
    return {"mg": 1.0, "mL": portion / DRAW_ML}.get(unit, portion)
