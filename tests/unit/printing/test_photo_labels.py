"""Labels on photos: legible wherever the body lies."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from sample_sheets import chord_of, measurement_of, squad

from chordline.adapters.printing.crop import body_view
from chordline.adapters.printing.labels import Box, are_crossed, text_width
from chordline.adapters.printing.line_shape import read_shape
from chordline.adapters.printing.overlay import label_boxes, label_em, overlay
from chordline.adapters.printing.strokes import Certainty
from chordline.core.body.measurement import Mark, Measurement


def labels_of(measurement: Measurement, frame: Box) -> list[tuple[str, str, Box]]:
    shape = read_shape(measurement, chord_of(measurement.test))
    assert shape is not None
    return list(label_boxes(measurement, shape, frame, doubtful=False, em=label_em(frame)))


def overlap(one: Box, other: Box) -> bool:
    return (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )


def check(labels: list[tuple[str, str, Box]], measurement: Measurement, frame: Box) -> None:
    for _, words, box in labels:
        assert box.left >= frame.left
        assert box.top >= frame.top
        assert box.right <= frame.right
        assert box.bottom <= frame.bottom
        assert box.right - box.left == pytest.approx(text_width(words, label_em(frame)))
    for (_, _, one), (_, _, other) in combinations(labels, 2):
        assert not overlap(one, other)
    assert measurement.card is not None
    low, high = measurement.card.corners_px.min(axis=0), measurement.card.corners_px.max(axis=0)
    card = Box(*low.tolist(), *high.tolist())
    assert not any(overlap(box, card) for _, _, box in labels)


@pytest.mark.parametrize("name", squad())
@pytest.mark.parametrize("whole", [True, False])
def test_no_label_leaves_the_picture_or_lies_on_another_or_on_the_card(
    name: str, whole: bool
) -> None:
    measurement = measurement_of(name)
    frame = Box(0.0, 0.0, 1600.0, 1200.0) if whole else body_view(measurement)
    labels = labels_of(measurement, frame)
    check(labels, measurement, frame)
    assert {name for name, _, _ in labels} == set(chord_of(measurement.test)[1:-1])


def test_wherever_the_marks_lie_labels_do_not_collide() -> None:
    rng = np.random.default_rng(7)
    measurement = measurement_of("13_dish-overhead.jpg")
    frame = Box(0.0, 0.0, 1600.0, 1200.0)
    for _ in range(60):
        middle, spread = rng.uniform([0, 0], [1600, 1200]), rng.uniform(5, 600)
        marks = {
            name: Mark(*np.clip(middle + rng.normal(0, spread, 2), 0, [1600, 1200]), 4.0, "auto")
            for name in measurement.landmarks
        }
        wild = replace(measurement, landmarks=marks)
        check(labels_of(wild, frame), wild, frame)


def test_a_label_says_the_landmark_and_its_signed_bow() -> None:
    measurement = measurement_of("12_prone-active.jpg")
    words = {name: words for name, words, _ in labels_of(measurement, body_view(measurement))}
    assert words == {"hip": "Hip −9.3 %", "shoulder": "Shoulder −5.6 %", "knee": "Knee −4.9 %"}


def test_marks_in_doubt_are_named_without_a_value() -> None:
    measurement = measurement_of("12_prone-active.jpg")
    shape = read_shape(measurement, chord_of(measurement.test))
    drawing = overlay(measurement, shape, title="t", certainty=Certainty.NEEDS_A_LOOK)
    assert ">Hip ?<" in drawing
    assert "9.3 %" not in drawing


def test_the_card_is_outlined_where_one_was_seen() -> None:
    measurement = measurement_of("12_prone-active.jpg")
    shape = read_shape(measurement, chord_of(measurement.test))
    x, y = squad()["12_prone-active.jpg"]["card_corners_px"][0]
    assert f"M{x:g} {y:g} " in overlay(measurement, shape, title="t")
    without = replace(measurement, card=None)
    assert f"M{x:g} {y:g} " not in overlay(without, shape, title="t")


def test_a_segment_through_a_box_is_seen_whichever_way_it_runs() -> None:
    low, high = np.array([[0.0, 0.0]]), np.array([[10.0, 10.0]])
    inside = [((-5, 5), (15, 5)), ((5, -5), (5, 15)), ((-5, -5), (15, 15)), ((4, 4), (6, 6))]
    outside = [((-5, 12), (15, 12)), ((12, -5), (12, 15)), ((-5, 8), (2, 15)), ((11, 11), (20, 20))]
    for segments, crossed in ((inside, True), (outside, False)):
        ends = np.array(segments, float)
        seen = are_crossed(low, high, ends[:, 0], ends[:, 1])
        assert seen.tolist() == [[crossed] * len(segments)]
