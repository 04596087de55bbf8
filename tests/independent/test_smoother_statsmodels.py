"""Filter, smoother and the covariance between two screens against statsmodels' state space.

There every offset, lasting or fresh, and every misfit is a state of its own, with a fresh offset
forgotten at each step: nothing is integrated out. Nothing of the package computes the expected
figures; only H, b, the priors and Q are read. The sums over several hundred positions agree within
1e-8 of the states' units.
"""

from typing import NamedTuple

import numpy as np
import pytest
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother, SmootherResults

from chordline.core.capacity.censored import update_with_bounds
from chordline.core.geometry.angles import Floats
from chordline.core.progress.filter import filter_forward
from chordline.core.progress.smoother import Curve, smooth_timelines
from chordline.core.progress.timeline import Marker, Step, Timeline, plain_timeline
from chordline.core.progress.timeline_stack import stack_timelines
from progress_squads import AUTO, BATTERY, HAND, MODEL, SHORT_SCREEN, K, N, follow, wander

CAPACITY_MODEL = MODEL.capacities
ROWS = len(CAPACITY_MODEL.rows)
SEEDS = (1, 2, 3)


class Expected(NamedTuple):
    """What statsmodels says of all states of each screen."""

    results: SmootherResults
    markers: tuple[Marker, ...]

    def shared(self, lag: int) -> Floats:
        """Covariance of the capacities at a screen and `lag` screens later, (n, n, screens)."""
        both = self.results.smoothed_state_autocovariance(lag=-lag)
        return np.asarray(both[:N, :N])


def state_space(timeline: Timeline) -> Expected:
    """Capacities, lasting offsets of each marker, misfits of every row, fresh offsets."""
    markers = tuple({one.marker.name: one.marker for one in timeline.screens}.values())
    names = [one.name for one in markers]
    t, k = len(timeline.screens), N + K * len(markers) + ROWS + K
    m = max(len(one.gathered.evidence.values) for one in timeline.screens)
    fresh = slice(k - K, k)
    model = KalmanSmoother(k_endog=m, k_states=k)
    design, noise = np.zeros((m, k, t)), np.zeros((m, m, t))
    values, offset = np.full((t, m), np.nan), np.zeros((m, t))
    moves, drift = np.zeros((k, k, t)), np.zeros((k, t))
    for j, screen in enumerate(timeline.screens):
        evidence = screen.gathered.evidence
        count = len(evidence.values)
        at = N + K * names.index(screen.marker.name)
        design[:count, :N, j] = evidence.matrix[:, :N]
        design[:count, at : at + K, j] = evidence.matrix[:, N:]
        design[:count, fresh, j] = evidence.matrix[:, N:]
        noise[:, :, j] = np.eye(m)
        noise[:count, :count, j] = evidence.noise
        for i, label in enumerate(screen.gathered.labels[:count]):
            place, row = CAPACITY_MODEL.by_measure[label.test, label.measure]
            design[i, N + K * len(markers) + place, j] = 1.0
            noise[i, i, j] -= MODEL.misfit_share * row.model_sd**2
        values[j, :count] = evidence.values
        offset[:count, j] = evidence.intercepts
        if j + 1 < t:
            step, later = timeline.steps[j], timeline.screens[j + 1]
            days = later.day - screen.day
            q = MODEL.wander_variance_per_day * days * step.growth_factor + step.drift_variance
            anew = later.marker.offset_sds**2 * (1.0 - later.marker.lasting_shares)
            moves[:, :, j] = np.diag(np.concatenate([q, np.zeros(k - N - K), anew]))
            drift[:N, j] = step.drift_mean
    prior = CAPACITY_MODEL.prior(by_hand=True)
    first = timeline.screens[0].marker
    variances = np.concatenate(
        [
            np.diag(prior.covariance)[:N],
            *(one.offset_sds**2 * one.lasting_shares for one in markers),
            [MODEL.misfit_share * row.model_sd**2 for row in CAPACITY_MODEL.rows],
            first.offset_sds**2 * (1.0 - first.lasting_shares),
        ]
    )
    kept = np.ones(k)
    kept[fresh] = 0.0
    model.bind(values)
    model["design"], model["obs_intercept"], model["obs_cov"] = design, offset, noise
    model["transition"], model["selection"] = np.diag(kept), np.eye(k)
    model["state_cov"], model["state_intercept"] = moves, drift
    model.initialize_known(np.concatenate([prior.mean[:N], np.zeros(k - N)]), np.diag(variances))
    return Expected(model.smooth(), markers)


