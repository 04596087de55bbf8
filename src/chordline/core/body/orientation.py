"""Which way she faces: the one thing on which every sign rests. It is never guessed silently."""

from dataclasses import dataclass

import numpy as np

from chordline.conventions import Front, Side, facing_of, side_of
from chordline.core.geometry.angles import Floats, front_of

#: Cosine above which a named direction is taken to be across the body (60°).
_ACROSS = 0.5

_PICTURE = {
    "up": np.array([0.0, -1.0]),
    "down": np.array([0.0, 1.0]),
    "left": np.array([-1.0, 0.0]),
    "right": np.array([1.0, 0.0]),
}


@dataclass(frozen=True)
class Orientation:
    """The near side and the front, and how we know.

    Attributes
    ----------
    near_side : Side
    front : Front
        Nearest of the four directions of the picture to which the belly faces.
    origin : str
        ``given``, ``test`` (the test says how she lies) or ``guessed``.
    confidence : float
        Probability that it is right; 1 where it was given.
    """

    near_side: Side
    front: Front
    origin: str
    confidence: float


def front_word(cranial: Floats, near_side: Side) -> Front:
    """Return the picture's direction to which the belly faces.

    Parameters
    ----------
    cranial : (2,) float array
        Direction from hip to shoulder in the photo frame.
    near_side : Side
    """
    front = front_of(cranial, np.asarray(float(facing_of(near_side))))
    words: list[Front] = ["up", "down", "left", "right"]
    return max(words, key=lambda word: float(front @ _PICTURE[word]))


def side_for_front(cranial: Floats, towards: Floats) -> Side | None:
    """Return the near side that makes the belly face a direction, or None if it lies along her.

    Parameters
    ----------
    cranial : (2,) float array
        Direction from hip to shoulder in the photo frame.
    towards : (2,) float array
        Unit vector to which the belly faces.
    """
    across = float(front_of(cranial, np.asarray(1.0)) @ towards)
    if abs(across) < _ACROSS:
        return None
    return side_of(1 if across > 0 else -1)


def resolve_orientation(
    cranial: Floats,
    *,
    up: Floats,
    given_near: Side | None,
    given_front: Front | None,
    expected_front: Front | None,
    guess: tuple[Side, float],
) -> Orientation:
    """Return the orientation from what was given, what the test says, or a guess, in this order.

    Parameters
    ----------
    cranial : (2,) float array
        Direction from hip to shoulder in the photo frame.
    up : (2,) float array
        Unit vector against gravity in the photo frame.
    given_near, given_front
        What the coach said.
    expected_front : Front or None
        ``up`` or ``down`` against gravity, where the test says how she lies.
    guess : tuple of Side and float
        A guessed near side and its probability.

    Raises
    ------
    ValueError
        When what was given contradicts itself, or lies along the body instead of across it.
    """
    if given_front is not None:
        side = side_for_front(cranial, _PICTURE[given_front])
        if side is None:
            raise ValueError(
                f"front '{given_front}' lies along her body in this picture; "
                "name the direction to which her belly faces"
            )
        if given_near is not None and given_near != side:
            raise ValueError(
                f"near side '{given_near}' and front '{given_front}' contradict each other: "
                f"with the {given_near} side near she faces {front_word(cranial, given_near)}"
            )
        return Orientation(side, given_front, "given", 1.0)
    if given_near is not None:
        return Orientation(given_near, front_word(cranial, given_near), "given", 1.0)
    if expected_front is not None:
        towards = up if expected_front == "up" else -up
        side = side_for_front(cranial, towards)
        if side is not None:
            return Orientation(side, front_word(cranial, side), "test", 1.0)
    side, confidence = guess
    return Orientation(side, front_word(cranial, side), "guessed", confidence)
