"""The screen of ``livefood today``: this round in the order of doing, then what to set going."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from cli.text import columns, food_name, grams, litres, number, spoons, wrapped
from cli.text import when as when_text
from cultures.planning.plan import Outlook
from cultures.planning.tasks import FeedLine, Plan, Shortfall, Task

#: A round is still "this round" for so long after its time.
_LATE = timedelta(hours=2)
_TIME = 9


def this_round(outlook: Outlook, *, skip: int = 0) -> datetime | None:
    """The time of the round to do now (or the next after it), None past the horizon."""
    times = [r.at for r in outlook.feedings if r.at >= outlook.now - _LATE]
    return times[skip] if skip < len(times) else None


def screen(
    outlook: Outlook, plan: Plan, tasks: Sequence[Task], *, rounds: Sequence[datetime],
    tank: str | None = None,
) -> str:  # fmt: skip
    """The whole screen.

    Args:
        tasks: all tasks of the outlook, past ones of today among them.
        rounds: the rounds to show. tank: show the lines of one tank only.
    """
    units = outlook.room.units
    parts = [f"{outlook.room.name}, {when_text(outlook.now)}"]
    for at in rounds:
        parts.append(_round_block(outlook, tasks, at, tank=tank, units=units))
    if not rounds:
        parts.append("No round lies ahead.")
    until = (rounds[-1] if rounds else outlook.now) + timedelta(hours=14)
    parts.append(_going_block(tasks, outlook.now, until, units))
    parts.append(_warnings(plan.shortfalls, plan.notes, outlook.now))
    return "\n\n".join(part for part in parts if part)


def _round_block(
    outlook: Outlook, tasks: Sequence[Task], at: datetime, *, tank: str | None, units: str
) -> str:
    feeding = next(r for r in outlook.feedings if r.at == at)
    title = f"ROUND OF {when_text(at).upper()}"
    if not feeding.fed:
        return f"{title}\n  Nobody is there to feed."
    lines = [
        line
        for line in outlook.lines[feeding.index]
        if line.amount > 0 and tank in (None, line.tank)
    ]
    if not lines:
        return f"{title}\n  Nothing eats yet{f' in {tank}' if tank else ''}."
    steps = _steps(outlook, tasks, at, feeding.index, units)
    return "\n".join([title, *steps, "", feed_table(lines)])


def _steps(
    outlook: Outlook, tasks: Sequence[Task], at: datetime, index: int, units: str
) -> list[str]:
    """What comes before the first tank, with clock times counted back from the round."""
    steps: list[tuple[datetime, str]] = []
    for task in tasks:
        if task.what == "first_food" and task.at == at:
            steps.append((at, f"{task.subject} in {task.other}: first food today. {task.why}"))
        elif task.what == "soak" and task.until == at:
            steps.append(
                (task.at, f"soak {grams(task.amounts['dry_g'])} of dry food"
                          f" ({spoons(task.amounts['spoons'])} level)")
            )  # fmt: skip
        elif task.what == "harvest_hatch" and task.until == at:
            steps.append(
                (task.at, f"{task.subject}: air off, let it settle 10 min with a light at the base;"
                          f" draw off the nauplii below the shells, rinse in fresh water"
                          f" (about {number(task.amounts['nauplii'], 2)}). {task.why}")
            )  # fmt: skip
        elif task.what == "harvest_worms" and task.at == at:
            steps.append((at, _worm_step(task)))
    steps += [(at, text) for text in _cup_steps(outlook, index)]
    return [
        wrapped(text, _TIME, f"  {moment:%H:%M}")
        for moment, text in sorted(steps, key=lambda s: s[0])
    ]


def _worm_step(task: Task) -> str:
    if "swipes" in task.amounts:
        return f"{task.subject}: take {number(task.amounts['swipes'])} swipes off the wall"
    return f"{task.subject}: take {number(task.amounts['draws'], 2)} draws of 10 mL and rinse them well"


def _cup_steps(outlook: Outlook, index: int) -> Iterable[str]:
    portions = outlook.feeding.hatches.portions[index]
    for (at_index, food), cup in sorted(outlook.cups.items()):
        if at_index != index:
            continue
        made_up = f"make up to {number(cup.volume_ml)} mL"
        if food != "brine_shrimp":
            yield f"{food_name(food)}s in a cup: {made_up}"
            continue
        taken = []
        for portion in portions:
            batch = outlook.feeding.hatches.batches[portion.batch]
            share = portion.nauplii / max(1.0, batch.nauplii)
            taken.append(
                f"{share:.0%} of the harvest of {when_text(outlook.room.at_hour(batch.harvest_h))}"
            )
        yield f"nauplii in a cup: {' and '.join(taken)}; {made_up}"


def feed_table(lines: Sequence[FeedLine]) -> str:
    """Tank by tank, in the order of the room, one column for each food."""
    foods = [
        f for f in ("vinegar_eel", "microworm", "brine_shrimp") if any(x.food == f for x in lines)
    ]
    foods += sorted({x.food for x in lines} - {*foods, "dry"})
    foods += ["dry"] if any(x.food == "dry" for x in lines) else []
    rows = [["tank", "brood", *(food_name(f) for f in foods)]]
    for key in dict.fromkeys((x.tank, x.brood) for x in lines):
        cells = {x.food: f"{x.amount:g} {x.unit}" for x in lines if (x.tank, x.brood) == key}
        rows.append([*key, *(cells.get(food, "-") for food in foods)])
    return columns(rows, right=range(2, 2 + len(foods)))


def _going_block(tasks: Sequence[Task], now: datetime, until: datetime, units: str) -> str:
    whats = ("set_hatch", "split", "start", "retire", "buy", "count", "sort", "lid", "move_on")
    chosen = [t for t in tasks if t.what in whats and t.until >= now and t.at < until]
    if not chosen:
        return "TO SET GOING\n  Nothing until the next round."
    out = ["TO SET GOING"]
    cautions: list[str] = []
    for task in chosen:
        day = "" if task.at.date() == now.date() else f"{task.at:%a} "
        out.append(wrapped(f"{day}{task_text(task, units)}", _TIME, f"  {task.at:%H:%M}"))
        out.append(wrapped(task.why, _TIME))
        if task.caution and task.what in ("set_hatch", "split", "start", "retire"):
            cautions.append(task.caution)
    out += [wrapped(f"Take care: {text}", 2, "  ") for text in dict.fromkeys(cautions)]
    return "\n".join(out)


def task_text(task: Task, units: str = "metric") -> str:
    """One task in one plain line."""
    a = task.amounts
    if task.what == "set_hatch":
        return (
            f"set {task.subject}: {grams(a['cysts_g'], units)} of cysts ({spoons(a['spoons'])} level),"
            f" {litres(a['water_l'], units)} of water, {grams(a['salt_g'], units)} of salt"
        )
    if task.what == "harvest_hatch":
        return f"harvest {task.subject}: about {number(a['nauplii'], 2)} nauplii"
    if task.what == "split":
        return (
            f"split {task.subject}: {grams(a['starter_g'], units)} of it onto"
            f" {grams(a['medium_g'], units)} of new medium, label it {task.other}"
        )
    if task.what == "start":
        return (
            f"start {task.other} from a bought starter on {grams(a['medium_g'], units)} of medium"
        )
    if task.what == "retire":
        return f"retire {task.subject}"
    if task.what == "harvest_worms":
        return _worm_step(task)
    if task.what == "soak":
        return f"soak {grams(a['dry_g'], units)} of dry food"
    if task.what == "feed":
        return f"feed the {task.subject} ({number(a['tanks'])} tanks)"
    if task.what == "first_food":
        return f"first food for {task.subject} in {task.other}"
    if task.what == "buy":
        return (
            f"buy {task.subject}: {grams(a['cysts_g'], units)}"
            if "cysts_g" in a
            else f"buy {task.subject}"
        )
    return f"{task.what.replace('_', ' ')} {task.subject}"


def shortfall_text(shortfall: Shortfall) -> list[str]:
    """A shortfall in lines: what, why, and what still helps."""
    food = "food" if shortfall.food == "any" else food_name(shortfall.food)
    span = when_text(shortfall.at)
    if shortfall.rounds > 1:
        span += f" to {when_text(shortfall.until)}, {shortfall.rounds} rounds"
    share = shortfall.short_j / shortfall.need_j if shortfall.need_j else 1.0
    lines = [
        wrapped(f"{food} short in {', '.join(shortfall.tanks)}, {span}"
                f" ({min(share, 1.0):.0%} of the need): {shortfall.cause}.", 4, "  - ")
    ]  # fmt: skip
    lines += [
        wrapped(f"by {when_text(r.by)}: {r.what} (covers {number(r.effect_j)} of"
                f" {number(shortfall.short_j)} J)", 8, "      > ")
        for r in shortfall.remedies
    ]  # fmt: skip
    if not shortfall.remedies:
        lines.append("      > nothing that was tried still helps in time")
    return lines


def _warnings(shortfalls: Sequence[Shortfall], notes: Sequence[str], now: datetime) -> str:
    out: list[str] = []
    soon = [r for s in shortfalls for r in s.remedies if r.by <= now + timedelta(days=2)]
    if shortfalls:
        out.append("ACT NOW" if soon else "LOOK OUT")
        for shortfall in shortfalls[:4]:
            out += shortfall_text(shortfall)
        if len(shortfalls) > 4:
            out.append(f"  and {len(shortfalls) - 4} more: see 'livefood shortfalls'")
    if notes:
        out += ["" if shortfalls else "NOTES"] if not shortfalls else ["", "NOTES"]
        out += [wrapped(note, 4, "  - ") for note in notes]
    return "\n".join(out)
