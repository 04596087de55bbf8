"""The daily work of consents: pictures that have to go go, what may be measured again is queued."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from chordline.application.club.consent import (
    NOT_ALLOWED,
    ConsentRules,
    KeptPicture,
    allowed_on,
    goes_on,
)
from chordline.application.club.keep_videos import KeepVideos
from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import GymnastRecord
from chordline.application.club.take_in import AGAIN, MEASURE
from chordline.application.club.take_in_video import MEASURE_VIDEO
from chordline.application.club.video_records import VideoQuery, VideoRecord
from chordline.application.club.views import PhotoView
from chordline.application.roster.match import all_gymnasts

#: More screens or videos than anybody has.
_ALL = 10_000

Went = Literal["picture", "photo", "video file", "video"]


@dataclass(frozen=True)
class Dropped:
    """What has to go, or went.

    Attributes
    ----------
    gymnast : GymnastRecord
    what : {'picture', 'photo', 'video file', 'video'}
        'picture' and 'video file': marks and measures stay. 'photo' and 'video': it was never
        measured, so nothing of it stays.
    id : int
        Of the photo or video.
    goes_on : date
        Since when it may be here no more.
    """

    gymnast: GymnastRecord
    what: Went
    id: int
    goes_on: date


@dataclass(frozen=True)
class Applied:
    """What the work did.

    Attributes
    ----------
    dropped : tuple of Dropped
    queued : int
        Photos and videos that are measured now that it is allowed.
    """

    dropped: tuple[Dropped, ...]
    queued: int

    def words(self) -> tuple[str, ...]:
        """Return sentences for a log; by number, without names."""
        told = [
            f"{one.what} {one.id} of gymnast {one.gymnast.id} deleted: what her family allowed "
            f"let it stay until {one.goes_on.isoformat()}"
            for one in self.dropped
        ]
        if self.queued:
            told.append(f"{self.queued} photos and videos are measured now that it is allowed")
        return tuple(told)


class ApplyConsent:
    """Use case: do what consents ask for on a day. Killed at any moment, the next run goes on."""

    def __init__(
        self,
        records: Records,
        store: PhotoStore,
        pictures: StoredPictures,
        videos: Callable[[], KeepVideos],
        rules: ConsentRules,
    ) -> None:
        self._records = records
        self._store = store
        self._pictures = pictures
        self._videos = videos
        self._rules = rules

    def __call__(self, club_id: int, today: date) -> Applied:
        """Delete what may be here no more, and queue what may be measured again."""
        dropped = []
        for one in self.due(club_id, today):
            self._drop(one)
            dropped.append(one)
        if dropped:
            self._pictures.forget()
        return Applied(tuple(dropped), self.take_up(club_id, today))

    def due(self, club_id: int, today: date) -> tuple[Dropped, ...]:
        """Return what has to go today, without touching it."""
        with self._records.reading() as tx:
            return tuple(
                one for one in self._all_that_goes(tx, club_id, today) if one.goes_on <= today
            )

    def to_come(self, gymnast_id: int, today: date) -> tuple[Dropped, ...]:
        """Return what of a gymnast's has to go, today or later, the first first."""
        with self._records.reading() as tx:
            hers = self._hers(tx, tx.gymnasts.get(gymnast_id), today)
            return tuple(sorted(hers, key=lambda one: (one.goes_on, one.what, one.id)))

    def take_up(self, club_id: int, today: date) -> int:
        """Queue photos and videos that waited for the family, where it allows measuring now."""
        queued = 0
        with self._records.transaction() as tx:
            after = None
            while True:
                page = tx.photos.queue(club_id, after=after, limit=100)
                for row in page.rows:
                    if self._may_now(tx, row.photo.reason, row.gymnast_id, today):
                        tx.jobs.add(club_id, MEASURE, photo_id=row.photo.id, payload={AGAIN: True})
                        queued += 1
                after = page.next
                if after is None:
                    break
            for video_row in tx.videos.find(VideoQuery(club_id, state="refused", limit=_ALL)):
                video = video_row.video
                if self._may_now(tx, video.reason, video_row.gymnast_id, today):
                    tx.videos.settle(video.id, revision=video.revision, state="waiting")
                    tx.jobs.add(club_id, MEASURE_VIDEO, video_id=video.id)
                    queued += 1
        return queued

    def _may_now(self, tx: Tx, reason: str | None, gymnast_id: int | None, today: date) -> bool:
        if gymnast_id is None or not (reason or "").startswith(NOT_ALLOWED):
            return False
        consent = tx.gymnasts.get(gymnast_id).consent
        return allowed_on(consent, today, self._rules).measure

    def _all_that_goes(self, tx: Tx, club_id: int, today: date) -> Iterator[Dropped]:
        for archived in (False, True):
            for row in all_gymnasts(tx, club_id, archived=archived):
                if self._everything_stays(row.gymnast, today):
                    continue
                yield from self._hers(tx, row.gymnast, today)

    def _everything_stays(self, her: GymnastRecord, today: date) -> bool:
        """Return whether nothing of hers can have to go; asked first, because it is quick."""
        allowed = allowed_on(her.consent, today, self._rules)
        return allowed.stand != "ended" and allowed.measure and allowed.keep_pictures

    def _hers(self, tx: Tx, her: GymnastRecord, today: date) -> Iterator[Dropped]:
        for screen in tx.gymnasts.view(her.id, screens=_ALL).screens:
            for view in screen.photos:
                if view.photo.content_key is not None:
                    yield from self._if_it_goes(her, _kept_photo(view), _photo_goes(view), today)
        for row in tx.videos.find(VideoQuery(her.club_id, gymnast_id=her.id, limit=_ALL)):
            if row.video.content_key is None:
                continue
            read = tx.videos.measurement(row.video.id) is not None
            kept = KeptPicture(row.video.received_at.date(), _video_ended(row.video))
            went: tuple[Went, int] = ("video file" if read else "video", row.video.id)
            yield from self._if_it_goes(her, kept, went, today)

    def _if_it_goes(
        self, her: GymnastRecord, kept: KeptPicture, went: tuple[Went, int], today: date
    ) -> Iterator[Dropped]:
        day = goes_on(her.consent, kept, today, self._rules)
        if day is not None:
            yield Dropped(her, went[0], went[1], day)

    def _drop(self, one: Dropped) -> None:
        """Delete one thing: its row, then its file."""
        if one.what == "video":
            self._videos().take_out(one.id)
            return
        if one.what == "video file":
            videos = self._videos()
            videos.call_off(one.id)
            videos.drop_file(one.id)
            return
        with self._records.transaction() as tx:
            book = tx.photos
            key = book.forget_picture(one.id) if one.what == "picture" else book.remove(one.id)
        let_go(self._records, self._store, [key])


def _kept_photo(view: PhotoView) -> KeptPicture:
    photo = view.photo
    waits = photo.state == "waiting" or (photo.reason or "").startswith(NOT_ALLOWED)
    return KeptPicture(
        photo.received_at.date(), not waits or view.measurement is not None, bool(photo.checked_by)
    )


def _photo_goes(view: PhotoView) -> tuple[Went, int]:
    stays = view.measurement is not None or view.marks is not None
    return ("picture" if stays else "photo"), view.photo.id


def _video_ended(video: VideoRecord) -> bool:
    if (video.reason or "").startswith(NOT_ALLOWED):
        return False
    return video.state in ("measured", "needs_look", "refused")
