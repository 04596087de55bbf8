"""A plan as a busy coach makes it: always the station that helps most; the solver's start."""

import numpy as np

from chordline.core.planning.board import Board
from chordline.core.planning.pattern import Held
from chordline.core.planning.problem import KINDS

#: A worth below this is none [% of chord].
NOTHING_PCT = 1e-9
#: Share of its worth that a turn loses at the wrong end of a session; it decides among equals.
_MISPLACED = 0.02


def fill_greedily(board: Board) -> None:
    """Open station after station, with the exercise that helps those who join most.

    What stands on the board already stays.
    """
    _Greedy(board).fill()


class _Greedy:
    """What each further turn would be worth, and where there is a place for it."""

    def __init__(self, board: Board) -> None:
        self.board = board
        instance, block = board.instance, board.block
        rounds = max((slot.rounds for slot in block.slots), default=0)
        self.worth = np.zeros(
            (len(instance.gymnasts), len(block.slots), rounds, len(instance.exercises))
        )
        self.left: dict[Held, int] = {}
        self.free: dict[tuple[int, int, int], None] = {
            (s, r, k): None
            for s, slot in enumerate(block.slots)
            for r in range(slot.rounds)
            for k, station in enumerate(instance.problem.stations)
            if station.places > 0
        }
        self.coaches = np.array(
            [[float(slot.coaches)] * rounds for slot in block.slots], dtype=float
        ).reshape(len(block.slots), rounds)
        for held in board.places.values():
            if held not in self.left:
                self._hold(held)
            self.left[held] -= 1
        self.spotters = np.array([float(one.spotters) for one in instance.exercises])
        #: For every exercise, those whose worth or leave changes with a turn of it.
        self.related = [
            frozenset(
                e
                for e, other in enumerate(instance.exercises)
                if other.group == one.group or other.feeds.keys() & one.feeds.keys()
            )
            for one in instance.exercises
        ]
        #: Which exercises each station can hold.
        self.fits = [
            np.array([k in at for at in instance.stations_for], dtype=bool)
            for k in range(len(instance.problem.stations))
        ]
        self.ranks = np.array(instance.rank)
        ranks = self.ranks / (len(KINDS) - 1)
        at = np.arange(rounds) / max(1, rounds - 1)
        self.belongs = 1.0 - _MISPLACED * np.abs(at[:, None] - ranks[None, :])

    def fill(self) -> None:
        if not self.worth.size:
            return
        for t in range(self.worth.shape[0]):
            self._weigh(t)
        while self._join() or self._open():
            pass

    def _hold(self, held: Held) -> None:
        instance = self.board.instance
        self.left[held] = instance.problem.stations[held.station].places
        self.free.pop((held.slot, held.round, held.station))
        self.coaches[held.slot, held.round] -= instance.exercises[held.exercise].spotters

    def _weigh(self, t: int, after: Held | None = None) -> None:
        """Weigh every further turn of a trainee; 0 where a rule is in the way.

        After one turn only those are weighed again that share a group or a capacity with it; of
        the others some fall out of the order of that session.
        """
        board = self.board
        if after is None:
            self.worth[t] = 0.0
        for s, slot in enumerate(board.block.slots):
            again = [
                e for e in board.choice[t][s] if after is None or after.exercise in self.related[e]
            ]
            if after is not None and s != after.slot and not again:
                continue
            self.worth[t, s][:, again] = 0.0
            worth = np.zeros(len(self.ranks))
            for e in again:
                if board.allows(t, s, e):
                    worth[e] = board.weigh(t, s, e)
            for r in range(slot.rounds):
                low, high = board.window(t, s, r)
                if board.is_free(t, s, r) and low <= high:
                    column = self.worth[t, s, r]
                    column[again] = worth[again]
                    column[(self.ranks < low) | (self.ranks > high)] = 0.0
                else:
                    self.worth[t, s, r] = 0.0

    def _open(self) -> bool:
        """Open the free station that helps most; return whether there was one."""
        stations = self.board.instance.problem.stations
        sums: dict[int, np.ndarray[tuple[int, ...], np.dtype[np.float64]]] = {}
        best: tuple[float, Held] | None = None
        ordered = -np.sort(-self.worth, axis=0)
        for s, r, k in self.free:
            size = stations[k].places
            if size not in sums:
                sums[size] = ordered[:size].sum(axis=0) * self.belongs
            helped = np.where(
                self.fits[k] & (self.spotters <= self.coaches[s, r]), sums[size][s, r], 0.0
            )
            e = int(np.argmax(helped))
            if helped[e] > NOTHING_PCT and (best is None or helped[e] > best[0]):
                best = (float(helped[e]), Held(s, r, k, e))
        if best is None:
            return False
        held = best[1]
        self._hold(held)
        column = self.worth[:, held.slot, held.round, held.exercise].copy()
        for t in sorted(range(len(column)), key=lambda t: (-column[t], t))[: self.left[held]]:
            if column[t] > NOTHING_PCT:
                self._put(t, held)
        return True

    def _join(self) -> bool:
        """Let the one join an open station whom it helps most; return whether there was one."""
        best: tuple[float, int, Held] | None = None
        for held, left in self.left.items():
            if left > 0:
                column = self.worth[:, held.slot, held.round, held.exercise]
                t = int(np.argmax(column))
                if column[t] > NOTHING_PCT and (best is None or column[t] > best[0]):
                    best = (float(column[t]), t, held)
        if best is None:
            return False
        self._put(best[1], best[2])
        return True

    def _put(self, t: int, held: Held) -> None:
        self.board.put(t, held)
        self.left[held] -= 1
        self._weigh(t, held)
