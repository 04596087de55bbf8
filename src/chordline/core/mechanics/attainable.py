"""The straightest handstand that her limits allow, for one body or many draws of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats
from chordline.core.geometry.chord import largest_bow
from chordline.core.mechanics.chain import ON_LINE, Chain, openings_of
from chordline.core.mechanics.interior import CostOf, Solved, solve_batch
from chordline.core.mechanics.limits import GIVING, ROWS, Limits, Rows, Stance, build_rows
from chordline.core.mechanics.line import Cost, Line, draw_line, weigh_line

#: What a photo shows of the bow (measures.py): all of `ON_LINE` but the trunk joint.
_SEEN: Final = [i for i, name in enumerate(ON_LINE) if name != "trunk"]
#: A row that gives way by more than this [stature, weight × stature] is not kept.
_KEPT: Final = 1e-6


@dataclass(frozen=True)
class Steps:
    """By how much limits of different kinds are relaxed to be compared.

    Attributes
    ----------
    range_rad : float [rad]
    balance_pct : float [% of the support]
    moment : float [weight × stature]
    slack_pct : float [% of chord]
        A limit whose step straightens less stops nobody.
    """

    range_rad: float
    balance_pct: float
    moment: float
    slack_pct: float


@dataclass(frozen=True)
class AttainableLine:
    """The straightest balanced line of n draws.

    Attributes
    ----------
    chain : Chain
    limits : Limits
    leans : (n, 4) float array [rad]
        Of arm, upper trunk, lower trunk and leg.
    cost_pct : (n,) float array [% of chord]
        Root of the mean square of all four bows and of the weighed lean: what was minimised.
    possible : (n,) bool array
        Whether balance and moments are kept; where not, the line breaks them least.
    price : (n, r) float array [%² per unit of the row]
    bow_rms_slope, bow_max_slope : (n, r) float arrays [% per unit of the row]
        Change of `bow_rms_pct` and of `bow_max_pct` when a row's bound is relaxed.
    step : (r,) float array or (n, r)
        Step of each row, in the row's unit.
    slack_pct : float
    solved : Solved
        For a warm start and for tests.
    """

    chain: Chain
    limits: Limits
    leans: Floats
    cost_pct: Floats
    possible: NDArray[np.bool_]
    price: Floats
    bow_rms_slope: Floats
    bow_max_slope: Floats
    step: Floats
    slack_pct: float
    solved: Solved

    @cached_property
    def line(self) -> Line:
        """Bow and lean with their derivatives."""
        return draw_line(self.chain, self.leans)

    @property
    def openings(self) -> Floats:
        """Shoulder, trunk and hip openings, (n, 3) [rad]."""
        return openings_of(self.leans)

    @property
    def points_m(self) -> Floats:
        """Wrist, shoulder, trunk, hip, knee, malleolus, toe, (n, 7, 2) [m]; wrist at the origin."""
        return self.chain.place_points(self.leans)

    @property
    def points_pct(self) -> Floats:
        """The same in % of the chord's length, to be drawn at any size."""
        points = self.points_m
        length = np.linalg.norm(points[:, 5], axis=-1)
        return np.asarray(100.0 * points / length[:, None, None])

    @property
    def bow_pct(self) -> Floats:
        """Bow of shoulder, trunk, hip and knee, (n, 4) [% of chord], + towards the front."""
        return self.line.bow_pct

    @property
    def bow_max_pct(self) -> Floats:
        """Largest bow of shoulder, hip and knee, with its sign, (n,) [% of chord], as measured."""
        return largest_bow(self.bow_pct[:, _SEEN])

    @property
    def bow_rms_pct(self) -> Floats:
        """Root mean square of the four bows, (n,) [% of chord]: the trunk joint counts too."""
        return np.asarray(np.sqrt((self.bow_pct**2).mean(axis=1)))

    @property
    def lean_rad(self) -> Floats:
        """Lean of the chord, (n,) [rad]; positive when the feet tip to the front."""
        return self.line.lean

    @property
    def balance_pct(self) -> Floats:
        """Where the centre of mass stands: 0 heel of the hand, 100 knuckles, (n,) [%]."""
        return self.chain.support.share_pct(self.chain.locate_mass_centre(self.leans))

    @property
    def moments(self) -> Floats:
        """Net joint moments, (n, 5) [weight × stature], by `chain.MOMENT_JOINTS`."""
        return self.chain.compute_moments(self.leans)

    @cached_property
    def gain_pct(self) -> Floats:
        """How much straighter one step more of each row would make her at most, (n, r) [%].

        By the slope at the optimum; the cost is convex there, so less in truth.
        """
        # A row that gives way has the price of giving way: only its order matters then.
        gained = self.price * self.step
        left = np.maximum(self.cost_pct[:, None] ** 2 - gained, 0.0)
        return np.asarray(self.cost_pct[:, None] - np.sqrt(left))

    @property
    def stops(self) -> tuple[tuple[str, ...], ...]:
        """What stops each draw, the limit whose step would straighten her most first."""
        order = np.argsort(-self.price * self.step, axis=1, kind="stable")
        return tuple(
            tuple(dict.fromkeys(ROWS[i][0] for i in row if gain[i] > self.slack_pct))
            for row, gain in zip(order, self.gain_pct, strict=True)
        )

    @property
    def first_stop(self) -> tuple[str | None, ...]:
        """The first of `stops`, None where nothing stops her."""
        return tuple(stop[0] if stop else None for stop in self.stops)

    def payoffs(self) -> Mapping[str, Floats]:
        """Return how much less bow (rms) one unit more of each limit gives, (n,) each.

        By field of `Limits`, [% per unit of the field], not for the push. Negative where the line
        as a whole gains and the bow pays for a better lean.
        """
        return {name: -self.bow_rms_slope[:, rows].sum(axis=1) for name, rows in ROWS_OF.items()}


