"""Bland JM, Altman DG (1986), Lancet i:307-310: two peak flow meters, 17 subjects [l/min].

Both meters' first readings and the mini meter's second were read; bias, sd and limits were computed
from them to one digit, ±1.96 sd also read. The paper takes ±2 sd. Its standard errors and intervals
(±2 sd form) are from memory, high confidence; the paper works on with rounded figures, therefore
their tolerance is 0.2. Other tolerances are half of the last digit.
"""

import numpy as np
import pytest

from chordline.core.progress.agreement_limits import (
    SDS_1986,
    Bounded,
    Limits,
    compare_pairs,
    limits_1986,
    repeatability_coefficient,
)

LARGE = np.array(
    [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427.0]
)
MINI = np.array(
    [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451.0]
)
MINI_AGAIN = np.array(
    [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443.0]
)


def limits() -> Limits:
    told = compare_pairs(LARGE, MINI)
    assert isinstance(told, Limits)
    return told


def of_1986() -> tuple[Bounded, Bounded]:
    told = limits_1986(LARGE, MINI)
    assert isinstance(told, tuple)
    return told


def test_the_data_are_the_papers_by_their_correlation() -> None:
    assert np.corrcoef(LARGE, MINI)[0, 1] == pytest.approx(0.943, abs=0.0005)


def test_bias_and_spread_of_the_differences() -> None:
    assert limits().bias.value == pytest.approx(-2.1, abs=0.05)
    assert limits().sd == pytest.approx(38.8, abs=0.05)


def test_the_limits_at_1_96_sd() -> None:
    assert limits().lower.value == pytest.approx(-78.1, abs=0.05)
    assert limits().upper.value == pytest.approx(73.9, abs=0.05)


def test_the_limits_at_the_two_sd_of_the_paper() -> None:
    lower, upper = of_1986()
    assert lower.value == pytest.approx(-79.6, abs=0.05)
    assert upper.value == pytest.approx(75.4, abs=0.05)


def test_the_two_forms_are_not_mixed_up() -> None:
    assert of_1986()[0].value < limits().lower.value - 1.0


def test_the_intervals_of_the_paper_from_memory() -> None:
    lower, upper = of_1986()
    assert (limits().bias.low, limits().bias.high) == pytest.approx((-22.0, 17.8), abs=0.2)
    assert (lower.low, lower.high) == pytest.approx((-114.3, -45.1), abs=0.2)
    assert (upper.low, upper.high) == pytest.approx((40.9, 110.1), abs=0.2)


def test_the_exact_interval_of_a_limit_reaches_further_out_than_the_papers() -> None:
    """So few pairs: the approximation's outer end is too near."""
    assert limits().lower.low < of_1986()[0].low
    assert limits().upper.high > of_1986()[1].high


def test_no_proportional_bias_is_found_between_the_meters() -> None:
    """The paper's plot shows none; r of difference and mean is 0.07 there (computed)."""
    proportional = limits().proportional
    assert proportional is not None
    assert not proportional.found


def test_the_repeatability_coefficient_of_the_mini_meter() -> None:
    told = repeatability_coefficient(MINI, MINI_AGAIN, sds=SDS_1986)
    assert told == pytest.approx(56.3, abs=0.05)
