"""Solves a squad's problem: block by block, a greedy start bettered by CP-SAT, under one bound."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from chordline.core.planning.blocks import Block, cut_blocks
from chordline.core.planning.board import Board
from chordline.core.planning.bound import bound_plan
from chordline.core.planning.clash import EmptyProblemError, refuse_empty, refuse_unknown
from chordline.core.planning.gains import straighten
from chordline.core.planning.greedy import fill_greedily
from chordline.core.planning.improve import Asked, Round, plan_anew
from chordline.core.planning.instance import Instance, prepare
from chordline.core.planning.pattern import Pattern, find_rests, unroll
from chordline.core.planning.pins import Pinned, find_asked, place_pins
from chordline.core.planning.problem import Plan, Problem, Turn
from chordline.core.planning.stations import settle_stations

#: Work on one block beyond the greedy start; see `plan_anew` for what is counted.
BLOCK_WORK_S = 1.0
#: Share of a block's worth that being busy can add in the search, everything together.
_SMALL = 0.005
#: A whole pass over the rounds that betters the block by less than this ends the search.
_WORTHWHILE = 0.0005
_MOST_PASSES = 4


@dataclass(frozen=True)
class Progress:
    """How far the solving is.

    Attributes
    ----------
    share : float, 0 to 1
        Of the work.
    straightening_pct, bound_pct : float [% of chord]
        Of the blocks so far; of the whole.
    """

    share: float
    straightening_pct: float
    bound_pct: float


def solve(
    problem: Problem,
    *,
    on_progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    out_of_time: Callable[[], bool] | None = None,
    block_work_s: float = BLOCK_WORK_S,
) -> Plan | None:
    """Return the plan of a squad.

    Parameters
    ----------
    problem : Problem
    on_progress : callable, optional
        Called with a `Progress` now and then.
    cancelled : callable, optional
        Asked several times a second; once it returns true, solving stops.
    out_of_time : callable, optional
        A safety net for a machine that hardly works: once it returns true, the plan is finished
        with what there is and says so (`Plan.cut_short`).
    block_work_s : float
        Work on one block, counted, not timed: the same on every machine.

    Returns
    -------
    Plan or None
        None when cancelled.

    Raises
    ------
    EmptyProblemError
        Nothing can be planned: no gymnast, session, round, station or exercise.
    ClashError
        What is asked cannot be had together; carries the smallest set of what clashes.

    Notes
    -----
    The same problem gives the same plan: one worker, a fixed seed, limits in deterministic work,
    no clock. Only a plan that was cut short depends on the machine.
    """
    instance, blocks, pinned = _make_ready(problem)
    bound = bound_plan(instance)
    turns: list[Turn] = []
    gained: list[dict[str, float]] = [{} for _ in problem.trainees]
    stopped = cancelled or (lambda: False)
    late = out_of_time or (lambda: False)
    cut_short = False
    for number, block in enumerate(blocks):
        board = _begin(
            instance,
            block,
            gained=tuple(gained),
            turns=turns,
            pinned=pinned.patterns[number],
            later=pinned.turns[number + 1 :],
        )
        work_s = 0.0
        if stopped():
            return None
        for rounds, small_pct, asked in _search(instance, block, board):
            if stopped():
                return None
            cut_short = cut_short or late()
            if cut_short:
                break
            work_s += plan_anew(board, rounds, small_pct=small_pct, asked=asked)
            if on_progress is not None:
                share = (number + min(work_s / block_work_s, 1.0)) / len(blocks)
                so_far = straighten(problem, turns) + board.straightening()
                on_progress(Progress(share, so_far, bound))
            if work_s >= block_work_s:
                break
        turns += unroll(instance, block, Pattern(board.places))
        gained = [board.gains(t) for t in range(len(gained))]
    turns.sort(key=lambda one: (one.session, one.round, one.station))
    worth = straighten(problem, turns)
    return Plan(
        settle_stations(problem, turns), worth, bound_pct=max(bound, worth), cut_short=cut_short
    )


def plan_greedily(problem: Problem) -> Plan:
    """Return the plan of a busy coach, to compare with; it keeps every rule as well."""
    instance, blocks, pinned = _make_ready(problem)
    turns: list[Turn] = []
    gained: list[dict[str, float]] = [{} for _ in problem.trainees]
    for number, block in enumerate(blocks):
        board = _begin(
            instance,
            block,
            gained=tuple(gained),
            turns=turns,
            pinned=pinned.patterns[number],
            later=pinned.turns[number + 1 :],
        )
        turns += unroll(instance, block, Pattern(board.places))
        gained = [board.gains(t) for t in range(len(gained))]
    turns.sort(key=lambda one: (one.session, one.round, one.station))
    worth = straighten(problem, turns)
    return Plan(settle_stations(problem, turns), worth, bound_pct=max(bound_plan(instance), worth))


def _make_ready(problem: Problem) -> tuple[Instance, tuple[Block, ...], Pinned]:
    refuse_empty(problem)
    refuse_unknown(problem)
    instance = prepare(problem)
    blocks = cut_blocks(problem)
    pinned = place_pins(instance, blocks)
    if not any(
        instance.choose(t, slot)
        for t in range(len(problem.trainees))
        for block in blocks
        for slot in block.slots
    ):
        raise EmptyProblemError("exercises")
    return instance, blocks, pinned


def _begin(
    instance: Instance,
    block: Block,
    *,
    gained: tuple[dict[str, float], ...],
    turns: list[Turn],
    pinned: Pattern,
    later: tuple[tuple[Turn, ...], ...],
) -> Board:
    """Return a block's board, filled greedily around what is pinned in it and after it."""
    rests = find_rests(instance, block, [*turns, *(turn for one in later for turn in one)])
    board = Board(instance, block, gained=gained, rests=rests)
    board.lay(pinned)
    fill_greedily(board)
    return board


def _search(
    instance: Instance, block: Block, board: Board
) -> Iterator[tuple[list[Round], float, tuple[Asked, ...]]]:
    """Yield the rounds to plan anew, until a whole pass is worth nothing.

    First every round by itself, which is quick; then two rounds of an evening, so that turns can
    change their order; then the same round of two evenings, so that they can change the day.
    """
    asked = tuple(
        (trainee, slots, e)
        for pin in range(len(instance.problem.pins))
        for trainee, slots, e in find_asked(instance, block, pin)
    )
    turns = sum(slot.rounds for slot in block.slots) * len(instance.gymnasts)
    small = _SMALL * board.straightening() / max(turns, 1)
    evenings = range(len(block.slots))
    rounds = {s: range(block.slots[s].rounds) for s in evenings}
    ones = [[(s, r)] for s in evenings for r in rounds[s]]
    passes = [
        ones,
        ones,
        [[(s, r), (s, r + 1)] for s in evenings for r in rounds[s][0::2]],
        [[(s, r), (s, r + 1)] for s in evenings for r in rounds[s][1::2]],
        [[(s, r), (s, r + 2)] for s in evenings for r in rounds[s]],
        [[(s, r), (z, r)] for s in evenings for z in evenings[s + 1 :] for r in rounds[s]],
    ]
    for _ in range(_MOST_PASSES):
        begun = board.straightening()
        for one in passes:
            for some in one:
                within = [(s, r) for s, r in some if r < block.slots[s].rounds]
                if within:
                    yield within, small, asked
        if board.straightening() - begun <= _WORTHWHILE * begun:
            return
