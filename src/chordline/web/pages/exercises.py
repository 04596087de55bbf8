"""Exercises: all of them to look through, and one with everything about it."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Path, Query, Request
from starlette.responses import HTMLResponse

from chordline.application.tongue import tongue_of
from chordline.application.training.exercise_words import equipment_in_words, put_in_words
from chordline.application.training.find_exercises import FLOOR, ExerciseQuery, find_exercises
from chordline.application.training.words import CARE, KINDS, SPOTTERS, dose_in_words
from chordline.catalogue.training_schema import ExerciseEntry
from chordline.web.desk import AtDesk, Desk
from chordline.web.rendering import render

router = APIRouter()

ExerciseId = Annotated[str, Path(min_length=1, max_length=80)]


@dataclass(frozen=True)
class CardShown:
    """One exercise among the others.

    Attributes
    ----------
    id, title, dose : str
    for_what : str
        The capacities it works on, strongest first.
    needs : str
        Equipment and spotter.
    drawing : str
        The right picture.
    """

    id: str
    title: str
    dose: str
    for_what: str
    needs: str
    drawing: str


@router.get("/exercises")
def show_exercises(
    request: Request,
    desk: AtDesk,
    *,
    search: Annotated[str, Query(max_length=100)] = "",
    capacity: Annotated[str, Query(alias="for", max_length=60)] = "",
    kind: Annotated[str, Query(max_length=20)] = "",
    equipment: Annotated[str, Query(max_length=40)] = "",
    home: bool = False,
) -> HTMLResponse:
    """Show the exercises that fit, by kind."""
    training, catalogue = desk.app.training, desk.app.catalogue
    things = {FLOOR: "the floor only"} | {k: one.label for k, one in training.equipment.items()}
    asked = ExerciseQuery(
        text=search.strip(),
        capacity=capacity if capacity in catalogue.capacities else "",
        kind=next((one for one in KINDS if one == kind), None),
        equipment=equipment if equipment in things else "",
        home=home,
    )
    found = find_exercises(asked, training, catalogue)
    shelves = {
        label: [_card(k, entry, desk) for k, entry in found.items() if entry.kind == one]
        for one, label in KINDS.items()
    }
    return render(
        request,
        "exercises.html",
        here="training",
        asked=asked,
        kind_asked=asked.kind or "",
        shelves={label: cards for label, cards in shelves.items() if cards},
        total=len(found),
        of_all=len(training.exercises),
        kinds=KINDS,
        capacities={key: one.label for key, one in catalogue.capacities.items()},
        things=things,
        address=_address,
        care=CARE,
    )


def _address(asked: ExerciseQuery, **changes: object) -> str:
    """Return the address of the page with some of it asked otherwise."""
    plain = {
        "search": asked.text,
        "for": asked.capacity,
        "kind": asked.kind,
        "equipment": asked.equipment,
        "home": "true" if asked.home else "",
        **changes,
    }
    told = {key: value for key, value in plain.items() if value}
    return f"/exercises?{urlencode(told)}" if told else "/exercises"


def _card(name: str, entry: ExerciseEntry, desk: Desk) -> CardShown:
    training, tongue = desk.app.training, tongue_of("en")
    pair = desk.app.exercise_pictures.pair(name)
    spotter = SPOTTERS[entry.spotter]
    needs = equipment_in_words(entry, training)
    return CardShown(
        id=name,
        title=entry.title,
        dose=dose_in_words(entry.dose, tongue),
        for_what=" · ".join(desk.app.catalogue.capacities[one].label for one in entry.feeds),
        needs=f"{needs}; {spotter}" if spotter else needs,
        drawing="" if pair is None else pair.right,
    )


@router.get("/exercises/{exercise}")
def show_exercise(request: Request, desk: AtDesk, exercise: ExerciseId) -> HTMLResponse:
    """Show one exercise."""
    training = desk.app.training
    if exercise not in training.exercises:
        raise HTTPException(404, f"No exercise is called '{exercise}'.")
    return render(
        request,
        "exercise.html",
        here="training",
        one=put_in_words(exercise, training, desk.app.catalogue),
        entry=training.exercises[exercise],
        pictures=desk.app.exercise_pictures.pair(exercise),
        care=CARE,
    )
