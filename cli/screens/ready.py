"""What ``livefood ready`` prints."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator
from datetime import datetime

from cli.screens.carry import planned_words, verdict
from cli.screens.need import measured
from cli.screens.text import block, bullets, columns, joined, wrapped
from cultures.foods.food import BRINE_SHRIMP
from cultures.needs.dates import INFUSORIA
from cultures.planning.changes import bath_words, new_bottle
from cultures.planning.ready import DOES_FROM, Begun, Readiness, Step, is_that
from cultures.room.room import Room
from cultures.words.moments import spoken_day, spoken_when, when
from cultures.words.quantities import celsius, food_name, in_units, litres, many, number, percent
from cultures.words.text import listed
from cultures.words.tools import CYSTS


def screen(room: Room, found: Readiness, now: datetime, *, by_first_food: bool) -> str:
    """The whole screen; ``by_first_food`` says which of the days was asked for."""
    kept, new = [step for step in _ordered(found) if step.kept], _not_kept(found)
    return joined([
        _title(room, found),
        _dates(found, now, room.units, by_first_food=by_first_food),
        block("FOR THE FIRST DAYS", [_step(room, one, now) for one in kept]),
        block("NOT KEPT HERE, but small enough for them", [_step(room, one, now) for one in new]),
        _verdict(room, found, now),
        block("OTHER WAYS", bullets(_instead(found, now, room.units))),
        block("TAKE CARE", bullets(_cautions(room, [*kept, *new]), "  ! ")),
        _prepare(room, found, now),
    ])  # fmt: skip


def _title(room: Room, found: Readiness) -> str:
    brood = found.brood
    where = f" in {brood.tank}" if any(t.name == brood.tank for t in room.tanks) else ""
    degrees = celsius(found.temperature_c, room.units)
    return wrapped(f"{number(brood.count)} fry, {brood.fry_class.label}{where}, at {degrees}")


def _dates(found: Readiness, now: datetime, units: str, *, by_first_food: bool) -> str:
    asked = "  (the day you asked for)"
    spawning = spoken_day(found.brood.anchor_date, now, units) + ("" if by_first_food else asked)
    rows = [["spawning", spawning]]
    if found.hatching is not None:
        rows.append(["hatching", spoken_day(found.hatching, now, units)])
    first = spoken_when(found.first, now, units)
    rows.append(["first food", first + (asked if by_first_food else "")])
    said = [f"Without food they live about {many(round(found.starve_days), 'more day')}."]
    if found.warning:
        said.append(in_units(f"At {found.temperature_c:.3g} °C: {found.warning}.", units))
    if not found.sure:
        said.append(
            "This close to what these fish can bear no date can be promised: watch the eggs."
        )
    return "\n".join([columns(rows), *(wrapped(text, 2, "  ") for text in said)])


def _ordered(found: Readiness) -> list[Step]:
    """What must be begun first comes first; what stands, and what is too late, after it. To begin
    to hatch is before the rest for who can live on nauplii: most fry eat nothing better.
    """
    late = datetime.max.replace(tzinfo=found.first.tzinfo)

    def place(step: Step) -> tuple[bool, bool, datetime]:
        begins = step.food == BRINE_SHRIMP and not step.kept and step.takes >= DOES_FROM
        return step.too_late, not begins, step.begin_by or late

    return sorted(found.steps, key=place)


def _not_kept(found: Readiness) -> list[Step]:
    """Foods to get that are still in time; those that are not only where nothing else is."""
    new = [step for step in _ordered(found) if not step.kept]
    in_time = [step for step in new if not step.too_late]
    return in_time or ([] if any(s.does() for s in found.steps) else new)


def _step(room: Room, step: Step, now: datetime) -> str:
    what = ", ".join([_what(room, step, now), *_besides(room, step)])
    if step.too_late:
        on = step.ripe_on and spoken_day(step.ripe_on, now, room.units)
        ripe = f"; started now it is ripe on {on}" if on else ""
        return wrapped(f"too late: {what}{ripe}", 4, "  - ")
    slack = step.slack_days(now)
    left = "" if slack is None else " (today)" if slack == 0 else f" ({many(slack, 'day')} left)"
    return wrapped(f"{what}{left}", 4, "  - ")


def _what(room: Room, step: Step, now: datetime) -> str:
    """What is to be done for a food, and by when."""
    name = food_name(step.food)
    if step.how == "gives":
        text = f"{name}: {step.subject} will be giving by then as it is"
        return text + _until(step, now, room.units, "; split it before")
    if step.how == "dry":
        return f"{name}: have it in the house"
    by = "" if step.begin_by is None else f" by {spoken_day(step.begin_by, now, room.units)}"
    buy = "" if step.buy_by is None else f", buy by {spoken_day(step.buy_by, now, room.units)}"
    if step.how == "split":
        text = f"{name}: split {step.subject}{by}" + _until(step, now, room.units)
        if step.again_by is None:
            return text
        again = spoken_day(step.again_by, now, room.units)
        return f"{text}, before it ends, and what grows from it by {again}"
    if step.how == "start":
        return f"{name}: start one from a bought starter{by}{buy}"
    if step.how == "jar":
        return f"{name} or green water: start a jar{by}"
    assert step.begin_by is not None
    assert step.best_at is not None
    best = f", best {when(step.best_at, room.units)}" if step.best_at != step.begin_by else ""
    tin = f"{buy.replace('buy', 'buy cysts')}" if buy else ""
    weighed = ""
    if step.cysts_g:
        first, *others = room.tools.mass(step.cysts_g, CYSTS)
        other = f" ({others[0].text})" if others else ""
        weighed = f" with {first.text} of cysts{other}"
    if not room.vessels:
        bottle = new_bottle(room)
        bought = ["that", *(["cysts"] if buy else []), "salt", "an air pump"]
        got = f", buy {listed(bought)}{buy.removeprefix(', buy')}"
        return (
            f"{name}: begin to hatch brine shrimp: set a {litres(bottle.litres, room.units)} bottle"
            f" in {in_units(bath_words(room), room.units)}{weighed} by"
            f" {when(step.begin_by, room.units)}{best}{got}"
        )
    return f"{name}: set {step.subject}{weighed} by {when(step.begin_by, room.units)}{best}{tin}"


def _until(step: Step, now: datetime, units: str, then: str = "") -> str:
    """When a culture ends, where that is while the brood lives on it."""
    if step.until is None:
        return ""
    return f", until about {spoken_day(step.until, now, units)}{then}"


def _besides(room: Room, step: Step) -> Iterator[str]:
    if step.food not in (BRINE_SHRIMP, INFUSORIA) and step.wanted_j > 0.0:
        yield f"{measured(room, step.food, step.wanted_j)} a round at first"
    if step.takes < DOES_FROM:
        yield f"which {step.takes:.0%} of them can take at first"


def _verdict(room: Room, found: Readiness, now: datetime) -> str:
    """Whether a food will be there in time, and whether there is enough of it."""
    ready = [food_name(step.food) for step in found.steps if step.does()]
    if not ready:
        last = spoken_day(found.first, now, room.units)
        return wrapped(f"TOO LATE: nothing that most of them can eat will be ripe by {last}.")
    if found.fed is None:
        return "This far ahead only the dates are worked out, not whether the cultures give enough."
    said = ", if what is listed above is started in time and hatches are set"
    told = (wrapped(verdict(found.fed, room, said)), planned_words(found.planned, found.unlikely))
    return "\n".join(filter(None, told))


def _instead(found: Readiness, now: datetime, units: str) -> Iterator[str]:
    """Another date, another first food, fewer fry; nothing where all is well."""
    fed, does = found.fed, [step for step in found.steps if step.does()]
    late = [s for s in found.steps if s.kept and s.too_late and s.takes >= DOES_FROM]
    enough = fed is None or fed.well_fed
    if does and enough and not late:
        return
    on, then = found.spawn_from(), "there is food in time"
    if does and fed is not None and not enough:
        on, then = fed.from_day, "all are fed in full"
    if on is not None and on > found.brood.anchor_date:
        yield f"another date: if they spawn on {spoken_day(on, now, units)}, {then}"
    if late and does:
        foods = ", ".join(food_name(step.food) for step in does)
        yield f"another first food: {foods}"
    yield from map(_with_begun, found.begun)
    helped = any(begun.fed.well_fed for begun in found.begun)
    if does and fed is not None and not enough and not helped:
        if fed.carried.largest:
            yield f"fewer fry: {number(fed.carried.largest)} would be fed in full"
        else:
            yield "fewer fry: as the room stands not even a few would be fed in full"


def _with_begun(begun: Begun) -> str:
    """What comes of it where more is begun than the room has."""
    fed, count = begun.fed, number(begun.fed.wanted)
    if fed.fed:
        comes = f"all {count} would be fed in full"
    elif fed.carried.other is not None:
        comes = f"{fed.carried.other} would go short because of them"
    elif fed.nearly_fed:
        comes = f"all {count} would be fed, but for {percent(fed.missing)}"
    else:
        comes = f"{percent(fed.missing)} of their need would still be missing"
    names = listed([food_name(food) for food in begun.foods])
    return f"{names}, begun as said above: {comes}"


def _cautions(room: Room, steps: Iterable[Step]) -> list[str]:
    """What to mind with all that is to be begun, each once."""
    begun = (step.food for step in steps if step.how in ("split", "start", "hatch"))
    kinds = [room.hatch_kind if food == BRINE_SHRIMP else room.kinds[food] for food in begun]
    return list(dict.fromkeys(text for kind in kinds for text in kind.cautions))


def _prepare(room: Room, found: Readiness, now: datetime) -> str:
    """How to have the plan prepare for it."""
    brood = found.brood
    known = {tank.name for tank in room.tanks}
    here = [b for b in room.broods if is_that(b, brood)]
    if here:
        said = f"{listed([b.name for b in here])} in {brood.tank} spawned that day, and the plan"
        if any(b.count == brood.count for b in here):
            return wrapped(f"{said} feeds them already: what is said here is of them.")
        more = f"{number(brood.count)} fry more"
        return wrapped(f"{said} knows of them already: what is said here is of {more}.")
    if brood.tank not in known or brood.anchor_date < now.date():
        return ""
    return wrapped(
        f"To have the plan prepare for it: livefood journal planned NAME --on {brood.anchor_date}"
        f" --tank {shlex.quote(brood.tank)} --class {brood.fry_class.name}"
        f" --count {brood.count:.0f}"
    )
