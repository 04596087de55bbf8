"""The same test in two screens: at one scale, the same way round, each line over its picture."""

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from chordline.adapters.printing.crop import body_view
from chordline.adapters.printing.line_shape import LineShape, read_shape
from chordline.adapters.printing.palette import LIGHT, ON_PHOTO
from chordline.adapters.printing.strokes import (
    Certainty,
    Pen,
    Place,
    draw_shape,
    hairline,
    shape_points,
    stroked,
)
from chordline.adapters.printing.svg import Points, element, number, picture
from chordline.adapters.printing.words import describe_shape
from chordline.application.drawn_line import DrawnLine
from chordline.core.body.measurement import Measurement

#: Length of the later chord in the drawings' units.
_CHORD: Final = 1000.0
#: Line weights are thought for a drawing this long.
_SHOWN: Final = 900.0
#: Landmarks that tell how long a body is, whatever shape it has.
_BODY: Final = ("malleolus", "knee", "hip", "shoulder")

#: What makes both drawings the same scale.
ScaleBy = Literal["metres", "body", "chord"]


@dataclass(frozen=True)
class Shown:
    """A test's picture in one screen: its line, and the address of the picture or empty."""

    line: DrawnLine
    href: str


@dataclass(frozen=True)
class BeforeAfter:
    """Both drawings.

    Attributes
    ----------
    before, after : str
        SVG with equal view boxes: shown equally wide they are at one scale.
    standing : bool
        Whether they are taller than wide.
    mirrored : bool
        Whether the earlier picture is shown mirrored, because it was taken from the other side.
    scale_by : {'metres', 'body', 'chord'}
    """

    before: str
    after: str
    standing: bool
    mirrored: bool
    scale_by: ScaleBy


@dataclass(frozen=True)
class _Laid:
    """A picture's way into the drawing: point = turn · pixel + shift."""

    measurement: Measurement
    shape: LineShape
    turn: NDArray[np.float64]
    shift: NDArray[np.float64]

    def lay(self, points_px: Points) -> Points:
        return np.asarray(points_px @ self.turn.T + self.shift)

    @property
    def place(self) -> Place:
        def place(points: Points) -> Points:
            shape = self.shape
            across = points[:, :1] * shape.headwards + points[:, 1:] * shape.frontwards
            # Landmarks count from the centre of the first pixel, the picture from its outer edge.
            return self.lay(shape.start_px + 0.5 + across * shape.chord_px / 100.0)

        return place

    @property
    def corners(self) -> Points:
        box = body_view(self.measurement)
        outline = [
            (box.left, box.top),
            (box.right, box.top),
            (box.right, box.bottom),
            (box.left, box.bottom),
        ]
        return self.lay(np.array(outline))


def draw_before_after(
    before: Shown, after: Shown, *, titles: tuple[str, str]
) -> BeforeAfter | None:
    """Return both drawings; None where a line was not found in one of them.

    Parameters
    ----------
    before, after : Shown
    titles : tuple of str
        Accessible names of both.

    Notes
    -----
    The later picture stands as it was taken, set upright by its card. The earlier one is mirrored
    where the other side is near, turned by quarters until her head lies the same way, set upright
    by its own card, and scaled: by metres where both scales are known, else to one length of body
    from ankle to shoulder along the joints, else to one chord. Both meet at the end of the chord
    that bears her. Nothing else is moved: what differs has changed, or is the pictures' error.
    """
    shapes = [read_shape(one.line.measurement, one.line.chord) for one in (before, after)]
    if shapes[0] is None or shapes[1] is None:
        return None
    mirrored = _hand(shapes[0]) != _hand(shapes[1])
    now = _upright(after.line.measurement)
    then = _upright(before.line.measurement)
    if mirrored:
        then = np.diag([-1.0, 1.0]) @ then
    then = _quarters(then @ shapes[0].headwards, now @ shapes[1].headwards) @ then
    ratio, scale_by = _ratio(before.line.measurement, after.line.measurement, shapes[0], shapes[1])
    size = _CHORD / shapes[1].chord_px
    bearing = -1 if float((now @ shapes[1].headwards)[1]) > 0.5 else 0
    laid = [
        _lay(one.line.measurement, shape, turn * factor, bearing)
        for one, shape, turn, factor in (
            (before, shapes[0], then, size * ratio),
            (after, shapes[1], now, size),
        )
    ]
    corners = np.vstack([one.corners for one in laid])
    low, high = corners.min(axis=0), corners.max(axis=0)
    box = (float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1]))
    drawn = [
        _draw(one, shown, box=box, title=title, ghost=ghost)
        for one, shown, title, ghost in zip(
            laid, (before, after), titles, (None, laid[0]), strict=True
        )
    ]
    return BeforeAfter(
        before=drawn[0],
        after=drawn[1],
        standing=box[3] > box[2],
        mirrored=mirrored,
        scale_by=scale_by,
    )


