"""From the detector's raw answer to regions that may hold a body."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.networks import DETECTOR_SIZE, Detector, RawDetections
from chordline.adapters.pose.roi import Floats, Pyramid, Roi, apply_affine

#: Grids of the detector: cells along a side, anchors in a cell.
_GRIDS: Final = ((28, 2), (14, 2), (7, 6))


@dataclass(frozen=True)
class Candidate:
    """A region that may hold a body, and the detector's score for it, 0 to 1."""

    roi: Roi
    score: float


def sigmoid(x: NDArray[np.float32] | Floats) -> Floats:
    """Return 1 / (1 + e^−x), safe for large |x|."""
    clipped = np.clip(np.asarray(x, np.float64), -60.0, 60.0)
    return np.asarray(1.0 / (1.0 + np.exp(-clipped)))


def make_anchors() -> Floats:
    """Return the (2254, 2) anchors [px of the detector's input]: the centres of its cells."""
    rows = []
    for cells, repeats in _GRIDS:
        y, x = np.mgrid[0:cells, 0:cells] + 0.5
        centres = np.stack([x, y], axis=-1).reshape(-1, 2) * (DETECTOR_SIZE / cells)
        rows.append(np.repeat(centres, repeats, axis=0))
    return np.concatenate(rows)


def suppress(boxes: Floats, scores: Floats, *, overlap: float) -> list[NDArray[np.intp]]:
    """Group boxes that overlap, best first.

    Parameters
    ----------
    boxes : (n, 4) float array
        x0, y0, x1, y1.
    scores : (n,) float array
    overlap : float, 0 to 1
        Intersection over union above which a box joins the best box of a group.

    Returns
    -------
    list of index arrays
        Each starts with the group's best box.
    """
    areas = np.prod(boxes[:, 2:] - boxes[:, :2], axis=1)
    left = np.argsort(-scores, kind="stable")
    groups: list[NDArray[np.intp]] = []
    while left.size:
        best = left[0]
        low = np.maximum(boxes[best, :2], boxes[left, :2])
        high = np.minimum(boxes[best, 2:], boxes[left, 2:])
        shared = np.prod(np.clip(high - low, 0.0, None), axis=1)
        joins = shared > overlap * (areas[best] + areas[left] - shared)
        joins[0] = True
        groups.append(left[joins])
        left = left[~joins]
    return groups


def decode(
    raw: RawDetections, *, threshold: float, overlap: float = 0.3
) -> list[tuple[float, Floats]]:
    """Return score and (2, 2) points (hip centre, circle point) of each body, best first.

    Points are pixels of the detector's input with pixel centres at .5; those of overlapping
    boxes are averaged with their scores as weights.
    """
    scores = sigmoid(raw.logits)
    kept = scores > threshold
    if not kept.any():
        return []
    scores = scores[kept]
    parts = raw.boxes[kept].astype(np.float64).reshape(-1, 6, 2)
    anchors = make_anchors()[kept]
    centres, half = parts[:, 0] + anchors, parts[:, 1] / 2.0
    boxes = np.concatenate([centres - half, centres + half], axis=1)
    points = parts[:, 2:4] + anchors[:, None, :]
    return [
        (float(scores[group[0]]), np.average(points[group], axis=0, weights=scores[group]))
        for group in suppress(boxes, scores, overlap=overlap)
    ]


def detect_in(
    detector: Detector, picture: Pyramid, view: Roi, *, threshold: float
) -> list[Candidate]:
    """Return the candidates that the detector sees in one region of the picture."""
    raw = detector.detect(picture.cut(view, DETECTOR_SIZE, extend_edge=False))
    affine = view.affine(DETECTOR_SIZE)
    found = []
    for score, points in decode(raw, threshold=threshold):
        hips, rim = apply_affine(affine, points - 0.5)
        roi = Roi.around(hips, rim)
        if roi.side_px > 1.0:
            found.append(Candidate(roi, score))
    return found
