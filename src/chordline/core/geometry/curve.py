"""Curves through a row of marked points: the outline of the back, the seam of the trunk.

A parametric polynomial of degree three (two for a plain arc) is fitted over the normalised length
along the points, so the coefficients are linear in the points and a curve that turns back on itself
is no special case.
"""

from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats, dot, front_of, turn_towards_front

DEGREE = 3
_SAMPLES = 101


@dataclass(frozen=True)
class Curve:
    """A fitted curve from its caudal to its cranial end.

    Attributes
    ----------
    coefficients : (..., degree + 1, 2) float array [px]
        x and y as polynomials of t in 0…1, lowest power first.
    """

    coefficients: Floats

    def at(self, t: Floats) -> Floats:
        """Return points (..., len(t), 2) [px]."""
        powers = np.asarray(t)[:, None] ** np.arange(self.coefficients.shape[-2])
        return np.asarray(powers @ self.coefficients)

    def tangent(self, t: Floats) -> Floats:
        """Return the derivative (..., len(t), 2) [px] by t: it points towards the head."""
        order = np.arange(1, self.coefficients.shape[-2])
        powers = np.asarray(t)[:, None] ** (order - 1)
        return np.asarray((powers * order) @ self.coefficients[..., 1:, :])


def fit_curve(points: Floats, *, degree: int = DEGREE) -> Curve:
    """Fit a curve through marked points by least squares.

    Parameters
    ----------
    points : (..., k, 2) float array [px]
        k ≥ degree + 1 points in order, caudal end first.
    degree : int
        2 for a plain arc: its turn from end to end rests on every point, not on the ends alone.

    Returns
    -------
    Curve
        With NaN coefficients where a point is NaN or fewer than degree + 1 places differ.

    Raises
    ------
    ValueError
        With fewer points than the curve needs.
    """
    count = points.shape[-2]
    if count <= degree:
        raise ValueError(f"a curve needs at least {degree + 1} points, not {count}")
    steps = np.linalg.norm(np.diff(points, axis=-2), axis=-1)
    fits = np.isfinite(steps).all(axis=-1) & ((steps > 0.0).sum(axis=-1) >= degree)
    coefficients = np.full((*points.shape[:-2], degree + 1, 2), np.nan)
    if fits.any():
        along = np.cumsum(steps[fits], axis=-1)
        t = np.pad(along / along[:, -1:], [(0, 0), (1, 0)])
        q, r = np.linalg.qr(t[..., None] ** np.arange(degree + 1))
        coefficients[fits] = np.linalg.solve(r, q.transpose(0, 2, 1) @ points[fits])
    return Curve(coefficients)


def sagitta_fraction(curve: Curve, facing: Floats) -> Floats:
    """Return the greatest distance of a curve from the line through its ends.

    Returns
    -------
    (...) float array
        As a fraction of the distance between the ends, signed: positive bulges to the front. It
        jumps where a curve bulges equally to both sides.
    """
    samples = curve.at(np.linspace(0.0, 1.0, _SAMPLES))
    start, end = samples[..., 0, :], samples[..., -1, :]
    along = end - start
    front = front_of(along, facing)
    offset = dot(samples - start[..., None, :], front[..., None, :])
    index = np.argmax(np.abs(offset), axis=-1)
    greatest = np.take_along_axis(offset, index[..., None], axis=-1)[..., 0]
    return np.asarray(greatest / np.linalg.norm(along, axis=-1))


def turning(curve: Curve, start: float, end: float, facing: Floats) -> Floats:
    """Return how far the tangent turns between two places of a curve.

    Parameters
    ----------
    curve : Curve
    start, end : float
        Places, 0 (caudal end) to 1 (cranial end), start < end.
    facing : (...) float array

    Returns
    -------
    (...) float array [rad]
        Positive when, going towards the head, the curve bends backwards: a hollow back.
        Negative when it bends forwards: a rounded back.
    """
    tangents = curve.tangent(np.array([start, end]))
    return -turn_towards_front(tangents[..., 0, :], tangents[..., 1, :], facing)


def arc_angle(sagitta_over_length: Floats) -> Floats:
    """Return the angle that a circular arc subtends, from its sagitta over its chord.

    Parameters
    ----------
    sagitta_over_length : float array
        Height of the arc over the length of its chord (TW / TL of a flexicurve tracing).

    Returns
    -------
    float array [rad]

    Notes
    -----
    4·atan(2·TW/TL), the closed form for a circle.

    Examples
    --------
    >>> round(float(np.rad2deg(arc_angle(np.array(0.10)))), 1)
    45.2
    """
    return np.asarray(4.0 * np.arctan(2.0 * np.asarray(sagitta_over_length)))
