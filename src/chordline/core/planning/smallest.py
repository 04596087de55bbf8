"""The smallest set of named rules that cannot hold together."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from ortools.sat.python import cp_model

Name = TypeVar("Name")

#: Tries for a set that is smaller than one from which nothing can be left out.
_MOST_TRIES = 60


def find_smallest(model: Any, named: Mapping[Name, Any]) -> tuple[Name, ...]:
    """Return the smallest set of rules that cannot hold together.

    Parameters
    ----------
    model : CpModel
        Without objective and assumptions; infeasible when all literals are true.
    named : mapping of name to literal
        A rule holds when its literal is true.

    Notes
    -----
    First the solver's own explanation, from which everything is left out that can be. Such a set
    need not be the smallest one, so smaller ones are looked for: every way of giving up rules that
    makes the rest possible must give up one rule of any clashing set; the smallest set that meets
    all ways seen so far either clashes, and is the answer, or shows another way.
    """
    names = list(named)
    core = _explain(model, named, names)
    for name in list(core):
        without = [one for one in core if one != name]
        if not _is_possible(model, named, without):
            core = without
    ways: list[list[Name]] = []
    for _ in range(_MOST_TRIES):
        meeting = _meet(ways, names)
        if len(meeting) >= len(core):
            break
        if not _is_possible(model, named, meeting):
            core = meeting
            break
        ways.append(_give_up(model, named, meeting))
    return tuple(core)


def _solver() -> Any:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    return solver


def _explain(model: Any, named: Mapping[Name, Any], names: list[Name]) -> list[Name]:
    asked = model.clone()
    asked.add_assumptions([named[one] for one in names])
    solver = _solver()
    if solver.solve(asked) != cp_model.INFEASIBLE:
        raise ValueError("these rules can hold together")
    why = set(solver.sufficient_assumptions_for_infeasibility())
    return [one for one in names if named[one].index in why] or names


def _is_possible(model: Any, named: Mapping[Name, Any], names: Iterable[Name]) -> bool:
    asked = model.clone()
    asked.add_assumptions([named[one] for one in names])
    return bool(_solver().solve(asked) != cp_model.INFEASIBLE)


def _meet(ways: list[list[Name]], names: list[Name]) -> list[Name]:
    """Return the fewest names of which one is in each way."""
    model = cp_model.CpModel()
    chosen = {one: model.new_bool_var("") for one in names}
    for way in ways:
        model.add_bool_or([chosen[one] for one in way])
    model.minimize(sum(chosen.values()))
    solver = _solver()
    solver.solve(model)
    return [one for one in names if solver.value(chosen[one])]


def _give_up(model: Any, named: Mapping[Name, Any], kept: list[Name]) -> list[Name]:
    """Return the fewest rules to give up so that the rest holds, with some kept."""
    asked = model.clone()
    for one in kept:
        asked.add(named[one] == 1)
    asked.maximize(sum(named.values()))
    solver = _solver()
    solver.solve(asked)
    return [one for one, literal in named.items() if not solver.value(literal)]
