"""Who is named, who stays open, in what order."""

import numpy as np
import pytest

from chordline.core.capacity.limiters import (
    Rules,
    expected_shortfall,
    find_undecided,
    limiter_probabilities,
    rank_limiters,
    was_tested,
)
from chordline.core.capacity.model import Belief, Capacity, CapacityModel
from chordline.core.capacity.update import Evidence, update
from chordline.core.geometry.angles import Floats

RULES = Rules(sure=0.75, tied=0.35, told=0.95)
NAMES = ("length_deg", "control_deg", "push_deg")
MODEL = CapacityModel(
    capacities=tuple(
        Capacity(name, prior_mean=4.0, prior_sd=8.0, threshold=6.0, straightening=weight)
        for name, weight in zip(NAMES, (0.8, 0.6, 0.3), strict=True)
    ),
    nuisances=(),
    rows=(),
)
PRIOR = MODEL.prior(by_hand=True)


def seen(*rows: tuple[list[float], float], sd: float = 2.0) -> Belief:
    """Believe measures (loads, value), each with this sd."""
    return update(
        PRIOR,
        Evidence(
            values=np.array([value for _, value in rows]),
            matrix=np.array([loads for loads, _ in rows]),
            intercepts=np.zeros(len(rows)),
            noise=sd**2 * np.eye(len(rows)),
        ),
    ).belief


def opened(belief: Belief) -> list[tuple[str, ...]]:
    return [one.capacities for one in find_undecided(belief, PRIOR, MODEL, RULES)]


def named(belief: Belief) -> list[str]:
    undecided = find_undecided(belief, PRIOR, MODEL, RULES)
    return [one.capacity for one in rank_limiters(belief, PRIOR, MODEL, RULES, undecided)]


SUM = [0.85, 0.45, 0.0]


def test_before_any_test_nothing_is_named_and_nothing_is_open() -> None:
    assert named(PRIOR) == []
    assert opened(PRIOR) == []


def test_a_sum_leaves_both_open_the_likelier_one_first() -> None:
    assert opened(seen((SUM, 20.0))) == [("length_deg", "control_deg")]
    assert named(seen((SUM, 20.0))) == []


def test_the_same_sum_again_and_again_settles_nothing() -> None:
    assert opened(seen(*[(SUM, 20.0)] * 12)) == [("length_deg", "control_deg")]


def test_a_sum_is_not_settled_by_being_large() -> None:
    """Its prior alone would put a large sum down to the one that loads more."""
    belief = seen((SUM, 34.0))
    assert limiter_probabilities(belief, MODEL)[0] > 0.95
    assert "length_deg" not in named(belief)


def test_a_second_measure_of_another_ratio_settles_it() -> None:
    belief = seen((SUM, 20.0), ([0.8, 0.1, 0.0], 18.0))
    assert named(belief) == ["length_deg"]


def test_a_sum_with_one_of_the_two_ruled_out_names_the_other() -> None:
    belief = seen((SUM, 20.0), ([0.0, 1.0, 0.0], -2.0))
    assert named(belief) == ["length_deg"]
    assert opened(belief) == []


def test_two_that_are_both_sure_by_measures_of_their_own_are_both_named() -> None:
    belief = seen(([1.0, 0.0, 0.0], 20.0), ([0.0, 1.0, 0.0], 20.0))
    assert named(belief) == ["length_deg", "control_deg"]
    assert opened(belief) == []


def test_one_between_the_bounds_of_certainty_is_open_alone() -> None:
    belief = seen(([0.0, 0.0, 1.0], 6.0))
    assert opened(belief) == [("push_deg",)]
    assert named(belief) == []


def test_one_that_no_test_has_told_of_is_neither_open_nor_named_however_likely() -> None:
    sure = Belief(NAMES, np.array([20.0, 20.0, 20.0]), PRIOR.covariance)
    assert was_tested(sure, PRIOR, MODEL, RULES) == [False] * 3
    assert named(sure) == []
    assert opened(sure) == []


def test_limiters_come_in_the_order_of_what_straightens_her_most() -> None:
    belief = seen(([1.0, 0.0, 0.0], 12.0), ([0.0, 0.0, 1.0], 25.0), ([0.0, 1.0, 0.0], 40.0))
    assert named(belief) == ["control_deg", "length_deg", "push_deg"]


def test_a_rival_is_taken_without_its_prior_as_the_dense_formula_does() -> None:
    """The rule's figure, by doing the whole update again with a rival of ten times the sd."""
    rows = [(SUM, 20.0), ([0.8, 0.1, 0.0], 12.0)]
    wide = np.diag(PRIOR.covariance).copy()
    wide[1] *= 100.0
    matrix: Floats = np.array([loads for loads, _ in rows])
    spread = matrix @ np.diag(wide) @ matrix.T + 4.0 * np.eye(2)
    gain = np.diag(wide) @ matrix.T @ np.linalg.inv(spread)
    mean = PRIOR.mean + gain @ (np.array([20.0, 12.0]) - matrix @ PRIOR.mean)
    covariance = np.diag(wide) - gain @ matrix @ np.diag(wide)
    p = limiter_probabilities(Belief(NAMES, mean, covariance), MODEL)[0]
    belief = seen(*rows)
    just_below = Rules(sure=float(p) - 1e-6, tied=0.0, told=0.95)
    just_above = Rules(sure=float(p) + 1e-6, tied=0.0, told=0.95)
    assert limiter_probabilities(belief, MODEL)[0] > p + 0.01

    def is_named(rules: Rules) -> bool:
        undecided = find_undecided(belief, PRIOR, MODEL, rules)
        ranked = rank_limiters(belief, PRIOR, MODEL, rules, undecided)
        return "length_deg" in [one.capacity for one in ranked]

    assert is_named(just_below)
    assert not is_named(just_above)


def test_an_ability_beyond_need_does_not_straighten() -> None:
    assert expected_shortfall(-20.0, 2.0) == pytest.approx(0.0, abs=1e-9)
    assert expected_shortfall(20.0, 2.0) == pytest.approx(20.0, abs=1e-9)
    assert expected_shortfall(0.0, 1.0) == pytest.approx(1.0 / np.sqrt(2.0 * np.pi))