#: The rows that each limit bounds.
ROWS_OF: Final[Mapping[str, list[int]]] = {
    field: [i for i, row in enumerate(ROWS) if row[1] == field] for _, field in ROWS if field
}

#: Stiffness from which on a row holds like a wall [%² per squared unit]; the cost's curves are some
#: 1e4, so slopes lose 1e-8 of themselves.
_FIRM: Final = 1e12


def find_attainable_line(
    chain: Chain,
    limits: Limits,
    stance: Stance,
    steps: Steps,
    *,
    warm: Floats | None = None,
) -> AttainableLine:
    """Return the straightest balanced line of n draws.

    Parameters
    ----------
    chain : Chain
        One body, or n. The push of `limits` is part of its lengths: `forecast.py` builds both.
    limits : Limits
        n draws, or one.
    stance : Stance
    steps : Steps
    warm : (n, 4) float array [rad], optional
        Leans to start from.

    Raises
    ------
    ValueError
        Where limits are impossible (limits.py), or where no start led to the optimum of a draw
        that is possible (never seen).

    Notes
    -----
    minimise  mean(bow²) + (weight · lean)²  over the four leans, subject to ranges, balance and
    moments. The bow does not depend on how the whole body is tilted; balance fixes the tilt. All
    rows are linear in the leans and their sines, so for the postures of a handstand the problem is
    all but convex: tests hold it against a grid.
    """
    n = max(len(chain), limits.count)
    if len(chain) not in (1, n) or limits.count not in (1, n):
        raise ValueError("as many bodies as draws of limits, or one")
    if len(chain) != n:
        chain = chain.take(np.zeros(n, np.intp))
    rows = build_rows(chain, limits, stance)

    def cost_of(index: NDArray[np.intp], leans: Floats) -> Cost:
        return weigh_line(draw_line(chain.take(index), leans), stance.lean_weight_pct)

    start = np.zeros((n, 4)) if warm is None else np.broadcast_to(warm, (n, 4))
    solved = _solve(cost_of, rows, start, warm=warm is not None)
    x = solved.x
    line = draw_line(chain, x)
    cost = weigh_line(line, stance.lean_weight_pct)
    rms, largest = _bow_slopes(line)
    moved = _moves(cost, rows, solved)
    return AttainableLine(
        chain=chain,
        limits=limits,
        leans=x,
        cost_pct=np.sqrt(np.maximum(cost.value, 0.0)),
        possible=np.asarray((solved.give <= _KEPT).all(axis=1)),
        price=solved.price,
        bow_rms_slope=(rms[:, None] @ moved)[:, 0],
        bow_max_slope=(largest[:, None] @ moved)[:, 0],
        step=_row_steps(chain, steps),
        slack_pct=steps.slack_pct,
        solved=solved,
    )


