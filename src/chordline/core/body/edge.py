"""Sharpening a soft body edge with the colours on either side of it.

A network's mask says about where the body ends; the picture says it to the pixel, but not on its
own. What is surely body and what is surely not, by the mask, teach two colour distributions; the
edge is then the cut that explains mask and colours best and runs smoothly from station to station.
Where the colours tell nothing the mask decides.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy  # its parts are loaded when they are used
from numpy.typing import NDArray

from chordline.core.geometry.angles import Floats

#: Mask values that count as surely body and surely not.
_SURE_BODY: Final = 0.97
_SURE_GROUND: Final = 0.03
#: Log-odds of one pixel are cut here, so that a few odd colours do not outvote the mask.
_MAX_LOG_ODDS: Final = 3.0
_MAX_MASK_LOG_ODDS: Final = 5.8
_MIN_SAMPLES: Final = 20

_BINS: Final = 20
_BIN_BLUR: Final = 1.0
_FLOOR: Final = 1e-4

#: Largest step of the edge from one station to the next, and what a step costs: enough to choose
#: between equals. (Ten times as much flattened drawn arcs of 20° by 4° where the edge was soft.)
_MAX_STEP: Final = 8
_STEP_COST: Final = 0.03


@dataclass(frozen=True)
class Band:
    """One side of the trunk as a grid: stations along the body, steps outwards.

    Attributes
    ----------
    alpha : (n, m) float array, 0 to 1
        Body mask.
    colour : (n, m, 3) float array, 0 to 1
    edge : (n,) float array [steps]
        Where the mask ends; NaN where it does not.
    reach : int [steps]
        How far inside and outside the mask's edge body and ground are learnt.
    """

    alpha: Floats
    colour: Floats
    edge: Floats
    reach: int


def _bin_of(colour: Floats) -> tuple[NDArray[np.intp], ...]:
    """Bins of brightness, red–green and yellow–blue: shading then moves along one axis only."""
    red, green, blue = (colour[..., i] for i in range(3))
    axes = (
        (red + green + blue) / 3.0,
        0.5 + (red - green),
        0.5 + (red + green - 2.0 * blue) / 2.0,
    )
    return tuple(np.clip((axis * _BINS).astype(np.intp), 0, _BINS - 1) for axis in axes)


def _density(colour: Floats) -> Floats:
    counts = np.zeros((_BINS, _BINS, _BINS))
    np.add.at(counts, _bin_of(colour), 1.0)
    smooth = scipy.ndimage.gaussian_filter(counts, _BIN_BLUR)
    return np.asarray(smooth / smooth.sum())


def sharpen_edge(band: Band) -> Floats:
    """Return the edge of each station.

    Parameters
    ----------
    band : Band

    Returns
    -------
    (n,) float array [steps]
        NaN where the mask has no edge; the mask's own edge where too little is sure.

    Notes
    -----
    Maximises, over all smooth edges, the sum of the log-odds "body" inside minus outside, by
    dynamic programming along the stations. Mask and colours count alike.
    """
    known = np.isfinite(band.edge)
    steps = np.arange(band.alpha.shape[1])
    beyond = steps[None, :] - np.where(known, band.edge, np.inf)[:, None]
    body = (band.alpha > _SURE_BODY) & (-band.reach < beyond) & (beyond < 0.0)
    ground = (band.alpha < _SURE_GROUND) & (beyond > 0.0) & (beyond < band.reach)
    if min(body.sum(), ground.sum()) < _MIN_SAMPLES:
        return band.edge
    bins = _bin_of(band.colour)
    as_body, as_ground = _density(band.colour[body])[bins], _density(band.colour[ground])[bins]
    by_colour = np.clip(
        np.log((as_body + _FLOOR) / (as_ground + _FLOOR)), -_MAX_LOG_ODDS, _MAX_LOG_ODDS
    )
    with np.errstate(divide="ignore"):
        by_mask = np.clip(
            np.log(band.alpha) - np.log1p(-band.alpha), -_MAX_MASK_LOG_ODDS, _MAX_MASK_LOG_ODDS
        )
    odds = 0.5 * (by_colour + by_mask)
    odds[beyond > band.reach] = -_MAX_LOG_ODDS
    odds[~known] = 0.0
    return np.where(known, _best_path(odds) - 0.5, np.nan)


def _best_path(odds: Floats) -> Floats:
    """Return, for each station, how many steps lie inside."""
    gain = np.pad(np.cumsum(odds, axis=1), [(0, 0), (1, 0)])
    width = gain.shape[1]
    moves = np.arange(-_MAX_STEP, _MAX_STEP + 1)
    cost = _STEP_COST * np.abs(moves) ** 1.5
    best = gain[0]
    came_from = []
    for row in gain[1:]:
        padded = np.pad(best, _MAX_STEP, constant_values=-np.inf)
        options = np.stack([padded[i : i + width] - cost[i] for i in range(len(moves))])
        choice = options.argmax(axis=0)
        came_from.append(choice)
        best = options[choice, np.arange(width)] + row
    place = int(best.argmax())
    path = [place]
    for choice in reversed(came_from):
        place += int(moves[choice[place]])
        path.append(place)
    return np.array(path[::-1], dtype=np.float64)
