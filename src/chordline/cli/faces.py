"""Whether faces can be told on sheets."""

from enum import StrEnum
from typing import Annotated

import typer

from chordline.application.sheet import Faces


class FacesChoice(StrEnum):
    """Faces on sheets."""

    HIDDEN = "hidden"
    SHOWN = "shown"


FacesOption = Annotated[
    FacesChoice,
    typer.Option("--faces", help="Faces on sheets; hidden unless you ask for them."),
]


def read_choice(choice: FacesChoice) -> Faces:
    """Return a choice as the sheets take it."""
    return "shown" if choice is FacesChoice.SHOWN else "hidden"
