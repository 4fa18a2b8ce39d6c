"""``livefood journal EVENT`` for warmth, stocks and failures, and a word on anything."""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence
from datetime import date, datetime, time
from itertools import takewhile

import click

from cli.journal.amounts import cysts_g, grams, typed
from cli.journal.event import Noting, event, subject_of, sure_option
from cli.option_types import AHEAD, CLOCK, Ahead
from cli.options import UsageProblemError
from cli.screens.signs import says_mould
from cultures.errors import RangeError, UnitError, UnknownNameError, closest
from cultures.foods.food import DRY
from cultures.foods.kinds import HatchKind, WormKind
from cultures.journal.absences import Away
from cultures.journal.entries import Entry
from cultures.journal.events import check_entry
from cultures.planning.changes import usual_culture
from cultures.record.book import names_of
from cultures.room.room import Room
from cultures.words.moments import WEEKDAYS, is_weekday, read_clock
from cultures.words.quantities import food_words, in_units
from cultures.words.text import spoken_name
from cultures.words.tools import CYSTS
from cultures.words.units import parse_quantity

_AMOUNT = click.argument("amount", nargs=-1)
#: Words beside the kind of a culture that is bought, and what is bought hatched.
_STARTER, _NAUPLII = ("starter", "culture"), "nauplii"
#: What has a temperature of its own.
_WARM = ("room", "tank", "culture", "vessel")
#: Between these a tank, and anything else, may stand; of a tank those of its key [°C].
_TANKS_C, _OTHERS_C = (2, 42), (-5, 45)
#: What a note may be about.
_NOTED = ("room", "tank", "brood", "culture", "vessel", "stock")


@event("temperature", [*_WARM], click.argument("degrees", nargs=-1, required=True), sure_option)
def temperature(noting: Noting, degrees: tuple[str, ...]) -> list[Entry]:
    """The room, a tank, culture or vessel stands at this temperature from now on; or several of
    them, which are named one after the other.

    \b
    Examples:
      livefood journal temperature room 21.5
      livefood journal temperature B1 B2 25
    """
    known = names_of(noting.room, *_WARM)
    others = list(takewhile(lambda word: word in known, degrees[:-1]))
    rest = degrees[len(others) :]
    if rest[1:] and rest[0][:1].isalpha():
        noting.book.known(rest[0], _WARM, noting.room)
    value = parse_quantity(typed(rest), "temperature", "c")
    named = list(dict.fromkeys([noting.subject, *others]))
    for name in named:
        _check_temperature(noting.room, name, value)
    return [noting.entry("", round(value, 2), "C", subject=name) for name in named]


def _check_temperature(room: Room, subject: str, degrees: float) -> None:
    """Refuses what no eggs and nothing else lives at; what suits no hatch is asked about later."""
    eggs = [b.fry_class for b in room.every_brood
            if b.tank == subject and b.anchor in ("spawned", "planned")]  # fmt: skip
    wrong = [fry_class.check_eggs(degrees) for fry_class in eggs]
    low, high = _TANKS_C if subject in names_of(room, "tank") else _OTHERS_C
    if not low <= degrees <= high:
        fahrenheit = low <= (degrees - 32) / 1.8 <= high
        more = f"; for degrees Fahrenheit write '{degrees:.4g} F'" if fahrenheit else ""
        wrong.append(f"nothing in this room lives at that; use {low} to {high} °C{more}")
    for message in wrong:
        if message is not None:
            raise UnitError(in_units(f"{subject} at {degrees:.4g} °C: {message}", room.units))


@event("bought", [], click.argument("what", metavar="STOCK|KIND"), _AMOUNT, sure_option)
def bought(noting: Noting, what: str, amount: tuple[str, ...]) -> Entry:
    """Cysts, salt, dry food, medium (or one kind's: microworm_medium) or a starter of a KIND.

    Example: livefood journal bought cysts 50 g
    """
    said = " ".join((what, *amount)).split()
    words = [word for word in said if word.lower() not in _STARTER]
    known = [*names_of(noting.room, "stock"), *noting.room.kinds]
    entry = _stock(noting, known, words or [what])
    if entry.subject == CYSTS and len(words) < len(said):
        kind = noting.room.hatch_kind.label
        raise UsageProblemError(
            f"nothing is started from a {kind} starter: they are hatched from cysts, 'cysts 50 g'"
        )
    return entry


@event(
    "ordered", [], click.argument("what", metavar="STOCK"), _AMOUNT,
    click.option(
        "--arrives", "day", type=AHEAD, metavar="DAY", help="When it is to come: thu, 2027-01-14."
    ),
    sure_option,
)  # fmt: skip
def ordered(noting: Noting, what: str, amount: tuple[str, ...], day: Ahead | None) -> Entry:
    """Some of a STOCK was ordered and is on its way; 'journal bought' says that it came.

    It need not be bought any more. With its day the plan counts on it from the end of that day on,
    as long as that is not over; without one it is only not asked for. 0 says that nothing of the
    stock is on order any more.

    \b
    Examples:
      livefood journal ordered cysts 50 g --arrives thu
      livefood journal ordered cysts 0
    """
    on = None if day is None else day(noting.when.date())
    entry = _ordered_stock(noting, [what, *amount], on)
    if entry.amount == 0 and not any(o.item == entry.subject for o in noting.room.orders):
        name = spoken_name(entry.subject)
        raise RangeError(f"nothing is on order of {name}, so nothing is to be cancelled")
    if on is not None and on < noting.when.date():
        raise UsageProblemError(f"{on} is over; 'journal bought' notes what has come")
    if on is not None and entry.amount == 0:
        raise UsageProblemError("nothing comes on a day: --arrives goes with how much was ordered")
    return entry._replace(other="" if on is None else f"{on}")


