"""The coach says what a video is and asks to measure it, calls it off, or takes it out."""

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records, Tx
from chordline.application.club.running_videos import Running
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.take_in import MEASURE
from chordline.application.club.take_in_video import MEASURE_VIDEO, why_too_long
from chordline.application.club.video_records import SAID_FIELDS, VideoRecord, VideoSaid
from chordline.application.video_ports import Span
from chordline.catalogue.schema import Catalogue
from chordline.conventions import Front, Side
from chordline.errors import ImpossibleRecordError, RefusedInputError


@dataclass(frozen=True)
class AskedOfVideo:
    """What the coach says when a video is to be measured; only what is in `given` changes.

    Attributes
    ----------
    given : frozenset of str
        Names of the other fields that were said.
    gymnast_id, test, day, near_side, front, person, from_s, to_s, keep_file
        As in `VideoSaid`.
    """

    given: frozenset[str]
    gymnast_id: int | None = None
    test: str | None = None
    day: date | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None
    from_s: float | None = None
    to_s: float | None = None
    keep_file: bool | None = None


class KeepVideos:
    """Use case: what is done with a video once it is there."""

    def __init__(
        self,
        records: Records,
        store: PhotoStore,
        judge: JudgeScreen,
        catalogue: Catalogue,
        *,
        longest_s: float,
        running: Running,
    ) -> None:
        self._records = records
        self._store = store
        self._judge = judge
        self._catalogue = catalogue
        self._longest_s = longest_s
        self._running = running
        self._seal = SealPictures(records, store)

    def ask(self, video_id: int, asked: AskedOfVideo, *, today: date) -> VideoRecord:
        """Queue a video for measuring, with what the coach says of it.

        Where that changes something, what the video gave to the findings is taken out at once.
        A video whose file is not kept can go to another gymnast or day, and no more.

        Raises
        ------
        RefusedInputError
            Where gymnast or test are not known, the part is too long or lies outside, or there is
            no file to measure; nothing changes then.
        """
        gone: list[str | None] = []
        with self._records.transaction() as tx:
            before = tx.videos.get(video_id)
            said = self._said(tx, before, asked, today)
            if before.content_key is None:
                after = self._refile(tx, before, said)
            else:
                self._check(before, said)
                after = self._queue(tx, before, said, gone)
        let_go(self._records, self._store, gone)
        if after.content_key is not None and after.revision != before.revision:
            self._running.stop(video_id)
        self._seal.filed("video", video_id)
        if after.key_photo_id is not None:
            self._seal.filed("photo", after.key_photo_id)
        self._judge_both(before, after)
        return after

    def call_off(self, video_id: int) -> VideoRecord:
        """Stop measuring a video, or let it wait no more; what was read so far is kept."""
        with self._records.transaction() as tx:
            video = tx.videos.get(video_id)
            tx.jobs.call_off(video_id)
            if video.state == "waiting":
                tx.videos.settle(video_id, revision=video.revision, state="arrived")
            after = tx.videos.get(video_id)
        self._running.stop(video_id)
        return after

    def take_out(self, video_id: int) -> None:
        """Remove a video for good, with its file, landmarks, hold and the photo it became."""
        with self._records.transaction() as tx:
            video = tx.videos.get(video_id)
            keys = [_remove_photo(tx, video), tx.videos.remove(video_id)]
        let_go(self._records, self._store, keys)
        self._running.stop(video_id)
        self._judge_both(video, None)

    def drop_file(self, video_id: int) -> VideoRecord:
        """Delete a video's file; landmarks, record and the photo of its best moment stay."""
        with self._records.transaction() as tx:
            video = tx.videos.get(video_id)
            if video.state == "waiting":
                raise RefusedInputError(
                    "this video is waiting for measuring; call it off first, or let it end"
                )
            key = tx.videos.forget_file(video_id)
            after = tx.videos.get(video_id)
        let_go(self._records, self._store, [key])
        return after

    def _said(self, tx: Tx, video: VideoRecord, asked: AskedOfVideo, today: date) -> VideoSaid:
        given: dict[str, Any] = {
            one.name: getattr(asked, one.name)
            for one in fields(asked)
            if one.name in asked.given and one.name in SAID_FIELDS
        }
        if given.get("keep_file", True) is None:
            del given["keep_file"]
        if given.get("test") is not None and given["test"] not in self._catalogue.tests:
            known = ", ".join(self._catalogue.tests)
            raise RefusedInputError(f"no test is called '{given['test']}'; known are {known}")
        screen_id = video.said.screen_id
        screen = None if screen_id is None else tx.screens.get(screen_id)
        gymnast_id = None if screen is None else screen.gymnast_id
        if "gymnast_id" in asked.given:
            gymnast_id = asked.gymnast_id
        day = asked.day if "day" in asked.given else None
        if day is None:
            filed_on = None if screen is None else screen.screened_on
            day = filed_on or video.said.taken_on or video.received_at.date()
        if day > today:
            raise ImpossibleRecordError("screened_in_the_future", "the day lies in the future")
        given["taken_on"] = day
        given["screen_id"] = None if gymnast_id is None else tx.screens.on(gymnast_id, day).id
        return replace(video.said, **given)

    def _check(self, video: VideoRecord, said: VideoSaid) -> None:
        if said.test is None:
            raise RefusedInputError("choose the test that she does in this video")
        if said.screen_id is None:
            raise RefusedInputError("choose whose video it is")
        whole = video.facts.duration_s
        begin = said.from_s or 0.0
        if said.to_s is not None and said.to_s <= begin:
            raise RefusedInputError("the part ends before it begins; choose it anew")
        if whole is not None and begin >= whole:
            raise RefusedInputError(f"the part begins after the video's end at {whole:.1f} s")
        too_long = why_too_long(video.facts, Span(said.from_s, said.to_s), self._longest_s)
        if too_long is not None:
            raise RefusedInputError(too_long)

    def _queue(
        self, tx: Tx, before: VideoRecord, said: VideoSaid, gone: list[str | None]
    ) -> VideoRecord:
        after = tx.videos.say(before.id, said)
        if after.revision != before.revision:
            tx.jobs.call_off(before.id)
            tx.videos.remove_hold(before.id)
            gone.append(_remove_photo(tx, before))
        if after.state != "waiting" or tx.jobs.of_video(after.id) is None:
            tx.videos.settle(after.id, revision=after.revision, state="waiting")
            tx.jobs.add(after.club_id, MEASURE_VIDEO, video_id=after.id)
        return tx.videos.get(after.id)

    def _refile(self, tx: Tx, before: VideoRecord, said: VideoSaid) -> VideoRecord:
        """Move what a video gave to another screen."""
        moved = replace(before.said, screen_id=said.screen_id, taken_on=said.taken_on)
        if said != moved or said.screen_id is None or said == before.said:
            raise RefusedInputError(
                "its file is not kept any more, so it cannot be measured again; leave it, or film "
                "the test again"
            )
        tx.videos.refile(before.id, screen_id=said.screen_id, taken_on=said.taken_on)
        if before.key_photo_id is not None:
            photo = tx.photos.move(before.key_photo_id, screen_id=said.screen_id, test=said.test)
            if photo.state == "waiting":
                tx.jobs.add(photo.club_id, MEASURE, photo_id=photo.id)
        return tx.videos.get(before.id)

    def _judge_both(self, before: VideoRecord, after: VideoRecord | None) -> None:
        """Judge the screens whose evidence changed."""
        screens = {before.said.screen_id, None if after is None else after.said.screen_id}
        if after is not None and after.revision == before.revision and len(screens) == 1:
            return
        for screen_id in sorted(one for one in screens if one is not None):
            self._judge(screen_id)


def _remove_photo(tx: Tx, video: VideoRecord) -> str | None:
    return None if video.key_photo_id is None else tx.photos.remove(video.key_photo_id)
