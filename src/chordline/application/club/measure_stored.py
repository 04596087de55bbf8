"""From a photo in the records to its measurement: filed by its card, measured, judged."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.measure_stored_video import LEASE, MeasureStoredVideo
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.records import (
    REFUSED_WORRY,
    Consent,
    JobRecord,
    PhotoRecord,
)
from chordline.application.club.running_videos import StoppedError
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.take_in import AGAIN, MEASURE
from chordline.application.club.take_in_video import MEASURE_VIDEO
from chordline.application.club.video_records import VideoRecord
from chordline.application.club.views import PhotoView
from chordline.application.club.whose import find_whose
from chordline.application.folder import read_file_name
from chordline.application.marks import HandMarks, faults_of_marks
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.measurement_json import measurement_to_json
from chordline.application.ports import DetectedCard, Photo
from chordline.catalogue.schema import Catalogue
from chordline.conventions import Front, Side
from chordline.errors import (
    ChordlineError,
    MarksError,
    NotThereError,
    PhotoStoreError,
    RecordsError,
    RefusedInputError,
    VaultLockedError,
)

#: Longer than any photo takes; after it another worker may think that this one is dead.
_LEASE = timedelta(minutes=5)
#: After it the records give a job up (`JobBook.take`).
_LAST_ATTEMPT = 3

NO_TEST = "which test it is cannot be told; choose the test"


class MeasureStored:
    """Use case: measure a photo of the records."""

    def __init__(
        self,
        records: Records,
        pictures: StoredPictures,
        measure: MeasurePhoto,
        judge: JudgeScreen,
        catalogue: Catalogue,
        *,
        seal: SealPictures | None = None,
        check_consent: Callable[[Consent], None] | None = None,
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, pictures, measure, judge, catalogue, seal
        check_consent : callable, optional
            Raises `RefusedInputError` where a family's words do not allow measuring now.
        """
        self._records = records
        self._pictures = pictures
        self._seal = seal
        self._check_consent = check_consent
        self._measure = measure
        self._judge = judge
        self._catalogue = catalogue

    def __call__(self, photo_id: int) -> PhotoRecord:
        """Measure a photo as it stands now, and return it as it stands then.

        What cannot be measured is not lost: the photo says why and waits for the coach.
        """
        with self._records.reading() as tx:
            view = tx.photos.view(photo_id)
        try:
            photo = self._read(view.photo)
        except VaultLockedError:
            raise
        except (PhotoStoreError, RefusedInputError) as error:
            return self._settle(view.photo, _without_name(error, view.photo))
        cards = self._measure.cards_in(photo)
        view = self._file(view, tuple(card.id for card in cards))
        standing = view.photo
        if standing.screen_id is None:
            return standing
        if standing.test is None:
            return self._settle(standing, NO_TEST)
        try:
            record = self._measured(view, photo, cards)
        except RefusedInputError as error:
            return self._settle(standing, _without_name(error, standing))
        with self._records.transaction() as tx:
            now = tx.photos.get(photo_id)
            as_it_was = now.revision == standing.revision
            settled = standing.state == "waiting" and now.state != "waiting"
            if as_it_was and settled:
                return now  # another was quicker, and what a coach said of it since must stay
            tx.photos.save_measurement(
                photo_id,
                record,
                revision=standing.revision,
                marks_version=standing.marks_version or None,
                catalogue=self._catalogue.version,
            )
            after = tx.photos.get(photo_id)
        self._judge(standing.screen_id)
        return after

    def _read(self, photo: PhotoRecord) -> Photo:
        try:
            return self._pictures.read(photo)
        except PhotoStoreError:
            # It may have been put under another key meanwhile.
            with self._records.reading() as tx:
                now = tx.photos.get(photo.id)
            if now.content_key == photo.content_key:
                raise
            return self._pictures.read(now)

    def check_marks(self, view: PhotoView, marks: HandMarks) -> None:
        """Raise `MarksError` with every fault that marks of a photo have; its test is known."""
        photo = view.photo
        landmarks = marks.landmarks
        if view.measurement is not None:
            image = view.measurement.record["image"]
            width_px, height_px = image["width_px"], image["height_px"]
        else:
            picture = self._pictures.read(photo)
            width_px, height_px = picture.width_px, picture.height_px
        faults = faults_of_marks(
            landmarks,
            width_px=width_px,
            height_px=height_px,
            needed=self._catalogue.tests[photo.test or ""].chord_among(landmarks),
        )
        if faults:
            raise MarksError(photo.name, faults)

    def _measured(
        self, view: PhotoView, photo: Photo, cards: tuple[DetectedCard, ...]
    ) -> dict[str, object]:
        standing = view.photo
        test = standing.test
        if test not in self._catalogue.tests:
            raise RefusedInputError(f"the catalogue has no test '{test}' (any more); choose one")
        with self._records.reading() as tx:
            her = tx.gymnasts.get(tx.screens.get(standing.screen_id or 0).gymnast_id)
        if self._check_consent is not None:
            self._check_consent(her.consent)
        measurement = self._measure.measure(
            photo,
            MeasureRequest(
                test=test,
                marks=None if view.marks is None else view.marks.marks,
                near_side=_said_near(view),
                front=_said_front(view),
                person=standing.person,
                expected_card=her.card,
            ),
            cards=cards,
        )
        return measurement_to_json(measurement)

    def _file(self, view: PhotoView, cards_seen: tuple[int, ...]) -> PhotoView:
        """Put a photo that nobody owns under its gymnast's screen, where that can be told."""
        photo = view.photo
        if photo.screen_id is not None:
            return view
        named = read_file_name(photo.name, list(self._catalogue.tests))
        with self._records.transaction() as tx:
            whose = find_whose(tx.gymnasts, photo.club_id, named=named, cards_seen=cards_seen)
            now = tx.photos.get(photo.id)
            if now.revision != photo.revision:
                return tx.photos.view(photo.id)
            if isinstance(whose, str):
                tx.photos.settle(
                    photo.id,
                    revision=photo.revision,
                    state="needs_look",
                    reason=whose,
                    worry=REFUSED_WORRY,
                )
            else:
                day = photo.taken_on or photo.received_at.date()
                screen = tx.screens.on(whose.id, day)
                tx.photos.move(photo.id, screen_id=screen.id, test=photo.test)
            filed = tx.photos.view(photo.id)
        if self._seal is not None:
            self._seal.filed("photo", photo.id)
        return filed

    def _settle(self, photo: PhotoRecord, reason: str) -> PhotoRecord:
        with self._records.transaction() as tx:
            tx.photos.settle(
                photo.id,
                revision=photo.revision,
                state="refused",
                reason=reason[:2000],
                worry=REFUSED_WORRY,
            )
            after = tx.photos.get(photo.id)
        if after.screen_id is not None:
            self._judge(after.screen_id)
        return after


