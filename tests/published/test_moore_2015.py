"""Moore SA et al. (2015), Med Sci Sports Exerc 47:1755-1764: maturity offset, fewer figures.

Coefficients were read in tables that reprint them (PMC8343060 table 1; J Sports Sci Med), check
values computed; the errors .51 and .52 and those in other children (.65 to .89) were read in the
abstract, .54 is from memory. Misprint 2: one table prints the boys' intercept as -8.125741.
Misprint 3: the other prints "-7999994", its decimal point lost. Tolerance: half of the last digit.
"""

import pytest

from chordline.catalogue.growth import our_growth
from chordline.core.progress.growth_maturity import MaturityOffset, Size, predict_offset

EQUATIONS = {equation.name: equation for equation in our_growth().equations()}


def offset(name: str, size: Size) -> float:
    told = predict_offset(EQUATIONS[name], size)
    assert isinstance(told, MaturityOffset)
    return told.offset_years


@pytest.mark.parametrize(
    ("age", "stature", "computed"),
    [
        (10.0, 136.0, -1.966),
        (11.0, 142.0, -1.112),
        (12.5, 150.0, 0.209),
        (13.5, 156.0, 1.185),
    ],
)
def test_the_check_values_for_girls(age: float, stature: float, computed: float) -> None:
    told = offset("moore_girl", Size(age_years=age, stature_cm=stature))
    assert told == pytest.approx(computed, abs=0.0005)


def test_misprint_2_the_boys_intercept_with_sitting_height() -> None:
    told = offset("moore_boy_sitting", Size(age_years=13.0, stature_cm=155.0, sitting_cm=80.0))
    assert told == pytest.approx(-8.128741 + 0.0070346 * 13.0 * 80.0, abs=1e-9)
    assert abs(told - (-8.125741 + 0.0070346 * 13.0 * 80.0)) > 0.002


def test_misprint_3_the_boys_intercept_with_stature_has_its_decimal_point() -> None:
    told = offset("moore_boy_stature", Size(age_years=13.0, stature_cm=155.0))
    assert told == pytest.approx(-7.999994 + 0.0036124 * 13.0 * 155.0, abs=1e-9)
    assert abs(told) < 5.0


def test_both_boys_equations_tell_one_boy_nearly_the_same() -> None:
    """What either misprint of more than a few thousandths would break: sitting height is 52 %."""
    sitting = offset("moore_boy_sitting", Size(13.0, 155.0, sitting_cm=80.6))
    stature = offset("moore_boy_stature", Size(13.0, 155.0))
    assert sitting == pytest.approx(stature, abs=0.2)


def test_the_errors_are_those_of_the_abstract() -> None:
    girl, boy = EQUATIONS["moore_girl"], EQUATIONS["moore_boy_sitting"]
    assert (girl.error_years, girl.error_elsewhere_years) == (0.52, 0.70)
    assert (boy.error_years, boy.error_elsewhere_years) == (0.51, 0.89)
