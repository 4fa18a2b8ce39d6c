"""Suppositions: what they change in the room, and how they are refused."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.journal.absences import Away
from cultures.planning import what_if
from cultures.planning.changes import hatch_hours
from cultures.planning.gaps import ANY
from cultures.planning.plan import make_plan
from cultures.planning.what_if import SuppositionError, compare, suppose
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import Buy, SetHatch, Split, Task
from cultures.words.moments import hours

TODAY = date(2027, 1, 5)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(demo_text(TODAY), today=TODAY)


@pytest.fixture(scope="module")
def now(room: Room) -> datetime:
    return datetime(2027, 1, 5, 7, tzinfo=room.timezone)


def test_spawn_by_a_word_of_a_brood_takes_its_class_and_a_free_tank(
    room: Room, now: datetime
) -> None:
    changed = suppose(room, "spawn gourami 200 on 2027-01-08", now)
    brood = changed.broods[-1]
    assert (brood.fry_class.name, brood.count, brood.tank) == ("bubble_nest", 200, "A2")
    assert brood.anchor_date == date(2027, 1, 8)
    first = next(t for t in make_plan(changed, now=now).tasks if t.id == f"first_food/{brood.name}")
    assert date(2027, 1, 11) <= first.at.date() <= date(2027, 1, 14)


def test_a_number_at_the_end_of_a_brood_is_a_count_where_no_other_follows(
    room: Room, now: datetime
) -> None:
    named = evolve(room, broods=(*room.broods, evolve(room.broods[0], name="betta 1")))
    alone = suppose(named, "spawn betta 1 on 2027-01-08", now).broods[-1]
    assert (alone.fry_class.name, alone.count) == ("bubble_nest", 1)
    like = suppose(named, "spawn betta 1 120 on 2027-01-08", now).broods[-1]
    assert (like.name, like.count) == ("supposed betta 1", 120)


def test_spawn_by_class_in_a_named_tank(room: Room, now: datetime) -> None:
    brood = suppose(room, "spawn livebearer 30 in C4 on '9 Jan 2027'", now).broods[-1]
    assert (brood.fry_class.name, brood.tank) == ("livebearer", "C4")


@pytest.mark.parametrize(
    ("text", "name"), [("lose MW-1", "MW-1"), ("lose VE-2 on 2027-01-09", "VE-2")]
)
def test_a_lost_culture_is_not_harvested_any_more(
    room: Room, now: datetime, text: str, name: str
) -> None:
    changed = suppose(room, text, now)
    lost_h = changed.culture(name).lost_h
    assert lost_h is not None
    plan = make_plan(changed, now=now)
    later = [t for t in plan.tasks if t.subject == name and hours(t.at) >= lost_h]
    assert {t.what for t in later} <= {"retire"}


def test_names_of_several_words_need_no_quotes(room: Room, now: datetime) -> None:
    assert suppose(room, "lose honey gourami 7 on 2027-01-08", now) == suppose(
        room, "lose 'honey gourami 7' on 2027-01-08", now
    )
    assert suppose(room, "count honey gourami 7 90", now).brood("honey gourami 7").count == 90


@pytest.mark.parametrize(
    ("bare", "quoted"),
    [
        ("away from 8 Jan 2027 to 9 Jan 2027", "away from 2027-01-08 to 2027-01-09"),
        ("lose bottle 1 on 8 Jan 2027", "lose 'bottle 1' on 2027-01-08"),
        ("buy banana worm on 8 Jan 2027", "buy banana_worm on 2027-01-08"),
        ("spawn honey gourami 7 90 on 8 Jan 2027", "spawn 'honey gourami 7' 90 on 2027-01-08"),
    ],
)
def test_days_and_kinds_of_several_words_need_no_quotes(
    room: Room, now: datetime, bare: str, quoted: str
) -> None:
    assert suppose(room, bare, now) == suppose(room, quoted, now)


def test_a_supposed_absence_goes_before_the_one_in_the_file(room: Room, now: datetime) -> None:
    away = evolve(room, away=(Away(date(2027, 1, 8), date(2027, 1, 9), False),))
    helped = suppose(away, "away from 2027-01-08 to 2027-01-09 with helper", now)
    found = helped.away_on(date(2027, 1, 8))
    assert found is not None
    assert found.helper


def test_a_lost_vessel_is_not_set(room: Room, now: datetime) -> None:
    plan = make_plan(suppose(room, "lose 'bottle 1'", now), now=now)
    assert {t.subject for t in plan.tasks if isinstance(t, SetHatch)} == {"bottle 2"}


def test_a_vessel_in_warm_water_is_ready_in_a_day(room: Room, now: datetime) -> None:
    """At 20 °C a hatch takes more than a day and a half (docs/models.md), at 27 °C one day."""
    cool = tuple(evolve(v, temperature_c=20.0) for v in room.vessels)
    warm = suppose(evolve(room, vessels=cool), "warm 'bottle 1'", now)
    assert [v.temperature_c for v in warm.vessels] == [27.0, *[20.0] * (len(cool) - 1)]
    hatch_h = [hatch_hours(warm, vessel) for vessel in warm.vessels[:2]]
    assert hatch_h[0] < 26.0 < 36.0 < hatch_h[1]


def test_a_lost_brood_is_not_fed(room: Room, now: datetime) -> None:
    plan = make_plan(suppose(room, "lose 'acara 5' on 2027-01-07", now), now=now)
    assert max(x.at.date() for x in plan.lines if x.brood == "acara 5") == date(2027, 1, 6)


def test_a_cold_spell_delays_the_cultures(room: Room, now: datetime) -> None:
    cold = suppose(room, "temperature 15 from 2027-01-06 to 2027-01-12", now)
    ends = {
        label: next(t.at for t in make_plan(r, now=now).tasks if t.id == "retire/MW-1")
        for label, r in (("now", room), ("cold", cold))
    }
    assert ends["cold"] > ends["now"]
    assert cold.room_temperature_c(date(2027, 1, 8)) == 15
    assert cold.room_temperature_c(date(2027, 1, 13)) == room.room_temperature_c(date(2027, 1, 13))


def test_a_warmer_tank_makes_its_fry_grow(room: Room, now: datetime) -> None:
    warm = suppose(room, 'temperature "82 F" of C2 from 2027-01-06 to 2027-01-20', now)
    day = datetime(2027, 1, 20, 7, tzinfo=room.timezone)
    assert _energy(warm, "rainbows 4", day, now) > _energy(room, "rainbows 4", day, now)


def _energy(room: Room, brood: str, at: datetime, now: datetime) -> float:
    plan = make_plan(room, now=now)
    return sum(x.need_j for x in plan.lines if x.brood == brood and x.at.date() == at.date())


def test_more_cysts_end_the_shortfall_of_the_demo(room: Room, now: datetime) -> None:
    before = make_plan(room, now=now)
    after = make_plan(suppose(room, "buy 200 cysts", now), now=now)
    assert before.shortfalls
    assert sum(s.short_j for s in after.shortfalls) < 0.2 * sum(
        s.short_j for s in before.shortfalls
    )
    difference = compare(["buy 200 cysts"], before, after)
    assert any(isinstance(t, SetHatch) for t in difference.added)
    assert any(isinstance(t, Buy) for t in difference.dropped)


def test_a_bought_starter_is_one_more_culture(room: Room, now: datetime) -> None:
    changed = suppose(room, "buy banana_worm on 2027-01-06", now)
    assert [c.kind.name for c in changed.cultures][-1] == "banana_worm"


def test_absences_and_counts_and_vessels(room: Room, now: datetime) -> None:
    assert suppose(room, "away from 2027-01-10 to 2027-01-12 with helper", now).away[-1].helper
    assert suppose(room, "count 'platies 9' 20", now).brood("platies 9").count == 20
    assert suppose(room, 'vessel "2 qt" at 28', now).vessels[-1].litres == pytest.approx(
        1.8927, 1e-4
    )


def test_a_culture_that_is_only_numbered_differently_is_no_difference(
    room: Room, now: datetime
) -> None:
    plan = make_plan(room, now=now)
    names = {"MW-3": "MW-4", "MW-4": "MW-5", "MW-5": "MW-6"}
    assert {t.other for t in plan.tasks if isinstance(t, Split)} == set(names)

    def renamed(task: Task) -> Task:
        for old, new in reversed(names.items()):
            task = evolve(
                task,
                id=task.id.replace(old, new),
                subject=task.subject.replace(old, new),
                other=task.other.replace(old, new),
            )
        return task

    after = evolve(plan, tasks=tuple(renamed(t) for t in plan.tasks))
    difference = compare([], plan, after)
    assert (difference.added, difference.dropped, difference.moved) == ((), (), ())


def test_one_brood_more_ends_the_nauplii_of_the_others_sooner(room: Room, now: datetime) -> None:
    """The tin holds what it holds: the cost is the same, but it lasts less long."""
    before = make_plan(room, now=now, remedies=False)
    changed = suppose(room, "spawn rainbowfish 600 on 2027-01-05", now)
    after = make_plan(changed, now=now, remedies=False)
    difference = compare(["a brood more"], before, after)
    assert after.cost["cysts_g"] == pytest.approx(before.cost["cysts_g"], abs=0.5)
    sooner = [x for x in difference.lasting() if x.before and x.after and x.after < x.before]
    assert {x.name for x in sooner} & {"brine_shrimp", "cysts"}
    for found in sooner:
        if found.what == "food":  # checked against the feeding lines themselves
            for plan, day in ((before, found.before), (after, found.after)):
                given = [
                    x.at.date() for x in plan.lines
                    if x.food == found.name and x.tank == found.tanks[0] and x.given_j > 0
                ]  # fmt: skip
                assert max(given) == day


def test_more_cysts_last_longer(room: Room, now: datetime) -> None:
    before = make_plan(room, now=now, remedies=False)
    after = make_plan(suppose(room, "buy 200 cysts", now), now=now, remedies=False)
    found = compare([], before, after).lasting()
    (tin,) = [x for x in found if x.what == "stock"]
    (use,) = [u for u in before.supplies if u.item == "cysts"]
    assert use.stock_g is not None
    set_so_far = 0.0
    for task in before.tasks:  # by hand: the first setting that the tin cannot fill
        if isinstance(task, SetHatch):
            set_so_far += task.cysts_g
    assert set_so_far <= use.stock_g + 1e-6
    last = max(t.at.date() for t in before.tasks if isinstance(t, SetHatch))
    assert (tin.name, tin.after) == ("cysts", None)
    assert tin.before is not None
    # What it does not hold of the next setting is wanting within the days that one serves.
    assert before.start.date() < tin.before <= last + timedelta(days=2)


@pytest.mark.parametrize("text", ["40 cysts", "cysts 40", "40 g cysts", "cysts 40 g", "40g cysts"])
def test_grams_of_cysts_are_bought_in_either_order(room: Room, now: datetime, text: str) -> None:
    before, after = room.cysts, suppose(room, f"buy {text}", now).cysts
    assert after is not None
    assert after.grams == pytest.approx(40.0 + (before.grams if before is not None else 0.0))


def test_a_unit_may_be_a_word_of_its_own(room: Room, now: datetime) -> None:
    """78 F are 25.6 °C, and a pint of the United States is 473 mL."""
    by_word = suppose(room, "vessel 1 pt at 78 F", now).vessels[-1]
    assert by_word == suppose(room, "vessel 1pt at 78F", now).vessels[-1]
    assert by_word.litres == pytest.approx(0.473176, abs=1e-4)
    assert by_word.temperature_c == pytest.approx((78 - 32) / 1.8)


def test_nothing_supposed_changes_nothing(room: Room, now: datetime) -> None:
    plan = make_plan(room, now=now)
    same = compare([], plan, make_plan(evolve(room), now=now))
    assert (same.added, same.dropped, same.moved) == ((), (), ())
    assert same.lasting() == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "suppose something"),
        ("fly away", "it begins with one of spawn, lose"),
        ("spawn guorami 3 on 2027-01-08", "there is no class or brood 'guorami'"),
        ("spawn gourami many on 2027-01-08", "a count must be a number, not 'many'"),
        ("spawn gourami 3 on yesterday", "is not a day; write it like 2027-01-05"),
        ("spawn gourami 3 on 2026-01-08", "2026-01-08 is past"),
        ("spawn gourami 3 2027-01-08", "'on' is missing"),
        ("spawn gourami 3 in Z9 on 2027-01-08", "there is no tank named 'Z9'"),
        ("lose MW-9", "there is no culture, vessel or brood 'MW-9'; did you mean 'MW-2'?"),
        ("lose MW-1 soon", "'soon' is left over"),
        ("temperature hot from 2027-01-08 to 2027-01-09", "'hot' is not a quantity"),
        ("temperature 44 from 2027-01-08 to 2027-01-09", "dies at"),
        ("temperature 20 from 2027-01-09 to 2027-01-08", "is before"),
        ("buy much", "'much' is neither grams nor a kind"),
        ("vessel 1 at 40", "stop or die"),
        ("warm MW-1", "there is no vessel 'MW-1'"),
        ("warm 'bottle 1'", "and warm water has 27 °C"),
        ("lose 'MW-1", "a quote is not closed"),
    ],
)
def test_a_supposition_that_cannot_be_is_refused_in_one_sentence(
    room: Room, now: datetime, text: str, says: str
) -> None:
    with pytest.raises(SuppositionError) as error:
        suppose(room, text, now)
    assert says in str(error.value)
    assert "\n" not in str(error.value)
    assert error.value.exit_code == 2


def test_without_any_vessel_nothing_is_said_of_when_a_hatch_would_be_ripe(
    room: Room, now: datetime
) -> None:
    """Those that stand are lost too; some fry eat nauplii at once."""
    for vessel in room.vessels:
        room = suppose(room, f"lose {vessel.name}", now)
    after = make_plan(room, now=now, days=5, remedies=False)
    causes = [
        s.cause for s in after.shortfalls if s.food == "brine_shrimp"
    ] + [s.text for s in after.stops if "nauplii" in s.text]  # fmt: skip
    assert any("there is no vessel to hatch in" in text for text in causes)
    assert not any("can be ripe" in text or "in time to set" in text for text in causes)


def test_a_tank_that_is_short_of_a_food_without_a_name_is_not_said_to_be_never_short() -> None:
    """Short of anything before, and of worms that are to come then, both from the same day."""
    first, later = date(2027, 1, 8), date(2027, 1, 9)
    before = {("short", ANY, "A1"): first, ("stock", "salt", ""): later}
    after = {
        ("short", "banana_worm", "A1"): later, ("short", "microworm", "A1"): first,
        ("short", "banana_worm", "A2"): later,
    }  # fmt: skip
    assert what_if._of_any_food(before, {"A1"}) == before
    assert what_if._of_any_food(after, {"A1"}) == {
        ("short", ANY, "A1"): first, ("short", "banana_worm", "A2"): later,
    }  # fmt: skip
