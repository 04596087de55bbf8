"""Betters a block's pattern with CP-SAT: some rounds are planned anew while all others stand."""

from collections.abc import Iterable
from typing import Any

from ortools.sat.python import cp_model

from chordline.core.planning.board import Board
from chordline.core.planning.instance import Instance
from chordline.core.planning.pattern import Held, Pattern, Place, seat

#: Slot and round.
Round = tuple[int, int]
#: A variable or a sum of variables of CP-SAT, whose own types are not public.
Expression = Any
#: A gymnast's pin: trainee, slots of which one must have it, exercise.
Asked = tuple[int, frozenset[int], int]

_SEED = 1
#: Most work on one try, in CP-SAT's deterministic seconds.
_TRY_S = 0.35
_TRY_GAP = 0.002
#: What a try takes before it begins, and each variable with its rows, in the same seconds
#: (measured, rounded).
_BEGIN_S = 0.004
_MAKING_S = 2e-5
#: Whole numbers that the best turn's worth amounts to.
_UNITS = 200_000
#: Exercises that one gymnast can choose from in a try.
_MOST_CHOICES = 36
#: Minutes are counted in tenths.
_TENTHS = 10


def plan_anew(
    board: Board,
    rounds: Iterable[Round],
    *,
    small_pct: float,
    asked: Iterable[Asked] = (),
) -> float:
    """Plan some rounds anew; keep what comes out if it is better.

    Parameters
    ----------
    board : Board
        Changed only for the better.
    rounds : iterable of Round
    small_pct : float [% of chord]
        What being busy counts for beside what a turn straightens; see `_Rounds`.
    asked : iterable of Asked
        Pins that must be kept.

    Returns
    -------
    float
        Work done: CP-SAT's deterministic seconds, and a little for making the model.

    Notes
    -----
    Worths are those of one turn more, given all turns that stand. They add up within one round
    exactly, for everybody has one turn in it; over several rounds they are a little too large
    where two new turns work on the same capacity. So a result is kept only if the true objective
    says so.
    """
    free = sorted(set(rounds))
    at = set(free)
    before = {place: held for place, held in board.places.items() if (place[1], place[2]) in at}
    old = board.straightening() + small_pct * len(before)
    for place in before:
        board.take(place)
    tried = _Rounds(board, free, small_pct, tuple(asked), before)
    new, work_s = tried.solve()
    for (t, *_), held in new.places.items():
        board.put(t, held)
    if board.straightening() + small_pct * len(new.places) <= old * (1.0 + 1e-9):
        for place in new.places:
            board.take(place)
        for (t, *_), held in before.items():
            board.put(t, held)
    return work_s


