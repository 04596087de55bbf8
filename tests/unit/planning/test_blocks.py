from dataclasses import replace

from chordline.core.planning.blocks import cut_blocks, find_close_pairs, find_week_shapes
from chordline.core.planning.problem import Exclusion, Pin
from squads import squad

SQUAD = squad(2, weeks=10)


def test_blocks_have_four_weeks_and_the_last_one_what_is_left() -> None:
    assert [len(one.weeks) for one in cut_blocks(SQUAD)] == [4, 4, 2]


def test_a_block_has_one_slot_a_weekday() -> None:
    block = cut_blocks(SQUAD)[0]
    assert [one.sessions for one in block.slots] == [(0, 3, 6, 9), (1, 4, 7, 10), (2, 5, 8, 11)]


def test_an_evening_that_was_asked_for_is_a_slot_of_its_own() -> None:
    asked = replace(SQUAD, pins=(Pin("neck_0", 1, 3),), exclusions=(Exclusion("neck_0", None, 7),))
    sessions = [one.sessions for one in cut_blocks(asked)[0].slots]
    assert (3,) in sessions
    assert (7,) in sessions
    assert (0, 6, 9) in sessions


def test_a_session_of_another_length_is_a_slot_of_its_own() -> None:
    short = replace(SQUAD.sessions[4], rounds=2)
    some = replace(SQUAD, sessions=(*SQUAD.sessions[:4], short, *SQUAD.sessions[5:]))
    assert (4,) in [one.sessions for one in cut_blocks(some)[0].slots]


def test_weeks_are_told_apart_by_the_evenings_she_is_there() -> None:
    away = tuple(
        replace(one, absent=frozenset({1})) if i in (0, 1, 2, 4) else one
        for i, one in enumerate(SQUAD.sessions)
    )
    some = replace(SQUAD, sessions=away)
    block = cut_blocks(some)[0]
    assert find_week_shapes(some, block, 1) == (
        (frozenset({0, 2}), 1),
        (frozenset({0, 1, 2}), 2),
    )
    assert find_week_shapes(some, block, 2) == ((frozenset({0, 1, 2}), 4),)


def test_consecutive_days_are_found_over_the_end_of_a_week() -> None:
    some = squad(1, weeks=2, weekdays=(0, 3, 6))
    assert find_close_pairs(some, tuple(range(6)), 1) == ((2, 3),)
