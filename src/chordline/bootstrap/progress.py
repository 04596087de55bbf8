"""What changed through time, and when to test again."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial

from chordline.application.club.export_her import ExportHer, Paper
from chordline.application.progress.gather_sheet import GatherProgress, ProgressPrinter
from chordline.application.progress.growth_chance import growth_chance
from chordline.application.progress.her_progress import HerProgress
from chordline.application.progress.numbers import read_numbers
from chordline.application.progress.retest_calendar import RetestCalendar
from chordline.application.progress.squad_progress import TellSquadProgress
from chordline.application.progress.timelines import ReadTimelines
from chordline.application.repeatability.lay_noise import renew_marking
from chordline.application.sheet import Faces
from chordline.application.tongue import Tongue, tongue_of
from chordline.bootstrap.training import Training


@dataclass(frozen=True)
class Progress(Training):
    """What changed through time, and when to test again."""

    @cached_property
    def her_progress(self) -> HerProgress:
        """The use case; it keeps what screens told, so there is one for all pages."""
        # The records first: with them come the errors that are in use.
        records = self.records
        numbers = read_numbers(self.catalogue, self.club_catalogue)
        read = ReadTimelines(
            self.find_limits(),
            numbers,
            self.training,
            growth_chance=growth_chance(self.growth),
            renew=partial(renew_marking, ours=self.default_catalogue, in_use=self.catalogue),
        )
        return HerProgress(records, read, numbers, self.training)

    @cached_property
    def squad_progress(self) -> TellSquadProgress:
        """The use case."""
        return TellSquadProgress(self.records, self.her_progress)

    def gather_progress(self) -> GatherProgress:
        """Return the use case."""
        return GatherProgress(self.records, self.her_progress, self.pictures)

    @cached_property
    def progress_press(self) -> ProgressPrinter:
        """Prints sheets about progress."""
        from chordline.adapters.printing.training.progress_press import (  # noqa: PLC0415
            ProgressPress,
        )

        return ProgressPress()

    def print_progress(
        self,
        gymnast_id: int,
        *,
        day: date,
        tongue: Tongue,
        test: str | None = None,
        screens: tuple[int | None, int | None] = (None, None),
        faces: Faces = "hidden",
    ) -> bytes:
        """Return the sheet about a gymnast's progress as PDF.

        `screens` are the earlier and the later one that are shown; None leaves the choice.
        """
        content = self.gather_progress()(
            gymnast_id,
            day=day,
            test=test,
            before_id=screens[0],
            after_id=screens[1],
            faces=faces,
        )
        return self.progress_press.progress_to_pdf(
            content,
            sure=self.her_progress.numbers.changes.sure,
            catalogue=self.catalogue,
            tongue=tongue,
        )

    def export_her(self) -> ExportHer:
        """Return the use case."""
        return ExportHer(
            self.records,
            self.photo_store,
            self.pictures,
            clean_jpeg=self.photos.clean_jpeg,
            papers=self._her_papers,
        )

    def _her_papers(self, gymnast_id: int, day: date) -> Iterator[Paper]:
        """Yield her sheets: one of each screen, for her family, and of her progress."""
        english = tongue_of("en")
        with self.records.reading() as tx:
            screens = tx.screens.of_gymnasts([gymnast_id])
        for one in screens:
            yield f"screen-{one.screened_on.isoformat()}.pdf", partial(self._screen_pdf, one.id)
        yield (
            "family.pdf",
            lambda: self.training_press.family_to_pdf(
                self.gather_sheets().family(gymnast_id, day=day, tongue=english)
            ),
        )
        if screens:
            yield (
                "progress.pdf",
                lambda: self.print_progress(gymnast_id, day=day, tongue=english),
            )

    def _screen_pdf(self, screen_id: int) -> bytes:
        return self.press.to_pdf(self.screen_sheet(screen_id))

    def retest_calendar(self) -> RetestCalendar:
        """Return the use case."""
        from chordline.adapters.calendar.ics import write_ics  # noqa: PLC0415

        return RetestCalendar(write_ics)
