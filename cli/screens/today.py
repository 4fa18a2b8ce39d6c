"""The screen of ``livefood today``: what is urgent, the round, what to set going, what can wait."""

from __future__ import annotations

import re
import shlex
from collections.abc import Container, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from textwrap import shorten

from attrs import evolve

from cli.screens.advice import other_advice
from cli.screens.care import MARK, Practice, cautions_of
from cli.screens.entry import amount_text, besides, not_as_told, number_words
from cli.screens.feeding import bare_words, first_meals, lost_words, overtaken_words, walk
from cli.screens.orders import orders_list
from cli.screens.remarks import (
    new_remarks,
    pressing,
    pressing_stops,
    remarks_lines,
    short_notes,
    to_buy_now,
    waiting,
)
from cli.screens.salt_and_jars import all_steps, jars_left
from cli.screens.shortfalls import (
    by_words,
    enough_until,
    hatchery_care,
    remedy_words,
    split_by_haste,
    starter_text,
    urgent_steps,
)
from cli.screens.shown import A_FEW_A_DAY, harvests_ahead, other_day, shown_tasks
from cli.screens.signs import signs
from cli.screens.stale import by_paper, is_calendar, stale_text, stale_words
from cli.screens.text import block, bullets, joined, screen_width, time_width, timed, wrapped
from cultures.journal.events import gave_nothing
from cultures.planning.leaving import Absence, Spoilt, Unfed
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.planning.preparation import Step
from cultures.planning.telling import Stale
from cultures.record.since import Since
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import (
    OF_ROUND,
    Arrival,
    Buy,
    Count,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    SetHatch,
    Split,
    Start,
    SwitchFood,
    Task,
    stamp,
)
from cultures.tasks.told import FeedLine, ToldTask
from cultures.words.grouped import (
    alike,
    group_text,
    harvests_text,
    names,
    recipe_of,
    together,
    without_recipe,
)
from cultures.words.moments import clock_text, day_text, when, year_text
from cultures.words.quantities import food_words, in_units, many, number
from cultures.words.tasks import (
    Words,
    brief_text,
    for_spawns,
    left_out,
    plain,
    stood,
    task_phrase,
    why_text,
    worms_method,
)
from cultures.words.text import capital, listed
from cultures.words.tools import Tools

#: Most tasks that are asked about.
_MOST_ASKED = 8
#: Tasks that are done at the time of a round even so.
_AT_ROUND = (*OF_ROUND, SetHatch, Buy, Arrival, SwitchFood)
#: More than so many later ones of a week are said.
_MOST_LATER, _WEEK = 4, timedelta(days=7)
#: Of a note on a culture so much stands at its step.
_MOST_SAID = 40
#: After a tank of which something was noted.
_NOTED = " +"
_BY_PAPER = "So it would be best; the helper does what the sheet says."
_CAUTIONS = "  ! Cautions: livefood today --cautions"
_ALL_CAUTIONS = " (all: livefood today --cautions)"


