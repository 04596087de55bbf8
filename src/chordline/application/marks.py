"""Landmarks that a person set."""

from collections.abc import Mapping
from dataclasses import dataclass

from chordline.conventions import LANDMARKS, Front, Side, curve_of
from chordline.core.body.measurement import Mark


@dataclass(frozen=True)
class HandMarks:
    """The marks of one photo: near side and front where they were said, and the landmarks."""

    near_side: Side | None
    front: Front | None
    landmarks: Mapping[str, Mark]


def faults_of_marks(
    landmarks: Mapping[str, Mark], *, width_px: int, height_px: int, needed: tuple[str, ...]
) -> tuple[str, ...]:
    """Return every fault of landmarks for a photo of a size and a test's needs, in sentences."""
    faults = [
        f"'{name}' is no landmark; known are {', '.join(LANDMARKS)}, "
        "and back_1 …, seam_1 … and belly_1 …"
        for name in landmarks
        if name not in LANDMARKS and curve_of(name) is None
    ]
    faults += [
        f"'{name}' at ({mark.x_px:g}, {mark.y_px:g}) lies outside the picture, "
        f"which is {width_px} × {height_px} pixels upright"
        for name, mark in landmarks.items()
        if not (-0.5 <= mark.x_px <= width_px - 0.5 and -0.5 <= mark.y_px <= height_px - 0.5)
    ]
    missing = [name for name in needed if name not in landmarks]
    if missing:
        faults.append(f"this test also needs marks for {', '.join(missing)}")
    return tuple(faults)
