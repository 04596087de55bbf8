"""The capacity update against statsmodels, dense formulas, integrals and brute force.

Nothing of the package computes the expected figures: only its H, b and prior are read.
"""

from itertools import permutations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr
from scipy.stats import norm
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from chordline.core.capacity.censored import Bound, update_with_bounds
from chordline.core.capacity.model import Belief
from chordline.core.capacity.next_test import expected_evidence, rank_tests, rank_tests_between
from chordline.core.capacity.observed import Held, Observed, gather
from chordline.core.capacity.update import Evidence, update
from chordline.core.geometry.angles import Floats
from screen_stories import CATALOGUE, FIND

MODEL = FIND.model
MINUTES = {name: test.minutes for name, test in CATALOGUE.tests.items()}
NOTHING = Evidence(np.zeros(0), np.zeros((0, 2)), np.zeros(0), np.zeros((0, 0)))


def prior_with_history(seed: int) -> Belief:
    """A belief with correlations, as after an earlier screen."""
    plain = MODEL.prior(by_hand=True)
    rng = np.random.default_rng(seed)
    mixed = np.eye(len(plain.mean)) + 0.3 * rng.normal(size=(len(plain.mean),) * 2)
    covariance = mixed @ plain.covariance @ mixed.T
    return Belief(plain.states, plain.mean + rng.normal(size=len(plain.mean)), covariance)


def all_rows(seed: int) -> Evidence:
    """All rows of the model at once, with errors that go together."""
    rng = np.random.default_rng(seed)
    m = len(MODEL.rows)
    root = np.diag(rng.uniform(1.0, 6.0, m)) + 0.4 * rng.normal(size=(m, m))
    values = MODEL.matrix @ MODEL.prior(by_hand=True).mean + MODEL.intercepts
    return Evidence(
        values + 8.0 * rng.normal(size=m), MODEL.matrix, MODEL.intercepts, root @ root.T
    )


def dense_conditional(prior: Belief, evidence: Evidence) -> tuple[Floats, Floats]:
    """Mean and covariance of the state from the joint Gaussian of state and measures."""
    h, p = evidence.matrix, prior.covariance
    joint = np.block([[p, p @ h.T], [h @ p, h @ p @ h.T + evidence.noise]])
    d = len(prior.mean)
    weight = np.linalg.solve(joint[d:, d:], joint[d:, :d]).T
    innovation = evidence.values - h @ prior.mean - evidence.intercepts
    return prior.mean + weight @ innovation, joint[:d, :d] - weight @ joint[d:, :d]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_update_is_the_dense_gaussian_conditional(seed: int) -> None:
    prior, evidence = prior_with_history(seed), all_rows(seed)
    mean, covariance = dense_conditional(prior, evidence)
    after = update(prior, evidence).belief
    np.testing.assert_allclose(after.mean, mean, atol=1e-9)
    np.testing.assert_allclose(after.covariance, covariance, atol=1e-9)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_update_is_statsmodels_kalman_update(seed: int) -> None:
    prior, evidence = prior_with_history(seed), all_rows(seed)
    d, m = len(prior.mean), len(evidence.values)
    kalman = KalmanFilter(k_endog=m, k_states=d)
    kalman["design"] = evidence.matrix
    kalman["obs_intercept"] = evidence.intercepts[:, None]
    kalman["obs_cov"] = evidence.noise
    kalman["transition"] = np.eye(d)
    kalman["selection"] = np.eye(d)
    kalman["state_cov"] = np.zeros((d, d))
    kalman.initialize_known(prior.mean, prior.covariance)
    kalman.bind(evidence.values[None, :])
    filtered = kalman.filter()
    after = update(prior, evidence).belief
    np.testing.assert_allclose(after.mean, filtered.filtered_state[:, 0], atol=1e-9)
    np.testing.assert_allclose(after.covariance, filtered.filtered_state_cov[:, :, 0], atol=1e-9)


def two_capacities(rho: float = -0.5) -> Belief:
    sd = np.array([1.0, 0.7])
    covariance = np.outer(sd, sd) * np.array([[1.0, rho], [rho, 1.0]])
    return Belief(("one", "other"), np.array([0.3, -0.2]), covariance)


def bound(above: float, row: tuple[float, float], variance: float = 0.09) -> Bound:
    return Bound(above, np.array(row), 0.1, variance)


