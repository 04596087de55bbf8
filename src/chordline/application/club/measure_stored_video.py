"""From a stored video to its measurement: hold, traces, and the photo of its best moment."""

import hashlib
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import (
    Consent,
    GymnastRecord,
    JobRecord,
    NewPhoto,
    PhotoRecord,
    worry_of,
)
from chordline.application.club.running_videos import Running, StoppedError
from chordline.application.club.take_in import MEASURE
from chordline.application.club.take_in_video import why_too_long
from chordline.application.club.video_records import VideoRecord
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measure_video import MeasureVideo, VideoRequest
from chordline.application.ports import Photo
from chordline.application.video_json import video_to_json
from chordline.application.video_measurement import VideoMeasurement
from chordline.application.video_ports import Span, VideoSource
from chordline.core.body.track import Track
from chordline.errors import (
    NotThereError,
    PhotoStoreError,
    RefusedInputError,
    VaultLockedError,
)

#: Longer than any piece of a video takes; renewed with each.
LEASE = timedelta(minutes=5)


class RecordsVideoStore:
    """Implements `VideoStore` for one video of the records."""

    def __init__(self, records: Records, video_id: int, kept: Callable[[], None]) -> None:
        self._records = records
        self._video_id = video_id
        self._kept = kept

    def pieces(self, key: str) -> tuple[Track, ...]:
        """Return the pieces that were kept."""
        with self._records.reading() as tx:
            return tx.videos.pieces(self._video_id, key)

    def keep_piece(self, key: str, number: int, piece: Track) -> None:
        """Keep a piece; on disk once this returns."""
        with self._records.transaction() as tx:
            tx.videos.keep_piece(self._video_id, key, number, piece)
        self._kept()

    def record(self, key: str) -> dict[str, Any] | None:  # noqa: ARG002
        """Return None: a video that is measured again is to be measured."""
        return None

    def keep_record(self, key: str, record: dict[str, Any]) -> None:
        """Do nothing: the record is kept together with what it gives to the findings."""


