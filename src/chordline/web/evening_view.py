"""The rounds of a session as pages show them: stations with their exercise and who is there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from chordline.application.tongue import tongue_of
from chordline.application.training.names import called
from chordline.application.training.planned import Evening, PlannedStation
from chordline.application.training.words import tell_exercise
from chordline.catalogue.training_schema import TrainingCatalogue


@dataclass(frozen=True)
class TurnShown:
    """One exercise at one station.

    Attributes
    ----------
    number : int
        Of the station, from 1.
    station : str
    exercise : str
    known : bool
        Whether the catalogue still has the exercise, so that it has a page.
    title, dose, watch, spotter : str
    ids : tuple of int
    names : tuple of str
    """

    number: int
    station: str
    exercise: str
    known: bool
    title: str
    dose: str
    watch: str
    spotter: str
    ids: tuple[int, ...]
    names: tuple[str, ...]


@dataclass(frozen=True)
class RoundShown:
    """One round: its turns in the order of the stations, and who rests."""

    turns: tuple[TurnShown, ...]
    resting: tuple[str, ...]


def show_rounds(
    evening: Evening,
    stations: Sequence[PlannedStation],
    *,
    names: Mapping[int, str],
    training: TrainingCatalogue,
) -> tuple[RoundShown, ...]:
    """Return the rounds of a session; who is in no group any more is left out."""
    tongue = tongue_of("en")
    short = called(names)
    shown = []
    for number, turns in enumerate(evening.rounds):
        resting = evening.resting[number] if number < len(evening.resting) else ()
        told = []
        for turn in sorted(turns, key=lambda one: one.station):
            there = tuple(her for her in turn.gymnasts if her in short)
            if not there:
                continue
            exercise = tell_exercise(turn.exercise, training, tongue)
            told.append(
                TurnShown(
                    number=turn.station + 1,
                    station=stations[turn.station].name if turn.station < len(stations) else "",
                    exercise=turn.exercise,
                    known=turn.exercise in training.exercises,
                    title=exercise.title,
                    dose=exercise.dose,
                    watch=exercise.watch,
                    spotter=exercise.spotter,
                    ids=there,
                    names=tuple(sorted(short[her] for her in there)),
                )
            )
        left = tuple(sorted(short[her] for her in resting if her in short))
        shown.append(RoundShown(tuple(told), left))
    return tuple(shown)