def screen(
    outlook: Outlook, plan: Plan, *, rounds: Sequence[datetime], practice: Practice,
    why: bool = False, tank: str | None = None, asked: Sequence[ToldTask] = (),
    numbers: Mapping[str, int] | None = None, before: Absence | None = None,
    sheets: Sequence[Stale] = (), since: Since | None = None,
    just_asked: Sequence[ToldTask] = (),
) -> str:  # fmt: skip
    """The whole screen.

    Args:
        rounds: the rounds to show. practice: what was done before; the rest is told with its
            cautions and its way of doing. why: give all reasons. tank: show the lines of one tank
            only. asked: what is taken as done because it was told; numbers: of all that 'journal
            due' lists, by id. before: an absence that begins soon. sheets: printed ones that no
            longer hold. since: what happened since advice was told. just_asked: what was asked
            about on a look before.
    """
    units, tasks = outlook.room.units, tasks_of(outlook)
    shown = shown_tasks(outlook, rounds)
    urgent, later = split_by_haste(
        plan.shortfalls, outlook.now, units, why=why, a_round_j=outlook.round_j()
    )
    remarks = new_remarks(plan, outlook)
    to_buy = to_buy_now(plan, outlook, remarks, why=why)
    urgent += bullets(in_units(text, units) for text in to_buy)
    other = other_advice(plan, outlook, since)
    steps = urgent_steps(plan.shortfalls, outlook.now, None if why else outlook.round_j())
    if starter := starter_text(steps, outlook.room):
        (urgent or later).append(wrapped(starter, 2, "  "))
    if other:
        (urgent or later).extend(bullets([other]))
    urgent_first = bullets(in_units(text, units) for text in pressing(outlook))
    parts = [_title(outlook), block("ACT NOW", [*urgent_first, *urgent])]
    parts += [stale_text(sheet, outlook) for sheet in sheets if not is_calendar(sheet)]
    parts += [leaving(before, outlook.room.tools, shown) if before else ""]
    parts += [_questions(asked, outlook, numbers or {}), _asked_before(just_asked, outlook)]
    parts += _noted_rounds(outlook, rounds)
    parts += [_round_block(outlook, at, practice, why=why, tank=tank) for at in rounds]
    if by_paper(sheets, outlook).intersection(rounds):
        parts[-1] += f"\n{wrapped(_BY_PAPER, 4, '  ')}"
    if tank is None and rounds:
        left = jars_left(outlook, rounds[-1])
        parts[-1] += "".join(f"\n{wrapped(text, 4, '  ')}" for text in left)
    if not rounds:
        parts.append("No round lies ahead.")
    going = [t for t in shown if not isinstance(t, OF_ROUND)]
    here = [t for t in shown if t in going or t.at in rounds or t.until in rounds]
    full, hidden = _cautions(here, practice)
    if not why:  # which says it with the advice
        full += bullets(hatchery_care(plan.shortfalls, outlook.round_j()), "  ! ")
    bought = {stop.item for stop in pressing_stops(remarks, outlook.now)}
    once = going if why or before else _not_yet_said(going, bought)
    parts.append(_going_block(once, outlook, rounds, practice, why=why))
    parts.append(block(f"TAKE CARE{_ALL_CAUTIONS if hidden else ''}", full))
    if hidden and not full:
        parts[-2] += f"\n{_CAUTIONS}"
    certain = [s for s in plan.shortfalls if s.certain]
    if all(s.passes for s in certain):
        enough = enough_until(
            plan.end, units, plan.stops, missed=bool(certain), doubted=plan.doubted
        )
        later.append(wrapped(enough, 4, "  - "))
    rest = waiting(remarks, outlook.now, going)
    notes = [note.text for note in rest] if why else short_notes(rest, units)
    parts.append(block("CAN WAIT", [
        *bullets(harvests_ahead(tasks, rounds, outlook)), *later,
        *bullets(stale_words(sheet, outlook) for sheet in sheets if is_calendar(sheet)),
        *bullets(f"on order: {text}" for text in orders_list(outlook.room, asked=False)),
        *bullets(in_units(note, units) for note in notes),
        *remarks_lines(outlook.room, outlook.now, every=why),
    ]))  # fmt: skip
    return joined(parts)


def leaving(absence: Absence, tools: Tools, below: Sequence[Task] = ()) -> str:
    """What is still to be done before days away, and for whom, under its head."""
    head, texts = leaving_lines(absence, tools, below)
    return block(wrapped(f"BEFORE YOU LEAVE ({head})"), bullets(texts))


def leaving_lines(
    absence: Absence, tools: Tools, below: Sequence[Task] = ()
) -> tuple[str, list[str]]:
    """The days away and who feeds then, and what is still to be done before.

    A hatch to be drawn off stands here until it is, wherever else it is a step: the jar that a
    helper feeds from hangs on it.

    Args:
        below: tasks that stand on the screen anyhow, those of its rounds among them.
    """
    away = absence.away
    who = "nobody feeds" if absence.helper is None else "a helper feeds"
    if absence.helper not in (None, away):
        who += f" {absence.helper.text(tools.units)}"
    if absence.helper is not None and absence.helper.foods:
        who += f" {listed([food_words(food) for food in absence.helper.foods])} alone"
    going = {t.id for t in below if not isinstance(t, OF_ROUND)}
    left = [t for t in absence.tasks if t.id not in going]
    groups = together(left, lambda t: alike(t, ""))
    texts = [f"{when(group[0].at, tools.units)}: {group_text(group, tools)}" for group in groups]
    if any(t.id in going for t in absence.tasks):
        texts.append(f"{'and ' if left else ''}what stands under TO SET GOING")
    texts += [spoilt_text(each, cold=absence.cold, units=tools.units) for each in absence.spoilt]
    if not texts and not away.in_part:
        texts = ["nothing more is to be set, split or bought"]
    if absence.envelopes:
        filled = many(absence.envelopes, "envelope")
        texts.append(f"fill {filled} of dry food, as the last page of the helper's sheet says")
    if absence.dry_out is not None:
        since = when(absence.dry_out, tools.units)
        texts.append(f"there is too little dry food to pack from {since} on: get more first")
    texts += [_unfed_text(unfed, tools.units) for unfed in absence.unfed]
    if absence.helper is not None:
        texts.append("the helper's sheet: livefood sheet --helper --out helper.html")
    texts += [f"the calendar: livefood {command}" for command in absence.calendars]
    return f"{away.text(tools.units)}, {who}", texts


