"""The body line drawn over its photo, with each landmark's distance from the chord."""

import base64
from typing import Final

import numpy as np

from chordline.adapters.printing.labels import Box, LabelWish, place_labels
from chordline.adapters.printing.line_shape import LineShape
from chordline.adapters.printing.palette import LIGHT, ON_PHOTO
from chordline.adapters.printing.strokes import (
    Certainty,
    Pen,
    Place,
    draw_shape,
    hairline,
    shape_points,
)
from chordline.adapters.printing.svg import Points, element, number, path_of, picture, text
from chordline.adapters.printing.words import NOTHING_FOUND, bow_in_pct, describe_shape, spoken
from chordline.core.body.measurement import Measurement

#: A picture's longer side in the units in which line weights and letters are thought: about what
#: a tablet shows.
_SHOWN_PX: Final = 900.0
_LABEL_PX: Final = 19.0
#: A tall picture is shown smaller than a wide one of the same longer side.
_LABEL_TALL_PX: Final = 24.0
#: A label farther from its landmark than this gets a line to it.
_LEADER_EM: Final = 1.3
#: Typst carries DejaVu Sans Mono; pages set the labels in their own face through the class.
_LABEL_FACE: Final = "DejaVu Sans Mono"


def overlay(
    measurement: Measurement,
    shape: LineShape | None,
    *,
    title: str,
    view: Box | None = None,
    jpeg: bytes | None = None,
    ground: bool = False,
    certainty: Certainty = Certainty.SURE,
    look_at: str | None = None,
) -> str:
    """Return the drawing in the photo's pixel coordinates.

    Parameters
    ----------
    measurement : Measurement
    shape : LineShape or None
        None where no line was found; the card is drawn all the same.
    title : str
        Accessible name, in words.
    view : Box or None
        The part of the photo that is shown [px, from the outer edge]; None = the whole photo.
    jpeg : bytes or None
        The picture of just that part, put underneath.
    ground : bool
        Whether a plain pale ground is put underneath where there is no picture.
    certainty : Certainty
        NEEDS_A_LOOK names the landmarks without their values.
    look_at : str or None
        The landmark to point out.
    """
    frame = view or Box(0.0, 0.0, float(measurement.width_px), float(measurement.height_px))
    unit = max(frame.right - frame.left, frame.bottom - frame.top) / _SHOWN_PX
    pen = Pen(
        stroke=2.6 * unit,
        hairline=1.2 * unit,
        dot=3.4 * unit,
        hatch_gap=8.0 * unit,
        halo=1.4 * unit,
        palette=ON_PHOTO,
        themed=False,
    )
    doubtful = certainty is Certainty.NEEDS_A_LOOK
    pointed = None if doubtful else look_at
    layers: list[str] = []
    if jpeg is not None:
        layers.append(_underlay(jpeg, frame))
    elif ground:
        layers.append(_plain(frame))
    drawn: list[str] = [_card(measurement, pen)]
    if shape is not None:
        place = _in_photo(shape)
        labels = label_boxes(measurement, shape, frame, doubtful=doubtful, em=label_em(frame))
        drawn.extend(_distances(shape, place, pen))
        drawn.extend(_leaders(labels, shape, pen, em=label_em(frame)))
        drawn.extend(draw_shape(shape, place, pen, certainty=certainty, look_at=pointed))
        drawn.extend(
            _label(words, box, em=label_em(frame), pointed=name == pointed)
            for name, words, box in labels
        )
        desc = describe_shape(shape, doubtful=doubtful)
    else:
        desc = NOTHING_FOUND
    # Landmarks count from the centre of the first pixel, the picture from its outer edge.
    layers.append(element("g", *drawn, transform="translate(0.5 0.5)"))
    return picture(
        *layers,
        view_box=(frame.left, frame.top, frame.right - frame.left, frame.bottom - frame.top),
        title=title,
        desc=desc,
        class_="cl-photo",
    )


def label_em(frame: Box) -> float:
    """Return the font size of the labels on a picture of `frame` [photo px]."""
    width, height = frame.right - frame.left, frame.bottom - frame.top
    return (_LABEL_PX * width if width >= height else _LABEL_TALL_PX * height) / _SHOWN_PX


def _underlay(jpeg: bytes, frame: Box) -> str:
    return element(
        "image",
        x=frame.left,
        y=frame.top,
        width=frame.right - frame.left,
        height=frame.bottom - frame.top,
        preserveAspectRatio="none",
        href="data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii"),
    )


def _plain(frame: Box) -> str:
    return element(
        "rect",
        x=frame.left,
        y=frame.top,
        width=frame.right - frame.left,
        height=frame.bottom - frame.top,
        fill=LIGHT.wash,
    )


