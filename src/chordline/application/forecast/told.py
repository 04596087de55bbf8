"""What the forecast says: the record behind page, sheet, command line and JSON."""

from dataclasses import dataclass

from chordline.core.estimate import Estimate

#: Points of a drawn line, from the floor up.
LINE_POINTS = ("wrist", "shoulder", "trunk", "hip", "knee", "malleolus", "toe")
Outline = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Gain:
    """What one capacity, improved by so much, would give.

    Attributes
    ----------
    capacity : str
    by : float
        In the capacity's unit.
    straightened_pct : Estimate
        Bow (rms) taken away [% of chord].
    bow_max_pct : Estimate
        Largest bow of the new line [% of chord].
    line : tuple of (x, y)
        By `LINE_POINTS`, wrist at the origin, x towards the front, y up [% of chord].
    """

    capacity: str
    by: float
    straightened_pct: Estimate
    bow_max_pct: Estimate
    line: Outline


@dataclass(frozen=True)
class LineForecast:
    """The attainable line of her capacities.

    Attributes
    ----------
    bow_max_pct : Estimate
        Largest bow of shoulder, hip and knee [% of chord].
    lean_deg : Estimate
    openings_deg : mapping of joint to Estimate
        Of shoulder, trunk (the lower back) and hip.
    p_within_10deg : float
        Chance that her line stands within ten degrees of vertical.
    p_straight, p_arrived : float
        Chance that it is straight: within tolerance, and without an arch of the lower back that is
        seen; that it is both straight and upright.
    straight_within_pct : float
        That tolerance [% of chord].
    stopped_by : str or None
        The capacity that stops her line first in most draws, None where nothing does; a word for
        what is no capacity.
    stopped_share : float
        Share of the draws in which it does.
    payoffs : mapping of capacity to Estimate
        Bow (rms) that one unit less of shortfall takes away [% of chord per unit].
    line : tuple of (x, y)
        The middle draw, as in `Gain`.
    best : Gain or None
        The single gain that straightens most; None where nothing would.
    draws : int
    version : str
        Of the segment tables.
    table : str
        Which of them was used.
    """

    bow_max_pct: Estimate
    lean_deg: Estimate
    openings_deg: dict[str, Estimate]
    p_within_10deg: float
    p_straight: float
    p_arrived: float
    straight_within_pct: float
    stopped_by: str | None
    stopped_share: float
    payoffs: dict[str, Estimate]
    line: Outline
    best: Gain | None
    draws: int
    version: str
    table: str
