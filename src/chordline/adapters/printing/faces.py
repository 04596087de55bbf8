"""Her face, and everybody else, made unrecognisable before a picture goes onto a sheet.

Why not a blur alone: a Gaussian blur multiplies every frequency by a known number that is nowhere
zero, so that dividing by it brings much of the picture back, the more so the better the picture
was stored. Here each block of pixels is replaced by its mean first: of a block of n by n pixels one
number of n² is left, and no calculation brings the others back. Drawing the blocks smoothly only
takes their edges away, which draw the eye. That is no promise of anonymity: who knows the gymnasts
may still tell one from a few by build, hair or leotard, and a program that has seen a small set of
people can be trained to (McPherson, Shokri and Shmatikov 2016, arXiv:1609.00408, from memory). So
the blocks are few, the circle is generous, and who may not be shown is not shown.
"""

import io
from typing import Final

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from chordline.core.body.head import Head, find_head, find_reaches
from chordline.core.body.measurement import Measurement

#: Blocks across the circle about her head. Assumption: the face itself fills about half of it.
BLOCKS_ACROSS_HEAD: Final = 6
_SOFT_EDGE: Final = 0.10
_JPEG_QUALITY: Final = 86


def hide_faces(image: Image.Image, measurement: Measurement) -> Image.Image | None:
    """Return a picture in which nobody's face can be told; None where her head cannot be found.

    Parameters
    ----------
    image : Image
        The whole photo in RGB, at any size.
    measurement : Measurement
        Tells where she is, in pixels of the full photo.

    Notes
    -----
    What is farther from her than her own body reaches is made coarse as well: whoever else stands
    in the picture need not be found for that. Marks that a program set and that need a look are
    not believed: the picture is left out rather than showing a face by accident.
    """
    marks = measurement.landmarks
    by_hand = marks and all(one.origin == "hand" for one in marks.values())
    if not (measurement.trust.accepted or by_hand):
        return None
    head = find_head(marks)
    if head is None:
        return None
    scale = image.width / measurement.width_px
    head = Head(
        (head.x_px + 0.5) * scale, (head.y_px + 0.5) * scale, max(head.radius_px * scale, 2.0)
    )
    coarse = _coarse(image, block_px=2.0 * head.radius_px / BLOCKS_ACROSS_HEAD)
    return Image.composite(image, coarse, _what_may_be_seen(image, measurement, head, scale))


def hide_in_jpeg(jpeg: bytes, measurement: Measurement) -> bytes | None:
    """Return a JPEG of the whole photo as `hide_faces` does; None likewise."""
    with Image.open(io.BytesIO(jpeg)) as opened:
        hidden = hide_faces(opened.convert("RGB"), measurement)
    if hidden is None:
        return None
    out = io.BytesIO()
    hidden.save(out, "JPEG", quality=_JPEG_QUALITY)
    return out.getvalue()


def _coarse(image: Image.Image, *, block_px: float) -> Image.Image:
    """Return a picture of which one number a block is left."""
    few = max(1, round(image.width / block_px)), max(1, round(image.height / block_px))
    # BOX: the plain mean of each block, nothing of its neighbours.
    blocks = image.resize(few, Image.Resampling.BOX)
    # Drawn large again smoothly: nothing is added to what the blocks tell.
    return blocks.resize(image.size, Image.Resampling.BICUBIC)


def _what_may_be_seen(
    image: Image.Image, measurement: Measurement, head: Head, scale: float
) -> Image.Image:
    """Return a mask: 255 where the picture stays, 0 where it is coarse."""
    seen = Image.new("L", image.size, 0)
    draw = ImageDraw.Draw(seen)
    for one in find_reaches(measurement.landmarks):
        start, end = (((x + 0.5) * scale, (y + 0.5) * scale) for x, y in (one.start_px, one.end_px))
        reach = one.reach_px * scale
        draw.line((*start, *end), fill=255, width=max(1, round(2.0 * reach)))
        for x, y in (start, end):
            draw.ellipse((x - reach, y - reach, x + reach, y + reach), fill=255)
    if measurement.card is not None:
        corners = (measurement.card.corners_px + 0.5) * scale
        draw.polygon([tuple(corner) for corner in corners.tolist()], fill=255)
    hidden = Image.new("L", image.size, 255)
    ImageDraw.Draw(hidden).ellipse(_box(head, 1.0 + _SOFT_EDGE), fill=0)
    soft = ImageChops.darker(seen, hidden).filter(
        ImageFilter.GaussianBlur(head.radius_px * _SOFT_EDGE / 2.0)
    )
    # Softened edges must not let anything of the circle itself through.
    hard = Image.new("L", image.size, 255)
    ImageDraw.Draw(hard).ellipse(_box(head, 1.0), fill=0)
    return ImageChops.darker(soft, hard)


def _box(head: Head, times: float) -> tuple[float, float, float, float]:
    reach = head.radius_px * times
    return head.x_px - reach, head.y_px - reach, head.x_px + reach, head.y_px + reach
