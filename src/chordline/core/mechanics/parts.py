"""Masses of the body as parts that ride on links between points, from one published table."""

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats

#: Points of the planar body, from the feet to the hands. All but `trunk` are landmarks of
#: `conventions.py`; `trunk` is where the model lets the lower back bend.
POINTS: Final = (
    "toe",
    "malleolus",
    "knee",
    "hip",
    "trunk",
    "shoulder",
    "ear",
    "elbow",
    "wrist",
    "hand",
)
INDEX: Final = MappingProxyType({name: i for i, name in enumerate(POINTS)})

#: Each link with its proximal and distal point, as the tables name them.
LINKS: Final = MappingProxyType(
    {
        "hand": ("wrist", "hand"),
        "forearm": ("elbow", "wrist"),
        "upper_arm": ("shoulder", "elbow"),
        "head": ("shoulder", "ear"),
        "upper_trunk": ("shoulder", "trunk"),
        "lower_trunk": ("trunk", "hip"),
        "thigh": ("hip", "knee"),
        "shank": ("knee", "malleolus"),
        "foot": ("malleolus", "toe"),
    }
)


@dataclass(frozen=True)
class Parts:
    """Mass parts of a whole body, left and right together.

    Attributes
    ----------
    table : str
        Which published table they come from.
    names : tuple of str
        What each part is called there.
    links : tuple of str
        The link each part rides on.
    mass : (k,) float array
        Fraction of the body's mass; sums to 1.
    along : (k,) float array
        Centre of mass, as a fraction of the link from its proximal point. May lie outside 0 to 1.
    radius : (k,) float array
        Radius of gyration about the transverse axis through the part's own centre, as a fraction
        of the link.
    """

    table: str
    names: tuple[str, ...]
    links: tuple[str, ...]
    mass: Floats
    along: Floats
    radius: Floats

    def __post_init__(self) -> None:
        """Refuse masses that do not make one body."""
        if not np.isclose(self.mass.sum(), 1.0, rtol=0.0, atol=1e-9):
            raise ValueError(f"{self.table}: the parts make {self.mass.sum():.6f} of a body, not 1")
        if (self.mass <= 0.0).any() or (self.radius < 0.0).any():
            raise ValueError(f"{self.table}: a part without mass or with a negative radius")

    @property
    def ends(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Indices into `POINTS` of each part's proximal and distal point, (k,) each."""
        pairs = np.array([[INDEX[end] for end in LINKS[link]] for link in self.links], np.intp)
        return pairs[:, 0], pairs[:, 1]

    def ride_on(self, *links: str) -> NDArray[np.bool_]:
        """Return which parts ride on any of these links, (k,)."""
        return np.array([link in links for link in self.links])


def place_parts(parts: Parts, points_m: Floats) -> Floats:
    """Return where the parts' centres of mass are.

    Parameters
    ----------
    parts : Parts
    points_m : (..., 10, 2) float array [m]
        In the order of `POINTS`, plane frame.

    Returns
    -------
    (..., k, 2) float array [m]
        NaN where a point of the part's link is NaN.
    """
    proximal, distal = parts.ends
    start = points_m[..., proximal, :]
    return np.asarray(start + parts.along[:, None] * (points_m[..., distal, :] - start))


def locate_mass_centre(parts: Parts, points_m: Floats) -> Floats:
    """Return the centre of mass of the whole body, (..., 2) [m], plane frame.

    Parameters
    ----------
    parts : Parts
    points_m : (..., 10, 2) float array [m]
        In the order of `POINTS`.

    Notes
    -----
    Σ fraction · centre. The body's mass cancels.
    """
    return np.asarray(np.einsum("k,...kd->...d", parts.mass, place_parts(parts, points_m)))


def compute_inertia(parts: Parts, points_m: Floats, mass_kg: Floats) -> Floats:
    """Return the moment of inertia about the transverse axis through the centre of mass.

    Parameters
    ----------
    parts : Parts
    points_m : (..., 10, 2) float array [m]
        In the order of `POINTS`.
    mass_kg : (...) float array [kg]

    Returns
    -------
    (...) float array [kg·m²]

    Notes
    -----
    Σ m (r² + d²) over the parts, d from the whole body's centre (parallel axes). The parts lie in
    one plane: breadth counts nothing about this axis.
    """
    proximal, distal = parts.ends
    lengths = np.linalg.norm(points_m[..., distal, :] - points_m[..., proximal, :], axis=-1)
    centres = place_parts(parts, points_m)
    whole = np.einsum("k,...kd->...d", parts.mass, centres)
    own = (parts.radius * lengths) ** 2
    away = ((centres - whole[..., None, :]) ** 2).sum(axis=-1)
    return np.asarray(mass_kg * ((own + away) @ parts.mass))


@dataclass(frozen=True)
class Tabled:
    """A figure by several tables: the mean and what the choice of the table is worth.

    Attributes
    ----------
    value : float array
        Mean over the tables.
    table_sd : float array
        Standard deviation over the tables (n − 1), 0 for one table. It is an error that every
        photo repeats: never mixed with the error of landmarks.
    """

    value: Floats
    table_sd: Floats


def spread_over_tables(by_table: Floats) -> Tabled:
    """Return mean and spread of figures that are stacked by table along the first axis."""
    if len(by_table) == 1:
        return Tabled(by_table[0], np.zeros_like(by_table[0]))
    return Tabled(np.asarray(by_table.mean(axis=0)), np.asarray(by_table.std(axis=0, ddof=1)))