def _said_near(view: PhotoView) -> Side | None:
    """Return the side that was said: marks were set on sight of the picture and come first."""
    marked = None if view.marks is None else view.marks.marks.near_side
    return marked or view.photo.near_side


def _said_front(view: PhotoView) -> Front | None:
    if view.marks is not None and view.marks.marks.near_side is not None:
        return view.marks.marks.front
    return view.photo.front


def _without_name(error: ChordlineError, photo: PhotoRecord) -> str:
    return str(error).removeprefix(f"{photo.name}: ").removeprefix(f"marks for {photo.name}: ")


@dataclass(frozen=True)
class WorkedOff:
    """A job that came to an end: its photo or video as it stands now; None where removed."""

    job: JobRecord
    photo: PhotoRecord | None
    video: VideoRecord | None = None


class WorkOff:
    """Use case: do the next thing that waits; photos before videos."""

    def __init__(
        self,
        records: Records,
        measure: MeasureStored,
        opens: Callable[[], bool] = lambda: True,
        *,
        videos: MeasureStoredVideo | None = None,
        tell: Callable[["WorkedOff"], None] | None = None,
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, measure
        opens : callable
            Whether pictures can be opened now.
        videos : MeasureStoredVideo, optional
            Without it videos are left to others.
        tell : callable, optional
            Gets the photos that were measured while a video was: they do not wait for its end.
        """
        self._records = records
        self._measure = measure
        self._opens = opens
        self._videos = videos
        self._tell = tell

    def __call__(self, worker: str) -> WorkedOff | None:
        """Take the oldest waiting photo, else the oldest video, to its end.

        Return None where nothing waits, or where it has to wait until the pictures are unlocked.
        """
        if not self._opens():
            return None
        return self._next_photo(worker) or self._next_video(worker)

    def _next_video(self, worker: str) -> WorkedOff | None:
        if self._videos is None:
            return None
        with self._records.transaction() as tx:
            job = tx.jobs.take(worker, lease=LEASE, kinds=(MEASURE_VIDEO,))
        if job is None or job.video_id is None:
            return None

        def between() -> None:
            while (done := self._next_photo(worker)) is not None:
                if self._tell is not None:
                    self._tell(done)

        video, error = None, None
        if job.attempts >= _LAST_ATTEMPT:
            # Should this try end the program as well, the video must not wait for ever.
            self._videos.give_up(job.video_id, "twice it came to no end")
        try:
            video = self._videos(job.video_id, job, worker, between=between)
        except NotThereError:
            return WorkedOff(job, None)  # removed while it was measured
        except (StoppedError, VaultLockedError):
            # Called off, then the job is no longer ours; or this program ends, or it was locked.
            self._put_back(job, worker)
            return None
        except KeyboardInterrupt:
            self._put_back(job, worker)
            raise
        except RecordsError:
            raise
        except Exception as failure:  # one video must not stop the others
            error = f"{type(failure).__name__}: {failure}"
            video = self._videos.give_up(job.video_id, error)
        with suppress(NotThereError), self._records.transaction() as tx:
            tx.jobs.finish(job.id, worker, error=error)
        return WorkedOff(job, None, video)

    def _put_back(self, job: JobRecord, worker: str) -> None:
        """Let a job that is still this worker's wait again; this try is not counted."""
        with suppress(NotThereError), self._records.transaction() as tx:
            if tx.jobs.finish(job.id, worker):
                tx.jobs.add(
                    job.club_id,
                    job.kind,
                    photo_id=job.photo_id,
                    video_id=job.video_id,
                    payload=job.payload,
                )

    def _next_photo(self, worker: str) -> WorkedOff | None:
        with self._records.transaction() as tx:
            job = tx.jobs.take(worker, lease=_LEASE, kinds=(MEASURE,))
        if job is None:
            return None
        photo, error = None, None
        if self._is_done(job):
            with self._records.transaction() as tx:
                tx.jobs.finish(job.id, worker)
            return WorkedOff(job, None)
        if job.attempts >= _LAST_ATTEMPT:
            # Should this try end the program as well, the photo must not wait for ever.
            self._gave_up(job, "twice it came to no end")
        try:
            if job.photo_id is not None:
                photo = self._measure(job.photo_id)
        except NotThereError:
            photo = None  # removed while it waited
        except RecordsError:
            raise
        except VaultLockedError:
            self._put_back(job, worker)
            return None
        except Exception as failure:  # one photo must not stop the others
            error = f"{type(failure).__name__}: {failure}"
            photo = self._gave_up(job, error)
        with self._records.transaction() as tx:
            tx.jobs.finish(job.id, worker, error=error)
        return WorkedOff(job, photo)

    def _is_done(self, job: JobRecord) -> bool:
        """Return whether the photo was measured by somebody else since the job was queued.

        One that nobody owns is never done: her card may have come in since.
        """
        if job.photo_id is None or job.payload.get(AGAIN):
            return False
        with self._records.reading() as tx:
            try:
                photo = tx.photos.get(job.photo_id)
            except NotThereError:
                return True
        return photo.state != "waiting" and photo.screen_id is not None

    def _gave_up(self, job: JobRecord, error: str) -> PhotoRecord | None:
        if job.photo_id is None:
            return None
        with self._records.transaction() as tx:
            try:
                photo = tx.photos.get(job.photo_id)
            except NotThereError:
                return None
            tx.photos.settle(
                photo.id,
                revision=photo.revision,
                state="refused",
                reason=f"chordline failed on this photo ({error[:300]}); set the marks by hand, "
                "and report it",
                worry=REFUSED_WORRY,
            )
            return tx.photos.get(photo.id)
