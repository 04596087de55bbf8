"""What she can do, as limits of the chain, and the limits as rows of inequalities."""

from dataclasses import dataclass, fields
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.chain import MOMENT_JOINTS, SENSES, Chain

#: Smallest width of a range [rad], a hundredth of a degree: a joint without play leaves no inside.
_PLAY = 1.7e-4


@dataclass(frozen=True)
class Limits:
    """Her limits, each a float array (n,) or a scalar array; more is always more freedom.

    Attributes
    ----------
    shoulder_opening_rad, hip_opening_rad : [rad]
        Largest opening; 0 reaches straight, negative falls short of it.
    trunk_rounding_rad, trunk_arching_rad : [rad]
        How far the trunk joint can close and open; a negative rounding cannot get out of the arch.
    wrist_extension_rad : [rad]
        How far the arm can lean towards the fingers from upright on a flat hand.
    shoulder_push_m : [m]
        What pushing tall adds to the distance from wrist to shoulder; negative when she sinks.
    wrist_moment, shoulder_moment, trunk_moment, hip_moment, knee_moment : [weight × stature]
        Largest net joint moment in either sense.
    """

    shoulder_opening_rad: Floats
    hip_opening_rad: Floats
    trunk_rounding_rad: Floats
    trunk_arching_rad: Floats
    wrist_extension_rad: Floats
    shoulder_push_m: Floats
    wrist_moment: Floats
    shoulder_moment: Floats
    trunk_moment: Floats
    hip_moment: Floats
    knee_moment: Floats

    @property
    def count(self) -> int:
        """Number of draws n."""
        shapes = (np.shape(getattr(self, f.name)) for f in fields(self))
        shape: tuple[int, ...] = np.broadcast_shapes(*shapes)
        return shape[0] if shape else 1

    def stack(self, names: tuple[str, ...]) -> Floats:
        """Return some limits as columns, (n, len(names))."""
        columns = [np.broadcast_to(getattr(self, name), (self.count,)) for name in names]
        return np.asarray(np.stack(columns, axis=1), dtype=np.float64)


@dataclass(frozen=True)
class Stance:
    """What is asked of every handstand, and where the search ends.

    Attributes
    ----------
    margin_pct : float [% of the support]
        How far the centre of mass stays from heel and knuckles.
    lean_weight_pct : float [% of chord per rad]
        What the chord's lean costs beside the bow (rms).
    closing_rad : float [rad]
        How far shoulder and hip may close: far more than a line ever needs.
    lean_away_rad : float [rad]
        How far the arm may lean away from the fingers.
    """

    margin_pct: float
    lean_weight_pct: float
    closing_rad: float
    lean_away_rad: float


#: The rows: name of what limits, name of the `Limits` field it comes from (None: fixed by Stance).
ROWS: Final[tuple[tuple[str, str | None], ...]] = (
    ("wrist", "wrist_extension_rad"),
    ("lean", None),
    ("shoulder", "shoulder_opening_rad"),
    ("shoulder closing", None),
    ("trunk arching", "trunk_arching_rad"),
    ("trunk rounding", "trunk_rounding_rad"),
    ("hip", "hip_opening_rad"),
    ("hip closing", None),
    ("balance at the heel of the hand", None),
    ("balance at the knuckles", None),
    *((f"moment at the {joint}", f"{joint}_moment") for joint in MOMENT_JOINTS for _ in (0, 1)),
)
ROW_NAMES: Final = tuple(name for name, _ in ROWS)
#: Rows that bind what is not always possible: they give way, at a price, before nothing is found.
GIVING: Final[NDArray[np.bool_]] = np.array([i >= 8 for i in range(len(ROWS))])


@dataclass(frozen=True)
class Rows:
    """Inequalities on the leans: turn · lean + weigh · sin(lean) ≤ bound.

    Attributes
    ----------
    turn : (r, 4) float array
        Ranges [rad].
    weigh : (n, r, 4) float array
        Balance [stature] and moments [weight × stature].
    bound : (n, r) float array
    """

    turn: Floats
    weigh: Floats
    bound: Floats

    def excess(self, leans: Floats) -> Floats:
        """Return by how much each row is broken, (n, r); negative is room left."""
        return np.asarray(
            leans @ self.turn.T + (self.weigh @ np.sin(leans)[..., None])[..., 0] - self.bound
        )

    def take(self, keep: NDArray[np.intp] | NDArray[np.bool_]) -> "Rows":
        """Return the rows of some bodies."""
        return Rows(self.turn, self.weigh[keep], self.bound[keep])


def _range_rows() -> Floats:
    turn = np.zeros((len(ROWS), 4))
    turn[0, 0], turn[1, 0] = -1.0, 1.0
    for row, joint in ((2, 0), (4, 1), (6, 2)):
        turn[row, joint], turn[row, joint + 1] = 1.0, -1.0
        turn[row + 1] = -turn[row]
    return turn


_TURN: Final = _range_rows()


def build_rows(chain: Chain, limits: Limits, stance: Stance) -> Rows:
    """Return the inequalities of n bodies.

    Raises
    ------
    ValueError
        Where a limit is not a number, a range is empty, a moment limit not positive, or the margin
        leaves nothing of the support.
    """
    n = max(len(chain), limits.count)
    bound = np.empty((n, len(ROWS)))
    bound[:, 0] = limits.wrist_extension_rad
    bound[:, 1] = stance.lean_away_rad
    bound[:, 2] = limits.shoulder_opening_rad
    bound[:, 4] = limits.trunk_arching_rad
    bound[:, 5] = limits.trunk_rounding_rad
    bound[:, 6] = limits.hip_opening_rad
    bound[:, 3] = bound[:, 7] = stance.closing_rad

    h = chain.stature_m
    front = chain.support.place_m(np.asarray(stance.margin_pct))
    back = chain.support.place_m(np.asarray(100.0 - stance.margin_pct))
    bound[:, 8] = (front - chain.hand_moment_m) / h
    bound[:, 9] = (chain.hand_moment_m - back) / h
    moments = limits.stack(tuple(f"{joint}_moment" for joint in MOMENT_JOINTS))
    bound[:, 10:] = np.repeat(np.broadcast_to(moments, (n, len(MOMENT_JOINTS))), 2, axis=1)

    weigh = np.zeros((n, len(ROWS), 4))
    weigh[:, 8] = chain.weight[:, 0] / h
    weigh[:, 9] = -weigh[:, 8]
    weigh[:, 10::2] = SENSES[:, None] * chain.weight / h
    weigh[:, 11::2] = -weigh[:, 10::2]
    _refuse_impossible(bound, stance)
    return Rows(_TURN, weigh, bound)


def _refuse_impossible(bound: Floats, stance: Stance) -> None:
    if not np.isfinite(bound).all():
        raise ValueError("a limit is missing or not a number")
    if not 0.0 <= stance.margin_pct < 50.0:
        raise ValueError("the margin must leave something of the support")
    if (bound[:, 10:] <= 0.0).any():
        raise ValueError("a moment limit must be positive")
    for row in (0, 2, 4, 6):
        if (bound[:, row] + bound[:, row + 1] < _PLAY).any():
            raise ValueError(f"the range of {ROW_NAMES[row]} and {ROW_NAMES[row + 1]} is empty")