#: Starts that are tried where the first did not converge: piked, arched, leaning [rad].
_OTHER_STARTS: Final = np.array(
    [[0.1, 0.3, 0.2, 0.0], [-0.1, 0.2, 0.1, -0.3], [-0.2, -0.1, -0.1, 0.2]]
)


def _solve(cost_of: CostOf, rows: Rows, start: Floats, *, warm: bool) -> Solved:
    solved = solve_batch(cost_of, rows, start, warm=warm)
    for other in _OTHER_STARTS:
        left = np.flatnonzero(~solved.converged)
        if not len(left):
            return solved
        again = solve_batch(
            _among(cost_of, left), rows.take(left), np.broadcast_to(other, (len(left), 4))
        )
        for name in ("x", "price", "stiffness", "give", "converged"):
            getattr(solved, name)[left] = getattr(again, name)
    # Far outside of what is possible the search may not settle; such a draw is impossible as it is.
    open_ends = ~solved.converged & (solved.give <= _KEPT).all(axis=1)
    if open_ends.any():
        raise ValueError(f"{open_ends.sum()} lines were not found")
    return solved


def _among(cost_of: CostOf, some: NDArray[np.intp]) -> CostOf:
    """Return the cost of some of the problems, counted among themselves."""
    return lambda index, leans: cost_of(some[index], leans)


def _bow_slopes(line: Line) -> tuple[Floats, Floats]:
    """Return the slopes of bow (rms) and of the magnitude of the largest seen bow, (n, 4) each.

    0 where there is no bow: a corner has no slope, and less than none cannot be.
    """
    rms = np.sqrt((line.bow_pct**2).mean(axis=1))
    inner = np.einsum("nk,nki->ni", line.bow_pct, line.bow_slope) / len(ON_LINE)
    by_rms = inner / np.where(rms > 1e-6, rms, np.inf)[:, None]
    seen = line.bow_pct[:, _SEEN]
    index = np.argmax(np.abs(seen), axis=1)
    pick = np.arange(len(seen))
    slope = line.bow_slope[:, _SEEN][pick, index]
    return by_rms, np.sign(seen[pick, index])[:, None] * slope


def _moves(cost: Cost, rows: Rows, solved: Solved) -> Floats:
    """Return how the leans move when each row's bound is relaxed, (n, 4, r), by Newton's matrix.

    Not at all where the search did not settle.
    """
    x, sine = solved.x, np.sin(solved.x)
    slopes = rows.turn + rows.weigh * np.cos(x)[:, None, :]
    stiff = np.minimum(solved.stiffness, _FIRM)[:, :, None] * slopes
    matrix = cost.curve + slopes.transpose(0, 2, 1) @ stiff
    matrix[:, range(4), range(4)] -= (solved.price[:, None] @ rows.weigh)[:, 0] * sine
    settled = solved.converged[:, None, None]
    matrix = np.where(settled, matrix, np.eye(4))
    return np.asarray(np.linalg.solve(matrix, np.where(settled, stiff.transpose(0, 2, 1), 0.0)))


def _row_steps(chain: Chain, steps: Steps) -> Floats:
    step = np.empty((len(chain), len(ROWS)))
    step[:, : int((~GIVING).sum())] = steps.range_rad
    support = chain.support.heel_m - chain.support.knuckles_m
    step[:, 8:10] = (steps.balance_pct / 100.0 * support / chain.stature_m)[:, None]
    step[:, 10:] = steps.moment
    return step
