"""What falls short, why, and what still helps: in full, and what must be acted on first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from attrs import evolve, frozen

from cli.screens.text import at_most, block, bullets, joined, screen_width, wrapped
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.changes import HATCHERY_CARE
from cultures.planning.gaps import ANY
from cultures.planning.shortfalls import UNMEASURED
from cultures.planning.task_ids import natural
from cultures.room.room import Room
from cultures.tasks.plan import Act, Advice, Certainty, Plan, Remedy, Shortfall, Stop
from cultures.words.moments import day_text, hours, when, year_text
from cultures.words.quantities import food_words, in_units, many, number, percents
from cultures.words.text import capital, listed

_MOST_SHORTFALLS = 4
#: What is to be done within so long is urgent.
SOON = timedelta(days=2)
#: Where `today` says how brine shrimp are hatched.
_HOW = "livefood today --why"
#: Fewer days of growth are not told.
TOLD_BEHIND = 0.5
#: From so many on they are said in whole ones.
_WHOLE_DAY = 0.75
#: Less than this share of what the whole room eats, and of the need of those who go short, is a
#: trifle: some hundred nauplii where a hundred thousand are fed (common practice, no source).
_TRIFLE, _MOST_OF = 0.001, 0.5
#: What covers less than this share of a shortfall helps little (common practice, no source).
_HELPS = 0.5
#: Less than this share of the most that is missing of a food comes after all the rest (common
#: practice, no source).
_LEAST = 0.01
#: So many tanks are counted, not named.
_MANY_TANKS = 4
#: So many missed rounds are named.
_MOST_MISSED = 3


def all_shortfalls(
    shortfalls: Sequence[Shortfall], until: datetime, units: str, *, risk: bool = False,
    stops: Sequence[Stop] = (), doubted: float | None = None,
) -> str:  # fmt: skip
    """What falls short, then what is only thin; says so where nothing falls short. In order of
    time, but what hardly anybody misses comes after the rest, and after foods that nearly stop.

    Args:
        risk: thin margins were looked for, so say it too when there are none.
        stops: foods of which there is hardly any. doubted: as the plan has it.
    """
    certain = [s for s in shortfalls if s.certain]
    most_j = max([s.short_j for s in certain] + [s.need_j - s.given_j for s in stops], default=0.0)
    least = [s for s in certain if _is_least(s, most_j)]
    said = set[str]()
    lasting = [s for s in certain if not s.passes]
    lasting.sort(key=lambda s: s in least)
    short = [line for s in lasting for line in shortfall_text(s, units, said)]
    short += _missed_text([s for s in certain if s.passes], units)
    hoped = [line for s in shortfalls if s.spawns for line in shortfall_text(s, units)]
    thin = [line for s in _thinnest(shortfalls) for line in shortfall_text(s, units)]
    parts = [
        block("SHORTFALLS", short) or wrapped(enough_until(until, units, stops, doubted=doubted)),
        block("IF A PLANNED SPAWN COMES", hoped),
        block("FOODS THAT NEARLY STOP", stops_text(stops, units)),
    ]
    if short and len(least) == len(certain):
        parts = [*parts[2:], *parts[:2]]  # what hardly anybody misses comes last
    parts.append(block("THIN MARGINS", thin))
    if risk and not thin:
        from cultures.planning.risk import DRAWS

        bad = ", in half of them with the tin as bad as its last hatches" if doubted else ""
        parts.append(wrapped(f"No thin margins in {DRAWS} trials{bad}."))
    return joined(parts)


def _is_least(shortfall: Shortfall, most_j: float) -> bool:
    """Whether it is hardly anything beside the most that is missing of a food, and harms nobody."""
    harmless = shortfall.starves_at is None and shortfall.behind_days < TOLD_BEHIND
    return harmless and shortfall.short_j < _LEAST * most_j


def _thinnest(shortfalls: Iterable[Shortfall]) -> Iterator[Shortfall]:
    """The thin spells of each food as one, with what is said of the thinnest and when that is."""
    spells = dict[str, list[Shortfall]]()
    for spell in shortfalls:
        if spell.thin:
            spells.setdefault(spell.food, []).append(spell)
    for first, *more in spells.values():
        yield _as_one([first, *more]) if more else first


def _as_one(spells: Sequence[Shortfall]) -> Shortfall:
    worst = max(spells, key=lambda s: s.probability or 0.0)
    return evolve(
        worst, at=spells[0].at, until=spells[-1].until, rounds=sum(s.rounds for s in spells),
        tanks=tuple(sorted({tank for s in spells for tank in s.tanks}, key=natural)),
        cause=f"{worst.cause}, most of all at that of {when(worst.at)}",
    )  # fmt: skip


def certainty_text(plan: Plan, units: str) -> str:
    """How sure it is what a plan comes to, and where that is told further; "" where unknown."""
    certainty, until = plan.certainty, plan.end
    if certainty is None:
        return ""
    joins = (
        "" if any(s.certain for s in plan.shortfalls) else "by the plan nothing falls short, but "
    )
    return wrapped(
        f"HOW SURE: {joins}{chances_text(certainty, until, units)} What to count to be surer:"
        " livefood learn --first."
    )


def chances_text(certainty: Certainty, until: datetime, units: str) -> str:
    """How much of what they need the broods may come to get, and how much if the plan is right."""
    return (
        "cultures and hatches may give more or less than the plan takes, and fry may eat more or"
        f" less. The chances are 8 in 10 that the broods get {percents(certainty.fed)} of what they"
        f" need until {day_text(until, units)}; if all the plan's numbers were right, they would"
        f" get {percents(certainty.by_luck)}."
    )


def enough_until(
    until: datetime, units: str, stops: Sequence[Stop] = (), *, missed: bool = False,
    doubted: float | None = None,
) -> str:  # fmt: skip
    """That nothing falls short, as far as the plan looks.

    Args:
        stops: foods of which there is hardly any. missed: there are rounds at which nobody feeds.
            doubted: as the plan has it.
    """
    others = ", but for rounds at which nobody feeds" if missed else ""
    return (
        f"Nothing falls short until {year_text(until, units)}, where the plan"
        f" ends{others}{others_instead(stops)}{if_the_tin(doubted)}."
    )


def if_the_tin(doubted: float | None) -> str:
    """That what is enough hangs on a tin in doubt, after it.

    Args:
        doubted: nauplii of a gram that the plan counts on of it; None of a tin that is not.
    """
    if doubted is None:
        return ""
    return f"; that is if the tin of cysts, which is in doubt, gives {number(doubted, 2)} a gram"


def others_instead(stops: Sequence[Stop]) -> str:
    """That others take the place of foods of which there is hardly any, after what is enough."""
    scarce = listed([*dict.fromkeys(food_words(stop.food) for stop in stops)])
    return f": others take the place of {scarce}" if scarce else ""


def split_by_haste(
    shortfalls: Sequence[Shortfall], now: datetime, units: str, *, why: bool,
    a_round_j: float = 0.0,
) -> tuple[list[str], list[str]]:  # fmt: skip
    """What must be acted on within two days, and what can wait: a line each, in the order of haste.

    Args:
        why: each in full, with its cause and all that helps, trifles too. a_round_j: what all
            broods need at a round [J].
    """
    if not why:
        lines = [*haste_lines(shortfalls, a_round_j)]
        soon = [line for line in lines if line.is_urgent(now)]
        return _few(soon, units), _few([line for line in lines if line not in soon], units)
    ordered = sorted(shortfalls, key=lambda s: min(line.by for line in haste_lines([s])))
    hasty = [s for s in ordered if is_urgent(s, now)]
    return (
        [line for s in hasty for line in shortfall_text(s, units)],
        [line for s in ordered if s not in hasty for line in shortfall_text(s, units)],
    )


@frozen
class HasteLine:
    """A shortfall, and one thing to be done about it, or None where nothing helps."""

    shortfall: Shortfall
    step: Remedy | None

    @property
    def by(self) -> datetime:
        """Until when that is to be done; of nothing, when something runs short."""
        return self.shortfall.at if self.step is None else self.step.by

    def is_urgent(self, now: datetime) -> bool:
        """Whether it must be acted on within two days; of nothing that helps, where fry starve."""
        starve = self.shortfall.starves_at is not None
        # Who is to choose between ways to save them sees all while there is the choice.
        by = min(self.by, self.shortfall.act_by) if starve else self.by
        return (starve or self.step is not None) and by <= now + SOON


def haste_lines(
    shortfalls: Iterable[Shortfall], a_round_j: float | None = None
) -> Iterator[HasteLine]:
    """What is to be done, each once: first where fry starve, then by time. What it comes to is said
    of the fry that starve, or else of the first shortfall that it helps against from its start.
    Last what runs short though all that is done, and stands in no line.

    Args:
        a_round_j: what all broods need at a round, beside which trifles are left out [J]; None
            where none are.
    """
    shortfalls = [s for s in shortfalls if a_round_j is None or not is_trifle(s, a_round_j)]
    asked = {step.what for s in shortfalls for step in s.steps}
    every = [HasteLine(s, r) for s in shortfalls for r in s.remedies if r.what in asked]
    every += [HasteLine(s, None) for s in shortfalls if not s.remedies]
    every.sort(key=_haste)
    said, told = set[tuple[object, ...]](), list[Shortfall]()
    for line in every:
        s, step = line.shortfall, line.step
        what = (s.food, s.at, s.tanks) if step is None else (step.what,)
        if what not in said:
            said.add(what)
            told.append(s)
            yield line
    for s in shortfalls:
        helps = (s.covered_by(r) for r in s.remedies if r.what in asked)
        if s.certain and s not in told and max(helps, default=0.0) < _HELPS:
            yield HasteLine(s, None)


def _haste(line: HasteLine) -> tuple[bool, float, int, datetime, bool, bool]:
    """Its place: where fry starve, whatever spawns, by the day of that; then what helps before they
    starve and the rest, each by when it is due. Of what is due at once to begin to hatch comes
    first, since most fry eat nothing better.
    """
    shortfall, step = line.shortfall, line.step
    late = step is not None and step.helps_from is not None
    if shortfall.starves_at is None or not shortfall.certain:
        return True, 0.0, 0, line.by, False, late
    from_at = (step.helps_from if step is not None else None) or shortfall.at
    place = 1 if step is not None and from_at <= shortfall.starves_at else 2
    others = step is None or step.act is not Act.HATCH
    return False, hours(shortfall.starves_at), place, line.by, others, late


def urgent_steps(
    shortfalls: Iterable[Shortfall], now: datetime, a_round_j: float | None = None
) -> list[Remedy]:
    """What is to be done within two days, as the lines of haste say it."""
    lines = haste_lines(shortfalls, a_round_j)
    return [line.step for line in lines if line.step is not None and line.is_urgent(now)]


def hatchery_care(shortfalls: Iterable[Shortfall], a_round_j: float) -> list[str]:
    """What to mind where the lines of haste say that hatching is begun."""
    acts = {line.step.act for line in haste_lines(shortfalls, a_round_j) if line.step is not None}
    return [f"{capital(HATCHERY_CARE)}."] if Act.HATCH in acts else []


def starter_text(told: Iterable[Remedy], room: Room) -> str:
    """In how many days a culture that is got is reckoned to come, where the room does not say.

    Args:
        told: what is told besides; "" where no culture is got by it.
    """
    got = {remedy.act for remedy in told} & {Act.START, Act.RIPE}
    if not got or "starter" in room.fetch_days:
        return ""
    days = many(room.fetched_in("starter").days, "day")
    return (
        f"A starter or culture is reckoned to come {days} after it is ordered. Where it takes"
        " longer, by post say, put starter_days under [supplies] in the room file."
    )


def advice_told(plan: Plan, a_round_j: float) -> tuple[Advice, ...]:
    """What the lines of haste ask to be done, in their order."""
    lines = haste_lines(plan.shortfalls, a_round_j)
    return tuple(line.step.advice for line in lines if line.step is not None)


def is_trifle(shortfall: Shortfall, a_round_j: float) -> bool:
    """Whether too little is missing for a line, beside what all eat; never most of a need but of a
    meal that passes.
    """
    if shortfall.passes:
        return True
    harmless = shortfall.starves_at is None and shortfall.behind_days < TOLD_BEHIND
    little = shortfall.short_j < _TRIFLE * a_round_j * shortfall.rounds
    return harmless and little and shortfall.short_j < _MOST_OF * shortfall.need_j


def is_urgent(shortfall: Shortfall, now: datetime) -> bool:
    """Whether some of it must be acted on within two days; see :class:`HasteLine`."""
    return any(line.is_urgent(now) for line in haste_lines([shortfall]))


def _few(lines: Sequence[HasteLine], units: str) -> list[str]:
    told = [_one_line(line, units) for line in lines]
    return at_most(told, _MOST_SHORTFALLS, "  and {} more of what falls short: livefood shortfalls")


def _one_line(line: HasteLine, units: str) -> str:
    long = haste_text(line, units, how=_HOW)
    fits = line.step is None or len(long) <= screen_width() - 4
    return wrapped(long if fits else haste_text(line, units, tanks=False, how=_HOW), 4, "  - ")


def haste_text(line: HasteLine, units: str, *, tanks: bool = True, how: str = "") -> str:
    """What is to be done by when, and what is short from when.

    Args:
        tanks: say in which, too. how: where it is said how to hatch, instead of saying it.
    """
    shortfall, step = line.shortfall, line.step
    if how and step is not None and step.method is not None:
        step = evolve(step, what=step.method.words(how))
    what = f"{food_words(shortfall.food)} {_how_sure(shortfall)} short"
    dies = ""
    if shortfall.starves_at is not None:
        where = f" in {', '.join(shortfall.starving)}" if shortfall.starving else ""
        dies = f", and the fry{where} starve from {day_text(shortfall.starves_at, units)}"
    starts = f"from {day_text(shortfall.at, units)}"
    if step is None:
        where = in_tanks(shortfall.tanks)
        return f"{starts}: {what} {where}{dies}; {no_help(shortfall, units)}"
    does = f"{by_words(step, units)}: {remedy_words(step, units, _stands_in(step, shortfall))}"
    does += _until_it_helps(step, shortfall)
    return f"{does} {what}{f' {in_tanks(shortfall.tanks)}' if tanks else ''} {starts}{dies}"


def by_words(remedy: Remedy, units: str) -> str:
    """By when, or since when something is to be done."""
    if remedy.still is not None:
        at = day_text if remedy.act is Act.BUY else when  # a purchase is told for a day
        return f"due since {at(remedy.by, units)}"
    return f"by {_until_words(remedy, units)}"


def _until_words(remedy: Remedy, units: str) -> str:
    """Until when, and for when it was told where that is over or another."""
    was = "" if remedy.was is None else f" (told for {when(remedy.was, units)})"
    return f"{when(remedy.by, units)}{was}"


def remedy_words(remedy: Remedy, units: str, more: str = "") -> str:
    """What is to be done, and from when it helps where that is neither from the start nor at once.

    Args:
        more: is said of it before that.
    """
    what = in_units(remedy.what, units)
    if bought := _bought_by(remedy, units):
        what += f" ({bought})"
    what += more
    since = remedy.helps_later
    return what if since is None else f"{what}, which helps from {when(since, units)}"


def _stands_in(remedy: Remedy, shortfall: Shortfall) -> str:
    """That what comes of it is another food than the one that is short."""
    match remedy.act:
        case Act.START | Act.RIPE:
            gives, said = remedy.of, ", to stand in"
        case Act.VESSEL | Act.WARM | Act.HATCH:
            gives, said = BRINE_SHRIMP, ", for nauplii to stand in"
        case Act.BUY if remedy.of == "cysts":
            gives, said = BRINE_SHRIMP, ", for nauplii to stand in"
        case Act.FETCH if remedy.of != DRY:
            gives, said = BRINE_SHRIMP, ", to stand in"
        case _:
            return ""
    return "" if shortfall.food in (gives, ANY) else said


def _until_it_helps(remedy: Remedy, shortfall: Shortfall) -> str:
    if remedy.helps_from is not None:
        return "; until then"
    return ", or" if remedy.by <= shortfall.at else "; until that helps"


def _how_sure(shortfall: Shortfall) -> str:
    if shortfall.spawns:
        return "would, if it spawns as planned, be"
    return "may run" if shortfall.thin else "will be"


def in_tanks(tanks: Sequence[str]) -> str:
    """Which tanks, or of many how many."""
    return f"in {', '.join(tanks)}" if len(tanks) < _MANY_TANKS else f"in {len(tanks)} tanks"


def shortfall_text(
    shortfall: Shortfall, units: str = "metric", said: set[str] | None = None
) -> list[str]:
    """A shortfall in lines: what, why, and what still helps.

    Args:
        said: what was said in full above, which is added to; its brackets are not said again.
    """
    said = set() if said is None else said
    span = _span(shortfall, units)
    what = f"{food_words(shortfall.food)} {'thin' if shortfall.thin else 'short'}"
    lines = [
        wrapped(f"{what} in {', '.join(shortfall.tanks)}, {span}{_how_much(shortfall)}:"
                f" {in_units(shortfall.cause, units)}.{cost_words(shortfall, units)}", 4, "  - ")
    ]  # fmt: skip
    for remedy in shortfall.remedies:
        what = remedy.what.partition(" (")[0] if remedy.what in said else remedy.what
        said.add(remedy.what)
        text = f"{by_words(remedy, units)}: {in_units(what, units)}"
        lines.append(wrapped(f"{text} ({_does(remedy, shortfall, units)})", 8, "      > "))
    if not shortfall.remedies and not shortfall.thin:
        lines.append(wrapped(no_help(shortfall, units), 8, "      > "))
    return lines


def _span(shortfall: Shortfall, units: str) -> str:
    """Its round, or from which to which it lasts."""
    first = when(shortfall.at, units)
    if shortfall.rounds == 1:
        return first
    last = when(shortfall.until, units)
    if shortfall.thin:
        return f"{shortfall.rounds} rounds between {first} and {last}"
    return f"{first} to {last}, {shortfall.rounds} rounds"


def _missed_text(passing: Sequence[Shortfall], units: str) -> list[str]:
    """The meals that are missed for want of somebody who feeds, as one line."""
    if not passing:
        return []
    times = [_span(s, units) for s in passing]
    many_more = f" and {len(times) - _MOST_MISSED} more" if len(times) > _MOST_MISSED else ""
    shown = "; ".join(times[:_MOST_MISSED]) + many_more
    return [wrapped(f"nobody is there to feed: {shown}; {no_help(passing[0], units)}", 4, "  - ")]


def _does(remedy: Remedy, shortfall: Shortfall, units: str) -> str:
    since = remedy.helps_later
    helps = f"helps from {when(since, units)}" if since is not None else ""
    if since is not None and since > shortfall.until:
        return helps
    said = f"covers {shortfall.covered_by(remedy):.0%} of what is missing"
    bought = _bought_by(remedy, units)
    return "; ".join(filter(None, (f"{helps}, {said}" if helps else said, bought)))


def _bought_by(remedy: Remedy, units: str) -> str:
    """By when a starter is to be bought that is set up later; "" of anything else."""
    if remedy.act is not Act.START or not remedy.fetch:
        return ""
    return f"buy it by {day_text(remedy.by - remedy.fetch, units)}"


def no_help(shortfall: Shortfall, units: str) -> str:
    """That nothing can be done about it, and until when."""
    if shortfall.limit == UNMEASURED:
        return "what is left out is given in its turn"
    if shortfall.passes:
        return "no fry go longer than a day without, so nobody need be asked"
    if shortfall.slight:
        return "so little is missing that nothing is to be got for it"
    if shortfall.remedies:
        return "what is done against it helps little"
    return f"nothing that was tried helps until {when(shortfall.until, units)}"


def cost_words(shortfall: Shortfall, units: str) -> str:
    """What it costs the broods, as a sentence with a space before it; "" where hardly anything."""
    if shortfall.starves_at is not None:
        since = day_text(shortfall.starves_at, units)
        return f" {who_starves(shortfall)} would starve from {since}."
    if shortfall.behind_days < TOLD_BEHIND:
        return ""
    return f" The fry would be {behind_text(shortfall.behind_days)} behind."


def behind_text(days: float) -> str:
    """How far fry fall behind [d], in words."""
    return "half a day" if days < _WHOLE_DAY else many(round(days), "day")


def who_starves(shortfall: Shortfall) -> str:
    """Which fry, where not all of them do."""
    if set(shortfall.starving) in (set(), {*shortfall.tanks}):
        return "The fry"
    return f"The fry in {', '.join(shortfall.starving)}"


def _how_much(shortfall: Shortfall) -> str:
    """The share of the need that is missing, and how likely; a thin spell tells its own chance."""
    if shortfall.thin:
        return ""
    chance = shortfall.probability
    likely = "" if chance is None else f", in {chance:.0%} of trials"
    return f" ({shortfall.share:.0%} of the need{likely})"


def stops_text(stops: Iterable[Stop], units: str) -> list[str]:
    """Foods of which there is hardly any while others take their place, as lines."""
    return bullets(in_units(stop.text, units) for stop in stops)
