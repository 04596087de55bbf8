"""Planes seen by a camera: homographies and the gymnast's plane."""

from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats

#: Relative size below which a singular value or determinant is rounding [of double precision].
_DEGENERATE = 1e-10


def fit_homography(source: Floats, target: Floats) -> Floats:
    """Return the homography that maps four or more plane points onto others.

    Parameters
    ----------
    source, target : (k, 2) float arrays, k ≥ 4
        No three of them on one line for k = 4.

    Returns
    -------
    (3, 3) float array
        With last entry 1.

    Raises
    ------
    ValueError
        With too few points, a point that is missing, or points that leave the answer open.

    Notes
    -----
    Direct linear transformation with normalised coordinates (Hartley 1997, from memory).
    """
    if len(source) < 4 or len(source) != len(target):
        raise ValueError("a homography needs at least four pairs of points")
    if not (np.isfinite(source).all() and np.isfinite(target).all()):
        raise ValueError("a homography needs points without gaps")
    source_norm, to_source = _normalise(source)
    target_norm, to_target = _normalise(target)
    rows = []
    for (x, y), (u, v) in zip(source_norm, target_norm, strict=True):
        rows.append([-x, -y, -1.0, 0.0, 0.0, 0.0, u * x, u * y, u])
        rows.append([0.0, 0.0, 0.0, -x, -y, -1.0, v * x, v * y, v])
    _, sizes, directions = np.linalg.svd(np.array(rows))
    h = directions[-1].reshape(3, 3)
    if sizes[7] < _DEGENERATE * sizes[0] or abs(np.linalg.det(h)) < _DEGENERATE:
        raise ValueError("three of four points on one line do not fix a homography")
    h = np.linalg.inv(to_target) @ h @ to_source
    return np.asarray(h / h[2, 2])


def _normalise(points: Floats) -> tuple[Floats, Floats]:
    centre = points.mean(axis=0)
    spread = np.sqrt(2.0) / np.linalg.norm(points - centre, axis=1).mean()
    transform = np.array(
        [[spread, 0.0, -spread * centre[0]], [0.0, spread, -spread * centre[1]], [0.0, 0.0, 1.0]]
    )
    return (points - centre) * spread, transform


def apply_homography(h: Floats, points: Floats) -> Floats:
    """Return (..., 2) points mapped by the (3, 3) homography `h`."""
    ones = np.ones((*points.shape[:-1], 1))
    mapped = np.concatenate([points, ones], axis=-1) @ h.T
    return np.asarray(mapped[..., :2] / mapped[..., 2:])


@dataclass(frozen=True)
class PlaneFrame:
    """Gravity, floor and scale in the gymnast's plane.

    Attributes
    ----------
    up : (2,) float array
        Unit vector against gravity in the photo frame.
    m_per_px : float or None
    floor_px : (2,) float array or None
        A point of the floor line in the gymnast's plane [px].
    """

    up: Floats
    m_per_px: float | None = None
    floor_px: Floats | None = None

    @classmethod
    def of_level_phone(cls) -> "PlaneFrame":
        """Return the frame of a phone held level, with unknown scale and floor."""
        return cls(up=np.array([0.0, -1.0]))

    def height_m(self, points: Floats) -> Floats:
        """Return the height above the floor [m] of (..., 2) points; NaN where not known."""
        if self.m_per_px is None or self.floor_px is None:
            return np.full(points.shape[:-1], np.nan)
        return np.asarray((points - self.floor_px) @ self.up * self.m_per_px)
