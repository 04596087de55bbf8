"""Where scatter comes from: known sources are found again, with intervals that hold."""

import numpy as np
import pytest

from chordline.core.geometry.angles import Floats
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.repeatability_sources import Component, Sources, split_sources

#: sd of subject, photo, coach, coach by subject and photo, marking [deg]
SUBJECT, PHOTO, COACH, CROSSED, MARK = 8.0, 3.0, 2.0, 1.5, 1.0


def draw(rng: np.random.Generator, n: int, photos: int, coaches: int, markings: int) -> Floats:
    return np.asarray(
        SUBJECT * rng.normal(size=(n, 1, 1, 1))
        + PHOTO * rng.normal(size=(n, photos, 1, 1))
        + COACH * rng.normal(size=(1, 1, coaches, 1))
        + CROSSED * rng.normal(size=(n, photos, coaches, 1))
        + MARK * rng.normal(size=(n, photos, coaches, markings))
    )


def sources(marks: Floats) -> Sources:
    told = split_sources(marks)
    assert isinstance(told, Sources)
    return told


def component(told: Component | Abstained) -> Component:
    assert isinstance(told, Component)
    return told


def test_a_large_study_finds_each_source_again() -> None:
    told = sources(draw(np.random.default_rng(1), 600, 2, 60, 2))
    assert component(told.within_coach).sd == pytest.approx(MARK, rel=0.02)
    assert component(told.coach_by_photo).sd == pytest.approx(CROSSED, rel=0.03)
    assert component(told.coach_offset).sd == pytest.approx(COACH, rel=0.2)
    assert component(told.retake).sd == pytest.approx(PHOTO, rel=0.06)


@pytest.mark.slow
def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Fifteen tests, two photos, three coaches, two markings; 500 studies."""
    rng = np.random.default_rng(5)
    truth = {
        "within_coach": MARK,
        "coach_by_photo": CROSSED,
        "coach_offset": COACH,
        "retake": PHOTO,
    }
    inside = dict.fromkeys(truth, 0)
    for _ in range(500):
        told = sources(draw(rng, 15, 2, 3, 2))
        for name, sd in truth.items():
            one = component(getattr(told, name))
            inside[name] += one.low <= sd**2 <= one.high
    for name, count in inside.items():
        assert 0.925 < count / 500 < 0.98, name


def test_a_source_that_is_not_there_comes_out_as_nothing_and_says_so() -> None:
    rng = np.random.default_rng(2)
    told = [component(sources(rng.normal(size=(12, 2, 2, 2))).coach_offset) for _ in range(40)]
    cut = [one for one in told if one.cut]
    assert cut
    assert len(cut) < len(told)
    assert {one.variance for one in cut} == {0.0}
    assert all(one.high > 0.0 for one in told if not one.cut)
    assert all(one.variance > 0.0 for one in told if not one.cut)


def test_a_coach_who_misjudges_one_gymnast_in_every_photo_does_not_hide_the_retake() -> None:
    rng = np.random.default_rng(8)
    marks = draw(rng, 400, 2, 2, 2) + 6.0 * rng.normal(size=(400, 1, 2, 1))
    assert component(sources(marks).retake).sd == pytest.approx(PHOTO, rel=0.1)


def test_one_coach_tells_nothing_of_others() -> None:
    told = sources(draw(np.random.default_rng(3), 12, 2, 1, 2))
    assert told.coach_offset == told.coach_by_photo == Abstained("one-coach", have=1, need=2)
    assert isinstance(told.within_coach, Component)
    assert isinstance(told.retake, Component)


def test_one_photo_of_each_test_tells_nothing_of_retakes() -> None:
    told = sources(draw(np.random.default_rng(3), 12, 1, 2, 2))
    assert told.retake == Abstained("one-photo-a-test", have=1, need=2)
    assert isinstance(told.coach_offset, Component)


def test_marked_once_the_hand_cannot_be_told_from_the_eye() -> None:
    marks = draw(np.random.default_rng(4), 500, 2, 30, 1)
    told = sources(marks)
    assert told.within_coach == Abstained("marked-once", have=1, need=2)
    both = component(told.coach_by_photo).variance
    assert both == pytest.approx(CROSSED**2 + MARK**2, rel=0.05)


def test_photographed_twice_and_marked_once_is_the_pooled_scatter() -> None:
    marks = draw(np.random.default_rng(4), 20, 2, 1, 1)
    told = sources(marks)
    difference = marks[:, 0, 0, 0] - marks[:, 1, 0, 0]
    # About 0, not about the mean: a retake has no first and second here.
    assert component(told.retake).variance == pytest.approx(np.mean(difference**2) / 2.0)


def test_subjects_with_a_hole_are_left_out() -> None:
    marks = draw(np.random.default_rng(6), 14, 2, 2, 2)
    holed = marks.copy()
    holed[3, 1, 0, 1] = np.nan
    told, whole = sources(holed), sources(np.delete(marks, 3, axis=0))
    assert (told.subjects, told.left_out) == (13, 1)
    assert told.retake == whole.retake


def test_too_few_subjects_say_nothing() -> None:
    marks = draw(np.random.default_rng(6), 9, 2, 2, 2)
    assert split_sources(marks) == Abstained("too-few-subjects", have=9, need=10)


def test_marks_of_another_shape_are_refused() -> None:
    with pytest.raises(ValueError, match="subjects, photos, coaches, markings"):
        split_sources(np.zeros((12, 2)))