def spoilt_text(spoilt: Spoilt, *, cold: bool, units: str) -> str:
    """What becomes of a hatch that nobody draws off while away, and what to do with it.

    Args:
        cold: there is a fridge for a jar.
    """
    hour = spoilt.ripe.replace(minute=0, second=0, microsecond=0)
    text = (
        f"{spoilt.vessel} is ripe about {when(hour, units)}, while nobody draws it off, and no food"
        " any more once you are back: pour it out before you leave, pump and heater unplugged"
        " first, and wash it"
    )
    if cold and spoilt.out:
        text += "; or draw it off before, into a jar in the fridge"
    elif cold:
        text += "; or have somebody draw it off by then, into a jar in the fridge"
    return text


def _unfed_text(unfed: Unfed, units: str) -> str:
    """Who gets nothing though somebody feeds, and what still helps before leaving."""
    first, last = when(unfed.first, units), when(unfed.last, units)
    span = f"from {first} to {last}" if unfed.last > unfed.first else f"on {first}"
    helps = [f"{by_words(r, units)}: {remedy_words(r, units)}" for r in unfed.helps]
    said = "; ".join(helps) or "nothing that was tried helps before you leave"
    return f"nothing, or hardly anything, for {names(unfed.tanks)} {span}; {said}"


def _title(outlook: Outlook) -> str:
    units = outlook.room.units
    moment = f"{year_text(outlook.now, units)}, {clock_text(outlook.now, units)}"
    name = outlook.room.name[: screen_width() - len(moment) - 2]
    return f"{name}{moment:>{screen_width() - len(name)}}"


def _questions(asked: Sequence[ToldTask], outlook: Outlook, numbers: Mapping[str, int]) -> str:
    """What was told, is over and is not noted: taken as done, asked about once."""
    if not asked:
        return ""
    parts, shown = [], 0
    for title, away in (
        ("TAKEN AS DONE, unless you say otherwise", False),
        ("WHILE YOU WERE AWAY, taken as done", True),
    ):  # fmt: skip
        mine = [
            t for t in asked
            if (outlook.room.away_at(t.due_at) is not None) == away
        ][: _MOST_ASKED - shown]  # fmt: skip
        shown += len(mine)
        parts.append(block(title, [_question(numbers[t.task.id], t, outlook) for t in mine]))
    if len(asked) > shown:
        parts.append(f"      and {len(asked) - shown} more: livefood journal due")
    typed = number_words(outlook.room, numbers.values())
    hint = f"Right: livefood journal done. Not done: livefood journal skip {typed}."
    shown_as = [numbers[t.task.id] for t in asked]
    others = {*numbers.values()}.difference(shown_as)
    if any(min(shown_as) < n < max(shown_as) for n in others):
        hint += " What the numbers between are: livefood journal due."
    return "\n".join(part for part in (*parts, wrapped(hint, 2, "  ")) if part)


def _asked_before(told: Sequence[ToldTask], outlook: Outlook) -> str:
    """That what was asked about on the look before is taken as done, and how that is answered."""
    if not told:
        return ""
    units, moments = outlook.room.units, dict.fromkeys(t.due_at for t in told)
    of = listed([when(at, units) for at in moments])
    verb = "is" if len(told) == 1 else "are"
    tasks = f"{many(len(told), 'task')} of {of}"
    return wrapped(f"{tasks} {verb} taken as done: livefood journal due", 2, "  ")


