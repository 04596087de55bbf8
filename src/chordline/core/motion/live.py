"""Smoothing while it happens, for a picture that answers like a mirror: frame by frame.

Without looking ahead; what it shows is late by a stated time. Nothing that is kept is measured
with it.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from chordline.core.geometry.angles import Floats

#: What the picture or a sound says of the shape; 'unknown' where she is not seen.
Tone = Literal["on", "close", "off", "unknown"]


@dataclass(frozen=True)
class LiveFilter:
    """A critically damped follower: it never overshoots.

    Attributes
    ----------
    lag_s : float
        How late a steady movement is shown.
    forget_s : float
        After so long without a sighting the place is unknown, and the next sighting starts anew.
    """

    lag_s: float
    forget_s: float

    def __post_init__(self) -> None:
        """Refuse a filter that takes no time."""
        if not self.lag_s > 0.0 or not self.forget_s > 0.0:
            raise ValueError("a live filter has a lag and forgets after some time")

    @property
    def rate_per_s(self) -> float:
        """Its own angular frequency ω [rad/s]; the lag behind a steady movement is 2/ω."""
        return 2.0 / self.lag_s

    def noise_gain(self, step_s: float) -> float:
        """Return how much of the sd of white noise is left at short even steps: √(ω·step/4)."""
        return float(np.sqrt(0.25 * self.rate_per_s * step_s))


@dataclass(frozen=True)
class LiveState:
    """What the filter carries from frame to frame, each array of any one shape.

    Attributes
    ----------
    value : float array
        What is shown; NaN where unknown.
    speed : float array [per s]
    unseen_s : float array [s]
        Since the last sighting.
    """

    value: Floats
    speed: Floats
    unseen_s: Floats


def start_live(shape: tuple[int, ...]) -> LiveState:
    """Return the state before the first frame: nothing is known."""
    return LiveState(np.full(shape, np.nan), np.zeros(shape), np.zeros(shape))


def follow(state: LiveState, seen: Floats, *, step_s: float, filt: LiveFilter) -> LiveState:
    """Return the state after one more frame.

    Parameters
    ----------
    state : LiveState
    seen : float array
        What the frame shows; NaN where nothing.
    step_s : float
        Since the frame before; any positive time.
    filt : LiveFilter

    Notes
    -----
    x″ = ω²(u − x) − 2ωx′, solved exactly for an input u that stands still over the step, so
    steps may be of any length. Behind a steady movement the value is late by 2/ω less about half a
    step. While nothing is seen it stands still.
    """
    if not step_s > 0.0:
        raise ValueError("time goes forwards")
    there = np.isfinite(seen)
    unseen = np.where(there, 0.0, state.unseen_s + step_s)
    fresh = there & ~np.isfinite(state.value)
    off = np.where(there, state.value - seen, 0.0)
    w = filt.rate_per_s
    pull = state.speed + w * off
    decay = np.exp(-w * step_s)
    value = np.where(there, seen + (off + pull * step_s) * decay, state.value)
    speed = np.where(there, (state.speed - w * pull * step_s) * decay, 0.0)
    value = np.where(fresh, seen, value)
    speed = np.where(fresh, 0.0, speed)
    return LiveState(np.where(unseen > filt.forget_s, np.nan, value), speed, unseen)


@dataclass(frozen=True)
class ToneRules:
    """When the tone changes.

    Attributes
    ----------
    on, close : float
        Largest stray that is on the line, and close to it; on < close.
    margin : float
        By so much a stray must pass a limit before the tone changes; less than half of
        close − on.
    dwell_s : float
        So long it must stay past it.
    """

    on: float
    close: float
    margin: float
    dwell_s: float

    def __post_init__(self) -> None:
        """Refuse limits between which no tone fits."""
        if not 0.0 <= self.on < self.close or not 0.0 <= 2.0 * self.margin < self.close - self.on:
            raise ValueError("on lies below close by more than twice the margin")


@dataclass(frozen=True)
class ToneState:
    """The tone that is shown, the one that asks to follow it, and for how long [s]."""

    tone: Tone = "unknown"
    asks: Tone = "unknown"
    asked_s: float = 0.0


def change_tone(state: ToneState, stray: float, *, step_s: float, rules: ToneRules) -> ToneState:
    """Return the tone after one more frame.

    Parameters
    ----------
    state : ToneState
    stray : float
        Size of the stray from the shape, ≥ 0; NaN where unknown.
    step_s : float
        Since the frame before.
    rules : ToneRules

    Notes
    -----
    The limits move away from the tone that is shown by the margin, and a new tone must ask for it
    for `dwell_s`: a stray that trembles about a limit changes nothing. From 'unknown' too.
    """
    wanted = _tone_of(state.tone, stray, rules)
    if wanted == state.tone:
        return ToneState(state.tone, state.tone, 0.0)
    asked = (state.asked_s if wanted == state.asks else 0.0) + step_s
    if asked >= rules.dwell_s:
        return ToneState(wanted, wanted, 0.0)
    return ToneState(state.tone, wanted, asked)


def _tone_of(shown: Tone, stray: float, rules: ToneRules) -> Tone:
    if not np.isfinite(stray):
        return "unknown"
    # A limit is farther away from the side on which the tone is shown.
    on = rules.on + {"on": rules.margin, "unknown": 0.0}.get(shown, -rules.margin)
    close = rules.close + {"off": -rules.margin, "unknown": 0.0}.get(shown, rules.margin)
    if stray <= on:
        return "on"
    return "close" if stray <= close else "off"
