"""Sentences of a video's page: the hold, where it broke, how far measuring is."""

import math
from collections.abc import Mapping
from typing import Any

from chordline.application.findings_words import upper_first
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue

#: What a joint does when it leaves the shape: by measure and side, now and in the past.
_WAYS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("shoulder_opening_deg", "opening"): ("open", "opened"),
    ("shoulder_opening_deg", "closing"): ("close", "closed"),
    ("hip_opening_deg", "opening"): ("open", "opened"),
    ("hip_opening_deg", "closing"): ("close", "closed"),
    ("knee_opening_deg", "opening"): ("go beyond straight", "went beyond straight"),
    ("knee_opening_deg", "closing"): ("bend", "bent"),
    ("elbow_opening_deg", "opening"): ("go beyond straight", "went beyond straight"),
    ("elbow_opening_deg", "closing"): ("bend", "bent"),
}


def hold_sentence(hold: Mapping[str, Any], catalogue: Catalogue) -> str:
    """Return the hold in words first: how long, and what went then."""
    told = f"In shape for {hold_seconds(hold)}"
    if hold["reached_cap"]:
        return f"{told}; the video ends before it breaks"
    where = hold["where"]
    return told if where is None else f"{told}, then {_went(where, catalogue, past=True)}"


def how_it_ended(hold: Mapping[str, Any], catalogue: Catalogue) -> str:
    """Return what ended a hold, without its seconds."""
    if hold["reached_cap"]:
        return "the video ends before it breaks"
    where = hold["where"]
    return (
        "until the shape broke" if where is None else f"then {_went(where, catalogue, past=True)}"
    )


def hold_seconds(hold: Mapping[str, Any]) -> str:
    """Return a hold's seconds with ±, or the least that is sure."""
    if hold["reached_cap"]:
        return f"at least {math.floor(10.0 * hold['low_s']) / 10.0:.1f}\u00a0s"
    return f"{hold['seconds']:.1f}\u00a0s ±\u00a0{SD_95 * hold['sd']:.1f}\u00a0s"


def break_sentence(hold: Mapping[str, Any], catalogue: Catalogue) -> str:
    """Return what breaks and when; empty where it cannot be told."""
    if hold["where"] is None or hold["broke_at_s"] is None:
        return ""
    went = upper_first(_went(hold["where"], catalogue, past=False))
    return f"{went} at {hold['broke_at_s']:.1f}\u00a0s ±\u00a0{SD_95 * hold['sd']:.1f}\u00a0s"


def _went(where: Mapping[str, Any], catalogue: Catalogue, *, past: bool) -> str:
    label = catalogue.measures[where["measure"]].label.lower()
    ways = _WAYS.get((where["measure"], where["side"]))
    if ways is None:
        return f"the {label} went first" if past else f"the {label} goes first"
    return f"the {label} {ways[1 if past else 0]}"


def progress_sentence(progress: Mapping[str, Any] | None) -> str:
    """Return how far measuring is, in words."""
    if progress is None or not progress["share"]:
        told, said = "It waits its turn", "" if progress is None else progress["said"]
    else:
        told, said = f"{progress['share']:.0%} of it is read", progress["said"]
    return f"{told}: {said}" if said else f"{told}."
