"""Words that several commands take for the near side and the front."""

from enum import StrEnum

from chordline.conventions import Front, Side


class SideChoice(StrEnum):
    """Near side."""

    LEFT = "left"
    RIGHT = "right"


class FrontChoice(StrEnum):
    """Direction of the belly in the picture."""

    UP = "up"
    DOWN = "down"
    LEFT = "left"
    RIGHT = "right"


def side_of_choice(choice: SideChoice | None) -> Side | None:
    """Return the side that was chosen."""
    return None if choice is None else choice.value


def front_of_choice(choice: FrontChoice | None) -> Front | None:
    """Return the front that was chosen."""
    return None if choice is None else choice.value
