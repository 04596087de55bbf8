"""Videos among the photos of a folder."""

from pathlib import Path

import numpy as np
import pytest

from application_doubles import PRONE, DictCache, FakeCards, FakePoses, FakeReader, body_of
from chordline.application.find_limits import FindLimits
from chordline.application.findings import CapacityFinding
from chordline.application.folder import FolderContents, ScreenRow
from chordline.application.headway import Silent
from chordline.application.judge_folder import judge_folder
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.screen_folder import FolderScreen, ScreenFolder
from chordline.catalogue.segments import our_segments
from chordline.core.geometry.angles import Floats
from moving_bodies import even_times, place_joints, ramp
from video_doubles import CATALOGUE, Desk, MadeBody, landmarks_of

T = even_times(12.0)


def get_in_and_sag(t: Floats) -> Floats:
    """On her knees, in shape from 2 s on, sagging from 6 s on: 12 degrees at 7.5 s."""
    return np.where(t < 4.0, ramp(1.0, 80.0, 0.0, -80.0)(t), ramp(6.0, -8.0, -40.0)(t))


SAG = MadeBody(T, landmarks_of(place_joints(T, hip=get_in_and_sag)))


def screened(*names: str, desk: Desk | None = None, **contents: object) -> FolderScreen:
    desk = desk or Desk(SAG)
    photos = MeasurePhoto(FakeReader(), FakeCards(), FakePoses((body_of(PRONE),)), CATALOGUE)
    use_case = ScreenFolder(photos, CATALOGUE, FakeReader(), desk.use_case())
    return use_case(
        FolderContents(photos=tuple(map(Path, names)), **contents),  # type: ignore[arg-type]
        cache=DictCache(),
        progress=Silent(),
        video_store=desk.store,
    )


def front_chain(result: FolderScreen) -> CapacityFinding:
    (found,) = judge_folder(result, screen="x", find=FindLimits(CATALOGUE, our_segments()))
    return next(one for one in found.capacities if one.name == "front_chain_s")


def test_a_video_is_filed_beside_the_photos() -> None:
    result = screened("13_prone-overhead.jpg", "13_hold-front.mp4")
    (one,) = result.gymnasts
    assert [filed.measurement.photo for filed in one.filed] == [
        "13_prone-overhead.jpg",
        "13_hold-front.mp4",
    ]
    assert [filed.video is not None for filed in one.filed] == [False, True]
    assert result.left_out == ()


def test_its_hold_counts_as_one_by_stopwatch_does() -> None:
    (one,) = screened("13_hold-front.mp4").gymnasts
    (held,) = one.held
    assert held.test == "hold-front"
    assert held.source == "13_hold-front.mp4"
    assert held.seconds == pytest.approx(5.5, abs=0.4)
    assert not held.reached_cap


def test_a_short_hold_says_that_the_front_is_weak() -> None:
    alone = front_chain(screened("13_prone-overhead.jpg"))
    filmed = front_chain(screened("13_prone-overhead.jpg", "13_hold-front.mp4"))
    assert filmed.mean > alone.mean + 0.3
    assert filmed.p_limiter > 0.75
    assert filmed.tested


def test_a_broken_video_is_left_out_with_its_reason() -> None:
    result = screened("13_hold-front.mp4", "13_hold-back broken.mp4")
    (left,) = result.left_out
    assert left.file == "13_hold-back broken.mp4"
    assert left.reason == "its index is missing; copy it from the phone again"


def test_the_card_in_a_video_says_whose_it_is() -> None:
    result = screened("hold-front.mp4", desk=Desk(SAG, cards=(14,)))
    assert [one.gymnast.card for one in result.gymnasts] == [14]


def test_the_coachs_word_counts_for_a_video_too() -> None:
    row = ScreenRow("clip.mp4", gymnast="15", test="hold-front", near_side="left")
    result = screened("clip.mp4", rows={"clip.mp4": row})
    (one,) = result.gymnasts
    assert one.gymnast.card == 15
    assert one.filed[0].measurement.front_origin == "given"


def test_its_picture_can_be_shown() -> None:
    (one,) = screened("13_hold-front.mp4").gymnasts
    assert one.filed[0].read().name == "13_hold-front.mp4"
