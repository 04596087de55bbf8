"""A bound that no plan exceeds: the squad's problem without rounds, with shares of turns."""

from collections.abc import Iterable
from typing import Any

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.planning.blocks import Block, count_presence, cut_blocks, find_close_pairs
from chordline.core.planning.instance import Instance
from chordline.core.planning.worth import cut_pieces

#: Largest share by which a straight piece may exceed the concave worth of a gain.
PIECE_ERROR = 0.002
#: Possible weeks of a group that are still looked at one by one.
_MOST_WEEKS = 250


class _Rows:
    """A linear programme that grows: columns with their most and their worth, rows ``≤ limit``."""

    def __init__(self) -> None:
        self.most: list[float] = []
        self.worth: list[float] = []
        self.limits: list[float] = []
        self._i: list[int] = []
        self._j: list[int] = []
        self._v: list[float] = []

    def column(self, most: float, worth: float = 0.0) -> int:
        self.most.append(most)
        self.worth.append(worth)
        return len(self.most) - 1

    def row(self, terms: Iterable[tuple[int, float]], limit: float) -> None:
        for j, value in terms:
            self._i.append(len(self.limits))
            self._j.append(j)
            self._v.append(value)
        self.limits.append(limit)

    def maximise(self) -> float:
        if not self.worth or max(self.worth) <= 0.0:
            return 0.0
        rows = scipy.sparse.csr_array(
            (np.array(self._v), (np.array(self._i), np.array(self._j))),
            shape=(len(self.limits), len(self.most)),
        )
        # scipy's types know neither sparse rows nor limits as an array.
        solve_linear: Any = scipy.optimize.linprog
        found = solve_linear(
            -np.array(self.worth),
            A_ub=rows,
            b_ub=np.array(self.limits),
            bounds=np.column_stack([np.zeros(len(self.most)), np.array(self.most)]),
            method="highs",
        )
        if found.status != 0:
            raise RuntimeError(f"the bound was not found: {found.message}")
        return -float(found.fun)


def bound_plan(instance: Instance) -> float:
    """Return what no plan exceeds, with or without blocks [% of chord].

    Notes
    -----
    Turns of one gymnast, exercise and slot are counted over the whole plan and may be shares;
    rounds, the order inside a session and pins are left out. Every plan gives such counts, so none
    is worth more than the best of them. Sessions with equal weekday, rounds and coaches are one
    slot: all rows are linear, hence hold for sums over sessions.
    """
    (whole,) = cut_blocks(instance.problem, block_weeks=10**6) or (None,)
    if whole is None:
        return 0.0
    rows = _Rows()
    opened = _open_stations(rows, instance, whole)
    crowd: dict[tuple[int, int], list[int]] = {}
    for trainee in range(len(instance.gymnasts)):
        _add_trainee(rows, instance, whole, trainee, crowd)
    for (s, e), columns in crowd.items():
        rows.row(
            [
                *((j, 1.0) for j in columns),
                *((j, -float(places)) for places, j in opened.get((s, e), ())),
            ],
            0.0,
        )
    # The pieces lie above the curve, so this is a bound of the curve as well; the factor covers
    # the tolerance of the linear programme.
    return rows.maximise() * (1.0 + 1e-6)


def _open_stations(
    rows: _Rows, instance: Instance, whole: Block
) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """Add how often a station holds an exercise; return (places, column) by slot and exercise."""
    stations = instance.problem.stations
    opened: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for s, slot in enumerate(whole.slots):
        most = float(slot.rounds * len(slot.sessions))
        at: dict[int, list[int]] = {}
        spotted: list[tuple[int, float]] = []
        for e, exercise in enumerate(instance.exercises):
            for k in instance.stations_for[e]:
                j = rows.column(most)
                at.setdefault(k, []).append(j)
                opened.setdefault((s, e), []).append((stations[k].places, j))
                if exercise.spotters:
                    spotted.append((j, float(exercise.spotters)))
        for columns in at.values():
            rows.row([(j, 1.0) for j in columns], most)
        if spotted:
            rows.row(spotted, most * slot.coaches)
    return opened


def _add_trainee(
    rows: _Rows,
    instance: Instance,
    whole: Block,
    trainee: int,
    crowd: dict[tuple[int, int], list[int]],
) -> None:
    problem, rules = instance.problem, instance.problem.rules
    gymnast = instance.gymnasts[trainee]
    there = count_presence(problem, whole, gymnast)
    weeks = sum(
        any(gymnast not in problem.sessions[i].absent for i in week) for week in whole.weeks
    )
    turns: dict[int, list[tuple[int, int]]] = {}
    for s, slot in enumerate(whole.slots):
        hers = []
        for e in instance.choose(trainee, slot) if there[s] else ():
            j = rows.column(float(rules.most_repeats * there[s]))
            hers.append(j)
            turns.setdefault(e, []).append((s, j))
            crowd.setdefault((s, e), []).append(j)
        if hers:
            rows.row([(j, 1.0) for j in hers], float(slot.rounds * there[s]))
    doses = _add_weeks(rows, instance, whole, trainee, turns)
    gains: dict[str, list[tuple[int, float]]] = {}
    for e, columns in doses.items():
        for capacity, fed in instance.exercises[e].feeds.items():
            if capacity in instance.payoffs[trainee]:
                gains.setdefault(capacity, []).extend((j, fed.value * dose) for j, dose in columns)
    _add_hard(rows, instance, whole, trainee, turns)
    for capacity, terms in gains.items():
        most = weeks * sum(
            instance.exercises[e].feeds[capacity].value
            for e in doses
            if capacity in instance.exercises[e].feeds
        )
        payoff = instance.payoffs[trainee][capacity]
        pieces = cut_pieces(
            problem.trainees[trainee].needs[capacity].shortfall,
            gained=0.0,
            most=most,
            error=PIECE_ERROR,
        )
        filled = [(rows.column(one.length, payoff * one.slope), 1.0) for one in pieces]
        if filled:
            rows.row([*filled, *((j, -gain) for j, gain in terms)], 0.0)


