"""The picture cut to the gymnast: she fills it, and the files stay small."""

import io
from typing import Final

import numpy as np
from PIL import Image

from chordline.adapters.printing.faces import hide_faces
from chordline.adapters.printing.labels import Box
from chordline.adapters.printing.svg import Points
from chordline.application.sheet import SheetPhoto
from chordline.core.body.measurement import Measurement
from chordline.errors import PictureError

#: Room around the outermost landmarks, as a share of the body's longer side: head, fingers and
#: pointed toes reach beyond the landmarks. Beside a standing body the labels need more.
_MARGIN: Final = 0.09
_MARGIN_BESIDE: Final = 0.28
#: The ear is a landmark, the crown and a bun are not: they lie within this share of the longer
#: side around it.
_HEAD: Final = 0.06
#: The shorter side is at least this share of the longer one.
_LEAST_ASPECT_LYING: Final = 0.36
_LEAST_ASPECT_STANDING: Final = 0.56
#: A card nearer than this share of the body's longer side stays in the picture.
_CARD_REACH: Final = 0.22
#: A smaller part of the photo than this (along its longer side) is no body: marks gone wrong.
_LEAST_SHARE: Final = 0.12
_JPEG_QUALITY: Final = 86


def body_view(measurement: Measurement) -> Box:
    """Return the part of the photo that shows the body, in photo pixels from the outer edge.

    The outer edge of the first pixel is 0 here (landmarks count from its centre), so that the
    whole photo is 0 … `width_px`.
    """
    whole = Box(0.0, 0.0, float(measurement.width_px), float(measurement.height_px))
    if not measurement.landmarks:
        return whole
    xy = np.array([[m.x_px, m.y_px] for m in measurement.landmarks.values()]) + 0.5
    low, high = xy.min(axis=0), xy.max(axis=0)
    longer = float((high - low).max())
    ear = measurement.landmarks.get("ear")
    if ear is not None:
        at, reach = np.array([ear.x_px, ear.y_px]), _HEAD * longer
        low, high = np.minimum(low, at - reach), np.maximum(high, at + reach)
    inside = ((xy >= 0.0) & (xy <= [whole.right, whole.bottom])).all(axis=1)
    least = _LEAST_SHARE * max(measurement.width_px, measurement.height_px)
    if longer < least or inside.mean() < 0.5:
        return whole
    beside = _MARGIN_BESIDE if high[1] - low[1] > high[0] - low[0] else _MARGIN
    room = np.array([beside, _MARGIN]) * longer
    low, high = low - room, high + room
    if measurement.card is not None:
        corners = measurement.card.corners_px + 0.5
        # The black square's white frame and the card's foot are about a fifth of its side.
        rim = 0.3 * float(np.ptp(corners[:, 0]))
        card_low, card_high = corners.min(axis=0) - rim, corners.max(axis=0) + rim
        gap = np.maximum(np.maximum(card_low - high, low - card_high), 0.0)
        if float(gap.max()) <= _CARD_REACH * longer:
            low, high = np.minimum(low, card_low), np.maximum(high, card_high)
    return _inside(_at_least(low, high), whole)


def _at_least(low: Points, high: Points) -> Box:
    width, height = high - low
    least_width = _LEAST_ASPECT_STANDING * height if height > width else 0.0
    least_height = _LEAST_ASPECT_LYING * width if width >= height else 0.0
    grow_x = max(0.0, least_width - width) / 2.0
    grow_y = max(0.0, least_height - height) / 2.0
    return Box(
        float(low[0] - grow_x),
        float(low[1] - grow_y),
        float(high[0] + grow_x),
        float(high[1] + grow_y),
    )


def _inside(box: Box, whole: Box) -> Box:
    """Return `box` moved, and only then cut, into `whole`."""
    dx = max(0.0, whole.left - box.left) - max(0.0, box.right - whole.right)
    dy = max(0.0, whole.top - box.top) - max(0.0, box.bottom - whole.bottom)
    left, right = max(box.left + dx, whole.left), min(box.right + dx, whole.right)
    top, bottom = max(box.top + dy, whole.top), min(box.bottom + dy, whole.bottom)
    # Marks wholly outside the picture leave nothing to show.
    return Box(left, top, right, bottom) if left < right and top < bottom else whole


def crop_picture(photo: SheetPhoto) -> tuple[bytes | None, Box]:
    """Return the cut JPEG and the part of the photo that it shows, in photo pixels.

    None stands for a picture that is not kept, and for one in which faces are to be hidden and
    cannot be.

    Raises
    ------
    PictureError
        Where the bytes are no picture, or not one of the size that the record says.
    """
    measurement = photo.measurement
    if photo.jpeg is None:
        return None, body_view(measurement)
    try:
        with Image.open(io.BytesIO(photo.jpeg)) as opened:
            image = opened.convert("RGB")
    except OSError as error:
        raise PictureError(measurement.photo, "cannot be opened as a picture") from error
    if image.size != (photo.jpeg_width_px, photo.jpeg_height_px):
        raise PictureError(
            measurement.photo,
            f"is {image.width} × {image.height} px, not the recorded "
            f"{photo.jpeg_width_px} × {photo.jpeg_height_px} px",
        )
    view = body_view(measurement)
    if photo.faces == "hidden":
        hidden = hide_faces(image, measurement)
        if hidden is None:
            return None, view
        image = hidden
    per_x = photo.jpeg_width_px / measurement.width_px
    per_y = photo.jpeg_height_px / measurement.height_px
    # Whole pixels, so that the drawing lies exactly on the picture.
    left, top = int(view.left * per_x), int(view.top * per_y)
    right = min(int(np.ceil(view.right * per_x)), image.width)
    bottom = min(int(np.ceil(view.bottom * per_y)), image.height)
    out = io.BytesIO()
    image.crop((left, top, right, bottom)).save(
        out, "JPEG", quality=_JPEG_QUALITY, optimize=True, progressive=True
    )
    shown = Box(left / per_x, top / per_y, right / per_x, bottom / per_y)
    return out.getvalue(), shown
