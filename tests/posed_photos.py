"""Photos of handstands whose marks stand where the chain puts them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from chordline.conventions import Side
from chordline.core.body.measurement import CardView, Mark, Measurement, Scale
from chordline.core.estimate import Estimate
from posed_handstands import body
from screen_stories import photo

M_PER_PX = 0.002
NAMES = ("wrist", "shoulder", None, "hip", "knee", "malleolus", "toe")


def photo_of(
    leans_deg: Sequence[float],
    *,
    near: Side = "left",
    roll_deg: float = 0.0,
    measures: Mapping[str, float] | None = None,
) -> Measurement:
    """A handstand whose arm, upper trunk, lower trunk and legs lean to the front by so much.

    With the left side near, her front is to the right. Measures are those told, not those of the
    marks.
    """
    chain = body().chain(np.zeros(1))
    points = chain.place_points(np.deg2rad([list(leans_deg)]))[0]
    side = 1.0 if near == "left" else -1.0
    roll = np.deg2rad(roll_deg)
    right, up = np.array([np.cos(roll), np.sin(roll)]), np.array([np.sin(roll), -np.cos(roll)])
    marks = {}
    hand = [float(np.ravel(chain.support.knuckles_m)[0]), 0.0]
    for name, (x, y) in zip((*NAMES, "hand"), [*points.tolist(), hand], strict=True):
        if name is not None:
            place = np.array([800.0, 1100.0]) + (side * x * right + y * up) / M_PER_PX
            marks[name] = Mark(float(place[0]), float(place[1]), 2.0, "hand")
    card = CardView(
        id=1,
        corners_px=np.zeros((4, 2)),
        side_m=0.16,
        roll_deg=Estimate(roll_deg, 0.1),
        yaw_deg=Estimate(0.0, 1.0),
        distance_m=Estimate(3.0, 0.1),
        phone_height_m=Estimate(0.6, 0.1),
    )
    told = photo("handstand", measures or {"hip": 0.0}, near=near)
    return replace(told, landmarks=marks, scale=Scale(M_PER_PX, 0.01, "card"), card=card)
