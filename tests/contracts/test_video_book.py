"""What the records of videos promise, in SQLite and in PostgreSQL."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord
from chordline.application.club.video_records import (
    NewVideo,
    VideoFacts,
    VideoQuery,
    VideoRecord,
    VideoSaid,
)
from chordline.core.body.track import Track
from chordline.errors import ImpossibleRecordError, NotThereError
from club_stories import MONDAY, TUESDAY, file_photo, found_club, measured

Reopen = Callable[[], SqlRecords]
LEASE = timedelta(minutes=5)
FACTS = VideoFacts(12.5, 1920, 1080, 960, 29.97)
KIND = "measure_video"


def new_video(name: str = "13_handstand.mp4", *, digit: str = "a", **said: object) -> NewVideo:
    return NewVideo(
        name=name,
        sha256=digit * 64,
        size_bytes=3_000_000_000,
        content_key=f"plain-{digit * 64}",
        facts=FACTS,
        said=VideoSaid(**said),  # type: ignore[arg-type]
    )


def hers(tx: Tx, girl: GymnastRecord, *, digit: str = "a") -> VideoRecord:
    """A measured video of hers, with a hold and the photo of its best moment."""
    screen = tx.screens.on(girl.id, MONDAY)
    new = new_video(digit=digit, screen_id=screen.id, test="handstand", taken_on=MONDAY)
    video = tx.videos.file(girl.club_id, new).video
    photo = file_photo(tx, girl, f"{digit} at 3.0 s", "handstand")
    tx.videos.show(video.id, photo.id)
    tx.videos.keep_piece(video.id, "way", 0, piece(0.0))
    tx.videos.save_measurement(video.id, measured(), revision=video.revision, catalogue="c1")
    tx.videos.settle(video.id, revision=video.revision, state="measured")
    tx.screens.add_hold(
        screen.id, test="handstand", seconds=8.0, reached_cap=False, author="video", rel_sd=0.03,
        video_id=video.id,
    )  # fmt: skip
    return tx.videos.get(video.id)


def piece(begin_s: float) -> Track:
    t = begin_s + np.arange(30) / 30.0
    xy = np.random.default_rng(1).normal(400.0, 90.0, (30, 2, 10, 2))
    xy[7] = np.nan
    return Track(t, xy, t - 3.0, t + 3.0, np.ones(30), np.ones((30, 4)))


def test_a_video_is_there_tomorrow_and_is_filed_once(records: SqlRecords, open_again: Reopen):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        screen = tx.screens.on(anna.id, MONDAY)
        said = {"screen_id": screen.id, "test": "handstand", "from_s": 1.5, "keep_file": False}
        filed = tx.videos.file(club.id, new_video(**said))
        assert not filed.already_there
        assert (filed.video.state, filed.video.facts) == ("arrived", FACTS)
        again = tx.videos.file(club.id, new_video("other name.mov"))
        assert (again.already_there, again.video) == (True, filed.video)
    with open_again().reading() as tx:
        assert tx.videos.get(filed.video.id) == filed.video
        assert tx.videos.with_sha256(club.id, "A" * 64) == filed.video
        with pytest.raises(NotThereError, match="video 99"):
            tx.videos.get(99)


def test_a_video_whose_file_was_deleted_gets_it_back_when_it_comes_again(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    with records.transaction() as tx:
        video = tx.videos.file(club.id, new_video()).video
        assert tx.photos.not_needed([video.content_key or ""]) == ()
        assert tx.videos.forget_file(video.id) == video.content_key
        assert tx.videos.get(video.id).content_key is None
        again = tx.videos.file(club.id, replace(new_video(), content_key="plain-" + "b" * 64))
        assert again.already_there
        assert again.video.content_key == "plain-" + "b" * 64


def test_what_is_said_makes_an_earlier_measurement_count_no_more(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        video = hers(tx, anna)
        kept = tx.videos.say(video.id, replace(video.said, keep_file=False))
        assert (kept.state, kept.revision) == ("measured", 1)
        assert tx.videos.measurement(video.id) is not None
        trimmed = tx.videos.say(video.id, replace(kept.said, from_s=2.0))
        assert (trimmed.state, trimmed.revision) == ("arrived", 2)
        assert tx.videos.measurement(video.id) is None
        assert not tx.videos.settle(video.id, revision=1, state="measured")


def test_a_part_that_ends_before_it_begins_is_refused(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    with (
        pytest.raises(ImpossibleRecordError, match="ends after it begins"),
        records.transaction() as tx,
    ):
        tx.videos.file(club.id, new_video(from_s=2.0, to_s=1.0))


def test_landmarks_come_back_as_they_were_and_those_of_another_way_are_forgotten(
    records: SqlRecords, open_again: Reopen
):
    club, _ = found_club(records, "Anna")
    with records.transaction() as tx:
        video = tx.videos.file(club.id, new_video()).video
        for number in range(3):
            tx.videos.keep_piece(video.id, "way", number, piece(float(number)))
    with open_again().transaction() as tx:
        found = tx.videos.pieces(video.id, "way")
        assert len(found) == 3
        np.testing.assert_array_equal(found[1].sides_xy_px, piece(1.0).sides_xy_px)
        assert tx.videos.pieces(video.id, "other") == ()
        assert tx.videos.seen_until([video.id, 99]) == {video.id: pytest.approx(2.967, abs=1e-3)}
        tx.videos.keep_piece(video.id, "other", 0, piece(0.0))
        assert len(tx.videos.pieces(video.id)) == 1


def test_a_removed_video_takes_hold_landmarks_and_jobs_along(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        video = hers(tx, anna)
        screen_id = video.said.screen_id or 0
        tx.jobs.add(club.id, KIND, video_id=video.id)
        before = tx.screens.get(screen_id).revision
        assert tx.videos.remove(video.id) == video.content_key
        view = tx.screens.view(screen_id)
        assert (view.holds, len(view.photos)) == ((), 1)
        assert view.screen.revision > before
        assert tx.videos.pieces(video.id) == ()
        assert tx.jobs.counts(club.id)["waiting"] == 0


def test_a_removed_photo_leaves_its_video(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        video = hers(tx, anna)
        assert tx.videos.of_key_photo(video.key_photo_id or 0) == video
        view = tx.screens.view(video.said.screen_id or 0)
        assert view.key_photos == {video.id: video.key_photo_id}
        tx.photos.remove(video.key_photo_id or 0)
        assert tx.videos.get(video.id).key_photo_id is None


def test_erasing_a_gymnast_erases_her_videos_and_no_others(records: SqlRecords):
    club, (anna, bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        mine, others = hers(tx, anna), hers(tx, bea, digit="b")
        keys = tx.gymnasts.erase(anna.id)
        assert mine.content_key in keys
        assert others.content_key not in keys
        assert [row.video for row in tx.videos.find(VideoQuery(club.id))] == [others]
        assert tx.videos.pieces(mine.id) == ()


def test_a_video_moves_with_its_hold(records: SqlRecords):
    _, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        video = hers(tx, anna)
        other = tx.screens.on(anna.id, TUESDAY)
        tx.videos.refile(video.id, screen_id=other.id, taken_on=TUESDAY)
        assert tx.screens.view(video.said.screen_id or 0).holds == ()
        (hold,) = tx.screens.view(other.id).holds
        assert (hold.video_id, hold.rel_sd) == (video.id, 0.03)
        moved = tx.videos.get(video.id)
        assert (moved.revision, moved.state) == (video.revision, "measured")


def test_lists_tell_whose_videos_they_are(records: SqlRecords):
    club, (anna, bea) = found_club(records, "Anna", "Bea")
    with records.transaction() as tx:
        video = hers(tx, anna)
        tx.videos.file(club.id, new_video(digit="c"))
        screen_id = video.said.screen_id
        for query in (
            VideoQuery(club.id, screen_id=screen_id),
            VideoQuery(club.id, gymnast_id=anna.id),
            VideoQuery(club.id, state="measured"),
        ):
            (row,) = tx.videos.find(query)
            assert (row.video.id, row.gymnast, row.screened_on) == (video.id, "Anna", MONDAY)
        assert tx.videos.find(VideoQuery(club.id, gymnast_id=bea.id)) == ()
        assert [row.gymnast for row in tx.videos.find(VideoQuery(club.id))] == [None, "Anna"]
        assert tx.videos.counts(club.id).arrived == 1


def test_a_video_needs_no_look_once_its_best_moment_was_found_right(records: SqlRecords):
    club, (anna,) = found_club(records, "Anna")
    with records.transaction() as tx:
        video = hers(tx, anna)
        photo_id = video.key_photo_id or 0
        revision = tx.photos.get(photo_id).revision
        tx.videos.settle(video.id, revision=1, state="needs_look", reason="a far body")
        doubt = {"revision": revision, "reason": "a far body", "worry": 1.0}
        tx.photos.settle(photo_id, state="needs_look", **doubt)
        assert [row.video.id for row in tx.videos.looks(club.id)] == [video.id]
        tx.photos.settle(photo_id, revision=revision, state="measured", checked_by="Kim")
        assert tx.videos.looks(club.id) == ()


def test_a_job_is_renewed_by_its_worker_alone_and_called_off_by_anybody(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    with records.transaction() as tx:
        video = tx.videos.file(club.id, new_video()).video
        first = tx.jobs.add(club.id, KIND, video_id=video.id)
        assert tx.jobs.add(club.id, KIND, video_id=video.id).id == first.id
        for _ in range(2):
            taken = tx.jobs.take("one", lease=timedelta(seconds=-1), kinds=[KIND])
        assert taken is not None
        assert (taken.video_id, taken.attempts) == (video.id, 2)
        assert not tx.jobs.renew(taken.id, "other", lease=LEASE)
        assert tx.jobs.renew(taken.id, "one", lease=LEASE)
        now = tx.jobs.of_video(video.id)
        assert now is not None
        assert now.attempts == 1  # it got on, so it is none that never ends
        tx.jobs.call_off(video.id)
        assert not tx.jobs.renew(taken.id, "one", lease=LEASE)
        assert tx.jobs.of_video(video.id) is None


def test_a_job_of_a_killed_program_waits_again_once(records: SqlRecords):
    club, _ = found_club(records, "Anna")
    with records.transaction() as tx:
        videos = [tx.videos.file(club.id, new_video(digit=one)).video for one in "ab"]
        for video in videos:
            tx.jobs.add(club.id, KIND, video_id=video.id)
            tx.jobs.take("killed", lease=LEASE)
        tx.jobs.add(club.id, KIND, video_id=videos[0].id)
        assert tx.jobs.give_back() == 1
        assert tx.jobs.counts(club.id) == {"waiting": 2, "running": 0, "failed": 0}
