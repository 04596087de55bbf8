"""Seconds in shape: when a hold begins, when its shape first breaks, and where."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from chordline.core.estimate import Estimate

#: What makes the seconds less sure than the landmarks' errors alone; codes, not sentences.
Doubt = Literal[
    "begun-before-the-video",
    "lost-in-the-hold",
    "broke-while-lost",
    "near-the-limit",
    "end-not-seen",
]


@dataclass(frozen=True)
class Where:
    """Which measure left its limit, and to which side: +1 opening (or up), −1 closing (or down)."""

    measure: str
    side: Literal[-1, 1]


@dataclass(frozen=True)
class Hold:
    """One hold of a video.

    Attributes
    ----------
    began_at_s, began_sd_s : float
        Time in the video.
    seconds, sd : float
        In shape; `sd` is that of an interval of the same width.
    low_s, high_s : float or None
        90 % interval of `seconds`. None: at least `low_s`, the end was not seen.
    broke_at_s : float or None
        Time in the video; None where no break can be told.
    where : Where or None
        What broke first.
    where_p : mapping of Where to float
        How likely each break that was told was the first; adds up to 1, or empty.
    reached_cap : bool
        The video (or what can be seen of her) ends while she is in shape: at least `seconds`.
    p_broken_at_end : float
        With `reached_cap`: how likely the shape was broken at the end all the same.
    drift : mapping of measure to Estimate
        Slope over the hold up to the earliest plausible break [unit / s].
    lost_share : float
        Share of the hold in which a judged measure could not be seen.
    doubts : tuple of Doubt
    """

    began_at_s: float
    began_sd_s: float
    seconds: float
    sd: float
    low_s: float
    high_s: float | None
    broke_at_s: float | None
    where: Where | None
    where_p: Mapping[Where, float]
    reached_cap: bool
    p_broken_at_end: float
    drift: Mapping[str, Estimate]
    lost_share: float
    doubts: tuple[Doubt, ...]
