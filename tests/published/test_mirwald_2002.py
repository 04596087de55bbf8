"""Mirwald RL et al. (2002), Med Sci Sports Exerc 34:689-694: maturity offset.

Coefficients and errors were read on a second-hand page (a calculator); check values were computed
from the formula as written there, with mass over stature × 100. Misprint 1: that page prints the
girls' mass over stature without the × 100. Tolerance: half of the last digit.
"""

import pytest

from chordline.catalogue.growth import our_growth
from chordline.core.progress.growth_maturity import MaturityOffset, Size, predict_offset

EQUATIONS = {equation.name: equation for equation in our_growth().equations()}


def offset(name: str, *figures: float) -> MaturityOffset:
    age, stature, sitting, mass = figures
    told = predict_offset(
        EQUATIONS[name],
        Size(age_years=age, stature_cm=stature, sitting_cm=sitting, mass_kg=mass),
    )
    assert isinstance(told, MaturityOffset)
    return told


@pytest.mark.parametrize(
    ("figures", "computed"),
    [
        ((10.0, 136.0, 72.0, 31.0), -1.966),
        ((11.0, 142.0, 74.5, 35.0), -1.137),
        ((12.5, 150.0, 78.5, 41.0), 0.119),
        ((13.5, 156.0, 82.0, 46.0), 1.048),
    ],
)
def test_the_check_values_for_girls(figures: tuple[float, ...], computed: float) -> None:
    assert offset("mirwald_girl", *figures).offset_years == pytest.approx(computed, abs=0.0005)


def test_a_boy_computed_by_hand() -> None:
    """13 y, 155 cm, 80 cm, 45 kg, term by term from the printed coefficients."""
    by_hand = (
        -9.236
        + 0.0002708 * 75.0 * 80.0
        - 0.001663 * 13.0 * 75.0
        + 0.007216 * 13.0 * 80.0
        + 0.02292 * 100.0 * 45.0 / 155.0
    )
    told = offset("mirwald_boy", 13.0, 155.0, 80.0, 45.0)
    assert told.offset_years == pytest.approx(by_hand, abs=1e-12)


def test_misprint_1_a_girls_mass_over_stature_without_its_hundred_would_miss_by_years() -> None:
    mass_term = 0.07693 * 31.0 / 136.0
    misprinted = offset("mirwald_girl", 10.0, 136.0, 72.0, 31.0).offset_years - 99.0 * mass_term
    assert misprinted == pytest.approx(-1.966 - 1.736, abs=0.001)


def test_the_errors_are_the_printed_ones() -> None:
    assert EQUATIONS["mirwald_girl"].error_years == 0.57
    assert EQUATIONS["mirwald_boy"].error_years == 0.59


def test_the_age_at_the_peak_is_the_age_less_the_offset() -> None:
    told = offset("mirwald_girl", 10.0, 136.0, 72.0, 31.0)
    assert told.age_at_peak_years == pytest.approx(11.966, abs=0.0005)
