"""An evening as it is kept: one element of `sessions` of `chordline.plan/1`, and what became of it.

The records keep beside the plan's own keys: `stations`, as the gym had them; `planned`, the rounds
with everybody, from which they are dealt anew when somebody comes or goes; `away`, who was said to
be away when the plan was made, while `absent` says who is; `pattern_of`, the day
whose turns were taken where the plan has none of that day; `round`, which one runs; `held_back`.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from chordline.application.club.records import Json
from chordline.application.training.deal import Dealt, Place, Round


def begin_evening(session: Json, *, day: date, stations: Sequence[Json]) -> dict[str, Any]:
    """Return the record of an evening that nobody has come to yet.

    Parameters
    ----------
    session : mapping
        The session of the plan whose turns it takes.
    day : date
        Another than that of `session` where the plan has none of that day.
    stations : sequence of mapping
        `stations` of the plan.
    """
    of_day = date.fromisoformat(session["date"])
    same = of_day == day
    return {
        **session,
        "date": day.isoformat(),
        "absent": [],
        # Who was said to be away on another day is not away on this one.
        "away": list(session.get("absent", ())) if same else [],
        "stations": [dict(one) for one in stations],
        "planned": rounds_to_json(rounds_of(session)),
        "pattern_of": None if same else of_day.isoformat(),
        "round": None,
        "held_back": [],
    }


def rounds_of(session: Json) -> tuple[Round, ...]:
    """Return the rounds of an evening as they stand."""
    resting = session.get("resting", ())
    return tuple(
        Round(
            turns=tuple(
                Place(int(turn["station"]), str(turn["exercise"]), tuple(turn["gymnasts"]))
                for turn in turns
            ),
            resting=tuple(resting[number]) if number < len(resting) else (),
        )
        for number, turns in enumerate(session["rounds"])
    )


def rounds_to_json(rounds: Sequence[Round]) -> dict[str, Any]:
    """Return rounds as the two keys of a session."""
    return {
        "rounds": [
            [
                {
                    "station": turn.station,
                    "exercise": turn.exercise,
                    "gymnasts": list(turn.gymnasts),
                }
                for turn in one.turns
            ]
            for one in rounds
        ],
        "resting": [list(one.resting) for one in rounds],
    }


def planned_rounds(evening: Json) -> tuple[Round, ...]:
    """Return the rounds as the plan has them, with everybody."""
    return rounds_of(evening["planned"])


def places_of(evening: Json) -> tuple[int, ...]:
    """Return how many can work at each station."""
    return tuple(int(one["places"]) for one in evening["stations"])


def begun_rounds(evening: Json) -> tuple[Round, ...]:
    """Return the rounds that run or have run."""
    now = evening.get("round")
    return () if now is None else rounds_of(evening)[: now + 1]


def with_dealt(evening: Json, dealt: Dealt, *, absent: Sequence[int]) -> dict[str, Any]:
    """Return an evening with its rounds dealt anew."""
    return {
        **evening,
        **rounds_to_json(dealt.rounds),
        "absent": list(absent),
        "held_back": [
            {"gymnast": one.gymnast, "exercise": one.exercise} for one in dealt.held_back
        ],
    }


def present_of(evening: Json, marked: Mapping[int, bool], members: Sequence[int]) -> frozenset[int]:
    """Return who is taken to be there.

    Whoever was marked, as she was marked; of the others, the members of the group who were not
    said to be away when the plan was made.
    """
    away = set(evening["away"])
    return frozenset(her for her in members if marked.get(her, her not in away))
