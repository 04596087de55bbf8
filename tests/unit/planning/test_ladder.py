"""Gates with their error, and rungs that lean on each other."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from chordline.core.estimate import Estimate
from chordline.core.planning.ladder import (
    Certainty,
    Gate,
    Rung,
    joint_probability,
    judge_gate,
    judge_ladder,
)

CERTAINTY = Certainty(sure=0.95, missing=0.25)
CLEAR = Gate("hips", Estimate(0.0, 1.0), most=8.0)
CLOSE = Gate("hips", Estimate(7.0, 3.0), most=8.0)
MISSING = Gate("hips", Estimate(20.0, 3.0), most=8.0)
UNKNOWN = Gate("hips", None, most=8.0)


def state(gate: Gate) -> str:
    return judge_gate(gate, CERTAINTY).state


def standings(*rungs: Rung, had: tuple[str, ...] = ()) -> dict[str, str]:
    return {one.rung.id: one.standing for one in judge_ladder(rungs, had, CERTAINTY)}


def test_a_gate_is_clear_only_where_the_value_clears_it_with_its_error() -> None:
    sds = CERTAINTY.sds
    assert sds == pytest.approx(1.6449, abs=5e-5)
    assert state(Gate("hips", Estimate(8.0 - 1.01 * sds * 3.0, 3.0), most=8.0)) == "clear"
    assert state(Gate("hips", Estimate(8.0 - 0.99 * sds * 3.0, 3.0), most=8.0)) == "close"


def test_a_gate_from_below_is_judged_alike() -> None:
    assert state(Gate("s", Estimate(30.0, 3.0), least=20.0)) == "clear"
    assert state(Gate("s", Estimate(22.0, 3.0), least=20.0)) == "close"
    assert state(Gate("s", Estimate(10.0, 3.0), least=20.0)) == "missing"


def test_a_value_between_two_limits_must_clear_both() -> None:
    inside = judge_gate(Gate("bow", Estimate(0.0, 2.0), -5.0, 5.0), CERTAINTY)
    assert inside.state == "clear"
    assert inside.p == pytest.approx(0.98758, abs=1e-5)
    assert state(Gate("bow", Estimate(0.0, 4.0), -5.0, 5.0)) == "close"
    assert state(Gate("bow", Estimate(-9.0, 2.0), -5.0, 5.0)) == "missing"


def test_three_to_one_parts_missing_from_close() -> None:
    assert state(Gate("hips", Estimate(8.0 + 0.67 * 3.0, 3.0), most=8.0)) == "close"
    assert state(Gate("hips", Estimate(8.0 + 0.68 * 3.0, 3.0), most=8.0)) == "missing"


def test_a_value_without_error_is_on_one_side() -> None:
    assert state(Gate("hips", Estimate(7.9, 0.0), most=8.0)) == "clear"
    assert state(Gate("hips", Estimate(8.1, 0.0), most=8.0)) == "missing"


def test_nothing_is_said_of_what_nobody_tested() -> None:
    assert state(UNKNOWN) == "unknown"
    assert joint_probability([UNKNOWN]) is None


def test_where_something_else_may_explain_it_nothing_is_said_in_between() -> None:
    assert state(Gate("hips", Estimate(7.0, 3.0), most=8.0, open=True)) == "unknown"
    assert state(Gate("hips", Estimate(0.0, 1.0), most=8.0, open=True)) == "clear"
    assert state(Gate("hips", Estimate(20.0, 3.0), most=8.0, open=True)) == "missing"


def test_a_hold_that_was_stopped_is_clear_or_unknown_and_never_missing() -> None:
    assert state(Gate("hold", Estimate(4.0, 0.2), least=3.0, at_least=True)) == "clear"
    assert state(Gate("hold", Estimate(3.1, 0.2), least=3.0, at_least=True)) == "unknown"
    assert state(Gate("hold", Estimate(1.0, 0.2), least=3.0, at_least=True)) == "unknown"


def test_independent_values_are_cleared_together_by_the_product() -> None:
    other = Gate("shoulders", Estimate(2.0, 4.0), most=8.0)
    p = joint_probability([CLOSE, other, UNKNOWN])
    expected = (judge_gate(CLOSE, CERTAINTY).p or 0) * (judge_gate(other, CERTAINTY).p or 0)
    assert p == pytest.approx(expected)


@pytest.mark.parametrize("size", [2, 3, 6])
def test_correlated_values_agree_with_another_integral(size: int) -> None:
    rng = np.random.default_rng(size)
    factor = rng.normal(size=(size, size + 2))
    cov = factor @ factor.T
    sd = np.sqrt(np.diag(cov))
    matrix = cov / np.outer(sd, sd)
    means, most = rng.normal(0.0, 2.0, size), rng.normal(3.0, 2.0, size)
    gates = [Gate(f"g{i}", Estimate(means[i], sd[i]), most=most[i]) for i in range(size)]
    gates[0] = Gate("g0", Estimate(means[0], sd[0]), means[0] - sd[0], most[0])
    pairs = {
        frozenset((f"g{i}", f"g{j}")): float(matrix[i, j]) for i in range(size) for j in range(i)
    }
    lower = np.full(size, -np.inf)
    lower[0] = -1.0
    expected = multivariate_normal.cdf(
        (most - means) / sd, np.zeros(size), matrix, lower_limit=lower, maxpts=500_000
    )
    assert joint_probability(gates, pairs) == pytest.approx(float(expected), abs=2e-3)


def test_two_values_that_are_one_clear_together_as_one_does() -> None:
    twin = Gate("twin", Estimate(7.0, 3.0), most=8.0)
    alone = judge_gate(CLOSE, CERTAINTY).p
    assert joint_probability([CLOSE, twin], {frozenset(("hips", "twin")): 1.0}) == pytest.approx(
        alone, abs=2e-3
    )
    against = joint_probability([CLOSE, twin], {frozenset(("hips", "twin")): -1.0})
    assert against == pytest.approx(2.0 * (alone or 0.0) - 1.0, abs=2e-3)


def test_the_same_values_always_give_the_same_figure() -> None:
    twin = Gate("twin", Estimate(3.0, 4.0), most=8.0)
    pairs = {frozenset(("hips", "twin")): -0.6}
    assert joint_probability([CLOSE, twin], pairs) == joint_probability([CLOSE, twin], pairs)


@pytest.mark.parametrize(
    ("gate", "standing"),
    [(CLEAR, "ready"), (CLOSE, "close"), (MISSING, "not_yet"), (UNKNOWN, "cannot_tell")],
)
def test_a_rung_stands_by_its_gate(gate: Gate, standing: str) -> None:
    assert standings(Rung("dish", (gate,))) == {"dish": standing}


def test_the_worst_gate_decides_and_what_is_missing_comes_before_what_is_open() -> None:
    other = Gate("neck", None, most=8.0)
    assert standings(Rung("dish", (CLEAR, other))) == {"dish": "cannot_tell"}
    assert standings(Rung("dish", (MISSING, other))) == {"dish": "not_yet"}
    near = Gate("neck", Estimate(7.0, 3.0), most=8.0)
    assert standings(Rung("dish", (CLEAR, near))) == {"dish": "close"}


def test_many_near_gates_together_are_not_close() -> None:
    gates = tuple(Gate(f"g{i}", Estimate(7.5, 3.0), most=8.0) for i in range(3))
    assert all(state(gate) == "close" for gate in gates)
    assert standings(Rung("giant", gates)) == {"giant": "not_yet"}


def test_a_coachs_word_comes_before_the_gates_and_a_sign_before_the_word() -> None:
    assert standings(Rung("dish", (MISSING,)), had=("dish",)) == {"dish": "had"}
    barred = Rung("dish", (CLEAR,), barred_by=("pain",))
    assert standings(barred, had=("dish",)) == {"dish": "barred"}


def test_who_has_a_rung_has_those_that_it_leans_on() -> None:
    rungs = (
        Rung("tripod", (MISSING,)),
        Rung("line", needs=("tripod",)),
        Rung("up", needs=("line",)),
    )
    assert standings(*rungs, had=("up",)) == {"tripod": "had", "line": "had", "up": "had"}
    judged = judge_ladder(rungs, ("up",), CERTAINTY)
    assert [one.implied_by for one in judged] == ["up", "up", None]
    assert standings(*rungs, had=("line",))["up"] == "ready"


def test_without_the_rung_before_nothing_is_ready() -> None:
    clear = (Rung("tripod", (CLEAR,)), Rung("line", (CLEAR,), needs=("tripod",)))
    assert standings(*clear) == {"tripod": "ready", "line": "close"}
    short = (Rung("tripod", (MISSING,)), Rung("line", (CLEAR,), needs=("tripod",)))
    assert standings(*short)["line"] == "not_yet"
    untested = (Rung("tripod", (UNKNOWN,)), Rung("line", (CLEAR,), needs=("tripod",)))
    assert standings(*untested)["line"] == "not_yet"


def test_the_way_is_clear_only_where_every_rung_on_it_is() -> None:
    way = (
        Rung("a", (MISSING,)),
        Rung("b", (CLEAR,), needs=("a",)),
        Rung("c", (CLEAR,), needs=("b",)),
    )
    assert standings(*way)["c"] == "not_yet"
    assert standings(*way, had=("b",))["c"] == "ready"
    barred = (Rung("b", (CLEAR,), barred_by=("pain",)), Rung("c", (CLEAR,), needs=("b",)))
    assert standings(*barred)["c"] == "not_yet"


def test_age_holds_back_and_an_unknown_age_cannot_tell() -> None:
    assert standings(Rung("giant", (CLEAR,), old_enough=False)) == {"giant": "not_yet"}
    assert standings(Rung("giant", (CLEAR,), old_enough=None)) == {"giant": "cannot_tell"}


def test_the_chance_is_a_bound_where_a_gate_is_unknown() -> None:
    (one,) = judge_ladder([Rung("dish", (CLOSE, Gate("neck", None, most=1.0)))], (), CERTAINTY)
    assert one.p_is_bound
    assert one.p == pytest.approx(judge_gate(CLOSE, CERTAINTY).p)


def test_the_order_of_the_rungs_does_not_matter() -> None:
    up, down = Rung("up", (CLEAR,), needs=("down",)), Rung("down", (CLEAR,))
    assert standings(up, down) == standings(down, up)