def _question(number_: int, told: ToldTask, outlook: Outlook) -> str:
    """One task that is taken as done, with its number in 'journal due'."""
    task = told.task
    units = outlook.room.units
    today = task.at.date() == outlook.now.date()
    at = clock_text(task.at, units) if today else when(task.at, units)
    noted = besides(outlook.room, task.id)
    text = f"{at}  {brief_text(task, outlook.room.tools)}{noted}"
    return wrapped(text, 6, f"  {number_:>2}")


def _noted_rounds(outlook: Outlook, rounds: Sequence[datetime]) -> list[str]:
    """The rounds before those of the screen of which all is noted, each once."""
    lines, units = [], outlook.room.units
    for at in dict.fromkeys(outlook.round_times()):
        clock = clock_text(at, units)
        if at in outlook.room.unfed:
            day = "" if at.date() == outlook.now.date() else f", {day_text(at, units)}"
            shown = at not in rounds and at <= max(rounds, default=at)
            lines += [f"ROUND {clock}{day}: it is noted that nobody feeds"] if shown else []
        elif outlook.is_noted(at):
            lines.append(f"ROUND {clock}: over, and noted")
    return lines


def _round_block(
    outlook: Outlook, at: datetime, practice: Practice, *, why: bool, tank: str | None
) -> str:
    units = outlook.room.units
    title = wrapped(f"ROUND {clock_text(at, units)}, {from_now(at, outlook.now, units)}")
    feeding = next((r for r in outlook.feedings if r.at == at), None)
    if feeding is not None and not feeding.fed:
        return f"{title}\n  Nobody is there to feed."
    every = [x for time, row in outlook.rows() if time == at for x in row if tank in (None, x.tank)]
    gone = lost_words(outlook, at)
    failed = failed_hatches(outlook, at, every)
    bare = "" if failed else bare_words(outlook, at, tank)
    gone += failed
    gone += overtaken_words(outlook, at, tank)
    lines, skipped = [x for x in every if x.amount > 0], left_out(every)
    steps = _steps(outlook, all_steps(outlook, tasks_of(outlook), at), practice, why=why)
    steps += [wrapped(text, time_width(units), "  !") for text in gone]
    skips = [wrapped(skipped, 4, "  ")] if skipped else []
    if not lines:
        steps = [] if tank else steps
        empty = all(brood.tank != tank for brood in outlook.room.broods)
        said = "There are no fry" if tank and empty else "Nothing eats yet"
        said = "Nothing is given" if skips else said
        ahead = "" if bare or skips else first_meals(outlook, tank)
        said = capital(bare) if bare else f"{said}{f' in {tank}' if tank else ''}"
        text = f"{said}. {ahead}".rstrip()
        return "\n".join([title, wrapped(text, 2, "  "), *steps, *skips])
    steps += [wrapped(bare, time_width(units), "  !")] if bare else []
    table = walk(_marked(outlook, at, lines), outlook.room.tools, total=tank is None)
    sure = [wrapped(_how_sure(outlook.room, at, tank), 4, "    ")] if why else []
    return "\n".join([title, *steps, table, *skips, *sure, *_said_of_tanks(outlook, at)])


def failed_hatches(outlook: Outlook, at: datetime, row: Sequence[FeedLine]) -> list[str]:
    """The hatches of a round that failed or gave few, and who goes without food for it."""
    few = [
        (outlook.room.answered[key], told) for key, told in outlook.room.few_hatched.items()
        if key.startswith(f"harvest_hatch/{stamp(at)}/")
    ]  # fmt: skip
    failed = [entry.subject for entry, _ in few if gave_nothing(entry)]
    said = [f"no nauplii from {listed(failed)}, which failed"] if failed else []
    said += [
        f"only {amount_text(entry, outlook.room)} from {entry.subject}, where about"
        f" {number(told, 2)} were planned"
        for entry, told in few if not gave_nothing(entry)
    ]  # fmt: skip
    fed = {line.brood for line in row if line.amount > 0}
    without = dict.fromkeys(f"{x.brood} in {x.tank}" for x in row if x.brood not in fed)
    if said and without:
        said[-1] += f"; there is nothing for {listed([*without])} at this round"
    return said


def _how_sure(room: Room, at: datetime, tank: str | None) -> str:
    """What the broods of a round really need, over what is planned."""
    from cli.screens.need import sure_text
    from cultures.needs.need import room_needs, rounds_between
    from cultures.planning.unknowns import need_ranges

    rounds = rounds_between(room, at, at + timedelta(seconds=1))
    (needs,) = room_needs(room, rounds)
    ends = need_ranges(room, rounds, [needs])
    shown = (need.brood for need in needs if tank in (None, need.brood.tank))
    return sure_text({brood.name: ends[0, brood.name] for brood in shown})