def _add_weeks(
    rows: _Rows,
    instance: Instance,
    whole: Block,
    trainee: int,
    turns: dict[int, list[tuple[int, int]]],
) -> dict[int, list[tuple[int, float]]]:
    """Add how often she has each whole week of a group's work; return (column, doses) by exercise.

    A week is so many turns of each exercise, within the group's minutes. Shares of whole weeks are
    a sharper bound than shares of turns: two turns of five minutes leave two of twelve unused.
    Where a group has too many possible weeks, the turns of each exercise are counted by themselves.
    """
    problem, rules = instance.problem, instance.problem.rules
    gymnast = instance.gymnasts[trainee]
    present = [sum(gymnast not in problem.sessions[i].absent for i in week) for week in whole.weeks]
    weeks = float(sum(n > 0 for n in present))
    often = rules.most_repeats * max(present, default=0)
    doses: dict[int, list[tuple[int, float]]] = {e: [] for e in turns}
    groups: dict[str, list[int]] = {}
    for e in turns:
        groups.setdefault(instance.exercises[e].group, []).append(e)
    for group, members in groups.items():
        most = rules.most_weekly_min.get(group, float("inf"))
        minutes = [instance.exercises[e].minutes for e in members]
        possible = _possible_weeks(minutes, most, often)
        used: dict[int, list[tuple[int, float]]] = {e: [] for e in members}
        if possible is not None:
            chosen = []
            for week in possible:
                j = rows.column(weeks)
                chosen.append((j, 1.0))
                for e, count in zip(members, week, strict=True):
                    if count:
                        used[e].append((j, float(count)))
                        doses[e].append((j, _dose(instance, e, count)))
            rows.row(chosen, weeks)
        else:
            for e in members:
                for count in range(1, often + 1):
                    j = rows.column(weeks)
                    used[e].append((j, 1.0))
                    doses[e].append((j, _dose(instance, e, count) - _dose(instance, e, count - 1)))
            rows.row(
                [(j, minutes[n]) for n, e in enumerate(members) for j, _ in used[e]], most * weeks
            )
        for e in members:
            rows.row([*used[e], *((j, -1.0) for _, j in turns[e])], 0.0)
    return doses


def _dose(instance: Instance, e: int, count: int) -> float:
    exercise = instance.exercises[e]
    return min(count * exercise.minutes / exercise.weekly_dose_min, 1.0)


def _possible_weeks(minutes: list[float], most: float, often: int) -> list[tuple[int, ...]] | None:
    """Return every week of a group's work, or None where there are too many."""
    weeks: list[tuple[tuple[int, ...], float]] = [((), 0.0)]
    for one in minutes:
        weeks = [
            ((*week, count), done + count * one)
            for week, done in weeks
            for count in range(often + 1)
            if done + count * one <= most + 1e-9
        ]
        if len(weeks) > _MOST_WEEKS:
            return None
    return [week for week, _ in weeks if any(week)]


def _add_hard(
    rows: _Rows,
    instance: Instance,
    whole: Block,
    trainee: int,
    turns: dict[int, list[tuple[int, int]]],
) -> None:
    """Add the evenings on which a group works hard: not on consecutive days, not too often."""
    problem, rules = instance.problem, instance.problem.rules
    gymnast = instance.gymnasts[trainee]
    there = count_presence(problem, whole, gymnast)
    hard: dict[tuple[str, int], int] = {}
    for e, columns in turns.items():
        if not instance.exercises[e].hard:
            continue
        for s, j in columns:
            key = (instance.exercises[e].group, s)
            if key not in hard:
                hard[key] = rows.column(float(there[s]))
            rows.row([(j, 1.0), (hard[key], -float(rules.most_repeats))], 0.0)
    slot_of = whole.slot_of
    close: dict[tuple[int, int], int] = {}
    for a, b in find_close_pairs(problem, whole.sessions, gymnast):
        key_of_pair = (slot_of[a], slot_of[b])
        close[key_of_pair] = close.get(key_of_pair, 0) + 1
    for group in sorted({group for group, _ in hard}):
        evenings = {s: j for (of, s), j in hard.items() if of == group}
        weeks = [
            sum(gymnast not in problem.sessions[i].absent for i in week) for week in whole.weeks
        ]
        rows.row(
            [(j, 1.0) for j in evenings.values()],
            float(sum(min(rules.most_weekly_hard, n) for n in weeks)),
        )
        for (a, b), pairs in close.items():
            if a in evenings and b in evenings:
                rows.row(
                    [(evenings[a], 1.0), (evenings[b], 1.0)], float(there[a] + there[b] - pairs)
                )
