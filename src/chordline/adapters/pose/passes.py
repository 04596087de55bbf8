"""One look of the landmark network at one region: named landmarks in picture pixels."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.detection import sigmoid
from chordline.adapters.pose.networks import HEAT_SIZE, LANDMARK_SIZE, Landmarker, RawPose
from chordline.adapters.pose.roi import Floats, Pyramid, Roi, apply_affine
from chordline.conventions import LANDMARKS

#: The network's points behind each landmark of the left side; the right side's follow by one.
#: The third knuckle lies between the knuckles of little finger and index finger.
_POINTS: Final = MappingProxyType(
    {
        "malleolus": (27,),
        "knee": (25,),
        "hip": (23,),
        "shoulder": (11,),
        "elbow": (13,),
        "wrist": (15,),
        "hand": (17, 19),
        "ear": (7,),
        "heel": (29,),
        "toe": (31,),
    }
)
#: Nose, inner and outer corners of the eyes, mouth.
_FACE: Final = (0, 1, 2, 3, 4, 5, 6, 9, 10)
_HIPS, _RIM = 33, 34

_WINDOW: Final = 5
_PEAK: Final = 0.3
_CELL: Final = LANDMARK_SIZE // HEAT_SIZE


@dataclass(frozen=True)
class Pass:
    """What one look saw.

    Attributes
    ----------
    sides_xy_px : (2, 10, 2) float array [px]
        Left and right side, landmarks in the order of `conventions.LANDMARKS`.
    depth_px : (2, 10) float array [px]
        Smaller is nearer to the camera; only differences mean something.
    visibility : (2, 10) float array, 0 to 1
    face_xy_px : (2,) float array [px]
        Middle of nose, eyes and mouth.
    presence : float, 0 to 1
    next_roi : Roi
        Where the network would look next.
    roi : Roi
        Where it looked.
    mask : (256, 256) float array, 0 to 1
        In the cut of `roi`.
    """

    sides_xy_px: Floats
    depth_px: Floats
    visibility: Floats
    face_xy_px: Floats
    presence: float
    next_roi: Roi
    roi: Roi
    mask: NDArray[np.float32]

    def length_px(self) -> float:
        """Return the body's length along malleolus, knee, hip, shoulder, ear."""
        return length_of(self.sides_xy_px.mean(axis=0))


def length_of(xy_px: Floats) -> float:
    """Return the length along malleolus, knee, hip, shoulder, ear of (10, 2) landmarks [px]."""
    chain = xy_px[[LANDMARKS.index(n) for n in ("malleolus", "knee", "hip", "shoulder", "ear")]]
    return float(np.linalg.norm(np.diff(chain, axis=0), axis=1).sum())


def refine(points: Floats, heat: NDArray[np.float32]) -> Floats:
    """Return points moved to the centre of their peak in the heat map.

    Parameters
    ----------
    points : (n, 2) float array [px of the network's input]
    heat : (64, 64, n) float array
        Logits.

    Returns
    -------
    (n, 2) float array
        The unchanged point where it lies outside the map or the map has no peak around it.
    """
    size, _, n = heat.shape
    cell = (points // _CELL).astype(int)
    inside = ((cell >= 0) & (cell < size)).all(axis=1)
    steps = np.arange(-_WINDOW, _WINDOW + 1)
    columns = cell[:, 0, None] + steps
    rows = cell[:, 1, None] + steps
    row_is_in = (rows >= 0) & (rows < size)
    column_is_in = (columns >= 0) & (columns < size)
    window = heat[
        np.clip(rows, 0, size - 1)[:, :, None],
        np.clip(columns, 0, size - 1)[:, None, :],
        np.arange(n)[:, None, None],
    ]
    weight = sigmoid(window) * row_is_in[:, :, None] * column_is_in[:, None, :]
    total = weight.sum(axis=(1, 2))
    moves = inside & (weight.max(axis=(1, 2)) >= _PEAK)
    safe = np.where(moves, total, 1.0)
    x = (weight.sum(axis=1) * columns).sum(axis=1) / safe
    y = (weight.sum(axis=2) * rows).sum(axis=1) / safe
    return np.where(moves[:, None], np.stack([x, y], axis=-1) * _CELL, points)


def _pick(values: Floats, side: int) -> Floats:
    return np.stack([values[[i + side for i in _POINTS[n]]].mean(axis=0) for n in LANDMARKS])


def read_pass(
    raw: RawPose,
    roi: Roi,
    *,
    mirrored: bool,
    regression_share: Mapping[str, float] = MappingProxyType({}),
) -> Pass:
    """Name the network's points and bring them from its input to the picture.

    Parameters
    ----------
    raw : RawPose
    roi : Roi
        The region that was cut out.
    mirrored : bool
        Whether the cut was mirrored before it was shown to the network: then what it calls left
        is right.
    regression_share : mapping of str to float, 0 to 1
        By landmark: weight of the regression head; the rest comes from the heat map.
    """
    regressed = raw.points[:, :2].astype(np.float64)
    mapped = refine(regressed, raw.heat)
    scale = roi.side_px / LANDMARK_SIZE
    affine = roi.affine(LANDMARK_SIZE)

    def to_picture(xy: Floats) -> Floats:
        at = xy - 0.5
        if mirrored:
            at = np.stack([LANDMARK_SIZE - 1.0 - at[..., 0], at[..., 1]], axis=-1)
        return apply_affine(affine, at)

    share = np.array([regression_share.get(name, 0.0) for name in LANDMARKS])[:, None]
    sides = (1, 0) if mirrored else (0, 1)
    extra = raw.points[:, 2:].astype(np.float64)
    return Pass(
        sides_xy_px=np.stack(
            [
                to_picture((1.0 - share) * _pick(mapped, s) + share * _pick(regressed, s))
                for s in sides
            ]
        ),
        depth_px=scale * np.stack([_pick(extra[:, 0], s) for s in sides]),
        visibility=np.stack([_pick(sigmoid(extra[:, 1]), s) for s in sides]),
        face_xy_px=to_picture(mapped[list(_FACE)].mean(axis=0)),
        presence=raw.presence,
        next_roi=Roi.around(to_picture(mapped[_HIPS]), to_picture(mapped[_RIM])),
        roi=roi,
        mask=_mask_of(raw, mirrored=mirrored),
    )


def _mask_of(raw: RawPose, *, mirrored: bool) -> NDArray[np.float32]:
    mask = sigmoid(raw.mask).astype(np.float32)
    return np.ascontiguousarray(mask[:, ::-1]) if mirrored else mask


def look(network: Landmarker, picture: Pyramid, roi: Roi, *, mirrored: bool = False) -> Pass:
    """Cut a region out, show it to the network and return what it saw."""
    cut = picture.cut(roi, LANDMARK_SIZE, extend_edge=True)
    if mirrored:
        cut = np.ascontiguousarray(cut[:, ::-1])
    return read_pass(
        network.locate(cut), roi, mirrored=mirrored, regression_share=network.regression_share
    )
