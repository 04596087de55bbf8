"""Words and records of the forecast."""

from dataclasses import replace

import pytest

from chordline.application.forecast.forecast_json import forecast_from_json, forecast_to_json
from chordline.application.forecast.forecast_words import (
    chances_in_words,
    forecast_in_words,
    gain_in_words,
    gap_in_words,
    missing_in_words,
    posture_in_words,
)
from chordline.application.forecast.told import Gain, LineForecast
from chordline.core.estimate import Estimate
from screen_stories import CATALOGUE

LINE = ((0.0, 0.0), (2.0, 40.0), (0.0, 55.0), (-1.0, 62.0), (0.0, 81.0), (0.0, 100.0), (0.0, 108.0))
TOLD = LineForecast(
    bow_max_pct=Estimate(3.0, 0.5),
    lean_deg=Estimate(-0.2, 0.1),
    openings_deg={
        "shoulder": Estimate(-22.0, 3.0),
        "trunk": Estimate(28.0, 4.0),
        "hip": Estimate(-1.0, 2.0),
    },
    p_within_10deg=1.0,
    p_straight=0.02,
    p_arrived=0.02,
    straight_within_pct=2.0,
    stopped_by="shoulder_flexion_deg",
    stopped_share=0.9,
    payoffs={"shoulder_flexion_deg": Estimate(0.066, 0.001)},
    line=LINE,
    best=Gain("shoulder_flexion_deg", 10.0, Estimate(0.7, 0.1), Estimate(1.9, 0.5), LINE),
    draws=240,
    version="v",
    table="t",
)


def test_the_headline_names_what_stops_the_line_and_how_straight_it_can_be() -> None:
    assert forecast_in_words(TOLD, CATALOGUE) == (
        "Shoulders, passive stop it first: the straightest line she can reach bows 3.0 % ± 1.0 %."
    )
    assert forecast_in_words(replace(TOLD, stopped_by=None), CATALOGUE).startswith("Nothing in")
    by_hand = forecast_in_words(replace(TOLD, stopped_by="balance at the knuckles"), CATALOGUE)
    assert by_hand.startswith("Balance at the knuckles stops it first")


def test_only_bends_that_can_be_seen_are_spoken_of() -> None:
    told = posture_in_words(TOLD)
    assert "the shoulders closed by 22° ± 6°" in told
    assert "the lower back arched by 28° ± 8°" in told
    assert "hips" not in told
    straight = replace(TOLD, openings_deg={"trunk": Estimate(2.0, 1.0)})
    assert posture_in_words(straight) == ""


def test_chances_are_never_certain() -> None:
    told = chances_in_words(TOLD)
    assert "bow within 2 %" in told
    assert "2 %." in told
    assert "over 99 %" in told


def test_a_gain_says_of_what_and_what_then() -> None:
    assert TOLD.best is not None
    assert gain_in_words(TOLD.best, CATALOGUE) == (
        "10° more of shoulders, passive would straighten it most: then it bows 1.9 % ± 1.0 %."
    )


@pytest.mark.parametrize(
    ("photo_pct", "sd", "said"),
    [
        (9.0, 0.8, "balance and push, or range that she does not use"),
        (3.5, 0.8, "as straight as her range allows"),
        (3.5, 9.0, "as straight as her range allows"),
        (0.2, 0.3, "less than the forecast"),
    ],
)
def test_the_gap_between_photo_and_forecast_is_explained_only_beyond_its_error(
    photo_pct: float, sd: float, said: str
) -> None:
    assert said in gap_in_words(Estimate(photo_pct, sd), TOLD)


def test_what_is_missing_is_named() -> None:
    assert missing_in_words(["Shoulders, passive", "Hip flexors"]) == (
        "Cannot tell yet: shoulders, passive and hip flexors not tested."
    )


def test_the_record_comes_back_as_it_was_written() -> None:
    record = forecast_to_json(TOLD)
    assert forecast_from_json(record) == TOLD
    assert forecast_to_json(None) is None
    assert forecast_from_json(None) is None
    assert forecast_from_json(forecast_to_json(replace(TOLD, best=None))).best is None  # type: ignore[union-attr]
