"""What to measure first, in rooms drawn at random."""

from __future__ import annotations

from hypothesis import given, settings

from cultures.planning.first_counts import first_counts
from cultures.planning.outlook import make_outlook
from cultures.planning.trials import Trials
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.strategies import RoomCase, room_cases


@settings(RELIABLE, max_examples=examples(suite=5, thorough_run=100))
@given(room_cases(longest_days=7, most_broods=3))
def test_gains_are_shares_and_only_what_somebody_takes_gains(case: RoomCase) -> None:
    outlook = make_outlook(case.room(), now=case.now())
    found = first_counts(outlook, draws=80)
    low, high = found.certainty.fed
    assert 0.0 <= low <= high <= 1.0
    mouths = [mouth for scene in Trials.of(outlook).scenes for mouth in scene.mouths]
    taken = {food for mouth in mouths for food in (*mouth.want_j, *mouth.worms)}
    for gain in found.gains:
        assert 0.0 <= gain.share <= 1.0
        assert 0.0 <= gain.width <= high - low
        if gain.what in ("swipe", "draw", "harvest"):
            kind = next(c.kind.name for c in outlook.room.cultures if c.name == gain.subject)
            assert kind in taken or gain.share == 0.0
