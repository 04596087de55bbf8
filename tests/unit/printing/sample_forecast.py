"""Forecasts of an invented gymnast whose shoulders stop her line, for tests of printing."""

from dataclasses import replace

import numpy as np
from sample_findings import CATALOGUE, findings
from sample_sheets import measurement_of

from chordline.application.forecast.told import Gain, LineForecast
from chordline.application.sheet_forecast import SheetForecast, forecast_for_sheet
from chordline.core.body.measurement import Mark, Measure, Measurement, Trust
from chordline.core.estimate import Estimate

CLOSED = (
    (0.0, 0.0),
    (-3.0, 30.0),
    (1.9, 46.0),
    (0.0, 55.3),
    (0.0, 77.6),
    (0.0, 100.0),
    (0.0, 110.4),
)
BETTER = ((0.0, 0.0), (-1.9, 29.2), (1.2, 45.7), (0.0, 55.1), (0.0, 77.5), (0.0, 100.0), (0, 110.4))

FORECAST = LineForecast(
    bow_max_pct=Estimate(3.0, 0.45),
    lean_deg=Estimate(0.0, 0.1),
    openings_deg={
        "shoulder": Estimate(-23.0, 3.5),
        "trunk": Estimate(28.0, 4.0),
        "hip": Estimate(-2.0, 1.5),
    },
    p_within_10deg=0.999,
    p_straight=0.02,
    p_arrived=0.02,
    straight_within_pct=2.0,
    stopped_by="shoulder_flexion_deg",
    stopped_share=1.0,
    payoffs={
        "shoulder_active_lag_deg": Estimate(0.047, 0.0),
        "shoulder_flexion_deg": Estimate(0.066, 0.02),
        "hip_extension_deg": Estimate(0.003, 0.001),
        "pelvic_tuck_deg": Estimate(0.0, 0.0),
        "shoulder_push_pct": Estimate(0.032, 0.001),
    },
    line=CLOSED,
    best=Gain("shoulder_flexion_deg", 10.0, Estimate(0.66, 0.01), Estimate(1.9, 0.45), BETTER),
    draws=240,
    version="0",
    table="invented",
)
FREE = replace(FORECAST, bow_max_pct=Estimate(0.4, 0.3), stopped_by=None, best=None, p_straight=0.9)


def handstand(*, lean: float = 0.1, left_near: bool = True, roll_deg: float = 0.0) -> Measurement:
    """A photographed handstand whose ankle lies `lean` of its height in front of the wrist.

    Its shoulder lies 6 % of the height behind the wrist, the camera is turned by `roll_deg`.
    """
    front = 1.0 if left_near else -1.0
    places = {
        "wrist": (0.0, 0.0),
        "shoulder": (-0.06, 0.3),
        "hip": (0.04, 0.55),
        "knee": (0.06, 0.78),
        "malleolus": (lean, 1.0),
        "toe": (lean, 1.1),
    }
    roll = np.deg2rad(roll_deg)
    base = measurement_of("13_handstand.jpg")
    assert base.card is not None
    marks = {}
    for name, (forward, up) in places.items():
        x, y = 600.0 * front * forward, -600.0 * up
        marks[name] = Mark(
            800.0 + x * np.cos(roll) - y * np.sin(roll),
            1000.0 + x * np.sin(roll) + y * np.cos(roll),
            3.0,
            "hand",
        )
    return replace(
        base,
        near_side="left" if left_near else "right",
        front="right" if left_near else "left",
        card=replace(base.card, roll_deg=Estimate(roll_deg, 0.2)),
        landmarks=marks,
        measures={"bow_max_pct": Measure(-6.4, 0.5, "pct", {"landmark_definition": 0.6})},
        covariance=np.eye(1),
        trust=Trust(True),
    )


def told(
    forecast: LineForecast | None = FORECAST, photo: Measurement | None = None
) -> SheetForecast:
    one = forecast_for_sheet(findings(forecast=forecast), CATALOGUE, photo=photo)
    assert one is not None
    return one
