"""The front outline of the trunk between hip and shoulder, read from a body mask.

Stations stand along the straight line from hip to shoulder. At each of them a ray leaves the line
to the front; where the mask ends is the outline. The stations end below the armpit: above it arm
and shoulder make the outline. The back's outline tells the bend of the spine far worse (buttocks
and shoulder blades draw it), so it is not read.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import scipy  # its parts are loaded when they are used
from numpy.typing import NDArray

from chordline.core.body.edge import Band, sharpen_edge
from chordline.core.body.found import BodyMask
from chordline.core.geometry.angles import Floats, front_of

#: Rows of the outline, and where the last of them stands on the way from hip (0) to shoulder (1).
ROWS: Final = 8
LAST_ROW: Final = 0.75

#: All lengths below are shares of the distance from hip to shoulder.
_STEP: Final = 0.004
_REACH: Final = 0.45
_COLOUR_REACH: Final = 0.12
#: Stations from one row to the next; a row is the mean of its station and of the neighbours up to
#: halfway to the next row.
_STATIONS_A_ROW: Final = 4
_NEIGHBOURS: Final = 2
#: Nearer than this to the arm's middle line the outline is the arm's. (A child's forearm is about
#: 6 cm thick and its trunk 35 cm long; the rest is for the landmarks' errors.)
_ARM_RADIUS: Final = 0.10

_STATIONS: Final[Floats] = (
    np.arange(-_NEIGHBOURS, _STATIONS_A_ROW * (ROWS - 1) + _NEIGHBOURS + 1)
    * (LAST_ROW / (_STATIONS_A_ROW * (ROWS - 1)))
).astype(np.float64)


@dataclass(frozen=True)
class FrontOutline:
    """Rows of points from the hip to below the armpit, the hip end first.

    Attributes
    ----------
    xy_px : (8, 2) float array [px]
        Outline on the belly's side. NaN where the arm hides it or the mask does not end.
    sd_px : (8,) float array [px]
        Random error across the outline.
    """

    xy_px: Floats
    sd_px: Floats


@dataclass(frozen=True)
class _Grid:
    """Stations along the trunk and steps outwards to the front."""

    hip_px: Floats
    along_px: Floats
    out_px: Floats

    def place(self, share: Floats, outward: Floats) -> Floats:
        """Return (..., 2) points at shares along and shares outwards."""
        return self.hip_px + share[..., None] * self.along_px + outward[..., None] * self.out_px


def read_front_outline(
    mask: BodyMask,
    *,
    hip_px: Floats,
    shoulder_px: Floats,
    facing: int,
    arm_px: Floats | None = None,
    rgb: NDArray[np.uint8] | None = None,
) -> FrontOutline:
    """Read the front outline of the trunk.

    Parameters
    ----------
    mask : BodyMask
    hip_px, shoulder_px : (2,) float arrays [px]
        In the pixels that the mask maps to.
    facing : int
        +1 with the left side near the camera, −1 with the right.
    arm_px : (k, 2) float array [px], optional
        The near arm from the shoulder to the hand. Its points may be NaN.
    rgb : (h, w, 3) uint8 array, optional
        The picture; with it the mask's edge is sharpened.

    Returns
    -------
    FrontOutline
        All NaN where hip and shoulder are no two places.

    Notes
    -----
    The sd of a point is the mask's pixel over √12 together with a quarter of the soft edge's
    width, or, once sharpened, half of what the colours moved it: an edge on which mask and colours
    disagree is doubted. Neighbouring rows are further apart than the mask's blur, so their errors
    count as independent.
    """
    along = np.asarray(shoulder_px - hip_px, dtype=np.float64)
    length = np.linalg.norm(along)
    if not length > 0.0:
        return FrontOutline(np.full((ROWS, 2), np.nan), np.full(ROWS, np.nan))
    front = front_of(along, np.asarray(float(facing))) * length
    grid = _Grid(np.asarray(hip_px, np.float64), along, front)
    edge, sd = _read_edge(mask, grid, rgb)
    return FrontOutline(*_rows(grid, edge, sd, arm_px))


def _read_edge(mask: BodyMask, grid: _Grid, rgb: NDArray[np.uint8] | None) -> tuple[Floats, Floats]:
    """Return the edge of each station [shares] and its error [px]."""
    outward: Floats = np.arange(round(_REACH / _STEP)).astype(np.float64) * _STEP
    points = grid.place(_STATIONS[:, None], outward[None, :])
    alpha = _sample_mask(mask, points)
    edge = _first_below(alpha, 0.5)
    length = float(np.linalg.norm(grid.out_px))
    mask_px = float(np.sqrt(abs(np.linalg.det(mask.crop_to_photo[:, :2]))))
    soft = _first_below(alpha, 0.25) - _first_below(alpha, 0.75)
    doubt = np.nan_to_num(soft, nan=_COLOUR_REACH / _STEP) / 4.0
    if rgb is not None:
        colour = _sample_colour(rgb, points, blur_px=0.7 * _STEP * length)
        sharp = sharpen_edge(Band(alpha, colour, edge, round(_COLOUR_REACH / _STEP)))
        moved = sharp != edge
        doubt = np.where(moved, np.abs(sharp - edge) / 2.0, doubt)
        edge = sharp
    return edge * _STEP, np.hypot(mask_px / np.sqrt(12.0), doubt * _STEP * length)


def _first_below(alpha: Floats, level: float) -> Floats:
    """Return where each row falls below a level for the first time [steps].

    NaN where it starts below or never falls below.
    """
    below = alpha < level
    index = below.argmax(axis=1)
    row = np.arange(len(alpha))
    inside, outside = alpha[row, np.maximum(index - 1, 0)], alpha[row, index]
    with np.errstate(invalid="ignore", divide="ignore"):
        exact = index - 1 + (inside - level) / (inside - outside)
    return np.where(index > 0, exact, np.nan)


def _rows(grid: _Grid, edge: Floats, sd_px: Floats, arm_px: Floats | None) -> tuple[Floats, Floats]:
    if arm_px is not None:
        clearance = _distance_to_line(grid.place(_STATIONS, edge), arm_px)
        radius = _ARM_RADIUS * float(np.linalg.norm(grid.out_px))
        edge = np.where(clearance < radius, np.nan, edge)
    share, doubt = (_row_means(values) for values in (edge, sd_px))
    return grid.place(_row_means(_STATIONS), share), np.where(np.isfinite(share), doubt, np.nan)


def _row_means(by_station: Floats) -> Floats:
    width = 2 * _NEIGHBOURS + 1
    windows = np.lib.stride_tricks.sliding_window_view(by_station, width)
    return np.asarray(windows[::_STATIONS_A_ROW].mean(axis=-1))


def _distance_to_line(points: Floats, line: Floats) -> Floats:
    """Return the distance of (n, 2) points from a broken line; infinite where it has no part."""
    nearest = np.full(len(points), np.inf)
    for start, end in pairwise(line):
        step = end - start
        square = float(step @ step)
        if square > 0.0:
            share = np.clip((points - start) @ step / square, 0.0, 1.0)
            foot = start + share[:, None] * step
            nearest = np.fmin(nearest, np.linalg.norm(points - foot, axis=1))
    return nearest


def _sample_mask(mask: BodyMask, points: Floats) -> Floats:
    to_crop = np.linalg.inv(mask.crop_to_photo[:, :2])
    x, y = np.moveaxis((points - mask.crop_to_photo[:, 2]) @ to_crop.T, -1, 0)
    alpha = scipy.ndimage.map_coordinates(
        mask.alpha, [y, x], order=1, mode="constant", output=np.float64
    )
    return np.clip(alpha, 0.0, 1.0)


def _sample_colour(rgb: NDArray[np.uint8], points: Floats, *, blur_px: float) -> Floats:
    """Return (..., 3) colours, 0 to 1; the picture's edge drawn out beyond it."""
    limits = np.array([rgb.shape[1], rgb.shape[0]])
    flat = points.reshape(-1, 2)
    low = np.clip(np.floor(flat.min(axis=0)) - 4, 0, limits - 1).astype(int)
    high = np.clip(np.ceil(flat.max(axis=0)) + 5, low + 1, limits).astype(int)
    window = rgb[low[1] : high[1], low[0] : high[0]].astype(np.float32) / np.float32(255.0)
    x, y = np.moveaxis(points - low, -1, 0)
    planes = [
        scipy.ndimage.map_coordinates(
            scipy.ndimage.gaussian_filter(window[..., i], blur_px),
            [y, x],
            order=1,
            mode="nearest",
            output=np.float64,
        )
        for i in range(3)
    ]
    return np.stack(planes, axis=-1)
