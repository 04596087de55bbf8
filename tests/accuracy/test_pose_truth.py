"""Automatic landmarks on rendered children with known angles.

The pictures come from a body model (Anny, Apache-2.0; MakeHuman assets, CC0) whose joints are its
own, about 3° apart from the network's. Nothing in the estimator is fitted to them.

The shoulder counts where the arms are overhead (true angle above 90°): elsewhere no test reads it.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.conventions import LANDMARKS, facing_of
from chordline.core.body.found import FoundBody
from chordline.core.geometry.angles import joint_opening
from demo_screen import Remembering

pytestmark = pytest.mark.weights

ROOT = Path(__file__).parents[2]
DATA = ROOT / "tests" / "data"
SETS = {
    "poses": (DATA / "poses", DATA / "poses_truth.json"),
    "squad": (ROOT / "src" / "chordline" / "demo" / "club", DATA / "squad_truth.json"),
}
#: One of each family, for the tests that need no whole set.
FEW = (
    "dish__girl6_yaw00_d3_h04_R",
    "handstand__girl9_yaw10_d3_h04_L",
    "prone_closed20__girl9_yaw00_d3_h12_L",
    "prone_hip20__boy11_yaw00_d3_h04_L",
    "prone_overhead__girl13_yaw00_d6_h04_L",
    "prone_sides__girl13_yaw00_d3_h04_R",
    "supine_overhead__girl9_yaw00_d3_h04_L",
)
FAR_M = 5.0


@dataclass(frozen=True)
class Shot:
    """One picture, its truth, and what was found in it."""

    name: str
    truth: dict[str, Any]
    bodies: tuple[FoundBody, ...]

    def error_deg(self, joint: str) -> float:
        """Error of a near-side angle; NaN for shoulders that are not overhead."""
        near = self.truth["near_side"]
        true = self.truth["angles_deg"][near]["signed"][joint]
        if joint == "shoulder" and true <= 90.0:
            return float("nan")
        chain = ("hip", "shoulder", "wrist") if joint == "shoulder" else ("knee", "hip", "shoulder")
        points = [self.bodies[0].xy_px[LANDMARKS.index(name)] for name in chain]
        opening = np.rad2deg(joint_opening(*points, np.array(float(facing_of(near)))))
        return float(opening) - (true - 180.0)


@pytest.fixture(scope="module")
def shoot(poses: Remembering) -> Callable[..., list[Shot]]:
    done: dict[str, Shot] = {}

    def shots_of(name: str, only: tuple[str, ...] | None = None) -> list[Shot]:
        folder, truth = SETS[name]
        shots = []
        for record in json.loads(truth.read_text(encoding="utf-8"))["pictures"]:
            stem = Path(record["image"]).stem
            if only is not None and stem not in only:
                continue
            if stem not in done:
                done[stem] = Shot(stem, record, find(folder / record["image"]))
            shots.append(done[stem])
        return shots

    def find(path: Path) -> tuple[FoundBody, ...]:
        return poses.find(PillowPhotoReader().read(path).rgb)

    return shots_of


def errors_deg(shots: list[Shot], joint: str) -> np.ndarray:
    errors = np.array([abs(shot.error_deg(joint)) for shot in shots if shot.bodies])
    return errors[np.isfinite(errors)]


def at_distance(shots: list[Shot], *, far: bool) -> list[Shot]:
    return [s for s in shots if (s.truth["camera"]["distance_m"] > FAR_M) == far]


def near_sides_right(shots: list[Shot]) -> float:
    return float(
        np.mean([s.bodies[0].near_side == s.truth["near_side"] for s in shots if s.bodies])
    )


def test_a_few_pictures_are_found_and_measured(shoot) -> None:
    shots = shoot("poses", FEW)
    assert len(shots) == len(FEW)
    for shot in shots:
        assert len(shot.bodies) == 1, shot.name
        body = shot.bodies[0]
        assert body.near_side == shot.truth["near_side"], shot.name
        assert body.mirror_disagreement_pct <= 5.0
        assert body.mask is not None
        assert body.mask.alpha.max() > 0.9
    assert np.median(errors_deg(shots, "shoulder")) <= 4.0
    assert np.median(errors_deg(shots, "hip")) <= 4.0
    assert errors_deg(shots, "shoulder").max() <= 10.0
    assert errors_deg(shots, "hip").max() <= 10.0


def test_the_same_picture_upside_down_gives_the_same_angles(poses: Remembering, shoot) -> None:
    shot = next(s for s in shoot("poses", FEW) if s.name.startswith("prone_closed20"))
    bgr = cv2.imread(str(SETS["poses"][0] / f"{shot.name}.jpg"))
    assert bgr is not None
    rgb = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8)
    for quarters in (1, 2, 3):
        turned = Shot(
            shot.name, shot.truth, poses.find(np.ascontiguousarray(np.rot90(rgb, quarters)))
        )
        assert turned.bodies
        for joint in ("shoulder", "hip"):
            assert turned.error_deg(joint) == pytest.approx(shot.error_deg(joint), abs=3.0)


def test_two_people_are_both_found(poses: Remembering, shoot) -> None:
    names = [
        s.name for s in shoot("poses", FEW) if s.name.startswith(("prone_sides", "supine_overhead"))
    ]
    pictures = [cv2.imread(str(SETS["poses"][0] / f"{name}.jpg")) for name in names]
    both = np.concatenate([p[150:850] for p in pictures if p is not None], axis=0)
    bodies = poses.find(np.ascontiguousarray(both[..., ::-1]))
    assert len(bodies) == 2
    assert abs(bodies[0].xy_px[:, 1].mean() - bodies[1].xy_px[:, 1].mean()) > 400


def test_an_empty_gym_holds_nobody(poses: Remembering) -> None:
    y, x = np.mgrid[0:480, 0:640]
    gym = np.stack([120 + 40 * (y > 300), 100 + x // 16, 90 + y // 8], axis=-1).astype(np.uint8)
    assert poses.find(gym) == ()


@pytest.mark.slow
def test_poses_at_three_metres_meet_the_targets(shoot) -> None:
    shots = at_distance(shoot("poses"), far=False)
    assert all(shot.bodies for shot in shots)
    shoulder, hip = errors_deg(shots, "shoulder"), errors_deg(shots, "hip")
    assert np.median(shoulder) <= 2.2
    assert np.percentile(shoulder, 90) <= 5.0
    assert np.median(hip) <= 1.6
    assert np.percentile(hip, 90) <= 5.5
    assert max(shoulder.max(), hip.max()) <= 20.0
    assert near_sides_right(shots) >= 0.95


@pytest.mark.slow
def test_poses_at_six_metres_are_found(shoot) -> None:
    shots = at_distance(shoot("poses"), far=True)
    assert sum(bool(shot.bodies) for shot in shots) >= 14
    assert max(errors_deg(shots, "shoulder").max(), errors_deg(shots, "hip").max()) <= 20.0


@pytest.mark.slow
def test_the_squad_that_nothing_was_tuned_on_is_no_worse(shoot) -> None:
    shots = shoot("squad")
    assert all(shot.bodies for shot in shots)
    shoulder, hip = errors_deg(shots, "shoulder"), errors_deg(shots, "hip")
    assert np.median(shoulder) <= 2.2
    assert np.percentile(shoulder, 90) <= 5.0
    assert np.median(hip) <= 1.7
    assert np.percentile(hip, 90) <= 5.5
    assert near_sides_right(shots) >= 0.95
    sure = [s for s in shots if s.bodies[0].near_confidence >= 0.9]
    assert near_sides_right(sure) >= 0.95