@pytest.mark.parametrize("above", [-4.0, -1.0, 0.0, 1.5, 6.0])
def test_one_bound_is_exact_against_the_integral(above: float) -> None:
    prior = two_capacities()
    one = bound(above, (-1.0, 0.0))
    mean, sd = prior.mean[0], float(np.sqrt(prior.covariance[0, 0]))

    def moment(power: int) -> float:
        def density(x: float) -> float:
            seen = ndtr((-x + one.intercept - above) / np.sqrt(one.variance))
            return float(x**power * norm.pdf(x, mean, sd) * seen)

        return quad(density, mean - 10 * sd, mean + 10 * sd, epsabs=1e-14, limit=400)[0]

    zeroth = moment(0)
    exact_mean = moment(1) / zeroth
    exact_variance = moment(2) / zeroth - exact_mean**2
    after = update_with_bounds(prior, NOTHING, (one,)).belief
    assert after.mean[0] == pytest.approx(exact_mean, abs=1e-6)
    assert after.covariance[0, 0] == pytest.approx(exact_variance, abs=1e-6)
    # The other state follows by its regression on the first.
    slope = prior.covariance[0, 1] / prior.covariance[0, 0]
    followed = prior.mean[1] + slope * (exact_mean - mean)
    assert after.mean[1] == pytest.approx(followed, abs=1e-6)


def grid_moments(prior: Belief, bounds: tuple[Bound, ...]) -> tuple[Floats, Floats]:
    """Mean and covariance over a fine grid of both states."""
    sd = np.sqrt(np.diag(prior.covariance))
    axes = [np.linspace(m - 8 * s, m + 8 * s, 1201) for m, s in zip(prior.mean, sd, strict=True)]
    x = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    off = x - prior.mean
    weight = np.exp(-0.5 * np.einsum("ij,jk,ik->i", off, np.linalg.inv(prior.covariance), off))
    for one in bounds:
        weight = weight * ndtr((x @ one.row + one.intercept - one.above) / np.sqrt(one.variance))
    weight /= weight.sum()
    mean = weight @ x
    return mean, (x - mean).T @ ((x - mean) * weight[:, None])


@pytest.mark.parametrize("rho", [0.0, -0.5, 0.8])
def test_two_bounds_agree_with_the_double_integral(rho: float) -> None:
    """Expectation propagation is not exact: off by up to 3 % of an sd in the mean, 5 % in sd."""
    prior = two_capacities(rho)
    bounds = (bound(0.0, (-1.0, 0.0)), bound(0.2, (-0.3, -1.0)))
    mean, covariance = grid_moments(prior, bounds)
    after = update_with_bounds(prior, NOTHING, bounds).belief
    sd = np.sqrt(np.diag(covariance))
    assert np.abs(after.mean - mean).max() < 0.03 * sd.min()
    assert np.abs(after.sd / sd - 1.0).max() < 0.05


def test_two_bounds_on_unrelated_states_are_exact() -> None:
    prior = two_capacities(0.0)
    bounds = (bound(0.0, (-1.0, 0.0)), bound(0.2, (0.0, -1.0)))
    mean, covariance = grid_moments(prior, bounds)
    after = update_with_bounds(prior, NOTHING, bounds).belief
    np.testing.assert_allclose(after.mean, mean, atol=1e-5)
    np.testing.assert_allclose(after.covariance, covariance, atol=1e-5)


def test_the_order_of_bounds_does_not_matter() -> None:
    prior = two_capacities(0.6)
    bounds = (bound(0.0, (-1.0, 0.0)), bound(0.2, (-0.3, -1.0)), bound(-0.4, (-0.8, 0.5)))
    results = [update_with_bounds(prior, NOTHING, order).belief for order in permutations(bounds)]
    for other in results[1:]:
        np.testing.assert_allclose(other.mean, results[0].mean, atol=1e-8)
        np.testing.assert_allclose(other.covariance, results[0].covariance, atol=1e-8)


def test_a_bound_that_is_surely_kept_changes_nothing() -> None:
    prior = two_capacities()
    after = update_with_bounds(prior, NOTHING, (bound(-60.0, (-1.0, 0.0)),))
    np.testing.assert_allclose(after.belief.mean, prior.mean, atol=1e-12)
    np.testing.assert_allclose(after.belief.covariance, prior.covariance, atol=1e-12)


def screen(seed: int) -> tuple[list[Observed], list[Held]]:
    rng = np.random.default_rng(seed)
    observed = []
    for test in MODEL.by_test:
        names = tuple(row.measure for row in MODEL.rows if row.test == test)
        if test.startswith("hold"):
            continue
        root = np.diag(rng.uniform(1.0, 4.0, len(names))) + 0.5
        values = rng.normal(0.0, 10.0, len(names))
        observed.append(Observed(f"{test}.jpg", test, names, values, root @ root.T))
    held = [
        Held("clock", "hold-front", 31.0, 0.05, False),
        Held("clock", "hold-back", 60.0, 0.05, True),
    ]
    return observed, held


def after_screen(observed: list[Observed], held: list[Held]) -> Belief:
    gathered = gather(MODEL, observed, held)
    return update_with_bounds(MODEL.prior(by_hand=True), gathered.evidence, gathered.bounds).belief


