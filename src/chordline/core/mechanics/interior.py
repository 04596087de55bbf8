"""A small interior-point method for many problems at once: four variables, a cost, some rows.

    minimise cost(x) + price · Σ give   over x and give ≥ 0
    rows:  c(x) ≤ give where a row may give way, c(x) ≤ 0 where it may not

Primal-dual Newton steps with exact second derivatives, all problems in one batch; a problem that
has converged leaves the batch. Where the curvature is not positive its sign is turned, so that a
step always goes downhill.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.limits import GIVING, Rows
from chordline.core.mechanics.line import Cost

#: What giving way costs per unit of a row [%² per stature or per weight × stature]: a thousand
#: times what any row was seen to be worth, so that a row gives way only where nothing else does.
PRICE: Final = 1e7
#: Complementarity at the end [%²]: a cost of 1e-3 % squared is a hundred times as much.
_MU_END: Final = 1e-9
_MU_START: Final = 1.0
_RESIDUAL: Final = 1e-7
_STEPS: Final = 80
_LARGEST_TURN: Final = 0.3

_PAIRS: Final = len(GIVING) + int(GIVING.sum())
#: Stands for a price without end, of rows that may not give way.
_NEVER: Final = 1e300

#: Indices of problems in the whole batch and leans → cost.
CostOf = Callable[[NDArray[np.intp], Floats], Cost]


@dataclass(frozen=True)
class Solved:
    """Where n searches ended.

    Attributes
    ----------
    x : (n, 4) float array [rad]
    price : (n, r) float array
        What one unit more of each row's bound takes off the cost (its multiplier), not negative.
    stiffness : (n, r) float array
        price / room of each row: how firmly it holds at the end.
    give : (n, r) float array
        By how much a row that may give way did.
    converged : (n,) bool array
    steps : int
    """

    x: Floats
    price: Floats
    stiffness: Floats
    give: Floats
    converged: NDArray[np.bool_]
    steps: int


_VARIABLES: Final = ("x", "s", "lam", "e", "nu")


@dataclass
class _State:
    x: Floats
    s: Floats
    lam: Floats
    e: Floats
    #: What giving way costs beyond the row's price. A variable of its own: as a difference it would
    #: be lost in rounding where a row gives way.
    nu: Floats

    def take(self, keep: NDArray[np.bool_]) -> "_State":
        return _State(*(getattr(self, name)[keep] for name in _VARIABLES))


def solve_batch(cost_of: CostOf, rows: Rows, start: Floats, *, warm: bool = False) -> Solved:
    """Return local minima of n problems from n starts.

    Parameters
    ----------
    cost_of : callable
    rows : Rows
    start : (n, 4) float array [rad]
    warm : bool
        Whether the start is near an optimum already.
    """
    n, r = rows.bound.shape
    mu0 = 1e-4 if warm else _MU_START
    c = rows.excess(start)
    giving = np.broadcast_to(GIVING, (n, r))
    e = np.where(giving, np.maximum(c, 0.0) + mu0 / PRICE, 0.0)
    s = np.maximum(e - c, 1e-4)
    lam = np.minimum(mu0 / s, 0.5 * PRICE)
    state = _State(np.array(start), s, lam, e, np.where(giving, PRICE - lam, _NEVER))
    out = state.take(np.ones(n, bool))
    alive = np.arange(n)
    mu = np.full(n, mu0)
    converged = np.zeros(n, bool)
    steps = 0
    for steps in range(1, _STEPS + 1):
        done, mu = _step(state, cost_of(alive, state.x), rows, mu)
        if done.any() or steps == _STEPS:
            for name in _VARIABLES:
                getattr(out, name)[alive] = getattr(state, name)
            converged[alive[done]] = True
            keep = ~done
            if not keep.any():
                break
            state, rows, alive, mu = state.take(keep), rows.take(keep), alive[keep], mu[keep]
    stiffness = 1.0 / (out.s / out.lam + out.e / out.nu)
    return Solved(out.x, out.lam, stiffness, out.e, converged, steps)


def _step(state: _State, cost: Cost, rows: Rows, mu: Floats) -> tuple[NDArray[np.bool_], Floats]:
    """Do one Newton step in place; return which problems had converged before it, and the new mu.

    Problems that had converged are not moved.
    """
    x, s, lam, e, nu = state.x, state.s, state.lam, state.e, state.nu
    sine = np.sin(x)
    slopes = rows.turn + rows.weigh * np.cos(x)[:, None, :]
    c = rows.excess(x)
    pull = cost.slope + (lam[:, None] @ slopes)[:, 0]
    gap = (s * lam + e * nu).sum(axis=1) / _PAIRS
    off = np.abs(c + s - e).max(axis=1)
    # Where a row gives way its price is huge, and so is the rounding of what it pulls.
    scale = 1.0 + np.abs(cost.slope).max(axis=1) + 1e-2 * lam.max(axis=1)
    still = np.abs(pull).max(axis=1) < _RESIDUAL * scale
    done = still & (off < 1e-10) & (gap <= 2.0 * _MU_END)

    hessian = cost.curve.copy()
    hessian[:, range(4), range(4)] -= ((lam[:, None] @ rows.weigh)[:, 0]) * sine
    stiff = 1.0 / (s / lam + e / nu)
    lift = lam + stiff * (c + mu[:, None] * (1.0 / lam - 1.0 / nu))
    matrix = hessian + slopes.transpose(0, 2, 1) @ (stiff[:, :, None] * slopes)
    values, vectors = np.linalg.eigh(matrix)
    # Rounding of the stiffest direction only: a softer one must keep its own curvature.
    values = np.maximum(np.abs(values), 1e-15 * np.abs(values[:, -1:]) + 1e-12)
    right = cost.slope + (lift[:, None] @ slopes)[:, 0]
    turned = (right[:, None] @ vectors)[:, 0] / values
    dx = -(vectors @ turned[..., None])[..., 0]
    largest = np.abs(dx).max(axis=1)
    short = np.minimum(1.0, _LARGEST_TURN / np.maximum(largest, 1e-300))
    a_dx = (slopes @ dx[..., None])[..., 0]
    dlam = stiff * (a_dx + c + mu[:, None] * (1.0 / lam - 1.0 / nu))
    ds = mu[:, None] / lam - s - s / lam * dlam
    de = np.where(GIVING, mu[:, None] / nu - e + e / nu * dlam, 0.0)

    keep = np.maximum(0.9, 1.0 - mu)[:, None]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        primal = np.minimum(
            np.where(ds < 0.0, -keep * s / ds, np.inf), np.where(de < 0.0, -keep * e / de, np.inf)
        ).min(axis=1)
        dual = np.minimum(
            np.where(dlam < 0.0, -keep * lam / dlam, np.inf),
            np.where(GIVING & (dlam > 0.0), keep * nu / dlam, np.inf),
        ).min(axis=1)
    alpha = np.where(done, 0.0, np.minimum(short, primal))
    beta = np.where(done, 0.0, np.minimum(1.0, dual))
    state.x = x + alpha[:, None] * dx
    state.s = s + alpha[:, None] * ds
    state.e = e + alpha[:, None] * de
    state.lam = lam + beta[:, None] * dlam
    state.nu = np.where(GIVING, nu - beta[:, None] * dlam, _NEVER)
    # The barrier falls as fast as the steps allow: a full step has earned a tenth.
    full = np.minimum(alpha, beta)
    left = (state.s * state.lam + state.e * state.nu).sum(axis=1) / _PAIRS
    goal = np.where(full > 0.9, 0.05, np.where(full > 0.5, 0.3, 0.8)) * left
    return done, np.clip(goal, _MU_END, None)
