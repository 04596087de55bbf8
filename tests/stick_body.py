"""A stick body in centimetres that a reader can see, and the eight side views of it.

Body axes: (front, up the body). `front` counts towards the belly, the second number from the
malleolus towards the hands. A scenario moves joints to the front (+) or to the back (−).
"""

from dataclasses import dataclass

import numpy as np

from chordline.conventions import Side
from chordline.core.body.points import BodyPoints
from chordline.core.geometry.plane import PlaneFrame

Place = tuple[float, float]

#: Arms overhead, everything on one line; a child of about 1.35 m.
STRAIGHT: dict[str, Place] = {
    "malleolus": (0, 0),
    "knee": (0, 35),
    "hip": (0, 72),
    "shoulder": (0, 115),
    "elbow": (0, 137),
    "wrist": (0, 156),
    "hand": (0, 166),
    "ear": (0, 130),
    "heel": (-3, -5),
    "toe": (9, -9),
}

LEFT, RIGHT, UP, DOWN = (-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)


@dataclass(frozen=True)
class View:
    """Where the head and the belly point in the picture, and which side is near the camera."""

    head: tuple[float, float]
    front: tuple[float, float]
    near: Side


VIEWS = {
    "standing, looks left": View(UP, LEFT, "left"),
    "standing, looks right": View(UP, RIGHT, "right"),
    "upside-down, belly right": View(DOWN, RIGHT, "left"),
    "upside-down, belly left": View(DOWN, LEFT, "right"),
    "prone, head left": View(LEFT, DOWN, "left"),
    "prone, head right": View(RIGHT, DOWN, "right"),
    "supine, head right": View(RIGHT, UP, "left"),
    "supine, head left": View(LEFT, UP, "right"),
}


def with_places(**moved: Place) -> dict[str, Place]:
    """Return the straight body with some joints elsewhere, or with curve points added."""
    return {**STRAIGHT, **moved}


def along(name: str, places: list[Place]) -> dict[str, Place]:
    """Return the points of a curve, caudal end first."""
    return {f"{name}_{number}": place for number, place in enumerate(places, start=1)}


def see(
    places: dict[str, Place],
    view: View,
    *,
    px_per_cm: float = 6.0,
    frame: PlaneFrame | None = None,
    **more: tuple[str, ...],
) -> BodyPoints:
    """Return the body as landmarks in a picture."""
    body_axes = np.array([view.front, view.head])
    xy = np.array(list(places.values()), dtype=float) @ body_axes * px_per_cm
    facing = 1.0 if view.near == "left" else -1.0
    return BodyPoints(
        names=tuple(places),
        xy_px=(xy + np.array([800.0, 600.0]))[None],
        facing=facing,
        frame=frame or PlaneFrame.of_level_phone(),
        **more,
    )
