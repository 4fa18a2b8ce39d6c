"""Suppositions word by word, and how two plans differ, from tasks and lines that are made here."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.journal.absences import Away
from cultures.planning.changes import free_name, usual_culture
from cultures.planning.what_if import (
    Difference,
    Lasting,
    SuppositionError,
    _ends,
    compare,
    settings_and_splits,
    suppose,
)
from cultures.room.file import read_room
from cultures.room.room import Room, RunningHatch, Told
from cultures.tasks.task import Feed, HarvestHatch, Retire, SetHatch, Split, Start, Task
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours
from tests.unit.test_shortfall_limits import _TEXT

_NOW = datetime(2027, 1, 5, 7, tzinfo=UTC)
_TODAY = _NOW.date()
_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    found = read_room(_TEXT, today=_TODAY)
    kind: Any = found.kinds["microworm"]
    culture = evolve(usual_culture(found, kind), name="MW-1", started=date(2026, 12, 28))
    own = evolve(culture, name="MW-2", temperature_c=20.0)
    return evolve(found, cultures=(culture, own))


def _hour(day: int) -> float:
    return hours(datetime(2027, 1, day, tzinfo=UTC))


def _why(room: Room, text: str) -> str:
    with pytest.raises(SuppositionError) as error:
        suppose(room, text, _NOW)
    return str(error.value)


# --- words


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("lose", "a name is missing; write: lose NAME"),
        ("count one", "a count is missing; write: count BROOD COUNT"),
        ("count one 0", "a count must be from 1 to"),
        ("count one 0.9", "a count must be from 1 to"),
        ("count one 1000001", "a count must be from 1 to"),
        ("count nobody 5", "there is no brood named 'nobody'"),
        ("vessel 0.04", "litres must be from 0.05 to 2000"),
        ("vessel 2001", "litres must be from 0.05 to 2000"),
        ("temperature 46 from 2027-01-06 to 2027-01-07", "degrees must be from 0 to 45"),
        ("temperature 20 2027-01-06 to 2027-01-07", "'from' is missing"),
        ("temperature 20 from 2027-01-06 2027-01-07", "'to' is missing"),
        ("away from 2027-01-06 to 2027-01-07 with", "'helper' is missing"),
        ("away from 2027-01-06 to 2027-01-07 helper", "'helper' is left over"),
        ("away from 2027-01-07 to 2027-01-06", "2027-01-06 is before 2027-01-07"),
        ("buy 0.09 cysts", "is neither grams nor a kind"),
        ("buy 5 salt", "'cysts' is missing"),
        ("lose MW-1 on 2027-01-04", "2027-01-04 is past"),
        ("flose MW-1", "it begins with one of"),
        ("loze MW-1", "did you mean"),
        ("spawn one 5 on soon", "is not a day"),
        ("spawn one 0 on 2027-01-06", "a count must be from 1 to"),
        ("spawn one 1000001 on 2027-01-06", "a count must be from 1 to"),
    ],
)
def test_what_is_missing_too_much_or_past_is_said(room: Room, text: str, why: str) -> None:
    assert why in _why(room, text)


def test_the_very_limits_can_be_supposed(room: Room) -> None:
    for count in (1, 1_000_000):
        found = suppose(room, f"count one {count}", _NOW)
        assert (found.broods[0].name, found.broods[0].count) == ("one", count)
        assert found.broods[0].counted_on == _TODAY
        assert found.broods[1] is room.broods[1]
        assert suppose(room, f"spawn one {count} on 2027-01-05", _NOW).broods[-1].count == count
    for litres in (0.05, 2000):
        assert suppose(room, f"vessel {litres}", _NOW).vessels[-1].litres == litres
    for degrees in (18, 30):
        assert suppose(room, f"vessel 1 at {degrees}", _NOW).vessels[-1].temperature_c == degrees
    tin = room.cysts
    assert tin is not None
    for grams in (0.1, 100_000):
        more = suppose(room, f"buy {grams} cysts", _NOW).cysts
        assert more is not None
        assert more.grams == pytest.approx(tin.grams + grams)
    none = suppose(evolve(room, cysts=None), "buy 5 cysts", _NOW).cysts
    assert none is not None
    assert none.grams == 5.0


def test_days_are_one_word_or_three(room: Room) -> None:
    for day in ("2027-01-08", "8 Jan 2027", "'8 Jan 2027'"):
        assert suppose(room, f"lose one on {day}", _NOW).broods[0].gone_on == date(2027, 1, 8)
    both = suppose(room, "away from 8 Jan 2027 to 9 Jan 2027 with helper", _NOW)
    assert both.away[0] == Away(date(2027, 1, 8), date(2027, 1, 9), helper=True)
    assert suppose(room, "away from 2027-01-05 to 2027-01-05", _NOW).away[0].helper is False


def test_a_vessel_more_is_like_the_first_or_usual(room: Room) -> None:
    first = evolve(room.vessels[0], salinity_g_per_l=31.0, temperature_c=25.5)
    second = evolve(first, name="V2", salinity_g_per_l=20.0, temperature_c=22.0)
    like = suppose(evolve(room, vessels=(first, second)), "vessel 2", _NOW).vessels[-1]
    assert (like.salinity_g_per_l, like.temperature_c) == (31.0, 25.5)
    alone = suppose(evolve(room, vessels=()), "vessel 2", _NOW).vessels[0]
    assert alone.salinity_g_per_l == 25.0
    assert alone.temperature_c == room.hatch_kind.values["t_ref_c"]
    again = suppose(
        evolve(room, vessels=(evolve(first, name="supposed vessel"),)), "vessel 2", _NOW
    )
    assert again.vessels[-1].name == "supposed vessel 2"
    assert free_name("x", []) == "x"
    assert free_name("x", ["x", "x 2", "x 4"]) == "x 3"


# --- what is lost


def test_what_is_lost_is_lost_now_or_on_a_day(room: Room) -> None:
    hatch = RunningHatch("V1", _NOW - _DAY, 3.0)
    here = evolve(room, hatches=(hatch, evolve(hatch, vessel="V2")))
    for text, at_h, left in (("", hours(_NOW), 1), (" on 2027-01-05", _hour(5), 1),
                             (" on 2027-01-06", _hour(6), 2)):  # fmt: skip
        culture = suppose(here, f"lose MW-1{text}", _NOW)
        assert [c.lost_h for c in culture.cultures] == [at_h, None]
        vessel = suppose(here, f"lose V1{text}", _NOW)
        assert vessel.vessels[0].lost_h == at_h
        assert len(vessel.hatches) == left  # what stands in it is lost with it
    assert [b.gone_on for b in suppose(room, "lose two", _NOW).broods] == [None, _TODAY]
    hoped = evolve(room, hoped=(evolve(room.broods[0], name="h"), evolve(room.broods[0], name="i")))
    assert [b.name for b in suppose(hoped, "lose h", _NOW).hoped] == ["i"]
    assert "there is no culture, vessel or brood 'three'" in _why(room, "lose three")


# --- temperatures


def test_a_spell_of_the_air_lasts_to_the_end_of_its_last_day(room: Room) -> None:
    found = suppose(room, "temperature 18 from 2027-01-06 to 2027-01-07", _NOW)
    (spell,) = found.spells
    assert (spell.start_h, spell.end_h, spell.temperature_c) == (_hour(6), _hour(8), 18.0)
    warm = suppose(found, "temperature '77 F' from 2027-01-06 to 2027-01-06", _NOW)
    assert warm.spells[1].temperature_c == pytest.approx(25.0)
    assert warm.spells[1].end_h == _hour(7)
    # Only cultures that stand in the air of the room die of it.
    deadly = "temperature 44 from 2027-01-06 to 2027-01-07"
    assert "MW-1: " in _why(room, deadly)
    assert suppose(evolve(room, cultures=room.cultures[1:]), deadly, _NOW).spells


def test_a_tank_goes_back_to_what_it_had_after_a_spell(room: Room) -> None:
    """26 °C throughout; then one that is moved from 20 to 22 °C within the spell."""
    text = "temperature 29 of A from 2027-01-06 to 2027-01-07"
    one, two = suppose(room, text, _NOW).broods
    assert one.temperature_log == ((0.0, 26.0), (_hour(6), 29.0), (_hour(8), 26.0))
    assert two.temperature_log == ()
    log = ((0.0, 20.0), (_hour(7), 22.0), (_hour(9), 24.0))
    moved = evolve(room, broods=(evolve(room.broods[0], temperature_log=log), room.broods[1]))
    one, _ = suppose(moved, text, _NOW).broods
    assert one.temperature_log == (
        (0.0, 20.0), (_hour(6), 29.0), (_hour(8), 22.0), (_hour(9), 24.0)
    )  # fmt: skip
    edge = ((0.0, 20.0), (_hour(6), 21.0), (_hour(8), 22.0))
    at_edges = evolve(room, broods=(evolve(room.broods[0], temperature_log=edge), room.broods[1]))
    one, _ = suppose(at_edges, text, _NOW).broods
    assert one.temperature_log == ((0.0, 20.0), (_hour(6), 29.0), (_hour(8), 22.0))


# --- what is bought, who spawns


def test_a_starter_is_bought_by_its_kind_or_what_it_is_called(room: Room) -> None:
    label = room.kinds["vinegar_eel"].label
    for words, kind, day in (("microworm", "microworm", 5), (f"{label}", "vinegar_eel", 5),
                             ("microworm on 2027-01-09", "microworm", 9)):  # fmt: skip
        added = suppose(room, f"buy {words}", _NOW).cultures[-1]
        assert (added.kind.name, added.started) == (kind, date(2027, 1, day))
    assert suppose(room, "buy '2 oz' cysts", _NOW).cysts != room.cysts


def test_a_brood_is_like_one_that_there_is_or_of_a_class(room: Room) -> None:
    listed = evolve(room.broods[0], name="red fish", foods=("microworm",))
    other = evolve(room.broods[1], name="blue fish", fry_class=room.fry_class("bubble_nest"))
    here = evolve(room, broods=(listed, other))
    like = suppose(here, "spawn red fish 40 on 2027-01-08", _NOW).broods[-1]
    assert (like.fry_class, like.foods, like.count) == (listed.fry_class, ("microworm",), 40)
    assert (like.anchor, like.anchor_date, like.counted_on) == ("spawned", *[date(2027, 1, 8)] * 2)
    assert suppose(here, "spawn red 40 on 2027-01-08", _NOW).broods[-1].foods == ("microworm",)
    # One word is a brood's name before it is a species.
    guppy = evolve(room, broods=(evolve(listed, name="guppy"), other))
    found = suppose(guppy, "spawn guppy 40 on 2027-01-08", _NOW).broods[-1]
    assert (found.fry_class, found.foods) == (listed.fry_class, ("microworm",))
    # "fish" could be either of two classes.
    assert "there is no class or brood 'fish'" in _why(here, "spawn fish 40 on 2027-01-08")
    alike = evolve(here, broods=(listed, evolve(other, fry_class=listed.fry_class)))
    assert (
        suppose(alike, "spawn fish 40 on 2027-01-08", _NOW).broods[-1].fry_class is listed.fry_class
    )
    named = suppose(here, "spawn livebearer 40 in B on 2027-01-08", _NOW).broods[-1]
    assert (named.fry_class.name, named.foods, named.tank) == ("livebearer", None, "B")
    # Both tanks are taken: like another it shares the tank of that, of a class it needs one named.
    assert like.tank == "A"
    assert "no tank is free" in _why(here, "spawn livebearer 40 on 2027-01-08")
    free = evolve(here, tanks=(*here.tanks, evolve(here.tanks[0], name="C")))
    for words in ("red fish", "livebearer"):
        assert suppose(free, f"spawn {words} 40 on 2027-01-08", _NOW).broods[-1].tank == "C"


# --- how two plans differ


def _at(day: float) -> datetime:
    return _NOW + day * _DAY


def _split(name: str, day: float, *, parent: str = "MW-1", starter_g: float = 15.0) -> Split:
    return Split(id=f"split/{name}", at=_at(day), until=_at(day), subject=parent, why="",
                 other=name, starter_g=starter_g, medium_g=150.0)  # fmt: skip


def _retire(name: str, day: float) -> Retire:
    return Retire(id=f"retire/{name}", at=_at(day), until=_at(day), subject=name, why="")


def _set(number: int, day: float, grams: float = 3.0) -> SetHatch:
    return SetHatch(id=f"set_hatch/{number}#V1", at=_at(day), until=_at(day), subject="V1", why="",
                    cysts_g=grams, spoons=1.0, water_l=1.0, salt_g=25.0, nauplii=1.0)  # fmt: skip


def _harvest(number: int, day: float) -> HarvestHatch:
    return HarvestHatch(id=f"harvest_hatch/{number}#V1", at=_at(day), until=_at(day),
                        subject="V1", why="", nauplii=1.0, energy_j=1.0, fed_nauplii=1.0,
                        left_over=0.0)  # fmt: skip


def _plan(*tasks: Task, **more: Any) -> Any:
    kinds = [SimpleNamespace(name=name, kind="microworm") for name in ("MW-1", "MW-2", "MW-3")]
    return SimpleNamespace(**({
        "tasks": tasks, "cultures": kinds, "start": _NOW, "supplies": (), "lines": (),
        "shortfalls": (), "cost": {},
    } | more))  # fmt: skip


def test_tasks_are_the_same_by_their_ids() -> None:
    feed = Feed(id="feed/1", at=_NOW, until=_NOW, subject="", why="", tanks=1.0, cups_ml={})
    before = _plan(_set(1, 1), _set(2, 3), _set(3, 5), feed)
    after = _plan(_set(1, 1), _set(2, 4), _set(4, 6), evolve(feed, id="feed/2"))
    found = compare(["x"], before, after)
    assert [t.id for t in found.added] == ["set_hatch/4#V1"]
    assert [t.id for t in found.dropped] == ["set_hatch/3#V1"]
    assert [(a.at, b.at) for a, b in found.moved] == [(_at(3), _at(4))]
    assert found.suppositions == ("x",)
    # By another amount, and by time.
    more = compare([], _plan(_set(2, 3), _set(1, 1)), _plan(_set(2, 3, 4.0), _set(1, 1, 5.0)))
    assert [a.id for a, _ in more.moved] == ["set_hatch/1#V1", "set_hatch/2#V1"]
    assert (more.added, more.dropped) == ((), ())


def test_a_culture_under_another_name_is_the_same() -> None:
    """Begun at the same time; what is done to it then, too, unless it ends on another day."""
    before = _plan(_split("MW-2", 2), _split("MW-3", 4, parent="MW-2"), _retire("MW-2", 20))
    after = _plan(_split("MW-9", 2), _split("MW-8", 4, parent="MW-9"), _retire("MW-9", 20))
    found = compare([], before, after)
    assert (found.added, found.dropped, found.moved) == ((), (), ())
    later = _plan(_split("MW-9", 2), _split("MW-8", 4, parent="MW-9"), _retire("MW-9", 21))
    ends = compare([], before, later)
    assert [t.id for t in ends.added] == ["retire/MW-9"]
    assert [t.id for t in ends.dropped] == ["retire/MW-2"]
    other = (_split("MW-9", 2, starter_g=30.0), _split("MW-8", 4), _retire("MW-9", 20))
    more = compare([], before, _plan(*other))
    assert [a.id for a, _ in more.moved] == ["split/MW-2", "split/MW-3"]
    start = Start(id="start/MW-2", at=_at(2), until=_at(2), subject="x", why="", other="MW-2",
                  starter_g=15.0, medium_g=150.0)  # fmt: skip
    kinds = compare([], _plan(start), _plan(_split("MW-2", 2)))
    assert ([t.id for t in kinds.added], [t.id for t in kinds.dropped]) == (
        ["split/MW-2"], ["start/MW-2"]
    )  # fmt: skip


def test_settings_are_told_with_their_harvests_and_splits_by_their_kind() -> None:
    tasks = (_split("MW-2", 4), _split("XX-1", 1), _set(1, 3), _harvest(1, 4), _set(2, 2),
             _harvest(3, 2), _retire("MW-2", 9))  # fmt: skip
    assert settings_and_splits(_plan(*tasks)) == (
        Told("V1", _at(3), _at(4)), Told("microworm", _at(4))
    )  # fmt: skip


def _line(day: float, food: str, tank: str, need: float, given: float) -> FeedLine:
    return FeedLine(at=_at(day), tank=tank, brood="b", food=food, need_j=need, given_j=given,
                    amount=given, unit="mL")  # fmt: skip


def test_a_food_ends_where_it_is_asked_for_a_day_longer_than_it_is_given() -> None:
    def ends(*lines: FeedLine) -> Any:
        return _ends(_plan(lines=lines))

    fed = [_line(0, "worm", "A", 9, 9), _line(1, "worm", "A", 9, 9)]
    assert ends(*fed) == {}
    assert ends(*fed, _line(1.9, "worm", "A", 9, 0)) == {}
    assert ends(*fed, _line(2, "worm", "A", 9, 0)) == {("food", "worm", "A"): date(2027, 1, 6)}
    assert ends(*fed, _line(3, "worm", "A", 9, 0), _line(4, "worm", "A", 9, 1)) == {}
    assert ends(*fed, _line(3, "worm", "B", 9, 0)) == {("food", "worm", "B"): _TODAY}
    use = SimpleNamespace(item="salt", out=date(2027, 1, 9))
    lasts = SimpleNamespace(item="cysts", out=None)
    assert _ends(_plan(supplies=(use, lasts))) == {("stock", "salt", ""): date(2027, 1, 9)}


def test_each_tank_is_short_from_the_first_round_of_the_shortfall_at_which_it_misses_much() -> None:
    """Of A and B, short from the 6th to the 8th: A lacks all then, B the last round alone."""
    short = SimpleNamespace(
        thin=False, tanks=("A", "B"), food="worm", at=_at(1), until=_at(3), limit="thin"
    )
    lines = [_line(day, "worm", "A", 9, 1) for day in (1, 2, 3)]
    lines += [_line(day, "worm", "B", 9, given) for day, given in ((1, 9), (2, 9), (3, 1))]
    assert _ends(_plan(lines=lines, shortfalls=(short,))) == {
        ("short", "worm", "A"): date(2027, 1, 6), ("short", "worm", "B"): date(2027, 1, 8)
    }  # fmt: skip
    # What cannot be measured out is no want: a supposition cures none by another round's turn.
    short.limit = "unmeasured"
    assert _ends(_plan(lines=lines, shortfalls=(short,))) == {}


def _difference(before: Any, after: Any) -> Difference:
    return Difference((), before, after, (), (), ())


def test_what_lasts_longer_or_less_is_told_by_tank() -> None:
    """A new brood that gets a food is no end of it; tanks with the same days are told together."""

    def plan(end: int, *, out: int | None = None, new: bool = False) -> Any:
        lines = [_line(d, "worm", tank, 9, 9 if d <= end else 0) for tank in "AB" for d in range(9)]
        if new:
            lines += [_line(d, "worm", "C", 9, 9 if d <= 2 else 0) for d in range(9)]
        use = SimpleNamespace(item="salt", out=None if out is None else date(2027, 1, out))
        return _plan(lines=lines, supplies=(use,))

    found = _difference(plan(3), plan(5, out=9, new=True)).lasting()
    assert set(found) == {
        Lasting("stock", "salt", (), None, date(2027, 1, 9)),
        Lasting("food", "worm", ("A", "B"), date(2027, 1, 8), date(2027, 1, 10)),
    }
    assert _difference(plan(3), plan(3)).lasting() == []
    (gone,) = _difference(plan(3), plan(8)).lasting()
    assert (gone.before, gone.after) == (date(2027, 1, 8), None)
    assert gone.to_json()["after"] is None
    assert gone.to_json()["before"] == "2027-01-08"
    # Of what is given now nothing may be left; what is yet to come does not end.
    (at_once,) = _difference(plan(3), plan(-1)).lasting()
    assert (at_once.before, at_once.after) == (date(2027, 1, 8), _TODAY)
    later = _plan(lines=[_line(d, "worm", "A", 9, 9 if d == 3 else 0) for d in range(9)])
    assert _difference(later, plan(-1)).lasting() == []
