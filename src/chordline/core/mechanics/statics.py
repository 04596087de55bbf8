"""What a handstand that was measured asks of her: balance over the hand, moments, who bows her.

Statics only: the photo is taken to show her at rest.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.propagation import covariance, jacobian
from chordline.core.mechanics.chain import MOMENT_JOINTS, SENSES, Support
from chordline.core.mechanics.lengths import Lengths, fill_points
from chordline.core.mechanics.parts import INDEX, POINTS, Parts, locate_mass_centre, place_parts

#: Joints that can bow her, from the floor up.
BOW_JOINTS: Final = ("shoulder", "trunk", "hip", "knee")
_LINE: Final = ("wrist", *BOW_JOINTS, "malleolus")
#: Links from the floor up, and how many of them are below each joint on the hands.
_UPWARD: Final = (
    "hand",
    "forearm",
    "upper_arm",
    "head",
    "upper_trunk",
    "lower_trunk",
    "thigh",
    "shank",
    "foot",
)
_BELOW: Final = {"wrist": 1, "shoulder": 3, "trunk": 5, "hip": 6, "knee": 7}
_M_PER_MM: Final = 1e-3


@dataclass(frozen=True)
class Posture:
    """Points of n handstands in one frame: wrist at the origin, x to the front, y up [m].

    Attributes
    ----------
    points_m : (n, 10, 2) float array
        In the order of `POINTS`, none missing that was marked or can be filled.
    support : Support
    """

    points_m: Floats
    support: Support


def stand_posture(
    points_m: Floats,
    *,
    facing: int,
    otherwise: Lengths,
    trunk_fraction: float,
    heel_m: float,
) -> Posture:
    """Return handstands as the statics need them.

    Parameters
    ----------
    points_m : (n, 10, 2) float array [m]
        Plane frame (y up), in the order of `POINTS`; NaN for what is not marked. Wrist, shoulder,
        hip, knee and malleolus must be.
    facing : int
        +1 with the left side near the camera, −1 with the right.
    otherwise : Lengths
        Of her stature, for what is not marked: hand, head, foot.
    trunk_fraction : float
        Where the lower back bends, from hip (0) to shoulder (1).
    heel_m : float [m]
        How far in front of the wrist's axis the heel of the hand carries.

    Notes
    -----
    An unmarked hand lies flat on the floor with the fingers towards her back, an unmarked ear is in
    line with the trunk and an unmarked foot in line with the shank.
    """
    points = (points_m - points_m[:, None, INDEX["wrist"]]) * np.array([float(facing), 1.0])
    hand = points[:, INDEX["hand"]]
    flat = np.array([-1.0, 0.0]) * np.asarray(otherwise.hand)[..., None]
    points[:, INDEX["hand"]] = np.where(np.isnan(hand), flat, hand)
    points = fill_points(points, trunk_fraction=trunk_fraction, otherwise=otherwise)
    heel = np.full(len(points), heel_m)
    return Posture(points, Support(heel, points[:, INDEX["hand"], 0]))


def locate_balance(parts: Parts, posture: Posture) -> Floats:
    """Return where the centre of mass stands: 0 at the heel of the hand, 100 at the knuckles.

    Returns
    -------
    (n,) float array [% of the support]
        Below 0 she falls to her front (underbalance), above 100 over the fingers. NaN where the
        knuckles are not behind the heel of the hand.
    """
    centres = place_parts(parts, posture.points_m)[..., 0] @ parts.mass
    carries = posture.support.heel_m > posture.support.knuckles_m
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(carries, posture.support.share_pct(centres), np.nan)


def lean_off_hand(parts: Parts, posture: Posture) -> Floats:
    """Return how far the centre of mass leans off the middle of the support, seen from there.

    Returns
    -------
    (n,) float array [deg]
        Positive to her front. NaN as in `locate_balance`.
    """
    centres = locate_mass_centre(parts, posture.points_m)
    middle = (posture.support.heel_m + posture.support.knuckles_m) / 2.0
    lean = np.rad2deg(np.arctan2(centres[:, 0] - middle, centres[:, 1]))
    return np.where(posture.support.heel_m > posture.support.knuckles_m, lean, np.nan)


def compute_moments(parts: Parts, posture: Posture, *, stature_m: float) -> Floats:
    """Return the net joint moments in weight × stature, (n, 5), by `MOMENT_JOINTS`.

    As `Chain.compute_moments`: positive acts to open the joint, in the joint's own sense.
    """
    x = place_parts(parts, posture.points_m)[..., 0]
    moments = []
    for joint in MOMENT_JOINTS:
        above = parts.ride_on(*_UPWARD[_BELOW[joint] :])
        arm = x[:, above] - posture.points_m[:, None, INDEX[joint], 0]
        moments.append(arm @ parts.mass[above])
    return np.asarray(SENSES * np.stack(moments, axis=1) / stature_m)


#: Nodes and weights of Gauss and Legendre on 0 to 1.
_NODES, _WEIGHTS = (np.polynomial.legendre.leggauss(6) + np.array([[1.0], [0.0]])) / 2.0


def share_bow(points_m: Floats) -> Floats:
    """Return each joint's share of the bow, (n, 4), by `BOW_JOINTS`; the shares add up to 1.

    Parameters
    ----------
    points_m : (n, 10, 2) float array [m]
        Of a `Posture`.

    Returns
    -------
    (n, 4) float array
        Negative where a joint takes away from the bow that the others make. NaN where there is no
        bow.

    Notes
    -----
    From straight all openings grow in proportion to what they are; each bow is the sum of what each
    opening added on the way (Aumann and Shapley). A joint's share is its part of Σ bow².
    """
    line = points_m[:, [INDEX[name] for name in _LINE]]
    links = np.diff(line, axis=1)
    lengths = np.linalg.norm(links, axis=-1)
    leans = np.arctan2(links[..., 0], links[..., 1])
    openings = leans[:, :-1] - leans[:, 1:]
    openings = np.arctan2(np.sin(openings), np.cos(openings))
    parts = np.zeros((len(line), len(BOW_JOINTS), len(BOW_JOINTS)))
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        parts += weight * _bow_by_opening(lengths, node * openings)
    parts *= openings[:, None, :]
    bow = parts.sum(axis=2)
    total = (bow**2).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.einsum("nk,nkj->nj", bow, parts) / total[:, None])


def _bow_by_opening(lengths: Floats, openings: Floats) -> Floats:
    """Return the slope of bows by openings, (n, landmark, opening), of chains of five links."""
    turned = np.concatenate([np.zeros((len(openings), 1)), openings.cumsum(axis=1)], axis=1)
    x, y = (lengths * np.sin(-turned)).sum(axis=1), (lengths * np.cos(turned)).sum(axis=1)
    chord = np.hypot(x, y)[:, None]
    phi = -turned - np.arctan2(x, y)[:, None]
    s, a = lengths * np.sin(phi) / chord, lengths * np.cos(phi) / chord
    upto = np.tril(np.ones((len(BOW_JOINTS), lengths.shape[1])))
    n, d = s @ upto.T, a @ upto.T
    by_lean = upto * a[:, None] - a[:, None] * d[..., None] + n[..., None] * s[:, None]
    by_opening = -by_lean[..., ::-1].cumsum(axis=2)[..., ::-1]
    return np.asarray(by_opening[..., 1:])


@dataclass(frozen=True)
class TabledEstimate:
    """A figure with the error of the landmarks and, apart from it, that of the table's choice."""

    value: float
    sd: float
    table_sd: float

    def as_estimate(self) -> Estimate:
        """Return both errors together."""
        return Estimate(self.value, float(np.hypot(self.sd, self.table_sd)))


