"""Landmark arrays with names, checked against what was put in."""

import numpy as np

from chordline.core.body.points import CHORD_TO_HAND, BodyPoints
from stick_body import STRAIGHT, VIEWS, along, see, with_places

PRONE = VIEWS["prone, head left"]


def test_a_landmark_is_found_by_its_name() -> None:
    body = BodyPoints(("hip", "knee"), np.array([[[1.0, 2.0], [3.0, 4.0]]]), facing=1.0)
    assert body.get("knee").tolist() == [[3.0, 4.0]]


def test_a_landmark_that_is_not_marked_is_nan_for_every_body() -> None:
    body = BodyPoints(("hip",), np.zeros((3, 1, 2)), facing=1.0)
    assert body.get("ear").shape == (3, 2)
    assert np.isnan(body.get("ear")).all()


def test_stacked_landmarks_come_in_the_order_asked_for() -> None:
    body = see(STRAIGHT, PRONE)
    stacked = body.stack(("wrist", "knee"))
    assert stacked.shape == (1, 2, 2)
    assert (stacked[:, 0] == body.get("wrist")).all()
    assert (stacked[:, 1] == body.get("knee")).all()


def test_curve_points_are_ordered_by_number_and_not_by_letter() -> None:
    places = along("back", [(-10.0, float(height)) for height in range(70, 81)])
    shuffled = dict(sorted(places.items(), reverse=True))
    curve = see(shuffled, PRONE).curve("back")
    assert curve is not None
    assert curve.shape == (1, 11, 2)
    towards_the_head = np.diff(curve[0], axis=0) @ np.array(PRONE.head)
    assert (towards_the_head > 0.0).all()


def test_two_curves_do_not_mix() -> None:
    places = along("back", [(-10.0, float(h)) for h in range(5)])
    places |= along("seam", [(0.0, float(h)) for h in range(4)])
    seam = see(places, PRONE).curve("seam")
    assert seam is not None
    assert seam.shape == (1, 4, 2)


def test_three_points_are_no_curve() -> None:
    places = with_places(**along("seam", [(0.0, 80.0), (0.0, 90.0), (0.0, 100.0)]))
    assert see(places, PRONE).curve("seam") is None


def test_other_places_keep_everything_else() -> None:
    body = see(STRAIGHT, PRONE)
    moved = body.with_xy(body.xy_px + 5.0)
    assert (moved.names, moved.facing, moved.chord) == (body.names, body.facing, CHORD_TO_HAND)
    assert moved.frame is body.frame
    assert (moved.get("hip") == body.get("hip") + 5.0).all()
