"""When things ring: at the last good moment, in waking hours, never in a crowd."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from itertools import pairwise

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from calendars.entries import Entry, Wishes
from calendars.from_plan import entries_of, plan_for_calendar, wishes_of
from calendars.ics import Header, calendar_bytes
from cultures.journal.absences import Away
from cultures.room.file import read_room
from cultures.tasks.plan import Act, Remedy, Shortfall
from tests.calendars.plans import (
    LISBON,
    ROOM,
    at,
    feed_lines,
    hatch_pair,
    ledger_of,
    plan_of,
    rings_at,
    task,
    wishes,
)
from tests.examples import examples
from tests.strategies import RoomCase, room_cases


def alarms(entries: list[Entry]) -> list[datetime]:
    """Every moment at which something rings."""
    leads = [(e.start, m) for e in entries for m in (e.alarm_min, e.notice_min) if m is not None]
    return sorted(start - timedelta(minutes=minutes) for start, minutes in leads)


def assert_quiet(entries: list[Entry], those: Wishes) -> None:
    """No alarm outside waking hours, and no four within a quarter of an hour."""
    rung = alarms(entries)
    low, high = those.room.awake
    for moment in rung:
        assert low <= those.local(moment).time() <= high
    for first, fourth in zip(rung, rung[3:], strict=False):
        assert fourth - first > timedelta(minutes=15)


def short(
    by: str, food: str = "microworm", what: str = "split MW-1", fetch: timedelta = timedelta(0)
) -> Shortfall:
    moment = at("2027-01-14T07:30")
    remedy = Remedy(what, at(by), 30.0, fetch, act=Act.BUY)
    return Shortfall(
        moment, moment + timedelta(days=1), 3, food, 100.0, 40.0, ("A1",), "It runs out.", (remedy,)
    )


@settings(derandomize=True, database=None, deadline=None, max_examples=examples(5, 200))
@given(case=room_cases(longest_days=6, most_broods=3))
def test_no_room_rings_at_night_or_in_a_crowd(case: RoomCase) -> None:
    room, now = case.room(), case.now()
    plan, draws, _ = plan_for_calendar(room, now, None)
    assert_quiet(entries_of(plan, wishes_of(room), now, draws), wishes_of(room))


@given(
    minutes=st.lists(st.integers(0, 24 * 60 - 1), max_size=30),
    leads=st.dictionaries(st.sampled_from(["split", "count", "set_hatch"]), st.integers(0, 4000)),
    zone_day=st.sampled_from([date(2027, 1, 6), date(2027, 3, 28), date(2027, 10, 31)]),
)
def test_whatever_lead_the_keeper_chose(
    minutes: list[int], leads: dict[str, int], zone_day: date
) -> None:
    midnight = datetime.combine(zone_day, datetime.min.time(), LISBON)
    kinds = ("split", "count", "set_hatch", "sort")
    tasks = [
        task(f"{kinds[n % 4]}/{n}", kinds[n % 4], midnight + timedelta(minutes=m), f"T{n}")
        for n, m in enumerate(minutes)
    ]
    those = wishes(alarms_min=leads, per_day=40)
    entries = entries_of(plan_of(tasks, start=midnight), those)
    assert len(entries) == len(tasks)
    assert_quiet(entries, those)
    # Nothing that is silenced is lost: what rings near it names it.
    told = "\n".join(e.text for e in entries if e.alarm_min is not None)
    for entry in entries:
        assert entry.alarm_min is not None or f"- {entry.title}" in told


def test_absence_is_warned_of_before_it_not_in_its_first_night() -> None:
    away = wishes(away=(Away(date(2027, 1, 12), date(2027, 1, 16)),))
    plan = plan_of([], None, [short("2027-01-12T03:30", what="ask somebody to feed")])
    (warning,) = entries_of(plan, away)
    assert warning.end == at("2027-01-11T22:30")
    assert rings_at(warning) == at("2027-01-11T20:00")
    assert warning.notice_min is not None
    assert warning.start - timedelta(minutes=warning.notice_min) == at("2027-01-08T22:00")
    assert warning.title == "Ask somebody to feed"


def test_a_purchase_is_warned_of_while_shops_can_still_deliver() -> None:
    plan = plan_of(
        [], None, [short("2027-01-10T18:30", what="get a ripe one", fetch=timedelta(days=3))]
    )
    (warning,) = entries_of(plan, wishes())
    assert warning.end == at("2027-01-07T18:30")
    (late,) = entries_of(plan, wishes(), at("2027-01-08T07:00"))
    assert late.end == at("2027-01-10T18:30")  # too late to be delivered, not to be fetched


def test_room_says_how_long_a_shop_takes() -> None:
    """The stock runs out on the same day; who waits five days for it is told three sooner."""
    text = ROOM.replace("horizon_days = 7", "horizon_days = 28") + "\n[supplies]\nsalt_g = 250\n"
    found = []
    for more in ("", "salt_days = 5\n"):
        room = read_room(text + more, today=date(2027, 1, 5))
        plan, _, _ = plan_for_calendar(room, room.local(date(2027, 1, 5), room.awake[0]), None)
        found += [t for t in plan.tasks if t.what == "buy"]
    soon, late = found
    assert soon.until == late.until
    assert timedelta(days=5) <= late.until - late.at < timedelta(days=6)
    assert timedelta(days=2) <= soon.until - soon.at < timedelta(days=3)


def test_warnings_of_a_day_are_one_reminder_with_a_list() -> None:
    lacks = [short("2027-01-10T18:30", food) for food in ("microworm", "vinegar_eel", "dry", "any")]
    lacks.append(short("2027-01-10T18:30", "brine_shrimp", "buy 40 g of cysts"))
    (warning,) = entries_of(plan_of([], None, lacks), wishes())
    assert len(warning.title) <= 40
    for food in ("microworm", "vinegar eel", "cysts"):
        assert food in (warning.title + warning.text).lower()
    assert len(alarms([warning])) == 2


def test_warnings_that_ask_for_the_same_ask_once() -> None:
    """Each cause is told; what helps is said below them, and counted as one in the title."""
    lacks = [
        short("2027-01-10T18:30", food, "buy 40 g of cysts")
        for food in ("brine_shrimp", "microworm", "grindal_worm")
    ]
    lacks.append(
        short("2027-01-10T18:30", "brine_shrimp", "get hatched nauplii from another keeper")
    )
    (warning,) = entries_of(plan_of([], None, lacks), wishes())
    assert warning.title == "Buy 40 g of cysts (+1)"
    assert warning.text.count("buy 40 g of cysts") == 1
    assert warning.text.count("It runs out.") == 4
    (alone,) = entries_of(plan_of([], None, lacks[-1:]), wishes())
    assert alone.title == "Get hatched nauplii: nauplii run short"


def test_a_round_of_a_helper_says_so_and_does_not_ring() -> None:
    day, next_day = at("2027-01-06T07:30"), at("2027-01-07T07:30")
    lines = [*feed_lines(day), *feed_lines(next_day)]
    away = (Away(day.date(), day.date(), helper=True),)
    helped, own = entries_of(plan_of([], lines), wishes(away=away))
    assert helped.title.startswith("Helper feeds the fry: ")
    assert alarms([helped]) == []
    assert own.title.startswith("Feed the fry: ")
    assert own.alarm_min is not None


def test_the_most_urgent_of_a_crowd_keep_their_alarms_and_one_names_the_rest() -> None:
    """A hatch is set at 06:30, when four other things would ring."""
    moment = at("2027-01-06T06:30")
    tasks = [task("set_hatch/1", "set_hatch", moment, "bottle 2"),
             *(task(f"{what}/{n}", what, moment, f"B{n}")
               for n, what in enumerate(("split", "sort", "lid", "buy")))]  # fmt: skip
    rung = [e for e in entries_of(plan_of(tasks), wishes()) if e.alarm_min is not None]
    hatch, split, rest = sorted(rung, key=lambda e: len(e.also))[:3]
    assert {hatch.title, split.title} == {"Set hatch: bottle 2, 2.4 g", "Split B0"}
    assert len(rest.also) == 2
    assert "Buy: B3, 100 g" in rest.also
    # The alarm itself says them, and the entry above all else.
    ledger = ledger_of([rest])
    data = calendar_bytes(ledger.published(), ledger, Header("Shed"))
    lines = data.decode().replace("\r\n ", "").split("\r\n")
    assert any(x.startswith("DESCRIPTION:") and x.count("\\; ") == 2 for x in lines)
    assert rest.text.startswith("Also at this time:\n- ")


def test_titles_say_how_much_is_to_be_bought_and_set_and_stay_short() -> None:
    """The lock screen shows the title alone, of 40 characters."""
    moment = at("2027-01-06T18:30")
    long_name = "bottle on the upper shelf beside the door"
    tasks = [
        task("buy/salt", "buy", moment, "salt", item="salt", grams=1500.0),
        task("set_hatch/1", "set_hatch", moment),
        task("set_hatch/2", "set_hatch", moment, long_name),
    ]
    titles = {e.key: e.title for e in entries_of(plan_of(tasks), wishes())}
    assert titles["buy/salt"] == "Buy: salt, 1,500 g"
    assert titles["set_hatch/1"] == "Set hatch: bottle 1, 2.4 g"
    assert titles["set_hatch/2"].endswith("…, 2.4 g")
    assert len(titles["set_hatch/2"]) <= 40


@pytest.mark.parametrize(("now", "rings"), [("09T17:00", "09"), ("09T19:00", "10")])
def test_a_purchase_is_asked_for_on_a_sunday_only_where_saturday_is_past(
    now: str, rings: str
) -> None:
    """10 January 2027 is a Sunday: fewer shops are open (common practice, no source)."""
    sunday = at("2027-01-10T18:30")
    jobs = [task("buy/salt", "buy", sunday, "salt"), task("sort/x", "sort", sunday, "x")]
    entries = {e.key: e for e in entries_of(plan_of(jobs), wishes(), at(f"2027-01-{now}"))}
    assert entries["buy/salt"].start == at(f"2027-01-{rings}T18:30")
    assert entries["sort/x"].start == sunday


def test_a_purchase_told_before_saturday_stays_there_once_that_is_past() -> None:
    sunday = at("2027-01-10T18:30")
    room = evolve(wishes().room, to_buy_since={"cysts": sunday.date() - timedelta(days=3)})
    job = task("buy/brine_shrimp_cysts", "buy", sunday, "brine shrimp cysts", item="cysts")
    told = evolve(wishes(), room=room)
    (entry,) = entries_of(plan_of([job]), told, at("2027-01-10T08:00"))
    assert entry.start == at("2027-01-09T18:30")
    # Nor is one asked for a day earlier that is overdue, or while the keeper is away.
    overdue = task(job.id, "buy", sunday, job.subject, item="cysts", due=sunday.date())
    (late,) = entries_of(plan_of([overdue]), told, at("2027-01-08T08:00"))
    assert late.start == sunday
    away = (Away(sunday.date() - timedelta(days=1), sunday.date() - timedelta(days=1)),)
    (gone,) = entries_of(plan_of([job]), wishes(away=away), at("2027-01-08T08:00"))
    assert gone.start == sunday


def test_what_is_folded_is_named_by_what_is_to_be_bought() -> None:
    moment = at("2027-01-06T10:00")
    tasks = [task(f"sort/{n}", "sort", moment + timedelta(hours=n), f"B{n}") for n in range(5)]
    tasks.append(task("buy/dry", "buy", moment, "dry food"))
    *_, folded = sorted(entries_of(plan_of(tasks), wishes(per_day=4)), key=lambda e: len(e.parts))
    assert folded.title == "Also today: Buy: dry food, 100 g (+2)"


def test_a_harvest_for_a_round_rings_once() -> None:
    moment = at("2027-01-06T07:30")
    harvest = evolve(
        hatch_pair("2027-01-06T07:30/1", moment - timedelta(hours=24, minutes=30), 24.0)[1],
        until=moment,
    )
    feed = task("feed/2027-01-06T07:30", "feed", moment, "all tanks", amounts={})
    entries = entries_of(plan_of([harvest, feed], feed_lines(moment)), wishes())
    assert {e.group for e in entries} == {"rounds", "hatches"}
    (rung,) = [e for e in entries if e.alarm_min is not None]
    assert rung.group == "rounds"
    assert rings_at(rung) is not None
    assert rings_at(rung) <= harvest.at  # type: ignore[operator]
    alone = entries_of(plan_of([harvest, feed], feed_lines(moment)),
                       wishes(groups=frozenset({"hatches"})))  # fmt: skip
    assert [e.alarm_min for e in alone] == [15]
    own = wishes(alarms_min={"harvest_hatch": 20, "retire": 5})
    retire = task("retire/MW-1", "retire", moment, "MW-1")
    rings = entries_of(plan_of([harvest, feed, retire], feed_lines(moment)), own)
    assert {e.group: e.alarm_min for e in rings if e.group != "rounds"} == {
        "hatches": 20, "splits": 5,
    }  # fmt: skip


def test_what_asks_for_nothing_does_not_ring() -> None:
    moment = at("2027-01-06T10:00")
    switch = task("switch_food/a/dry", "switch_food", moment, "gourami 12", other="dry")
    retire = task("retire/MW-1", "retire", moment, "MW-1")
    lost = evolve(short("2027-01-10T18:30"), remedies=())
    entries = entries_of(plan_of([switch, retire], [], [lost]), wishes())
    assert len(entries) == 3
    assert alarms(entries) == []


def test_a_warning_asks_for_what_today_asks_for_first() -> None:
    """That is what was told before, or what is most urgent; what helps most stands below."""
    sooner, most = (
        Remedy(what, at(by), effect_j, act=Act.ADD)
        for what, by, effect_j in (("the sooner", "2027-01-07T10:00", 30.0),
                                   ("the best", "2027-01-08T10:00", 40.0))
    )  # fmt: skip
    for remedies, first in (
        ((most, sooner), "The sooner"), ((evolve(most, told=True), sooner), "The best")
    ):  # fmt: skip
        lack = evolve(short("2027-01-10T18:30"), remedies=remedies)
        (step,) = lack.steps
        (warning,) = entries_of(plan_of([], None, [lack]), wishes())
        assert warning.title.startswith(first)
        assert step.what.capitalize() == first
        assert warning.text.index(step.what) < max(map(warning.text.index, ("sooner", "best")))


def test_titles_say_what_to_do_in_forty_characters() -> None:
    long = "start one more microworm culture from a bought starter and add it to the foods of B 1"
    plan = plan_of([], None, [short("2027-01-08T18:30", what=long)])
    (warning,) = entries_of(plan, wishes())
    assert warning.title == "Start one more microworm culture"
    assert long in warning.text
    subject = "the second brood of the orange annual killifish"
    (sort,) = entries_of(
        plan_of([task("sort/x", "sort", at("2027-01-06T10:00"), subject)]), wishes()
    )
    assert sort.title == "Sort by size: the second brood of the…"
    assert subject not in sort.title
    assert all(len(a) <= 40 for a in (warning.title, sort.title))


def test_the_order_of_alarms_follows_that_of_the_day() -> None:
    moments = [at("2027-01-06T10:00") + timedelta(hours=n) for n in range(4)]
    entries = entries_of(
        plan_of([task(f"count/{n}", "count", m, f"B{n}") for n, m in enumerate(moments)]), wishes()
    )
    for one, other in pairwise(entries):
        assert one.start < other.start
        assert one.alarm_min == other.alarm_min == 0