def _ordered_stock(noting: Noting, words: Sequence[str], day: date | None) -> Entry:
    """So much of a stock; a starter that is ordered is a culture to come.

    Args:
        day: on which it comes; None where nobody knows.

    Raises:
        UsageProblemError: it is one.
    """
    said = f" {spoken_name(' '.join(words))} "
    of_medium = any(f" {spoken_name(name)} " in said for name in names_of(noting.room, "stock"))
    for kind in noting.room.kinds.values():
        if not isinstance(kind, WormKind) or of_medium or f" {spoken_name(kind.name)} " not in said:
            continue
        raise UsageProblemError(
            f"a {kind.label} starter that is on its way is a culture to come; change what is"
            f" otherwise with you in: {_to_come(noting, kind, day)}"
        )
    known = [*names_of(noting.room, "stock"), noting.room.hatch_kind.name]
    return _stock(noting, known, words, none=True)


def _to_come(noting: Noting, kind: WormKind, day: date | None) -> str:
    """The command that puts a culture to come into the file, as those of the room are or as usual.

    Args:
        day: on which it comes; None for as soon as a starter does.
    """
    usual, name = usual_culture(noting.room, kind), noting.book.free_label(kind, noting.room)
    comes = day or (noting.when + noting.room.fetched_in("starter")).date()
    sizes = f"medium_g={usual.medium_g:g} starter_g={usual.starter_g:g}"
    if usual.surface_cm2 is not None:
        sizes += f" surface_cm2={usual.surface_cm2:g}"
    return f"livefood add culture {name} kind={kind.name} planned={comes} {sizes}"


@event(
    "away", [],
    click.argument("days", nargs=-1, required=True, metavar="FROM [to TO]"),
    click.option("--helper", is_flag=True, help="Somebody feeds at these rounds."),
    click.option(
        "--round", "rounds", multiple=True, metavar="TIME",
        help="Only this feeding time of these days; may be said again.",
    ),
    click.option(
        "--food", "foods", multiple=True, metavar="FOOD",
        help="All that the helper gives, like 'dry'; may be said again.",
    ),
)  # fmt: skip
def away(
    noting: Noting, days: tuple[str, ...], helper: bool, rounds: tuple[str, ...],
    foods: tuple[str, ...],
) -> Entry:  # fmt: skip
    """You are away from a day, or the round of a time, to another; both count.

    It holds as an absence in the room file does, and before it; of two that are noted the later
    one holds. 'journal undo' takes it back. Regular ones ("on Tuesdays") go into the file.

    \b
    Examples:
      livefood journal away fri 18:30 to sun
      livefood journal away 2027-02-01 to 2027-02-05 --helper --food dry
      livefood journal away tomorrow --round 18:30 --helper
    """
    first, _, last = typed(days).partition(" to ")
    now = noting.when.astimezone(noting.room.timezone)
    start, since = _end_of(first, now)
    end, until = _end_of(last or f"{start}", now)
    if end < start:  # a weekday after the first day
        end, until = _end_of(last, datetime.combine(start, time.max, now.tzinfo))
    found = Away(
        start, end, helper, tuple(sorted(map(CLOCK.read, rounds))), since=since or time.min,
        until=until or time.max, foods=_given(noting.room, foods, helper=helper),
    )  # fmt: skip
    entry = noting.entry(found.noted, subject="room")
    check_entry(entry)
    if (wrong := found.slip(noting.room.rounds_on)) is not None:
        raise RangeError(in_units(wrong, noting.room.units))
    return entry


def _given(room: Room, said: Sequence[str], *, helper: bool) -> tuple[str, ...]:
    """What a helper gives, by the names of the room.

    Raises:
        UsageProblemError: there is no helper. UnknownNameError: there is no such food.
    """
    if said and not helper:
        raise UsageProblemError("--food goes with --helper: it is what the helper gives")
    known = [*room.kinds, DRY]
    names = {spoken: name for name in known for spoken in (spoken_name(name), food_words(name))}
    for word in said:
        if spoken_name(word) not in names:
            raise UnknownNameError("food", word, known)
    return tuple(dict.fromkeys(names[spoken_name(word)] for word in said))


