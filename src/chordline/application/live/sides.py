"""Which side is near while she is watched: shown, not flickering, and never guessed silently."""

import math
from dataclasses import dataclass

import numpy as np

from chordline.application.live.reading import UP
from chordline.catalogue.live import LiveCatalogue
from chordline.catalogue.schema import TestEntry
from chordline.conventions import LANDMARKS, SIDES, Side
from chordline.core.body.orientation import Orientation, resolve_orientation
from chordline.core.geometry.angles import Floats

_HIP, _SHOULDER = LANDMARKS.index("hip"), LANDMARKS.index("shoulder")


@dataclass(frozen=True)
class SideBelief:
    """What the frames so far say.

    Attributes
    ----------
    log_odds : float
        That the left side is near, averaged over the last seconds.
    side : Side or None
        The side that is shown; None before the first sighting.
    """

    log_odds: float = 0.0
    side: Side | None = None

    @property
    def confidence(self) -> float:
        """Probability that the shown side is the near one, by the frames alone."""
        towards = self.log_odds if self.side == SIDES[0] else -self.log_odds
        return 1.0 / (1.0 + math.exp(-towards))


def weigh_frame(
    belief: SideBelief, log_odds: float, *, step_s: float, live: LiveCatalogue
) -> SideBelief:
    """Return the belief after one more frame.

    The side that is shown changes only when the other is clearly likelier.
    """
    if belief.side is None:
        return SideBelief(log_odds, SIDES[0] if log_odds >= 0.0 else SIDES[1])
    share = 1.0 - math.exp(-step_s / live.setting("side_memory_s"))
    mean = belief.log_odds + share * (log_odds - belief.log_odds)
    side = belief.side
    if abs(mean) > live.setting("side_switch_log_odds"):
        side = SIDES[0] if mean > 0.0 else SIDES[1]
    return SideBelief(mean, side)


def orient(
    belief: SideBelief, xy_px: Floats, *, test: TestEntry, given: Side | None
) -> Orientation:
    """Return near side and front: as the coach said, as the test says, or as the frames look.

    Parameters
    ----------
    belief : SideBelief
    xy_px : (10, 2) float array [px]
    test : TestEntry
    given : Side or None
        What the coach said.
    """
    return resolve_orientation(
        cranial_of(xy_px),
        up=UP,
        given_near=given,
        given_front=None,
        expected_front=test.front,
        guess=(belief.side or SIDES[0], belief.confidence),
    )


def looks_turned_over(belief: SideBelief, told: Orientation, live: LiveCatalogue) -> bool:
    """Return whether she surely looks as if the other side were near than the test says."""
    return (
        told.origin == "test"
        and belief.side is not None
        and belief.side != told.near_side
        and belief.confidence >= live.setting("sure_side")
    )


def cranial_of(xy_px: Floats) -> Floats:
    """Return (2,) direction from hip to shoulder [px]."""
    return np.asarray(xy_px[_SHOULDER] - xy_px[_HIP])
