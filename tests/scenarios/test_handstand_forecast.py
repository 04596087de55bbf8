"""What the forecast says of small stories and of the demo squad. Common practice, no source.

The trade's conclusions that the model must reach by itself: closed shoulders arch the lower back on
the hands, short hip flexors stop a line whose shoulders are open, and who is open lying down is
stopped by nothing in her range.
"""

from functools import cache

import numpy as np
import pytest

from chordline.application.find_limits import ScreenInput
from chordline.application.findings import Findings
from chordline.application.forecast.forecast_line import ForecastLine
from chordline.application.forecast.told import LineForecast
from chordline.catalogue.segments import load_segments
from screen_stories import CATALOGUE, FIND, photo
from squad_photos import photos_of

pytestmark = pytest.mark.slow

FORECAST = ForecastLine(CATALOGUE, load_segments())


def found(**stories: dict[str, float]) -> Findings:
    photos = [photo(name.replace("_", "-"), seen) for name, seen in stories.items()]
    return FIND(ScreenInput("she", None, "story", tuple(photos)))


def forecast(**stories: dict[str, float]) -> LineForecast:
    told = FORECAST(found(**stories))
    assert told is not None
    return told


def lying(*, hip: float = 0.0, shoulder: float = 0.0) -> LineForecast:
    return forecast(
        prone_sides={"hip": hip},
        prone_raised={"hip": hip, "shoulder": shoulder},
        prone_active={"hip": hip, "shoulder": shoulder},
    )


@cache
def of_demo(gymnast: int) -> LineForecast:
    told = FORECAST(FIND(ScreenInput("she", gymnast, "demo", photos_of(gymnast, seed=0))))
    assert told is not None
    return told


def test_closed_shoulders_arch_the_lower_back_without_a_rule_for_it() -> None:
    closed, open_ = lying(shoulder=-25.0), lying()
    assert closed.openings_deg["trunk"].value > open_.openings_deg["trunk"].value + 12.0
    assert closed.stopped_by in ("shoulder_flexion_deg", "shoulder_active_lag_deg")
    assert closed.bow_max_pct.value > open_.bow_max_pct.value + 1.0


def test_short_hip_flexors_stop_a_line_whose_shoulders_are_open() -> None:
    short = lying(hip=-22.0)
    assert short.stopped_by in ("hip_extension_deg", "pelvic_tuck_deg")
    assert short.best is not None
    assert short.best.capacity == "hip_extension_deg"


def test_who_is_open_lying_down_is_stopped_by_nothing_in_her_range() -> None:
    told = lying(hip=4.0, shoulder=6.0)
    assert told.stopped_by is None
    assert told.best is None
    assert told.p_straight > 0.5


@pytest.mark.parametrize(
    ("gymnast", "stops"),
    [
        (11, {None}),
        (12, {"hip_extension_deg", "pelvic_tuck_deg"}),
        (13, {"shoulder_flexion_deg"}),
        (14, {"shoulder_active_lag_deg"}),
    ],
)
def test_the_demo_squad(gymnast: int, stops: set[str | None]) -> None:
    assert of_demo(gymnast).stopped_by in stops


def test_without_the_shoulders_tested_nothing_is_forecast() -> None:
    only_hips = found(prone_sides={"hip": 0.0})
    assert FORECAST(only_hips) is None
    assert FORECAST.missing(only_hips) == ("Shoulders, passive",)


def test_a_gain_straightens_and_never_bends() -> None:
    findings = found(
        prone_sides={"hip": 0.0},
        prone_raised={"hip": 0.0, "shoulder": -25.0},
        prone_active={"hip": 0.0, "shoulder": -25.0},
    )
    bows = []
    for gain in (0.0, 5.0, 10.0, 20.0):
        told = FORECAST(findings, gains={"shoulder_flexion_deg": gain})
        assert told is not None
        bows.append(told.bow_max_pct.value)
    assert bows == sorted(bows, reverse=True)
    assert bows[0] - bows[-1] > 1.0


def test_what_is_asked_in_advance_is_what_comes_of_it() -> None:
    findings = found(
        prone_sides={"hip": 0.0},
        prone_raised={"hip": 0.0, "shoulder": -25.0},
        prone_active={"hip": 0.0, "shoulder": -25.0},
    )
    told = FORECAST(findings)
    assert told is not None
    assert told.best is not None
    after = FORECAST(findings, gains={told.best.capacity: told.best.by})
    assert after is not None
    assert after.bow_max_pct.value == pytest.approx(told.best.bow_max_pct.value, abs=1e-3)


def test_the_payoff_is_the_slope_of_what_a_small_gain_gives() -> None:
    findings = found(
        prone_sides={"hip": 0.0},
        prone_raised={"hip": 0.0, "shoulder": -25.0},
        prone_active={"hip": 0.0, "shoulder": -25.0},
    )
    told = FORECAST(findings)
    assert told is not None
    assert told.payoffs["shoulder_flexion_deg"].value > 0.02
    assert told.payoffs["shoulder_flexion_deg"].value > 3.0 * told.payoffs["pelvic_tuck_deg"].value


def test_her_size_changes_nothing_so_that_a_missing_one_need_not_be_made_up() -> None:
    findings = found(
        prone_sides={"hip": -6.0},
        prone_raised={"hip": -6.0, "shoulder": -15.0},
        prone_active={"hip": -6.0, "shoulder": -15.0},
    )
    settings = {
        **CATALOGUE.settings,
        "stature_m": CATALOGUE.settings["stature_m"].model_copy(update={"value": 1.75}),
    }
    taller = ForecastLine(CATALOGUE.model_copy(update={"settings": settings}), load_segments())
    here, there = FORECAST(findings), taller(findings)
    assert here is not None
    assert there is not None
    assert there.bow_max_pct.value == pytest.approx(here.bow_max_pct.value, abs=1e-6)
    assert there.p_straight == here.p_straight
    assert np.array(there.line) == pytest.approx(np.array(here.line), abs=1e-4)


def test_the_same_screen_says_the_same() -> None:
    assert lying(shoulder=-15.0) == lying(shoulder=-15.0)
