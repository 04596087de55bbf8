"""Plans, sessions, skills and their sheets."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from chordline.application.training.calendar import GroupCalendar
from chordline.application.training.done_work import KeepDone
from chordline.application.training.her_ladder import HerLadder
from chordline.application.training.keep_training import KeepTraining
from chordline.application.training.make_plan import MakePlan
from chordline.application.training.replan import Replan
from chordline.application.training.sheets.gather import GatherSheets
from chordline.application.training.sheets.printer import TrainingPrinter
from chordline.application.training.tonight import Tonight
from chordline.bootstrap.keeping import Keeping

if TYPE_CHECKING:
    from chordline.adapters.printing.exercise_pictures import ExercisePictures


@dataclass(frozen=True)
class Training(Keeping):
    """Plans, sessions, skills and their sheets."""

    def keep_training(self) -> KeepTraining:
        """Return the use case."""
        return KeepTraining(self.records, self.training)

    def make_plan(self) -> MakePlan:
        """Return the use case."""
        return MakePlan(self.records, self.catalogue, self.training)

    def replan(self) -> Replan:
        """Return the use case."""
        return Replan(self.records, self.training)

    def tonight(self) -> Tonight:
        """Return the use case."""
        return Tonight(self.records, self.catalogue, self.training)

    def keep_done(self) -> KeepDone:
        """Return the use case."""
        return KeepDone(self.records, self.training)

    def make_calendar(self) -> GroupCalendar:
        """Return the use case."""
        from chordline.adapters.calendar.ics import write_ics  # noqa: PLC0415

        return GroupCalendar(self.records, write_ics)

    def her_ladder(self) -> HerLadder:
        """Return the use case."""
        return HerLadder(
            self.records,
            self.judge_screen,
            self.find_limits(),
            catalogue=self.catalogue,
            training=self.training,
        )

    @cached_property
    def exercise_pictures(self) -> "ExercisePictures":
        """The drawings of the exercises."""
        from chordline.adapters.printing.exercise_pictures import load_pictures  # noqa: PLC0415

        return load_pictures(self.training, self.segments, self.club_catalogue)

    def gather_sheets(self) -> GatherSheets:
        """Return the use case."""
        return GatherSheets(self.records, self.judge_screen, self.catalogue, self.training)

    @cached_property
    def training_press(self) -> TrainingPrinter:
        """Prints sheets of training."""
        from chordline.adapters.printing.training.press import TrainingPress  # noqa: PLC0415

        return TrainingPress(self.exercise_pictures)
