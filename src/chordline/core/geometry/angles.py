"""Signed angles of plane points.

Never `arccos`: it folds at straight and, with noise, reads a straight joint as bent.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def cross(a: Floats, b: Floats) -> Floats:
    """Return the z component of a × b for (..., 2) vectors, in the axes they are given in."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def dot(a: Floats, b: Floats) -> Floats:
    """Return a · b for (..., 2) vectors.

    Written out: numpy's sum along an axis of two takes several times as long.
    """
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1])


def joint_opening(caudal: Floats, joint: Floats, cranial: Floats, facing: Floats) -> Floats:
    """Return how far a joint opens the front of the body beyond straight.

    Parameters
    ----------
    caudal, joint, cranial : (..., 2) float arrays [px]
        Neighbour towards the feet, the joint, neighbour towards the hands; photo frame (y down).
    facing : (...) float array
        +1 with the left side near the camera, −1 with the right.

    Returns
    -------
    (...) float array [rad], −π to π
        0 = straight; positive = the joint stands out towards the front. NaN where a point is NaN
        or lies on the joint.

    Notes
    -----
    atan2(cross, −dot) of the two vectors that leave the joint.

    Examples
    --------
    A hip 10 px in front of the line of a head-up body whose left side is near (front = left):

    >>> points = [np.array(p, float) for p in ((0, 100), (-10, 0), (0, -100))]
    >>> round(float(np.rad2deg(joint_opening(*points, np.array(1.0)))), 3)
    11.421
    """
    to_caudal, to_cranial = caudal - joint, cranial - joint
    angle = np.arctan2(facing * cross(to_cranial, to_caudal), -dot(to_caudal, to_cranial))
    return _where_directed(angle, to_caudal, to_cranial)


def turn_towards_front(reference: Floats, direction: Floats, facing: Floats) -> Floats:
    """Return the angle from a reference direction to another, positive towards the front.

    Parameters
    ----------
    reference, direction : (..., 2) float arrays
        Both pointing towards the head; photo frame.
    facing : (...) float array
        +1 with the left side near the camera, −1 with the right.

    Returns
    -------
    (...) float array [rad], −π to π
        NaN where a direction is NaN or has no length.
    """
    angle = np.arctan2(facing * cross(direction, reference), dot(reference, direction))
    return _where_directed(angle, reference, direction)


def _where_directed(angle: Floats, a: Floats, b: Floats) -> Floats:
    """Return the angle, NaN where a (..., 2) side has no length: atan2 would say 0 or π."""
    has_length = ((a[..., 0] != 0.0) | (a[..., 1] != 0.0)) & (
        (b[..., 0] != 0.0) | (b[..., 1] != 0.0)
    )
    return np.asarray(np.where(has_length, angle, np.nan))


def front_of(cranial: Floats, facing: Floats) -> Floats:
    """Return the unit vector to which the belly faces, for a direction towards the head.

    Parameters
    ----------
    cranial : (..., 2) float array
        Direction towards the head, photo frame, not zero.
    facing : (...) float array

    Returns
    -------
    (..., 2) float array
        The head's direction turned a quarter counter-clockwise as seen in the picture when the
        left side is near, clockwise when the right is.
    """
    quarter = np.stack([cranial[..., 1], -cranial[..., 0]], axis=-1)
    length = np.linalg.norm(cranial, axis=-1)[..., None]
    return np.asarray(np.asarray(facing)[..., None] * quarter / length)
