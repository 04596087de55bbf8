"""Axes, names, units and positive senses. They are defined here and nowhere else.

Photo frame
    x to the right, y down, in pixels of the upright picture (EXIF orientation applied). The
    centre of the first pixel is (0, 0).

Plane frame
    The gymnast's plane of motion, in metres: x to the right in the picture, y up against
    gravity, y = 0 on the floor.

Near side and front
    In a side view the near side, the direction in which the head lies and the direction in which
    the belly faces are not independent: with the left side near, the front is the head's direction
    turned a quarter counter-clockwise as seen in the picture. ``facing`` is +1 with the left side
    near and −1 with the right side near.

Opening of a joint
    0 = straight. Positive opens the front of the body beyond straight, negative closes it.
    The knee bends the other way: there negative is bent and positive beyond straight. The elbow
    (arms overhead) is signed like the knee.

Bow
    Signed distance from the chord, in % of the chord's length; positive towards the front.
"""

from typing import Final, Literal, get_args

Side = Literal["left", "right"]
Front = Literal["up", "down", "left", "right"]
Origin = Literal["auto", "hand"]

SIDES: Final[tuple[Side, ...]] = get_args(Side)
FRONTS: Final[tuple[Front, ...]] = get_args(Front)

#: Anatomical landmarks, from the feet to the hands; near side to the camera.
#: malleolus: lateral malleolus; hip: greater trochanter; shoulder: acromion; hand: third knuckle;
#: ear: tragus; toe: big toe.
LANDMARKS: Final = (
    "malleolus",
    "knee",
    "hip",
    "shoulder",
    "elbow",
    "wrist",
    "hand",
    "ear",
    "heel",
    "toe",
)

#: Curves that are marked as a row of points, `name_1` … `name_n`. The back outline runs from the
#: buttocks to the neck, the trunk seam from the leg opening to the armpit. The front outline of the
#: trunk (`belly`) runs from the hip to below the armpit.
CURVES: Final = ("back", "seam", "belly")

#: Smallest number of points that makes a curve.
MIN_CURVE_POINTS: Final = 4


def facing_of(near_side: Side) -> int:
    """Return +1 for the left side near the camera and −1 for the right."""
    return 1 if near_side == "left" else -1


def side_of(facing: int) -> Side:
    """Return the near side for a ``facing`` of +1 or −1."""
    return "left" if facing > 0 else "right"


def curve_of(name: str) -> str | None:
    """Return the curve that a point such as ``seam_3`` belongs to, or None."""
    stem, _, number = name.rpartition("_")
    # Five digits are plenty; other signs that count as digits are no numbers here.
    counts = number.isascii() and number.isdigit() and len(number) <= 5
    return stem if stem in CURVES and counts and int(number) >= 1 else None


#: The printed card: side of its black square, and height of the square's lower edge above the
#: edge on which the card stands [m].
CARD_SIDE_M: Final = 0.16
CARD_FOOT_M: Final = 0.025