class MeasureStoredVideo:
    """Use case: measure a video of the records."""

    def __init__(
        self,
        records: Records,
        store: PhotoStore,
        measure: Callable[[], MeasureVideo],
        judge: JudgeScreen,
        *,
        to_png: Callable[[Photo], bytes],
        catalogue_version: str,
        longest_s: float,
        running: Running,
        check_consent: Callable[[Consent], None] | None = None,
    ) -> None:
        self._check_consent = check_consent
        self._records = records
        self._store = store
        self._measure = measure
        self._judge = judge
        self._to_png = to_png
        self._catalogue_version = catalogue_version
        self._longest_s = longest_s
        self._running = running

    def __call__(
        self, video_id: int, job: JobRecord, worker: str, *, between: Callable[[], None]
    ) -> VideoRecord:
        """Measure a video as it stands now, and return it as it stands then.

        Parameters
        ----------
        video_id : int
        job : JobRecord
            Its lease is renewed with each piece; who took it away stops the measuring.
        worker : str
        between : callable
            Called after each piece: what is quicker need not wait for the whole video.

        Raises
        ------
        StoppedError
            Where it was called off.
        """
        with self._records.reading() as tx:
            video = tx.videos.get(video_id)
            her = _owner_of(tx, video)
        if video.content_key is None:
            return self._settle(video, "its file is not kept any more; film the test again")
        try:
            if her is not None and self._check_consent is not None:
                self._check_consent(her.consent)
        except RefusedInputError as error:
            return self._settle(video, str(error))
        said = video.said
        span = Span(said.from_s, said.to_s)
        too_long = why_too_long(video.facts, span, self._longest_s)
        if too_long is not None or said.test is None or said.screen_id is None:
            return self._settle(video, too_long or "say whose video it is, and which test")
        request = VideoRequest(
            MeasureRequest(
                test=said.test,
                near_side=said.near_side,
                front=said.front,
                person=said.person,
                expected_card=None if her is None else her.card,
            ),
            span,
        )
        source = self._source(video)
        measure = self._measure()
        with self._running.watch(video_id) as watch:

            def kept() -> None:
                self._renew(job, worker)
                watch.check()
                between()
                self._renew(job, worker)

            store = RecordsVideoStore(self._records, video_id, kept)
            try:
                measured = measure(source, request, store=store, progress=watch)
                picture = measure.read_picture(source, measured.clip.key_s)
            except VaultLockedError:
                raise
            except (PhotoStoreError, RefusedInputError) as error:
                return self._settle(video, str(error).removeprefix(f"{video.name}: "))
            self._renew(job, worker)
        after = self._keep(video, measured, picture, timing_rel_sd=measure.timing_rel_sd)
        if after.said.screen_id is not None:
            self._judge(after.said.screen_id)
        return after

    def _source(self, video: VideoRecord) -> VideoSource:
        key = video.content_key or ""
        return VideoSource(video.name, lambda: self._store.open_file(key), video.sha256)

    def _renew(self, job: JobRecord, worker: str) -> None:
        with self._records.transaction() as tx:
            if not tx.jobs.renew(job.id, worker, lease=LEASE):
                raise StoppedError

    def _keep(
        self,
        video: VideoRecord,
        measured: VideoMeasurement,
        picture: Photo,
        *,
        timing_rel_sd: float,
    ) -> VideoRecord:
        """Keep the record, the hold and the photo of the best moment together."""
        png = self._to_png(picture)
        record = video_to_json(measured)
        worry = worry_of(record)
        reason = "; ".join(record["trust"]["reasons"]) or "the measurement was not accepted"
        new: list[str] = []
        try:
            with self._records.transaction() as tx:
                now = tx.videos.get(video.id)
                if now.revision != video.revision:
                    return now
                old = self._replace_photo(tx, now, measured, png, new)
                self._replace_hold(tx, now, measured, timing_rel_sd)
                tx.videos.save_measurement(
                    video.id, record, revision=now.revision, catalogue=self._catalogue_version
                )
                tx.videos.settle(
                    video.id,
                    revision=now.revision,
                    state="measured" if worry is None else "needs_look",
                    reason=None if worry is None else reason,
                )
                if not now.said.keep_file:
                    old.append(tx.videos.forget_file(video.id))
                unneeded = tx.photos.not_needed(one for one in (*old, *new) if one is not None)
                after = tx.videos.get(video.id)
        except BaseException:
            for key in new:
                self._store.delete(key)
            raise
        for key in unneeded:
            self._store.delete(key)
        return after

    def _replace_photo(
        self, tx: Tx, video: VideoRecord, measured: VideoMeasurement, png: bytes, new: list[str]
    ) -> list[str | None]:
        """File the best moment as a photo; return the keys of what it replaces.

        The same moment as before stays the same photo, with the marks that somebody set on it.
        """
        sha256 = hashlib.sha256(png).hexdigest()
        before = _photo_of(tx, video)
        if before is not None and before.sha256 == sha256:
            tx.photos.move(before.id, screen_id=video.said.screen_id, test=video.said.test)
            photo_id, gone = before.id, []
        else:
            gone = [] if before is None else [tx.photos.remove(before.id)]
            screen = tx.screens.get(video.said.screen_id or 0)
            key_id = self._store.key_for(tx.keys, video.club_id, screen.gymnast_id)
            new.append(self._store.put(png, key_id))
            found = measured.measurement
            photo_id = tx.photos.file(
                video.club_id,
                NewPhoto(
                    name=key_photo_name(video.name, measured.clip.key_s),
                    sha256=sha256,
                    size_bytes=len(png),
                    content_key=new[0],
                    screen_id=screen.id,
                    test=video.said.test,
                    near_side=found.near_side,
                    front=found.front,
                    taken_on=video.said.taken_on,
                ),
            ).photo.id
        if tx.photos.get(photo_id).state == "waiting":
            tx.jobs.add(video.club_id, MEASURE, photo_id=photo_id)
        tx.videos.show(video.id, photo_id)
        return gone

    @staticmethod
    def _replace_hold(
        tx: Tx, video: VideoRecord, measured: VideoMeasurement, timing_rel_sd: float
    ) -> None:
        tx.videos.remove_hold(video.id)
        held = measured.timed(timing_rel_sd=timing_rel_sd)
        if held is None or video.said.screen_id is None:
            return
        tx.screens.add_hold(
            video.said.screen_id,
            test=held.test,
            seconds=held.seconds,
            reached_cap=held.reached_cap,
            author=f"video {video.name}"[:200],
            video_id=video.id,
            rel_sd=held.rel_sd,
        )

    def _settle(self, video: VideoRecord, reason: str) -> VideoRecord:
        with self._records.transaction() as tx:
            tx.videos.settle(video.id, revision=video.revision, state="refused", reason=reason)
            return tx.videos.get(video.id)

    def give_up(self, video_id: int, error: str) -> VideoRecord | None:
        """Say that chordline failed on a video; None where it is gone."""
        with self._records.reading() as tx:
            try:
                video = tx.videos.get(video_id)
            except NotThereError:
                return None
        return self._settle(
            video, f"chordline failed on this video ({error[:300]}); name another part of it, "
            "and report it"
        )  # fmt: skip


def key_photo_name(name: str, t_s: float) -> str:
    """Return what the photo of a video's moment is called."""
    return f"{name[:230]} at {t_s:.1f} s"


def _photo_of(tx: Tx, video: VideoRecord) -> PhotoRecord | None:
    if video.key_photo_id is None:
        return None
    try:
        return tx.photos.get(video.key_photo_id)
    except NotThereError:
        return None


def _owner_of(tx: Tx, video: VideoRecord) -> GymnastRecord | None:
    if video.said.screen_id is None:
        return None
    return tx.gymnasts.get(tx.screens.get(video.said.screen_id).gymnast_id)
