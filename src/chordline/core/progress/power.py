"""How likely a true change of one capacity would be seen by another screen.

Before the screen, a change is believed to be N(0, q). The tests will show it with an error of sd s,
everything else that they depend on being as uncertain as it is. Then the belief after them is
κ·shown ± √(κ s²) with κ = q / (q + s²), and 'really better' is said from κ·shown > z·√κ·s on. So a
true gain is seen with

    P = Φ((gain − z·s·√(1 + s²/q)) / s)

which for no gain is below 1 − sure, the more so the less a change was to be expected.
"""

from dataclasses import dataclass

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.capacity.model import Belief
from chordline.core.geometry.angles import Floats
from chordline.core.progress.timeline_layout import Layout, Plan, Rows


def planned_rows(layout: Layout, plan: Plan) -> Rows:
    """Return what tests to come will measure, with the errors to reckon with.

    Parameters
    ----------
    layout : Layout
        Laid out with this plan (`know_now`).
    plan : Plan
    """
    model = layout.model.capacities
    index = np.array([model.by_measure[pair][0] for pair in plan.pairs], dtype=np.intp)
    typical = np.array([model.rows[i].typical_sd ** 2 for i in index])
    lasting = np.array(
        [
            layout.model.misfit_share * model.rows[i].model_sd ** 2 if pair in layout.misfits else 0
            for i, pair in zip(index, plan.pairs, strict=True)
        ]
    )
    fresh = model.matrix[index, len(layout.model.names) :]
    noise = np.diag(model.extra_variances[index] + typical - lasting)
    return Rows(
        values=np.zeros(len(index)),
        matrix=layout.spread(model.matrix[index], plan.pairs, plan.marker),
        noise=noise + (fresh * plan.marker.fresh_variances) @ fresh.T,
    )


def change_error(belief: Belief, rows: Rows, others_wander: Floats, *, capacity: int) -> Floats:
    """Return the sd with which tests to come show the change of one capacity since a belief.

    Parameters
    ----------
    belief : Belief
        Over the lasting state, now.
    rows : Rows
        What will be measured.
    others_wander : (..., n) float array
        Variance that each capacity gains until then; the changing capacity's own does not count.
    capacity : int
        Its place.

    Returns
    -------
    (...) float array
        In the capacity's unit; infinite where no row speaks of it.

    Notes
    -----
    s² = 1 / (hᵀ S⁻¹ h), with h the capacity's column of the rows and S the covariance of all that
    the rows will show beside its change.
    """
    others = others_wander.copy()
    others[..., capacity] = 0.0
    n = others.shape[-1]
    h = rows.matrix[:, capacity]
    known = rows.matrix @ belief.covariance @ rows.matrix.T + rows.noise
    caps = rows.matrix[:, :n]
    spread = known + (caps * others[..., None, :]) @ caps.T
    told = (np.linalg.inv(spread) @ h) @ h
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / np.sqrt(told))


@dataclass(frozen=True)
class TrueChange:
    """A gain that really happens: how large, and how uncertain that is [the capacity's unit].

    Attributes
    ----------
    gain, gain_sd : (...) float array
        Positive = the shortfall falls.
    """

    gain: Floats
    gain_sd: Floats


def detection_power(
    change: TrueChange, *, error_sd: Floats, believed_variance: Floats, sure: float
) -> Floats:
    """Return the probability that 'really better' will be said, (...).

    Parameters
    ----------
    change : TrueChange
        What truly happens.
    error_sd : (...) float array
        From `change_error`.
    believed_variance : (...) float array
        q: variance that a change is believed to have when the answer is found; 0 sees nothing.
    sure : float
        Probability from which a change is called real.
    """
    seen = np.isfinite(error_sd) & (believed_variance > 0.0)
    s = np.where(seen, error_sd, 1.0)
    q = np.where(seen, believed_variance, 1.0)
    least = float(scipy.special.ndtri(sure)) * s * np.sqrt(1.0 + s**2 / q)
    power = scipy.special.ndtr((change.gain - least) / np.hypot(s, change.gain_sd))
    return np.asarray(np.where(seen, power, 0.0))


def smallest_seen(
    *, error_sd: Floats, believed_variance: Floats, sure: float, power: float
) -> Floats:
    """Return the smallest true gain that is seen with a power, (...); parameters as above."""
    least = scipy.special.ndtri(sure) * error_sd * np.sqrt(1.0 + error_sd**2 / believed_variance)
    return np.asarray(least + scipy.special.ndtri(power) * error_sd)
