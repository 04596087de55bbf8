"""Sentences about a video: what its hold was, and why there is no figure."""

import math
from collections.abc import Mapping
from typing import Any

from chordline.catalogue.schema import Catalogue
from chordline.core.motion.hold import Hold
from chordline.core.motion.untold import Untold

_DOUBTS = {
    "begun-before-the-video": "she was in shape when the video began: film from before she "
    "gets into it",
    "lost-in-the-hold": "she could not be seen for a part of the hold",
    "broke-while-lost": "the shape broke while she could not be seen",
    "near-the-limit": "the shape may have broken before the video ended",
    "end-not-seen": "the video ends too soon to say when the shape broke",
}


def why_untold(untold: Untold, what: str) -> str:
    """Return why `what` (such as ``seconds``) cannot be told, and what to do."""
    have, need = untold.have, untold.need
    sentences = {
        "too-few-frames": f"the video has too few frames (8 or more are needed): no {what}",
        "frame-rate-too-low": (
            f"the video shows {have or 0:.0f} frames a second, more than {need or 0:.0f} are "
            f"needed: no {what}; film at 30"
        ),
        "never-in-shape": f"she is never in the shape of this test: no {what}; check the test",
        "never-still": f"she never holds still in shape: no {what}",
        "never-upright": (
            f"she never arrives within {need or 0:.0f}° of the vertical "
            f"(closest: {have or 0:.0f}°): no {what}"
        ),
        "cannot-tell-the-shape": (
            f"whether she is in shape cannot be told surely enough: no {what}; film nearer and "
            "squarer"
        ),
        "body-lost": (
            f"she could not be seen in {have or 0:.0%} of the time: no {what}; film square from "
            "the side with the whole body in the picture"
        ),
        "too-short": (
            f"the video is too short ({have or 0:.1f} s, {need or 0:.1f} s are needed): no {what}"
        ),
        "not-moved-in-the-picture": f"nothing moves in the video: no {what}",
    }
    return sentences[untold.reason]


def doubts_in_words(hold: Hold) -> tuple[str, ...]:
    """Return the doubts about a hold as sentences."""
    return tuple(_DOUBTS[one] for one in hold.doubts)


def hold_in_words(hold: Hold, catalogue: Catalogue) -> str:
    """Return the hold in one line: seconds with ±, and where the shape went."""
    if hold.reached_cap:
        least = math.floor(10.0 * hold.low_s) / 10.0  # never more than is sure
        return f"in shape for at least {least:.1f} s; the video ends before the shape breaks"
    told = f"in shape for {hold.seconds:.1f} s ± {1.96 * hold.sd:.1f} s"
    if hold.where is not None and hold.broke_at_s is not None:
        label = catalogue.measures[hold.where.measure].label.lower()
        way = "opening" if hold.where.side > 0 else "closing"
        told += f"; then the {label} went first, {way}, {hold.broke_at_s:.1f} s into the video"
    return told


def sway_in_words(sway: Mapping[str, Any]) -> str:
    """Return how quietly she stood on her hands, in one line; `sway` as in a video's record."""
    place, speed = amount_in_words(sway["rms_distance"]), amount_in_words(sway["mean_speed"])
    if not sway["rms_distance"]["told"]:
        return "whether she sways to the front and back cannot be told from this video"
    told = f"sways by {place} to the front and back of her middle place"
    if not sway["mean_speed"]["told"]:
        return f"{told}; how fast cannot be told"
    return f"{told}, moving {speed} on average"


def amount_in_words(amount: Mapping[str, Any]) -> str:
    """Return a value with ± and its unit; that it cannot be told where noise hides it."""
    if not amount["told"]:
        return "cannot tell"
    unit = _UNITS[amount["unit"]]
    return f"{amount['value']:.1f} ± {1.96 * amount['sd']:.1f} {unit}"


_UNITS = {
    "cm": "cm",
    "pct": "% of her line",
    "cm_per_s": "cm a second",
    "pct_per_s": "% of her line a second",
}