def _end_of(text: str, now: datetime) -> tuple[date, time | None]:
    """A day, with its time where one is said: ``fri 18:30``, ``2027-02-05T18:30``, ``18:30``.

    The weekday of today is today, if a time is said with it that is still to come.
    """
    words = re.sub(r"(?<=\d)T(?=\d)", " ", text.strip()).split()
    for n in (2, 1):
        clock = read_clock(" ".join(words[-n:])) if len(words) >= n else None
        if clock is not None:
            day = " ".join(words[:-n]) or "today"
            named = is_weekday(day) and day[:3].capitalize() == WEEKDAYS[now.weekday()]
            today = named and clock > now.time()
            return now.date() if today else AHEAD.read(day)(now.date()), clock
    return AHEAD.read(" ".join(words))(now.date()), None


@event("used", [], click.argument("what", metavar="STOCK"), _AMOUNT, sure_option)
def used(noting: Noting, what: str, amount: tuple[str, ...]) -> Entry:
    """Some of a STOCK was used up besides what was told: spilt, given away, gone off.

    Example: livefood journal used salt 200 g
    """
    return _stock(noting, names_of(noting.room, "stock"), [what, *amount])


def _stock(
    noting: Noting, known: Sequence[str], words: Sequence[str], *, none: bool = False
) -> Entry:
    """So much of a stock, of words in any order; cysts by their kind are a stock too.

    Args:
        none: it may be nothing.
    """
    said = f" {spoken_name(' '.join(words))} "
    found = [name for name in known if f" {spoken_name(name)} " in said]
    if not found and f" {_NAUPLII} " in said:
        raise UsageProblemError(
            "hatched nauplii are no stock: once a tank got them, 'livefood journal fed TANK' notes"
            " that meal, and how many with --note; with --at TIME too where nothing was told for it"
        )
    if not found:
        named = [name for name in known[1:] if name != noting.room.hatch_kind.name]
        raise UsageProblemError(
            f"'{words[0]}' is not a stock: write what and how much, like 'cysts 50 g'"
            f" (or {', '.join(named)})"
        )
    name = max(found, key=len)
    text = said.replace(f" {spoken_name(name)} ", " ", 1).strip()
    kind, room = noting.room.kinds.get(name), noting.room
    if not text and isinstance(kind, WormKind):
        raise UsageProblemError(
            f"say what the starter weighs: 'bought {name} 30 g'; once it is on its medium, note"
            f" 'journal start NAME {name}'"
        )
    if not text:
        raise UsageProblemError(f"say how much: '{name} 50 g'")
    of_cysts = name == CYSTS or isinstance(kind, HatchKind)
    g_per_ml = room.tools.g_per_ml.get(name, 1.0)
    value = grams(text, g_per_ml)
    if of_cysts and not (none and value == 0.0):
        value = cysts_g(text, room.hatch_kind)
    return noting.entry("", value, "g", subject=CYSTS if of_cysts else name)


@event("failed", ["vessel", "culture"], sure_option)
def failed(noting: Noting) -> Entry:
    """The hatch in VESSEL gave nothing and was poured out, or CULTURE crashed and is gone.

    Take care: pour old hatches down the drain, never outdoors; bin a crashed culture closed.

    Example: livefood journal failed "bottle 1"
    """
    subject, room = noting.subject, noting.room
    stands = {h.vessel for h in room.hatches} | {h.vessel for h in room.held}
    if subject in names_of(room, "vessel") and subject not in stands:
        raise UsageProblemError(
            f"as far as is known no hatch stands in {subject}; note first that it was set"
        )
    return noting.entry()


@event("note", [], subject_of(_NOTED, "NAME"), click.argument("words", nargs=-1))
def note_(noting: Noting, words: tuple[str, ...]) -> Entry:
    """A few WORDS on anything: a smell, a colour. They are shown with it for two weeks.

    Words in quotes that begin with no name are about the room. A culture of which they say that
    it is mouldy is noted as failed: nothing more is to be taken of it.

    \b
    Examples:
      livefood journal note MW-1 smells of vinegar
      livefood journal note room power cut in the evening
    """
    subject, words = _about(noting, words)
    if not words:
        raise UsageProblemError(
            f"say what there is to note of {subject}: livefood journal note"
            f" {shlex.quote(subject)} smells of vinegar"
        )
    note = " ".join([*words, noting.note]).strip()
    entry = noting.entry(subject=subject)._replace(note=note)
    mouldy = subject in names_of(noting.room, "culture") and says_mould(note)
    return entry._replace(event="failed") if mouldy else entry


def _about(noting: Noting, words: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """What a note is about, and its words.

    Raises:
        UnknownNameError: it is about nothing that is there; the message has what would do.
        RangeError: it is not there any more.
    """
    said = noting.subject
    first, _, rest = said.partition(" ")
    try:
        return noting.book.known(said, _NOTED, noting.room), words
    except UnknownNameError as error:
        known = names_of(noting.room, *_NOTED)
        name = next((n for n in known if said.lower().startswith(f"{n.lower()} ")), None)
        if name is not None and not words:
            return name, (said[len(name) :].strip(),)
        like_a_name = any(c.isdigit() for c in first) or closest(first, known) is not None
        if rest and not words and not like_a_name:
            return "room", (said,)
        whole = shlex.quote(" ".join([said, *words]))
        raise RangeError(f"{error} Of the room: livefood journal note room {whole}") from None
