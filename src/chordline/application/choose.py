"""Which of several people, which of several cards: chosen where it is plain, asked where not."""

from collections.abc import Mapping, Sequence

import numpy as np

from chordline.application.ports import DetectedCard, Photo
from chordline.catalogue.schema import TestEntry
from chordline.conventions import LANDMARKS
from chordline.core.body.found import FoundBody
from chordline.core.body.measurement import Mark
from chordline.core.geometry.angles import Floats
from chordline.errors import BodyNotFoundError

#: Somebody less than this share of the longest body stands in the background.
_BACKGROUND = 0.6
#: Sine of 45°: a trunk nearer to level is lying, nearer to upright is not.
_DIAGONAL = 0.7071

#: A found hip or shoulder farther than this share of the trunk from its mark is somebody else's.
_SAME_TRUNK = 0.3

_HIP, _SHOULDER = LANDMARKS.index("hip"), LANDMARKS.index("shoulder")


def fits_posture(cranial: Floats, up: Floats, test: TestEntry) -> bool:
    """Return whether a trunk from hip to shoulder lies, or hangs head down, as the test wants."""
    rise = float(cranial @ up / np.linalg.norm(cranial))
    return rise < -_DIAGONAL if test.group == "hands" else abs(rise) <= _DIAGONAL


def choose_body(
    bodies: Sequence[FoundBody], *, test: TestEntry, up: Floats, person: int | None
) -> FoundBody:
    """Return the gymnast among the people found.

    Parameters
    ----------
    bodies : sequence of FoundBody
    test : TestEntry
    up : (2,) float array
        Against gravity in the photo.
    person : int or None
        What the coach said: 1 is the leftmost.

    Raises
    ------
    BodyNotFoundError
        With nobody, or with several of whom none stands out.
    """
    if not bodies:
        raise BodyNotFoundError(
            "no body was found; take the picture square from the side so that she fills at least "
            "a third of its width, or set the marks by hand"
        )
    if person is not None:
        if not 1 <= person <= len(bodies):
            raise BodyNotFoundError(
                f"person {person} was asked for, but {len(bodies)} found; 1 is the leftmost"
            )
        return sorted(bodies, key=lambda body: float(body.xy_px[:, 0].mean()))[person - 1]
    longest = max(body.length_px for body in bodies)
    near = [body for body in bodies if body.length_px >= _BACKGROUND * longest]
    fitting = [body for body in bodies if fits_posture(_cranial(body), up, test)]
    near_and_fitting = [body for body in near if fits_posture(_cranial(body), up, test)]
    for candidates in (near, fitting, near_and_fitting):
        if len(candidates) == 1:
            return candidates[0]
    raise BodyNotFoundError(
        f"{len(bodies)} people were found and none stands out; say which one "
        "(1 is the leftmost), crop the picture, or set the marks by hand"
    )


def nearest_body(
    bodies: Sequence[FoundBody], marks: Mapping[str, Mark], photo: Photo
) -> FoundBody | None:
    """Return the body whose hip and shoulder lie where they were marked, or None where none does.

    Parameters
    ----------
    bodies : sequence of FoundBody
    marks : mapping of landmark to Mark
        In pixels of the full photo, hip and shoulder among them.
    photo : Photo
    """
    k = photo.photo_px_per_working_px
    hip, shoulder = (np.array([marks[n].x_px, marks[n].y_px]) for n in ("hip", "shoulder"))
    marked = (np.stack([hip, shoulder]) + 0.5) / k - 0.5
    trunk_px = float(np.linalg.norm(marked[1] - marked[0]))

    def apart(body: FoundBody) -> float:
        return float(np.linalg.norm(body.xy_px[[_HIP, _SHOULDER]] - marked, axis=1).max())

    nearest = min(bodies, key=apart, default=None)
    return nearest if nearest is not None and apart(nearest) < _SAME_TRUNK * trunk_px else None


def _cranial(body: FoundBody) -> Floats:
    return np.asarray(body.xy_px[_SHOULDER] - body.xy_px[_HIP])


def choose_card(
    cards: Sequence[DetectedCard], expected: int | None
) -> tuple[DetectedCard | None, str | None]:
    """Return her card, and a caution where several stand in the picture.

    The expected number wins; else the largest, for it stands nearest.
    """
    if not cards:
        return None, None
    hers = [card for card in cards if card.id == expected]
    chosen = hers[0] if hers else cards[0]
    if len(cards) == 1:
        return chosen, None
    numbers = ", ".join(str(card.id) for card in cards)
    return chosen, f"cards {numbers} stand in the picture; number {chosen.id} was taken"
