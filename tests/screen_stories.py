"""Screens as small stories: what the coach sees in each test, and nothing else.

    story(prone_sides=dict(hip=-18), prone_raised=dict(shoulder=-2), holds=dict(hold_front=25))

Names of tests are those of the battery with underscores, names of measures are short (`TELLS`).
Hips are seen in every photo and shoulders wherever the arms are overhead: where a story does not
mention them they are as in the test's base test, and straight where nothing is said of it either.
Everything else is measured only where it is told: a trunk's seam needs marks.

The errors beside the values are those that hand marks of 3 px have on a photo from 3 m
(assumption: the demo squad's, rounded). With `seed`, what a photo really shows is drawn around the
story: the landmarks' and the phone's errors, what a child changes from take to take, and one
offset a screen for where hands set shoulder, hip and the trunk's curves.
"""

from collections.abc import Iterable, Mapping
from functools import cache
from typing import NamedTuple

import numpy as np

from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.findings import Findings
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.segments import our_segments
from chordline.conventions import Side
from chordline.core.body.measurement import Mark, Measure, Measurement, Trust
from chordline.core.body.measures import unit_of
from chordline.core.capacity.observed import HOLD_MEASURE, Held

CATALOGUE = load_catalogue()
FIND = FindLimits(CATALOGUE, our_segments())

TELLS = {
    "hip": "hip_opening_deg",
    "shoulder": "shoulder_opening_deg",
    "seam": "seam_hollow_deg",
    "upper_back": "upper_back_hollow_deg",
    "lower_back": "lower_back_hollow_deg",
    "ear": "ear_above_shoulder_pct",
    "neck": "neck_flexion_deg",
    "off_vertical": "off_vertical_deg",
}


class Errors(NamedTuple):
    """Random error of a measure, what the phone's place adds, and where exactly a joint is."""

    random: float
    phone: float
    definition: float


ERRORS = {
    "hip": Errors(2.1, 1.0, 1.7),
    "shoulder": Errors(1.9, 0.8, 1.6),
    "seam": Errors(4.0, 0.5, 3.0),
    "upper_back": Errors(5.0, 0.5, 3.0),
    "lower_back": Errors(5.0, 0.5, 3.0),
    "ear": Errors(2.1, 4.0, 1.7),
    "neck": Errors(4.3, 6.0, 3.6),
    "off_vertical": Errors(0.3, 1.5, 0.3),
}
#: The model's nuisance that stands for a measure's offset.
OFFSETS = {
    "hip": "hip_offset_deg",
    "shoulder": "shoulder_offset_deg",
    "seam": "outline_offset_deg",
    "upper_back": "outline_offset_deg",
    "lower_back": "outline_offset_deg",
}


class AtLeast(NamedTuple):
    """A hold that was stopped by the coach, in shape."""

    seconds: float


def story(
    *,
    seed: int | None = None,
    holds: Mapping[str, float | AtLeast] | None = None,
    flags: tuple[str, ...] = (),
    near: Side = "left",
    **tests: Mapping[str, float],
) -> ScreenInput:
    """Return one gymnast's screen."""
    rng = None if seed is None else np.random.default_rng(seed)
    told = {name.replace("_", "-"): dict(shown) for name, shown in tests.items()}
    shown = {test: _with_joints(test, told) for test in told}
    offsets = _draw_offsets(rng)
    return ScreenInput(
        gymnast="Ada",
        card=7,
        screen="story",
        measurements=tuple(
            photo(test, _seen(test, values, offsets, rng), near=near)
            for test, values in shown.items()
        ),
        held=tuple(
            _held(name.replace("_", "-"), time, rng) for name, time in (holds or {}).items()
        ),
        flags=flags,
    )


def judge(screen: ScreenInput) -> Findings:
    """Return what the use case finds."""
    return FIND(screen)


def photo(
    test: str,
    values: Mapping[str, float],
    *,
    name: str | None = None,
    near: Side = "left",
    trust: Trust | None = None,
) -> Measurement:
    """Return the measurement of one photo with these short-named values."""
    measures = {
        TELLS[short]: Measure(
            value=value,
            sd=ERRORS[short].random,
            unit=unit_of(TELLS[short]),
            systematic={
                "near_side_parallax": ERRORS[short].phone,
                "landmark_definition": ERRORS[short].definition,
            },
        )
        for short, value in values.items()
    }
    return Measurement(
        photo=name or f"{test}.jpg",
        test=test,
        near_side=near,
        front="down" if test.startswith("prone") else "up",
        front_origin="test",
        width_px=1600,
        height_px=1200,
        sha256="0" * 64,
        card=None,
        scale=None,
        landmarks={"hip": Mark(800.0, 600.0, 3.0, "hand")},
        measures=measures,
        covariance=np.diag([measure.sd**2 for measure in measures.values()]),
        trust=trust or Trust(True),
        cautions=(),
        model="hand marks",
    )


def share_of_draws(holds_true: Iterable[bool]) -> float:
    """Return in which share of noise draws a story holds."""
    return float(np.mean(list(holds_true)))


def _with_joints(test: str, told: Mapping[str, dict[str, float]]) -> dict[str, float]:
    entry = CATALOGUE.tests[test]
    base = {} if entry.base is None else _with_joints(entry.base, told)
    joints = ("hip", "shoulder") if entry.arms == "overhead" else ("hip",)
    return {**{joint: base.get(joint, 0.0) for joint in joints}, **told.get(test, {})}


@cache
def _repeat_sd(test: str, measure: str) -> float:
    row = CATALOGUE.model.get(test, {}).get(measure)
    return CATALOGUE.setting("repeat_sd_deg") if row is None else row.repeat_sd


def _draw_offsets(rng: np.random.Generator | None) -> dict[str, float]:
    if rng is None:
        return {}
    drawn = {name: rng.normal(0.0, entry.hand_sd) for name, entry in CATALOGUE.nuisances.items()}
    return {short: drawn[name] for short, name in OFFSETS.items()}


def _seen(
    test: str,
    values: Mapping[str, float],
    offsets: Mapping[str, float],
    rng: np.random.Generator | None,
) -> dict[str, float]:
    if rng is None:
        return dict(values)
    seen = {}
    for short, value in values.items():
        own = np.hypot(ERRORS[short].random, ERRORS[short].phone)
        sd = np.hypot(own, _repeat_sd(test, TELLS[short]))
        seen[short] = float(value + offsets.get(short, 0.0) + rng.normal(0.0, sd))
    return seen


def _held(test: str, time: float | AtLeast, rng: np.random.Generator | None) -> Held:
    capped = isinstance(time, AtLeast)
    seconds = time.seconds if isinstance(time, AtLeast) else time
    if rng is not None and not capped:
        sd = np.hypot(_repeat_sd(test, HOLD_MEASURE), CATALOGUE.setting("hold_rel_sd"))
        seconds = float(seconds * np.exp(rng.normal(0.0, sd)))
    return Held("holds.csv", test, seconds, CATALOGUE.setting("hold_rel_sd"), capped)
