"""Blocks of weeks that keep one weekly pattern, and the slots of that pattern."""

from dataclasses import dataclass

from chordline.core.planning.problem import Problem


@dataclass(frozen=True)
class Slot:
    """An evening of the weekly pattern: the sessions of a block that have the same turns.

    Attributes
    ----------
    sessions : tuple of int
        Indices, in order; all on the same weekday, with as many rounds and coaches.
    rounds : int
    round_min : float [min]
    coaches : int
    """

    sessions: tuple[int, ...]
    rounds: int
    round_min: float
    coaches: int


@dataclass(frozen=True)
class Block:
    """Weeks with one pattern.

    Attributes
    ----------
    slots : tuple of Slot
        In the order of their first sessions.
    weeks : tuple of tuple of int
        The sessions of each week, in order.
    """

    slots: tuple[Slot, ...]
    weeks: tuple[tuple[int, ...], ...]

    @property
    def slot_of(self) -> dict[int, int]:
        """Session to the index of its slot."""
        return {one: i for i, slot in enumerate(self.slots) for one in slot.sessions}

    @property
    def sessions(self) -> tuple[int, ...]:
        """Return every session of the block, in order."""
        return tuple(one for week in self.weeks for one in week)


def cut_blocks(problem: Problem, block_weeks: int | None = None) -> tuple[Block, ...]:
    """Return the blocks of a problem in order.

    A session for which the coach pinned or excluded something of its own is a slot of its own:
    what is asked of one evening does not spread to the others.
    """
    size = block_weeks or problem.rules.block_weeks
    order = sorted(range(len(problem.sessions)), key=lambda i: (problem.sessions[i].day, i))
    first = min((one.week for one in problem.sessions), default=0)
    blocks: dict[int, dict[int, list[int]]] = {}
    for i in order:
        week = problem.sessions[i].week
        blocks.setdefault((week - first) // size, {}).setdefault(week, []).append(i)
    return tuple(_block(problem, blocks[number]) for number in sorted(blocks))


def _block(problem: Problem, weeks: dict[int, list[int]]) -> Block:
    slots: dict[tuple[object, ...], list[int]] = {}
    for sessions in weeks.values():
        on_day: dict[int, int] = {}
        for i in sessions:
            session = problem.sessions[i]
            nth = on_day[session.day] = on_day.get(session.day, -1) + 1
            pins = tuple(n for n, one in enumerate(problem.pins) if one.session == i)
            nots = tuple(n for n, one in enumerate(problem.exclusions) if one.session == i)
            key = (
                session.day % 7,
                nth,
                session.rounds,
                session.round_min,
                session.coaches,
                pins,
                nots,
            )
            slots.setdefault(key, []).append(i)
    return Block(
        slots=tuple(
            Slot(
                sessions=tuple(members),
                rounds=problem.sessions[members[0]].rounds,
                round_min=problem.sessions[members[0]].round_min,
                coaches=problem.sessions[members[0]].coaches,
            )
            for members in slots.values()
        ),
        weeks=tuple(tuple(weeks[week]) for week in sorted(weeks)),
    )


def count_presence(problem: Problem, block: Block, gymnast: int) -> tuple[int, ...]:
    """Return in how many sessions of each slot she is there."""
    return tuple(
        sum(gymnast not in problem.sessions[i].absent for i in slot.sessions)
        for slot in block.slots
    )


def find_week_shapes(
    problem: Problem, block: Block, gymnast: int
) -> tuple[tuple[frozenset[int], int], ...]:
    """Return which slots she is there for in a week, and in how many weeks of the block."""
    slot_of = block.slot_of
    found: dict[frozenset[int], int] = {}
    for week in block.weeks:
        there = frozenset(slot_of[i] for i in week if gymnast not in problem.sessions[i].absent)
        if there:
            found[there] = found.get(there, 0) + 1
    return tuple(found.items())


def find_close_pairs(
    problem: Problem, sessions: tuple[int, ...], gymnast: int
) -> tuple[tuple[int, int], ...]:
    """Return her pairs of sessions on the same or on consecutive days."""
    there = [i for i in sessions if gymnast not in problem.sessions[i].absent]
    there.sort(key=lambda i: (problem.sessions[i].day, i))
    return tuple(
        (a, b)
        for n, a in enumerate(there)
        for b in there[n + 1 :]
        if problem.sessions[b].day - problem.sessions[a].day <= 1
    )
