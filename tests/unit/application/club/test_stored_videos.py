"""Videos of the records: taken in, measured, measured on after a kill, and what they leave."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from stored_videos import Studio, open_studio, swaying
from test_measure_video import lying

from application_doubles import FakeReader
from chordline.application.club.her_screen import counting_holds
from chordline.application.club.take_in import MEASURE, TakeInPhoto
from chordline.application.club.take_in_folder import TakeInFolder
from chordline.application.club.take_in_video import IncomingVideo
from chordline.application.folder import FolderContents, ScreenRow
from chordline.application.headway import Silent
from chordline.application.marks import HandMarks
from chordline.core.body.track import Track
from chordline.errors import PictureError, RefusedInputError
from club_stories import MONDAY, TUESDAY, new_photo
from video_doubles import CATALOGUE, PIECE


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    with open_studio(tmp_path) as studio:
        yield studio


# Coming in


def test_a_video_waits_until_somebody_asks(studio: Studio) -> None:
    video = studio.bring()
    assert (video.state, video.said.test) == ("arrived", "hold-front")
    assert video.said.screen_id is not None  # card 0 is in its name
    assert studio.one() is None
    assert studio.ask(video.id).state == "waiting"
    assert studio.bring("again.mp4").id == video.id


def test_what_is_no_video_leaves_nothing(studio: Studio) -> None:
    with pytest.raises(PictureError, match="is not a video"):
        studio.bring(content=b"\xff\xd8\xff picture")
    with pytest.raises(PictureError, match="index is missing"):
        studio.bring("broken.mp4")
    assert studio.store.kept == {}


def test_an_upload_that_is_cut_off_leaves_nothing(studio: Studio) -> None:
    class Cut:
        def read(self, size: int) -> bytes:
            if not self.first:
                raise ConnectionError
            self.first = False
            return b"video" * 200

        first = True

    incoming = IncomingVideo("0_hold-front.mp4", Cut(), MONDAY)  # type: ignore[arg-type]
    with pytest.raises(ConnectionError):
        studio.take_in(studio.club.id, incoming, today=TUESDAY)
    assert studio.store.kept == {}


def test_a_video_that_is_too_long_waits_for_its_part(tmp_path: Path) -> None:
    with open_studio(tmp_path, lying(40.0)) as studio:
        video = studio.bring(measure=True)
        assert video.state == "arrived"
        assert "choose the part" in (video.reason or "")
        with pytest.raises(RefusedInputError, match="40 seconds are more than the 30 seconds"):
            studio.ask(video.id)
        assert studio.ask(video.id, from_s=2.0, to_s=12.0).state == "waiting"
        with pytest.raises(RefusedInputError, match="ends before it begins"):
            studio.ask(video.id, from_s=14.0)


def test_nobodys_video_is_not_measured(studio: Studio) -> None:
    video = studio.bring("clip.mp4", measure=True)
    assert video.state == "arrived"
    with pytest.raises(RefusedInputError, match="choose the test"):
        studio.ask(video.id)
    with pytest.raises(RefusedInputError, match="choose whose"):
        studio.ask(video.id, test="hold-front")
    asked = studio.ask(video.id, test="hold-front", gymnast_id=studio.girls[1].id)
    assert asked.state == "waiting"


def test_a_folder_brings_videos_among_its_photos(studio: Studio, tmp_path: Path) -> None:
    names = ("0_hold-front.mp4", "clip.mp4", "line.mp4", "marked.mp4")
    paths = tuple(tmp_path / name for name in names)
    for path in paths:
        path.write_bytes(b"video " + path.name.encode())
    photos = TakeInPhoto(studio.records, studio.store, FakeReader(), CATALOGUE)
    use_case = TakeInFolder(
        studio.records,
        photos,
        studio.judge,
        CATALOGUE,
        videos=studio.take_in,
        is_video=lambda path: path.suffix == ".mp4",
    )
    contents = FolderContents(
        paths,
        rows={"line.mp4": ScreenRow("line.mp4", "Ida Sol", "hold-back", near_side="left")},
        marks={"marked.mp4": HandMarks(None, None, {})},
    )
    how = {"day": MONDAY, "today": TUESDAY, "author": "Kim", "progress": Silent()}
    taken = use_case(studio.club.id, contents, **how)  # type: ignore[arg-type]
    states = {one.video.name: one.video.state for one in taken.videos}
    assert states == {
        "0_hold-front.mp4": "waiting",
        "clip.mp4": "arrived",
        "line.mp4": "waiting",
    }
    said = taken.videos[2].video.said
    assert (said.test, said.near_side) == ("hold-back", "left")
    assert [one.file for one in taken.left_out] == ["marked.mp4"]
    again = use_case(studio.club.id, contents, **how)  # type: ignore[arg-type]
    assert (taken.new_videos, again.new_videos) == (3, 0)


# What it gives


def test_a_measured_video_gives_its_best_moment_and_its_hold(studio: Studio) -> None:
    video = studio.measured()
    view = studio.screen(video)
    (shown,), (hold,) = view.photos, view.holds
    assert video.state == "measured"
    assert (shown.photo.id, shown.photo.test) == (video.key_photo_id, "hold-front")
    assert shown.photo.name.startswith("0_hold-front.mp4 at ")
    assert shown.photo.near_side == "left"
    assert hold.seconds == pytest.approx(4.0, abs=0.5)
    assert 0.0 < (hold.rel_sd or 0.0) < 0.1
    assert not hold.reached_cap
    worked = studio.one()  # the photo goes the way of every photo
    assert worked is not None
    assert worked.photo is not None
    assert worked.photo.id == video.key_photo_id
    assert counting_holds(studio.screen(video)) == (hold,)


def test_measured_again_it_counts_once(studio: Studio) -> None:
    video = studio.measured()
    studio.one()
    first = studio.screen(video)
    studio.ask(video.id)
    studio.one()
    again = studio.screen(video)
    assert [one.photo.id for one in again.photos] == [one.photo.id for one in first.photos]
    assert len(again.holds) == 1
    assert len(studio.store.kept) == 2


def test_another_part_of_a_video_replaces_what_the_first_gave(studio: Studio) -> None:
    video = studio.measured()
    studio.ask(video.id, from_s=0.5)
    assert studio.screen(video).holds == ()
    assert studio.screen(video).photos == ()
    studio.one()
    assert (len(studio.screen(video).photos), len(studio.screen(video).holds)) == (1, 1)
    assert len(studio.store.kept) == 2


def test_seconds_of_a_watch_give_way_to_a_video_of_that_day(studio: Studio) -> None:
    video = studio.measured()
    with studio.records.transaction() as tx:
        by_hand = tx.screens.add_hold(
            video.said.screen_id or 0, test="hold-front", seconds=9.0, reached_cap=False,
            author="Kim",
        )  # fmt: skip
    assert by_hand in counting_holds(studio.screen(video))  # the photo is not measured yet
    studio.one()
    (counts,) = counting_holds(studio.screen(video))
    assert counts.video_id == video.id
    studio.keep.take_out(video.id)
    view = studio.screen(video)
    assert (view.photos, counting_holds(view)) == ((), (by_hand,))
    assert studio.store.kept == {}


def test_a_dropped_file_leaves_landmarks_record_and_best_moment(studio: Studio) -> None:
    video = studio.measured(keep_file=False)
    assert video.content_key is None
    assert studio.pieces(video.id) == 4
    assert len(studio.screen(video).photos) == 1
    with studio.records.reading() as tx:
        assert tx.videos.measurement(video.id) is not None
    with pytest.raises(RefusedInputError, match="not kept any more"):
        studio.ask(video.id)
    moved = studio.ask(video.id, gymnast_id=studio.girls[1].id)
    view = studio.screen(moved)
    assert (moved.state, len(view.holds), len(view.photos)) == ("measured", 1, 1)
    assert studio.screen(video).holds == ()


def test_who_is_never_found_is_told_why(studio: Studio) -> None:
    studio.desk.poses.blind = True
    video = studio.measured()
    assert video.state == "refused"
    assert "no body was found" in (video.reason or "")
    assert video.content_key is not None


def test_sway_is_told_of_a_hold_on_the_hands(tmp_path: Path) -> None:
    with open_studio(tmp_path, swaying()) as studio:
        video = studio.measured(content=b"video of hands", name="0_handstand.mp4")
        with studio.records.reading() as tx:
            kept = tx.videos.measurement(video.id)
    assert kept is not None
    sway = kept.record["sway"]
    assert sway["rms_distance"]["told"]
    # The centre of mass, a good 0.6 of her length above the hand, turns by ±2°.
    assert sway["rms_distance"]["unit"] == "pct"
    assert sway["rms_distance"]["value"] == pytest.approx(1.5, rel=0.25)


# Stopped


class KilledError(BaseException):
    """The program ends."""


def test_a_killed_measuring_goes_on_where_it_was(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    video = studio.bring(measure=True)
    track = studio.desk.body.track

    def killed(part: slice) -> Track:
        if part.start >= 2 * PIECE:
            raise KilledError
        return track(part)

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", killed)
        with pytest.raises(KilledError):
            studio.one()
    assert studio.pieces(video.id) == 2
    assert studio.one() is None  # its worker may be alive
    with studio.records.transaction() as tx:
        tx.jobs.give_back()
    studio.desk.tracker.frames_shown = 0
    studio.one()
    assert studio.video(video.id).state == "measured"
    assert studio.desk.tracker.frames_shown == len(studio.desk.body.t_s) - 2 * PIECE


def test_called_off_it_stops_and_asked_again_goes_on(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    video = studio.bring(measure=True)
    track = studio.desk.body.track
    told: list[float | None] = []

    def called_off(part: slice) -> Track:
        if part.start == 2 * PIECE:
            headway = studio.running.of(video.id)
            assert headway is not None
            told.append(headway.share)
            studio.keep.call_off(video.id)
        return track(part)

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", called_off)
        studio.one()
    assert told == [pytest.approx(0.9 * 12 / 14, abs=0.1)]
    assert studio.running.of(video.id) is None
    assert studio.video(video.id).state == "arrived"
    assert 2 <= studio.pieces(video.id) <= 3
    assert studio.one() is None
    studio.ask(video.id)
    studio.one()
    assert studio.video(video.id).state == "measured"


def test_called_off_by_another_program_it_stops_at_the_next_piece(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    video = studio.bring(measure=True)
    track = studio.desk.body.track

    def called_off(part: slice) -> Track:
        if part.start == PIECE:
            with studio.records.transaction() as tx:
                tx.jobs.call_off(video.id)
        return track(part)

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", called_off)
        assert studio.one() is None
    assert studio.pieces(video.id) == 2
    assert studio.screen(video).photos == ()


def test_another_way_of_measuring_ends_the_one_before(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    video = studio.bring(measure=True)
    track = studio.desk.body.track

    def changed(part: slice) -> Track:
        if part.start == 2 * PIECE:
            studio.ask(video.id, gymnast_id=studio.girls[1].id)
        return track(part)

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", changed)
        studio.one()
    assert studio.video(video.id).state == "waiting"
    studio.one()
    after = studio.video(video.id)
    assert after.state == "measured"
    assert len(studio.screen(after).holds) == 1
    assert studio.screen(video).holds == ()


def test_a_program_that_ends_leaves_the_video_waiting(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    video = studio.bring(measure=True)
    track = studio.desk.body.track

    def ending(part: slice) -> Track:
        if part.start == 2 * PIECE:
            studio.running.stop_all()
        return track(part)

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", ending)
        assert studio.one() is None
    assert studio.video(video.id).state == "waiting"
    worked = studio.one()
    assert worked is not None
    assert worked.video is not None
    assert worked.video.state == "measured"


def test_a_video_that_makes_chordline_fail_does_not_stop_the_others(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    video = studio.bring(measure=True)

    def fail(part: slice) -> Track:
        raise ZeroDivisionError

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", fail)
        studio.one()
    assert studio.video(video.id).state == "refused"
    assert "report it" in (studio.video(video.id).reason or "")
    with studio.records.reading() as tx:
        assert tx.jobs.counts(studio.club.id)["failed"] == 1


# Photos come first


def test_photos_do_not_wait_for_the_end_of_a_video(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    studio.bring(measure=True)
    track = studio.desk.body.track

    def a_photo_comes(part: slice) -> Track:
        if part.start == PIECE:
            with studio.records.transaction() as tx:
                key = studio.store.put(b"broken")
                photo = tx.photos.file(studio.club.id, new_photo("a.jpg", content_key=key)).photo
                tx.jobs.add(studio.club.id, MEASURE, photo_id=photo.id)
        return track(part)

    with monkeypatch.context() as patch:
        patch.setattr(studio.desk.body, "track", a_photo_comes)
        worked = studio.one()
    assert worked is not None
    assert worked.video is not None
    (photo,) = studio.told
    assert photo.photo is not None
    assert photo.photo.name == "a.jpg"
