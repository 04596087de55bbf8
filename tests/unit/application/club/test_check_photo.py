"""The coach looks at a photo's marks."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from stored_photos import Gym, hand_marks, open_gym

from application_doubles import PRONE
from chordline.application.club.records import StaleMarksError
from chordline.application.marks import HandMarks
from chordline.application.measurement_json import measurement_from_json
from chordline.core.body.measurement import Mark
from chordline.errors import MarksError, RefusedInputError


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    with open_gym(tmp_path) as gym:
        yield gym


def as_measured(gym: Gym, photo_id: int) -> HandMarks:
    view = gym.view(photo_id)
    assert view.measurement is not None
    measured = measurement_from_json(dict(view.measurement.record))
    return HandMarks(measured.near_side, measured.front, measured.landmarks)


def history(gym: Gym, photo_id: int) -> list[tuple[str, bool]]:
    with gym.records.reading() as tx:
        return [(one.author, one.set_aside) for one in tx.photos.marks_history(photo_id)]


def test_marks_found_right_are_trusted_without_a_new_version(gym: Gym) -> None:
    photo = gym.measured("0_handstand.jpg")
    assert photo.state == "needs_look"
    marks = as_measured(gym, photo.id)
    after = gym.check(photo.id, marks, base_version=0, confirmed=True, author="Kim").photo
    assert (after.state, after.checked_by, after.marks_version) == ("measured", "Kim", 0)


def test_moved_marks_are_measured_at_once(gym: Gym) -> None:
    photo = gym.measured()
    view = gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=False, author="Kim")
    assert view.measurement is not None
    assert view.measurement.model == "hand marks"
    assert view.photo.marks_version == 1
    assert view.photo.checked_by is None


def test_the_job_of_moved_marks_does_not_undo_the_word_of_the_coach(gym: Gym) -> None:
    photo = gym.measured("0_handstand.jpg")
    gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=True, author="Kim")
    gym.work()
    after = gym.view(photo.id).photo
    assert (after.state, after.checked_by) == ("measured", "Kim")


def test_the_second_coach_is_told_and_both_versions_are_kept(gym: Gym) -> None:
    photo = gym.measured()
    gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=True, author="Kim")
    with pytest.raises(StaleMarksError, match="Kim marked this photo meanwhile") as stale:
        gym.check(photo.id, hand_marks(60.0), base_version=0, confirmed=True, author="Lou")
    assert stale.value.current.version == 1
    assert history(gym, photo.id) == [("Kim", False), ("Lou", True)]


def test_a_request_sent_twice_is_done_once(gym: Gym) -> None:
    photo = gym.measured()
    for _ in range(2):
        view = gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=True, author="Kim")
    assert view.photo.marks_version == 1
    assert history(gym, photo.id) == [("Kim", False)]


def test_two_coaches_who_say_the_same_are_no_conflict(gym: Gym) -> None:
    photo = gym.measured()
    gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=False, author="Kim")
    view = gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=True, author="Lou")
    assert view.photo.checked_by == "Lou"


@pytest.mark.parametrize(
    ("landmarks", "fault"),
    [
        ({"hip": Mark(9000.0, 10.0, 4.0, "hand")}, "outside the picture"),
        ({"tail": Mark(10.0, 10.0, 4.0, "hand")}, "no landmark"),
    ],
)
def test_marks_with_faults_are_refused_before_they_are_kept(
    gym: Gym, landmarks: dict[str, Mark], fault: str
) -> None:
    photo = gym.measured()
    marks = hand_marks()
    marks = replace(marks, landmarks={**marks.landmarks, **landmarks})
    with pytest.raises(MarksError, match=fault):
        gym.check(photo.id, marks, base_version=0, confirmed=True, author="Kim")
    assert history(gym, photo.id) == []
    assert gym.view(photo.id).photo == photo


def test_marks_that_a_test_needs_are_missed_by_name(gym: Gym) -> None:
    gym.poses.bodies = ()
    photo = gym.measured()
    marks = HandMarks("left", None, {"hip": Mark(*PRONE["hip"], 4.0, "hand")})
    with pytest.raises(MarksError, match="malleolus, knee, shoulder, hand"):
        gym.check(photo.id, marks, base_version=0, confirmed=True, author="Kim")


def test_where_nobody_was_found_marks_measure_it(gym: Gym) -> None:
    gym.poses.bodies = ()
    photo = gym.measured()
    after = gym.check(photo.id, hand_marks(), base_version=0, confirmed=True, author="Kim").photo
    assert (after.state, after.checked_by) == ("measured", "Kim")


@pytest.mark.parametrize(
    ("name", "reason"), [("prone-out.jpg", "whose photo it is"), ("0.jpg", "which test it is")]
)
def test_first_it_has_to_be_filed(gym: Gym, name: str, reason: str) -> None:
    photo = gym.measured(name)
    with pytest.raises(RefusedInputError, match=reason):
        gym.check(photo.id, hand_marks(), base_version=0, confirmed=True, author="Kim")


def test_without_its_picture_the_marks_stay_as_they_are(gym: Gym) -> None:
    photo = gym.measured("0_handstand.jpg")
    with gym.records.transaction() as tx:
        tx.photos.forget_picture(photo.id)
    with pytest.raises(RefusedInputError, match="not kept any more"):
        gym.check(photo.id, hand_marks(30.0), base_version=0, confirmed=True, author="Kim")
    marks = as_measured(gym, photo.id)
    after = gym.check(photo.id, marks, base_version=0, confirmed=True, author="Kim").photo
    assert after.state == "measured"