class _Rounds:
    """The model of some rounds.

    Its objective is the worth of the turns and, a hundred times smaller, order in the gym: a turn
    is better than waiting, an open station costs a quarter of that, the third time of an exercise
    in a week half.
    """

    def __init__(
        self,
        board: Board,
        free: list[Round],
        small_pct: float,
        asked: tuple[Asked, ...],
        before: dict[Place, Held],
    ) -> None:
        self.board, self.instance, self.before = board, board.instance, before
        self.asked = asked
        self.model = cp_model.CpModel()
        self.turns: dict[Place, Expression] = {}
        self.opened: dict[tuple[int, int, int, int], Expression] = {}
        self.kinds = station_kinds(self.instance)
        worth: dict[Place, float] = {}
        for t in range(len(self.instance.gymnasts)):
            self._add_trainee(t, free, small_pct, worth)
        self._add_stations(free)
        self._add_pins()
        unit = _UNITS / max(worth.values(), default=1.0)
        self.model.maximize(
            sum(round(unit * worth[place]) * turn for place, turn in self.turns.items())
            - sum(round(unit * small_pct / 4.0) * one for one in self.opened.values())
        )
        self._hint()

    def solve(self) -> tuple[Pattern, float]:
        """Return the best pattern found and the deterministic seconds that it took."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = _SEED
        solver.parameters.linearization_level = 2
        solver.parameters.max_deterministic_time = _TRY_S
        solver.parameters.relative_gap_limit = _TRY_GAP
        status = solver.solve(self.model)
        work_s = (
            float(solver.response_proto.deterministic_time) + _BEGIN_S + _MAKING_S * len(self.turns)
        )
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Pattern(self.before), work_s
        opened = []
        free: dict[tuple[int, int, int], int] = {}
        for (s, r, kind, e), variable in self.opened.items():
            for _ in range(solver.value(variable)):
                n = free[s, r, kind] = free.get((s, r, kind), 0) + 1
                opened.append(Held(s, r, self.kinds[kind][n - 1], e))
        turns = [place for place, variable in self.turns.items() if solver.value(variable)]
        return seat(self.instance, turns, opened), work_s

    def _add_trainee(
        self, t: int, free: list[Round], small_pct: float, worth: dict[Place, float]
    ) -> None:
        board, rank = self.board, self.instance.rank
        hers: list[Place] = []
        for s in sorted({s for s, _ in free}):
            allowed = self._choose(t, s)
            for r in (r for slot, r in free if slot == s):
                low, high = board.window(t, s, r)
                mine = []
                for e, gain in allowed.items():
                    if low <= rank[e] <= high:
                        self.turns[t, s, r, e] = self.model.new_bool_var("")
                        worth[t, s, r, e] = gain + small_pct * (
                            1.0 if self._is_new(t, s, e) else 0.5
                        )
                        mine.append((t, s, r, e))
                self.model.add_at_most_one(self.turns[place] for place in mine)
                hers += mine
        if len(free) > 1:
            self._add_order(free, hers)
            self._add_weekly(t, hers)
            self._add_hard(t, hers)

    def _choose(self, t: int, s: int) -> dict[int, float]:
        """Return what a trainee might do in a slot, with its worth.

        Of a large catalogue only what helps her most, beside what she has now and what is pinned:
        the tries stay quick, and what is left out here is still open to the greedy start.
        """
        worth = {
            e: self.board.weigh(t, s, e)
            for e in self.board.choice[t][s]
            if self.board.allows(t, s, e)
        }
        if len(worth) <= _MOST_CHOICES:
            return worth
        kept = set(sorted(worth, key=lambda e: (-worth[e], e))[:_MOST_CHOICES])
        kept |= {e for g, slot, _, e in self.before if g == t and slot == s}
        kept |= {e for g, slots, e in self.asked if g == t and s in slots}
        return {e: gain for e, gain in worth.items() if e in kept}

    def _is_new(self, t: int, s: int, e: int) -> bool:
        """Return whether a turn would not be the third of its exercise in a week."""
        return all(
            self.board.repeats(t, there, e) < 2 for there, _ in self.board.weeks[t] if s in there
        )

    def _add_order(self, free: list[Round], hers: list[Place]) -> None:
        """Kinds follow each other within the new rounds."""
        rank = self.instance.rank
        for n, (s, a) in enumerate(free):
            for other, b in free[n + 1 :]:
                if other != s:
                    continue
                first = [one for one in hers if one[1:3] == (s, a)]
                then = [one for one in hers if one[1:3] == (s, b)]
                for step in sorted(
                    {rank[one[3]] for one in first} | {rank[one[3]] for one in then}
                ):
                    late = [self.turns[one] for one in first if rank[one[3]] >= step]
                    early = [self.turns[one] for one in then if rank[one[3]] < step]
                    if late and early:
                        self.model.add_at_most_one([*late, *early])

    def _add_weekly(self, t: int, hers: list[Place]) -> None:
        """Repeats in a session, minutes of a group in a week."""
        board, rules, exercises = self.board, self.instance.problem.rules, self.instance.exercises
        for s in sorted({one[1] for one in hers}):
            for e in sorted({one[3] for one in hers if one[1] == s}):
                left = rules.most_repeats - board.repeats(t, (s,), e)
                again = [self.turns[one] for one in hers if one[1] == s and one[3] == e]
                if len(again) > left:
                    self.model.add(sum(again) <= left)
        for group in sorted({exercises[one[3]].group for one in hers} & set(rules.most_weekly_min)):
            for there, _ in board.weeks[t]:
                minutes = [
                    round(_TENTHS * exercises[one[3]].minutes) * self.turns[one]
                    for one in hers
                    if one[1] in there and exercises[one[3]].group == group
                ]
                left_min = rules.most_weekly_min[group] - board.minutes_of(t, there, group)
                if len(minutes) > 1:
                    self.model.add(sum(minutes) <= int(_TENTHS * left_min + 1e-6))

    def _add_hard(self, t: int, hers: list[Place]) -> None:
        """No hard work for one group on consecutive days, nor on too many evenings of a week."""
        board, rules, exercises = self.board, self.instance.problem.rules, self.instance.exercises
        if len({one[1] for one in hers}) < 2:
            return
        hard: dict[str, dict[int, list[Expression]]] = {}
        for one in hers:
            exercise = exercises[one[3]]
            if exercise.hard:
                hard.setdefault(exercise.group, {}).setdefault(one[1], []).append(self.turns[one])
        for group, evenings in hard.items():
            fixed = board.hard_evenings(t, group)
            new = {s: turns for s, turns in evenings.items() if s not in fixed}
            works = {s: self.model.new_bool_var("") for s in new}
            for s, turns in new.items():
                for turn in turns:
                    self.model.add_implication(turn, works[s])
            for a, b in sorted(board.close[t]):
                if a in works and b in works:
                    self.model.add_at_most_one(works[a], works[b])
            for there, _ in board.weeks[t]:
                also = [works[s] for s in sorted(there) if s in works]
                most = rules.most_weekly_hard - len(fixed & there)
                if len(also) > most:
                    self.model.add(sum(also) <= most)

    def _add_stations(self, free: list[Round]) -> None:
        """A station holds one exercise in a round; places and spotters are enough."""
        instance, model = self.instance, self.model
        crowds: dict[tuple[int, int, int], list[Expression]] = {}
        for (_, s, r, e), turn in self.turns.items():
            crowds.setdefault((s, r, e), []).append(turn)
        for s, r in free:
            spotted = []
            for kind, members in enumerate(self.kinds):
                held = []
                for e, exercise in enumerate(instance.exercises):
                    if (s, r, e) in crowds and members[0] in instance.stations_for[e]:
                        variable = model.new_int_var(0, len(members), "")
                        self.opened[s, r, kind, e] = variable
                        held.append(variable)
                        if exercise.spotters:
                            spotted.append(exercise.spotters * variable)
                model.add(sum(held) <= len(members))
            if spotted:
                model.add(sum(spotted) <= self.board.block.slots[s].coaches)
        for (s, r, e), crowd in crowds.items():
            at = [
                (instance.problem.stations[members[0]].places, self.opened[s, r, kind, e])
                for kind, members in enumerate(self.kinds)
                if (s, r, kind, e) in self.opened
            ]
            model.add(sum(crowd) <= sum(size * one for size, one in at))
            # Follows from the line above, but says it more sharply to a linear programme.
            for turn in crowd:
                model.add(turn <= sum(one for _, one in at))

    def _add_pins(self) -> None:
        for t, slots, e in self.asked:
            if not self.board.repeats(t, slots, e):
                self.model.add_bool_or(
                    [
                        turn
                        for (g, s, _, which), turn in self.turns.items()
                        if g == t and s in slots and which == e
                    ]
                )

    def _hint(self) -> None:
        kind_of = {k: n for n, kind in enumerate(self.kinds) for k in kind}
        opened: dict[tuple[int, int, int, int], int] = {}
        for one in set(self.before.values()):
            key = (one.slot, one.round, kind_of[one.station], one.exercise)
            opened[key] = opened.get(key, 0) + 1
        for key, variable in self.opened.items():
            self.model.add_hint(variable, opened.get(key, 0))
        for place, variable in self.turns.items():
            self.model.add_hint(variable, place in self.before)


def station_kinds(instance: Instance) -> tuple[tuple[int, ...], ...]:
    """Return the stations that are alike: what one can hold, the others can."""
    kinds: dict[tuple[int, frozenset[str]], list[int]] = {}
    for k, one in enumerate(instance.problem.stations):
        kinds.setdefault((one.places, one.equipment), []).append(k)
    return tuple(tuple(members) for members in kinds.values())
