"""How quietly she stands on her hands: sway along one axis, as one side view shows it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.core.geometry.angles import Floats, front_of
from chordline.core.mechanics.lengths import Lengths, fill_points
from chordline.core.mechanics.parts import POINTS, Parts, locate_mass_centre
from chordline.core.motion.course import Course
from chordline.core.motion.traces import spread_points
from chordline.core.motion.untold import Untold

#: One-sided 95 % of a standard normal.
_SURE: Final = 1.6448536269514722
_SHORTEST_S = 2.0


@dataclass(frozen=True)
class Path:
    """Where a point of the body is along the horizontal, through time.

    Attributes
    ----------
    t_s : (n,) float array [s]
        Evenly spaced.
    front : (n,) float array
        Towards the front of her body, from the hand; in `unit`. NaN where lost.
    random_sd : (n,) float array
        Same unit.
    unit : str
        ``cm`` or ``pct`` (of the support from the heel of the hand to the knuckles).
    cutoff_hz : float
        Of the filter that the landmarks went through.
    correlation : (m,) float array
        Of the random error, by lag.
    """

    t_s: Floats
    front: Floats
    random_sd: Floats
    unit: str
    cutoff_hz: float
    correlation: Floats


@dataclass(frozen=True)
class Sway:
    """Measures of sway along one axis, about its mean; lengths in `unit`.

    Attributes
    ----------
    mean_distance : float
        Mean of the distance from the mean (MDIST).
    rms_distance : float
        Its root mean square (RDIST).
    range : float
        From the rearmost to the foremost place.
    path : float
        All ways added (TOTEX).
    mean_speed : float
        Path over time (MVELO) [unit / s].
    mean_frequency_hz : float
        Of a sinusoid of the same mean speed and mean distance.
    duration_s : float
    unit : str
    cutoff_hz : float
        A path is longer the higher the cut-off: only sways of one cut-off compare.
    noise_rms, noise_speed : float
        What a body that stands stock-still would show of `rms_distance` and `mean_speed`.
    is_told, speed_is_told : bool
        Whether distances, and speed, path and frequency, stand above what noise alone shows.
        Where False: cannot tell.
    """

    mean_distance: float
    rms_distance: float
    range: float
    path: float
    mean_speed: float
    mean_frequency_hz: float
    duration_s: float
    unit: str
    cutoff_hz: float
    noise_rms: float
    noise_speed: float
    is_told: bool
    speed_is_told: bool


def measure_sway(path: Path, *, most_lost_share: float) -> Sway | Untold:
    """Return the sway of a path.

    Parameters
    ----------
    path : Path
    most_lost_share : float
        Steps that are lost are left out, up to this share of them.

    Returns
    -------
    Sway or Untold
        Untold for less than 2 s or where too much is lost.

    Notes
    -----
    One-dimensional forms (the axis to the front and back; a side view shows no other, so there is
    no ellipse): MDIST = mean |x|, RDIST = rms x, TOTEX = Σ|Δx|, MVELO = TOTEX/T, mean frequency
    = MVELO / (2π·MDIST). The last is exact for a sinusoid A: a period's path is 4A and its MDIST
    2A/π. Prieto's form for one axis is, from memory, MVELO / (4√2·MDIST), which calls the same
    sinusoid 11 % faster; ours differs there.

    Noise makes every path longer. White noise after the filter has steps of variance 2σ²(1 − r₁)
    and shows a speed of √(2/π) times their sd over the step. Speed counts as told when it is above
    that by more than chance would make it, with 2·cut-off·T independent steps.

    References
    ----------
    Prieto 1996, IEEE TBME 43:956 (facts.md §8; from memory, with high confidence).
    """
    known = np.isfinite(path.front)
    lost = 1.0 - float(known.mean()) if len(known) else 1.0
    if lost > most_lost_share:
        return Untold("body-lost", lost, most_lost_share)
    step = float(path.t_s[1] - path.t_s[0])
    x = path.front - path.front[known].mean()
    steps = np.abs(np.diff(x))
    steps = steps[np.isfinite(steps)]
    duration = len(steps) * step
    if duration < _SHORTEST_S:
        return Untold("too-short", duration, _SHORTEST_S)
    seen = x[known]
    mean_distance = float(np.abs(seen).mean())
    total = float(steps.sum())
    speed = total / duration
    if mean_distance == 0.0:
        return Untold("not-moved-in-the-picture")
    noise = float(np.sqrt(np.mean(path.random_sd[known] ** 2)))
    next_to = float(path.correlation[1]) if len(path.correlation) > 1 else 0.0
    noise_speed = float(np.sqrt(2.0 / np.pi) * noise * np.sqrt(2.0 * (1.0 - next_to)) / step)
    independent = max(2.0 * path.cutoff_hz * duration, 2.0)
    rms = float(np.sqrt(np.mean(seen**2)))
    return Sway(
        mean_distance=mean_distance,
        rms_distance=rms,
        range=float(np.ptp(seen)),
        path=total,
        mean_speed=speed,
        mean_frequency_hz=speed / (2.0 * np.pi * mean_distance),
        duration_s=duration,
        unit=path.unit,
        cutoff_hz=path.cutoff_hz,
        noise_rms=noise,
        noise_speed=noise_speed,
        is_told=rms > noise * (1.0 + _SURE * np.sqrt(0.5 / independent)),
        # Relative sd of the mean of |normal|: √(π/2 − 1) of one step.
        speed_is_told=speed > noise_speed * (1.0 + _SURE * np.sqrt((np.pi / 2 - 1) / independent)),
    )


def trace_point(
    course: Course,
    place: Callable[[Floats], Floats],
    *,
    base: str,
    px_per_unit: float,
    unit: str,
) -> Path:
    """Return where a point of the body is in front of a landmark.

    Parameters
    ----------
    course : Course
    place : callable
        (n, k, 2) landmarks → (n, 2) points [px], such as one of `mass_centre_of`.
    base : str
        The landmark from which it is measured, such as ``hand``: a phone that moves does not count.
    px_per_unit : float
        Pixels a centimetre, or pixels a hundredth of the support.
    unit : str
        ``cm`` or ``pct``.

    Notes
    -----
    Upside-down: the front is that of a body whose head points down. The error of where landmarks
    stand for joints shifts the whole path and makes no sway.
    """
    body = course.body
    front = front_of(-body.frame.up, np.asarray(body.facing))
    index = body.names.index(base)

    def along(xy_px: Floats) -> Floats:
        return np.asarray(((place(xy_px) - xy_px[:, index]) @ front / px_per_unit)[:, None])

    sd = spread_points(along, body.xy_px, course.random_sd_px, turned=np.array([False]))
    return Path(
        t_s=course.t_s,
        front=along(body.xy_px)[:, 0],
        random_sd=sd[:, 0],
        unit=unit,
        cutoff_hz=course.cutoff_hz,
        correlation=course.correlation,
    )


def landmark_of(course: Course, name: str) -> Callable[[Floats], Floats]:
    """Return what finds one landmark among a course's."""
    index = course.body.names.index(name)
    return lambda xy_px: np.asarray(xy_px[:, index])


def mass_centre_of(
    names: Sequence[str], parts: Parts, *, trunk_fraction: float, lengths_px: Lengths
) -> Callable[[Floats], Floats]:
    """Return what finds the centre of mass among landmarks.

    Parameters
    ----------
    names : sequence of str
        Landmarks of the course.
    parts : Parts
        Of a published table.
    trunk_fraction, lengths_px
        As `fill_points` takes them, lengths in pixels: what is not marked is put in line.
    """
    order: Mapping[str, int] = {name: i for i, name in enumerate(names)}

    def place(xy_px: Floats) -> Floats:
        points = np.full((len(xy_px), len(POINTS), 2), np.nan)
        for i, name in enumerate(POINTS):
            if name in order:
                points[:, i] = xy_px[:, order[name]]
        whole = fill_points(points, trunk_fraction=trunk_fraction, otherwise=lengths_px)
        return locate_mass_centre(parts, whole)

    return place
