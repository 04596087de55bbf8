"""The update's account of itself: shifts add up, surprise is in sds, bounds keep their place."""

import numpy as np
import pytest

from chordline.application.find_limits import ScreenInput
from chordline.application.observations import observe
from chordline.core.capacity.censored import Bound, update_with_bounds
from chordline.core.capacity.model import Belief
from chordline.core.capacity.observed import gather
from chordline.core.capacity.update import Evidence, Updated, update
from screen_stories import FIND, AtLeast, story

MODEL = FIND.model
PRIOR = MODEL.prior(by_hand=True)


def updated(screen: ScreenInput) -> Updated:
    observed = [observe(one, lambda _: None) for one in screen.measurements]
    gathered = gather(MODEL, observed, screen.held)
    return update_with_bounds(PRIOR, gathered.evidence, gathered.bounds)


@pytest.mark.parametrize("seed", range(4))
def test_the_reasons_add_up_to_the_change_of_the_estimate(seed: int) -> None:
    after = updated(
        story(
            seed=seed,
            prone_sides={"hip": -12},
            prone_raised={"shoulder": -15},
            prone_active={"shoulder": -25},
            handstand={"ear": 30, "off_vertical": 6},
            holds={"hold_front": 31, "hold_back": AtLeast(60)},
        )
    )
    np.testing.assert_allclose(after.shifts.sum(axis=1), after.belief.mean - PRIOR.mean, atol=1e-9)


def test_a_bound_has_its_own_reason_behind_the_measures() -> None:
    after = updated(story(prone_sides={}, holds={"hold_back": AtLeast(60)}))
    back = PRIOR.states.index("back_chain_s")
    assert after.shifts[back, -1] == pytest.approx(after.belief.mean[back] - PRIOR.mean[back])
    assert after.shifts[back, -1] < 0.0
    assert np.isnan(after.surprise[-1])
    assert np.isfinite(after.surprise[:-1]).all()


def test_surprise_is_the_innovation_in_its_own_sds() -> None:
    prior = Belief(("x",), np.array([1.0]), np.array([[3.0]]))
    seen = Evidence(np.array([8.0]), np.array([[2.0]]), np.array([0.5]), np.array([[4.0]]))
    assert update(prior, seen).surprise[0] == pytest.approx((8.0 - 2.5) / 4.0)


def test_without_evidence_nothing_moves() -> None:
    nothing = Evidence(np.zeros(0), np.zeros((0, 1)), np.zeros(0), np.zeros((0, 0)))
    prior = Belief(("x",), np.array([1.0]), np.array([[3.0]]))
    assert update(prior, nothing).belief is prior
    assert update(prior, nothing).shifts.shape == (1, 0)


def test_a_capped_hold_rules_a_weak_chain_out_but_says_no_more_than_that() -> None:
    """60 s reached and 60 s lasted: the cap leaves her able to do better."""
    capped = updated(story(holds={"hold_front": AtLeast(60)})).belief
    lasted = updated(story(holds={"hold_front": 60})).belief
    front = PRIOR.states.index("front_chain_s")
    assert capped.mean[front] < lasted.mean[front]
    assert capped.sd[front] > lasted.sd[front]


def test_a_longer_cap_says_more() -> None:
    front = PRIOR.states.index("front_chain_s")
    means = [
        updated(story(holds={"hold_front": AtLeast(seconds)})).belief.mean[front]
        for seconds in (20, 40, 60, 90)
    ]
    assert means == sorted(means, reverse=True)


def test_a_bound_far_beyond_belief_stays_finite() -> None:
    prior = Belief(("x",), np.array([0.0]), np.array([[1.0]]))
    nothing = Evidence(np.zeros(0), np.zeros((0, 1)), np.zeros(0), np.zeros((0, 0)))
    far = Bound(above=40.0, row=np.array([1.0]), intercept=0.0, variance=0.01)
    after = update_with_bounds(prior, nothing, (far,)).belief
    assert after.mean[0] == pytest.approx(40.0, abs=0.8)
    assert 0.0 < after.covariance[0, 0] < 0.1
