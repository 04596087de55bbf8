"""What holds of every squad's plan: no rule is ever broken, no bound exceeded."""

from dataclasses import replace

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from chordline.core.planning.clash import ClashError, EmptyProblemError
from chordline.core.planning.problem import KINDS, Exclusion, Pin, Problem, Session, Trainee
from chordline.core.planning.solve import plan_greedily, solve
from plan_checker import find_faults
from squads import EXERCISES, RULES, squad

ids = st.sampled_from([one.id for one in EXERCISES])


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Return a small squad's problem with everything that a coach can ask."""
    count = draw(st.integers(1, 5))
    weekdays = draw(st.sets(st.integers(0, 6), min_size=1, max_size=4))
    made = squad(
        count,
        seed=draw(st.integers(0, 10_000)),
        weeks=draw(st.integers(1, 4)),
        weekdays=tuple(sorted(weekdays)),
        stations=draw(st.integers(1, 3)),
        places=draw(st.integers(1, 3)),
        coaches=draw(st.integers(0, 2)),
        signs=0.4,
    )
    gymnasts = st.integers(1, count)
    sessions = st.integers(0, len(made.sessions) - 1)

    def wishes(kind: type[Pin] | type[Exclusion]) -> st.SearchStrategy[Pin | Exclusion]:
        return st.builds(kind, ids, st.none() | gymnasts, st.none() | sessions)

    rules = replace(
        RULES,
        most_weekly_hard=draw(st.integers(1, 3)),
        most_repeats=draw(st.integers(1, 2)),
        block_weeks=draw(st.integers(1, 3)),
        most_weekly_min={
            name: draw(st.sampled_from([4.0, 9.5, 12.0, 24.0])) for name in RULES.most_weekly_min
        },
    )
    return replace(
        made,
        trainees=tuple(_changed(draw, one) for one in made.trainees),
        sessions=tuple(_session(draw, one, gymnasts) for one in made.sessions),
        rules=rules,
        pins=tuple(draw(st.lists(wishes(Pin), max_size=2))),  # type: ignore[arg-type]
        exclusions=tuple(draw(st.lists(wishes(Exclusion), max_size=3))),  # type: ignore[arg-type]
    )


def _changed(draw: st.DrawFn, one: Trainee) -> Trainee:
    return replace(one, age_y=draw(st.none() | st.floats(5.0, 15.0)))


def _session(draw: st.DrawFn, one: Session, gymnasts: st.SearchStrategy[int]) -> Session:
    return replace(
        one,
        rounds=draw(st.sampled_from([3, 3, 3, 2, 0])),
        round_min=draw(st.sampled_from([8.0, 8.0, 5.0])),
        absent=frozenset(draw(st.sets(gymnasts, max_size=1)))
        if draw(st.booleans())
        else frozenset(),
    )


@given(problem=problems())
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
def test_no_plan_breaks_a_rule(problem: Problem) -> None:
    try:
        plan = solve(problem, block_work_s=0.03)
    except (ClashError, EmptyProblemError) as refused:
        event(type(refused).__name__)
        return
    assert plan is not None
    assert find_faults(problem, plan) == []
    greedy = plan_greedily(problem)
    assert find_faults(problem, greedy) == []


@given(problem=problems())
@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
def test_without_pins_nothing_clashes(problem: Problem) -> None:
    try:
        assert plan_greedily(replace(problem, pins=())) is not None
    except EmptyProblemError:
        event("empty")


def test_the_order_of_kinds_is_the_trades() -> None:
    assert KINDS.index("skill") < KINDS.index("strength") < KINDS.index("range")
