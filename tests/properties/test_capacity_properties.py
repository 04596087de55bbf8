"""What holds of every screen, whatever it shows."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from chordline.core.capacity.censored import update_with_bounds
from chordline.core.capacity.limiters import find_undecided, limiter_probabilities, rank_limiters
from chordline.core.capacity.model import Belief
from chordline.core.capacity.observed import HOLD_MEASURE, Held, Observed, gather
from screen_stories import FIND

MODEL = FIND.model
PRIOR = MODEL.prior(by_hand=True)
PHOTO_ROWS = [i for i, row in enumerate(MODEL.rows) if row.measure != HOLD_MEASURE]
rows = st.sampled_from(PHOTO_ROWS)
degrees = st.floats(-60.0, 60.0)
sds = st.floats(0.5, 15.0)


def observe(row: int, value: float, sd: float) -> Observed:
    named = MODEL.rows[row]
    return Observed(
        f"{row}.jpg", named.test, (named.measure,), np.array([value]), np.array([[sd**2]])
    )


def believe(observed: list[Observed], held: list[Held] | None = None) -> Belief:
    gathered = gather(MODEL, observed, held or [])
    return update_with_bounds(PRIOR, gathered.evidence, gathered.bounds).belief


screens = st.lists(st.tuples(rows, degrees, sds), max_size=8, unique_by=lambda one: one[0])


@given(row=rows, value=degrees, more=st.floats(0.0, 40.0), sd=sds)
def test_more_shortfall_in_a_measure_never_lowers_what_it_speaks_of(
    row: int, value: float, more: float, sd: float
) -> None:
    """Where all its capacities act in one sense; nuisances may act in either."""
    loads = [MODEL.rows[row].loads.get(one.name, 0.0) for one in MODEL.capacities]
    senses = {np.sign(load) for load in loads if load}
    if len(senses) != 1:
        return
    worse = value + more * senses.pop()
    before = limiter_probabilities(believe([observe(row, value, sd)]), MODEL)
    after = limiter_probabilities(believe([observe(row, worse, sd)]), MODEL)
    assert (after >= before - 1e-12).all()


@given(screen=screens, extra=st.tuples(rows, degrees, sds))
def test_another_test_never_makes_anything_less_sure(
    screen: list[tuple[int, float, float]], extra: tuple[int, float, float]
) -> None:
    before = believe([observe(*one) for one in screen if one[0] != extra[0]])
    after = believe([observe(*one) for one in screen if one[0] != extra[0]] + [observe(*extra)])
    fall = before.covariance - after.covariance
    assert np.linalg.eigvalsh((fall + fall.T) / 2.0).min() > -1e-8
    assert (after.sd <= before.sd + 1e-9).all()


@given(seconds=st.floats(5.0, 60.0), more=st.floats(0.0, 60.0), capped=st.booleans())
def test_a_longer_hold_never_makes_a_chain_look_weaker(
    seconds: float, more: float, capped: bool
) -> None:
    def p(time: float) -> float:
        belief = believe([], [Held("clock", "hold-front", time, 0.05, capped)])
        return float(limiter_probabilities(belief, MODEL)[MODEL.states.index("front_chain_s")])

    assert p(seconds + more) <= p(seconds) + 1e-9


@given(screen=screens)
def test_nothing_is_both_named_and_open_and_all_named_are_sure(
    screen: list[tuple[int, float, float]],
) -> None:
    belief = believe([observe(*one) for one in screen])
    undecided = find_undecided(belief, PRIOR, MODEL, FIND.rules)
    limiters = rank_limiters(belief, PRIOR, MODEL, FIND.rules, undecided)
    named = {one.capacity for one in limiters}
    assert not named & {name for one in undecided for name in one.capacities}
    assert all(one.p >= FIND.rules.sure for one in limiters)
    order = [one.straightening for one in limiters]
    assert order == sorted(order, reverse=True)


@given(screen=screens)
def test_covariances_stay_symmetric_and_positive(screen: list[tuple[int, float, float]]) -> None:
    covariance = believe([observe(*one) for one in screen]).covariance
    np.testing.assert_allclose(covariance, covariance.T, atol=1e-9)
    assert np.linalg.eigvalsh(covariance).min() > 0.0
