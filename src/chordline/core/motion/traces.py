"""Measures of every sample of a course, with both kinds of error apart."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from chordline.core.body.measures import compute_measures, unit_of
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.propagation import gaussian_points
from chordline.core.motion.course import Course

#: Samples that are worked on at once; keeps the arrays small.
_AT_ONCE = 128


@dataclass(frozen=True)
class Trace:
    """One measure through time, each array (n,) in the measure's unit; NaN where lost.

    Attributes
    ----------
    value : float array
    random_sd : float array
        What the filter left of the random error.
    common_sd : float array
        Error that is the same in all samples, such as where a landmark stands for a joint. No
        filter takes it away and no drift comes from it.
    """

    value: Floats
    random_sd: Floats
    common_sd: Floats

    @property
    def sd(self) -> Floats:
        """Both errors together."""
        return np.hypot(self.random_sd, self.common_sd)


@dataclass(frozen=True)
class Traces:
    """Measures through time.

    Attributes
    ----------
    t_s : (n,) float array [s]
        Evenly spaced.
    of : mapping of measure to Trace
    cutoff_hz, rate_hz : float
        Of the filter and of the samples.
    correlation : (m,) float array
        Of the random error between samples 0, 1, 2 … steps apart.
    """

    t_s: Floats
    of: Mapping[str, Trace]
    cutoff_hz: float
    rate_hz: float
    correlation: Floats

    def samples(self, seconds: float) -> int:
        """Return how many samples make so many seconds, at least 2."""
        return max(2, round(seconds * self.rate_hz))


def trace_measures(
    course: Course,
    names: Sequence[str],
    *,
    definition_sd_px: Floats,
    other_common_sd: Mapping[str, float] | None = None,
) -> Traces:
    """Return measures of every sample.

    Parameters
    ----------
    course : Course
    names : sequence of str
        Measures out of `ALL_MEASURES`.
    definition_sd_px : (k,) float array [px]
        Size along each axis of the offset of a landmark from the joint it stands for: the same in
        all frames.
    other_common_sd : mapping of measure to float, optional
        Further errors that all frames share (yaw, parallax), in the measure's unit.

    Raises
    ------
    KeyError
        For a measure that does not exist.
    """
    names = tuple(names)
    turned = np.array([unit_of(name) == "deg" for name in names])

    def measure(xy_px: Floats) -> Floats:
        return compute_measures(course.body.with_xy(xy_px), names)

    value = measure(course.body.xy_px)
    random = spread_points(measure, course.body.xy_px, course.random_sd_px, turned=turned)
    common_px = np.broadcast_to(definition_sd_px, course.random_sd_px.shape)
    common = spread_points(measure, course.body.xy_px, common_px, turned=turned)
    more = other_common_sd or {}
    return Traces(
        t_s=course.t_s,
        of={
            name: Trace(value[:, i], random[:, i], np.hypot(common[:, i], more.get(name, 0.0)))
            for i, name in enumerate(names)
        },
        cutoff_hz=course.cutoff_hz,
        rate_hz=course.rate_hz,
        correlation=course.correlation,
    )


def spread_points(
    function: Callable[[Floats], Floats], xy_px: Floats, sd_px: Floats, *, turned: Floats
) -> Floats:
    """Return the sd of functions of landmarks that err independently, for many bodies at once.

    Parameters
    ----------
    function : callable
        (n, k, 2) points → (n, m).
    xy_px : (n, k, 2) float array [px]
    sd_px : (n, k) float array [px]
    turned : (m,) bool array
        Which functions are angles in degrees, so that 179° and −179° are 2° apart.

    Returns
    -------
    (n, m) float array
        NaN where the function is.

    Notes
    -----
    Moments over few `gaussian_points`, the same for every body: exact for what is straight within
    the errors, and it does not fail at a kink, as a derivative would.
    """
    n, k = xy_px.shape[:2]
    points = gaussian_points(2 * k, count=max(64, 8 * k)).reshape(1, -1, k, 2)
    spread = np.nan_to_num(sd_px)[:, None, :, None]
    out = []
    for first in range(0, n, _AT_ONCE):
        part = slice(first, first + _AT_ONCE)
        moved = xy_px[part, None] + points * spread[part]
        values = function(moved.reshape(-1, k, 2)).reshape(len(moved), points.shape[1], -1)
        off = values - function(xy_px[part])[:, None]
        off = np.where(turned, (off + 180.0) % 360.0 - 180.0, off)
        out.append(off.std(axis=1))
    return np.concatenate(out) if out else np.empty((0, len(turned)))
