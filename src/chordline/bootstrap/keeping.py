"""What is kept of gymnasts: photos, screens, records, what the club found of its errors."""

from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.application.club.check_photo import CheckPhoto
from chordline.application.club.her_holds import KeepHolds
from chordline.application.club.her_notes import KeepNotes
from chordline.application.club.her_record import KeepHer
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.measure_stored import MeasureStored, WorkOff
from chordline.application.club.move_photo import MovePhoto
from chordline.application.club.take_in import TakeInPhoto
from chordline.application.club.take_in_folder import TakeInFolder
from chordline.application.growth.tell_growth import TellGrowth
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.repeatability.lay_noise import renew_marking
from chordline.application.repeatability.mark_study import MarkStudy
from chordline.application.repeatability.use_noise import UseNoise
from chordline.bootstrap.measuring import Measuring

if TYPE_CHECKING:
    pass


@dataclass(frozen=True)
class Keeping(Measuring):
    """What is kept of gymnasts: photos, screens, records, what the club found of its errors."""

    def take_in_photo(self) -> TakeInPhoto:
        """Return the use case."""
        return TakeInPhoto(self.records, self.photo_store, self.photos, self.catalogue)

    def take_in_folder(self) -> TakeInFolder:
        """Return the use case."""
        return TakeInFolder(self.records, self.take_in_photo(), self.judge_screen, self.catalogue)

    @cached_property
    def judge_screen(self) -> JudgeScreen:
        """The use case."""
        # The records first: with them come the errors that are in use.
        records = self.records
        return JudgeScreen(
            records,
            self.pictures,
            self.find_limits(),
            self.catalogue,
            self.forecast_line,
            renew=partial(renew_marking, ours=self.default_catalogue, in_use=self.catalogue),
        )

    @cached_property
    def measure_stored(self) -> MeasureStored:
        """The use case."""
        records = self.records
        measure = self.measure_photo()
        return MeasureStored(records, self.pictures, measure, self.judge_screen, self.catalogue)

    def work_off(self) -> WorkOff:
        """Return the use case."""
        return WorkOff(self.records, self.measure_stored)

    def check_photo(self) -> CheckPhoto:
        """Return the use case."""
        return CheckPhoto(self.records, self.measure_stored, self.judge_screen, self.catalogue)

    def move_photo(self) -> MovePhoto:
        """Return the use case."""
        return MovePhoto(self.records, self.photo_store, self.judge_screen, self.catalogue)

    def keep_her(self) -> KeepHer:
        """Return the use case."""
        return KeepHer(self.records, self.photo_store, self.pictures)

    def keep_notes(self) -> KeepNotes:
        """Return the use case."""
        return KeepNotes(self.records, self.judge_screen, self.catalogue)

    def keep_holds(self) -> KeepHolds:
        """Return the use case."""
        return KeepHolds(self.records, self.judge_screen, self.catalogue)

    def mark_study(self) -> MarkStudy:
        """Return the use case."""
        ours = self.default_catalogue
        by_hand = MeasurePhoto(self.photos, ArucoCardReader(), None, ours)
        return MarkStudy(self.records, self.pictures, by_hand, ours)

    def use_noise(self) -> UseNoise:
        """Return the use case; what it changes holds for this application at once."""
        return UseNoise(self.records, self.default_catalogue, changed=self.renew_errors)

    def tell_growth(self) -> TellGrowth:
        """Return the use case."""
        return TellGrowth(self.records, self.growth)
