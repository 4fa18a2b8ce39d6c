"""Random rooms live through what goes right and wrong, and the record's promises hold throughout.

After every step: nothing is shown as due, missed or taken as done that was not told; what was told
of a time that is over stays; each told task has one fate, and undo restores what was; all screens
agree; no more is fed than there is by what was last counted; stocks are right to the gram; and
looking changes no file. The study with many long lives is `tests.studies.lives`.
"""

from __future__ import annotations

import shutil
import tempfile
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.examples import examples
from tests.record.lives import Life, act, live


class RoomMachine(RuleBasedStateMachine):
    """A keeper, a room, and a clock that goes on."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.life: Life | None = None

    def teardown(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)

    @initialize(seed=st.integers(0, 10_000))
    def begins(self, seed: int) -> None:
        self.life = Life.begin(self.folder, seed)

    def _life(self) -> Life:
        assert self.life is not None
        return self.life

    @rule()
    def looks(self) -> None:
        self._life().look()

    @rule(step_h=st.sampled_from([0.3, 0.7, 2.0, 5.0, 11.0, 13.0, 26.0, 75.0]))
    def time_goes_on(self, step_h: float) -> None:
        life = self._life()
        later = life.now.astimezone(ZoneInfo("UTC")) + timedelta(hours=step_h)
        life.now = later.astimezone(life.now.tzinfo)

    @rule()
    def does_all(self) -> None:
        act(self._life(), "done")

    @rule(minutes=st.integers(5, 200))
    def does_it_late(self, minutes: int) -> None:
        self._life().done(late=timedelta(minutes=minutes))

    @rule()
    def skips_one(self) -> None:
        self._life().skip()

    @rule()
    def one_tank_is_fed_otherwise(self) -> None:
        self._life().one_tank()

    @rule()
    def takes_more_or_less(self) -> None:
        self._life().other_amount()

    @rule()
    def takes_another_bottle(self) -> None:
        self._life().wrong_vessel()

    @rule()
    def a_hatch_fails(self) -> None:
        self._life().hatch_fails()

    @rule()
    def a_hatch_is_counted(self) -> None:
        self._life().count_a_hatch()

    @rule()
    def a_culture_crashes(self) -> None:
        self._life().crash()

    @rule()
    def fry_are_counted(self) -> None:
        self._life().count_fry()

    @rule()
    def a_spawning_is_planned_or_comes(self) -> None:
        self._life().hope()

    @rule()
    def something_is_bought_or_spilt(self) -> None:
        self._life().buy()

    @rule()
    def something_is_ordered(self) -> None:
        self._life().order()

    @rule()
    def a_note_is_taken_back(self) -> None:
        self._life().undo()

    @rule()
    def something_else_is_noted(self) -> None:
        self._life().note_untold()

    @rule()
    def something_is_measured(self) -> None:
        self._life().measure()

    @rule()
    def an_older_note_is_taken_back(self) -> None:
        self._life().take_back()

    @rule()
    def the_room_file_is_edited(self) -> None:
        self._life().edit_room()

    @rule()
    def the_record_is_lost(self) -> None:
        self._life().lose_the_record()

    @rule()
    def a_sheet_is_printed(self) -> None:
        self._life().print_sheet()

    @rule()
    def a_calendar_is_written(self) -> None:
        self._life().export()

    @invariant()
    def what_must_hold(self) -> None:
        if self.life is not None:
            self.life.check()


RoomMachine.TestCase.settings = settings(
    max_examples=examples(suite=4, thorough_run=100), stateful_step_count=14, deadline=None,
    derandomize=True, database=None, phases=(Phase.generate,),
    suppress_health_check=list(HealthCheck),
)  # fmt: skip
TestRoomMachine = RoomMachine.TestCase


@pytest.mark.parametrize("seed", range(examples(suite=1, thorough_run=4)))
def test_a_fortnight_of_ups_and_downs(seed: int, tmp_path: Path) -> None:
    life = live(tmp_path, seed, 14)
    assert any("look" in what for what in life.log)


@pytest.mark.parametrize("seed", range(9601, 9601 + examples(suite=1, thorough_run=8)))
def test_a_fortnight_with_all_that_keepers_do(seed: int, tmp_path: Path) -> None:
    """Days away, a helper's sheet, wrong counts, broods merged, names edited, a folder put back."""
    life = live(tmp_path, seed, 8 if seed == 9601 else 14, full=True)
    assert any("look" in what for what in life.log)


@pytest.mark.parametrize(
    "seed",
    [
        9104,  # what a sheet had told, and a calendar otherwise, is told anew once it has begun
        9309,  # told twice on a note taken back half an hour into it: what was told last stands
        9210,  # worms that a look had told stay due where a calendar told the doses otherwise since
    ],
)
def test_a_life_in_which_a_promise_was_broken_once(seed: int, tmp_path: Path) -> None:
    life = live(tmp_path, seed, 4 if seed == 9210 else 20)
    assert any("undo" in what for what in life.log)
