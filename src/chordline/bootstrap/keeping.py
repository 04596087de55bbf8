"""What is kept of gymnasts: photos, screens, records, what the club found of its errors."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial
from typing import TYPE_CHECKING

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.application.club.apply_consent import ApplyConsent
from chordline.application.club.check_photo import CheckPhoto
from chordline.application.club.consent import ConsentRules, check_measuring, rules_of
from chordline.application.club.erase_again import EraseAgain
from chordline.application.club.erase_her import EraseHer, EraseReceipt
from chordline.application.club.her_holds import KeepHolds
from chordline.application.club.her_notes import KeepNotes
from chordline.application.club.her_record import KeepHer
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.keep_videos import KeepVideos
from chordline.application.club.measure_stored import MeasureStored, WorkedOff, WorkOff
from chordline.application.club.measure_stored_video import MeasureStoredVideo
from chordline.application.club.move_photo import MovePhoto
from chordline.application.club.records import Consent
from chordline.application.club.running_videos import Running
from chordline.application.club.take_in import TakeInPhoto
from chordline.application.club.take_in_folder import TakeInFolder
from chordline.application.club.take_in_video import TakeInVideo
from chordline.application.days import day_in_words
from chordline.application.growth.tell_growth import TellGrowth
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.measurement_json import measurement_from_json
from chordline.application.repeatability.lay_noise import renew_marking
from chordline.application.repeatability.mark_study import MarkStudy
from chordline.application.repeatability.use_noise import UseNoise
from chordline.application.sheet import Faces, GymnastSheet
from chordline.bootstrap.measuring import Measuring

if TYPE_CHECKING:
    from chordline.application.ports import Photo
    from chordline.application.video_ports import VideoSource


@dataclass(frozen=True)
class Keeping(Measuring):
    """What is kept of gymnasts: photos, screens, records, what the club found of its errors."""

    def take_in_photo(self) -> TakeInPhoto:
        """Return the use case."""
        return TakeInPhoto(self.records, self.photo_store, self.photos, self.catalogue)

    def take_in_folder(self) -> TakeInFolder:
        """Return the use case."""
        return TakeInFolder(
            self.records,
            self.take_in_photo(),
            self.judge_screen,
            self.catalogue,
            videos=self.take_in_video(),
            is_video=self.video_reader.is_video,
        )

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
        return MeasureStored(
            records,
            self.pictures,
            measure,
            self.judge_screen,
            self.catalogue,
            seal=self.seal_pictures(),
            check_consent=self._check_consent,
        )

    def work_off(self, tell: Callable[[WorkedOff], None] | None = None) -> WorkOff:
        """Return the use case; `tell` gets the photos that are measured while a video is."""
        return WorkOff(
            self.records,
            self.measure_stored,
            self.vault.opens,
            videos=self.measure_stored_video(),
            tell=tell,
        )

    @cached_property
    def running_videos(self) -> Running:
        """The videos that are measured in this process now."""
        return Running()

    def measure_stored_video(self) -> MeasureStoredVideo:
        """Return the use case."""
        from chordline.adapters.media.frame_png import frame_to_png  # noqa: PLC0415

        records = self.records
        return MeasureStoredVideo(
            records,
            self.photo_store,
            self.measure_video,
            self.judge_screen,
            to_png=frame_to_png,
            catalogue_version=self.catalogue.version,
            longest_s=self.motion.setting("longest_video_s"),
            running=self.running_videos,
            check_consent=self._check_consent,
        )

    @property
    def consent_rules(self) -> ConsentRules:
        """How long what may wait for a family's word."""
        return rules_of(self.default_catalogue)

    def _check_consent(self, consent: Consent) -> None:
        check_measuring(consent, date.today(), self.consent_rules)

    def apply_consent(self) -> ApplyConsent:
        """Return the use case."""
        return ApplyConsent(
            self.records, self.photo_store, self.pictures, self.keep_videos, self.consent_rules
        )

    def erase_her(self) -> EraseHer:
        """Return the use case."""
        return EraseHer(self.records, self.keep_her(), self.copies_to_replace)

    def screen_sheet(self, screen_id: int, *, faces: Faces = "hidden") -> GymnastSheet:
        """Return a screen's sheet, without its holds."""
        judge = self.judge_screen
        with self.records.reading() as tx:
            view = tx.screens.view(screen_id)
            hers = judge.read(tx, view)
        return self.make_sheet()(
            hers.screen,
            left_out=hers.left_out,
            found=judge.find(hers, view),
            screened_on=day_in_words(view.screen.screened_on),
            faces=faces,
        )

    def without_face(self, photo_id: int, jpeg: bytes) -> bytes | None:
        """Return a photo's picture with hidden faces; None where they cannot be hidden."""
        from chordline.adapters.printing.faces import hide_in_jpeg  # noqa: PLC0415

        with self.records.reading() as tx:
            counts = tx.photos.view(photo_id).measurement
        if counts is None:
            return None
        return hide_in_jpeg(jpeg, measurement_from_json(dict(counts.record)))

    def print_receipt(self, receipt: EraseReceipt) -> bytes:
        """Return a receipt of erasing as PDF."""
        from chordline.adapters.printing.receipt import receipt_to_pdf  # noqa: PLC0415

        return receipt_to_pdf(receipt)

    def copies_to_replace(self) -> tuple[str, ...]:
        """Return, in words, the copies of keys and records that still hold who was erased."""
        return ()

    def erase_again(self) -> EraseAgain:
        """Return the use case."""
        return EraseAgain(self.records, self.keep_her())

    def take_in_video(self) -> TakeInVideo:
        """Return the use case."""
        return TakeInVideo(
            self.records,
            self.photo_store,
            self.video_reader,
            ArucoCardReader(),
            self.catalogue,
            longest_s=self.motion.setting("longest_video_s"),
        )

    def read_frame(self, video: "VideoSource", t_s: float) -> "Photo":
        """Return one frame of a stored video as a picture."""
        from chordline.application.video_ports import Span  # noqa: PLC0415

        return self.video_reader.open(video, Span(t_s, t_s + 1.0)).photo_at(t_s)

    def keep_videos(self) -> KeepVideos:
        """Return the use case."""
        return KeepVideos(
            self.records,
            self.photo_store,
            self.judge_screen,
            self.catalogue,
            longest_s=self.motion.setting("longest_video_s"),
            running=self.running_videos,
        )

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
