import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from chordline.core.estimate import Estimate
from chordline.core.planning.worth import (
    cut_pieces,
    expect_gain,
    expect_missing,
    expect_more,
    expect_taken,
    share_missing,
    weigh_payoff,
)

SHORTFALLS = [Estimate(12.0, 3.0), Estimate(0.5, 8.0), Estimate(-6.0, 4.0), Estimate(0.3, 0.2)]


@pytest.mark.parametrize("shortfall", SHORTFALLS)
@pytest.mark.parametrize("gain", [0.1, 2.0, 15.0])
def test_the_expected_gain_is_the_integral_over_the_shortfall(
    shortfall: Estimate, gain: float
) -> None:
    m, s = shortfall.value, shortfall.sd
    taken = quad(
        lambda x: min(max(x, 0.0), gain) * norm.pdf(x, m, s),
        m - 9.0 * s,
        m + 9.0 * s,
        points=[0.0, gain],
        limit=200,
    )[0]
    assert expect_gain(shortfall, gain) == pytest.approx(taken, abs=1e-7)


def test_the_expected_gain_is_the_mean_of_many_gymnasts() -> None:
    drawn = np.random.default_rng(1).normal(4.0, 5.0, 400_000)
    taken = np.minimum(np.maximum(drawn, 0.0), 6.0)
    error = 4.0 * float(taken.std()) / len(drawn) ** 0.5
    assert expect_gain(Estimate(4.0, 5.0), 6.0) == pytest.approx(float(taken.mean()), abs=error)


@pytest.mark.parametrize("shortfall", [*SHORTFALLS, Estimate(7.0, 0.0)])
def test_gains_one_after_the_other_add_up(shortfall: Estimate) -> None:
    first = expect_gain(shortfall, 3.0)
    second = expect_more(shortfall, gained=3.0, more=5.0)
    assert first + second == pytest.approx(expect_gain(shortfall, 8.0), abs=1e-12)


@pytest.mark.parametrize("shortfall", SHORTFALLS)
def test_the_next_unit_is_worth_the_chance_that_it_is_missing(shortfall: Estimate) -> None:
    slope = (expect_gain(shortfall, 2.0 + 1e-5) - expect_gain(shortfall, 2.0 - 1e-5)) / 2e-5
    assert share_missing(shortfall, 2.0) == pytest.approx(slope, abs=1e-6)


def test_a_shortfall_that_is_known_exactly_is_taken_away_once() -> None:
    assert expect_gain(Estimate(5.0, 0.0), 3.0) == 3.0
    assert expect_gain(Estimate(5.0, 0.0), 9.0) == 5.0
    assert expect_gain(Estimate(-5.0, 0.0), 9.0) == 0.0


@pytest.mark.parametrize("shortfall", [*SHORTFALLS, Estimate(7.0, 0.0)])
def test_pieces_lie_above_the_curve_and_close_to_it(shortfall: Estimate) -> None:
    most = 20.0
    pieces = cut_pieces(shortfall, gained=1.0, most=most, error=0.002)
    whole = expect_more(shortfall, gained=1.0, more=most)
    slopes = [one.slope for one in pieces]
    assert slopes == sorted(slopes, reverse=True)
    for gain in np.linspace(0.0, most, 41):
        above, left = 0.0, float(gain)
        for one in pieces:
            above += one.slope * min(left, one.length)
            left -= min(left, one.length)
        curve = expect_more(shortfall, gained=1.0, more=float(gain))
        assert curve - 1e-9 <= above <= curve + 0.0021 * whole


def test_a_doubtful_payoff_counts_less_and_never_harms() -> None:
    assert weigh_payoff(Estimate(0.1, 0.0), 0.5) == pytest.approx(0.1)
    assert weigh_payoff(Estimate(0.1, 0.05), 0.5) == pytest.approx(0.075)
    assert weigh_payoff(Estimate(0.1, 0.9), 0.5) == pytest.approx(0.05)
    assert weigh_payoff(Estimate(-0.1, 0.1), 0.5) == 0.0
    assert weigh_payoff(Estimate(0.1, 0.9), 0.0) == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("missing", "gain"),
    [
        (Estimate(12.0, 4.0), Estimate(6.0, 3.0)),
        (Estimate(0.0, 5.0), Estimate(20.0, 0.0)),
        (Estimate(-3.0, 2.0), Estimate(4.0, 2.0)),
        (Estimate(23.0, 3.5), Estimate(18.0, 6.4)),
    ],
)
def test_what_is_taken_is_never_more_than_what_is_missing(
    missing: Estimate, gain: Estimate
) -> None:
    rng = np.random.default_rng(5)
    drawn = rng.normal(missing.value, missing.sd, 400_000)
    given = rng.normal(gain.value, gain.sd, 400_000)
    taken = np.minimum(np.maximum(drawn, 0.0), np.maximum(given, 0.0))
    told = expect_taken(missing, gain)
    assert told.value == pytest.approx(taken.mean(), abs=0.02 * taken.std() + 1e-9)
    assert told.sd == pytest.approx(taken.std(), rel=0.02)


@pytest.mark.parametrize("missing", [Estimate(12.0, 4.0), Estimate(-3.0, 2.0), Estimate(5.0, 0.0)])
def test_what_is_missing_is_what_a_boundless_gain_would_take(missing: Estimate) -> None:
    assert expect_missing(missing) == pytest.approx(expect_gain(missing, 1e4))
