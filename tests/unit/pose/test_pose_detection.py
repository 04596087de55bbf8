"""Anchors, suppression and decoding of the detector's answers."""

import numpy as np
import pytest
from fake_nets import BlobDetector

from chordline.adapters.pose.detection import decode, detect_in, make_anchors, sigmoid, suppress
from chordline.adapters.pose.networks import ANCHOR_COUNT, DETECTOR_SIZE, RawDetections
from chordline.adapters.pose.roi import Pyramid, Roi


def test_anchors_are_the_cell_centres_of_three_grids() -> None:
    anchors = make_anchors()
    assert anchors.shape == (ANCHOR_COUNT, 2)
    assert anchors[0] == pytest.approx([4.0, 4.0])
    assert anchors[2] == pytest.approx([12.0, 4.0])
    assert anchors[2 * 28 * 28] == pytest.approx([8.0, 8.0])
    assert anchors[-1] == pytest.approx([208.0, 208.0])
    assert anchors.mean(axis=0) == pytest.approx([DETECTOR_SIZE / 2] * 2)


def test_overlapping_boxes_form_one_group_led_by_the_best() -> None:
    boxes = np.array([[0, 0, 10, 10], [1, 0, 11, 10], [50, 50, 60, 60], [0, 1, 10, 11]], float)
    groups = suppress(boxes, np.array([0.6, 0.9, 0.7, 0.5]), overlap=0.3)
    assert [group.tolist() for group in groups] == [[1, 0, 3], [2]]


def test_a_box_without_area_still_ends_the_search() -> None:
    groups = suppress(np.zeros((3, 4)), np.array([0.9, 0.8, 0.7]), overlap=0.3)
    assert sorted(int(i) for group in groups for i in group) == [0, 1, 2]


def test_points_of_overlapping_boxes_are_averaged_by_score() -> None:
    boxes = np.zeros((ANCHOR_COUNT, 12), np.float32)
    logits = np.full(ANCHOR_COUNT, -60.0, np.float32)
    boxes[0] = [46, 46, 40, 40, 46, 46, 46, 6, 0, 0, 0, 0]
    boxes[1] = [46, 46, 40, 40, 50, 46, 50, 6, 0, 0, 0, 0]
    logits[0] = logits[1] = 2.0
    ((score, points),) = decode(RawDetections(boxes, logits), threshold=0.5)
    assert score == pytest.approx(float(sigmoid(np.array(2.0))))
    assert points == pytest.approx(np.array([[52.0, 50.0], [52.0, 10.0]]))


def test_nothing_above_the_threshold_is_nobody() -> None:
    raw = RawDetections(
        np.zeros((ANCHOR_COUNT, 12), np.float32), np.full(ANCHOR_COUNT, -5.0, np.float32)
    )
    assert decode(raw, threshold=0.5) == []


def test_a_candidate_lies_where_the_body_is_in_the_picture() -> None:
    rgb = np.zeros((600, 800, 3), np.uint8)
    rgb[200:260, 500:560] = 255
    view = Roi(450.0, 250.0, 400.0)
    (candidate,) = detect_in(BlobDetector(), Pyramid(rgb), view, threshold=0.5)
    assert (candidate.roi.x_px, candidate.roi.y_px) == pytest.approx((529.5, 229.5), abs=1.5)
    assert candidate.roi.side_px == pytest.approx(2.5 * 40 * 400 / DETECTOR_SIZE, rel=0.01)
    assert candidate.roi.turn_rad == pytest.approx(0.0, abs=1e-6)
