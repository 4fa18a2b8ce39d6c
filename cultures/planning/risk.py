"""How likely each round is to be short, and how much of what is needed will be there.

The draws are those of :mod:`cultures.planning.trials`: by luck alone, and with what is not known.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime

from attrs import evolve, frozen

from cultures.planning.changes import largest_again, with_vessel
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.trials import Played, Trials, certainty_of
from cultures.tasks.plan import Certainty, Shortfall
from cultures.tasks.task import Listed
from cultures.words.moments import hours

#: Draws, and the probability by luck alone from which a round is worth a word.
DRAWS = 400
WORTH_A_WORD = 0.2
#: A vessel that is tried besides.
_MORE = "one more vessel"
#: Rounds further apart than this are not one spell.
_JOIN_H = 24.5


@frozen(eq=False)
class RoundRisk(Listed):
    """The chance that a round is short.

    Attributes:
        at: the round. probability: that some brood misses more than the tolerated share, by luck
            alone, in a room that is as the plan takes it to be. error: standard error of that.
        expected_short_j: on average [J]. food: the food that is missing most often.
        all_told: the probability with all that is not known of the room.
    """

    at: datetime
    probability: float
    error: float
    expected_short_j: float
    food: str
    all_told: float


@frozen(eq=False)
class Chances:
    """What comes of a plan.

    Attributes:
        rounds: at which somebody feeds. certainty: of all of them together.
    """

    rounds: list[RoundRisk]
    certainty: Certainty


def chances(outlook: Outlook, *, draws: int = DRAWS) -> Chances:
    """What comes of the rounds within the shown time at which somebody feeds.

    Args:
        draws: how often the plan is carried out; the standard error falls with its root.
    """
    trials = Trials.of(outlook)
    found = list(trials.run(draws))
    rounds = [
        _risk(scene.at, [t.by_luck[i] for t in found], [t.really[i] for t in found])
        for i, scene in enumerate(trials.scenes)
    ]
    return Chances(rounds, certainty_of(found))


def round_risks(outlook: Outlook, *, draws: int = DRAWS) -> list[RoundRisk]:
    """The risk of every round within the shown time at which somebody feeds."""
    return chances(outlook, draws=draws).rounds


def _risk(at: datetime, by_luck: Sequence[Played], really: Sequence[Played]) -> RoundRisk:
    draws = len(by_luck)
    p = _share_short(by_luck)
    blame = Counter(played.food for played in by_luck if played.missing_j > 0.0)
    return RoundRisk(
        at=at,
        probability=p,
        error=math.sqrt(max(p * (1 - p), 0.25 / draws) / draws),
        expected_short_j=sum(played.missing_j for played in by_luck) / draws,
        food=max(blame, key=lambda food: (blame[food], food)) if blame else "",
        all_told=_share_short(really),
    )


def _share_short(played: Iterable[Played]) -> float:
    short = [p.missing_j > 0.0 for p in played]
    return sum(short) / len(short)


def with_probability(
    shortfalls: Sequence[Shortfall], risks: Sequence[RoundRisk]
) -> tuple[Shortfall, ...]:
    """Shortfalls with the largest probability of their rounds."""
    inside = ([r.probability for r in risks if s.at <= r.at <= s.until] for s in shortfalls)
    # A round that nobody feeds is no matter of chance.
    return tuple(
        evolve(shortfall, probability=max(found, default=1.0))
        for shortfall, found in zip(shortfalls, inside, strict=True)
    )


def thin_spells(
    risks: Sequence[RoundRisk], shortfalls: Sequence[Shortfall],
    short: Sequence[tuple[datetime, datetime]],
) -> tuple[list[RoundRisk], ...]:  # fmt: skip
    """Rounds in a row that the plan feeds, but only by a thin margin, worst kinds of food first.

    Args:
        shortfalls: of what is short again and again no more is said between. short: from when to
            when something is short, day after day; of these rounds nothing is said of other foods.
    """
    spells: list[list[RoundRisk]] = []
    for risk in risks:
        again = any(s.food == risk.food and s.at <= risk.at <= s.until for s in shortfalls)
        covered = again or any(first <= risk.at <= last for first, last in short)
        if risk.probability < WORTH_A_WORD or covered:
            continue
        last = spells[-1] if spells else None
        near = last is not None and hours(risk.at) - hours(last[-1].at) <= _JOIN_H
        if last is not None and near and last[-1].food == risk.food:
            last.append(risk)
        else:
            spells.append([risk])
    return tuple(spells)


def spare_effects(outlook: Outlook) -> dict[str, float]:
    """The chance that a round is short by luck alone, averaged over the shown rounds: as it is, and
    with more.
    """
    room = outlook.room
    days = max(1, (outlook.until - outlook.now).days)
    rooms = {
        "as it is": room,
        "one more spare culture": evolve(room, spare_cultures=room.spare_cultures + 1),
        "a fifth more cysts in every hatch": evolve(room, hatch_margin=room.hatch_margin + 0.2),
    }
    if room.vessels:
        rooms[_MORE] = with_vessel(room, largest_again(room, _MORE))
    return {
        name: _mean_risk(make_outlook(changed, now=outlook.now, days=days))
        for name, changed in rooms.items()
    }


def _mean_risk(outlook: Outlook) -> float:
    risks = round_risks(outlook, draws=DRAWS // 2)
    return sum(r.probability for r in risks) / len(risks) if risks else 0.0