def _steps(outlook: Outlook, steps: Sequence[Step], practice: Practice, *, why: bool) -> list[str]:
    """The steps of a round, those told as one that are alike; each has its reasons on request."""
    units, lines = outlook.room.units, []
    for group in together(steps, lambda step: _alike_steps(step, practice)):
        mine = [step.task for step in group if step.task is not None]
        text = _step_text(group, outlook.room, practice)
        mark = MARK if any(task.caution for task in mine) else ""
        lines.append(timed(f"{text}{mark}", group[0].at, units))
        seen = _signs([task.subject for task in mine], outlook.room, practice)
        lines += [wrapped(each, time_width(units)) for each in seen if each]
        if why:
            lines += _reasons([task for task in mine if why_text(task, units) not in text], units)
            late = (_if_later(task) for task in mine if isinstance(task, FirstFood))
            lines += [wrapped(each, time_width(units)) for each in late if each]
    return lines


def _if_later(task: FirstFood) -> str:
    """How it is noted that fry do not swim yet; "" of those that are to come."""
    if task.spawns:
        return ""
    return f"Not swimming yet: livefood journal not_swimming {shlex.quote(task.subject)}"


def _signs(subjects: Sequence[str], room: Room, practice: Practice) -> Iterator[str]:
    """What to look for at cultures of which something bad was noted."""
    for culture in room.cultures:
        if culture.name in subjects and (noted := practice.fresh.get(culture.name, "")):
            yield signs(culture, noted)


def _alike_steps(step: Step, practice: Practice) -> tuple[object, ...]:
    """What steps have in common that are told as one: worms of one kind go into one cup."""
    if isinstance(step.task, HarvestWorms):
        return step.at, practice.of(step.task), plain(worms_method(step.task))
    if step.task is None and isinstance(step.text[0], Words):
        return step.at, plain(step.text[1:])
    return (id(step),)


def _step_text(group: Sequence[Step], room: Room, practice: Practice) -> str:
    first = group[0].task
    if first is None:
        if len(group) == 1:
            return plain(group[0].text)
        return names([plain(s.text[:1]) for s in group]) + plain(group[0].text[1:])
    full = practice.in_full(first)
    if isinstance(first, HarvestWorms):
        worms = [step.task for step in group if isinstance(step.task, HarvestWorms)]
        told = harvests_text(
            worms, room.tools, lambda task: _answer(room, task) or _remark(practice, task)
        )
        return told + plain(worms_method(first, brief=not full))
    said = _answer(room, first)
    if isinstance(first, FirstFood):
        hoped = f", {for_spawns(first)}" if first.spawns else ""
        return f"{said}first food today for {first.subject} in {first.other}{hoped}"
    counted = said.startswith("(noted: ")  # which says how many there are
    if isinstance(first, HarvestHatch) and (counted or not full):
        if not first.fed_nauplii:
            return f"{said}{first.subject}: {why_text(first, room.units)}"
        jar = ", into its jar" if first.jar_ml is not None else ""
        about = "the" if counted else f"about {number(first.nauplii, 2)}"
        drawn = f"draw off {about} nauplii{plain(stood(first))}, sieve, rinse{jar}"
        return f"{said}{first.subject}: {drawn}"
    return said + plain(group[0].text)


def _marked(outlook: Outlook, at: datetime, lines: Sequence[FeedLine]) -> list[FeedLine]:
    """The lines of a round; a tank of which something was noted has a mark after its name."""
    told = outlook.told_round(at)
    noted = outlook.room.fed_tanks.get(told.task.id, {}) if told is not None else {}
    return [evolve(x, tank=f"{x.tank}{_NOTED}") if x.tank in noted else x for x in lines]


def _said_of_tanks(outlook: Outlook, at: datetime) -> list[str]:
    """What was noted of single tanks of a round in hand."""
    told = outlook.told_round(at)
    text = besides(outlook.room, told.task.id) if told is not None else ""
    return [wrapped(text.removeprefix(". "), 4, f" {_NOTED}")] if text else []


