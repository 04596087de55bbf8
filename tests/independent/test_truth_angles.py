"""Our angles on the near-side joints of rendered children, checked against their true 3-D angles.

The pictures' joints and angles come from a body model and a camera that know nothing of this
package. What remains is the near side's parallax and the yaw (−4° to 4°, in the poses to 10°).
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from chordline.core.body.measures import compute_measures
from chordline.core.body.points import BodyPoints

DATA = Path(__file__).parents[1] / "data"
#: Names of the rendered joints that differ from ours; the arm is read to the wrist.
OURS = {"knuckle": "hand", "big_toe": "toe"}
ANGLES = {
    "shoulder": "shoulder_opening_deg",
    "hip": "hip_opening_deg",
    "knee": "knee_opening_deg",
}
PARALLAX_DEG = 2.5


def pictures(name: str) -> list[dict[str, Any]]:
    records: list[dict[str, Any]] = json.loads((DATA / name).read_text())["pictures"]
    return records


def squad() -> list[dict[str, Any]]:
    return pictures("squad_truth.json")


def low_poses() -> list[dict[str, Any]]:
    """Poses seen from 0.4 m; not the standing ones, whose shoulders are far above the phone."""
    return [
        p
        for p in pictures("poses_truth.json")
        if p["camera"]["camera_height_m"] <= 0.4 and not p["pose"].startswith("standing")
    ]


def openings(picture: dict[str, Any], *, facing: float | None = None) -> dict[str, float]:
    near = picture["near_side"]
    joints = picture["joints_px"][near]
    body = BodyPoints(
        tuple(OURS.get(name, name) for name in joints),
        np.array(list(joints.values()))[None] - 0.5,
        facing or (1.0 if near == "left" else -1.0),
    )
    return dict(zip(ANGLES, compute_measures(body, list(ANGLES.values()))[0], strict=True))


def true_openings(picture: dict[str, Any]) -> dict[str, float]:
    signed = picture["angles_deg"][picture["near_side"]]["signed"]
    return {joint: signed[joint] - 180.0 for joint in ANGLES}


def misses(records: list[dict[str, Any]], joint: str) -> dict[str, float]:
    return {p["image"]: openings(p)[joint] - true_openings(p)[joint] for p in records}


@pytest.mark.parametrize("joint", ANGLES)
def test_the_squads_angles_are_true_within_the_parallax(joint: str) -> None:
    off = misses(squad(), joint)
    assert len(off) == 48
    assert {image: miss for image, miss in off.items() if abs(miss) > PARALLAX_DEG} == {}


@pytest.mark.parametrize("joint", ANGLES)
def test_the_poses_angles_are_true_within_the_parallax(joint: str) -> None:
    off = misses(low_poses(), joint)
    assert len(off) >= 30
    assert {image: miss for image, miss in off.items() if abs(miss) > PARALLAX_DEG} == {}


def test_a_phone_at_standing_height_reads_lying_shoulders_several_times_further_off() -> None:
    # Prone, 3 m away. Expected: about 3.6° at the shoulder from 1.2 m, and 1.0° from 0.4 m.
    prone = [
        p
        for p in pictures("poses_truth.json")
        if p["pose"].startswith(("prone_overhead", "prone_closed"))
        and p["camera"]["distance_m"] == 3.0
    ]
    off = {
        height: np.abs(
            list(
                misses(
                    [p for p in prone if p["camera"]["camera_height_m"] == height], "shoulder"
                ).values()
            )
        )
        for height in (0.4, 1.2)
    }
    assert off[1.2].min() > 2.0
    assert off[1.2].max() < 4.0
    assert off[0.4].max() < 1.0


@pytest.mark.parametrize("joint", ["shoulder", "hip"])
def test_clear_bends_have_the_true_sign_and_the_wrong_side_turns_it(joint: str) -> None:
    clear = [p for p in [*squad(), *low_poses()] if 5.0 < abs(true_openings(p)[joint]) < 90.0]
    assert len(clear) >= 20
    for picture in clear:
        true = true_openings(picture)[joint]
        wrong_side = -1.0 if picture["near_side"] == "left" else 1.0
        assert np.sign(openings(picture)[joint]) == np.sign(true)
        assert np.sign(openings(picture, facing=wrong_side)[joint]) == -np.sign(true)
