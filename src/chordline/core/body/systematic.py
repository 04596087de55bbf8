"""Errors that a second photo would repeat: kept apart from the random ones and reported.

Each function returns, for every measure, how far one source of error may have moved it (an sd, in
the measure's unit). None of them corrects the measure.
"""

from dataclasses import dataclass

import numpy as np

from chordline.core.body.measures import compute_measures
from chordline.core.body.points import BodyPoints
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.propagation import covariance, jacobian


@dataclass(frozen=True)
class Viewpoint:
    """Where the phone stood, as far as it is known.

    Attributes
    ----------
    yaw_rad : Estimate
        Turn of the gymnast's plane about the vertical out of the picture plane.
    pitch_rad : Estimate
        Turn of the camera up (positive) or down.
    ahead_px : (2,) float array [px]
        Vanishing point of the plane's normal: a point that comes nearer moves away from it.
    ahead_sd_px : float
        Error of that point along the picture's upright.
    distance_m : float
    """

    yaw_rad: Estimate
    pitch_rad: Estimate
    ahead_px: Floats
    ahead_sd_px: float
    distance_m: float


def _rms(estimate: Estimate) -> float:
    return float(np.hypot(estimate.value, estimate.sd))


def _stretched(body: BodyPoints, *, along_up: float, across_up: float) -> BodyPoints:
    up = body.frame.up
    right = np.array([-up[1], up[0]])
    xy = body.xy_px
    stretched = (xy @ up)[..., None] * up * along_up + (xy @ right)[..., None] * right * across_up
    return body.with_xy(stretched)


def _difference(body: BodyPoints, changed: BodyPoints, names: tuple[str, ...]) -> Floats:
    change = compute_measures(changed, names)[0] - compute_measures(body, names)[0]
    return np.asarray(np.abs(change))


def yaw_error(body: BodyPoints, view: Viewpoint, names: tuple[str, ...]) -> Floats:
    """Return what the camera's yaw may cost.

    Notes
    -----
    Yaw ψ shortens the picture's horizontal by cos ψ and leaves the vertical, so it exaggerates the
    bends of a lying body and hides those of a handstand. Both follow from the same stretch.
    """
    squared = _stretched(body, along_up=1.0, across_up=1.0 / np.cos(_rms(view.yaw_rad)))
    return _difference(body, squared, names)


def pitch_error(body: BodyPoints, view: Viewpoint, names: tuple[str, ...]) -> Floats:
    """Return what a phone that looks up or down may cost: it shortens the vertical."""
    levelled = _stretched(body, along_up=1.0 / np.cos(_rms(view.pitch_rad)), across_up=1.0)
    return _difference(body, levelled, names)


def near_side_parallax(
    body: BodyPoints, view: Viewpoint, names: tuple[str, ...], *, half_breadth_m: Floats
) -> Floats:
    """Return what the near side's differing depths may cost.

    Parameters
    ----------
    body, view, names
    half_breadth_m : (k,) float array [m]
        How far each landmark stands out of the mid-plane towards the camera. NaN counts as 0.

    Notes
    -----
    A point nearer by z at distance D moves by z / D times its offset from the vanishing point of
    the plane's normal. Landmarks of unlike depth move unalike; a phone at body height keeps the
    offset small. The second part takes the error of that vanishing point through.
    """
    share = np.nan_to_num(half_breadth_m) / view.distance_m
    offset = body.xy_px[0] - view.ahead_px
    moved = body.with_xy(body.xy_px - (share[:, None] * offset)[None])
    up = body.frame.up
    raised = body.with_xy(moved.xy_px + (share[:, None] * view.ahead_sd_px * up)[None])
    return np.hypot(_difference(body, moved, names), _difference(moved, raised, names))


def definition_error(body: BodyPoints, names: tuple[str, ...], *, sd_px: Floats) -> Floats:
    """Return what a constant offset of each landmark from the joint it stands for may cost.

    Parameters
    ----------
    sd_px : (k,) float array [px]
        Size of that offset along each axis.
    """
    slopes = jacobian(lambda xy: compute_measures(body.with_xy(xy), names), body.xy_px[0])
    return np.sqrt(np.diag(covariance(slopes, sd_px)))
