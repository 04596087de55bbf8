"""A drawn exercise: how she stands right, the fault, where she starts, and what is around her."""

import cmath
import math
from dataclasses import dataclass
from typing import Final, Literal

from chordline.core.figure.pose import Build, Pose
from chordline.core.figure.stand import Figure, Support, stand

PropKind = Literal[
    "wall", "bars", "box", "slope", "mat", "bar", "stick", "stick_end", "band", "hands"
]
#: What stays where it is while she moves; the rest goes with her.
FIXED: Final = frozenset({"wall", "bars", "box", "slope", "mat"})


@dataclass(frozen=True)
class Prop:
    """Something she stands on, leans on or holds.

    Attributes
    ----------
    kind : PropKind
    at : tuple of str
        The places of the body that touch it.
    to : str
        Band and stick: the other place.
    left, right : float [statures]
        Box, slope and mat: how far it goes to either side of the place.
    height : float or None [statures]
        Box: its top; None = under the place. Slope: of its high end. Mat, seen from above: its
        depth.
    side : int
        Wall: +1 to her right in the picture, −1 to her left. Slope: its high end.
    heading : float [rad]
        Partner's hands: from the body to the partner.
    by : complex [statures]
        Moves it away from the place.
    """

    kind: PropKind
    at: tuple[str, ...]
    to: str = ""
    left: float = 0.16
    right: float = 0.16
    height: float | None = None
    side: int = 1
    heading: float = math.pi / 2.0
    by: complex = 0j


@dataclass(frozen=True)
class Shape:
    """A thing as it is drawn: a closed outline, a line, or a ring.

    Attributes
    ----------
    kind : PropKind
    form : {'area', 'line', 'ring'}
    points : tuple of complex [statures]
        A ring's middle.
    r : float [statures]
        A ring's radius.
    """

    kind: PropKind
    form: Literal["area", "line", "ring"]
    points: tuple[complex, ...]
    r: float = 0.0


@dataclass(frozen=True)
class Posture:
    """One body of a drawing, before it stands."""

    pose: Pose
    support: Support


@dataclass(frozen=True)
class Drawing:
    """Everything that is drawn of one exercise.

    Attributes
    ----------
    right, fault : Posture
    start : Posture or None
        Where the movement begins; drawn lightly behind.
    props : tuple of Prop
    move : tuple of str
        Places whose way from start to end gets an arrow.
    look : str
        The place of the fault.
    floor : bool
        Whether the floor is seen.
    """

    right: Posture
    fault: Posture
    start: Posture | None
    props: tuple[Prop, ...]
    move: tuple[str, ...]
    look: str
    floor: bool


@dataclass(frozen=True)
class Scene:
    """One picture of a drawing.

    Attributes
    ----------
    figure : Figure
    start : Figure or None
    behind, before : tuple of Shape
        What is drawn behind her, and over her.
    ways : tuple of tuple of complex
        Arrows, each a line from start to end.
    look : complex or None
        Middle of what to look at.
    floor : bool
    """

    figure: Figure
    start: Figure | None
    behind: tuple[Shape, ...]
    before: tuple[Shape, ...]
    ways: tuple[tuple[complex, ...], ...]
    look: complex | None
    floor: bool


def set_scenes(drawing: Drawing, build: Build) -> tuple[Scene, Scene]:
    """Return the right picture and the fault's, in the same place.

    Raises
    ------
    ValueError
        Where a pose cannot stand on its support.
    """
    right = stand(drawing.right.pose, build, drawing.right.support)
    fault = stand(drawing.fault.pose, build, drawing.fault.support)
    start = None
    if drawing.start is not None:
        start = stand(drawing.start.pose, build, drawing.start.support)
    fixed = tuple(s for prop in drawing.props if prop.kind in FIXED for s in shapes(prop, right))
    held = [prop for prop in drawing.props if prop.kind not in FIXED]
    ways = () if start is None else tuple(_way(start, right, name) for name in drawing.move)
    return (
        Scene(
            right,
            start,
            fixed,
            tuple(shape for prop in held for shape in shapes(prop, right)),
            ways,
            None,
            drawing.floor,
        ),
        Scene(
            fault,
            None,
            fixed,
            tuple(shape for prop in held for shape in shapes(prop, fault)),
            (),
            fault.point(drawing.look),
            drawing.floor,
        ),
    )


_WALL_HEIGHT: Final = 1.3
_WALL_DEPTH: Final = 0.035
_RUNG_GAP: Final = 0.13


