"""Lengths of the links: from her landmarks where a photo shows them, else from her stature."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.parts import INDEX, LINKS, POINTS


@dataclass(frozen=True)
class Lengths:
    """Lengths of the links [m], each a float array of one shape (...).

    Attributes
    ----------
    head : from shoulder to ear.
    hand : from wrist to third knuckle.
    foot : from malleolus to big toe, foot pointed.
    """

    hand: Floats
    forearm: Floats
    upper_arm: Floats
    head: Floats
    upper_trunk: Floats
    lower_trunk: Floats
    thigh: Floats
    shank: Floats
    foot: Floats

    @property
    def arm(self) -> Floats:
        """From wrist to shoulder, the elbow straight."""
        return np.asarray(self.forearm + self.upper_arm)

    @property
    def shape(self) -> tuple[int, ...]:
        """The shape that all lengths make together."""
        return np.broadcast_shapes(*(getattr(self, f.name).shape for f in fields(self)))

    def push(self, gain_m: Floats) -> "Lengths":
        """Return lengths whose shoulders stand so much further from the hands [m].

        The gain is added to the upper arm: what the shoulder girdle lifts stands between the arm
        and the trunk and moves with the arm.
        """
        return replace(self, upper_arm=np.asarray(self.upper_arm + gain_m))

    def scale(self, factor: Floats) -> "Lengths":
        """Return all lengths times a factor."""
        return Lengths(**{f.name: np.asarray(getattr(self, f.name) * factor) for f in fields(self)})


def lengths_of_stature(fractions: Mapping[str, float], stature_m: Floats) -> Lengths:
    """Return lengths that are a table's fractions of stature.

    Parameters
    ----------
    fractions : mapping of link to float
        All links of `LINKS`.
    stature_m : (...) float array [m]
    """
    return Lengths(**{link: np.asarray(fractions[link] * stature_m) for link in LINKS})


def measure_lengths(points_m: Floats, otherwise: Lengths, *, trunk_fraction: float) -> Lengths:
    """Return her lengths as a photo shows them.

    Parameters
    ----------
    points_m : (..., 10, 2) float array [m]
        In the order of `POINTS`; NaN for what is not marked.
    otherwise : Lengths
        For links that a point is missing of, such as `lengths_of_stature`.
    trunk_fraction : float
        Where the lower back bends, as a fraction of the way from hip to shoulder; used where
        `trunk` is not marked.

    Notes
    -----
    A link turned out of the picture's plane looks shorter than it is.
    """
    points = fill_points(points_m, trunk_fraction=trunk_fraction)
    seen = {
        link: np.linalg.norm(points[..., INDEX[b], :] - points[..., INDEX[a], :], axis=-1)
        for link, (a, b) in LINKS.items()
    }
    return Lengths(
        **{
            link: np.where(np.isnan(length), getattr(otherwise, link), length)
            for link, length in seen.items()
        }
    )


def fill_points(
    points_m: Floats, *, trunk_fraction: float, otherwise: Lengths | None = None
) -> Floats:
    """Return points with what is not marked put where a straight link would have it.

    Parameters
    ----------
    points_m : (..., 10, 2) float array [m]
        In the order of `POINTS`; NaN for what is not marked.
    trunk_fraction : float
        As in `measure_lengths`.
    otherwise : Lengths, optional
        With it ear, toe and hand are filled too: the ear in line with the trunk, the foot in line
        with the shank, the hand in line with the forearm. The elbow goes onto the straight line
        from shoulder to wrist.

    Returns
    -------
    (..., 10, 2) float array [m]
    """
    points = np.array(points_m)

    def put(name: str, place: Floats) -> None:
        there = points[..., INDEX[name], :]
        points[..., INDEX[name], :] = np.where(np.isnan(there), place, there)

    hip, shoulder = points[..., INDEX["hip"], :], points[..., INDEX["shoulder"], :]
    put("trunk", hip + trunk_fraction * (shoulder - hip))
    if otherwise is None:
        return points
    wrist = points[..., INDEX["wrist"], :]
    share = np.asarray(otherwise.upper_arm / otherwise.arm)[..., None]
    put("elbow", shoulder + share * (wrist - shoulder))

    def beyond(start: str, end: str, length: Floats) -> Floats:
        a, b = points[..., INDEX[start], :], points[..., INDEX[end], :]
        along = b - a
        unit = along / np.linalg.norm(along, axis=-1, keepdims=True)
        return np.asarray(b + np.asarray(length)[..., None] * unit)

    put("ear", beyond("hip", "shoulder", otherwise.head))
    put("toe", beyond("knee", "malleolus", otherwise.foot))
    put("hand", beyond("elbow", "wrist", otherwise.hand))
    return points


def no_points(shape: tuple[int, ...]) -> Floats:
    """Return (..., 10, 2) points that are all missing."""
    return np.full((*shape, len(POINTS), 2), np.nan)