def _answer(room: Room, task: Task) -> str:
    """What was noted of a task in hand, in brackets."""
    entry = room.answered.get(task.id)
    if entry is None:
        return ""
    if failed := not_as_told(entry):
        return f"({failed}) "
    if entry.amount is None or entry.event == "fed":
        return "(noted) "
    shown = amount_text(entry, room)
    as_told = re.search(rf"(?<![\d,.] ){re.escape(shown)}", plain(task_phrase(task, room.tools)))
    return "(noted) " if as_told and entry.event != "hatched" else f"(noted: {shown}) "


def _remark(practice: Practice, task: Task) -> str:
    """The beginning of what was noted of a culture, in brackets."""
    text = practice.fresh.get(task.subject, "")
    return f"(you noted: {shorten(text, _MOST_SAID, placeholder=' …')}) " if text else ""


def from_now(at: datetime, now: datetime, units: str) -> str:
    """How long it is until a moment, or since."""
    minutes = round((at - now).total_seconds() / 60)
    if abs(minutes) < 2:
        return "now"
    if minutes < 0:
        return f"{_span(-minutes)} ago"
    soon = f"in {_span(minutes)}"
    return soon if at.date() == now.date() else f"{day_text(at, units)}, {soon}"


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def _not_yet_said(going: Sequence[Task], bought: Container[str]) -> Sequence[Task]:
    """What is to be set going without the purchases that ACT NOW says, beside anything else."""
    left = [t for t in going if not (isinstance(t, Buy) and t.item in bought)]
    return left or going


def _going_block(
    tasks: Sequence[Task], outlook: Outlook, rounds: Sequence[datetime], practice: Practice, *,
    why: bool,
) -> str:  # fmt: skip
    """What is to be set going."""
    units, lines = outlook.room.units, []
    indent = time_width(units)
    for group in together(tasks, lambda task: alike(task, practice.of(task))):
        first = group[0]
        day = other_day(first, outlook.now).strip()
        text = f"{day and f'on {day}, '}{after_round(first, outlook, rounds)}"
        text += group_text(group, outlook.room.tools) + _more_of(first, tasks, outlook)
        recipe = recipe_of(why_text(first, units)) if practice.in_full(first) else ""
        if isinstance(first, SetHatch) and recipe:  # that much fits into its line
            text += f"; {recipe.partition(': ')[2].rstrip('.')}"
        if any(task.caution for task in group):
            text += MARK
        lines.append(timed(text, first.at, units))
        if why or isinstance(first, Arrival):  # which says how to answer
            lines += _reasons(group, units)
        if isinstance(first, Split | Start) and recipe:
            lines.append(wrapped(recipe, indent))
    return block("TO SET GOING", lines or ["  Nothing until the next round."])


def _more_of(task: Task, shown: Sequence[Task], outlook: Outlook) -> str:
    """How many counts or sortings are to follow within the week, where those are many."""
    if not isinstance(task, A_FEW_A_DAY):
        return ""
    mine = [t for t in tasks_of(outlook) if isinstance(t, type(task)) and t not in shown]
    later = sum(t.at < outlook.now + _WEEK for t in mine)
    where = ": livefood plan" if isinstance(task, Count) else ""
    return f" ({later} more this week{where})" if later > _MOST_LATER else ""


def _reasons(tasks: Sequence[Task], units: str) -> list[str]:
    """The reasons of tasks that are told as one, without recipes."""
    several, indent = len(tasks) > 1, time_width(units)
    whys = {t.subject: without_recipe(why_text(t, units)) for t in tasks}
    return [wrapped(f"{name}: {why}" if several else why, indent) for name, why in whys.items()]


def after_round(task: Task, outlook: Outlook, rounds: Sequence[datetime] = ()) -> str:
    """Words before a task that waits until the round at its time, or in hand, is over."""
    fed = task.at in rounds or any(r.fed and r.at == task.at for r in outlook.feedings)
    return "after feeding: " if fed and not isinstance(task, _AT_ROUND) else ""


def _cautions(tasks: Sequence[Task], practice: Practice) -> tuple[list[str], bool]:
    """The cautions of what is done for the first time, and whether there are others."""
    careful = [task for task in tasks if task.caution]
    full = cautions_of(task for task in careful if practice.warned(task))
    hidden = any(task.caution not in " ".join(full) for task in careful)
    return bullets(full, "  ! "), hidden