def _in_photo(shape: LineShape) -> Place:
    def place(points: Points) -> Points:
        across = points[:, :1] * shape.headwards + points[:, 1:] * shape.frontwards
        return np.asarray(shape.start_px + across * shape.chord_px / 100.0)

    return place


def _distances(shape: LineShape, place: Place, pen: Pen) -> list[str]:
    """Return a hairline from each landmark between the ends to its foot on the chord."""
    lines = []
    for along, bow in shape_points(shape)[1:-1]:
        lines.append(hairline(place(np.array([[along, bow], [along, 0.0]])), pen))
    return lines


def _card(measurement: Measurement, pen: Pen) -> str:
    if measurement.card is None:
        return ""
    outline = path_of(measurement.card.corners_px, closed=True)
    return element(
        "path",
        d=outline,
        fill="none",
        stroke=pen.palette.paper,
        stroke_opacity=0.9,
        stroke_width=pen.hairline + 2.0 * pen.halo,
    ) + element("path", d=outline, fill="none", stroke=pen.palette.ink, stroke_width=pen.hairline)


def label_boxes(
    measurement: Measurement, shape: LineShape, frame: Box, *, doubtful: bool, em: float
) -> tuple[tuple[str, str, Box], ...]:
    """Return (landmark, text, place) of every label that finds a place inside `frame`."""
    points = _in_photo(shape)(shape_points(shape))
    feet = _in_photo(shape)(np.column_stack([shape.along_pct, np.zeros(len(shape.names))]))
    order = [1 + int(i) for i in np.argsort(-np.abs(shape.bow_pct[1:-1]), kind="stable")]
    wishes = []
    for i in order:
        side = 1.0 if shape.bow_pct[i] > 0.0 else -1.0
        name = shape.names[i]
        value = "?" if doubtful else bow_in_pct(float(shape.bow_pct[i]))
        wishes.append(LabelWish(f"{spoken(name)} {value}", points[i], side * shape.frontwards))
    avoid = [(points[i], points[i + 1]) for i in range(len(points) - 1)]
    avoid.append((points[0], points[-1]))
    avoid.extend((points[i], feet[i]) for i in order)
    avoid.extend(_head(measurement, shape))
    rim = 0.3 * em
    inner = Box(frame.left + rim, frame.top + rim, frame.right - rim, frame.bottom - rim)
    places = place_labels(
        wishes, em=em, frame=inner, avoid_lines=avoid, avoid_boxes=_card_boxes(measurement)
    )
    return tuple(
        (shape.names[i], wish.text, box)
        for i, wish, box in zip(order, wishes, places, strict=True)
        if box is not None
    )


def _head(measurement: Measurement, shape: LineShape) -> list[tuple[Points, Points]]:
    """Return two lines across the head, so that labels keep off a face where they can."""
    ear = measurement.landmarks.get("ear")
    if ear is None:
        return []
    at, reach = np.array([ear.x_px, ear.y_px]), 0.07 * shape.chord_px
    return [
        (at - reach * np.array(step), at + reach * np.array(step)) for step in ((1, 1), (1, -1))
    ]


def _card_boxes(measurement: Measurement) -> list[Box]:
    if measurement.card is None:
        return []
    (left, top), (right, bottom) = (
        measurement.card.corners_px.min(axis=0).tolist(),
        measurement.card.corners_px.max(axis=0).tolist(),
    )
    return [Box(left, top, right, bottom)]


def _leaders(
    labels: tuple[tuple[str, str, Box], ...], shape: LineShape, pen: Pen, *, em: float
) -> list[str]:
    """Return a line from each landmark to its label where that had to stand far away."""
    points = dict(zip(shape.names, _in_photo(shape)(shape_points(shape)), strict=True))
    lines = []
    for name, _, box in labels:
        at = points[name]
        near = np.clip(at, [box.left, box.top], [box.right, box.bottom])
        if np.hypot(*(near - at)) > _LEADER_EM * em:
            lines.append(hairline(np.vstack([at, near]), pen))
    return lines


def _label(words: str, box: Box, *, em: float, pointed: bool) -> str:
    x, y = box.center
    return element(
        "text",
        text(words),
        x=x,
        # Capitals and figures are about 0.72 em tall: their middle on the box's middle.
        y=y + 0.36 * em,
        text_anchor="middle",
        font_family=_LABEL_FACE,
        font_weight="700",
        font_size=number(em),
        fill=ON_PHOTO.accent if pointed else ON_PHOTO.ink,
        stroke=ON_PHOTO.paper,
        stroke_opacity="0.92",
        stroke_width=0.26 * em,
        stroke_linejoin="round",
        paint_order="stroke",
        class_="cl-label",
    )