def test_the_order_of_tests_does_not_matter() -> None:
    observed, held = screen(7)
    first = after_screen(observed, held)
    for seed in range(5):
        mixed = [observed[i] for i in np.random.default_rng(seed).permutation(len(observed))]
        other = after_screen(mixed, held[::-1])
        np.testing.assert_allclose(other.mean, first.mean, atol=1e-9)
        np.testing.assert_allclose(other.covariance, first.covariance, atol=1e-9)


def test_taking_the_tests_one_by_one_gives_the_same() -> None:
    observed, _ = screen(8)
    step = MODEL.prior(by_hand=True)
    for one in observed:
        step = update(step, gather(MODEL, [one]).evidence).belief
    together = after_screen(observed, [])
    np.testing.assert_allclose(step.mean, together.mean, atol=1e-9)
    np.testing.assert_allclose(step.covariance, together.covariance, atol=1e-9)


def test_missing_tests_leave_what_they_would_tell_as_it_was() -> None:
    observed, _ = screen(9)
    prior = MODEL.prior(by_hand=True)
    prone = [one for one in observed if one.test == "prone-sides"]
    after = after_screen(prone, [])
    for name in ("shoulder_flexion_deg", "front_chain_s", "neck_flexion_deg"):
        i = prior.states.index(name)
        assert after.mean[i] == pytest.approx(prior.mean[i], abs=1e-12)
        assert after.sd[i] == pytest.approx(prior.sd[i], abs=1e-12)
    nothing = after_screen([], [])
    np.testing.assert_array_equal(nothing.covariance, prior.covariance)


def entropy_bits(p: Floats) -> Floats:
    q = np.clip(p, 1e-300, 1.0)
    r = np.clip(1.0 - p, 1e-300, 1.0)
    return -(p * np.log2(q) + (1.0 - p) * np.log2(r))


@pytest.mark.parametrize("test", ["prone-overhead", "handstand", "supine-braced", "hold-front"])
def test_expected_information_gain_is_that_of_brute_force(test: str) -> None:
    """Outcomes are drawn, each is worked through densely; agreement within four standard errors."""
    belief = update(MODEL.prior(by_hand=True), all_rows_of("prone-sides")).belief
    [offer] = [one for one in rank_tests(belief, MODEL, MINUTES) if one.test == test]
    evidence = expected_evidence(MODEL, MODEL.by_test[test], belief)
    n = len(MODEL.capacities)

    def open_bits(mean: Floats, covariance: Floats) -> Floats:
        sd = np.sqrt(np.diag(covariance))[:n]
        return entropy_bits(ndtr((mean[..., :n] - MODEL.thresholds) / sd)).sum(axis=-1)

    rng = np.random.default_rng(11)
    states = rng.multivariate_normal(belief.mean, belief.covariance, size=20_000)
    noise = rng.multivariate_normal(np.zeros(len(evidence.noise)), evidence.noise, size=20_000)
    shown = states @ evidence.matrix.T + evidence.intercepts + noise
    _, covariance = dense_conditional(belief, evidence)
    h, p = evidence.matrix, belief.covariance
    gain = p @ h.T @ np.linalg.inv(h @ p @ h.T + evidence.noise)
    means = belief.mean + (shown - h @ belief.mean - evidence.intercepts) @ gain.T
    drawn = open_bits(belief.mean, belief.covariance) - open_bits(means, covariance)
    assert offer.gain_bits == pytest.approx(
        drawn.mean(), abs=4.0 * drawn.std() / np.sqrt(len(drawn))
    )


def all_rows_of(test: str) -> Evidence:
    rows = MODEL.by_test[test]
    evidence = expected_evidence(MODEL, rows, MODEL.prior(by_hand=True))
    return Evidence(evidence.values - 15.0, evidence.matrix, evidence.intercepts, evidence.noise)


def test_telling_two_apart_is_the_fall_of_their_differences_variance() -> None:
    belief = update(MODEL.prior(by_hand=True), all_rows_of("prone-sides")).belief
    rivals = ("hip_extension_deg", "pelvic_tuck_deg")
    i, j = (belief.states.index(name) for name in rivals)
    sd = np.sqrt(np.diag(belief.covariance))

    def variance(covariance: Floats) -> float:
        a, b = 1.0 / sd[i], -1.0 / sd[j]
        return float(
            a * a * covariance[i, i] + b * b * covariance[j, j] + 2.0 * a * b * covariance[i, j]
        )

    for offer in rank_tests_between(belief, MODEL, MINUTES, rivals):
        evidence = expected_evidence(MODEL, MODEL.by_test[offer.test], belief)
        _, after = dense_conditional(belief, evidence)
        bits = 0.5 * np.log2(variance(belief.covariance) / variance(after))
        assert offer.gain_bits == pytest.approx(bits, abs=1e-9)