def _hand(shape: LineShape) -> bool:
    """Return which way round the body is: front on the right of head, or on its left."""
    head, front = shape.headwards, shape.frontwards
    return bool(head[0] * front[1] - head[1] * front[0] > 0.0)


def _upright(measurement: Measurement) -> NDArray[np.float64]:
    """Return the turn that sets a picture upright by its card; none without a card."""
    roll = 0.0 if measurement.card is None else np.radians(measurement.card.roll_deg.value)
    return np.array([[np.cos(roll), np.sin(roll)], [-np.sin(roll), np.cos(roll)]])


def _quarters(then: NDArray[np.float64], now: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the quarter turns that bring one direction nearest to another."""
    angle = np.arctan2(then[0] * now[1] - then[1] * now[0], float(then @ now))
    quarter = round(angle / (np.pi / 2.0)) % 4
    cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarter]
    return np.array([[cos, -sin], [sin, cos]], dtype=np.float64)


def _ratio(
    before: Measurement, after: Measurement, then: LineShape, now: LineShape
) -> tuple[float, ScaleBy]:
    """Return by how much larger than the later picture the earlier one is drawn, and why."""
    if before.scale is not None and after.scale is not None:
        return before.scale.m_per_px / after.scale.m_per_px, "metres"
    lengths = _body_px(before), _body_px(after)
    if lengths[0] and lengths[1]:
        return lengths[1] / lengths[0], "body"
    return now.chord_px / then.chord_px, "chord"


def _body_px(measurement: Measurement) -> float:
    marks = [measurement.landmarks[name] for name in _BODY if name in measurement.landmarks]
    if len(marks) < len(_BODY):
        return 0.0
    places = np.array([[one.x_px, one.y_px] for one in marks])
    return float(np.hypot(*np.diff(places, axis=0).T).sum())


def _lay(
    measurement: Measurement, shape: LineShape, turn: NDArray[np.float64], bearing: int
) -> _Laid:
    end = shape.start_px + 0.5
    if bearing:
        end = end + shape.chord_px * shape.headwards
    return _Laid(measurement, shape, turn, -(turn @ end))


def _draw(
    laid: _Laid,
    shown: Shown,
    *,
    box: tuple[float, float, float, float],
    title: str,
    ghost: _Laid | None,
) -> str:
    unit = max(box[2], box[3]) / _SHOWN
    pen = Pen(
        stroke=2.8 * unit,
        hairline=1.3 * unit,
        dot=3.4 * unit,
        hatch_gap=8.0 * unit,
        halo=1.4 * unit,
        palette=ON_PHOTO,
        themed=False,
    )
    trusted = laid.measurement.trust.accepted
    certainty = Certainty.SURE if trusted else Certainty.NEEDS_A_LOOK
    layers = [
        element("rect", x=box[0], y=box[1], width=box[2], height=box[3], fill=LIGHT.wash),
    ]
    if shown.href:
        layers.append(_image(laid, shown.href))
    if ghost is not None:
        points = ghost.place(shape_points(ghost.shape))
        thin = replace(pen, stroke=2.2 * unit)
        layers += [hairline(points[[0, -1]], thin), stroked(points, thin, broken=True)]
    layers += draw_shape(
        laid.shape, laid.place, pen, certainty=certainty, look_at=laid.shape.widest()
    )
    return picture(
        *layers,
        view_box=box,
        title=title,
        desc=describe_shape(laid.shape, doubtful=not trusted),
        class_="cl-photo",
    )


def _image(laid: _Laid, href: str) -> str:
    (a, c), (b, d) = laid.turn
    e, f = laid.shift
    matrix = " ".join(f"{value:.6g}" for value in (a, b, c, d)) + f" {number(e)} {number(f)}"
    return element(
        "image",
        x=0.0,
        y=0.0,
        width=float(laid.measurement.width_px),
        height=float(laid.measurement.height_px),
        preserveAspectRatio="none",
        transform=f"matrix({matrix})",
        href=href,
    )
