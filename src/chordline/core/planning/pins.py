"""Finds a place for everything that is pinned, or the smallest set of what clashes."""

from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

from chordline.core.planning.blocks import Block, find_close_pairs, find_week_shapes
from chordline.core.planning.clash import Clash, ClashError
from chordline.core.planning.improve import Asked, station_kinds
from chordline.core.planning.instance import Instance
from chordline.core.planning.may import find_bars, is_excluded
from chordline.core.planning.pattern import Held, Pattern, Place, seat, unroll
from chordline.core.planning.problem import Turn
from chordline.core.planning.smallest import find_smallest

#: Minutes are counted in tenths.
_TENTHS = 10
Expression = Any


@dataclass(frozen=True)
class Pinned:
    """Where what is pinned finds its place.

    Attributes
    ----------
    patterns : tuple of Pattern
        For every block, the pinned turns alone.
    turns : tuple of tuple of Turn
        The same, session by session.
    """

    patterns: tuple[Pattern, ...]
    turns: tuple[tuple[Turn, ...], ...]


def find_asked(instance: Instance, block: Block, pin: int) -> list[Asked]:
    """Return what a pin asks of a block: for which trainee, and in one of which slots.

    A pin for everybody speaks of those who may and are there. A weekly pin asks nothing of a week
    in which she never comes.
    """
    problem, wish = instance.problem, instance.problem.pins[pin]
    e = instance.index[wish.exercise]
    slot_of = block.slot_of
    asked: dict[Asked, None] = {}
    for trainee, gymnast in enumerate(instance.gymnasts):
        if wish.gymnast not in (None, gymnast):
            continue
        if wish.gymnast is None and e not in instance.choice[trainee]:
            continue
        if wish.session is None:
            for there, _ in find_week_shapes(problem, block, gymnast):
                asked[trainee, there, e] = None
        elif wish.session in slot_of and (
            wish.gymnast is not None or gymnast not in problem.sessions[wish.session].absent
        ):
            asked[trainee, frozenset({slot_of[wish.session]}), e] = None
    return list(asked)


def place_pins(instance: Instance, blocks: tuple[Block, ...]) -> Pinned:
    """Return a place for everything that is pinned.

    Blocks are solved one after the other; that their pins find a place all together is made sure
    of here, before the first one is solved.

    Raises
    ------
    ClashError
        With the smallest set of what clashes.
    """
    if not instance.problem.pins:
        return Pinned(tuple(Pattern() for _ in blocks), tuple(() for _ in blocks))
    model = _Pins(instance, blocks)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    named = model.model.clone()
    named.add_assumptions(list(model.named.values()))
    if solver.solve(named) == cp_model.INFEASIBLE:
        raise ClashError(
            tuple(
                sorted(find_smallest(model.model, model.named), key=lambda one: one.kind != "pin")
            )
        )
    patterns = model.read(solver)
    return Pinned(
        patterns,
        tuple(
            tuple(unroll(instance, block, one)) for block, one in zip(blocks, patterns, strict=True)
        ),
    )