@dataclass(frozen=True)
class StanceReading:
    """A measured handstand.

    Attributes
    ----------
    balance_pct : TabledEstimate [% of the support]
        Where the centre of mass stands, from heel of the hand to knuckles.
    lean_deg : TabledEstimate
        Of the centre of mass off the middle of the support; positive to her front.
    moments : mapping of joint to TabledEstimate [weight × stature]
    largest_moment : str
        The joint with the largest magnitude, the wrist left out: it only says where she stands.
    bow_shares : mapping of joint to Estimate
    """

    balance_pct: TabledEstimate
    lean_deg: TabledEstimate
    moments: dict[str, TabledEstimate]
    largest_moment: str
    bow_shares: dict[str, Estimate]


def read_handstand(
    tables: tuple[Parts, ...],
    points_m: Floats,
    sd_m: Floats,
    *,
    facing: int,
    otherwise: Lengths,
    trunk_fraction: float,
    heel_m: float,
    stature_m: float,
) -> StanceReading:
    """Return what one measured handstand asks of her.

    Parameters
    ----------
    tables : tuple of Parts
        Values are means over them, `table_sd` their spread.
    points_m : (10, 2) float array [m]
        As in `stand_posture`.
    sd_m : (10,) float array [m]
        Error of each point along each axis; NaN for what is not marked.
    facing, otherwise, trunk_fraction, heel_m, stature_m
        As in `stand_posture` and `compute_moments`.

    Raises
    ------
    ValueError
        Where a needed point is not marked.

    Notes
    -----
    Errors of points are taken as independent, as in `measures.py`. The scale's own error is not in
    `sd`: it does not touch the balance share or the bow shares, and moments change in proportion.
    """
    needed = [name for name in _LINE if name != "trunk"]
    missing = [name for name in needed if np.isnan(points_m[INDEX[name]]).any()]
    if missing:
        raise ValueError(f"not marked: {', '.join(missing)}")

    def figures(points_mm: Floats) -> Floats:
        posture = stand_posture(
            points_mm * _M_PER_MM,
            facing=facing,
            otherwise=otherwise,
            trunk_fraction=trunk_fraction,
            heel_m=heel_m,
        )
        by_table = [
            np.concatenate(
                [
                    locate_balance(parts, posture)[:, None],
                    lean_off_hand(parts, posture)[:, None],
                    compute_moments(parts, posture, stature_m=stature_m),
                ],
                axis=1,
            )
            for parts in tables
        ]
        return np.concatenate([*by_table, share_bow(posture.points_m)], axis=1)

    points_mm = points_m / _M_PER_MM
    values = figures(points_mm[None])[0]
    slopes = jacobian(figures, points_mm)
    count, width = len(tables), 2 + len(MOMENT_JOINTS)
    tabled = values[: count * width].reshape(count, width)
    mean_slopes = slopes[: count * width].reshape(count, width, len(POINTS), 2).mean(axis=0)
    both = np.concatenate([mean_slopes, slopes[count * width :]])
    sds = np.sqrt(np.diag(covariance(both, sd_m / _M_PER_MM)))
    spread = tabled.std(axis=0, ddof=1) if count > 1 else np.zeros(width)
    balance, lean, *moments = (
        TabledEstimate(float(v), float(sd), float(t))
        for v, sd, t in zip(tabled.mean(axis=0), sds[:width], spread, strict=True)
    )
    by_joint = dict(zip(MOMENT_JOINTS, moments, strict=True))
    shares = zip(BOW_JOINTS, values[count * width :], sds[width:], strict=True)
    return StanceReading(
        balance_pct=balance,
        lean_deg=lean,
        moments=by_joint,
        largest_moment=max(MOMENT_JOINTS[1:], key=lambda joint: abs(by_joint[joint].value)),
        bow_shares={joint: Estimate(float(v), float(sd)) for joint, v, sd in shares},
    )