def shapes(prop: Prop, figure: Figure) -> tuple[Shape, ...]:
    """Return a prop as it is drawn beside a figure."""
    discs = [disc for name in prop.at for disc in figure.place(name)]
    middle = sum(figure.point(name) for name in prop.at) / len(prop.at) + prop.by
    match prop.kind:
        case "wall" | "bars":
            face = prop.side * max(prop.side * disc.at.real + disc.r for disc in discs)
            return _wall(prop, face + prop.by.real)
        case "box" | "slope":
            under = min(disc.lowest for disc in discs)
            top = under if prop.height is None else prop.height
            drawn: tuple[Shape, ...] = (_block(prop, middle.real, top),)
        case "mat":
            drawn = (_mat(prop, middle),)
        case "bar":
            drawn = (Shape("bar", "ring", (middle,), 0.026),)
        case "stick_end":
            drawn = (Shape("stick_end", "ring", (middle,), 0.019),)
        case "band" | "stick":
            drawn = (Shape(prop.kind, "line", (middle, figure.point(prop.to) + prop.by)),)
        case "hands":
            drawn = _hands(prop, middle, max(disc.r for disc in discs))
    return drawn


def _wall(prop: Prop, face: float) -> tuple[Shape, ...]:
    back = face + prop.side * _WALL_DEPTH
    top = _WALL_HEIGHT if prop.height is None else prop.height
    corners = (complex(face, 0), complex(face, top), complex(back, top), complex(back, 0))
    if prop.kind == "wall":
        return (Shape("wall", "area", corners),)
    rungs = [
        Shape("bars", "ring", (complex(face + prop.side * 0.012, height),), 0.012)
        for height in (0.08 + _RUNG_GAP * k for k in range(int((top - 0.08) / _RUNG_GAP) + 1))
    ]
    return (Shape("bars", "area", tuple(c + prop.side * 0.012 for c in corners)), *rungs)


def _block(prop: Prop, middle: float, top: float) -> Shape:
    left, right = middle - prop.left, middle + prop.right
    if prop.kind == "box":
        corners = (complex(left, 0), complex(left, top), complex(right, top), complex(right, 0))
        return Shape("box", "area", corners)
    high = right if prop.side > 0 else left
    return Shape("slope", "area", (complex(left, 0), complex(high, top), complex(right, 0)))


def _mat(prop: Prop, middle: complex) -> Shape:
    """Return a mat seen from above, for what is drawn as seen from there."""
    half = 0.3 if prop.height is None else prop.height / 2.0
    left, right = middle - prop.left, middle + prop.right
    up = complex(0.0, half)
    return Shape("mat", "area", (left - up, left + up, right + up, right - up))


def _hands(prop: Prop, middle: complex, r: float) -> tuple[Shape, ...]:
    """Return a partner's forearm with the hand on the body."""
    out = cmath.rect(1.0, prop.heading)
    across = out * 1j
    hand = middle + (r + 0.004) * out
    wide, wrist, elbow = 0.018, hand + 0.06 * out, hand + 0.19 * out
    outline = (
        hand - 1.9 * wide * across,
        hand + 1.9 * wide * across,
        wrist + 0.9 * wide * across,
        elbow + 1.4 * wide * across,
        elbow - 1.4 * wide * across,
        wrist - 0.9 * wide * across,
    )
    return (Shape("hands", "area", outline),)


_WAY_STEPS: Final = 12
_SHORTEST_WAY: Final = 0.10
_ARM_PLACES: Final = frozenset({"hand", "wrist", "elbow", "fingertip", "palm"})


def _way(start: Figure, end: Figure, name: str) -> tuple[complex, ...]:
    """Return the way of a place around the joint its limb hangs on; a short one is drawn longer."""
    plain = name.removeprefix("far_")
    mark = "far_" if plain != name else ""
    a, b = start.point(name), end.point(name)
    pivot = f"{mark}shoulder" if plain in _ARM_PLACES else f"{mark}hip"
    if abs(b - a) < _SHORTEST_WAY:
        out = (b - a) / abs(b - a)
        return (b, b + _SHORTEST_WAY * out)
    if plain in ("hip", "seat", "shoulder", "neck", "ear", "lower_back", "upper_back", "crown"):
        return (a, b)
    from_a, from_b = a - start.point(pivot), b - end.point(pivot)
    turn = cmath.phase(from_b / from_a)
    steps = []
    for k in range(_WAY_STEPS + 1):
        share = k / _WAY_STEPS
        middle = start.point(pivot) + share * (end.point(pivot) - start.point(pivot))
        radius = abs(from_a) + share * (abs(from_b) - abs(from_a))
        steps.append(middle + cmath.rect(radius, cmath.phase(from_a) + share * turn))
    return tuple(steps)
