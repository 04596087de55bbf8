"""The trunk's outline as marks, beside those of the joints."""

from collections.abc import Mapping
from typing import Final

import numpy as np

from chordline.application.ports import Photo
from chordline.core.body.found import BodyMask
from chordline.core.body.measurement import Mark
from chordline.core.body.outline import read_front_outline
from chordline.core.geometry.angles import Floats

_ARM: Final = ("shoulder", "elbow", "wrist", "hand")
#: A curve with more gaps than this, or without its ends, is left out: it would be another curve.
_MAX_GAPS: Final = 2


def outline_marks(
    mask: BodyMask, joints: Mapping[str, Mark], *, facing: int, photo: Photo
) -> dict[str, Mark]:
    """Return `belly_1…` along the front of the trunk.

    Parameters
    ----------
    mask : BodyMask
        In pixels of the working picture.
    joints : mapping of landmark to Mark
        In pixels of the full photo, set by hand or found; hip and shoulder are needed, the arm
        helps.
    facing : int
        +1 with the left side near the camera, −1 with the right.
    photo : Photo

    Returns
    -------
    dict of str to Mark
        In pixels of the full photo, hip end first; empty where hip or shoulder is missing, where
        the arm hides too much of the outline, or where the mask does not show it.
    """
    k = photo.photo_px_per_working_px

    def place(name: str) -> Floats:
        if name not in joints:
            return np.full(2, np.nan)
        return (np.array([joints[name].x_px, joints[name].y_px]) + 0.5) / k - 0.5

    outline = read_front_outline(
        mask,
        hip_px=place("hip"),
        shoulder_px=place("shoulder"),
        facing=facing,
        arm_px=np.stack([place(name) for name in _ARM]),
        rgb=photo.rgb,
    )
    points_px, sd_px = (outline.xy_px + 0.5) * k - 0.5, outline.sd_px * k
    seen = [bool(np.isfinite(point).all()) for point in points_px]
    if not (seen[0] and seen[-1] and seen.count(False) <= _MAX_GAPS):
        return {}
    return {
        f"belly_{i + 1}": Mark(float(x), float(y), float(sd_px[i]), "auto")
        for i, (x, y) in enumerate(points_px)
        if seen[i]
    }