@dataclass
class _Pins:
    """The rules for pinned turns alone, each one under a literal that has a name."""

    instance: Instance
    blocks: tuple[Block, ...]
    model: Any = field(default_factory=cp_model.CpModel)
    named: dict[Clash, Expression] = field(default_factory=dict)
    turns: list[dict[Place, Expression]] = field(default_factory=list)
    opened: list[dict[tuple[int, int, int, int], Expression]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for block in self.blocks:
            asked = [
                (pin, one)
                for pin in range(len(self.instance.problem.pins))
                for one in find_asked(self.instance, block, pin)
            ]
            self._add_block(block, asked)
        self._add_hard_days()

    def read(self, solver: Any) -> tuple[Pattern, ...]:
        kinds = station_kinds(self.instance)
        patterns = []
        for turns, opened in zip(self.turns, self.opened, strict=True):
            held = []
            free: dict[tuple[int, int, int], int] = {}
            for (s, r, kind, e), variable in opened.items():
                for _ in range(solver.value(variable)):
                    n = free[s, r, kind] = free.get((s, r, kind), 0) + 1
                    held.append(Held(s, r, kinds[kind][n - 1], e))
            places = [place for place, turn in turns.items() if solver.value(turn)]
            patterns.append(seat(self.instance, places, held))
        return tuple(patterns)

    def _under(self, clash: Clash) -> Expression:
        """Return the literal of a named rule."""
        if clash not in self.named:
            self.named[clash] = self.model.new_bool_var(clash.kind)
        return self.named[clash]

    def _add_block(self, block: Block, asked: list[tuple[int, Asked]]) -> None:
        turns: dict[Place, Expression] = {}
        self.turns.append(turns)
        self.opened.append({})
        for t, s, e in sorted({(t, s, e) for _, (t, slots, e) in asked for s in slots}):
            # One round at least, so that a session without any is a rule that can be named.
            rounds = range(max(block.slots[s].rounds, 1))
            for r in rounds:
                turns[t, s, r, e] = self.model.new_bool_var("")
            again = [turns[t, s, r, e] for r in rounds]
            self.model.add(sum(again) <= self.instance.problem.rules.most_repeats)
            self._add_bars(block, t, s, e, again)
        for pin, (t, slots, e) in asked:
            self.model.add_bool_or(
                [turns[t, s, r, e] for s in slots for r in range(max(block.slots[s].rounds, 1))]
            ).only_enforce_if(self._under(Clash("pin", wish=pin)))
        for s, slot in enumerate(block.slots):
            here = {place: turn for place, turn in turns.items() if place[1] == s}
            if here:
                self._add_evening(s, slot.sessions[0], slot.rounds, slot.coaches, here)
        self._add_weeks(block, turns)

    def _add_bars(self, block: Block, t: int, s: int, e: int, turns: list[Expression]) -> None:
        """Add everything that forbids a trainee an exercise in a slot."""
        problem, slot = self.instance.problem, block.slots[s]
        gymnast, exercise = self.instance.gymnasts[t], self.instance.exercises[e]
        first = slot.sessions[0]
        bars = [
            Clash(bar.kind, exercise=exercise.id, gymnast=gymnast, subject=bar.subject)
            for bar in find_bars(problem.trainees[t], exercise)
        ]
        bars += [
            Clash("exclusion", wish=number)
            for number, one in enumerate(problem.exclusions)
            if is_excluded(one, exercise=exercise.id, gymnast=gymnast, session=first)
        ]
        if all(gymnast in problem.sessions[i].absent for i in slot.sessions):
            bars.append(Clash("absent", gymnast=gymnast, session=first))
        if not self.instance.stations_for[e]:
            bars.append(Clash("equipment", exercise=exercise.id))
        if exercise.minutes > slot.round_min:
            bars.append(Clash("round_min", exercise=exercise.id))
        for bar in bars:
            self.model.add_bool_and([~turn for turn in turns]).only_enforce_if(self._under(bar))

    def _add_evening(
        self, s: int, session: int, rounds: int, coaches: int, here: dict[Place, Expression]
    ) -> None:
        """Add rounds, order, stations and spotters of one slot."""
        model, instance, opened = self.model, self.instance, self.opened[-1]
        enough = self._under(Clash("rounds", session=session))
        for r in range(max(rounds, 1)):
            for t in {place[0] for place in here}:
                hers = [turn for place, turn in here.items() if place[0] == t and place[2] == r]
                model.add(sum(hers) <= (1 if r < rounds else 0)).only_enforce_if(enough)
        self._add_order(session, here)
        places = self._under(Clash("places", session=session))
        spotters = self._under(Clash("coaches", session=session))
        crowd: dict[tuple[int, int], list[Expression]] = {}
        for (_, _, r, e), turn in here.items():
            crowd.setdefault((r, e), []).append(turn)
        for r in range(max(rounds, 1)):
            spotted = []
            for kind, members in enumerate(station_kinds(instance)):
                held = []
                for e, exercise in enumerate(instance.exercises):
                    if (r, e) in crowd and members[0] in instance.stations_for[e]:
                        # More than there are, so that a lack of places is a rule with a name.
                        variable = model.new_int_var(0, len(instance.gymnasts), "")
                        opened[s, r, kind, e] = variable
                        held.append(variable)
                        spotted.append(exercise.spotters * variable)
                if held:
                    model.add(sum(held) <= len(members)).only_enforce_if(places)
            if spotted:
                model.add(sum(spotted) <= coaches).only_enforce_if(spotters)
        for (r, e), turns in crowd.items():
            size = [
                instance.problem.stations[members[0]].places * opened[s, r, kind, e]
                for kind, members in enumerate(station_kinds(instance))
                if (s, r, kind, e) in opened
            ]
            if size:
                model.add(sum(turns) <= sum(size))

    def _add_order(self, session: int, here: dict[Place, Expression]) -> None:
        rank = self.instance.rank
        for t in sorted({place[0] for place in here}):
            order = self._under(Clash("order", gymnast=self.instance.gymnasts[t], session=session))
            hers = [(place, turn) for place, turn in here.items() if place[0] == t]
            for (_, _, a, first), one in hers:
                for (_, _, b, then), other in hers:
                    if a < b and rank[first] > rank[then]:
                        self.model.add_bool_or([~one, ~other]).only_enforce_if(order)

    def _add_weeks(self, block: Block, turns: dict[Place, Expression]) -> None:
        problem, rules = self.instance.problem, self.instance.problem.rules
        exercises = self.instance.exercises
        for t in sorted({place[0] for place in turns}):
            gymnast = self.instance.gymnasts[t]
            for there, _ in find_week_shapes(problem, block, gymnast):
                week = [
                    (place, turn)
                    for place, turn in turns.items()
                    if place[0] == t and place[1] in there
                ]
                for group in sorted({exercises[place[3]].group for place, _ in week}):
                    ours = [one for one in week if exercises[one[0][3]].group == group]
                    if group in rules.most_weekly_min:
                        self.model.add(
                            sum(
                                round(_TENTHS * exercises[place[3]].minutes) * turn
                                for place, turn in ours
                            )
                            <= int(_TENTHS * rules.most_weekly_min[group] + 1e-6)
                        ).only_enforce_if(
                            self._under(Clash("weekly_minutes", gymnast=gymnast, subject=group))
                        )
                    self._add_hard_week(gymnast, group, ours)

    def _add_hard_week(
        self, gymnast: int, group: str, ours: list[tuple[Place, Expression]]
    ) -> None:
        evenings: dict[int, list[Expression]] = {}
        for place, turn in ours:
            if self.instance.exercises[place[3]].hard:
                evenings.setdefault(place[1], []).append(turn)
        if len(evenings) <= self.instance.problem.rules.most_weekly_hard:
            return
        works = []
        for turns in evenings.values():
            works.append(self.model.new_bool_var(""))
            for turn in turns:
                self.model.add_implication(turn, works[-1])
        self.model.add(sum(works) <= self.instance.problem.rules.most_weekly_hard).only_enforce_if(
            self._under(Clash("hard_week", gymnast=gymnast, subject=group))
        )

    def _add_hard_days(self) -> None:
        """No hard work for one group on consecutive days, from block to block as well."""
        problem = self.instance.problem
        at = {i: (n, s) for n, block in enumerate(self.blocks) for i, s in block.slot_of.items()}
        for t, gymnast in enumerate(self.instance.gymnasts):
            done: set[tuple[tuple[int, int], tuple[int, int]]] = set()
            for a, b in find_close_pairs(problem, tuple(range(len(problem.sessions))), gymnast):
                if (at[a], at[b]) not in done:
                    done.add((at[a], at[b]))
                    self._add_hard_pair(t, gymnast, at[a], at[b])

    def _add_hard_pair(self, t: int, gymnast: int, a: tuple[int, int], b: tuple[int, int]) -> None:
        exercises = self.instance.exercises
        first, then = (
            [
                (exercises[e].group, turn)
                for (g, slot, _, e), turn in self.turns[n].items()
                if g == t and slot == s and exercises[e].hard
            ]
            for n, s in (a, b)
        )
        for group, one in first:
            for other_group, other in then:
                if group == other_group:
                    self.model.add_bool_or([~one, ~other]).only_enforce_if(
                        self._under(Clash("hard_days", gymnast=gymnast, subject=group))
                    )
