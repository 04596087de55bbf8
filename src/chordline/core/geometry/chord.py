"""The chord and the bow of the body from it."""

import numpy as np

from chordline.core.geometry.angles import Floats, dot, front_of


def bow_fraction(points: Floats, start: Floats, end: Floats, facing: Floats) -> Floats:
    """Return the signed distance of points from a chord, as a fraction of its length.

    Parameters
    ----------
    points : (..., k, 2) float array [px]
    start, end : (..., 2) float arrays [px]
        Ends of the chord, `start` towards the feet; photo frame.
    facing : (...) float array
        +1 with the left side near the camera, −1 with the right.

    Returns
    -------
    (..., k) float array
        Positive towards the front of the body. NaN where a point is NaN or the chord has no length.
    """
    along = end - start
    length = np.linalg.norm(along, axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        front = front_of(along, facing)
        offset = dot(points - start[..., None, :], front[..., None, :])
        return np.asarray(offset / length[..., None])


def largest_bow(bows: Floats) -> Floats:
    """Return the signed bow of largest magnitude along the last axis; NaN where all are NaN."""
    magnitude = np.where(np.isnan(bows), -1.0, np.abs(bows))
    index = np.argmax(magnitude, axis=-1)
    return np.asarray(np.take_along_axis(bows, index[..., None], axis=-1)[..., 0])


def rms_bow(bows: Floats) -> Floats:
    """Return the root mean square of the bows along the last axis, NaN entries left out."""
    known = ~np.isnan(bows)
    count = known.sum(axis=-1)
    total = np.where(known, bows, 0.0) ** 2
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.sqrt(total.sum(axis=-1) / count))