def irregular(seed: int) -> Timeline:
    """Nine screens after 1 to 400 days; tests left out, both kinds of marks, drifts, growth."""
    rng = np.random.default_rng(seed)
    days = [int(day) for day in np.cumsum(rng.integers(1, 400, 9))]
    markers = [HAND if rng.random() < 0.5 else AUTO for _ in days]
    followed = follow(days, wander(days, rng), rng, markers=markers, left_out=0.4)
    steps = tuple(
        Step(rng.normal(size=N), rng.uniform(0.0, 4.0, N), float(rng.uniform(1.0, 3.0)))
        for _ in days[1:]
    )
    return Timeline(followed.screens, steps)


def curve_of(timeline: Timeline) -> Curve:
    return smooth_timelines(MODEL, [timeline])[0]


@pytest.mark.parametrize("seed", SEEDS)
def test_what_was_known_on_each_day_is_statsmodels_filter(seed: int) -> None:
    timeline = irregular(seed)
    stack = stack_timelines(MODEL, [timeline])
    ours, expected = filter_forward(stack), state_space(timeline).results
    np.testing.assert_allclose(ours.mean[:, 0, :N].T, expected.filtered_state[:N], atol=1e-8)
    covariances = np.moveaxis(ours.covariance[:, 0, :N, :N], 0, -1)
    np.testing.assert_allclose(covariances, expected.filtered_state_cov[:N, :N], atol=1e-8)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_known_of_every_earlier_day_is_statsmodels_smoother(seed: int) -> None:
    timeline = irregular(seed)
    ours, expected = curve_of(timeline), state_space(timeline).results
    np.testing.assert_allclose(ours.mean.T, expected.smoothed_state[:N], atol=1e-8)
    covariances = np.moveaxis(ours.covariance, 0, -1)
    np.testing.assert_allclose(covariances, expected.smoothed_state_cov[:N, :N], atol=1e-8)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_two_screens_share_is_statsmodels_lag_covariance(seed: int) -> None:
    timeline = irregular(seed)
    ours, expected = curve_of(timeline), state_space(timeline)
    last = len(timeline.screens) - 1
    for lag in range(1, last + 1):
        lagged = expected.shared(lag)
        for earlier in range(last - lag + 1):
            np.testing.assert_allclose(
                ours.shared(earlier, earlier + lag), lagged[:, :, earlier], atol=1e-8
            )


def test_a_screen_of_nothing_changes_nothing_and_is_passed_as_statsmodels_passes_it() -> None:
    rng = np.random.default_rng(4)
    days = [0, 50, 90]
    truth = wander(days, rng)
    seen = follow(days, truth, rng).screens
    nothing = follow([50], truth[1:2], rng, tests=()).screens[0]
    timeline = plain_timeline(MODEL, (seen[0], nothing, seen[2]))
    ours, expected = curve_of(timeline), state_space(timeline).results
    np.testing.assert_allclose(ours.mean.T, expected.smoothed_state[:N], atol=1e-8)


def test_many_gymnasts_at_once_are_each_as_alone() -> None:
    rng = np.random.default_rng(5)
    squads = [irregular(1), irregular(2)]
    for count, tests in ((1, BATTERY), (2, SHORT_SCREEN), (5, SHORT_SCREEN)):
        days = list(range(0, 60 * count, 60))
        screens = follow(days, wander(days, rng), rng, tests=tests, cap_s=40.0).screens
        squads.append(plain_timeline(MODEL, screens))
    for together, timeline in zip(smooth_timelines(MODEL, squads), squads, strict=True):
        alone = curve_of(timeline)
        np.testing.assert_allclose(together.mean, alone.mean, atol=1e-9)
        np.testing.assert_allclose(together.covariance, alone.covariance, atol=1e-9)
        last = len(alone.days) - 1
        np.testing.assert_allclose(together.shared(0, last), alone.shared(0, last), atol=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_one_screen_with_capped_holds_is_believed_as_the_findings_believe_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    screen = follow([7], wander([7], rng), rng, left_out=0.2, cap_s=25.0).screens[0]
    prior = CAPACITY_MODEL.prior(by_hand=True)
    evidence, bounds = screen.gathered.evidence, screen.gathered.bounds
    expected = update_with_bounds(prior, evidence, bounds).belief
    ours = curve_of(plain_timeline(MODEL, (screen,)))
    np.testing.assert_allclose(ours.mean[0], expected.mean[:N], atol=1e-8)
    np.testing.assert_allclose(ours.covariance[0], expected.covariance[:N, :N], atol=1e-8)


def test_among_those_screens_some_have_two_bounds_and_some_none() -> None:
    counts = set()
    for seed in range(6):
        rng = np.random.default_rng(seed)
        screen = follow([7], wander([7], rng), rng, left_out=0.2, cap_s=25.0).screens[0]
        counts.add(len(screen.gathered.bounds))
    assert {0, 2} <= counts
