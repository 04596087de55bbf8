"""An evening dealt anew among those who came."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from chordline.application.training.deal import (
    Dealt,
    HeldBack,
    Place,
    Round,
    deal_evening,
    exercises_of,
)

ANNA, BEA, CLEO, DORA = 1, 2, 3, 4
PLACES = (2, 2, 2)


@dataclass
class Told:
    """Rules as a test says them; everybody may do everything unless said."""

    barred: Sequence[tuple[int, str]] = ()
    too_hard: Sequence[tuple[int, str]] = ()
    wanted: Sequence[tuple[int, str]] = ()
    ranks: dict[str, int] = field(default_factory=dict)

    def stays(self, gymnast: int, exercise: str) -> bool:
        return (gymnast, exercise) not in self.barred

    def joins(self, gymnast: int, exercise: str) -> bool:
        return self.stays(gymnast, exercise) and (gymnast, exercise) not in self.too_hard

    def wants(self, gymnast: int, exercise: str) -> bool:
        return (gymnast, exercise) in self.wanted

    def rank(self, exercise: str) -> int:
        return self.ranks.get(exercise, 0)


PLANNED = (
    Round((Place(0, "lunge", (ANNA, BEA)), Place(1, "wall", (CLEO,)))),
    Round((Place(0, "dish", (CLEO,)), Place(1, "wall", (ANNA, BEA)))),
)


def deal(
    present: Sequence[int],
    rules: Told | None = None,
    planned: Sequence[Round] = PLANNED,
    begun: Sequence[Round] = (),
) -> Dealt:
    return deal_evening(
        planned, begun=begun, present=set(present), places=PLACES, rules=rules or Told()
    )


def test_with_everybody_there_the_evening_is_as_planned() -> None:
    assert deal([ANNA, BEA, CLEO]).rounds == PLANNED


def test_who_is_away_leaves_and_a_station_without_anybody_closes() -> None:
    first, second = deal([ANNA, BEA]).rounds
    assert first.turns == (Place(0, "lunge", (ANNA, BEA)),)
    assert second.turns == (Place(1, "wall", (ANNA, BEA)),)


def test_who_came_although_she_was_not_expected_goes_where_there_is_room() -> None:
    first, second = deal([ANNA, BEA, CLEO, DORA]).rounds
    assert first.turns == (Place(0, "lunge", (ANNA, BEA)), Place(1, "wall", (CLEO, DORA)))
    assert second.turns == (Place(0, "dish", (CLEO, DORA)), Place(1, "wall", (ANNA, BEA)))


def test_she_goes_first_to_what_she_misses() -> None:
    for wanted in ("lunge", "wall"):
        first, _ = deal([ANNA, CLEO, DORA], Told(wanted=[(DORA, wanted)])).rounds
        assert [one.exercise for one in first.turns if DORA in one.gymnasts] == [wanted]


def test_a_station_that_closed_opens_again_for_her() -> None:
    first, _ = deal([ANNA, BEA, DORA]).rounds
    assert first.turns == (Place(0, "lunge", (ANNA, BEA)), Place(1, "wall", (DORA,)))


def test_she_does_nothing_twice_and_rests_where_nothing_is_left() -> None:
    rules = Told(too_hard=[(DORA, "lunge"), (DORA, "dish")])
    first, second = deal([ANNA, CLEO, DORA], rules).rounds
    assert first.turns[1] == Place(1, "wall", (CLEO, DORA))
    assert second.resting == (DORA,)


def test_she_keeps_the_order_inside_a_session() -> None:
    rules = Told(ranks={"wall": 5})
    first, second = deal([ANNA, CLEO, DORA], rules).rounds
    assert DORA in first.turns[0].gymnasts
    late = Told(ranks={"wall": 5}, too_hard=[(DORA, "lunge")])
    first, second = deal([ANNA, CLEO, DORA], late).rounds
    assert DORA in first.turns[1].gymnasts
    assert second.resting == (DORA,)


def test_a_new_sign_takes_her_out_of_a_planned_turn_and_gives_her_another() -> None:
    dealt = deal([ANNA, BEA, CLEO], Told(barred=[(ANNA, "wall")]))
    assert dealt.held_back == (HeldBack(ANNA, "wall"),)
    assert dealt.rounds[1].turns == (
        Place(0, "dish", (CLEO, ANNA)),
        Place(1, "wall", (BEA,)),
    )


def test_what_has_begun_stays_as_it_was() -> None:
    begun = deal([ANNA, BEA, CLEO]).rounds[:1]
    first, second = deal([BEA, CLEO, DORA], begun=begun).rounds
    assert (first,) == begun
    assert second.turns == (Place(0, "dish", (CLEO, DORA)), Place(1, "wall", (BEA,)))


def test_who_rests_in_the_plan_goes_on_resting() -> None:
    planned = (Round((Place(0, "lunge", (ANNA,)),), (BEA,)),)
    assert deal([ANNA, BEA], planned=planned).rounds == planned


def test_what_everybody_does_is_told_in_order() -> None:
    assert exercises_of(PLANNED)[ANNA] == ("lunge", "wall")
    assert exercises_of(PLANNED)[CLEO] == ("wall", "dish")


GIRLS = st.integers(1, 9)
EXERCISES = st.sampled_from(["a", "b", "c", "d"])
TURNS = st.lists(
    st.tuples(EXERCISES, st.lists(GIRLS, max_size=2, unique=True)), min_size=1, max_size=3
)


@st.composite
def evenings(draw: Callable[..., list[list[tuple[str, list[int]]]]]) -> tuple[Round, ...]:
    """Rounds in which nobody stands at two stations."""
    rounds = []
    for turns in draw(st.lists(TURNS, min_size=1, max_size=4)):
        seen: set[int] = set()
        places = []
        for station, (exercise, girls) in enumerate(turns):
            hers = [one for one in girls if one not in seen]
            seen.update(hers)
            if hers:
                places.append(Place(station, exercise, tuple(hers)))
        rounds.append(Round(tuple(places)))
    return tuple(rounds)


@given(evenings(), st.sets(GIRLS), st.sets(st.tuples(GIRLS, EXERCISES)))
def test_everybody_present_stands_in_one_place_and_nobody_at_what_bars_her(
    planned: tuple[Round, ...], present: set[int], barred: set[tuple[int, str]]
) -> None:
    for dealt, before in zip(
        deal(sorted(present), Told(barred=list(barred)), planned).rounds, planned, strict=True
    ):
        there = [one for turn in dealt.turns for one in turn.gymnasts] + list(dealt.resting)
        assert sorted(there) == sorted(present)
        assert {(turn.station, turn.exercise) for turn in dealt.turns} <= {
            (turn.station, turn.exercise) for turn in before.turns
        }
        for one in dealt.turns:
            assert 1 <= len(one.gymnasts) <= PLACES[one.station]
            assert not {(her, one.exercise) for her in one.gymnasts} & barred


def test_the_order_in_which_they_come_changes_nothing() -> None:
    dealt = {deal(order) for order in permutations([ANNA, CLEO, DORA, 5])}
    assert len(dealt) == 1
