"""How far a chain is from a straight vertical line, with its first and second derivatives."""

from dataclasses import dataclass

import numpy as np

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.chain import Chain


@dataclass(frozen=True)
class Line:
    """Bow and lean of n chains and, by the four leans, their derivatives.

    Attributes
    ----------
    bow_pct : (n, 4) float array [% of the chord]
        Of `ON_LINE`, positive towards the front.
    lean : (n,) float array [rad]
        Of the chord from wrist to malleolus; positive when the feet tip to the front.
    bow_slope : (n, 4, 4) float array [%/rad]
        By landmark, then by lean.
    lean_slope : (n, 4) float array
    bow_curve, lean_curve : (n, 4, 4, 4) and (n, 4, 4) float arrays
    """

    bow_pct: Floats
    lean: Floats
    bow_slope: Floats
    lean_slope: Floats
    bow_curve: Floats
    lean_curve: Floats


_EYE = np.eye(4)


def draw_line(chain: Chain, leans: Floats) -> Line:
    """Return the line of chains with leans (n, 4) [rad].

    Notes
    -----
    With φ = lean of a link − lean λ of the chord, the offset of a point is N = Σ l sin φ, its place
    along the chord Σ l cos φ, and the bow N / D with the chord's length D. Closed forms; the tests
    hold them against differences.
    """
    chord = chain.reach[:, -1]
    x, y = (chord * np.sin(leans)).sum(axis=1), (chord * np.cos(leans)).sum(axis=1)
    lean = np.arctan2(x, y)
    length = np.hypot(x, y)[:, None]
    phi = leans - lean[:, None]
    sine, cosine = np.sin(phi), np.cos(phi)
    s, a = chord * sine / length, chord * cosine / length  # of the chord, per its length
    reach = chain.reach[:, :-1] / length[:, :, None]
    sin_k, cos_k = reach * sine[:, None], reach * cosine[:, None]
    n, d = sin_k.sum(axis=2), cos_k.sum(axis=2)

    # By lean i, then j. λ_i = a_i; the chord's length changes by −s_i (per its length).
    lean_curve = s[:, :, None] * a[:, None, :] + a[:, :, None] * s[:, None, :]
    lean_curve -= _EYE * s[:, :, None]
    n_i = cos_k - a[:, None, :] * d[:, :, None]
    n_ij = (
        sin_k[..., :, None] * (a[:, None, None, :] - _EYE)
        + a[:, None, :, None] * (sin_k[..., None, :] - a[:, None, None, :] * n[..., None, None])
        - lean_curve[:, None] * d[..., None, None]
    )
    s_i, s_j = s[:, None, :, None], s[:, None, None, :]
    s_ij = (a[:, :, None] * (_EYE - a[:, None, :]))[:, None]
    slope = n_i + n[..., None] * s[:, None, :]
    curve = (
        n_ij
        + n_i[..., :, None] * s_j
        + n_i[..., None, :] * s_i
        + n[..., None, None] * (s_ij + 2.0 * s_i * s_j)
    )
    return Line(100.0 * n, lean, 100.0 * slope, a, 100.0 * curve, lean_curve)


@dataclass(frozen=True)
class Cost:
    """What is minimised, (n,) [%²], with slope (n, 4) and curve (n, 4, 4) by the leans."""

    value: Floats
    slope: Floats
    curve: Floats


def weigh_line(line: Line, lean_weight_pct: float) -> Cost:
    """Return the mean square of the bows, with the chord's lean at a small weight.

    Parameters
    ----------
    line : Line
    lean_weight_pct : float [%/rad]
        A lean of one radian counts as much as a bow (rms) of so many %.
    """
    k = line.bow_pct.shape[1]
    w2 = lean_weight_pct**2
    value = (line.bow_pct**2).sum(axis=1) / k + w2 * line.lean**2
    slope = 2.0 * np.einsum("nk,nki->ni", line.bow_pct, line.bow_slope) / k
    slope += 2.0 * w2 * line.lean[:, None] * line.lean_slope
    curve = 2.0 * line.bow_slope.transpose(0, 2, 1) @ line.bow_slope / k
    curve += 2.0 * np.einsum("nk,nkij->nij", line.bow_pct, line.bow_curve) / k
    curve += 2.0 * w2 * (line.lean_slope[:, :, None] * line.lean_slope[:, None, :])
    curve += 2.0 * w2 * line.lean[:, None, None] * line.lean_curve
    return Cost(value, slope, curve)
