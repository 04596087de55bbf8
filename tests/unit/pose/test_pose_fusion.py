"""Many looks into one answer."""

from dataclasses import replace

import numpy as np
import pytest
from fake_nets import UPRIGHT, raw_pose

from chordline.adapters.pose.fusion import (
    fuse,
    fuse_masks,
    keep_consistent,
    mirror_disagreement_pct,
)
from chordline.adapters.pose.passes import Pass, read_pass
from chordline.adapters.pose.roi import Roi, apply_affine
from chordline.conventions import LANDMARKS

ROI = Roi(400.0, 300.0, 1024.0)
TRUE = read_pass(raw_pose(UPRIGHT), ROI, mirrored=False)
SHARED_PX = fuse([(TRUE, TRUE)]).sd_px
ELBOW, WRIST = LANDMARKS.index("elbow"), LANDMARKS.index("wrist")


def noisy(rng: np.random.Generator, sd_px: float) -> Pass:
    return replace(
        TRUE, sides_xy_px=TRUE.sides_xy_px + rng.normal(0, sd_px, TRUE.sides_xy_px.shape)
    )


def test_equal_looks_are_that_look_with_the_shared_error_only() -> None:
    fused = fuse([(TRUE, TRUE), (TRUE, TRUE)])
    assert fused.xy_px == pytest.approx(TRUE.sides_xy_px[0])
    assert fused.near_side == "left"
    assert fused.mirror_disagreement_pct == pytest.approx(0.0)
    share = dict(zip(LANDMARKS, fused.sd_px / fused.length_px, strict=True))
    assert share["hip"] == pytest.approx(0.0015)
    assert share["hand"] == pytest.approx(0.005)


def test_the_sd_is_that_of_the_mean_over_looks() -> None:
    rng = np.random.default_rng(7)
    sd_px, pairs = 8.0, 3
    claimed, errors = [], []
    for _ in range(200):
        fused = fuse([(noisy(rng, sd_px), noisy(rng, sd_px)) for _ in range(pairs)])
        claimed.append(fused.sd_px**2)
        errors.append(fused.xy_px - TRUE.sides_xy_px[0])
    own = np.mean(claimed) - np.mean(SHARED_PX**2)
    assert own == pytest.approx(np.mean(np.square(errors)), rel=0.1)
    assert own == pytest.approx(sd_px**2 / (2 * pairs), rel=0.1)


def test_a_pull_that_opposite_turns_cancel_does_not_widen_the_sd() -> None:
    pull = np.array([20.0, 0.0])
    one = replace(TRUE, sides_xy_px=TRUE.sides_xy_px + pull)
    other = replace(TRUE, sides_xy_px=TRUE.sides_xy_px - pull)
    fused = fuse([(one, one), (other, other)])
    assert fused.xy_px == pytest.approx(TRUE.sides_xy_px[0])
    assert fused.sd_px == pytest.approx(SHARED_PX, rel=1e-3)


def test_one_wrong_look_is_outvoted() -> None:
    wrong = replace(TRUE, sides_xy_px=TRUE.sides_xy_px + 400.0)
    fused = fuse([(TRUE, TRUE), (TRUE, wrong), (TRUE, TRUE)])
    assert fused.xy_px == pytest.approx(TRUE.sides_xy_px[0])
    assert fused.mirror_disagreement_pct == pytest.approx(0.0)


def test_at_least_half_of_the_looks_is_kept() -> None:
    rng = np.random.default_rng(3)
    lines = rng.normal(0, 1000, (6, len(LANDMARKS), 2))
    assert keep_consistent(lines).sum() >= 3


def test_a_look_that_took_left_for_right_does_not_pull_the_sides_together() -> None:
    swapped = replace(
        TRUE,
        sides_xy_px=TRUE.sides_xy_px[::-1],
        depth_px=TRUE.depth_px[::-1],
        visibility=TRUE.visibility[::-1],
    )
    fused = fuse([(TRUE, TRUE), (TRUE, swapped)])
    assert fused.sides_xy_px == pytest.approx(TRUE.sides_xy_px)


def test_a_hidden_arm_does_not_break_the_gate_and_a_seen_one_does() -> None:
    moved = np.array([300.0, 300.0])
    hidden, seen = TRUE.sides_xy_px.copy(), TRUE.sides_xy_px.copy()
    hidden[1, [ELBOW, WRIST]] += moved
    seen[0, [ELBOW, WRIST]] += moved
    assert mirror_disagreement_pct(TRUE, replace(TRUE, sides_xy_px=hidden)) == pytest.approx(0.0)
    assert mirror_disagreement_pct(TRUE, replace(TRUE, sides_xy_px=seen)) > 5.0


def test_a_body_of_no_length_never_passes() -> None:
    nothing = replace(TRUE, sides_xy_px=np.zeros_like(TRUE.sides_xy_px))
    assert not mirror_disagreement_pct(nothing, nothing) <= 5.0


def test_masks_of_turned_looks_fall_together() -> None:
    looks = []
    for turn in (-0.2, 0.2):
        roi = ROI.grown(1.0, turned_rad=turn)
        inverse = np.linalg.inv(np.vstack([roi.affine(256), [0, 0, 1]]))[:2]
        y, x = np.mgrid[0:256, 0:256]
        at = apply_affine(roi.affine(256), np.stack([x, y], axis=-1).astype(float))
        disc = (np.linalg.norm(at - (450.0, 250.0), axis=-1) < 120.0).astype(np.float32)
        looks.append(replace(TRUE, roi=roi, mask=disc))
        assert apply_affine(inverse, at[3, 5]) == pytest.approx([5, 3])
    mask = fuse_masks(looks, ROI)
    rows, columns = np.nonzero(mask.alpha > 0.5)
    centre = apply_affine(mask.crop_to_photo, np.array([columns.mean(), rows.mean()]))
    assert centre == pytest.approx([450.0, 250.0], abs=3.0)
    px2 = abs(np.linalg.det(mask.crop_to_photo[:, :2]))
    assert len(rows) * px2 == pytest.approx(np.pi * 120**2, rel=0.03)
    assert mask.alpha.min() >= 0.0
    assert mask.alpha.max() <= 1.0
