"""Stand-ins for the two networks: they see one drawn figure, or answer as they are told."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.networks import (
    ANCHOR_COUNT,
    HEAT_SIZE,
    LANDMARK_SIZE,
    POINT_COUNT,
    RawDetections,
    RawPose,
)

#: Network points of a body that stands upright in the cut, seen from its left side, in cut pixels:
#: x to the right, its front to the left. Pairs (left, right).
UPRIGHT = {
    0: (104, 60), 7: (124, 62), 8: (126, 62), 11: (126, 90), 12: (130, 90), 13: (126, 110),
    14: (130, 110), 15: (124, 130), 16: (128, 130), 17: (122, 136), 18: (126, 136), 19: (121, 137),
    20: (125, 137), 23: (126, 128), 24: (129, 128), 25: (125, 170), 26: (128, 170), 27: (127, 210),
    28: (130, 210), 29: (131, 216), 30: (134, 216), 31: (110, 218), 32: (113, 218), 33: (128, 128),
    34: (128, 26),
}  # fmt: skip


def raw_pose(
    points: dict[int, tuple[float, float]], *, presence: float = 1.0, left_near: bool = True
) -> RawPose:
    """Return a raw answer with these points, and a flat heat map that moves none of them."""
    out = np.zeros((POINT_COUNT, 5), np.float32)
    for i in range(1, 11):
        out[i, :2] = points[0]
    for i, xy in points.items():
        out[i, :2] = xy
    far = np.arange(11, 33) % 2 == (0 if left_near else 1)
    out[11:33, 2] = np.where(far, 60.0, -60.0)
    out[11:33, 3] = np.where(far, -2.0, 4.0)
    heat = np.full((HEAT_SIZE, HEAT_SIZE, POINT_COUNT), -20.0, np.float32)
    mask = np.full((LANDMARK_SIZE, LANDMARK_SIZE), -10.0, np.float32)
    mask[50:220, 110:140] = 10.0
    return RawPose(out, heat, presence, mask)


def mirrored(points: dict[int, tuple[float, float]]) -> dict[int, tuple[float, float]]:
    """Return what a perfect network would see in the mirrored cut."""
    partner = {i: i + 1 if i % 2 else i - 1 for i in range(7, 33)}
    return {partner.get(i, i): (LANDMARK_SIZE - x, y) for i, (x, y) in points.items()}


class ScriptedLandmarker:
    """Answers by a function of how often it was asked."""

    regression_share: Mapping[str, float] = MappingProxyType({})

    def __init__(self, answer: Callable[[int], RawPose]) -> None:
        self.asked = 0
        self._answer = answer

    def locate(self, cut: NDArray[np.uint8]) -> RawPose:
        self.asked += 1
        return self._answer(self.asked - 1)


class BlobDetector:
    """Reports a body around the bright pixels of a view, its head up in the view."""

    def __init__(self, *, least_px: int = 12) -> None:
        self.views = 0
        self._least_px = least_px

    def detect(self, cut: NDArray[np.uint8]) -> RawDetections:
        self.views += 1
        logits = np.full(ANCHOR_COUNT, -50.0, np.float32)
        boxes = np.zeros((ANCHOR_COUNT, 12), np.float32)
        y, x = np.nonzero(cut[..., 0] > 128)
        if len(x) >= self._least_px**2:
            # The first anchor lies at (4, 4) of the input.
            hips = np.array([x.mean(), y.mean()]) + 0.5 - 4.0
            boxes[0, :2], boxes[0, 2:4] = hips, (20.0, 20.0)
            boxes[0, 4:6], boxes[0, 6:8] = hips, hips - (0.0, 40.0)
            logits[0] = 4.0
        return RawDetections(boxes, logits)
